//! A round that is touched there and back: 0 … N − 1, 0 in the middle, N − 1 … 0.
//!
//! Touches of one position lie as far before the middle as after it, so a steady drift leaves their mean
//! alone. Their differences show the repeatability of this ring under this hand, the middle touch shows a
//! drift that is not steady. (Pairs that cancel a drift are common practice; the rest is our own.)

/// What a round there and back tells. Lengths are in the unit of the readings.
#[derive(Debug, Clone, PartialEq)]
pub struct ThereAndBack {
    /// The mean of both touches of each position.
    pub means: Vec<f64>,
    /// The drift from the first touch to the last, by all pairs.
    pub drift: f64,
    /// The standard deviation of one touch, with the drift taken out.
    pub s: f64,
    /// Its degrees of freedom: one less than there are pairs.
    pub freedom: usize,
    /// How far the middle touch lies from the mean of first and last, all of position 0: what a drift that
    /// bends leaves in the means.
    pub bow: f64,
}

impl ThereAndBack {
    /// The standard uncertainty that a drift which bends gives to a range: any share of the bow is as
    /// likely as another.
    #[must_use]
    pub fn u_of_bow(&self) -> f64 {
        self.bow.abs() / 3.0_f64.sqrt()
    }

    /// Whether the bow is more than scatter makes: beyond 2.73 of its own standard deviations, which is
    /// √1.5 of that of a touch.
    #[must_use]
    pub fn bends(&self, s: f64) -> bool {
        self.bow.abs() > 2.73 * 1.5_f64.sqrt() * s
    }
}

/// Looks at the readings in the order in which they were touched: `2N + 1` of them for `N` positions. `None`
/// for fewer than three positions, or another number of readings.
#[must_use]
pub fn there_and_back(readings: &[f64]) -> Option<ThereAndBack> {
    let positions = readings.len().checked_sub(1)? / 2;
    if positions < 3 || readings.len() != 2 * positions + 1 {
        return None;
    }
    let last = 2 * positions;
    let pairs = (0..positions).map(|at| (at, readings[at], readings[last - at]));
    // Time in steps from touch to touch: the pair of a position lies 2(N − at) apart.
    let apart = |at: usize| f64::from(u32::try_from(2 * (positions - at)).unwrap_or(u32::MAX));
    let (mut products, mut squares) = (0.0, 0.0);
    for (at, there, back) in pairs.clone() {
        products += apart(at) * (back - there);
        squares += apart(at).powi(2);
    }
    let a_step = products / squares;
    let off = pairs.clone().map(|(at, there, back)| (back - there - a_step * apart(at)).powi(2));
    let freedom = positions - 1;
    let s = (off.sum::<f64>() / 2.0 / f64::from(u32::try_from(freedom).ok()?)).sqrt();
    let means: Vec<f64> = pairs.map(|(_, there, back)| f64::midpoint(there, back)).collect();
    let bow = means[0] - readings[positions];
    Some(ThereAndBack { drift: a_step * apart(0), s, freedom, bow, means })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The readings of a ring there and back under a drift.
    fn touched(ring: &[f64], drift: impl Fn(f64) -> f64) -> Vec<f64> {
        let positions = ring.len();
        let order = (0..positions).chain([0]).chain((0..positions).rev());
        let steps = f64::from(u32::try_from(2 * positions).unwrap());
        let at = |step: usize| f64::from(u32::try_from(step).unwrap()) / steps;
        order.enumerate().map(|(step, position)| ring[position] + drift(at(step))).collect()
    }

    const RING: [f64; 8] = [0.0, 30.0, 50.0, 20.0, -10.0, -40.0, -20.0, 10.0];

    fn range(heights: &[f64]) -> f64 {
        let most = heights.iter().copied().fold(f64::MIN, f64::max);
        most - heights.iter().copied().fold(f64::MAX, f64::min)
    }

    #[test]
    fn a_steady_drift_leaves_the_ring_alone() {
        let told = there_and_back(&touched(&RING, |at| 60.0 * at)).unwrap();
        assert!((range(&told.means) - 90.0).abs() < 1e-9);
        assert!((told.drift - 60.0).abs() < 1e-9 && told.s < 1e-9 && told.bow.abs() < 1e-9);
        assert_eq!(told.freedom, 7);
    }

    #[test]
    fn a_drift_of_60_that_bends_leaves_a_false_15_and_the_middle_touch_shows_it() {
        let told = there_and_back(&touched(&[0.0; 8], |at| 60.0 * at * at)).unwrap();
        assert!((told.bow - 15.0).abs() < 1e-9, "{told:?}");
        let false_range = range(&told.means);
        assert!((14.0..=15.0).contains(&false_range), "{false_range}");
        assert!(told.bends(3.0) && !told.bends(6.0));
        assert!((told.u_of_bow() - 8.660).abs() < 1e-3);
    }

    #[test]
    fn the_scatter_of_the_pairs_is_that_of_a_touch() {
        // Pairs that differ by +6, −6, … with no slope: each touch scatters by 6/√2 beside its mean.
        let mut readings = touched(&RING, |_| 0.0);
        let signs = [1.0, -1.0, -1.0, 1.0, -1.0, 1.0, 1.0, -1.0];
        for (at, sign) in signs.iter().enumerate() {
            readings[16 - at] += 6.0 * sign;
        }
        let told = there_and_back(&readings).unwrap();
        let slope: f64 = signs
            .iter()
            .zip((1..=8).rev())
            .map(|(sign, apart)| 12.0 * sign * f64::from(apart))
            .sum();
        let left = 8.0 * 36.0 - slope * slope / (4.0 * 204.0);
        assert!((told.s - (left / 14.0).sqrt()).abs() < 1e-9, "{told:?}");
    }

    #[test]
    fn another_number_of_readings_is_no_such_round() {
        for count in [0, 1, 2, 5, 8, 16] {
            assert_eq!(there_and_back(&vec![0.0; count]), None, "{count}");
        }
        assert!(there_and_back(&[0.0; 7]).is_some());
    }
}
