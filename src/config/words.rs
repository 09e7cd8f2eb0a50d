//! What several files have in common: names that may occur once, and lengths in a unit.

use std::collections::BTreeMap;

use super::reader::{At, Document, Table};
use judgement::Rule;
use quantity::{Name, Quoted, Unit};

/// The words of `unit = …`.
pub(super) const UNITS: [(&str, Unit); 3] =
    [("in", Unit::Inch), ("mm", Unit::Millimetre), ("um", Unit::Micrometre)];

/// The words of `rule = …`.
/// Whether a gauge that is not proven withholds its verdicts.
pub(super) const UNPROVEN: [(&str, bool); 2] = [("note", false), ("withhold", true)];

pub(super) const RULES: [(&str, Rule); 2] = [("guarded", Rule::Guarded), ("simple", Rule::Simple)];

/// Names that may occur once, each with its line.
pub(super) struct Once {
    what: &'static str,
    lines: BTreeMap<String, u32>,
}

impl Once {
    /// No names yet; `what` is the plural of what they name.
    pub(super) fn new(what: &'static str) -> Self {
        Self { what, lines: BTreeMap::new() }
    }

    /// Adds a name; a finding where it occurred before.
    pub(super) fn give(&mut self, document: &Document<'_>, name: &At<Name>) {
        let key = name.value.as_str().to_owned();
        match self.lines.get(&key) {
            Some(first) => {
                let text =
                    format!("two {} are named \"{key}\", the first on line {first}", self.what);
                document.error(name.line, text, "give each its own name");
            }
            None => {
                self.lines.insert(key, name.line);
            }
        }
    }
}

/// The name that a table must have.
pub(super) fn name(table: &Table<'_>) -> Option<At<Name>> {
    table.must_have("name", "write name = \"…\"");
    table.parsed("name", Name::new)
}

/// A length; a number without unit is in `unit`.
pub(super) fn length(table: &Table<'_>, key: &str, unit: Option<Unit>) -> Option<At<Quoted>> {
    table.parsed_literal(key, |text| Quoted::parse_with_unit(text, unit))
}

/// A length above zero; anything else is a finding.
pub(super) fn positive(table: &Table<'_>, key: &str, unit: Option<Unit>) -> Option<At<Quoted>> {
    let found = length(table, key, unit)?;
    if found.value.length.picometres() > 0 {
        return Some(found);
    }
    let text = format!("{key} is {}", found.value);
    table.document().error(found.line, text, "write a length above zero");
    None
}
