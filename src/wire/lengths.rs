//! Numbers that are no lengths, as the outside sees them.

/// A derived number that is not a length, to a thousandth.
pub(super) fn thousandth(number: f64) -> f64 {
    (number * 1000.0).round() / 1000.0
}

/// The same, up: of what is told so that nobody counts on too little.
pub(super) fn thousandth_up(number: f64) -> f64 {
    (number * 1000.0 - 1e-6).ceil() / 1000.0
}
