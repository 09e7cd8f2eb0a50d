//! The least-squares plane. It is shown and used for advice; a verdict uses the exact minimum zone.

use super::rank::{Point, Rank, rank};
use super::{count, dot, float, full_turn, range};
use quantity::Grid;

/// A set of positions thinner than this share of its length counts as a line: a float cannot tell the
/// slope across it.
const THINNEST: f64 = 1e-9;
/// Residuals closer than this, in the unit of the heights (a picometre), count as tied.
const TIED: f64 = 1.0;

/// The slopes of a plane, in picometres (or the unit of the heights) per nanometre: 1 is 1 mm/m.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Slopes {
    /// Rise towards the index mark.
    pub x: f64,
    /// Rise a quarter turn counter-clockwise of it.
    pub y: f64,
}

impl Slopes {
    /// The rise across `diameter_nm`, in the unit of the heights.
    #[must_use]
    pub fn tilt_over(self, diameter_nm: f64) -> f64 {
        self.x.hypot(self.y) * diameter_nm
    }

    /// The rise to a place from the middle, in the unit of the heights.
    #[must_use]
    pub fn rise(self, at: Grid) -> f64 {
        self.x * float(i128::from(at.x_nm)) + self.y * float(i128::from(at.y_nm))
    }

    /// The angle of the high side, degrees counter-clockwise from the index mark, [0, 360).
    #[must_use]
    pub fn high_side_deg(self) -> f64 {
        full_turn(self.y.atan2(self.x).to_degrees())
    }
}

/// A plane through some points by least squares, every point weighing the same.
#[derive(Debug, Clone, PartialEq)]
pub struct PlaneFit {
    /// The height of the plane at the origin of the positions, in the unit of the heights.
    pub intercept: f64,
    /// The slopes.
    pub slopes: Slopes,
    /// Height minus plane, in the order and unit of the heights.
    pub residuals: Vec<f64>,
    /// Each position along two directions square to each other, scaled so that the leverage of
    /// two points is `1/n` plus the product of their entries.
    directions: Vec<[f64; 2]>,
}

impl PlaneFit {
    /// Largest minus smallest residual: flatness by least squares.
    #[must_use]
    pub fn width(&self) -> f64 {
        range(&self.residuals)
    }

    /// The rise of the plane across `diameter_nm`, in the unit of the heights.
    #[must_use]
    pub fn tilt_over(&self, diameter_nm: f64) -> f64 {
        self.slopes.tilt_over(diameter_nm)
    }

    /// The angle of the high side, degrees counter-clockwise from the index mark, [0, 360).
    #[must_use]
    pub fn high_side_deg(&self) -> f64 {
        self.slopes.high_side_deg()
    }

    /// How much the height of point `j` moves the plane at point `i`: element `h_ij` of the hat
    /// matrix, which projects the heights onto the plane.
    ///
    /// # Panics
    /// When an index is no row of the points.
    #[must_use]
    pub fn leverage(&self, i: usize, j: usize) -> f64 {
        let [a, b] = [self.directions[i], self.directions[j]];
        1.0 / count(self.directions.len()) + a[0] * b[0] + a[1] * b[1]
    }

    /// The variance of the difference of the highest and the lowest residual, in units of the variance
    /// of one height: `2 − h_ii − h_jj + 2·h_ij`. Where residuals tie, the largest of these.
    #[must_use]
    pub fn extremes_variance(&self) -> f64 {
        let high = self.residuals.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let low = self.residuals.iter().copied().fold(f64::INFINITY, f64::min);
        let rows = 0..self.residuals.len();
        let top = rows.clone().filter(|&row| high - self.residuals[row] < TIED);
        let variance = |i: usize, j: usize| {
            2.0 - self.leverage(i, i) - self.leverage(j, j) + 2.0 * self.leverage(i, j)
        };
        top.flat_map(|i| rows.clone().map(move |j| (i, j)))
            .filter(|&(i, j)| i != j && self.residuals[j] - low < TIED)
            .map(|(i, j)| variance(i, j))
            .fold(0.0, f64::max)
    }
}

/// The least-squares plane of `points`.
///
/// The rank of the positions when they do not span a plane. Positions within 10⁻⁹ of their length
/// from one line count as on it: a float could not tell the slope.
pub fn least_squares(points: &[Point]) -> Result<PlaneFit, Rank> {
    let rank = rank(points);
    let first = points.first().filter(|_| rank == Rank::Plane).ok_or(rank)?;
    let relative = |of: fn(&Point) -> i64| {
        let start = i128::from(of(first));
        points.iter().map(|point| float(i128::from(of(point)) - start)).collect::<Vec<f64>>()
    };
    let (x, x_mean) = centred(relative(|point| point.at.x_nm));
    let (y, y_mean) = centred(relative(|point| point.at.y_nm));
    let (z, z_mean) = centred(relative(|point| point.height));

    // The longer axis first, then what the other has beside it.
    let swapped = dot(&y, &y) > dot(&x, &x);
    let (long, short) = if swapped { (&y, &x) } else { (&x, &y) };
    let length = dot(long, long);
    let shared = dot(long, short) / length;
    let beside: Vec<f64> = short.iter().zip(long).map(|(s, l)| s - shared * l).collect();
    let rest = dot(&beside, &beside);
    if rest <= length * THINNEST * THINNEST {
        return Err(Rank::Line);
    }
    let short_slope = dot(&beside, &z) / rest;
    let long_slope = dot(long, &z) / length - shared * short_slope;
    let slopes = if swapped {
        Slopes { x: short_slope, y: long_slope }
    } else {
        Slopes { x: long_slope, y: short_slope }
    };
    let rows = 0..points.len();
    Ok(PlaneFit {
        intercept: float(i128::from(first.height)) + z_mean
            - slopes.x * (float(i128::from(first.at.x_nm)) + x_mean)
            - slopes.y * (float(i128::from(first.at.y_nm)) + y_mean),
        slopes,
        residuals: rows.clone().map(|i| z[i] - slopes.x * x[i] - slopes.y * y[i]).collect(),
        directions: rows.map(|i| [long[i] / length.sqrt(), beside[i] / rest.sqrt()]).collect(),
    })
}

/// Values minus their mean, and the mean.
fn centred(values: Vec<f64>) -> (Vec<f64>, f64) {
    let mean = values.iter().sum::<f64>() / count(values.len());
    (values.into_iter().map(|value| value - mean).collect(), mean)
}

#[cfg(test)]
mod tests {
    use super::*;
    use quantity::{Grid, Length, position_angle_deg};

    /// Heights in 0.00001 in at equally spaced positions on a circle of 3 in.
    fn ring(heights: &[i64]) -> Vec<Point> {
        let radius = Length::from_picometres(38_100_000_000);
        let positions = u32::try_from(heights.len()).unwrap();
        (0..positions)
            .zip(heights)
            .map(|(k, height)| Point {
                at: Grid::on_circle(radius, position_angle_deg(k, positions)),
                height: height * 254_000,
            })
            .collect()
    }

    const DIAMETER_NM: f64 = 76_200_000.0;

    fn near(value: f64, expected: f64, within: f64) {
        assert!((value - expected).abs() <= within, "{value} is not {expected}");
    }

    #[test]
    fn a_good_spacer_leans_towards_its_third_mark() {
        // Invented readings; figures computed by an independent program.
        let fit = least_squares(&ring(&[0, 2, 3, 3, 2, 1, -1, -1])).unwrap();
        near(fit.tilt_over(DIAMETER_NM) / 254_000.0, 4.294, 6e-4);
        near(fit.high_side_deg(), 118.68, 6e-3);
        near(fit.width() / 254_000.0, 0.72, 6e-3);
        // U = 2·u·√variance: 0.00002287 in for u = 0.0000084 in.
        near(2.0 * 0.84 * fit.extremes_variance().sqrt(), 2.287, 6e-4);
        near(fit.residuals.iter().sum::<f64>(), 0.0, 1e-6);
    }

    #[test]
    fn the_variance_of_an_even_ring_follows_its_formula() {
        // 2 − 4/N + (4/N)·cos Δ for equally spaced positions (worked out by hand).
        let fit = least_squares(&ring(&[0, 0, 9, 0, 0, -8, 0, 0])).unwrap();
        let between = 135_f64.to_radians();
        near(fit.extremes_variance(), 2.0 - 0.5 + 0.5 * between.cos(), 1e-6);
        near((0..8).map(|i| fit.leverage(i, i)).sum(), 3.0, 1e-12);
    }

    #[test]
    fn an_exact_plane_leaves_nothing() {
        let place = |x_nm, y_nm| Grid { x_nm, y_nm };
        let plane = |at: Grid| Point { at, height: 7_000_000 + 3 * at.x_nm - 2 * at.y_nm };
        let points = [place(10, 20), place(5_000, -40), place(-700, 900), place(333, 444)];
        let fit = least_squares(&points.map(plane)).unwrap();
        near(fit.slopes.x, 3.0, 1e-12);
        near(fit.slopes.y, -2.0, 1e-12);
        near(fit.intercept, 7_000_000.0, 1e-6);
        near(fit.width(), 0.0, 1e-6);
        near(fit.slopes.tilt_over(2.0), 2.0 * 13_f64.sqrt(), 1e-12);
        near(fit.high_side_deg(), 360.0 - 33.690_067_525_979_785, 1e-9);
    }

    #[test]
    fn positions_that_carry_no_plane_are_named() {
        let at = |x_nm, y_nm| Point { at: Grid { x_nm, y_nm }, height: x_nm };
        assert_eq!(least_squares(&[]), Err(Rank::OnePlace));
        assert_eq!(least_squares(&[at(1, 1), at(1, 1)]), Err(Rank::OnePlace));
        assert_eq!(least_squares(&[at(0, 0), at(1, 1), at(5, 5)]), Err(Rank::Line));
        let thin = [at(0, 0), at(1_000_000_000, 1), at(2_000_000_000, 3)];
        assert_eq!(least_squares(&thin), Err(Rank::Line));
    }
}
