//! Decoding the bytes of one frame.

use regex::bytes::Captures;

use super::outcome::{Damage, Foreign, NO_CHARACTER};
use super::profile::{Content, Pattern, Profile};
use quantity::{Unit, decimal_text};

/// More digits than this are two frames run together: no gauge for this work shows so many.
pub(super) const MOST_DIGITS: usize = 8;

/// What a frame says, before it is known which gauge it belongs to.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Decoded {
    /// The channel named in it.
    pub channel: Option<String>,
    /// The frame also said that the battery is low.
    pub low_battery: bool,
    /// Its value, or why it has none.
    pub said: Said,
}

/// What a frame says.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Said {
    Number(Number),
    Foreign(Foreign),
    Damaged(Damage),
}

/// A number as it was sent: `count` in units of its last decimal place.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Number {
    pub count: i64,
    pub places: u8,
    pub unit: Option<Unit>,
}

impl Profile {
    /// Reads one frame, without its terminator.
    pub(super) fn decode(&self, frame: &[u8]) -> Decoded {
        if let Some(token) = self.token(frame) {
            return token;
        }
        let (rest, low_battery) = self.without_battery(frame);
        if low_battery && rest.trim_ascii().is_empty() {
            return Decoded {
                channel: None,
                low_battery,
                said: Said::Foreign(Foreign::LowBattery),
            };
        }
        let (channel, number) = self.number(rest);
        let said = match number {
            Ok(number) => Said::Number(number),
            Err(_) if frame.trim_ascii().is_empty() => Said::Foreign(Foreign::Blank),
            Err(damage) => Said::Damaged(damage),
        };
        Decoded { channel, low_battery, said }
    }

    /// The meaning of a frame in a few words: `0.00012`, `1.2345 in`, `blank`, `damaged: …`. For people who
    /// write a profile. A block is given with all of its lines.
    #[must_use]
    pub fn describe(&self, frame: &[u8]) -> String {
        let decoded = match &self.block {
            Some(block) => self.decode_block(block, frame),
            None => self.decode(frame),
        };
        match decoded.said {
            Said::Number(Number { count, places, unit }) => {
                let unit = unit.map_or(String::new(), |unit| format!(" {unit}"));
                format!("{}{unit}", decimal_text(count.into(), places.into()))
            }
            Said::Foreign(why) => why.to_string(),
            Said::Damaged(why) => format!("damaged: {why}"),
        }
    }

    fn token(&self, frame: &[u8]) -> Option<Decoded> {
        let tokens = &self.tokens;
        let kinds = [
            (&tokens.no_gauge, Foreign::NoGauge),
            (&tokens.overload, Foreign::Overload),
            (&tokens.error, Foreign::Error),
            (&tokens.blank, Foreign::Blank),
        ];
        kinds.into_iter().find_map(|(patterns, why)| {
            let captures = first_match(patterns, frame)?;
            let channel = part(&captures, "channel").map(plain);
            Some(Decoded { channel, low_battery: false, said: Said::Foreign(why) })
        })
    }

    /// The frame without a low-battery sign at its end.
    fn without_battery<'f>(&self, frame: &'f [u8]) -> (&'f [u8], bool) {
        let mut signs = self.tokens.low_battery.iter().filter_map(|sign| sign.regex().find(frame));
        // A sign that may be nothing, such as `B?`, is none where only blanks match.
        match signs.find(|found| !found.as_bytes().trim_ascii().is_empty()) {
            Some(found) => (&frame[..found.start()], true),
            None => (frame, false),
        }
    }

    fn number(&self, frame: &[u8]) -> (Option<String>, Result<Number, Damage>) {
        let (pattern, counts) = match &self.content {
            Content::Decimal(pattern) => (pattern, false),
            Content::Counts { pattern, .. } => (pattern, true),
            Content::Packed(packed) => return (None, packed.number(frame)),
        };
        let Some(captures) = pattern.regex().captures(frame) else {
            return (None, Err(why_not(frame)));
        };
        let channel = part(&captures, "channel").map(plain);
        (channel, self.decimal(frame, &captures, counts))
    }

    /// The number in the parts that a pattern found. They are checked, so that a loose pattern cannot turn
    /// damage into a value.
    fn decimal(&self, frame: &[u8], parts: &Captures<'_>, counts: bool) -> Result<Number, Damage> {
        let (whole, fraction) = digits_of(parts).ok_or(Damage::DigitCount)?;
        if points(frame) > 1 {
            return Err(Damage::TwoPoints);
        }
        let goes_on = touches_more_digits(frame, parts, fraction.is_none());
        if goes_on || (counts && fraction.is_some()) {
            return Err(Damage::NotThePattern);
        }
        let unit = match part(parts, "unit").filter(|text| !text.trim_ascii().is_empty()) {
            Some(text) => Some(self.unit_named(&plain(text)).ok_or(Damage::UnknownUnit)?),
            None => None,
        };
        if unit.is_some() && fraction.is_some_and(<[u8]>::is_empty) {
            return Err(Damage::EmptyFraction);
        }
        let fraction = fraction.unwrap_or_default();
        let count = whole_number(whole, fraction)?;
        let negative = match part(parts, "sign").map(<[u8]>::trim_ascii) {
            Some(b"-") => true,
            Some(b"+" | b"") | None => false,
            Some(_) => return Err(Damage::NotThePattern),
        };
        let places = u8::try_from(fraction.len()).map_err(|_| Damage::DigitCount)?;
        Ok(Number { count: if negative { -count } else { count }, places, unit })
    }
}

/// The digits before the point, and those after it where there is one.
fn digits_of<'f>(parts: &Captures<'f>) -> Option<(&'f [u8], Option<&'f [u8]>)> {
    if let Some(whole) = part(parts, "whole") {
        return Some((whole, part(parts, "fraction")));
    }
    let digits = part(parts, "digits")?;
    match digits.iter().position(|&byte| matches!(byte, b'.' | b',')) {
        Some(point) => Some((&digits[..point], Some(&digits[point + 1..]))),
        None => Some((digits, None)),
    }
}

/// The digits of both parts as one whole number.
fn whole_number(whole: &[u8], fraction: &[u8]) -> Result<i64, Damage> {
    let digits = whole.len() + fraction.len();
    if digits == 0 || digits > MOST_DIGITS {
        return Err(Damage::DigitCount);
    }
    let mut count = 0_i64;
    for &byte in whole.iter().chain(fraction) {
        if !byte.is_ascii_digit() {
            return Err(Damage::NotThePattern);
        }
        count = count * 10 + i64::from(byte - b'0');
    }
    Ok(count)
}

/// Whether the digits go on beyond what the pattern matched. After a whole number a comma may be its point.
fn touches_more_digits(frame: &[u8], parts: &Captures<'_>, is_whole: bool) -> bool {
    let spans = ["digits", "whole", "fraction"].into_iter().filter_map(|name| parts.name(name));
    let (mut start, mut end) = (frame.len(), 0);
    for span in spans {
        start = start.min(span.start());
        end = end.max(span.end());
    }
    let channel_before = parts.name("channel").is_some_and(|channel| channel.end() == start);
    let before = frame[..start].last().is_some_and(|byte| byte.is_ascii_digit() || *byte == b'.');
    let after = match frame.get(end..).unwrap_or_default() {
        [b',', next, ..] if is_whole => next.is_ascii_digit(),
        [b'.', next, ..] | [next, ..] => next.is_ascii_digit(),
        [] => false,
    };
    after || (before && !channel_before)
}

/// The likeliest reason why a frame does not fit a pattern.
fn why_not(frame: &[u8]) -> Damage {
    let high = frame.iter().filter(|byte| !byte.is_ascii()).count();
    let digits = frame.iter().filter(|byte| byte.is_ascii_digit()).count();
    if frame.contains(&NO_CHARACTER) {
        Damage::NoCharacter
    } else if high * 5 > frame.len() {
        Damage::HighBits
    } else if points(frame) > 1 {
        Damage::TwoPoints
    } else if digits > MOST_DIGITS + 1 {
        Damage::DigitCount
    } else {
        Damage::NotThePattern
    }
}

fn points(frame: &[u8]) -> usize {
    frame.split(|&byte| byte == b'.').count() - 1
}

fn first_match<'f>(patterns: &[Pattern], frame: &'f [u8]) -> Option<Captures<'f>> {
    patterns.iter().find_map(|pattern| pattern.regex().captures(frame))
}

fn part<'f>(captures: &Captures<'f>, name: &str) -> Option<&'f [u8]> {
    captures.name(name).map(|found| found.as_bytes())
}

fn plain(bytes: &[u8]) -> String {
    String::from_utf8_lossy(bytes.trim_ascii()).into_owned()
}
