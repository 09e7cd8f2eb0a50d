//! Why a verdict is withheld.

use super::decision::Word;

quantity::worded! {
    /// A reason that stands beside a verdict. Its text is what scripts read.
    #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
    pub enum Reason {
        /// A face or turn with fewer than 7 touches.
        TooFewPositions = "too-few-positions",
        /// Squareness from touches on a single radius: a cone or a dish shows nothing there.
        OneRadius = "one-radius",
        /// The resolution is above a quarter of the tolerance.
        GaugeTooCoarse = "gauge-too-coarse",
        /// The return to position 0 is off, also when touched once more.
        NotClosed = "not-closed",
        /// The return to the master is off.
        ZeroMoved = "zero-moved",
        /// The part is not at the temperature of the master.
        Warm = "warm",
        /// Inch and millimetre are mixed.
        UnitMixed = "unit-mixed",
        /// The calibration of the gauge is overdue.
        Overdue = "overdue",
        /// Tries said to be of the same metal differ.
        TriesDiffer = "tries-differ",
        /// Touches on one spot lie farther apart than the scatter of the hand.
        TouchesDiffer = "touches-differ",
        /// The set-up cannot show the figure, as a bar that cannot be split from its spindle. The simple
        /// rule says nothing either.
        CannotProve = "cannot-prove",
        /// No master was touched where the plan wants one.
        NotMastered = "not-mastered",
        /// The halves of a pair were not measured in one sitting.
        Apart = "not-one-sitting",
        /// The seating of a bar does not repeat, so that it cannot be split from the spindle.
        SeatingMoved = "seating-moved",
        /// Over its limit by no more than noise alone adds to a range.
        NearNoise = "near-noise",
        /// Too little of a swept turn was seen to keep 15 waves of it.
        GapInTurn = "gap-in-turn",
        /// Dirt was found under the part in the same seating.
        SeatDoubted = "seat-doubted",
        /// The gauge is not proven, and the bench wants it proven.
        Unproven = "unproven",
        /// What is taken once more does not come back: an end float, a face offset.
        DoesNotComeBack = "does-not-come-back",
        /// A run-in is not steady at its end.
        NotSteady = "not-steady",
        /// A step of a run-in did not run as long as it was to.
        CutShort = "cut-short",
        /// A gap in the log of a run-in hides what the verdict needs.
        GapInLog = "gap-in-log",
        /// A sensor showed the same digits although the speed changed.
        SensorFrozen = "sensor-frozen",
        /// No temperature of the room was written down.
        RoomUnknown = "room-unknown",
    }
}

impl Reason {
    /// Whether a part may still fail with this reason, though never pass. It may where coarse or few
    /// touches cannot make a good part look bad.
    #[must_use]
    pub const fn may_fail(self) -> bool {
        match self {
            // What was too warm stays too warm, whatever else was not seen.
            Self::TooFewPositions
            | Self::OneRadius
            | Self::GaugeTooCoarse
            | Self::NotSteady
            | Self::CutShort
            | Self::GapInLog
            | Self::SensorFrozen => true,
            Self::NotClosed
            | Self::ZeroMoved
            | Self::Warm
            | Self::UnitMixed
            | Self::Overdue
            | Self::TriesDiffer
            | Self::TouchesDiffer
            | Self::CannotProve
            | Self::NotMastered
            | Self::Apart
            | Self::SeatingMoved
            | Self::NearNoise
            | Self::GapInTurn
            | Self::SeatDoubted
            | Self::Unproven
            | Self::DoesNotComeBack
            | Self::RoomUnknown => false,
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
