//! What went wrong in a series that did not come back to its first touch, as far as the order of its
//! touches tells.
//!
//! The same difference at the end can come about in several ways: something moved between two touches,
//! the gauge was zeroed, a position was left out or touched twice, the readings drifted. Each leaves a
//! different mark on the form of the face. Each is fitted to the touches together with a form of one and
//! two waves, and the one that fits best is named where it is so many times likelier than every other
//! (likelihoods of normal noise: from memory of statistics). All of it is a hint to a person and changes
//! no verdict: the verdict is withheld in any case, because the series did not close.

/// A touch: the circle it lies on, its angle in degrees, and what it read.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spot {
    /// The circle, from 0.
    pub circle: u32,
    /// The angle on it, degrees.
    pub angle_deg: f64,
    /// The reading, in the unit of the scatter.
    pub height: f64,
}

/// What happened, as far as it can be told. Touches are counted from 0 in the order they were made.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Mishap {
    /// Everything from touch `until` on reads higher or lower than it should, and it began after `after`.
    Moved {
        /// The last touch that is certainly before it.
        after: usize,
        /// The first touch that is certainly behind it.
        until: usize,
    },
    /// The spot of this touch was left out, so that all later ones lie one spot further on.
    Missed(usize),
    /// The spot of this touch was touched twice, so that all later ones lie one spot further back.
    Doubled(usize),
}

/// How likely an explanation has to be.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sure {
    /// The standard deviation of touches on one spot, in the unit of the heights.
    pub scatter: f64,
    /// How many times likelier it has to be than every other.
    pub odds: f64,
}

/// An explanation with what it leaves of the readings.
#[derive(Debug, Clone, Copy)]
struct Fit {
    says: Says,
    /// The sum of squares.
    left: f64,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Says {
    StepAfter(usize),
    Drift,
    Missed(usize),
    Doubled(usize),
}

/// The mishap that the touches tell of; the last one is on the spot of the first. `None` where nothing is
/// likelier than everything else, and with fewer than six spots.
#[must_use]
pub fn mishap(spots: &[Spot], sure: Sure) -> Option<Mishap> {
    const FEWEST: usize = 7;
    if spots.len() < FEWEST {
        return None;
    }
    let form = Form::of(spots, &WAVES);
    let fits = explanations(spots, &form);
    let best = fits.iter().copied().min_by(|one, two| one.left.total_cmp(&two.left))?;
    let free = spots.len().saturating_sub(form.columns.len() + 1).max(1);
    let free = f64::from(u32::try_from(free).ok()?);
    // Where even the best leaves more than noise, the rest of the form counts as noise.
    let square = (sure.scatter * sure.scatter).max(best.left / free);
    let margin = 2.0 * sure.odds.max(1.0).ln() * square;
    let near = || fits.iter().filter(|one| one.left - best.left < margin);
    match best.says {
        Says::Drift => None,
        Says::Missed(at) => near().all(|one| one.says == best.says).then_some(Mishap::Missed(at)),
        Says::Doubled(at) => near().all(|one| one.says == best.says).then_some(Mishap::Doubled(at)),
        Says::StepAfter(_) => {
            let steps = near().map(|one| match one.says {
                Says::StepAfter(at) => Some(at),
                Says::Drift | Says::Missed(_) | Says::Doubled(_) => None,
            });
            let steps: Vec<usize> = steps.collect::<Option<_>>()?;
            let (after, until) = (*steps.iter().min()?, *steps.iter().max()? + 1);
            (until - after <= 2).then_some(Mishap::Moved { after, until })
        }
    }
}

/// The step that has happened in a series that is still going on: the numbers of the touches before and
/// behind it. It has to be likelier than that one touch alone stands off, and than a form of two waves.
/// Two touches at least have to lie behind it, since one alone may be off. `None` with fewer than six.
#[must_use]
pub fn moved_so_far(spots: &[Spot], sure: Sure) -> Option<(usize, usize)> {
    const FEWEST: usize = 6;
    if spots.len() < FEWEST {
        return None;
    }
    let heights: Vec<f64> = spots.iter().map(|spot| spot.height).collect();
    let form = Form::of(spots, &[1.0]);
    let column = |is: &dyn Fn(usize) -> bool| {
        (0..spots.len()).map(|index| if is(index) { 1.0 } else { 0.0 }).collect::<Vec<f64>>()
    };
    let left = |is: &dyn Fn(usize) -> bool| form.left_of(&heights, Some(column(is)));
    let steps: Vec<f64> = (0..spots.len() - 2).map(|at| left(&|index| index > at)).collect();
    let (best, least) =
        steps.iter().copied().enumerate().min_by(|one, two| one.1.total_cmp(&two.1))?;
    let free = spots.len().saturating_sub(form.columns.len() + 1).max(1);
    let square = (sure.scatter * sure.scatter).max(least / f64::from(u32::try_from(free).ok()?));
    let margin = 2.0 * sure.odds.max(1.0).ln() * square;
    // The first touch alone is off, or all behind it: that is the same.
    let one_alone = (1..spots.len()).map(|at| left(&|index| index == at));
    let two_waves = Form::of(spots, &[1.0, 2.0]).left_of(&heights, None);
    let others = one_alone.chain([two_waves]).fold(f64::MAX, f64::min);
    let near = |(_, step): &(usize, &f64)| **step - least < margin;
    let near: Vec<usize> = steps.iter().enumerate().filter(near).map(|(at, _)| at).collect();
    let (after, until) = (*near.first()?, near.last()? + 1);
    let found = others - least >= margin && until - after <= 2 && near.contains(&best);
    found.then_some((after, until))
}

/// Whether each spot lies on one circle and was touched once.
fn each_once(spots: &[Spot]) -> bool {
    let once = |(index, spot): (usize, &Spot)| {
        let before = &spots[..index];
        spot.circle == spots[0].circle
            && before.iter().all(|other| (other.angle_deg - spot.angle_deg).abs() > 1e-6)
    };
    spots.iter().enumerate().all(once)
}

fn explanations(spots: &[Spot], form: &Form) -> Vec<Fit> {
    let heights: Vec<f64> = spots.iter().map(|spot| spot.height).collect();
    let last = spots.len() - 1;
    let number = |index: usize| f64::from(u32::try_from(index).unwrap_or(u32::MAX));
    let with = |says, column: Vec<f64>| Fit { says, left: form.left_of(&heights, Some(column)) };
    let steps = (0..last).map(|at| {
        let column = (0..=last).map(|index| if index > at { 1.0 } else { 0.0 });
        with(Says::StepAfter(at), column.collect())
    });
    let climbing = (0..=last).map(number).collect();
    let mut fits: Vec<Fit> = steps.chain([with(Says::Drift, climbing)]).collect();
    if each_once(&spots[..last]) {
        // Where spot `last` is the first one again, spot `last + 1` is the second one.
        let around = |index: usize| spots[index % last];
        let moved = |says, of: &dyn Fn(usize) -> usize| {
            let at = (0..=last).map(|index| around(of(index))).collect::<Vec<_>>();
            Fit { says, left: Form::of(&at, &WAVES).left_of(&heights, None) }
        };
        fits.extend((1..last).map(|at| {
            moved(Says::Missed(at), &|index| if index < at { index } else { index + 1 })
        }));
        fits.extend((0..last - 1).map(|at| {
            moved(Says::Doubled(at), &|index| if index <= at { index } else { index - 1 })
        }));
    }
    fits
}

/// The waves that a good face or turn may have by themselves.
const WAVES: [f64; 2] = [1.0, 2.0];

/// The form of a face as independent columns, each of length 1 and square to those before it.
struct Form {
    columns: Vec<Vec<f64>>,
}

impl Form {
    fn of(spots: &[Spot], waves: &[f64]) -> Self {
        let mut form = Self { columns: Vec::new() };
        let circles = spots.iter().map(|spot| spot.circle).max().unwrap_or(0);
        for circle in 0..=circles {
            let on = |of: &dyn Fn(f64) -> f64| {
                let value = |spot: &Spot| {
                    if spot.circle == circle { of(spot.angle_deg.to_radians()) } else { 0.0 }
                };
                spots.iter().map(value).collect::<Vec<f64>>()
            };
            form.add(on(&|_| 1.0));
            for wave in waves {
                form.add(on(&|angle: f64| (wave * angle).cos()));
                form.add(on(&|angle: f64| (wave * angle).sin()));
            }
        }
        form
    }

    fn add(&mut self, column: Vec<f64>) {
        let before = dot(&column, &column);
        let left = self.without(column);
        let square = dot(&left, &left);
        // What the columns before hold already adds nothing.
        if square > before * 1e-9 {
            let long = square.sqrt();
            self.columns.push(left.into_iter().map(|value| value / long).collect());
        }
    }

    /// What remains of some values beside the columns.
    fn without(&self, mut values: Vec<f64>) -> Vec<f64> {
        for column in &self.columns {
            let share = dot(column, &values);
            for (value, at) in values.iter_mut().zip(column) {
                *value -= share * at;
            }
        }
        values
    }

    /// The sum of squares that the form, and one more column, leave of the heights.
    fn left_of(&self, heights: &[f64], more: Option<Vec<f64>>) -> f64 {
        let left = self.without(heights.to_vec());
        let all = dot(&left, &left);
        let Some(more) = more else { return all };
        let more = self.without(more);
        let square = dot(&more, &more);
        if square < 1e-9 { all } else { all - dot(&more, &left).powi(2) / square }
    }
}

fn dot(one: &[f64], two: &[f64]) -> f64 {
    one.iter().zip(two).map(|(one, two)| one * two).sum()
}

#[cfg(test)]
mod properties;
#[cfg(test)]
mod tests;
