//! Whether the gauges of a bench can carry a plan.

use std::collections::BTreeMap;

use super::CheckLines;
use crate::bench::plan::{Check, MasterUse, Plan};
use crate::bench::setup::GaugeSetup;
use crate::config::finding::{Finding, Level};
use crate::config::reader::hint_for;
use crate::judgement::{Closure, Reason, assumed_reading, too_coarse};
use crate::quantity::Name;

/// Everything that is wrong with `plan` on a bench with these gauges; `lines` say where its checks
/// stand.
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
                findings.push(Finding { file, line: Some(line), level, text, hint });
            };
            let Some(gauge) = &check.gauge else { continue };
            match gauges.get(gauge) {
                None => {
                    let known = gauges.keys().map(|name| name.as_str().to_owned()).collect();
                    let text = format!("there is no gauge \"{gauge}\" on this bench");
                    let hint = hint_for(gauge.as_str(), &known);
                    add(Level::Error, lines.gauge, text, &hint);
                }
                // Its own mistakes are told where it stands.
                Some(None) => {}
                Some(Some(gauge)) => {
                    for (text, hint) in doubts(check, gauge) {
                        add(Level::Warning, lines.limits, text, hint);
                    }
                }
            }
        }
    }
    findings
}

/// What speaks against judging a check with a gauge.
fn doubts(check: &Check, gauge: &GaugeSetup) -> Vec<(String, &'static str)> {
    let tolerance = check.half_width();
    let resolution = gauge.resolution.length;
    let mut doubts = Vec::new();
    if too_coarse(resolution, tolerance) {
        let text = format!(
            "{}: a step of gauge \"{}\", {}, is more than a quarter of the tolerance; it may fail \
             {}, never pass it",
            Reason::GaugeTooCoarse.text(),
            gauge.name,
            gauge.resolution,
            check.name
        );
        doubts.push((text, "measure it with a finer gauge"));
    }
    let u = gauge.uncertainty.unwrap_or_else(|| assumed_reading(resolution));
    let returns = check.closure || check.master == MasterUse::Both;
    if returns && !(Closure { tolerance, u, resolution }).checks_its_own_return() {
        let text = format!("gauge \"{}\" cannot check its own return here", gauge.name);
        let hint = "the limit for coming back, the largest of T/4, 3·√2·u and two steps, is more \
                    than half the tolerance";
        doubts.push((text, hint));
    }
    doubts
}
