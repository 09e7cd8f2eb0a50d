//! Waves of equally spaced readings by direct sums.
//!
//! Readings that have the same weight, apart from its sign, are added or subtracted first. Half a turn
//! on, `cos kt` and `sin kt` have the same value for an even order and the opposite one for an odd
//! order; mirrored, the cosine keeps its sign and the sine changes it. So only a quarter of the turn
//! is left to multiply.

use super::{TurnError, Wave, Waves};
use crate::count;

/// Orders worked out at the same time, since their sums do not depend on each other.
const SIDE_BY_SIDE: usize = 8;

/// Weights of a few orders at one place of the folded turn.
#[derive(Debug, Clone, Copy, Default)]
struct Weights {
    cosine: [f64; SIDE_BY_SIDE],
    sine: [f64; SIDE_BY_SIDE],
}

/// Some orders that fold in the same way, with their weights along the folded turn.
#[derive(Debug, Clone)]
struct Block {
    orders: Vec<usize>,
    odd: bool,
    weights: Vec<Weights>,
}

/// The weights for a turn of equally spaced readings, the first at angle 0. They are made once and
/// used for any number of turns.
#[derive(Debug, Clone)]
pub struct EvenTurn {
    readings: usize,
    highest: usize,
    blocks: Vec<Block>,
}

/// The readings once folded: those that meet the cosine, and those that meet the sine.
type Folded = Vec<(f64, f64)>;

impl EvenTurn {
    /// Prepares the orders 0 to `highest` for `readings` a turn. Refused unless `2·highest` is below
    /// `readings`.
    pub fn new(readings: usize, highest: usize) -> Result<Self, TurnError> {
        if readings == 0 || highest.saturating_mul(2) >= readings {
            return Err(TurnError::TooFew { order: highest, angles: readings });
        }
        let kinds: &[bool] = if readings.is_multiple_of(2) { &[false, true] } else { &[false] };
        let mut blocks = Vec::new();
        for &odd in kinds {
            let orders: Vec<usize> = (usize::from(odd)..=highest).step_by(kinds.len()).collect();
            blocks.extend(orders.chunks(SIDE_BY_SIDE).map(|few| Block::new(few, odd, readings)));
        }
        Ok(Self { readings, highest, blocks })
    }

    /// The angles of the readings, degrees.
    #[must_use]
    pub fn angles_deg(&self) -> Vec<f64> {
        (0..self.readings).map(|k| 360.0 * count(k) / count(self.readings)).collect()
    }

    /// Mean and waves of one turn, to about 1e-15 of the largest reading.
    pub fn waves(&self, readings: &[f64]) -> Result<Waves, TurnError> {
        if readings.len() != self.readings {
            return Err(TurnError::Lengths { expected: self.readings, given: readings.len() });
        }
        let (plain, odd) = if self.readings.is_multiple_of(2) {
            let (start, end) = readings.split_at(self.readings / 2);
            (fold_half(start, end, 1.0), fold_half(start, end, -1.0))
        } else {
            (fold_whole(readings), Folded::new())
        };
        let wave = |order| Wave { order, cosine: 0.0, sine: 0.0 };
        let mut waves: Vec<Wave> = (1..=self.highest).map(wave).collect();
        let mut mean = 0.0;
        for block in &self.blocks {
            let sums = block.sums(if block.odd { &odd } else { &plain });
            for (&order, (cosine, sine)) in
                block.orders.iter().zip(sums.cosine.into_iter().zip(sums.sine))
            {
                match order.checked_sub(1) {
                    None => mean = cosine,
                    Some(place) => waves[place] = Wave { order, cosine, sine },
                }
            }
        }
        let share = 2.0 / count(self.readings);
        let all = waves.iter().fold(mean, |sum, wave| sum + wave.cosine + wave.sine);
        if all.is_finite() {
            Ok(Waves { mean, waves, first: [share, 0.0, share] })
        } else {
            Err(TurnError::NotANumber)
        }
    }
}

impl Block {
    fn new(orders: &[usize], odd: bool, readings: usize) -> Self {
        let rows = if readings.is_multiple_of(2) { readings / 4 } else { readings / 2 };
        let mut weights = vec![Weights::default(); rows + 1];
        for (place, row) in weights.iter_mut().enumerate() {
            for (side, &order) in orders.iter().enumerate() {
                let (cosine, sine) = unit(order * place % readings, readings);
                let share = if order == 0 { 1.0 } else { 2.0 } / count(readings);
                row.cosine[side] = cosine * share;
                row.sine[side] = sine * share;
            }
        }
        Self { orders: orders.to_vec(), odd, weights }
    }

    fn sums(&self, folded: &[(f64, f64)]) -> Weights {
        let mut sums = Weights::default();
        for ((with_cosine, with_sine), weights) in folded.iter().zip(&self.weights) {
            for side in 0..SIDE_BY_SIDE {
                sums.cosine[side] += with_cosine * weights.cosine[side];
                sums.sine[side] += with_sine * weights.sine[side];
            }
        }
        sums
    }
}

/// Folds a turn with an even number of readings for even (`sign` 1) or odd (`sign` −1) orders: first
/// half onto half, then mirrored.
fn fold_half(start: &[f64], end: &[f64], sign: f64) -> Folded {
    let half = start.len();
    let at = |place: usize| start[place] + sign * end[place];
    let mut folded = Vec::with_capacity(half / 2 + 1);
    folded.push((at(0), 0.0));
    for place in 1..half.div_ceil(2) {
        let (here, mirrored) = (at(place), sign * at(half - place));
        folded.push((here + mirrored, here - mirrored));
    }
    if half.is_multiple_of(2) {
        // The reading at the quarter is its own mirror image.
        folded.push((at(half / 2), at(half / 2)));
    }
    folded
}

/// Folds a turn with an odd number of readings: mirrored only.
fn fold_whole(readings: &[f64]) -> Folded {
    let pairs = readings[1..].iter().zip(readings.iter().rev()).take(readings.len() / 2);
    let folded = pairs.map(|(here, mirrored)| (here + mirrored, here - mirrored));
    std::iter::once((readings[0], 0.0)).chain(folded).collect()
}

/// Cosine and sine of `part/whole` of a turn, worked out from an angle within an eighth of a turn.
fn unit(part: usize, whole: usize) -> (f64, f64) {
    let quarter = part * 4 / whole;
    let over = part * 4 - quarter * whole;
    let angle = |quarters: usize| std::f64::consts::FRAC_PI_2 * count(quarters) / count(whole);
    let (cosine, sine) = if over * 2 > whole {
        let (sine, cosine) = angle(whole - over).sin_cos();
        (sine, cosine)
    } else {
        let (sine, cosine) = angle(over).sin_cos();
        (cosine, sine)
    };
    match quarter {
        0 => (cosine, sine),
        1 => (-sine, cosine),
        2 => (-cosine, -sine),
        _ => (sine, -cosine),
    }
}
