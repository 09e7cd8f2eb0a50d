//! Every verdict with its readings, its arithmetic and its picture.

mod bar;
mod polar;
mod ring;
mod run_in;
mod svg;
mod turn;

use maud::{Markup, html};

use super::model::{Go, Item, Model};
use super::text::{self, free, mark, target};
use super::{readings, worked};
use ::record::VerdictRecord;
use bench::plan::Drawing;
use judgement::Known;
use words::size;

pub(super) fn section(model: &Model<'_>) -> Markup {
    html! {
        section aria-labelledby="how" {
            h2 #how { "How each verdict was reached" }
            @if model.judged().next().is_none() { p { "There are no verdicts." } }
            @for (item, go, record) in model.judged() { (check(model, item, go, record)) }
        }
    }
}

fn check(model: &Model<'_>, item: &Item<'_>, go: &Go<'_>, record: &VerdictRecord) -> Markup {
    html! {
        div.check.then[item.found_side] {
            h3 id={ "c" (record.id) } { (target(record.part.as_str(), record.check.as_str())) }
            p { (mark(record.verdict.word)) @if item.found_side { " as it came in:" } " " (claim(model, item, record)) }
            @if let Some(remark) = &record.remark { p { "Remark: " (free(remark)) } }
            @if let Some(said) = worked::line(item, go, record, model.unit) {
                p.worked { bdi { (text::shown(&said)) } }
            }
            @if item.check.traits().drawing == Drawing::Bar { (bar::words(model, record)) }
            @if item.check.traits().drawing == Drawing::Curve { (run_in::picture(item, go)) }
            div.side {
                @if item.is_face() { (ring::side(model, item, go)) }
                @if item.check.traits().drawing == Drawing::Circles { (turn::plots(model, item, go)) }
                @if item.check.traits().drawing == Drawing::Bar { (bar::pictures(model, item, go, record)) }
                @if !record.verdict.advice.is_empty() {
                    ul.beside { @for said in &record.verdict.advice { li { (free(said)) } } }
                }
            }
            (readings::tables(model, item))
        }
    }
}

/// What is claimed, and at how many touches: the report never says just "flat".
fn claim(model: &Model<'_>, item: &Item<'_>, record: &VerdictRecord) -> Markup {
    let radii: Vec<String> =
        item.check.radii.iter().map(|radius| size(*radius, model.unit)).collect();
    html! {
        (item.check.traits().named)
        @if record.verdict.positions > 0 { ", " (record.verdict.taken) " of " (record.verdict.touches_in_all()) (if record.verdict.touches > 1 { " touches" } else { " positions" }) }
        @if !radii.is_empty() { " at radius " (radii.join(" and ")) " " (model.unit.symbol()) }
        ", " (text::setup(item.check, record))
        @if record.verdict.known == Known::Assumed { ", uncertainty assumed" }
        "."
    }
}
