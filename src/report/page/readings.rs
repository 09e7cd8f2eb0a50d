//! The readings behind a verdict, as they were sent.

use maud::{Markup, html};

mod swept;

use super::model::{Go, Item, Model};
use super::text::{self, minus};
use bench::plan::Check;
use bench::row::State;
use bench::{Attempt, Touched};
use quantity::{Name, Unit};
use words::size;

/// Positions in one block of a table.
const BLOCK: u32 = 8;

/// Every attempt that was touched, position by position.
pub(super) fn tables(model: &Model<'_>, item: &Item<'_>) -> Markup {
    let touched: Vec<&Go<'_>> = item.goes.iter().filter(|go| go.attempt.is_touched()).collect();
    if item.check.swept().is_some() {
        return swept::turns(model, &touched);
    }
    let total = item.check.total();
    let per = item.check.positions.max(1);
    let long = if per > 24 { 10 } else { BLOCK };
    let block = if (4..=12).contains(&per) { per } else { long };
    let starts: Vec<u32> = (0..total).step_by(usize::try_from(block).unwrap_or(8)).collect();
    let (unit, sent) = unit_sent(&touched).map_or((model.unit, false), |unit| (unit, true));
    html! {
        @if !touched.is_empty() {
            div.wide tabindex="0" {
                table.reads {
                    caption { "Readings in " (unit.plural()) (if sent { " as they were sent." } else { ", brought to one unit." }) }
                    @for start in starts { (rows(item, (&touched, unit), start..total.min(start + block), model.unit)) }
                }
            }
            @for go in &touched { (others(go, unit)) }
        }
    }
}

/// The unit of all readings; `None` where they were sent in several.
fn unit_sent(touched: &[&Go<'_>]) -> Option<Unit> {
    let mut units = touched.iter().flat_map(|go| &go.attempt.readings).map(|one| one.value.unit);
    let first = units.next()?;
    units.all(|unit| unit == first).then_some(first)
}

fn rows(
    item: &Item<'_>,
    (touched, unit): (&[&Go<'_>], Unit),
    positions: std::ops::Range<u32>,
    page: Unit,
) -> Markup {
    html! {
        tbody {
            tr {
                th scope="row" { (item.check.row_in_words(positions.start, page)) }
                @for at in positions.clone() {
                    th.n scope="col" { (at) span.what { (angle(item.check, at, page)) } }
                }
            }
            @for go in touched {
                tr {
                    th scope="row" { (go.attempt.began.number) ", " (text::because(go.reason())) (by(go.attempt)) }
                    @for at in positions.clone() { td.n { (reading(go.attempt, at, unit)) } }
                }
            }
        }
    }
}

/// Who touched in an attempt.
fn by(attempt: &Attempt) -> Markup {
    let hands: Vec<&str> = attempt.hands().into_iter().map(Name::as_str).collect();
    html! { @if !hands.is_empty() { span.what { "by " (text::free(&hands.join(", "))) } } }
}

fn angle(check: &Check, position: u32, unit: Unit) -> String {
    match check.station_of(position) {
        _ if check.total_only() => "total".to_owned(),
        Some(at) if !check.has_angles() => format!("at {} {unit}", size(at, unit)),
        _ if check.way_of(position).is_some() => check.place_in_words(position).unwrap_or_default(),
        _ => format!("{}°", text::short(check.angle_deg(position))),
    }
}

fn reading(attempt: &Attempt, position: u32, unit: Unit) -> String {
    let all: Vec<String> = attempt.all_at(position).map(|touched| number(touched, unit)).collect();
    match attempt.at(position) {
        Some(_) => all.join(", "),
        None if attempt.skipped.contains_key(&position) => "left out".to_owned(),
        None => "–".to_owned(),
    }
}

/// The reading as it was sent; in another unit, converted to that of the table.
fn number(touched: &Touched, unit: Unit) -> String {
    if touched.value.unit == unit {
        minus(&touched.value.number())
    } else {
        minus(&size(touched.value.length, unit))
    }
}

/// Touches that fill no position: closure, master, half turn.
fn others(go: &Go<'_>, unit: Unit) -> Markup {
    let told = |state: State, name: &str| {
        let found: Vec<String> =
            go.attempt.in_state(state).map(|touched| number(touched, unit)).collect();
        (!found.is_empty()).then(|| format!("{name} {}", found.join(", ")))
    };
    let said: Vec<String> = [
        told(State::Master, "on the master"),
        told(State::Middle, "position 0 half way round"),
        told(State::Closure, "position 0 again"),
        told(State::HalfTurn, "set back half a turn, high and low spot"),
    ]
    .into_iter()
    .flatten()
    .collect();
    html! {
        @if !said.is_empty() {
            p.what { "Attempt " (go.attempt.began.number) ": " (said.join("; ")) "." }
        }
        @for (position, left_out) in &go.attempt.skipped {
            p.what {
                "Attempt " (go.attempt.began.number) ": position " (position) " left out"
                @if let Some(by) = &left_out.by { " by " (text::free(by.as_str())) }
                ": " (text::free(&left_out.why))
            }
        }
    }
}
