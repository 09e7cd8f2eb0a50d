//! A steady drift of the zero, seen on one surface that is touched three times in a series: at its
//! beginning, in its middle and at its end.
//!
//! Two touches show that something walked, and not how: in one step, in a bow, or evenly. A third one in
//! the middle third of the series tells them apart. An even drift is a straight line in the order of
//! touches, and can be taken out of every reading in between; anything else cannot.
//!
//! The rule and its limits were worked out by simulation and by hand; no published one was found.

use num_rational::Ratio;

use super::doubt::Part;
use super::threshold::{Times, Traps};
use quantity::{Figure, Length};

/// The same surface, touched three times.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ThreeTouches {
    /// What the first, the middle and the last touch showed.
    pub shown: [Length; 3],
    /// Where the middle one lies in the order of touches: 0 at the first, 1 at the last.
    pub middle: Ratio<i128>,
}

/// A line through three touches of one surface.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Drift {
    /// Last minus first touch.
    far: Length,
    /// How far the middle touch lies off the line from the first to the last, away from zero; a fraction
    /// of a picometre counts as a whole one.
    bow: Length,
    /// The scatter of one touch on one spot, s.
    scatter: Part,
    /// From how many s on the last minus the first touch is more than noise.
    seen_from: Times,
    /// Up to how many s the bow may be noise.
    steady_to: Times,
}

impl Drift {
    /// The line, judged by the thresholds `drift` and `bow`; `None` where the middle touch is not in the
    /// middle third, or the differences do not fit.
    #[must_use]
    pub fn through(touches: &ThreeTouches, scatter: Part, traps: &Traps) -> Option<Self> {
        let ThreeTouches { shown: [first, middle, last], middle: place } = *touches;
        if !in_the_middle_third(place) {
            return None;
        }
        let far = last.checked_sub(first)?;
        let up = Figure::from(middle.checked_sub(first)?);
        let bow = up - share_of(far, place);
        let whole = if bow < Figure::ZERO { -(-bow).ceil() } else { bow.ceil() };
        let bow = Length::from_picometres(i64::try_from(whole).ok()?);
        Some(Self { far, bow, scatter, seen_from: traps.drift, steady_to: traps.bow })
    }

    /// Whether the last touch is so far off the first that it is no noise, usually |drift| > 4.2·s.
    #[must_use]
    pub fn is_seen(&self) -> bool {
        let most = self.scatter.square.saturating_mul(self.seen_from.square_of_hundredths());
        square(self.far).saturating_mul(10_000) > most
    }

    /// Whether the middle touch lies on the line, usually |bow| ≤ 3.1·s.
    #[must_use]
    pub fn is_steady(&self) -> bool {
        let most = self.scatter.square.saturating_mul(self.steady_to.square_of_hundredths());
        square(self.bow).saturating_mul(10_000) <= most
    }

    /// Whether it is taken out of the readings.
    #[must_use]
    pub fn is_taken_out(&self) -> bool {
        self.is_seen() && self.is_steady()
    }

    /// Last minus first touch.
    #[must_use]
    pub const fn far(&self) -> Length {
        self.far
    }

    /// How far the middle touch lies off the line.
    #[must_use]
    pub const fn bow(&self) -> Length {
        self.bow
    }

    /// What the line adds to a reading at this place: 0 at the first touch, 1 at the last.
    #[must_use]
    pub fn at(&self, place: Ratio<i128>) -> Figure {
        share_of(self.far, place)
    }

    /// The uncertainty of the whole drift, √2·s: of two readings as far apart in the order of touches as
    /// the first and the last. Of two that are a share of that apart, the same share.
    #[must_use]
    pub fn slope(&self) -> Part {
        Part { square: self.scatter.square.saturating_mul(2), ..self.scatter }
    }

    /// The uncertainty that remains because the line may be bent: max(|bow|, 1.22·s)/√3. The bow itself
    /// scatters by √1.5·s, so that no smaller one can be seen.
    #[must_use]
    pub fn bend(&self) -> Part {
        let unseen = self.scatter.square.saturating_mul(3).div_ceil(2);
        Part { square: square(self.bow).max(unseen).div_ceil(3), ..self.scatter }
    }

    /// How far the line may be bent to either side: max(|bow|, 1.22·s).
    #[must_use]
    pub fn bent_by(&self) -> Length {
        Part { square: self.bend().square.saturating_mul(3), ..self.scatter }.u()
    }
}

/// Whether a place in the order of touches lies in the middle third.
#[must_use]
pub fn in_the_middle_third(place: Ratio<i128>) -> bool {
    (Ratio::new(1, 3)..=Ratio::new(2, 3)).contains(&place)
}

fn share_of(far: Length, place: Ratio<i128>) -> Figure {
    Figure::new(i128::from(far.picometres()) * place.numer(), *place.denom())
}

fn square(length: Length) -> u128 {
    u128::from(length.picometres().unsigned_abs()).saturating_pow(2)
}

#[cfg(test)]
mod tests {
    use super::super::budget::Budget;
    use super::super::doubt::Share;
    use super::*;

    fn uin(count: i64) -> Length {
        Length::from_picometres(count * 25_400)
    }

    fn through(shown: [i64; 3], place: (i128, i128)) -> Option<Drift> {
        let touches = ThreeTouches { shown: shown.map(uin), middle: Ratio::new(place.0, place.1) };
        Drift::through(&touches, Part::stated(uin(6)), &Traps::default())
    }

    fn halfway(shown: [i64; 3]) -> Drift {
        through(shown, (1, 2)).unwrap()
    }

    /// By hand, s 6 µin: 4.2·6 = 25.2; 3.1·6 = 18.6; the bow is the middle minus the mean of the ends.
    #[test]
    fn an_even_drift_is_taken_out_and_a_step_is_not() {
        let taken = |shown| halfway(shown).is_taken_out();
        assert!(taken([0, 20, 40]));
        assert!(taken([0, -20, -40]));
        assert!(!taken([0, 40, 40]), "bow 20: all of it came before the middle");
        assert!(!taken([0, 0, 40]), "bow -20");
        assert!(taken([0, 38, 40]), "bow 18 is within 3.1 s");
        assert!(!taken([0, 39, 40]), "bow 19 is not");
        assert!(!taken([0, 12, 25]), "25 may be noise");
        assert!(taken([0, 13, 26]));
        assert!(!taken([0, 40, 0]));
        assert!(!halfway([0, 40, 0]).is_steady());
    }

    #[test]
    fn the_middle_touch_has_to_lie_in_the_middle_third() {
        assert!(through([0, 20, 40], (1, 3)).is_some());
        assert!(through([0, 20, 40], (2, 3)).is_some());
        assert!(through([0, 20, 40], (33, 100)).is_none());
        assert!(through([0, 20, 40], (67, 100)).is_none());
        // Off the middle the bow is taken from the line at that place: 20 − 40·4/9.
        let fourth = through([0, 20, 40], (4, 9)).unwrap();
        assert_eq!(fourth.bow().picometres(), 56_445, "20/9 µin, rounded away from zero");
        assert_eq!(fourth.at(Ratio::new(1, 4)), Figure::from(uin(10)));
    }

    /// u 8.4, Δt ½: 2·8.4² + (√2·6·½)² + 1.5·6²/3 = 141.12 + 18 + 18; twice its root is 26.61.
    #[test]
    fn the_uncertainty_of_a_range_without_its_drift() {
        let drift = halfway([0, 20, 40]);
        let reading = Part::stated(Length::from_picometres(213_360));
        let budget = Budget::default().with(Share::Reading, reading, 2, 1);
        let budget = budget.with(Share::Drift, drift.slope(), 1, 4);
        let budget = budget.with(Share::Drift, drift.bend(), 1, 1);
        let found = quantity::Figure::from(budget.expanded().uncertainty).to_f64() / 25_400.0;
        assert!((found - 26.61).abs() < 0.01, "{found}");
        assert_eq!(drift.bent_by(), Part { square: 54 * 25_400 * 25_400, ..reading }.u());
        // A bow that is seen counts in full: 18²/3 = 108.
        assert_eq!(halfway([0, 38, 40]).bend().square, 108 * 25_400 * 25_400);
    }

    proptest::proptest! {
        /// A line is as good backwards: the same drift the other way round.
        #[test]
        fn a_line_is_the_same_in_a_mirror(a in -500..500_i64, b in -500..500_i64, c in -500..500_i64) {
            let [there, back] = [[a, b, c], [c, b, a]].map(halfway);
            proptest::prop_assert_eq!(there.is_taken_out(), back.is_taken_out());
            proptest::prop_assert_eq!(there.bow().picometres(), back.bow().picometres());
            proptest::prop_assert_eq!(there.far().picometres(), -back.far().picometres());
            let turned = halfway([-a, -b, -c]);
            proptest::prop_assert_eq!(turned.bend(), there.bend());
        }

        /// What is taken out of the first touch is nothing, of the last all; a middle one that lies on the
        /// line leaves no bow, wherever in the middle third it is.
        #[test]
        fn touches_on_a_line_leave_no_bow(first in -500..500_i64, far in -500..500_i64, place in 30..61_i64) {
            let (last, on) = (first + 90 * far, first + place * far);
            let line = through([first, on, last], (place.into(), 90)).unwrap();
            proptest::prop_assert_eq!(line.bow(), Length::ZERO);
            proptest::prop_assert!(line.is_steady());
            proptest::prop_assert_eq!(line.at(Ratio::ZERO), Figure::ZERO);
            proptest::prop_assert_eq!(line.at(Ratio::from_integer(1)), Figure::from(line.far()));
            // No bow is known better than the touches scatter: 1.22·6.
            proptest::prop_assert_eq!(line.bend().square, 18 * 25_400 * 25_400);
        }
    }

    #[test]
    fn differences_beyond_the_range_of_a_length_are_no_line() {
        let far = [i64::MIN, 0, i64::MAX].map(Length::from_picometres);
        let touches = ThreeTouches { shown: far, middle: Ratio::new(1, 2) };
        assert_eq!(Drift::through(&touches, Part::stated(uin(6)), &Traps::default()), None);
    }
}
