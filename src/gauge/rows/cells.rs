//! The cells of a row: value, unit, position, time and tag.

use std::borrow::Cow;
use std::fmt::Write as _;

use csv::ByteRecord;
use jiff::civil::{Date, DateTime};
use jiff::tz::TimeZone;

use super::header::Places;
use super::{RowFormat, Tag};
use crate::decode::MOST_DIGITS;
use quantity::{Length, Quoted, Unit, Wall};

/// One row, cell by cell.
pub(super) struct Cells<'r> {
    pub record: &'r ByteRecord,
    pub places: &'r Places,
}

impl<'r> Cells<'r> {
    fn cell(&self, place: usize) -> &'r [u8] {
        self.record.get(place).unwrap_or_default().trim_ascii()
    }

    /// Checks the number of columns. Columns beyond those of the header are allowed if they are empty,
    /// and empty ones may be missing at the end. This catches a decimal comma in a file with commas
    /// between its columns.
    pub(super) fn check_width(&self) -> Result<(), String> {
        let (row, header) = (self.record.len(), self.places.width);
        let extra = (header..row).any(|at| !self.cell(at).is_empty());
        if extra || row <= self.places.last_used {
            return Err(format!("it has {row} columns, the header has {header}"));
        }
        Ok(())
    }

    /// The value with its unit.
    pub(super) fn value(&self, format: &RowFormat) -> Result<Quoted, String> {
        let cell = self.cell(self.places.value);
        let unit_at = cell.iter().rposition(|&byte| is_numeric(byte)).map_or(0, |last| last + 1);
        let (number, suffix) = cell.split_at(unit_at);
        let unit = self.unit(suffix.trim_ascii(), format.unit)?;
        let (count, places) = number_in(number, format.decimal)
            .map_err(|wrong| format!("the value \"{}\" {wrong}", shown(cell)))?;
        // Eight digits of inches are below 2.6e18 picometres, which fits an i64.
        let scaled = count * unit.picometres();
        let step = 10_i64.pow(u32::from(places));
        if scaled % step != 0 {
            return Err(format!("the value \"{}\" is finer than a picometre", shown(cell)));
        }
        let length = Length::from_picometres(scaled / step);
        if !length.is_taken() {
            return Err(format!("the value \"{}\" is more than 100 m", shown(cell)));
        }
        Ok(Quoted { length, unit, places })
    }

    /// The unit of a row: the row's own, else the header's, else that of the settings. If row and header
    /// both state one, they must agree.
    fn unit(&self, suffix: &[u8], default: Option<Unit>) -> Result<Unit, String> {
        let column = self.places.unit.map_or(&[][..], |place| self.cell(place));
        let mut stated = self.places.header_unit;
        for text in [column, suffix].into_iter().filter(|text| !text.is_empty()) {
            let unit = unit_named(text).ok_or_else(|| {
                format!("\"{}\" is no unit; units are in, mm and um", shown(text))
            })?;
            if let Some(other) = stated.filter(|stated| *stated != unit) {
                return Err(format!("it says {unit} and {other}"));
            }
            stated = Some(unit);
        }
        stated.or(default).ok_or_else(|| "neither the row nor the header says the unit".to_owned())
    }

    /// The position, where there is such a column.
    pub(super) fn position(&self) -> Result<Option<u32>, String> {
        let Some(place) = self.places.position else { return Ok(None) };
        let cell = self.cell(place);
        let fits = !cell.is_empty() && cell.len() <= 9 && cell.iter().all(u8::is_ascii_digit);
        if !fits {
            return Err(format!("the position \"{}\" is no whole number", shown(cell)));
        }
        Ok(Some(cell.iter().fold(0, |sum, digit| sum * 10 + u32::from(digit - b'0'))))
    }

    /// The text of the time; `None` where the column is missing or empty.
    pub(super) fn time(&self) -> Result<Option<&'r str>, String> {
        let cell = self.places.time.map_or(&[][..], |place| self.cell(place));
        let text = std::str::from_utf8(cell)
            .map_err(|_| format!("the time \"{}\" is no text", shown(cell)))?;
        Ok(Some(text).filter(|text| !text.is_empty()))
    }

    /// Whether the row has this tag.
    pub(super) fn has_tag(&self, tag: &Tag) -> bool {
        let same = |place: Option<usize>, known: &Option<String>| match (place, known) {
            (Some(place), Some(known)) => self.cell(place) == known.as_bytes(),
            (None, None) => true,
            (Some(_), None) | (None, Some(_)) => false,
        };
        same(self.places.check, &tag.check)
            && same(self.places.part, &tag.part)
            && same(self.places.job, &tag.job)
    }

    /// The row's tag.
    pub(super) fn tag(&self) -> Result<Tag, String> {
        let name = |place: Option<usize>, what: &str| {
            let Some(place) = place else { return Ok(None) };
            let cell = self.cell(place);
            match std::str::from_utf8(cell) {
                Ok("") => Err(format!("it names no {what}")),
                Ok(text) if !text.contains(char::is_control) => Ok(Some(text.to_owned())),
                Ok(_) | Err(_) => Err(format!("the {what} \"{}\" is no plain text", shown(cell))),
            }
        };
        Ok(Tag {
            job: name(self.places.job, "job")?,
            part: name(self.places.part, "part")?,
            check: name(self.places.check, "check")?,
        })
    }
}

fn is_numeric(byte: u8) -> bool {
    byte.is_ascii_digit() || matches!(byte, b'.' | b',' | b'+' | b'-')
}

fn unit_named(text: &[u8]) -> Option<Unit> {
    match text {
        b"mm" => Some(Unit::Millimetre),
        b"in" => Some(Unit::Inch),
        b"um" => Some(Unit::Micrometre),
        other => Unit::parse(std::str::from_utf8(other).ok()?),
    }
}

/// Reads an optional sign and digits with at most one decimal sign between them. Returns the count of
/// the last place and the number of places.
fn number_in(cell: &[u8], decimal: u8) -> Result<(i64, u8), &'static str> {
    let (negative, unsigned) = match cell {
        [b'-', rest @ ..] => (true, rest.trim_ascii_start()),
        [b'+', rest @ ..] => (false, rest.trim_ascii_start()),
        rest => (false, rest),
    };
    let (mut count, mut digits, mut point) = (0_i64, 0_usize, None);
    for &byte in unsigned {
        if byte.is_ascii_digit() {
            digits += 1;
            if digits > MOST_DIGITS {
                return Err("has more than eight digits");
            }
            count = count * 10 + i64::from(byte - b'0');
        } else if byte == decimal {
            if point.replace(digits).is_some() {
                return Err("has two decimal signs");
            }
        } else if matches!(byte, b'.' | b',') {
            return Err("has another decimal sign than the format says");
        } else {
            return Err("is no decimal number");
        }
    }
    if digits == 0 {
        return Err(if cell.is_empty() { "is empty" } else { "is no decimal number" });
    }
    let places = point.map_or(0, |before| digits - before);
    if point.is_some() && places == 0 {
        return Err("has nothing after its decimal sign");
    }
    let places = u8::try_from(places).map_err(|_| "has more than eight digits")?;
    Ok((if negative { -count } else { count }, places))
}

/// Reads times. It remembers the last day and minute, since a logger writes many rows in one minute.
pub(super) struct Clock<'z> {
    zone: Option<&'z TimeZone>,
    /// A day and the microsecond at which it begins, counted as UTC.
    day: Option<([u8; 10], i64)>,
    /// A local minute counted as UTC, and the microsecond at which it really began.
    minute: Option<(i64, i64)>,
}

const MINUTE_US: i64 = 60_000_000;

impl<'z> Clock<'z> {
    pub(super) fn new(zone: Option<&'z TimeZone>) -> Self {
        Self { zone, day: None, minute: None }
    }

    /// Reads a time with its offset (RFC 3339), milliseconds since 1970, or a local time. A local time
    /// that occurs twice, in autumn, means the first of the two.
    pub(super) fn read(&mut self, text: &str) -> Result<Wall, String> {
        if let Some((micros, is_utc)) = self.plain(text.as_bytes()) {
            return if is_utc { Ok(Wall::from_micros(micros)) } else { self.local(text, micros) };
        }
        if let Ok(stamp) = text.parse::<jiff::Timestamp>() {
            return Ok(Wall::from_micros(stamp.as_microsecond()));
        }
        let digits = text.bytes().all(|byte| byte.is_ascii_digit());
        if digits && (12..=14).contains(&text.len()) {
            let millis: Option<i64> = text.parse().ok();
            if let Some(micros) = millis.and_then(|millis| millis.checked_mul(1000)) {
                return Ok(Wall::from_micros(micros));
            }
        }
        let begins_with_year =
            text.as_bytes().split_first_chunk::<5>().is_some_and(|([year @ .., dash], _)| {
                year.iter().all(u8::is_ascii_digit) && *dash == b'-'
            });
        if begins_with_year && let Ok(local) = text.parse::<DateTime>() {
            let as_utc = TimeZone::UTC.to_timestamp(local).map_err(|_| no_such(text))?;
            return self.local(text, as_utc.as_microsecond());
        }
        Err(format!(
            "the time \"{}\" is not written 2027-03-01 14:30:00, 2027-03-01T14:30:00Z or as \
             milliseconds since 1970; other orders of day and month are not guessed",
            shown(text.as_bytes())
        ))
    }

    /// The moment at which a local clock showed a time; `as_utc` is that time counted as UTC.
    fn local(&mut self, text: &str, as_utc: i64) -> Result<Wall, String> {
        let zone = self
            .zone
            .ok_or_else(|| format!("the time \"{text}\" has no offset, and no time_zone is set"))?;
        let rest = as_utc.rem_euclid(MINUTE_US);
        let minute = as_utc - rest;
        let began = match self.minute {
            Some((known, began)) if known == minute => began,
            Some(_) | None => {
                let shown = jiff::Timestamp::from_microsecond(minute).map_err(|_| no_such(text))?;
                let shown = TimeZone::UTC.to_datetime(shown);
                let began = zone.to_timestamp(shown).map_err(|_| no_such(text))?.as_microsecond();
                self.minute = Some((minute, began));
                began
            }
        };
        Ok(Wall::from_micros(began + rest))
    }

    /// Reads the usual forms `2027-03-01T14:30:00Z` and `2027-03-01 14:30:00`, with up to six decimals,
    /// without computing the calendar for every row. Returns the microseconds counted as UTC, and
    /// whether the time is UTC.
    fn plain(&mut self, text: &[u8]) -> Option<(i64, bool)> {
        let (day, clock) = text.split_first_chunk::<10>()?;
        let (head, rest) = clock.split_first_chunk::<9>()?;
        let (rest, is_utc) = match rest {
            [rest @ .., b'Z'] => (rest, true),
            rest => (rest, false),
        };
        let fraction = match rest {
            [] => rest,
            [b'.', digits @ ..] if (1..=6).contains(&digits.len()) => digits,
            _ => return None,
        };
        let &[b'T' | b' ', h1, h0, b':', m1, m0, b':', s1, s0] = head else { return None };
        let (hours, minutes, seconds) = (pair(h1, h0)?, pair(m1, m0)?, pair(s1, s0)?);
        if hours > 23 || minutes > 59 || seconds > 59 || !fraction.iter().all(u8::is_ascii_digit) {
            return None;
        }
        let fraction = (0..6).fold(0_i64, |sum, place| {
            sum * 10 + fraction.get(place).map_or(0, |digit| i64::from(digit - b'0'))
        });
        let clock = (hours * 60 + minutes) * MINUTE_US + seconds * 1_000_000 + fraction;
        Some((self.day_begins(*day)? + clock, is_utc))
    }

    fn day_begins(&mut self, day: [u8; 10]) -> Option<i64> {
        if let Some((known, begins)) = self.day
            && known == day
        {
            return Some(begins);
        }
        let date: Date = std::str::from_utf8(&day).ok()?.parse().ok()?;
        let begins = TimeZone::UTC.to_timestamp(date.at(0, 0, 0, 0)).ok()?.as_microsecond();
        self.day = Some((day, begins));
        Some(begins)
    }
}

fn no_such(text: &str) -> String {
    format!("there is no time \"{text}\"")
}

fn pair(tens: u8, ones: u8) -> Option<i64> {
    let plain = tens.is_ascii_digit() && ones.is_ascii_digit();
    plain.then(|| i64::from(tens - b'0') * 10 + i64::from(ones - b'0'))
}

/// Bytes of a file made safe for a person and a terminal; plain text is not copied.
pub(super) fn shown(bytes: &[u8]) -> Cow<'_, str> {
    // Nearly every row is plain text, which this check finds out quickly.
    let is_plain = || bytes.iter().all(|byte| matches!(byte, b' '..=b'~' | b'\t'));
    if let Ok(text) = std::str::from_utf8(bytes)
        && (is_plain() || !text.contains(|letter: char| letter.is_control() && letter != '\t'))
    {
        return Cow::Borrowed(text);
    }
    let mut text = String::with_capacity(bytes.len() + 8);
    for chunk in bytes.utf8_chunks() {
        for letter in chunk.valid().chars() {
            if letter.is_control() && letter != '\t' {
                escape(&mut text, u32::from(letter));
            } else {
                text.push(letter);
            }
        }
        chunk.invalid().iter().for_each(|&byte| escape(&mut text, u32::from(byte)));
    }
    Cow::Owned(text)
}

fn escape(text: &mut String, code: u32) {
    // Writing into a String cannot fail.
    let _written = write!(text, "\\x{code:02x}");
}
