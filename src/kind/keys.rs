//! The keys of one check in a plan. Each kind reads its own keys, and what several kinds share is read
//! here. All errors are reported together, each with its line and what to do.

mod about;
pub(crate) mod limits;
pub(crate) mod proof;
pub(crate) mod setting;
mod traps;

use std::collections::BTreeSet;
use std::fmt::Display;
use std::ops::RangeInclusive;

use judgement::Traps;
use num_rational::Ratio;
use quantity::{Length, Name, Quoted, Unit};

pub use self::about::{About, EVERY, LIMITS, MUST, TOUCHED};
pub use self::setting::common;
pub use self::traps::{Trap, in_words as traps_in_words};
pub use crate::described;

use self::limits::Judged;
use self::setting::{Setting, USUAL_ODDS};
use super::Measures;
use super::check::{Check, Direction, Holding, MasterUse, Moves, Reads, Surface};
use super::plan::{CheckAt, PartKind};
use super::traits::Traits;

/// A value and the line it is on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct At<T> {
    /// The value.
    pub value: T,
    /// Its line, counted from 1.
    pub line: u32,
}

impl<T> At<T> {
    /// Another value at the same place.
    pub fn map<U>(self, change: impl FnOnce(T) -> U) -> At<U> {
        At { value: change(self.value), line: self.line }
    }
}

/// The keys of one check as written. Each function gives `None` for an absent key and for a wrong one; for
/// the wrong one it also leaves a finding.
pub trait Keys: Sized {
    /// The name of the check.
    fn name(&self) -> Option<Name>;
    /// The line of the check.
    fn line(&self) -> u32;
    /// The line of a key; for an absent one, that of the check.
    fn line_of(&self, key: &str) -> u32;
    /// Whether a key is written at all.
    fn has(&self, key: &str) -> bool;
    /// Leaves a finding where the key is absent.
    fn must_have(&self, key: &str, hint: &str);
    /// Reports an error, with what to do.
    fn error(&self, line: u32, text: impl Into<String>, hint: impl Into<String>);
    /// Reports a warning, with what to do.
    fn warning(&self, line: u32, text: impl Into<String>, hint: impl Into<String>);
    /// Yes or no.
    fn boolean(&self, key: &str) -> Option<At<bool>>;
    /// A whole number within a range.
    fn integer(&self, key: &str, range: RangeInclusive<i64>) -> Option<At<i64>>;
    /// A text.
    fn string(&self, key: &str) -> Option<At<String>>;
    /// A text converted by `parse`; its error becomes a finding.
    fn parsed<T, E: Display>(
        &self,
        key: &str,
        parse: impl FnOnce(&str) -> Result<T, E>,
    ) -> Option<At<T>>;
    /// A text or a number exactly as written, converted by `parse`; its error becomes a finding.
    fn parsed_literal<T, E: Display>(
        &self,
        key: &str,
        parse: impl FnOnce(&str) -> Result<T, E>,
    ) -> Option<At<T>>;
    /// One of a few words.
    fn one_of<T: Copy>(&self, key: &str, words: &[(&str, T)]) -> Option<At<T>>;
    /// A list of texts.
    fn texts(&self, key: &str) -> Option<Vec<At<String>>>;
    /// A list of texts or numbers, as written.
    fn literals(&self, key: &str) -> Vec<At<String>>;
    /// How many items a list has.
    fn items(&self, key: &str) -> Option<usize>;
    /// A list of tables.
    fn tables(&self, key: &str) -> Vec<Self>;
    /// One table.
    fn table(&self, key: &str) -> Option<Self>;
    /// Ends the reading: every key that was not read becomes a finding.
    fn finish(self);
    /// The unit of numbers written without one.
    fn unit(&self) -> Unit;
    /// What the part is.
    fn part(&self) -> PartKind;
    /// The check that `PART/CHECK` names, if it is of the kind `measures`; otherwise a finding is left.
    fn check(&self, name: &At<String>, measures: &str) -> Option<NamedCheck> {
        self.check_of(name, &[measures])
    }
    /// The same where it may be of several kinds.
    fn check_of(&self, name: &At<String>, measures: &[&str]) -> Option<NamedCheck>;
    /// What to write in place of a word that is not one of the known ones.
    fn meant(&self, word: &str, known: &BTreeSet<String>) -> String;
}

/// What other checks need to know of a check.
#[derive(Debug, Clone)]
pub struct NamedCheck {
    /// Where it stands.
    pub at: CheckAt,
    /// The unit of an entry.
    pub unit: Option<String>,
    /// What it measures.
    pub measures: String,
}

/// The lines of those keys of a check that later findings, about gauges and pairs, refer to.
#[derive(Debug, Clone)]
pub struct CheckLines {
    /// `gauge = …`.
    pub gauge: u32,
    /// `tolerance = …`, or `min = …`.
    pub limits: u32,
    /// The tolerances of its stations, for a bar.
    pub stations: Vec<u32>,
    /// `of = …`.
    pub of: u32,
    /// `found = …`.
    pub found: u32,
}

/// A check that was read, with its lines; `None` where an error prevents it.
pub type ReadCheck = Option<(Check, CheckLines)>;

/// A touched check, made of what its kind has read.
pub(crate) fn touched(
    keys: &impl Keys,
    traits: &'static Traits,
    setting: Option<Setting>,
    judged: Option<Judged>,
    measures: Option<impl Into<Measures>>,
) -> ReadCheck {
    let measures = measures.map(Into::into);
    let advance = setting::advance(keys);
    let nominal = limits::nominal(keys, judged.as_ref());
    let (master, master_size, master_name) = limits::master(keys, traits);
    let returns = setting.as_ref().is_some_and(|setting| setting.closure);
    if setting.as_ref().is_some_and(|setting| setting.middle)
        && !returns
        && master != MasterUse::Both
    {
        let text = "middle changes nothing where nothing is touched again at the end";
        keys.warning(keys.line_of("middle"), text, "take it out, or write closure = true");
    }
    let found = found(keys, traits.word);
    let (name, setting, judged, measures) = (keys.name()?, setting?, judged?, measures?);
    let Judged { limits, unit, aim, line } = judged;
    let lines = CheckLines {
        gauge: setting.gauge.line,
        limits: line,
        stations: Vec::new(),
        of: keys.line(),
        found: keys.line_of("found"),
    };
    let check = Check {
        name,
        measures,
        gauge: Some(setting.gauge.value),
        setup: setting.holding,
        moves: setting.moves,
        surface: setting.surface,
        direction: setting.direction,
        positions: setting.positions,
        touches: setting.touches,
        passes: setting.passes,
        radii: setting.radii,
        limits,
        unit,
        aim,
        nominal,
        closure: setting.closure,
        middle: setting.middle,
        odds: setting.odds,
        traps: setting.traps,
        master,
        master_size,
        master_name,
        master_known: None,
        bar_name: None,
        bar_known: None,
        advance,
        down: setting.down,
        face: setting.face,
        found,
        step: None,
        reads: setting.reads,
    };
    Some((check, lines))
}

/// A check that is worked out or answered, made of what its kind has read.
pub(crate) fn untouched(
    keys: &impl Keys,
    traits: &'static Traits,
    (judged, nominal): (Option<Judged>, Option<Length>),
    measures: Option<impl Into<Measures>>,
) -> ReadCheck {
    let advance = setting::advance(keys);
    let found = found(keys, traits.word);
    let (name, judged, measures) = (keys.name()?, judged?, measures?.into());
    let Judged { limits, unit, aim, line } = judged;
    let lines = CheckLines {
        gauge: keys.line(),
        limits: line,
        stations: Vec::new(),
        of: keys.line_of("of"),
        found: keys.line_of("found"),
    };
    let check = Check {
        name,
        measures,
        gauge: None,
        setup: Holding::Plate,
        moves: Moves::Ring,
        surface: Surface::NearFace,
        direction: Direction::CounterClockwise,
        positions: 0,
        touches: 1,
        passes: 1,
        radii: Vec::new(),
        limits,
        unit,
        aim,
        nominal,
        closure: false,
        middle: false,
        odds: USUAL_ODDS,
        traps: Traps::default(),
        master: MasterUse::None,
        master_size: None,
        master_name: None,
        master_known: None,
        bar_name: None,
        bar_known: None,
        advance,
        down: None,
        face: None,
        found,
        step: None,
        reads: Reads::Touches,
    };
    Some((check, lines))
}

/// The "as found" side of this check; it has to measure the same.
fn found(keys: &impl Keys, word: &str) -> Option<CheckAt> {
    let name = keys.string("found")?;
    Some(keys.check(&name, word)?.at)
}

/// The question to a person.
pub(crate) fn question(keys: &impl Keys) -> Option<At<String>> {
    keys.must_have("question", "write question = \"which face carries the mark?\", say");
    let question = keys.string("question")?;
    if question.value.trim().is_empty() {
        keys.error(question.line, "the question is empty", "");
        return None;
    }
    Some(question)
}

/// A length.
pub(crate) fn length(keys: &impl Keys, key: &str) -> Option<At<Quoted>> {
    keys.parsed_literal(key, |text| Quoted::parse_with_unit(text, Some(keys.unit())))
}

/// A length above zero; any other leaves a finding.
pub(crate) fn positive(keys: &impl Keys, key: &str) -> Option<At<Quoted>> {
    let found = length(keys, key)?;
    if found.value.length.picometres() > 0 {
        return Some(found);
    }
    let text = format!("{key} is {}", found.value);
    keys.error(found.line, text, "write a length above zero");
    None
}

/// A length of zero or more, such as an uncertainty; any other leaves a finding.
pub(crate) fn not_negative(keys: &impl Keys, key: &str) -> Option<At<Quoted>> {
    let found = length(keys, key)?;
    if found.value.length.picometres() >= 0 {
        return Some(found);
    }
    let text = format!("{key} is {}", found.value);
    keys.error(found.line, text, "write zero or a length above it");
    None
}

/// A standard uncertainty, zero where none is given.
pub(crate) fn uncertainty(keys: &impl Keys, key: &str) -> Length {
    not_negative(keys, key).map(|found| found.value.length).unwrap_or_default()
}

/// The name of a test bar in the register of the shop.
pub(crate) fn bar_name(keys: &impl Keys) -> Option<Name> {
    let written = keys.string("bar_name")?;
    if keys.has("bar") {
        let text = "both bar and bar_name are given";
        keys.error(written.line, text, "write one of them: the register says how true the bar is");
    }
    match Name::new(&written.value) {
        Ok(name) => Some(name),
        Err(error) => {
            let text = format!("bar_name {:?}: {error}", written.value);
            keys.error(written.line, text, "write the name it has in `tenths register`");
            None
        }
    }
}

/// A list of lengths of zero or more; each that is not one leaves a finding.
pub(crate) fn lengths(keys: &impl Keys, key: &str) -> Vec<Length> {
    let mut lengths = Vec::new();
    for At { value, line } in keys.literals(key) {
        match Quoted::parse_with_unit(&value, Some(keys.unit())) {
            Ok(found) if found.length.picometres() < 0 => {
                let text = format!("{key}: {found} is below zero");
                keys.error(line, text, "distances count from the nose face");
            }
            Ok(found) => lengths.push(found.length),
            Err(error) => keys.error(line, format!("{key}: {error}"), ""),
        }
    }
    lengths
}

/// A number of degrees Celsius from 0 to 50.
pub(crate) fn degrees(keys: &impl Keys, key: &str) -> Option<Ratio<i128>> {
    let found = keys.parsed_literal(key, decimal)?;
    if (Ratio::from(0)..=Ratio::from(50)).contains(&found.value) {
        return Some(found.value);
    }
    let text = format!("{key} should be 0 to 50 degrees C");
    keys.error(found.line, text, "0.2 where both lay on one plate, say");
    None
}

/// Expansion per degree Celsius. A slip by a factor of a million is reported: no metal grows by a
/// ten-thousandth.
pub(crate) fn expansion(keys: &impl Keys, key: &str) -> Option<Ratio<i128>> {
    let mut written = String::new();
    let found = keys.parsed_literal(key, |text| {
        text.clone_into(&mut written);
        decimal(text)
    })?;
    if found.value >= Ratio::from(0) && found.value < Ratio::new(1, 10_000) {
        return Some(found.value);
    }
    keys.error(found.line, format!("{key} is {written} per degree C"), "steel is 11.5e-6");
    None
}

/// The most digits of a decimal number, and the largest power of ten by which it may be shifted. Within
/// these it fits an exact fraction.
const MOST_DIGITS: usize = 15;
const MOST_MOVED: i32 = 15;

/// A decimal number, exactly: `0.2`, `11.5e-6`.
pub(crate) fn decimal(text: &str) -> Result<Ratio<i128>, String> {
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
