//! Verdicts: what was found of one attempt, and every figure it stands on.

use crate::judgement::{Limits, Reason, Rule, Word};
use crate::quantity::{Figure, Length, Unit};

use super::row::Seq;

/// The verdict on one attempt at a check. The newest one of an attempt stands.
#[derive(Debug, Clone, PartialEq)]
pub struct Verdict {
    /// The attempt.
    pub attempt: Seq,
    /// Tries that were combined, this one included.
    pub tries: u32,
    /// The figure that is judged; `None` where too little was taken for one.
    pub value: Option<Figure>,
    /// The unit of the tolerance.
    pub unit: Unit,
    /// What it was held against.
    pub limits: Limits,
    /// Expanded uncertainty, k = 2, rounded up to a whole picometre.
    pub uncertainty: Option<Length>,
    /// Whether the gauge states no uncertainty, so that resolution/√12 was taken.
    pub assumed: bool,
    /// The rule the job agreed on.
    pub rule: Rule,
    /// The verdict.
    pub word: Word,
    /// What the simple rule's arithmetic gives.
    pub simple: Option<Word>,
    /// What the guarded rule's arithmetic gives.
    pub guarded: Option<Word>,
    /// Positions of the check.
    pub positions: u32,
    /// Positions that hold a reading that counts.
    pub taken: u32,
    /// Positions left out with a reason.
    pub skipped: u32,
    /// Everything derived beside the judged figure.
    pub figures: Figures,
    /// Sentences for the person, in the order they matter.
    pub advice: Vec<String>,
    /// Why it was withheld, or may not pass.
    pub reasons: Vec<Reason>,
}

/// Figures beside the judged one; what does not apply is `None` or empty.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Figures {
    /// Highest minus lowest.
    pub max_minus_min: Option<Figure>,
    /// Width of the minimum zone.
    pub minimum_zone: Option<Figure>,
    /// Range of the residuals from the least-squares plane, to a thousandth of a picometre.
    pub least_squares: Option<Figure>,
    /// Rise of the least-squares plane over the largest measuring diameter, likewise.
    pub tilt: Option<Figure>,
    /// The slope of that plane, microradians.
    pub slope_urad: Option<f64>,
    /// Where the high side lies, degrees from the index mark.
    pub high_side_deg: Option<f64>,
    /// How well that is known, degrees, k = 2.
    pub high_side_u_deg: Option<f64>,
    /// What a perfect part would show with this gauge.
    pub noise_floor: Option<Length>,
    /// Mean of the readings.
    pub mean: Option<Figure>,
    /// Positions that touch the upper plane of the minimum zone.
    pub contacts_upper: Vec<u32>,
    /// Positions that touch the lower plane.
    pub contacts_lower: Vec<u32>,
    /// Closure minus position 0.
    pub closure: Option<Figure>,
}
