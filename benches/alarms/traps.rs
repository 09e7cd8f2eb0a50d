//! What goes wrong, at three sizes each.

use super::shop::What;

/// What happens in a series.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Happens {
    /// One touch is off.
    Slip,
    /// A chip under the piece tilts it.
    Chip,
    /// The reading climbs steadily, so much over the whole series.
    Drift,
    /// The stand is pushed between two touches.
    Bump,
    /// The zero button is pressed after the first touch.
    ZeroAfterFirst,
    /// The zero button is pressed later.
    ZeroLater,
    /// A position is left out: the hand is one ahead from then on.
    Missed,
    /// A position is touched twice: the hand is one behind from then on.
    Doubled,
    /// The stylus sticks: each touch is off to one or the other side.
    Hysteresis,
    /// The gauge sends millimetres from then on.
    Units,
    /// The plunger is near its stop; the size is how far from it.
    EndOfTravel,
    /// The master is another one.
    WrongMaster,
    /// The piece is another one.
    WrongPart,
    /// The piece is so many degrees warm, and cools.
    Warm,
    /// One seating of the bar is off.
    Unseated,
}

impl Happens {
    pub(crate) const fn text(self) -> &'static str {
        match self {
            Self::Slip => "one touch is off",
            Self::Chip => "a chip lies under the piece",
            Self::Drift => "the readings climb steadily",
            Self::Bump => "the stand is pushed between two touches",
            Self::ZeroAfterFirst => "zero is pressed after the first touch",
            Self::ZeroLater => "zero is pressed later",
            Self::Missed => "a position is left out",
            Self::Doubled => "a position is touched twice",
            Self::Hysteresis => "the stylus sticks",
            Self::Units => "the gauge changes to millimetres",
            Self::EndOfTravel => "the plunger is near its stop",
            Self::WrongMaster => "the master is another one",
            Self::WrongPart => "the piece is another one",
            Self::Warm => "the piece is warm",
            Self::Unseated => "a seating of the bar is off",
        }
    }

    /// Whether it is there from the first touch on.
    pub(crate) const fn is_there_at_first(self) -> bool {
        matches!(
            self,
            Self::Chip
                | Self::Drift
                | Self::Hysteresis
                | Self::EndOfTravel
                | Self::WrongMaster
                | Self::WrongPart
                | Self::Warm
                | Self::Unseated
        )
    }
}

/// One thing that goes wrong, in µin (degrees Celsius where a piece is warm).
#[derive(Debug, Clone, Copy)]
pub(crate) struct Trap {
    pub(crate) happens: Happens,
    pub(crate) size: f64,
}

/// A row of the table: what happens, to which piece, the true figure of the piece, three sizes.
pub(crate) struct Case {
    pub(crate) happens: Happens,
    pub(crate) what: What,
    pub(crate) value: f64,
    pub(crate) sizes: [f64; 3],
}

const fn case(happens: Happens, what: What, value: f64, sizes: [f64; 3]) -> Case {
    Case { happens, what, value, sizes }
}

pub(crate) const CASES: [Case; 22] = [
    case(Happens::Slip, What::Ring, 30.0, [50.0, 100.0, 500.0]),
    case(Happens::Slip, What::Turn, 30.0, [50.0, 100.0, 500.0]),
    case(Happens::Chip, What::Ring, 20.0, [40.0, 80.0, 300.0]),
    case(Happens::Drift, What::Ring, 30.0, [35.0, 70.0, 140.0]),
    case(Happens::Drift, What::Turn, 30.0, [35.0, 70.0, 140.0]),
    case(Happens::Drift, What::Length, 20.0, [35.0, 60.0, 120.0]),
    case(Happens::Bump, What::Ring, 30.0, [30.0, 60.0, 300.0]),
    case(Happens::Bump, What::Turn, 30.0, [30.0, 60.0, 300.0]),
    case(Happens::Bump, What::Length, 20.0, [30.0, 60.0, 300.0]),
    case(Happens::ZeroAfterFirst, What::Ring, 30.0, [50.0, 100.0, 1000.0]),
    case(Happens::ZeroAfterFirst, What::Length, 20.0, [50.0, 100.0, 1000.0]),
    case(Happens::ZeroLater, What::Ring, 30.0, [50.0, 100.0, 1000.0]),
    case(Happens::Missed, What::Ring, 40.0, [0.0; 3]),
    case(Happens::Missed, What::Ring, 75.0, [0.0; 3]),
    case(Happens::Doubled, What::Ring, 75.0, [0.0; 3]),
    case(Happens::Hysteresis, What::Ring, 30.0, [20.0, 40.0, 80.0]),
    case(Happens::Units, What::Ring, 30.0, [0.0; 3]),
    case(Happens::EndOfTravel, What::Ring, 30.0, [50.0, 200.0, 450.0]),
    case(Happens::WrongMaster, What::Length, 0.0, [300.0, 900.0, 10_000.0]),
    case(Happens::WrongPart, What::Length, 0.0, [300.0, 900.0, 3000.0]),
    case(Happens::Warm, What::Length, 0.0, [1.0, 3.0, 6.0]),
    case(Happens::Unseated, What::Bar, 60.0, [20.0, 40.0, 80.0]),
];
