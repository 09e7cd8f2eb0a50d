//! An evaluation as its published line: how many digits its figures get, and what is left out.

use ::evaluate::{Characteristic, Evaluation, FourCircles, PlacedFigure, TakenAs, ZoneFigure};
use ::words::{Held, LimitsLine, first_high_spot};
use geometry::Method;
use quantity::{Figure, Quoted, Unit};
use wire::{CircleLine, EvaluationLine, LeastSquaresLine, PlacedCircle, WaveLine, ZoneLine};

/// How the figures are to be shown.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Shown {
    /// Whether every known digit is shown, for a script; a person gets those that help.
    pub(super) all_digits: bool,
    /// The largest figure allowed.
    pub(super) tolerance: Option<Quoted>,
    /// The expanded uncertainty of the figure.
    pub(super) uncertainty: Option<Quoted>,
}

/// What decides the number of digits: the unit, and the limits of the judged figure.
#[derive(Debug, Clone, Copy)]
struct Digits {
    shown: Shown,
    unit: Unit,
}

impl Digits {
    /// A figure next to the limits of the judged one.
    fn held(self, figure: Figure) -> Held {
        let exactly = |quoted: Quoted| Figure::from(quoted.length);
        let Shown { all_digits, tolerance, uncertainty } = self.shown;
        let held = Held::of(figure, self.unit)
            .between(None, tolerance.map(exactly))
            .known_within(uncertainty.map(exactly));
        if all_digits { held.known() } else { held.recorded() }
    }

    fn text(self, figure: Figure) -> String {
        self.held(figure).value_text().unwrap_or_default()
    }

    fn zone(self, zone: &ZoneFigure) -> ZoneLine {
        ZoneLine {
            width: self.text(zone.width),
            certified: zone.certified,
            method: match zone.method {
                Method::Floats => "floats",
                Method::Exact128 => "exact-128",
                Method::Exact512 => "exact-512",
            },
            contacts_upper: zone.upper.clone(),
            contacts_lower: zone.lower.clone(),
        }
    }

    fn placed(self, circle: PlacedFigure) -> PlacedCircle {
        let PlacedFigure { x, y, radius } = circle;
        PlacedCircle { x: self.text(x), y: self.text(y), radius: self.text(radius) }
    }
}

/// The line of an evaluation.
pub(super) fn line_of(evaluation: &Evaluation, shown: Shown) -> EvaluationLine {
    let digits = Digits { shown, unit: evaluation.unit };
    let text = |figure| digits.text(figure);
    let beside = &evaluation.figures.beside;
    let slope_urad = beside.slope_urad.map(rounded);
    let eccentricity = beside.eccentricity.map(text);
    // A slope or an eccentricity that is shown as zero has no direction.
    let points_somewhere = match &eccentricity {
        Some(eccentricity) => eccentricity != "0",
        None => slope_urad.is_some_and(|slope| slope > 0.0),
    };
    let waves = beside.waves.iter().map(|wave| WaveLine {
        order: wave.order,
        amplitude: digits.text(wave.amplitude),
        phase_deg: first_high_spot(wave.high_deg, u32::try_from(wave.order).unwrap_or(1)),
    });
    let mut line = EvaluationLine {
        measures: evaluation.measures.text(),
        n: evaluation.points,
        rank: beside.rank,
        unit: evaluation.unit.symbol(),
        value: digits.text(evaluation.figures.value),
        minimum_zone: beside.zone.as_ref().map(|zone| digits.zone(zone)),
        least_squares: beside.least_squares.as_ref().map(|fit| LeastSquaresLine {
            width: digits.text(fit.width),
            coefficients: fit.coefficients.clone(),
        }),
        end_points: beside.end_points.map(text),
        max_minus_min: beside.max_minus_min.map(text),
        slope_urad,
        high_side_deg: beside.high_side_deg.filter(|_| points_somewhere).map(angle),
        eccentricity,
        harmonics: waves.collect(),
        taken_as: beside.taken_as.map(TakenAs::text),
        circle: beside.widths.map(|widths| four(widths.map(text))),
        circles: beside.circles.map(|circles| four(circles.map(|circle| digits.placed(circle)))),
        rate: beside.rate,
        half_angle_deg: beside.half_angle_deg,
        advice: advice(evaluation),
        ..EvaluationLine::default()
    };
    judged(&mut line, evaluation, digits);
    line
}

fn four<T>(circles: FourCircles<T>) -> CircleLine<T> {
    let FourCircles { least_squares, minimum_zone, circumscribed, inscribed } = circles;
    CircleLine {
        least_squares,
        minimum_zone,
        minimum_circumscribed: circumscribed,
        maximum_inscribed: inscribed,
    }
}

/// Writes the limit and the answers of both rules into the line.
fn judged(line: &mut EvaluationLine, evaluation: &Evaluation, digits: Digits) {
    let (Some(tolerance), Some(verdict)) = (digits.shown.tolerance, evaluation.verdict) else {
        return;
    };
    let held = digits.held(evaluation.figures.value);
    let [_, limit] = held.limit_texts();
    line.tolerance = if tolerance.unit == digits.unit { Some(tolerance.number()) } else { limit };
    line.limits = Some(LimitsLine { min: None, max: line.tolerance.clone() });
    line.uncertainty = held.uncertainty_text();
    line.verdict = Some(verdict.word);
    let Some(rules) = verdict.rules else { return };
    line.simple = Some(rules.simple);
    line.guarded = digits.shown.uncertainty.map(|_| rules.guarded);
}

/// What a person should know about these points.
fn advice(evaluation: &Evaluation) -> Vec<String> {
    let beside = &evaluation.figures.beside;
    let mut told = Vec::new();
    let laid = evaluation.measures == Characteristic::Roundness
        && beside.taken_as != Some(TakenAs::Deviations);
    if let Some(widths) = beside.widths.filter(|_| laid) {
        let open = "the points go round too little of the turn for a circle inside them";
        let straight = "a straight line fits these points better than any least-squares circle";
        told.extend(widths.inscribed.is_none().then(|| open.to_owned()));
        told.extend(widths.least_squares.is_none().then(|| straight.to_owned()));
    }
    if !evaluation.figures.proves {
        told.push("three places fit exactly, whatever the form: they prove nothing".to_owned());
    } else if evaluation.has_few_points() {
        let n = evaluation.points;
        told.push(format!("{n} points are few: what lies between them was not touched"));
    }
    told
}

/// A derived number, rounded to a thousandth.
fn rounded(number: f64) -> f64 {
    (number * 1000.0).round() / 1000.0
}

/// A derived angle, rounded to a thousandth of a degree, [0, 360).
fn angle(degrees: f64) -> f64 {
    rounded(degrees).rem_euclid(360.0)
}
