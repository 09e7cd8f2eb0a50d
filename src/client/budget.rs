//! `budget`: what the uncertainty of a verdict is made of, worked out again from the record.

use std::sync::Arc;

use clap::Args;

use ::bench::words::source_of;
use ::bench::{Attempt, Seq, WorkedOut};
use ::record::{Reader, VerdictRecord};
use ::report::{Column, Table};
use ::words::{ShareTold, degrees_of_freedom, shares, standard_uncertainty};
use judgement::{Budget, Share};
use wire::budget_line;

use super::failure::{Failure, REFUSED};
use super::global::Global;
use super::{bench, query, screen};

#[derive(Debug, Args)]
#[command(after_help = "Examples:
  tenths budget 51
  tenths budget 51 --json")]
pub(crate) struct BudgetArgs {
    /// The number of the verdict, as `tenths verdicts` shows it
    pub(crate) verdict: u64,
}

pub(crate) fn run(global: &Global, args: &BudgetArgs) -> Result<u8, Failure> {
    let (record, _) = bench::record(global)?;
    let (verdict, budget, attempt) = worked_out(&record, Seq(args.verdict))?;
    let source = |share| source_of(attempt.as_deref()?, share);
    if global.json {
        screen::line(&budget_line(&verdict, &budget, source))?;
        return bench::whole(&record);
    }
    screen::sentence(&head(&verdict))?;
    query::print_table(&table(&verdict, &budget, source), "", &[])?;
    screen::sentence(&foot(&verdict, &budget))?;
    bench::whole(&record)
}

/// A verdict, its budget, and its attempt.
type WithBudget = (VerdictRecord, Budget, Option<Arc<Attempt>>);

/// The verdict with its budget; they agree, or the verdict was worked out by another version.
fn worked_out(record: &Reader, id: Seq) -> Result<WithBudget, Failure> {
    let found = record.judged_then(id).map_err(bench::no_record)?;
    let none = |text: String, hint: &str| Failure::new(REFUSED, text, hint);
    let Some((verdict, job)) = found else {
        let text = format!("there is no verdict {id}");
        return Err(none(text, "`tenths verdicts` lists them with their numbers"));
    };
    let again = ::bench::work_out(&job, verdict.verdict.attempt);
    let Some(WorkedOut { verdict: now, budget: Some(budget), .. }) = again else {
        let text = format!("verdict {id} has no uncertainty: there is no figure that was judged");
        return Err(none(text, "`tenths verdicts` shows what it says"));
    };
    let stored = &verdict.verdict;
    if (now.uncertainty, now.k, now.known) != (stored.uncertainty, stored.k, stored.known) {
        let text = format!("verdict {id} comes out differently when it is worked out again");
        let hint = "it was worked out by another version of this program, or the record was changed: \
                    tenths verify";
        return Err(none(text, hint));
    }
    let attempt = job.attempts.get(&verdict.verdict.attempt).cloned();
    Ok((verdict, budget, attempt))
}

/// What the verdict is on, and its figure.
fn head(record: &VerdictRecord) -> String {
    let told = record.verdict.told(record.verdict.unit);
    let value = told.value.unwrap_or_else(|| "no figure".to_owned());
    let spread = told.uncertainty.map_or_else(String::new, |spread| format!(" ± {spread}"));
    format!(
        "Verdict {} on {} {}/{}: {value}{spread} {}",
        record.id,
        record.job,
        record.part,
        record.check,
        record.verdict.unit.symbol()
    )
}

fn table(
    record: &VerdictRecord,
    budget: &Budget,
    source: impl Fn(Share) -> Option<String>,
) -> Table {
    let [share, size, touches, counts, adds, known, df] = ShareTold::HEADS;
    let mut table = Table::new(&[
        Column::words(share, 0),
        Column::number(size, 2),
        Column::number(touches, 4),
        Column::number(counts, 1),
        Column::number(adds, 0),
        Column::words(known, 0),
        Column::number(df, 3),
    ]);
    for share in shares(budget, record.verdict.unit, source) {
        table.push(&share.cells());
    }
    table
}

/// How the shares come to the uncertainty.
fn foot(record: &VerdictRecord, budget: &Budget) -> String {
    let unit = record.verdict.unit;
    let expanded = budget.expanded();
    let df = budget.freedom().degrees();
    let degrees = match df {
        None => "no end of degrees of freedom".to_owned(),
        Some(_) => format!("{} degrees of freedom", degrees_of_freedom(df)),
    };
    let spread = record.verdict.told(unit).uncertainty.unwrap_or_default();
    format!(
        "Root of the sum of squares {}, {degrees}: k = {:.2}, U = {spread} {}, {}.",
        standard_uncertainty(budget, unit),
        expanded.k.to_f64(),
        unit.symbol(),
        expanded.known.text()
    )
}
