//! Mean and first wave of readings round a circle, and which touch disagrees with the others.

use super::columns::Columns;
use super::full_turn;

/// Mean and first wave by least squares, with the residual of each touch from the others.
///
/// On one circle this is the least-squares plane, written in angles.
#[derive(Debug, Clone, PartialEq)]
pub struct FirstWave {
    /// The mean of the fit, in the unit of the heights.
    pub mean: f64,
    /// Height minus fit, in the order of the touches.
    pub residuals: Vec<f64>,
    /// How much each touch moves the fit at its own angle: its leverage, 0 to 1.
    pub leverages: Vec<f64>,
    cosine: f64,
    sine: f64,
}

/// Above leverage 1 minus this, the fit goes through the touch whatever its reading.
const FREE: f64 = 1e-9;

impl FirstWave {
    /// Fits `heights` at `angles_deg`; both have the same length.
    ///
    /// `None` where they are not the same length, or fewer than three angles differ.
    #[must_use]
    pub fn fit(angles_deg: &[f64], heights: &[f64]) -> Option<Self> {
        if angles_deg.len() != heights.len() {
            return None;
        }
        let column =
            |of: fn(f64) -> f64| angles_deg.iter().map(|deg| of(deg.to_radians())).collect();
        let columns = Columns::new(vec![column(|_| 1.0), column(f64::cos), column(f64::sin)])?;
        let start = heights.first().copied().unwrap_or(0.0);
        let relative: Vec<f64> = heights.iter().map(|height| height - start).collect();
        let (factors, residuals) = columns.fit(&relative);
        let &[mean, cosine, sine] = factors.as_slice() else { return None };
        let leverages = (0..heights.len()).map(|row| columns.leverage(row)).collect();
        Some(Self { mean: mean + start, residuals, leverages, cosine, sine })
    }

    /// Half the peak-to-valley of the first wave, in the unit of the heights.
    #[must_use]
    pub fn amplitude(&self) -> f64 {
        self.cosine.hypot(self.sine)
    }

    /// The angle of the crest of the first wave, in degrees, [0, 360).
    #[must_use]
    pub fn high_deg(&self) -> f64 {
        full_turn(self.sine.atan2(self.cosine).to_degrees())
    }

    /// How far each touch is from the fit of all others: `e/(1 − h)`. `None` for a touch whose place
    /// the others do not determine.
    #[must_use]
    pub fn left_out(&self) -> Vec<Option<f64>> {
        let pairs = self.residuals.iter().zip(&self.leverages);
        pairs.map(|(e, h)| (1.0 - h > FREE).then(|| e / (1.0 - h))).collect()
    }

    /// The touch to doubt first: the one with the largest `|e|/√(1 − h)`.
    ///
    /// Not the largest [`Self::left_out`]: where the touches cover only half a circle, a touch at the end
    /// has a large leverage and would be named in place of its neighbour.
    #[must_use]
    pub fn most_doubtful(&self) -> Option<usize> {
        let pairs = self.residuals.iter().zip(&self.leverages).enumerate();
        pairs
            .filter(|(_, (_, h))| 1.0 - **h > FREE)
            .map(|(row, (e, h))| (row, e.abs() / (1.0 - h).sqrt()))
            .max_by(|one, other| one.1.total_cmp(&other.1))
            .map(|(row, _)| row)
    }
}

/// The widest gap between neighbouring angles round the circle, in degrees; 360 for one angle or
/// none.
#[must_use]
pub fn widest_gap_deg(angles_deg: &[f64]) -> f64 {
    let mut around: Vec<f64> = angles_deg.iter().map(|&angle| full_turn(angle)).collect();
    around.sort_by(f64::total_cmp);
    let (Some(first), Some(last)) = (around.first(), around.last()) else { return 360.0 };
    let over_the_mark = first + 360.0 - last;
    around.windows(2).map(|two| two[1] - two[0]).fold(over_the_mark, f64::max)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn near(value: f64, expected: f64, within: f64) {
        assert!((value - expected).abs() <= within, "{value} is not {expected}");
    }

    #[test]
    fn on_half_a_circle_the_wild_touch_is_named_and_not_its_neighbour() {
        // Invented readings in 0.00001 in, figures computed by an independent program.
        let angles = [0.0, 45.0, 90.0, 135.0, 180.0];
        let fit = FirstWave::fit(&angles, &[1.0, 2.0, 2.0, 142.0, 0.0]).unwrap();
        let left_out: Vec<f64> = fit.left_out().into_iter().flatten().collect();
        let expected = [124.304, -22.915, -99.616, 140.779, -229.963];
        for (value, expected) in left_out.iter().zip(expected) {
            near(*value, expected, 6e-4);
        }
        assert_eq!(fit.most_doubtful(), Some(3), "the plain residual is largest at 180 degrees");
    }

    #[test]
    fn a_pure_first_wave_comes_back() {
        let angles: Vec<f64> = (0..9).map(|k| f64::from(k) * 31.0).collect();
        let heights: Vec<f64> =
            angles.iter().map(|a| 1e6 + 22.0 * (a - 130.0_f64).to_radians().cos()).collect();
        let fit = FirstWave::fit(&angles, &heights).unwrap();
        near(fit.mean, 1e6, 1e-6);
        near(fit.amplitude(), 22.0, 1e-6);
        near(fit.high_deg(), 130.0, 1e-6);
        near(fit.leverages.iter().sum(), 3.0, 1e-12);
        assert!(fit.residuals.iter().all(|e| e.abs() < 1e-6));
    }

    #[test]
    fn leaving_out_equals_fitting_without() {
        let angles = [3.0, 80.0, 120.0, 200.0, 290.0, 300.0];
        let heights = [5.0, -3.0, 8.0, 1.0, 0.5, 9.0];
        let left_out = FirstWave::fit(&angles, &heights).unwrap().left_out();
        for gone in 0..6 {
            let without = |all: &[f64]| {
                let kept = all.iter().enumerate().filter(|&(row, _)| row != gone);
                kept.map(|(_, value)| *value).collect::<Vec<f64>>()
            };
            let others = FirstWave::fit(&without(&angles), &without(&heights)).unwrap();
            let at = (angles[gone] - others.high_deg()).to_radians();
            let expected = heights[gone] - others.mean - others.amplitude() * at.cos();
            near(left_out[gone].unwrap(), expected, 1e-9);
        }
    }

    #[test]
    fn a_touch_nobody_else_speaks_for_is_never_named() {
        // Without the touch at 180 only two angles are left.
        let fit = FirstWave::fit(&[0.0, 0.0, 90.0, 90.0, 180.0], &[0.0, 1.0, 0.0, 2.0, 99.0]);
        let fit = fit.unwrap();
        assert_eq!(fit.left_out()[4], None);
        assert!(matches!(fit.most_doubtful(), Some(2 | 3)));
    }

    #[test]
    fn too_few_angles_fit_nothing() {
        assert_eq!(FirstWave::fit(&[], &[]), None);
        assert_eq!(FirstWave::fit(&[0.0, 90.0, 360.0], &[1.0, 2.0, 3.0]), None);
        assert_eq!(FirstWave::fit(&[0.0, 90.0], &[1.0, 2.0, 3.0]), None);
    }

    #[test]
    fn the_gap_reaches_over_the_index_mark() {
        near(widest_gap_deg(&[350.0, 10.0, 100.0, 200.0]), 150.0, 1e-12);
        near(widest_gap_deg(&[90.0, 180.0]), 270.0, 1e-12);
        near(widest_gap_deg(&[45.0, 45.0]), 360.0, 1e-12);
        near(widest_gap_deg(&[-90.0, 0.0, 90.0, 180.0]), 90.0, 1e-12);
        near(widest_gap_deg(&[]), 360.0, 0.0);
    }
}
