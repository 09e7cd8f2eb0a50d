//! `found = "PART/CHECK"`: which check is the "as found" side of another, measured as the spindle came in.

use std::collections::BTreeMap;

use crate::reader::Document;
use bench::plan::keys::CheckLines;
use bench::plan::{Check, CheckAt, Plan};

/// Reports what is wrong with "as found" sides, once every check is known.
pub(super) fn doubts(document: &Document<'_>, plan: &Plan, lines: &[Vec<CheckLines>]) {
    let mut claimed: BTreeMap<CheckAt, String> = BTreeMap::new();
    for at in plan.places() {
        let Some((part, check)) = plan.at(at) else { continue };
        let Some(found) = check.found else { continue };
        let line = lines.get(usize::from(at.part)).and_then(|part| part.get(usize::from(at.check)));
        let line = line.map_or(0, |lines| lines.found);
        let own = format!("{}/{}", part.name, check.name);
        let Some((found_part, found_check)) = plan.at(found) else { continue };
        let name = format!("{}/{}", found_part.name, found_check.name);
        if found == at {
            let text = format!("{own} is its own found side");
            document.error(line, text, "name the check that is measured as the spindle came in");
        } else if found_check.found.is_some() {
            let text = format!("{name} is a found side and names one itself");
            document.error(line, text, "take its own `found` out: found and final are two checks");
        } else if let Some(other) = claimed.insert(found, own.clone()) {
            let text = format!("{name} is the found side of {other} already");
            document.error(line, text, "a found side belongs to one check");
        } else if no_station_in_common(check, found_check) {
            let text = format!("{own} and its found side {name} have no station in common");
            document.error(
                line,
                text,
                "give both the same `at`: stations are compared by distance",
            );
        }
    }
}

fn no_station_in_common(one: &Check, other: &Check) -> bool {
    let (one, other) = (one.stations(), other.stations());
    let known = |at| other.iter().any(|station| station.at == at);
    !one.is_empty() && !other.is_empty() && !one.iter().any(|station| known(station.at))
}
