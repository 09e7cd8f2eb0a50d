use crate::fact::row::{AlertKind, Ending};
use crate::plan::{Direction, Measures, Reads, Turn};
use crate::tests::turns::*;
use judgement::{Reason, Word};

/// A nose pilot touched every 15 degrees (scenario, invented).
const NOSE: [&str; 24] = [
    "-0.00001", "-0.00001", "0.00000", "0.00001", "0.00002", "0.00002", "0.00002", "0.00001",
    "0.00000", "0.00000", "0.00000", "0.00001", "0.00002", "0.00003", "0.00002", "0.00001",
    "0.00000", "-0.00002", "-0.00003", "-0.00003", "-0.00003", "-0.00003", "-0.00002", "-0.00002",
];

#[test]
fn a_nose_with_lobes() {
    let mut kit = measuring(turn(24));
    kit.send(&NOSE);
    let verdict = kit.verdict();
    assert_eq!((verdict.word, verdict.value), (Word::Conforms, Some(exact("0.00006"))));
    // 2·√(2·0.000006² + 0.000005²) = 2·√97 millionths of an inch: 19.697716 of them.
    assert_eq!(fixed(verdict.uncertainty, 10), "0.0000196977");
    let figures = &verdict.figures;
    assert_eq!(fixed(figures.eccentricity, 8), "0.00002057");
    near(figures.high_side_deg, 129.9, 0.05);
    near(figures.high_side_u_deg, 9.7, 0.05);
    near(figures.axis_deg, 129.9, 0.05);
    assert_eq!(figures.harmonics.len(), 7);
    let lobe = |order: usize| figures.harmonics[order - 1];
    assert_eq!(fixed(Some(lobe(2).amplitude), 8), "0.00001343");
    near(Some(lobe(2).phase_deg), 35.8, 0.05);
    assert_eq!(fixed(Some(lobe(3).amplitude), 8), "0.00000869");
    near(Some(lobe(3).phase_deg), 80.8, 0.05);
    assert_eq!(fixed(Some(lobe(4).amplitude), 8), "0.00000083");
    assert_eq!(fixed(figures.out_of_round, 8), "0.00004181");
    // 3.90 of the spread for 24 touches, the mean range of control charts.
    assert_eq!(fixed(figures.noise_floor, 8), "0.00002340");
    assert_eq!(figures.max_minus_min, Some(exact("0.00006")));
    // The readings sum up to −3 of 0.00001 in.
    assert_eq!(figures.mean, Some(exact("-0.00003") / 24));
    assert_eq!(figures.unfiltered, None, "touches by hand hold nothing to filter");
    let claimed = "Claimed at these 24 touches; an oval between them could be 1.04 times larger.";
    assert!(verdict.advice.iter().any(|line| line == claimed), "{:?}", verdict.advice);
}

#[test]
fn a_turn_tells_how_far_it_came_back_off() {
    let mut kit = measuring(Check { closure: true, ..turn(24) });
    kit.send(&NOSE);
    kit.send(&["0.00001"]);
    assert_eq!(kit.verdict().figures.closure, Some(exact("0.00002")));
}

#[test]
fn in_a_bore_and_from_behind_the_axis_lies_opposite() {
    let surfaces = [
        (Surface::Outside, 129.9),
        (Surface::NearFace, 129.9),
        (Surface::Inside, 309.9),
        (Surface::FarFace, 309.9),
    ];
    for (surface, axis) in surfaces {
        let mut kit = measuring(Check { surface, ..turn(24) });
        kit.send(&NOSE);
        near(kit.verdict().figures.high_side_deg, 129.9, 0.05);
        near(kit.verdict().figures.axis_deg, axis, 0.05);
    }
    // Counted the other way round, the metal's angle is mirrored.
    let mut kit = measuring(Check { direction: Direction::Clockwise, ..turn(24) });
    kit.send(&NOSE);
    near(kit.verdict().figures.axis_deg, 360.0 - 129.9, 0.05);
}

/// 300 samples of an even turn: two waves, and noise that a formula gives (scenario, invented).
fn stream() -> Vec<String> {
    let sample = |k: i64| {
        let angle = 1.2 * f64::from(u32::try_from(k).unwrap());
        let wave = 2.2 * (angle - 130.0_f64).to_radians().cos()
            + 1.4 * (2.0 * (angle - 35.0_f64)).to_radians().cos();
        let noise = (((k * k * 37 + k * 11) % 101 - 50) * 4 * 254_000).div_euclid(101);
        let noise = f64::from(i32::try_from(noise).unwrap()) / 254_000.0;
        format!("{:.5}", (wave + noise).round_ties_even() / 1e5)
    };
    (0..300).map(sample).collect()
}

#[test]
fn a_streamed_turn_is_judged_after_its_low_pass() {
    let mut kit = measuring(turn(300));
    kit.send(&stream().iter().map(String::as_str).collect::<Vec<_>>());
    let verdict = kit.verdict();
    assert_eq!(verdict.word, Word::Conforms);
    assert_eq!(fixed(verdict.value, 8), "0.00006581");
    assert_eq!(verdict.figures.unfiltered, Some(exact("0.00009")));
    assert_eq!(fixed(verdict.uncertainty, 8), "0.00001970");
    assert_eq!(verdict.figures.harmonics.len(), 15);
    assert!(verdict.advice.iter().any(|line| line.contains("low-pass at 15 waves")));
    assert!(!verdict.advice.iter().any(|line| line.contains("Claimed")), "{:?}", verdict.advice);
}

#[test]
fn a_stream_is_not_out_before_its_end() {
    let mut kit = measuring(turn(300));
    kit.send(&["0", "0.0003", "0"]);
    assert!(kit.open().is_empty(), "{:?}", kit.open());
    let mut kit = measuring(turn(30));
    kit.send(&["0", "0.0003", "0"]);
    assert_eq!(kit.open(), ["ring/nose out so far: 0.00030. Go on, or take it back."]);
}

#[test]
fn a_gap_in_a_stream_is_judged_as_read() {
    let mut kit = measuring(turn(40));
    kit.send(&["0.00001", "0"].repeat(19));
    skip(&mut kit, &[38, 39]);
    let verdict = kit.verdict();
    assert_eq!((verdict.value, verdict.figures.unfiltered), (Some(exact("0.00001")), None));
    assert!(verdict.advice.iter().any(|line| line.contains("too wide for the low-pass")));
}

/// A bar at 3 in as a turn of its own: 12 planned, those at 90, 120 and 240 left out.
fn at_three_inches() -> Check {
    let measures = Measures::from(Turn {
        stand: inch("0.000005"),
        seating: inch("0.00001"),
        bar: inch("0.000005"),
    });
    Check { limits: Some(Limits::Max(inch("0.0002"))), measures, ..turn(12) }
}

const NINE: [&str; 9] = [
    "0.00000", "0.00003", "0.00005", "0.00004", "0.00002", "-0.00001", "-0.00007", "-0.00007",
    "-0.00004",
];

/// Sends the nine that were touched, each to its position.
fn nine(first: &str) -> Kit {
    let mut kit = measuring(at_three_inches());
    skip(&mut kit, &[3, 4, 8]);
    kit.send(&[first]);
    kit.send(&NINE[1..]);
    kit
}

#[test]
fn three_positions_missing_leave_one_wave() {
    let kit = nine(NINE[0]);
    let verdict = kit.verdict();
    let figures = &verdict.figures;
    // With a reason for each it is judged, and says what it does not know.
    assert_eq!((verdict.value, verdict.skipped), (Some(exact("0.00012")), 3));
    assert_eq!(fixed(verdict.uncertainty, 8), "0.00004569");
    assert_eq!(figures.harmonics.len(), 1, "a gap of 90 degrees allows the first wave only");
    assert_eq!(fixed(figures.eccentricity, 8), "0.00006891");
    near(figures.high_side_deg, 100.3, 0.05);
    let gap = "The high spot lies between 60 and 150, where nothing was touched.";
    assert!(verdict.advice.iter().any(|line| line == gap), "{:?}", verdict.advice);
    assert_eq!(figures.saddle_factor, None);
}

#[test]
fn a_turn_that_stops_short_is_incomplete_whatever_it_shows() {
    let mut kit = measuring(at_three_inches());
    kit.send(&["-0.00025"]);
    kit.send(&NINE[1..3]);
    skip(&mut kit, &[3, 4]);
    kit.send(&NINE[3..6]);
    skip(&mut kit, &[8]);
    kit.send(&NINE[6..8]);
    assert!(kit.open().iter().any(|text| text.contains("out so far: 0.00028")), "{:?}", kit.open());
    let wild = kit.bench.alerts.values().find(|open| open.alert.kind == AlertKind::WildTouch);
    assert!(wild.unwrap().alert.text.starts_with("ring/nose: Touch position 0 again. Not now"));
    kit.ask(Command::Stop).unwrap();
    let verdict = kit.verdict();
    assert_eq!(verdict.word, Word::Incomplete);
    assert_eq!(verdict.value, Some(exact("0.0003")));
    let attempt = kit.bench.attempt(verdict.attempt).unwrap().2;
    assert_eq!(attempt.ending, Some(Ending::Stopped));
}

#[test]
fn half_a_turn_tells_no_high_side() {
    let mut kit = measuring(turn(8));
    kit.send(&["0", "0.00001", "0.00002", "0.00001"]);
    skip(&mut kit, &[4, 5, 6, 7]);
    let verdict = kit.verdict();
    assert_eq!((verdict.value, verdict.word), (Some(exact("0.00002")), Word::Undecided));
    assert_eq!(verdict.reasons, [Reason::TooFewPositions]);
    let figures = &verdict.figures;
    assert_eq!((figures.eccentricity, figures.high_side_deg, figures.axis_deg), (None, None, None));
    assert!(figures.harmonics.is_empty());
    assert!(verdict.advice.iter().any(|line| line.contains("no high side")));
}

#[test]
fn eight_equal_readings_run_true_and_have_no_high_side() {
    let mut kit = measuring(turn(8));
    kit.send(&["0.12345"; 8]);
    let verdict = kit.verdict();
    assert_eq!((verdict.value, verdict.word), (Some(Figure::ZERO), Word::Conforms));
    let figures = &verdict.figures;
    assert_eq!(
        (figures.eccentricity, figures.out_of_round),
        (Some(Figure::ZERO), Some(exact("0")))
    );
    assert_eq!((figures.high_side_deg, figures.high_side_u_deg), (None, None));
    assert_eq!(figures.axis_deg, None);
    assert_eq!(verdict.told(verdict.unit).value.unwrap(), "less than 0.000018");
}

#[test]
fn a_single_total_reading_has_no_angle() {
    let total = || Check { measures: Turn::default().into(), reads: Reads::Total, ..turn(1) };
    for keyed in ["0.00006", "-0.00006"] {
        let mut kit = measuring(total());
        kit.send(&[keyed]);
        let verdict = kit.verdict();
        assert_eq!((verdict.value, verdict.word), (Some(exact("0.00006")), Word::Conforms));
        assert!(verdict.reasons.is_empty(), "one reading is the whole turn");
        // 2·√2·0.000006 in.
        assert_eq!(fixed(verdict.uncertainty, 10), "0.0000169706");
        let figures = &verdict.figures;
        assert!(figures.harmonics.is_empty() && figures.axis_deg.is_none());
        assert!(!verdict.advice.iter().any(|line| line.contains("Claimed")));
    }
    let mut kit = measuring(total());
    kit.send(&["-0.0003"]);
    assert_eq!(kit.verdict().word, Word::DoesNotConform);
}

#[test]
fn each_circle_has_its_own_total_reading() {
    let mut check = turn(8);
    check.surface = Surface::NearFace;
    check.radii = vec![inch("1"), inch("2")];
    let mut kit = measuring(check);
    kit.send(&["0", "0", "0.00001", "0", "0", "0", "0", "0"]);
    // A tenth further out, as a cone is: no circle shows that.
    kit.send(&["0.0001", "0.0001", "0.0001", "0.0001", "0.00012", "0.0001", "0.0001", "0.0001"]);
    let verdict = kit.verdict();
    assert_eq!((verdict.value, verdict.word), (Some(exact("0.00002")), Word::Conforms));
    near(verdict.figures.high_side_deg, 180.0, 1e-9);
    assert!(verdict.advice.iter().any(|line| line.contains("the one at radius 2")));
}

#[test]
fn a_gauge_without_repeatability_lends_all_of_its_uncertainty() {
    let mut kit = Kit::new(vec![turn(8)]);
    let gauge = kit.setup.gauges.get_mut("plate").unwrap();
    gauge.repeatability = None;
    kit.measure("ring/nose").unwrap();
    kit.send(&["0"; 8]);
    // 2·√(2·0.0000084² + 0.000005²) in.
    assert_eq!(fixed(kit.verdict().uncertainty, 10), "0.0000257775");
}

#[test]
fn a_second_pass_lies_between_the_first() {
    // A pure eccentricity of 0.00002 towards 90, eight and eight half a pitch on.
    let height = |deg: f64| format!("{:.7}", 0.00002 * deg.to_radians().sin());
    let first = (0..8).map(|k| 45.0 * f64::from(k));
    let readings: Vec<String> =
        first.clone().chain(first.map(|deg| deg + 22.5)).map(height).collect();
    let mut kit = measuring(Check { passes: 2, ..turn(8) });
    kit.send(&readings.iter().map(String::as_str).collect::<Vec<_>>());
    let verdict = kit.verdict();
    assert_eq!((verdict.value, verdict.word), (Some(exact("0.00004")), Word::Conforms));
    let figures = &verdict.figures;
    near(figures.high_side_deg, 90.0, 0.2);
    assert_eq!(figures.harmonics.len(), 7);
    assert_eq!(fixed(figures.eccentricity, 6), "0.000020");
    near(figures.saddle_factor, 1.0824, 0.0005);
}

#[test]
fn a_stream_is_the_same_either_way_round() {
    let mut kit = measuring(Check { direction: Direction::Clockwise, ..turn(300) });
    kit.send(&stream().iter().map(String::as_str).collect::<Vec<_>>());
    assert_eq!(fixed(kit.verdict().value, 8), "0.00006581");
}

#[test]
fn more_than_thirty_samples_are_a_stream() {
    for (positions, filtered) in [(30, false), (31, true)] {
        let mut kit = measuring(turn(positions));
        kit.send(&["0.00002"]);
        kit.send(&vec!["0"; usize::try_from(positions).unwrap() - 1]);
        let verdict = kit.verdict();
        assert_eq!(verdict.figures.unfiltered, filtered.then_some(exact("0.00002")));
        let smoothed = verdict.value.unwrap() < exact("0.00002");
        assert_eq!((smoothed, verdict.word), (filtered, Word::Conforms));
    }
}
