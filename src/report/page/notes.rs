//! The stack, written values and answers, what was set aside, and what was not measured.

use maud::{Markup, html};

use super::model::{Go, Item, Model};
use super::text::{self, free, mark, or_dash, target};
use crate::metal_words;
use ::record::{ReadingRecord, StackRecord, StackedPart};
use bench::plan::WrittenRows;
use bench::row::{AttemptReason, State};
use bench::words::{STOPPED_SHORT, not_combined, spots};
use bench::{Attempt, why_not_combined};
use judgement::{Known, Word};
use quantity::{Name, Wall};
use words::as_read;

pub(super) fn stack(model: &Model<'_>) -> Markup {
    let job = &model.facts.record;
    let lists = [("As it was found", &job.stack.found), ("As it is built", &job.stack.built)];
    html! {
        section aria-labelledby="stack" {
            h2 #stack { "The stack" }
            @if job.stack.found.is_empty() && job.stack.built.is_empty() { p { "The stack was not written down." } }
            @for (name, parts) in lists { @if !parts.is_empty() { (list(name, parts)) } }
            (high_spots(&job.stack))
            h3 { "Parts replaced" }
            @if job.replaced.is_empty() { p { "None is on record." } }
            ul { @for part in &job.replaced { li {
                (free(part.part.as_str())) ", new serial " (or_dash(part.serial.as_deref())) ", "
                (text::when(part.at, model))
                @if let Some(by) = &part.by { " replaced by " (free(by.as_str())) }
                ": " (free(&part.why))
            } } }
        }
    }
}

fn list(name: &str, parts: &[StackedPart]) -> Markup {
    html! {
        div.wide tabindex="0" { table {
            caption { strong { (name) } ", from the nose inwards; marks in degrees from the index mark of the shaft." }
            thead { tr {
                th scope="col" { "Place" } th scope="col" { "Part" } th scope="col" { "Towards the nose" }
                th scope="col" { "Mark at" } th scope="col" { "Serial" } th scope="col" { "By" }
            } }
            tbody { @for (index, part) in parts.iter().enumerate() { tr {
                td { (index + 1) }
                th scope="row" { (free(part.part.as_str())) }
                td { (or_dash(part.towards_nose.as_deref())) }
                td { @match part.mark_deg { Some(deg) => { (deg) "°" } None => { "—" } } }
                td { (or_dash(part.serial.as_deref())) }
                td { (or_dash(part.by.as_ref().map(Name::as_str))) }
            } } }
        } }
    }
}

/// Where the parts run highest, and what that comes to as they stand.
fn high_spots(stack: &StackRecord) -> Markup {
    html! {
        @if !stack.spots.is_empty() {
            div.wide tabindex="0" { table {
                caption { strong { "High spots" } ", each counted from the mark of its part; on the shaft from the index mark." }
                thead { tr { th scope="col" { "Part" } th scope="col" { "Marked" } th scope="col" { "By" } } }
                tbody { @for marked in &stack.spots { tr {
                    th scope="row" { (free(marked.part.as_str())) }
                    td { (free(&spots::spot(&marked.spot))) }
                    td { (or_dash(marked.by.as_ref().map(Name::as_str))) }
                } } }
            } }
            @if let Some(told) = stack.together.as_ref().and_then(spots::together) {
                p { "As it is built: " (free(&told)) " Total readings add as vectors on one arm; where the parts lie along the shaft is not in it." }
            }
        }
    }
}

/// The newest answer or value of a check that asks for one.
fn answer<'a>(item: &'a Item<'_>) -> Option<(&'a Go<'a>, &'a str)> {
    item.goes.iter().rev().find_map(|go| Some((go, go.attempt.answer.as_deref()?)))
}

/// The earlier answers or values, in order: a failed answer stays visible.
fn before(model: &Model<'_>, item: &Item<'_>, newest: &Go<'_>) -> Markup {
    let verb = if item.check.traits().is_chosen() { "answered " } else { "written down " };
    let before: Vec<&Attempt> = item
        .goes
        .iter()
        .filter(|go| go.id < newest.id)
        .map(|go| go.attempt)
        .filter(|attempt| attempt.answer.is_some())
        .collect();
    html! {
        @for (index, attempt) in before.iter().enumerate() {
            @if index == 0 { (verb) } @else { "then " }
            (free(attempt.answer.as_deref().unwrap_or_default()))
            (by(attempt)) " at " (text::when(given_at(attempt), model)) ", "
        }
        @if !before.is_empty() { "then " }
    }
}

fn given_at(attempt: &Attempt) -> Wall {
    attempt.answered_at.unwrap_or(attempt.began_at)
}

fn by(attempt: &Attempt) -> Markup {
    html! { @if let Some(by) = &attempt.answered_by { " by " (free(by.as_str())) } }
}

/// An answer or a value; a table of a few values row by row, each with what is said of it.
fn written(item: &Item<'_>, go: &Go<'_>, answer: &str) -> Markup {
    let asks = item.check.measures.asks();
    let Some([at, of]) = asks.and_then(|asks| asks.columns) else { return free(answer) };
    let judged = go.record.as_ref().map(|record| &record.verdict.figures.rows);
    let says = |row: usize| judged.and_then(|rows| rows.get(row)?.verdict);
    let rows = WrittenRows::stored(answer).0;
    let any = (0..rows.len()).any(|row| says(row).is_some());
    html! {
        table {
            thead { tr {
                th.n scope="col" { (free(&at.title())) } th.n scope="col" { (free(&of.title())) }
                @if any { th scope="col" { "Verdict" } }
            } }
            tbody { @for (row, (at, value)) in rows.iter().enumerate() { tr {
                td.n { (free(at)) } td.n { (free(value)) }
                @if any { td { @match says(row) { Some(word) => (mark(word)), None => "–" } } }
            } } }
        }
    }
}

pub(super) fn entries(model: &Model<'_>) -> Markup {
    let found: Vec<_> = model
        .items
        .iter()
        .filter_map(|item| Some((item, item.check.measures.asks()?.question, answer(item)?)))
        .collect();
    html! {
        section aria-labelledby="entries" {
            h2 #entries { "Entries and answers" }
            @if found.is_empty() { p { "Nothing was written down." } } @else {
                div.wide tabindex="0" { table {
                    thead { tr {
                        th scope="col" { "Entry" } th scope="col" { "Question" } th scope="col" { "Answer" }
                        th scope="col" { "Verdict" } th scope="col" { "When" }
                    } }
                    tbody { @for (item, question, (go, answer)) in found { tr {
                        th scope="row" { (target(item.part.name.as_str(), item.check.name.as_str())) }
                        td { (free(&question)) } td { (before(model, item, go)) (written(item, go, answer)) }
                        td { @match &go.record { Some(record) => (mark(record.verdict.word)), None => "kept, not judged" } }
                        td { (text::when(given_at(go.attempt), model)) (by(go.attempt)) }
                    } } }
                } }
            }
        }
    }
}

/// Why an attempt is not among those that the standing verdict combines; `None` where it is.
fn why_aside(model: &Model<'_>, item: &Item<'_>, index: usize) -> Option<String> {
    let go = item.goes.get(index)?;
    if go.record.as_ref().is_some_and(|record| record.verdict.word == Word::Incomplete) {
        return Some(STOPPED_SHORT.to_owned());
    }
    // All answers and written values are shown with their check.
    let standing = item.standing()?;
    let counts =
        standing.id == go.id || standing.record.as_ref()?.verdict.combined.contains(&go.id);
    if counts || go.id > standing.id || !item.check.traits().is_touched() {
        return None;
    }
    let later = item.goes.get(index + 1..)?;
    let set_aside = later.iter().find_map(|later| match later.reason() {
        AttemptReason::Ground => Some("metal was taken off after it"),
        AttemptReason::Cleaned => Some("the part was cleaned and measured again"),
        AttemptReason::First | AttemptReason::Again => None,
    });
    let gone = go.record.as_ref().and_then(|record| metal_words(record.standing));
    if let Some(why) = set_aside.or(gone) {
        return Some(why.to_owned());
    }
    if standing.record.as_ref()?.verdict.word == Word::Incomplete {
        return Some("another attempt was begun after it and stopped".to_owned());
    }
    Some(not_combined(why_not_combined(&model.facts.state, go.id)))
}

const REPLACED: &str = "measured on a part that was replaced since";

fn aside<'a>(model: &'a Model<'_>) -> Vec<(&'a Item<'a>, &'a Go<'a>, String)> {
    let mut found = Vec::new();
    for item in &model.items {
        found.extend(item.old.iter().map(|go| (item, go, REPLACED.to_owned())));
        for (index, go) in item.goes.iter().enumerate() {
            found.extend(why_aside(model, item, index).map(|why| (item, go, why)));
        }
    }
    found
}

pub(super) fn set_aside(model: &Model<'_>) -> Markup {
    let voids: Vec<&ReadingRecord> =
        model.facts.readings.iter().filter(|reading| reading.state == State::Void).collect();
    let aside = aside(model);
    html! {
        section aria-labelledby="aside" {
            h2 #aside { "Touches taken back, attempts set aside" }
            @if voids.is_empty() { p { "No touch was taken back." } } @else {
                p { (voids.len()) (if voids.len() == 1 { " touch was" } else { " touches were" }) " taken back; the record keeps them." }
                div.wide tabindex="0" { table {
                    thead { tr { th scope="col" { "Where" } th scope="col" { "Attempt" } th scope="col" { "Position" }
                        th.n scope="col" { "Reading, " (model.unit.symbol()) } th scope="col" { "Touched by" } th scope="col" { "Taken back by" } th scope="col" { "Why" } } }
                    tbody { @for reading in voids { (void(model, reading)) } }
                } }
            }
            @if aside.is_empty() { p { "No attempt was set aside." } } @else {
                div.wide tabindex="0" { table {
                    caption { "Attempts that no longer count." }
                    thead { tr { th scope="col" { "Where" } th scope="col" { "Attempt" } th scope="col" { "It said" } th scope="col" { "Why it no longer counts" } } }
                    tbody { @for (item, go, why) in aside { (aside_row(model, item, go, &why)) } }
                } }
            }
        }
    }
}

fn void(model: &Model<'_>, reading: &ReadingRecord) -> Markup {
    let check = reading.place.as_ref().and_then(|place| place.check.as_ref());
    html! {
        tr {
            th scope="row" { @match check { Some(check) => (target(check.part.as_str(), check.check.as_str())), None => "—" } }
            td { @match check { Some(check) => (check.number), None => "—" } }
            td { @match reading.position { Some(position) => (position), None => "—" } }
            td.n { (text::minus(&as_read(reading.value, model.unit))) }
            td { (or_dash(reading.by.as_ref().map(Name::as_str))) }
            td { (or_dash(reading.voided_by.as_ref().map(Name::as_str))) }
            td { (or_dash(reading.why.as_deref())) }
        }
    }
}

fn aside_row(model: &Model<'_>, item: &Item<'_>, go: &Go<'_>, why: &str) -> Markup {
    html! {
        tr {
            th scope="row" { (target(item.part.name.as_str(), item.check.name.as_str())) }
            td { (go.attempt.began.number) ", " (text::because(go.reason())) }
            td { @match &go.record {
                Some(record) => { (text::word(record.verdict.word)) ", " (super::table::value(model, record)) }
                None => { @match &go.attempt.answer { Some(answer) => (free(answer)), None => "no verdict" } }
            } }
            td { (why) @if let Some(remark) = &go.attempt.began.remark { ". Remark: " (free(remark)) } }
        }
    }
}

pub(super) fn not_measured(model: &Model<'_>) -> Markup {
    let open: Vec<&Item<'_>> = model.items.iter().filter(|item| item.is_open()).collect();
    let turned =
        model.every_go().any(|(item, go)| go.attempt.is_touched() && item.check.traits().turns);
    let assumed =
        model.judged().filter(|(_, _, record)| record.verdict.known == Known::Assumed).count();
    html! {
        section aria-labelledby="not" {
            h2 #not { "What was not measured" }
            ul {
                li { "Turns were read by hand, cold, without load; no turn is a running test." @if !turned { " No turn was read in this job." } }
                li { "Beyond the checks above nothing is said of behaviour at speed, growth when warm, vibration, balance, noise." }
                li { "Nothing is claimed between the touches; the number of positions stands beside every verdict." }
                @if assumed > 0 { li { (assumed) (if assumed == 1 { " verdict rests" } else { " verdicts rest" }) " on an uncertainty that is assumed, not stated." } }
                li { "A verdict is no permission to run." }
            }
            @if open.is_empty() { p { "Every check of the plan has a verdict or an entry." } } @else {
                h3 { "Checks of the plan without a verdict" }
                ul { @for item in open { li {
                    (target(item.part.name.as_str(), item.check.name.as_str())) ", " (item.check.traits().named)
                    (begun(item))
                } } }
            }
        }
    }
}

fn begun(item: &Item<'_>) -> Markup {
    html! {
        @if let Some(go) = item.goes.last() {
            @if item.check.total() == 0 { ": begun, nothing written down" } @else { ": begun, " (go.attempt.taken()) " of " (item.check.touches_in_all()) (if item.check.touches > 1 { " touches made" } else { " positions taken" }) }
        } @else { ": not begun" }
    }
}
