//! How fast something changes that is touched again and again on the same spots: a part off the grinder
//! that shrinks.
//!
//! One straight line in time through all spots, each with its own height (least squares; from memory). It is
//! worked out in whole numbers.

use super::doubt::Part;
use super::threshold::Times;
use quantity::{Figure, Length};

/// The touches on one spot: when, in thousandths of a minute, and what was read.
pub type OnOneSpot = Vec<(i64, Length)>;

/// A rate, as it was seen.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Rate {
    /// `Σ(t − mean)·(z − mean)` over all spots, picometres · thousandths of a minute.
    rise: Figure,
    /// `Σ(t − mean)²`, squares of a thousandth of a minute.
    spread: Figure,
    /// `Σ(z − mean)²`, square picometres.
    walk: Figure,
    /// Touches on spots that were touched more than once, and how many spots those are.
    touches: usize,
    spots: usize,
    /// The most touches on one spot.
    most: usize,
    /// The longest time between two touches on one spot, thousandths of a minute.
    over: i64,
    /// The scatter of one touch.
    scatter: Part,
}

/// The sums of one spot.
struct Sums {
    rise: Figure,
    spread: Figure,
    walk: Figure,
    over: i64,
}

impl Sums {
    fn of(spot: &[(i64, Length)]) -> Option<Self> {
        let first = spot.iter().map(|(at, _)| *at).min()?;
        let last = spot.iter().map(|(at, _)| *at).max()?;
        let lowest = spot.iter().map(|(_, read)| *read).min()?;
        let count = i128::try_from(spot.len()).ok()?;
        let mut sums = [0_i128; 5];
        for (at, read) in spot {
            let at = i128::from(at.checked_sub(first)?);
            let up = i128::from(read.checked_sub(lowest)?.picometres());
            let [times, heights, both, squares, walks] = &mut sums;
            *times = times.checked_add(at)?;
            *heights = heights.checked_add(up)?;
            *both = both.checked_add(at.checked_mul(up)?)?;
            *squares = squares.checked_add(at.checked_mul(at)?)?;
            *walks = walks.checked_add(up.checked_mul(up)?)?;
        }
        let [times, heights, both, squares, walks] = sums;
        // Σxy − Σx·Σy/n.
        let about_the_mean = |of: i128, one: i128, two: i128| {
            let product = one.checked_mul(two)?;
            Some(Figure::new(of.checked_mul(count)?.checked_sub(product)?, count))
        };
        Some(Self {
            rise: about_the_mean(both, times, heights)?,
            spread: about_the_mean(squares, times, times)?,
            walk: about_the_mean(walks, heights, heights)?,
            over: last.checked_sub(first)?,
        })
    }
}

/// Fewer touches on one spot never show that something changes one way: two differ for any reason.
const FEWEST_ON_A_SPOT: usize = 3;
/// Over less than two minutes no rate is told, in thousandths of a minute.
const LEAST_MINUTES: i64 = 2000;
/// Fewer touches never say that something holds still.
const FEWEST_TO_BE_STILL: usize = 6;

impl Rate {
    /// The rate that these touches show; `None` where no spot was touched twice, or the sums do not fit.
    #[must_use]
    pub fn of(spots: &[OnOneSpot], scatter: Part) -> Option<Self> {
        let repeated = spots.iter().filter(|spot| spot.len() > 1);
        let sums: Option<Vec<Sums>> = repeated.clone().map(|spot| Sums::of(spot)).collect();
        let sums = sums?;
        let add =
            |of: fn(&Sums) -> Figure| sums.iter().map(of).fold(Figure::ZERO, |all, one| all + one);
        let lengths = || repeated.clone().map(Vec::len);
        let spread = add(|one| one.spread);
        (spread > Figure::ZERO).then(|| Self {
            rise: add(|one| one.rise),
            spread,
            walk: add(|one| one.walk),
            touches: lengths().sum(),
            spots: sums.len(),
            most: lengths().max().unwrap_or(0),
            over: sums.iter().map(|one| one.over).max().unwrap_or(0),
            scatter,
        })
    }

    /// Picometres a minute; below zero where it shrinks.
    #[must_use]
    pub fn a_minute(&self) -> f64 {
        1000.0 * self.rise.to_f64() / self.spread.to_f64()
    }

    /// The same to a picometre.
    #[must_use]
    #[expect(clippy::cast_possible_truncation, reason = "a float saturates, and NaN becomes 0")]
    pub fn shown(&self) -> Length {
        Length::from_picometres(self.a_minute().round() as i64)
    }

    /// Its standard uncertainty: `s/√Σ(t − mean)²`, picometres a minute.
    #[must_use]
    pub fn u(&self) -> f64 {
        1000.0 * Figure::from(self.scatter.u()).to_f64() / self.spread.to_f64().sqrt()
    }

    /// Whether it is more than noise, and so fast that five minutes of it are more than `heat`, usually a
    /// tenth, of the tolerance (from memory of the trade). One spot at least has to be touched three times over two
    /// minutes, and the touches have to lie on the line: a step is no rate.
    #[must_use]
    pub fn alarms(&self, tolerance: Figure, heat: Times) -> bool {
        let rate = self.a_minute().abs();
        let seen = self.most >= FEWEST_ON_A_SPOT && self.over >= LEAST_MINUTES && self.is_even();
        seen && rate > 3.0 * self.u() && rate * 5.0 > heat.to_f64() * tolerance.to_f64()
    }

    /// Whether what the line leaves of the touches is not beyond three times their scatter.
    fn is_even(&self) -> bool {
        let free = self.touches.saturating_sub(self.spots + 1).max(1);
        let rise = self.rise.to_f64();
        let left = self.walk.to_f64() - rise * rise / self.spread.to_f64();
        let scatter = Figure::from(self.scatter.u()).to_f64();
        left <= 9.0 * scatter * scatter * f64::from(u32::try_from(free).unwrap_or(u32::MAX))
    }

    /// Whether it can change nothing that matters: over a series of so many thousandths of a minute the
    /// rate, and twice its uncertainty, come to `heat`, usually a tenth, of the tolerance at most. Six touches at least have
    /// to show it. It says nothing of a size: what cools slowly shrinks slowly, and far.
    #[must_use]
    pub fn is_still(&self, series: i64, tolerance: Figure, heat: Times) -> bool {
        let minutes = Figure::new(i128::from(series), 1000).to_f64();
        let most = (self.a_minute().abs() + 2.0 * self.u()) * minutes;
        self.touches >= FEWEST_TO_BE_STILL && most <= heat.to_f64() * tolerance.to_f64()
    }

    /// The longest time between two touches on one spot, thousandths of a minute.
    #[must_use]
    pub const fn over(&self) -> i64 {
        self.over
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const TENTH: Times = Times::of_hundredths(10);

    fn uin(count: i64) -> Length {
        Length::from_picometres(count * 25_400)
    }

    /// Touches on one spot: minutes and millionths of an inch.
    fn spot(touches: &[(i64, i64)]) -> OnOneSpot {
        touches.iter().map(|(minute, read)| (minute * 1000, uin(*read))).collect()
    }

    fn rate(spots: &[&[(i64, i64)]]) -> Rate {
        let spots: Vec<OnOneSpot> = spots.iter().map(|one| spot(one)).collect();
        Rate::of(&spots, Part::stated(uin(6))).unwrap()
    }

    fn tolerance(count: i64) -> Figure {
        Figure::from(uin(count))
    }

    /// By hand: 0, 10, 20 minutes, 0, −43, −86: 4.3 a minute; Σ(t − 10)² = 200, u = 6/√200 = 0.424.
    #[test]
    fn a_ring_that_cools_is_seen_to_shrink() {
        let cools = rate(&[&[(0, 0), (10, -43), (20, -86)]]);
        assert!((cools.a_minute() / 25_400.0 + 4.3).abs() < 1e-9);
        assert!((cools.u() / 25_400.0 - 0.4243).abs() < 1e-4);
        assert_eq!((cools.shown(), cools.over()), (Length::from_picometres(-109_220), 20_000));
        assert!(cools.alarms(tolerance(100), TENTH), "21.5 in five minutes, a tenth is 10");
        assert!(!cools.alarms(tolerance(300), TENTH), "a tenth is 30");
        assert!(!cools.is_still(1000, tolerance(100), TENTH), "three touches never say so");
    }

    /// Two spots with heights of their own, each touched twice, ten minutes apart: Σ = 2·50 = 100.
    #[test]
    fn each_spot_has_its_own_height() {
        let both = rate(&[&[(0, 0), (10, -20)], &[(1, 500), (11, 460)], &[(5, 77)]]);
        assert!((both.a_minute() / 25_400.0 + 3.0).abs() < 1e-9);
        assert!((both.u() / 25_400.0 - 0.6).abs() < 1e-4);
        assert!(Rate::of(&[spot(&[(5, 77)])], Part::stated(uin(6))).is_none(), "touched once");
        assert!(Rate::of(&[spot(&[(5, 77), (5, 80)])], Part::stated(uin(6))).is_none(), "at once");
    }

    #[test]
    fn noise_alone_is_no_rate() {
        // 5 in a minute: u = 6/√2 = 4.2.
        assert!(!rate(&[&[(0, 0), (1, 10), (2, 10)]]).alarms(tolerance(100), TENTH));
        assert!(rate(&[&[(0, 0), (1, 20), (2, 40)]]).alarms(tolerance(100), TENTH));
    }

    #[test]
    fn two_touches_a_step_and_a_short_while_are_no_rate() {
        assert!(!rate(&[&[(0, 0), (10, 400)]]).alarms(tolerance(100), TENTH));
        assert!(
            !rate(&[&[(0, 0), (5, 0), (10, 60)]]).alarms(tolerance(100), TENTH),
            "off by up to 20"
        );
        assert!(rate(&[&[(0, 0), (5, 30), (10, 60)]]).alarms(tolerance(100), TENTH));
        let hasty = vec![(0, uin(0)), (900, uin(100)), (1800, uin(200))];
        assert!(!Rate::of(&[hasty], Part::stated(uin(6))).unwrap().alarms(tolerance(100), TENTH));
    }

    /// Six touches over ten minutes, all alike: u = 6/√70 = 0.717 a minute. A round of a minute may then
    /// walk by 1.43: still where T is 100, not where it is 10. Half of them over as long never say so.
    #[test]
    fn six_touches_may_say_that_it_holds_still() {
        let six = [(0, 0), (2, 0), (4, 0), (6, 0), (8, 0), (10, 0)];
        assert!(rate(&[&six]).is_still(1000, tolerance(100), TENTH));
        assert!(!rate(&[&six]).is_still(1000, tolerance(10), TENTH));
        assert!(!rate(&[&six[..5]]).is_still(1000, tolerance(100), TENTH));
        assert!(!rate(&[&six]).is_still(7000, tolerance(100), TENTH), "7·1.43 = 10.04");
    }

    /// A ring with a time constant of 32 minutes, 69 too long, shrinks by less than 11 in five minutes: that
    /// it is slow does not say that it is near its size. So there is no such word for a length.
    #[test]
    fn a_slow_rate_may_have_far_to_go() {
        let left = |minutes: f64| 69.0 * (-minutes / 32.0_f64).exp();
        let five = left(0.0) - left(5.0);
        assert!(five < 10.1, "{five}");
    }

    #[test]
    fn sums_that_do_not_fit_are_no_rate() {
        let far = vec![(i64::MIN, Length::from_picometres(i64::MAX)); 4];
        assert!(Rate::of(&[far], Part::stated(uin(6))).is_none());
    }
}
