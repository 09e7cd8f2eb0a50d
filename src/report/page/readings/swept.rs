//! The samples of swept turns, each with its angle.

use maud::{Markup, html};

use super::{number, others, unit_sent};
use crate::page::model::{Go, Model};
use crate::page::text;
use bench::plan::Swept;
use bench::row::State;
use quantity::Unit;

/// More samples than this are not listed: nobody reads them on paper.
const MOST_LISTED: usize = 2000;

/// Samples in one row of a table.
const ROW: usize = 8;

/// Every attempt that was swept; sample by sample where that was asked for.
pub(super) fn turns(model: &Model<'_>, touched: &[&Go<'_>]) -> Markup {
    let unit = unit_sent(touched).unwrap_or(model.unit);
    html! {
        @for go in touched {
            p.what {
                "Attempt " (go.attempt.began.number) ", " (text::because(go.reason())) ": " (taps(go))
            }
            @let samples: Vec<String> = samples(go, unit);
            @if !model.samples || samples.len() > MOST_LISTED {
                p.what { (samples.len()) " samples; the record lists them." }
            } @else {
                div.wide tabindex="0" {
                    table.reads {
                        caption { "Samples in " (unit.plural()) ", each behind its angle." }
                        tbody { @for (row, own) in samples.chunks(ROW).enumerate() {
                            tr {
                                th scope="row" { (row * ROW) }
                                @for sample in own { td.n { (sample) } }
                            }
                        } }
                    }
                }
            }
            (others(go, unit))
        }
    }
}

/// How the turn was tapped.
fn taps(go: &Go<'_>) -> String {
    let Some(taps) = go.attempt.taps() else { return String::new() };
    let turn = taps.at_us.first().zip(taps.at_us.last()).map_or(0, |(from, to)| to - from);
    let (seconds, tenths) = (turn / 1_000_000, turn / 100_000 % 10);
    let marks = taps.at_us.len().saturating_sub(1);
    let tapped = match marks {
        1 => "only the index mark tapped, the speed taken as constant".to_owned(),
        many => format!("{many} marks tapped, the speed taken as constant between them"),
    };
    format!("one turn in {seconds}.{tenths} s, {tapped}. ")
}

/// `12.4° 0.00012`, in order; without angles where they cannot be trusted.
fn samples(go: &Go<'_>, unit: Unit) -> Vec<String> {
    let known = go.check.swept().is_some_and(Swept::knows_angles);
    let placed = go.attempt.in_state(State::Placed);
    placed
        .map(|sample| match sample.position.filter(|_| known) {
            Some(at) => format!("{:.1}°  {}", go.check.angle_deg(at), number(sample, unit)),
            None => number(sample, unit),
        })
        .collect()
}
