//! The parts on the shaft, from the nose inwards.

use std::collections::{BTreeMap, BTreeSet};

use super::index::Index;
use crate::reader::{Table, hint_for};
use bench::plan::StackPlace;
use bench::spots::USUAL_MARKS;

/// A ring has two marks at least, and nobody sets one nearer than to a degree.
const MARKS: std::ops::RangeInclusive<i64> = 2..=360;

/// Reads every `[[stack]]`.
pub(super) fn read(root: &Table<'_>, index: &Index<'_>) -> Vec<StackPlace> {
    let mut lines = BTreeMap::new();
    let places = root.tables("stack").into_iter();
    places.filter_map(|table| place(table, index, &mut lines)).collect()
}

fn place(
    table: Table<'_>,
    index: &Index<'_>,
    lines: &mut BTreeMap<u16, u32>,
) -> Option<StackPlace> {
    let document = table.document();
    table.must_have("part", "write part = \"…\", a part of this plan");
    let name = table.string("part");
    let part = name.as_ref().and_then(|name| index.part(document, name));
    if let Some((part, name)) = part.zip(name.as_ref())
        && let Some(first) = lines.insert(part, name.line)
    {
        let text = format!("{} is on the stack twice, first on line {first}", name.value);
        document.error(name.line, text, "one [[stack]] for each part; give a second one its name");
    }
    let ways = ways(&table);
    let towards_nose = towards_nose(&table, &ways);
    let mark = table.boolean("mark");
    let mark_deg = table.integer("mark_deg", 0..=359).and_then(|deg| u16::try_from(deg.value).ok());
    if let Some(mark) = mark.as_ref().filter(|mark| !mark.value)
        && table.has("mark_deg")
    {
        let text = "mark_deg is given, and mark = false says nobody writes it down";
        document.error(mark.line, text, "take one of them out");
    }
    let opposes = table.texts("opposes").map(|names| {
        let others = names.iter().filter_map(|name| index.part(document, name));
        others.collect::<Vec<u16>>()
    });
    if let (Some(opposes), Some(part)) = (&opposes, part)
        && opposes.contains(&part)
    {
        let text = "a part does not oppose its own high spot";
        document.error(table.line_of("opposes"), text, "name the seats and the parts it sits with");
    }
    let marks = table.integer("marks", MARKS).and_then(|many| u16::try_from(many.value).ok());
    table.finish();
    let marked = mark.is_some_and(|mark| mark.value) || mark_deg.is_some();
    let marks = marks.unwrap_or(USUAL_MARKS);
    Some(StackPlace { part: part?, ways, towards_nose, marked, mark_deg, opposes, marks })
}

/// The names of the two faces; empty where it does not matter which face is towards the nose.
fn ways(table: &Table<'_>) -> Vec<String> {
    let Some(written) = table.texts("ways") else { return Vec::new() };
    let ways: Vec<String> = written.into_iter().map(|way| way.value).collect();
    let two =
        ways.len() == 2 && ways[0] != ways[1] && ways.iter().all(|way| !way.trim().is_empty());
    if !two {
        let text = "ways should be the names of its two faces";
        let hint = "write ways = [\"thrust-side\", \"open-side\"], say; leave it out where either \
                    way will do";
        table.document().error(table.line_of("ways"), text, hint);
    }
    ways
}

fn towards_nose(table: &Table<'_>, ways: &[String]) -> Option<String> {
    let nose = table.string("towards_nose")?;
    if !ways.contains(&nose.value) {
        let known: BTreeSet<String> = ways.iter().cloned().collect();
        let hint = if ways.is_empty() {
            format!("write ways = [\"{}\", …]", nose.value)
        } else {
            hint_for(&nose.value, &known)
        };
        let text = format!("\"{}\" is none of its ways", nose.value);
        table.document().error(nose.line, text, hint);
    }
    Some(nose.value)
}
