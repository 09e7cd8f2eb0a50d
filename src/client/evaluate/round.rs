//! Turns and circles: runout and roundness.

use ::words::first_high_spot;
use geometry::{
    Circle, Cloud, TurnError, Wave, circumscribed_circle, harmonics_at, inscribed_circle,
    least_squares_circle, minimum_zone_circle, total_reading,
};
use quantity::{Figure, sine_cosine};
use wire::{CircleLine, EvaluationLine, LeastSquaresLine, PlacedCircle, WaveLine, ZoneLine};

use super::figures::{Found, Scale, angle, more_than_three_places, points, zone_line, zone_of};
use super::waves::waves;

/// Readings round a turn.
#[derive(Debug)]
pub(super) struct Turn {
    pub(super) angles_deg: Vec<f64>,
    pub(super) readings: Vec<f64>,
    /// The highest minus the lowest, exactly as written.
    pub(super) range: Option<Figure>,
    pub(super) scale: Scale,
}

fn order(wave: &Wave) -> u32 {
    u32::try_from(wave.order).unwrap_or(1)
}

/// Radii are all above zero and differ by less than this share of the smallest; other numbers are
/// deviations. (A choice of this program: at the border the two differ by less than 1 %.)
const RADII_DIFFER: f64 = 0.05;
/// How many times the range of deviations the radius is on which circles are laid through them,
/// once centred. A real part has about that; much more, and rounding would let the smallest circle
/// around an oval slide sideways, much less, and the circle's own curve would show.
const FAR_OUT: f64 = 1e3;

impl Turn {
    fn waves(&self) -> Result<Vec<Wave>, String> {
        waves(&self.angles_deg, &self.readings)
    }

    fn line(&self, waves: &[Wave]) -> Result<EvaluationLine, String> {
        let told = waves.iter().map(|wave| {
            let amplitude = self.scale.text(wave.amplitude())?;
            Ok(WaveLine {
                order: wave.order,
                amplitude,
                phase_deg: first_high_spot(wave.high_deg(), order(wave)),
            })
        });
        let first = waves.first().map_or(0.0, Wave::amplitude);
        let eccentricity = self.scale.text(first)?;
        // An eccentricity that shows as nothing points nowhere.
        let towards = waves.first().filter(|_| eccentricity != "0");
        Ok(EvaluationLine {
            rank: 3,
            max_minus_min: Some(self.scale.told(self.scale.range(self.range, &self.readings)?)),
            high_side_deg: towards.map(|wave| angle(wave.high_deg())),
            eccentricity: Some(eccentricity),
            harmonics: told.collect::<Result<_, String>>()?,
            ..EvaluationLine::default()
        })
    }

    fn are_radii(&self) -> bool {
        let least = self.readings.iter().copied().fold(f64::INFINITY, f64::min);
        least > 0.0 && total_reading(&self.readings) < RADII_DIFFER * least
    }

    /// Readings of this turn as points, `base` added to each.
    fn points(&self, readings: &[f64], base: f64) -> Vec<(f64, f64)> {
        let turn = self.angles_deg.iter().zip(readings);
        turn.map(|(angle, reading)| {
            let (sine, cosine) = sine_cosine(*angle);
            ((base + reading) * cosine, (base + reading) * sine)
        })
        .collect()
    }
}

/// Why a turn tells nothing, as a person reads it.
pub(super) fn no_turn(error: &TurnError) -> String {
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
pub(super) fn runout(turn: &Turn) -> Result<Found, String> {
    let line = turn.line(&turn.waves()?)?;
    let value = turn.scale.range(turn.range, &turn.readings)?;
    Ok(Found { value, proves: true, line })
}

/// Roundness of a turn: of radii as points; of deviations by the plane over the unit circle, whose
/// slopes are the centre (a limaçon, true for deviations small against the radius).
pub(super) fn roundness_of_turn(turn: &Turn, limits: &[Figure]) -> Result<Found, String> {
    let mut line = turn.line(&turn.waves()?)?;
    if turn.are_radii() {
        let found = roundness(&turn.points(&turn.readings, 0.0), turn.scale)?;
        let EvaluationLine { minimum_zone, least_squares, circle, circles, advice, .. } =
            found.line;
        line = EvaluationLine { minimum_zone, least_squares, circle, circles, advice, ..line };
        line.taken_as = Some("radii");
        return Ok(Found { line, ..found });
    }
    let rims: Vec<(f64, f64)> = turn.angles_deg.iter().map(|deg| sine_cosine(*deg)).collect();
    let (y, x): (Vec<f64>, Vec<f64>) = rims.into_iter().unzip();
    let cloud = Cloud::new(&x, &y, &turn.readings).map_err(|error| error.to_string())?;
    let zone = zone_of(&cloud, turn.scale, limits)?;
    let fit = harmonics_at(&turn.angles_deg, &turn.readings, 1).map_err(|e| no_turn(&e))?;
    let centred = fit.residuals(&turn.angles_deg, &turn.readings, 1);
    let left = total_reading(&centred);
    let points = turn.points(&centred, if left > 0.0 { FAR_OUT * left } else { 1.0 });
    let width = |circle: Circle| turn.scale.text(circle.width(&points));
    line.circle = Some(CircleLine {
        least_squares: Some(turn.scale.text(left)?),
        minimum_zone: Some(turn.scale.text(zone.width)?),
        minimum_circumscribed: Some(width(
            circumscribed_circle(&points).map_err(|error| error.to_string())?.circle,
        )?),
        maximum_inscribed: inscribed_circle(&points)
            .ok()
            .map(|touching| width(touching.circle))
            .transpose()?,
    });
    let centre = fit.waves.iter().flat_map(|wave| [wave.cosine, wave.sine]);
    line.least_squares = Some(LeastSquaresLine {
        width: turn.scale.text(left)?,
        coefficients: centre.chain([fit.mean]).map(|number| turn.scale.number(number)).collect(),
    });
    line.taken_as = Some("deviations");
    let value = turn.scale.figure(zone.width)?;
    line.minimum_zone = Some(zone_line(zone, turn.scale)?);
    Ok(Found { value, proves: more_than_three_places(&x, &y), line })
}

/// Roundness of points in a plane: the least distance of two circles about one centre that hold
/// all points, and the figure by each of the other centres.
pub(super) fn roundness(at: &[(f64, f64)], scale: Scale) -> Result<Found, String> {
    if at.len() < 3 {
        return Err(format!("a circle needs three points, there {}", points(at.len())));
    }
    let wrong = |error: geometry::CircleError| error.to_string();
    let ring = minimum_zone_circle(at).map_err(wrong)?;
    let middle = f64::midpoint(ring.outer_radius, ring.inner_radius);
    // Points near a straight line have no best circle of finite size; the others stand all the same.
    let fit = least_squares_circle(at).ok();
    let around = circumscribed_circle(at).map_err(wrong)?.circle;
    // Points on half a turn hold no circle from inside; the others stand all the same.
    let inside = inscribed_circle(at).ok().map(|touching| touching.circle);
    let width = |circle: &Circle| scale.text(circle.width(at));
    let place = |circle: Circle| {
        let Circle { x, y, radius } = circle;
        Ok::<_, String>(PlacedCircle {
            x: scale.text(x)?,
            y: scale.text(y)?,
            radius: scale.text(radius)?,
        })
    };
    let fitted = |circle: Circle| {
        let coefficients = [circle.x, circle.y, circle.radius].map(|n| scale.number(n)).to_vec();
        Ok::<_, String>(LeastSquaresLine { width: width(&circle)?, coefficients })
    };
    let open = "the points go round too little of the turn for a circle inside them";
    let straight = "a straight line fits these points better than any least-squares circle";
    let missing = [(inside.is_none(), open), (fit.is_none(), straight)];
    let advice = missing.iter().filter(|(is, _)| *is).map(|(_, why)| (*why).to_owned()).collect();
    let zone_width = scale.text(ring.width)?;
    let (x, y): (Vec<f64>, Vec<f64>) = at.iter().copied().unzip();
    let proves = more_than_three_places(&x, &y);
    let line = EvaluationLine {
        rank: 3,
        minimum_zone: Some(ZoneLine {
            width: zone_width.clone(),
            certified: ring.proved,
            method: "floats",
            contacts_upper: once_each(ring.outer),
            contacts_lower: once_each(ring.inner),
        }),
        least_squares: fit.map(fitted).transpose()?,
        circle: Some(CircleLine {
            least_squares: fit.as_ref().map(width).transpose()?,
            minimum_zone: Some(zone_width),
            minimum_circumscribed: Some(width(&around)?),
            maximum_inscribed: inside.as_ref().map(width).transpose()?,
        }),
        circles: Some(CircleLine {
            least_squares: fit.map(place).transpose()?,
            minimum_zone: Some(place(Circle { x: ring.x, y: ring.y, radius: middle })?),
            minimum_circumscribed: Some(place(around)?),
            maximum_inscribed: inside.map(place).transpose()?,
        }),
        advice,
        ..EvaluationLine::default()
    };
    Ok(Found { value: scale.figure(ring.width)?, proves, line })
}

fn once_each(pair: [usize; 2]) -> Vec<usize> {
    let mut rows = pair.to_vec();
    rows.sort_unstable();
    rows.dedup();
    rows
}
