//! Where `tail` begins: behind a number of the feed, or at a time.

use ::record::{FeedRecord, StoreError};
use quantity::Wall;

use crate::failure::Failure;
use crate::global::Global;
use crate::{bench, moment};

/// Where the feed begins.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Since {
    /// Behind this number.
    Number(u64),
    /// At this time.
    Time(Wall),
}

/// Reads a plain number as a number of the feed, and anything else as a time.
pub(crate) fn parse(text: &str) -> Result<Since, String> {
    let plain = text.trim();
    if !plain.is_empty() && plain.bytes().all(|byte| byte.is_ascii_digit()) {
        return plain.parse().map(Since::Number).map_err(|_| format!("{text:?} is too large"));
    }
    moment::parse(text)
        .map(Since::Time)
        .map_err(|why| format!("{why}; or as a number of the feed, 41"))
}

impl Since {
    /// The number behind which the feed begins. Which line is the first of a time is found in the record.
    pub(super) fn number(self, global: &Global) -> Result<u64, Failure> {
        match self {
            Self::Number(number) => Ok(number),
            Self::Time(from) => {
                let (record, _) = bench::record(global)?;
                let line = |behind: u64| {
                    let next = record.feed_since(behind, 1)?.into_iter().next();
                    Ok(next.map(|line: FeedRecord| (line.seq, line.at)))
                };
                last_before(from, line).map_err(bench::no_record)
            }
        }
    }
}

/// A line of the feed: its number, and its time where it can be read.
type Line = (u64, Option<Wall>);

/// The number of the last line before a time; 0 where all are later. `next` gives the first line behind a number.
///
/// Lines are in the order of their times but for a clock that was set, so halving finds it: some forty looks at most. A
/// damaged line has no time and counts as later, so that it is shown rather than missed.
fn last_before(
    from: Wall,
    next: impl Fn(u64) -> Result<Option<Line>, StoreError>,
) -> Result<u64, StoreError> {
    let is_before = |line: Option<Line>| line.and_then(|(_, at)| at).is_some_and(|at| at < from);
    // Behind `low` lines are before the time, behind `high` none is.
    let mut high = 1_u64;
    while high < u64::from(u32::MAX) && is_before(next(high)?) {
        high *= 2;
    }
    let mut low = 0;
    while low < high {
        let middle = low + (high - low) / 2;
        match next(middle)? {
            Some(line) if is_before(Some(line)) => low = line.0.max(middle + 1),
            Some(_) | None => high = middle,
        }
    }
    Ok(low)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_number_is_one_of_the_feed_and_all_else_is_a_time() {
        assert_eq!(parse("41").unwrap(), Since::Number(41));
        assert!(matches!(parse("1h").unwrap(), Since::Time(_)));
        assert!(matches!(parse("yesterday").unwrap(), Since::Time(_)));
        assert!(parse("someday").unwrap_err().ends_with("or as a number of the feed, 41"));
        assert!(parse("99999999999999999999").unwrap_err().contains("too large"));
    }

    #[test]
    fn the_last_line_before_a_time_is_found_in_a_feed_of_any_length() {
        for count in [0_u64, 1, 2, 3, 7, 8, 9, 1000] {
            // A line a second; every fifth cannot be read.
            let next = |behind: u64| {
                let seq = behind + 1;
                let at = (!seq.is_multiple_of(5))
                    .then(|| Wall::from_micros(i64::try_from(seq).unwrap()));
                Ok((seq <= count).then_some((seq, at)))
            };
            for from in 0..=count + 2 {
                let time = Wall::from_micros(i64::try_from(from).unwrap());
                let found = last_before(time, next).unwrap();
                // Nothing of that time or later is behind us, and what is missed before it is damaged.
                let least = from.saturating_sub(1).min(count);
                assert!(found <= least, "{count} {from}: {found}");
            }
        }
        let whole = |behind: u64| {
            Ok((behind < 900)
                .then(|| (behind + 1, Some(Wall::from_micros(i64::try_from(behind).unwrap())))))
        };
        assert_eq!(last_before(Wall::from_micros(500), whole).unwrap(), 500);
        assert_eq!(last_before(Wall::from_micros(5_000), whole).unwrap(), 900);
        assert_eq!(last_before(Wall::from_micros(0), whole).unwrap(), 0);
    }
}
