//! The keys of a run-in.

use judgement::Limits;
use quantity::{Length, Name, Other, Unit};

use super::{Course, Place, RunIn, Speed};
use crate::entry::amount;
use crate::keys::{At, Keys, ReadCheck, decimal, limits, untouched};

const CELSIUS: Unit = Unit::Other(Other::CELSIUS);
/// The most steps, and the most places: more is a slip of the pen.
const MOST: usize = 20;
/// The most minutes of anything: a week.
const LONGEST: i128 = 10_080;
/// No spindle is warmer than this where the plan does not say (common practice, no source).
const CEILING: Length = Length::from_picometres(120_000_000_000);
/// A sensor is frozen after so long (common practice, no source).
const FROZEN_MS: u64 = 600_000;

const STEPS: &str =
    "write steps = [{ speed = 1000, minutes = 20 }, { speed = 2000, minutes = 20 }], say";
const PLACES: &str =
    "write places = [{ name = \"front\", thermometer = \"probe\" }, { name = \"rear\" }], say";

pub(super) fn read(keys: &impl Keys) -> ReadCheck {
    let (steps, mut places) = (steps(keys), places(keys));
    let room = keys.parsed("room_thermometer", Name::new).map(|at| at.value);
    if let Some(places) = &mut places {
        places.push(Place { name: "room".to_owned(), thermometer: room });
    }
    keys.must_have(
        "max_rise",
        "write max_rise = \"25 C\", say: how far it may warm above the room",
    );
    let rise = above_zero(keys, "max_rise");
    let above_zero = |key: &str| above_zero(keys, key).map(|found| found.value);
    let (max, rate, u) = (above_zero("max"), above_zero("max_rate"), above_zero("uncertainty"));
    let ceiling = above_zero("ceiling").unwrap_or(CEILING);
    if max.is_some_and(|max| max >= ceiling) {
        let text = "max is not below the ceiling, from which on nothing is believed";
        keys.error(keys.line_of("max"), text, "write ceiling = \"150 C\", say");
    }
    let steady = steady(keys);
    let gap_ms = duration(keys, "gap");
    let frozen_ms = duration(keys, "frozen").unwrap_or(FROZEN_MS);
    let judged = rise.map(|rise| limits::Judged {
        limits: Some(Limits::Max(rise.value)),
        unit: CELSIUS,
        aim: None,
        line: rise.line,
    });
    let course = steps.zip(places).map(|(steps, places)| Course {
        steps,
        places,
        max,
        rate,
        steady,
        ceiling,
        gap_ms,
        frozen_ms,
        u,
    });
    untouched(keys, &RunIn::TRAITS, (judged, None), course.map(RunIn))
}

fn steps(keys: &impl Keys) -> Option<Vec<Speed>> {
    keys.must_have("steps", STEPS);
    let line = keys.line_of("steps");
    let tables = keys.tables("steps");
    let many = tables.len();
    let mut steps = Vec::new();
    for table in tables {
        table.must_have("speed", STEPS);
        table.must_have("minutes", STEPS);
        let speed = table.integer("speed", 1..=1_000_000);
        let ms = duration(&table, "minutes");
        let rpm = speed.and_then(|speed| u32::try_from(speed.value).ok());
        steps.extend(rpm.zip(ms).map(|(rpm, ms)| Speed { rpm, ms }));
        table.finish();
    }
    if keys.has("steps") && !(1..=MOST).contains(&many) {
        keys.error(line, format!("steps should be 1 to {MOST}"), STEPS);
    }
    (many > 0 && steps.len() == many && many <= MOST).then_some(steps)
}

fn places(keys: &impl Keys) -> Option<Vec<Place>> {
    keys.must_have("places", PLACES);
    let line = keys.line_of("places");
    let tables = keys.tables("places");
    let many = tables.len();
    let mut places: Vec<Place> = Vec::new();
    for table in tables {
        table.must_have("name", PLACES);
        let name = table.parsed("name", Name::new);
        let thermometer = table.parsed("thermometer", Name::new).map(|at| at.value);
        if let Some(name) = name {
            let text = name.value.as_str();
            if text == "room" || places.iter().any(|place| place.name == text) {
                let text = format!("there is a place {text} already");
                table.error(name.line, text, "each place once; the room is one by itself");
            }
            places.push(Place { name: text.to_owned(), thermometer });
        }
        table.finish();
    }
    if keys.has("places") && !(1..=MOST).contains(&many) {
        keys.error(line, format!("places should be 1 to {MOST}"), PLACES);
    }
    (many > 0 && places.len() == many && many <= MOST).then_some(places)
}

/// `steady = { change = "0.5 C", minutes = 15 }`.
fn steady(keys: &impl Keys) -> Option<(Length, u64)> {
    let hint = "write steady = { change = \"0.5 C\", minutes = 15 }, say";
    let table = keys.table("steady")?;
    table.must_have("change", hint);
    table.must_have("minutes", hint);
    let (change, ms) = (above_zero(&table, "change"), duration(&table, "minutes"));
    table.finish();
    Some((change?.value, ms?))
}

/// Degrees Celsius above zero.
fn above_zero(keys: &impl Keys, key: &str) -> Option<At<Length>> {
    let found = amount(keys, key, CELSIUS)?;
    if found.value <= Length::ZERO {
        keys.error(found.line, format!("{key} is not above zero"), "write degrees Celsius");
    }
    Some(found)
}

/// Minutes above zero, in milliseconds.
fn duration(keys: &impl Keys, key: &str) -> Option<u64> {
    let found = keys.parsed_literal(key, decimal)?;
    let ms = found.value * 60_000;
    let fits = ms >= 1.into() && found.value <= LONGEST.into();
    if !fits {
        let text = format!("{key} is no number of minutes above zero, a week at most");
        keys.error(found.line, text, "20, say");
        return None;
    }
    u64::try_from(ms.to_integer()).ok()
}
