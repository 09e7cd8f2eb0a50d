//! Runout of one turn: touched by hand, streamed, swept, read off a needle.

use super::*;
use crate::check::Swept;
use crate::{Taps, Turn, Watched};
use judgement::Reason;

/// A nose pilot, touched every 15 degrees, in 0.00001 in.
const NOSE: [i64; 24] =
    [-1, -1, 0, 1, 2, 2, 2, 1, 0, 0, 0, 1, 2, 3, 2, 1, 0, -2, -3, -3, -3, -3, -2, -2];

/// A turn with a stand known to 0.000005 in.
fn turn() -> Check {
    let stand = Turn { stand: inch("0.000005"), ..Turn::default() };
    let radii = Vec::new();
    Check {
        setup: Holding::Turning,
        surface: Surface::Outside,
        positions: 24,
        radii,
        ..check(stand)
    }
}

fn touched<'a>(check: &'a Check, readings: &[i64]) -> Series<'a> {
    Series { reading: doubt(None), ..series(check, readings) }
}

#[test]
fn a_nose_pilot_has_its_waves_and_its_axis() {
    let check = turn();
    let found = judged(&touched(&check, &NOSE));
    near(microinch(found.value.unwrap()), 60.0, 1e-9);
    // 2·√(2·6² + 5²).
    near(known(&found), 19.7, 0.01);
    let figures = &found.figures;
    near(microinch(figures.eccentricity.unwrap()), 20.57, 0.005);
    near(figures.high_side_deg.unwrap().get(), 129.9, 0.05);
    near(figures.high_side_u_deg.unwrap().get(), 9.7, 0.05);
    near(figures.axis_deg.unwrap().get(), 129.9, 0.05);
    near(microinch(figures.out_of_round.unwrap()), 41.81, 0.005);
    near(microinch(Figure::from(figures.noise_floor.unwrap())), 23.4, 0.05);
    for (order, amplitude) in [(1, 20.57), (2, 13.43), (3, 8.69), (4, 0.83)] {
        let wave = figures.harmonics.iter().find(|wave| wave.order == order).unwrap();
        near(microinch(wave.amplitude), amplitude, 0.006);
    }
    assert_eq!(figures.harmonics.len(), 7, "by hand");
    near(figures.harmonics[1].phase_deg.get(), 35.8, 0.05);
    near(figures.harmonics[2].phase_deg.get(), 80.8, 0.05);
    // In a bore the axis lies the other way; the high reading where it was read.
    for surface in [Surface::Inside, Surface::FarFace] {
        let bore = Check { surface, ..check.clone() };
        let found = judged(&touched(&bore, &NOSE)).figures;
        near(found.axis_deg.unwrap().get(), 309.9, 0.05);
        near(found.high_side_deg.unwrap().get(), 129.9, 0.05);
    }
    // Counted the other way round, both are mirrored.
    let clockwise = Check { direction: Direction::Clockwise, ..check };
    let found = judged(&touched(&clockwise, &NOSE)).figures;
    near(found.high_side_deg.unwrap().get(), 360.0 - 129.9, 0.05);
}

#[test]
fn everything_that_takes_part_is_in_the_uncertainty() {
    let known_with = |stand: &str, seating: &str, bar: &str| {
        let [stand, seating, bar] = [stand, seating, bar].map(inch);
        let check = Check { measures: Turn { stand, seating, bar }.into(), ..turn() };
        known(&judged(&touched(&check, &NOSE)))
    };
    near(known_with("0.000005", "0", "0"), 2.0 * 97.0_f64.sqrt(), 0.001);
    // Near the nose and 3 in out, with a bar: a seating counts twice in a total reading.
    near(known_with("0.000005", "0.000004", "0.000005"), 27.28, 0.01);
    near(known_with("0.000005", "0.00001", "0.000005"), 45.69, 0.01);
    let mut closed = turn();
    closed.closure = true;
    let mut back = touched(&closed, &NOSE);
    back.returns = vec![Part::within(inch("0.00003"), judgement::Known::Stated)];
    near(known(&judged(&back)), 2.0 * (97.0_f64 + 300.0).sqrt(), 0.001);
}

/// The same pilot streamed: 300 samples with noise by formula, to 0.00001 in.
fn stream() -> Vec<i64> {
    let of = |k: i64| {
        let t = 1.2 * f64::from(i32::try_from(k).unwrap());
        let wave = |high: f64, order: f64| (order * (t - high).to_radians()).cos();
        let form = 2.2 * wave(130.0, 1.0) + 1.4 * wave(35.0, 2.0);
        let noise = (((k * k * 37 + k * 11) % 101 - 50) * 4 * 254_000).div_euclid(101);
        #[expect(clippy::cast_possible_truncation, reason = "a few steps")]
        let steps = (form + f64::from(i32::try_from(noise).unwrap()) / 254_000.0).round() as i64;
        steps
    };
    (0..300).map(of).collect()
}

#[test]
fn a_streamed_turn_is_judged_after_the_low_pass() {
    let check = Check { positions: 300, ..turn() };
    let found = judged(&touched(&check, &stream()));
    near(microinch(found.value.unwrap()), 65.81, 0.005);
    near(microinch(found.figures.unfiltered.unwrap()), 90.0, 1e-9);
    near(microinch(found.figures.max_minus_min.unwrap()), 90.0, 1e-9);
    near(known(&found), 19.7, 0.01);
    says(&found, "low-pass at 15 waves");
    assert_eq!(found.figures.harmonics.len(), 15);
    // Before its end nothing is said: it can still shrink.
    let half = touched(&check, &stream()[..150]);
    assert_eq!(half.check.measures.so_far(&half), None);
    let by_hand = turn();
    let some = touched(&by_hand, &NOSE[..6]);
    assert_eq!(some.check.measures.so_far(&some), Some(Figure::from(inch("0.00003"))));
}

/// A sweep of these samples in so many marks, evenly tapped, a sample each 40 ms.
fn swept(samples: &[i64], marks: u32, uneven: Option<(usize, u64)>) -> (Check, Taps) {
    let turn_us = 40_000 * u64::try_from(samples.len()).unwrap();
    let mut at_us: Vec<u64> =
        (0..=u64::from(marks)).map(|tap| tap * turn_us / u64::from(marks)).collect();
    if let Some((from, late)) = uneven {
        at_us.iter_mut().skip(from + 1).for_each(|tap| *tap += late);
    }
    let taps = Taps { at_us, samples: u32::try_from(samples.len()).unwrap() };
    let base = turn();
    let check = Check { reads: Reads::Sweep(Swept { marks, angles_deg: Vec::new() }), ..base };
    let mut check = taps.check_to_fill(&check);
    for sample in 0..samples.len() {
        taps.place(&mut check, 40_000 * u64::try_from(sample).unwrap());
    }
    (check, taps)
}

#[test]
fn a_swept_turn_tells_its_high_side_by_its_taps() {
    let samples = stream();
    let (check, taps) = swept(&samples, 4, None);
    let found = judged(&Series { taps: Some(&taps), ..touched(&check, &samples) });
    near(microinch(found.value.unwrap()), 65.81, 0.05);
    near(found.figures.high_side_deg.unwrap().get(), 130.0, 3.0);
    assert!(found.reasons.is_empty());
    // How well: the readings' own share, and that of taps over 12 s: 1.5 degrees, speed 3.36/√3.
    let own = judged(&touched(&Check { positions: 300, ..turn() }, &samples))
        .figures
        .high_side_u_deg
        .unwrap()
        .get();
    let tap = (360.0 * 0.05 / 12.0_f64)
        .hypot(36.0 / std::f64::consts::PI * (1.0 - 45.0_f64.to_radians().cos()) / 3.0_f64.sqrt());
    near(found.figures.high_side_u_deg.unwrap().get(), 2.0 * (own / 2.0).hypot(tap), 0.02);
    // With one mark no angle is believed, and the total reading stays.
    let (check, taps) = swept(&samples, 1, None);
    let found = judged(&Series { taps: Some(&taps), ..touched(&check, &samples) });
    near(microinch(found.value.unwrap()), 65.81, 0.05);
    let figures = &found.figures;
    assert_eq!(
        (figures.high_side_deg, figures.eccentricity, figures.harmonics.len()),
        (None, None, 0)
    );
    says(&found, "speed was taken as constant");
}

#[test]
fn a_hand_that_stood_makes_the_high_side_less_known() {
    let samples = stream();
    let (even, taps) = swept(&samples, 4, None);
    let known = |check: &Check, taps: &Taps| {
        let found = judged(&Series { taps: Some(taps), ..touched(check, &samples) });
        (found.figures.high_side_u_deg.unwrap().get(), found.says.len())
    };
    let (plain, sentences) = known(&even, &taps);
    // The second quarter took 2.5 times as long as the others.
    let (uneven, slow) = swept(&samples, 4, Some((1, 4_500_000)));
    let (less, more) = known(&uneven, &slow);
    assert!(less > plain + 1.0 && more == sentences + 1, "{less} {plain}");
    let found = judged(&Series { taps: Some(&slow), ..touched(&uneven, &samples) });
    says(&found, "From 90 to 180 it took 2.5 times");
    // By less than half as long again nobody is told.
    let (nearly, taps) = swept(&samples, 4, Some((1, 1_400_000)));
    assert_eq!(known(&nearly, &taps).1, sentences);
}

#[test]
fn a_sweep_with_a_hole_is_judged_as_read_and_proves_nothing() {
    let samples = stream();
    let (mut check, taps) = swept(&samples, 4, None);
    // Nothing between 100 and 130 degrees.
    let keep: Vec<usize> = (0..300).filter(|k| !(84..109).contains(k)).collect();
    if let Reads::Sweep(swept) = &mut check.reads {
        swept.angles_deg = keep.iter().map(|k| swept.angles_deg[*k]).collect();
    }
    let kept: Vec<i64> = keep.iter().map(|k| samples[*k]).collect();
    let found = judged(&Series { taps: Some(&taps), ..touched(&check, &kept) });
    near(microinch(found.value.unwrap()), 90.0, 1e-9);
    assert_eq!(found.reasons, [Reason::GapInTurn]);
    says(&found, "A gap is too wide for the low-pass");
    let few: Vec<i64> = samples.iter().step_by(5).copied().collect();
    let (check, taps) = swept(&few, 4, None);
    says(&judged(&Series { taps: Some(&taps), ..touched(&check, &few) }), "60 samples in the turn");
}

#[test]
fn several_circles_are_judged_each_by_itself() {
    let radii = vec![inch("1"), inch("1.5")];
    let check = Check { positions: 8, radii, ..turn() };
    // The second circle has more runout; a step between both is none of it.
    let readings = [0, 1, 2, 1, 0, -1, -2, -1, 50, 53, 54, 53, 50, 47, 46, 47];
    let found = judged(&touched(&check, &readings));
    near(microinch(found.value.unwrap()), 80.0, 1e-9);
    says(&found, "the largest is the one at radius 1.5");
    assert_eq!(found.figures.saddle_factor, None);
    let one = Check { radii: vec![inch("1")], ..check };
    let found = judged(&touched(&one, &readings[..8]));
    near(found.figures.saddle_factor.unwrap().get(), 2_f64.sqrt(), 1e-6);
}

#[test]
fn missing_marks_allow_only_the_first_wave_and_say_where_the_high_spot_may_lie() {
    // A bar at 3 in, the marks at 90, 120 and 240 left out.
    let check = Check { positions: 12, ..turn() };
    let mut some = touched(&check, &[]);
    let readings = [(0, 0), (1, 3), (2, 5), (5, 4), (6, 2), (7, -1), (9, -7), (10, -7), (11, -4)];
    some.sums = readings.map(|(at, steps)| (at, steps * 254_000)).to_vec();
    some.open = vec![3, 4, 8];
    let found = judged(&some);
    near(microinch(found.value.unwrap()), 120.0, 1e-9);
    assert_eq!(found.figures.harmonics.len(), 1, "a gap of 90 degrees");
    near(microinch(found.figures.eccentricity.unwrap()), 68.91, 0.006);
    near(found.figures.high_side_deg.unwrap().get(), 100.3, 0.05);
    says(&found, "lies between 60 and 150");
    // Half the turn: no high side.
    some.sums.truncate(5);
    let found = judged(&some);
    assert_eq!(found.figures.high_side_deg, None);
    says(&found, "Half the turn or more was not touched");
}

#[test]
fn a_total_that_was_keyed_in_has_no_angle() {
    let check = Check { reads: Reads::Total, positions: 1, ..turn() };
    let found = judged(&touched(&check, &[-12]));
    near(microinch(found.value.unwrap()), 120.0, 1e-9);
    near(known(&found), 19.7, 0.01);
    let figures = &found.figures;
    assert_eq!((figures.high_side_deg, figures.axis_deg, figures.harmonics.len()), (None, None, 0));
    assert_eq!(figures.max_minus_min, found.value);
    // High and low of a needle: the mark of the high one, give or take half a pitch.
    let check = turn();
    let mut needle = touched(&check, &[]);
    needle.watched = Some(Watched::HighAndLow);
    needle.sums = vec![(6, 6 * 254_000), (18, 0)];
    let found = judged(&needle).figures;
    near(found.high_side_deg.unwrap().get(), 90.0, 1e-9);
    near(found.high_side_u_deg.unwrap().get(), 7.5, 1e-9);
    assert_eq!(found.axis_deg, None);
}

#[test]
fn readings_that_are_all_alike_point_nowhere() {
    let check = turn();
    let found = judged(&touched(&check, &[4; 24]));
    assert_eq!((found.value, found.figures.eccentricity), (Some(Figure::ZERO), Some(Figure::ZERO)));
    assert_eq!((found.figures.high_side_deg, found.figures.axis_deg), (None, None));
    assert_eq!(judged(&touched(&check, &[])).value, None);
    assert_eq!(judged(&touched(&check, &[3])).value, None, "one touch is no total");
}
