//! `stack spot PART`: where a part of the stack, or a seat of the shaft, runs highest.

use std::sync::Arc;

use quantity::{Length, Name, Quoted, Unit};

use crate::draft::{Answer, Draft};
use crate::event::Command;
use crate::fact::row::{Body, HighSpot};
use crate::reply::{Done, Refusal};
use crate::request::answers::part_named;
use crate::spots;
use crate::state::Job;

/// A total reading above a millimetre is a slip of the pen (common practice, no source).
const MOST: Length = Length::from_picometres(1_000_000_000);

impl Draft<'_> {
    /// `stack spot PART`.
    pub(crate) fn stack_spot(&mut self, station: &Name, command: &Command) -> Answer {
        let Command::StackSpot { part, deg, low, amount, uncertainty, towards_nose } = command
        else {
            return Err(Refusal::input("no part to mark", "see `tenths stack spot --help`"));
        };
        let (job, state) = self.job_of(station)?;
        let (index, name) = part_named(&state, part)?;
        let unit = state.opened.plan.plan.unit;
        let spot = match deg {
            None if state.spots.contains_key(&index) => None,
            None => {
                let text = format!("no high spot of {name} is marked");
                return Err(Refusal::input(text, "see `tenths job show`"));
            }
            Some(deg) => {
                let amount = amount.as_deref().map(|text| total(text, unit)).transpose()?;
                let unit = amount.map_or(unit, |amount| amount.unit);
                let u = uncertainty.as_deref().map(|text| doubt(text, unit)).transpose()?;
                if let Some(way) = towards_nose {
                    is_a_way(&state, index, (&name, way))?;
                }
                if u.is_some() && amount.is_none() {
                    let text = "an uncertainty is given, and no amount";
                    return Err(Refusal::input(text, "add --amount \"0.00004 in\", say"));
                }
                Some(Arc::new(HighSpot {
                    deg: deg % 360,
                    is_low: *low,
                    amount,
                    uncertainty: u,
                    towards_nose: towards_nose.clone(),
                }))
            }
        };
        self.push(Body::SpotMarked { job, part: index, spot: spot.clone() });
        let together = self.bench.jobs.get(&job).map(|job| spots::as_built(job));
        let together = together.unwrap_or(spots::Together::Nothing);
        Ok(Done::Spotted { part: name, spot, together })
    }
}

fn is_a_way(job: &Job, part: u16, (name, way): (&Name, &str)) -> Result<(), Refusal> {
    let place = job.opened.plan.plan.stack.iter().find(|place| place.part == part);
    let ways = place.map_or(&[][..], |place| &place.ways);
    if ways.is_empty() || ways.iter().any(|known| known == way) {
        return Ok(());
    }
    let text = format!("{name} has no face {way:?}");
    Err(Refusal::input(text, format!("its faces are: {}", ways.join(", "))))
}

fn total(text: &str, unit: Unit) -> Result<Quoted, Refusal> {
    let hint = "write the total reading of one turn: --amount \"0.00004 in\"";
    let amount = Quoted::parse_with_unit(text, Some(unit))
        .map_err(|error| Refusal::input(format!("the amount: {error}"), hint))?;
    if amount.length <= Length::ZERO {
        return Err(Refusal::input(format!("an amount of {amount} is no high spot"), hint));
    }
    if amount.length > MOST {
        let text = format!("an amount of {amount} cannot be meant");
        return Err(Refusal::input(text, "look at the point and the unit"));
    }
    Ok(amount)
}

fn doubt(text: &str, unit: Unit) -> Result<Length, Refusal> {
    let hint = "write the standard uncertainty of the amount: --uncertainty \"0.000006 in\"";
    let u = Quoted::parse_with_unit(text, Some(unit))
        .map_err(|error| Refusal::input(format!("the uncertainty: {error}"), hint))?;
    if u.length < Length::ZERO || u.length > MOST {
        return Err(Refusal::input(format!("an uncertainty of {u} cannot be meant"), hint));
    }
    Ok(u.length)
}
