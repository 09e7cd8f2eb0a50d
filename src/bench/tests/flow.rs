//! Where a job stands, and what became of its parts.

use crate::event::Command;
use crate::fact::row::{AttemptReason, Outcome, Role};
use crate::fate::Fate;
use crate::flow::{Flow, StepState};
use crate::plan::Step;
use crate::tests::kit::{Kit, face};

fn flow(kit: &Kit) -> Flow {
    Flow::of(kit.bench.jobs.values().next().unwrap(), false)
}

fn state(kit: &Kit, step: Step) -> StepState {
    flow(kit).steps.iter().find(|one| one.step == step).unwrap().state
}

#[test]
fn a_job_of_one_ring_has_two_steps() {
    let kit = Kit::new(vec![face("face")]);
    let flow = flow(&kit);
    assert_eq!(flow.steps.len(), Step::ALL.len());
    let own: Vec<Step> = flow.own().map(|one| one.step).collect();
    assert_eq!(own, [Step::Grind, Step::HandOver]);
    assert_eq!(flow.now, Some(Step::Grind));
    assert_eq!(
        flow.hindered_by.as_deref(),
        Some("Before the hand-over: ring/face is not measured.")
    );
}

#[test]
fn at_most_three_things_are_named_and_the_rest_is_counted() {
    let checks = ["a", "b", "c", "d", "e"].map(face);
    let kit = Kit::new(checks.to_vec());
    assert_eq!(
        flow(&kit).hindered_by.as_deref(),
        Some(
            "Before the hand-over: ring/a is not measured, ring/b is not measured, ring/c is not \
             measured, and 2 more."
        )
    );
}

#[test]
fn a_closed_job_that_lacks_nothing_is_at_no_step() {
    let kit = Kit::new(Vec::new());
    let job = kit.bench.jobs.values().next().unwrap();
    assert_eq!(Flow::of(job, false).now, Some(Step::HandOver));
    let closed = Flow::of(job, true);
    assert_eq!((closed.now, closed.hindered_by.as_deref()), (None, None));
    assert!(Role::ALL.into_iter().all(|role| job.card.signature(role).is_none()));
}

#[test]
fn what_was_done_beats_what_was_said_whatever_the_order() {
    let mut kit = Kit::new(vec![face("face")]);
    let decide = |kit: &mut Kit, outcome: Outcome| {
        let (part, why) = ("ring".to_owned(), "because".to_owned());
        kit.ask(Command::Decide { part, outcome, why })
    };
    let fate = |kit: &Kit| {
        let job = kit.bench.jobs.values().next().unwrap();
        Fate::of(job, 0).map(|fate| (fate.outcome, fate.done.is_some(), fate.to_do))
    };
    assert_eq!(fate(&kit), None);
    decide(&mut kit, Outcome::Reground).unwrap();
    assert_eq!(fate(&kit), Some((Outcome::Reground, false, Some(Outcome::Reground))));
    assert_eq!(state(&kit, Step::Decide), StepState::Done);
    let target = Some("ring/face".to_owned());
    kit.ask(Command::Measure { target: "ring/face".to_owned(), remark: None }).unwrap();
    kit.ask(Command::Stop).unwrap();
    let ground = Command::Remeasure { reason: AttemptReason::Ground, target, remark: None };
    kit.ask(ground).unwrap();
    assert_eq!(fate(&kit), Some((Outcome::Reground, true, None)));
    assert!(decide(&mut kit, Outcome::Kept).is_err(), "it was ground");
    let (part, why) = ("ring".to_owned(), "cracked".to_owned());
    kit.ask(Command::Replace { part, serial: None, why }).unwrap();
    assert_eq!(fate(&kit), Some((Outcome::Replaced, true, None)));
    for outcome in [Outcome::Kept, Outcome::Replaced] {
        assert!(decide(&mut kit, outcome).is_err(), "{outcome:?}");
    }
    // The new piece may be ground in its turn.
    decide(&mut kit, Outcome::Reground).unwrap();
    assert_eq!(fate(&kit), Some((Outcome::Replaced, true, Some(Outcome::Reground))));
}
