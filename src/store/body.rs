//! The JSON of the rare rows: what an attempt is judged with, verdicts, the stack.
//!
//! A figure is the text `numerator/denominator` of picometres, an angle or slope the shortest
//! decimal text that gives the same binary number back: nothing is rounded on its way to disk.

mod parts;

use serde::{Deserialize, Serialize};

pub use self::parts::in_order;
pub(super) use self::parts::{
    placed, placed_text, replaced, replaced_text, taps, taps_text, went_on, went_on_text,
};
use super::words;
use bench::Seq;
use bench::row::Pin;
use bench::setup::{GaugeSetup, GaugeWire};
use bench::verdict::Verdict;
use quantity::{Length, Name, Quoted, Unit, Wall};

/// A body that could not be written or understood; the text says which part.
pub type Faulty = String;

#[derive(Serialize)]
struct PinBody {
    #[serde(flatten)]
    gauge: Option<GaugeBody>,
    #[serde(flatten)]
    how: HowBody,
}

/// Of a pin that which every attempt has.
#[derive(Serialize, Deserialize)]
struct HowBody {
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
    lever_mdeg: u32,
    wire: Option<WireBody>,
}

#[derive(Serialize, Deserialize)]
struct WireBody {
    port: String,
    profile: String,
    channel: Option<String>,
    sign: String,
    scale: Option<QuotedBody>,
    capture: String,
}

#[derive(Serialize, Deserialize)]
struct QuotedBody {
    pm: i64,
    unit: String,
    places: u8,
}

fn json(body: &impl Serialize) -> Result<String, Faulty> {
    serde_json::to_string(body).map_err(|error| error.to_string())
}

fn known<T>(found: Option<T>, what: &str, text: &str) -> Result<T, Faulty> {
    found.ok_or_else(|| format!("{what} {text:?}"))
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
pub fn pin_text(pin: &Pin) -> Result<String, Faulty> {
    let gauge = pin.gauge.as_ref().map(|gauge| GaugeBody {
        gauge: gauge.name.to_string(),
        kind: words::gauge_kind_text(gauge.kind).to_owned(),
        unit: gauge.unit.map(|unit| unit.symbol().to_owned()),
        resolution: quoted_body(gauge.resolution),
        uncertainty: lengths(gauge.uncertainty),
        repeatability: lengths(gauge.repeatability),
        travel: gauge.travel.map(|(low, high)| (low.picometres(), high.picometres())),
        serial: gauge.serial.clone(),
        calibration_due: gauge.calibration_due.map(Wall::micros),
        lever_mdeg: gauge.lever_mdeg,
        wire: gauge.wire.as_ref().map(wire_body),
    });
    let how = HowBody { rule: words::rule_text(pin.rule).to_owned(), engine: pin.engine };
    json(&PinBody { gauge, how })
}

fn quoted_body(value: Quoted) -> QuotedBody {
    let (pm, unit) = (value.length.picometres(), value.unit.symbol().to_owned());
    QuotedBody { pm, unit, places: value.places }
}

fn quoted(body: &QuotedBody) -> Result<Quoted, Faulty> {
    let length = Length::from_picometres(body.pm);
    Ok(Quoted { length, unit: unit(&body.unit)?, places: body.places })
}

fn wire_body(wire: &GaugeWire) -> WireBody {
    WireBody {
        port: wire.port.clone(),
        profile: wire.profile.clone(),
        channel: wire.channel.clone(),
        sign: words::sign_text(wire.sign).to_owned(),
        scale: wire.scale.map(quoted_body),
        capture: words::capture_text(wire.capture).to_owned(),
    }
}

fn wire(body: WireBody) -> Result<GaugeWire, Faulty> {
    Ok(GaugeWire {
        port: body.port,
        profile: body.profile,
        channel: body.channel,
        sign: known(words::sign(&body.sign), "sign", &body.sign)?,
        scale: body.scale.as_ref().map(quoted).transpose()?,
        capture: known(words::capture(&body.capture), "capture", &body.capture)?,
    })
}

/// Reads [`pin_text`] back.
pub fn pin(text: &str) -> Result<Pin, Faulty> {
    let fault = |error: serde_json::Error| error.to_string();
    let how: HowBody = serde_json::from_str(text).map_err(fault)?;
    let value: serde_json::Value = serde_json::from_str(text).map_err(fault)?;
    // A damaged gauge is no missing one: only where its name is absent there is none.
    let gauge = match value.get("gauge") {
        Some(_) => Some(gauge(serde_json::from_value(value).map_err(fault)?)?),
        None => None,
    };
    let rule = known(words::rule(&how.rule), "rule", &how.rule)?;
    Ok(Pin { gauge, rule, engine: how.engine })
}

fn gauge(body: GaugeBody) -> Result<GaugeSetup, Faulty> {
    let length = Length::from_picometres;
    let resolution = quoted(&body.resolution)?;
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
        lever_mdeg: body.lever_mdeg,
        wire: body.wire.map(wire).transpose()?,
    })
}

/// A verdict as JSON.
pub fn verdict_text(verdict: &Verdict) -> Result<String, Faulty> {
    json(verdict)
}

/// Reads [`verdict_text`] back; it must be of this attempt.
pub fn verdict(attempt: Seq, text: &str) -> Result<Verdict, Faulty> {
    let verdict: Verdict = serde_json::from_str(text).map_err(|error| error.to_string())?;
    if verdict.attempt == attempt {
        return Ok(verdict);
    }
    Err(format!("it is a verdict on attempt {}, not on {attempt}", verdict.attempt))
}
