//! Earlier jobs of the same serial: what was changed, apart from what has moved.

use maud::{Markup, html};

use super::facts::JobFacts;
use super::model::{Go, Item, Model};
use super::table::value;
use super::text::{self, free, or_dash, target};
use crate::bench::plan::Measures;
use crate::bench::row::AttemptReason;

/// As many of them have a column, the newest.
const COLUMNS: usize = 3;

pub(super) fn section(model: &Model<'_>, earlier: &[JobFacts]) -> Markup {
    if earlier.is_empty() {
        return html! {};
    }
    let shown = &earlier[earlier.len().saturating_sub(COLUMNS)..];
    let models: Vec<Model<'_>> =
        shown.iter().map(|facts| Model::of(facts, model.unit, model.zone)).collect();
    html! {
        section aria-labelledby="earlier" {
            h2 #earlier { "Earlier jobs of this serial" }
            @if earlier.len() > shown.len() { p { (earlier.len()) " jobs are on record; the newest " (shown.len()) " are told here." } }
            h3 { "What was changed" }
            ul { @for one in models.iter().chain([model]) { li {
                "Job " (free(one.name())) " (" (text::day(one.facts.record.opened_at, one)) "): " (changed(one))
            } } }
            h3 { "What has moved" }
            (moved(model, &models))
        }
    }
}

/// Parts replaced and metal taken off in a job.
fn changed(model: &Model<'_>) -> Markup {
    let ground: Vec<&Item<'_>> = model
        .items
        .iter()
        .filter(|item| item.goes.iter().any(|go| go.reason() == AttemptReason::Ground))
        .filter(|item| item.check.measures != Measures::Difference)
        .collect();
    let replaced = &model.facts.record.replaced;
    html! {
        @if ground.is_empty() && replaced.is_empty() { "nothing is on record." }
        @for (index, part) in replaced.iter().enumerate() {
            @if index > 0 { "; " }
            "new " (free(part.part.as_str())) " " (or_dash(part.serial.as_deref())) " (" (free(&part.why)) ")"
        }
        @if !ground.is_empty() && !replaced.is_empty() { "; " }
        @for (index, item) in ground.iter().enumerate() {
            @if index == 0 { "ground: " } @else { ", " }
            (target(item.part.name.as_str(), item.check.name.as_str()))
        }
    }
}

/// The first complete attempt of a job: as it came.
fn came<'a>(item: &'a Item<'_>) -> Option<&'a Go<'a>> {
    item.old.iter().chain(&item.goes).find(|go| has_figure(go))
}

fn has_figure(go: &Go<'_>) -> bool {
    go.line.as_ref().is_some_and(|line| line.value.is_some() && line.verdict != "incomplete")
}

fn same<'a>(model: &'a Model<'_>, item: &Item<'_>) -> Option<&'a Item<'a>> {
    model.items.iter().find(|other| {
        other.part.name == item.part.name
            && other.check.name == item.check.name
            && other.check.measures == item.check.measures
    })
}

fn moved(model: &Model<'_>, earlier: &[Model<'_>]) -> Markup {
    let measured = |item: &Item<'_>| item.standing().is_some_and(has_figure);
    let items: Vec<&Item<'_>> = model
        .items
        .iter()
        .filter(|item| came(item).is_some())
        .filter(|item| earlier.iter().any(|one| same(one, item).is_some_and(measured)))
        .collect();
    html! {
        @if items.is_empty() { p { "No characteristic was measured in this job and in an earlier one." } } @else {
            div.wide { table {
                caption { "Figures in " (text::unit_word(model.unit)) ": as each earlier job left them, as the spindle came this time, and as it leaves." }
                thead { tr {
                    th scope="col" { "Characteristic" }
                    @for one in earlier { th.n scope="col" { "Left " (free(one.name())) } }
                    th.n scope="col" { "Came" } th.n scope="col" { "Leaves" }
                } }
                tbody { @for item in items { tr {
                    th scope="row" { (target(item.part.name.as_str(), item.check.name.as_str())) }
                    @for one in earlier { td.n { (figure(model, same(one, item).and_then(Item::standing))) } }
                    td.n { (figure(model, came(item))) }
                    td.n { (figure(model, item.standing())) }
                } } }
            } }
        }
    }
}

fn figure(model: &Model<'_>, go: Option<&Go<'_>>) -> Markup {
    html! { @match go.and_then(|go| go.line.as_ref()) { Some(line) => (value(model, line)), None => "–" } }
}
