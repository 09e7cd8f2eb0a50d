//! The stack on the shaft: it is written down as it is taken apart, and compared with that and with the
//! plan as it is built.

use std::sync::Arc;

use quantity::Name;

use crate::draft::{Answer, Draft};
use crate::event::Command;
use crate::fact::row::{Alert, AlertKind, Body, StackItem, Stage, Subject, WentOn};
use crate::fact::seq::Seq;
use crate::gate;
use crate::plan::{Check, Part, StackPlace};
use crate::reply::{Done, Refusal};
use crate::request::answers::part_named;
use crate::spots::{self, MARK_WITHIN_DEG};
use crate::state::Job;
use crate::words::typed;

impl Draft<'_> {
    /// `stack found PART` and `stack built PART`.
    pub(crate) fn stack_place(&mut self, station: &Name, command: &Command) -> Answer {
        let Command::StackPlace { stage, part, towards_nose, mark_deg, serial, why } = command
        else {
            return Err(Refusal::input("no part to place", "see `tenths stack --help`"));
        };
        let (job, state) = self.job_of(station)?;
        let (index, name) = part_named(&state, part)?;
        let item = StackItem {
            part: index,
            towards_nose: towards_nose.clone(),
            mark_deg: mark_deg.map(|deg| deg % 360),
            serial: serial.clone(),
        };
        whole(&state, &item, &name)?;
        if state.stack(*stage).iter().any(|on| on.part == index) {
            return Err(Refusal::input(
                format!("{name} is on the list already"),
                format!("take the newest one off with `tenths stack {} --back`", stage.text()),
            ));
        }
        let mut in_spite = None;
        match stage {
            Stage::Built => {
                fits(&state, &item, &name)?;
                let lacking = gate::before_building(&state, index);
                let off = spots::mark_off(&state, &item);
                let what = format!("{name} does not go on the stack");
                let belongs = off.as_ref().map(|(_, off)| off.belongs_deg);
                let right = StackItem { mark_deg: belongs.or(item.mark_deg), ..item.clone() };
                let command = self.build_command(station, &right, &name);
                let off = off.map(|(_, off)| off);
                let told = gate::told_of_a_part(&state, &lacking, off);
                let why = Self::gate(told, (&what, &command), why.as_deref())?;
                in_spite = why.map(|why| (lacking, off, why));
            }
            Stage::Found => self.tell_what_was_wrong(job, &state, &item, &name),
        }
        self.push(Body::StackPlaced { job, stage: *stage, item: Arc::new(item) });
        if let Some((lacking, mark, why)) = in_spite {
            self.went_on(job, WentOn { part: Some(index), lacking, mark, why });
        }
        Ok(self.stacked(job, *stage, name))
    }

    /// The command that puts a part on in the required way.
    fn build_command(&self, station: &Name, item: &StackItem, name: &Name) -> String {
        let said = [
            Some(format!("tenths stack built {}", typed(name.as_str()))),
            item.towards_nose.as_ref().map(|way| format!("--towards-nose {}", typed(way))),
            item.mark_deg.map(|deg| format!("--mark {deg}")),
            item.serial.as_ref().map(|serial| format!("--serial {}", typed(serial))),
        ];
        let said: Vec<String> = said.into_iter().flatten().collect();
        said.join(" ") + &self.at_station(Some(station))
    }

    /// `stack found --back` and `stack built --back`.
    pub(crate) fn stack_back(&mut self, station: &Name, stage: Stage) -> Answer {
        let (job, state) = self.job_of(station)?;
        let newest = state.stack(stage).last().and_then(|item| {
            let part = state.opened.plan.plan.parts.get(usize::from(item.part))?;
            Some(part.name.clone())
        });
        let name = newest.ok_or_else(|| {
            Refusal::input("nothing is on the list of the stack", "nothing to take off")
        })?;
        self.push(Body::StackTaken { job, stage });
        Ok(self.stacked(job, stage, name))
    }

    fn stacked(&self, job: Seq, stage: Stage, part: Name) -> Done {
        let count = |many: usize| u32::try_from(many).unwrap_or(u32::MAX);
        let state = self.bench.jobs.get(&job);
        let placed = state.map_or(0, |state| count(state.stack(stage).len()));
        let planned = state.map_or(0, |state| state.opened.plan.plan.stack.len());
        let found = state.map_or(0, |state| state.found.len());
        let of = match stage {
            Stage::Built if planned == 0 => Some(found).filter(|found| *found > 0),
            Stage::Built | Stage::Found => Some(planned).filter(|planned| *planned > 0),
        };
        let next = state.filter(|_| stage == Stage::Built).and_then(|state| next_mark(state));
        Done::Stacked { stage, part, placed, of: of.map(count), next }
    }

    /// Taking apart is only written down; where it differs from the plan, an alert says so.
    fn tell_what_was_wrong(&mut self, job: Seq, state: &Job, item: &StackItem, name: &Name) {
        let plan = &state.opened.plan.plan;
        let Some(place) = plan.stack.iter().find(|place| place.part == item.part) else { return };
        let wrong_way = place.towards_nose.as_ref().zip(item.towards_nose.as_ref());
        if let Some((asked, found)) = wrong_way.filter(|(asked, found)| asked != found) {
            let text =
                format!("{name} sat with {found} towards the nose; the plan asks for {asked}.");
            let about = Some(Subject::Part(name.clone()));
            let alert = Alert::new(about, AlertKind::Stack, text);
            self.raise(Alert { job: Some(job), ..alert });
        }
    }
}

/// The part that goes on next, and where its mark belongs where its high spot opposes others.
fn next_mark(job: &Job) -> Option<(Name, spots::Opposing)> {
    let part = order(job).get(job.built.len()).copied()?;
    let place = place_of(job, part);
    if place.is_some_and(|place| place.mark_deg.is_some()) {
        return None;
    }
    let found = job.found.iter().find(|found| found.part == part);
    let asked = place.and_then(|place| place.towards_nose.as_deref());
    let way = asked.or_else(|| found.and_then(|found| found.towards_nose.as_deref()));
    let name = job.opened.plan.plan.parts.get(usize::from(part))?.name.clone();
    Some((name, spots::opposing(job, part, way)?))
}

/// What the plan says of a part's place.
fn place_of(job: &Job, part: u16) -> Option<&StackPlace> {
    job.opened.plan.plan.stack.iter().find(|place| place.part == part)
}

/// Whether an item states everything the plan asks for its part.
fn whole(job: &Job, item: &StackItem, name: &Name) -> Result<(), Refusal> {
    let planned = !job.opened.plan.plan.stack.is_empty();
    let Some(place) = place_of(job, item.part) else {
        return if planned {
            Err(Refusal::input(
                format!("{name} does not belong in the stack of this plan"),
                format!(
                    "its parts are: {}",
                    names(job, job.opened.plan.plan.stack.iter().map(|p| p.part))
                ),
            ))
        } else {
            Ok(())
        };
    };
    match &item.towards_nose {
        Some(way) if !place.ways.is_empty() && !place.ways.contains(way) => Err(Refusal::input(
            format!("{name} has no face {way:?}"),
            format!("its faces are: {}", place.ways.join(", ")),
        )),
        None if !place.ways.is_empty() => Err(Refusal::input(
            format!("which face of {name} is towards the nose?"),
            format!("add `--towards-nose` with one of: {}", place.ways.join(", ")),
        )),
        Some(_) | None if place.marked && item.mark_deg.is_none() => Err(Refusal::input(
            format!("where does the mark of {name} stand?"),
            "add `--mark DEGREES`, from the index mark of the shaft",
        )),
        Some(_) | None => Ok(()),
    }
}

/// The parts of the stack in order: that of the plan, otherwise as they were found.
fn order(job: &Job) -> Vec<u16> {
    let planned: Vec<u16> = job.opened.plan.plan.stack.iter().map(|place| place.part).collect();
    if planned.is_empty() { job.found.iter().map(|item| item.part).collect() } else { planned }
}

fn names(job: &Job, parts: impl Iterator<Item = u16>) -> String {
    let all = &job.opened.plan.plan.parts;
    let name = |part: u16| all.get(usize::from(part)).map(|part| part.name.as_str());
    parts.filter_map(name).collect::<Vec<_>>().join(", ")
}

/// Whether an item is the right next one.
fn fits(job: &Job, item: &StackItem, name: &Name) -> Result<(), Refusal> {
    let order = order(job);
    if order.is_empty() {
        return Err(Refusal::input(
            "nobody wrote down how the stack was",
            "write it down first with `tenths stack found PART`, or give the plan a [[stack]]",
        ));
    }
    let Some(next) = order.get(job.built.len()).copied() else {
        return Err(Refusal::input(
            format!("the stack is whole; {name} has no place in it"),
            "see `tenths job show`",
        ));
    };
    if next != item.part {
        return Err(Refusal::input(
            format!("{} goes on next, not {name}", names(job, std::iter::once(next))),
            format!("from the nose inwards: {}", names(job, order.into_iter())),
        ));
    }
    let found = job.found.iter().find(|found| found.part == item.part);
    let place = place_of(job, item.part);
    let asked = place.and_then(|place| place.towards_nose.as_ref());
    let way = asked.or_else(|| found.and_then(|found| found.towards_nose.as_ref()));
    if let Some(way) = way.filter(|way| item.towards_nose.as_ref() != Some(way)) {
        let Some(is) = item.towards_nose.as_deref() else {
            let why = if asked.is_some() { "as the plan asks" } else { "as it was found" };
            return Err(Refusal::input(
                format!("which face of {name} is towards the nose?"),
                format!("say which face is towards the nose: `--towards-nose {way}` ({why})"),
            ));
        };
        return Err(Refusal::input(
            format!("{name} goes with {way} towards the nose, not {is}"),
            "turn it over before the nut goes on",
        ));
    }
    mark_fits(place, item, name)?;
    serial_fits(job, item, name)
}

fn mark_fits(place: Option<&StackPlace>, item: &StackItem, name: &Name) -> Result<(), Refusal> {
    let both = place.and_then(|place| place.mark_deg).zip(item.mark_deg);
    let Some((asked, is)) = both else { return Ok(()) };
    let apart = asked.abs_diff(is) % 360;
    if apart.min(360 - apart) <= MARK_WITHIN_DEG {
        return Ok(());
    }
    Err(Refusal::input(
        format!("the mark of {name} belongs at {asked} degrees, not at {is}"),
        format!("turn it until they agree within {MARK_WITHIN_DEG} degrees"),
    ))
}

fn serial_fits(job: &Job, item: &StackItem, name: &Name) -> Result<(), Refusal> {
    let expected = job.serial_of(item.part);
    match (expected, &item.serial) {
        (Some(expected), Some(is)) if expected != is => Err(Refusal::input(
            format!("{name} should have the serial number {expected}, not {is}"),
            format!(
                "report the new part first: `tenths replace {} --serial {} --why TEXT`",
                typed(name.as_str()),
                typed(is)
            ),
        )),
        (Some(_) | None, Some(_) | None) => Ok(()),
    }
}

/// Refuses work at the nut until the stack below it is complete and right.
pub(crate) fn before_the_nut(job: &Job, part: &Part, check: &Check) -> Result<(), Refusal> {
    let order = order(job);
    let missing: Vec<u16> = order.iter().skip(job.built.len()).copied().collect();
    let planned = !job.opened.plan.plan.stack.is_empty();
    if !gate::at_the_nut(part, check) || !planned || missing.is_empty() {
        return Ok(());
    }
    Err(Refusal::input(
        format!("the stack is not whole: {} still to go on", names(job, missing.into_iter())),
        "build it up with `tenths stack built PART` before the nut goes on",
    ))
}
