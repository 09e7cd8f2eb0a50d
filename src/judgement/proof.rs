//! The proof of a gauge: some lifts on one spot, and a step of two blocks whose size is known, low, high
//! and low again. It shows the scatter of a lift, and together the scale, the sign, the unit and the angle
//! of a lever stylus.
//!
//! The step is the high block minus the mean of the low one before and after, so that a steady walk
//! cancels. A stylus that leans by an angle A reads the rise h of a surface as h/cos A.

use quantity::{Figure, Length};

use super::budget::{Budget, Coverage};
use super::closure::Closure;
use super::doubt::{Freedom, Known, Part, Share};
use super::threshold::Traps;
use super::uncertainty::root;

/// So many lifts make a proof.
pub const LIFTS: u32 = 10;

/// A lift this many standard deviations from the mean of ten does not belong: Grubbs's test at 0.2 % (by
/// hand from Student's t = 6.44 at 8 degrees of freedom: 2.846·√(t²/(8 + t²))).
const STANDS_OFF: f64 = 2.606;
/// A variance of ten lifts this many times the stated one is no chance: chi-square at 99.73 % and 9 degrees
/// of freedom, 25.3, over 9 (from memory).
const WORSE: f64 = 2.81;
/// A factor is recognised within 2 % of it (from memory of the trade).
const NEAR: i64 = 50;
/// Beyond this angle, in degrees, no stylus is set by mistake.
const MOST_LEANING: f64 = 45.0;

quantity::worded! {
    /// What a proof found wrong.
    #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
    pub enum Fault {
        /// One lift stands off from the others.
        StandsOff = "stands-off",
        /// The lifts scatter more than the repeatability that is stated.
        Scatters = "scatters",
        /// The low block did not come back: something moved, or warmed.
        Moved = "moved",
        /// The step is too small for this scatter to show anything.
        StepTooSmall = "step-too-small",
        /// The reading does not follow the step.
        Still = "does-not-follow",
        /// The reading falls where the plunger is pushed in.
        Sign = "sign",
        /// Inch and millimetre are mixed: a factor of 25.4.
        Unit = "unit",
        /// The decimal point, or the step of a count: a factor of 2, 5, 10, 100 or 1000.
        Places = "places",
        /// It reads long, as a stylus that leans does.
        Leans = "lever-angle",
        /// It reads short.
        Short = "reads-short",
        /// It reads another step altogether.
        Scale = "scale",
    }
}

/// The step of two blocks.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Step {
    /// How much higher the high block is; more than zero.
    pub size: Length,
    /// The standard uncertainty of that.
    pub u: Part,
}

/// What was touched, and what is stated of the gauge.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Touches<'a> {
    /// The lifts on the low block, in order: ten, or one where only the step is proved.
    pub lifts: &'a [Length],
    /// On the high block.
    pub high: Length,
    /// On the low block again.
    pub back: Length,
    /// The step.
    pub step: Step,
    /// The resolution of the gauge.
    pub resolution: Length,
    /// The scatter of one lift as it is known without these: stated, from an earlier proof or assumed.
    pub scatter: Part,
    /// The angle of the lever stylus that is stated, thousandths of a degree.
    pub lever_mdeg: u32,
}

/// What a proof shows.
#[derive(Debug, Clone, PartialEq)]
pub struct Proof {
    /// The standard deviation of a lift, rounded up, at least q/√12, and its degrees of freedom; `None`
    /// where only the step was proved.
    pub repeat: Option<(Length, u32)>,
    /// The step as it was read.
    pub step: Figure,
    /// The expanded uncertainty of that step minus the size of the blocks.
    pub uncertainty: Length,
    /// How far that step may be from the size of the blocks by chance, rounded up: 3 standard
    /// uncertainties, or below 30 degrees of freedom Student's t for 99.73 %, so that a good gauge is
    /// hardly ever called a bad one.
    pub may_differ: Length,
    /// The low block again, minus what it was before.
    pub came_back: Figure,
    /// How far it may be off, rounded up.
    pub may_be_off: Length,
    /// The lift that stands off most, counted from 0, where one does.
    pub stands_off: Option<u32>,
    /// What is wrong; nothing where the gauge is proven.
    pub faults: Vec<Fault>,
}

impl Proof {
    /// Judges what was touched; `None` without a lift, or without a step.
    #[must_use]
    pub fn of(touched: &Touches<'_>) -> Option<Self> {
        if touched.step.size <= Length::ZERO {
            return None;
        }
        let before = Figure::mean(touched.lifts)?;
        let repeat = scatter_of(touched.lifts, touched.resolution);
        let seen = repeat.map(|(s, freedom)| Part {
            known: Known::Record,
            freedom: Freedom::of_degrees(freedom),
            ..Part::stated(s)
        });
        let scatter = seen.unwrap_or(touched.scatter);
        let lifts = u32::try_from(touched.lifts.len()).unwrap_or(u32::MAX);
        // The high touch once; of the low ones the mean of the mean before and the touch after.
        let budget = Budget::default()
            .with(Share::Repeatability, scatter, 5, 4)
            .with(Share::Repeatability, scatter, 1, lifts.saturating_mul(4))
            .with(Share::Master, touched.step.u, 1, 1);
        let back = Figure::from(touched.back);
        let closing = Closure {
            tolerance: Figure::ZERO,
            scatter,
            resolution: touched.resolution,
            times: Traps::default().returns,
        };
        let mut proof = Self {
            repeat,
            step: Figure::from(touched.high) - (before + back) / 2,
            uncertainty: budget.expanded().uncertainty,
            may_differ: by_chance(&budget),
            came_back: back - before,
            may_be_off: closing.of_the_noise(),
            stands_off: repeat.and_then(|_| stands_off(touched.lifts, touched.resolution)),
            faults: Vec::new(),
        };
        proof.faults = proof.faults_of(touched);
        Some(proof)
    }

    fn faults_of(&self, touched: &Touches<'_>) -> Vec<Fault> {
        let mut faults = Vec::new();
        if self.stands_off.is_some() {
            faults.push(Fault::StandsOff);
        } else if self.scatters(touched) {
            faults.push(Fault::Scatters);
        }
        if self.came_back.abs() > Figure::from(self.may_be_off) {
            faults.push(Fault::Moved);
        }
        let read = self.step.abs();
        let (size, limit) = (Figure::from(touched.step.size), Figure::from(self.may_differ));
        if limit * 4 > size {
            faults.push(Fault::StepTooSmall);
            return faults;
        }
        if read <= limit {
            faults.push(Fault::Still);
            return faults;
        }
        if self.step < Figure::ZERO {
            faults.push(Fault::Sign);
        }
        faults.extend(self.factor(read, size, touched.lever_mdeg));
        faults
    }

    /// What is wrong with the size of the step, sign apart.
    fn factor(&self, read: Figure, size: Figure, lever_mdeg: u32) -> Option<Fault> {
        let limit = Figure::from(self.may_differ);
        let is_within = |of: Figure| (read - of).abs() <= limit;
        let leaning = 1.0 / (f64::from(lever_mdeg) / 1000.0).to_radians().cos();
        if is_within(size) || is_within(size * millionths(leaning) / 1_000_000) {
            return None;
        }
        let is_near = |of: Figure| (read - of).abs() * NEAR <= of || is_within(of);
        // An inch is 25.4 mm.
        if is_near(size * 254 / 10) || is_near(size * 10 / 254) {
            return Some(Fault::Unit);
        }
        let factors = [2, 5, 10, 100, 1000];
        if factors.into_iter().any(|by| is_near(size * by) || is_near(size / by)) {
            return Some(Fault::Places);
        }
        let most = millionths(1.0 / MOST_LEANING.to_radians().cos());
        Some(if read < size && read * 2 > size {
            Fault::Short
        } else if read > size && read * 1_000_000 <= size * most {
            Fault::Leans
        } else {
            Fault::Scale
        })
    }

    fn scatters(&self, touched: &Touches<'_>) -> bool {
        let stated = touched.scatter.known == Known::Stated;
        let least = Part::within(half_of(touched.resolution), Known::Stated);
        let usual = touched.scatter.larger(least);
        self.repeat.is_some_and(|(s, _)| stated && scatters_more(Part::stated(s), usual))
    }

    /// How many times the size of the blocks it reads.
    #[must_use]
    pub fn ratio(&self, size: Length) -> f64 {
        self.step.to_f64() / Figure::from(size).to_f64()
    }

    /// The angle, in degrees, at which a stylus would read the step so long; `None` where it is not long.
    #[must_use]
    pub fn leaning_deg(&self, size: Length) -> Option<f64> {
        let ratio = self.ratio(size).abs();
        (ratio >= 1.0).then(|| (1.0 / ratio).acos().to_degrees())
    }
}

/// Whether ten lifts scatter so much more than usual that it is no chance.
#[must_use]
#[expect(clippy::cast_precision_loss, reason = "squares of small lengths, far from a limit")]
pub fn scatters_more(lifts: Part, usual: Part) -> bool {
    lifts.square as f64 > WORSE * usual.square as f64
}

/// The angle, in degrees, up to which a stylus may lean without being seen in a step of this size that is
/// known within `limit`.
#[must_use]
pub fn unseen_angle_deg(size: Length, limit: Length) -> f64 {
    let part = Figure::from(limit).to_f64() / Figure::from(size).to_f64();
    (1.0 / (1.0 + part)).acos().to_degrees()
}

/// The smallest tolerance that a range of touches with this scatter can judge with four to one:
/// 4·2·√2·s (common rule of the trade).
#[must_use]
pub fn good_for(s: Length) -> Length {
    Part { square: Part::stated(s).square.saturating_mul(128), ..Part::stated(s) }.u()
}

fn by_chance(budget: &Budget) -> Length {
    let t = u128::from(Coverage::of_a_return(budget.freedom()).hundredths());
    root(Length::from_picometres(1), budget.square().saturating_mul(t * t), 10_000)
}

fn half_of(length: Length) -> Length {
    Length::from_picometres(length.picometres().abs().saturating_add(1) / 2)
}

/// The plain standard deviation of some lifts, rounded up, at least q/√12, with its degrees of freedom.
fn scatter_of(lifts: &[Length], resolution: Length) -> Option<(Length, u32)> {
    let freedom = u32::try_from(lifts.len()).ok()?.checked_sub(1).filter(|degrees| *degrees > 0)?;
    let count = i128::try_from(lifts.len()).ok()?;
    let sum: i128 = lifts.iter().map(|lift| i128::from(lift.picometres())).sum();
    // n²·Σ(x − mean)² = n·Σ(n·x − Σx)²/n, in whole numbers.
    let squares = lifts.iter().map(|lift| {
        let off = (count * i128::from(lift.picometres()) - sum).unsigned_abs();
        off.saturating_mul(off)
    });
    let total = squares.fold(0_u128, u128::saturating_add);
    let below = (count * count).unsigned_abs().saturating_mul(u128::from(freedom));
    let s = Part { square: total.div_ceil(below.max(1)), ..Part::stated(Length::ZERO) };
    let least = Part::within(half_of(resolution), Known::Stated);
    Some((s.larger(least).u(), freedom))
}

/// The lift that lies so far from the others that it is no lift of the same spot.
#[expect(clippy::cast_precision_loss, reason = "small differences of readings, far from a limit")]
fn stands_off(lifts: &[Length], resolution: Length) -> Option<u32> {
    let count = lifts.len() as f64;
    let values: Vec<f64> = lifts.iter().map(|lift| lift.picometres() as f64).collect();
    let mean = values.iter().sum::<f64>() / count;
    let s = (values.iter().map(|value| (value - mean).powi(2)).sum::<f64>() / (count - 1.0)).sqrt();
    let off = |value: &f64| (value - mean).abs();
    let (at, farthest) =
        values.iter().enumerate().max_by(|one, two| off(one.1).total_cmp(&off(two.1)))?;
    let far =
        off(farthest) > STANDS_OFF * s && off(farthest) > 3.0 * resolution.picometres() as f64;
    far.then(|| u32::try_from(at).ok()).flatten()
}

#[expect(clippy::cast_possible_truncation, reason = "1 to 2 times a million")]
fn millionths(number: f64) -> i64 {
    (number * 1e6).round() as i64
}

#[cfg(test)]
mod tests;
