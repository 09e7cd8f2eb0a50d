//! Turns and circles: runout and roundness.

use geometry::{
    Circle, Cloud, Method, RingZone, TurnError, Wave, circumscribed_circle, inscribed_circle,
    least_squares_circle, minimum_zone_circle, more_than_three_places, on_circles, total_reading,
    touching_widths, waves_at, waves_of_turn,
};
use quantity::Figure;

use crate::evaluation::{
    Beside, Figures, FourCircles, LeastSquaresFigure, PlacedFigure, TakenAs, WaveFigure, ZoneFigure,
};
use crate::figures::{points, zone_figure, zone_of};
use crate::scale::Scale;

/// The readings of a turn.
#[derive(Debug)]
pub(crate) struct Turn {
    pub(crate) angles_deg: Vec<f64>,
    pub(crate) readings: Vec<f64>,
    /// The highest minus the lowest, exactly as written.
    pub(crate) range: Option<Figure>,
    pub(crate) scale: Scale,
}

/// Numbers are taken as radii if all are above zero and they differ by less than this share of the
/// smallest; otherwise as deviations. (A choice of this program: at the border the two results differ by
/// less than 1 %.)
const RADII_DIFFER: f64 = 0.05;

impl Turn {
    /// The waves and the figures that follow from them.
    fn waves(&self) -> Result<Beside, String> {
        let waves =
            waves_of_turn(&self.angles_deg, &self.readings).map_err(|error| no_turn(&error))?;
        let figure = |wave: &Wave| {
            let amplitude = self.scale.figure(wave.amplitude())?;
            Ok(WaveFigure { order: wave.order, amplitude, high_deg: wave.high_deg() })
        };
        let waves: Vec<WaveFigure> = waves.iter().map(figure).collect::<Result<_, String>>()?;
        Ok(Beside {
            rank: 3,
            max_minus_min: Some(self.scale.range(self.range, &self.readings)?),
            high_side_deg: waves.first().map(|wave| wave.high_deg),
            eccentricity: Some(waves.first().map_or(Figure::ZERO, |wave| wave.amplitude)),
            waves,
            ..Beside::default()
        })
    }

    fn are_radii(&self) -> bool {
        let least = self.readings.iter().copied().fold(f64::INFINITY, f64::min);
        least > 0.0 && total_reading(&self.readings) < RADII_DIFFER * least
    }
}

/// Why a turn gives no figures, in words for a person.
fn no_turn(error: &TurnError) -> String {
    match error {
        TurnError::TooFew { angles, .. } => {
            format!("a turn needs readings at 3 different angles, there {}", points(*angles))
        }
        TurnError::Gap { gap_deg, .. } => {
            format!("no gap between readings may reach half a turn, one is {gap_deg:.1} degrees")
        }
        TurnError::NotANumber | TurnError::Lengths { .. } => error.to_string(),
    }
}

/// Runout: the highest minus the lowest reading of a turn.
pub(crate) fn runout(turn: &Turn) -> Result<Figures, String> {
    let beside = turn.waves()?;
    let value = turn.scale.range(turn.range, &turn.readings)?;
    Ok(Figures { value, proves: true, beside })
}

/// Roundness of a turn: radii are treated as points, deviations by their waves.
pub(crate) fn roundness_of_turn(turn: &Turn, borders: &[Figure]) -> Result<Figures, String> {
    let waves = turn.waves()?;
    if !turn.are_radii() {
        return roundness_of_deviations(turn, waves, borders);
    }
    let (x, y) = on_circles(&turn.angles_deg, &turn.readings);
    let places: Vec<(f64, f64)> = x.into_iter().zip(y).collect();
    let Figures { value, proves, beside } = roundness(&places, turn.scale)?;
    let Beside { zone, least_squares, widths, circles, .. } = beside;
    let taken_as = Some(TakenAs::Radii);
    Ok(Figures {
        value,
        proves,
        beside: Beside { zone, least_squares, taken_as, widths, circles, ..waves },
    })
}

/// Roundness of deviations, by the plane over the unit circle; the slopes of that plane are the centre (a
/// limaçon, true for deviations small against the radius).
fn roundness_of_deviations(
    turn: &Turn,
    waves: Beside,
    borders: &[Figure],
) -> Result<Figures, String> {
    let scale = turn.scale;
    let (x, y) = on_circles(&turn.angles_deg, &vec![1.0; turn.angles_deg.len()]);
    let cloud = Cloud::new(&x, &y, &turn.readings).map_err(|error| error.to_string())?;
    let zone = zone_of(&cloud, scale, borders)?;
    let fit = waves_at(&turn.angles_deg, &turn.readings, 1).map_err(|e| no_turn(&e))?;
    let centred = fit.residuals(&turn.angles_deg, &turn.readings, 1);
    let left = scale.figure(total_reading(&centred))?;
    let touching =
        touching_widths(&turn.angles_deg, &centred).map_err(|error| error.to_string())?;
    let zone = zone_figure(zone, scale)?;
    let centre = fit.waves.iter().flat_map(|wave| [wave.cosine, wave.sine]);
    let coefficients = centre.chain([fit.mean]).map(|number| scale.number(number)).collect();
    let widths = FourCircles {
        least_squares: Some(left),
        minimum_zone: Some(zone.width),
        circumscribed: Some(scale.figure(touching.circumscribed)?),
        inscribed: touching.inscribed.map(|width| scale.figure(width)).transpose()?,
    };
    Ok(Figures {
        value: zone.width,
        proves: more_than_three_places(&x, &y),
        beside: Beside {
            zone: Some(zone),
            least_squares: Some(LeastSquaresFigure { width: left, coefficients }),
            widths: Some(widths),
            taken_as: Some(TakenAs::Deviations),
            ..waves
        },
    })
}

/// Roundness of points in a plane: the least distance of two concentric circles that hold all points, and
/// the roundness about each of the other centres.
pub(crate) fn roundness(at: &[(f64, f64)], scale: Scale) -> Result<Figures, String> {
    if at.len() < 3 {
        return Err(format!("a circle needs three points, there {}", points(at.len())));
    }
    let wrong = |error: geometry::CircleError| error.to_string();
    let ring = minimum_zone_circle(at).map_err(wrong)?;
    let middle = f64::midpoint(ring.outer_radius, ring.inner_radius);
    let circles = FourCircles {
        // Points near a straight line have no best circle of finite size; the other circles remain.
        least_squares: least_squares_circle(at).ok(),
        minimum_zone: Some(Circle { x: ring.x, y: ring.y, radius: middle }),
        circumscribed: Some(circumscribed_circle(at).map_err(wrong)?.circle),
        // Points that cover half a turn have no largest circle inside; the other circles remain.
        inscribed: inscribed_circle(at).ok().map(|touching| touching.circle),
    };
    let value = scale.figure(ring.width)?;
    let width =
        |circle: Option<Circle>| circle.map(|circle| scale.figure(circle.width(at))).transpose();
    let place = |circle: Option<Circle>| {
        let placed = |Circle { x, y, radius }| {
            let figure = |number| scale.figure(number);
            Ok::<_, String>(PlacedFigure { x: figure(x)?, y: figure(y)?, radius: figure(radius)? })
        };
        circle.map(placed).transpose()
    };
    let widths = FourCircles {
        least_squares: width(circles.least_squares)?,
        minimum_zone: Some(value),
        circumscribed: width(circles.circumscribed)?,
        inscribed: width(circles.inscribed)?,
    };
    let fitted = circles.least_squares.zip(widths.least_squares).map(|(circle, width)| {
        let coefficients = [circle.x, circle.y, circle.radius].map(|n| scale.number(n)).to_vec();
        LeastSquaresFigure { width, coefficients }
    });
    let (x, y): (Vec<f64>, Vec<f64>) = at.iter().copied().unzip();
    let beside = Beside {
        rank: 3,
        zone: Some(ring_figure(&ring, value)),
        least_squares: fitted,
        widths: Some(widths),
        circles: Some(FourCircles {
            least_squares: place(circles.least_squares)?,
            minimum_zone: place(circles.minimum_zone)?,
            circumscribed: place(circles.circumscribed)?,
            inscribed: place(circles.inscribed)?,
        }),
        ..Beside::default()
    };
    Ok(Figures { value, proves: more_than_three_places(&x, &y), beside })
}

fn ring_figure(ring: &RingZone, width: Figure) -> ZoneFigure {
    let once_each = |pair: [usize; 2]| {
        let mut rows = pair.to_vec();
        rows.sort_unstable();
        rows.dedup();
        rows
    };
    ZoneFigure {
        width,
        certified: ring.proved,
        method: Method::Floats,
        upper: once_each(ring.outer),
        lower: once_each(ring.inner),
    }
}
