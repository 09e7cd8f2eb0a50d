//! Planes, minimum zones, lines, circles, the waves of a turn, axes and cones: numbers in, numbers
//! out.
//!
//! What is absent: a tolerance, a unit other than nanometre and picometre, and the name of a part.
//! Points from a file (a [`Cloud`] or columns of floats) are the exception: they keep the unit of the
//! file. The minimum zone, which is judged later, is exact. Figures that are only shown (least squares,
//! slopes, high side, circles, waves) are floats in the unit of their input, worked out on heights
//! minus the first height and positions about their centre.

#![deny(clippy::disallowed_methods, clippy::disallowed_types)]

mod axis;
mod between;
mod circle;
mod clocking;
mod columns;
mod cone;
mod first_wave;
mod least_cost;
mod line;
mod lobes;
mod places;
mod plane;
mod plane_cloud;
mod plane_double;
mod rank;
mod seatings;
mod turn;
mod wide;
mod zone;

pub use axis::{
    AxisError, FourSeatings, Offset, QuarterTurns, Reversal, TwoStations, four_seatings,
    quarter_turns, reversal, total_reading_bounds,
};
pub use between::{Between, between_touches, touches_to_see};
pub use circle::{
    Circle, CircleError, RingZone, Touching, TouchingWidths, algebraic_circle,
    circumscribed_circle, inscribed_circle, least_squares_circle, minimum_zone_circle,
    touching_widths,
};
pub use clocking::{
    Clocking, MOST_WAYS, Member, NoChoice, Way, clocking, seen_at_stations, turned_to,
};
pub use cone::{Cone, SEVEN_IN_24, cone, full_angle_deg, half_angle_deg, rate_from_side};
pub use first_wave::{FirstWave, widest_gap_deg};
pub use line::{
    LineError, LineFit, LineZone, end_points_line, least_squares_line, minimum_zone_line,
    straightness_zone,
};
pub use lobes::{range_share_of_two_lobes, zone_share_of_two_lobes};
pub use places::{different_stations, lie_on_a_line, more_than_three_places, on_circles};
pub use plane::{PlaneFit, Slopes, least_squares};
pub use plane_cloud::{CloudPlane, Fit, least_squares_of_cloud};
pub use rank::{Point, Rank, rank};
pub use seatings::{Parted, Seating, part};
pub use turn::{
    Eccentricity, EvenTurn, TurnError, WAVES_KEPT, Wave, Waves, highest_order, is_even_turn,
    low_pass, low_pass_even, total_reading, waves_at, waves_of_turn,
};
pub use wide::root_up;
pub use zone::{
    Cloud, CloudError, CloudZone, Method, Zone, ZoneError, exact_zone_of_cloud, minimum_zone,
    minimum_zone_of_cloud,
};

#[cfg(test)]
mod published;
#[cfg(test)]
mod tests;

/// The nearest float of a whole number, for figures that are shown.
#[expect(clippy::cast_precision_loss, reason = "shown figures only; the exact ones stay whole")]
const fn float(whole: i128) -> f64 {
    whole as f64
}

/// A small number of things as a float.
#[expect(clippy::cast_precision_loss, reason = "a count of points is below 2^53")]
const fn count(points: usize) -> f64 {
    points as f64
}

/// An angle in degrees, turned into [0, 360).
fn full_turn(degrees: f64) -> f64 {
    let turned = degrees.rem_euclid(360.0);
    if turned < 360.0 { turned } else { 0.0 }
}

/// The sum of products.
fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

/// Largest minus smallest; 0 for none.
fn range(values: &[f64]) -> f64 {
    let high = values.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let low = values.iter().copied().fold(f64::INFINITY, f64::min);
    if values.is_empty() { 0.0 } else { high - low }
}
