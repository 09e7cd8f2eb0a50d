//! The words of a verdict as a person at the bench reads them.

use bench::metal::Standing;
use bench::plan::Holding;
use bench::row::Lack;
use judgement::Word;
use quantity::Name;
use store::WentOnRecord;

/// What spoke against something that went on: `ring/face does not conform, nut/torque is not measured`.
#[must_use]
pub fn lacking_words(went: &WentOnRecord) -> String {
    let one = |(part, check, lack): &(Name, Name, Lack)| format!("{part}/{check} {}", lack.words());
    went.lacking.iter().map(one).collect::<Vec<_>>().join(", ")
}

/// Why a verdict stands no longer because of the metal, in words; `None` where it is not so.
#[must_use]
pub const fn metal_words(standing: Standing) -> Option<&'static str> {
    match standing {
        Standing::MetalChanged => Some("the metal has changed since"),
        Standing::PartReplaced => Some("on the part that was replaced"),
        Standing::Stands | Standing::Superseded => None,
    }
}

/// The word of a verdict as a table tells it: one that rests on metal that is gone says so instead.
#[must_use]
pub fn word_now(verdict: Word, standing: Standing) -> String {
    let word = metal_words(standing).map_or(verdict.text(), |_| standing.text());
    called(word)
}

/// A verdict's word as it is called out.
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
