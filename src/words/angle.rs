//! Angles as they are read.

/// An angle as the marks on a part are read: in [0, 360), to a tenth of a degree where it is not whole.
#[must_use]
pub fn mark(degrees: f64) -> String {
    turned(degrees, 360.0, 10.0).to_string()
}

/// Degrees to a thousandth, in [0, 360).
#[must_use]
pub fn degrees(degrees: f64) -> f64 {
    turned(degrees, 360.0, 1000.0)
}

/// Where a form of `order` waves a turn has its first high spot: degrees to a thousandth, in
/// [0, 360/order), since another one follows every 360/order.
#[must_use]
pub fn first_high_spot(degrees: f64, order: u32) -> f64 {
    turned(degrees, 360.0 / f64::from(order.max(1)), 1000.0)
}

/// Degrees to so many parts of one, less whole periods. What rounds up to the whole period is 0, and
/// so is what rounds to nothing from below.
fn turned(degrees: f64, period: f64, parts: f64) -> f64 {
    let rounded = |angle: f64| (angle * parts).round() / parts;
    let within = rounded(degrees.rem_euclid(period));
    // A period such as 360/7 is no whole number of thousandths.
    if within >= rounded(period) { 0.0 } else { within + 0.0 }
}
