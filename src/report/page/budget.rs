//! What the uncertainty of each figure is made of, in an annex.

use maud::{Markup, html};

use super::model::{Go, Model};
use super::text::target;
use ::record::VerdictRecord;
use bench::words::source_of;
use judgement::Budget;
use words::{ShareTold, degrees_of_freedom, shares, standard_uncertainty};

pub(super) fn annex(model: &Model<'_>) -> Markup {
    let known = |record: &VerdictRecord| record.verdict.uncertainty.is_some();
    let all: Vec<_> = model.judged().filter(|(_, _, record)| known(record)).collect();
    html! {
        @if !all.is_empty() {
            section aria-labelledby="uncertainty" {
                h2 #uncertainty { "Annex: the uncertainty" }
                p { "What the uncertainty of each figure is made of, worked out again from the readings. u is a standard uncertainty; of the mean of several touches that of one. What a share adds is counted in squares: the root of their sum, times k, is U. Degrees of freedom (df) tell how well a share is known; a dash: they have no end." }
                div.budgets { @for (_, go, record) in all { (table(model, go, record)) } }
            }
        }
    }
}

fn table(model: &Model<'_>, go: &Go<'_>, record: &VerdictRecord) -> Markup {
    let Some(budget) = budget(model, go, record) else {
        return html! {
            p { (target(record.part.as_str(), record.check.as_str())) ": worked out by another version of the program, whose shares are not known." }
        };
    };
    let unit = record.verdict.unit;
    let expanded = budget.expanded();
    let spread = record.verdict.told(unit).uncertainty.unwrap_or_default();
    let heads = ShareTold::HEADS;
    let attempt = model.facts.state.attempts.get(&go.id);
    let source = |share| source_of(attempt?, share);
    html! {
        div.wide tabindex="0" { table.shares {
            caption { (target(record.part.as_str(), record.check.as_str())) ", in " (unit.plural()) }
            thead { tr { @for head in heads { th scope="col" { (head) } } } }
            tbody { @for share in shares(&budget, unit, source) {
                @let [share, size, touches, counts, adds, known, df] = share.cells();
                tr {
                    th scope="row" { (share) }
                    td.n { (size) } td.n { (touches) } td.n { (counts) } td.n { (adds) }
                    td { (known) } td.n { (df) }
                }
            } }
            tfoot { tr {
                th scope="row" { "together" }
                td colspan="3" { "k = " (format!("{:.2}", expanded.k.to_f64())) ", U = " (spread) }
                td.n { (standard_uncertainty(&budget, unit)) }
                td { (expanded.known.text()) }
                td.n { (degrees_of_freedom(budget.freedom().degrees())) }
            } }
        } }
    }
}

/// The budget of the verdict that stands; `None` where it comes out differently now.
fn budget(model: &Model<'_>, go: &Go<'_>, record: &VerdictRecord) -> Option<Budget> {
    let budget = bench::work_out(&model.facts.state, go.id)?.budget?;
    let (now, stored) = (budget.expanded(), &record.verdict);
    let same = Some(now.uncertainty) == stored.uncertainty
        && Some(now.k) == stored.k
        && now.known == stored.known;
    same.then_some(budget)
}
