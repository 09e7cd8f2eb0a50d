//! The rate of a cone from diameters at stations along its axis.

use super::line::{LineError, LineFit, least_squares_line};
use super::range;

/// The rate of the 7/24 taper of tool shanks: change of diameter over length along the axis (ISO 297).
pub const SEVEN_IN_24: f64 = 7.0 / 24.0;

/// A cone fitted to diameters by least squares.
#[derive(Debug, Clone, PartialEq)]
pub struct Cone {
    /// Diameter over the distance along the axis; its residuals are diameters.
    pub line: LineFit,
}

impl Cone {
    /// Change of diameter over distance along the axis, without a unit.
    #[must_use]
    pub const fn rate(&self) -> f64 {
        self.line.slope
    }

    /// How much the diameter changes from the first to the last of these stations `(z, diameter)`,
    /// without a sign, in the unit of the diameters: the rate times the distance.
    #[must_use]
    pub fn change(&self, stations: &[(f64, f64)]) -> f64 {
        let along: Vec<f64> = stations.iter().map(|(z, _)| *z).collect();
        (self.rate() * range(&along)).abs()
    }
}

/// The cone through stations `(z, diameter)`, `z` along the axis, both in one unit. Given radii, as an
/// indicator between centres reads them, the result is half the rate.
pub fn cone(stations: &[(f64, f64)]) -> Result<Cone, LineError> {
    least_squares_line(stations).map(|line| Cone { line })
}

/// The angle between axis and side, in degrees, of a cone with this rate: `atan(rate/2)`.
#[must_use]
pub fn half_angle_deg(rate: f64) -> f64 {
    (rate / 2.0).atan().to_degrees()
}

/// The angle between opposite sides, in degrees: twice the half angle.
#[must_use]
pub fn full_angle_deg(rate: f64) -> f64 {
    2.0 * half_angle_deg(rate)
}

/// The rate along the axis from a rate along the *side*: divides by the cosine of the half angle
/// (1.06 % for 7/24).
#[must_use]
pub fn rate_from_side(diameter_over_side: f64) -> f64 {
    // Along the side d/s = 2·sin(half), along the axis 2·tan(half).
    let sine = diameter_over_side / 2.0;
    2.0 * sine / (1.0 - sine * sine).sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn near(value: f64, expected: f64, within: f64) {
        assert!((value - expected).abs() <= within, "{value} is not {expected}");
    }

    #[test]
    fn the_7_24_taper_has_its_angle() {
        // Full angle published as 16.5942899 deg (search listing, enow.com); 2·atan(7/48) by an
        // independent program 16.59428994. Half angle 8 deg 17' 49.7" from memory.
        near(full_angle_deg(SEVEN_IN_24), 16.594_289_94, 5e-9);
        near(full_angle_deg(SEVEN_IN_24), 16.0 + 35.0 / 60.0 + 39.44 / 3600.0, 0.005 / 3600.0);
        near(half_angle_deg(SEVEN_IN_24), 8.0 + 17.0 / 60.0 + 49.72 / 3600.0, 0.005 / 3600.0);
        // A cone lying on a flank rises by the tangent of the full angle.
        near(full_angle_deg(SEVEN_IN_24).to_radians().tan(), 0.2980, 5e-5);
    }

    #[test]
    fn along_the_side_the_rate_comes_out_1_06_percent_short() {
        let half = half_angle_deg(SEVEN_IN_24).to_radians();
        let along_side = SEVEN_IN_24 * half.cos();
        near(SEVEN_IN_24 / along_side - 1.0, 0.0106, 5e-5);
        near(rate_from_side(along_side), SEVEN_IN_24, 1e-15);
    }

    #[test]
    fn diameters_at_stations_give_the_rate() {
        let stations = [0.0, 10.0, 25.0, 60.0, 95.0].map(|z| (z, 69.85 - SEVEN_IN_24 * z));
        let through = cone(&stations).unwrap();
        near(through.rate(), -SEVEN_IN_24, 1e-15);
        near(through.change(&stations), SEVEN_IN_24 * 95.0, 1e-12);
        assert!(through.line.width() < 1e-13);
        let radii = stations.map(|(z, diameter)| (z, diameter / 2.0));
        near(cone(&radii).unwrap().rate(), -SEVEN_IN_24 / 2.0, 1e-15);
        assert_eq!(cone(&stations[..1]), Err(LineError::OnePlace));
    }
}
