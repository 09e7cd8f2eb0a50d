//! A test bar: its stations drawn from one zero angle, and the values predicted beyond them.

use maud::{Markup, html};

use super::polar::{self, Curve, Magnified};
use super::svg::{self, n};
use crate::page::model::{Go, Item, Model};
use crate::page::text::{degrees, mark, minus, small_unit};
use ::record::VerdictRecord;
use bench::verdict::StationFigures;
use quantity::Figure;
use words::{Stated, fine_beside, fine_with_doubt, size};

/// The line styles of the stations, the nearest first.
const DASHES: [&str; 4] = ["none", "6 3", "2 3", "9 3 2 3"];

/// The stations in a table, and the axis through them in words.
pub(super) fn words(model: &Model<'_>, record: &VerdictRecord) -> Markup {
    html! {
        (table(model, record))
        @if let Some(axis) = &record.verdict.figures.axis {
            p {
                (capital(axis.name.text())) ": " (show(model, axis.offset)) " " (model.unit.symbol())
                " off at the nose face, towards " (degrees(axis.offset_deg.get())) "; tilt " (axis.tilt_urad.told())
                " µrad, leaning towards " (degrees(axis.tilt_deg.get())) "."
            }
        }
    }
}

/// The turns and the axis, drawn from one zero angle.
pub(super) fn pictures(
    model: &Model<'_>,
    item: &Item<'_>,
    go: &Go<'_>,
    record: &VerdictRecord,
) -> Markup {
    html! {
        (turns(model, item, go, record))
        (axes(model, record))
    }
}

fn capital(name: &str) -> String {
    let mut letters = name.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

/// A distance from the nose in the page's unit.
fn at(model: &Model<'_>, at: Stated) -> String {
    size(at.0, model.unit)
}

/// A length in the page's unit.
fn show(model: &Model<'_>, length: Figure) -> String {
    minus(&length.shown(model.unit))
}

fn table(model: &Model<'_>, record: &VerdictRecord) -> Markup {
    html! {
        div.wide tabindex="0" { table.reads {
            caption { "Stations and predictions, lengths in " (model.unit.plural()) "." }
            thead { tr {
                th scope="col" { "At, from the nose" } th scope="col" { "Figure" } th scope="col" { "Limit" }
                th scope="col" { "± U" } th scope="col" { "By itself" } th scope="col" { "Axis towards" }
                th scope="col" { "Total reading of each seating" }
            } }
            tbody {
                @for station in &record.verdict.figures.stations { (row(model, record, station)) }
                @for one in &record.verdict.figures.predicted {
                    // To a hundredth of a tenth or of a micrometre: they have no limits.
                    @let [value, u] = fine_with_doubt(one.value, one.uncertainty.into(), model.unit);
                    tr {
                        th.n scope="row" { (at(model, one.at)) }
                        td.n { (value) } td.n { "–" } td.n { (u) }
                        td { strong { (one.label.text()) } ", " (one.factor.told()) " times as uncertain as a station" }
                        td.n { (degrees(one.axis_deg.get())) } td { "–" }
                    }
                }
            }
        } }
    }
}

fn row(model: &Model<'_>, record: &VerdictRecord, station: &StationFigures) -> Markup {
    let [value, limit, spread] = station.held(record.verdict.unit).told(model.unit).cells();
    let own = record.verdict.unit == model.unit;
    let judged = station.held(record.verdict.unit).recorded().value_text().filter(|_| own);
    // The judged seating is shown with the digits it was judged by.
    let seating = |one: &Figure| {
        let judged = judged.as_deref().filter(|_| *one == station.value);
        judged.map_or_else(|| show(model, *one), minus)
    };
    let seatings: Vec<String> = station.seatings.iter().map(seating).collect();
    html! {
        tr {
            th.n scope="row" { (at(model, station.at)) }
            td.n { (minus(&value)) } td.n { (minus(&limit)) }
            td.n { (spread) } td { (mark(station.verdict)) }
            td.n { @match station.axis_deg { Some(axis) => (degrees(axis.get())), None => "–" } }
            td {
                (seatings.join(", "))
                @if let Some(mean) = station.mean_of_totals { "; mean of them " (show(model, mean)) }
                @if let Some(mean) = station.mean_of_seatings { ", by their first waves " (show(model, mean)) }
                @if let Some(mean) = station.mean_sweep { "; mean turn " (show(model, mean)) }
                @if let Some(bar) = &station.bar { "; the bar itself " (show(model, bar.eccentricity)) " off" }
                @if let Some(repeat) = &station.repeat {
                    @if station.seatings.len() == 3 { "; third from first " } @else { "; they disagree by " }
                    @let [off, most] = fine_beside(repeat.difference, repeat.limit, model.unit);
                    (off) ", may be " (most)
                }
            }
        }
    }
}

/// The readings of the first seating at every station, drawn from one zero angle.
fn turns(model: &Model<'_>, item: &Item<'_>, go: &Go<'_>, record: &VerdictRecord) -> Markup {
    let check = item.check;
    let around = |station: u32| -> Vec<(f64, Option<Figure>)> {
        let first = station * check.positions;
        (first..first + check.positions).map(|at| (check.angle_deg(at), go.height(at))).collect()
    };
    let count = u32::try_from(record.verdict.figures.stations.len()).unwrap_or(0);
    let heights: Vec<Vec<(f64, Option<Figure>)>> = (0..count).map(around).collect();
    let curves: Vec<Curve> = heights
        .iter()
        .zip(DASHES.iter().cycle())
        .map(|(heights, dash)| Curve::of(heights, dash))
        .collect();
    let largest = curves.iter().map(Curve::largest).fold(0.0, f64::max);
    let scale = Magnified::for_largest(largest, model.unit);
    let inside = html! {
        (polar::face())
        @for curve in &curves { (polar::drawn(curve, scale, true)) }
        (scale.scale_bar())
    };
    let told: Vec<String> = record
        .verdict
        .figures
        .stations
        .iter()
        .zip(&heights)
        .map(|(station, heights)| {
            format!(
                "at {} {}: {}",
                at(model, station.at),
                model.unit,
                polar::words(heights, model.unit)
            )
        })
        .collect();
    let desc = format!(
        "All stations on one angle zero, marked on the nose, at the top; angles counter-clockwise. Readings in {}, {}.",
        small_unit(model.unit),
        told.join(" — ")
    );
    let several = record.verdict.figures.stations.iter().any(|station| station.seatings.len() > 1);
    html! {
        figure {
            (svg::frame(&format!("bar-{}", record.id), ("Turns of the bar, deviations magnified", &desc), &inside))
            figcaption {
                strong { "Turns" @if several { " of the first seating" } } ". Deviations " (scale.words())
                " on paper, all stations on one angle zero. "
                (legend(model, record))
            }
        }
    }
}

fn legend(model: &Model<'_>, record: &VerdictRecord) -> Markup {
    let names = ["unbroken", "dashed", "dotted", "dash and dot"];
    html! {
        @for (station, name) in record.verdict.figures.stations.iter().zip(names.iter().cycle()) {
            (capital(name)) ": at " (at(model, station.at)) " " (model.unit.symbol()) ". "
        }
    }
}

/// An end of the axis: where it is, how far off, in which direction, and whether it was measured.
struct End {
    at: String,
    off: f64,
    towards: f64,
    measured: bool,
}

fn ends(model: &Model<'_>, record: &VerdictRecord) -> Vec<End> {
    let measured = record.verdict.figures.stations.iter().filter_map(|station| {
        Some(End {
            at: at(model, station.at),
            off: station.eccentricity?.to_f64(),
            towards: station.axis_deg?.get(),
            measured: true,
        })
    });
    let predicted = record.verdict.figures.predicted.iter().map(|one| End {
        at: at(model, one.at),
        off: one.value.to_f64() / 2.0,
        towards: one.axis_deg.get(),
        measured: false,
    });
    measured.chain(predicted).collect()
}

/// Where the axis lies at each station, seen from the nose.
fn axes(model: &Model<'_>, record: &VerdictRecord) -> Markup {
    let ends = ends(model, record);
    let largest = ends.iter().map(|end| end.off).fold(0.0, f64::max);
    let scale = Magnified::for_largest(largest / 3.2, model.unit);
    let inside = html! {
        circle cx="150" cy="150" r="112" fill="none" stroke="#b9c0c8" stroke-width="1" {}
        path d="M150,38 V262 M38,150 H262" stroke="#d5dade" stroke-width="1" fill="none" {}
        @for angle in [90.0, 180.0, 270.0] { (svg::label(126.0, angle, 10.0, &format!("{angle}°"))) }
        (svg::index_mark(112.0))
        @for end in &ends { (ray(end, scale)) }
        (scale.scale_bar())
    };
    let told: Vec<String> = ends
        .iter()
        .map(|end| {
            let how = if end.measured { "measured" } else { "predicted, not measured" };
            format!("at {} {}: towards {}, {how}", end.at, model.unit, degrees(end.towards))
        })
        .collect();
    let desc =
        format!("Index mark at the top, angles counter-clockwise. The axis {}.", told.join("; "));
    html! {
        @if !ends.is_empty() {
            figure {
                (svg::frame(&format!("axis-{}", record.id), ("Where the axis lies at each station", &desc), &inside))
                figcaption {
                    strong { "The axis" } " at each station, off the axis of rotation, " (scale.words())
                    " on paper. "
                    @if ends.iter().any(|end| !end.measured) { "Dashed, hollow: predicted, not measured." }
                }
            }
        }
    }
}

fn ray(end: &End, scale: Magnified) -> Markup {
    let radius = scale.drawn(end.off);
    let (x, y) = svg::at(radius, end.towards);
    let line = format!("M150,150 L{},{}", n(x), n(y));
    let (dash, fill) = if end.measured { ("none", "#16191d") } else { ("5 3", "#fff") };
    html! {
        path d=(line) fill="none" stroke="#16191d" stroke-width="1.8" stroke-dasharray=(dash) {}
        circle cx=(n(x)) cy=(n(y)) r="4" fill=(fill) stroke="#16191d" stroke-width="1.6" {}
        (svg::label_beside(radius, end.towards, &end.at))
    }
}
