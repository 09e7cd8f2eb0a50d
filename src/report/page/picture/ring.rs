//! A face from above: heights at their angles, the high side, the contacts, positions left out, and what
//! the wheel took off.

use std::fmt::Write as _;

use maud::{Markup, html};

use super::svg::{self, HALF, label, n, point};
use crate::page::model::{Go, Item, Model};
use crate::page::text::{degrees, free, short, small, small_unit};
use bench::plan::Check;
use bench::row::AttemptReason;
use bench::verdict::{Figures, TookOff, Verdict};
use quantity::{Figure, Length, Unit};

const OUTER: f64 = 118.0;
const INNER: f64 = 58.0;

/// Before and after side by side at one scale, and between them what was taken off.
pub(super) fn side(model: &Model<'_>, item: &Item<'_>, go: &Go<'_>) -> Markup {
    let (before, go) = (item.before().map(Go::drawn), &go.drawn());
    let before = before.as_ref();
    let both = before.into_iter().chain([go]);
    // The differences of noise must not look like a slope.
    let widest = |go: &Go<'_>| go.range().max(noise_floor(go));
    let scale = both.filter_map(widest).max().unwrap_or(Figure::ZERO);
    html! {
        @if let Some(before) = before {
            (map(model, item, before, ("Before", scale)))
            (took_off(model, item))
        }
        (map(model, item, go, (if before.is_some() { "After" } else { "As measured" }, scale)))
    }
}

fn map(model: &Model<'_>, item: &Item<'_>, go: &Go<'_>, (name, scale): (&str, Figure)) -> Markup {
    let id = go.record.map_or(0, |record| record.id.0);
    let arrow = go.verdict().and_then(Verdict::high_side);
    let title = format!("{name}: heights of the face, seen from above");
    let desc = described(model, item, go);
    let bands = Bands::of(item.check);
    let inside = html! {
        @for position in 0..item.check.total() { (cell(model, item, go, (&bands, position), scale)) }
        (angles(item.check))
        (svg::index_mark(OUTER))
        @if let Some((high, _)) = arrow { (svg::arrow(6.0, INNER - 5.0, high)) }
        circle cx="150" cy="150" r="2.5" fill="#16191d" {}
        (contacts(item.check, go, &bands))
    };
    html! {
        figure {
            (svg::frame(&format!("ring-{id}"), (&title, &desc), &inside))
            figcaption { strong { (name) } ". " (caption(model, go, scale)) }
        }
    }
}

fn noise_floor(go: &Go<'_>) -> Option<Figure> {
    go.verdict()?.figures.noise_floor.map(Figure::from)
}

/// The band of the picture for each radius, the largest outermost.
struct Bands(Vec<i64>);

impl Bands {
    fn of(check: &Check) -> Self {
        let mut radii: Vec<i64> = check.radii.iter().map(|radius| radius.picometres()).collect();
        radii.sort_unstable();
        radii.dedup();
        Self(radii)
    }

    fn count(&self) -> f64 {
        f64::from(u32::try_from(self.0.len().max(1)).unwrap_or(1))
    }

    /// The inner and outer edge of the band of a position.
    fn edges(&self, check: &Check, position: u32) -> (f64, f64) {
        let radius = check.radius(position).map(Length::picometres);
        let band = self.0.iter().position(|known| Some(*known) == radius).unwrap_or(0);
        let wide = (OUTER - INNER) / self.count();
        let inner = INNER + wide * f64::from(u32::try_from(band).unwrap_or(0));
        (inner, inner + wide)
    }
}

/// The degrees covered by one touch.
fn width_deg(check: &Check) -> f64 {
    360.0 / f64::from(check.positions.max(1)) / f64::from(check.passes.max(1))
}

fn sector((inner, outer): (f64, f64), angle: f64, wide: f64) -> String {
    let wide = wide.min(359.0);
    let (from, to) = (angle - wide / 2.0, angle + wide / 2.0);
    let large = i32::from(wide > 180.0);
    format!(
        "M{} A{outer},{outer} 0 {large} 0 {} L{} A{inner},{inner} 0 {large} 1 {} Z",
        point(outer, from),
        point(outer, to),
        point(inner, to),
        point(inner, from),
    )
}

/// The cell of one touch: its shade and number, or hatching where there is none.
fn cell(
    model: &Model<'_>,
    item: &Item<'_>,
    go: &Go<'_>,
    (bands, position): (&Bands, u32),
    scale: Figure,
) -> Markup {
    let (check, edges) = (item.check, bands.edges(item.check, position));
    let (angle, wide) = (check.angle_deg(position), width_deg(check));
    let path = sector(edges, angle, wide);
    let low = go.lowest_and_highest().map_or(Figure::ZERO, |(low, _)| low);
    let middle = f64::midpoint(edges.0, edges.1);
    // Numbers that would run into each other are in the table only.
    let size = (middle * wide.to_radians() / 2.7).min(13.0);
    html! {
        @match go.height(position) {
            Some(height) => {
                path d=(path) fill=(shade(height - low, scale)) stroke="#fff" stroke-width="1" {}
                @if size >= 6.0 {
                    (label(middle, angle, (size * 10.0).round() / 10.0, &short(small(height - low, model.unit))))
                }
            }
            None => {
                path d=(path) fill="#fff" stroke="#4a525b" stroke-width="1" {}
                path d=(hatching(edges, angle, wide)) fill="none" stroke="#4a525b" stroke-width="1.3" {}
            }
        }
    }
}

/// Slanting strokes across a sector.
fn hatching((inner, outer): (f64, f64), angle: f64, wide: f64) -> String {
    let strokes = (wide / 5.0).clamp(2.0, 40.0).floor();
    let step = wide / strokes;
    let mut path = String::new();
    let mut from = angle - wide / 2.0;
    while from < angle + wide / 2.0 - step / 2.0 {
        let (low, high) = (point(inner, from), point(outer, from + step));
        write!(path, "M{low} L{high} ").expect("a String takes everything");
        from += step;
    }
    path.trim_end().to_owned()
}

/// From near white for the lowest to a mid tone for the highest, so that brightness alone shows it.
fn shade(above: Figure, scale: Figure) -> String {
    let share =
        if scale > Figure::ZERO { (above.to_f64() / scale.to_f64()).clamp(0.0, 1.0) } else { 0.0 };
    let mix = |light: f64, dark: f64| (light + (dark - light) * share).round();
    format!("rgb({},{},{})", mix(247.0, 122.0), mix(248.0, 150.0), mix(250.0, 178.0))
}

/// The angles of the positions, outside the ring; 0 has the index mark.
fn angles(check: &Check) -> Markup {
    let many = check.positions.saturating_mul(check.passes.max(1));
    let once: Vec<f64> = if many <= 16 {
        (0..check.positions).map(|position| check.angle_deg(position)).collect()
    } else {
        (0..4).map(|quarter| f64::from(quarter) * 90.0).collect()
    };
    html! {
        @for angle in once.into_iter().filter(|angle| *angle > 0.5 && *angle < 359.5) {
            (label(OUTER + 16.0, angle, 10.0, &degrees(angle)))
        }
    }
}

/// Dots where the planes of the minimum zone touch: filled from above, hollow from below.
fn contacts(check: &Check, go: &Go<'_>, bands: &Bands) -> Markup {
    let Some(figures) = shown_figures(go) else { return html! {} };
    let dot = |position: u32, fill: &str| {
        // Beside the number, in the cell of the touch.
        let (inner, outer) = bands.edges(check, position);
        let beside = check.angle_deg(position) + 0.34 * width_deg(check);
        let (x, y) = svg::at(f64::midpoint(inner, outer), beside);
        html! { circle cx=(n(x)) cy=(n(y)) r="3.2" fill=(fill) stroke="#16191d" stroke-width="1.6" {} }
    };
    html! {
        @for position in &figures.contacts_upper { (dot(*position, "#16191d")) }
        @for position in &figures.contacts_lower { (dot(*position, "#fff")) }
    }
}

/// The figures of a verdict that is more than noise.
fn shown_figures<'a>(go: &Go<'a>) -> Option<&'a Figures> {
    go.verdict().filter(|verdict| !verdict.is_below_floor()).map(|verdict| &verdict.figures)
}

fn caption(model: &Model<'_>, go: &Go<'_>, scale: Figure) -> Markup {
    let unit = model.unit;
    let figures = go.verdict().map(|verdict| &verdict.figures);
    let dotted = shown_figures(go).is_some_and(|figures| !figures.contacts_upper.is_empty());
    html! {
        "Heights above the lowest touch in " (small_unit(unit))
        @if !go.check.tilt_is_the_parts() { ", the plane taken out: it is how the supports stood" }
        "; white is 0, the darkest shade "
        (short(small(scale, unit))) ". "
        @match go.verdict().and_then(Verdict::high_side) {
            Some((high, u)) => {
                "High side at " (degrees(high)) " ± " (degrees(u.ceil())) " (k\u{a0}=\u{a0}2)"
                @if let Some(tilt) = figures.and_then(|figures| figures.tilt) {
                    ", a rise of " (short(small(tilt, unit))) " across the face"
                }
                ". "
            }
            None if figures.is_some_and(|figures| figures.high_side_deg.is_some()) => {
                "No arrow: the high side is not known within ± 30°. "
            }
            None => {}
        }
        @if dotted { "Dots: where the two planes of the minimum zone touch, filled from above, hollow from below. " }
        (holes(go, go.verdict().map_or(0, |verdict| verdict.positions)))
    }
}

/// The hatched positions with their reasons. A position that one try left out may have its height from
/// another.
fn holes(go: &Go<'_>, total: u32) -> Markup {
    let attempt = go.attempt;
    let shown = |position: u32| go.height(position).is_some();
    let missing: Vec<u32> =
        (0..total).filter(|position| !attempt.settled(*position) && !shown(*position)).collect();
    html! {
        @for (position, left_out) in &attempt.skipped {
            @let why = &left_out.why;
            @if shown(*position) { "Position " (position) " was left out of the newest try (" (free(why)) "): its height is that of another. " }
            @else { "Hatched: position " (position) ", left out: " (free(why)) ". " }
        }
        @if !missing.is_empty() {
            "Hatched: not taken: "
            @for (index, position) in missing.iter().enumerate() { @if index > 0 { ", " } (position) }
            ". "
        }
    }
}

fn described(model: &Model<'_>, item: &Item<'_>, go: &Go<'_>) -> String {
    let low = go.lowest_and_highest().map_or(Figure::ZERO, |(low, _)| low);
    let told: Vec<String> = go
        .heights
        .iter()
        .map(|(position, height)| {
            let angle = short(item.check.angle_deg(*position));
            format!("{angle}°: {}", short(small(*height - low, model.unit)))
        })
        .collect();
    format!(
        "Seen facing the measured face, index mark at the top, angles counter-clockwise. Heights above the lowest touch in {}: {}.",
        small_unit(model.unit),
        told.join("; ")
    )
}

/// What the wheel took off, a column for each round.
fn took_off(model: &Model<'_>, item: &Item<'_>) -> Markup {
    let ground = item.goes.iter().filter(|go| go.reason() == AttemptReason::Ground);
    let rounds: Vec<(u32, &TookOff)> = ground
        .filter_map(|go| Some((go.attempt.began.number, go.verdict()?.figures.took_off.as_ref()?)))
        .collect();
    let unit = model.unit;
    let all_known = rounds.iter().all(|(_, took)| took.same_zero);
    html! {
        @if !rounds.is_empty() {
            table.took {
                caption {
                    "What the wheel took off, " (small_unit(unit))
                    @if !all_known { ", above the place where it took least: the gauge was set again in between" }
                }
                thead { tr {
                    th scope="col" { "At" }
                    @for (number, ..) in &rounds { th.n scope="col" { "for attempt " (number) } }
                } }
                tbody { @for position in 0..item.check.total() {
                    tr {
                        th scope="row" { (degrees(item.check.angle_deg(position))) }
                        @for (_, took) in &rounds {
                            td.n { (amount(took, (position, all_known), unit).unwrap_or_else(|| "–".to_owned())) }
                        }
                    }
                } }
            }
        }
    }
}

fn amount(took: &TookOff, (position, known): (u32, bool), unit: Unit) -> Option<String> {
    let least = took.at.iter().map(|one| one.amount).min()?;
    let amount = took.at.iter().find(|one| one.position == position)?.amount;
    Some(short(small(if known { amount } else { amount - least }, unit)))
}

// The ring has to leave room for its labels.
const _: () = assert!(OUTER + 24.0 < HALF);
