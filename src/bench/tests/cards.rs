//! The card of a job: what was said, serial numbers, decisions, signatures; and where the job stands by them.

use std::sync::Arc;

use crate::Bench;
use crate::event::{Command, Event, Request, ToSign};
use crate::fact::row::{Body, IntakeItem, Outcome, Role, Stage};
use crate::fact::seq::Seq;
use crate::fate::Fate;
use crate::flow::{Flow, StepState};
use crate::plan::{Part, PartKind, StackPlace, Step};
use crate::reply::{Done, Refusal};
use crate::tests::kit::{Kit, face, name, refused};

fn intake(kit: &mut Kit, told: &[(IntakeItem, &str)]) -> Result<Done, Refusal> {
    let told = told.iter().map(|(what, text)| (*what, (*text).to_owned())).collect();
    kit.ask(Command::JobIntake { name: "j1".to_owned(), told })
}

fn serial(kit: &mut Kit, part: &str, number: &str) -> Result<Option<String>, Refusal> {
    let (part, serial) = (part.to_owned(), number.to_owned());
    let done = kit.ask(Command::Serial { part, serial })?;
    let Done::Serial { before, .. } = done else { panic!("{done:?}") };
    Ok(before)
}

fn decide(kit: &mut Kit, outcome: Outcome, why: &str) -> Result<Option<String>, Refusal> {
    let (part, why) = ("ring".to_owned(), why.to_owned());
    let done = kit.ask(Command::Decide { part, outcome, why })?;
    let Done::Decided { mind, .. } = done else { panic!("{done:?}") };
    Ok(mind)
}

/// Signs by a person, with the seal of the newest row, or of one that many rows before.
fn sign(
    kit: &mut Kit,
    role: Role,
    (by, why): (Option<&str>, Option<&str>),
    older: u64,
) -> Result<Vec<String>, Refusal> {
    let seal = ("seal".to_owned(), Seq(kit.bench.last.0 - older));
    let known = Some(Arc::new(ToSign { seal, closed: None }));
    let (job, why) = ("j1".to_owned(), why.map(str::to_owned));
    let command = Command::Sign { job, role, why, known };
    let by = by.map(str::to_owned);
    let request = Request { station: None, by, login: None, command };
    let Done::Signed { mind, .. } = kit.event(&Event::Request(request)).reply.unwrap()? else {
        panic!("signed")
    };
    Ok(mind)
}

fn measured() -> Kit {
    let mut kit = Kit::new(vec![face("face")]);
    kit.measure("ring/face").unwrap();
    kit.send(&["0"; 8]);
    kit
}

#[test]
fn what_was_said_is_kept_each_time_it_changes_and_only_then() {
    let mut kit = Kit::new(vec![face("face")]);
    let text = refused(&mut kit, |kit| intake(kit, &[]));
    assert!(text.contains("there is nothing to write down; add `--complaint`"), "{text}");
    for said in ["", "  ", "\n", &"x".repeat(2001)] {
        let both = [(IntakeItem::Asked, "a new nose"), (IntakeItem::Complaint, said)];
        let text = refused(&mut kit, |kit| intake(kit, &both));
        assert!(text.contains("what the customer says is wrong: 1 to 2000 characters"), "{text}");
    }
    intake(&mut kit, &[(IntakeItem::Complaint, " it sings "), (IntakeItem::Asked, "quiet")])
        .unwrap();
    intake(&mut kit, &[(IntakeItem::Complaint, "it sings"), (IntakeItem::Asked, "quieter")])
        .unwrap();
    intake(&mut kit, &[(IntakeItem::Limits, &"ü".repeat(2000))]).unwrap();
    let of = |row: &crate::Row| {
        if let Body::Intake { text, .. } = &row.body { Some(text.clone()) } else { None }
    };
    let rows: Vec<String> = kit.rows.iter().filter_map(of).collect();
    assert_eq!(rows[..3], ["it sings", "quiet", "quieter"]);
    assert_eq!(rows.len(), 4);
    let told = kit.job().card.told.clone();
    assert_eq!(told[&IntakeItem::Asked], "quieter");
    assert_eq!(told[&IntakeItem::Limits].chars().count(), 2000);
    let text = refused(&mut kit, |kit| {
        let told = vec![(IntakeItem::Asked, "x".to_owned())];
        kit.ask(Command::JobIntake { name: "j2".to_owned(), told })
    });
    assert!(text.contains("j2"), "{text}");
}

#[test]
fn a_serial_number_is_one_line_and_that_of_a_piece() {
    let mut kit = Kit::new(vec![face("face")]);
    for wrong in ["", " \t", "A\u{1b}[2J", "A\nB", "A\u{7f}B", &"7".repeat(101)] {
        let text = refused(&mut kit, |kit| serial(kit, "ring", wrong));
        assert!(text.starts_with("a serial number is one line of 1 to 100 characters"), "{text}");
    }
    let text = refused(&mut kit, |kit| serial(kit, "rin", "A1"));
    assert!(text.contains("rin"), "{text}");
    assert_eq!(serial(&mut kit, "ring", " A1 ").unwrap(), None);
    let rows = kit.rows.len();
    assert_eq!(serial(&mut kit, "ring", "A1").unwrap(), None, "the same again");
    assert_eq!(kit.rows.len(), rows);
    assert_eq!(serial(&mut kit, "ring", &"é".repeat(100)).unwrap().as_deref(), Some("A1"));
    // A new piece has its own, or none.
    let replace = |kit: &mut Kit, serial: Option<&str>| {
        let (part, why) = ("ring".to_owned(), "cracked".to_owned());
        kit.ask(Command::Replace { part, serial: serial.map(str::to_owned), why }).unwrap();
    };
    replace(&mut kit, Some("B1"));
    assert_eq!(kit.job().serial_of(0), Some("B1"));
    assert_eq!(serial(&mut kit, "ring", "B2").unwrap().as_deref(), Some("B1"));
    replace(&mut kit, None);
    assert_eq!(kit.job().serial_of(0), None);
    assert_eq!(serial(&mut kit, "ring", "C1").unwrap(), None);
    assert_eq!(kit.job().serial_of(0), Some("C1"));
}

#[test]
fn a_decision_has_a_reason_and_says_what_is_still_to_do() {
    let mut kit = Kit::new(vec![face("face")]);
    for (why, said) in [
        ("", "nothing is decided without a reason; add `--why"),
        ("\u{a0} \n", "nothing is decided without a reason"),
        (&"x".repeat(2001), "a reason has 2000 characters at most; shorten it"),
    ] {
        let text = refused(&mut kit, |kit| decide(kit, Outcome::Kept, why));
        assert!(text.contains(said), "{text}");
    }
    assert_eq!(decide(&mut kit, Outcome::Kept, &"x".repeat(2000)).unwrap(), None);
    let mind = decide(&mut kit, Outcome::Reground, "fretted").unwrap().unwrap();
    assert!(
        mind.starts_with("No grind of ring is on the record yet: `tenths remeasure ground"),
        "{mind}"
    );
    let mind = decide(&mut kit, Outcome::Replaced, "cracked").unwrap().unwrap();
    assert!(mind.starts_with("No new ring is on the record yet: `tenths replace ring"), "{mind}");
    let job = kit.job();
    let fate = Fate::of(&job, 0).unwrap();
    assert_eq!((fate.why(), fate.overtaken()), (Some("cracked"), None));
    assert_eq!(job.card.decided[&0].len(), 3, "each is kept");
    // Kept in the end: replaced was overtaken by nothing but a word.
    decide(&mut kit, Outcome::Kept, "it is well").unwrap();
    let job = kit.job();
    let fate = Fate::of(&job, 0).unwrap();
    assert_eq!((fate.outcome, fate.done, fate.to_do), (Outcome::Kept, None, None));
    let (part, why) = ("ring".to_owned(), "dropped".to_owned());
    kit.ask(Command::Replace { part, serial: None, why }).unwrap();
    let job = kit.job();
    let fate = Fate::of(&job, 0).unwrap();
    assert_eq!(fate.overtaken().map(|said| said.why.as_str()), Some("it is well"));
    assert_eq!((fate.outcome, fate.why()), (Outcome::Replaced, None), "its own row has the reason");
    let text = refused(&mut kit, |kit| decide(kit, Outcome::Kept, "no"));
    assert!(text.contains("ring was replaced by a new one already"), "{text}");
}

#[test]
fn a_signature_is_by_a_person_over_what_is_in_the_record() {
    let mut kit = measured();
    for (role, said) in [
        (Role::Measured, "it is not known who measured the job; say it with `--by NAME`"),
        (Role::Checked, "it is not known who checked the job"),
        (Role::Accepted, "it is not known who accepts the job"),
    ] {
        let text = refused(&mut kit, |kit| sign(kit, role, (None, None), 0));
        assert!(text.contains(said), "{text}");
    }
    let changed = kit.job().card.changed;
    let older = kit.bench.last.0 - changed.0 + 1;
    let text = refused(&mut kit, |kit| sign(kit, Role::Measured, (Some("ann"), None), older));
    assert!(text.contains("what was measured last is not in the record yet"), "{text}");
    let mind = sign(&mut kit, Role::Measured, (Some("ann"), None), older - 1).unwrap();
    assert!(mind.is_empty(), "{mind:?}");
    // Measured by nobody who was named, so nobody's own work is checked.
    sign(&mut kit, Role::Checked, (Some("ben"), None), 0).unwrap();
    let job = kit.job();
    for role in [Role::Measured, Role::Checked] {
        let signature = job.card.signature(role).unwrap();
        assert!(!job.card.is_earlier(signature), "a signature changes nothing that was measured");
    }
    assert!(job.card.signature(Role::Accepted).is_none());
    // Something new makes both of an earlier state, and the newest signature counts.
    kit.ask(Command::Note { job: "j1".to_owned(), text: "late".to_owned(), closed: None }).unwrap();
    serial(&mut kit, "ring", "A1").unwrap();
    let job = kit.job();
    assert!(job.card.is_earlier(job.card.signature(Role::Measured).unwrap()));
    sign(&mut kit, Role::Measured, (Some("ann"), None), 0).unwrap();
    let job = kit.job();
    assert!(!job.card.is_earlier(job.card.signature(Role::Measured).unwrap()));
    assert!(job.card.is_earlier(job.card.signature(Role::Checked).unwrap()));
    assert_eq!(job.card.signed.len(), 3);
}

#[test]
fn a_signature_beside_what_lacks_has_a_reason_and_says_so() {
    let mut kit = Kit::new(vec![face("face")]);
    let text = refused(&mut kit, |kit| sign(kit, Role::Measured, (Some("ann"), None), 0));
    assert!(text.contains("job j1 is not signed as measured"), "{text}");
    assert!(text.contains("ring/face is not measured"), "{text}");
    let empty = refused(&mut kit, |kit| sign(kit, Role::Measured, (Some("ann"), Some("  ")), 0));
    assert!(empty.contains("not signed as measured"), "{empty}");
    let mind = sign(&mut kit, Role::Measured, (Some("ann"), Some("sent out")), 0).unwrap();
    assert_eq!(mind, ["It stands beside the signature that ring/face is not measured."]);
    let signed = kit.job().card.signed[0].signed.clone();
    assert_eq!((signed.why.as_deref(), signed.lacking.len()), (Some("sent out"), 1));
}

#[test]
fn who_measured_alone_and_checks_is_told_that_this_is_no_second_person() {
    let mut kit = Kit::new(vec![face("face")]);
    kit.ask(Command::Person { name: Some("ann".to_owned()) }).unwrap();
    kit.measure("ring/face").unwrap();
    kit.send(&["0"; 8]);
    let mind = sign(&mut kit, Role::Checked, (Some("ann"), None), 0).unwrap();
    assert_eq!(mind, ["ann measured it, too: no second person's check."]);
    assert!(sign(&mut kit, Role::Checked, (Some("ben"), None), 0).unwrap().is_empty());
    assert!(sign(&mut kit, Role::Measured, (Some("ann"), None), 0).unwrap().is_empty());
}

fn state(kit: &Kit, step: Step) -> (StepState, u32, u32) {
    let flow = Flow::of(&kit.job(), false);
    let now = flow.steps.iter().find(|one| one.step == step).unwrap();
    (now.state, now.done, now.of)
}

/// A whole rebuild of one bearing on its shaft.
fn rebuild() -> Kit {
    let part = |of: &str, kind| Part { name: name(of), kind, checks: Vec::new() };
    let place = StackPlace {
        part: 1,
        ways: Vec::new(),
        towards_nose: None,
        marked: false,
        mark_deg: None,
        opposes: None,
        marks: 12,
    };
    Kit::of(vec![part("shaft", PartKind::Shaft), part("bearing", PartKind::Bearing)], vec![place])
}

fn stack(kit: &mut Kit, stage: Stage) {
    let (part, towards_nose, mark_deg) = ("bearing".to_owned(), None, None);
    kit.ask(Command::StackPlace { stage, part, towards_nose, mark_deg, serial: None, why: None })
        .unwrap();
}

#[test]
fn a_rebuild_goes_from_intake_to_hand_over_and_is_told_what_stands_before_the_next_step() {
    let mut kit = rebuild();
    let now = |kit: &Kit| {
        let flow = Flow::of(&kit.job(), false);
        (flow.now, flow.hindered_by.unwrap_or_default())
    };
    let (step, before) = now(&kit);
    assert_eq!(step, Some(Step::Intake));
    assert_eq!(
        before,
        "Before the teardown: nobody wrote down what is wrong and what was asked for."
    );
    intake(&mut kit, &[(IntakeItem::Complaint, "it sings")]).unwrap();
    assert_eq!(
        now(&kit),
        (
            Some(Step::Teardown),
            "Before the assembly: bearing is not written down as it was found.".to_owned(),
        )
    );
    stack(&mut kit, Stage::Found);
    assert_eq!(now(&kit).0, Some(Step::Assembly));
    // A decision opens two steps: one to decide, which is done, and one to do it.
    let (part, why) = ("bearing".to_owned(), "worn".to_owned());
    kit.ask(Command::Decide { part, outcome: Outcome::Replaced, why }).unwrap();
    assert_eq!(state(&kit, Step::Decide), (StepState::Done, 1, 1));
    assert_eq!(state(&kit, Step::Bearings), (StepState::Open, 0, 1));
    assert_eq!(state(&kit, Step::Grind).0, StepState::NotPart);
    assert_eq!(
        now(&kit),
        (Some(Step::Bearings), "Before the assembly: bearing is to be replaced.".to_owned(),)
    );
    let (part, why) = ("bearing".to_owned(), "worn".to_owned());
    kit.ask(Command::Replace { part, serial: Some("N1".to_owned()), why }).unwrap();
    assert_eq!(state(&kit, Step::Bearings).0, StepState::NotPart);
    stack(&mut kit, Stage::Built);
    assert_eq!(state(&kit, Step::Assembly), (StepState::Done, 1, 1));
    assert_eq!(
        state(&kit, Step::HandOver),
        (StepState::Open, 0, 4),
        "three signatures, and closed"
    );
    sign(&mut kit, Role::Measured, (Some("ann"), None), 0).unwrap();
    assert_eq!(state(&kit, Step::HandOver), (StepState::UnderWay, 1, 4));
    // Taken down again: the signature is of an earlier state, and the job is back at its assembly.
    kit.ask(Command::StackBack { stage: Stage::Built }).unwrap();
    assert_eq!(state(&kit, Step::HandOver), (StepState::Hindered, 0, 4));
    assert_eq!(now(&kit).0, Some(Step::Assembly));
    let rebuilt = Bench::rebuilt(&kit.rows, kit.bench.last, kit.bench.feed);
    assert_eq!(Flow::of(rebuilt.jobs.values().next().unwrap(), false), Flow::of(&kit.job(), false));
}
