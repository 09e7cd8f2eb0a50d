//! Circles around and inside a turn of which only the deviations from a circle are known.

use super::{CircleError, circumscribed_circle, inscribed_circle};
use crate::range;
use quantity::sine_cosine;

/// The deviations are laid on a circle whose radius is this many times their range. A real part has
/// about that ratio. With a much larger one, rounding would let the smallest circle around an oval
/// slide sideways; with a much smaller one, the circle's own curve would show. (A choice of this
/// program.)
const FAR_OUT: f64 = 1e3;

/// The roundness of deviations by the circles that touch from outside and from inside.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TouchingWidths {
    /// About the centre of the smallest circle around them.
    pub circumscribed: f64,
    /// About the centre of the largest circle inside them; `None` where the angles cover too little of
    /// the turn.
    pub inscribed: Option<f64>,
}

/// Roundness of deviations at `angles_deg`, in their unit. The part's radius does not matter: the
/// deviations are laid on a circle a thousand times as large as their range. They have to be centred,
/// that is, without their mean and first wave. Then shifting the circle adds a first wave and nothing
/// else (a limaçon; true for deviations small against the radius).
///
/// # Errors
/// When the angles fit no circle.
pub fn touching_widths(angles_deg: &[f64], centred: &[f64]) -> Result<TouchingWidths, CircleError> {
    let spread = range(centred);
    let base = if spread > 0.0 { FAR_OUT * spread } else { 1.0 };
    let place = |(angle, deviation): (&f64, &f64)| {
        let (sine, cosine) = sine_cosine(*angle);
        ((base + deviation) * cosine, (base + deviation) * sine)
    };
    let points: Vec<(f64, f64)> = angles_deg.iter().zip(centred).map(place).collect();
    Ok(TouchingWidths {
        circumscribed: circumscribed_circle(&points)?.circle.width(&points),
        inscribed: inscribed_circle(&points).ok().map(|touching| touching.circle.width(&points)),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_oval_is_held_from_outside_and_slides_inside() {
        let angles: Vec<f64> = (0..16).map(|k| 22.5 * f64::from(k)).collect();
        let oval: Vec<f64> = angles.iter().map(|deg| (2.0 * deg.to_radians()).cos()).collect();
        let widths = touching_widths(&angles, &oval).unwrap();
        // The circle around rests on the two high spots. The circle inside rests on the flats at 90
        // and 270 degrees and slides between them until it meets the next point, at 67.5: by
        // (1 − cos 45)/cos 67.5 = 0.7654 (by hand).
        assert!((widths.circumscribed - 2.0).abs() < 1e-2, "{widths:?}");
        assert!((widths.inscribed.unwrap() - 2.7654).abs() < 1e-2, "{widths:?}");
    }

    #[test]
    fn no_deviation_is_round_and_half_a_turn_holds_no_circle() {
        let round = touching_widths(&[0.0, 120.0, 240.0, 300.0], &[0.0; 4]).unwrap();
        assert!(round.circumscribed < 1e-12 && round.inscribed.unwrap() < 1e-12, "{round:?}");
        let half = touching_widths(&[0.0, 40.0, 80.0, 120.0], &[0.0, 0.1, 0.1, 0.0]).unwrap();
        assert_eq!(half.inscribed, None);
        assert_eq!(touching_widths(&[0.0, 0.0], &[1.0, 1.0]), Err(CircleError::Straight));
    }
}
