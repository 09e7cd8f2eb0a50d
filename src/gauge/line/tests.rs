use std::collections::BTreeMap;
use std::sync::Mutex;

use proptest::prelude::*;

use super::*;
use crate::{Ask, Capture, Framing, Pattern, Tokens};

fn profile(content: Content, framing: Framing) -> Arc<Profile> {
    Arc::new(Profile {
        name: "test".to_owned(),
        about: String::new(),
        framing,
        block: None,
        content,
        unit: None,
        spellings: BTreeMap::new(),
        places: BTreeMap::new(),
        tokens: Tokens {
            blank: vec![Pattern::whole("-{2,}").unwrap()],
            low_battery: vec![Pattern::ending(" ?B").unwrap()],
            ..Tokens::default()
        },
        ask: None::<Ask>,
    })
}

/// Compiled once, since the random tests ask for the same patterns again and again.
fn decimal(pattern: &'static str) -> Arc<Profile> {
    static KNOWN: Mutex<BTreeMap<&str, Arc<Profile>>> = Mutex::new(BTreeMap::new());
    let mut known = KNOWN.lock().unwrap();
    Arc::clone(known.entry(pattern).or_insert_with(|| compiled(pattern)))
}

fn compiled(pattern: &str) -> Arc<Profile> {
    profile(Content::Decimal(Pattern::whole(pattern).unwrap()), Framing::Line)
}

fn gauge() -> GaugeOnLine {
    GaugeOnLine {
        channel: None,
        unit: None,
        resolution: Quoted::parse("0.00001", Unit::Inch).unwrap(),
        scale: None,
        sign: Sign::Plus,
        repeat_us: 300_000,
        max_rate: 5,
        capture: Capture::Send,
        button: false,
        rest: None,
        every_us: 0,
    }
}

fn line(profile: Arc<Profile>) -> GaugeLine {
    let mut line = GaugeLine::new(LineSetup { profile, gauges: vec![gauge()] });
    line.opened(0);
    line.tick(SILENCE_US, &mut Vec::new());
    assert!(line.live());
    line
}

/// A pattern far too generous: it takes a number wherever it finds one.
const GENEROUS: &str = r"[^0-9+-]*(?<sign>[+-]?) *(?<digits>[0-9]*\.?[0-9]*)(?<unit>[a-z]*).*";

const STRICT: &str = r"(?<sign>[+-]?) *(?<whole>[0-9]+)\.(?<fraction>[0-9]+)";

fn kinds(profile: &Arc<Profile>, bytes: &[u8]) -> Vec<Kind> {
    let mut out = Vec::new();
    line(Arc::clone(profile)).feed(bytes, 1_000_000, &mut out);
    out.into_iter().map(|outcome| outcome.kind).collect()
}

#[test]
fn a_generous_pattern_makes_no_value_of_damage() {
    let profile = decimal(GENEROUS);
    for (frame, why) in [
        (&b"0.0.12\r"[..], Damage::TwoPoints),
        (b"1.mm\r", Damage::EmptyFraction),
        (b"123456789\r", Damage::DigitCount),
        (b"0.12345678\r", Damage::DigitCount),
        (b"0.12 in0.13\r", Damage::TwoPoints),
        (b"0.12furlong\r", Damage::UnknownUnit),
        (b".\r", Damage::NotThePattern),
        (b"in\r", Damage::DigitCount),
    ] {
        assert_eq!(kinds(&profile, frame), [Kind::Damaged(why)], "{}", frame.escape_ascii());
    }
    let greedy_skip = decimal(".*(?<digits>[0-9])");
    for frame in [&b"0.5\r"[..], b"15\r"] {
        assert_eq!(kinds(&greedy_skip, frame), [Kind::Damaged(Damage::NotThePattern)]);
    }
    let short = decimal("(?<digits>[0-9]).*");
    for frame in [&b"0.5\r"[..], b"15\r"] {
        assert_eq!(kinds(&short, frame), [Kind::Damaged(Damage::NotThePattern)]);
    }
}

#[test]
fn a_gauge_set_the_other_way_round_keeps_what_it_sent() {
    let mut out = Vec::new();
    let mut line = GaugeLine::new(LineSetup {
        profile: decimal(STRICT),
        gauges: vec![GaugeOnLine { sign: Sign::Minus, ..gauge() }],
    });
    line.opened(0);
    line.feed(b"+0.00012\r", 100_000, &mut out);
    assert_eq!(out[0].text, "+0.00012");
    let Kind::Reading { value, .. } = &out[0].kind else { panic!("{out:?}") };
    assert_eq!(value.number(), "-0.00012");
}

#[test]
fn the_profile_may_state_the_places_of_each_unit() {
    let pattern = r"(?<whole>[0-9]+)\.(?<fraction>[0-9]+) (?<unit>in|mm|um)";
    let places = BTreeMap::from([(Unit::Inch, 4), (Unit::Millimetre, 3)]);
    let profile = Arc::new(Profile { places, ..(*decimal(pattern)).clone() });
    let odd = |frames: &[u8]| {
        let kind = kinds(&profile, frames).pop();
        let Some(Kind::Reading { odd, .. }) = kind else { panic!("{kind:?}") };
        odd
    };
    assert_eq!(odd(b"0.1234 in\r"), None, "the profile goes before the resolution");
    assert_eq!(odd(b"0.12345 in\r"), Some(Odd::Places { got: 5, expected: 4 }));
    assert_eq!(odd(b"0.1234 mm\r"), Some(Odd::Places { got: 4, expected: 3 }));
    assert_eq!(odd(b"0.1 um\r"), None, "nobody said how many");
    let changed = Odd::Unit { got: Unit::Millimetre, expected: Unit::Inch };
    assert_eq!(odd(b"0.1234 in\r0.123 mm\r"), Some(changed), "the first unit seen is expected");
}

#[test]
fn a_low_battery_does_not_cost_the_reading() {
    let kinds = kinds(&decimal(STRICT), b"+0.00012 B\rB\r");
    assert!(matches!(kinds[0], Kind::Reading { low_battery: true, odd: None, .. }), "{kinds:?}");
    assert_eq!(kinds[1], Kind::Foreign(Foreign::LowBattery));
}

#[test]
fn frames_of_fixed_length_find_back_into_step_at_a_gap() {
    let pattern = Pattern::whole(r"(?<sign>[+-])(?<whole>[0-9])\.(?<fraction>[0-9]{5})").unwrap();
    let framing = Framing::Fixed { length: 8, gap_us: 20_000 };
    let profile = profile(Content::Decimal(pattern), framing);
    let mut line = GaugeLine::new(LineSetup { profile, gauges: vec![gauge()] });
    let mut out = Vec::new();
    line.opened(0);
    line.feed(b"0012+0.00001+0.0", 1_000, &mut out);
    assert!(!line.live(), "out of step until a gap");
    line.feed(b"+0.00002+0.00003", 60_000, &mut out);
    line.feed(b"+0.0", 600_000, &mut out);
    assert_eq!(line.wake_at(), Some(620_000));
    line.feed(b"+0.00004x", 700_000, &mut out);
    line.feed(b"+0.00005", 800_000, &mut out);
    let texts: Vec<_> = out.iter().map(|o| o.text.as_str()).collect();
    let wanted = ["0012+0.0", "+0.00002", "+0.00003", "+0.0", "+0.00004", "x", "+0.00005"];
    assert_eq!(texts, wanted);
    assert_eq!(out[0].kind, Kind::Resync);
    assert_eq!(out[3].kind, Kind::Damaged(Damage::CutShort));
    assert_eq!(out[5].kind, Kind::Damaged(Damage::CutShort));
    let readings = out.iter().filter(|o| matches!(o.kind, Kind::Reading { .. })).count();
    assert_eq!(readings, 4);
}

#[test]
fn a_line_sleeps_when_there_is_nothing_to_wait_for() {
    let mut line = GaugeLine::new(LineSetup { profile: decimal(STRICT), gauges: vec![gauge()] });
    assert_eq!(line.wake_at(), None, "not open");
    line.opened(1_000);
    assert_eq!(line.wake_at(), Some(51_000));
    line.tick(51_000, &mut Vec::new());
    assert_eq!(line.wake_at(), None);
    line.feed(b"+0.0", 100_000, &mut Vec::new());
    assert_eq!(line.wake_at(), Some(300_000));
    line.tick(300_000, &mut Vec::new());
    assert_eq!(line.wake_at(), None, "what is not whole is not tried again");
}

/// Bytes that make frames more often than noise does.
fn bytes() -> impl Strategy<Value = Vec<u8>> {
    let piece = prop_oneof![
        Just(b"\r".to_vec()),
        Just(b"\n".to_vec()),
        Just(b"\r\n".to_vec()),
        Just(vec![0x13, 0x00]),
        Just(b"+0.00012".to_vec()),
        Just(b"+0.00012\r".to_vec()),
        Just(b"-  0.1 B\r".to_vec()),
        Just(b"----".to_vec()),
        proptest::collection::vec(any::<u8>(), 0..80),
        "[0-9.+ -]{0,12}".prop_map(String::into_bytes),
    ];
    proptest::collection::vec(piece, 0..12).prop_map(|pieces| pieces.concat())
}

/// How many frames the bytes hold, by rules written independently. What stands between line ends is a
/// frame unless it is empty, not counting the line's own bytes. A frame without an end counts only when
/// it is too long to be one.
fn frames_in(bytes: &[u8]) -> usize {
    let kept = |bytes: &[u8]| bytes.iter().filter(|byte| ![0, 0x11, 0x13].contains(*byte)).count();
    let mut pieces: Vec<usize> =
        bytes.split(|byte| matches!(byte, b'\r' | b'\n')).map(kept).collect();
    let open = pieces.pop().unwrap_or(0);
    pieces.iter().filter(|length| **length > 0).count() + usize::from(open > 64)
}

proptest! {
    #[test]
    fn every_frame_has_one_outcome_however_it_is_cut(
        bytes in bytes(),
        cuts in proptest::collection::vec(1_usize..20, 1..30),
        joined in any::<bool>(),
    ) {
        let fresh = || {
            let mut line = line(decimal(STRICT));
            if joined {
                line.opened(999_999);
            }
            line
        };
        let mut whole = Vec::new();
        fresh().feed(&bytes, 1_000_000, &mut whole);
        prop_assert_eq!(whole.len(), frames_in(&bytes));

        let (mut line, mut pieces, mut rest) = (fresh(), Vec::new(), &bytes[..]);
        for cut in cuts.iter().cycle() {
            let (piece, after) = rest.split_at((*cut).min(rest.len()));
            line.feed(piece, 1_000_000, &mut pieces);
            rest = after;
            if rest.is_empty() {
                break;
            }
        }
        prop_assert_eq!(pieces, whole);
    }

    #[test]
    fn a_reading_is_made_of_digits_that_were_sent(bytes in bytes()) {
        for pattern in [STRICT, GENEROUS] {
            let mut out = Vec::new();
            let mut line = line(decimal(pattern));
            line.feed(&bytes, 1_000_000, &mut out);
            line.tick(9_000_000, &mut out);
            for outcome in &out {
                if let Kind::Reading { value, .. } = &outcome.kind {
                    let number = value.number();
                    let digits = number.trim_start_matches('-');
                    let bare = digits.strip_prefix("0.").map(|rest| format!(".{rest}"));
                    let literal = outcome.text.contains(digits)
                        || bare.is_some_and(|bare| outcome.text.contains(&bare));
                    prop_assert!(literal, "{} from {:?}", number, outcome.text);
                }
            }
        }
    }

    #[test]
    fn anything_at_any_time_is_an_outcome_and_never_a_panic(
        steps in proptest::collection::vec((bytes(), 0_u64..400_000), 0..20),
        fixed in any::<bool>(),
    ) {
        let length = 8;
        let framing = if fixed { Framing::Fixed { length, gap_us: 50_000 } } else { Framing::Line };
        let profile = Arc::new(Profile { framing, ..(*decimal(GENEROUS)).clone() });
        let setup = LineSetup { profile, gauges: vec![gauge()] };
        let mut line = GaugeLine::new(setup);
        let (mut now, mut out) = (0, Vec::new());
        for (bytes, wait) in steps {
            now += wait;
            line.feed(&bytes, now, &mut out);
            if let Some(wake) = line.wake_at() {
                line.tick(wake, &mut out);
                prop_assert!(line.wake_at() != Some(wake), "it would wake for ever");
                now = now.max(wake);
            }
        }
        prop_assert!(out.iter().all(|o| o.gauge == 0 && o.text.is_ascii()));
        prop_assert!(out.windows(2).all(|pair| pair[0].at_us <= pair[1].at_us));
    }
}

#[test]
fn a_count_is_so_many_steps_of_its_scale() {
    let scale = Quoted::parse("0.00005", Unit::Inch).unwrap();
    let shown = |count| scaled(count, scale).map(|value| value.to_string());
    assert_eq!(shown(12).as_deref(), Some("0.00060 in"));
    assert_eq!(shown(-3).as_deref(), Some("-0.00015 in"));
    assert_eq!(shown(i64::MAX), None, "beyond any length");
}
