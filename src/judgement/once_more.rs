//! Which positions to touch once more where a verdict is undecided, and what that is likely to give.
//!
//! The highest and the lowest position are touched again, as a pair. What averages falls with the number of
//! touches, what does not average never does. Looking again and again at the same question makes chance
//! findings more likely, so every look after the first asks for more (a repeated significance test; the two
//! factors were found by simulation and are our own: see the tests).

use statrs::distribution::{ContinuousCDF as _, Normal};

/// The factor of the first look, which is the verdict itself, and of every later one.
const FACTORS: [f64; 2] = [2.0, 2.8];

/// The most pairs that are asked for: with more of them a ring at the limit would pass more often than
/// the first look alone lets it.
pub const MOST_PAIRS: u32 = 3;

/// By how much noise raises the highest of K touches on average, for K from 1, in their spread
/// (`uncertainty.md`'s m(K); half the mean range of that many, see [`mean_range`](super::floor)).
const HIGHEST_OF: [f64; 8] = [0.0, 0.564, 0.846, 1.029, 1.163, 1.267, 1.352, 1.424];

/// A position as it is touched by now.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Touched {
    /// The mean of its touches.
    pub mean: f64,
    /// How many there are.
    pub touches: u32,
}

/// What is known beside the touches. All in the unit of the readings.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Beside {
    /// The limit of the range.
    pub limit: f64,
    /// The standard deviation of one touch: what averages.
    pub s: f64,
    /// The standard uncertainty of the range by what does not average: plate, stand, scale.
    pub rest: f64,
}

/// What a look gives.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Look {
    /// It conforms.
    Conforms,
    /// It does not conform.
    Fails,
    /// Neither can be said.
    Undecided,
}

/// The pair that is touched next.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pair {
    /// The position that stands highest, and the one that stands lowest.
    pub positions: [usize; 2],
    /// The chance that one touch more at each settles it.
    pub settles: f64,
}

/// The range with its standard uncertainty, and its highest and lowest position.
struct Range {
    high: usize,
    low: usize,
    value: f64,
    u: f64,
}

fn range(all: &[Touched], beside: &Beside) -> Option<Range> {
    let places = || all.iter().enumerate();
    let (high, most) = places().max_by(|one, other| one.1.mean.total_cmp(&other.1.mean))?;
    let (low, least) = places().min_by(|one, other| one.1.mean.total_cmp(&other.1.mean))?;
    let of = |one: &Touched| beside.s.powi(2) / f64::from(one.touches.max(1));
    let u = (of(most) + of(least) + beside.rest.powi(2)).sqrt();
    Some(Range { high, low, value: most.mean - least.mean, u })
}

/// By how much the range reads high: several positions close to the highest, or to the lowest, each had
/// their chance to be it.
fn reads_high(all: &[Touched], range: &Range, beside: &Beside) -> f64 {
    let near = |end: usize| {
        let own = all[end];
        let s = beside.s / f64::from(own.touches.max(1)).sqrt();
        let close = all.iter().filter(|one| (one.mean - own.mean).abs() <= 3.0 * beside.s).count();
        s * HIGHEST_OF[close.clamp(1, HIGHEST_OF.len()) - 1]
    };
    near(range.high) + near(range.low)
}

/// The verdict that the touches allow; `first` where nothing was looked at before.
#[must_use]
pub fn look(all: &[Touched], beside: &Beside, first: bool) -> Look {
    let Some(range) = range(all, beside) else { return Look::Undecided };
    let factor = FACTORS[usize::from(!first)];
    if range.value + factor * range.u <= beside.limit {
        Look::Conforms
    } else if range.value - reads_high(all, &range, beside) - factor * range.u > beside.limit {
        Look::Fails
    } else {
        Look::Undecided
    }
}

/// The pair to touch next; `None` for fewer than two positions, or a `s` that is not above zero.
///
/// The chance is that of the look after it, with the true range as likely as the touches say so far.
#[must_use]
pub fn next_pair(all: &[Touched], beside: &Beside) -> Option<Pair> {
    let now = range(all, beside)?;
    if now.high == now.low || beside.s.is_nan() || beside.s <= 0.0 {
        return None;
    }
    let mut then = all.to_vec();
    for end in [now.high, now.low] {
        then[end].touches += 1;
    }
    let after = range(&then, beside)?;
    // The next value scatters about the present one: the true range is not known better than by what
    // averages now, and a new pair is averaged in.
    let averaging = |u: f64| (u.powi(2) - beside.rest.powi(2)).max(0.0);
    let scatter = (averaging(now.u) - averaging(after.u)).max(0.0).sqrt();
    let passes = beside.limit - FACTORS[1] * after.u;
    let fails = beside.limit + reads_high(&then, &after, beside) + FACTORS[1] * after.u;
    let below = |limit: f64| {
        Normal::new(now.value, scatter.max(1e-12)).map_or(0.5, |spread| spread.cdf(limit))
    };
    Some(Pair { positions: [now.high, now.low], settles: below(passes) + 1.0 - below(fails) })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::laws::Dice;

    /// What became of many rings whose range is `range`: shares of those that conform and fail, and the
    /// mean number of extra pairs.
    fn tried(range: f64, beside: &Beside) -> (f64, f64, f64) {
        const RINGS: u32 = 20_000;
        let mut dice = Dice(20_311);
        let wave = |at: u32| range / 2.0 * (f64::from(at) * std::f64::consts::TAU / 8.0).cos();
        let (mut conform, mut fail, mut extra) = (0, 0, 0);
        for _ in 0..RINGS {
            let mut all: Vec<Touched> = (0..8)
                .map(|at| Touched { mean: wave(at) + beside.s * dice.normal(), touches: 1 })
                .collect();
            let mut said = look(&all, beside, true);
            for _ in 0..MOST_PAIRS {
                if said != Look::Undecided {
                    break;
                }
                for at in next_pair(&all, beside).unwrap().positions {
                    let one = &mut all[at];
                    let many = f64::from(one.touches);
                    let touch = wave(u32::try_from(at).unwrap()) + beside.s * dice.normal();
                    one.mean = (one.mean * many + touch) / (many + 1.0);
                    one.touches += 1;
                }
                extra += 1;
                said = look(&all, beside, false);
            }
            conform += u32::from(said == Look::Conforms);
            fail += u32::from(said == Look::Fails);
        }
        let share = |count: u32| f64::from(count) / f64::from(RINGS);
        (share(conform), share(fail), share(extra))
    }

    const BESIDE: Beside = Beside { limit: 100.0, s: 6.0, rest: 0.0 };

    #[test]
    fn a_good_ring_is_settled_soon_and_the_limit_is_kept() {
        let (conform, fail, extra) = tried(80.0, &BESIDE);
        assert!(conform >= 0.97 && fail < 0.001 && extra <= 0.75, "{conform} {fail} {extra}");
        // The first look alone passes 2.3 %.
        let (conform, fail, _) = tried(100.0, &BESIDE);
        assert!(conform <= 0.025 && fail < 0.03, "{conform} {fail}");
        let (conform, fail, extra) = tried(130.0, &BESIDE);
        assert!(conform < 0.0005 && fail > 0.9, "{conform} {fail} {extra}");
    }

    #[test]
    fn the_highest_and_the_lowest_are_touched_and_the_chance_is_what_comes() {
        let one = |mean| Touched { mean, touches: 1 };
        let all = [one(0.0), one(88.0), one(40.0), one(30.0)];
        let pair = next_pair(&all, &BESIDE).unwrap();
        assert_eq!(pair.positions, [1, 0]);
        // By hand: u 8.485 falls to 6, so the next value scatters by 6 about 88; it passes below 83.2.
        assert!((pair.settles - 0.2119).abs() < 0.01, "{pair:?}");
        // What does not average leaves no chance.
        let plate = Beside { rest: 10.0, ..BESIDE };
        assert!(next_pair(&all, &plate).unwrap().settles < 0.005);
        assert_eq!(next_pair(&all[..1], &BESIDE), None);
        assert_eq!(next_pair(&all, &Beside { s: 0.0, ..BESIDE }), None);
    }
}
