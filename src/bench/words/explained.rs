//! The words that alerts, verdicts and plans use, each with what it means and what helps.

use ::gauge::Waits;
use judgement::{Reason, Word};

use super::remedy::{remedy_of_alert, remedy_of_reason};
use crate::fact::row::AlertKind;
use crate::fact::row::AttemptReason;
use crate::plan::Measures;
use crate::state::metal::Standing;

quantity::worded! {
    /// What a word is a word of.
    #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
    pub enum WordOf {
        /// The word of a verdict.
        Verdict = "verdict",
        /// Why a verdict is withheld.
        Reason = "reason",
        /// What a verdict is worth now.
        Standing = "standing",
        /// A kind of alert.
        Alert = "alert",
        /// Why a stream takes nothing.
        Waits = "waiting",
        /// Why a check is measured again.
        Attempt = "attempt",
        /// What a check measures.
        Kind = "kind of check",
    }
}

/// A word, explained.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Explained {
    /// The word, as scripts and people read it.
    pub word: &'static str,
    /// What it is a word of.
    pub of: WordOf,
    /// What it means.
    pub means: &'static str,
    /// What to do about it; `None` where there is nothing to do.
    pub remedy: Option<&'static str>,
}

/// Every word, those of verdicts first. A word may stand twice, as one of alerts and one of reasons.
#[must_use]
pub fn explained() -> Vec<Explained> {
    let words = |of: WordOf, words: &[(&'static str, &'static str)]| -> Vec<Explained> {
        let one = |&(word, means): &(&'static str, &'static str)| Explained {
            word,
            of,
            means: means.trim(),
            remedy: remedy(of, word),
        };
        words.iter().map(one).collect()
    };
    [
        words(WordOf::Verdict, Word::WORDS),
        words(WordOf::Reason, Reason::WORDS),
        words(WordOf::Standing, Standing::WORDS),
        words(WordOf::Alert, AlertKind::WORDS),
        words(WordOf::Waits, Waits::WORDS),
        words(WordOf::Attempt, AttemptReason::WORDS),
        words(WordOf::Kind, Measures::WORDS),
    ]
    .concat()
}

fn remedy(of: WordOf, word: &str) -> Option<&'static str> {
    match of {
        WordOf::Reason => Reason::parse(word).map(remedy_of_reason),
        WordOf::Alert => AlertKind::parse(word).map(remedy_of_alert),
        WordOf::Standing => Standing::parse(word).and_then(of_standing),
        WordOf::Waits => Waits::parse(word).map(of_waiting),
        WordOf::Attempt => AttemptReason::parse(word).and_then(of_attempt),
        WordOf::Verdict => Word::parse(word).and_then(of_verdict),
        WordOf::Kind => None,
    }
}

fn of_verdict(word: Word) -> Option<&'static str> {
    match word {
        Word::Conforms => None,
        Word::DoesNotConform => Some(remedy_of_alert(AlertKind::Out)),
        Word::Undecided => Some(remedy_of_alert(AlertKind::Undecided)),
        Word::Incomplete => Some("`tenths measure` the check again, or `tenths remeasure` it."),
    }
}

const fn of_standing(standing: Standing) -> Option<&'static str> {
    match standing {
        Standing::Stands | Standing::Superseded => None,
        Standing::MetalChanged => Some("Measure it again: `tenths next` offers it."),
        Standing::PartReplaced => Some("Measure the new part."),
    }
}

const fn of_waiting(waits: Waits) -> &'static str {
    match waits {
        Waits::InTheAir => "Set the stylus down on the face.",
        Waits::OffTheEdge => "Set it down on the face: it stands beside it.",
        Waits::SameSpot => "Lift it by more than 0.001 in, then set it down at the next position.",
        Waits::Unsure => "Tap for the first touch, or write `rest` for the gauge.",
    }
}

const fn of_attempt(reason: AttemptReason) -> Option<&'static str> {
    match reason {
        AttemptReason::First => None,
        AttemptReason::Ground => Some(
            "Say it after the wheel: lengths and faces of the part are then of metal that is gone.",
        ),
        AttemptReason::Cleaned => {
            Some("Say it where dirt or a burr was wiped off: the try before it no longer counts.")
        }
        AttemptReason::Again => {
            Some("Say it where nothing was done to the part: the tries are combined, and U falls.")
        }
    }
}
