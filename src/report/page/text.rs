//! Words, and texts from outside made safe.

use maud::{Markup, html};

use crate::{day_and_time, setup_words};
use ::record::VerdictRecord;
use bench::plan::{Check, Holding, Moves};
use bench::row::AttemptReason;
use judgement::{Reason, Word};
use quantity::{Figure, Unit, Wall};
use wire::printable;

use super::model::Model;

/// A text from outside in a safe form: characters that could control or reorder the text become visible
/// escapes.
pub(super) fn shown(text: &str) -> String {
    printable(text)
}

/// The same, isolated from the direction of the text around it. A long text wraps and is shown in full.
pub(super) fn free(text: &str) -> Markup {
    html! { bdi { (shown(text)) } }
}

/// A text, or a dash where there is none.
pub(super) fn or_dash(text: Option<&str>) -> Markup {
    html! { @match text { Some(text) if !text.trim().is_empty() => (free(text)), _ => "—" } }
}

/// The name of a check as people write it.
pub(super) fn target(part: &str, check: &str) -> Markup {
    html! { bdi { (shown(part)) "/" wbr; (shown(check)) } }
}

/// A number with a real minus sign.
pub(super) fn minus(number: &str) -> String {
    number.replace('-', "−")
}

/// A number after a sign of arithmetic: a negative one is put in brackets.
pub(super) fn bracketed(number: &str) -> String {
    if number.starts_with('-') { format!("({})", minus(number)) } else { number.to_owned() }
}

pub(super) fn when(at: Wall, model: &Model<'_>) -> String {
    day_and_time(at, model.zone)
}

/// The date without the time.
pub(super) fn day(at: Wall, model: &Model<'_>) -> String {
    day_and_time(at, model.zone).chars().take(10).collect()
}

/// A small height in the unit people use for it: tenths of a thou, or micrometres.
pub(super) fn small(figure: Figure, unit: Unit) -> f64 {
    match unit {
        Unit::Inch => figure.to_f64() / 2_540_000.0,
        Unit::Millimetre | Unit::Micrometre | Unit::Other(_) => figure.to_f64() / 1_000_000.0,
    }
}

pub(super) const fn small_unit(unit: Unit) -> &'static str {
    match unit {
        Unit::Inch => "tenths (0.0001\u{a0}in)",
        Unit::Millimetre | Unit::Micrometre => "µm",
        Unit::Other(other) => other.symbol(),
    }
}

/// A number with at most two decimals and without zeros at the end.
pub(super) fn short(number: f64) -> String {
    let text = format!("{number:.2}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    minus(if text == "-0" || text.is_empty() { "0" } else { text })
}

/// An angle in whole degrees, [0, 360).
pub(super) fn degrees(angle: f64) -> String {
    format!("{:.0}°", angle.round().rem_euclid(360.0))
}

/// How it was held, what moved, and which face was down.
pub(super) fn setup(check: &Check, record: &VerdictRecord) -> String {
    if let Some(held) = check.traits().held {
        return held.to_owned();
    }
    let held = match record.setup {
        Holding::Turning => "fixed stylus",
        other @ (Holding::Plate | Holding::Anvil | Holding::Supports) => setup_words(other),
    };
    let moves = match check.moves {
        _ if check.swept().is_some() => "turned by hand in one go, marks tapped",
        _ if check.traits().turns => "turned by hand",
        Moves::Ring => "ring moves",
        Moves::Stand => "stand moves",
    };
    let down =
        record.down.as_ref().map_or_else(String::new, |face| format!(", {} down", shown(face)));
    format!("{held}, {moves}{down}")
}

/// Why an attempt was made.
pub(super) const fn because(reason: AttemptReason) -> &'static str {
    match reason {
        AttemptReason::First => "first",
        AttemptReason::Ground => "after grinding",
        AttemptReason::Cleaned => "after cleaning",
        AttemptReason::Again => "again, same metal",
    }
}

/// Why a verdict is withheld or may not pass, in a sentence.
pub(super) const fn reason(reason: Reason) -> &'static str {
    match reason {
        Reason::TooFewPositions => "fewer than 7 touches may fail a face or a turn, never pass it",
        Reason::GaugeTooCoarse => "the readings are in steps larger than a quarter of the limit",
        Reason::NotClosed => "position 0 did not come back to its first reading",
        Reason::ZeroMoved => "the master did not come back to its first reading",
        Reason::Warm => "the part was not at the temperature of the master",
        Reason::UnitMixed => "inch and millimetre were mixed",
        Reason::Overdue => "the calibration of the gauge was overdue",
        Reason::TriesDiffer => "tries said to be of the same metal differ",
        Reason::TouchesDiffer => "the touches at one position lie too far apart",
        Reason::OneRadius => "one radius may fail squareness, never pass it",
        Reason::CannotProve => "this set-up cannot show the figure",
        Reason::NotMastered => "no master was touched",
        Reason::Apart => "the two lengths were not measured in one sitting",
        Reason::SeatingMoved => "the seating of the bar does not repeat",
        Reason::NearNoise => "it is over the limit by no more than noise can make it read",
        Reason::GapInTurn => "too much of the turn went by between two samples",
        Reason::NotSteady => "the temperatures were not steady at the end",
        Reason::CutShort => "a step did not run as long as it was to",
        Reason::GapInLog => "a gap in the log hides what the verdict needs",
        Reason::SensorFrozen => "a sensor showed the same digits although the speed changed",
        Reason::RoomUnknown => "the temperature of the room was not written down",
        Reason::DoesNotComeBack => "it did not come back to where it was",
        Reason::Unproven => "the gauge was not proven",
        Reason::SeatDoubted => "dirt was found under the part in this seating",
    }
}

/// The word of a verdict inside a sentence.
pub(super) fn word(verdict: Word) -> String {
    verdict.text().replace('-', " ")
}

/// The mark of a verdict, readable without colour.
pub(super) fn mark(verdict: Word) -> Markup {
    let class = match verdict {
        Word::Conforms => "v in",
        Word::DoesNotConform => "v out",
        Word::Undecided | Word::Incomplete => "v open",
    };
    html! { strong class=(class) { (word(verdict)) } }
}
