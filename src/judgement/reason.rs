//! Why a verdict is withheld.

use super::decision::Word;

/// A reason that stands beside a verdict. Its text is what scripts read.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Reason {
    /// A face or turn with fewer than 7 touches.
    TooFewPositions,
    /// The resolution is above a quarter of the tolerance.
    GaugeTooCoarse,
    /// The return to position 0 is off, also when touched once more.
    NotClosed,
    /// The return to the master is off.
    ZeroMoved,
    /// The part is not at the temperature of the master.
    Warm,
    /// Inch and millimetre are mixed.
    UnitMixed,
    /// The calibration of the gauge is overdue.
    Overdue,
    /// Tries said to be of the same metal differ.
    TriesDiffer,
    /// The set-up cannot show the figure, as a bar that cannot be split from its spindle. The simple
    /// rule says nothing either.
    CannotProve,
    /// No master was touched where the plan wants one.
    NotMastered,
    /// The halves of a pair were not measured in one sitting.
    Apart,
    /// The seating of a bar does not repeat, so that it cannot be split from the spindle.
    SeatingMoved,
    /// Over its limit by no more than noise alone adds to a range.
    NearNoise,
    /// Too little of a swept turn was seen to keep 15 waves of it.
    GapInTurn,
    /// Dirt was found under the part in the same seating.
    SeatDoubted,
}

impl Reason {
    /// Every reason.
    pub const ALL: [Self; 15] = [
        Self::TooFewPositions,
        Self::GaugeTooCoarse,
        Self::NotClosed,
        Self::ZeroMoved,
        Self::Warm,
        Self::UnitMixed,
        Self::Overdue,
        Self::TriesDiffer,
        Self::CannotProve,
        Self::NotMastered,
        Self::Apart,
        Self::SeatingMoved,
        Self::NearNoise,
        Self::GapInTurn,
        Self::SeatDoubted,
    ];

    /// The reason of a code that [`Reason::text`] gave.
    #[must_use]
    pub fn parse(text: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|reason| reason.text() == text)
    }

    /// The code as it is printed and stored.
    #[must_use]
    pub const fn text(self) -> &'static str {
        match self {
            Self::TooFewPositions => "too-few-positions",
            Self::GaugeTooCoarse => "gauge-too-coarse",
            Self::NotClosed => "not-closed",
            Self::ZeroMoved => "zero-moved",
            Self::Warm => "warm",
            Self::UnitMixed => "unit-mixed",
            Self::Overdue => "overdue",
            Self::TriesDiffer => "tries-differ",
            Self::CannotProve => "cannot-prove",
            Self::NotMastered => "not-mastered",
            Self::Apart => "not-one-sitting",
            Self::SeatingMoved => "seating-moved",
            Self::NearNoise => "near-noise",
            Self::GapInTurn => "gap-in-turn",
            Self::SeatDoubted => "seat-doubted",
        }
    }

    /// Whether a part may still fail with this reason, though never pass: what it touches is out
    /// however coarse or few the touches were.
    #[must_use]
    pub const fn may_fail(self) -> bool {
        match self {
            Self::TooFewPositions | Self::GaugeTooCoarse => true,
            Self::NotClosed
            | Self::ZeroMoved
            | Self::Warm
            | Self::UnitMixed
            | Self::Overdue
            | Self::TriesDiffer
            | Self::CannotProve
            | Self::NotMastered
            | Self::Apart
            | Self::SeatingMoved
            | Self::NearNoise
            | Self::GapInTurn
            | Self::SeatDoubted => false,
        }
    }
}

/// The verdict: the word of the agreed rule, unless a reason withholds it as undecided.
#[must_use]
pub fn withheld(word: Word, reasons: &[Reason]) -> Word {
    match word {
        Word::Incomplete => Word::Incomplete,
        Word::DoesNotConform if reasons.iter().all(|reason| reason.may_fail()) => word,
        Word::Conforms | Word::DoesNotConform | Word::Undecided if reasons.is_empty() => word,
        Word::Conforms | Word::DoesNotConform | Word::Undecided => Word::Undecided,
    }
}
