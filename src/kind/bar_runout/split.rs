//! What several seatings of a bar say about bar and spindle, and whether they agree.

use crate::Seatings;
use crate::check::Direction;
use geometry::{self, Offset};
use judgement::{Reason, Times};
use quantity::{Figure, Length};

use crate::figures::Repeat;
use crate::judged::thousandths;

/// The bar differs from a perfect one when its offset is more than this many of its own σ: a perfect bar
/// looks further off once in 20 times (Rayleigh, exp(−2.44²/2)).
const TOLD: f64 = 2.44;

/// The offsets of bar and spindle, each by itself.
#[derive(Debug, Clone, Copy)]
pub(super) struct Split {
    /// The offset of the spindle, picometres.
    pub(super) spindle: Offset,
    /// The offset of the bar when it stands at 0, picometres.
    pub(super) bar: Offset,
    /// The largest disagreement of the seatings, and its limit.
    pub(super) repeat: Repeat,
    /// Whether the bar shows an offset: more than scatter.
    pub(super) bar_is_told: bool,
    /// Whether the seatings agree if the bar was turned against the marks.
    against: bool,
}

impl Split {
    /// Works out both from the offsets of all seatings in order, angles as on the metal. `sigma` is the
    /// standard uncertainty of one offset in either direction, picometres: √(seating² + 2·s²/N).
    ///
    /// Seatings disagree when they are further apart than `apart` σ, usually 3.5: a length in two
    /// directions, each with σ, is longer once in 450 times (Rayleigh, exp(−3.5²/2)).
    pub(super) fn of(
        axes: &[Offset],
        sigma: f64,
        direction: Direction,
        apart: Times,
    ) -> Option<Self> {
        let limit = apart.to_f64() * sigma;
        match *axes {
            [at_0, at_180, again] => Self::of_three([at_0, at_180, again], sigma, limit),
            [at_0, at_90, at_180, at_270] => {
                Self::of_four([at_0, at_90, at_180, at_270], (sigma, limit), direction)
            }
            _ => None,
        }
    }

    /// The third seating repeats the first: their difference has √2·σ in either direction.
    fn of_three([at_0, at_180, again]: [Offset; 3], sigma: f64, limit: f64) -> Option<Self> {
        let both = geometry::reversal(at_0, at_180, again);
        let repeat = repeat(both.repeat.amount(), std::f64::consts::SQRT_2 * limit)?;
        // Half the difference of two has σ/√2.
        let bar_is_told = both.bar.amount() > TOLD / std::f64::consts::SQRT_2 * sigma;
        let (spindle, bar) = (both.spindle, both.bar);
        Some(Self { spindle, bar, repeat, bar_is_told, against: false })
    }

    /// Half the sum of opposite seatings is the spindle, half the difference is the bar. Either pair gives
    /// both, and the difference of the two results has σ in either direction.
    fn of_four(
        axes: [Offset; 4],
        (sigma, limit): (f64, f64),
        direction: Direction,
    ) -> Option<Self> {
        let quarters = quarters(axes, direction);
        let (sums, differences) = (quarters.sums.amount(), quarters.differences.amount());
        Some(Self {
            spindle: quarters.spindle,
            bar: quarters.bar,
            repeat: repeat(sums.max(differences), limit)?,
            // The mean of four has σ/2.
            bar_is_told: quarters.bar.amount() > TOLD / 2.0 * sigma,
            against: sums <= limit && quarters.turned_against.amount() <= limit,
        })
    }

    /// How far seatings lie apart along both axes, as the difference of two: with √2·σ each, picometres.
    pub(super) fn apart(axes: &[Offset], direction: Direction) -> Vec<f64> {
        match *axes {
            [at_0, _, again] => {
                let both = geometry::reversal(at_0, again, again).repeat;
                vec![both.x, both.y]
            }
            [at_0, at_90, at_180, at_270] => {
                let quarters = quarters([at_0, at_90, at_180, at_270], direction);
                let (sums, differences) = (quarters.sums, quarters.differences);
                let each = [sums.x, sums.y, differences.x, differences.y];
                each.map(|one| one * std::f64::consts::SQRT_2).to_vec()
            }
            _ => Vec::new(),
        }
    }

    pub(super) fn repeats(&self) -> bool {
        self.repeat.difference <= self.repeat.limit
    }

    /// Why the figures are not those of the spindle alone, and what to do.
    pub(super) fn says_moved(
        &self,
        place: &str,
        seatings: Seatings,
        figures: [String; 2],
    ) -> String {
        let [off, limit] = figures;
        let them = match seatings {
            Seatings::One | Seatings::Three => {
                format!("the third seating lies {off} from the first, {limit} is allowed")
            }
            Seatings::Four => format!("the four seatings disagree by {off}, {limit} is allowed"),
        };
        let again = if self.against {
            "It looks as if the bar was turned the other way round: seat it at 0, 90, 180 and 270 as the marks count."
        } else {
            "Clean taper and bar, seat it again, each time at the mark that is asked for."
        };
        format!("At {place} {them}: bar and spindle are not split. {again}")
    }
}

/// The four seatings as quarter turns.
fn quarters(axes: [Offset; 4], direction: Direction) -> geometry::QuarterTurns {
    match direction {
        Direction::CounterClockwise => geometry::quarter_turns(axes),
        Direction::Clockwise => {
            // Marks counted the other way round come past in the other order.
            let [at_0, at_90, at_180, at_270] = axes;
            geometry::quarter_turns([at_0, at_270, at_180, at_90])
        }
    }
}

/// How far the seatings disagree, and the limit for that, picometres.
fn repeat(difference: f64, limit: f64) -> Option<Repeat> {
    Some(Repeat { difference: thousandths(difference)?, limit: thousandths(limit)? })
}

/// Why bar and spindle are not split although the bar was seated more than once.
pub(super) fn refused<'a>(
    seatings: Seatings,
    splits: impl Iterator<Item = Option<&'a Split>>,
) -> Option<Reason> {
    if seatings == Seatings::One {
        return None;
    }
    let splits: Option<Vec<&Split>> = splits.collect();
    match splits {
        None => Some(Reason::CannotProve),
        Some(all) => (!all.iter().all(|split| split.repeats())).then_some(Reason::SeatingMoved),
    }
}

/// Standard uncertainty of an offset in either direction, picometres: √(seating² + 2·s²/N).
pub(super) fn sigma(seating: Length, s: Length, touches: usize) -> f64 {
    let float = |length: Length| Figure::from(length).to_f64();
    let touches = Figure::new(i128::try_from(touches.max(1)).unwrap_or(i128::MAX), 1).to_f64();
    float(seating).hypot(float(s) * (2.0 / touches).sqrt())
}
