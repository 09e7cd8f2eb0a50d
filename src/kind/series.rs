//! The readings behind a figure, as plain values: nothing here knows of jobs or attempts.

use geometry::Point;
use judgement::{Budget, Doubt, Named, Part, Rule, Share, Walk};
use num_rational::Ratio;
use quantity::{Figure, Length};

use super::check::Check;
use super::difference::Pair;
use super::judged::Judged;
use super::other::Other;
use super::plan::CheckAt;
use super::run_in::Log;
use super::taps::Taps;

/// What was read off a needle that was watched over the whole turn.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Watched {
    /// The highest and the lowest, with their marks.
    HighAndLow,
    /// The total only.
    Total,
}

/// The even drift that was taken out of one try.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Drifted {
    /// Last minus first of the touches that showed it.
    pub far: Length,
    /// Thousandths of a minute between those; `None` where the times are not known.
    pub minutes: Option<i64>,
    /// The uncertainty of the whole drift; of two readings a share of the series apart, the same share.
    pub slope: Part,
    /// The uncertainty that is left because it need not have been quite even.
    pub bend: Part,
    /// Where each position lies in the order of touches: 0 at the first of those, 1 at the last.
    pub places: Vec<(u32, Ratio<i128>)>,
}

impl Drifted {
    /// The largest share of the series that lies between a touch at one of the first positions and one at
    /// one of the second; all of it where a place is not known.
    fn between(&self, one: &[u32], other: &[u32]) -> Ratio<i128> {
        let whole = Ratio::from_integer(1);
        let place = |at: &u32| self.places.iter().find(|(of, _)| of == at).map(|(_, place)| *place);
        let apart = one.iter().flat_map(|one| {
            other.iter().map(move |other| {
                let (one, other) = (place(one)?, place(other)?);
                Some((one - other).max(other - one))
            })
        });
        let apart: Option<Vec<Ratio<i128>>> = apart.collect();
        apart.map_or(whole, |apart| apart.into_iter().max().unwrap_or(whole))
    }
}

/// The input of one figure; with several tries, their means.
#[derive(Debug, Clone)]
pub struct Series<'a> {
    /// The check.
    pub check: &'a Check,
    /// `sums` are in picometres divided by this.
    pub parts: i64,
    /// Each position with the mean length there over the tries that touched it, times `parts`. A length
    /// against a master is the size; each try has its own zero.
    pub sums: Vec<(u32, i64)>,
    /// Positions that hold no reading and were not left out either.
    pub open: Vec<u32>,
    /// The shares of the uncertainty of one reading: those of the worst try, because a mean is no better
    /// than its worst part, whichever came first.
    pub reading: Doubt,
    /// The number of readings averaged at the position that has the fewest.
    pub averaged: u32,
    /// The step of the readings; with several tries, the coarsest.
    pub resolution: Length,
    /// The standard deviation of touches on one spot; the noise floor is made from it.
    pub spread: Length,
    /// What the bench's own record shows of how a bar seats: at a distance along it, the standard deviation
    /// of one seating along each axis, with the scatter of its touches.
    pub seatings: Vec<(Length, Part)>,
    /// How far off each try was when position 0 was touched again; nothing where an even drift was taken
    /// out of it.
    pub returns: Vec<Part>,
    /// The drifts that were taken out.
    pub drifted: Vec<Drifted>,
    /// Closure minus position 0.
    pub closure: Option<Length>,
    /// Closing minus opening touch on the master.
    pub zero_walk: Option<Length>,
    /// How many tries are judged together.
    pub tries: u32,
    /// What was read off a needle that was watched over the whole turn.
    pub watched: Option<Watched>,
    /// When the marks of a swept turn were tapped.
    pub taps: Option<&'a Taps>,
    /// The rule of the verdict.
    pub rule: Rule,
}

impl Series<'_> {
    /// The scatter of the mean at a position.
    #[must_use]
    pub fn scatter(&self) -> Named {
        self.reading.mean(self.averaged)
    }

    /// The scatter of the mean at a position: the full u where the gauge states no split, since then
    /// nothing may be averaged.
    #[must_use]
    pub fn noise_part(&self) -> Named {
        let averaged = self.scatter();
        if averaged.part.square == 0 { self.reading.scatters() } else { averaged }
    }

    /// The same as a length.
    #[must_use]
    pub fn noise(&self) -> Length {
        self.noise_part().part.u()
    }

    /// The standard deviation of touches on one spot: the repeatability of the gauge, or the full
    /// uncertainty of a reading; at least resolution/√12.
    #[must_use]
    pub fn touch_spread(&self) -> Length {
        self.reading.scatter().u()
    }

    pub(crate) fn near_the_ends(&self, s: Length) -> Option<(usize, usize)> {
        let sums: Vec<i64> = self.sums.iter().map(|(_, sum)| *sum).collect();
        near_ends(&sums, s, self.parts)
    }

    /// Adds how far off the surface was at the return to position 0: [`with_returns`]. A drift that was
    /// taken out counts over the whole series.
    #[must_use]
    pub fn with_returns(&self, budget: Budget) -> Budget {
        self.with_returns_between(budget, &[], &[])
    }

    /// The same for a figure that depends on the touches at some high and some low positions: a drift that
    /// was taken out counts over the share of the series that lies between them.
    #[must_use]
    pub fn with_returns_between(&self, budget: Budget, high: &[u32], low: &[u32]) -> Budget {
        let tries = i128::try_from(self.returns.len().max(1)).unwrap_or(i128::MAX);
        let once = Ratio::new(1, tries.saturating_mul(tries));
        self.drifted.iter().fold(with_returns(budget, &self.returns), |budget, one| {
            let apart = one.between(high, low);
            let budget = budget.weighing((Share::Drift, one.slope).into(), apart * apart * once);
            budget.weighing((Share::Drift, one.bend).into(), once)
        })
    }

    /// The positions with the highest and with the lowest reading, all where several are equal.
    pub(crate) fn highest_and_lowest(&self) -> [Vec<u32>; 2] {
        let ends = [
            self.sums.iter().map(|(_, sum)| *sum).max(),
            self.sums.iter().map(|(_, sum)| *sum).min(),
        ];
        ends.map(|end| {
            self.sums.iter().filter(|(_, sum)| Some(*sum) == end).map(|(at, _)| *at).collect()
        })
    }

    /// Divides a figure made from `sums` by `parts`.
    #[must_use]
    pub fn mean_of(&self, figure: Figure) -> Figure {
        figure / self.parts
    }

    /// The mean at each position, exact; empty for a sweep, whose samples are in the record.
    #[must_use]
    pub fn means(&self) -> Vec<(u32, Figure)> {
        if self.check.swept().is_some() {
            return Vec::new();
        }
        let mean = |sum: i64| self.mean_of(Figure::new(i128::from(sum), 1));
        self.sums.iter().map(|&(at, sum)| (at, mean(sum))).collect()
    }

    /// Highest minus lowest.
    #[must_use]
    pub fn max_minus_min(&self) -> Option<Figure> {
        let max = self.sums.iter().map(|(_, sum)| *sum).max()?;
        let min = self.sums.iter().map(|(_, sum)| *sum).min()?;
        Some(self.mean_of(Figure::new(i128::from(max) - i128::from(min), 1)))
    }

    /// The mean of all positions.
    #[must_use]
    pub fn mean(&self) -> Option<Figure> {
        let count = i64::try_from(self.sums.len()).ok().filter(|&count| count > 0)?;
        let sum: i128 = self.sums.iter().map(|(_, sum)| i128::from(*sum)).sum();
        Some(self.mean_of(Figure::new(sum, 1)) / count)
    }

    /// The total reading that was keyed in; its sign has no meaning.
    #[must_use]
    pub fn keyed_total(&self) -> Option<Figure> {
        let (_, sum) = self.sums.first()?;
        Some(self.mean_of(Figure::new(i128::from(*sum).abs(), 1)))
    }

    /// Whether only the total reading was keyed in.
    #[must_use]
    pub fn is_total(&self) -> bool {
        self.check.total_only() || self.watched == Some(Watched::Total)
    }

    /// The number of touches on all circles of a face together; for a turn, on the circle that has the
    /// fewest, because each circle is judged by itself.
    #[must_use]
    pub fn fewest_on_a_circle(&self) -> usize {
        if !self.check.traits().by_circles() {
            return self.sums.len();
        }
        let on =
            |one: &u32| self.sums.iter().filter(|(p, _)| self.check.circle_of(*p) == *one).count();
        (0..self.check.circles()).map(|one| on(&one)).min().unwrap_or(0)
    }

    /// The heights at the places of their positions, where the plan gives those.
    #[must_use]
    pub fn points(&self) -> Vec<Point> {
        let place = |&(position, height): &(u32, i64)| {
            Some(Point { at: self.check.place(position)?, height })
        };
        self.sums.iter().filter_map(place).collect()
    }

    pub(crate) fn positions(&self, indices: &[usize]) -> Vec<u32> {
        indices.iter().filter_map(|&index| self.sums.get(index)).map(|(p, _)| *p).collect()
    }
}

/// Adds how far off a surface was when each try returned to it. For the mean of several tries that is the
/// mean of their returns, which may drift in either direction.
#[must_use]
pub fn with_returns(budget: Budget, returns: &[Part]) -> Budget {
    let over = u32::try_from(returns.len()).unwrap_or(u32::MAX).saturating_pow(2);
    returns.iter().fold(budget, |budget, off| budget.with(Share::Return, *off, 1, over))
}

/// How many heights lie within three standard deviations of the highest, and of the lowest.
pub(crate) fn near_ends(sums: &[i64], s: Length, parts: i64) -> Option<(usize, usize)> {
    let ends = [*sums.iter().max()?, *sums.iter().min()?];
    let near = i128::from(s.picometres()) * 3 * i128::from(parts);
    let [high, low] = ends.map(|end| {
        let off = |sum: &&i64| (i128::from(**sum) - i128::from(end)).abs() <= near;
        sums.iter().filter(off).count()
    });
    Some((high, low))
}

/// The zero under the readings of a length, over all tries.
#[derive(Debug, Clone, PartialEq)]
pub struct Stand {
    /// The mean over the tries of what the master would have shown at the mean of their touches.
    pub zero: Option<Figure>,
    /// The half-width of the range in which that may lie. The walks of several tries count as if all had
    /// gone in the same direction.
    pub doubt: Figure,
    /// The farthest walk of any try.
    pub walk: Walk,
    /// Touches on the master for each zero (the fewest of any try), times the number of tries.
    pub masters: u32,
}

/// What is known of the job beside the readings of one check.
pub trait Beside {
    /// The value written down at an entry.
    fn entry(&self, at: CheckAt) -> Option<String>;
    /// The log that was kept of the check itself.
    fn log(&self) -> Option<Log>;
    /// What a person wrote down at the check itself.
    fn written(&self) -> Option<String>;
    /// `PART/CHECK`.
    fn name(&self, at: CheckAt) -> String;
    /// The zero under the touches at these positions.
    fn stand(&self, positions: &[u32]) -> Stand;
    /// The judged difference of two lengths.
    fn difference(&self, pair: &Pair) -> Judged;
    /// What another check came to, as it was when this one was worked out, for a figure with this tolerance;
    /// a sentence where there is nothing.
    fn other(&self, at: CheckAt, tolerance: Option<Figure>) -> Result<Other<'_>, String>;
}
