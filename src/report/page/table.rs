//! One line and one verdict for every characteristic, and the other rule's verdicts in an annex.

use maud::{Markup, html};

use super::model::{Go, Item, Model};
use super::text::{self, mark, minus, target};
use crate::{metal_words, spoken};
use wire::VerdictLine;

pub(super) fn section(model: &Model<'_>) -> Markup {
    let unit = model.unit.symbol();
    html! {
        section aria-labelledby="verdicts" {
            h2 #verdicts { "Verdicts" }
            @if model.judged().next().is_none() {
                p { "There are no verdicts." }
            } @else {
                table.verdicts.stack {
                    caption { "One line for each characteristic. Lengths in " (model.unit.plural()) "; U is the expanded uncertainty, k = 2." }
                    thead { tr {
                        th scope="col" { "Characteristic" }
                        th scope="col" { "Before, " (unit) } th scope="col" { "After, " (unit) }
                        th scope="col" { "Limit, " (unit) } th scope="col" { "± U, " (unit) }
                        th scope="col" { "Verdict" } th scope="col" { "Positions" }
                        th scope="col" { "Set-up" } th scope="col" { "Rounds, tries" }
                    } }
                    tbody { @for (item, go, line) in model.judged() { (row(model, item, go, line)) } }
                }
            }
        }
    }
}

fn row(model: &Model<'_>, item: &Item<'_>, go: &Go<'_>, line: &VerdictLine) -> Markup {
    let told = spoken(line, model.unit);
    let before = item.before().and_then(|go| go.line.as_ref());
    html! {
        tr.gone[metal_words(&line.standing).is_some()] data-verdict=(line.id) {
            th scope="row" {
                a href={ "#c" (line.id) } { (target(&line.part, &line.check)) }
                span.what { (item.check.traits().named) }
            }
            td.n data-label="Before" { @match before { Some(before) => (value(model, before)), None => "–" } }
            td.n data-label="After" { (value(model, line)) }
            td.n data-label="Limit" { (limit(line, &told.limit)) }
            td.n data-label="± U" { (uncertainty(line, &told.uncertainty)) }
            td data-label="Verdict" {
                (mark(&line.verdict))
                @if let Some(gone) = metal_words(&line.standing) { strong.what { "stands no longer: " (gone) } }
                (why(line))
            }
            td.n data-label="Positions" { (positions(line)) }
            td data-label="Set-up" { (text::setup(item.check, line)) (by(model, go)) }
            td.n data-label="Rounds, tries" { (rounds(item, go, line)) }
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

/// The figure as it is spoken; the exact one of the record is in the markup.
pub(super) fn value(model: &Model<'_>, line: &VerdictLine) -> Markup {
    let told = spoken(line, model.unit).value;
    html! {
        @match &line.value {
            Some(exact) => data.words[told.contains(' ')] value=(exact) { (minus(&told)) },
            None if line.answer.is_some() => bdi { (text::shown(&told)) },
            None => "–",
        }
    }
}

fn limit(line: &VerdictLine, told: &str) -> Markup {
    html! {
        @if line.answer.is_some() { bdi { (text::shown(told)) } }
        @else { (minus(told)) }
    }
}

fn uncertainty(line: &VerdictLine, told: &str) -> Markup {
    html! {
        @match &line.uncertainty {
            Some(exact) => { data value=(exact) { (told) } @if line.uncertainty_from == "assumed" { " assumed" } },
            None => { "–" }
        }
    }
}

/// What a verdict rests on, or is withheld for.
fn why(line: &VerdictLine) -> Markup {
    html! { (withheld(line)) (answered_before(line)) }
}

/// Answers before the one that stands.
fn answered_before(line: &VerdictLine) -> Markup {
    let before = line.answers.split_last().map_or(&[][..], |(_, before)| before);
    html! {
        @if !before.is_empty() {
            span.what {
                "answered "
                @for (index, one) in before.iter().enumerate() {
                    @if index > 0 { ", then " }
                    (text::free(&one.answer))
                }
                " before"
            }
        }
    }
}

fn withheld(line: &VerdictLine) -> Markup {
    let by_rule = if line.rule == "simple" { &line.simple } else { &line.guarded };
    let withheld = by_rule.as_ref().is_some_and(|word| *word != line.verdict);
    html! {
        @if line.verdict == "incomplete" {
            span.what { "stopped before its last position" }
        } @else if line.reasons.is_empty() && line.verdict == "undecided" {
            span.what { "the limit lies within ± U of the figure" }
        } @else if !line.reasons.is_empty() {
            span.what {
                @if withheld { "withheld: " }
                @for (index, code) in line.reasons.iter().enumerate() {
                    @if index > 0 { "; " }
                    (text::reason(code))
                }
            }
        }
    }
}

fn positions(line: &VerdictLine) -> Markup {
    html! {
        @if line.positions == 0 { "–" }
        @else if line.taken == line.positions { (line.taken) }
        @else { (line.taken) " of " (line.positions) }
        @if line.skipped > 0 { ", " (line.skipped) " left out" }
    }
}

fn rounds(item: &Item<'_>, go: &Go<'_>, line: &VerdictLine) -> Markup {
    let going_on = item.goes.last().is_some_and(|last| {
        last.attempt.began.number > go.attempt.began.number && last.line.is_none()
    });
    html! {
        (item.rounds()) ", " (line.tries)
        @if going_on { span.what { "another attempt was begun" } }
    }
}

/// What either rule's arithmetic gives, line by line.
pub(super) fn annex(model: &Model<'_>) -> Markup {
    let both: Vec<_> = model
        .judged()
        .filter(|(_, _, line)| line.tolerance.is_some() && line.guarded.is_some())
        .filter(|(_, _, line)| line.verdict != "incomplete")
        .collect();
    html! {
        section aria-labelledby="annex" {
            h2 #annex { "Annex: the other rule" }
            @if both.is_empty() {
                p { "No figure was held against a limit." }
            } @else {
                p { "The verdicts above go by the rule agreed. For comparison, what the arithmetic of the other rule gives; it is no verdict, and looks at no reason to withhold one." }
                div.wide { table {
                    thead { tr {
                        th scope="col" { "Characteristic" } th scope="col" { "Agreed" }
                        th scope="col" { "Verdict" } th scope="col" { "The other rule" } th scope="col" { "It would say" }
                    } }
                    tbody { @for (_, _, line) in both {
                        @let (other, says) = if line.rule == "simple" { ("guarded", &line.guarded) } else { ("simple", &line.simple) };
                        tr {
                            th scope="row" { (target(&line.part, &line.check)) }
                            td { (text::shown(&line.rule)) } td { (text::word(&line.verdict)) } td { (other) }
                            td { (says.as_deref().map_or("nothing", text::word)) }
                        }
                    } }
                } }
            }
        }
    }
}
