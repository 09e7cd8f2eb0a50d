//! The sentences on a run-in. The program switches no machine, and each sentence that leads says so.

use crate::plan::Check;
use crate::plan::run_in::{Course, Live, degrees, minutes};
use crate::state::Attempt;
use quantity::{Figure, Length};

/// What has to be so before a spindle turns.
pub const CAUTION: &str =
    "Guards on, nobody near, a hand at the stop. Nothing here switches the machine.";

/// `step 2 of 3: 2000 rpm for 20 min`.
#[must_use]
pub fn step(run_in: &Course, step: u16) -> String {
    let many = run_in.steps.len();
    let speed = run_in.steps.get(usize::from(step));
    let told = speed.map(|speed| format!(": {} rpm for {}", speed.rpm, minutes(speed.ms)));
    format!("step {} of {many}{}", step + 1, told.unwrap_or_default())
}

/// What leads the person who begins.
#[must_use]
pub fn to_begin(run_in: &Course) -> String {
    let speed = run_in.steps.first().map_or(0, |speed| speed.rpm);
    format!("{CAUTION} Set {speed} rpm by hand, then say so: `tenths run-in start`.")
}

/// What leads at a run-in that is not over: how to begin it, or the step that runs.
pub(crate) fn leads(check: &Check, attempt: &Attempt) -> Option<String> {
    let run_in = check.measures.own().log.filter(|_| attempt.ending.is_none())?;
    let newest = attempt.log.as_ref().and_then(|logged| logged.log.speeds.last());
    Some(
        newest.map_or_else(
            || to_begin(run_in),
            |last| format!("{}. {CAUTION}", step(run_in, last.step)),
        ),
    )
}

/// What comes after a step that has run its time.
#[must_use]
pub fn step_over(run_in: &Course, live: Live) -> Option<String> {
    if live.ran_ms < live.of_ms {
        return None;
    }
    let next = run_in.steps.get(usize::from(live.step) + 1);
    Some(match next {
        Some(next) => format!(
            "step {} has run its {}. Set {} rpm by hand, then say so: `tenths run-in step`.",
            live.step + 1,
            minutes(live.of_ms),
            next.rpm
        ),
        None => format!(
            "the last step has run its {}. Stop the spindle by hand, then say so: `tenths run-in end`.",
            minutes(live.of_ms)
        ),
    })
}

pub(crate) fn too_warm(place: &str, value: Length, max: Length) -> String {
    format!(
        "{place} is at {}, more than {}. Stop the spindle by hand and look why.",
        degrees(value),
        degrees(max)
    )
}

pub(crate) fn rising_fast(place: &str, rate: Figure, most: Length) -> String {
    let tenths = (rate / 100_000_000).ceil();
    format!(
        "{place} rises by {}.{} °C in a minute, more than {}. Stop the spindle by hand and look why.",
        tenths / 10,
        tenths % 10,
        degrees(most)
    )
}

pub(crate) fn silent(run_in: &Course, place: u16, for_ms: u64, typed: &str) -> String {
    let name = run_in.place(place);
    let sensor = run_in.places.get(usize::from(place)).and_then(|one| one.thermometer.as_ref());
    match sensor {
        Some(sensor) => {
            format!("no temperature of {name} for {}: look at {sensor}.", minutes(for_ms))
        }
        None => format!(
            "no temperature of {name} for {}: key it in, `tenths record {typed} {name}=31.5`.",
            minutes(for_ms)
        ),
    }
}

pub(crate) fn impossible(place: &str, value: Length, ceiling: Length) -> String {
    format!(
        "{place} shows {}: no spindle has that (the ceiling is {}). Not written down.",
        degrees(value),
        degrees(ceiling)
    )
}
