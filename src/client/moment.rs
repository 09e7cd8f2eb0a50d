//! Times as a person types them; without a zone they are in the person's own.

use jiff::civil::{Date, DateTime, Time};
use jiff::tz::TimeZone;
use jiff::{Timestamp, ToSpan};

use quantity::Wall;

/// Reads a time: `today`, `yesterday`, a date, a date with a time of day, or a time of today, all in the zone of this
/// machine; or RFC 3339 with its offset.
pub(crate) fn parse(text: &str) -> Result<Wall, String> {
    let zone = TimeZone::system();
    let today = Timestamp::now().to_zoned_datetime(zone.clone()).date();
    read(text.trim(), today, &zone).ok_or_else(|| {
        format!(
            "{text:?} is not a time; write it as today, yesterday, 2027-03-01, \
             \"2027-03-01 14:30\" or 2027-03-01T14:30:00Z"
        )
    })
}

fn read(text: &str, today: Date, zone: &TimeZone) -> Option<Wall> {
    let local =
        |at: DateTime| Some(Wall::from_micros(zone.to_timestamp(at).ok()?.as_microsecond()));
    let midnight = |date: Date| local(date.at(0, 0, 0, 0));
    match text.to_lowercase().as_str() {
        "today" => return midnight(today),
        "yesterday" => return midnight(today.checked_sub(1.day()).ok()?),
        _ => {}
    }
    if text.len() == 10
        && let Ok(date) = text.parse::<Date>()
    {
        return midnight(date);
    }
    if (4..=8).contains(&text.len())
        && text.contains(':')
        && let Ok(time) = text.parse::<Time>()
    {
        return local(today.to_datetime(time));
    }
    // With an offset it is a moment; without one, a time on the clock here.
    let stated = Wall::parse(text).ok();
    stated.or_else(|| local(text.parse::<DateTime>().ok()?))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(text: &str) -> Option<String> {
        let zone = TimeZone::fixed(jiff::tz::offset(-5));
        let today = jiff::civil::date(2027, 3, 1);
        read(text, today, &zone).map(|wall| wall.to_string())
    }

    #[test]
    fn what_names_no_zone_is_in_the_persons_own() {
        let is =
            |text: &str, expected: &str| assert_eq!(at(text).as_deref(), Some(expected), "{text}");
        is("2027-03-01", "2027-03-01T05:00:00.000Z");
        is("today", "2027-03-01T05:00:00.000Z");
        is("Yesterday", "2027-02-28T05:00:00.000Z");
        is("2027-03-01 14:30", "2027-03-01T19:30:00.000Z");
        is("2027-03-01T14:30:15", "2027-03-01T19:30:15.000Z");
        is("14:30", "2027-03-01T19:30:00.000Z");
        is("2027-03-01T14:30:00Z", "2027-03-01T14:30:00.000Z");
        is("2027-03-01T14:30:00.25+02:00", "2027-03-01T12:30:00.250Z");
    }

    #[test]
    fn anything_else_is_no_time() {
        for text in ["", "someday", "2027-02-30", "25:00", "1", "2027", "\u{1b}[2J"] {
            assert_eq!(at(text), None, "{text:?}");
        }
        assert!(parse("someday").unwrap_err().contains("yesterday"));
    }
}
