//! The keys of a bar: its stations, each with its limit, and how often it is seated.

use judgement::Limits;
use quantity::{Length, Quoted};

use super::BarRun;
use crate::keys::{At, Keys, lengths, limits, not_negative, positive, uncertainty};
use crate::layout::{BarStation, Seatings};

/// The most stations; more is taken for a slip of the pen.
pub(crate) const MOST_STATIONS: usize = 20;

/// Reads a bar, the tightest of its tolerances, and the lines of the tolerances of its stations.
pub(super) fn bar_of(keys: &impl Keys) -> Option<(BarRun, limits::Judged, Vec<u32>)> {
    for key in ["tolerance", "min", "max", "aim"] {
        if keys.has(key) {
            let text = format!("bar-runout has no {key} of its own");
            keys.error(keys.line_of(key), text, "each station has its tolerance");
        }
    }
    let [stand, seating, bar] = ["stand", "seating", "bar"].map(|key| uncertainty(keys, key));
    let seatings = seatings(keys);
    let predict = lengths(keys, "predict");
    let stations = stations(keys, seating)?;
    if stations.len() < 2 && keys.has("predict") {
        let text = "a prediction needs two stations";
        keys.error(keys.line_of("predict"), text, "add one, or take predict out");
    }
    let tightest = stations.iter().map(|(_, tolerance)| tolerance).min_by_key(|at| at.value.length);
    let At { value: Quoted { length, unit, .. }, line } = *tightest?;
    let lines = stations.iter().map(|(_, tolerance)| tolerance.line).collect();
    let stations = stations.into_iter().map(|(station, _)| station).collect();
    let judged = limits::Judged { limits: Some(Limits::Max(length)), unit, aim: None, line };
    Some((BarRun { stations, seatings, predict, stand, bar }, judged, lines))
}

fn seatings(keys: &impl Keys) -> Seatings {
    match keys.integer("seatings", 1..=4).map(|at| (at.value, at.line)) {
        Some((3, _)) => Seatings::Three,
        Some((4, _)) => Seatings::Four,
        Some((2, line)) => {
            let hint = "write 1, 3 (at 0, at 180 and at 0 again) or 4 (quarter turns)";
            keys.error(line, "two seatings cannot show whether they repeat", hint);
            Seatings::One
        }
        Some(_) | None => Seatings::One,
    }
}

fn stations(keys: &impl Keys, usual: Length) -> Option<Vec<(BarStation, At<Quoted>)>> {
    let hint = "write stations = [{ at = \"0.25 in\", tolerance = \"0.0001 in\" }], say";
    keys.must_have("stations", hint);
    let written = keys.tables("stations");
    let many = keys.items("stations")?;
    if !(1..=MOST_STATIONS).contains(&many) {
        let text = format!("stations should be 1 to {MOST_STATIONS} places along the bar");
        keys.error(keys.line_of("stations"), text, hint);
        return None;
    }
    let mut stations: Vec<(BarStation, At<Quoted>)> = Vec::new();
    for keys in written {
        let Some((station, tolerance)) = station(keys, usual, stations.last()) else {
            continue;
        };
        stations.push((station, tolerance));
    }
    (stations.len() == many).then_some(stations)
}

fn station(
    keys: impl Keys,
    usual: Length,
    before: Option<&(BarStation, At<Quoted>)>,
) -> Option<(BarStation, At<Quoted>)> {
    keys.must_have("at", "write at = \"3 in\", say: its distance from the nose face");
    keys.must_have("tolerance", "write tolerance = \"0.0002 in\", say");
    let at = not_negative(&keys, "at");
    let tolerance = positive(&keys, "tolerance");
    let own = not_negative(&keys, "seating");
    let seating = own.map_or(usual, |own| own.value.length);
    if let Some((at, (before, _))) = at.zip(before)
        && at.value.length <= before.at
    {
        let text = format!("the station at {} is not beyond the one before it", at.value);
        keys.error(at.line, text, "write them from the nose outwards");
    }
    keys.finish();
    let (at, tolerance) = (at?.value.length, tolerance?);
    Some((BarStation { at, limits: Limits::Max(tolerance.value.length), seating }, tolerance))
}
