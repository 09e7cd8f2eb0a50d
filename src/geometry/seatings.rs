//! The same face at several turns on the plate: what belongs to the ring, and what to plate and stand.
//!
//! With the ring turned by `φ` its mark `θ` lies at the place `θ + φ` of the plate. A reading there is the
//! ring at `θ` plus the plate at `θ + φ`. Wave by wave that is `ring + plate·e^{ikφ}`: two seatings part
//! both, unless `kφ` is a whole turn. (Reversal and multi-step methods of roundness measurement do the same;
//! common practice, worked out here.)

use std::f64::consts::TAU;

use super::count;

/// A seating whose `kφ` is closer to a whole turn than this, in radians, parts nothing of that wave.
const BLIND: f64 = 1e-6;

/// What several seatings tell of a ring and of what it lies on.
#[derive(Debug, Clone, PartialEq)]
pub struct Parted {
    /// The ring at its positions, about its mean.
    pub ring: Vec<f64>,
    /// The plate, or the stand, at its places, about its mean: place 0 is where position 0 lay with the
    /// ring not turned.
    pub plate: Vec<f64>,
    /// Orders of waves that these turns cannot part. They stand with the ring.
    pub blind: Vec<usize>,
    /// The largest factor by which the scatter of a wave of the ring grows against a single seating: 1/√2
    /// at best for two.
    pub grows: f64,
}

/// A seating: by how many positions the ring was turned, and the heights by the positions of the ring.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Seating<'h> {
    /// Turned by this many positions.
    pub turned: usize,
    /// Its heights, evenly round, at positions 0, 1, ….
    pub heights: &'h [f64],
}

/// A wave as a vector: cosine and sine.
type Vector = [f64; 2];

/// A wave of ring and plate.
struct Solved {
    ring: Vector,
    plate: Vector,
    /// The factor by which the scatter of the ring's wave grows against a single seating.
    grows: f64,
}

/// Parts ring and plate; `None` where the seatings have different numbers of positions, fewer than three, or
/// there is only one turn.
///
/// Each order is solved by least squares over the seatings. The mean height of a seating says nothing of
/// either.
#[must_use]
pub fn part(seatings: &[Seating<'_>]) -> Option<Parted> {
    let first = seatings.first()?;
    let positions = first.heights.len();
    let alike = seatings.iter().all(|one| one.heights.len() == positions);
    if positions < 3 || !alike {
        return None;
    }
    if seatings.iter().all(|one| one.turned % positions == first.turned % positions) {
        return None;
    }
    let nothing = vec![0.0; positions];
    let (ring, plate) = (nothing.clone(), nothing);
    let mut parted = Parted { ring, plate, blind: Vec::new(), grows: 0.0 };
    for order in 1..=positions / 2 {
        if let Some(Solved { ring, plate, grows }) = solved(seatings, order) {
            add(&mut parted.ring, order, ring);
            add(&mut parted.plate, order, plate);
            parted.grows = parted.grows.max(grows);
        } else {
            parted.blind.push(order);
            add(&mut parted.ring, order, mean_wave(seatings, order));
        }
    }
    Some(parted)
}

/// How far a seating turns a wave, radians.
fn turned(seating: &Seating<'_>, order: usize) -> f64 {
    let positions = seating.heights.len();
    TAU * count(order * seating.turned % positions) / count(positions)
}

/// The wave of a seating, by the positions of the ring.
fn wave(heights: &[f64], order: usize) -> Vector {
    let positions = heights.len();
    // The highest order of an even number of positions has no sine, and its cosine is met twice.
    let factor = if 2 * order == positions { 1.0 } else { 2.0 };
    let mut sum = [0.0; 2];
    for (at, height) in heights.iter().enumerate() {
        let (sine, cosine) = (TAU * count(order * at % positions) / count(positions)).sin_cos();
        sum[0] += height * cosine;
        sum[1] += height * sine;
    }
    sum.map(|one| factor * one / count(positions))
}

/// A wave turned back by an angle: what stands at the place `θ + φ` is met at the mark `θ`.
fn back(vector: Vector, by: f64) -> Vector {
    let (sine, cosine) = by.sin_cos();
    [cosine * vector[0] + sine * vector[1], cosine * vector[1] - sine * vector[0]]
}

fn mean_wave(seatings: &[Seating<'_>], order: usize) -> Vector {
    let waves = seatings.iter().map(|one| wave(one.heights, order));
    waves
        .fold([0.0; 2], |sum, one| [sum[0] + one[0], sum[1] + one[1]])
        .map(|one| one / count(seatings.len()))
}

/// `ring + back(plate, kφ) = measured` over all seatings. With the mean turn `m` of the seatings as a vector
/// the normal equations are `ring + back(plate, m) = mean` and `forth(ring, m) + plate = mean of the waves
/// turned forth`; they part where `1 − |m|²` is above zero.
fn solved(seatings: &[Seating<'_>], order: usize) -> Option<Solved> {
    let of = count(seatings.len());
    let (mut turn, mut mean, mut forth) = ([0.0; 2], [0.0; 2], [0.0; 2]);
    for seating in seatings {
        let by = turned(seating, order);
        let measured = wave(seating.heights, order);
        let there = back(measured, -by);
        for at in 0..2 {
            turn[at] += [by.cos(), by.sin()][at] / of;
            mean[at] += measured[at] / of;
            forth[at] += there[at] / of;
        }
    }
    let left = 1.0 - turn[0].hypot(turn[1]).powi(2);
    if left < BLIND {
        return None;
    }
    // plate = (forth − turned forth by m of the mean) / (1 − |m|²), with m as a factor, not only an angle.
    let by_turn = |one: Vector, sine: f64| {
        [turn[0] * one[0] - sine * one[1], turn[0] * one[1] + sine * one[0]]
    };
    let ahead = by_turn(mean, turn[1]);
    let plate = [0, 1].map(|at| (forth[at] - ahead[at]) / left);
    let seen = by_turn(plate, -turn[1]);
    let ring = [0, 1].map(|at| mean[at] - seen[at]);
    Some(Solved { ring, plate, grows: (1.0 / (of * left)).sqrt() })
}

fn add(heights: &mut [f64], order: usize, wave: Vector) {
    let positions = heights.len();
    for (at, height) in heights.iter_mut().enumerate() {
        let (sine, cosine) = (TAU * count(order * at % positions) / count(positions)).sin_cos();
        *height += wave[0] * cosine + wave[1] * sine;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// What is read where a ring lies turned on a plate.
    fn read(ring: &[f64], plate: &[f64], turned: usize) -> Vec<f64> {
        let places = plate.len();
        ring.iter().enumerate().map(|(at, one)| one + plate[(at + turned) % places]).collect()
    }

    fn about_mean(heights: &[f64]) -> Vec<f64> {
        let mean = heights.iter().sum::<f64>() / count(heights.len());
        heights.iter().map(|one| one - mean).collect()
    }

    #[track_caller]
    fn close(found: &[f64], expected: &[f64]) {
        let off =
            found.iter().zip(expected).map(|(one, other)| (one - other).abs()).fold(0.0, f64::max);
        assert!(off < 1e-9, "{found:?} for {expected:?}");
    }

    #[test]
    fn an_oval_that_stays_where_it_is_belongs_to_the_plate() {
        let first = [2.0, 0.0, -2.0, 0.0, 2.0, 0.0, -2.0, 0.0];
        let then = first.map(|one: f64| -one);
        let seatings =
            [Seating { turned: 0, heights: &first }, Seating { turned: 2, heights: &then }];
        let parted = part(&seatings).unwrap();
        close(&parted.ring, &[0.0; 8]);
        close(&parted.plate, &first);
        assert_eq!(parted.blind, [4]);
    }

    #[test]
    fn ring_and_plate_are_parted_at_any_number_of_seatings() {
        let ring = [3.0, -1.0, 4.0, 1.0, -5.0, 9.0, -2.0, 6.0, 5.0, -3.0, 5.0, 8.0];
        let plate = [2.0, 7.0, -1.0, 8.0, 2.0, -8.0, 1.0, 8.0, 2.0, 8.0, 4.0, 5.0];
        // Three and five positions of twelve: no order up to the sixth is a whole turn of both.
        for turns in [&[0, 1][..], &[0, 1, 5], &[0, 3, 4, 7]] {
            let read: Vec<(usize, Vec<f64>)> =
                turns.iter().map(|turned| (*turned, read(&ring, &plate, *turned))).collect();
            let seatings: Vec<Seating<'_>> =
                read.iter().map(|(turned, heights)| Seating { turned: *turned, heights }).collect();
            let parted = part(&seatings).unwrap();
            assert_eq!(parted.blind, [0; 0], "{turns:?}");
            close(&parted.ring, &about_mean(&ring));
            close(&parted.plate, &about_mean(&plate));
        }
    }

    #[test]
    fn waves_that_a_turn_brings_upon_themselves_cannot_be_parted() {
        let flat = [0.0; 12];
        let blind = |turns: &[usize]| {
            let seatings: Vec<Seating<'_>> =
                turns.iter().map(|turned| Seating { turned: *turned, heights: &flat }).collect();
            part(&seatings).unwrap().blind
        };
        assert_eq!(blind(&[0, 6]), [2, 4, 6], "half a turn");
        assert_eq!(blind(&[0, 4, 8]), [3, 6], "thirds");
        assert_eq!(blind(&[0, 3]), [4], "a quarter");
        assert_eq!(blind(&[0, 3, 6, 9]), [4], "four");
    }

    #[test]
    fn what_is_no_second_seating_parts_nothing() {
        let heights = [0.0; 8];
        let once = Seating { turned: 0, heights: &heights };
        let all_round = Seating { turned: 8, heights: &heights };
        let other = Seating { turned: 2, heights: &heights[..6] };
        assert_eq!(part(&[]), None);
        assert_eq!(part(&[once]), None);
        assert_eq!(part(&[once, all_round]), None);
        assert_eq!(part(&[once, other]), None);
    }

    #[test]
    fn the_scatter_grows_as_it_does_in_a_simulation_of_one_seating_more() {
        // Two seatings half a wave apart: ring and plate are the half sum and the half difference.
        let flat = [0.0; 4];
        let seatings =
            [Seating { turned: 0, heights: &flat }, Seating { turned: 2, heights: &flat }];
        let parted = part(&seatings).unwrap();
        assert_eq!(parted.blind, [2]);
        assert!((parted.grows - 0.5_f64.sqrt()).abs() < 1e-12, "{}", parted.grows);
    }
}
