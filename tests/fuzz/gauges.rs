//! Frames of every profile that comes with the program.

use std::sync::Arc;

use proptest::prelude::*;

use crate::mutate::{Bytes, changed, corpus, files, tried};
use config::parse_profile;
use gauge::{
    Capture, Content, Framing, GaugeLine, GaugeOnLine, Kind, LineSetup, Outcome, Profile, Sign,
};
use quantity::{Quoted, Unit};

/// Bytes that the line itself sends, and the most of a frame that is shown (`gauge/framing.rs`).
const LINE_BYTES: [u8; 3] = [0x00, 0x11, 0x13];
const LONGEST: usize = 64;

/// After so long a silence a line of any profile takes frames from their beginning.
const SETTLED_US: u64 = 2_000_000;

/// What the logs send: the texts between quotes, with their escapes.
fn sent(log: &str) -> Vec<u8> {
    let mut bytes = Vec::new();
    let texts = log.lines().filter_map(|line| line.split_once(" send \"")?.1.strip_suffix('"'));
    for text in texts {
        let mut chars = text.chars();
        while let Some(c) = chars.next() {
            let escaped = if c == '\\' { chars.next() } else { None };
            match escaped {
                None => bytes.extend(c.to_string().bytes()),
                Some('r') => bytes.push(b'\r'),
                Some('n') => bytes.push(b'\n'),
                Some('x') => {
                    let digits: String = chars.by_ref().take(2).collect();
                    bytes.push(u8::from_str_radix(&digits, 16).unwrap());
                }
                Some(other) => bytes.extend(other.to_string().bytes()),
            }
        }
    }
    bytes
}

fn shipped() -> Vec<Arc<Profile>> {
    let root = std::path::Path::new(env!("CARGO_MANIFEST_DIR"));
    let entries = std::fs::read_dir(root.join("config/profiles")).unwrap();
    let mut paths: Vec<_> = entries.map(|entry| entry.unwrap().path()).collect();
    paths.sort();
    let read = |path: std::path::PathBuf| {
        let text = std::fs::read_to_string(&path).unwrap();
        Arc::new(parse_profile(&text, path.to_str().unwrap()).unwrap())
    };
    paths.into_iter().map(read).collect()
}

fn line(profile: &Arc<Profile>) -> GaugeLine {
    let gauge = |channel: Option<&str>| GaugeOnLine {
        channel: channel.map(str::to_owned),
        unit: Some(Unit::Inch),
        resolution: Quoted::from_count(1, 5, Unit::Inch).unwrap(),
        scale: Some(Quoted::from_count(1, 5, Unit::Inch).unwrap()),
        sign: Sign::Plus,
        repeat_us: 0,
        max_rate: 0,
        capture: Capture::Send,
        button: false,
        rest: None,
        every_us: 0,
    };
    let gauges = if profile.has_channel() {
        vec![gauge(Some("1")), gauge(Some("2"))]
    } else {
        vec![gauge(None)]
    };
    let mut line = GaugeLine::new(LineSetup { profile: Arc::clone(profile), gauges });
    line.opened(0);
    let mut out = Vec::new();
    line.tick(SETTLED_US / 2, &mut out);
    assert!(out.is_empty() && line.live());
    line
}

/// The frames of lines, by the plainest way there is.
fn frames(bytes: &[u8]) -> Vec<Vec<u8>> {
    let kept: Vec<u8> = bytes.iter().copied().filter(|byte| !LINE_BYTES.contains(byte)).collect();
    let whole =
        kept.iter().rposition(|byte| b"\r\n".contains(byte)).map_or(&kept[..0], |end| &kept[..end]);
    let split = whole.split(|byte| b"\r\n".contains(byte)).filter(|frame| !frame.is_empty());
    split.map(<[u8]>::to_vec).collect()
}

fn shown(frame: &[u8]) -> String {
    let byte = |byte: &u8| match byte {
        b'\\' => "\\\\".to_owned(),
        b' '..=b'~' => char::from(*byte).to_string(),
        other => format!("\\x{other:02x}"),
    };
    frame.iter().take(LONGEST).map(byte).collect()
}

/// The digits of a number without sign, point and leading zeros.
pub(crate) fn digits(number: &str) -> String {
    let digits: String = number.chars().filter(char::is_ascii_digit).collect();
    digits.trim_start_matches('0').to_owned()
}

fn fed(profile: &Arc<Profile>, pieces: &[&[u8]]) -> Vec<Outcome> {
    let (mut line, mut out) = (line(profile), Vec::new());
    for piece in pieces {
        line.feed(piece, SETTLED_US, &mut out);
    }
    out
}

/// Each line that is told of a block was sent, in this order; none is told twice.
fn lines_of_blocks(told: &[Outcome], bytes: &[u8]) -> Result<(), TestCaseError> {
    let mut sent = frames(bytes).into_iter().map(|frame| shown(&frame));
    for outcome in told {
        // What is shown of several lines ends after so many bytes, maybe within a line.
        for line in outcome.text.split("\\x0a").filter(|line| !line.is_empty()) {
            let found = sent.any(|frame| frame == line || frame.starts_with(line));
            prop_assert!(found, "{line:?} was not sent there");
        }
    }
    Ok(())
}

fn holds(profile: &Arc<Profile>, bytes: &[u8]) -> Result<(), TestCaseError> {
    let once = fed(profile, &[bytes]);
    let pieces: Vec<&[u8]> = bytes.chunks(1).collect();
    prop_assert_eq!(&once, &fed(profile, &pieces), "it matters how the bytes come in");
    if profile.block.is_some() {
        lines_of_blocks(&once, bytes)?;
    } else if profile.framing == Framing::Line {
        // A frame that is too long and still goes on is told already.
        let mut expected: Vec<String> = frames(bytes).iter().map(|frame| shown(frame)).collect();
        let told: Vec<&str> = once.iter().map(|outcome| outcome.text.as_str()).collect();
        if told.len() == expected.len() + 1 {
            let rest = bytes.rsplit(|byte| b"\r\n".contains(byte)).next().unwrap_or_default();
            let rest: Vec<u8> =
                rest.iter().copied().filter(|byte| !LINE_BYTES.contains(byte)).collect();
            prop_assert!(rest.len() > LONGEST, "a frame that nobody sent");
            expected.push(shown(&rest));
        }
        prop_assert_eq!(told, expected, "a frame is not counted, or counted twice");
    }
    let packed = matches!(profile.content, Content::Packed(_));
    for outcome in &once {
        let Kind::Reading { value, .. } = &outcome.kind else { continue };
        let number = digits(&value.number());
        let there: String = outcome.text.chars().filter(char::is_ascii_digit).collect();
        let digit_by_digit = number.chars().all(|digit| there.contains(digit));
        prop_assert!(
            there.contains(&number) || packed && digit_by_digit,
            "{value} is not in {:?}",
            outcome.text
        );
        let fraction = outcome.text.split_once(['.', ',']);
        if let (Content::Decimal(_), Some((_, fraction))) = (&profile.content, fraction) {
            let places = fraction.chars().take_while(char::is_ascii_digit).count();
            prop_assert_eq!(places, usize::from(value.places), "places of {:?}", outcome.text);
        }
        let negative = value.number().starts_with('-');
        prop_assert!(
            !negative || packed || outcome.text.contains('-'),
            "{value} of {:?}",
            outcome.text
        );
    }
    Ok(())
}

#[test]
fn frames_of_every_profile() {
    for profile in shipped() {
        let logs = files(&format!("fixtures/frames/{}", profile.name), ".log");
        let logs = corpus(logs.iter().map(|log| sent(std::str::from_utf8(log).unwrap())).collect());
        tried(&format!("frames, {}", profile.name), &changed(logs), |Bytes(bytes)| {
            holds(&profile, &bytes)
        });
    }
}

/// With gaps in time: nothing panics, and each outcome shows bytes that were sent.
#[test]
fn frames_with_gaps_in_time() {
    for profile in shipped() {
        let logs = files(&format!("fixtures/frames/{}", profile.name), ".log");
        let logs = corpus(logs.iter().map(|log| sent(std::str::from_utf8(log).unwrap())).collect());
        let gaps = prop::collection::vec((1..40_usize, 0..400_000_u64), 1..20);
        tried(
            &format!("gaps, {}", profile.name),
            &(changed(logs), gaps),
            |(Bytes(bytes), gaps)| {
                let (mut line, mut out) = (line(&profile), Vec::new());
                let (mut now, mut at) = (SETTLED_US, 0);
                for (many, gap) in gaps.iter().cycle().take(bytes.len().max(1)) {
                    let end = (at + many).min(bytes.len());
                    line.feed(&bytes[at..end], now, &mut out);
                    at = end;
                    now += gap;
                    line.tick(now, &mut out);
                }
                let kept: Vec<u8> =
                    bytes.iter().copied().filter(|byte| !LINE_BYTES.contains(byte)).collect();
                let all: String = kept.iter().map(|byte| shown(&[*byte])).collect();
                let mut from = 0;
                for outcome in &out {
                    // In the order they were sent, none twice; of a block each of its lines.
                    for piece in outcome.text.split("\\x0a") {
                        let found = all[from..].find(piece);
                        prop_assert!(found.is_some(), "{piece:?} was not sent after byte {from}");
                        from += found.unwrap_or(0) + piece.len();
                    }
                }
                Ok(())
            },
        );
    }
}
