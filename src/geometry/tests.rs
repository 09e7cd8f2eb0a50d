//! The promises of this package for all numbers, and the same figures worked out in another way.

mod axes;
mod circles;
mod columns;
mod exact;
mod places;
mod planes;
mod turns;

use proptest::prelude::*;

use super::*;
use quantity::{Figure, Grid, Length};

#[track_caller]
fn near(value: f64, expected: f64, within: f64) {
    assert!((value - expected).abs() <= within, "{value} is not {expected}");
}

/// How far two angles are apart round a period, degrees.
fn apart(one: f64, other: f64, period: f64) -> f64 {
    let off = (one - other).rem_euclid(period);
    off.min(period - off)
}

fn point(x_nm: i64, y_nm: i64, height: i64) -> Point {
    Point { at: Grid { x_nm, y_nm }, height }
}
