//! Faces and lines: flatness, parallelism, straightness, taper.

use geometry::{
    Cloud, CloudError, CloudPlane, CloudZone, LineFit, Method, Rank, cone, different_stations,
    end_points_line, exact_zone_of_cloud, half_angle_deg, least_squares_line,
    least_squares_of_cloud, minimum_zone_of_cloud, more_than_three_places, straightness_zone,
};
use quantity::Figure;

use crate::evaluation::{Beside, Figures, LeastSquaresFigure, ZoneFigure};
use crate::scale::{Scale, TOO_CLOSE};

/// Why points have no plane, in words for a person.
fn no_plane(error: CloudError) -> String {
    match error {
        // They are not on one line, yet floats find no plane: nothing on a bench is that small.
        CloudError::Positions(Rank::Plane) => TOO_CLOSE.to_owned(),
        CloudError::Positions(_)
        | CloudError::Lengths
        | CloudError::NotFinite(_)
        | CloudError::Range => error.to_string(),
    }
}

/// Points of a face.
#[derive(Debug)]
pub(crate) struct Face {
    pub(crate) x: Vec<f64>,
    pub(crate) y: Vec<f64>,
    pub(crate) z: Vec<f64>,
    /// The highest minus the lowest, exactly as written.
    pub(crate) range: Option<Figure>,
    /// How many picometres one unit of x and y is here.
    pub(crate) position: f64,
    /// How many picometres one unit of the header's positions is.
    pub(crate) header: f64,
    pub(crate) height: Scale,
}

impl Face {
    fn cloud(&self) -> Result<Cloud<'_>, String> {
        if self.z.len() < 3 {
            return Err(format!("a plane needs three points, there {}", points(self.z.len())));
        }
        Cloud::new(&self.x, &self.y, &self.z).map_err(|error| error.to_string())
    }

    /// The least-squares plane and the figures that follow from it.
    fn plane(&self, cloud: &Cloud) -> Result<Beside, String> {
        let plane = least_squares_of_cloud(cloud).map_err(no_plane)?;
        let CloudPlane { slopes, intercept, .. } = plane;
        let along = |slope: f64| self.height.number(slope) * self.header / self.position;
        let rise = slopes.x.hypot(slopes.y) * self.height.picometres / self.position;
        Ok(Beside {
            rank: 3,
            least_squares: Some(LeastSquaresFigure {
                width: self.height.figure(plane.width(cloud))?,
                coefficients: vec![self.height.number(intercept), along(slopes.x), along(slopes.y)],
            }),
            slope_urad: Some(rise * 1e6),
            high_side_deg: Some(slopes.high_side_deg()),
            max_minus_min: Some(self.height.range(self.range, &self.z)?),
            ..Beside::default()
        })
    }
}

/// "is 1" or "are n", for a sentence about the number of points.
pub(crate) fn points(n: usize) -> String {
    if n == 1 { "is 1".to_owned() } else { format!("are {n}") }
}

/// The zone of a cloud as figures.
pub(crate) fn zone_figure(zone: CloudZone, scale: Scale) -> Result<ZoneFigure, String> {
    Ok(ZoneFigure {
        width: scale.figure(zone.width)?,
        certified: zone.certified,
        method: zone.method,
        upper: zone.upper,
        lower: zone.lower,
    })
}

/// The zone of a cloud. Where it is so close to a border of the verdict that floats could be on the wrong
/// side, it is proved in whole numbers.
pub(crate) fn zone_of(
    cloud: &Cloud,
    scale: Scale,
    borders: &[Figure],
) -> Result<CloudZone, String> {
    let zone = minimum_zone_of_cloud(cloud).map_err(no_plane)?;
    let near = |border: &Figure| {
        let away = (zone.width * scale.picometres - border.to_f64()).abs();
        away <= zone.within * scale.picometres + 0.001
    };
    if zone.method == Method::Floats && borders.iter().any(near) {
        exact_zone_of_cloud(cloud).or(Ok(zone))
    } else {
        Ok(zone)
    }
}

/// Flatness: the least distance, along z, of two parallel planes that hold all points.
pub(crate) fn flatness(face: &Face, borders: &[Figure]) -> Result<Figures, String> {
    let cloud = face.cloud()?;
    let zone = zone_of(&cloud, face.height, borders)?;
    let plane = face.plane(&cloud)?;
    let zone = zone_figure(zone, face.height)?;
    Ok(Figures {
        value: zone.width,
        proves: more_than_three_places(&face.x, &face.y),
        beside: Beside { zone: Some(zone), ..plane },
    })
}

/// Parallelism to the plate: the highest minus the lowest reading.
pub(crate) fn parallelism(face: &Face) -> Result<Figures, String> {
    let beside = face.plane(&face.cloud()?)?;
    Ok(Figures { value: face.height.range(face.range, &face.z)?, proves: true, beside })
}

/// Stations along a line.
#[derive(Debug)]
pub(crate) struct Stations {
    /// `(x, z)`.
    pub(crate) points: Vec<(f64, f64)>,
    /// The highest minus the lowest, exactly as written.
    pub(crate) range: Option<Figure>,
    /// How many picometres one unit of x is.
    pub(crate) position: f64,
    pub(crate) height: Scale,
}

impl Stations {
    fn places(&self, needed: usize, what: &str) -> Result<(), String> {
        let there = different_stations(&self.points);
        if there < needed {
            let there = points(there);
            return Err(format!("{what} needs {needed} different places along x, there {there}"));
        }
        Ok(())
    }

    fn fitted(&self, fit: &LineFit) -> Result<LeastSquaresFigure, String> {
        Ok(LeastSquaresFigure {
            width: self.height.figure(fit.width())?,
            coefficients: [fit.intercept, fit.slope].map(|n| self.height.number(n)).to_vec(),
        })
    }

    fn rise(&self, slope: f64) -> f64 {
        slope * self.height.picometres / self.position
    }

    fn heights(&self) -> Result<Figure, String> {
        let heights: Vec<f64> = self.points.iter().map(|(_, z)| *z).collect();
        self.height.range(self.range, &heights)
    }
}

/// Straightness: the least distance, along z, of two parallel lines that hold all stations.
pub(crate) fn straightness(stations: &Stations) -> Result<Figures, String> {
    stations.places(3, "straightness")?;
    let (points, height) = (&stations.points, stations.height);
    let wrong = |error: geometry::LineError| error.to_string();
    let zone = straightness_zone(points).map_err(wrong)?;
    let fit = least_squares_line(points).map_err(wrong)?;
    let (upper, lower) = zone.contacts();
    let value = height.figure(zone.width)?;
    let beside = Beside {
        rank: 2,
        zone: Some(ZoneFigure {
            width: value,
            certified: true,
            method: Method::Floats,
            upper,
            lower,
        }),
        least_squares: Some(stations.fitted(&fit)?),
        end_points: Some(height.figure(end_points_line(points).map_err(wrong)?.width())?),
        max_minus_min: Some(stations.heights()?),
        slope_urad: Some(stations.rise(fit.slope) * 1e6),
        ..Beside::default()
    };
    Ok(Figures { value, proves: true, beside })
}

/// Taper: how much the diameter changes from the first to the last station, by least squares.
pub(crate) fn taper(stations: &Stations) -> Result<Figures, String> {
    stations.places(2, "taper")?;
    let fit = cone(&stations.points).map_err(|error| error.to_string())?;
    let value = stations.height.figure(fit.change(&stations.points))?;
    let rate = stations.rise(fit.rate());
    let beside = Beside {
        rank: 2,
        least_squares: Some(stations.fitted(&fit.line)?),
        max_minus_min: Some(stations.heights()?),
        rate: Some(rate),
        half_angle_deg: Some(half_angle_deg(rate)),
        ..Beside::default()
    };
    Ok(Figures { value, proves: true, beside })
}
