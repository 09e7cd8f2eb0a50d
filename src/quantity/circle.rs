//! Places on a circle: where the touches of a ring lie.

use super::Length;

/// A place on the measured face, on a grid of one nanometre. Once on the grid it counts as exact.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Grid {
    /// Nanometres towards the index mark.
    pub x_nm: i64,
    /// Nanometres a quarter turn counter-clockwise of it.
    pub y_nm: i64,
}

impl Grid {
    /// The place at `radius` and `angle_deg`, counter-clockwise from the index mark, rounded to
    /// the grid. The largest error of one nanometre moves a height on a face tilted by 1 mm/m by
    /// one picometre.
    #[must_use]
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_precision_loss,
        reason = "a radius below 9 000 km has fewer than 53 bits in nanometres"
    )]
    pub fn on_circle(radius: Length, angle_deg: f64) -> Self {
        let radius_nm = radius.picometres() as f64 / 1000.0;
        let angle = angle_deg.to_radians();
        Self {
            x_nm: (radius_nm * angle.cos()).round() as i64,
            y_nm: (radius_nm * angle.sin()).round() as i64,
        }
    }
}

/// Sine and cosine of an angle in degrees, counter-clockwise from the index mark. Whole quarter turns
/// give exact values.
#[must_use]
pub fn sine_cosine(degrees: f64) -> (f64, f64) {
    let turned = degrees.rem_euclid(360.0);
    let quarters = (turned / 90.0).round();
    let (sine, cosine) = (turned - 90.0 * quarters).to_radians().sin_cos();
    if !(0.5..3.5).contains(&quarters) {
        (sine, cosine)
    } else if quarters < 1.5 {
        (cosine, -sine)
    } else if quarters < 2.5 {
        (-sine, -cosine)
    } else {
        (-cosine, sine)
    }
}

/// The angle of a position on the part, in degrees [0, 360), where `positions` are equally spaced on
/// each circle. With several circles, position `ring·positions + k` has the angle of position `k`.
#[must_use]
pub fn position_angle_deg(position: u32, positions: u32) -> f64 {
    let around = position % positions.max(1);
    360.0 * f64::from(around) / f64::from(positions.max(1))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Unit;

    #[test]
    fn quarter_marks_lie_on_the_axes() {
        let radius = Length::parse("1.5", Unit::Inch).unwrap();
        assert_eq!(Grid::on_circle(radius, 0.0), Grid { x_nm: 38_100_000, y_nm: 0 });
        assert_eq!(Grid::on_circle(radius, 90.0), Grid { x_nm: 0, y_nm: 38_100_000 });
        assert_eq!(Grid::on_circle(radius, 45.0), Grid { x_nm: 26_940_768, y_nm: 26_940_768 });
    }

    #[test]
    fn sines_of_quarter_turns_are_exact() {
        for (degrees, expected) in
            [(0.0, (0.0, 1.0)), (90.0, (1.0, 0.0)), (-180.0, (0.0, -1.0)), (630.0, (-1.0, 0.0))]
        {
            let (sine, cosine) = sine_cosine(degrees);
            assert_eq!((sine + 0.0, cosine + 0.0), expected, "{degrees}");
        }
        let (sine, cosine) = sine_cosine(200.0);
        let angle = 200.0_f64.to_radians();
        assert!((sine - angle.sin()).abs() < 1e-15 && (cosine - angle.cos()).abs() < 1e-15);
    }

    #[test]
    #[expect(clippy::float_cmp, reason = "these angles are exact in binary")]
    fn a_second_ring_starts_again_at_the_index_mark() {
        assert_eq!(position_angle_deg(3, 8), 135.0);
        assert_eq!(position_angle_deg(8, 8), 0.0);
        assert_eq!(position_angle_deg(15, 8), 315.0);
    }
}
