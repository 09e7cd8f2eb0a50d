//! Earlier jobs with the same serial number: what was changed, and apart from that, what has moved.

use maud::{Markup, html};

use super::facts::JobFacts;
use super::model::{Item, Model};
use super::pairs;
use super::text::{self, free, or_dash, target};
use crate::comparison::model::{Characteristic, Found, InJob, Model as Compared};

/// The newest of them have a column each, at most this many.
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
            (moved(model, shown))
        }
    }
}

/// Parts replaced and metal taken off in a job.
fn changed(model: &Model<'_>) -> Markup {
    let ground: Vec<&Item<'_>> = model
        .items
        .iter()
        .filter(|item| item.goes.iter().any(|go| go.attempt.began.grinds))
        .filter(|item| !item.check.traits().is_worked_out())
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

/// Whether a figure exists and was not cut short.
fn has_figure(found: Option<&Found>) -> bool {
    found.is_some_and(|found| found.is_whole() && found.figure.is_some())
}

fn came(one: &Characteristic, now: usize) -> Option<&Found> {
    one.in_job(now).and_then(InJob::first)
}

/// Each characteristic, a bar's station by station, as every job left it and as it came this time. Stations
/// are the same when their distance is the same. Where there is an "as found" check, it says how the
/// spindle came.
fn moved(model: &Model<'_>, earlier: &[JobFacts]) -> Markup {
    let compared = Compared::of(earlier.iter().chain([model.facts]).collect(), &[]);
    let now = earlier.len();
    let standing = |job: &Option<InJob>| job.as_ref().is_some_and(|job| has_figure(job.standing()));
    let left = |one: &Characteristic| one.jobs.iter().take(now).any(standing);
    let measures = |one: &Characteristic| {
        let mut kinds = one.jobs.iter().flatten().map(|job| job.measures);
        let first = kinds.next();
        kinds.all(|kind| Some(kind) == first)
    };
    let rows: Vec<&Characteristic> = compared
        .characteristics
        .iter()
        .filter(|one| has_figure(came(one, now)) && left(one) && measures(one))
        .collect();
    html! {
        @if rows.is_empty() { p { "No characteristic was measured in this job and in an earlier one." } } @else {
            div.wide tabindex="0" { table {
                caption { "Figures in " (model.unit.plural()) ": as each earlier job left them, as the spindle came this time, and as it leaves." }
                thead { tr {
                    th scope="col" { "Characteristic" }
                    @for one in earlier { th.n scope="col" { "Left " (free(one.record.name.as_str())) } }
                    th.n scope="col" { "Came" } th.n scope="col" { "Leaves" } th scope="col" { "Since the job before" }
                } }
                tbody { @for one in rows { tr {
                    th scope="row" { (pairs::name(model, one)) }
                    @for job in one.jobs.iter().take(now) {
                        td.n { (pairs::leaves(model, job.as_ref().and_then(InJob::standing))) }
                    }
                    td.n { (pairs::figure(model, came(one, now))) }
                    td.n { (pairs::leaves(model, one.in_job(now).and_then(InJob::standing))) }
                    td { (pairs::since(model, one, now)) }
                } } }
            } }
        }
    }
}
