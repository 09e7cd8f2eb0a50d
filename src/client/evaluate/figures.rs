//! Faces and lines: flatness, parallelism, straightness, taper.

use ::words::Held;
use geometry::{
    Cloud, CloudError, CloudPlane, CloudZone, LineFit, Method, Rank, cone, end_points_line,
    exact_zone_of_cloud, half_angle_deg, least_squares_line, least_squares_of_cloud,
    minimum_zone_of_cloud, straightness_zone, total_reading,
};
use quantity::{Figure, Unit};
use wire::{EvaluationLine, LeastSquaresLine, ZoneLine};

/// What a measurement came to: the figure that is judged, and the line that is printed.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Found {
    pub(super) value: Figure,
    /// Whether more points than coefficients were there, so that the figure could have been other
    /// than nothing.
    pub(super) proves: bool,
    pub(super) line: EvaluationLine,
}

/// The unit of a column, and the one that is printed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Scale {
    /// Picometres in one of the column.
    pub(super) picometres: f64,
    /// What is printed.
    pub(super) unit: Unit,
    print: Print,
}

/// How figures are printed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Print {
    /// The unit; without one that of the column.
    pub(super) unit: Option<Unit>,
    /// Every digit that is known, for a script; a person gets those that help.
    pub(super) all_digits: bool,
    /// The largest figure allowed.
    pub(super) tolerance: Option<Figure>,
    /// The expanded uncertainty of the figure.
    pub(super) expanded: Option<Figure>,
}

/// More picometres than any figure of points within ±9 000 km has.
const LARGEST: f64 = 1e24;

impl Scale {
    pub(super) fn new(column: Unit, print: Print) -> Self {
        Self { picometres: in_picometres(column), unit: print.unit.unwrap_or(column), print }
    }

    /// A figure worked out in floats, at a thousandth of a picometre.
    ///
    /// That is coarser than what floats lose on a bench and finer than any tolerance, so a tie
    /// stays a tie.
    #[expect(clippy::cast_possible_truncation, reason = "below 10^27, which an i128 holds")]
    pub(super) fn figure(self, number: f64) -> Result<Figure, String> {
        let picometres = number * self.picometres;
        if picometres.abs() < LARGEST {
            Ok(Figure::new((picometres * 1000.0).round() as i128, 1000))
        } else {
            Err(TOO_CLOSE.to_owned())
        }
    }

    /// A figure as text in the unit that is printed.
    pub(super) fn text(self, number: f64) -> Result<String, String> {
        self.figure(number).map(|figure| self.told(figure))
    }

    /// A figure as text in the unit that is printed.
    pub(super) fn told(self, figure: Figure) -> String {
        self.held(figure).value_text().unwrap_or_default()
    }

    /// A figure beside what the judged one is held against, with the digits that are printed.
    pub(super) fn held(self, figure: Figure) -> Held {
        let Print { all_digits, tolerance, expanded, .. } = self.print;
        let held = Held::of(figure, self.unit).between(None, tolerance).known_within(expanded);
        if all_digits { held.known() } else { held.recorded() }
    }

    /// A range: exactly, where the decimals could be held, otherwise from the floats.
    pub(super) fn range(self, exact: Option<Figure>, floats: &[f64]) -> Result<Figure, String> {
        exact.map_or_else(|| self.figure(total_reading(floats)), Ok)
    }

    /// A number of the column in the unit that is printed.
    pub(super) fn number(self, number: f64) -> f64 {
        number * self.picometres / in_picometres(self.unit)
    }
}

#[expect(clippy::cast_precision_loss, reason = "picometres of a unit are below 2^53")]
pub(super) fn in_picometres(unit: Unit) -> f64 {
    unit.picometres() as f64
}

const TOO_CLOSE: &str = "the positions are too close together to carry a figure";

/// Why a cloud has no plane, as a person reads it.
fn no_plane(error: CloudError) -> String {
    match error {
        // Not on one line, and yet floats lost the plane: nothing on a bench is so small.
        CloudError::Positions(Rank::Plane) => TOO_CLOSE.to_owned(),
        CloudError::Positions(_)
        | CloudError::Lengths
        | CloudError::NotFinite(_)
        | CloudError::Range => error.to_string(),
    }
}

/// Points of a face.
#[derive(Debug)]
pub(super) struct Face {
    pub(super) x: Vec<f64>,
    pub(super) y: Vec<f64>,
    pub(super) z: Vec<f64>,
    /// The highest minus the lowest, exactly as written.
    pub(super) range: Option<Figure>,
    /// Picometres in one of x and y as they stand here.
    pub(super) position: f64,
    /// Picometres in one of the positions of the header.
    pub(super) header: f64,
    pub(super) height: Scale,
}

impl Face {
    fn cloud(&self) -> Result<Cloud<'_>, String> {
        if self.z.len() < 3 {
            return Err(format!("a plane needs three points, there {}", points(self.z.len())));
        }
        Cloud::new(&self.x, &self.y, &self.z).map_err(|error| error.to_string())
    }

    fn plane(&self, cloud: &Cloud, line: &mut EvaluationLine) -> Result<(), String> {
        let plane = least_squares_of_cloud(cloud).map_err(no_plane)?;
        let CloudPlane { slopes, intercept, .. } = plane;
        let along = |slope: f64| self.height.number(slope) * self.header / self.position;
        line.least_squares = Some(LeastSquaresLine {
            width: self.height.text(plane.width(cloud))?,
            coefficients: vec![self.height.number(intercept), along(slopes.x), along(slopes.y)],
        });
        let rise = slopes.x.hypot(slopes.y) * self.height.picometres / self.position;
        let slope = rounded(rise * 1e6);
        line.slope_urad = Some(slope);
        // A slope that shows as nothing points nowhere.
        line.high_side_deg = (slope > 0.0).then(|| angle(slopes.high_side_deg()));
        line.max_minus_min = Some(self.height.told(self.height.range(self.range, &self.z)?));
        line.rank = 3;
        Ok(())
    }
}

/// Says how many points there are.
pub(super) fn points(n: usize) -> String {
    if n == 1 { "is 1".to_owned() } else { format!("are {n}") }
}

/// Whether there are more than three different places: a plane, or a circle, goes through any
/// three.
pub(super) fn more_than_three_places(x: &[f64], y: &[f64]) -> bool {
    let mut places: Vec<(f64, f64)> = Vec::with_capacity(3);
    x.iter().zip(y).any(|(&x, &y)| {
        let known = places.iter().any(|place| (place.0 - x).abs() + (place.1 - y).abs() <= 0.0);
        if known {
            return false;
        }
        places.push((x, y));
        places.len() > 3
    })
}

/// A derived number at a thousandth.
pub(super) fn rounded(number: f64) -> f64 {
    (number * 1000.0).round() / 1000.0
}

/// A derived angle at a thousandth of a degree, [0, 360).
pub(super) fn angle(degrees: f64) -> f64 {
    rounded(degrees).rem_euclid(360.0)
}

const fn method(method: Method) -> &'static str {
    match method {
        Method::Floats => "floats",
        Method::Exact128 => "exact-128",
        Method::Exact512 => "exact-512",
    }
}

/// The printed form of a zone.
pub(super) fn zone_line(zone: CloudZone, scale: Scale) -> Result<ZoneLine, String> {
    Ok(ZoneLine {
        width: scale.text(zone.width)?,
        certified: zone.certified,
        method: method(zone.method),
        contacts_upper: zone.upper,
        contacts_lower: zone.lower,
    })
}

/// The zone of a cloud; where it comes so near to a limit that floats could be on the wrong side,
/// proved in whole numbers.
pub(super) fn zone_of(cloud: &Cloud, scale: Scale, limits: &[Figure]) -> Result<CloudZone, String> {
    let zone = minimum_zone_of_cloud(cloud).map_err(no_plane)?;
    let near = |limit: &Figure| {
        let away = (zone.width * scale.picometres - limit.to_f64()).abs();
        away <= zone.within * scale.picometres + 0.001
    };
    if zone.method == Method::Floats && limits.iter().any(near) {
        exact_zone_of_cloud(cloud).or(Ok(zone))
    } else {
        Ok(zone)
    }
}

/// Flatness: the least distance, along z, of two parallel planes that hold all points.
pub(super) fn flatness(face: &Face, limits: &[Figure]) -> Result<Found, String> {
    let cloud = face.cloud()?;
    let zone = zone_of(&cloud, face.height, limits)?;
    let mut line = EvaluationLine::default();
    face.plane(&cloud, &mut line)?;
    let value = face.height.figure(zone.width)?;
    line.minimum_zone = Some(zone_line(zone, face.height)?);
    Ok(Found { value, proves: more_than_three_places(&face.x, &face.y), line })
}

/// Parallelism to the plate: the highest minus the lowest reading.
pub(super) fn parallelism(face: &Face) -> Result<Found, String> {
    let cloud = face.cloud()?;
    let mut line = EvaluationLine::default();
    face.plane(&cloud, &mut line)?;
    Ok(Found { value: face.height.range(face.range, &face.z)?, proves: true, line })
}

/// Stations along a line.
#[derive(Debug)]
pub(super) struct Stations {
    /// `(x, z)`.
    pub(super) points: Vec<(f64, f64)>,
    /// The highest minus the lowest, exactly as written.
    pub(super) range: Option<Figure>,
    /// Picometres in one of x.
    pub(super) position: f64,
    pub(super) height: Scale,
}

impl Stations {
    fn places(&self, needed: usize, what: &str) -> Result<(), String> {
        let mut places: Vec<f64> = self.points.iter().map(|(x, _)| *x).collect();
        places.sort_by(f64::total_cmp);
        places.dedup_by(|one, other| *one <= *other);
        if places.len() < needed {
            let there = points(places.len());
            return Err(format!("{what} needs {needed} different places along x, there {there}"));
        }
        Ok(())
    }

    fn line(&self, fit: &LineFit) -> Result<LeastSquaresLine, String> {
        Ok(LeastSquaresLine {
            width: self.height.text(fit.width())?,
            coefficients: [fit.intercept, fit.slope].map(|n| self.height.number(n)).to_vec(),
        })
    }

    fn rise(&self, slope: f64) -> f64 {
        slope * self.height.picometres / self.position
    }

    fn heights(&self) -> Result<String, String> {
        let heights: Vec<f64> = self.points.iter().map(|(_, z)| *z).collect();
        self.height.range(self.range, &heights).map(|range| self.height.told(range))
    }
}

/// Straightness: the least distance, along z, of two parallel lines that hold all stations.
pub(super) fn straightness(stations: &Stations) -> Result<Found, String> {
    stations.places(3, "straightness")?;
    let (points, height) = (&stations.points, stations.height);
    let wrong = |error: geometry::LineError| error.to_string();
    let zone = straightness_zone(points).map_err(wrong)?;
    let fit = least_squares_line(points).map_err(wrong)?;
    let above = |row: &usize| zone.line.residuals[*row] > 0.0;
    let mut contacts = zone.pair.to_vec();
    contacts.push(zone.opposite);
    contacts.sort_unstable();
    contacts.dedup();
    let (upper, lower) = contacts.into_iter().partition(above);
    let line = EvaluationLine {
        rank: 2,
        minimum_zone: Some(ZoneLine {
            width: height.text(zone.width)?,
            certified: true,
            method: "floats",
            contacts_upper: upper,
            contacts_lower: lower,
        }),
        least_squares: Some(stations.line(&fit)?),
        end_points: Some(height.text(end_points_line(points).map_err(wrong)?.width())?),
        max_minus_min: Some(stations.heights()?),
        slope_urad: Some(rounded(stations.rise(fit.slope) * 1e6)),
        ..EvaluationLine::default()
    };
    Ok(Found { value: height.figure(zone.width)?, proves: true, line })
}

/// Taper: how much the diameter changes from the first to the last station, by least squares.
pub(super) fn taper(stations: &Stations) -> Result<Found, String> {
    stations.places(2, "taper")?;
    let fit = cone(&stations.points).map_err(|error| error.to_string())?;
    let along: Vec<f64> = stations.points.iter().map(|(x, _)| *x).collect();
    let change = (fit.rate() * total_reading(&along)).abs();
    let value = stations.height.figure(change)?;
    let rate = stations.rise(fit.rate());
    let line = EvaluationLine {
        rank: 2,
        least_squares: Some(stations.line(&fit.line)?),
        max_minus_min: Some(stations.heights()?),
        rate: Some(rate),
        half_angle_deg: Some(half_angle_deg(rate)),
        ..EvaluationLine::default()
    };
    Ok(Found { value, proves: true, line })
}
