//! Functions that the pictures share: a frame with its texts, and points on a circle.

use maud::{Markup, html};

/// Half the width of a picture, in its own units.
pub(super) const HALF: f64 = 150.0;
/// The width of a picture on paper, millimetres; the style sheet says the same.
pub(super) const PRINTED_MM: f64 = 62.0;

/// A picture with a title and description for readers who do not see it.
pub(super) fn frame(id: &str, (title, desc): (&str, &str), inside: &Markup) -> Markup {
    let (title_id, desc_id) = (format!("{id}-t"), format!("{id}-d"));
    html! {
        svg viewBox="0 0 300 300" role="img" aria-labelledby={ (title_id) " " (desc_id) } {
            title id=(title_id) { (title) }
            desc id=(desc_id) { (desc) }
            (inside)
        }
    }
}

/// The place at an angle, counted counter-clockwise from the top.
pub(super) fn at(radius: f64, angle_deg: f64) -> (f64, f64) {
    let (sin, cos) = angle_deg.to_radians().sin_cos();
    (HALF - radius * sin, HALF - radius * cos)
}

/// `12.3,45.6`.
pub(super) fn point(radius: f64, angle_deg: f64) -> String {
    let (x, y) = at(radius, angle_deg);
    format!("{x:.1},{y:.1}")
}

/// One decimal: coordinates need no more.
pub(super) fn n(number: f64) -> String {
    format!("{number:.1}")
}

/// The index mark: a solid wedge at the top with its 0.
pub(super) fn index_mark(radius: f64) -> Markup {
    let top = HALF - radius;
    let wedge = format!("M150,{} l-5,-9 h10 Z", n(top));
    html! {
        path d=(wedge) fill="#16191d" {}
        text x="150" y=(n(top - 12.0)) font-size="12" font-weight="700" text-anchor="middle" { "0" }
    }
}

/// A text at an angle.
pub(super) fn label(radius: f64, angle_deg: f64, size: f64, words: &str) -> Markup {
    let (x, y) = at(radius, angle_deg);
    html! {
        text x=(n(x)) y=(n(y + size * 0.35)) font-size=(size) text-anchor="middle" { (words) }
    }
}

/// A short text beside the end of a ray, shifted so that texts of neighbouring rays do not overlap.
pub(super) fn label_beside(radius: f64, angle_deg: f64, words: &str) -> Markup {
    let (sin, cos) = angle_deg.to_radians().sin_cos();
    let (x, y) = at(radius + 3.0, angle_deg);
    let (x, y) = (x + 14.0 * cos, y - 14.0 * sin);
    html! { text.halo x=(n(x)) y=(n(y + 4.0)) font-size="11" text-anchor="middle" { (words) } }
}

/// An arrow outwards from the middle.
pub(super) fn arrow(from: f64, to: f64, angle_deg: f64) -> Markup {
    let line = format!("M{} L{}", point(from, angle_deg), point(to - 6.0, angle_deg));
    let (x, y) = at(to, angle_deg);
    let (left, right) = (side(to - 9.0, angle_deg, 5.0), side(to - 9.0, angle_deg, -5.0));
    let head = format!("M{x:.1},{y:.1} L{left} L{right} Z");
    html! {
        path d=(line) fill="none" stroke="#16191d" stroke-width="2.2" {}
        path d=(head) fill="#16191d" {}
    }
}

/// A point beside a ray.
fn side(radius: f64, angle_deg: f64, off: f64) -> String {
    let (sin, cos) = angle_deg.to_radians().sin_cos();
    let (x, y) = at(radius, angle_deg);
    format!("{:.1},{:.1}", x + off * cos, y - off * sin)
}

/// The largest number not above the given one that is 1, 2 or 5 times a power of ten.
pub(super) fn round_down(number: f64) -> f64 {
    if !(number.is_finite() && number > 0.0) {
        return 1.0;
    }
    let power = 10_f64.powf(number.log10().floor());
    [5.0, 2.0, 1.0]
        .into_iter()
        .map(|step| step * power)
        .find(|step| *step <= number * 1.000_001)
        .unwrap_or(power)
}
