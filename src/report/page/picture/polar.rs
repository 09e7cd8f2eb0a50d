//! Turns drawn as circles: deviations from the mean circle, magnified, where they were measured.

use std::fmt::Write as _;

use maud::{Markup, html};

use super::svg::{self, HALF, PRINTED_MM, n};
use crate::page::text::{short, small};
use quantity::{Figure, Unit};

/// The mean circle, in units of the picture.
pub(super) const BASE: f64 = 82.0;
/// The largest deviation, in the same units.
const ROOM: f64 = 30.0;
/// Picometres in a millimetre.
const MM: f64 = 1e9;

/// One turn.
pub(super) struct Curve {
    /// Angle and deviation from the mean, picometres, in the order of the angles; `None` where nothing was
    /// read.
    pub(super) points: Vec<(f64, Option<f64>)>,
    /// How the line is broken up.
    pub(super) dash: &'static str,
}

impl Curve {
    /// A turn from its angles and heights.
    pub(super) fn of(heights: &[(f64, Option<Figure>)], dash: &'static str) -> Self {
        let known: Vec<f64> =
            heights.iter().filter_map(|(_, height)| Some((*height)?.to_f64())).collect();
        let count = f64::from(u32::try_from(known.len().max(1)).unwrap_or(1));
        let mean = known.iter().sum::<f64>() / count;
        let deviation = |(angle, height): &(f64, Option<Figure>)| {
            (*angle, height.map(|height| height.to_f64() - mean))
        };
        let mut points: Vec<(f64, Option<f64>)> = heights.iter().map(deviation).collect();
        points.sort_by(|one, other| one.0.total_cmp(&other.0));
        Self { points, dash }
    }

    /// The largest deviation, picometres.
    pub(super) fn largest(&self) -> f64 {
        self.points
            .iter()
            .filter_map(|(_, off)| *off)
            .fold(0.0, |most: f64, off| most.max(off.abs()))
    }
}

/// The magnification of the deviations.
#[derive(Clone, Copy)]
pub(super) struct Magnified {
    /// The magnification on paper.
    pub(super) times: f64,
    unit: Unit,
}

impl Magnified {
    /// The largest round magnification at which this deviation has room.
    pub(super) fn for_largest(picometres: f64, unit: Unit) -> Self {
        let millimetres = (picometres / MM).max(1e-5);
        let times = svg::round_down(ROOM * PRINTED_MM / (2.0 * HALF) / millimetres);
        Self { times, unit }
    }

    /// A deviation in units of the picture.
    pub(super) fn drawn(self, picometres: f64) -> f64 {
        picometres / MM * self.times / (PRINTED_MM / (2.0 * HALF))
    }

    /// `× 20 000`.
    pub(super) fn words(self) -> String {
        let digits = format!("{:.0}", self.times);
        let mut text = String::new();
        for (index, digit) in digits.chars().enumerate() {
            if index > 0 && (digits.len() - index).is_multiple_of(3) {
                text.push('\u{a0}');
            }
            text.push(digit);
        }
        format!("× {text}")
    }

    /// `2 tenths = 0.0002 in`, `1 µm`.
    fn length(self, many: f64) -> String {
        match self.unit {
            Unit::Inch => {
                let plural = if many > 1.0 { "s" } else { "" };
                let inches = format!("{:.7}", many / 1e4);
                format!("{} tenth{plural} = {} in", short(many), inches.trim_end_matches('0'))
            }
            Unit::Millimetre | Unit::Micrometre | Unit::Other(_) => format!("{} µm", short(many)),
        }
    }

    /// A bar of a round length with its name.
    pub(super) fn scale_bar(self) -> Markup {
        let one = match self.unit {
            Unit::Inch => 2_540_000.0,
            Unit::Millimetre | Unit::Micrometre | Unit::Other(_) => 1_000_000.0,
        };
        let many = svg::round_down(60.0 / self.drawn(one));
        let long = self.drawn(one * many);
        let line = format!("M8,288 v8 M8,292 h{} M{},288 v8", n(long), n(8.0 + long));
        html! {
            path d=(line) fill="none" stroke="#16191d" stroke-width="1.4" {}
            text x="8" y="283" font-size="10" { (self.length(many)) }
        }
    }
}

/// The mean circle with its cross and angles.
pub(super) fn face() -> Markup {
    html! {
        circle cx="150" cy="150" r=(BASE) fill="none" stroke="#b9c0c8" stroke-width="1" {}
        path d="M150,144 v12 M144,150 h12" stroke="#8a929b" stroke-width="1" fill="none" {}
        @for angle in [90.0, 180.0, 270.0] { (svg::label(133.0, angle, 10.0, &format!("{angle}°"))) }
        (svg::index_mark(120.0))
    }
}

/// The line through the touches, with a gap where a position was not measured.
pub(super) fn drawn(curve: &Curve, scale: Magnified, dots: bool) -> Markup {
    let place = |(angle, off): &(f64, Option<f64>)| Some((BASE + scale.drawn((*off)?), *angle));
    let places: Vec<Option<(f64, f64)>> = curve.points.iter().map(place).collect();
    let mut path = String::new();
    let mut pen_down = false;
    for place in &places {
        match place {
            Some((radius, angle)) => {
                let letter = if pen_down { 'L' } else { 'M' };
                write!(path, "{letter}{} ", svg::point(*radius, *angle))
                    .expect("a String takes everything");
                pen_down = true;
            }
            None => pen_down = false,
        }
    }
    if let (Some(Some(last)), Some(Some(first))) = (places.last(), places.first()) {
        // Across the index mark, from the last position to the first.
        let (last, first) = (svg::point(last.0, last.1), svg::point(first.0, first.1));
        write!(path, "M{last} L{first}").expect("a String takes everything");
    }
    html! {
        path d=(path.trim_end()) fill="none" stroke="#16191d" stroke-width="1.6" stroke-dasharray=(curve.dash) stroke-linejoin="round" {}
        @if dots {
            @for (radius, angle) in places.iter().flatten() {
                @let (x, y) = svg::at(*radius, *angle);
                circle cx=(n(x)) cy=(n(y)) r="2.4" fill="#16191d" {}
            }
        }
    }
}

/// The least-squares circle and its centre.
pub(super) fn least_squares(off: f64, towards_deg: f64, scale: Magnified) -> Markup {
    let (x, y) = svg::at(scale.drawn(off), towards_deg);
    let cross = format!("M{},{} l8,8 m0,-8 l-8,8", n(x - 4.0), n(y - 4.0));
    html! {
        circle cx=(n(x)) cy=(n(y)) r=(BASE) fill="none" stroke="#2a5d8f" stroke-width="1.2" stroke-dasharray="5 3" {}
        path d=(cross) fill="none" stroke="#2a5d8f" stroke-width="1.6" {}
    }
}

/// Where the high reading is: a solid mark.
pub(super) fn high_mark(angle: f64) -> Markup {
    let (x, y) = svg::at(126.0, angle);
    html! { circle cx=(n(x)) cy=(n(y)) r="4.2" fill="#16191d" {} }
}

/// Where the axis lies: a hollow mark.
pub(super) fn axis_mark(angle: f64) -> Markup {
    let (x, y) = svg::at(138.0, angle);
    let diamond = format!("M{},{} l6,6 l-6,6 l-6,-6 Z", n(x), n(y - 6.0));
    html! { path d=(diamond) fill="#fff" stroke="#16191d" stroke-width="1.8" {} }
}

/// The deviations in words.
pub(super) fn words(heights: &[(f64, Option<Figure>)], unit: Unit) -> String {
    let told: Vec<String> = heights
        .iter()
        .map(|(angle, height)| {
            let height = height
                .map_or_else(|| "not measured".to_owned(), |height| short(small(height, unit)));
            format!("{}°: {height}", short(*angle))
        })
        .collect();
    if told.len() > 40 { format!("{} readings", told.len()) } else { told.join("; ") }
}
