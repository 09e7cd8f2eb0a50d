//! `evaluation/1`.

use serde::Serialize;

use super::text::json_text;

/// What points from a file come to. Lengths are decimal texts in `unit`; what does not apply is
/// left out.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
#[expect(missing_docs, reason = "the fields are those of the published line")]
pub struct EvaluationLine {
    pub measures: &'static str,
    pub n: usize,
    /// How many coefficients the positions carry: 3 of a plane, a circle or a first harmonic, 2 of
    /// a line.
    pub rank: usize,
    pub unit: &'static str,
    /// The figure that meets the tolerance.
    pub value: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub minimum_zone: Option<ZoneLine>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub least_squares: Option<LeastSquaresLine>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub end_points: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub max_minus_min: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub slope_urad: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub high_side_deg: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub eccentricity: Option<String>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub harmonics: Vec<WaveLine>,
    /// What the column `r` was taken as.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub taken_as: Option<&'static str>,
    /// Roundness by the centre of each circle.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub circle: Option<CircleLine<String>>,
    /// The circles themselves.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub circles: Option<CircleLine<PlacedCircle>>,
    /// Change of diameter over distance along the axis.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub rate: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub half_angle_deg: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub tolerance: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub uncertainty: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub verdict: Option<&'static str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub simple: Option<&'static str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub guarded: Option<&'static str>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub advice: Vec<String>,
}

/// A minimum zone with its contacts, rows counted from 0.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[expect(missing_docs, reason = "the fields are those of the published line")]
pub struct ZoneLine {
    pub width: String,
    pub certified: bool,
    pub method: &'static str,
    pub contacts_upper: Vec<usize>,
    pub contacts_lower: Vec<usize>,
}

/// A least-squares figure.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LeastSquaresLine {
    /// Largest minus smallest distance from it.
    pub width: String,
    /// `[a, b, c]` of the plane `a + b·x + c·y`, `[a, b]` of the line `a + b·x`, `[x, y, radius]`
    /// of a circle: lengths in the line's unit, positions in that of the file's header.
    pub coefficients: Vec<f64>,
}

/// One wave of a turn.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[expect(missing_docs, reason = "the fields are those of the published line")]
pub struct WaveLine {
    pub order: usize,
    pub amplitude: String,
    /// Its first high spot.
    pub phase_deg: f64,
}

/// Something of each of the four circles.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[expect(missing_docs, reason = "the fields are those of the published line")]
pub struct CircleLine<T> {
    #[serde(skip_serializing_if = "Option::is_none")]
    pub least_squares: Option<T>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub minimum_zone: Option<T>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub minimum_circumscribed: Option<T>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub maximum_inscribed: Option<T>,
}

/// A circle where it lies.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[expect(missing_docs, reason = "the fields are those of the published line")]
pub struct PlacedCircle {
    pub x: String,
    pub y: String,
    pub radius: String,
}

/// An evaluation as one line of JSON without its end.
#[must_use]
pub fn evaluation_line(line: &EvaluationLine) -> String {
    #[derive(Serialize)]
    struct Shape<'a> {
        schema: &'static str,
        #[serde(flatten)]
        line: &'a EvaluationLine,
    }
    json_text(&Shape { schema: "evaluation/1", line })
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
