//! What became of a frame.

use std::fmt;

use quantity::{Quoted, Unit};

/// The one thing that became of one frame.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Outcome {
    /// Which gauge of the line, as an index into [`super::LineSetup::gauges`]. A frame that
    /// belongs to none is counted at 0.
    pub gauge: usize,
    /// When its last byte arrived, in the microseconds the caller counts.
    pub at_us: u64,
    /// What was sent, without its terminator; control and high bytes as `\x1b`, at most 64 bytes
    /// of it.
    pub text: String,
    /// What it was.
    pub kind: Kind,
}

/// What a frame was.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Kind {
    /// A value.
    Reading {
        /// In the unit and with the places sent; the gauge's sign is applied.
        value: Quoted,
        /// Another frame of the same press of the button.
        repeat: bool,
        /// The frame also said that the battery is low.
        low_battery: bool,
        /// Well formed, but not in the unit or with the places expected.
        odd: Option<Odd>,
    },
    /// Not a good frame.
    Damaged(Damage),
    /// A good frame without a value for a gauge of this line.
    Foreign(Foreign),
    /// The first line after opening: its beginning may be missing.
    Resync,
    /// Sent by a button that is stuck, or by a flood.
    Muted {
        /// The first of this flood.
        first: bool,
    },
    /// A sample of a stream that nobody waits for.
    Idle,
}

/// Why a frame is not good.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Damage {
    /// Longer than a frame can be.
    TooLong,
    /// Stopped in the middle (frames of fixed length).
    CutShort,
    /// More than one byte in five has its high bit set: the port is probably set to 8 bits where
    /// the gauge sends 7 and parity.
    HighBits,
    /// Not as the profile says a frame looks.
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
    /// Packed digits whose fixed parts differ.
    FixedPart,
    /// Packed digits with something else in place of a digit, sign, place or unit.
    BadNibble,
    /// A count, but nobody said how long one count is.
    NoScale,
}

/// Why a good frame has no value for us.
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

/// What a well-formed reading has other than expected.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Odd {
    /// The unit.
    Unit {
        /// As sent.
        got: Unit,
        /// The gauge's, or the first one seen.
        expected: Unit,
    },
    /// The number of decimal places.
    Places {
        /// As sent.
        got: u8,
        /// The profile's for this unit, or those of the gauge's resolution.
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

/// Bytes as a person and a terminal can take them: what is not a printable ASCII character is
/// `\x1b`, a backslash is `\\`.
pub(super) fn printable(bytes: &[u8]) -> String {
    let mut text = String::with_capacity(bytes.len());
    for &byte in bytes.iter().take(super::framing::LONGEST) {
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
