//! Times for people: in their own zone, or as an age.

use jiff::Timestamp;
use jiff::tz::TimeZone;

use quantity::Wall;

/// `2027-03-01 15:30:00` in a zone.
#[must_use]
pub fn day_and_time(at: Wall, zone: &TimeZone) -> String {
    in_zone(at, zone, "%Y-%m-%d %H:%M:%S")
}

/// `15:30:00` in a zone.
#[must_use]
pub fn clock_time(at: Wall, zone: &TimeZone) -> String {
    in_zone(at, zone, "%H:%M:%S")
}

fn in_zone(at: Wall, zone: &TimeZone, format: &str) -> String {
    Timestamp::from_microsecond(at.micros()).map_or_else(
        |_| at.to_string(),
        |stamp| stamp.to_zoned_datetime(zone.clone()).strftime(format).to_string(),
    )
}

/// How long ago something was: `12 seconds`, `3 minutes`, `2 hours`, `4 days`. A time in the future counts
/// as now.
#[must_use]
pub fn age(at: Wall, now: Wall) -> String {
    let seconds = (now.micros() - at.micros()).max(0) / 1_000_000;
    let (count, unit) = match seconds {
        0..120 => (seconds, "second"),
        120..7_200 => (seconds / 60, "minute"),
        7_200..172_800 => (seconds / 3_600, "hour"),
        _ => (seconds / 86_400, "day"),
    };
    let plural = if count == 1 { "" } else { "s" };
    format!("{count} {unit}{plural}")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn times_are_told_in_the_persons_zone() {
        let at = Wall::parse("2027-03-01T14:30:00Z").unwrap();
        let zone = TimeZone::fixed(jiff::tz::offset(-5));
        assert_eq!(day_and_time(at, &zone), "2027-03-01 09:30:00");
        assert_eq!(clock_time(at, &TimeZone::UTC), "14:30:00");
    }

    #[test]
    fn ages_are_told_in_the_unit_that_says_enough() {
        let at = |seconds: i64| Wall::from_micros(seconds * 1_000_000);
        let ago = |seconds: i64| age(at(1_000_000), at(1_000_000 + seconds));
        assert_eq!(ago(-5), "0 seconds");
        assert_eq!(ago(1), "1 second");
        assert_eq!(ago(119), "119 seconds");
        assert_eq!(ago(180), "3 minutes");
        assert_eq!(ago(7_200), "2 hours");
        assert_eq!(ago(400_000), "4 days");
    }
}
