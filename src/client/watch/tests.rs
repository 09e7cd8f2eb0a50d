use ratatui::Terminal;
use ratatui::backend::TestBackend;
use ratatui::style::{Color, Modifier};

use super::big::blocks;
use super::brush::Look;
use super::draw::draw;
use super::scene::{Over, Scene};
use ::bench::plan::{Direction, Holding, Measures};
use ::bench::row::{AlertKind, AttemptReason, Level, State};
use judgement::{Reason, Word};
use quantity::Unit;
use wire::{
    GaugeState, LimitsTold, Next, PositionState, View, ViewAlert, ViewCheck, ViewGauge,
    ViewPosition, ViewTouch, ViewVerdict,
};

const PLAIN: Look = Look { utf8: true, colour: false, blink: false };
const SIZES: [(u16, u16); 3] = [(80, 24), (120, 40), (200, 60)];

/// A ring of eight on which 0 to 5 are taken, but for 3, a slot; 6 is next.
fn ring_of_eight() -> View {
    let position = |position: u32| ViewPosition {
        position,
        angle_deg: Some(f64::from(position) * 45.0),
        state: match position {
            3 => PositionState::Skipped,
            0..6 => PositionState::Taken,
            _ => PositionState::Open,
        },
        value: None,
    };
    let check = ViewCheck {
        part: "inner-spacer".to_owned(),
        name: "face-a".to_owned(),
        attempt_id: 9,
        attempt: 2,
        reason: AttemptReason::Ground,
        measures: Measures::parse("parallelism").expect("a kind"),
        setup: Holding::Plate,
        direction: Direction::CounterClockwise,
        gauge: Some("plate".to_owned()),
        limit: Some(LimitsTold::Max("0.0001".to_owned())),
        limits: wire::LimitsLine { min: None, max: Some("0.0001".to_owned()) },
        limit_unit: Unit::Inch,
        next: Next::Position,
        next_position: Some(6),
        next_words: "TOUCH 6".to_owned(),
        taken: 5,
        of: 8,
        per_circle: 8,
        positions: (0..8).map(position).collect(),
        last_touch: Some(ViewTouch {
            id: 40,
            position: Some(5),
            value: "-0.00012 in".to_owned(),
            state: State::Placed,
        }),
        ..ViewCheck::default()
    };
    let gauge = |name: &str, state, last: Option<&str>, age| ViewGauge {
        name: name.to_owned(),
        state,
        why: None,
        last: last.map(str::to_owned),
        last_age_ms: age,
    };
    View {
        bench: "grinding room".to_owned(),
        station: "bench".to_owned(),
        seq: 41,
        unit: Unit::Inch,
        job: Some("J-1042".to_owned()),
        check: Some(check),
        gauges: vec![
            gauge("plate", GaugeState::Live, Some("-0.00012 in"), Some(2300)),
            gauge("height", GaugeState::Lost, None, None),
        ],
        alerts: vec![ViewAlert {
            id: 30,
            level: Level::Interrupt,
            kind: AlertKind::UnitMixed,
            text: "Got mm, expected inch.".to_owned(),
        }],
        ..View::default()
    }
}

/// The same ring, done and out.
fn judged() -> View {
    let mut view = ring_of_eight();
    let check = view.check.as_mut().unwrap();
    for position in &mut check.positions {
        position.state = PositionState::Taken;
    }
    (check.next, check.next_words, check.next_position) = (Next::Nothing, "DONE".to_owned(), None);
    check.taken = 8;
    check.verdict = Some(ViewVerdict {
        id: 50,
        verdict: Word::DoesNotConform,
        simple: Some(Word::DoesNotConform),
        guarded: Some(Word::DoesNotConform),
        unit: Unit::Inch,
        value: Some("0.00034".to_owned()),
        limit: Some("0.0001".to_owned()),
        uncertainty: Some("0.000026".to_owned()),
        high_mark_deg: Some(90.0),
        contacts_upper: vec![2],
        contacts_lower: vec![6],
        advice: vec!["Grind 0.0002 off at 90.".to_owned()],
        ..ViewVerdict::default()
    });
    view
}

fn scene(view: &View, look: Look) -> Scene<'_> {
    Scene { view: Some(view), since_ms: 0, away_s: None, message: None, over: None, look }
}

/// The screen as rows of text.
fn rows(scene: &Scene<'_>, (width, height): (u16, u16)) -> Vec<String> {
    let mut terminal = Terminal::new(TestBackend::new(width, height)).unwrap();
    terminal.draw(|frame| draw(scene, frame.area(), frame.buffer_mut())).unwrap();
    let buffer = terminal.backend().buffer();
    let row = |y| (0..width).map(|x| buffer[(x, y)].symbol()).collect::<String>();
    (0..height).map(|y| row(y).trim_end().to_owned()).collect()
}

fn shown(view: &View, size: (u16, u16)) -> String {
    rows(&scene(view, PLAIN), size).join("\n")
}

#[track_caller]
fn has(screen: &str, parts: &[&str]) {
    for part in parts {
        assert!(screen.contains(part), "no {part:?} in\n{screen}");
    }
}

/// The text is on the screen in letters whose blocks are so wide and so high.
#[track_caller]
fn has_big(screen: &str, text: &str, size: (usize, usize)) {
    let rows = blocks(text, size, '█').unwrap();
    let lines: Vec<&str> = screen.lines().collect();
    let found = lines
        .windows(rows.len())
        .any(|window| window.iter().zip(&rows).all(|(line, row)| line.contains(row.trim())));
    assert!(found, "no large {text:?} of {size:?} in\n{screen}");
}

#[test]
fn the_screen_of_a_small_terminal_as_a_whole() {
    let expected = "\
J-1042  inner-spacer/face-a, attempt 2 (ground)            grinding room / bench
parallelism on the plate
        █████████       █████████  █████████  █████████     ███     █████████
        ███   ███       ███   ███  ███   ███  ███   ███  ██████           ███
██████  ███   ███       ███   ███  ███   ███  ███   ███     ███     █████████
        ███   ███       ███   ███  ███   ███  ███   ███     ███     ███
        █████████  ███  █████████  █████████  █████████  █████████  █████████ in";
    let screen = rows(&scene(&ring_of_eight(), PLAIN), (80, 24));
    assert_eq!(screen[..7].join("\n"), expected);
    assert_eq!(screen[21], "!! Got mm, expected inch.");
    assert_eq!(screen[22], "height GONE no value yet   plate 2 s ago");
    assert_eq!(screen[23], "n next  v take back  m master  s skip  a seen  ? help  q quit");
}

#[test]
fn the_next_touch_is_seen_at_every_size() {
    let view = ring_of_eight();
    let small = shown(&view, SIZES[0]);
    has(&small, &["▶6◀", "(7)", "█0█", "▒3▒", "◀── ▼", "5/8"]);
    has_big(&small, "TOUCH 6", (2, 2));
    let middle = shown(&view, SIZES[1]);
    has(&middle, &["╔═══╗", "║ 6 ║", "│ 7 │", "██0██", "▒▒3▒▒"]);
    has_big(&middle, "TOUCH 6", (3, 3));
    has_big(&middle, "-0.00012", (4, 2));
    has_big(&middle, "5/8", (2, 1));
    let large = shown(&view, SIZES[2]);
    has(&large, &["║ 6 ║", "Got mm, expected inch."]);
    has_big(&large, "-0.00012", (8, 3));
    has_big(&large, "5/8", (5, 3));
}

#[test]
fn the_verdict_is_the_largest_word_and_the_ring_tells_where() {
    for (size, blocks) in SIZES.into_iter().zip([(3, 1), (6, 2), (9, 3)]) {
        let screen = shown(&judged(), size);
        has_big(&screen, "OUT", blocks);
        has(&screen, &["0.00034 in, limit 0.0001, ±0.000026. High near the 90 mark."]);
        has(&screen, &["HIGH", "▲", "▼", "Grind 0.0002 off at 90."]);
    }
    let mut view = judged();
    let words = [
        ("conforms", "CONFORMS", (2, 1)),
        ("undecided", "TOO CLOSE", (2, 1)),
        ("incomplete", "INCOMPLETE", (2, 1)),
    ];
    for (word, large, size) in words {
        view.check.as_mut().unwrap().verdict.as_mut().unwrap().verdict = Word::parse(word).unwrap();
        has_big(&shown(&view, (80, 24)), large, size);
    }
}

#[test]
fn a_question_after_the_verdict_is_asked_large() {
    let mut view = judged();
    let check = view.check.as_mut().unwrap();
    (check.next, check.next_words) = (Next::Again, "AGAIN 2".to_owned());
    (check.next_position, check.why) = (Some(2), Some("2 stands off from the others.".to_owned()));
    check.positions[2].state = PositionState::Asked;
    let screen = shown(&view, (80, 24));
    has_big(&screen, "OUT", (3, 1));
    has_big(&screen, "AGAIN 2", (2, 1));
    has(&screen, &["?2?", "2 stands off from the others."]);
}

#[test]
fn a_verdict_that_touches_to_come_overtake_is_not_shown() {
    let mut view = judged();
    let check = view.check.as_mut().unwrap();
    (check.next, check.next_words) = (Next::Position, "BACK TO 3".to_owned());
    check.next_position = Some(3);
    let screen = shown(&view, (80, 24));
    assert!(!screen.contains("limit 0.0001"), "{screen}");
    has_big(&screen, "BACK TO 3", (1, 1));
}

#[test]
fn at_twenty_by_five_it_says_in_words_what_fits() {
    assert_eq!(
        rows(&scene(&ring_of_eight(), PLAIN), (20, 5)),
        [
            "-0.00012 in",
            "TOUCH 6 5/8",
            "!! Got mm, expected…",
            "height GONE no valu…",
            "J-1042  inner-space…"
        ]
    );
    assert_eq!(
        rows(&scene(&judged(), PLAIN), (20, 5))[..3],
        ["-0.00012 in", "OUT 0.00034", "DONE 8/8"]
    );
    assert_eq!(rows(&scene(&judged(), PLAIN), (11, 5))[0], "too small");
}

#[test]
fn without_colour_nothing_is_coloured_and_with_it_nothing_else_is_said() {
    let view = judged();
    let drawn = |look| {
        let mut terminal = Terminal::new(TestBackend::new(80, 24)).unwrap();
        terminal.draw(|f| draw(&scene(&view, look), f.area(), f.buffer_mut())).unwrap();
        terminal.backend().buffer().clone()
    };
    let plain = drawn(PLAIN);
    assert!(plain.content.iter().all(|cell| (cell.fg, cell.bg) == (Color::Reset, Color::Reset)));
    let bright = drawn(Look { colour: true, ..PLAIN });
    assert!(bright.content.iter().any(|cell| cell.fg == Color::Red));
    let text = |buffer: &ratatui::buffer::Buffer| {
        buffer.content.iter().map(|cell| cell.symbol().to_owned()).collect::<String>()
    };
    assert_eq!(text(&plain), text(&bright));
}

#[test]
fn the_next_position_blinks() {
    let view = ring_of_eight();
    let reversed = |blink| {
        let mut terminal = Terminal::new(TestBackend::new(80, 24)).unwrap();
        let scene = scene(&view, Look { blink, ..PLAIN });
        terminal.draw(|f| draw(&scene, f.area(), f.buffer_mut())).unwrap();
        let cells = terminal.backend().buffer().content.clone();
        let lit = cells.into_iter().filter(|cell| cell.modifier.contains(Modifier::REVERSED));
        lit.map(|cell| cell.symbol().to_owned()).collect::<String>()
    };
    assert_eq!((reversed(true).as_str(), reversed(false).as_str()), ("▶6◀", ""));
}

#[test]
fn the_word_at_the_high_side_covers_no_position() {
    for at in 0..8_u32 {
        let mut view = judged();
        let verdict = view.check.as_mut().unwrap().verdict.as_mut().unwrap();
        verdict.high_mark_deg = Some(f64::from(at) * 45.0);
        for size in [(100, 30), (120, 40), (200, 60)] {
            let screen = shown(&view, size);
            has(&screen, &["HIGH"]);
            // Each box is three rows of five blocks, its number in the middle one.
            let boxes = screen.matches(&format!("██{at}██")).count();
            let whole: usize = screen.lines().map(|line| line.matches("█████").count()).sum();
            let mut without = view.clone();
            let verdict = without.check.as_mut().unwrap().verdict.as_mut().unwrap();
            verdict.high_mark_deg = None;
            let bare = shown(&without, size);
            let all: usize = bare.lines().map(|line| line.matches("█████").count()).sum();
            assert_eq!((boxes, whole), (1, all), "{at} at {size:?}\n{screen}");
        }
    }
}

#[test]
fn a_position_covers_the_faint_line_it_lies_on() {
    let view = ring_of_eight();
    for size in SIZES {
        let mut terminal = Terminal::new(TestBackend::new(size.0, size.1)).unwrap();
        terminal.draw(|f| draw(&scene(&view, PLAIN), f.area(), f.buffer_mut())).unwrap();
        let cells = terminal.backend().buffer().content.clone();
        let faint = cells.into_iter().filter(|cell| cell.modifier.contains(Modifier::DIM));
        let faint: String = faint.map(|cell| cell.symbol().to_owned()).collect();
        assert_eq!(faint.trim_matches('·'), "", "only the line of the ring is faint");
    }
}

#[test]
fn a_terminal_without_utf8_gets_ascii() {
    let look = Look { utf8: false, ..PLAIN };
    let view = ring_of_eight();
    let screen = rows(&scene(&view, look), (80, 24)).join("\n");
    assert!(screen.is_ascii());
    has(&screen, &[">6<", "#0#", "/3/", "(7)", "<-- V", "###   ###"]);
    let view = judged();
    let screen = rows(&scene(&view, look), (120, 40)).join("\n");
    assert!(screen.is_ascii());
    has(&screen, &["+-0.000026", "^", "HIGH"]);
}

#[test]
fn the_way_round_is_drawn() {
    let column = |view: &View, text: &str| {
        let screen = rows(&scene(view, PLAIN), (80, 24));
        let at = |row: &String| row.find(text).map(|byte| row[..byte].chars().count());
        screen.iter().find_map(at).unwrap_or_else(|| panic!("no {text} in {screen:#?}"))
    };
    let mut view = ring_of_eight();
    assert!(column(&view, "█2█") < column(&view, "▶6◀"), "2 lies to the left of the index mark");
    let check = view.check.as_mut().unwrap();
    check.direction = Direction::Clockwise;
    for position in &mut check.positions {
        position.angle_deg = position.angle_deg.map(|angle| (360.0 - angle) % 360.0);
    }
    assert!(column(&view, "█2█") > column(&view, "▶6◀"));
    has(&shown(&view, (80, 24)), &["▼ ──▶"]);
}

#[test]
fn many_positions_and_positions_in_a_row_have_their_place() {
    let mut view = ring_of_eight();
    let check = view.check.as_mut().unwrap();
    let one = check.positions[7].clone();
    let many = |position: u32| ViewPosition {
        position,
        angle_deg: Some(f64::from(position) * 5.0),
        ..one.clone()
    };
    check.positions = (0..72).map(many).collect();
    (check.of, check.per_circle) = (72, 72);
    has(&shown(&view, (80, 24)), &["▶6◀", "5/72", "○"]);
    let check = view.check.as_mut().unwrap();
    let row = |position: u32| ViewPosition { position, angle_deg: None, ..one.clone() };
    check.positions = (0..3).map(row).collect();
    (check.of, check.per_circle, check.next_position) = (3, 1, Some(1));
    has(&shown(&view, (80, 24)), &["5/3", "│ 0 │", "║ 1 ║", "│ 2 │"]);
}

#[test]
fn what_is_done_is_shown_on_the_circle_of_its_high_side() {
    let mut view = judged();
    let check = view.check.as_mut().unwrap();
    let second = check
        .positions
        .iter()
        .map(|one| ViewPosition { position: one.position + 8, ..one.clone() });
    let second: Vec<_> = second.collect();
    check.positions.extend(second);
    (check.of, check.taken) = (16, 16);
    // The closing touch was at position 0.
    check.last_touch.as_mut().unwrap().position = Some(0);
    check.verdict.as_mut().unwrap().high_position = Some(10);
    has(&shown(&view, (80, 24)), &["circle 2 of 2", "HIGH"]);
}

#[test]
fn what_is_away_unused_or_asked_is_said() {
    let view = ring_of_eight();
    let away = Scene { away_s: Some(7), ..scene(&view, PLAIN) };
    has(&rows(&away, (80, 24)).join("\n"), &["THE SERVICE IS AWAY (7 s). Waiting"]);
    let skip = Scene { over: Some(Over::Skip), ..scene(&view, PLAIN) };
    has(&rows(&skip, (80, 24)).join("\n"), &["Why is it left out?", "1  slot", "Esc"]);
    let help = Scene { over: Some(Over::Help), ..scene(&view, PLAIN) };
    has(&rows(&help, (80, 24)).join("\n"), &["v  take the newest reading back"]);
    let idle = View { check: None, ..view.clone() };
    has(&shown(&idle, (80, 24)), &["No check is active. n: the next one"]);
    let unused = View { job: None, ..idle };
    has(&shown(&unused, (80, 24)), &["No job is in use: tenths job open"]);
}

#[test]
fn with_the_service_away_no_old_value_is_shown() {
    let view = ring_of_eight();
    let away = Scene { away_s: Some(7), ..scene(&view, PLAIN) };
    let large = rows(&away, (80, 24)).join("\n");
    has_big(&large, "AWAY", (3, 1));
    let old = blocks("0.00012", (3, 1), '█').unwrap();
    assert!(!large.contains(old[0].trim()), "{large}");
    let small = rows(&away, (60, 15)).join("\n");
    has(&small, &["SERVICE AWAY 7 s"]);
    assert!(!small.contains("0.00012"), "{small}");
}

#[test]
fn what_is_cut_has_a_mark() {
    let mut view = ring_of_eight();
    view.alerts[0].text = "It goes on and on. ".repeat(40);
    view.bench = "the grinding room behind the yard, to the left of the stairs".to_owned();
    let screen = rows(&scene(&view, PLAIN), (80, 24));
    assert!(screen[0].starts_with("J-1042  inner-spacer/face-a, attempt 2 (ground)  the"));
    for row in [0, 21] {
        assert!(screen[row].ends_with('…') && screen[row].chars().count() == 80, "{screen:#?}");
    }
    let screen = rows(&scene(&view, Look { utf8: false, ..PLAIN }), (80, 24));
    for row in [0, 21] {
        assert!(screen[row].ends_with("...") && screen[row].len() == 80, "{screen:#?}");
    }
    let mut view = judged();
    view.check.as_mut().unwrap().verdict.as_mut().unwrap().advice = vec!["Grind. ".repeat(90)];
    assert!(shown(&view, (80, 24)).contains('…'));
    assert!(!shown(&judged(), (120, 40)).contains('…'), "what is whole has none");
}

#[test]
fn a_long_call_takes_the_rows_that_no_other_needs() {
    let mut view = ring_of_eight();
    let long = "scan: ring does not go on the stack: ring/face is not measured; put that right first, \
                or go on with a reason that stands in the record: `tenths stack built ring --why TEXT`";
    view.alerts.truncate(1);
    view.alerts[0].text = long.to_owned();
    let screen = rows(&scene(&view, PLAIN), (80, 24)).join("\n");
    has(&screen, &["scan: ring does not go on", "record: `tenths", "TEXT`"]);
    assert!(!screen.contains('…'), "{screen}");
    let second = ViewAlert { text: "Second.".to_owned(), ..view.alerts[0].clone() };
    let third = ViewAlert { text: "Third.".to_owned(), ..view.alerts[0].clone() };
    view.alerts.extend([second, third]);
    let screen = rows(&scene(&view, PLAIN), (80, 24)).join("\n");
    has(&screen, &["scan: ring does not go on", "…", "Second.", "Third."]);
}

#[test]
fn who_works_there_stands_before_the_place() {
    let mut view = ring_of_eight();
    view.person = Some("M. Weber".to_owned());
    has(&shown(&view, (120, 40)), &["M. Weber at grinding room / "]);
    view.by = Some("Ada".to_owned());
    has(&shown(&view, (120, 40)), &["M. Weber; Ada touches at grinding room / "]);
}

#[test]
fn a_low_terminal_names_the_job_and_the_check() {
    let screen = rows(&scene(&ring_of_eight(), PLAIN), (60, 15));
    assert_eq!(screen[0], "J-1042  inner-spacer/face-a, attempt 2 (ground)");
    assert_eq!(screen[1], "-0.00012 in");
}

#[test]
fn no_size_is_too_much_for_it() {
    let (one, other) = (ring_of_eight(), judged());
    let empty = View::default();
    for width in 1..110 {
        for height in (1..12).chain([15, 16, 17, 24, 33, 60]) {
            for view in [&one, &other, &empty] {
                let over = (width % 3 == 0).then_some(Over::Skip);
                rows(&Scene { over, away_s: Some(1), ..scene(view, PLAIN) }, (width, height));
            }
        }
    }
}

#[test]
fn a_text_from_outside_cannot_steer_the_terminal() {
    let mut view = ring_of_eight();
    view.job = Some("J\u{1b}[2J".to_owned());
    view.alerts[0].text = "\u{202e}backwards".to_owned();
    let screen = shown(&view, (80, 24));
    assert!(!screen.contains(['\u{1b}', '\u{202e}']));
    has(&screen, &["J\\x1b[2J", "\\u{202e}backwards"]);
}

#[test]
fn a_gauge_that_is_not_there_is_named_and_never_another_than_the_checks() {
    let mut view = ring_of_eight();
    view.gauges[0].state = GaugeState::Absent;
    let screen = shown(&view, (80, 24));
    has_big(&screen, "GAUGE NOT THERE", (1, 1));
    assert!(screen.lines().any(|row| row.contains("█") && row.ends_with(" plate")), "{screen}");
    // A dial that the station does not list is read by eye; what was keyed stands.
    view.check.as_mut().unwrap().gauge = Some("dial".to_owned());
    let screen = shown(&view, (80, 24));
    has_big(&screen, "-0.00012", (3, 1));
    // Beside a verdict it stands at the foot alone.
    let mut done = judged();
    done.gauges[0].state = GaugeState::Absent;
    done.check.as_mut().unwrap().verdict.as_mut().unwrap().reasons =
        vec![Reason::TooFewPositions, Reason::GaugeTooCoarse, Reason::Overdue, Reason::Warm];
    let screen = shown(&done, (80, 24));
    has(&screen, &["plate NOT THERE", "Grind 0.0002 off at 90.", "overdue, warm."]);
    assert!(!screen.lines().any(|row| row.contains('█') && row.ends_with(" plate")), "{screen}");
}
