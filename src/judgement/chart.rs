//! The chart of a check master: the same piece measured day by day, and whether today is like the days
//! before.
//!
//! Only the three-sigma rule: readings are whole counts, and rules about runs on one side call on good
//! days (simulated).

use quantity::{Figure, Length};

use super::floor::mean_range;

/// A centre from about twenty days is itself a little off: `√(1 + 1/20)`.
const NEW_CENTRE: f64 = 1.05;

/// So many days make a chart.
const ENOUGH: usize = 10;

/// What the days so far say of the next one.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Chart {
    /// The mean of the days so far.
    pub centre: Figure,
    /// Standard deviation from day to day: the mean moving range over 1.128, at least q/√12.
    pub sigma: Length,
    /// How far from the centre a good day may lie: max(3σ·√1.05, 1.5 q), rounded up.
    pub limit: Length,
    resolution: Length,
}

impl Chart {
    /// Of the readings of earlier days, in order, in steps of `resolution`. `None` with fewer than ten.
    #[must_use]
    #[expect(
        clippy::cast_precision_loss,
        clippy::cast_possible_truncation,
        reason = "small differences of readings; a limit that is rounded up"
    )]
    pub fn of(days: &[Length], resolution: Length) -> Option<Self> {
        if days.len() < ENOUGH {
            return None;
        }
        let centre = Figure::mean(days)?;
        let moved = days.windows(2).map(|two| two[1].picometres().abs_diff(two[0].picometres()));
        let moved: u128 = moved.map(u128::from).sum();
        let step = resolution.picometres() as f64;
        let sigma = moved as f64 / (days.len() - 1) as f64 / mean_range(2);
        let sigma = sigma.max(step / 12.0_f64.sqrt());
        let limit = (3.0 * NEW_CENTRE.sqrt() * sigma).max(1.5 * step);
        let length = |picometres: f64| Length::from_picometres(picometres.ceil() as i64);
        Some(Self { centre, sigma: length(sigma), limit: length(limit), resolution })
    }

    /// Whether a day is beyond the limits.
    #[must_use]
    pub fn is_off(&self, today: Length) -> bool {
        (Figure::from(today) - self.centre).abs() > Figure::from(self.limit)
    }

    /// Whether a day lies on the centre line, as far as a reading can tell: within half a step of it.
    #[must_use]
    pub fn is_on_the_line(&self, day: Length) -> bool {
        (Figure::from(day) - self.centre).abs() * 2 <= Figure::from(self.resolution)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use quantity::Unit;

    /// Counts of 0.00001 in.
    fn counts(of: &[i64]) -> Vec<Length> {
        of.iter().map(|count| Length::from_picometres(254_000 * count)).collect()
    }

    const STEP: Length = Length::from_picometres(254_000);

    /// Twenty days of a check master, in counts.
    const DAYS: [i64; 20] = [0, 1, 0, -1, 0, 1, 1, 0, -1, 0, 0, 1, 0, 0, -1, 0, 1, 0, 0, -1];

    #[test]
    fn a_day_beyond_three_sigma_is_off_and_a_count_beside_the_line_is_on_it() {
        let chart = Chart::of(&counts(&DAYS), STEP).unwrap();
        let inches = |text| Length::parse(text, Unit::Inch).unwrap();
        assert_eq!(chart.centre, Figure::from(inches("0.0000005")));
        // By hand: 15 counts moved in 19 steps, over 1.128; three of them widened by √1.05.
        assert!((chart.sigma.picometres() - 177_712).abs() < 30, "{:?}", chart.sigma);
        assert!((chart.limit.picometres() - 546_320).abs() < 90, "{:?}", chart.limit);
        let off: Vec<i64> = (-5..=5).filter(|day| chart.is_off(counts(&[*day])[0])).collect();
        assert_eq!(off, [-5, -4, -3, 3, 4, 5], "0.00002 in either way is a good day");
        let on = counts(&DAYS).into_iter().filter(|day| chart.is_on_the_line(*day)).count();
        assert_eq!(on, 11);
    }

    #[test]
    fn days_that_are_all_alike_do_not_stop_a_good_one() {
        let chart = Chart::of(&counts(&[3; 10]), STEP).unwrap();
        assert_eq!(chart.limit.picometres(), 381_000, "a step and a half");
        assert!(!chart.is_off(counts(&[4])[0]) && chart.is_off(counts(&[5])[0]));
        assert!(Chart::of(&counts(&[3; 9]), STEP).is_none(), "nine days make no chart");
    }
}
