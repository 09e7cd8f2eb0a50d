//! `evaluation/1`.

use judgement::Word;
use serde::Serialize;

use super::text::line_of;

/// The results for points from a file. Lengths are decimal texts in `unit`. Fields that do not apply are
/// left out.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
#[cfg_attr(
    feature = "schemas",
    derive(schemars::JsonSchema),
    schemars(transform = ::words::schema::forms().of(::words::schema::length, "value end_points max_minus_min eccentricity tolerance uncertainty").of(::words::schema::angle, "high_side_deg"))
)]
pub struct EvaluationLine {
    /// What the points were evaluated for: `flatness`, `parallelism`, `runout`, `roundness`, `straightness`
    /// or `taper`.
    pub measures: &'static str,
    /// How many points the file has.
    pub n: usize,
    /// The number of coefficients that the positions determine: 3 for a plane, a circle or a first
    /// harmonic, 2 for a line.
    pub rank: usize,
    /// The unit of the lengths.
    #[cfg_attr(feature = "schemas", schemars(with = "quantity::Unit"))]
    pub unit: &'static str,
    /// The figure that meets the tolerance.
    pub value: String,
    /// The narrowest zone that holds all points.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub minimum_zone: Option<ZoneLine>,
    /// The figure from the least-squares plane, line or circle.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub least_squares: Option<LeastSquaresLine>,
    /// Largest minus smallest distance from the line through the first and the last point.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub end_points: Option<String>,
    /// Highest minus lowest.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub max_minus_min: Option<String>,
    /// The slope of the least-squares plane or line, microradians.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub slope_urad: Option<f64>,
    /// The direction of the high side, degrees, [0, 360).
    #[serde(skip_serializing_if = "Option::is_none")]
    pub high_side_deg: Option<f64>,
    /// Half the total reading of the first wave.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub eccentricity: Option<String>,
    /// The waves of a turn, in rising order.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub harmonics: Vec<WaveLine>,
    /// Whether the column `r` was read as radii or as deviations.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub taken_as: Option<&'static str>,
    /// Roundness about the centre of each circle.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub circle: Option<CircleLine<String>>,
    /// The circles themselves.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub circles: Option<CircleLine<PlacedCircle>>,
    /// Change of diameter over distance along the axis.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub rate: Option<f64>,
    /// The angle between axis and side for this rate, degrees.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub half_angle_deg: Option<f64>,
    /// The tolerance given.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub tolerance: Option<String>,
    /// The same in the shape that all lines have: both keys, `null` for a limit that does not exist.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub limits: Option<::words::LimitsLine>,
    /// The expanded uncertainty of the figure, k = 2.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub uncertainty: Option<String>,
    /// The word of the guarded rule, or why there is none; absent without a tolerance.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub verdict: Option<Word>,
    /// The word of the simple rule.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub simple: Option<Word>,
    /// The word of the guarded rule.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub guarded: Option<Word>,
    /// Remarks for the person who asked.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub advice: Vec<String>,
}

/// A minimum zone with its contacts, rows counted from 0.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[cfg_attr(
    feature = "schemas",
    derive(schemars::JsonSchema),
    schemars(transform = ::words::schema::forms().of(::words::schema::length, "width"))
)]
pub struct ZoneLine {
    /// Its width.
    pub width: String,
    /// Whether it is proved that no narrower zone holds all points.
    pub certified: bool,
    /// How it was found.
    pub method: &'static str,
    /// The points on its upper side.
    pub contacts_upper: Vec<usize>,
    /// The points on its lower side.
    pub contacts_lower: Vec<usize>,
}

/// A least-squares figure.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[cfg_attr(
    feature = "schemas",
    derive(schemars::JsonSchema),
    schemars(transform = ::words::schema::forms().of(::words::schema::length, "width"))
)]
pub struct LeastSquaresLine {
    /// Largest minus smallest distance from it.
    pub width: String,
    /// `[a, b, c]` of the plane `a + b·x + c·y`, `[a, b]` of the line `a + b·x`, `[x, y, radius]`
    /// of a circle: lengths in the line's unit, positions in that of the file's header.
    pub coefficients: Vec<f64>,
}

/// One wave of a turn.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[cfg_attr(
    feature = "schemas",
    derive(schemars::JsonSchema),
    schemars(transform = ::words::schema::forms().of(::words::schema::length, "amplitude").of(::words::schema::angle, "phase_deg"))
)]
pub struct WaveLine {
    /// Waves in one turn.
    pub order: usize,
    /// Half its peak-to-valley.
    pub amplitude: String,
    /// Its first high spot, degrees, [0, 360).
    pub phase_deg: f64,
}

/// A value for each of the four circles.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[cfg_attr(feature = "schemas", derive(schemars::JsonSchema))]
pub struct CircleLine<T> {
    /// For the circle with the least sum of squared distances.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub least_squares: Option<T>,
    /// For the two concentric circles closest together that hold all points.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub minimum_zone: Option<T>,
    /// For the smallest circle around all points.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub minimum_circumscribed: Option<T>,
    /// For the largest circle inside all points.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub maximum_inscribed: Option<T>,
}

/// A circle with its centre.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[cfg_attr(
    feature = "schemas",
    derive(schemars::JsonSchema),
    schemars(transform = ::words::schema::forms().of(::words::schema::length, "x y radius"))
)]
pub struct PlacedCircle {
    /// Its centre, along x.
    pub x: String,
    /// Its centre, along y.
    pub y: String,
    /// Its radius.
    pub radius: String,
}

/// An evaluation as one line of JSON, without its line end.
#[must_use]
pub fn evaluation_line(line: &EvaluationLine) -> String {
    line_of("evaluation/1", line)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_does_not_apply_is_left_out() {
        let line = EvaluationLine {
            measures: "flatness",
            n: 4,
            rank: 3,
            unit: "um",
            value: "1.5".to_owned(),
            minimum_zone: Some(ZoneLine {
                width: "1.5".to_owned(),
                certified: true,
                method: "floats",
                contacts_upper: vec![0, 2],
                contacts_lower: vec![1, 3],
            }),
            ..EvaluationLine::default()
        };
        assert_eq!(
            evaluation_line(&line),
            r#"{"schema":"evaluation/1","measures":"flatness","n":4,"rank":3,"unit":"um","value":"1.5","minimum_zone":{"width":"1.5","certified":true,"method":"floats","contacts_upper":[0,2],"contacts_lower":[1,3]}}"#
        );
    }
}
