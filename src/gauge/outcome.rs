//! What became of each frame.

use std::fmt;

use quantity::{Quoted, Unit};

/// The most bytes of a frame. A longer one counts as one damaged frame.
pub(super) const LONGEST: usize = 64;

/// Stands for a key without a character in what an adapter types (`SUB` of ASCII, "substitute").
pub const NO_CHARACTER: u8 = 0x1a;

/// What became of one frame: each frame has exactly one outcome.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Outcome {
    /// The gauge it belongs to, as an index into [`super::LineSetup::gauges`]; 0 for a frame that belongs
    /// to no gauge.
    pub gauge: usize,
    /// When its last byte arrived, in the microseconds the caller counts.
    pub at_us: u64,
    /// What was sent, without its terminator and up to 64 bytes; control and high bytes as `\x1b`. Of a block of
    /// lines that is read, the line with the value.
    pub text: String,
    /// The kind of frame.
    pub kind: Kind,
}

/// The kinds of frame.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Kind {
    /// A value.
    Reading {
        /// In the unit and with the places sent; the sign set for the gauge is applied.
        value: Quoted,
        /// Another frame of the same press of the button.
        repeat: bool,
        /// The frame also said that the battery is low.
        low_battery: bool,
        /// Set when unit or decimal places are not as expected.
        odd: Option<Odd>,
    },
    /// Not a good frame.
    Damaged(Damage),
    /// A good frame without a value for any gauge of this line.
    Foreign(Foreign),
    /// The first line after opening, whose beginning may be missing.
    Resync,
    /// Sent by a stuck button or during another flood of frames.
    Muted {
        /// Whether it is the first of this flood.
        first: bool,
    },
    /// A sample of a stream that nobody waits for.
    Idle,
}

/// Why a frame is damaged.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Damage {
    /// Longer than a frame can be.
    TooLong,
    /// Stopped in the middle (frames of fixed length, and blocks of lines).
    CutShort,
    /// More than one byte in five has its high bit set: the port is probably set to 8 bits where
    /// the gauge sends 7 and parity.
    HighBits,
    /// It does not match the profile's pattern.
    NotThePattern,
    /// Two decimal points.
    TwoPoints,
    /// A point with nothing after it, before a unit.
    EmptyFraction,
    /// More than eight digits, or none.
    DigitCount,
    /// A unit the profile does not know.
    UnknownUnit,
    /// Finer than a picometre, or too large for a length.
    OutOfRange,
    /// A packed frame in which a fixed digit differs.
    FixedPart,
    /// A packed frame in which the digit for a number, sign, place or unit is not one the profile knows.
    BadNibble,
    /// A count, although the length of one count is not set.
    NoScale,
    /// A key was typed that has no character.
    NoCharacter,
    /// A block of lines without its first line.
    NoFirstLine,
    /// A block of lines in which no line reads as the value.
    NoValueLine,
    /// A block of lines in which several lines read as the value.
    TwoValues,
    /// A block that has not the number of lines that the profile says.
    LineCount,
}

/// Why a good frame has no value for this bench.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Foreign {
    /// The display is blank or shows dashes.
    Blank,
    /// The gauge reports an error.
    Error,
    /// The plunger is beyond its range.
    Overload,
    /// A message about the battery, without a value.
    LowBattery,
    /// Nothing is plugged into this channel.
    NoGauge,
    /// A channel that no gauge here has.
    OtherChannel,
}

/// What is unexpected about a well-formed reading.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Odd {
    /// The unit.
    Unit {
        /// The unit sent.
        got: Unit,
        /// The unit of the gauge, or the first one seen.
        expected: Unit,
    },
    /// The number of decimal places.
    Places {
        /// The number of places sent.
        got: u8,
        /// The number the profile states for this unit, or that of the gauge's resolution.
        expected: u8,
    },
}

impl fmt::Display for Damage {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::TooLong => "longer than a frame can be",
            Self::CutShort => "it stopped in the middle",
            Self::HighBits => "many bytes have the high bit set: try 7 data bits with parity",
            Self::NotThePattern => "it does not look as the profile says",
            Self::TwoPoints => "two decimal points",
            Self::EmptyFraction => "a decimal point with nothing after it",
            Self::DigitCount => "a value has one to eight digits",
            Self::UnknownUnit => "a unit the profile does not know",
            Self::OutOfRange => "finer than a picometre, or out of range",
            Self::FixedPart => "a fixed part of the frame differs",
            Self::BadNibble => "a digit, sign, place or unit is none the profile knows",
            Self::NoScale => "a count, but the length of one count is not set",
            Self::NoCharacter => {
                "a key that has no character was typed: set the adapter to a US English keyboard"
            }
            Self::NoFirstLine => "the first line of the block is missing",
            Self::NoValueLine => "the line with the value is missing, or damaged",
            Self::TwoValues => "several lines of the block look like the value",
            Self::LineCount => "the block has too few lines, or too many",
        })
    }
}

impl fmt::Display for Foreign {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Blank => "blank",
            Self::Error => "error",
            Self::Overload => "overload",
            Self::LowBattery => "low battery",
            Self::NoGauge => "no gauge",
            Self::OtherChannel => "other channel",
        })
    }
}

impl fmt::Display for Odd {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Unit { got, expected } => write!(f, "unit {got}, expected {expected}"),
            Self::Places { got, expected } => {
                write!(f, "{got} decimal places, expected {expected}")
            }
        }
    }
}

/// Bytes made safe for a person and a terminal: printable ASCII stays, a backslash becomes `\\`, any
/// other byte its code as in `\x1b`.
pub(super) fn printable(bytes: &[u8]) -> String {
    let mut text = String::with_capacity(bytes.len());
    for &byte in bytes.iter().take(LONGEST) {
        match byte {
            b'\\' => text.push_str("\\\\"),
            b' '..=b'~' => text.push(char::from(byte)),
            _ => {
                text.push_str("\\x");
                for half in [byte >> 4, byte & 15] {
                    text.push(char::from_digit(u32::from(half), 16).unwrap_or('?'));
                }
            }
        }
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_sent_can_steer_a_terminal() {
        assert_eq!(printable(b"+0.1\x1b[2J\xe9\\"), "+0.1\\x1b[2J\\xe9\\\\");
        assert_eq!(printable(&[b'x'; 100]).len(), 64);
    }
}
