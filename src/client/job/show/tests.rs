//! What `job show` prints.

use std::sync::Arc;

use super::*;
use ::bench::plan::{Ask, Entry, Measures, PinnedPlan, Plan};
use ::bench::row::{AttemptBegan, AttemptReason, Body, Ending, JobOpened, Pin};
use ::bench::{Bench, ENGINE, Row, Seq};
use ::record::{ReplacedPart, StackRecord};
use judgement::Rule;
use quantity::{Name, Stamp, Wall};

const PLAN: &str = "name = \"head\"\nunit = \"in\"\n[[part]]\nname = \"nut\"\nkind = \"nut\"\n\
    [[part.check]]\nname = \"face\"\nmeasures = \"parallelism\"\ngauge = \"plate\"\n\
    setup = \"plate\"\nmoves = \"ring\"\npositions = 8\nradius = \"1.5 in\"\n\
    tolerance = \"0.0001 in\"\n";

fn name(text: &str) -> Name {
    Name::new(text).unwrap()
}

/// A plan with a question and an entry beside a face.
fn plan() -> Plan {
    let mut plan = config::parse_plan(PLAN, "head.toml").unwrap();
    let checks = &mut plan.parts[0].checks;
    let bare = |called: &str, measures| Check {
        name: name(called),
        gauge: None,
        limits: None,
        measures,
        ..checks[0].clone()
    };
    let ask = Ask {
        question: "Does the tongue lock?".to_owned(),
        answers: Vec::new(),
        good: vec!["yes".to_owned()],
    };
    let entry = Entry {
        question: "Torque?".to_owned(),
        unit: Some("Nm".to_owned()),
        thermometer: None,
        columns: None,
        u: None,
    };
    let locked = bare("locked", Measures::from(ask));
    let torque = bare("torque", entry.into());
    checks.extend([locked, torque]);
    plan
}

fn state(bodies: Vec<Body>) -> Arc<Job> {
    let opened = JobOpened {
        name: name("J-7"),
        plan_name: name("head"),
        plan: Arc::new(PinnedPlan { text: PLAN.to_owned(), plan: plan() }),
        serial: None,
        customer: None,
        rule: Rule::Guarded,
    };
    let bodies = std::iter::once(Body::JobOpened(Arc::new(opened))).chain(bodies);
    let at = Stamp { wall: Wall::from_micros(0), mono_us: 0 };
    let rows: Vec<Row> = (1..)
        .zip(bodies)
        .map(|(seq, body)| Row { seq: Seq(seq), at, by: None, body, restored: None })
        .collect();
    Bench::rebuilt_job(&rows, Seq(1)).unwrap()
}

fn answered(check: u16, number: u32, began: u64, text: &str) -> [Body; 3] {
    let attempt = Seq(began);
    let began = AttemptBegan {
        job: Seq(1),
        check: CheckAt { part: 0, check },
        number,
        reason: AttemptReason::First,
        grinds: false,
        pin: Arc::new(Pin {
            gauge: None,
            rule: Rule::Guarded,
            engine: ENGINE,
            unproven: None,
            withheld: false,
            master: None,
            bar: None,
        }),
        shown: None,
        remark: None,
    };
    [
        Body::AttemptBegan(began),
        Body::Answered { attempt, text: text.to_owned() },
        Body::AttemptEnded { attempt, ending: Ending::Complete },
    ]
}

#[test]
fn an_entry_has_its_value_and_what_is_missing_says_not_yet() {
    let job = state(answered(2, 1, 2, "40 Nm").to_vec());
    let text = check_table(&standing(&job, &[]), Unit::Inch).fitted(None).text;
    let rows: Vec<Vec<&str>> = text
        .lines()
        .map(|line| line.split("  ").map(str::trim).filter(|cell| !cell.is_empty()).collect())
        .collect();
    assert_eq!(rows[1], ["nut/face", "parallelism", "not yet"]);
    assert_eq!(rows[2], ["nut/locked", "confirm", "not yet", "Does the tongue lock?"]);
    assert_eq!(rows[3], ["nut/torque", "entry", "written down", "40 Nm", "1", "Torque?"]);
}

#[test]
fn what_was_found_of_a_replaced_part_is_not_shown_as_the_new_ones() {
    let mut bodies = answered(2, 1, 2, "40 Nm").to_vec();
    let replaced =
        Body::PartReplaced { job: Seq(1), part: 0, serial: None, why: "stripped".to_owned() };
    bodies.push(replaced);
    let torque = |job: &Job| standing(job, &[]).pop().unwrap().0;
    assert_eq!(torque(&state(bodies.clone())).answer, None);
    bodies.extend(answered(2, 2, 6, "38 Nm"));
    let again = torque(&state(bodies));
    assert_eq!((again.answer.as_deref(), again.attempt), (Some("38 Nm"), Some(2)));
}

#[test]
fn the_stack_and_new_parts_have_a_line_each() {
    let bare = StackedPart {
        part: name("shield"),
        towards_nose: None,
        mark_deg: None,
        serial: None,
        by: None,
        caller: None,
    };
    let turned = StackedPart {
        part: name("bearing-1"),
        towards_nose: Some("thrust-side".to_owned()),
        mark_deg: Some(0),
        serial: Some("B7\u{1b}[2J".to_owned()),
        by: Some(name("Ada")),
        caller: None,
    };
    let at = Wall::parse("2027-03-01T14:30:00Z").unwrap();
    let replaced = |serial: Option<&str>| ReplacedPart {
        at,
        by: serial.map(|_| name("M. Weber")),
        part: name("bearing-1"),
        serial: serial.map(str::to_owned),
        why: "bore worn".to_owned(),
        caller: None,
    };
    let mut job = JobRecord {
        callers: [None, None],
        id: Seq(1),
        name: name("J-7"),
        plan_name: name("head"),
        plan: Arc::new(PinnedPlan { text: PLAN.to_owned(), plan: plan() }),
        serial: None,
        customer: None,
        by: None,
        opened_at: at,
        closed_at: None,
        closed_by: None,
        notes: Vec::new(),
        rule: judgement::Rule::Guarded,
        rules: Vec::new(),
        signed: Vec::new(),
        told: Vec::new(),
        edits: Vec::new(),
        decided: Vec::new(),
        serials: Vec::new(),
        flow: None,
        stack: StackRecord::default(),
        replaced: Vec::new(),
        went_on: Vec::new(),
        attached: Vec::new(),
    };
    assert_eq!(assembly(&job, &TimeZone::UTC), "", "nothing is said of nothing");
    job.stack = StackRecord {
        found: vec![turned, bare.clone()],
        built: vec![bare],
        ..StackRecord::default()
    };
    job.replaced = vec![replaced(Some("B8")), replaced(None)];
    let expected = "stack as found, from the nose: bearing-1 (thrust-side to the nose, mark at 0, \
        serial B7\\x1b[2J, by Ada), shield\n\
        stack as built, from the nose: shield\n\
        replaced 2027-03-01 14:30:00 by M. Weber: bearing-1, serial B8: bore worn\n\
        replaced 2027-03-01 14:30:00: bearing-1: bore worn\n";
    assert_eq!(assembly(&job, &TimeZone::UTC), expected);
}
