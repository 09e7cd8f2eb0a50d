//! What people wrote on the card of the job: what was said, where it stands, what was found, done and why,
//! who signed.

use maud::{Markup, html};

use super::model::Model;
use super::summary;
use super::text::{self, free};
use crate::{edit_words, lacking_words, word_of};
use ::record::SignatureRecord;
use bench::fate::Fate;
use bench::flow::words::{state_words, step_words};
use bench::flow::{Flow, StepNow, StepState};
use bench::plan::Part;
use bench::row::{IntakeItem, Outcome, Role};
use bench::words::card::{OF_AN_EARLIER_STATE, field_words, outcome_words, own_work, signed_words};
use judgement::Word;

/// The steps of the job as a strip, and what stands before the next one.
pub(super) fn strip(model: &Model<'_>) -> Markup {
    let flow = Flow::of(&model.facts.state, model.facts.record.closed_at.is_some());
    let mark = |one: &StepNow| match one.state {
        StepState::Done => "✓",
        StepState::Hindered => "!",
        StepState::UnderWay => "…",
        StepState::Open | StepState::NotPart => "○",
    };
    html! {
        ol.steps aria-label="Where the job stands" {
            @for one in flow.own() {
                li class=(one.state.text()) aria-current=[(Some(one.step) == flow.now).then_some("step")] {
                    (step_words(one.step))
                    span.far { span.mark aria-hidden="true" { (mark(one)) } (state_words(one.state)) @if one.of > 1 && one.state != StepState::Done { " " (one.done) "/" (one.of) } }
                }
            }
        }
        @if let Some(before) = &flow.hindered_by { p.before { (free(before)) } }
    }
}

/// What was said when the job came in, or agreed since: the newest of each counts, the earlier ones stay.
pub(super) fn intake(model: &Model<'_>) -> Markup {
    let told =
        |what: IntakeItem| model.facts.record.told.iter().filter(move |one| one.what == what);
    html! {
        @for what in IntakeItem::ALL {
            @if let Some(newest) = told(what).next_back() {
                div {
                    dt { (heading(what)) }
                    dd {
                        (free(&newest.text))
                        @for earlier in told(what).rev().skip(1) {
                            p.note { "earlier, of " (text::when(earlier.at, model)) ": " (free(&earlier.text)) }
                        }
                    }
                }
            }
        }
    }
}

/// The newest of what was said, for a summary.
pub(super) fn told_last(model: &Model<'_>) -> Markup {
    let told = |what: IntakeItem| model.facts.record.told.iter().rfind(|one| one.what == what);
    html! {
        @for what in IntakeItem::ALL {
            @if let Some(newest) = told(what) {
                div { dt { (heading(what)) } dd { (summary::brief(&newest.text)) } }
            }
        }
    }
}

/// What was corrected at the head of the job: what stood there first is not lost.
pub(super) fn edits(model: &Model<'_>) -> Markup {
    html! {
        @for edit in &model.facts.record.edits {
            div {
                dt { (capital(field_words(edit.what))) " corrected" }
                dd {
                    (free(&edit_words(edit))) ", " (text::when(edit.at, model))
                    @if let Some(by) = &edit.by { " by " (free(by.as_str())) }
                    @if let Some(why) = &edit.why { ": " (free(why)) }
                }
            }
        }
    }
}

/// What was said, as a heading of a narrow column.
const fn heading(what: IntakeItem) -> &'static str {
    match what {
        IntakeItem::Complaint => "Complaint",
        IntakeItem::Asked => "Asked for",
        IntakeItem::Limits => "Limits agreed",
    }
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    let first = letters.next().map(|first| first.to_uppercase().to_string()).unwrap_or_default();
    first + letters.as_str()
}

/// Each part that something became of: what was found, what was done, why.
pub(super) fn parts(model: &Model<'_>) -> Markup {
    let state = &model.facts.state;
    let parts = (0_u16..).zip(&state.opened.plan.plan.parts);
    let all: Vec<(u16, &Part, Fate<'_>)> =
        parts.filter_map(|(index, part)| Some((index, part, Fate::of(state, index)?))).collect();
    html! {
        @if !all.is_empty() {
            section aria-labelledby="parts" {
                h2 #parts { "Found, done, why" }
                div.wide tabindex="0" {
                    table.stack {
                        thead { tr {
                            th scope="col" { "Part" } th scope="col" { "Serial" }
                            th scope="col" { "Found" } th scope="col" { "Done" } th scope="col" { "Why" }
                        } }
                        tbody { @for (index, part, fate) in &all { (row(model, (*index, part), fate)) } }
                    }
                }
            }
        }
    }
}

fn row(model: &Model<'_>, (index, part): (u16, &Part), fate: &Fate<'_>) -> Markup {
    html! {
        tr {
            th scope="row" { (free(part.name.as_str())) }
            td data-label="Serial" { (text::or_dash(model.facts.state.serial_of(index))) }
            td data-label="Found" { (found(model, part, usize::MAX)) }
            td data-label="Done" {
                (outcome_words(fate))
                @if let Some(to_do) = fate.to_do.filter(|to_do| fate.outcome != *to_do) {
                    ", to be " (to_do.text())
                }
            }
            td data-label="Why" { (why(model, part, fate)) }
        }
    }
}

/// How its checks were found: the first complete verdict on each; those that did not conform are named, at most
/// so many of them.
pub(super) fn found(model: &Model<'_>, part: &Part, most: usize) -> Markup {
    let its = model.items.iter().filter(|item| item.part.name == part.name);
    let all: Vec<(&str, Word)> =
        its.filter_map(|item| Some((item.check.name.as_str(), item.first_word()?))).collect();
    let out: Vec<_> = all.iter().filter(|(_, word)| *word != Word::Conforms).collect();
    let good = all.len() - out.len();
    html! {
        @if all.is_empty() { "not measured" }
        @for (at, (check, word)) in out.iter().take(most).enumerate() {
            @if at > 0 { ", " }
            (free(check)) " " (word_of(*word).to_lowercase())
        }
        @if out.len() > most { " and " (out.len() - most) " more" }
        @if good > 0 {
            @if good < all.len() { "; " }
            (good) (if good == 1 { " check conformed" } else { " checks conformed" })
        }
    }
}

/// The reason of what became of a part, in the words of whoever gave it.
fn why(model: &Model<'_>, part: &Part, fate: &Fate<'_>) -> Markup {
    let replaced = model.facts.record.replaced.iter().rev().find(|one| one.part == part.name);
    let replaced = replaced.filter(|_| fate.outcome == Outcome::Replaced && fate.done.is_some());
    let said = fate.why();
    html! {
        @if let Some(one) = replaced { (free(&one.why)) }
        @if let Some(why) = said { @if replaced.is_some() { "; " } (free(why)) }
        @if replaced.is_none() && said.is_none() { "—" }
        @if let Some(overtaken) = fate.overtaken() {
            p.note { "decided before: " (overtaken.outcome.text()) ", " (free(&overtaken.why)) }
        }
    }
}

/// What a reader of a signature has to know.
pub(super) fn minded(model: &Model<'_>, one: &SignatureRecord) -> Markup {
    let own = (one.role == Role::Checked).then(|| own_work(&model.facts.state, &one.by)).flatten();
    html! {
        @if one.earlier { ", " (OF_AN_EARLIER_STATE) ": something was measured or changed since" }
        @if let Some(own) = own { ", who " (free(&own)) }
        @if !one.lacking.is_empty() {
            ", although " (free(&lacking_words(&one.lacking)))
            @if let Some(why) = &one.why { ". Reason given: " (free(why)) }
        }
    }
}

/// The signatures, each with its seal and room for ink; an empty line for what nobody signed. A page that is
/// handed on is the same on every bench, and says nothing of the record that it was made from.
pub(super) fn signatures(model: &Model<'_>, seal: Option<&str>) -> Markup {
    let own_record = seal.is_some();
    let newest = |role: Role| model.facts.record.signed.iter().rev().find(|one| one.role == role);
    html! {
        section.sign aria-labelledby="sign" {
            h2 #sign { "Signatures" }
            div.signs {
                @for role in Role::ALL {
                    div.sign {
                        p.role { (capital(signed_words(role))) }
                        @match newest(role) {
                            Some(one) => {
                                p { strong { (free(one.by.as_str())) } ", " (text::when(one.at, model)) (minded(model, one)) }
                                p.note {
                                    "Seal of what was signed: " span.seal { (one.seal) }
                                    @if one.elsewhere && own_record { ". It is the seal of the bench where the job was signed and cannot be checked in this record." }
                                }
                            }
                            None => { p.note { "not signed in the record" } }
                        }
                        p.ink { "Signature and date" }
                    }
                }
            }
            @if let Some(seal) = seal {
                p.note { "Seal of the record: " span.seal { (seal) } ". With it whoever holds the record can show later that nothing in it up to here was changed since this page was made (tenths verify --seal)." }
            }
        }
    }
}
