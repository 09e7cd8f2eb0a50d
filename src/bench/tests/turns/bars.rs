use crate::fact::verdict::{AxisName, BarFigures, Repeat};
use crate::tests::turns::*;
use judgement::{Known, Reason, Word};

const NEAR: [&str; 12] = [
    "0.00002", "0.00003", "0.00003", "0.00002", "0.00001", "-0.00001", "-0.00002", "-0.00003",
    "-0.00003", "-0.00002", "-0.00001", "0.00001",
];
const FAR: [&str; 12] = [
    "-0.00008", "-0.00005", "-0.00001", "0.00003", "0.00006", "0.00008", "0.00008", "0.00005",
    "0.00001", "-0.00003", "-0.00006", "-0.00008",
];
const STATIONS: [(&str, &str, &str); 2] =
    [("0.25", "0.0001", "0.000004"), ("3", "0.0002", "0.00001")];

const AT_0: [&str; 12] = [
    "0.00003", "0.00002", "0.00001", "-0.00001", "-0.00002", "-0.00003", "-0.00003", "-0.00002",
    "-0.00001", "0.00001", "0.00002", "0.00003",
];
const AT_180: [&str; 12] = [
    "0.00006", "0.00008", "0.00008", "0.00006", "0.00002", "-0.00002", "-0.00006", "-0.00008",
    "-0.00008", "-0.00006", "-0.00002", "0.00002",
];
const AT_0_AGAIN: [&str; 12] = [
    "0.00004", "0.00003", "0.00001", "-0.00001", "-0.00003", "-0.00004", "-0.00004", "-0.00003",
    "-0.00001", "0.00001", "0.00003", "0.00004",
];
const AT_0_MOVED: [&str; 12] = [
    "0.00007", "0.00008", "0.00006", "0.00003", "-0.00001", "-0.00005", "-0.00007", "-0.00008",
    "-0.00006", "-0.00003", "0.00001", "0.00005",
];
const AT_90: [&str; 12] = [
    "0.00008", "0.00007", "0.00005", "0.00001", "-0.00003", "-0.00006", "-0.00008", "-0.00007",
    "-0.00005", "-0.00001", "0.00003", "0.00006",
];
const AT_270: [&str; 12] = [
    "0.00001", "0.00003", "0.00004", "0.00004", "0.00003", "0.00001", "-0.00001", "-0.00003",
    "-0.00004", "-0.00004", "-0.00003", "-0.00001",
];

fn far_station(seatings: Seatings) -> Check {
    bar(&STATIONS[1..], seatings)
}

#[test]
fn two_stations_and_a_prediction() {
    // Scenario, invented.
    let mut check = bar(&STATIONS, Seatings::One);
    predict(&mut check, "6");
    let mut kit = measuring(check);
    kit.send(&NEAR);
    assert!(kit.verdicts().is_empty());
    kit.send(&FAR);
    let verdict = kit.verdict();
    assert_eq!((verdict.word, verdict.value), (Word::Undecided, Some(exact("0.00016"))));
    assert_eq!((verdict.simple, verdict.guarded), (Some(Word::Conforms), Some(Word::Undecided)));
    assert_eq!(verdict.limits, Some(Limits::Max(inch("0.0002"))), "the worst station is judged");
    assert_eq!(fixed(verdict.uncertainty, 8), "0.00004569");
    let [near_one, far] = &verdict.figures.stations[..] else { panic!("two stations") };
    assert_eq!((near_one.verdict, Some(near_one.value)), (Word::Conforms, Some(exact("0.00006"))));
    assert_eq!(fixed(Some(near_one.uncertainty), 8), "0.00002728");
    assert_eq!(fixed(near_one.eccentricity, 8), "0.00003047");
    near(near_one.axis_deg, 45.0, 0.05);
    assert_eq!(fixed(far.eccentricity, 8), "0.00008137");
    near(far.axis_deg, 158.8, 0.05);
    assert_eq!((far.bar, far.repeat, far.mean_of_seatings), (None, None, None));
    let axis = verdict.figures.axis.unwrap();
    assert_eq!(axis.name, AxisName::Bar);
    assert_eq!(fixed(Some(axis.offset), 8), "0.00003685");
    near(Some(axis.tilt_urad), 35.54, 0.005);
    near(Some(axis.tilt_deg), 175.4, 0.05);
    let [six] = verdict.figures.predicted[..] else { panic!("one prediction") };
    assert_eq!((six.at.0, fixed(Some(six.value), 8)), (inch("6"), "0.00037211".to_owned()));
    assert_eq!(fixed(Some(six.uncertainty), 8), "0.00009458");
    near(Some(six.factor), 2.358, 0.0005);
    near(Some(six.axis_deg), 168.2, 0.05);
    assert_eq!(
        verdict.advice,
        [
            "Too close to call at 3 in.",
            "Seat the bar four times, or at 0, 180 and 0 again.",
            "Bar axis as seated, bar and spindle together: 0.000037 off at the nose face, tilt 35.5 µrad.",
            "At 6 in: 0.000372 ± 0.000095 predicted, not measured; 2.36 times as uncertain as at a station.",
            "plate was never proved.",
        ]
    );
}

#[test]
fn stations_touched_inside_point_the_other_way() {
    let mut check = bar(&STATIONS, Seatings::One);
    check.surface = Surface::Inside;
    predict(&mut check, "6");
    let mut kit = measuring(check);
    kit.send(&NEAR);
    kit.send(&FAR);
    let figures = &kit.verdict().figures;
    near(figures.stations[0].high_side_deg, 45.0, 0.05);
    near(figures.stations[0].axis_deg, 225.0, 0.05);
    near(Some(figures.predicted[0].axis_deg), 348.2, 0.05);
    near(Some(figures.axis.unwrap().tilt_deg), 355.4, 0.05);
}

#[test]
fn a_bar_put_back_half_a_turn_round() {
    // Scenario, invented.
    let mut kit = measuring(far_station(Seatings::Three));
    kit.send(&AT_0);
    kit.send(&AT_180);
    kit.send(&AT_0_AGAIN);
    let verdict = kit.verdict();
    assert_eq!((verdict.word, &verdict.reasons[..]), (Word::Conforms, &[][..]));
    assert_eq!(fixed(verdict.value, 8), "0.00010196");
    assert_eq!(fixed(verdict.uncertainty, 8), "0.00003079");
    let station = &verdict.figures.stations[0];
    assert_eq!(fixed(station.eccentricity, 8), "0.00005098");
    near(station.axis_deg, 30.0, 0.05);
    let BarFigures { eccentricity: amount, high_side_deg: towards } = station.bar.unwrap();
    assert_eq!(fixed(Some(amount), 8), "0.00003648");
    near(Some(towards), 246.2, 0.05);
    let Repeat { difference: off, limit } = station.repeat.unwrap();
    assert_eq!(fixed(Some(off), 8), "0.00001115");
    // 3.5·√2·√(100 + 2/12·36), in millionths.
    assert_eq!(fixed(Some(limit), 8), "0.00005096");
    let read = ["0.00006", "0.00016", "0.00008"].map(exact);
    assert_eq!(station.seatings, read);
}

#[test]
fn a_seating_that_does_not_repeat_splits_nothing() {
    let mut kit = measuring(far_station(Seatings::Three));
    kit.send(&AT_0);
    kit.send(&AT_180);
    kit.send(&AT_0_MOVED);
    let verdict = kit.verdict();
    assert_eq!(
        (verdict.word, &verdict.reasons[..]),
        (Word::Undecided, &[Reason::SeatingMoved][..])
    );
    // The first seating, bar and spindle together, with all of its uncertainty.
    assert_eq!(verdict.value, Some(exact("0.00006")));
    assert_eq!(fixed(verdict.uncertainty, 8), "0.00004569");
    let station = &verdict.figures.stations[0];
    assert_eq!((station.bar, station.verdict), (None, Word::Conforms));
    assert_eq!(fixed(Some(station.repeat.unwrap().difference), 8), "0.00005701");
    let refused = "At 3 in the third seating lies 0.000057 from the first, 0.000051 is allowed: bar and spindle are not split. Clean taper and bar, seat it again, each time at the mark that is asked for.";
    assert!(verdict.advice.iter().any(|line| line == refused), "{:?}", verdict.advice);
}

#[test]
fn a_bar_seated_four_times() {
    let mut kit = measuring(far_station(Seatings::Four));
    for seating in [AT_0, AT_90, AT_180, AT_270] {
        kit.send(&seating);
    }
    let verdict = kit.verdict();
    assert_eq!(verdict.word, Word::Conforms);
    assert_eq!(fixed(verdict.value, 8), "0.00010196");
    assert_eq!(fixed(verdict.uncertainty, 8), "0.00002289");
    let station = &verdict.figures.stations[0];
    assert_eq!(fixed(station.mean_of_seatings, 8), "0.00011681");
    near(station.axis_deg, 30.0, 0.05);
    assert_eq!(fixed(Some(station.bar.unwrap().eccentricity), 8), "0.00003648");
    assert_eq!(station.seatings.len(), 4);
    // Totals 60, 160, 160 and 80; mark by mark the four turns sum up to 200 at most.
    assert_eq!(station.mean_of_totals, Some(exact("0.000115")));
    assert_eq!(station.mean_sweep, Some(exact("0.0001")));
}

/// Eight readings of which only four are not zero: the first wave is exactly (x, y), for
/// `2/8·(2x·cos 0 − 2x·cos 180) = x`.
fn wave(x: &str, y: &str) -> [String; 8] {
    let twice = |text: &str| (Figure::from(inch(text)) * 2).fixed(Unit::Inch, 6);
    let minus = |text: &str| (-(Figure::from(inch(text)) * 2)).fixed(Unit::Inch, 6);
    let none = || "0".to_owned();
    [twice(x), none(), twice(y), none(), minus(x), none(), minus(y), none()]
}

fn send(kit: &mut Kit, wave: &[String; 8]) {
    kit.send(&wave.iter().map(String::as_str).collect::<Vec<_>>());
}

#[test]
fn an_axis_worked_out_by_hand() {
    let mut check = bar(&[("1", "0.001", "0"), ("3", "0.001", "0")], Seatings::One);
    check.positions = 8;
    predict(&mut check, "5");
    let mut kit = measuring(check);
    // e1 = (30, 40) at 1 in and e2 = (75, −20) at 3 in, in millionths.
    send(&mut kit, &wave("0.00003", "0.00004"));
    send(&mut kit, &wave("0.000075", "-0.00002"));
    let verdict = kit.verdict();
    let figures = &verdict.figures;
    assert_eq!(figures.stations[0].eccentricity, Some(exact("0.00005")));
    // At 5 in, k = 2: 2·e2 − e1 = (120, −80); total reading 2·√(120² + 80²) = 288.444 millionths.
    let five = figures.predicted[0];
    assert_eq!(fixed(Some(five.value), 9), "0.000288444");
    near(Some(five.axis_deg), 360.0 - 33.690, 0.001);
    near(Some(five.factor), 5.0_f64.sqrt(), 0.0005);
    // At the nose, k = −1/2: 1.5·e1 − 0.5·e2 = (7.5, 70).
    let axis = figures.axis.unwrap();
    assert_eq!(fixed(Some(axis.offset), 9), "0.000070401");
    // (45, −60) millionths over 2 in: 75/2 microradians.
    near(Some(axis.tilt_urad), 37.5, 1e-9);
    near(Some(axis.tilt_deg), 360.0 - 53.130, 0.001);
    // How the bar seats is not stated: 10 is assumed. By the first wave, each:
    // 2·√(4·(100 + 2/8·36) + 25 + 25) = 2·√486, in millionths; at k = 2 times √5.
    assert_eq!(fixed(Some(five.uncertainty), 9), "0.000098590");
    assert_eq!(verdict.known, Known::Assumed);
}

#[test]
fn a_reversal_worked_out_by_hand() {
    let mut check = bar(&[("3", "0.0002", "0.00001")], Seatings::Three);
    check.positions = 8;
    let mut kit = measuring(check);
    // (60, 0) and (0, 80) millionths: spindle (30, 40), bar (30, −40), the third as the first.
    send(&mut kit, &wave("0.00006", "0"));
    send(&mut kit, &wave("0", "0.00008"));
    send(&mut kit, &wave("0.00006", "0"));
    let verdict = kit.verdict();
    let station = &verdict.figures.stations[0];
    assert_eq!(station.eccentricity, Some(exact("0.00005")));
    // Such readings are far from round: mark by mark the mean of the two turns runs from −80 to 80.
    assert_eq!(verdict.value, Some(exact("0.00016")));
    near(station.axis_deg, 53.130, 0.001);
    let BarFigures { eccentricity: amount, high_side_deg: towards } = station.bar.unwrap();
    assert_eq!(Some(amount), Some(exact("0.00005")));
    near(Some(towards), 360.0 - 53.130, 0.001);
    assert_eq!(station.repeat.unwrap().difference, Figure::ZERO);
}

#[test]
fn a_station_that_was_not_finished_is_left_out() {
    let mut check = bar(&STATIONS, Seatings::One);
    predict(&mut check, "6");
    let mut kit = measuring(check);
    kit.send(&NEAR);
    kit.send(&FAR[..5]);
    kit.ask(Command::Stop).unwrap();
    let verdict = kit.verdict();
    assert_eq!((verdict.word, verdict.value), (Word::Incomplete, Some(exact("0.00006"))));
    assert_eq!(verdict.limits, Some(Limits::Max(inch("0.0001"))));
    assert_eq!(verdict.figures.stations.len(), 1);
    assert_eq!(verdict.figures.axis, None);
    assert!(verdict.figures.predicted.is_empty(), "one station predicts nothing");
}

#[test]
fn the_worst_word_is_judged_before_the_largest_share() {
    let stations = [("0.25", "0.0001", "0.00005"), ("3", "0.0002", "0.000004")];
    let mut kit = measuring(bar(&stations, Seatings::One));
    // Six tenths of the limit with a large uncertainty, eight tenths with a small one.
    kit.send(&NEAR);
    kit.send(&FAR);
    let verdict = kit.verdict();
    let words: Vec<Word> = verdict.figures.stations.iter().map(|one| one.verdict).collect();
    assert_eq!(words, [Word::Undecided, Word::Conforms]);
    assert_eq!(verdict.value, Some(exact("0.00006")));
    assert_eq!(verdict.limits, Some(Limits::Max(inch("0.0001"))));
}

#[test]
fn out_with_one_seating_is_bar_and_spindle_together() {
    let mut kit = measuring(bar(&[("3", "0.0001", "0.000004")], Seatings::One));
    kit.send(&FAR);
    let verdict = kit.verdict();
    assert_eq!(verdict.word, Word::DoesNotConform);
    assert_eq!(
        verdict.advice[..2],
        [
            "Out at 3 in.",
            "It is bar and spindle together. Seat the bar at 0, 180 and 0 again to tell which.",
        ]
    );
}

#[test]
fn a_bar_with_half_a_turn_missing_is_not_split() {
    let mut kit = measuring(far_station(Seatings::Three));
    kit.send(&AT_0);
    kit.send(&AT_180);
    kit.send(&AT_0_AGAIN[..5]);
    skip(&mut kit, &[29, 30, 31, 32, 33, 34, 35]);
    let verdict = kit.verdict();
    assert_eq!(verdict.word, Word::Undecided);
    assert!(verdict.reasons.contains(&Reason::CannotProve), "{:?}", verdict.reasons);
    assert_eq!(verdict.value, Some(exact("0.00006")), "the first seating as read");
    assert!(verdict.advice.iter().any(|line| line == "Too few touches to split bar and spindle."));
}

#[test]
fn a_station_with_too_wide_a_gap_is_judged_and_tells_no_axis() {
    let mut check = bar(&STATIONS, Seatings::One);
    predict(&mut check, "6");
    let mut kit = measuring(check);
    kit.send(&NEAR);
    kit.send(&FAR[..5]);
    skip(&mut kit, &[17, 18, 19, 20, 21, 22, 23]);
    let verdict = kit.verdict();
    let far = &verdict.figures.stations[1];
    assert_eq!((Some(far.value), far.axis_deg), (Some(exact("0.00014")), None));
    assert_eq!((verdict.figures.axis, verdict.figures.predicted.len()), (None, 0));
    assert_eq!(verdict.reasons, [Reason::TooFewPositions]);
    let gap = "At 3 in: Half the turn or more was not touched: no high side.";
    assert!(verdict.advice.iter().any(|line| line == gap), "{:?}", verdict.advice);
}

#[test]
fn a_bar_that_does_not_move_has_no_high_side() {
    let mut check = bar(&STATIONS, Seatings::Four);
    predict(&mut check, "6");
    let mut kit = measuring(check);
    kit.send(&["0"; 96]);
    let verdict = kit.verdict();
    assert_eq!((verdict.value, verdict.word), (Some(Figure::ZERO), Word::Conforms));
    assert_eq!(verdict.figures.stations[1].axis_deg, None);
    assert_eq!(verdict.figures.high_side_u_deg, None);
    assert_eq!(verdict.figures.predicted[0].value, Figure::ZERO);
    assert_eq!(verdict.figures.axis.unwrap().name, AxisName::Spindle);
}

#[test]
fn a_scatter_that_nobody_states_has_its_factor_on_a_bar() {
    let mut check = bar(&[("3", "0.0002", "0.000001")], Seatings::One);
    let (stand, bar) = (inch("0"), inch("0"));
    check.measures = BarRun { stand, bar, ..check.measures.told() }.into();
    let mut kit = Kit::new(vec![check]);
    for gauge in kit.setup.gauges.values_mut() {
        (gauge.repeatability, gauge.uncertainty) = (None, None);
    }
    kit.measure("ring/bar").unwrap();
    kit.send(&AT_0);
    let verdict = kit.verdict();
    // 2·12² + (2·1)² = 292, ν = 292²/(288²/8) = 8.2, t = 2.37: 2.37·17.09 = 40.5, not 34.2.
    let found = (verdict.k.unwrap().hundredths(), verdict.known);
    assert_eq!(found, (237, Known::Assumed));
    assert_eq!(fixed(verdict.uncertainty, 7), "0.0000405");
}

#[test]
fn how_far_a_bar_came_back_off_counts() {
    let mut kit = measuring(Check { closure: true, ..far_station(Seatings::One) });
    kit.send(&AT_0);
    kit.send(&["0.00005"]);
    let verdict = kit.verdict();
    assert_eq!(fixed(verdict.figures.closure, 5), "0.00002");
    // 2·√(2·36 + 25 + (2·10)² + 25 + 20²/3) = 2·√655.33.
    assert_eq!(fixed(verdict.uncertainty, 8), "0.00005120");
}

#[test]
fn a_stand_of_which_nothing_is_said_is_assumed_to_be_nothing() {
    let known = |stand: &str| {
        let mut check = far_station(Seatings::One);
        check.measures = BarRun { stand: inch(stand), ..check.measures.told() }.into();
        let mut kit = measuring(check);
        kit.send(&AT_0);
        (kit.verdict().known, fixed(kit.verdict().uncertainty, 8))
    };
    assert_eq!(known("0.000005"), (Known::Stated, "0.00004569".to_owned()));
    // 2·√(72 + 400 + 25).
    assert_eq!(known("0"), (Known::Assumed, "0.00004459".to_owned()));
}

#[test]
fn a_position_tells_where_the_mark_of_the_bar_stands_only_where_it_is_seated_anew() {
    let seatings = |of: Seatings| {
        let check = far_station(of);
        let at: Vec<_> = [0, 11, 12, 23, 24, 36].map(|position| check.seating(position)).to_vec();
        let mark: Vec<_> = (0..5).map(|seating| check.seating_deg(seating)).collect();
        (at, mark)
    };
    assert_eq!(seatings(Seatings::One), (vec![None; 6], vec![Some(0), None, None, None, None]));
    let three =
        vec![Some((0, 0)), Some((0, 0)), Some((1, 180)), Some((1, 180)), Some((2, 0)), None];
    assert_eq!(seatings(Seatings::Three), (three, vec![Some(0), Some(180), Some(0), None, None]));
    let four = [0, 90, 180, 270].map(Some);
    assert_eq!(seatings(Seatings::Four).1, [&four[..], &[None]].concat());
    assert_eq!(far_station(Seatings::Four).seating(36), Some((3, 270)));
    assert_eq!(face("face").seating_deg(0), None, "no bar");
}

#[test]
fn the_sentence_of_a_bar_names_the_station_that_is_judged() {
    let mut kit = measuring(bar(&STATIONS, Seatings::One));
    kit.send(&NEAR);
    kit.send(&FAR);
    let told = {
        let verdict = kit.verdict();
        verdict.told(verdict.unit)
    };
    assert_eq!(told.limit.as_deref(), Some("0.0002 at 3"), "{told:?}");
}

#[test]
fn a_bar_of_which_no_station_is_whole_still_says_what_its_limit_is() {
    let mut kit = measuring(bar(&STATIONS, Seatings::One));
    kit.send(&NEAR[..5]);
    kit.ask(Command::Stop).unwrap();
    let verdict = kit.verdict();
    assert_eq!((verdict.word, verdict.value), (Word::Incomplete, None));
    assert_eq!(verdict.limits, Some(Limits::Max(inch("0.0001"))));
}

#[test]
fn of_a_split_bar_the_spindles_own_side_stands_beside_the_figure() {
    let mut kit = measuring(far_station(Seatings::Three));
    kit.send(&AT_0);
    kit.send(&AT_180);
    kit.send(&AT_0_AGAIN);
    let figures = &kit.verdict().figures;
    assert_eq!(fixed(figures.eccentricity, 8), "0.00005098");
    near(figures.high_side_deg, 30.0, 0.05);
    near(figures.axis_deg, 30.0, 0.05);
    // U of the first wave 30.79 over twice the eccentricity of 50.98 millionths: 17.3 degrees.
    near(figures.high_side_u_deg, 17.3, 0.05);
    assert_eq!(figures.unfiltered, None, "twelve touches are no stream");
}

#[test]
fn whether_a_spindle_is_round_does_not_hang_on_stand_seating_or_bar() {
    const SMALL: &str = "0.000005";
    // (30, 40) millionths in every seating: the first wave reads 100, mark by mark it is 160; all that
    // scatters between are two touches, 6 each, of three turns.
    let lobed = |(seating, stand, bar_u): (&str, &str, &str)| {
        let mut check = bar(&[("3", "0.0002", seating)], Seatings::Three);
        check.positions = 8;
        let (stand, bar) = (inch(stand), inch(bar_u));
        check.measures = BarRun { stand, bar, ..check.measures.told() }.into();
        let mut kit = measuring(check);
        for _ in 0..3 {
            send(&mut kit, &wave("0.00003", "0.00004"));
        }
        let verdict = kit.verdict();
        assert_eq!(verdict.value, Some(exact("0.00016")));
        let lobes =
            "At 3 in: it is not round: judged by the mean of the turns, not by the first wave.";
        verdict.advice.iter().any(|line| line == lobes)
    };
    assert!(lobed((SMALL, SMALL, SMALL)));
    assert!(lobed(("0.00005", SMALL, SMALL)), "it seats badly");
    assert!(lobed((SMALL, "0.00005", SMALL)), "the stand gives way");
    assert!(lobed((SMALL, SMALL, "0.00005")), "the bar is not true");
}

/// Whether a verdict says something that begins so.
fn says(kit: &Kit, start: &str) -> bool {
    kit.verdict().advice.iter().any(|line| line.starts_with(start))
}

#[test]
fn more_seatings_are_asked_for_only_where_one_leaves_it_open() {
    let mut fine = measuring(bar(&[("3", "0.001", "0.000004")], Seatings::One));
    fine.send(&FAR);
    assert!(fine.verdict().word == Word::Conforms && !says(&fine, "Seat the bar"));
    let mut split = measuring(bar(&[("3", "0.0001", "0.00001")], Seatings::Three));
    for seating in [AT_0, AT_180, AT_0_AGAIN] {
        split.send(&seating);
    }
    assert!(split.verdict().word == Word::Undecided && !says(&split, "Seat the bar"));
    assert!(says(&split, "Too close to call at 3 in."));
}

#[test]
fn a_bar_is_taken_as_perfect_only_where_nobody_stated_it_and_no_seating_tells_it() {
    let taken = "How true the bar is, is not stated";
    let of = |bar_u: &str, seatings: Seatings| {
        let mut check = far_station(seatings);
        check.measures = BarRun { bar: inch(bar_u), ..check.measures.told() }.into();
        measuring(check)
    };
    let mut told = of("0", Seatings::Three);
    for seating in [AT_0, AT_180, AT_0_AGAIN] {
        told.send(&seating);
    }
    assert!(!says(&told, taken), "the seatings tell it");
    let (mut stated, mut not) = (of("0.000005", Seatings::One), of("0", Seatings::One));
    stated.send(&AT_0);
    not.send(&AT_0);
    assert!(!says(&stated, taken) && says(&not, taken));
}

#[test]
fn a_bar_that_was_streamed_has_its_total_as_read_beside_the_filtered_one() {
    // Two waves and one step of noise on every second of 36 touches: above the fifteenth wave.
    let mut check = bar(&[("3", "0.001", "0.00001")], Seatings::One);
    check.positions = 36;
    let mut kit = measuring(check);
    for k in 0..36_u32 {
        let deg = f64::from(k) * 10.0;
        let step = if k % 2 == 0 { 0.00002 } else { -0.00002 };
        kit.send(&[format!("{:.5}", 0.0002 * deg.to_radians().cos() + step).as_str()]);
    }
    let verdict = kit.verdict();
    let raw = verdict.figures.unfiltered.unwrap();
    assert_eq!(raw, exact("0.00044"), "0.00022 either way");
    assert!(verdict.value.unwrap() < raw);
}

#[test]
fn after_seatings_that_disagreed_one_word_of_cleaning_is_not_believed() {
    let mut kit = measuring(far_station(Seatings::Three));
    let seated = |kit: &mut Kit, again: &[&str; 12]| {
        for seating in [&AT_0, &AT_180, again] {
            kit.send(seating);
        }
        kit.verdict().tries
    };
    let clean = |kit: &mut Kit| {
        let reason = crate::fact::row::AttemptReason::Cleaned;
        kit.ask(Command::Remeasure { reason, target: None, remark: None }).unwrap();
    };
    seated(&mut kit, &AT_0_MOVED);
    assert_eq!(kit.verdict().reasons, [Reason::SeatingMoved]);
    let mut tries = || {
        clean(&mut kit);
        seated(&mut kit, &AT_0_AGAIN)
    };
    assert_eq!([tries(), tries(), tries()], [1, 1, 2]);
}

#[test]
fn a_seating_that_is_taken_back_leads_to_the_one_before_it() {
    let mut kit = measuring(far_station(Seatings::Four));
    kit.send(&AT_0);
    kit.send(&AT_90);
    let seat = |kit: &mut Kit, command: Command| {
        let done = kit.ask(command).unwrap();
        let crate::reply::Done::Seated { seating, deg, .. } = done else { panic!("{done:?}") };
        (seating, deg)
    };
    assert_eq!(seat(&mut kit, Command::Take { frame: None }), (2, 180));
    assert_eq!(seat(&mut kit, Command::Void { id: None, why: None }), (1, 90));
    assert_eq!(seat(&mut kit, Command::Take { frame: None }), (2, 180));
}
