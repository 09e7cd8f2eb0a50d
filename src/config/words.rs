//! What several files have in common: names that may occur once, and lengths in a unit.

use std::collections::BTreeMap;

use num_rational::Ratio;

use super::reader::{At, Document, Table};
use judgement::Rule;
use quantity::{Name, Quoted, Unit};

/// The words of `unit = …`.
pub(super) const UNITS: [(&str, Unit); 3] =
    [("in", Unit::Inch), ("mm", Unit::Millimetre), ("um", Unit::Micrometre)];

/// The words of `rule = …`.
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

/// A length of zero or more, such as an uncertainty; anything else is a finding.
pub(super) fn not_negative(table: &Table<'_>, key: &str, unit: Option<Unit>) -> Option<At<Quoted>> {
    let found = length(table, key, unit)?;
    if found.value.length.picometres() >= 0 {
        return Some(found);
    }
    let text = format!("{key} is {}", found.value);
    table.document().error(found.line, text, "write zero or a length above it");
    None
}

/// The most digits of a decimal number, and the largest power of ten by which it may be shifted. Within
/// these it fits an exact fraction.
const MOST_DIGITS: usize = 15;
const MOST_MOVED: i32 = 15;

/// A decimal number, exactly: `0.2`, `11.5e-6`.
pub(super) fn decimal(text: &str) -> Result<Ratio<i128>, String> {
    decimal_of(text).ok_or_else(|| format!("\"{text}\" is not a decimal number"))
}

fn decimal_of(text: &str) -> Option<Ratio<i128>> {
    let (mantissa, power) = match text.split_once(['e', 'E']) {
        Some((mantissa, power)) => (mantissa, power.parse::<i32>().ok()?),
        None => (text, 0),
    };
    let (negative, digits) = match mantissa.strip_prefix('-') {
        Some(rest) => (true, rest),
        None => (false, mantissa.strip_prefix('+').unwrap_or(mantissa)),
    };
    let (whole, fraction) = digits.split_once('.').unwrap_or((digits, "0"));
    let all = format!("{whole}{fraction}");
    let plain = |part: &str| !part.is_empty() && part.bytes().all(|byte| byte.is_ascii_digit());
    if !plain(whole) || !plain(fraction) || all.len() > MOST_DIGITS {
        return None;
    }
    let count: i128 = all.parse().ok()?;
    let moved = power.checked_sub(i32::try_from(fraction.len()).ok()?)?;
    if moved.abs() > MOST_MOVED {
        return None;
    }
    let scale = 10_i128.pow(moved.unsigned_abs());
    let value = if moved < 0 { Ratio::new(count, scale) } else { Ratio::from(count * scale) };
    Some(if negative { -value } else { value })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_decimal_number_is_read_exactly() {
        for (text, numerator, denominator) in [
            ("0.2", 1, 5),
            ("11.5e-6", 115, 10_000_000),
            ("-1.5", -3, 2),
            ("+2E2", 200, 1),
            ("0.2916666667", 2_916_666_667, 10_000_000_000),
        ] {
            assert_eq!(decimal(text).unwrap(), Ratio::new(numerator, denominator), "{text}");
        }
        for text in ["", "-", "1.", ".5", "1e", "1e99", "inf", "nan", "0x1", "1_0", "7/24", "--1"] {
            assert!(decimal(text).is_err(), "{text}");
        }
        assert!(decimal("1234567890123456").is_err(), "more digits than an exact figure keeps");
    }
}
