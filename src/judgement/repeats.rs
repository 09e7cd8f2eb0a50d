//! Several touches on one spot: how far apart they may lie.

use super::budget::Coverage;
use super::doubt::{Freedom, Known, Part};
use super::threshold::Times;
use super::uncertainty::root;
use quantity::{Figure, Length};

/// The span of two to ten normal values of s = 1 that is exceeded in 27 of 10 000 series, in hundredths,
/// rounded up to a twentieth. For three it is 4.7. A test integrates the distribution of the range.
const SPAN: [u32; 9] = [425, 470, 495, 515, 530, 540, 550, 560, 565];

/// How far apart several touches on one spot may lie before they are made anew.
///
/// The limit is `max(f·t/3·s, 2·q)`: f is `times`, usually 4.7, for three touches and so much for other
/// numbers that good work goes beyond it equally rarely; t is 3, or below 30 degrees of freedom Student's t for 99.73 %.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Repeats {
    /// The scatter of a touch on one spot.
    pub scatter: Part,
    /// The resolution of the gauge.
    pub resolution: Length,
    /// How many s three touches may span: [`super::Traps::spread`].
    pub times: Times,
}

impl Repeats {
    /// The same, where the scatter is only assumed and other spots of this series show more of it. A hand
    /// that is less steady than was assumed is not asked at every spot.
    #[must_use]
    pub fn or_as_shown(self, others: Shown) -> Self {
        if self.scatter.known != Known::Assumed || others.freedom == 0 {
            return self;
        }
        let square = others.squares.div_ceil(u128::from(others.freedom));
        if square <= self.scatter.square {
            return self;
        }
        let freedom = Freedom::of_degrees(others.freedom);
        Self { scatter: Part { square, freedom, ..self.scatter }, ..self }
    }

    /// The largest span of so many touches that noise alone explains, rounded up to a picometre.
    #[must_use]
    pub fn limit(self, touches: usize) -> Length {
        let steps = Length::from_picometres(self.resolution.picometres().saturating_mul(2));
        let factor = SPAN[touches.clamp(2, 10) - 2];
        let t = Coverage::of_a_return(self.scatter.freedom).hundredths();
        let set = u128::from(self.times.hundredths());
        let times = u128::from(factor) * u128::from(t) * set;
        let under = 30_000 * u128::from(SPAN[1]);
        let square = self.scatter.square.saturating_mul(times * times);
        root(Length::from_picometres(1), square, under * under).max(steps)
    }

    /// How far apart touches lie, where that is beyond the limit.
    #[must_use]
    pub fn apart(self, touches: &[Length]) -> Option<Length> {
        let span = touches.iter().max()?.checked_sub(*touches.iter().min()?)?;
        (touches.len() > 1 && span > self.limit(touches.len())).then_some(span)
    }
}

/// What touches on some spots show of the scatter of the hand.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Shown {
    /// The sum of the squares of their distances from the mean of each spot, square picometres.
    squares: u128,
    /// One less than the touches on each spot, summed.
    freedom: u32,
}

impl Shown {
    /// Of the touches on one spot; each distance is rounded up to a picometre, which is enough for a limit.
    #[must_use]
    pub fn of_spot(touches: &[Length]) -> Self {
        let Some(mean) = Figure::mean(touches).filter(|_| touches.len() > 1) else {
            return Self::default();
        };
        let off = |one: &Length| (Figure::from(*one) - mean).abs().ceil().unsigned_abs();
        let squares = touches.iter().map(|one| off(one).saturating_pow(2));
        Self {
            squares: squares.fold(0, u128::saturating_add),
            freedom: u32::try_from(touches.len() - 1).unwrap_or(u32::MAX),
        }
    }

    /// The standard deviation of one touch; `None` where no spot was touched twice.
    #[must_use]
    pub fn scatter(self) -> Option<Part> {
        let square = self.squares.checked_div(u128::from(self.freedom))?;
        let count = self.freedom.saturating_add(1);
        let part = Part::recorded(Length::ZERO, Freedom::of_degrees(self.freedom), count);
        Some(Part { square, ..part })
    }

    /// With those of another spot.
    #[must_use]
    pub fn and(self, other: Self) -> Self {
        Self {
            squares: self.squares.saturating_add(other.squares),
            freedom: self.freedom.saturating_add(other.freedom),
        }
    }

    /// Without those of one of the spots.
    #[must_use]
    pub fn without(self, one: Self) -> Self {
        Self {
            squares: self.squares.saturating_sub(one.squares),
            freedom: self.freedom.saturating_sub(one.freedom),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const USUAL: Times = Times::of_hundredths(470);

    fn uin(millionths: i64) -> Length {
        Length::from_picometres(millionths * 25_400)
    }

    fn stated(s: i64) -> Repeats {
        Repeats { scatter: Part::stated(uin(s)), resolution: uin(10), times: USUAL }
    }

    #[test]
    fn the_factors_are_those_of_a_range_that_good_work_exceeds_27_times_in_10_000() {
        // P(range ≤ w) = n·∫ φ(x)·(Φ(x + w) − Φ(x))ⁿ⁻¹ dx, with Φ by summing φ.
        let density = |x: f64| (-x * x / 2.0).exp() / (2.0 * std::f64::consts::PI).sqrt();
        let step = 0.005_f64;
        let middle = |nth: u32| -9.0 + step * (f64::from(nth) + 0.5);
        let within = |n: i32, w: f64| {
            let ahead = (0..).map(middle).take_while(|x| *x < -9.0 + w);
            let mut between = ahead.map(|x| density(x) * step).sum::<f64>();
            let mut sum = 0.0;
            for x in (0..3600).map(middle) {
                // The window moves on by a step; at the middle of it half of that is done.
                let moves = (density(x + w) - density(x)) * step;
                sum += f64::from(n) * density(x) * (between + moves / 2.0).powi(n - 1) * step;
                between += moves;
            }
            sum
        };
        for (n, factor) in (2..).zip(SPAN) {
            let w = f64::from(factor) / 100.0;
            let beyond = [w, w - 0.06].map(|w| 10_000.0 * (1.0 - within(n, w)));
            assert!(beyond[0] <= 27.2 && beyond[1] >= 26.8, "{n}: {beyond:?}");
        }
    }

    #[test]
    fn touches_on_one_spot_may_span_so_much() {
        // 4.7·6 = 28.2.
        assert_eq!(stated(6).limit(3).picometres(), 282 * 2_540);
        assert_eq!(stated(6).apart(&[uin(0), uin(30), uin(10)]), Some(uin(30)));
        assert_eq!(stated(6).apart(&[uin(0), uin(20), uin(10)]), None);
        // Two counts say nothing, however fine the hand.
        assert_eq!(stated(1).apart(&[uin(0), uin(20), uin(10)]), None);
        assert_eq!(stated(1).apart(&[uin(0), uin(30), uin(10)]), Some(uin(30)));
        assert_eq!(stated(6).apart(&[uin(0)]), None);
        assert_eq!(stated(6).apart(&[]), None);
    }

    #[test]
    fn a_scatter_that_is_assumed_gives_way_to_what_the_other_spots_show() {
        let scatter = Part { freedom: Freedom::TO_A_QUARTER, ..Part::assumed(uin(12)) };
        let assumed = Repeats { scatter, resolution: uin(10), times: USUAL };
        // 4.7·4.28/3·12 = 80.464.
        assert_eq!(assumed.limit(3).picometres(), 2_043_786);
        let spot = Shown::of_spot(&[uin(0), uin(30), uin(60)]);
        let rough = (0..8).fold(Shown::default(), |all, _| all.and(spot)).without(spot);
        // s = 30 from 14 degrees of freedom, t = 3.64: 171.08.
        let shown = assumed.or_as_shown(rough);
        assert_eq!(shown.scatter.u(), uin(30));
        assert_eq!(shown.limit(3).picometres(), 4_345_432);
        assert_eq!(assumed.or_as_shown(Shown::of_spot(&[uin(5)])), assumed);
        assert_eq!(assumed.or_as_shown(Shown::of_spot(&[])), assumed);
        let fine = Shown::of_spot(&[uin(0), uin(1)]);
        assert_eq!(assumed.or_as_shown(fine), assumed, "never less than assumed");
        assert_eq!(stated(6).or_as_shown(rough), stated(6), "what is stated stands");
    }
}
