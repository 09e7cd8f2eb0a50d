//! `budget/1`: what the uncertainty of one verdict is made of.

use serde::Serialize;

use ::record::VerdictRecord;
use judgement::{Budget, Entered, Known, Share};
use quantity::{Figure, Unit};

use super::text::json_text;

/// The uncertainty of one verdict, worked out again from the record. All lengths are in `unit`.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[cfg_attr(
    feature = "schemas",
    derive(schemars::JsonSchema),
    schemars(transform = ::words::schema::forms().called("budget/1").of(::words::schema::time, "at").of(::words::schema::name, "job part check").of(::words::schema::length, "standard_uncertainty uncertainty"))
)]
pub(crate) struct BudgetLine {
    /// The name of this shape: `budget/1`.
    schema: &'static str,
    /// The number of the verdict.
    id: u64,
    /// When it was given.
    at: String,
    /// The job.
    job: String,
    /// The part.
    part: String,
    /// The check.
    check: String,
    /// The unit of all lengths in the line.
    unit: Unit,
    /// Its shares, in the order in which they enter.
    shares: Vec<ShareLine>,
    /// The sum of what they add, square picometres, a whole number as a text.
    square_pm2: String,
    /// The root of that, rounded up to a picometre.
    standard_uncertainty: String,
    /// The effective degrees of freedom by Welch and Satterthwaite; `null` where they have no end.
    df: Option<u32>,
    /// The factor of coverage.
    k: f64,
    /// The expanded uncertainty: `k` times the root of `square_pm2`, rounded up to a picometre.
    uncertainty: String,
    /// How well the least known of the shares is known.
    uncertainty_from: Known,
}

/// One share of an uncertainty.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[cfg_attr(
    feature = "schemas",
    derive(schemars::JsonSchema),
    schemars(transform = ::words::schema::forms().of(::words::schema::length, "u adds"))
)]
pub(crate) struct ShareLine {
    /// What it comes from.
    share: Share,
    /// The standard uncertainty of one touch, or of what it is, rounded up to a picometre.
    u: String,
    /// How many touches it is the mean of; 1 for what no touching lowers.
    touches: u32,
    /// How often the square of that mean counts.
    counts: f64,
    /// What it adds to the sum of squares, square picometres, a whole number as a text.
    square_pm2: String,
    /// The root of that, rounded up to a picometre.
    adds: String,
    /// From where it is known.
    known: Known,
    /// Its degrees of freedom; `null` where they have no end.
    df: Option<u32>,
    /// How many pairs of the bench's own record it is from; 0 where it is from none.
    pairs: u32,
    /// The piece of the register that it is known from; left out where it is from none.
    #[serde(skip_serializing_if = "Option::is_none")]
    source: Option<String>,
}

/// What the uncertainty of a verdict is made of, as one line of JSON without its line end. `source` names
/// the piece that a share is known from.
#[must_use]
pub fn budget_line(
    record: &VerdictRecord,
    budget: &Budget,
    source: impl Fn(Share) -> Option<String>,
) -> String {
    let unit = record.verdict.unit;
    let expanded = budget.expanded();
    json_text(&BudgetLine {
        schema: "budget/1",
        id: record.id.0,
        at: record.at.to_string(),
        job: record.job.to_string(),
        part: record.part.to_string(),
        check: record.check.to_string(),
        unit,
        shares: budget.entered().map(|one| share(one, unit, source(one.named.share))).collect(),
        square_pm2: budget.square().to_string(),
        standard_uncertainty: length(budget.square(), unit),
        df: budget.freedom().degrees(),
        k: expanded.k.to_f64(),
        uncertainty: Figure::from(expanded.uncertainty).known(unit),
        uncertainty_from: expanded.known,
    })
}

fn share(one: &Entered, unit: Unit, source: Option<String>) -> ShareLine {
    let part = one.named.part;
    ShareLine {
        share: one.named.share,
        u: length(one.named.of_one, unit),
        touches: one.named.touches,
        counts: Figure::new(*one.weight.numer(), *one.weight.denom()).to_f64(),
        square_pm2: one.square.to_string(),
        adds: length(one.square, unit),
        known: part.known,
        df: part.freedom.degrees(),
        pairs: part.count,
        source,
    }
}

/// The root of a square as a length.
fn length(square: u128, unit: Unit) -> String {
    Figure::from(::words::root_of(square)).known(unit)
}
