//! `[[gauge]]`: the instruments of the bench.

use std::path::Path;

use super::port::{Parity, PortName, PortSettings};
use super::reader::{At, Table};
use super::words::{UNITS, name, positive};
use ::gauge::{Capture, GaugeOnLine, Sign};
use bench::setup::{GaugeKind, GaugeSetup, GaugeWire};
use quantity::{Length, Name, Quoted, Unit, Wall};

const KINDS: [(&str, GaugeKind); 4] = [
    ("indicator", GaugeKind::Indicator),
    ("height", GaugeKind::Height),
    ("dial", GaugeKind::Dial),
    ("thermometer", GaugeKind::Thermometer),
];

/// The words of `capture = …`.
const CAPTURES: [(&str, Capture); 4] = [
    ("send", Capture::Send),
    ("settle", Capture::Settle),
    ("sweep", Capture::Sweep),
    ("request", Capture::Request),
];

/// From this angle on, in degrees, a lever stylus gives a warning, and from the second angle on it is
/// refused: the reading grows as 1/cos (cosine error; limits of the trade, from memory).
const STEEP_DEG: f64 = 15.0;
const TOO_STEEP_DEG: f64 = 30.0;

/// A gauge as written, before its profile is known.
#[derive(Debug, Clone)]
pub(super) struct ReadGauge {
    pub(super) name: At<Name>,
    /// Its set-up, if it has no error.
    pub(super) setup: Option<GaugeSetup>,
    /// Its connection, if it has a port.
    pub(super) wire: Option<Wire>,
}

/// How a gauge is connected to its port.
#[derive(Debug, Clone)]
pub(super) struct Wire {
    /// The port; a path in it is absolute.
    pub(super) port: At<PortName>,
    pub(super) settings: PortSettings,
    /// The name of its profile, if it has one.
    pub(super) profile: Option<At<String>>,
    /// What the line needs to know about the gauge, if that has no error.
    pub(super) on_line: Option<GaugeOnLine>,
}

/// Reads a gauge; `base` is the folder of the file. `None` if it has no usable name.
pub(super) fn read(table: Table<'_>, base: &Path) -> Option<ReadGauge> {
    let gauge_name = name(&table);
    table.must_have("kind", "write kind = \"indicator\", \"height\" or \"dial\"");
    table.must_have("resolution", "write resolution = \"0.00001 in\", the smallest step it shows");
    let kind = table.one_of("kind", &KINDS);
    if kind.as_ref().is_some_and(|kind| kind.value == GaugeKind::Thermometer) {
        return thermometer(table, base, gauge_name);
    }
    let unit = table.one_of("unit", &UNITS).map(|unit| unit.value);
    let resolution = positive(&table, "resolution", unit);
    let uncertainty = positive(&table, "uncertainty", unit).map(|u| u.value.length);
    let repeatability = positive(&table, "repeatability", unit).map(|s| s.value.length);
    let travel = travel(&table, unit);
    let serial = table.string("serial").map(|serial| serial.value);
    let calibration_due = table.date("calibration_due").and_then(|date| day_after(date.value));
    let lever_mdeg = lever_angle(&table);
    if let Some((unit, resolution)) = unit.zip(resolution.as_ref())
        && unit != resolution.value.unit
    {
        let other = resolution.value.unit;
        let text = format!("unit is \"{unit}\", but the resolution is written in {other}");
        let hint = "write both as the display shows them: a wrong unit makes every part look right";
        table.document().warning(resolution.line, text, hint);
    }
    let resolution = resolution.map(|resolution| resolution.value);
    let wire = wire(&table, base, unit, resolution);
    reaches(&table, wire.as_ref(), travel);
    if let (Some(At { value: GaugeKind::Dial, .. }), Some(wire)) = (&kind, &wire) {
        let text = "a dial is read by eye and has no port";
        table.document().error(wire.port.line, text, "take the port out, or write its kind");
    }
    table.finish();
    let name = gauge_name?;
    let on_line = wire.as_ref().map(gauge_wire);
    let setup = kind.zip(resolution).map(|(kind, resolution)| GaugeSetup {
        name: name.value.clone(),
        kind: kind.value,
        // Readings keyed in for a dial have the unit of its graduations.
        unit: unit.or((kind.value == GaugeKind::Dial).then_some(resolution.unit)),
        resolution,
        uncertainty,
        repeatability,
        travel,
        serial,
        calibration_due,
        lever_mdeg,
        wire: on_line.flatten(),
    });
    Some(ReadGauge { name, setup, wire })
}

/// Reads a thermometer: it has a line, and nothing of a gauge that measures lengths.
fn thermometer(table: Table<'_>, base: &Path, name: Option<At<Name>>) -> Option<ReadGauge> {
    let resolution = table.parsed_literal("resolution", step_of_degrees).map(|at| at.value);
    let serial = table.string("serial").map(|serial| serial.value);
    let calibration_due = table.date("calibration_due").and_then(|date| day_after(date.value));
    let wire = wire(&table, base, None, resolution);
    if wire.is_some()
        && table.one_of("capture", &CAPTURES).is_some_and(|at| at.value != Capture::Send)
    {
        let text = "a thermometer sends its frames: it is neither swept nor asked by hand";
        let hint = "take capture out; ask_every_ms = 5000 asks it every five seconds";
        table.document().error(table.line_of("capture"), text, hint);
    }
    table.finish();
    let name = name?;
    let on_line = wire.as_ref().and_then(gauge_wire);
    let setup = resolution.map(|resolution| GaugeSetup {
        name: name.value.clone(),
        kind: GaugeKind::Thermometer,
        unit: None,
        resolution,
        uncertainty: None,
        repeatability: None,
        travel: None,
        serial,
        calibration_due,
        lever_mdeg: 0,
        wire: on_line,
    });
    Some(ReadGauge { name, setup, wire })
}

/// The step of a thermometer, `0.1 C`, carried as that many millimetres.
fn step_of_degrees(text: &str) -> Result<Quoted, String> {
    let wrong = || format!("\"{text}\" is no step of a thermometer: write \"0.1 C\", say");
    let degrees = judgement::celsius(text).filter(|degrees| *degrees.numer() > 0);
    degrees.ok_or_else(wrong)?;
    let number = text.trim().trim_end_matches(|c: char| !c.is_ascii_digit());
    Quoted::parse(number, Unit::Millimetre).map_err(|_| wrong())
}

/// The part of a connection that an attempt keeps.
fn gauge_wire(wire: &Wire) -> Option<GaugeWire> {
    let on_line = wire.on_line.as_ref()?;
    Some(GaugeWire {
        port: wire.port.value.to_string(),
        profile: wire.profile.as_ref().map(|profile| profile.value.clone()).unwrap_or_default(),
        channel: on_line.channel.clone(),
        sign: on_line.sign,
        scale: on_line.scale,
        capture: on_line.capture,
    })
}

/// `travel = ["-0.010 in", "0.010 in"]`.
fn travel(table: &Table<'_>, unit: Option<Unit>) -> Option<(Length, Length)> {
    if !table.has("travel") {
        return None;
    }
    let (document, line) = (table.document(), table.line_of("travel"));
    let hint = "write travel = [\"-0.010 in\", \"0.010 in\"], lowest and highest reading";
    let ends = table.literals("travel");
    let [low, high] = ends.as_slice() else {
        document.error(line, "travel is not two readings", hint);
        return None;
    };
    let end = |at: &At<String>| match Quoted::parse_with_unit(&at.value, unit) {
        Ok(end) => Some(end.length),
        Err(error) => {
            document.error(at.line, format!("travel: {error}"), hint);
            None
        }
    };
    let (low, high) = (end(low), end(high));
    let (low, high) = (low?, high?);
    if low >= high {
        document.error(line, "travel ends before it begins", hint);
        return None;
    }
    Some((low, high))
}

/// Midnight (UTC) at the end of the day on which a calibration is due: it is valid until then.
fn day_after(date: jiff::civil::Date) -> Option<Wall> {
    let next = date.tomorrow().ok()?.at(0, 0, 0, 0);
    let stamp = jiff::tz::TimeZone::UTC.to_timestamp(next).ok()?;
    Some(Wall::from_micros(stamp.as_microsecond()))
}

/// Readings are not corrected for the angle of a lever stylus. The angle is only checked, and kept in
/// thousandths of a degree.
fn lever_angle(table: &Table<'_>) -> u32 {
    let Some(angle) = table.number("lever_angle") else { return 0 };
    let (document, degrees) = (table.document(), angle.value);
    let per_cent = 100.0 * (1.0 / degrees.to_radians().cos() - 1.0);
    if !(0.0..=90.0).contains(&degrees) {
        let text = format!("lever_angle is {degrees} degrees");
        document.error(angle.line, text, "write the angle between stylus and surface, 0 to 30");
    } else if degrees > TOO_STEEP_DEG {
        let text = format!("at a lever_angle of {degrees} degrees the gauge reads far too high");
        document.error(angle.line, text, "set the stylus flatter to the surface: below 15 degrees");
    } else if degrees > STEEP_DEG {
        let text = format!(
            "at a lever_angle of {degrees} degrees the gauge reads high by up to {per_cent:.1} %, \
             which is not corrected"
        );
        document.warning(angle.line, text, "set the stylus flatter to the surface");
    }
    thousandths(degrees)
}

/// An angle of 0 to 90 degrees, in thousandths; 0 for any other angle, which is refused.
#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "between 0 and 90 000 after the check"
)]
fn thousandths(degrees: f64) -> u32 {
    if (0.0..=90.0).contains(&degrees) { (degrees * 1000.0).round() as u32 } else { 0 }
}

/// `capture = "settle"`. A gauge that streams or is asked needs a port.
fn capture(table: &Table<'_>, ported: bool) -> Capture {
    let Some(found) = table.one_of("capture", &CAPTURES) else { return Capture::Send };
    let (capture, document) = (found.value, table.document());
    if capture != Capture::Send && !ported {
        let text = "only a gauge on a port sends a stream or can be asked";
        document.error(found.line, text, "write its port, or take capture out");
    }
    capture
}

/// `rest = "-0.0080 in"`: where the stylus of a stream rests free.
fn rest(table: &Table<'_>, capture: Capture, unit: Option<Unit>) -> Option<Length> {
    let at = table.literal("rest")?;
    let hint = "write what it shows with nothing under the stylus: rest = \"-0.0080 in\"";
    if !matches!(capture, Capture::Settle | Capture::Sweep) {
        let text = "rest is only for a gauge that sends a stream";
        table.document().error(at.line, text, "take it out, or write capture = \"settle\"");
    }
    match Quoted::parse_with_unit(&at.value, unit) {
        Ok(rest) => Some(rest.length),
        Err(error) => {
            table.document().error(at.line, format!("rest: {error}"), hint);
            None
        }
    }
}

/// A stream must state its travel, since the ends of it are air, and it should state where its stylus rests
/// free.
fn reaches(table: &Table<'_>, wire: Option<&Wire>, travel: Option<(Length, Length)>) {
    let on_line = wire.and_then(|wire| wire.on_line.as_ref());
    let Some(on_line) = on_line else { return };
    if !matches!(on_line.capture, Capture::Settle | Capture::Sweep) {
        return;
    }
    let document = table.document();
    if !table.has("travel") {
        let text =
            "a gauge that sends a stream does not say its travel: its stops look like a part";
        let hint = "write travel = [\"-0.010 in\", \"0.010 in\"], what it shows at either stop";
        document.error(table.line_of("capture"), text, hint);
    }
    if on_line.capture == Capture::Settle && !table.has("rest") {
        // Until the surface is known, a face under a trembling hand and a free stop that is knocked give
        // the same readings. No rule can tell them apart without losing good touches.
        let text = "it does not say where its stylus rests free: when a check begins, a stylus \
                    that is knocked about there can be taken for a touch, in the air";
        let hint = "let it hang free and write what it shows: rest = \"-0.0080 in\"; until then tap \
                    the first touch of a check";
        document.warning(table.line_of("capture"), text, hint);
    }
    if let (Some((low, high)), Some(rest)) = (travel, on_line.rest)
        && (rest < low || rest > high)
    {
        let text = "rest lies beyond the travel";
        document.error(table.line_of("rest"), text, "write what it shows with nothing under it");
    }
}

/// `button = true`: a gauge that is asked has a button, and its presses count too.
fn button(table: &Table<'_>, capture: Capture) -> bool {
    let Some(button) = table.boolean("button") else { return false };
    if capture != Capture::Request {
        let text = "button is only for a gauge that is asked";
        let hint = "take it out: with capture = \"send\" every press of the button counts";
        table.document().error(button.line, text, hint);
    }
    button.value
}

/// The keys of a gauge on a port. All of them are read even without a port, so that they count as known.
fn wire(
    table: &Table<'_>,
    base: &Path,
    unit: Option<Unit>,
    resolution: Option<Quoted>,
) -> Option<Wire> {
    let port = port(table, base);
    let settings = settings(table);
    let profile = table.string("profile");
    let channel = table.literal("channel").map(|channel| channel.value);
    let scale = positive(table, "scale", unit);
    let sign = table.one_of("sign", &[("+", Sign::Plus), ("-", Sign::Minus)]);
    let repeat_ms = table.integer("repeat_ms", 0..=10_000).map_or(300, |at| at.value);
    let max_rate = table.integer("max_rate", 0..=1000).map_or(5, |at| at.value);
    let capture = capture(table, table.has("port"));
    let button = button(table, capture);
    let rest = rest(table, capture, unit);
    let every_us = ask_every(table, capture);
    let port = port?;
    suits_port(table, &port.value, capture, every_us);
    table.must_have("profile", "write profile = \"signed-decimal\", say: how the gauge talks");
    let on_line = resolution.map(|resolution| GaugeOnLine {
        channel,
        unit,
        resolution,
        scale: scale.map(|scale| scale.value),
        sign: sign.map_or(Sign::Plus, |sign| sign.value),
        repeat_us: u64::try_from(repeat_ms).unwrap_or_default() * 1000,
        max_rate: u32::try_from(max_rate).unwrap_or_default(),
        capture,
        button,
        rest,
        every_us,
    });
    Some(Wire { port, settings, profile, on_line })
}

/// `port = "/dev/…"`, `"keys:/dev/input/…"` or `"tcp:HOST:PORT"`.
fn port(table: &Table<'_>, base: &Path) -> Option<At<PortName>> {
    let written = table.string("port")?;
    match PortName::parse(&written.value, base) {
        Ok(value) => Some(At { value, line: written.line }),
        Err(wrong) => {
            table.document().error(written.line, wrong.text, wrong.hint);
            None
        }
    }
}

/// What a port that is no serial line has no use for.
fn suits_port(table: &Table<'_>, port: &PortName, capture: Capture, every_us: u64) {
    let (document, what) = (
        table.document(),
        match port {
            PortName::Serial(_) => return,
            PortName::Keys(_) => "an adapter that types",
            PortName::Net { .. } => "a port on the network",
        },
    );
    for key in ["baud", "data_bits", "parity", "stop_bits"] {
        if table.has(key) {
            let text = format!("{key} is not used: {what} has no line of its own here");
            document.warning(table.line_of(key), text, "take it out");
        }
    }
    if matches!(port, PortName::Keys(_)) && (capture == Capture::Request || every_us > 0) {
        let key = if every_us > 0 { "ask_every_ms" } else { "capture" };
        let text = "an adapter that types cannot be asked: nothing can be sent to it";
        document.error(table.line_of(key), text, "take it out, and press the gauge's button");
    }
}

/// `ask_every_ms = 100`: a gauge that sends only when it is asked is asked again and again, and gives a stream.
fn ask_every(table: &Table<'_>, capture: Capture) -> u64 {
    let Some(every) = table.integer("ask_every_ms", 20..=60_000) else { return 0 };
    let is_thermometer = table.string("kind").is_some_and(|kind| kind.value == "thermometer");
    if !is_thermometer && !matches!(capture, Capture::Settle | Capture::Sweep) {
        let text = "a gauge that is asked in a loop sends a stream";
        let hint = "write capture = \"settle\" or \"sweep\"; with \"request\" it is asked when a reading is \
                    wanted: take ask_every_ms out";
        table.document().error(every.line, text, hint);
        return 0;
    }
    u64::try_from(every.value).unwrap_or_default() * 1000
}

fn settings(table: &Table<'_>) -> PortSettings {
    let parities = [("none", Parity::None), ("even", Parity::Even), ("odd", Parity::Odd)];
    let usual = PortSettings::default();
    let small = |key, range, usual: u8| {
        let found = table.integer(key, range).and_then(|at| u8::try_from(at.value).ok());
        found.unwrap_or(usual)
    };
    let baud = table.integer("baud", 50..=4_000_000).and_then(|at| u32::try_from(at.value).ok());
    PortSettings {
        baud: baud.unwrap_or(usual.baud),
        data_bits: small("data_bits", 5..=8, usual.data_bits),
        parity: table.one_of("parity", &parities).map_or(usual.parity, |at| at.value),
        stop_bits: small("stop_bits", 1..=2, usual.stop_bits),
    }
}
