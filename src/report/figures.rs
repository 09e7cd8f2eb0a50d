//! The words of a verdict, for the person at the bench.

use ::record::{EditRecord, WentOnRecord};
use bench::metal::Standing;
use bench::plan::Holding;
use bench::row::Lack;
use judgement::Word;
use quantity::Name;

/// What spoke against a step that was taken all the same: `ring/face does not conform, nut/torque is not
/// measured`.
#[must_use]
pub fn lacking_words(lacking: &[(Name, Name, Lack)]) -> String {
    let one = |(part, check, lack): &(Name, Name, Lack)| format!("{part}/{check} {}", lack.words());
    lacking.iter().map(one).collect::<Vec<_>>().join(", ")
}

/// What spoke against a step that was taken all the same, with the mark of a part that stood elsewhere.
#[must_use]
pub fn against_words(went: &WentOnRecord) -> String {
    let checks = (!went.lacking.is_empty()).then(|| lacking_words(&went.lacking));
    let mark = went.mark.map(bench::words::spots::mark_off);
    checks.into_iter().chain(mark).collect::<Vec<_>>().join(", ")
}

/// What was corrected at the head of a job: `SP-77, was SP-7`.
#[must_use]
pub fn edit_words(edit: &EditRecord) -> String {
    match &edit.was {
        Some(was) => format!("{}, was {was}", edit.text),
        None => format!("{}, was left out", edit.text),
    }
}

/// Why the metal makes a verdict stand no longer, in words; `None` where it does not.
#[must_use]
pub const fn metal_words(standing: Standing) -> Option<&'static str> {
    match standing {
        Standing::MetalChanged => Some("the metal has changed since"),
        Standing::PartReplaced => Some("on the part that was replaced"),
        Standing::Stands | Standing::Superseded => None,
    }
}

/// The word of a verdict in a table; where its metal is gone, that fact instead.
#[must_use]
pub fn word_now(verdict: Word, standing: Standing) -> String {
    let word = metal_words(standing).map_or(verdict.text(), |_| standing.text());
    called(word)
}

/// The word of a verdict in capitals.
#[must_use]
pub fn word_of(verdict: Word) -> String {
    called(verdict.text())
}

/// `does-not-conform` as `DOES NOT CONFORM`.
fn called(word: &str) -> String {
    word.replace('-', " ").to_uppercase()
}

/// How the part was held, in a few words.
#[must_use]
pub const fn setup_words(setup: Holding) -> &'static str {
    match setup {
        Holding::Plate => "on the plate",
        Holding::Anvil => "over the anvil",
        Holding::Supports => "on supports",
        Holding::Turning => "while turning",
    }
}

#[cfg(test)]
mod tests;
