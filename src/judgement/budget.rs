//! Adding up the shares of an uncertainty, and the factor that expands the sum.
//!
//! Squares of standard uncertainties add, each with its factor (GUM, JCGM 100:2008, 5.1.2; from
//! memory). Where every share is stated, k = 2. Otherwise k is Student's t for 95.45 % at the effective
//! degrees of freedom by Welch and Satterthwaite (GUM, G.4.1 and G.6.4; from memory).

use num_rational::Ratio;

use super::doubt::{Freedom, Known, Named, Part, Share};
use super::uncertainty::root;
use quantity::Length;

/// Student's t, two-sided, in hundredths: at 95.45 % and at 99.73 %, for 1 to 30 degrees of freedom
/// (GUM, JCGM 100:2008, table G.2, from memory; a test integrates the density).
const STUDENT: [(u32, u32); 30] = [
    (1397, 23580),
    (453, 1921),
    (331, 922),
    (287, 662),
    (265, 551),
    (252, 490),
    (243, 453),
    (237, 428),
    (232, 409),
    (228, 396),
    (225, 385),
    (223, 376),
    (221, 369),
    (220, 364),
    (218, 359),
    (217, 354),
    (216, 351),
    (215, 348),
    (214, 345),
    (213, 342),
    (213, 340),
    (212, 338),
    (211, 336),
    (211, 334),
    (211, 333),
    (210, 332),
    (210, 330),
    (209, 329),
    (209, 328),
    (209, 327),
];

/// Student's t at 95.45 %, in hundredths, each from this many degrees of freedom on.
const STUDENT_BEYOND: [(u32, u32); 7] =
    [(40, 206), (50, 205), (60, 204), (80, 203), (150, 202), (250, 201), (1000, 200)];

/// A coverage factor, in hundredths.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize, serde::Deserialize,
)]
#[serde(transparent)]
pub struct Coverage(u32);

impl Coverage {
    /// The factor where every share is stated.
    pub const TWO: Self = Self(200);

    /// The factor of so many hundredths.
    #[must_use]
    pub const fn from_hundredths(hundredths: u32) -> Self {
        Self(hundredths)
    }

    /// The factor in hundredths.
    #[must_use]
    pub const fn hundredths(self) -> u32 {
        self.0
    }

    /// The factor as a number, for display.
    #[must_use]
    pub fn to_f64(self) -> f64 {
        f64::from(self.0) / 100.0
    }

    /// Student's t for 95.45 %. Between two rows of the table the one with fewer degrees counts.
    #[must_use]
    pub fn for_freedom(freedom: Freedom) -> Self {
        let Some(degrees) = freedom.degrees() else { return Self::TWO };
        Self(row(degrees).map_or_else(
            || {
                let below = STUDENT_BEYOND.iter().rev().find(|(from, _)| *from <= degrees);
                below.map_or(STUDENT[29].0, |(_, t)| *t)
            },
            |(t, _)| t,
        ))
    }

    /// By how many standard deviations a second touch on the same spot may differ: 3, or below 30 degrees
    /// of freedom Student's t for 99.73 %.
    #[must_use]
    pub fn of_a_return(freedom: Freedom) -> Self {
        let degrees = freedom.degrees().filter(|degrees| *degrees < 30);
        Self(degrees.and_then(row).map_or(300, |(_, t)| t))
    }
}

fn row(degrees: u32) -> Option<(u32, u32)> {
    let index = usize::try_from(degrees).ok()?.checked_sub(1)?;
    STUDENT.get(index).copied()
}

/// An expanded uncertainty, and how it is known.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Expanded {
    /// Rounded up to a whole picometre.
    pub uncertainty: Length,
    /// What the standard uncertainty was multiplied by.
    pub k: Coverage,
    /// How well the least known of its shares is known.
    pub known: Known,
}

/// One share as it entered a budget.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Entered {
    /// What, and how well that is known.
    pub named: Named,
    /// What its square was multiplied by.
    pub weight: Ratio<i128>,
    /// What it adds to the square of the standard uncertainty: the product, rounded up to a whole square
    /// picometre.
    pub square: u128,
}

/// The shares of the uncertainty of one figure, each by its name.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Budget {
    entered: Vec<Entered>,
}

impl Budget {
    /// Adds a share whose square counts `times/over` times.
    #[must_use]
    pub fn with(self, share: Share, part: Part, times: u32, over: u32) -> Self {
        self.adding(Named::of(share, part), times, over)
    }

    /// Adds a share that may be the mean of several touches; its square counts `times/over` times.
    #[must_use]
    pub fn adding(self, named: Named, times: u32, over: u32) -> Self {
        self.weighing(named, Ratio::new(i128::from(times), i128::from(over.max(1))))
    }

    /// Adds a share whose square is multiplied by `weight`, which is not negative. Of a share that is
    /// entered again it is one entry, with both weights together where
    /// these are counted in the same parts.
    #[must_use]
    pub fn weighing(mut self, named: Named, weight: Ratio<i128>) -> Self {
        let square = times_up(named.part.square, weight);
        let again = self.entered.iter_mut().filter(|one| one.named == named);
        for one in again {
            let both = one.weight.numer().checked_add(*weight.numer());
            let both = both.filter(|_| one.weight.denom() == weight.denom());
            if let Some(both) = both {
                one.weight = Ratio::new(both, *weight.denom());
                one.square = one.square.saturating_add(square);
                return self;
            }
        }
        self.entered.push(Entered { named, weight, square });
        self
    }

    /// The shares in the order in which they entered. What is stated as nothing has no share.
    pub fn entered(&self) -> impl Iterator<Item = &Entered> {
        let counts = |one: &&Entered| one.square > 0 || one.named.part.known != Known::Stated;
        self.entered.iter().filter(counts)
    }

    /// How well the least known of its shares is known.
    #[must_use]
    pub fn known(&self) -> Known {
        self.entered.iter().map(|one| one.named.part.known).max().unwrap_or_default()
    }

    /// The largest share of this name that the bench's own record shows.
    #[must_use]
    pub fn recorded(&self, share: Share) -> Option<Part> {
        let recorded =
            |one: &&Entered| one.named.share == share && one.named.part.known == Known::Record;
        let of_it = self.entered.iter().filter(recorded);
        of_it.max_by_key(|one| one.square).map(|one| one.named.part)
    }

    /// Whether a share of this name is assumed.
    #[must_use]
    pub fn has_assumed(&self, share: Share) -> bool {
        let assumed =
            |one: &Entered| one.named.share == share && one.named.part.known == Known::Assumed;
        self.entered.iter().any(assumed)
    }

    /// The square of the standard uncertainty, in square picometres.
    #[must_use]
    pub fn square(&self) -> u128 {
        self.entered.iter().fold(0, |sum, one| sum.saturating_add(one.square))
    }

    /// Its squares, grouped by how they are known and how well.
    fn groups(&self) -> Vec<Part> {
        let mut groups: Vec<Part> = Vec::new();
        for Entered { named: Named { part, .. }, square, .. } in &self.entered {
            let like = |one: &&mut Part| one.known == part.known && one.freedom == part.freedom;
            match groups.iter_mut().find(like) {
                Some(same) => same.square = same.square.saturating_add(*square),
                None => groups.push(Part { square: *square, ..*part }),
            }
        }
        groups
    }

    /// Effective degrees of freedom: `u⁴/Σ(uᵢ⁴/νᵢ)`, rounded down. Shares that are known alike and equally
    /// well count as one estimate, which is on the safe side if they are several.
    #[must_use]
    #[expect(
        clippy::cast_precision_loss,
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "degrees of freedom: a positive number that reads a table, no length"
    )]
    pub fn freedom(&self) -> Freedom {
        if self.square() == 0 {
            return Freedom::UNLIMITED;
        }
        let whole = self.square() as f64;
        let term = |share: &Part| {
            share.freedom.degrees().map_or(0.0, |degrees| {
                let part = share.square as f64 / whole;
                part * part / f64::from(degrees)
            })
        };
        let sum: f64 = self.groups().iter().map(term).sum();
        // Adding 1e-9 keeps a whole number whole; casting limits an endless one.
        Freedom::of_degrees((1.0 / sum + 1e-9) as u32)
    }

    /// The expanded uncertainty.
    #[must_use]
    pub fn expanded(&self) -> Expanded {
        let k = Coverage::for_freedom(self.freedom());
        // ⌈k·√Σ⌉ = ⌈√(Σ·h²/100²)⌉ with k in hundredths.
        let factor = u128::from(k.hundredths()).pow(2);
        let uncertainty = Length::from_picometres(1);
        let uncertainty = root(uncertainty, self.square().saturating_mul(factor), 10_000);
        Expanded { uncertainty, k, known: self.known() }
    }
}

/// `square·weight`, rounded up. If the weight has more than 62 bits, it is first rounded up to that.
fn times_up(square: u128, weight: Ratio<i128>) -> u128 {
    let (above, below) = (weight.numer().unsigned_abs(), weight.denom().unsigned_abs().max(1));
    let spare = 66_u32.saturating_sub(above.leading_zeros());
    let (above, below) = match spare {
        0 => (above, below),
        _ => ((above >> spare) + 1, (below >> spare).max(1)),
    };
    square.checked_mul(above).map_or(u128::MAX, |product| product.div_ceil(below))
}

#[cfg(test)]
mod tests {
    use super::super::doubt::{Doubt, Stated, assumed_plate};
    use super::*;
    use quantity::Unit;

    fn uin(text: &str) -> Length {
        Length::parse(&format!("0.00000{text}"), Unit::Inch).unwrap()
    }

    fn reading(stated: Option<(&str, &str)>, stand_moves: bool) -> Doubt {
        let stated = stated.map(|(u, s)| (uin(u), uin(s))).unzip();
        let stated = Stated { uncertainty: stated.0, repeatability: stated.1 };
        Doubt::of(stated, Length::from_picometres(254_000), assumed_plate(stand_moves))
    }

    /// The uncertainty of a range whose touches are each the mean of `touches` lifts.
    fn range(reading: &Doubt, touches: u32) -> (f64, u32) {
        let budget = Budget::default().adding(reading.mean(touches), 2, 1);
        let found = budget.adding(reading.remains(), 2, 1).expanded();
        let uin = quantity::Figure::from(found.uncertainty).to_f64() / 25_400.0;
        ((uin * 10.0).round() / 10.0, found.k.hundredths())
    }

    #[test]
    fn hand_calculated_ranges() {
        // Nothing stated, the ring turns on the plate: 2·12² + 2·10²/3 = 354.7, root 18.83; degrees of
        // freedom 354.7²/(288²/8) = 12.1: 2.23·18.83 = 42.0.
        assert_eq!(range(&reading(None, false), 1), (42.0, 223));
        // The stand moves: 288 + 2·20²/3 = 554.7, root 23.55; 29.7 degrees: 2.09·23.55 = 49.2.
        assert_eq!(range(&reading(None, true), 1), (49.2, 209));
        // s 6, u 8.4: one touch 2·√(2·70.56) = 23.8; three 2·√(2·(12 + 34.56)) = 19.3, not 23.8/√3.
        let stated = reading(Some(("84", "6")), false);
        assert_eq!(range(&stated, 1), (23.8, 200));
        assert_eq!(range(&stated, 3), (19.3, 200));
    }

    #[test]
    fn the_expanded_uncertainty_is_rounded_up() {
        // 2·√2·213 360 pm = 603 473.2….
        let stated = reading(Some(("84", "6")), false);
        let found = Budget::default().with(Share::Reading, stated.whole(), 2, 1).expanded();
        assert_eq!((found.uncertainty.picometres(), found.k), (603_474, Coverage::TWO));
        assert_eq!(Budget::default().expanded().uncertainty, Length::ZERO);
        assert_eq!(found.known, Known::Stated);
        let counted = Budget::default().with(Share::Bar, Part::assumed(Length::ZERO), 1, 1);
        let counted = counted.expanded();
        assert_eq!((counted.known, counted.k), (Known::Assumed, Coverage::TWO));
    }

    #[test]
    fn weights_of_many_digits_cost_nothing_to_see() {
        let third = Ratio::new((1_i128 << 120) / 3, 1_i128 << 120);
        let square = 213_360_u128.pow(2);
        assert_eq!(times_up(square, Ratio::new(1, 3)), square / 3);
        assert!(times_up(square, third).abs_diff(square / 3) <= 1);
        assert_eq!(times_up(u128::MAX, Ratio::from_integer(2)), u128::MAX);
    }

    /// Two-sided coverage of Student's t by Simpson's rule over its density, the normalising constant
    /// from the same integral over the whole line (tan substitution).
    fn coverage(t: f64, degrees: u32) -> f64 {
        // With x = √ν·tan φ the density is cos^(ν−1) φ over its integral.
        let power = i32::try_from(degrees).unwrap() - 1;
        let integral = |to: f64| {
            let steps = 2000;
            let step = to / f64::from(steps);
            let at = |index: f64| (step * index).cos().powi(power);
            (0..steps)
                .map(f64::from)
                .map(|i| step / 6.0 * (at(i) + 4.0 * at(i + 0.5) + at(i + 1.0)))
                .sum::<f64>()
        };
        let whole = integral(std::f64::consts::FRAC_PI_2);
        integral((t / f64::from(degrees).sqrt()).atan()) / whole
    }

    #[test]
    fn student_as_integrated() {
        for degrees in (1..=30).chain([40, 50, 60, 80, 150, 250, 1000]) {
            let hundredths = Coverage::for_freedom(Freedom::of_degrees(degrees)).hundredths();
            let t = f64::from(hundredths) / 100.0;
            let within = coverage(t - 0.005_01, degrees)..=coverage(t + 0.005_01, degrees);
            assert!(within.contains(&0.954_499_7), "{degrees}: {t}");
            let t =
                f64::from(Coverage::of_a_return(Freedom::of_degrees(degrees)).hundredths()) / 100.0;
            let within = coverage(t - 0.005_01, degrees)..=coverage(t + 0.005_01, degrees);
            assert!(degrees >= 30 || within.contains(&0.997_300_2), "{degrees}: {t}");
        }
        assert_eq!(Coverage::for_freedom(Freedom::UNLIMITED), Coverage::TWO);
        assert_eq!(Coverage::of_a_return(Freedom::UNLIMITED).hundredths(), 300);
        assert_eq!(Coverage::of_a_return(Freedom::of_degrees(30)).hundredths(), 300);
        // Ten lifts.
        assert_eq!(Coverage::of_a_return(Freedom::of_degrees(9)).hundredths(), 409);
        assert_eq!(Coverage::for_freedom(Freedom::of_degrees(35)).hundredths(), 209);
    }

    #[test]
    fn the_end_gauge_of_the_gum_has_its_freedom_and_its_factor() {
        // JCGM 100:2008, Annex H.1, table H.1 (seen second hand): standard uncertainties in nm with their
        // degrees of freedom. Printed: u_c = 32 nm, ν = 16.7, used as 16, k₉₉ = 2.92, U₉₉ = 93 nm, which is
        // 2.92 times the rounded 32; unrounded u_c is 31.66 nm and U₉₉ 92.
        let shares = [
            (Share::Master, 25_000, 18),
            (Share::Repeatability, 5_800, 24),
            (Share::Reading, 3_900, 5),
            (Share::Angle, 6_700, 8),
            (Share::Expansion, 2_900, 50),
            // 50 mm · 11.5e-6 per °C · 0.029 °C = 16.675 nm.
            (Share::Temperature, 16_675, 2),
        ];
        let budget = shares.into_iter().fold(Budget::default(), |budget, (share, u, degrees)| {
            let u = Length::from_picometres(u);
            budget.with(share, Part::recorded(u, Freedom::of_degrees(degrees), 0), 1, 1)
        });
        let root = Part { square: budget.square(), ..Part::stated(Length::ZERO) }.u();
        assert!((31_600..31_720).contains(&root.picometres()), "{root:?}");
        assert_eq!(budget.freedom(), Freedom::of_degrees(16));
        assert!((coverage(2.92, 16) - 0.99).abs() < 2e-4, "{}", coverage(2.92, 16));
        let expanded = 2.92 * quantity::Figure::from(root).to_f64() / 1000.0;
        assert!((92.0..93.0).contains(&expanded), "{expanded}");
        // At 95.45 % and 16 degrees the table of t has 2.17.
        assert_eq!(budget.expanded().k.hundredths(), 217);
    }
}
