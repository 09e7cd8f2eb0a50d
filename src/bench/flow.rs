//! Where a job stands. It is worked out from plan and record each time; nothing here is stored.

pub mod words;

use crate::fact::row::{Lack, Role, Stage};
use crate::fate::Fate;
use crate::gate;
use crate::plan::{CheckAt, PartKind, Step};
use crate::state::Job;
use crate::state::card::Signature;
use crate::words::target;

quantity::worded! {
    /// How far a step is.
    #[derive(Debug, Clone, Copy, PartialEq, Eq)]
    pub enum StepState {
        /// This job has nothing of it.
        NotPart = "not-part",
        /// Nothing of it is done.
        Open = "open",
        /// Some of it is done.
        UnderWay = "under-way",
        /// All of it is done.
        Done = "done",
        /// Something of it is done and not in order.
        Hindered = "hindered",
    }
}

/// One step of a job.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StepNow {
    /// Which.
    pub step: Step,
    /// How far it is.
    pub state: StepState,
    /// How many of its tasks are done.
    pub done: u32,
    /// How many it has: its checks, its parts, its signatures.
    pub of: u32,
    /// What is not done or not in order, the worst first: `nut/face does not conform`.
    pub hindered_by: Vec<String>,
}

/// Where a job stands.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Flow {
    /// All twelve steps, in order.
    pub steps: Vec<StepNow>,
    /// The step that the job is at; `None` where every step is done.
    pub now: Option<Step>,
    /// What stands before the next step, as a sentence; `None` where every step is done.
    pub hindered_by: Option<String>,
}

/// How far one task of a step is. The order is that in which they are told.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum How {
    /// It is done and not in order.
    Fault,
    /// It is begun.
    Begun,
    /// Nobody began it.
    Missing,
    /// It is done.
    Done,
}

/// One task of a step.
struct Task {
    how: How,
    /// What is to be told of it while it is not done.
    words: String,
}

impl Task {
    fn of(done: bool, words: impl FnOnce() -> String) -> Self {
        if done {
            Self { how: How::Done, words: String::new() }
        } else {
            Self { how: How::Missing, words: words() }
        }
    }
}

impl Flow {
    /// Where a job stands that is open, or closed.
    #[must_use]
    pub fn of(job: &Job, closed: bool) -> Self {
        let steps = Step::ALL.map(|step| step_now(step, &tasks(job, closed, step)));
        let steps = Vec::from(steps);
        let now = current(&steps, closed);
        let hindered_by = now.and_then(|now| words::before_the_next(&steps, now));
        Self { steps, now, hindered_by }
    }

    /// The step that the job is at.
    #[must_use]
    pub fn at(&self) -> Option<&StepNow> {
        self.steps.iter().find(|one| Some(one.step) == self.now)
    }

    /// The steps that belong to the job.
    pub fn own(&self) -> impl Iterator<Item = &StepNow> {
        self.steps.iter().filter(|one| one.state != StepState::NotPart)
    }
}

fn step_now(step: Step, tasks: &[Task]) -> StepNow {
    let count = |many: usize| u32::try_from(many).unwrap_or(u32::MAX);
    let is = |how: How| move |task: &&Task| task.how == how;
    let done = tasks.iter().filter(is(How::Done)).count();
    let state = if tasks.is_empty() {
        StepState::NotPart
    } else if tasks.iter().any(|task| task.how == How::Fault) {
        StepState::Hindered
    } else if done == tasks.len() {
        StepState::Done
    } else if done == 0 && !tasks.iter().any(|task| task.how == How::Begun) {
        StepState::Open
    } else {
        StepState::UnderWay
    };
    let mut left: Vec<&Task> = tasks.iter().filter(|task| task.how != How::Done).collect();
    left.sort_by_key(|task| task.how);
    let hindered_by = left.into_iter().map(|task| task.words.clone()).collect();
    StepNow { step, state, done: count(done), of: count(tasks.len()), hindered_by }
}

/// The step that the job is at: the last one that was begun; where that is done, the next one after it that
/// is not; where there is none, the first that was passed over.
fn current(steps: &[StepNow], closed: bool) -> Option<Step> {
    let own = |one: &StepNow| one.state != StepState::NotPart;
    let open = |one: &&StepNow| own(one) && one.state != StepState::Done;
    let rest_is_done = !steps.iter().any(|one| open(&one) && one.step != Step::HandOver);
    let begun = |one: &StepNow| {
        if one.step == Step::HandOver {
            // A job may be signed on the way; it is handed over when nothing else is left.
            return closed || (rest_is_done && one.done > 0);
        }
        own(one) && one.state != StepState::Open
    };
    let last = steps.iter().rposition(begun).unwrap_or(0);
    let later = steps.iter().skip(last).find(open);
    later.or_else(|| steps.iter().find(open)).map(|one| one.step)
}

/// What belongs to a step.
fn tasks(job: &Job, closed: bool, step: Step) -> Vec<Task> {
    let plan = &job.opened.plan.plan;
    let own = plan.places().filter(|at| plan.step_of(*at) == Some(step));
    let mut tasks: Vec<Task> = own.filter_map(|at| of_check(job, at)).collect();
    match step {
        Step::Intake => tasks.extend(of_intake(job)),
        Step::Teardown => tasks.extend(of_stack(job, Stage::Found)),
        Step::Decide => tasks.extend(of_decisions(job)),
        Step::Grind => tasks.extend(to_be_done(job, |kind| kind != PartKind::Bearing)),
        Step::Bearings => tasks.extend(to_be_done(job, |kind| kind == PartKind::Bearing)),
        Step::Assembly => tasks.extend(of_stack(job, Stage::Built)),
        Step::HandOver => tasks.extend(of_hand_over(job, closed)),
        Step::Inspection | Step::Pair | Step::Nut | Step::RunIn | Step::Final => {}
    }
    tasks
}

/// A check. The "as found" side of another says how the spindle came in, good or bad.
fn of_check(job: &Job, at: CheckAt) -> Option<Task> {
    let plan = &job.opened.plan.plan;
    let (part, check) = plan.at(at)?;
    let how = match gate::lack(job, at) {
        None => How::Done,
        Some(Lack::NotMeasured) => How::Missing,
        Some(Lack::Incomplete | Lack::AskedAgain) => How::Begun,
        Some(_) if plan.is_found_side(at) => How::Done,
        Some(Lack::DoesNotConform | Lack::Undecided | Lack::MetalChanged | Lack::Outdated) => {
            How::Fault
        }
    };
    let lack = gate::lack(job, at).filter(|_| how != How::Done);
    let words =
        lack.map_or_else(String::new, |lack| format!("{} {}", target(part, check), lack.words()));
    Some(Task { how, words })
}

/// Whether the plan is that of a whole rebuild: what comes apart is put together again.
fn is_whole(job: &Job) -> bool {
    !job.opened.plan.plan.stack.is_empty()
}

fn of_intake(job: &Job) -> Option<Task> {
    let told = !job.card.told.is_empty();
    let due = told || is_whole(job);
    due.then(|| Task::of(told, || words::NOTHING_TOLD.to_owned()))
}

/// The parts of the stack, as it is taken apart or built.
fn of_stack(job: &Job, stage: Stage) -> Vec<Task> {
    let plan = &job.opened.plan.plan;
    let on = |part: u16| job.stack(stage).iter().any(|item| item.part == part);
    let named = |part: u16| plan.parts.get(usize::from(part)).map(|part| part.name.as_str());
    let one = |part: u16| {
        let name = named(part)?;
        Some(Task::of(on(part), || words::not_on(name, stage)))
    };
    if is_whole(job) {
        return plan.stack.iter().filter_map(|place| one(place.part)).collect();
    }
    // Without a stack in the plan, it is built as it was found.
    job.found.iter().filter_map(|item| one(item.part)).collect()
}

/// The parts that were inspected, and those that somebody decided about.
fn of_decisions(job: &Job) -> Vec<Task> {
    let plan = &job.opened.plan.plan;
    let inspected = |part: u16| {
        plan.places().filter(|at| at.part == part).any(|at| {
            let measured = plan.at(at).is_some_and(|(_, check)| !check.traits().is_answered());
            measured && plan.step_of(at) == Some(Step::Inspection)
        })
    };
    let parts = (0_u16..).zip(&plan.parts);
    let due = parts.filter(|(part, _)| inspected(*part) || job.card.decided.contains_key(part));
    let task = |(index, part): (u16, &crate::plan::Part)| {
        Task::of(Fate::of(job, index).is_some(), || words::not_decided(part.name.as_str()))
    };
    due.map(task).collect()
}

/// The parts that are to be reground or replaced, and are not yet.
fn to_be_done(job: &Job, of: impl Fn(PartKind) -> bool) -> Vec<Task> {
    let parts = (0_u16..).zip(&job.opened.plan.plan.parts);
    let task = |(index, part): (u16, &crate::plan::Part)| {
        let to_do = Fate::of(job, index).filter(|_| of(part.kind))?.to_do?;
        Some(Task::of(false, || words::to_be(part.name.as_str(), to_do)))
    };
    parts.filter_map(task).collect()
}

/// The signatures of a whole rebuild, or those that were given; and that the job is closed.
fn of_hand_over(job: &Job, closed: bool) -> Vec<Task> {
    let card = &job.card;
    let task = |role: Role| {
        let signed = card.signature(role);
        let earlier = signed.filter(|signed| card.is_earlier(signed));
        Task {
            how: match (signed, earlier) {
                (None, _) => How::Missing,
                (Some(_), Some(_)) => How::Fault,
                (Some(_), None) => How::Done,
            },
            words: earlier.map_or_else(
                || words::not_signed(role),
                |signed: &Signature| words::signed_earlier(role, signed.by.as_ref()),
            ),
        }
    };
    let roles = Role::ALL.into_iter();
    let due = roles.filter(|role| is_whole(job) || card.signature(*role).is_some());
    let mut tasks: Vec<Task> = due.map(task).collect();
    tasks.push(Task::of(closed, || words::NOT_CLOSED.to_owned()));
    tasks
}
