//! What of a length is judged, and how it is brought to 20 °C.

use num_rational::Ratio;

use super::Around;
use super::index::Named;
use crate::bench::plan::{CheckAt, Size, SizeJudged, steel};
use crate::config::reader::Table;
use crate::config::words::decimal;
use crate::judgement::celsius;

const JUDGED: [(&str, SizeJudged); 2] =
    [("mean", SizeJudged::Mean), ("every-touch", SizeJudged::EveryTouch)];

/// Reads what is peculiar to a length.
pub(super) fn read(table: &Table<'_>, around: &Around<'_>) -> Size {
    let judge = table.one_of("judge", &JUDGED).map_or(SizeJudged::Mean, |judge| judge.value);
    let temperatures = temperatures(table, around);
    let part = expansion(table, "expansion").unwrap_or_else(steel);
    let master = expansion(table, "master_expansion").unwrap_or_else(steel);
    if !table.has("temperatures") {
        for key in ["expansion", "master_expansion"].into_iter().filter(|key| table.has(key)) {
            let text = format!("{key} changes nothing without temperatures");
            let hint = "write temperatures = [\"PART/CHECK\", \"PART/CHECK\"]: the entries of \
                        part and master";
            table.document().warning(table.line_of(key), text, hint);
        }
    }
    Size { judge, temperatures, expansions: [part, master] }
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
