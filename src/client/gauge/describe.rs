//! A gauge as it is written into bench.toml: heard out at its port, or read by eye; what its frames do not say
//! comes from options, or is asked.

use std::fmt::Write as _;
use std::path::Path;

use clap::Args;
use quantity::{Length, Name, Unit};

use super::listen::{AskingArgs, ListenArgs, hear_out};
use super::proposal::{Proposal, Proposed};
use crate::ask::{ask, is_attended, one_of, unsaid};
use crate::failure::{Failure, NO, REFUSED};
use wire::printable;

/// What is said of a gauge beforehand.
#[derive(Debug, Args)]
#[command(next_help_heading = "The gauge")]
pub(crate) struct Describing {
    /// Its port: /dev/serial/by-id/…, keys:DEVICE for an adapter that types, or tcp:HOST:PORT; it is listened to while you press
    /// the gauge's button
    #[arg(long, value_name = "PORT", conflicts_with = "by_eye")]
    pub(crate) port: Option<String>,
    /// It has no port: it is read by eye and keyed in. The smallest step that is read, such as "0.00005 in"
    #[arg(long, value_name = "STEP")]
    pub(crate) by_eye: Option<String>,
    #[command(flatten)]
    pub(crate) said: Said,
}

/// What frames may leave open.
#[derive(Debug, Args)]
#[command(next_help_heading = "What its frames may leave open")]
pub(crate) struct Said {
    /// What you call the gauge [plate]
    #[arg(long = "gauge", value_name = "NAME")]
    pub(crate) called: Option<String>,
    /// The unit on its display, where its frames do not say it: in or mm
    #[arg(long, value_name = "UNIT", value_parser = ["in", "mm"])]
    pub(crate) gauge_unit: Option<String>,
    /// The smallest step it shows, where that is not one of the last place
    #[arg(long, value_name = "STEP")]
    pub(crate) resolution: Option<String>,
    /// The length of one count, where it sends counts
    #[arg(long, value_name = "LENGTH")]
    pub(crate) scale: Option<String>,
    /// What it shows at either stop, where it sends without pause
    #[arg(long, num_args = 2, value_names = ["LOW", "HIGH"], allow_hyphen_values = true)]
    pub(crate) travel: Option<Vec<String>>,
    /// How many seconds to listen with each line setting
    #[arg(long, value_name = "N", default_value_t = 4, value_parser = clap::value_parser!(u32).range(1..=600))]
    pub(crate) seconds: u32,
    #[command(flatten)]
    pub(crate) asking: AskingArgs,
}

/// A gauge that is known well enough to be written down.
#[derive(Debug)]
pub(crate) struct Described {
    /// Its name.
    pub(crate) name: Name,
    /// Its lines of bench.toml.
    pub(crate) lines: String,
    /// Whether it is read by eye, so that its readings are keyed in.
    pub(crate) by_eye: bool,
}

impl Describing {
    /// Asks for what is not said, and listens.
    pub(crate) fn described(
        &self,
        unit: &str,
        config: Option<&Path>,
    ) -> Result<Described, Failure> {
        if let Some(port) = &self.port {
            return self.said.heard_at(port, config);
        }
        if self.by_eye.is_none() && !is_attended() {
            return Err(unsaid("--port PORT, or --by-eye STEP where it has none"));
        }
        if self.by_eye.is_none() {
            let question = "The port of the gauge? `tenths gauge list` shows them; none where it is read by eye.";
            let port = ask(question, Some("none"), crate::ask::text)?;
            if port != "none" {
                return self.said.heard_at(&port, config);
            }
        }
        self.read_by_eye(unit)
    }

    fn read_by_eye(&self, unit: &str) -> Result<Described, Failure> {
        let name = self.said.name("plate")?;
        let usual = if unit == "mm" { "0.0005 mm" } else { "0.00002 in" };
        let question = "The smallest step that is read off it?";
        let step =
            value(("--by-eye STEP", self.by_eye.as_deref()), question, Some(usual), |said| {
                length(said, Some(unit))
            })?;
        let mut lines = String::new();
        writeln!(lines, "[[gauge]]\nname = {:?}", name.as_str())
            .expect("a String takes everything");
        lines += "kind = \"dial\"                   # read by eye; its readings are keyed in: tenths enter\n";
        let of_step = step.split(' ').nth(1).unwrap_or(unit);
        writeln!(lines, "unit = {of_step:?}").expect("a String takes everything");
        writeln!(lines, "resolution = {step:?}").expect("a String takes everything");
        Ok(Described { name, lines: lines + SHARES, by_eye: true })
    }
}

impl Said {
    /// Listens to a port, and fills in what the frames do not say.
    pub(crate) fn heard_at(&self, port: &str, config: Option<&Path>) -> Result<Described, Failure> {
        let (port, asking) = (port.to_owned(), self.asking.clone());
        let args = ListenArgs { port, seconds: self.seconds, asking };
        let (heard, proposal) = hear_out(&args, config)?;
        let Some(mut proposal) = proposal else {
            let why = printable(heard.why.as_deref().unwrap_or_default());
            let hint = "listen as often as you like: tenths gauge listen PORT";
            return Err(Failure::new(NO, why, hint));
        };
        let Proposal { gauges, .. } = &mut proposal;
        let several = gauges.len() > 1;
        for gauge in gauges.iter_mut() {
            self.fill(gauge, several)?;
        }
        let first = gauges.first().map_or("plate", |gauge| gauge.name.as_str());
        let name = Name::new(first).map_err(|error| Failure::plain(REFUSED, error.to_string()))?;
        Ok(Described { name, lines: proposal.text() + SHARES, by_eye: false })
    }

    fn name(&self, usual: &str) -> Result<Name, Failure> {
        let fit = |said: &str| Name::new(said).map_err(|error| error.to_string());
        match &self.called {
            Some(name) => {
                fit(name).map_err(|error| Failure::plain(REFUSED, format!("--gauge: {error}")))
            }
            None if is_attended() => ask("What do you call the gauge?", Some(usual), fit),
            None => fit(usual).map_err(|error| Failure::plain(REFUSED, error)),
        }
    }

    fn fill(&self, gauge: &mut Proposed, several: bool) -> Result<(), Failure> {
        let usual = if several { gauge.name.replace("new", "gauge") } else { "plate".to_owned() };
        gauge.name = match &self.called {
            // Several gauges on one line are told apart by their channel.
            Some(name) if several => gauge.name.replace("new", name),
            _ => self.name(&usual)?.as_str().to_owned(),
        };
        if gauge.unit.is_none() {
            gauge.unit = Some(match &self.gauge_unit {
                Some(unit) => unit.clone(),
                None if is_attended() => {
                    let question = "Its display: inch or millimetre? The frames do not say.";
                    ask(question, None, one_of(&["in", "mm"]))?.to_owned()
                }
                None => return Err(unsaid("--gauge-unit in or --gauge-unit mm")),
            });
        }
        let unit = gauge.unit.clone();
        let fit = |said: &str| length(said, unit.as_deref());
        if gauge.counts() {
            let said = self.scale.as_deref();
            gauge.scale =
                Some(value(("--scale LENGTH", said), "The length of one count?", None, fit)?);
        }
        let (said, step) = (self.resolution.as_deref(), gauge.step());
        let usual = Some(step.as_str()).filter(|_| !gauge.counts());
        if said.is_some() || is_attended() || gauge.counts() {
            let question = "The smallest step it shows?";
            gauge.resolution = Some(value(("--resolution STEP", said), question, usual, fit)?);
        }
        if gauge.is_stream() {
            let low = self.travel.as_ref().map(|ends| ends[0].as_str());
            let high = self.travel.as_ref().map(|ends| ends[1].as_str());
            let at = |end| format!("It sends without pause. What does it show at its {end} stop?");
            let ends = [
                value((TRAVEL, low), &at("lower"), None, fit)?,
                value((TRAVEL, high), &at("upper"), None, fit)?,
            ];
            gauge.travel = Some(ends);
        }
        Ok(())
    }
}

/// The option that says what a gauge shows at its stops.
const TRAVEL: &str = "--travel LOW HIGH";

/// What the uncertainty of a gauge is, nobody can hear: until it is known the bench assumes a poor hand and says so.
const SHARES: &str = "\
# What you know of it goes here; until then it is assumed, or learned while you work, and every verdict says so:
# uncertainty = \"…\"             # standard uncertainty of one reading, everything included
# repeatability = \"…\"           # standard deviation of ten lifts on one spot: `tenths prove` shows it
# serial = \"…\"
# calibration_due = 2030-01-31
";

/// A value from an option, or from the person at the terminal.
fn value(
    (option, said): (&str, Option<&str>),
    question: &str,
    usual: Option<&str>,
    fit: impl Fn(&str) -> Result<String, String>,
) -> Result<String, Failure> {
    match said {
        Some(said) => fit(said.trim()).map_err(|wrong| Failure::plain(REFUSED, wrong)),
        None if is_attended() => ask(question, usual, fit),
        None => Err(unsaid(option)),
    }
}

/// A length as it is written into the file, with its unit.
fn length(said: &str, unit: Option<&str>) -> Result<String, String> {
    let default = match unit {
        Some("mm") => Some(Unit::Millimetre),
        Some("in") => Some(Unit::Inch),
        _ => None,
    };
    let wrong = |error| format!("{said:?}: {error}; write it with its unit, such as 0.00005 in");
    Length::parse_with_unit(said).map(|_| said.to_owned()).or_else(|error| match default {
        Some(default) if Length::parse(said, default).is_ok() => Ok(format!("{said} {default}")),
        _ => Err(wrong(error)),
    })
}
