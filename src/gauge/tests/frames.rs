//! Frames of every shape a gauge sends: found whole however they arrive, and read for what they say.

#![expect(clippy::wildcard_enum_match_arm, reason = "what is no reading is shown as it is")]

use super::*;

/// The shapes of numbers that gauges send, as a pattern of a profile.
pub(super) const SIGNED: &str =
    r"(?<sign>[+-]?) *(?<digits>[0-9]*\.?[0-9]*) ?(?<unit>[a-zA-Z\x22]*)";

fn said(profile: &Profile, frame: &str) -> String {
    profile.describe(frame.as_bytes())
}

fn damaged(why: Damage) -> String {
    format!("damaged: {why}")
}

#[test]
fn a_number_reads_as_it_was_sent_whatever_stands_round_it() {
    let plain = decimal(SIGNED);
    for (frame, reads) in [
        ("+0.00012", "0.00012"),
        ("-0.00012", "-0.00012"),
        ("-  0.0001", "-0.0001"),
        ("  +12.5  ", "12.5"),
        ("0007.50", "7.50"),
        (".5", "0.5"),
        ("5", "5"),
        ("-5", "-5"),
        ("-0.000", "0.000"),
        ("12.345 mm", "12.345 mm"),
        ("12.345MM", "12.345 mm"),
        ("1.2345\"", "1.2345 in"),
        ("12345678", "12345678"),
        ("0.1234567", "0.1234567"),
    ] {
        assert_eq!(said(&plain, frame), reads, "{frame:?}");
    }
}

#[test]
fn what_is_no_number_says_why() {
    let plain = decimal(SIGNED);
    for (frame, why) in [
        ("", "blank"),
        ("   ", "blank"),
        ("123456789", &damaged(Damage::DigitCount)),
        ("0.12345678", &damaged(Damage::DigitCount)),
        ("mm", &damaged(Damage::DigitCount)),
        (".", &damaged(Damage::DigitCount)),
        ("1. mm", &damaged(Damage::EmptyFraction)),
        ("1.5 fur", &damaged(Damage::UnknownUnit)),
        ("1.2.3", &damaged(Damage::TwoPoints)),
        ("1234567890:", &damaged(Damage::DigitCount)),
        ("123456789:", &damaged(Damage::NotThePattern)),
        ("1,5", &damaged(Damage::NotThePattern)),
        ("+-1", &damaged(Damage::NotThePattern)),
    ] {
        assert_eq!(said(&plain, frame), why, "{frame:?}");
    }
    let high = |bytes: &[u8]| plain.describe(bytes);
    let bits = damaged(Damage::HighBits);
    assert_eq!(high(b"\xb0\xae1234567"), bits, "two of nine");
    assert_eq!(high(b"\xb0\xae12345678"), damaged(Damage::NotThePattern), "a fifth");
    // Without a unit a point may end the number.
    assert_eq!(said(&plain, "15."), "15");
}

#[test]
fn a_sign_is_one_that_is_known() {
    let odd = decimal(r"(?<sign>[+~-]?)(?<digits>[0-9.]+)");
    assert_eq!([said(&odd, "~5"), said(&odd, "-5")], [&damaged(Damage::NotThePattern), "-5"]);
    let parts = decimal(r"(?<whole>[0-9]*)\.(?<fraction>[0-9]*)(?<unit>m?m?)(?<sign>[+-]?)");
    assert_eq!(said(&parts, "12.5mm-"), "-12.5 mm", "a sign behind the number");
    assert_eq!(said(&parts, ".25"), "0.25");
    assert_eq!(said(&parts, "12.mm"), damaged(Damage::EmptyFraction));
}

#[test]
fn a_count_has_no_point() {
    let counts = |pattern: &str| {
        profile(Content::Counts { pattern: Pattern::whole(pattern).unwrap(), scale: None })
    };
    let plain = counts(r"(?<sign>[+-]?)(?<digits>[0-9.]+)");
    assert_eq!([said(&plain, "-120"), said(&plain, "7")], ["-120", "7"]);
    assert_eq!(said(&plain, "1.5"), damaged(Damage::NotThePattern));
    assert_eq!(said(&plain, "15."), damaged(Damage::NotThePattern));
    assert!(plain.is_counts() && !plain.has_unit() && !plain.has_channel());
    let channels = counts(r"(?<channel>[0-9])=(?<digits>[0-9]+)(?<unit>mm)?");
    assert!(channels.has_channel() && !channels.has_unit(), "a count has its scale");
    assert!(decimal(SIGNED).has_unit() && !decimal(SIGNED).is_counts());
}

/// A profile with a token of each kind; the channel stands before a colon.
pub(super) fn tokens() -> Profile {
    let whole = |text: &str| vec![Pattern::whole(text).unwrap()];
    Profile {
        tokens: Tokens {
            blank: whole(r"(?<channel>[0-9]:)?[- ]*"),
            error: whole(r"(?<channel>[0-9]):E[0-9]+"),
            overload: whole(r"(?<channel>[0-9]):9+"),
            no_gauge: whole(r"(?<channel>[0-9]):9999"),
            low_battery: vec![Pattern::ending(" LOW").unwrap(), Pattern::ending("B").unwrap()],
        },
        spellings: BTreeMap::from([
            ("I".to_owned(), Unit::Inch),
            ("mm".to_owned(), Unit::Micrometre),
        ]),
        ..decimal(r"((?<channel>[0-9]):)?(?<sign>[+-]?)(?<digits>[0-9.]+) ?(?<unit>[a-zA-Z]*)")
    }
}

#[test]
fn tokens_come_before_numbers_and_the_first_of_them_counts() {
    let profile = tokens();
    for (frame, reads) in [
        ("1:9999", "no gauge"),
        ("1:99999", "overload"),
        ("1:E04", "error"),
        ("1:E", &damaged(Damage::NotThePattern)),
        ("---", "blank"),
        ("1:--", "blank"),
        ("1:9998", "9998"),
        ("2:1.5 I", "1.5 in"),
        // A gauge's own spelling goes before the usual one.
        ("2:1.5 mm", "1.5 um"),
        ("2:1.5 LOW", "1.5"),
        ("2:1.5B", "1.5"),
        (" LOW", "low battery"),
        ("B", "low battery"),
    ] {
        assert_eq!(said(&profile, frame), reads, "{frame:?}");
    }
    assert!(profile.has_channel());
}

#[test]
fn a_battery_sign_that_may_be_nothing_hides_no_other() {
    let ending = |text: &str| Pattern::ending(text).unwrap();
    let tokens = Tokens { low_battery: vec![ending("B?"), ending(" LOW")], ..Tokens::default() };
    let profile = Profile { tokens, ..decimal(SIGNED) };
    let low = |frame: &str| {
        let (mut line, mut out) = (live(profile.clone(), vec![gauge()]), Vec::new());
        line.feed(format!("{frame}\r").as_bytes(), 1_000_000, &mut out);
        let Kind::Reading { value, low_battery, .. } = out.remove(0).kind else {
            panic!("{frame}")
        };
        (value.number(), low_battery)
    };
    for frame in ["0.5", "0.5  "] {
        assert_eq!(low(frame), ("0.5".to_owned(), false));
    }
    assert_eq!(low("0.5B"), ("0.5".to_owned(), true));
    assert_eq!(low("0.5 LOW"), ("0.5".to_owned(), true));
}

#[test]
fn a_digit_right_before_a_number_belongs_to_it_unless_it_is_the_channel() {
    let channel = decimal(r"(?<channel>[0-9])(?<digits>[0-9]{3}\.[0-9])");
    assert_eq!(said(&channel, "2001.5"), "1.5");
    let within = [
        r"[0-9](?<digits>[0-9]+)",
        r"(?<channel>[0-9])[0-9](?<digits>[0-9]+)",
        r"0\.(?<digits>[0-9]+)",
    ];
    for pattern in within {
        for frame in ["215", "0.5", "21.5"] {
            let told = said(&decimal(pattern), frame);
            assert_eq!(told, damaged(Damage::NotThePattern), "{pattern} {frame}");
        }
    }
    // Nor may digits follow, with a point between or without.
    let short = decimal(r"(?<digits>[0-9])[^ ]*");
    assert_eq!(["5", "5mm", "5.", "5.x"].map(|frame| said(&short, frame)), ["5"; 4]);
    for frame in ["55", "5.5"] {
        assert_eq!(said(&short, frame), damaged(Damage::NotThePattern), "{frame}");
    }
}

/// Numbers as a gauge may send them, with what they are.
fn number() -> impl Strategy<Value = (String, String)> {
    let sign = prop::sample::select(vec!["", "+", "-"]);
    let blanks = prop::sample::select(vec!["", " ", "  "]);
    (sign, blanks, 0_u32..3_900, 0_u32..10_000, 1_usize..=4).prop_map(
        |(sign, blanks, whole, fraction, places)| {
            let fraction = format!("{fraction:04}")[..places].to_owned();
            let nothing = whole == 0 && fraction.bytes().all(|digit| digit == b'0');
            let read =
                format!("{}{whole}.{fraction}", if sign == "-" && !nothing { "-" } else { "" });
            (format!("{sign}{blanks}{whole}.{fraction}"), read)
        },
    )
}

proptest! {
    #[test]
    fn numbers_arrive_as_they_were_sent_however_the_line_cuts_and_ends_them(
        numbers in prop::collection::vec(number(), 1..12),
        end in prop::sample::select(vec!["\r", "\n", "\r\n", "\n\r", "\r\r\n", "\r\x13\n\x11"]),
        cuts in prop::collection::vec(1_usize..9, 1..20),
    ) {
        let sent = numbers.iter().fold(String::new(), |sent, (frame, _)| sent + frame + end);
        let (mut line, mut out) = (live(decimal(SIGNED), vec![gauge()]), Vec::new());
        let (mut rest, mut now) = (sent.as_bytes(), 1_000_000);
        for cut in cuts.iter().cycle() {
            let (piece, after) = rest.split_at((*cut).min(rest.len()));
            // Less than the silence that ends a frame.
            now += 1_000 * u64::try_from(*cut).unwrap();
            line.feed(piece, now, &mut out);
            rest = after;
            if rest.is_empty() {
                break;
            }
        }
        let read = |outcome: &Outcome| match &outcome.kind {
            Kind::Reading { value, .. } => value.number(),
            other => format!("{other:?}"),
        };
        let wanted: Vec<&String> = numbers.iter().map(|(_, read)| read).collect();
        let got: Vec<String> = out.iter().map(read).collect();
        prop_assert_eq!(got.iter().collect::<Vec<_>>(), wanted);
        for (outcome, (frame, _)) in out.iter().zip(&numbers) {
            prop_assert_eq!(&outcome.text, frame);
        }
    }

    #[test]
    fn frames_of_fixed_length_are_cut_by_their_length_and_found_again_after_a_gap(
        counts in prop::collection::vec(0_u32..100_000, 1..20),
        broken in prop::option::of(0_usize..20),
    ) {
        let profile = Profile {
            framing: Framing::Fixed { length: 5, gap_us: 20_000 },
            ..profile(Content::Counts {
                pattern: Pattern::whole("(?<digits>[0-9]{5})").unwrap(),
                scale: Quoted::parse("0.1", Unit::Micrometre).ok(),
            })
        };
        let (mut line, mut out, mut now) = (live(profile, vec![gauge()]), Vec::new(), 1_000_000);
        for (place, count) in counts.iter().enumerate() {
            now += 30_000;
            let frame = format!("{count:05}");
            let bytes = frame.as_bytes();
            // One loses its last two bytes.
            let kept = if broken == Some(place) { 3 } else { 5 };
            line.feed(&bytes[..kept], now, &mut out);
        }
        line.tick(now + 20_000, &mut out);
        prop_assert_eq!(out.len(), counts.len(), "one outcome each");
        for (place, (outcome, count)) in out.iter().zip(&counts).enumerate() {
            match &outcome.kind {
                Kind::Reading { value, .. } => {
                    prop_assert_eq!(value.length.picometres(), i64::from(*count) * 100_000);
                }
                other => prop_assert_eq!((other, Some(place)), (&Kind::Damaged(Damage::CutShort), broken)),
            }
        }
    }

    #[test]
    fn what_is_shown_of_a_frame_says_every_byte_of_it(frame in prop::collection::vec(any::<u8>(), 1..60)) {
        let (mut line, mut out) = (live(decimal(SIGNED), vec![gauge()]), Vec::new());
        let frame: Vec<u8> = frame.into_iter().filter(|byte| !b"\r\n\0\x11\x13".contains(byte)).collect();
        prop_assume!(!frame.is_empty());
        line.feed(&[&frame[..], b"\r"].concat(), 1_000_000, &mut out);
        let mut bytes = Vec::new();
        let mut text = out[0].text.bytes();
        while let Some(byte) = text.next() {
            match byte {
                b'\\' => match text.next() {
                    Some(b'x') => {
                        let pair = [text.next().unwrap(), text.next().unwrap()];
                        let pair = std::str::from_utf8(&pair).unwrap().to_owned();
                        bytes.push(u8::from_str_radix(&pair, 16).unwrap());
                    }
                    other => bytes.push(other.unwrap()),
                },
                plain => {
                    prop_assert!((b' '..=b'~').contains(&plain));
                    bytes.push(plain);
                }
            }
        }
        prop_assert_eq!(bytes, frame);
    }
}

#[test]
fn every_damage_has_its_own_words() {
    let all = [
        Damage::TooLong,
        Damage::CutShort,
        Damage::HighBits,
        Damage::NotThePattern,
        Damage::TwoPoints,
        Damage::EmptyFraction,
        Damage::DigitCount,
        Damage::UnknownUnit,
        Damage::OutOfRange,
        Damage::FixedPart,
        Damage::BadNibble,
        Damage::NoScale,
    ];
    let told: std::collections::BTreeSet<String> = all.iter().map(ToString::to_string).collect();
    assert_eq!(told.len(), all.len());
    assert!(told.iter().all(|text| !text.is_empty() && !text.ends_with('.')));
}

#[test]
fn a_pattern_says_what_is_wrong_with_it() {
    let why = |text: &str| Pattern::whole(text).unwrap_err().to_string();
    let syntax = PatternError::Syntax("unclosed group".to_owned());
    assert_eq!(why("(?<digits>[0-9]"), syntax.to_string());
    assert!(why("(?<vaule>[0-9])").contains("\"vaule\""));
    let large = Pattern::whole("(?<digits>[0-9]{1000000})");
    assert!(matches!(large, Err(PatternError::Syntax(_))), "{large:?}");
    let ending = Pattern::ending("B|LOW").unwrap();
    assert_eq!(ending.to_string(), "(?:B|LOW) *$");
    let tokens = Tokens { low_battery: vec![ending], ..Tokens::default() };
    let profile = Profile { tokens, ..decimal(SIGNED) };
    assert_eq!(
        [said(&profile, "1.5LOW "), said(&profile, "LOW1.5")],
        ["1.5", &damaged(Damage::NotThePattern)]
    );
}
