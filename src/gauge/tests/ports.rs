//! Frames on a port: whose they are, in which unit, and where one ends.

#![expect(clippy::wildcard_enum_match_arm, reason = "what is no reading is shown as it is")]

use super::frames::{SIGNED, tokens};
use super::*;

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

#[test]
fn a_frame_of_fixed_length_may_come_in_pieces_with_less_than_the_gap_between() {
    let frame = Pattern::whole("(?<digits>[0-9]{5})").unwrap();
    let counts =
        Content::Counts { pattern: frame, scale: Quoted::parse("1", Unit::Micrometre).ok() };
    let told = |pause_us: u64| {
        let framing = Framing::Fixed { length: 5, gap_us: 20_000 };
        let (mut line, mut out) =
            (live(Profile { framing, ..profile(counts.clone()) }, vec![gauge()]), Vec::new());
        let mut now = 1_000_000;
        for byte in b"00012" {
            line.feed(&[*byte], now, &mut out);
            // Time passes on the way, too.
            line.tick(now + pause_us / 2, &mut out);
            now += pause_us;
        }
        line.tick(now + 20_000, &mut out);
        out.into_iter().map(|outcome| (outcome.text, outcome.kind)).collect::<Vec<_>>()
    };
    for pause_us in [0, 1_000, 19_999] {
        assert!(
            matches!(&told(pause_us)[..], [(text, Kind::Reading { .. })] if text == "00012"),
            "{pause_us}"
        );
    }
    let cut = told(20_000);
    assert_eq!(cut.len(), 5, "every byte is counted");
    assert!(
        cut.iter().all(|(text, kind)| text.len() == 1 && *kind == Kind::Damaged(Damage::CutShort))
    );
}
