//! Which way round the parts of a stack bend a shaft least.
//!
//! Each part adds a vector to what is seen at a station: its amount at its angle, times a weight of that
//! station. A part that may be turned has its angle anew at each whole mark.

use super::full_turn;

/// The most ways of building that are tried one by one.
pub const MOST_WAYS: usize = 1 << 20;

/// What a part adds.
#[derive(Debug, Clone, PartialEq)]
pub struct Member {
    /// How much, in one unit for all of the stack.
    pub amount: f64,
    /// Where it points as built, degrees.
    pub at_deg: f64,
    /// Into how many marks a turn is divided by which it may be turned; `None` where it stays as it is.
    pub marks: Option<usize>,
    /// Its weight at each station.
    pub weights: Vec<f64>,
    /// The standard uncertainty of one component of it.
    pub u: f64,
}

/// A way of building.
#[derive(Debug, Clone, PartialEq)]
pub struct Way {
    /// By how many marks each part is turned; 0 for one that stays.
    pub turned: Vec<usize>,
    /// What it comes to at each station: the length of the sum.
    pub seen: Vec<f64>,
}

/// What there is to choose from.
#[derive(Debug, Clone, PartialEq)]
pub struct Clocking {
    /// As it is built.
    pub found: Way,
    /// The way with the least at its worst station.
    pub best: Way,
    /// The way with the most at its worst station.
    pub worst: Way,
    /// The standard uncertainty of one component of the sum at each station.
    pub u: Vec<f64>,
}

/// Why there is nothing to choose from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum NoChoice {
    /// Every part stays as it is.
    #[error("no part of the stack may be turned")]
    NothingIsFree,
    /// More ways than can be tried.
    #[error(
        "there are more than {MOST_WAYS} ways to build it: leave fewer parts free, or fewer marks"
    )]
    TooManyWays,
    /// A part has another number of weights than the first, or a number that is none.
    #[error("the parts of the stack do not have the same stations")]
    Stations,
}

/// Tries every way of building.
///
/// # Errors
/// See [`NoChoice`].
pub fn clocking(members: &[Member]) -> Result<Clocking, NoChoice> {
    let stations = members.first().map_or(0, |first| first.weights.len());
    let sound = |one: &Member| {
        let numbers = [one.amount, one.at_deg, one.u];
        one.weights.len() == stations
            && one.weights.iter().chain(&numbers).all(|number| number.is_finite())
    };
    if stations == 0 || !members.iter().all(sound) {
        return Err(NoChoice::Stations);
    }
    let marks: Vec<usize> = members.iter().map(|one| one.marks.unwrap_or(1).max(1)).collect();
    if marks.iter().all(|marks| *marks == 1) {
        return Err(NoChoice::NothingIsFree);
    }
    let ways = marks.iter().try_fold(1_usize, |all, marks| all.checked_mul(*marks));
    if ways.is_none_or(|ways| ways > MOST_WAYS) {
        return Err(NoChoice::TooManyWays);
    }
    let found = way(members, vec![0; members.len()]);
    let (mut best, mut worst) = (found.clone(), found.clone());
    let mut turned = vec![0; members.len()];
    while next(&mut turned, &marks) {
        let way = way(members, turned.clone());
        // What is no better than by rounding leaves the stack as it is built.
        if most(&way) < most(&best) * (1.0 - 1e-9) {
            best = way;
        } else if most(&way) > most(&worst) * (1.0 + 1e-9) {
            worst = way;
        }
    }
    let u = (0..stations)
        .map(|at| members.iter().map(|one| (one.weights[at] * one.u).powi(2)).sum::<f64>().sqrt());
    Ok(Clocking { found, best, worst, u: u.collect() })
}

/// Where a part points when it is turned by some marks, degrees.
#[must_use]
pub fn turned_to(member: &Member, by: usize) -> f64 {
    let step = 360.0 / super::count(member.marks.unwrap_or(1).max(1));
    full_turn(member.at_deg + step * super::count(by))
}

fn way(members: &[Member], turned: Vec<usize>) -> Way {
    Way { seen: seen_at_stations(members, &turned), turned }
}

/// What a way of building comes to at each station of the first part.
#[must_use]
pub fn seen_at_stations(members: &[Member], turned: &[usize]) -> Vec<f64> {
    let stations = members.first().map_or(0, |first| first.weights.len());
    let mut sums = vec![[0.0; 2]; stations];
    for (member, by) in members.iter().zip(turned) {
        let (sine, cosine) = turned_to(member, *by).to_radians().sin_cos();
        for (sum, weight) in sums.iter_mut().zip(&member.weights) {
            sum[0] += weight * member.amount * cosine;
            sum[1] += weight * member.amount * sine;
        }
    }
    sums.into_iter().map(|[x, y]: [f64; 2]| x.hypot(y)).collect()
}

fn most(way: &Way) -> f64 {
    way.seen.iter().copied().fold(0.0, f64::max)
}

/// The next way, counted like a number whose digits have these bases; false after the last.
fn next(turned: &mut [usize], marks: &[usize]) -> bool {
    for (digit, marks) in turned.iter_mut().zip(marks) {
        *digit += 1;
        if *digit < *marks {
            return true;
        }
        *digit = 0;
    }
    false
}

#[cfg(test)]
mod tests {
    use super::*;

    fn member(amount: f64, at_deg: f64, marks: Option<usize>) -> Member {
        Member { amount, at_deg, marks, weights: vec![1.0], u: 6.0 }
    }

    #[test]
    fn a_shoulder_and_two_rings_by_eighths() {
        // By hand: 20 + 80i is 82.46 long; with one ring at 135° and one at 270° it is −8.28 − 11.72i.
        let stack =
            [member(20.0, 0.0, None), member(40.0, 90.0, Some(8)), member(40.0, 90.0, Some(8))];
        let told = clocking(&stack).unwrap();
        let seen = |way: &Way| (way.seen[0] * 10.0).round() / 10.0;
        assert_eq!((seen(&told.found), seen(&told.best), seen(&told.worst)), (82.5, 14.3, 100.0));
        // Twice the uncertainty of a sum of three: 2·6·√3.
        assert!((2.0 * told.u[0] - 20.785).abs() < 1e-3, "{:?}", told.u);
        assert_eq!(told.best.turned[0], 0);
        let best = way(&stack, told.best.turned.clone());
        assert_eq!(best, told.best);
    }

    #[test]
    fn the_worst_station_decides() {
        // Turned round, the part takes out what is seen at the first station and doubles the second.
        let fixed = Member { weights: vec![1.0, -1.0], ..member(10.0, 0.0, None) };
        let free = Member { weights: vec![1.0, 1.0], ..member(10.0, 0.0, Some(4)) };
        let told = clocking(&[fixed, free]).unwrap();
        assert_eq!(told.best.turned, [0, 1], "a quarter shares it out");
        assert!((told.best.seen[0] - told.best.seen[1]).abs() < 1e-9);
    }

    #[test]
    fn what_is_best_already_is_left_alone() {
        let told = clocking(&[member(10.0, 0.0, None), member(10.0, 180.0, Some(12))]).unwrap();
        assert_eq!((told.best.turned, told.best.seen[0].round()), (vec![0, 0], 0.0));
    }

    #[test]
    fn no_choice_is_told() {
        assert_eq!(clocking(&[]), Err(NoChoice::Stations));
        assert_eq!(clocking(&[member(1.0, 0.0, None)]), Err(NoChoice::NothingIsFree));
        assert_eq!(clocking(&[member(f64::NAN, 0.0, Some(8))]), Err(NoChoice::Stations));
        let many = vec![member(1.0, 0.0, Some(360)); 3];
        assert_eq!(clocking(&many), Err(NoChoice::TooManyWays));
    }
}
