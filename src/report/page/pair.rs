//! Pairs of spacers: both lengths, which one is longer, and the effect on the preload.

use maud::{Markup, html};

use super::model::Model;
use super::table::value;
use super::text::{free, mark, minus, target};
use ::record::VerdictRecord;
use bench::plan::{Arrangement, Check};
use bench::verdict::{Longer, PairFigures};
use quantity::Figure;
use words::{Thousandth, size};

pub(super) fn section(model: &Model<'_>) -> Markup {
    let pairs: Vec<_> = model
        .judged()
        .filter_map(|(item, _, record)| {
            Some((item.check, record, record.verdict.figures.pair.as_ref()?))
        })
        .collect();
    html! {
        @if !pairs.is_empty() {
            section aria-labelledby="pairs" {
                h2 #pairs { "Pairs" }
                @for (check, record, pair) in pairs { (one(model, check, record, pair)) }
            }
        }
    }
}

fn one(model: &Model<'_>, check: &Check, record: &VerdictRecord, pair: &PairFigures) -> Markup {
    let show = |length: Figure| minus(&length.shown(model.unit));
    let unit = model.unit.symbol();
    let names = halves(model, check);
    let [_, limit, spread] = record.told(model.unit).cells();
    html! {
        h3 { (target(record.part.as_str(), record.check.as_str())) }
        dl.front {
            @for (name, length) in names.iter().zip(&pair.lengths) {
                div { dt { (free(name)) } dd { (show(*length)) " " (unit) } }
            }
            div { dt { "Difference" } dd { (value(model, record)) " ± " (spread) " " (unit) ", " (mark(record.verdict.word)) } }
            div { dt { "Which is longer" } dd { (longer(pair, record, &names)) } }
            div { dt { "Limit" } dd { (minus(&limit)) " " (unit)
                @if let Some(aim) = check.aim { "; aimed for " (size(aim, model.unit)) " either side, not judged" } } }
            @if let Some(required) = pair.required { div { dt { "Wanted" } dd { (show(required)) " " (unit) } } }
            div { dt { "Bearings" } dd { (arranged(check)) } }
            @if let Some(band) = pair.preload_n { div { dt { "Preload" } dd { (preload(band)) } } }
            @if let Some(apart) = pair.apart_min { div { dt { "Time between" } dd { (apart) " min between the touches on the one and on the other" } } }
        }
        @if !pair.loads_n.is_empty() { (loads(&pair.loads_n)) }
    }
}

fn halves(model: &Model<'_>, check: &Check) -> Vec<String> {
    let plan = &model.facts.record.plan.plan;
    let name = |at| plan.at(at).map(|(part, _)| part.name.to_string());
    check.measures.made_of().into_iter().filter_map(name).collect()
}

fn longer(pair: &PairFigures, record: &VerdictRecord, names: &[String]) -> Markup {
    let negative = record.verdict.value.is_some_and(|value| value < Figure::ZERO);
    let name = names.get(usize::from(negative)).map_or("", String::as_str);
    html! {
        @match pair.longer {
            Longer::Sure => { (free(name)) ", sure: the difference is more than 2 U" }
            Longer::Barely => { (free(name)) ", barely: the difference is between U and 2 U" }
            Longer::CannotSay => { "cannot say: the difference is within U" }
        }
    }
}

fn arranged(check: &Check) -> &'static str {
    match check.measures.own().arrangement {
        Some(Arrangement::BackToBack) => "back to back: a longer outer ring adds preload",
        Some(Arrangement::FaceToFace) => "face to face: a longer outer ring takes preload off",
        Some(Arrangement::Tandem) => {
            "tandem: length changes no preload, equal rings share the load"
        }
        None => "not stated",
    }
}

fn preload(band: [Thousandth; 2]) -> Markup {
    let [low, high] = band.map(Thousandth::told);
    html! { "about " (low) " to " (high) " N, rings lying free; nut and fit add to this. An estimate from the deflection stated in the plan." }
}

fn loads(loads: &[[Thousandth; 2]]) -> Markup {
    html! {
        div.wide tabindex="0" { table.reads {
            caption { "Load on each bearing, left to right, newtons; estimates." }
            thead { tr { th scope="col" { "Bearing" } th.n scope="col" { "Now" } th.n scope="col" { "With the wanted difference" } } }
            tbody { @for (index, [now, then]) in loads.iter().enumerate() {
                tr { th scope="row" { (index + 1) } td.n { (format!("{:.0}", now.get())) } td.n { (format!("{:.0}", then.get())) } }
            } }
        } }
    }
}
