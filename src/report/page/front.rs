//! The first part of the report: whose spindle, who measured, with which gauges, by which rule.

use maud::{Markup, html};

use super::card;
use super::facts::JobFacts;
use super::model::{Item, Model};
use super::pairs;
use super::summary;
use super::text::{self, free, or_dash, target};
use crate::against_words;
use bench::plan::MasterUse;
use bench::row::Role;
use bench::setup::{GaugeKind, GaugeSetup};
use judgement::{Rule, celsius};
use quantity::{Figure, Length, Wall};
use words::size;

/// What a customer looks for first.
pub(super) fn brief(model: &Model<'_>) -> Markup {
    let job = &model.facts.record;
    let told: [(&str, Option<&String>); 2] =
        [("Serial", job.serial.as_ref()), ("Customer", job.customer.as_ref())];
    html! {
        dl.front.tight {
            @for (word, said) in told {
                @if let Some(said) = said { div { dt { (word) } dd { (summary::brief(said)) } } }
            }
            (card::told_last(model))
            div { dt { "Measured" } dd { (measured_on(model)) (hands(model)) (closed(model)) } }
            div.whole { dt { "Rule" } dd { (rule(model)) } }
        }
    }
}

/// Everybody who touched what stands.
fn hands(model: &Model<'_>) -> Markup {
    let mut all: Vec<&str> = Vec::new();
    for hand in model.judged().flat_map(|(_, go, _)| model.hands(go)) {
        if !all.contains(&hand.as_str()) {
            all.push(hand.as_str());
        }
    }
    html! { @if !all.is_empty() { " by " (summary::brief(&all.join(", "))) } }
}

/// The rule in a few words.
fn rule(model: &Model<'_>) -> Markup {
    let used = |rule: Rule| model.judged().any(|(_, _, record)| record.verdict.rule == rule);
    html! {
        @if used(Rule::Guarded) { "guarded: conforms where the figure lies inside its limit by its uncertainty U" }
        @if used(Rule::Guarded) && used(Rule::Simple) { "; " }
        @if used(Rule::Simple) { "simple: conforms at or inside the limit" }
        @if !used(Rule::Guarded) && !used(Rule::Simple) { "—" }
    }
}

pub(super) fn section(model: &Model<'_>, earlier: &[JobFacts]) -> Markup {
    let job = &model.facts.record;
    html! {
        section aria-labelledby="front" {
            h2 #front { "The job" }
            (card::strip(model))
            (went_on(model))
            (pairs::section(model, earlier))
            dl.front {
                div { dt { "Job" } dd { (free(model.name())) ", plan " (free(&job.plan.plan.name)) } }
                div { dt { "Serial" } dd { (or_dash(job.serial.as_deref())) } }
                div { dt { "Customer" } dd { (or_dash(job.customer.as_deref())) } }
                (card::edits(model))
                (card::intake(model))
                div { dt { "Opened" } dd { (text::day(job.opened_at, model)) @if let Some(by) = &job.by { " by " (free(by)) } (closed(model)) } }
                div { dt { "Measured" } dd { (measured_on(model)) } }
                div { dt { "Measured by" } dd { (measured_by(model)) } }
                div { dt { "Checked by" } dd { (signed_by(model, Role::Checked)) } }
                div { dt { "Accepted by" } dd { (signed_by(model, Role::Accepted)) } }
                div { dt { "Rule agreed" } dd { (rules(model)) } }
                div { dt { "Temperatures" } dd { (temperatures(model)) } }
                div { dt { "Masters" } dd { (masters(model)) } }
            }
            (gauges(model))
            (notes(model))
        }
    }
}

/// What a person went on with although a check spoke against it.
fn went_on(model: &Model<'_>) -> Markup {
    let went = &model.facts.record.went_on;
    html! {
        @if !went.is_empty() {
            h3 { "Gone on although a check spoke against it" }
            ul { @for one in went { li {
                (text::when(one.at, model)) ": "
                @match &one.part {
                    Some(part) => { (free(part.as_str())) " went on the stack" }
                    None => { "the job was closed" }
                }
                " although " (free(&against_words(one))) ". Reason given" @if let Some(by) = &one.by { " by " (free(by.as_str())) } ": " (free(&one.why)) "."
            } } }
        }
    }
}

/// Everybody who measured something that stands; where there are several people, each with their checks.
fn measured_by(model: &Model<'_>) -> Markup {
    let mut people: Vec<(&str, Vec<String>)> = Vec::new();
    for (item, go, _) in model.judged() {
        for hand in model.hands(go) {
            let check = target_text(item.part.name.as_str(), item.check.name.as_str());
            match people.iter_mut().find(|(known, _)| *known == hand.as_str()) {
                Some((_, checks)) => checks.push(check),
                None => people.push((hand.as_str(), vec![check])),
            }
        }
    }
    html! {
        @match &people[..] {
            [] => "—",
            [(alone, _)] => { (free(alone)) }
            several => @for (person, checks) in several {
                p { (free(person)) ": " (free(&checks.join(", "))) }
            }
        }
    }
}

fn target_text(part: &str, check: &str) -> String {
    format!("{part}/{check}")
}

/// Who signed for a role: every person who did so for the whole job.
fn signed_by(model: &Model<'_>, role: Role) -> Markup {
    let signed = || model.facts.record.signed.iter().filter(|one| one.role == role);
    html! {
        @if signed().next().is_none() { "—" }
        @for one in signed() {
            p { (free(one.by.as_str())) ", " (text::day(one.at, model)) (card::minded(model, one)) }
        }
    }
}

fn closed(model: &Model<'_>) -> Markup {
    html! {
        @match model.facts.record.closed_at {
            Some(at) => {
                ", closed " (text::day(at, model))
                @if let Some(by) = &model.facts.record.closed_by { " by " (free(by.as_str())) }
            }
            None => { ", still open" }
        }
    }
}

fn measured_on(model: &Model<'_>) -> Markup {
    let read = || model.facts.state.attempts.values().flat_map(|attempt| &attempt.readings);
    let days: Option<(Wall, Wall)> =
        read().map(|one| one.at).min().zip(read().map(|one| one.at).max());
    html! {
        @match days {
            None => { "nothing was read" }
            Some((first, last)) => {
                @let (first, last) = (text::day(first, model), text::day(last, model));
                (first) @if first != last { " to " (last) }
            }
        }
    }
}

fn rules(model: &Model<'_>) -> Markup {
    let used = |rule: Rule| model.judged().any(|(_, _, record)| record.verdict.rule == rule);
    html! {
        @if used(Rule::Guarded) {
            p { "Guarded: a figure conforms where it lies inside its limit by its uncertainty U or more, does not conform where it lies outside by more than U, and is undecided between." }
        }
        @if used(Rule::Simple) {
            p { "Simple: a figure conforms where it lies at or inside its limit; U is stated and not counted." }
        }
        @if !used(Rule::Guarded) && !used(Rule::Simple) { "—" }
        @for change in &model.facts.record.rules {
            p {
                "Changed to " (change.rule.text()) " on " (text::when(change.at, model))
                @if let Some(by) = &change.by { " by " (free(by.as_str())) }
                ": " (free(&change.why))
            }
        }
    }
}

fn temperatures(model: &Model<'_>) -> Markup {
    let entry = |item: &Item<'_>| {
        let asks = item.check.measures.asks()?;
        let degrees = |unit: &String| {
            let unit = unit.trim().trim_start_matches('°');
            unit.eq_ignore_ascii_case("c")
        };
        asks.unit.as_ref().filter(|unit| degrees(unit))?;
        let answer = item.goes.iter().rev().find_map(|go| go.attempt.answer.clone())?;
        celsius(&answer)?;
        Some((asks.question, answer))
    };
    let found: Vec<(String, String)> = model.items.iter().filter_map(entry).collect();
    html! {
        @if found.is_empty() { "not written down" }
        @for (question, answer) in &found { p { (free(question)) ": " (free(answer)) } }
    }
}

fn masters(model: &Model<'_>) -> Markup {
    let used: Vec<_> = model
        .items
        .iter()
        .filter(|item| item.check.master != MasterUse::None && !item.goes.is_empty())
        .filter_map(|item| Some((item, item.check.master_size?)))
        .collect();
    html! {
        @if used.is_empty() { "none was needed" }
        @for (item, master) in used {
            p { (size(master, model.unit)) " " (model.unit.symbol()) " for "
                (target(item.part.name.as_str(), item.check.name.as_str())) }
        }
    }
}

/// Every set-up of a gauge that was used, in order of first use.
fn used_gauges<'a>(model: &'a Model<'_>) -> Vec<(&'a GaugeSetup, Wall)> {
    let mut found: Vec<(&GaugeSetup, Wall)> = Vec::new();
    for attempt in model.facts.state.attempts.values() {
        let Some(gauge) = attempt.gauge().filter(|_| attempt.is_touched()) else { continue };
        match found.iter_mut().find(|(known, _)| *known == gauge) {
            Some((_, last)) => *last = (*last).max(attempt.began_at),
            None => found.push((gauge, attempt.began_at)),
        }
    }
    found
}

fn gauges(model: &Model<'_>) -> Markup {
    let used = used_gauges(model);
    let unit = model.unit.symbol();
    html! {
        @if !used.is_empty() {
            h3 { "Gauges" }
            div.wide tabindex="0" {
                table.stack {
                    thead { tr {
                        th scope="col" { "Gauge" } th scope="col" { "Serial" }
                        th scope="col" { "Resolution, " (unit) }
                        th scope="col" { "Standard uncertainty of one reading, " (unit) }
                        th scope="col" { "Calibration good until" }
                    } }
                    tbody { @for (gauge, last) in used { (gauge_row(model, gauge, last)) } }
                }
            }
        }
    }
}

/// The coarsest step in which readings of a set-up were keyed, where it is coarser than the gauge's own,
/// and the checks concerned.
fn keyed_coarser(model: &Model<'_>, gauge: &GaugeSetup) -> Option<(Length, Vec<String>)> {
    let (mut coarsest, mut places) = (gauge.resolution.length, Vec::new());
    let state = &model.facts.state;
    for attempt in state.attempts.values().filter(|attempt| attempt.gauge() == Some(gauge)) {
        let step = attempt.keyed_step().filter(|step| *step > gauge.resolution.length);
        let Some((step, (part, check))) = step.zip(state.check_of(attempt)) else { continue };
        coarsest = coarsest.max(step);
        let place = text::shown(&format!("{}/{}", part.name, check.name));
        if !places.contains(&place) {
            places.push(place);
        }
    }
    (!places.is_empty()).then_some((coarsest, places))
}

fn gauge_row(model: &Model<'_>, gauge: &GaugeSetup, last: Wall) -> Markup {
    let kind = match gauge.kind {
        GaugeKind::Indicator => "indicator",
        GaugeKind::Height => "height gauge",
        GaugeKind::Dial => "dial, read by eye",
        GaugeKind::Thermometer => "thermometer",
    };
    let coarser = keyed_coarser(model, gauge);
    // A last place may be off by half a step either way: step/√12.
    let square = |length: Length| i128::from(length.picometres()).pow(2);
    let beyond = |stated: Length| {
        coarser.as_ref().is_some_and(|(step, _)| square(*step) > 12 * square(stated))
    };
    // The record keeps the first moment that no longer counts; the last good day is the one before.
    let day = |due: Wall| Wall::from_micros(due.micros() - 1).to_string();
    html! {
        tr {
            th scope="row" { (free(gauge.name.as_str())) ", " (kind) }
            td data-label="Serial" { (or_dash(gauge.serial.as_deref())) }
            td.n data-label="Resolution" {
                (size(gauge.resolution.length, model.unit))
                @if let Some((step, places)) = &coarser {
                    ", keyed to " (size(*step, model.unit)) " for " (places.join(", "))
                }
            }
            td.n data-label="One reading" {
                @match gauge.uncertainty {
                    Some(stated) => {
                        (Figure::from(stated).shown_up_at(model.unit, model.unit.shown_places())) " stated"
                        @if beyond(stated) { ", assumed where keyed" }
                    }
                    None => { "assumed, not stated" }
                }
            }
            td data-label="Good until" {
                @match gauge.calibration_due {
                    None => { "not stated" }
                    Some(due) => {
                        (day(due).chars().take(10).collect::<String>())
                        @if last >= due { strong { " overdue when used" } }
                    }
                }
            }
        }
    }
}

fn notes(model: &Model<'_>) -> Markup {
    let notes = &model.facts.record.notes;
    html! {
        @if !notes.is_empty() {
            h3 { "Remarks" }
            ul { @for note in notes {
                li {
                    (text::when(note.at, model)) @if let Some(by) = &note.by { ", " (free(by.as_str())) }
                    ": " (free(&note.text))
                }
            } }
        }
    }
}
