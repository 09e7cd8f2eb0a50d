//! Angles for people and for published lines.

/// An angle as the marks on a part show it: in [0, 360), to a tenth of a degree where it is not whole.
#[must_use]
pub fn mark(degrees: f64) -> String {
    turned(degrees, 360.0, 10.0).to_string()
}

/// Degrees to a thousandth, in [0, 360).
#[must_use]
pub fn degrees(degrees: f64) -> f64 {
    turned(degrees, 360.0, 1000.0)
}

/// The first high spot of a form with `order` waves a turn: degrees to a thousandth, in [0, 360/order),
/// since the next one follows 360/order later.
#[must_use]
pub fn first_high_spot(degrees: f64, order: u32) -> f64 {
    turned(degrees, 360.0 / f64::from(order.max(1)), 1000.0)
}

/// Degrees rounded to this many parts of a degree, without whole periods. An angle that rounds up to the
/// whole period is 0, and so is one just below zero.
fn turned(degrees: f64, period: f64, parts: f64) -> f64 {
    let rounded = |angle: f64| (angle * parts).round() / parts;
    let within = rounded(degrees.rem_euclid(period));
    // A period such as 360/7 is not a whole number of thousandths.
    if within >= rounded(period) { 0.0 } else { within + 0.0 }
}
