//! A spindle and a bar that were planted, each with an offset of its own, are found again from what a
//! stylus sees of both in each seating.

use super::*;
use crate::{BarRun, BarStation, Seatings};

/// An offset: how far, microinches, and where to, degrees.
#[derive(Clone, Copy)]
struct Planted(f64, f64);

impl Planted {
    /// What a stylus sees of it at an angle.
    fn at(self, deg: f64) -> f64 {
        self.0 * (deg - self.1).to_radians().cos()
    }
}

fn run(seatings: Seatings, direction: Direction, surface: Surface) -> Check {
    let station = |at: &str| BarStation {
        at: inch(at),
        limits: Limits::Max(inch("0.01")),
        seating: inch("0.00001"),
    };
    let bar = BarRun {
        stations: vec![station("1"), station("4"), station("11")],
        seatings,
        predict: vec![inch("2"), inch("16")],
        stand: inch("0.000005"),
        bar: inch("0.000005"),
    };
    let base = Check { setup: Holding::Turning, positions: 16, radii: Vec::new(), ..check(bar) };
    Check { surface, direction, ..base }
}

/// The axis of the spindle at a distance in inches, and that of the bar as it stands at 0: both are
/// straight, so that offsets add up along them.
fn spindle(inches: f64) -> [f64; 2] {
    [30.0 + 12.0 * inches, -20.0 + 5.0 * inches]
}

fn bar(inches: f64) -> [f64; 2] {
    [-15.0 - 4.0 * inches, 44.0 + 2.0 * inches]
}

fn planted([x, y]: [f64; 2]) -> Planted {
    Planted(x.hypot(y), y.atan2(x).to_degrees())
}

/// In each seating the bar is turned on to the next mark, and its offset with it. Where the surface is
/// touched from inside, what is far off reads low.
fn touches(check: &Check, angles: &[f64]) -> Vec<(u32, i64)> {
    let inside = check.surface == Surface::Inside;
    let mut touches = Vec::new();
    for angle in angles {
        // As the marks count: clockwise, a bar at mark 90 was turned by 270 on the metal.
        let turned = if check.direction == Direction::Clockwise { 360.0 - angle } else { *angle };
        for inches in [1.0, 4.0, 11.0] {
            let (own, Planted(far, towards)) = (planted(spindle(inches)), planted(bar(inches)));
            let with_it = Planted(far, towards + turned);
            for _ in 0..16 {
                let position = u32::try_from(touches.len()).unwrap();
                let deg = check.angle_deg(position);
                let sees = own.at(deg) + with_it.at(deg);
                let sees = if inside { -sees } else { sees };
                #[expect(clippy::cast_possible_truncation, reason = "some million picometres")]
                touches.push((position, (sees * 25_400.0).round() as i64));
            }
        }
    }
    touches
}

fn apart(one: f64, other: f64) -> f64 {
    ((one - other + 180.0).rem_euclid(360.0) - 180.0).abs()
}

#[test]
fn a_planted_spindle_and_its_bar_are_found_again() {
    for (seatings, angles) in
        [(Seatings::Three, &[0.0, 180.0, 0.0][..]), (Seatings::Four, &[0.0, 90.0, 180.0, 270.0])]
    {
        for direction in [Direction::CounterClockwise, Direction::Clockwise] {
            for surface in [Surface::Outside, Surface::Inside] {
                let check = run(seatings, direction, surface);
                let sums = touches(&check, angles);
                let found = judged(&Series { reading: doubt(None), sums, ..series(&check, &[]) });
                let case = format!("{seatings:?} {direction:?} {surface:?} {:?}", found.says);
                assert!(found.reasons.is_empty(), "{case}");
                assert_eq!(found.figures.stations.len(), 3, "{case}");
                for (station, inches) in found.figures.stations.iter().zip([1.0, 4.0, 11.0]) {
                    let (own, with_it) = (planted(spindle(inches)), planted(bar(inches)));
                    near(microinch(station.eccentricity.unwrap()), own.0, 0.001);
                    near(microinch(station.value), 2.0 * own.0, 0.002);
                    near(apart(station.axis_deg.unwrap().get(), own.1), 0.0, 0.001);
                    let high = if surface == Surface::Inside { own.1 + 180.0 } else { own.1 };
                    near(apart(station.high_side_deg.unwrap().get(), high), 0.0, 0.001);
                    let told = station.bar.unwrap();
                    near(microinch(told.eccentricity), with_it.0, 0.001);
                    near(apart(told.high_side_deg.get(), with_it.1), 0.0, 0.001);
                    near(microinch(station.repeat.unwrap().difference), 0.0, 0.001);
                }
                // Where it is high is known as the axis is: half of that of a total, over how far it is.
                let far = microinch(found.figures.eccentricity.unwrap());
                let within = (known(&found) / 2.0 / far).to_degrees();
                near(found.figures.high_side_u_deg.unwrap().get(), within, 0.01);
                // The axis runs straight to the nose face and out to where nothing was touched.
                let axis = found.figures.axis.unwrap();
                let nose = planted(spindle(0.0));
                near(microinch(axis.offset), nose.0, 0.002);
                near(apart(axis.offset_deg.get(), nose.1), 0.0, 0.002);
                near(axis.tilt_urad.get(), 13.0, 0.001);
                near(apart(axis.tilt_deg.get(), 5.0_f64.atan2(12.0).to_degrees()), 0.0, 0.002);
                for (predicted, inches) in found.figures.predicted.iter().zip([2.0, 16.0]) {
                    let there = planted(spindle(inches));
                    near(microinch(predicted.value), 2.0 * there.0, 0.003);
                    near(apart(predicted.axis_deg.get(), there.1), 0.0, 0.002);
                    // Straight through 1 and 11: shares (11 − z)/10 and (z − 1)/10 of either.
                    let shares = [(11.0 - inches) / 10.0, (inches - 1.0) / 10.0_f64];
                    near(predicted.factor.get(), shares[0].hypot(shares[1]), 0.001);
                    let [first, .., last] = &found.figures.stations[..] else { panic!() };
                    let ends = [first, last].map(|one| microinch(Figure::from(one.uncertainty)));
                    let known = (shares[0] * ends[0]).hypot(shares[1] * ends[1]);
                    near(microinch(Figure::from(predicted.uncertainty)), known, 0.001);
                }
            }
        }
    }
}

/// Once seated, both are seen together, and called so.
#[test]
fn in_one_seating_spindle_and_bar_add_up() {
    let check = run(Seatings::One, Direction::CounterClockwise, Surface::Outside);
    let sums = touches(&check, &[0.0]);
    let found = judged(&Series { reading: doubt(None), sums, ..series(&check, &[]) });
    for (station, inches) in found.figures.stations.iter().zip([1.0, 4.0, 11.0]) {
        let ([x, y], [u, v]) = (spindle(inches), bar(inches));
        let both = planted([x + u, y + v]);
        near(microinch(station.eccentricity.unwrap()), both.0, 0.001);
        near(apart(station.axis_deg.unwrap().get(), both.1), 0.0, 0.001);
        assert!(station.bar.is_none() && station.repeat.is_none());
    }
    says(&found, "Bar axis as seated, bar and spindle together");
}

/// Readings that are all alike have neither eccentricity nor direction, in one seating and in four.
#[test]
fn a_bar_that_does_not_run_out_points_nowhere() {
    for seatings in [Seatings::One, Seatings::Three, Seatings::Four] {
        let check = run(seatings, Direction::CounterClockwise, Surface::Outside);
        let alike = vec![7; usize::try_from(check.total()).unwrap()];
        let found = judged(&Series { reading: doubt(None), ..series(&check, &alike) });
        assert_eq!((found.value, found.figures.high_side_deg), (Some(Figure::ZERO), None));
        for station in &found.figures.stations {
            let points = (station.eccentricity, station.high_side_deg, station.axis_deg);
            assert_eq!(points, (Some(Figure::ZERO), None, None), "{seatings:?}");
        }
    }
}

/// What nothing was read of is not judged, and its limits stand all the same.
#[test]
fn a_bar_without_a_whole_station_is_held_against_nothing_yet() {
    let check = run(Seatings::One, Direction::CounterClockwise, Surface::Outside);
    let some = Series { sums: vec![(0, 0)], open: (1..48).collect(), ..series(&check, &[]) };
    let found = judged(&some);
    assert_eq!((found.value, found.limits), (None, check.limits));
    assert!(found.figures.stations.is_empty() && found.figures.axis.is_none());
}
