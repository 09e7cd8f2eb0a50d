//! The ring from above, as the person at the bench faces it: index mark on top, positions where they lie on the metal,
//! the next one so large that it is seen from two metres. What each position is comes from `report::screen`.

use bench::plan::Direction;
use maud::{Markup, html};
use report::screen::{Mark, circle_words, mark_of, on_circle};
use wire::{ViewCheck, ViewPosition, printable};

/// Half the width of the drawing, and the radius on which the positions lie.
const HALF: f64 = 200.0;
const RADIUS: f64 = 136.0;
/// The largest and the smallest marker.
const LARGE: f64 = 27.0;
const SMALL: f64 = 3.0;
/// A marker smaller than this has no room for its number.
const NUMBERED: f64 = 10.5;

/// The circle that is being touched; positions in a row as a row.
pub(crate) fn ring(check: &ViewCheck) -> Markup {
    let shown = on_circle(check);
    if check.per_circle < 2 {
        return row(check, &shown);
    }
    let size = marker_size(shown.len());
    let calls = |one: &&ViewPosition| matches!(mark_of(check, one), Mark::Next | Mark::Asked);
    // Marks that call for a touch are drawn last, so that nothing covers them.
    let (calling, quiet): (Vec<_>, Vec<_>) = shown.iter().partition(calls);
    html! {
        svg.dial viewBox="-4 -4 408 408" role="img" aria-labelledby="ring-t ring-d" {
            title #ring-t { "The ring, facing the measured face" }
            desc #ring-d { (described(check, &shown)) }
            circle.land cx=(HALF) cy=(HALF) r=(RADIUS) {}
            (index_mark(check.direction))
            @for one in quiet.into_iter().chain(calling) { (marker(check, one, size)) }
            (high_side(check))
            text.count x=(HALF) y=(HALF + 4.0) { (check.taken) tspan.of { " / " (check.of) } }
            text.small x=(HALF) y=(HALF + 28.0) { (circle_words(check).unwrap_or_else(|| "taken".to_owned())) }
        }
    }
}

/// The place at an angle, counter-clockwise from the top.
fn at(radius: f64, angle_deg: f64) -> (f64, f64) {
    let (sin, cos) = angle_deg.to_radians().sin_cos();
    let tenth = |number: f64| (number * 10.0).round() / 10.0;
    (tenth(HALF - radius * sin), tenth(HALF - radius * cos))
}

/// As large as so many markers on the circle can be without touching each other.
fn marker_size(count: usize) -> f64 {
    let count = f64::from(u32::try_from(count.max(1)).unwrap_or(u32::MAX));
    (std::f64::consts::PI * RADIUS / count * 0.82).clamp(SMALL, LARGE)
}

/// What every position is, in words.
fn described(check: &ViewCheck, shown: &[ViewPosition]) -> String {
    let named = |mark: Mark| {
        let numbers: Vec<String> = shown
            .iter()
            .filter(|one| mark_of(check, one) == mark)
            .map(|one| one.position.to_string())
            .collect();
        numbers.join(", ")
    };
    let told = [
        ("Touched: ", Mark::Taken),
        ("Next: ", Mark::Next),
        ("To be touched again: ", Mark::Asked),
        ("Left out: ", Mark::Skipped),
        ("Open: ", Mark::Open),
    ];
    let told = told.map(|(word, mark)| (word, named(mark)));
    let told = told.iter().filter(|(_, numbers)| !numbers.is_empty());
    told.map(|(word, numbers)| format!("{word}{numbers}.")).collect::<Vec<_>>().join(" ")
}

const fn class(mark: Mark) -> &'static str {
    match mark {
        Mark::Open => "p open",
        Mark::Taken => "p taken",
        Mark::Skipped => "p skipped",
        Mark::Next => "p next",
        Mark::Asked => "p again",
    }
}

fn marker(check: &ViewCheck, one: &ViewPosition, size: f64) -> Markup {
    let mark = mark_of(check, one);
    let angle = one.angle_deg.unwrap_or(0.0);
    let calls = matches!(mark, Mark::Next | Mark::Asked);
    let size = if calls { size.max(15.0) * 1.28 } else { size };
    let (x, y) = at(RADIUS, angle);
    let tenth = (size * 10.0).round() / 10.0;
    let half = size * 0.62;
    html! {
        g class=(class(mark)) {
            @if calls { circle.halo cx=(x) cy=(y) r=(tenth + 7.0) {} }
            circle.dot cx=(x) cy=(y) r=(tenth) {}
            @if mark == Mark::Skipped {
                path.slash d=(format!("M{:.1} {:.1} L{:.1} {:.1}", x - half, y + half, x + half, y - half)) {}
            }
            @if size >= NUMBERED || calls {
                text.number x=(x) y=(y) data-size=(letters(size)) { (one.position) }
            }
            @if mark == Mark::Asked { (beside(angle, size, "?")) }
            (contact(check, one.position, (angle, size)))
        }
    }
}

/// How large the number in a marker is: the style sheet has three sizes.
fn letters(size: f64) -> &'static str {
    match size {
        24.0.. => "large",
        15.0.. => "middle",
        _ => "small",
    }
}

/// A sign outside the ring beside a position.
fn beside(angle: f64, size: f64, sign: &str) -> Markup {
    let (x, y) = at(RADIUS + size + 20.0, angle);
    html! { text.beside x=(x) y=(y) { (sign) } }
}

/// Whether the position touches the upper or the lower plane of the zone: a wedge outside, up or down.
fn contact(check: &ViewCheck, position: u32, (angle, size): (f64, f64)) -> Markup {
    let Some(verdict) = &check.verdict else { return html! {} };
    let upper = verdict.contacts_upper.contains(&position);
    let lower = verdict.contacts_lower.contains(&position);
    let (x, y) = at(RADIUS + size + 14.0, angle);
    html! {
        @if upper { path.contact d=(format!("M{x} {:.1} l7.5 12 h-15 Z", y - 6.0)) {} }
        @else if lower { path.contact.hollow d=(format!("M{x} {:.1} l7.5 -12 h-15 Z", y + 6.0)) {} }
    }
}

/// The index mark on top, and which way positions are counted.
fn index_mark(direction: Direction) -> Markup {
    let (side, sweep) = match direction {
        Direction::CounterClockwise => (1.0, 0),
        Direction::Clockwise => (-1.0, 1),
    };
    let radius = RADIUS + 52.0;
    let ((x, y), (end_x, end_y)) = (at(radius, side * 9.0), at(radius, side * 27.0));
    let turn = format!("translate({end_x} {end_y}) rotate({})", if side > 0.0 { 156 } else { 24 });
    html! {
        path.index d=(format!("M{HALF} 26 l-11 -22 h22 Z")) {}
        path.way d=(format!("M{x} {y} A{radius} {radius} 0 0 {sweep} {end_x} {end_y}")) {}
        path.head d="M0 0 L-12 -6.5 L-12 6.5 Z" transform=(turn) {}
    }
}

/// The high side, where it is known: the word inside the ring, beside its mark.
fn high_side(check: &ViewCheck) -> Markup {
    let known = check.verdict.as_ref().and_then(|verdict| verdict.high_mark_deg);
    let Some(angle) = known else { return html! {} };
    let (x, y) = at(RADIUS - 54.0, angle);
    html! { text.high x=(x) y=(y) { "HIGH" } }
}

/// Positions in a row, along an axis.
fn row(check: &ViewCheck, shown: &[ViewPosition]) -> Markup {
    html! {
        p.count { (check.taken) " / " (check.of) " taken" }
        ol.row { @for one in shown {
            @let mark = mark_of(check, one);
            li class=(class(mark)) {
                span { (one.position) @if mark == Mark::Asked { "?" } }
                @if let Some(value) = &one.value { small { bdi { (printable(value)) } } }
            }
        } }
    }
}
