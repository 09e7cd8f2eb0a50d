//! What points can be evaluated for, and which columns that needs.

use geometry::{lie_on_a_line, on_circles};
use quantity::{Figure, Unit};

use crate::evaluation::Figures;
use crate::figures::{Face, Stations, flatness, parallelism, straightness, taper};
use crate::points::{Name, Points};
use crate::round::{Turn, roundness, roundness_of_turn, runout};
use crate::scale::{Scale, in_picometres};

quantity::worded! {
    /// The characteristics that points can be evaluated for.
    #[derive(Debug, Clone, Copy, PartialEq, Eq)]
    pub enum Characteristic {
        /// Minimum zone of a face.
        Flatness = "flatness",
        /// Highest minus lowest reading over the plate.
        Parallelism = "parallelism",
        /// Total reading and waves of a turn.
        Runout = "runout",
        /// The four circles.
        Roundness = "roundness",
        /// Minimum zone of a line.
        Straightness = "straightness",
        /// Change of diameter along the axis.
        Taper = "taper",
    }
}

impl Characteristic {
    /// What it is and from which columns, as the help prints it.
    #[must_use]
    pub const fn about(self) -> &'static str {
        match self {
            Self::Flatness => "Minimum zone of a face: x_mm,y_mm,z_um or angle_deg,radius_mm,z_um",
            Self::Parallelism => {
                "Highest minus lowest reading over the plate: columns as for flatness"
            }
            Self::Runout => {
                "Total reading and waves of a turn: angle_deg,r_um or angle_deg,radius_mm,z_um"
            }
            Self::Roundness => {
                "The four circles: x_mm,y_mm, or angle_deg,r_um with radii or deviations"
            }
            Self::Straightness => "Minimum zone of a line: x_mm,z_um",
            Self::Taper => "Change of diameter: x_mm along the axis, z_um the diameter there",
        }
    }

    /// The columns it can be worked out from.
    #[must_use]
    pub const fn headers(self) -> &'static str {
        match self {
            Self::Flatness | Self::Parallelism => "x_mm,y_mm,z_um or angle_deg,radius_mm,z_um",
            Self::Runout => "angle_deg,r_um or angle_deg,radius_mm,z_um",
            Self::Roundness => "x_mm,y_mm or angle_deg,r_um",
            Self::Straightness | Self::Taper => "x_mm,z_um",
        }
    }

    /// With fewer points than this, the result comes with a remark.
    pub(crate) const fn enough(self) -> usize {
        match self {
            Self::Straightness => 4,
            Self::Taper => 3,
            Self::Flatness | Self::Parallelism | Self::Runout | Self::Roundness => 7,
        }
    }

    /// The figures of the points, and the unit of their coefficients.
    pub(crate) fn figures(
        self,
        points: &mut Points,
        unit: Option<Unit>,
        borders: &[Figure],
    ) -> Result<(Figures, Unit), String> {
        use Name::{Angle, R, Radius, X, Y, Z};
        let shapes: &[&[Name]] = match self {
            Self::Flatness | Self::Parallelism => &[&[X, Y, Z], &[Angle, Radius, Z]],
            Self::Runout => &[&[Angle, R], &[Angle, Radius, Z]],
            Self::Roundness => &[&[X, Y], &[Angle, R]],
            Self::Straightness | Self::Taper => &[&[X, Z]],
        };
        if !shapes.iter().any(|shape| points.are(shape)) {
            return Err("line 1: the header does not name the columns that are needed".to_owned());
        }
        match self {
            Self::Flatness => {
                let face = face(points, unit)?;
                Ok((flatness(&face, borders)?, face.height.unit))
            }
            Self::Parallelism => {
                let face = face(points, unit)?;
                Ok((parallelism(&face)?, face.height.unit))
            }
            Self::Runout => {
                let turn = turn(points, unit);
                Ok((runout(&turn)?, turn.scale.unit))
            }
            Self::Roundness if points.are(&[X, Y]) => {
                let ((x, own), (y, _)) = (points.take(X), points.take(Y));
                let scale = Scale::new(own, unit);
                let places: Vec<(f64, f64)> = x.into_iter().zip(y).collect();
                Ok((roundness(&places, scale)?, scale.unit))
            }
            Self::Roundness => {
                let turn = turn(points, unit);
                Ok((roundness_of_turn(&turn, borders)?, turn.scale.unit))
            }
            Self::Straightness => {
                let stations = stations(points, unit);
                Ok((straightness(&stations)?, stations.height.unit))
            }
            Self::Taper => {
                let stations = stations(points, unit);
                Ok((taper(&stations)?, stations.height.unit))
            }
        }
    }
}

/// Picometres in one nanometre.
const NANOMETRE: f64 = 1000.0;
/// Positions on circles that are this close to a line count as on it: finer than anybody sets a stylus.
const ON_A_LINE_NM: f64 = 2.0;

fn face(points: &mut Points, unit: Option<Unit>) -> Result<Face, String> {
    let range = points.range(Name::Z);
    let (z, height) = points.take(Name::Z);
    let height = Scale::new(height, unit);
    if points.are(&[Name::X, Name::Y, Name::Z]) {
        let ((x, position), (y, _)) = (points.take(Name::X), points.take(Name::Y));
        let position = in_picometres(position);
        return Ok(Face { x, y, z, range, position, header: position, height });
    }
    let ((angles, _), (mut radii, position)) =
        (points.take(Name::Angle), points.take(Name::Radius));
    let header = in_picometres(position);
    let nanometres = header / NANOMETRE;
    for radius in &mut radii {
        *radius *= nanometres;
    }
    let (x, y) = on_circles(&angles, &radii);
    if lie_on_a_line(&x, &y, ON_A_LINE_NM) {
        return Err("all positions lie on one line".to_owned());
    }
    Ok(Face { x, y, z, range, position: NANOMETRE, header, height })
}

fn turn(points: &mut Points, unit: Option<Unit>) -> Turn {
    let readings = if points.are(&[Name::Angle, Name::R]) { Name::R } else { Name::Z };
    let range = points.range(readings);
    let ((angles_deg, _), (readings, own)) = (points.take(Name::Angle), points.take(readings));
    Turn { angles_deg, readings, range, scale: Scale::new(own, unit) }
}

fn stations(points: &mut Points, unit: Option<Unit>) -> Stations {
    let range = points.range(Name::Z);
    let ((x, position), (z, own)) = (points.take(Name::X), points.take(Name::Z));
    Stations {
        points: x.into_iter().zip(z).collect(),
        range,
        position: in_picometres(position),
        height: Scale::new(own, unit),
    }
}
