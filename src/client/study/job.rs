//! The touches of a job as the readings of a study.

use std::collections::BTreeMap;

use ::bench::row::State;
use ::evaluate::study::Readings;
use ::record::Filter;
use quantity::{Length, Unit};

use super::words::in_unit;
use crate::bench;
use crate::failure::{Failure, REFUSED};
use crate::global::Global;

/// Whose touches.
pub(super) struct Of<'a> {
    /// The job.
    pub(super) job: &'a str,
    /// `PART/CHECK`, or a check of every part; all where left out.
    pub(super) check: Option<&'a str>,
}

/// The touches that count, in their order: who touched is the hand, each position of each part a part of the
/// study. Where a master was touched, readings are taken from its newest touch before them.
pub(super) fn readings(
    global: &Global,
    of: &Of<'_>,
    unit: Option<Unit>,
) -> Result<Readings, Failure> {
    let Of { job, check } = *of;
    let (record, of_bench) = bench::record(global)?;
    let unit = unit.unwrap_or(of_bench);
    let (part, check) = match check.and_then(|check| check.split_once('/')) {
        Some((part, check)) => (Some(part.to_owned()), Some(check.to_owned())),
        None => (None, check.map(str::to_owned)),
    };
    let filter = Filter { job: Some(job.to_owned()), part, check, ..Filter::default() };
    let found = record.readings(&filter).map_err(bench::no_record)?;
    let mut masters: BTreeMap<(String, String, u32), Length> = BTreeMap::new();
    let mut rows = Vec::new();
    for reading in found {
        let Some(at) = reading.place.as_ref().and_then(|place| place.check.as_ref()) else {
            continue;
        };
        let attempt = (at.part.to_string(), at.check.to_string(), at.number);
        if reading.state == State::Master {
            masters.insert(attempt, reading.value.length);
            continue;
        }
        let (State::Placed, Some(position)) = (reading.state, reading.position) else { continue };
        let zero = masters.get(&attempt).copied().unwrap_or(Length::ZERO);
        let Some(above) = reading.value.length.checked_sub(zero) else { continue };
        let hand = reading.by.as_ref().map_or_else(|| "unnamed".to_owned(), ToString::to_string);
        let part = format!("{}/{} {position}", at.part, at.check);
        rows.push((hand, part, in_unit(above, unit)));
    }
    let none = rows.is_empty();
    Readings::of(unit, rows).map_err(|why| {
        let why = if none { "nothing was touched there".to_owned() } else { why };
        let hint = "give a check touches = 3 and let each hand measure it: \
                    `tenths remeasure again --by NAME`";
        Failure::new(REFUSED, format!("job {job}: {why}"), hint)
    })
}
