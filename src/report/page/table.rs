//! One line and one verdict for each characteristic, and the verdicts by the other rule in an annex.

use maud::{Markup, html};

use super::model::{Go, Item, Model};
use super::text::{self, mark, minus, target};
use crate::metal_words;
use ::record::VerdictRecord;
use judgement::{Known, Rule, Word};
use quantity::Unit;
use words::Held;

pub(super) fn section(model: &Model<'_>) -> Markup {
    let unit = model.unit.symbol();
    html! {
        section aria-labelledby="verdicts" {
            h2 #verdicts { "Verdicts" }
            @if model.judged().next().is_none() {
                p { "There are no verdicts." }
            } @else {
                table.verdicts.stack {
                    caption { "One line for each characteristic. Lengths in " (model.unit.plural()) "; U is the expanded uncertainty for 95 %; what it is made of, and its factor k, stands in the annex." }
                    thead { tr {
                        th scope="col" { "Characteristic" }
                        th scope="col" { "Before, " (unit) } th scope="col" { "After, " (unit) }
                        th scope="col" { "Limit, " (unit) } th scope="col" { "± U, " (unit) }
                        th scope="col" { "Verdict" } th scope="col" { "Positions" }
                        th scope="col" { "Set-up" } th scope="col" { "Rounds, tries" }
                    } }
                    tbody { @for (item, go, record) in model.judged() { (row(model, item, go, record)) } }
                }
            }
        }
    }
}

fn row(model: &Model<'_>, item: &Item<'_>, go: &Go<'_>, record: &VerdictRecord) -> Markup {
    let [_, limit, spread] = record.told(model.unit).cells();
    let before = item.before().and_then(|go| go.record);
    html! {
        tr.gone[metal_words(record.standing).is_some()].then[item.found_side] data-verdict=(record.id) {
            th scope="row" {
                a href={ "#c" (record.id) } { (target(record.part.as_str(), record.check.as_str())) }
                span.what { (item.check.traits().named) }
            }
            td.n data-label="Before" { @match before { Some(before) => (value(model, before)), None => "–" } }
            td.n data-label="After" { (value(model, record)) }
            td.n data-label="Limit" { (self::limit(record, &limit)) }
            td.n data-label="± U" { (uncertainty(record, &spread)) }
            td data-label="Verdict" {
                (mark(record.verdict.word)) @if item.found_side { " as it came in" }
                @if let Some(gone) = metal_words(record.standing) { strong.what { "stands no longer: " (gone) } }
                (why(record))
            }
            td.n data-label="Positions" { (positions(record)) }
            td data-label="Set-up" { (text::setup(item.check, record)) (by(model, go)) }
            td.n data-label="Rounds, tries" { (rounds(item, go, record)) }
        }
    }
}

/// Who measured it.
fn by(model: &Model<'_>, go: &Go<'_>) -> Markup {
    let hands = model.hands(go);
    html! {
        @if !hands.is_empty() {
            span.what {
                "by "
                @for (index, hand) in hands.iter().enumerate() {
                    @if index > 0 { ", " }
                    (text::free(hand.as_str()))
                }
            }
        }
    }
}

/// The figure for people; the one of the record's line is in the markup.
pub(super) fn value(model: &Model<'_>, record: &VerdictRecord) -> Markup {
    match &record.verdict.answer {
        Some(answer) if record.verdict.value.is_none() => html! { bdi { (text::shown(answer)) } },
        Some(_) | None => figure(&record.verdict.held(), model.unit),
    }
}

/// A figure alone.
pub(super) fn figure(held: &Held, unit: Unit) -> Markup {
    let [told, ..] = held.told(unit).cells();
    html! {
        @match held.recorded().value_text() {
            Some(exact) => {
                data.words[told.contains(' ')] value=(exact) { (minus(&told)) }
                // Beside lengths, what is none names its own unit.
                @if !held.unit().is_length() { "\u{a0}" (held.unit().symbol()) }
            },
            None => "–",
        }
    }
}

fn limit(record: &VerdictRecord, told: &str) -> Markup {
    html! {
        @if record.verdict.answer.is_some() { bdi { (text::shown(told)) } }
        @else { (minus(told)) }
    }
}

fn uncertainty(record: &VerdictRecord, told: &str) -> Markup {
    html! {
        @match record.verdict.held().recorded().uncertainty_text() {
            Some(exact) => { data value=(exact) { (told) } @if record.verdict.known == Known::Assumed { " assumed" } },
            None => { "–" }
        }
    }
}

/// Why a verdict holds, or why it is withheld.
fn why(record: &VerdictRecord) -> Markup {
    html! { (withheld(record)) (answered_before(record)) }
}

/// The answers before the one that stands.
fn answered_before(record: &VerdictRecord) -> Markup {
    let before = record.verdict.answers.split_last().map_or(&[][..], |(_, before)| before);
    html! {
        @if !before.is_empty() {
            span.what {
                "answered "
                @for (index, one) in before.iter().enumerate() {
                    @if index > 0 { ", then " }
                    (text::free(&one.text))
                }
                " before"
            }
        }
    }
}

fn withheld(record: &VerdictRecord) -> Markup {
    let withheld = record.verdict.by_its_rule().is_some_and(|word| word != record.verdict.word);
    html! {
        @if record.verdict.word == Word::Incomplete {
            span.what { "stopped before its last position" }
        } @else if record.verdict.reasons.is_empty() && record.verdict.word == Word::Undecided {
            span.what { "the limit lies within ± U of the figure" }
        } @else if !record.verdict.reasons.is_empty() {
            span.what {
                @if withheld { "withheld: " }
                @for (index, reason) in record.verdict.reasons.iter().enumerate() {
                    @if index > 0 { "; " }
                    (text::reason(*reason))
                }
            }
        }
    }
}

fn positions(record: &VerdictRecord) -> Markup {
    html! {
        @if record.verdict.positions == 0 { "–" }
        @else if record.verdict.taken == record.verdict.touches_in_all() { (record.verdict.positions) }
        @else { (record.verdict.taken) " of " (record.verdict.touches_in_all()) }
        @if record.verdict.touches > 1 { ", " (record.verdict.touches) " touches each" }
        @if record.verdict.skipped > 0 { ", " (record.verdict.skipped) " left out" }
    }
}

fn rounds(item: &Item<'_>, go: &Go<'_>, record: &VerdictRecord) -> Markup {
    let going_on = item.goes.last().is_some_and(|last| {
        last.attempt.began.number > go.attempt.began.number && last.record.is_none()
    });
    html! {
        (item.rounds()) ", " (record.verdict.tries)
        @if going_on { span.what { "another attempt was begun" } }
    }
}

/// The result of the arithmetic of either rule, line by line.
pub(super) fn annex(model: &Model<'_>) -> Markup {
    let both: Vec<_> = model
        .judged()
        .filter(|(_, _, record)| {
            record.verdict.limits.is_some() && record.verdict.guarded.is_some()
        })
        .filter(|(_, _, record)| record.verdict.word != Word::Incomplete)
        .collect();
    html! {
        section aria-labelledby="annex" {
            h2 #annex { "Annex: the other rule" }
            @if both.is_empty() {
                p { "No figure was held against a limit." }
            } @else {
                p { "The verdicts above go by the rule agreed. For comparison, what the arithmetic of the other rule gives; it is no verdict, and looks at no reason to withhold one." }
                div.wide tabindex="0" { table {
                    thead { tr {
                        th scope="col" { "Characteristic" } th scope="col" { "Agreed" }
                        th scope="col" { "Verdict" } th scope="col" { "The other rule" } th scope="col" { "It would say" }
                    } }
                    tbody { @for (_, _, record) in both {
                        @let verdict = &record.verdict;
                        @let (other, says) = match verdict.rule {
                            Rule::Simple => (Rule::Guarded, verdict.guarded),
                            Rule::Guarded => (Rule::Simple, verdict.simple),
                        };
                        tr {
                            th scope="row" { (target(record.part.as_str(), record.check.as_str())) }
                            td { (verdict.rule.text()) } td { (text::word(verdict.word)) } td { (other.text()) }
                            td { (says.map_or_else(|| "nothing".to_owned(), text::word)) }
                        }
                    } }
                } }
            }
        }
    }
}
