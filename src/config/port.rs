//! The ports of the bench, each with the gauges that share it.

mod name;

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

pub use self::name::{NoPort, PortName};
use super::gauge::{ReadGauge, Wire};
use super::place::{Surroundings, is_unstable};
use super::profiles::Profiles;
use super::reader::{At, Document};
use ::gauge::{Capture, Content, GaugeOnLine, LineSetup, Profile};
use quantity::{Name, Quoted, Unit};

/// A port to open, with the gauges on it.
#[derive(Debug, Clone)]
pub struct Port {
    /// Its name; a path in it is absolute.
    pub name: PortName,
    /// Its gauges, in the order of `line.gauges`.
    pub gauges: Vec<Name>,
    /// Bits per second.
    pub baud: u32,
    /// Data bits, 5 to 8.
    pub data_bits: u8,
    /// The parity bit.
    pub parity: Parity,
    /// Stop bits, 1 or 2.
    pub stop_bits: u8,
    /// The gauges on the port and how they talk.
    pub line: LineSetup,
}

impl Port {
    /// Whether a port read again is the same, so that it can stay open.
    #[must_use]
    pub fn is_same(&self, other: &Self) -> bool {
        // A profile contains patterns, which can only be compared by their text.
        format!("{self:?}") == format!("{other:?}")
    }
}

/// The parity bit of a port.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Parity {
    /// None is sent.
    None,
    /// It makes the count of ones even.
    Even,
    /// It makes the count of ones odd.
    Odd,
}

/// The settings of a port.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct PortSettings {
    pub(super) baud: u32,
    pub(super) data_bits: u8,
    pub(super) parity: Parity,
    pub(super) stop_bits: u8,
}

impl Default for PortSettings {
    /// 9600 bits a second, 8 data bits, no parity, one stop bit.
    fn default() -> Self {
        Self { baud: 9600, data_bits: 8, parity: Parity::None, stop_bits: 1 }
    }
}

/// Puts the gauges on their ports, in the order they are written, and checks those that share one.
pub(super) fn ports(
    document: &Document<'_>,
    gauges: &[ReadGauge],
    profiles: &mut Profiles<'_>,
    around: &Surroundings,
) -> Vec<Port> {
    let mut order = Vec::new();
    let mut by_name: BTreeMap<PortName, Vec<(&Name, &Wire)>> = BTreeMap::new();
    for gauge in gauges {
        let Some(wire) = &gauge.wire else { continue };
        let port = wire.port.value.resolved();
        let sharing = by_name.entry(port.clone()).or_default();
        if sharing.is_empty() {
            order.push(port);
            stable(document, &wire.port, around);
        }
        sharing.push((&gauge.name.value, wire));
    }
    let mut ports = Vec::new();
    for port_name in order {
        let sharing = by_name.remove(&port_name).unwrap_or_default();
        let mut read = |wire: &Wire| wire.profile.as_ref().and_then(|p| profiles.get(document, p));
        let all: Vec<_> = sharing.iter().map(|(_, wire)| read(wire)).collect();
        together(document, &sharing, &all);
        ports.extend(port(&sharing, all));
    }
    ports
}

/// One port, if it has no error.
fn port(sharing: &[(&Name, &Wire)], profiles: Vec<Option<Arc<Profile>>>) -> Option<Port> {
    let (_, first) = sharing.first()?;
    let profile = profiles.into_iter().collect::<Option<Vec<_>>>()?.into_iter().next()?;
    let on_line: Option<Vec<GaugeOnLine>> =
        sharing.iter().map(|(_, wire)| wire.on_line.clone()).collect();
    let PortSettings { baud, data_bits, parity, stop_bits } = first.settings;
    Some(Port {
        name: first.port.value.clone(),
        gauges: sharing.iter().map(|(name, _)| (*name).clone()).collect(),
        baud,
        data_bits,
        parity,
        stop_bits,
        line: LineSetup { profile, gauges: on_line? },
    })
}

/// A warning for a name that may lead to another device after the next start.
fn stable(document: &Document<'_>, port: &At<PortName>, around: &Surroundings) {
    let Some(device) = port.value.device().filter(|device| is_unstable(device)) else { return };
    let text = format!("{} may be another gauge after the next start", port.value);
    let hint = match around.stable_name(device) {
        Some(link) => format!("write port = \"{}\"", port.value.with_device(link)),
        None => "plug the gauge in and take its name from `tenths gauge list`".to_owned(),
    };
    document.warning(port.line, text, hint);
}

/// What gauges on one port must have in common, and where they must differ.
fn together(
    document: &Document<'_>,
    sharing: &[(&Name, &Wire)],
    profiles: &[Option<Arc<Profile>>],
) {
    for ((name, wire), profile) in sharing.iter().zip(profiles) {
        if let (Some(profile), Some(on_line)) = (profile, &wire.on_line) {
            suits(document, name, wire, profile, on_line);
        }
    }
    let [(first, first_wire), rest @ ..] = sharing else { return };
    if rest.is_empty() {
        return;
    }
    let mut channels = BTreeSet::new();
    for (name, wire) in sharing {
        let channel = wire.on_line.as_ref().map(|on_line| on_line.channel.clone());
        let shared = &wire.port.value;
        match channel {
            Some(None) => {
                let text = format!("gauge \"{name}\" shares {shared} and has no channel");
                let hint = "give each gauge on the port its channel = \"1\", or its own port";
                document.error(wire.port.line, text, hint);
            }
            Some(Some(channel)) if !channels.insert(channel.clone()) => {
                let text = format!("two gauges on {shared} have channel \"{channel}\"");
                document.error(wire.port.line, text, "give each gauge its own channel");
            }
            Some(Some(_)) | None => {}
        }
    }
    let said = |wire: &Wire| wire.profile.as_ref().map(|profile| profile.value.clone());
    for (name, wire) in rest {
        let text = |what| {
            format!("gauges \"{first}\" and \"{name}\" share a port but differ in its {what}")
        };
        if wire.settings != first_wire.settings {
            let hint = "write the same baud, data_bits, parity and stop_bits with both";
            document.error(wire.port.line, text("settings"), hint);
        }
        if said(wire).is_some() && said(first_wire).is_some() && said(wire) != said(first_wire) {
            document.error(wire.port.line, text("profile"), "write the same profile with both");
        }
    }
}

/// Whether a gauge fits its profile.
fn suits(
    document: &Document<'_>,
    name: &Name,
    wire: &Wire,
    profile: &Profile,
    gauge: &GaugeOnLine,
) {
    let line = wire.profile.as_ref().map_or(wire.port.line, |profile| profile.line);
    let named = &profile.name;
    if gauge.channel.is_some() && !profile.has_channel() {
        let text = format!("gauge \"{name}\" has a channel, and profile \"{named}\" knows none");
        document.error(line, text, "take the channel out, or name a profile with channels");
    }
    if gauge.capture == Capture::Request && profile.ask.is_none() {
        let text = format!("gauge \"{name}\" is asked, and profile \"{named}\" does not say how");
        let hint = "write [ask] with send = \"…\" in the profile, or take capture out";
        document.error(line, text, hint);
    }
    if gauge.every_us > 0 && profile.ask.is_none() {
        let text = format!(
            "gauge \"{name}\" is asked in a loop, and profile \"{named}\" does not say how"
        );
        let hint = "write [ask] with send = \"…\" in the profile, or take ask_every_ms out";
        document.error(line, text, hint);
    }
    if profile.is_counts() {
        counts(document, line, (name, gauge), profile);
        return;
    }
    if gauge.scale.is_some() {
        let text =
            format!("the scale of gauge \"{name}\" is not used: \"{named}\" gives no counts");
        document.warning(line, text, "take it out");
    }
    match (gauge.unit, profile.unit) {
        (Some(unit), Some(always)) if unit != always => {
            let text = format!("gauge \"{name}\" is in {unit}, profile \"{named}\" in {always}");
            document.error(line, text, "take the unit out, or name another profile");
        }
        (None, None) if !profile.has_unit() => {
            let unit = gauge.resolution.unit;
            let text = format!(
                "frames of profile \"{named}\" do not say their unit; those of gauge \"{name}\" \
                 are taken as {unit}, the unit of its resolution"
            );
            document.warning(line, text, format!("write unit = \"{unit}\" with the gauge"));
        }
        _ => {}
    }
}

/// Whether the length of a count is known.
fn counts(document: &Document<'_>, line: u32, gauge: (&Name, &GaugeOnLine), profile: &Profile) {
    let (name, gauge) = gauge;
    match (gauge.scale.or(scale_of(profile)), gauge.unit) {
        (None, _) => {
            let named = &profile.name;
            let text =
                format!("profile \"{named}\" gives counts, and gauge \"{name}\" has no scale");
            document.error(line, text, "write scale = \"0.00001 in\", the length of one count");
        }
        (Some(scale), Some(unit)) if scale.unit != unit => {
            let text = format!("gauge \"{name}\" is in {unit}, its scale in {}", scale.unit);
            document.error(line, text, "write both in one unit");
        }
        (Some(_), _) => {}
    }
}

fn scale_of(profile: &Profile) -> Option<Quoted> {
    match &profile.content {
        Content::Counts { scale, .. } => *scale,
        Content::Decimal(_) | Content::Packed(_) => None,
    }
}

/// The unit expected in readings of a gauge on a port, if it is fixed.
pub(super) fn unit_of(profile: &Profile, gauge: &GaugeOnLine) -> Option<Unit> {
    let scale = scale_of(profile).filter(|_| profile.is_counts());
    let counted = gauge.scale.filter(|_| profile.is_counts()).or(scale);
    let silent = !profile.has_unit() && !profile.is_counts();
    gauge
        .unit
        .or(profile.unit)
        .or(counted.map(|scale| scale.unit))
        .or(silent.then_some(gauge.resolution.unit))
}
