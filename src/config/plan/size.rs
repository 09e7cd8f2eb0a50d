//! What of a length is judged, and how it is brought to 20 °C.

use num_rational::Ratio;

use super::Around;
use super::index::Named;
use crate::reader::Table;
use crate::words::{decimal, not_negative};
use bench::plan::{CheckAt, Size, SizeJudged, steel};
use judgement::celsius;
use quantity::{Length, Unit};

const JUDGED: [(&str, SizeJudged); 2] =
    [("mean", SizeJudged::Mean), ("every-touch", SizeJudged::EveryTouch)];

/// Reads what is peculiar to a length.
pub(super) fn read(table: &Table<'_>, around: &Around<'_>) -> Size {
    let judge = table.one_of("judge", &JUDGED).map_or(SizeJudged::Mean, |judge| judge.value);
    let temperatures = temperatures(table, around);
    let part = expansion(table, "expansion").unwrap_or_else(steel);
    let master = expansion(table, "master_expansion").unwrap_or_else(steel);
    if table.has("temperatures") && table.has("off_20") {
        let text = "off_20 changes nothing beside temperatures, which say it";
        table.document().warning(table.line_of("off_20"), text, "take one of them out");
    }
    Size {
        judge,
        temperatures,
        expansions: [part, master],
        master_u: master_u(table, around.unit),
        between_c: degrees(table, "temperature_between"),
        off_20_c: degrees(table, "off_20"),
        expansion_u: expansion(table, "expansion_uncertainty"),
    }
}

/// More is a slip of the pen, or the size itself: 0.01 in (common practice, no source).
const MOST_OF_A_MASTER: Length = Length::from_picometres(254_000_000);

/// Standard uncertainty of the size of the master.
fn master_u(table: &Table<'_>, unit: Unit) -> Option<Length> {
    let found = not_negative(table, "master_uncertainty", Some(unit))?;
    if found.value.length > MOST_OF_A_MASTER {
        let text = format!("master_uncertainty is {}", found.value);
        let hint = "write the standard uncertainty of its size, half of the certificate's U: \
                    \"0.000002 in\", say";
        table.document().error(found.line, text, hint);
    }
    Some(found.value.length)
}

/// A number of degrees Celsius from 0 to 50.
pub(super) fn degrees(table: &Table<'_>, key: &str) -> Option<Ratio<i128>> {
    let found = table.parsed_literal(key, decimal)?;
    if (Ratio::from(0)..=Ratio::from(50)).contains(&found.value) {
        return Some(found.value);
    }
    let text = format!("{key} should be 0 to 50 degrees C");
    table.document().error(found.line, text, "0.2 where both lay on one plate, say");
    None
}

/// The entries of the temperatures of part and master.
fn temperatures(table: &Table<'_>, around: &Around<'_>) -> Option<[CheckAt; 2]> {
    let written = table.texts("temperatures")?;
    let [part, master] = written.as_slice() else {
        let text = "temperatures should be two entries: of the part, and of the master";
        let hint = "write temperatures = [\"PART/CHECK\", \"PART/CHECK\"]; the same one twice where \
                    both lie on one plate";
        table.document().error(table.line_of("temperatures"), text, hint);
        return None;
    };
    let one = |name| {
        let named = around.index.check(table.document(), name, "entry")?;
        in_celsius(table, &name.value, name.line, named);
        Some(named.at)
    };
    let (part, master) = (one(part), one(master));
    Some([part?, master?])
}

fn in_celsius(table: &Table<'_>, name: &str, line: u32, named: Named<'_>) {
    if let Some(unit) = named.unit.filter(|unit| celsius(&format!("20 {unit}")).is_none()) {
        let text = format!("\"{name}\" is recorded in {unit}, and a temperature is in C");
        table.document().error(line, text, "write unit = \"C\" at that entry");
    }
}

/// Expansion per degree Celsius. A slip of a million is told: no metal grows by a ten-thousandth.
pub(super) fn expansion(table: &Table<'_>, key: &str) -> Option<Ratio<i128>> {
    let found = table.parsed_literal(key, decimal)?;
    if found.value >= Ratio::from(0) && found.value < Ratio::new(1, 10_000) {
        return Some(found.value);
    }
    let text = format!("{key} is {} per degree C", table.literal(key)?.value);
    table.document().error(found.line, text, "steel is 11.5e-6");
    None
}
