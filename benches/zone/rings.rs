//! Sets of points round a centre, and their narrowest ring found the plain way: by trying every centre that
//! two pairs of points can have.

use std::f64::consts::TAU;

use super::sets::Dice;

/// Kinds of sets.
pub(crate) const KINDS: [&str; 12] = [
    "lobes",
    "lobes, to 0.001",
    "lobes on a short arc",
    "polygon, two radii by turns",
    "polygon, radii in steps",
    "mirrored about both axes",
    "mirrored about one axis",
    "small whole numbers",
    "scattered",
    "nearly straight, in steps",
    "nearly straight, bowed",
    "rectangles about one middle",
];

/// A set of one of the kinds, 4 to 24 points.
pub(crate) fn set(kind: usize, dice: &mut Dice) -> Vec<(f64, f64)> {
    let points = 4 + dice.below(if kind < 3 { 21 } else { 13 });
    let float = |whole: i64| f64::from(i32::try_from(whole).expect("small"));
    let (lobes, radius, form) =
        (float(2 + dice.below(5)), 10.0 + 30.0 * dice.unit(), 10_f64.powf(-4.0 * dice.unit()));
    let (phase, arc) = (TAU * dice.unit(), if kind == 2 { 0.05 + dice.unit() } else { 1.0 });
    let turned = if dice.below(2) == 0 { 0.0 } else { phase };
    let any = |dice: &mut Dice, limit: i64| float(dice.below(2 * limit + 1) - limit);
    let at = |radius: f64, turn: f64| (radius * turn.cos(), radius * turn.sin());
    let mut found = Vec::new();
    for row in 0..points {
        let share = float(row) / float(points);
        match kind {
            0..=2 => {
                let turn = TAU * share * arc;
                found.push(at(radius + form * (lobes * turn + turned).cos(), turn));
            }
            3 => found.push(at(radius + float(row % 2) * form, TAU * share)),
            4 => found.push(at(10.0 + any(dice, 2) / 100.0, TAU * share + turned)),
            5 | 11 => {
                let (x, y) = (any(dice, 50), any(dice, 50));
                let shift = if kind == 11 {
                    (float(points) - 8.0, 1e-3 * any(dice, 3))
                } else {
                    (0.0, 0.0)
                };
                found.extend(
                    [(x, y), (-x, y), (x, -y), (-x, -y)].map(|(x, y)| (x + shift.0, y + shift.1)),
                );
                if found.len() > 15 {
                    break;
                }
            }
            6 => {
                let (x, y) = (any(dice, 50), any(dice, 50));
                found.extend([(x, y), (-x, y)]);
            }
            7 => found.push((any(dice, 5), any(dice, 5))),
            9 => found.push((float(row), float(dice.below(3)) * 1e-3)),
            10 => {
                let x = float(row) - float(points) / 2.0;
                found.push((x, x * x * form * 1e-3 + (dice.unit() - 0.5) * 1e-3));
            }
            _ => found.push((2.0 * dice.unit() - 1.0, 2.0 * dice.unit() - 1.0)),
        }
    }
    if kind == 1 {
        for (x, y) in &mut found {
            (*x, *y) = ((*x * 1e3).round() / 1e3, (*y * 1e3).round() / 1e3);
        }
    }
    found
}

/// What holds the points closest: over every crossing of two bisectors, and over every direction
/// of two straight lines through two of the points.
pub(crate) struct Plain {
    pub(crate) ring: f64,
    pub(crate) strip: f64,
}

pub(crate) fn by_all_centres(points: &[(f64, f64)]) -> Plain {
    let count = f64::from(u32::try_from(points.len()).expect("small"));
    let mean = |of: fn(&(f64, f64)) -> f64| points.iter().map(of).sum::<f64>() / count;
    let (mean_x, mean_y) = (mean(|p| p.0), mean(|p| p.1));
    let points: Vec<(f64, f64)> = points.iter().map(|(x, y)| (x - mean_x, y - mean_y)).collect();
    let mut bisectors = Vec::new();
    let mut strip = f64::INFINITY;
    for (k, one) in points.iter().enumerate() {
        for other in &points[..k] {
            let (x, y) = (other.0 - one.0, other.1 - one.1);
            let length = x.hypot(y);
            if length > 0.0 {
                let middle = (f64::midpoint(one.0, other.0), f64::midpoint(one.1, other.1));
                bisectors.push((x / length, y / length, (x * middle.0 + y * middle.1) / length));
                let across = |p: &(f64, f64)| (p.1 * x - p.0 * y) / length;
                strip = strip.min(span(points.iter().map(across), f64::INFINITY));
            }
        }
    }
    let mut ring = f64::INFINITY;
    for (k, one) in bisectors.iter().enumerate() {
        for other in &bisectors[..k] {
            let parts = one.0 * other.1 - one.1 * other.0;
            let x = (one.2 * other.1 - other.2 * one.1) / parts;
            let y = (one.0 * other.2 - other.0 * one.2) / parts;
            let far = x.hypot(y);
            if far.is_finite() {
                // Distances less that of the middle, so that a far centre loses no digits.
                let beyond = |p: &(f64, f64)| {
                    let sum = (p.0 - x).hypot(p.1 - y) + far;
                    let square = p.0 * p.0 + p.1 * p.1 - 2.0 * (x * p.0 + y * p.1);
                    if sum > 0.0 { square / sum } else { 0.0 }
                };
                ring = ring.min(span(points.iter().map(beyond), ring));
            }
        }
    }
    Plain { ring, strip }
}

/// Largest minus smallest, or infinity as soon as it is `most` or more.
fn span(values: impl Iterator<Item = f64>, most: f64) -> f64 {
    let (mut low, mut high) = (f64::INFINITY, f64::NEG_INFINITY);
    for value in values {
        (low, high) = (low.min(value), high.max(value));
        if high - low >= most {
            return f64::INFINITY;
        }
    }
    high - low
}
