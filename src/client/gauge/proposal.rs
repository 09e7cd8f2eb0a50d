//! The lines of bench.toml for a gauge that was heard: what its frames say, and what only a person knows.

use std::fmt::Write as _;

use super::score::{Bits, Fit};
use config::PortName;
use wire::printable;

/// More frames per second than this are not presses of a button.
const STREAM_HZ: f64 = 3.0;

/// What is not known stands as a question mark, which `config check` refuses until a person has looked at it.
const OPEN: &str = "?";

/// The line that a gauge was heard on.
#[derive(Debug)]
pub(super) struct Of {
    /// The port by its stable name, where it has one.
    pub(super) port: PortName,
    /// Its speed, where it is a serial line.
    pub(super) baud: Option<u32>,
    pub(super) bits: Bits,
    /// Frames per second while they arrived.
    pub(super) hz: f64,
    /// Whether it was asked; it sends only then.
    pub(super) asked: bool,
}

/// The lines of every gauge that was heard at a port.
#[derive(Debug)]
pub(crate) struct Proposal {
    /// What was heard, as a comment.
    heard: String,
    /// Each gauge; more than one where the frames name channels.
    pub(crate) gauges: Vec<Proposed>,
}

/// The lines of one gauge.
#[derive(Debug)]
pub(crate) struct Proposed {
    /// What it is called; a person chooses that.
    pub(crate) name: String,
    /// `indicator` or `height`.
    pub(crate) kind: String,
    port: String,
    profile: String,
    baud: Option<u32>,
    bits: Bits,
    channel: Option<String>,
    /// `in` or `mm`; the number of decimals alone cannot tell them apart.
    pub(crate) unit: Option<String>,
    /// How many decimals its frames have; `None` where it counts.
    places: Option<usize>,
    /// The length of a count, with its unit, where it counts.
    pub(crate) scale: Option<String>,
    /// The smallest step it shows, with its unit, where that is not the last place.
    pub(crate) resolution: Option<String>,
    /// What it shows at its stops, with the unit.
    pub(crate) travel: Option<[String; 2]>,
    hz: f64,
    asked: bool,
}

impl Proposal {
    /// From what a profile reads of the frames of a line.
    pub(super) fn new(of: &Of, fit: &Fit) -> Self {
        let channels: Vec<Option<&String>> = if fit.channels.is_empty() {
            vec![None]
        } else {
            fit.channels.iter().map(Some).collect()
        };
        let example = printable(&fit.example);
        let at = of.baud.map_or(String::new(), |baud| format!(" at {baud}"));
        Self {
            heard: format!("# {} frames such as \"{example}\"{at}.\n", fit.readings),
            gauges: channels.into_iter().map(|channel| Proposed::new(of, fit, channel)).collect(),
        }
    }

    /// The lines, to be put into bench.toml.
    pub(crate) fn text(&self) -> String {
        let gauges = self.gauges.iter().map(Proposed::text);
        std::iter::once(self.heard.clone()).chain(gauges).collect()
    }
}

impl Proposed {
    fn new(of: &Of, fit: &Fit, channel: Option<&String>) -> Self {
        let first = fit.values.first();
        let same = |unit| fit.values.iter().all(|value| value.unit == unit);
        let said = fit.profile.has_unit() || fit.profile.unit.is_some();
        let unit = first.map(|value| value.unit).filter(|unit| said && same(*unit));
        let places = fit.values.iter().map(|value| usize::from(value.places)).max().unwrap_or(0);
        Self {
            name: channel.map_or("new".to_owned(), |channel| format!("new-{channel}")),
            kind: "indicator".to_owned(),
            port: of.port.to_string(),
            profile: fit.profile.name.clone(),
            baud: of.baud,
            bits: of.bits,
            channel: channel.cloned(),
            unit: unit.map(|unit| unit.to_string()),
            places: (!fit.profile.is_counts()).then_some(places),
            scale: None,
            resolution: None,
            travel: None,
            hz: of.hz,
            asked: of.asked,
        }
    }

    /// Whether it counts, so that the length of a count has to be said.
    pub(crate) const fn counts(&self) -> bool {
        self.places.is_none()
    }

    /// Whether it sends without being asked to by its button.
    pub(crate) fn is_stream(&self) -> bool {
        !self.asked && self.hz > STREAM_HZ
    }

    /// One step of the last place, with the unit.
    pub(crate) fn step(&self) -> String {
        let unit = self.unit.as_deref().unwrap_or(OPEN);
        match self.places {
            None => OPEN.to_owned(),
            Some(0) => format!("1 {unit}"),
            Some(places) => format!("0.{:0>places$} {unit}", 1),
        }
    }

    fn text(&self) -> String {
        let mut text = String::new();
        let mut line = |key: &str, value: &str, why: &str| {
            let comment = if why.is_empty() { String::new() } else { format!("  # {why}") };
            writeln!(text, "{key} = {value}{comment}").expect("a String takes everything");
        };
        let quoted = |text: &str| format!("{:?}", printable(text));
        let why = |known: bool, why: &'static str| if known { "" } else { why };
        line("[[gauge]]\nname", &quoted(&self.name), "what you call it");
        line("kind", &quoted(&self.kind), "\"indicator\" or \"height\"");
        line("port", &quoted(&self.port), "");
        line("profile", &quoted(&self.profile), "");
        if let Some(baud) = self.baud {
            line("baud", &baud.to_string(), "");
        }
        if self.bits.data != 8 {
            line("data_bits", &self.bits.data.to_string(), "");
            line("parity", &quoted(self.bits.parity), "");
            line("stop_bits", &self.bits.stop.to_string(), "");
        }
        if let Some(channel) = &self.channel {
            line("channel", &quoted(channel), "");
        }
        let open = "in or mm? The frames do not say; look at the display";
        let unit = self.unit.as_deref();
        line("unit", &quoted(unit.unwrap_or(OPEN)), why(unit.is_some(), open));
        if self.counts() {
            let scale = self.scale.as_deref();
            let of_scale = "the length of one count: prove it with two blocks";
            line("scale", &quoted(scale.unwrap_or(OPEN)), why(scale.is_some(), of_scale));
        }
        let resolution = self.resolution.clone().unwrap_or_else(|| self.step());
        let step = "the last place; write the step if it goes in twos or fives";
        let step = if self.counts() { "the smallest step it shows" } else { step };
        line("resolution", &quoted(&resolution), why(self.resolution.is_some(), step));
        if self.asked {
            let how = "a take, a scan or the foot asks it; for a stream: \"settle\" and ask_every_ms = 200";
            line("capture", "\"request\"", how);
        } else if self.is_stream() {
            line(
                "capture",
                "\"settle\"",
                &format!("it sends {:.0} times a second by itself", self.hz),
            );
            let stops = "what it shows at either stop: move the stylus there and look";
            let [low, high] = self.travel.clone().unwrap_or([OPEN.to_owned(), OPEN.to_owned()]);
            let travel = format!("[{}, {}]", quoted(&low), quoted(&high));
            line("travel", &travel, why(self.travel.is_some(), stops));
            line("# rest", "\"?\"", "what it shows with nothing under the stylus");
        } else {
            line("capture", "\"send\"", "it sends when it is asked to by its button");
        }
        text
    }
}
