//! A test bar at stations along it, seated once and more often.

use super::*;
use crate::figures::AxisName;
use crate::{BarRun, BarStation, Seatings};
use judgement::{Reason, Word};

const AT_0: [i64; 12] = [3, 2, 1, -1, -2, -3, -3, -2, -1, 1, 2, 3];
const AT_90: [i64; 12] = [8, 7, 5, 1, -3, -6, -8, -7, -5, -1, 3, 6];
const AT_180: [i64; 12] = [6, 8, 8, 6, 2, -2, -6, -8, -8, -6, -2, 2];
const AT_270: [i64; 12] = [1, 3, 4, 4, 3, 1, -1, -3, -4, -4, -3, -1];
const AGAIN: [i64; 12] = [4, 3, 1, -1, -3, -4, -4, -3, -1, 1, 3, 4];
const SLIPPED: [i64; 12] = [7, 8, 6, 3, -1, -5, -7, -8, -6, -3, 1, 5];

fn station(at: &str, tolerance: &str, seating: &str) -> BarStation {
    BarStation { at: inch(at), limits: Limits::Max(inch(tolerance)), seating: inch(seating) }
}

fn bar(stations: Vec<BarStation>, seatings: Seatings) -> BarRun {
    let predict = vec![inch("6")];
    BarRun { stations, seatings, predict, stand: inch("0.000005"), bar: inch("0.000005") }
}

fn run(bar: BarRun) -> Check {
    let limits = Some(Limits::Max(inch("0.0001")));
    Check {
        setup: Holding::Turning,
        surface: Surface::Outside,
        positions: 12,
        radii: Vec::new(),
        limits,
        ..check(bar)
    }
}

fn read<'a>(check: &'a Check, turns: &[[i64; 12]]) -> Series<'a> {
    Series { reading: doubt(None), ..series(check, turns.as_flattened()) }
}

/// One station 3 in out, read in these seatings.
fn seated(turns: &[[i64; 12]], seatings: Seatings) -> Judged {
    let check = run(bar(vec![station("3", "0.0002", "0.00001")], seatings));
    judged(&read(&check, turns))
}

#[test]
fn two_stations_are_judged_each_with_its_own_and_predict_a_third() {
    let near_nose = [2, 3, 3, 2, 1, -1, -2, -3, -3, -2, -1, 1];
    let far = [-8, -5, -1, 3, 6, 8, 8, 5, 1, -3, -6, -8];
    let stations = vec![station("0.25", "0.0001", "0.000004"), station("3", "0.0002", "0.00001")];
    let check = run(bar(stations, Seatings::One));
    let found = judged(&read(&check, &[near_nose, far]));
    let [one, two] = &found.figures.stations[..] else { panic!("{:?}", found.figures.stations) };
    for (figures, total, u, ecc, high, word) in [
        (one, 60.0, 27.28, 30.47, 45.0, Word::Conforms),
        (two, 160.0, 45.69, 81.37, 158.8, Word::Undecided),
    ] {
        near(microinch(figures.value), total, 1e-9);
        near(microinch(Figure::from(figures.uncertainty)), u, 0.006);
        near(microinch(figures.eccentricity.unwrap()), ecc, 0.005);
        near(figures.high_side_deg.unwrap().get(), high, 0.05);
        near(figures.axis_deg.unwrap().get(), high, 0.05);
        assert_eq!(figures.verdict, word);
        assert_eq!((figures.bar, figures.repeat, figures.mean_of_totals), (None, None, None));
    }
    // The worse word is judged, with its own limit.
    assert_eq!(found.value, Some(two.value));
    assert_eq!(found.limits, Some(Limits::Max(inch("0.0002"))));
    let axis = found.figures.axis.unwrap();
    assert_eq!(axis.name, AxisName::Bar, "spindle and bar together");
    near(microinch(axis.offset), 36.85, 0.005);
    near(axis.tilt_urad.get(), 35.54, 0.005);
    near(axis.tilt_deg.get(), 175.4, 0.05);
    let [predicted] = &found.figures.predicted[..] else { panic!() };
    near(microinch(predicted.value), 372.11, 0.01);
    near(predicted.axis_deg.get(), 168.2, 0.05);
    near(predicted.factor.get(), 2.358, 0.001);
    says(&found, "Too close to call at 3 in");
    says(&found, "Seat the bar four times");
    // Touched from inside a bore all of it lies the other way.
    let bore = Check { surface: Surface::Inside, ..check };
    let found = judged(&read(&bore, &[near_nose, far]));
    near(found.figures.stations[1].axis_deg.unwrap().get(), 338.8, 0.05);
    near(found.figures.stations[1].high_side_deg.unwrap().get(), 158.8, 0.05);
}

#[test]
fn three_seatings_split_bar_and_spindle_where_they_repeat() {
    let found = seated(&[AT_0, AT_180, AGAIN], Seatings::Three);
    near(microinch(found.value.unwrap()), 101.96, 0.006);
    // 2·√(4·(10² + 2/12·6²)/2 + 5²): the bar is told and out of it.
    near(known(&found), 30.79, 0.006);
    let [figures] = &found.figures.stations[..] else { panic!() };
    near(microinch(figures.eccentricity.unwrap()), 50.98, 0.005);
    near(figures.axis_deg.unwrap().get(), 30.0, 0.05);
    let told = figures.bar.unwrap();
    near(microinch(told.eccentricity), 36.48, 0.005);
    near(told.high_side_deg.get(), 246.2, 0.05);
    let repeat = figures.repeat.unwrap();
    near(microinch(repeat.difference), 11.15, 0.005);
    // 3.5·√2·√(10² + 2/12·6²).
    near(microinch(repeat.limit), 3.5 * 2_f64.sqrt() * 106_f64.sqrt(), 0.005);
    near(microinch(figures.mean_of_totals.unwrap()), (60.0 + 160.0 + 80.0) / 3.0, 1e-6);
    assert_eq!(found.figures.stations[0].verdict, Word::Conforms);
    says(&found, "split by the first wave");
    assert!(found.reasons.is_empty() && found.cautions.is_empty(), "{:?}", found.cautions);
}

#[test]
fn a_third_seating_that_does_not_repeat_splits_nothing() {
    let found = seated(&[AT_0, AT_180, SLIPPED], Seatings::Three);
    assert_eq!(found.reasons, [Reason::SeatingMoved]);
    // What is told is the first seating, bar and spindle together.
    near(microinch(found.value.unwrap()), 60.0, 1e-9);
    let [figures] = &found.figures.stations[..] else { panic!() };
    assert_eq!(figures.bar, None);
    near(microinch(figures.repeat.unwrap().difference), 57.01, 0.006);
    says(&found, "the third seating lies");
}

/// 57.0 apart: 3.5·√2·√(10² + 2/12·6²) = 51.0, with 4 in place of 3.5 it is 58.2.
#[test]
fn how_far_seatings_may_lie_apart_is_set_by_its_threshold() {
    let check = run(bar(vec![station("3", "0.0002", "0.00001")], Seatings::Three));
    let seatings = judgement::Times::of_hundredths(400);
    let wide = Check { traps: judgement::Traps { seatings, ..check.traps }, ..check };
    assert_eq!(judged(&read(&wide, &[AT_0, AT_180, SLIPPED])).reasons, []);
}

#[test]
fn four_seatings_tell_both_twice() {
    let found = seated(&[AT_0, AT_90, AT_180, AT_270], Seatings::Four);
    near(microinch(found.value.unwrap()), 101.96, 0.006);
    // 2·√(4·(10² + 2/12·6²)/4 + 5²).
    near(known(&found), 22.89, 0.006);
    let [figures] = &found.figures.stations[..] else { panic!() };
    near(microinch(figures.mean_of_seatings.unwrap()), 116.81, 0.006);
    near(figures.axis_deg.unwrap().get(), 30.0, 0.05);
    let totals: Vec<f64> = figures.seatings.iter().map(|total| microinch(*total)).collect();
    assert_eq!(
        totals.iter().map(|total| total.round()).collect::<Vec<_>>(),
        [60.0, 160.0, 160.0, 80.0]
    );
    near(microinch(figures.mean_of_totals.unwrap()), 115.0, 1e-6);
}

/// A first wave of so many steps towards an angle, at twelve marks.
fn wave(amount: f64, towards: f64) -> [i64; 12] {
    let mut turn = [0; 12];
    for (mark, steps) in turn.iter_mut().enumerate() {
        let deg = 30.0 * f64::from(u32::try_from(mark).unwrap());
        #[expect(clippy::cast_possible_truncation, reason = "a few steps")]
        let rounded = (amount * (deg - towards).to_radians().cos()).round() as i64;
        *steps = rounded;
    }
    turn
}

fn both(one: [i64; 12], other: [i64; 12]) -> [i64; 12] {
    let mut sum = one;
    sum.iter_mut().zip(other).for_each(|(sum, other)| *sum += other);
    sum
}

#[test]
fn a_bar_that_was_turned_against_its_marks_is_found_out() {
    let spindle = wave(20.0, 40.0);
    let turned = |angles: [f64; 4]| {
        let turns = angles.map(|deg| both(spindle, wave(20.0, deg)));
        seated(&turns, Seatings::Four)
    };
    let good = turned([0.0, 90.0, 180.0, 270.0]);
    assert!(good.reasons.is_empty());
    near(microinch(good.value.unwrap()), 400.0, 3.0);
    let against = turned([0.0, 270.0, 180.0, 90.0]);
    assert_eq!(against.reasons, [Reason::SeatingMoved]);
    says(&against, "turned the other way round");
    // Marks that are counted clockwise are passed the other way round.
    let check = run(bar(vec![station("3", "0.0002", "0.00001")], Seatings::Four));
    let clockwise = Check { direction: Direction::Clockwise, ..check };
    let mirrored = [0.0, 90.0, 180.0, 270.0].map(|deg| both(spindle, wave(20.0, deg)));
    assert!(judged(&read(&clockwise, &mirrored)).reasons.is_empty());
    // Seated at 0, 0, 90 and 90: half sums agree, half differences do not.
    let moved = turned([0.0, 0.0, 90.0, 90.0]);
    assert_eq!(moved.reasons, [Reason::SeatingMoved]);
    says(&moved, "the four seatings disagree");
}

#[test]
fn seatings_that_are_all_alike_may_be_a_perfect_bar_or_one_never_turned() {
    for (turns, seatings) in [(&[AT_0; 3][..], Seatings::Three), (&[AT_0; 4], Seatings::Four)] {
        let found = seated(turns, seatings);
        assert!(found.reasons.is_empty());
        assert!(
            found.cautions[0].contains("a perfect bar, or never turned"),
            "{:?}",
            found.cautions
        );
        // The bar is not told, so its share stays in: 2·√(4·106/m + 5² + 5²).
        let m = if seatings == Seatings::Three { 2.0 } else { 4.0 };
        near(known(&found), 2.0 * (424.0 / m + 50.0_f64).sqrt(), 0.01);
    }
}

#[test]
fn an_oval_does_not_vanish_in_the_split() {
    // Totals of the seatings 100, 100, 80 and 90; what the first wave leaves, the mean turn shows.
    let oval: [i64; 12] = [4, 2, -2, -4, -2, 2, 4, 2, -2, -4, -2, 2];
    let turns =
        [0.0, 90.0, 180.0, 270.0].map(|deg| both(oval, both(wave(3.0, 20.0), wave(6.0, deg))));
    let found = seated(&turns, Seatings::Four);
    let [figures] = &found.figures.stations[..] else { panic!() };
    let wave = 2.0 * microinch(figures.eccentricity.unwrap());
    let mean = microinch(figures.mean_sweep.unwrap());
    assert!(mean > wave + 20.0, "{mean} {wave}");
    near(microinch(found.value.unwrap()), mean, 1e-9);
    says(&found, "it is not round");
}

#[test]
fn what_the_plan_leaves_out_is_assumed_and_said() {
    let run_of = |seating: &str, bar_u: &str| {
        let bar = BarRun {
            bar: inch(bar_u),
            ..bar(vec![station("3", "0.0002", seating)], Seatings::One)
        };
        let check = run(bar);
        let found = judged(&read(&check, &[AT_0]));
        (known(&found), found.expanded().unwrap().known, found.says.join(" "))
    };
    let (u, known, says) = run_of("0", "0");
    // 0.00001 in of seating, and a perfect bar: 2·√(2·6² + 5² + 4·10²).
    near(u, 2.0 * 497.0_f64.sqrt(), 0.005);
    assert_eq!(known, judgement::Known::Assumed);
    assert!(says.contains("0.00001 in is assumed") && says.contains("taken as perfect"), "{says}");
    let (u, known, says) = run_of("0.00001", "0.000005");
    near(u, 45.69, 0.006);
    assert_eq!((known, says.contains("not stated")), (judgement::Known::Stated, false));
}

#[test]
fn a_station_that_was_not_touched_all_round_is_left_out() {
    let stations = vec![station("0.25", "0.0001", "0.000004"), station("3", "0.0002", "0.00001")];
    let check = run(bar(stations, Seatings::One));
    let mut some = read(&check, &[AT_0, AT_180]);
    some.sums.retain(|(position, _)| *position != 17);
    some.open = vec![17];
    let found = judged(&some);
    assert_eq!(found.figures.stations.len(), 1);
    near(microinch(found.value.unwrap()), 60.0, 1e-9);
    assert!(found.figures.axis.is_none() && found.figures.predicted.is_empty());
}

#[test]
fn stations_whose_limit_the_uncertainty_fills_are_named() {
    let touch = judgement::Named::of(Share::Repeatability, Part::stated(inch("0.000006")));
    let wide = |tolerance: &str, seatings| {
        let bar = bar(
            vec![station("0.25", "0.001", "0.000004"), station("3", tolerance, "0.00001")],
            seatings,
        );
        Measures::from(bar).too_wide(touch)
    };
    // 45.69 is more than a quarter of 180 and less than one of 190.
    assert_eq!(wide("0.00018", Seatings::One).len(), 1);
    assert_eq!(wide("0.00018", Seatings::One)[0].0, 1);
    assert!(wide("0.00019", Seatings::One).is_empty());
    assert!(wide("0.00018", Seatings::Four).is_empty(), "four seatings know more");
}
