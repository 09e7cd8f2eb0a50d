//! A test bar: its stations on one angle zero, and what is predicted beyond them.

use maud::{Markup, html};

use super::polar::{self, Curve, Magnified};
use super::svg::{self, n};
use crate::page::model::{Go, Item, Model};
use crate::page::text::{degrees, mark, minus, small_unit};
use crate::{in_unit, spoken_station};
use quantity::{Figure, Unit};
use wire::{PredictedLine, RepeatLine, StationLine, VerdictLine};
use words::{fine_beside, fine_with_doubt};

/// Lines of the stations, nearest first.
const DASHES: [&str; 4] = ["none", "6 3", "2 3", "9 3 2 3"];

/// The stations in a table, and the axis through them in words.
pub(super) fn words(model: &Model<'_>, line: &VerdictLine) -> Markup {
    html! {
        (table(model, line))
        @if let Some(axis) = &line.figures.axis {
            p {
                (capital(&axis.name)) ": " (show(model, line, &axis.offset)) " " (model.unit.symbol())
                " off at the nose face, towards " (degrees(axis.offset_deg)) "; tilt " (axis.tilt_urad)
                " µrad, leaning towards " (degrees(axis.tilt_deg)) "."
            }
        }
    }
}

/// The turns and the axis, drawn on one angle zero.
pub(super) fn pictures(
    model: &Model<'_>,
    item: &Item<'_>,
    go: &Go<'_>,
    line: &VerdictLine,
) -> Markup {
    html! {
        (turns(model, item, go, line))
        (axes(model, line))
    }
}

fn capital(name: &str) -> String {
    let mut letters = name.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

/// A text of the verdict's unit in the page's.
fn show(model: &Model<'_>, line: &VerdictLine, text: &str) -> String {
    let own = Unit::parse(&line.unit).unwrap_or(model.unit);
    minus(&in_unit(text, own, model.unit))
}

fn table(model: &Model<'_>, line: &VerdictLine) -> Markup {
    html! {
        div.wide { table.reads {
            caption { "Stations and predictions, lengths in " (model.unit.plural()) "." }
            thead { tr {
                th scope="col" { "At, from the nose" } th scope="col" { "Figure" } th scope="col" { "Limit" }
                th scope="col" { "± U" } th scope="col" { "By itself" } th scope="col" { "Axis towards" }
                th scope="col" { "Total reading of each seating" }
            } }
            tbody {
                @for station in &line.figures.stations { (row(model, line, station)) }
                @for one in &line.figures.predicted {
                    @let [value, u] = predicted(model, line, one);
                    tr {
                        th.n scope="row" { (show(model, line, &one.at)) }
                        td.n { (value) } td.n { "–" } td.n { (u) }
                        td { strong { (one.label) } ", " (one.factor) " times as uncertain as a station" }
                        td.n { (degrees(one.axis_deg)) } td { "–" }
                    }
                }
            }
        } }
    }
}

/// A predicted figure and its uncertainty, the latter rounded up, to a hundredth of a tenth or a
/// hundredth of a micrometre: nothing is held against them.
fn predicted(model: &Model<'_>, line: &VerdictLine, one: &PredictedLine) -> [String; 2] {
    let own = Unit::parse(&line.unit).unwrap_or(model.unit);
    let [value, u] = [&one.value, &one.uncertainty].map(|text| Figure::parse(text, own));
    let told = value.zip(u).map(|(value, u)| fine_with_doubt(value, u, model.unit));
    told.unwrap_or_default()
}

/// How far seatings lie apart, and how far they may.
fn apart(repeat: &RepeatLine, own: Unit, unit: Unit) -> [String; 2] {
    let [off, most] = [&repeat.difference, &repeat.limit].map(|text| Figure::parse(text, own));
    off.zip(most).map(|(off, most)| fine_beside(off, most, unit)).unwrap_or_default()
}

fn row(model: &Model<'_>, line: &VerdictLine, station: &StationLine) -> Markup {
    let own = Unit::parse(&line.unit).unwrap_or(model.unit);
    let told = spoken_station(station, own, model.unit);
    let seatings: Vec<String> = station.seatings.iter().map(|one| show(model, line, one)).collect();
    html! {
        tr {
            th.n scope="row" { (show(model, line, &station.at)) }
            td.n { (minus(&told.value)) } td.n { (minus(&told.limit)) }
            td.n { (told.uncertainty) } td { (mark(&station.verdict)) }
            td.n { @match station.axis_deg { Some(axis) => (degrees(axis)), None => "–" } }
            td {
                (seatings.join(", "))
                @if let Some(mean) = &station.mean_of_totals { "; mean of them " (show(model, line, mean)) }
                @if let Some(mean) = &station.mean_of_seatings { ", by their first waves " (show(model, line, mean)) }
                @if let Some(mean) = &station.mean_sweep { "; mean turn " (show(model, line, mean)) }
                @if let Some(bar) = &station.bar { "; the bar itself " (show(model, line, &bar.eccentricity)) " off" }
                @if let Some(repeat) = &station.repeat {
                    @if station.seatings.len() == 3 { "; third from first " } @else { "; they disagree by " }
                    @let [off, most] = apart(repeat, own, model.unit);
                    (off) ", may be " (most)
                }
            }
        }
    }
}

/// The readings of the first seating at every station, on one angle zero.
fn turns(model: &Model<'_>, item: &Item<'_>, go: &Go<'_>, line: &VerdictLine) -> Markup {
    let check = item.check;
    let around = |station: u32| -> Vec<(f64, Option<Figure>)> {
        let first = station * check.positions;
        (first..first + check.positions).map(|at| (check.angle_deg(at), go.height(at))).collect()
    };
    let count = u32::try_from(line.figures.stations.len()).unwrap_or(0);
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
    let told: Vec<String> = line
        .figures
        .stations
        .iter()
        .zip(&heights)
        .map(|(station, heights)| {
            format!(
                "at {} {}: {}",
                show(model, line, &station.at),
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
    let several = line.figures.stations.iter().any(|station| station.seatings.len() > 1);
    html! {
        figure {
            (svg::frame(&format!("bar-{}", line.id), ("Turns of the bar, deviations magnified", &desc), &inside))
            figcaption {
                strong { "Turns" @if several { " of the first seating" } } ". Deviations " (scale.words())
                " on paper, all stations on one angle zero. "
                (legend(model, line))
            }
        }
    }
}

fn legend(model: &Model<'_>, line: &VerdictLine) -> Markup {
    let names = ["unbroken", "dashed", "dotted", "dash and dot"];
    html! {
        @for (station, name) in line.figures.stations.iter().zip(names.iter().cycle()) {
            (capital(name)) ": at " (show(model, line, &station.at)) " " (model.unit.symbol()) ". "
        }
    }
}

/// An end of the axis: where it is, how far off, which way, and whether it was measured.
struct End {
    at: String,
    off: f64,
    towards: f64,
    measured: bool,
}

fn ends(model: &Model<'_>, line: &VerdictLine) -> Vec<End> {
    let own = Unit::parse(&line.unit).unwrap_or(model.unit);
    let figure = |text: &str| Figure::parse(text, own).map(Figure::to_f64);
    let measured = line.figures.stations.iter().filter_map(|station| {
        Some(End {
            at: show(model, line, &station.at),
            off: figure(station.eccentricity.as_ref()?)?,
            towards: station.axis_deg?,
            measured: true,
        })
    });
    let predicted = line.figures.predicted.iter().filter_map(|one| {
        let at = show(model, line, &one.at);
        Some(End { at, off: figure(&one.value)? / 2.0, towards: one.axis_deg, measured: false })
    });
    measured.chain(predicted).collect()
}

/// Where the axis lies at each station, seen from the nose.
fn axes(model: &Model<'_>, line: &VerdictLine) -> Markup {
    let ends = ends(model, line);
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
                (svg::frame(&format!("axis-{}", line.id), ("Where the axis lies at each station", &desc), &inside))
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
