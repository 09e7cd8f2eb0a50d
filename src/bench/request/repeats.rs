//! What the bench learns of its own repeatability while it measures.

use std::sync::Arc;

use quantity::Length;

use crate::draft::Draft;
use crate::fact::row::{Body, Repeated, Spot, State};
use crate::fact::seq::Seq;
use crate::plan::Check;
use crate::setup::GaugeSetup;
use crate::state::{Attempt, Touched};

impl Draft<'_> {
    /// Notes how far the first return to position 0, or to the master, was off, and the first touches in a
    /// row at a position. They are noted before anybody has looked at them: what is touched again because it
    /// looked bad, or let stand because it looked good, is no fair sample. Values read by eye show the eye;
    /// what two people touched shows no hand.
    pub(crate) fn note_repeated(&mut self, id: Seq, reading: Seq) {
        let Some((_, job, attempt)) = self.attempt(id) else { return };
        let Some((_, check)) = job.check_of(&attempt) else { return };
        let Some(gauge) = attempt.gauge().filter(|_| check.swept().is_none()) else { return };
        let seen = first_return(check, &attempt, reading);
        let seen = seen.or_else(|| in_a_row(check, &attempt, reading));
        let Some((spot, lengths)) = seen else { return };
        let GaugeSetup { name: gauge, serial, .. } = self.bench.shop.with_its_entry(gauge);
        let setup = check.setup;
        let seen = Repeated { gauge, serial, spot, setup, at: None, lengths, reading };
        self.push(Body::Repeated(Arc::new(seen)));
    }

    /// Notes how far the seatings of a bar lie apart, when its attempt is judged for the first time.
    pub(crate) fn note_seatings(&mut self, id: Seq, reseated: &[(Length, Vec<Length>)]) {
        let Some((_, job, attempt)) = self.attempt(id) else { return };
        let Some((_, check)) = job.check_of(&attempt) else { return };
        let counted = || attempt.readings.iter().filter(|one| one.state.counts());
        let hand = counted().next().and_then(|one| one.by.clone());
        let fair = counted().all(|one| !one.keyed && one.by == hand) && self.by == hand;
        let Some(gauge) = attempt.gauge().filter(|_| fair && attempt.verdict.is_none()) else {
            return;
        };
        for (at, apart) in reseated {
            let GaugeSetup { name: gauge, serial, .. } = self.bench.shop.with_its_entry(gauge);
            let (spot, setup, lengths) = (Spot::Seating, check.setup, apart.clone());
            let seen = Repeated { gauge, serial, spot, setup, at: Some(*at), lengths, reading: id };
            self.push(Body::Repeated(Arc::new(seen)));
        }
    }
}

/// What the newest reading of an attempt came back to, and how far off, where it is the first return.
fn first_return(check: &Check, attempt: &Attempt, reading: Seq) -> Option<(Spot, Vec<Length>)> {
    let again = attempt.readings.last().filter(|last| last.id == reading)?;
    let (spot, first) = match again.state {
        State::Closure => (Spot::Return, attempt.at(0)?),
        State::Master => (Spot::Master, attempt.opening_touch()?),
        State::Placed
        | State::Middle
        | State::HalfTurn
        | State::Void
        | State::Repeat
        | State::Unclaimed
        | State::Suspect => return None,
    };
    let placed = || attempt.readings.iter().filter(|one| one.arrived_as == State::Placed);
    let since = match spot {
        Spot::Master => placed().map(|one| one.id).min().filter(|since| *since > first.id)?,
        Spot::Return | Spot::Seating | Spot::Touch => first.id,
    };
    let is_first = |one: &&Touched| one.arrived_as == again.arrived_as && one.id > since;
    let first_again = attempt.readings.iter().find(is_first)?;
    let one_hand = first.by == again.by && !first.keyed && !again.keyed;
    let whole = spot == Spot::Master || check.total() > 1;
    if first_again.id != again.id || !one_hand || !whole {
        return None;
    }
    Some((spot, vec![again.value.length.checked_sub(first.value.length)?]))
}

/// The touches in a row at the position of the newest reading, where that is the last of the first ones.
fn in_a_row(check: &Check, attempt: &Attempt, reading: Seq) -> Option<(Spot, Vec<Length>)> {
    let newest = attempt.readings.last().filter(|last| last.id == reading && check.touches > 1)?;
    let here = |one: &&Touched| one.arrived_as == State::Placed && one.position == newest.position;
    let touches: Vec<&Touched> = attempt.readings.iter().filter(here).collect();
    let fair = touches.iter().all(|one| !one.keyed && one.by == newest.by);
    let all = u32::try_from(touches.len()) == Ok(check.touches) && newest.state == State::Placed;
    (fair && all).then(|| (Spot::Touch, touches.iter().map(|one| one.value.length).collect()))
}
