//! The temperatures of a run-in over time: a line for each place, named at its end, with the steps along the bottom.

use std::fmt::Write as _;

use maud::{Markup, html};
use wire::{ViewPlace, ViewRunIn, printable};

const WIDE: f64 = 640.0;
const HIGH: f64 = 340.0;
const LEFT: f64 = 44.0;
const RIGHT: f64 = 12.0;
const TOP: f64 = 14.0;
const FOOT: f64 = 44.0;

/// What is drawn: minutes from 0 to the right, degrees Celsius from low to high.
struct Scale {
    right: f64,
    low: f64,
    high: f64,
}

impl Scale {
    fn of(shown: &ViewRunIn) -> Self {
        let all = || shown.places.iter().flat_map(|place| &place.points);
        let last = shown.began_min.last().copied().unwrap_or(0.0);
        let right = all().map(|[x, _]| *x).fold(last, f64::max).max(1.0);
        let low = all().map(|[_, y]| *y).fold(f64::INFINITY, f64::min);
        let high = all().map(|[_, y]| *y).fold(f64::NEG_INFINITY, f64::max);
        let (low, high) = if low.is_finite() { (low.floor(), high.ceil()) } else { (15.0, 40.0) };
        Self { right, low, high: high.max(low + 5.0) }
    }

    fn x(&self, minutes: f64) -> f64 {
        LEFT + minutes / self.right * (WIDE - LEFT - RIGHT)
    }

    fn y(&self, degrees: f64) -> f64 {
        TOP + (self.high - degrees) / (self.high - self.low) * (HIGH - TOP - FOOT)
    }

    fn line(&self, place: &ViewPlace) -> String {
        let mut path = String::new();
        for [x, y] in &place.points {
            let begin = if path.is_empty() { 'M' } else { 'L' };
            write!(path, "{begin}{:.1} {:.1} ", self.x(*x), self.y(*y))
                .expect("writing to a text cannot fail");
        }
        path.trim_end().to_owned()
    }
}

/// The curve and its legend.
pub(crate) fn curve(shown: &ViewRunIn) -> Markup {
    let scale = Scale::of(shown);
    html! {
        svg.plot viewBox=(format!("0 0 {WIDE} {HIGH}")) role="img" aria-label="Temperatures of the run-in over time" {
            path.axis d=(format!("M{LEFT} {TOP} V{} H{}", HIGH - FOOT, WIDE - RIGHT)) {}
            @for degrees in [scale.low, f64::midpoint(scale.low, scale.high), scale.high] {
                text.y x=(LEFT - 8.0) y=(format!("{:.1}", scale.y(degrees) + 5.0)) { (format!("{degrees:.0}")) }
            }
            @for minutes in &shown.began_min {
                path.step d=(format!("M{0:.1} {TOP} V{1}", scale.x(*minutes), HIGH - FOOT)) {}
                text.x x=(format!("{:.1}", scale.x(*minutes))) y=(HIGH - 22.0) { (format!("{minutes:.0}")) }
            }
            text.x x=(f64::midpoint(LEFT, WIDE)) y=(HIGH - 3.0) { "minutes; a line at each step" }
            @for (at, place) in shown.places.iter().enumerate() {
                path class={ "trace t" (at % 4) } d=(scale.line(place)) {}
            }
        }
        ul.legend { @for (at, place) in shown.places.iter().enumerate() {
            li { span class={ "key t" (at % 4) } {} bdi { (printable(&place.name)) } " "
                strong { (place.last.as_deref().map_or_else(|| "–".to_owned(), printable)) } }
        } }
    }
}
