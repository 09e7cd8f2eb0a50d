//! The minimum zone from the heights of its contacts: a weighted sum that a person can do by hand.

use std::fmt::Write as _;

use crate::page::model::{Go, Item};
use crate::page::text::bracketed;
use ::record::VerdictRecord;
use quantity::{Figure, Unit};

/// A contact: its position, its place on the face, its height.
type Contact = (u32, [f64; 2], Figure);

/// The weighted sum of the heights at the contacts, upper minus lower. The weights balance the places of
/// the contacts, so that any tilt cancels out.
pub(super) fn sum(
    item: &Item<'_>,
    go: &Go<'_>,
    record: &VerdictRecord,
    page: Unit,
) -> Option<String> {
    let width = record.verdict.value?;
    let unit = super::unit_read(go, page);
    let contact = |position: &u32| -> Option<Contact> {
        let radius = Figure::from(item.check.radius(*position)?).to_f64();
        let (sin, cos) = item.check.angle_deg(*position).to_radians().sin_cos();
        Some((*position, [radius * cos, radius * sin], go.height(*position)?))
    };
    let upper: Vec<Contact> =
        record.verdict.figures.contacts_upper.iter().filter_map(contact).collect();
    let lower: Vec<Contact> =
        record.verdict.figures.contacts_lower.iter().filter_map(contact).collect();
    let weighted = weights(&upper, &lower)
        .map(|(above, below)| terms(&upper, &above, &lower, &below))
        .filter(|(_, total)| (total - width.to_f64()).abs() < 200.0);
    Some(match weighted {
        Some((terms, _)) => format!(
            "Smallest distance of two parallel planes that hold all touches; they are touched from above at {}, from below at {}: {} = {}",
            list(&upper),
            list(&lower),
            spelled(&terms, unit),
            super::result(width, record, (unit, page))
        ),
        None => format!(
            "Smallest distance of two parallel planes that hold all {} touches = {}",
            go.heights.len(),
            super::result(width, record, (unit, page))
        ),
    })
}

fn list(contacts: &[Contact]) -> String {
    let positions: Vec<String> = contacts.iter().map(|(at, ..)| at.to_string()).collect();
    positions.join(" and ")
}

/// The weights of upper and lower contacts; the weights of each side add up to one.
fn weights(upper: &[Contact], lower: &[Contact]) -> Option<(Vec<f64>, Vec<f64>)> {
    match (upper, lower) {
        ([a, b], [c, d]) => {
            let (on_upper, on_lower) = crossing(a.1, b.1, c.1, d.1)?;
            Some((vec![1.0 - on_upper, on_upper], vec![1.0 - on_lower, on_lower]))
        }
        ([a, b, c], [one]) => Some((inside([a.1, b.1, c.1], one.1)?, vec![1.0])),
        ([one], [a, b, c]) => Some((vec![1.0], inside([a.1, b.1, c.1], one.1)?)),
        _ => None,
    }
}

fn cross(a: [f64; 2], b: [f64; 2]) -> f64 {
    a[0] * b[1] - a[1] * b[0]
}

fn from(a: [f64; 2], b: [f64; 2]) -> [f64; 2] {
    [b[0] - a[0], b[1] - a[1]]
}

/// Where two segments cross, as a share of each.
fn crossing(a: [f64; 2], b: [f64; 2], c: [f64; 2], d: [f64; 2]) -> Option<(f64, f64)> {
    let (first, second, between) = (from(a, b), from(c, d), from(a, c));
    let area = cross(first, second);
    let shares = (cross(between, second) / area, cross(between, first) / area);
    (shares.0.is_finite() && shares.1.is_finite()).then_some(shares)
}

/// The weights at which three corners balance at a point.
fn inside([a, b, c]: [[f64; 2]; 3], point: [f64; 2]) -> Option<Vec<f64>> {
    let whole = cross(from(a, b), from(a, c));
    let of_b = cross(from(a, point), from(a, c)) / whole;
    let of_c = cross(from(a, b), from(a, point)) / whole;
    (of_b.is_finite() && of_c.is_finite()).then(|| vec![1.0 - of_b - of_c, of_b, of_c])
}

/// Signed weights with their heights, and the sum in picometres.
fn terms(
    upper: &[Contact],
    above: &[f64],
    lower: &[Contact],
    below: &[f64],
) -> (Vec<(f64, Figure)>, f64) {
    let up = upper.iter().zip(above).map(|(contact, weight)| (*weight, contact.2));
    let down = lower.iter().zip(below).map(|(contact, weight)| (-*weight, contact.2));
    let terms: Vec<(f64, Figure)> = up.chain(down).collect();
    let total = terms.iter().map(|(weight, height)| weight * height.to_f64()).sum();
    (terms, total)
}

fn spelled(terms: &[(f64, Figure)], unit: Unit) -> String {
    let mut text = String::new();
    for (weight, height) in terms {
        let sign = match (text.is_empty(), *weight < 0.0) {
            (true, false) => "",
            (true, true) => "−",
            (false, false) => " + ",
            (false, true) => " − ",
        };
        let height = bracketed(&height.shown(unit));
        write!(text, "{sign}{:.4} × {height}", weight.abs()).expect("a String takes everything");
    }
    text
}
