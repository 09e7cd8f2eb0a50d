//! Who acts: the name on each row, the person at a station, the second person's check.

use quantity::Name;

use crate::draft::{Answer, Draft};
use crate::event::Request;
use crate::fact::row::Body;
use crate::reply::{Done, Refusal};

impl Draft<'_> {
    /// The person behind a request: the one it names, otherwise the one at the station, otherwise the
    /// login. A pedal or a scanner names nobody: it stands for the person who touches there.
    pub(crate) fn who(
        &self,
        request: &Request,
        station: Option<&Name>,
    ) -> Result<Option<Name>, Refusal> {
        if let Some(named) = &request.by {
            return person_named(named).map(Some);
        }
        let at = station.and_then(|station| self.bench.stations.get(station));
        let login = || request.login.as_deref().and_then(|login| Name::new(login).ok());
        let person = at.and_then(|at| at.person.clone());
        Ok(person.or_else(login).or_else(|| at?.hand.clone()))
    }

    /// `person NAME`.
    pub(crate) fn person(&mut self, station: &Name, name: Option<&str>) -> Answer {
        let person = name.map(person_named).transpose()?;
        let now = self.bench.stations.get(station);
        if now.is_none_or(|now| (&now.person, &now.hand) != (&person, &person)) {
            self.push(Body::PersonAt { station: station.clone(), person: person.clone() });
        }
        Ok(Done::PersonAt { station: station.clone(), person })
    }
}

/// A person's name as it was typed or scanned.
fn person_named(name: &str) -> Result<Name, Refusal> {
    Name::new(name.trim()).map_err(|error| {
        let text = format!("{name:?} is not a person's name: {error}");
        Refusal::input(text, "a name or initials, as they are to stand in the report")
    })
}
