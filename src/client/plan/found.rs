//! The plans of a bench, as values and as lines.

use std::sync::Arc;

use crate::bench;
use crate::failure::{Failure, REFUSED};
use crate::global::Global;
use ::bench::plan::{CheckAt, Plan};
use ::bench::setup::Setup;
use wire::{PlanCheckLine, PlanLine};
use words::{Held, LimitsLine, LimitsTold};

/// The set-up of the bench with its plans.
pub(super) fn setup(global: &Global) -> Result<Setup, Failure> {
    bench::loaded(global).map(|loaded| loaded.bench)
}

/// The lines of all plans, by name; those with an error among them.
pub(super) fn lines(setup: &Setup) -> Vec<PlanLine> {
    let good = setup.plans.iter().map(|(name, plan)| line(name.as_str(), &plan.plan));
    let aside = setup.plans_aside.iter().map(|(name, error)| PlanLine {
        plan: name.clone(),
        name: None,
        unit: None,
        checks: Vec::new(),
        error: Some(error.clone()),
    });
    let mut all: Vec<PlanLine> = good.chain(aside).collect();
    all.sort_by(|a, b| a.plan.cmp(&b.plan));
    all
}

pub(super) fn line(file: &str, plan: &Plan) -> PlanLine {
    PlanLine {
        plan: file.to_owned(),
        name: Some(plan.name.clone()),
        unit: Some(plan.unit.to_string()),
        checks: plan.places().filter_map(|at| check(plan, at)).collect(),
        error: None,
    }
}

fn check(plan: &Plan, at: CheckAt) -> Option<PlanCheckLine> {
    let (part, check) = plan.at(at)?;
    let touched = check.traits().is_touched();
    let held = Held::of(None, check.unit).against(check.limits);
    Some(PlanCheckLine {
        part: part.name.to_string(),
        check: check.name.to_string(),
        measures: check.traits().text().to_owned(),
        step: plan.step_of(at).map(|step| step.text().to_owned()),
        gauge: check.gauge.as_ref().map(ToString::to_string),
        setup: touched.then(|| check.setup.text().to_owned()),
        positions: check.total(),
        touches: check.touches_in_all(),
        tolerance: LimitsTold::of(&held),
        limits: LimitsLine::of(&held),
        limits_text: check.limits.map(|limits| words::limits(limits, check.unit)),
        unit: check.unit.to_string(),
    })
}

/// The plan of a name.
pub(super) fn named(setup: &Setup, name: &str) -> Result<Arc<::bench::plan::PinnedPlan>, Failure> {
    let found = setup.plans.iter().find(|(one, _)| one.as_str() == name);
    if let Some((_, plan)) = found {
        return Ok(Arc::clone(plan));
    }
    if let Some(error) = setup.plans_aside.get(name) {
        let text = format!("the plan {name} has an error: {error}");
        return Err(Failure::new(REFUSED, text, "see all errors with: tenths config check"));
    }
    let all: Vec<&str> = setup.plans.keys().map(quantity::Name::as_str).collect();
    let hint = match all.as_slice() {
        [] => "there is none; write one with: tenths plan new NAME".to_owned(),
        all => format!("there are: {}", all.join(", ")),
    };
    Err(Failure::new(REFUSED, format!("there is no plan {name}"), hint))
}
