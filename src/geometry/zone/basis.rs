//! Four points that fix a zone, and the exchange of one of them for a point outside it.
//!
//! This is the dual simplex method for `least h with |z − a·x − b·y − c| ≤ h`, written with areas: the
//! weight of a point is the area of the triangle of the other three.

use std::cmp::Ordering;

use super::number::{At, Number, turn};

/// The middle plane of a zone, `a·x + b·y + c`, and half the distance of its two planes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Plane {
    pub(super) a: f64,
    pub(super) b: f64,
    pub(super) c: f64,
    pub(super) half: f64,
}

impl Plane {
    /// A height minus the middle plane.
    pub(super) fn off(&self, at: At<f64>) -> f64 {
        at.z - self.a * at.x - self.b * at.y - self.c
    }
}

/// Four points, not all on one line in plan, each on one of two parallel planes.
#[derive(Debug, Clone, Copy)]
pub(super) struct Basis<T> {
    pub(super) rows: [usize; 4],
    pub(super) at: [At<T>; 4],
    /// 1 on the upper plane, −1 on the lower.
    pub(super) sides: [i8; 4],
    /// Not negative; `Σ side·weight = 0`, and the same with x and with y.
    pub(super) weights: [T; 4],
    /// `Σ side·weight·z`, not negative: half the distance of the planes is `moment / weight`.
    pub(super) moment: T,
    /// `Σ weight`.
    pub(super) weight: T,
}

/// Where a point is relative to the planes of a basis.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Stand {
    /// Relative to the upper plane.
    pub(super) upper: Ordering,
    /// Relative to the lower plane.
    pub(super) lower: Ordering,
}

impl Stand {
    /// 1 above the upper plane, −1 below the lower, 0 between.
    pub(super) fn outside(self) -> i8 {
        match (self.upper, self.lower) {
            (Ordering::Greater, _) => 1,
            (_, Ordering::Less) => -1,
            _ => 0,
        }
    }
}

/// The three others of each of four.
const OTHERS: [[usize; 3]; 4] = [[1, 2, 3], [0, 2, 3], [0, 1, 3], [0, 1, 2]];

impl<T: Number> Basis<T> {
    /// The basis of four points, each on the side where the four fix a zone; `None` when they lie on one
    /// line in plan.
    pub(super) fn of(rows: [usize; 4], at: [At<T>; 4]) -> Option<Self> {
        let signed = signed_weights(&at);
        let sides = signed.map(|weight| if weight.side() < 0 { -1 } else { 1 });
        let basis = Self::on(rows, at, sides)?;
        if basis.moment.side() < 0 {
            return Self::on(rows, at, sides.map(|side| -side));
        }
        Some(basis)
    }

    /// The basis of four points on these sides; `None` when they lie on one line in plan or cannot fix
    /// a zone on these sides.
    pub(super) fn on(rows: [usize; 4], at: [At<T>; 4], sides: [i8; 4]) -> Option<Self> {
        let signed = signed_weights(&at);
        let first = (0..4).find(|&j| signed[j].side() != 0)?;
        let turned = signed[first].side() * sides[first];
        let agrees = |j: usize| signed[j].side() * sides[j] != -turned;
        if !(0..4).all(agrees) {
            return None;
        }
        let weights = signed.map(Number::size);
        let lift = |j: usize| signed[j] * (at[j].z - at[0].z);
        let moment = (lift(1) + lift(2) + lift(3)).times(turned);
        let weight = weights[0] + weights[1] + weights[2] + weights[3];
        Some(Self { rows, at, sides, weights, moment, weight })
    }

    /// The point whose three others make the largest triangle.
    fn widest(&self) -> usize {
        let mut widest = 0;
        for j in 1..4 {
            if self.weights[j] > self.weights[widest] {
                widest = j;
            }
        }
        widest
    }

    /// The basis with one point exchanged for the one at `at`, which lies outside on `side`.
    ///
    /// The point that leaves is the one whose weight reaches zero first as the new one takes its share; of
    /// several, the smallest row. Taking the smallest row there, and where an exchange gains nothing,
    /// keeps the search from going round in circles (Bland's rule, 1977).
    pub(super) fn exchange(&self, row: usize, at: At<T>, side: i8) -> Option<Self> {
        let apart = self.widest();
        let three = OTHERS[apart];
        let [a, b, c] = three.map(|j| self.at[j]);
        let own = turn(a, b, c);
        let upright = own.side() * side;
        // own·p + Σ share·(a, b, c) = 0, written so that p has the weight |own| on its side.
        let shares = [-turn(at, b, c), turn(at, a, c), -turn(at, a, b)];
        let mut gains = [T::NOTHING; 4];
        for (j, share) in three.into_iter().zip(shares) {
            gains[j] = share.times(upright * self.sides[j]);
        }
        let leaves = self.first_to_run_out(gains)?;
        let (mut rows, mut places, mut sides) = (self.rows, self.at, self.sides);
        (rows[leaves], places[leaves], sides[leaves]) = (row, at, side);
        Self::on(rows, places, sides)
    }

    /// Which weight reaches zero first when `gains` are taken as far as the weights allow.
    fn first_to_run_out(&self, gains: [T; 4]) -> Option<usize> {
        let mut leaves: Option<usize> = None;
        for j in 0..4 {
            if self.weights[j].side() == 0 && gains[j].side() >= 0 {
                continue;
            }
            let sooner = leaves.is_none_or(|best| match self.compare_run_out(gains, j, best) {
                Ordering::Greater => true,
                Ordering::Equal => self.rows[j] < self.rows[best],
                Ordering::Less => false,
            });
            if sooner {
                leaves = Some(j);
            }
        }
        leaves
    }

    /// Compares `−gain / weight`; a weight of zero that must fall is used up at once.
    fn compare_run_out(&self, gains: [T; 4], one: usize, other: usize) -> Ordering {
        let empty = [one, other].map(|j| self.weights[j].side() == 0);
        match empty {
            [true, true] => Ordering::Equal,
            [true, false] => Ordering::Greater,
            [false, true] => Ordering::Less,
            [false, false] => T::compare_products(
                -gains[one],
                self.weights[other],
                -gains[other],
                self.weights[one],
            ),
        }
    }

    /// Where a point is relative to the planes.
    ///
    /// With weights that balance the point and three of the four, `Σ w·e = Σ w·z`, and `e` of the
    /// three is plus or minus half the distance: that gives `e` of the point without a division.
    pub(super) fn stand(&self, point: At<T>) -> Stand {
        let three = OTHERS[self.widest()];
        let [a, b, c] = three.map(|j| self.at[j]);
        let own = turn(a, b, c);
        let upright = own.side();
        let shares = [-turn(point, b, c), turn(point, a, c), -turn(point, a, b)];
        let heights = own * (point.z - a.z) + shares[1] * (b.z - a.z) + shares[2] * (c.z - a.z);
        let held = shares[0].times(self.sides[three[0]])
            + shares[1].times(self.sides[three[1]])
            + shares[2].times(self.sides[three[2]]);
        let (own, heights, held) = (own.size(), heights.times(upright), held.times(upright));
        let against = |reach: T| T::compare_products(heights, self.weight, reach, self.moment);
        Stand { upper: against(held + own), lower: against(held - own) }
    }

    /// The middle plane and half the distance, in floats.
    pub(super) fn plane(&self) -> Plane {
        let half = self.moment.near() / self.weight.near();
        let three = OTHERS[self.widest()];
        let start = self.at[three[0]];
        let step = |to: usize| {
            let (at, side) = (self.at[three[to]], self.sides[three[to]] - self.sides[three[0]]);
            let rise = (at.z - start.z).near() - f64::from(side) * half;
            ((at.x - start.x).near(), (at.y - start.y).near(), rise)
        };
        let ((x1, y1, z1), (x2, y2, z2)) = (step(1), step(2));
        let area = x1 * y2 - y1 * x2;
        let (a, b) = ((z1 * y2 - y1 * z2) / area, (x1 * z2 - z1 * x2) / area);
        let level = start.z.near() - f64::from(self.sides[three[0]]) * half;
        Plane { a, b, c: level - a * start.x.near() - b * start.y.near(), half }
    }

    /// Whether all four points are needed.
    pub(super) fn is_rigid(&self) -> bool {
        self.weights.iter().all(|weight| weight.side() != 0)
    }
}

/// Weights of four points whose sum and moments are zero.
fn signed_weights<T: Number>(at: &[At<T>; 4]) -> [T; 4] {
    [
        turn(at[1], at[2], at[3]),
        -turn(at[0], at[2], at[3]),
        turn(at[0], at[1], at[3]),
        -turn(at[0], at[1], at[2]),
    ]
}
