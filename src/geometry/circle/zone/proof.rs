//! A lower bound of the width over all possible centres, independent of how the zone was found.
//!
//! All places are given in units of their reach, so that none is farther than 1 from the middle.
//! Centres up to [`NEAR`] away are given by x and y; those beyond by `a = 1/distance`, from 1/4 down
//! to 0 (two straight lines), and their direction. Both charts are cut into cells. At the middle c of
//! a cell, with d the distances of the places from a centre, two bounds hold for the whole cell:
//!
//! - The width is a largest minus a smallest d, and no d changes faster than the centre moves:
//!   width ≥ width(c) − 2·(half diagonal).
//! - With any weights λ on two places and μ on two others, each pair summing to 1, width ≥
//!   V = Σλ·d − Σμ·d. V is followed by its slope at c. A distance is convex and its second
//!   derivative is at most 1/d, so V falls below its tangent by at most Σμ/(2·d)·(step)².
//!   With the weights that balance the contacts of the least zone the slope is zero there, so
//!   cells near it need not be small.
//!
//! In the far chart, by the generating function of the Legendre polynomials,
//! `d − 1/a = Σ aⁿ⁻¹·rⁿ·Cₙ(cos φ)`, where `C₁ = −cos φ`, `|Cₙ| ≤ 2/(2n − 1)`, `|dCₙ/dφ| ≤ 1` and
//! `|d²Cₙ/dφ²| ≤ n`: for a ≤ 1/4 first derivatives by a and by the direction are at most
//! 1/(1 − a) ≤ 4/3, second ones at most 1/(1 − a)² ≤ 16/9. (Worked out here.)

use std::f64::consts::{PI, SQRT_2};

use super::super::vector::Vector;
use super::contacts::by_turns;
use super::reach::{beyond, size, spread};

/// How far the near chart reaches; see the module.
const NEAR: f64 = 4.0;
const FIRST: f64 = 4.0 / 3.0;
const SECOND: f64 = 16.0 / 9.0;
/// Directions the far chart is first cut into.
const DIRECTIONS: u32 = 16;
/// Cells that are tried before the zone is left unproved; usually there are some thousands.
const MOST_CELLS: u32 = 300_000;

/// What the search for a smaller width found.
pub(super) enum Lower {
    /// No centre gives a smaller width: proved.
    Nowhere,
    /// This centre gives a smaller width.
    At(Vector),
    /// Neither was shown within the number of cells allowed.
    Unknown,
}

/// Weights on two outer and two inner contacts that balance them.
pub(super) struct Weights {
    outer: [(usize, f64); 2],
    inner: [(usize, f64); 2],
}

impl Weights {
    /// The weights of the places that touch, or nearly touch, seen from the middle of a cell.
    fn about(cell: &Cell, places: &[Vector], nearly: f64) -> Self {
        let centre = cell.centre();
        let (outer, inner) = by_turns(places, centre, &spread(places, centre), nearly);
        let slope = |number: usize| cell.slope(places[number]);
        let (one, other) =
            (slope(outer[0]).minus(slope(outer[1])), slope(inner[0]).minus(slope(inner[1])));
        let right = slope(inner[1]).minus(slope(outer[1]));
        let parts = other.cross(one);
        let share = |top: f64| if parts == 0.0 { 0.5 } else { (top / parts).clamp(0.0, 1.0) };
        let (first, second) = (share(other.cross(right)), share(one.cross(right)));
        Self {
            outer: [(outer[0], first), (outer[1], 1.0 - first)],
            inner: [(inner[0], second), (inner[1], 1.0 - second)],
        }
    }
}

/// Whether a centre gives a width below `target`.
pub(super) fn lower_than(places: &[Vector], target: f64) -> Lower {
    let reach = size(places);
    let unit: Vec<Vector> = places.iter().map(|place| place.times(1.0 / reach)).collect();
    let mut search = Search { places: unit, target: target / reach, weights: Vec::new() };
    if search.target <= 0.0 {
        return Lower::Nowhere;
    }
    let mut cells = vec![Cell::Near { centre: Vector::default(), half: NEAR }];
    let half_turn = PI / f64::from(DIRECTIONS);
    cells.extend((0..DIRECTIONS).map(|k| Cell::Far {
        a: 1.0 / (2.0 * NEAR),
        half_a: 1.0 / (2.0 * NEAR),
        turn: half_turn * f64::from(2 * k + 1),
        half_turn,
    }));
    for _ in 0..MOST_CELLS {
        let Some(cell) = cells.pop() else { return Lower::Nowhere };
        let (low, high) = search.span(&cell);
        if high - low < search.target {
            return Lower::At(cell.centre().times(reach));
        }
        if !search.holds(&cell, high - low) {
            cells.extend(cell.quarters());
        }
    }
    Lower::Unknown
}

struct Search {
    places: Vec<Vector>,
    target: f64,
    /// Weights that proved an earlier cell.
    weights: Vec<Weights>,
}

/// Cells up to this size are also tried with weights of their own.
const SMALL: f64 = 1e-2;

impl Search {
    fn span(&self, cell: &Cell) -> (f64, f64) {
        let values = self.places.iter().map(|place| cell.beyond(*place));
        values.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), value| {
            (value.min(low), value.max(high))
        })
    }

    /// Whether no centre of the cell gives a width below the target.
    fn holds(&mut self, cell: &Cell, width: f64) -> bool {
        let (first, second) = match *cell {
            Cell::Near { half, .. } => (half * SQRT_2, 0.0),
            Cell::Far { half_a, half_turn, .. } => {
                (FIRST * (half_a + half_turn), SECOND * (half_a + half_turn).powi(2))
            }
        };
        if width - 2.0 * first >= self.target {
            return true;
        }
        if self.weights.iter().any(|weights| self.balanced(weights, cell, first, second)) {
            return true;
        }
        if first > SMALL {
            return false;
        }
        let own = Weights::about(cell, &self.places, 2.0 * first);
        let holds = self.balanced(&own, cell, first, second);
        if holds {
            self.weights.push(own);
        }
        holds
    }

    /// Whether V with these weights stays above the target in the whole cell.
    fn balanced(&self, weights: &Weights, cell: &Cell, first: f64, second: f64) -> bool {
        let (mut value, mut slope, mut bend) = (0.0, Vector::default(), second);
        for (sign, contacts) in [(1.0, weights.outer), (-1.0, weights.inner)] {
            for (number, weight) in contacts {
                let place = self.places[number];
                value += sign * weight * cell.beyond(place);
                slope = slope.plus(cell.slope(place).times(sign * weight));
                if let (Cell::Near { centre, .. }, true) = (cell, sign < 0.0) {
                    let least = place.distance(*centre) - first;
                    let bent = weight * first * first / (2.0 * least);
                    bend += if least > 0.0 { bent } else { f64::INFINITY };
                }
            }
        }
        let steps = cell.half();
        value - slope.x.abs() * steps.x - slope.y.abs() * steps.y - bend >= self.target
    }
}

/// A piece of the plane of centres, given by its middle.
enum Cell {
    Near { centre: Vector, half: f64 },
    Far { a: f64, half_a: f64, turn: f64, half_turn: f64 },
}

fn toward(turn: f64) -> Vector {
    let (y, x) = turn.sin_cos();
    Vector { x, y }
}

impl Cell {
    fn centre(&self) -> Vector {
        match *self {
            Self::Near { centre, .. } => centre,
            Self::Far { a, turn, .. } => toward(turn).times(1.0 / a),
        }
    }

    /// How far the cell reaches from its middle along each coordinate.
    const fn half(&self) -> Vector {
        match *self {
            Self::Near { half, .. } => Vector { x: half, y: half },
            Self::Far { half_a, half_turn, .. } => Vector { x: half_a, y: half_turn },
        }
    }

    /// How much farther a place is from the middle of the cell than the middle of the places is.
    fn beyond(&self, place: Vector) -> f64 {
        match *self {
            Self::Near { centre, .. } => beyond(place, centre),
            Self::Far { a, turn, .. } => {
                let along = toward(turn).dot(place);
                let square = place.dot(place);
                let distance = (1.0 - 2.0 * a * along + a * a * square).sqrt();
                (a * square - 2.0 * along) / (distance + 1.0)
            }
        }
    }

    /// The slope of [`Self::beyond`] along both coordinates, less what all places have in common.
    fn slope(&self, place: Vector) -> Vector {
        match *self {
            Self::Near { centre, .. } => {
                let from = centre.minus(place);
                let distance = from.length();
                if distance == 0.0 { Vector::default() } else { from.times(1.0 / distance) }
            }
            Self::Far { a, turn, .. } => {
                let direction = toward(turn);
                let (along, across) = (direction.dot(place), direction.cross(place));
                let distance = (1.0 - 2.0 * a * along + a * a * place.dot(place)).sqrt();
                let cosine = (1.0 - a * along) / distance;
                let by_a = across * across / (distance * distance * (1.0 + cosine));
                Vector { x: by_a, y: -across / distance }
            }
        }
    }

    fn quarters(&self) -> [Self; 4] {
        const SIGNS: [(f64, f64); 4] = [(-1.0, -1.0), (-1.0, 1.0), (1.0, -1.0), (1.0, 1.0)];
        match *self {
            Self::Near { centre, half } => {
                let half = half / 2.0;
                SIGNS.map(|(x, y)| Self::Near {
                    centre: centre.plus(Vector { x: x * half, y: y * half }),
                    half,
                })
            }
            Self::Far { a, half_a, turn, half_turn } => {
                let (half_a, half_turn) = (half_a / 2.0, half_turn / 2.0);
                SIGNS.map(|(x, y)| Self::Far {
                    a: a + x * half_a,
                    half_a,
                    turn: turn + y * half_turn,
                    half_turn,
                })
            }
        }
    }
}
