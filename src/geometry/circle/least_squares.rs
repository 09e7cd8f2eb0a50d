//! The least-squares circle, and the algebraic one.

use std::f64::consts::TAU;

use super::vector::{Vector, centre_of};
use super::{Circle, CircleError, centred};
use crate::count;

/// The algebraic circle: least squares of `d² − r²` instead of `d − r` (after Kåsa, 1976).
///
/// It is linear, and *not* the least-squares circle: on an arc it comes out too small. It serves to
/// check the figures of programs that print it, and as a first guess.
pub fn algebraic_circle(points: &[(f64, f64)]) -> Result<Circle, CircleError> {
    let (about, mean) = centred(points)?;
    let centre = algebraic_centre(&about).ok_or(CircleError::Straight)?;
    let square = about.iter().map(|place| place.dot(*place)).sum::<f64>() / count(about.len());
    // About the mean of the points, r² is the mean square plus the square of the centre.
    Ok(Circle::moved(centre, (centre.dot(centre) + square).sqrt(), mean))
}

/// The least-squares circle: the one with the least sum of squared distances from it.
///
/// The sum can have several minima, so the search has several starts: the lowest places of a coarse
/// look over the plane of centres (far ones included), the algebraic circle, and the circle through
/// three places far apart. From each, Newton's steps, damped after Levenberg (1944), are taken to the
/// end, and the best result counts. At the end the gradient must be zero to rounding.
///
/// # Errors
/// [`CircleError::NotSettled`] where a straight line fits better, since then a larger circle is always
/// better than the one found, and where the radius grows without end.
pub fn least_squares_circle(points: &[(f64, f64)]) -> Result<Circle, CircleError> {
    let (about, mean) = centred(points)?;
    let starts = [algebraic_centre(&about), three_far_apart(&about)].into_iter().flatten();
    let ends = starts.chain(lowest_of_the_plane(&about)).filter_map(|start| settle(&about, start));
    let best = ends.min_by(|one, other| one.squares.total_cmp(&other.squares));
    let best = best.filter(|best| best.squares <= off_the_best_line(&about));
    let best = best.ok_or(CircleError::NotSettled)?;
    Ok(Circle::moved(best.centre, best.radius, mean))
}

/// The sum of squared distances from the best straight line, each measured square to it.
fn off_the_best_line(about: &[Vector]) -> f64 {
    let mut scatter = Symmetric::default();
    for place in about {
        scatter.add(*place, 1.0);
    }
    let along = Vector { x: scatter.xx - scatter.yy, y: 2.0 * scatter.xy };
    let turn = along.y.atan2(along.x) / 2.0;
    let across = Vector { x: -turn.sin(), y: turn.cos() };
    about.iter().map(|place| across.dot(*place).powi(2)).sum()
}

/// The centre of the algebraic circle, worked out about the mean of the points.
fn algebraic_centre(about: &[Vector]) -> Option<Vector> {
    let size = about.iter().map(|place| place.length()).fold(0.0, f64::max);
    let mut matrix = Symmetric::default();
    let mut right = Vector::default();
    for place in about.iter().map(|place| place.times(1.0 / size)) {
        matrix.add(place, 1.0);
        right = right.plus(place.times(place.dot(place) / 2.0));
    }
    matrix.solve(right).map(|centre| centre.times(size))
}

/// Points used for the look over the plane: more of them hardly change where the sum is low.
const SAMPLE: usize = 48;
/// Centres that the look over the plane hands on as starts.
const STARTS: usize = 4;

/// Centres where the sum of squares is lower than at their neighbours on a coarse net. The net grows
/// outwards by factors: far centres differ little, so it needs few of them.
fn lowest_of_the_plane(about: &[Vector]) -> Vec<Vector> {
    const DIRECTIONS: u8 = 24;
    const DISTANCES: [f64; 12] = [0.1, 0.2, 0.3, 0.45, 0.6, 0.8, 1.0, 1.3, 1.8, 3.0, 8.0, 40.0];
    let reach = about.iter().map(|place| place.length()).fold(0.0, f64::max);
    let every = about.len().div_ceil(SAMPLE);
    let sample: Vec<Vector> = about.iter().step_by(every).copied().collect();
    let turns = (0..DIRECTIONS).map(|k| TAU * f64::from(k) / f64::from(DIRECTIONS));
    let net: Vec<Vec<Look>> = turns
        .map(|turn| {
            let (y, x) = turn.sin_cos();
            let toward = |distance: &f64| Vector { x, y }.times(distance * reach);
            DISTANCES.iter().map(|distance| look(&sample, toward(distance))).collect()
        })
        .collect();
    let squares = |turn: usize, step: usize| net[turn % net.len()].get(step).map(|l| l.squares);
    let mut low: Vec<(f64, Vector)> = Vec::new();
    for (turn, ray) in net.iter().enumerate() {
        for (step, here) in ray.iter().enumerate() {
            let beside = [squares(turn + 1, step), squares(turn + net.len() - 1, step)];
            let along =
                [squares(turn, step + 1), step.checked_sub(1).and_then(|s| squares(turn, s))];
            let lowest = beside.iter().chain(&along).flatten().all(|other| here.squares <= *other);
            if lowest {
                low.push((here.squares, here.centre));
            }
        }
    }
    low.sort_by(|one, other| one.0.total_cmp(&other.0));
    low.into_iter().take(STARTS).map(|(_, centre)| centre).collect()
}

/// The centre of the circle through the point farthest from the mean, the one farthest from that,
/// and the one farthest off the line through both.
fn three_far_apart(about: &[Vector]) -> Option<Vector> {
    let most = |of: &dyn Fn(Vector) -> f64| {
        about.iter().copied().max_by(|one, other| of(*one).total_cmp(&of(*other)))
    };
    let first = most(&Vector::length)?;
    let second = most(&|place| place.distance(first))?;
    let along = second.minus(first);
    let third = most(&|place| place.minus(first).cross(along).abs())?;
    centre_of(first, second, third)
}

/// A symmetric matrix of two rows.
#[derive(Debug, Clone, Copy, Default)]
struct Symmetric {
    xx: f64,
    xy: f64,
    yy: f64,
}

impl Symmetric {
    /// Adds `weight` times the square of a vector.
    fn add(&mut self, vector: Vector, weight: f64) {
        self.xx += weight * vector.x * vector.x;
        self.xy += weight * vector.x * vector.y;
        self.yy += weight * vector.y * vector.y;
    }

    fn damped(self, damping: f64) -> Self {
        Self { xx: self.xx + damping, yy: self.yy + damping, ..self }
    }

    /// The solution for a positive definite matrix.
    fn solve(self, right: Vector) -> Option<Vector> {
        let determinant = self.xx * self.yy - self.xy * self.xy;
        let positive = self.xx > 0.0 && determinant > f64::EPSILON * self.xx * self.yy;
        positive.then(|| Vector {
            x: (self.yy * right.x - self.xy * right.y) / determinant,
            y: (self.xx * right.y - self.xy * right.x) / determinant,
        })
    }
}

/// The sum of squares for one centre, with slope and curvature of half the sum. The radius is always
/// the mean distance.
struct Look {
    centre: Vector,
    radius: f64,
    squares: f64,
    gradient: Vector,
    curvature: Symmetric,
}

fn look(about: &[Vector], centre: Vector) -> Look {
    let distances: Vec<f64> = about.iter().map(|place| place.distance(centre)).collect();
    let points = count(about.len());
    let radius = distances.iter().sum::<f64>() / points;
    let (mut squares, mut gradient, mut toward) = (0.0, Vector::default(), Vector::default());
    let mut curvature = Symmetric::default();
    for (place, distance) in about.iter().zip(&distances) {
        let rest = distance - radius;
        squares += rest * rest;
        if *distance > 0.0 {
            let unit = place.minus(centre).times(1.0 / distance);
            gradient = gradient.minus(unit.times(rest));
            toward = toward.plus(unit);
            curvature.add(unit, 1.0);
            curvature.add(unit.left(), rest / distance);
        }
    }
    curvature.add(toward, -1.0 / points);
    Look { centre, radius, squares, gradient, curvature }
}

/// A circle whose radius is this many times the reach of the points is a straight line to any gauge.
const RUNAWAY: f64 = 1e6;
/// Steps before the search is given up; it usually takes a dozen.
const MOST_STEPS: usize = 300;

/// Newton's steps, damped while the curvature is not positive or the sum would rise.
///
/// Near the end the sum falls by less than a float shows. The gradient still falls; the search is
/// over when it does not either.
fn settle(about: &[Vector], start: Vector) -> Option<Look> {
    let reach = about.iter().map(|place| place.length()).fold(0.0, f64::max);
    let mut here = look(about, start);
    let mut damping = 0.0;
    for _ in 0..MOST_STEPS {
        let step = here.curvature.damped(damping).solve(here.gradient.times(-1.0));
        let promise = step.map_or(f64::INFINITY, |step| -step.dot(here.gradient));
        // Points that fit exactly leave only the squares of their rounding. On a short arc the promised
        // gain is then amplified rounding.
        let exact = 64.0 * count(about.len()) * (f64::EPSILON * (here.radius + reach)).powi(2);
        let at_the_end =
            damping == 0.0 && (promise <= here.squares * 1e-9 || here.squares <= exact);
        // On a regular form the gradient can go on shrinking by steps that move nothing.
        let stands = step.is_some_and(|step| step.length() <= f64::EPSILON / 4.0 * reach);
        if at_the_end && stands {
            return (here.radius < RUNAWAY * reach).then_some(here);
        }
        let better = |next: &Look| {
            if at_the_end {
                next.gradient.length() < here.gradient.length()
            } else {
                next.squares < here.squares
            }
        };
        match step.map(|step| look(about, here.centre.plus(step))).filter(better) {
            Some(next) => {
                here = next;
                damping = if damping > 1e-3 { damping / 10.0 } else { 0.0 };
            }
            None if at_the_end => return (here.radius < RUNAWAY * reach).then_some(here),
            None => damping = f64::max(damping * 10.0, 1e-3),
        }
    }
    None
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_damped_step_is_shorter_along_either_axis() {
        let matrix = Symmetric { xx: 1.0, xy: 0.0, yy: 1.0 };
        let step = |damping: f64| {
            let step = matrix.damped(damping).solve(Vector { x: 10.0, y: 20.0 }).unwrap();
            [step.x, step.y].map(|part| (part * 1e9).round() / 1e9)
        };
        assert_eq!(step(0.0).map(f64::to_bits), [10.0, 20.0].map(f64::to_bits));
        assert_eq!(step(9.0).map(f64::to_bits), [1.0, 2.0].map(f64::to_bits));
    }

    #[test]
    fn a_saddle_gives_a_step_once_it_is_damped_enough() {
        let saddle = Symmetric { xx: -1.0, xy: 0.0, yy: -2.0 };
        let right = Vector { x: 1.0, y: 1.0 };
        assert!(saddle.solve(right).is_none() && saddle.damped(1.5).solve(right).is_none());
        assert!(saddle.damped(3.0).solve(right).is_some());
    }
}
