//! Time stamps: numbers that the caller has read from a clock.

use std::fmt;

use serde::{Deserialize, Serialize};

/// A moment of the wall clock: microseconds since 1970-01-01T00:00:00Z.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default, Serialize, Deserialize,
)]
#[serde(transparent)]
pub struct Wall(i64);

/// A text that is not an RFC 3339 time.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{0:?} is not a time; write it as 2027-03-01T14:30:00Z or 2027-03-01")]
pub struct WallError(pub String);

impl Wall {
    /// The moment `micros` microseconds after the start of 1970, UTC.
    #[must_use]
    pub const fn from_micros(micros: i64) -> Self {
        Self(micros)
    }

    /// Microseconds since the start of 1970, UTC.
    #[must_use]
    pub const fn micros(self) -> i64 {
        self.0
    }

    /// Reads an RFC 3339 time with its offset, or a date, which stands for its first moment in UTC.
    ///
    /// # Errors
    /// Any other text.
    pub fn parse(text: &str) -> Result<Self, WallError> {
        let error = || WallError(text.to_owned());
        let text = text.trim();
        if let Ok(date) = text.parse::<jiff::civil::Date>()
            && text.len() == 10
        {
            let start = jiff::tz::TimeZone::UTC.to_timestamp(date.at(0, 0, 0, 0));
            return Ok(Self(start.map_err(|_| error())?.as_microsecond()));
        }
        let stamp: jiff::Timestamp = text.parse().map_err(|_| error())?;
        Ok(Self(stamp.as_microsecond()))
    }
}

impl Wall {
    /// The time in UTC for use in a sentence: `2026-11-30 02:03:04`.
    #[must_use]
    pub fn to_the_second(self) -> String {
        let text: String = self.to_string().chars().take(19).collect();
        text.replace('T', " ")
    }
}

impl fmt::Display for Wall {
    /// RFC 3339, UTC, with milliseconds.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match jiff::Timestamp::from_microsecond(self.0) {
            Ok(stamp) => write!(f, "{stamp:.3}"),
            Err(_) => f.write_str("0000-01-01T00:00:00.000Z"),
        }
    }
}

/// When something arrived: the wall clock for people, and a monotonic clock for durations.
///
/// Two monotonic readings may be subtracted only within one boot of the machine; rows say when a
/// new boot began.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub struct Stamp {
    /// The wall clock. It can be set back or forward, so it is stored but never used for order.
    pub wall: Wall,
    /// Microseconds since the machine was switched on.
    pub mono_us: u64,
}

impl Stamp {
    /// The earlier moment, by both clocks, at which the monotonic clock read `mono_us`.
    #[must_use]
    pub fn back_at(self, mono_us: u64) -> Self {
        let before = i64::try_from(self.mono_us.saturating_sub(mono_us)).unwrap_or(i64::MAX);
        Self { wall: Wall::from_micros(self.wall.micros().saturating_sub(before)), mono_us }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn times_are_utc_with_milliseconds() {
        let wall = Wall::parse("2027-03-01T14:30:00.25+02:00").unwrap();
        assert_eq!(wall.to_string(), "2027-03-01T12:30:00.250Z");
        assert_eq!(Wall::parse("2027-03-01").unwrap().to_string(), "2027-03-01T00:00:00.000Z");
        assert!(Wall::parse("yesterday").is_err());
    }
}
