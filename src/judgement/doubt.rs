//! The uncertainty of one reading, in two parts: one that averages and the rest.
//!
//! `s`, the scatter of one lift, averages: it differs from touch to touch. The rest, √(u² − s²), does
//! not: plate or stand, the scale, and all else that touches have in common or that no touch shows.
//! Squares of standard uncertainties are kept, in square picometres, so that a root is taken only once.

use std::cmp::Reverse;

use super::uncertainty::root;
use quantity::Length;

quantity::worded! {
    /// How a share of an uncertainty is known, the best first. A figure is known as well as the worst of
    /// its shares.
    #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
    pub enum Known {
        /// The configuration or the plan says it.
        #[default]
        Stated = "stated",
        /// The bench's own record shows it.
        Record = "record",
        /// Nobody says it: common practice, no source, or counted as nothing.
        Assumed = "assumed",
    }
}

quantity::worded! {
    /// What a share of the uncertainty of a figure comes from.
    #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
    pub enum Share {
        /// A reading with everything that is stated of its gauge, other than its scatter.
        Reading = "reading",
        /// The last place of the readout.
        Resolution = "resolution",
        /// The scatter of touches on one spot.
        Repeatability = "repeatability",
        /// How far off the surface was when it was touched again at the end.
        Return = "return",
        /// The plate under a part that is turned on it.
        Plate = "plate",
        /// The stand, or the plate under a stand that is moved.
        Stand = "stand",
        /// How a bar or a part seats.
        Seating = "seating",
        /// The run-out of the bar itself.
        Bar = "bar",
        /// The size of the master.
        Master = "master",
        /// How far the zero moved between two touches on the master.
        Walk = "walk",
        /// A steady drift that was taken out.
        Drift = "drift",
        /// The temperature between part and master.
        Temperature = "temperature",
        /// How well the expansion of the parts is known.
        Expansion = "expansion",
        /// The angle of a lever.
        Angle = "angle",
        /// Where along the axis a diameter was touched.
        Station = "station",
        /// The face offsets of bearings.
        Offset = "offset",
    }
}

/// Degrees of freedom: how well a standard uncertainty itself is known.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Freedom(u32);

impl Freedom {
    /// No limit: what is stated counts as exact.
    pub const UNLIMITED: Self = Self(u32::MAX);
    /// Known to 25 %: ν = 1/(2·0.25²) (GUM, JCGM 100:2008, G.4.2; from memory).
    pub const TO_A_QUARTER: Self = Self(8);

    /// This many degrees, at least one.
    #[must_use]
    pub const fn of_degrees(degrees: u32) -> Self {
        Self(if degrees == 0 { 1 } else { degrees })
    }

    /// The number of degrees; `None` where there is no limit.
    #[must_use]
    pub const fn degrees(self) -> Option<u32> {
        if self.0 == u32::MAX { None } else { Some(self.0) }
    }
}

/// One standard uncertainty, and how well it is known.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Part {
    /// Its square, square picometres.
    pub square: u128,
    /// How it is known.
    pub known: Known,
    /// Its degrees of freedom.
    pub freedom: Freedom,
    /// How many differences of the bench's own record it is pooled from; 0 for what is not.
    pub count: u32,
}

impl Part {
    /// A standard uncertainty that is stated.
    #[must_use]
    pub fn stated(u: Length) -> Self {
        Self { square: square(u), known: Known::Stated, freedom: Freedom::UNLIMITED, count: 0 }
    }

    /// A standard uncertainty that nobody states. Zero means that something was counted as nothing.
    #[must_use]
    pub fn assumed(u: Length) -> Self {
        Self { known: Known::Assumed, ..Self::stated(u) }
    }

    /// The standard uncertainty of a value anywhere within ± `half`: half/√3, its square rounded up.
    #[must_use]
    pub fn within(half: Length, known: Known) -> Self {
        Self { square: square(half).div_ceil(3), known, ..Self::stated(half) }
    }

    /// A standard deviation that the bench's own record shows, from this many differences.
    #[must_use]
    pub fn recorded(s: Length, freedom: Freedom, count: u32) -> Self {
        Self { known: Known::Record, freedom, count, ..Self::stated(s) }
    }

    /// The standard uncertainty, rounded up to a picometre.
    #[must_use]
    pub fn u(self) -> Length {
        root(ONE, self.square, 1)
    }

    /// The larger of two; of two equal ones the less known. The order does not matter.
    #[must_use]
    pub fn larger(self, other: Self) -> Self {
        let size = |part: &Self| (part.square, part.known, Reverse(part.freedom));
        [self, other].into_iter().max_by_key(size).unwrap_or(self)
    }
}

/// A share of a figure's uncertainty, by its name.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Named {
    /// What it is the uncertainty of.
    pub share: Share,
    /// What enters.
    pub part: Part,
    /// How many touches it is the mean of.
    pub touches: u32,
    /// The square for one of those touches, square picometres.
    pub of_one: u128,
}

impl Named {
    /// A share that no averaging lowers.
    #[must_use]
    pub const fn of(share: Share, part: Part) -> Self {
        Self { share, part, touches: 1, of_one: part.square }
    }
}

impl From<(Share, Part)> for Named {
    fn from((share, part): (Share, Part)) -> Self {
        Self::of(share, part)
    }
}

/// Standard uncertainties stated for a gauge.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Stated {
    /// Of one reading, everything included.
    pub uncertainty: Option<Length>,
    /// The scatter of lifts on one spot.
    pub repeatability: Option<Length>,
}

/// The uncertainty of one reading, in its two parts.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Doubt {
    /// The part that averages, s. `None` where no split is stated: then all of u is in the rest.
    averages: Option<Part>,
    rest: Part,
    /// What the rest is.
    rest_is: Share,
    resolution: Length,
}

/// The scatter assumed for a hand and a gauge where nothing is stated: 12 µin (common practice, no
/// source).
const BELIEVED_SCATTER: Length = Length::from_picometres(304_800);
/// How uneven a surface plate is under a part that turns on it: 10 µin (common practice, no source).
const PLATE: Length = Length::from_picometres(254_000);
/// How uneven it is under a stand that slides: 20 µin (common practice, no source).
const UNDER_A_STAND: Length = Length::from_picometres(508_000);

/// The share of the plate where nothing is stated: 10 µin/√3, or 20 µin/√3 where the stand moves, for
/// a value anywhere within these limits.
#[must_use]
pub fn assumed_plate(stand_moves: bool) -> (Share, Part) {
    let (share, half) =
        if stand_moves { (Share::Stand, UNDER_A_STAND) } else { (Share::Plate, PLATE) };
    (share, Part::within(half, Known::Assumed))
}

impl Doubt {
    /// The uncertainty of a reading of a gauge with display steps of `resolution`; `assumed_rest` is used
    /// where the rest is not stated.
    ///
    /// - both stated: s is the repeatability, the rest is √(u² − s²)
    /// - only `uncertainty`: there is no split, and touching more often lowers none of it
    /// - only `repeatability`: the rest is assumed
    /// - nothing: s = max(q/2, 12 µin), known to 25 %, and the rest is assumed
    ///
    /// The scatter is never below q/√12, since the last place hides that much.
    #[must_use]
    pub fn of(stated: Stated, resolution: Length, assumed_rest: (Share, Part)) -> Self {
        let half =
            Length::from_picometres(resolution.picometres() / 2 + resolution.picometres() % 2);
        let believed =
            Part { freedom: Freedom::TO_A_QUARTER, ..Part::assumed(half.max(BELIEVED_SCATTER)) };
        let (averages, (rest_is, rest)) = match (stated.repeatability, stated.uncertainty) {
            (Some(s), Some(u)) => {
                // Rounding is part of u too.
                let s_all = square(s).max(square(resolution).div_ceil(12));
                let rest = square(u).saturating_sub(s_all);
                (Some(Part::stated(s)), (Share::Reading, Part { square: rest, ..Part::stated(u) }))
            }
            (Some(s), None) => (Some(Part::stated(s)), assumed_rest),
            (None, Some(u)) => (None, (Share::Reading, Part::stated(u))),
            (None, None) => (Some(believed), assumed_rest),
        };
        Self { averages, rest, rest_is, resolution }
    }

    /// The same beside what the bench's own record shows of the scatter of touches: that takes the place of
    /// what was assumed, and of what is stated where it is larger. Where no split is stated, it is held
    /// against all of u.
    #[must_use]
    pub fn beside_record(self, s: Part) -> Self {
        match self.averages {
            Some(scatter) if scatter.known == Known::Assumed => Self { averages: Some(s), ..self },
            Some(scatter) => Self { averages: Some(scatter.larger(s)), ..self },
            None => {
                let rest = self.rest.larger(s);
                let rest_is = if rest == self.rest { self.rest_is } else { Share::Repeatability };
                Self { rest, rest_is, ..self }
            }
        }
    }

    /// The same for a dial read by eye in steps of `step`. If these are coarser than everything stated of
    /// the dial, the uncertainty counts as assumed.
    #[must_use]
    pub fn by_eye(self, step: Length) -> Self {
        let step = step.max(self.resolution);
        let coarser = square(step).div_ceil(12) > self.whole().square;
        let part = |part: Part| if coarser { Part { known: Known::Assumed, ..part } } else { part };
        let believed = |s: Part| match s.known {
            Known::Assumed => Part { square: s.square.max(square(step).div_ceil(4)), ..s },
            Known::Stated | Known::Record => part(s),
        };
        Self {
            averages: self.averages.map(believed),
            rest: part(self.rest),
            resolution: step,
            ..self
        }
    }

    /// The worse of two, for readings that are combined: the larger of each part, the coarser of the two
    /// steps, and how the less known of the two is known. The order does not matter.
    #[must_use]
    pub fn worse(self, other: Self) -> Self {
        let (one, two) = (self.whole(), other.whole());
        let size = |of: &Self| {
            let whole = of.whole();
            (whole.square, of.rest().square, Reverse(whole.freedom))
        };
        let larger = [self, other].into_iter().max_by_key(size).unwrap_or(self);
        let known = one.known.max(two.known);
        let part = |part: Part| Part { known: part.known.max(known), ..part };
        Self {
            averages: larger.averages.map(part),
            rest: part(larger.rest),
            rest_is: larger.rest_is,
            resolution: self.resolution.max(other.resolution),
        }
    }

    /// The scatter of the mean of this many touches or tries: max(s²/n, q²/12); zero where no split is
    /// stated.
    #[must_use]
    pub fn averaged(&self, touches: u32) -> Part {
        let Some(s) = self.averages else { return Part::stated(Length::ZERO) };
        let square = s.square.div_ceil(u128::from(touches.max(1)));
        Part { square: square.max(self.last_place()), ..s }
    }

    /// The same by its name: the scatter of touches, or the last place where that is what remains.
    #[must_use]
    pub fn mean(&self, touches: u32) -> Named {
        let part = self.averaged(touches);
        let of_one = self.averaged(1).square;
        let Some(s) = self.averages else { return Named::of(Share::Repeatability, part) };
        if s.square.div_ceil(u128::from(touches.max(1))) < part.square {
            return Named::of(Share::Resolution, part);
        }
        Named { share: Share::Repeatability, part, touches: touches.max(1), of_one }
    }

    /// The part that averaging does not lower, by its name.
    #[must_use]
    pub fn remains(&self) -> Named {
        let part = self.rest();
        let of_the_readout = part.square > self.rest.square;
        Named::of(if of_the_readout { Share::Resolution } else { self.rest_is }, part)
    }

    /// How far touches on one spot scatter, by its name: [`scatter`](Self::scatter).
    #[must_use]
    pub fn scatters(&self) -> Named {
        if self.averages.is_some() { self.mean(1) } else { self.remains() }
    }

    /// The part that averaging does not lower; at least q/√12 where it is all there is.
    #[must_use]
    pub fn rest(&self) -> Part {
        let least = if self.averages.is_none() { self.last_place() } else { 0 };
        Part { square: self.rest.square.max(least), ..self.rest }
    }

    /// How far touches on one spot scatter: s, at least q/√12. Where no split is stated it is all of u,
    /// since the scatter is no more than that.
    #[must_use]
    pub fn scatter(&self) -> Part {
        if self.averages.is_some() { self.averaged(1) } else { self.rest() }
    }

    /// The uncertainty of one touch, both parts together: s² + rest².
    #[must_use]
    pub fn whole(&self) -> Part {
        let (s, rest) = (self.averaged(1), self.rest());
        Part {
            square: s.square.saturating_add(rest.square),
            known: s.known.max(rest.known),
            freedom: s.freedom.min(rest.freedom),
            count: s.count.max(rest.count),
        }
    }

    /// The smallest step of the readings.
    #[must_use]
    pub const fn resolution(&self) -> Length {
        self.resolution
    }

    /// q²/12, rounded up.
    #[must_use]
    pub fn last_place(&self) -> u128 {
        square(self.resolution).div_ceil(12)
    }
}

/// The unit of a root that is in picometres already.
const ONE: Length = Length::from_picometres(1);

fn square(length: Length) -> u128 {
    u128::from(length.picometres().unsigned_abs()).saturating_pow(2)
}

#[cfg(test)]
mod tests {
    use super::*;
    use quantity::Unit;

    fn uin(text: &str) -> Length {
        Length::parse(&format!("0.00000{text}"), Unit::Inch).unwrap()
    }

    fn reading(u: Option<&str>, s: Option<&str>) -> Doubt {
        let stated = Stated { uncertainty: u.map(uin), repeatability: s.map(uin) };
        Doubt::of(stated, Length::from_picometres(254_000), assumed_plate(false))
    }

    /// 8.4 and 6 µin are 213 360 and 152 400 pm.
    const U: u128 = 213_360 * 213_360;
    const S: u128 = 152_400 * 152_400;
    /// 10 µin: q²/12 and (10 µin)²/3.
    const STEP: u128 = 254_000 * 254_000;

    #[test]
    fn both_stated() {
        let found = reading(Some("84"), Some("6"));
        assert_eq!((found.averaged(1).square, found.rest().square), (S, U - S));
        assert_eq!(found.whole(), Part::stated(uin("84")));
        assert_eq!(found.averaged(3).square, S / 3);
        assert_eq!(found.averaged(1000).square, STEP.div_ceil(12), "never below the last place");
        // More scatter than uncertainty: nothing is left for the rest.
        assert_eq!(reading(Some("6"), Some("84")).rest().square, 0);
    }

    #[test]
    fn without_a_split_nothing_averages() {
        let found = reading(Some("84"), None);
        assert_eq!((found.averaged(1).square, found.averaged(9).square), (0, 0));
        assert_eq!((found.rest().square, found.scatter().square), (U, U));
        assert_eq!(found.whole().known, Known::Stated);
        assert_eq!(reading(Some("1"), None).whole().square, STEP.div_ceil(12));
    }

    #[test]
    fn what_is_not_stated_is_assumed() {
        let found = reading(None, Some("6"));
        assert_eq!((found.averaged(1).square, found.rest().square), (S, STEP.div_ceil(3)));
        assert_eq!(found.rest().known, Known::Assumed);
        assert_eq!(found.rest().freedom.degrees(), None);
        let nothing = reading(None, None);
        assert_eq!(nothing.averaged(1).u().picometres(), 304_800);
        assert_eq!(nothing.averaged(1).freedom.degrees(), Some(8));
        assert_eq!(nothing.whole().known, Known::Assumed);
        // A coarser gauge: half a step.
        let coarse = Length::parse("0.0001", Unit::Inch).unwrap();
        let coarse = Doubt::of(Stated::default(), coarse, assumed_plate(true));
        assert_eq!(coarse.averaged(1).u(), Length::parse("0.00005", Unit::Inch).unwrap());
        assert_eq!(coarse.rest().square, (4 * STEP).div_ceil(3));
    }

    #[test]
    fn the_record_takes_the_place_of_what_is_assumed_and_of_what_is_stated_too_small() {
        let shown = |s| Part::recorded(uin(s), Freedom::of_degrees(43), 46);
        // Nothing stated: 12 µin assumed, the record shows 6.
        let found = reading(None, None).beside_record(shown("6"));
        assert_eq!(found.averaged(1), shown("6"));
        assert_eq!((found.rest().known, found.whole().known), (Known::Assumed, Known::Assumed));
        // 6 µin stated, the record shows 9, or 5.
        let found = reading(Some("84"), Some("6")).beside_record(shown("9"));
        assert_eq!((found.averaged(1), found.whole().known), (shown("9"), Known::Record));
        assert_eq!(found.rest().square, U - S, "the rest stays as it is stated");
        let found = reading(Some("84"), Some("6")).beside_record(shown("5"));
        assert_eq!(found, reading(Some("84"), Some("6")));
        // Only u is stated: max(u, s).
        let found = reading(Some("84"), None).beside_record(shown("84"));
        assert_eq!(found.remains().share, Share::Repeatability);
        let found = reading(Some("84"), None).beside_record(shown("83"));
        assert_eq!(
            (found.remains().share, found.rest()),
            (Share::Reading, Part::stated(uin("84")))
        );
        assert_eq!(found.averaged(4).square, 0, "and nothing averages");
    }

    #[test]
    fn of_two_that_are_put_together_the_worse_counts_whichever_comes_first() {
        let fine = reading(Some("84"), Some("6"));
        let coarse = fine.by_eye(Length::parse("0.0001", Unit::Inch).unwrap());
        let both = fine.worse(coarse);
        assert_eq!(both, coarse.worse(fine));
        assert_eq!(both.resolution(), coarse.resolution());
        assert_eq!(both.whole().known, Known::Assumed);
        assert_eq!(
            both.averaged(2).square,
            coarse.averaged(1).square,
            "never below the last place"
        );
        // A gauge known less well, in the same steps.
        let poor = reading(Some("95"), None);
        assert_eq!(fine.worse(poor).whole(), poor.whole());
        assert_eq!(poor.worse(fine), fine.worse(poor));
    }

    #[test]
    fn words_are_read_back() {
        for known in Known::ALL {
            assert_eq!(Known::parse(known.text()), Some(known));
        }
        assert_eq!(Known::parse("guessed"), None);
    }
}
