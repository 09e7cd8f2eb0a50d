//! Times as a person types them; without a zone they are in the person's own.

use jiff::civil::{Date, DateTime, Time};
use jiff::{Span, Timestamp, ToSpan, ZonedDateTime};

use quantity::Wall;

/// Reads a time: how long ago (`1h`, `90m`, `2d`), `now`, `today`, `yesterday`, a date, a date with a time of day, or
/// a time of today, all in the zone of this machine; or RFC 3339 with its offset.
pub(crate) fn parse(text: &str) -> Result<Wall, String> {
    read(text.trim(), &ZonedDateTime::now()).ok_or_else(|| {
        format!(
            "{text:?} is not a time; write it as 1h, 30m, 2d (so long ago), today, yesterday, 14:30, \
             2027-03-01, \"2027-03-01 14:30\" or 2027-03-01T14:30:00Z"
        )
    })
}

fn read(text: &str, now: &ZonedDateTime) -> Option<Wall> {
    let zone = now.time_zone();
    let today = now.date();
    let wall = |at: Timestamp| Wall::from_micros(at.as_microsecond());
    let local = |at: DateTime| Some(wall(zone.to_timestamp(at).ok()?));
    let midnight = |date: Date| local(date.at(0, 0, 0, 0));
    match text.to_lowercase().as_str() {
        "now" => return Some(wall(now.timestamp())),
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
    if let Some(span) = so_long(text) {
        return Some(wall(now.checked_sub(span).ok()?.timestamp()));
    }
    // With an offset it is a moment; without one, a time on the clock here.
    let stated = Wall::parse(text).ok();
    stated.or_else(|| local(text.parse::<DateTime>().ok()?))
}

/// `1h`, `90m`, `2d`, `1h30m`, `3 days`, with or without `ago`. Days, weeks, months and years are those of the
/// calendar: the same time of day, whatever the clocks were set to in between. Two days from now is no time of a
/// record, so a sign is no part of it.
fn so_long(text: &str) -> Option<Span> {
    let lower = text.to_lowercase();
    let bare = lower.strip_suffix("ago").unwrap_or(&lower).trim_end();
    // A digit first and a unit last: neither a date nor a bare number, which says no unit.
    let shaped = bare.starts_with(|c: char| c.is_ascii_digit())
        && bare.ends_with(|c: char| c.is_ascii_lowercase())
        && !bare.contains([':', '-']);
    if !shaped {
        return None;
    }
    bare.parse::<Span>().ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(text: &str) -> Option<String> {
        let now = "2027-03-01T15:00:00-05:00[-05:00]".parse().unwrap();
        read(text, &now).map(|wall| wall.to_string())
    }

    #[test]
    fn so_long_ago_counts_from_now() {
        let is =
            |text: &str, expected: &str| assert_eq!(at(text).as_deref(), Some(expected), "{text}");
        is("1h", "2027-03-01T19:00:00.000Z");
        is("1H", "2027-03-01T19:00:00.000Z");
        is("90m", "2027-03-01T18:30:00.000Z");
        is("90 min", "2027-03-01T18:30:00.000Z");
        is("1h30m", "2027-03-01T18:30:00.000Z");
        is("45s", "2027-03-01T19:59:15.000Z");
        is("2d", "2027-02-27T20:00:00.000Z");
        is("2 days ago", "2027-02-27T20:00:00.000Z");
        is("1 week", "2027-02-22T20:00:00.000Z");
        is("now", "2027-03-01T20:00:00.000Z");
        for no_time in ["1", "h", "-1h", "1x", "1h:30", "ago", "1 lathe", "99999999999999999999h"] {
            assert_eq!(at(no_time), None, "{no_time}");
        }
    }

    #[test]
    fn a_day_ago_is_the_same_time_of_day_although_the_clocks_were_set() {
        // In that zone clocks went forward in the night to 2027-03-28: that day had 23 hours.
        let now: ZonedDateTime = "2027-03-28T15:00:00+02:00[Europe/Berlin]".parse().unwrap();
        let at = |text: &str| read(text, &now).unwrap().to_string();
        assert_eq!(at("1d"), "2027-03-27T14:00:00.000Z");
        assert_eq!(at("24h"), "2027-03-27T13:00:00.000Z");
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
