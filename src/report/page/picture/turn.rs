//! A turn of a surface of the part itself.

use maud::{Markup, html};

use super::polar::{self, Curve, Magnified};
use super::svg;
use crate::page::model::{Go, Item, Model};
use crate::page::text::{degrees, free, small_unit};
use bench::plan::Surface;
use bench::verdict::Verdict;
use quantity::{Figure, Unit};
use words::size;

/// The most touches that are drawn as dots.
const DOTTED: usize = 40;

/// A plot of each circle, before and after side by side at one magnification.
pub(super) fn plots(model: &Model<'_>, item: &Item<'_>, go: &Go<'_>) -> Markup {
    if item.check.total_only() {
        return html! { p.what { "Only the total reading was keyed in: there are no angles to draw." } };
    }
    if item.check.swept().is_some_and(|swept| !swept.knows_angles()) {
        let text = "Only the index mark was tapped: where on the turn a sample lies is not known well \
                    enough to draw it.";
        return html! { p.what { (text) } };
    }
    let rings = u32::try_from(item.check.radii.len().max(1)).unwrap_or(1);
    let goes: Vec<(&Go<'_>, &str)> = match item.before() {
        Some(before) => vec![(before, "Before"), (go, "After")],
        None => vec![(go, "As measured")],
    };
    let drawn: Vec<(&Go<'_>, &str, u32)> =
        (0..rings).flat_map(|ring| goes.iter().map(move |(go, name)| (*go, *name, ring))).collect();
    let largest = drawn
        .iter()
        .map(|(go, _, ring)| Curve::of(&around(go, *ring), "none").largest())
        .fold(0.0, f64::max);
    let scale = Magnified::for_largest(largest, model.unit);
    html! {
        @for (go, name, ring) in drawn { (plot(model, item, go, (name, ring), scale)) }
    }
}

/// Angles and heights of one circle; `None` where a position was left out or not taken.
fn around(go: &Go<'_>, ring: u32) -> Vec<(f64, Option<Figure>)> {
    let check = go.check;
    let rings = u32::try_from(check.radii.len().max(1)).unwrap_or(1);
    let on = |at: &u32| (at / check.positions.max(1)) % rings == ring;
    let mut found: Vec<(f64, Option<Figure>)> =
        (0..check.total()).filter(on).map(|at| (check.angle_deg(at), go.height(at))).collect();
    found.sort_by(|one, other| one.0.total_cmp(&other.0));
    found
}

/// Whether the figures of the verdict are those of this circle, the one with the largest.
fn is_judged(go: &Go<'_>, ring: u32) -> bool {
    let spread = |ring: u32| {
        let heights: Vec<Figure> =
            around(go, ring).into_iter().filter_map(|(_, height)| height).collect();
        heights
            .iter()
            .max()
            .copied()
            .zip(heights.iter().min().copied())
            .map(|(high, low)| high - low)
    };
    (0..u32::try_from(go.check.radii.len().max(1)).unwrap_or(1))
        .all(|other| spread(other) <= spread(ring))
}

fn plot(
    model: &Model<'_>,
    item: &Item<'_>,
    go: &Go<'_>,
    (name, ring): (&str, u32),
    scale: Magnified,
) -> Markup {
    let heights = around(go, ring);
    let curve = Curve::of(&heights, "none");
    let verdict = go.verdict().filter(|_| is_judged(go, ring));
    let high = verdict.and_then(Verdict::high_side).map(|(high, _)| high);
    let known = verdict.filter(|_| high.is_some());
    let wall = matches!(item.check.surface, Surface::Outside | Surface::Inside);
    let off = known.and_then(|it| it.figures.eccentricity).filter(|_| wall).map(Figure::to_f64);
    let axis = known.and_then(|it| it.figures.axis_deg).filter(|_| wall).map(f64::from);
    let inside = html! {
        (polar::face())
        @if let Some((off, high)) = off.zip(high) { (polar::least_squares(off, high, scale)) }
        (polar::drawn(&curve, scale, heights.len() <= DOTTED))
        @if let Some(high) = high { (polar::high_mark(high)) }
        @if let Some(axis) = axis { (polar::axis_mark(axis)) }
        (scale.scale_bar())
    };
    let title = format!("{name}: one turn, deviations magnified");
    let desc = format!(
        "Index mark at the top, angles counter-clockwise, outwards is a higher reading. Readings in {}: {}.",
        small_unit(model.unit),
        polar::words(&heights, model.unit)
    );
    let id = format!("turn-{}-{ring}", go.record.map_or(0, |record| record.id.0));
    let radius = item
        .check
        .radii
        .get(usize::try_from(ring).unwrap_or(0))
        .filter(|_| item.check.radii.len() > 1);
    html! {
        figure {
            (svg::frame(&id, (&title, &desc), &inside))
            figcaption {
                strong { (name) } @if let Some(radius) = radius { ", radius " (size(*radius, model.unit)) } ". "
                "Deviations " (scale.words()) " on paper; grey: the mean circle. "
                (caption(verdict, model.unit, wall))
                (gaps(go, &heights))
            }
        }
    }
}

fn caption(verdict: Option<&Verdict>, unit: Unit, wall: bool) -> Markup {
    let Some(verdict) = verdict else { return html! {} };
    let figures = &verdict.figures;
    html! {
        @match verdict.high_side() {
            Some((high, u)) => {
                "High reading at " (degrees(high)) " ± " (degrees(u.ceil())) " (solid dot). "
                @if let Some(axis) = figures.axis_deg.filter(|_| wall) {
                    "The axis lies towards " (degrees(axis.get())) " (diamond)"
                    @if let Some(off) = figures.eccentricity { ", " (off.shown(unit)) " " (unit) " off" }
                    "; dashed: least-squares circle, × its centre. "
                }
            }
            None if verdict.is_below_floor() => { "Below what a perfect part would show: no direction. " }
            None => { "The high reading is not known within ± 30°. " }
        }
        @if let Some(raw) = figures.unfiltered {
            "As read " (raw.shown(unit)) " " (unit) "; judged without waves above the fifteenth. "
        }
    }
}

fn gaps(go: &Go<'_>, heights: &[(f64, Option<Figure>)]) -> Markup {
    let open: Vec<String> = heights
        .iter()
        .filter(|(_, height)| height.is_none())
        .map(|(angle, _)| degrees(*angle))
        .collect();
    html! {
        @if !open.is_empty() { "Open: nothing was read at " (open.join(", ")) ". " }
        @for left_out in go.attempt.skipped.values() { "Left out: " (free(&left_out.why)) ". " }
    }
}
