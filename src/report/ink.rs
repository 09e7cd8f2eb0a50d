//! The colours of words that matter.

use judgement::Word;

/// The colour of a word that matters. Whoever prints it decides whether there are colours at all; the word says
/// the same without.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ink {
    /// Fine.
    Green,
    /// Out, or stop.
    Red,
    /// Look at it.
    Yellow,
}

impl Ink {
    /// That of the word of a verdict.
    #[must_use]
    pub const fn of(word: Word) -> Self {
        match word {
            Word::Conforms => Self::Green,
            Word::DoesNotConform => Self::Red,
            Word::Undecided | Word::Incomplete => Self::Yellow,
        }
    }
}
