//! A ring from above, as the person at the bench faces it: the index mark, and where the positions lie.

use maud::{Markup, html};

use super::{centred, framed, moves, words};
use bench::plan::{Check, Direction};

const SIZE: (u32, u32) = (400, 384);
const MIDDLE: (f64, f64) = (200.0, 186.0);
/// The land between these radii is touched in its middle.
const OUTER: f64 = 128.0;
const INNER: f64 = 78.0;

/// The ring of a check.
pub(super) fn drawn(check: &Check) -> String {
    let way = match check.direction {
        Direction::CounterClockwise => "counter-clockwise",
        Direction::Clockwise => "clockwise",
    };
    let count = check.per_circle();
    let title = format!("A ring with {count} positions");
    let desc = format!(
        "Facing the measured face, position 0 is at the index mark on top; the others follow {way}, {} degrees apart.",
        360 / count.max(1)
    );
    let touched = f64::midpoint(OUTER, INNER);
    let positions = (0..count).map(|position| place(check, position, touched));
    let inside = html! {
        circle.l.m cx=(MIDDLE.0) cy=(MIDDLE.1) r=(OUTER) {}
        circle.l.w cx=(MIDDLE.0) cy=(MIDDLE.1) r=(INNER) {}
        circle.l.t cx=(MIDDLE.0) cy=(MIDDLE.1) r=(touched) stroke-dasharray="3 4" fill="none" {}
        @for position in positions { (position) }
        (index_mark())
        (counted(check.direction))
        (centred((MIDDLE.0, MIDDLE.1 - 4.0), "facing the"))
        (centred((MIDDLE.0, MIDDLE.1 + 12.0), "measured face"))
        (words((16.0, 370.0), "0 is touched again at the end: the closure"))
    };
    framed(SIZE, (&title, &desc), &inside)
}

/// The place at an angle, counter-clockwise from the top.
fn at(radius: f64, angle_deg: f64) -> (f64, f64) {
    let (sin, cos) = angle_deg.to_radians().sin_cos();
    let tenth = |number: f64| (number * 10.0).round() / 10.0;
    (tenth(MIDDLE.0 - radius * sin), tenth(MIDDLE.1 - radius * cos))
}

/// A position: its number on the land, its angle outside.
fn place(check: &Check, position: u32, touched: f64) -> Markup {
    let angle = check.angle_deg(position);
    let ((x, y), (far_x, far_y)) = (at(touched, angle), at(OUTER + 22.0, angle));
    let degrees = format!("{angle:.0}°");
    html! {
        circle.l.w cx=(x) cy=(y) r="13" {}
        text.x.b x=(x) y=(y + 4.5) text-anchor="middle" { (position) }
        @if position > 0 { text.x.q x=(far_x) y=(far_y + 4.0) text-anchor="middle" { (degrees) } }
    }
}

/// The index mark: a wedge at the top.
fn index_mark() -> Markup {
    let (x, y) = at(OUTER, 0.0);
    html! {
        path.d d=(format!("M{x} {y} l-8 -15 h16 Z")) {}
        (words((x + 14.0, y - 8.0), "index mark"))
    }
}

/// Which way positions are counted.
fn counted(direction: Direction) -> Markup {
    let radius = OUTER + 40.0;
    let side = match direction {
        Direction::CounterClockwise => 1.0,
        Direction::Clockwise => -1.0,
    };
    let ((x, y), (end_x, end_y)) = (at(radius, side * 10.0), at(radius, side * 36.0));
    let sweep = u8::from(side < 0.0);
    let path = format!("M{x} {y} A{radius} {radius} 0 0 {sweep} {end_x} {end_y}");
    // The head points along the circle.
    let towards = if side > 0.0 { 180.0 - 40.0 } else { 40.0 };
    moves(&path, (end_x, end_y), towards)
}
