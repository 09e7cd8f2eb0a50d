//! The JSON of the rare rows: what an attempt is judged with, and verdicts.
//!
//! A figure is the text `numerator/denominator` of picometres, an angle or slope the shortest
//! decimal text that gives the same binary number back: nothing is rounded on its way to disk.

use serde::{Deserialize, Serialize};

use super::words;
use crate::bench::Seq;
use crate::bench::row::Pin;
use crate::bench::setup::GaugeSetup;
use crate::bench::verdict::{Figures, Verdict};
use crate::judgement::{Limits, Reason};
use crate::quantity::{Figure, Length, Name, Quoted, Unit, Wall};

/// A body that could not be written or understood; the text says which part.
pub(super) type Faulty = String;

#[derive(Serialize, Deserialize)]
struct PinBody {
    #[serde(flatten)]
    gauge: Option<GaugeBody>,
    rule: String,
    engine: u32,
}

#[derive(Serialize, Deserialize)]
struct GaugeBody {
    gauge: String,
    kind: String,
    unit: Option<String>,
    resolution: QuotedBody,
    uncertainty: Option<i64>,
    repeatability: Option<i64>,
    travel: Option<(i64, i64)>,
    serial: Option<String>,
    calibration_due: Option<i64>,
}

#[derive(Serialize, Deserialize)]
struct QuotedBody {
    pm: i64,
    unit: String,
    places: u8,
}

#[derive(Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
enum LimitsBody {
    Max(i64),
    Band { min: i64, max: i64 },
}

#[derive(Serialize, Deserialize)]
struct VerdictBody {
    tries: u32,
    value: Option<String>,
    unit: String,
    limits: Option<LimitsBody>,
    uncertainty: Option<i64>,
    assumed: bool,
    rule: String,
    simple: Option<String>,
    guarded: Option<String>,
    positions: u32,
    taken: u32,
    skipped: u32,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    answer: Option<String>,
    figures: FiguresBody,
    advice: Vec<String>,
    reasons: Vec<String>,
}

#[derive(Serialize, Deserialize)]
struct FiguresBody {
    max_minus_min: Option<String>,
    minimum_zone: Option<String>,
    least_squares: Option<String>,
    tilt: Option<String>,
    slope_urad: Option<String>,
    high_side_deg: Option<String>,
    high_side_u_deg: Option<String>,
    noise_floor: Option<i64>,
    mean: Option<String>,
    contacts_upper: Vec<u32>,
    contacts_lower: Vec<u32>,
    closure: Option<String>,
}

fn json(body: &impl Serialize) -> Result<String, Faulty> {
    serde_json::to_string(body).map_err(|error| error.to_string())
}

fn known<T>(found: Option<T>, what: &str, text: &str) -> Result<T, Faulty> {
    found.ok_or_else(|| format!("{what} {text:?}"))
}

fn figure_text(figure: Figure) -> String {
    format!("{}/{}", figure.numerator(), figure.denominator())
}

fn figure(text: &str) -> Result<Figure, Faulty> {
    let parse = || {
        let (numerator, denominator) = text.split_once('/')?;
        let denominator = denominator.parse().ok().filter(|&denominator: &i128| denominator > 0)?;
        Some(Figure::new(numerator.parse().ok()?, denominator))
    };
    known(parse(), "figure", text)
}

fn figures(text: Option<&String>) -> Result<Option<Figure>, Faulty> {
    text.map(|text| figure(text)).transpose()
}

fn float(text: Option<&String>) -> Result<Option<f64>, Faulty> {
    text.map(|text| known(text.parse().ok(), "number", text)).transpose()
}

fn unit(text: &str) -> Result<Unit, Faulty> {
    known(words::unit(text), "unit", text)
}

fn name(text: &str) -> Result<Name, Faulty> {
    Name::new(text).map_err(|error| format!("name {text:?}: {error}"))
}

const fn lengths(length: Option<Length>) -> Option<i64> {
    match length {
        Some(length) => Some(length.picometres()),
        None => None,
    }
}

/// What an attempt is judged with, as JSON. Equal pins give equal text.
pub(super) fn pin_text(pin: &Pin) -> Result<String, Faulty> {
    let gauge = pin.gauge.as_ref().map(|gauge| GaugeBody {
        gauge: gauge.name.to_string(),
        kind: words::gauge_kind_text(gauge.kind).to_owned(),
        unit: gauge.unit.map(|unit| unit.symbol().to_owned()),
        resolution: QuotedBody {
            pm: gauge.resolution.length.picometres(),
            unit: gauge.resolution.unit.symbol().to_owned(),
            places: gauge.resolution.places,
        },
        uncertainty: lengths(gauge.uncertainty),
        repeatability: lengths(gauge.repeatability),
        travel: gauge.travel.map(|(low, high)| (low.picometres(), high.picometres())),
        serial: gauge.serial.clone(),
        calibration_due: gauge.calibration_due.map(Wall::micros),
    });
    json(&PinBody { gauge, rule: words::rule_text(pin.rule).to_owned(), engine: pin.engine })
}

/// Reads [`pin_text`] back.
pub(super) fn pin(text: &str) -> Result<Pin, Faulty> {
    let body: PinBody = serde_json::from_str(text).map_err(|error| error.to_string())?;
    let rule = known(words::rule(&body.rule), "rule", &body.rule)?;
    Ok(Pin { gauge: body.gauge.map(gauge).transpose()?, rule, engine: body.engine })
}

fn gauge(body: GaugeBody) -> Result<GaugeSetup, Faulty> {
    let length = Length::from_picometres;
    let resolution = Quoted {
        length: length(body.resolution.pm),
        unit: unit(&body.resolution.unit)?,
        places: body.resolution.places,
    };
    Ok(GaugeSetup {
        name: name(&body.gauge)?,
        kind: known(words::gauge_kind(&body.kind), "kind of gauge", &body.kind)?,
        unit: body.unit.as_deref().map(unit).transpose()?,
        resolution,
        uncertainty: body.uncertainty.map(length),
        repeatability: body.repeatability.map(length),
        travel: body.travel.map(|(low, high)| (length(low), length(high))),
        serial: body.serial,
        calibration_due: body.calibration_due.map(Wall::from_micros),
    })
}

/// A verdict as JSON, without the attempt and the word, which have columns of their own.
pub(super) fn verdict_text(verdict: &Verdict) -> Result<String, Faulty> {
    let word = |word| words::word_text(word).to_owned();
    let limits = verdict.limits.map(limits_body);
    json(&VerdictBody {
        tries: verdict.tries,
        value: verdict.value.map(figure_text),
        unit: verdict.unit.symbol().to_owned(),
        limits,
        uncertainty: lengths(verdict.uncertainty),
        assumed: verdict.assumed,
        rule: words::rule_text(verdict.rule).to_owned(),
        simple: verdict.simple.map(word),
        guarded: verdict.guarded.map(word),
        positions: verdict.positions,
        taken: verdict.taken,
        skipped: verdict.skipped,
        answer: verdict.answer.clone(),
        figures: figures_body(&verdict.figures),
        advice: verdict.advice.clone(),
        reasons: verdict.reasons.iter().map(|r| r.text().to_owned()).collect(),
    })
}

const fn limits_body(limits: Limits) -> LimitsBody {
    match limits {
        Limits::Max(max) => LimitsBody::Max(max.picometres()),
        Limits::Band { min, max } => {
            LimitsBody::Band { min: min.picometres(), max: max.picometres() }
        }
    }
}

const fn limits_back(body: &LimitsBody) -> Limits {
    let length = Length::from_picometres;
    match *body {
        LimitsBody::Max(max) => Limits::Max(length(max)),
        LimitsBody::Band { min, max } => Limits::Band { min: length(min), max: length(max) },
    }
}

fn figures_body(figures: &Figures) -> FiguresBody {
    let float = |number: f64| number.to_string();
    FiguresBody {
        max_minus_min: figures.max_minus_min.map(figure_text),
        minimum_zone: figures.minimum_zone.map(figure_text),
        least_squares: figures.least_squares.map(figure_text),
        tilt: figures.tilt.map(figure_text),
        slope_urad: figures.slope_urad.map(float),
        high_side_deg: figures.high_side_deg.map(float),
        high_side_u_deg: figures.high_side_u_deg.map(float),
        noise_floor: lengths(figures.noise_floor),
        mean: figures.mean.map(figure_text),
        contacts_upper: figures.contacts_upper.clone(),
        contacts_lower: figures.contacts_lower.clone(),
        closure: figures.closure.map(figure_text),
    }
}

/// Reads [`verdict_text`] back.
pub(super) fn verdict(attempt: Seq, word: &str, text: &str) -> Result<Verdict, Faulty> {
    let body: VerdictBody = serde_json::from_str(text).map_err(|error| error.to_string())?;
    let to_word = |text: &String| known(words::word(text), "verdict", text);
    let length = Length::from_picometres;
    let limits = body.limits.as_ref().map(limits_back);
    let reason = |text: &String| known(Reason::parse(text), "reason", text);
    Ok(Verdict {
        attempt,
        tries: body.tries,
        value: figures(body.value.as_ref())?,
        unit: unit(&body.unit)?,
        limits,
        uncertainty: body.uncertainty.map(length),
        assumed: body.assumed,
        rule: known(words::rule(&body.rule), "rule", &body.rule)?,
        word: known(words::word(word), "verdict", word)?,
        simple: body.simple.as_ref().map(to_word).transpose()?,
        guarded: body.guarded.as_ref().map(to_word).transpose()?,
        positions: body.positions,
        taken: body.taken,
        skipped: body.skipped,
        answer: body.answer.clone(),
        figures: figures_back(&body.figures)?,
        advice: body.advice,
        reasons: body.reasons.iter().map(reason).collect::<Result<_, _>>()?,
    })
}

fn figures_back(body: &FiguresBody) -> Result<Figures, Faulty> {
    Ok(Figures {
        max_minus_min: figures(body.max_minus_min.as_ref())?,
        minimum_zone: figures(body.minimum_zone.as_ref())?,
        least_squares: figures(body.least_squares.as_ref())?,
        tilt: figures(body.tilt.as_ref())?,
        slope_urad: float(body.slope_urad.as_ref())?,
        high_side_deg: float(body.high_side_deg.as_ref())?,
        high_side_u_deg: float(body.high_side_u_deg.as_ref())?,
        noise_floor: body.noise_floor.map(Length::from_picometres),
        mean: figures(body.mean.as_ref())?,
        contacts_upper: body.contacts_upper.clone(),
        contacts_lower: body.contacts_lower.clone(),
        closure: figures(body.closure.as_ref())?,
        ..Figures::default()
    })
}
