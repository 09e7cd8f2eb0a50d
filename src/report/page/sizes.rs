//! Diameters, fits, sets and face offsets: what stands beside their figures.

use maud::{Markup, html};

use super::model::Model;
use super::table::value;
use super::text::{free, mark, minus, target};
use ::record::VerdictRecord;
use bench::plan::figures::{
    DiameterFigures, FitFigures, OffsetFigures, SetFigures, Sits, UnbalanceFigures,
};
use bench::verdict::Figures;
use quantity::{Figure, Unit};
use words::{fine_size, fine_with_doubt, significant};

pub(super) fn section(model: &Model<'_>) -> Markup {
    let has = |figures: &Figures| {
        figures.diameter.is_some()
            || figures.fit.is_some()
            || figures.set.is_some()
            || figures.offset.is_some()
    };
    let told: Vec<&VerdictRecord> = model
        .judged()
        .map(|(_, _, record)| record)
        .filter(|record| has(&record.verdict.figures))
        .collect();
    html! {
        @if !told.is_empty() {
            section aria-labelledby="sizes" {
                h2 #sizes { "Bearings, seats and fits" }
                @for record in told { (one(model, record)) }
            }
        }
    }
}

fn one(model: &Model<'_>, record: &VerdictRecord) -> Markup {
    let figures = &record.verdict.figures;
    let unit = model.unit;
    let told = record.told(unit);
    html! {
        h3 { (target(record.part.as_str(), record.check.as_str())) }
        dl.front {
            div { dt { "Figure" } dd {
                @if told.value.is_some() {
                    (value(model, record))
                    @if let Some(spread) = &told.uncertainty { " ± " (spread) }
                    " " (unit.symbol()) ", "
                }
                (mark(record.verdict.word))
            } }
            @if let Some(limit) = &told.limit { div { dt { "Limit" } dd { (minus(limit)) " " (unit.symbol()) } } }
            @if let Some(diameter) = &figures.diameter { (of_diameter(diameter, unit)) }
            @if let Some(fit) = &figures.fit { (of_fit(fit, unit)) }
            @if let Some(unbalance) = &figures.unbalance { (of_unbalance(unbalance)) }
            @if let Some(set) = &figures.set { (of_set(set, unit)) }
            @if let Some(offset) = &figures.offset { (of_offset(offset, unit)) }
        }
    }
}

/// A length with its unit.
fn length(figure: Figure, unit: Unit) -> Markup {
    html! { (minus(&fine_size(figure, unit))) " " (unit.symbol()) }
}

/// A length with its uncertainty and unit, with the digits of the sentences on it.
fn known(figure: Figure, u: Option<impl Into<Figure>>, unit: Unit) -> Markup {
    let Some(u) = u else { return length(figure, unit) };
    let [told, u] = fine_with_doubt(figure, u.into(), unit);
    html! { (minus(&told)) " ± " (u) " " (unit.symbol()) }
}

fn of_diameter(of: &DiameterFigures, unit: Unit) -> Markup {
    html! {
        @if of.planes.len() > 1 {
            @for plane in &of.planes {
                div { dt { "Mean of plane " (plane.plane) } dd { (length(plane.mean, unit)) } }
            }
        }
        @if let Some(out) = of.out_of_round {
            div { dt { "Out of round" } dd { (known(out, of.out_of_round_u, unit)) ", half of what the diameters of a plane differ by" } }
        }
        @if let Some(between) = of.between_planes {
            div { dt { "Between the planes" } dd { (known(between, of.between_planes_u, unit)) } }
        }
    }
}

fn of_fit(of: &FitFigures, unit: Unit) -> Markup {
    let sits = match of.sits {
        Sits::Clearance => "Clearance: the bore is larger",
        Sits::Interference => "Interference: the seat is larger",
        Sits::CannotSay => "Cannot say: the two differ by no more than U",
    };
    html! {
        div { dt { "Bore" } dd { (length(of.bore, unit)) } }
        div { dt { "Seat" } dd { (length(of.seat, unit)) } }
        div { dt { "It sits with" } dd { (sits) @if !of.at_20_c { "; not brought to 20 °C" } } }
        @if let Some(by) = of.for_each_c.filter(|by| *by != Figure::ZERO) {
            div { dt { "For each °C warmer" } dd { (length(by, unit)) ", unlike metals" } }
        }
    }
}

fn of_unbalance(of: &UnbalanceFigures) -> Markup {
    let number = |number: f64| significant(number, 3);
    html! {
        div { dt { "Unbalance, an estimate" } dd {
            (number(of.can_cause_g_mm.get())) " g·mm can come of it, at most " (number(of.at_most_g_mm.get()))
            "; " (number(of.permitted_g_mm.get())) " g·mm is what G " (number(of.grade_mm_s.get()))
            " permits the rotor of " (number(of.rotor_mass_g.get() / 1000.0)) " kg at "
            (significant(of.speed_rpm.get(), 6)) " rpm. Mass " (significant(of.mass_g.get(), 4))
            " g times half the clearance; not judged."
        } }
    }
}

fn of_set(of: &SetFigures, unit: Unit) -> Markup {
    html! {
        @for member in &of.members {
            div { dt { (free(&member.name)) } dd {
                (length(member.size, unit))
                @if of.odd.as_ref() == Some(&member.name) { ", the odd one" }
            } }
        }
        @if let Some(without) = of.without_it {
            div { dt { "Without the odd one" } dd { (length(without, unit)) } }
        }
    }
}

fn of_offset(of: &OffsetFigures, unit: Unit) -> Markup {
    html! {
        div { dt { "Load" } dd { (significant(of.load_n.get(), 4)) " N" } }
        @for (round, mean) in (1_u32..).zip(&of.rounds) {
            div { dt { "Round " (round) } dd { (length(*mean, unit)) } }
        }
        @if let Some(apart) = of.repeats_within {
            div { dt { "Comes back within" } dd { (length(apart, unit)) ", " (length(of.may_differ.into(), unit)) " is allowed" } }
        }
    }
}
