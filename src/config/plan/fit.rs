//! Whether the gauges of a bench can measure what a plan asks for.

use std::collections::{BTreeMap, BTreeSet};

use crate::finding::{Finding, Level};
use crate::reader::At;
use crate::station::hint_for_gauge;
use ::words::size;
use bench::plan::keys::CheckLines;
use bench::plan::{Check, MasterUse, Plan};
use bench::setup::GaugeSetup;
use judgement::{Closure, Doubt, Known, Reason, too_coarse};
use quantity::{Figure, Length, Name};

/// Everything that is wrong with `plan` on a bench with these gauges; `lines` gives the lines of its
/// checks.
pub(crate) fn findings(
    file: &str,
    plan: &Plan,
    lines: &[Vec<CheckLines>],
    gauges: &BTreeMap<Name, Option<GaugeSetup>>,
) -> Vec<Finding> {
    let mut findings = Vec::new();
    for (part, lines) in plan.parts.iter().zip(lines) {
        for (check, lines) in part.checks.iter().zip(lines) {
            let mut add = |level, line, text, hint: &str| {
                let (file, hint) = (file.to_owned(), hint.to_owned());
                let line = Some(line);
                findings.push(Finding { file, line, level, text, hint, excerpt: None });
            };
            let log = check.measures.own().log.map_or(&[][..], |log| &log.places);
            let sensors = log.iter().filter_map(|place| place.thermometer.as_ref());
            for name in sensors.chain(check.measures.own().thermometer) {
                let found = gauges.get(name);
                let other =
                    found.is_some_and(|one| one.as_ref().is_some_and(|one| !one.is_thermometer()));
                if found.is_none() {
                    let (text, hint) = no_gauge(name.as_str(), gauges);
                    add(Level::Error, lines.gauge, text, &hint);
                } else if other {
                    let text = format!("gauge \"{name}\" is no thermometer");
                    add(Level::Error, lines.gauge, text, "name one of kind = \"thermometer\"");
                }
            }
            let Some(gauge) = &check.gauge else { continue };
            match gauges.get(gauge) {
                Some(Some(thermometer)) if thermometer.is_thermometer() => {
                    let text = format!("gauge \"{gauge}\" is a thermometer and measures no length");
                    let hint = "name it at an entry: thermometer = \"…\"";
                    add(Level::Error, lines.gauge, text, hint);
                }
                None => {
                    let (text, hint) = no_gauge(gauge.as_str(), gauges);
                    add(Level::Error, lines.gauge, text, &hint);
                }
                // The errors of that gauge are reported where the gauge is configured.
                Some(None) => {}
                Some(Some(gauge)) => {
                    for (line, text, hint) in doubts(check, lines, gauge) {
                        add(Level::Warning, line, text, hint);
                    }
                }
            }
        }
    }
    findings
}

/// The gauges that a plan names and the bench does not have, where the plan itself cannot be used.
pub(crate) fn strangers(
    file: &str,
    named: &[At<String>],
    gauges: &BTreeMap<Name, Option<GaugeSetup>>,
) -> Vec<Finding> {
    let stranger = |At { value, line }: &At<String>| {
        // A text that is not a name is reported with the plan.
        let name = Name::new(value).ok().filter(|name| !gauges.contains_key(name))?;
        let (text, hint) = no_gauge(name.as_str(), gauges);
        let (file, line, level) = (file.to_owned(), Some(*line), Level::Error);
        Some(Finding { file, line, level, text, hint, excerpt: None })
    };
    named.iter().filter_map(stranger).collect()
}

/// The finding for a gauge that the bench does not have, and what to do.
fn no_gauge(name: &str, gauges: &BTreeMap<Name, Option<GaugeSetup>>) -> (String, String) {
    let known = gauges.keys().map(|name| name.as_str().to_owned()).collect();
    (format!("there is no gauge \"{name}\" on this bench"), hint_for_gauge(name, &known))
}

/// Checks that the plan wants swept, with gauges that send single readings.
pub(crate) fn sweeps(
    file: &str,
    plan: &Plan,
    lines: &[Vec<CheckLines>],
    sweepers: &BTreeSet<Name>,
) -> Vec<Finding> {
    let checks =
        plan.parts.iter().zip(lines).flat_map(|(part, lines)| part.checks.iter().zip(lines));
    let cannot = |(check, lines): (&Check, &CheckLines)| {
        let gauge = check.gauge.as_ref().filter(|gauge| !sweepers.contains(*gauge))?;
        check.swept()?;
        Some(Finding {
            file: file.to_owned(),
            line: Some(lines.gauge),
            level: Level::Error,
            text: format!(
                "the turn of {} is swept, and gauge \"{gauge}\" cannot do that",
                check.name
            ),
            hint: "give the gauge a port and capture = \"sweep\" in bench.toml, or take out \
                   reads = \"sweep\" and write positions"
                .to_owned(),
            excerpt: None,
        })
    };
    checks.filter_map(cannot).collect()
}

/// A concern: its line, what it is, and what to do.
type Concern = (u32, String, &'static str);

/// The concerns about judging a check with a gauge; a bar is judged station by station.
fn doubts(check: &Check, lines: &CheckLines, gauge: &GaugeSetup) -> Vec<Concern> {
    let stations = check.stations();
    if stations.is_empty() {
        return doubts_of(check, (check.half_width(), ""), lines.limits, gauge);
    }
    let place = |at: usize| {
        let at = stations.get(at).map_or_else(String::new, |one| size(one.at, check.unit));
        format!(" at {at} {}", check.unit)
    };
    let mut doubts = Vec::new();
    for (at, (station, line)) in stations.iter().zip(&lines.stations).enumerate() {
        let tolerance = station.limits.half_width();
        doubts.extend(doubts_of(check, (tolerance, &place(at)), *line, gauge));
    }
    for (at, known) in check.measures.too_wide(reading(check, gauge).scatters()) {
        let line = lines.stations.get(at).copied().unwrap_or(lines.limits);
        doubts.push(seating(known, (line, &place(at)), gauge));
    }
    doubts
}

fn doubts_of(
    check: &Check,
    (tolerance, place): (Figure, &str),
    line: u32,
    gauge: &GaugeSetup,
) -> Vec<Concern> {
    let resolution = gauge.resolution.length;
    let mut doubts = Vec::new();
    if too_coarse(resolution, tolerance) {
        let text = format!(
            "{}: a step of gauge \"{}\", {}, is more than a quarter of the tolerance{place}; it \
             may fail {}, never pass it",
            Reason::GaugeTooCoarse.text(),
            gauge.name,
            gauge.resolution,
            check.name
        );
        doubts.push((line, text, "measure it with a finer gauge"));
    }
    let scatter = reading(check, gauge).scatter();
    // An assumed scatter says nothing about this gauge.
    let known = scatter.known != Known::Assumed;
    let returns = known && (check.closure || check.master == MasterUse::Both);
    if returns
        && !(Closure { tolerance, scatter, resolution, times: check.traps.returns })
            .checks_its_own_return()
    {
        let text = format!("gauge \"{}\" cannot check its own return here", gauge.name);
        let hint = "the limit for coming back, the larger of returns·√2·s (traps; 3 is usual) and two \
                    steps, is more than half the tolerance";
        doubts.push((line, text, hint));
    }
    doubts
}

/// The uncertainty of a reading of a check with a gauge.
fn reading(check: &Check, gauge: &GaugeSetup) -> Doubt {
    Doubt::of(gauge.stated(), gauge.resolution.length, check.assumed_rest())
}

/// The concern about a bar put in once: its seating adds an unknown share, and four seatings show how
/// large that is.
fn seating(known: Length, (line, place): (u32, &str), gauge: &GaugeSetup) -> Concern {
    let places = u32::from(gauge.resolution.places) + 1;
    let shown = Figure::from(known).shown_up_at(gauge.resolution.unit, places);
    let text = format!(
        "seated once, the bar is known to ± {shown} {}{place}, more than a quarter of the tolerance",
        gauge.resolution.unit
    );
    (line, text, "seat it four times: write seatings = 4")
}
