//! Frames of every shape a gauge sends: found whole however they arrive, and read for what they say.

#![expect(clippy::wildcard_enum_match_arm, reason = "what is no reading is shown as it is")]

use super::*;

/// The shapes of numbers that gauges send, as a pattern of a profile.
const SIGNED: &str = r"(?<sign>[+-]?) *(?<digits>[0-9]*\.?[0-9]*) ?(?<unit>[a-zA-Z\x22]*)";

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
fn tokens() -> Profile {
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

/// What became of each frame of a line with these gauges: which gauge, and a word.
fn heard(gauges: Vec<GaugeOnLine>, frames: &str) -> Vec<(usize, String)> {
    let mut out = Vec::new();
    live(tokens(), gauges).feed(frames.as_bytes(), 1_000_000, &mut out);
    let word = |kind: &Kind| match kind {
        Kind::Reading { value, .. } => value.to_string(),
        Kind::Foreign(why) => why.to_string(),
        Kind::Damaged(why) => why.to_string(),
        other => format!("{other:?}"),
    };
    out.iter().map(|outcome| (outcome.gauge, word(&outcome.kind))).collect()
}

#[test]
fn a_frame_goes_to_the_gauge_of_its_channel() {
    let on = |channel: &str| GaugeOnLine { channel: Some(channel.to_owned()), ..gauge() };
    let other = "other channel".to_owned();
    let heard_of = heard(vec![on("1"), on("2")], "2:0.5\r1:0.25\r3:0.125\r7\r2:E1\r4:9999\r");
    let wanted = [
        (1, "0.5 in".to_owned()),
        (0, "0.25 in".to_owned()),
        (0, other.clone()),
        // It names none, and there are two.
        (0, other.clone()),
        (1, "error".to_owned()),
        (0, "no gauge".to_owned()),
    ];
    assert_eq!(heard_of, wanted);
    // Alone it takes what names no channel; without one it keeps to the first it saw a value of.
    assert_eq!(heard(vec![on("1")], "7\r")[0], (0, "7 in".to_owned()));
    let free = heard(vec![gauge()], "3:E1\r2:0.5\r3:0.5\r2:0.25\r");
    assert_eq!(
        free.iter().map(|heard| heard.1.as_str()).collect::<Vec<_>>(),
        ["error", "0.5 in", "other channel", "0.25 in"]
    );
    // Beside one that was given its channel, the free one takes the others.
    let beside = heard(vec![on("1"), gauge()], "1:0.5\r2:0.5\r7\r");
    assert_eq!(beside.iter().map(|heard| heard.0).collect::<Vec<_>>(), [0, 1, 1]);
}

#[test]
fn the_unit_is_that_of_the_frame_then_of_the_gauge_then_of_the_profile() {
    let kind = |unit: Option<Unit>, of_profile: Option<Unit>, frame: &str| {
        let mut out = Vec::new();
        let profile = Profile { unit: of_profile, ..decimal(SIGNED) };
        let mut line = live(profile, vec![GaugeOnLine { unit, ..gauge() }]);
        line.feed(frame.as_bytes(), 1_000_000, &mut out);
        let Kind::Reading { value, odd, .. } = out.remove(0).kind else { panic!("{frame}") };
        (value.unit, odd)
    };
    let (mm, um) = (Some(Unit::Millimetre), Some(Unit::Micrometre));
    assert_eq!(kind(None, None, "0.5\r").0, Unit::Inch, "that of its resolution");
    assert_eq!(kind(None, um, "0.5\r").0, Unit::Micrometre);
    assert_eq!(kind(mm, um, "0.5\r").0, Unit::Millimetre);
    let odd = Odd::Unit { got: Unit::Micrometre, expected: Unit::Millimetre };
    assert_eq!(kind(mm, None, "0.5 um\r"), (Unit::Micrometre, Some(odd)));
    assert_eq!(odd.to_string(), "unit um, expected mm");
    let places = Odd::Places { got: 1, expected: 5 };
    assert_eq!(kind(None, None, "0.5\r").1, Some(places), "those of its resolution");
    assert_eq!(places.to_string(), "1 decimal places, expected 5");
    assert_eq!(kind(mm, None, "0.5\r").1, None, "in another unit nobody knows");
}

#[test]
fn a_count_is_a_length_only_with_its_scale_and_within_a_hundred_metres() {
    let scale = |text: &str| Quoted::parse_with_unit(text, None).ok();
    let kind = |of_gauge: Option<Quoted>, of_profile: Option<Quoted>, frame: &str| {
        let mut out = Vec::new();
        let pattern = Pattern::whole(r"(?<sign>-?)(?<digits>[0-9]+)").unwrap();
        let content = Content::Counts { pattern, scale: of_profile };
        let mut line = live(profile(content), vec![GaugeOnLine { scale: of_gauge, ..gauge() }]);
        line.feed(frame.as_bytes(), 1_000_000, &mut out);
        out.remove(0).kind
    };
    let value = |kind: Kind| match kind {
        Kind::Reading { value, odd: None, .. } => value.to_string(),
        other => format!("{other:?}"),
    };
    assert_eq!(kind(None, None, "12\r"), Kind::Damaged(Damage::NoScale));
    assert_eq!(value(kind(None, scale("0.5 um"), "-12\r")), "-6.0 um");
    assert_eq!(value(kind(scale("0.00001 in"), scale("0.5 um"), "12\r")), "0.00012 in");
    assert_eq!(value(kind(scale("1 mm"), None, "100000\r")), "100000 mm");
    for (count, of_one) in [("100001\r", "1 mm"), ("-100001\r", "1 mm"), ("99999999\r", "90 mm")] {
        let beyond = kind(scale(of_one), None, count);
        assert_eq!(beyond, Kind::Damaged(Damage::OutOfRange), "{count:?} of {of_one}");
    }
}

#[test]
fn a_gauge_that_is_asked_has_presses_only_where_its_button_counts() {
    let kinds = |capture, button| {
        let asked = GaugeOnLine { capture, button, repeat_us: 300_000, max_rate: 5, ..gauge() };
        let (mut line, mut out) = (live(decimal(SIGNED), vec![asked]), Vec::new());
        for frame in 0..60_u64 {
            line.feed(b"0.00012\r", 1_000_000 + frame * 100_000, &mut out);
        }
        let repeats = out.iter().filter(|o| matches!(o.kind, Kind::Reading { repeat: true, .. }));
        let muted = out.iter().filter(|o| matches!(o.kind, Kind::Muted { .. }));
        (repeats.count() > 0, muted.count() > 0)
    };
    assert_eq!(kinds(Capture::Send, false), (true, true));
    assert_eq!(kinds(Capture::Request, true), (true, true));
    for capture in [Capture::Request, Capture::Settle, Capture::Sweep] {
        assert_eq!(kinds(capture, false), (false, false), "{capture:?}");
    }
}

#[test]
fn a_frame_without_its_end_is_taken_after_a_silence_where_it_is_whole() {
    let told = |frame: &[u8]| {
        let (mut line, mut out) = (live(tokens(), vec![gauge()]), Vec::new());
        line.feed(frame, 1_000_000, &mut out);
        line.tick(1_199_999, &mut out);
        assert!(out.is_empty(), "a silence too short");
        line.tick(1_200_000, &mut out);
        let taken = out.len();
        // Its end comes late: a frame that was taken is over.
        line.feed(b"\r", 2_000_000, &mut out);
        (taken, out.len(), out.first().map_or(0, |outcome| outcome.at_us))
    };
    // With the places of the gauge it is taken, at the time of its last byte.
    assert_eq!(told(b"0.00012"), (1, 1, 1_000_000));
    assert_eq!(told(b"1:E04"), (1, 1, 1_000_000));
    // Its digits may still be coming; dashes may be the first two of a number's sign; blanks say nothing.
    assert_eq!(told(b"0.0001"), (0, 1, 2_000_000));
    assert_eq!(told(b"0.00x"), (0, 1, 2_000_000));
    assert_eq!(told(b"  "), (0, 1, 2_000_000));
}

#[test]
fn what_the_line_itself_sends_is_no_part_of_a_frame() {
    let (mut line, mut out) = (live(decimal(SIGNED), vec![gauge()]), Vec::new());
    line.feed(b"\x110.0\x130\x00012\x00\r\x00\n\x11", 1_000_000, &mut out);
    assert_eq!(out.iter().map(|o| o.text.as_str()).collect::<Vec<_>>(), ["0.00012"]);
    assert!(line.is_between_frames());
    // Such a byte is no sign of life either: the silence goes on.
    line.feed(b"0.00013", 2_000_000, &mut out);
    line.feed(b"\x13", 2_100_000, &mut out);
    assert_eq!((line.wake_at(), line.is_between_frames()), (Some(2_200_000), false));
}

#[test]
fn a_frame_may_have_sixty_four_bytes_and_what_is_longer_is_one_damage() {
    let told = |frame: &[u8]| {
        let (mut line, mut out) = (live(decimal(SIGNED), vec![gauge()]), Vec::new());
        line.feed(frame, 1_000_000, &mut out);
        assert!(line.is_between_frames());
        out.iter().map(|o| (o.text.len(), o.kind.clone())).collect::<Vec<_>>()
    };
    let blanks = |count: usize| [&vec![b' '; count][..], b"0.00012\r"].concat();
    assert!(matches!(told(&blanks(57))[..], [(64, Kind::Reading { .. })]));
    let too_long = (64, Kind::Damaged(Damage::TooLong));
    assert_eq!(told(&blanks(58)), std::slice::from_ref(&too_long));
    // However long it is, and the next frame is found.
    let two = [blanks(500), blanks(3)].concat();
    assert!(matches!(&told(&two)[..], [first, (10, Kind::Reading { .. })] if *first == too_long));
}

#[test]
fn the_first_line_after_opening_may_lack_its_beginning() {
    let kinds = |silent_us: u64, bytes: &[&[u8]]| {
        let setup = LineSetup { profile: Arc::new(decimal(SIGNED)), gauges: vec![gauge()] };
        let (mut line, mut out, mut now) = (GaugeLine::new(setup), Vec::new(), 0);
        line.opened(0);
        for part in bytes {
            now += silent_us;
            line.feed(part, now, &mut out);
        }
        out.into_iter().map(|o| (o.text, o.kind == Kind::Resync)).collect::<Vec<_>>()
    };
    let frame = |text: &str, cut: bool| (text.to_owned(), cut);
    // Bytes at once: the first line is cut; after 50 ms of silence it is whole.
    assert_eq!(
        kinds(49_999, &[b"0012\r0.00012\r"]),
        [frame("0012", true), frame("0.00012", false)]
    );
    assert_eq!(kinds(50_000, &[b"0.00012\r"]), [frame("0.00012", false)]);
    // A silence in the middle of the first ends it.
    assert_eq!(kinds(50_000, &[b"\x11", b"00", b"0.00012\r"]).len(), 1);
    let cut = kinds(49_999, &[b"00", b"", b"", b"0.00012\r"]);
    assert_eq!(cut, [frame("00", true), frame("0.00012", false)]);
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
