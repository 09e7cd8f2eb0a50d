//! As the spindle came in and as it leaves: the checks that a plan pairs, station by station.

use maud::{Markup, html};

use super::facts::JobFacts;
use super::model::Model;
use super::table;
use super::text::{self, free, minus, target};
use crate::comparison::model::{Characteristic, Found, InJob, Model as Compared};
use crate::comparison::text::went;
use crate::metal_words;
use judgement::Word;
use words::size;

/// The pairs of the job, with what the job before left, where there is one.
pub(super) fn section(model: &Model<'_>, earlier: &[JobFacts]) -> Markup {
    let before = &earlier[earlier.len().saturating_sub(1)..];
    let compared = Compared::of(before.iter().chain([model.facts]).collect(), &[]);
    let now = before.len();
    let side = |one: &Characteristic| one.in_job(now).is_some_and(|job| job.found_side.is_some());
    let rows: Vec<&Characteristic> =
        compared.characteristics.iter().filter(|one| side(one)).collect();
    html! {
        @if !rows.is_empty() {
            h3 { "As found and as it leaves" }
            div.wide tabindex="0" { table.stack {
                caption { "Figures in " (model.unit.plural()) "." @if !before.is_empty() {
                    " A new part makes it another spindle for what turns: a change across it says nothing of wear."
                } }
                thead { tr {
                    th scope="col" { "Characteristic" }
                    @for job in before { th.n scope="col" { "Left " (free(job.record.name.as_str())) } }
                    th.n scope="col" { "Found" }
                    th.n scope="col" { "Final" }
                    @if !before.is_empty() { th scope="col" { "Since the job before" } }
                    th scope="col" { "Found to final" }
                } }
                tbody { @for one in rows { tr {
                    th scope="row" { (name(model, one)) }
                    @for job in one.jobs.iter().take(now) {
                        td.n data-label="Left" { (leaves(model, job.as_ref().and_then(InJob::standing))) }
                    }
                    td.n data-label="Found" { (figure(model, one.in_job(now).and_then(InJob::first))) }
                    td.n data-label="Final" { (leaves(model, one.in_job(now).and_then(InJob::standing))) }
                    @if !before.is_empty() { td data-label="Since the job before" { (since(model, one, now)) } }
                    td data-label="Found to final" { @match one.within.iter().find(|moved| moved.to == now) {
                        Some(moved) => (minus(&text::shown(&went(one, moved, model.unit)))),
                        None => "–",
                    } }
                } } }
            } }
        }
    }
}

/// `final/bar at 4`.
pub(super) fn name(model: &Model<'_>, one: &Characteristic) -> Markup {
    html! {
        (target(one.key.part.as_str(), one.key.check.as_str()))
        @if let Some(at) = one.key.station { " at " (size(at, model.unit)) }
    }
}

pub(super) fn figure(model: &Model<'_>, found: Option<&Found>) -> Markup {
    html! { @match found {
        Some(found) => @match (&found.judged, &found.answer) {
            // An incomplete check has no figure of the whole.
            (Some(judged), _) if judged.word == Word::Incomplete => (text::word(judged.word)),
            (Some(judged), None) => (table::figure(&judged.held, model.unit)),
            (_, Some(answer)) => (free(answer)),
            (None, None) => "–",
        },
        None => "not measured",
    } }
}

/// A figure as the spindle leaves, and whether the metal it was measured on is still there.
pub(super) fn leaves(model: &Model<'_>, found: Option<&Found>) -> Markup {
    let judged = found.and_then(|found| found.judged.as_ref());
    html! {
        (figure(model, found))
        @if let Some(gone) = judged.and_then(|judged| metal_words(judged.standing)) {
            span.what { "stands no longer: " (gone) }
        }
    }
}

/// The change since the job before.
pub(super) fn since(model: &Model<'_>, one: &Characteristic, now: usize) -> Markup {
    html! { @match one.changes.iter().find(|moved| moved.to == now) {
        Some(moved) => (minus(&text::shown(&went(one, moved, model.unit)))),
        None => "–",
    } }
}
