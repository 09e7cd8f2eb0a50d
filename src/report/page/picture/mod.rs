//! Every verdict with its readings, its worked line and its picture.

mod bar;
mod polar;
mod ring;
mod svg;
mod turn;

use maud::{Markup, html};

use super::model::{Go, Item, Model};
use super::text::{self, free, mark, target};
use super::{readings, worked};
use bench::plan::Drawing;
use wire::VerdictLine;
use words::size;

pub(super) fn section(model: &Model<'_>) -> Markup {
    html! {
        section aria-labelledby="how" {
            h2 #how { "How each verdict was reached" }
            @if model.judged().next().is_none() { p { "There are no verdicts." } }
            @for (item, go, line) in model.judged() { (check(model, item, go, line)) }
        }
    }
}

fn check(model: &Model<'_>, item: &Item<'_>, go: &Go<'_>, line: &VerdictLine) -> Markup {
    html! {
        div.check {
            h3 id={ "c" (line.id) } { (target(&line.part, &line.check)) }
            p { (mark(&line.verdict)) " " (claim(model, item, line)) }
            @if let Some(remark) = &line.remark { p { "Remark: " (free(remark)) } }
            @if let Some(said) = worked::line(item, go, line, model.unit) {
                p.worked { bdi { (text::shown(&said)) } }
            }
            @if item.check.traits().drawing == Drawing::Bar { (bar::words(model, line)) }
            div.side {
                @if item.is_face() { (ring::side(model, item, go)) }
                @if item.check.traits().drawing == Drawing::Circles { (turn::plots(model, item, go)) }
                @if item.check.traits().drawing == Drawing::Bar { (bar::pictures(model, item, go, line)) }
                @if !line.advice.is_empty() {
                    ul.beside { @for said in &line.advice { li { (free(said)) } } }
                }
            }
            (readings::tables(model, item))
        }
    }
}

/// What is claimed, and at how many touches: never a bare "flat".
fn claim(model: &Model<'_>, item: &Item<'_>, line: &VerdictLine) -> Markup {
    let radii: Vec<String> =
        item.check.radii.iter().map(|radius| size(*radius, model.unit)).collect();
    html! {
        (item.check.traits().named)
        @if line.positions > 0 { ", " (line.taken) " of " (line.positions) " positions" }
        @if !radii.is_empty() { " at radius " (radii.join(" and ")) " " (model.unit.symbol()) }
        ", " (text::setup(item.check, line))
        @if line.uncertainty_from == "assumed" { ", uncertainty assumed" }
        "."
    }
}
