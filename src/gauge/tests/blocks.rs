//! Blocks of lines: one frame each, and never a value out of a block that is not whole.

use super::*;

const VALUE: &str = r"(?<sign>[+-]?) *(?<whole>[0-9]+)\.(?<fraction>[0-9]+) *(?<unit>mm|in)";

fn named() -> Block {
    Block {
        begins: Pattern::whole(r"No\. *[0-9]+").unwrap(),
        ends: Some(Pattern::whole("={4,}").unwrap()),
        lines: None,
        value_line: None,
        gap_us: 500_000,
    }
}

/// Lines without names: the third of five holds the value.
fn counted() -> Block {
    Block { ends: None, lines: Some(5), value_line: Some(3), ..named() }
}

/// A gauge whose blocks are put together so, and whose line with the value looks so.
fn line_of(block: Block, pattern: &str) -> GaugeLine {
    let profile = Profile { block: Some(block), ..decimal(pattern) };
    let mut line = GaugeLine::new(LineSetup { profile: Arc::new(profile), gauges: vec![gauge()] });
    line.opened(0);
    line.tick(600_000, &mut Vec::new());
    assert!(line.live());
    line
}

fn by_name() -> GaugeLine {
    line_of(named(), &format!("H *= *{VALUE}"))
}

/// What comes of these bytes, and of a silence behind them.
fn heard(line: &mut GaugeLine, bytes: &[u8]) -> Vec<Outcome> {
    let mut out = Vec::new();
    line.feed(bytes, 1_000_000, &mut out);
    line.tick(2_000_000, &mut out);
    assert!(line.is_between_frames() && line.wake_at().is_none());
    out
}

fn values(outcomes: &[Outcome]) -> Vec<String> {
    let value = |outcome: &Outcome| {
        if let Kind::Reading { value, .. } = outcome.kind { Some(value.number()) } else { None }
    };
    outcomes.iter().filter_map(value).collect()
}

fn damage(outcomes: &[Outcome]) -> Vec<Damage> {
    let why = |outcome: &Outcome| {
        if let Kind::Damaged(why) = outcome.kind { Some(why) } else { None }
    };
    outcomes.iter().filter_map(why).collect()
}

const WHOLE: [&str; 5] = ["No. 7", "FACE UP", "H = 1.00012 in", "T = 20.4 C", "===="];

#[test]
fn a_block_is_one_frame_in_whatever_pieces_it_comes() {
    let bytes = WHOLE.join("\r\n") + "\r\n";
    for size in 1..=bytes.len() {
        let (mut line, mut out) = (by_name(), Vec::new());
        for (at_us, part) in (1_000_000..).step_by(2_000).zip(bytes.as_bytes().chunks(size)) {
            line.feed(part, at_us, &mut out);
        }
        assert_eq!((values(&out), out.len()), (vec!["1.00012".to_owned()], 1), "pieces of {size}");
        assert_eq!(out[0].text, "H = 1.00012 in", "what is kept is the line with the value");
    }
}

#[test]
fn a_block_that_lacks_first_value_or_last_line_is_one_damaged_frame() {
    for (lost, why) in [(0, Damage::NoFirstLine), (2, Damage::NoValueLine), (4, Damage::CutShort)] {
        let mut lines = WHOLE.to_vec();
        lines.remove(lost);
        let out = heard(&mut by_name(), (lines.join("\n") + "\n").as_bytes());
        assert_eq!((damage(&out), out.len()), (vec![why], 1), "without {}", WHOLE[lost]);
    }
}

#[test]
fn counted_lines_are_never_taken_for_each_other() {
    let lines = ["No. 7", "0.50000 in", "1.00012 in", "0.75000 in", "2.00000 in"];
    let bytes = |lines: &[&str]| lines.join("\r") + "\r";
    let out = heard(&mut line_of(counted(), VALUE), bytes(&lines).as_bytes());
    assert_eq!(values(&out), ["1.00012"]);
    for lost in 0..lines.len() {
        let mut fewer = lines.to_vec();
        fewer.remove(lost);
        let next = bytes(&fewer) + &bytes(&lines);
        let out = heard(&mut line_of(counted(), VALUE), next.as_bytes());
        assert_eq!((values(&out), out.len()), (vec!["1.00012".to_owned()], 2), "without {lost}");
    }
    // One too many: the next block begins at its first line.
    let more = bytes(&lines) + "9.00000 in\r" + &bytes(&lines);
    let out = heard(&mut line_of(counted(), VALUE), more.as_bytes());
    assert_eq!((values(&out).len(), damage(&out)), (2, vec![Damage::NoFirstLine]));
}

#[test]
fn lines_without_end_fill_no_memory_and_are_one_frame() {
    let mut bytes = b"No. 7\rH = 1.00012 in\r".to_vec();
    for _ in 0..100_000 {
        bytes.extend(b"FACE UP\r");
    }
    let out = heard(&mut by_name(), &bytes);
    assert_eq!((damage(&out), out.len()), (vec![Damage::LineCount], 1));
    let mut line = by_name();
    assert_eq!(damage(&heard(&mut line, &vec![b'7'; 1_000_000])), [Damage::NoFirstLine]);
    assert_eq!(values(&heard(&mut line, (WHOLE.join("\r") + "\r").as_bytes())), ["1.00012"]);
}

/// The same gauge, with words for what is no value.
fn with_tokens() -> GaugeLine {
    let whole = |text| vec![Pattern::whole(text).unwrap()];
    let tokens = Tokens {
        blank: whole("H *= *-{2,}"),
        error: whole("ERROR [0-9]+"),
        overload: whole("H *= *[*]{2,}"),
        low_battery: vec![Pattern::ending("BATTERY LOW").unwrap()],
        ..Tokens::default()
    };
    let content = Content::Decimal(Pattern::whole(&format!("H *= *{VALUE}")).unwrap());
    let profile = Profile { block: Some(named()), tokens, ..profile(content) };
    let mut line = GaugeLine::new(LineSetup { profile: Arc::new(profile), gauges: vec![gauge()] });
    line.opened(0);
    line.tick(600_000, &mut Vec::new());
    line
}

#[test]
fn a_block_says_what_its_line_says_when_there_is_no_value() {
    for (line, why) in [
        ("H = ----", Foreign::Blank),
        ("H = ****", Foreign::Overload),
        ("ERROR 12", Foreign::Error),
    ] {
        let block = format!("No. 7\rT = 20.4 C\r{line}\r====\r");
        let kinds: Vec<Kind> =
            heard(&mut with_tokens(), block.as_bytes()).into_iter().map(|one| one.kind).collect();
        assert_eq!(kinds, [Kind::Foreign(why)], "{line}");
    }
    // Outside a block it is a frame of its own, and ends nothing.
    let out = heard(&mut with_tokens(), b"ERROR 12\rNo. 7\rH = 1.00012 in\r====\r");
    assert_eq!(
        (out[0].kind.clone(), values(&out)),
        (Kind::Foreign(Foreign::Error), vec!["1.00012".to_owned()])
    );
    // A low battery costs no reading, and is no value where the value is missing.
    let out = heard(&mut with_tokens(), b"No. 7\rH = 1.00012 in\rBATTERY LOW\r====\r");
    assert!(matches!(out[0].kind, Kind::Reading { low_battery: true, .. }), "{out:?}");
    let out = heard(&mut with_tokens(), b"No. 7\rBATTERY LOW\r====\r");
    assert_eq!(damage(&out), [Damage::NoValueLine]);
}

#[test]
fn a_port_that_is_opened_in_the_middle_of_a_block_waits_for_the_next() {
    let profile = Profile { block: Some(named()), ..decimal(&format!("H *= *{VALUE}")) };
    let setup = LineSetup { profile: Arc::new(profile), gauges: vec![gauge()] };
    for from in 1..WHOLE.len() {
        let mut line = GaugeLine::new(setup.clone());
        line.opened(0);
        let mut out = Vec::new();
        line.feed((WHOLE[from..].join("\r") + "\r").as_bytes(), 10_000, &mut out);
        line.feed((WHOLE.join("\r") + "\r").as_bytes(), 20_000, &mut out);
        let kinds: Vec<bool> = out.iter().map(|one| one.kind == Kind::Resync).collect();
        assert_eq!(
            (kinds, values(&out)),
            (vec![true, false], vec!["1.00012".to_owned()]),
            "from {from}"
        );
        // Opened again in the middle: nothing of the block before is left.
        line.feed(b"No. 8\rH = 2.00000 in\r", 30_000, &mut out);
        line.opened(40_000);
        line.feed(b"====\r", 50_000, &mut out);
        line.tick(900_000, &mut out);
        assert_eq!((values(&out).len(), damage(&out).len()), (1, 0));
        assert!(line.live());
    }
}

proptest! {
    /// Lines of blocks, lost, doubled and mixed: each value stands in a block with its own first line before it and
    /// its own last line behind it, and no line of another block between.
    #[test]
    fn a_value_never_comes_from_two_blocks(
        picked in proptest::collection::vec((0_usize..4, 0_u32..9), 0..60),
    ) {
        let text = |(kind, digit): &(usize, u32)| match kind {
            0 => format!("No. {digit}"),
            1 => format!("H = 0.0000{digit} in"),
            2 => "T = 20.4 C".to_owned(),
            _ => "====".to_owned(),
        };
        let lines: Vec<String> = picked.iter().map(text).collect();
        let out = heard(&mut by_name(), (lines.join("\r\n") + "\r\n").as_bytes());
        // By hand: from each first line to the next first or last line, one line with a value.
        let (mut wanted, mut open) = (Vec::new(), None::<Vec<u32>>);
        for (kind, digit) in &picked {
            match (kind, &mut open) {
                (0, _) => open = Some(Vec::new()),
                (1, Some(found)) => found.push(*digit),
                (3, Some(found)) => {
                    if let [one] = found.as_slice() {
                        wanted.push(format!("0.0000{one}"));
                    }
                    open = None;
                }
                _ => {}
            }
        }
        prop_assert_eq!(values(&out), wanted);
    }
}
