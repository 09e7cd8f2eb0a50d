//! Rounds of grinding, the stack, answers and replaced parts, through the whole bench.
//!
//! Invented readings; expected figures are those of exact arithmetic by an independent program.

use crate::fact::row::{AlertKind, AttemptReason, Stage};
use crate::plan::{Ask, Check, Entry, Measures, Part, PartKind, Size, StackPlace};
use crate::tests::kit::*;
use crate::{Command, Done};
use judgement::{Limits, Word};
use quantity::Unit;

const ROUND_0: [&str; 8] =
    ["0.00031", "0.00027", "0.00017", "0.00007", "0.00004", "0.00008", "0.00019", "0.00028"];
const ROUND_1: [&str; 8] = [
    "-0.00022", "-0.00024", "-0.00029", "-0.00033", "-0.00034", "-0.00031", "-0.00027", "-0.00023",
];
const ROUND_2: [&str; 8] = [
    "-0.00047", "-0.00048", "-0.00049", "-0.00050", "-0.00051", "-0.00050", "-0.00048", "-0.00047",
];

fn remeasure(kit: &mut Kit, reason: AttemptReason) {
    kit.ask(Command::Remeasure { reason, target: None, remark: None }).unwrap();
}

fn ground() -> Check {
    let mut check = face("face");
    check.nominal = Some(inch("2"));
    check
}

fn ring(kit: &mut Kit, readings: &[&str]) {
    for reading in readings {
        kit.press(reading);
    }
}

#[test]
fn a_wedge_is_ground_only_after_the_half_turn_and_the_wheel_is_told() {
    let mut kit = Kit::new(vec![ground()]);
    kit.measure("ring/face").unwrap();
    ring(&mut kit, &ROUND_0);
    let first = kit.verdict();
    assert_eq!(first.word, Word::DoesNotConform);
    assert!(first.figures.take_off.is_empty(), "no grinding advice before the half turn");
    assert!(first.advice.iter().any(|said| said.contains("before the half-turn test")));
    ring(&mut kit, &["0.00030", "0.00004"]);
    let wedge = kit.verdict();
    let off: Vec<String> =
        wedge.figures.take_off.iter().map(|one| one.amount.shown(Unit::Inch)).collect();
    let expected =
        ["0.00027", "0.00023", "0.00013", "0.00003", "0", "0.00004", "0.00015", "0.00024"];
    assert_eq!(off, expected);
    assert_eq!(wedge.figures.leaves.unwrap().shown(Unit::Inch), "1.99994");
    assert!(
        wedge.advice.contains(&"0.00027 ± 0.000024 comes off at 0, nothing at 180.".to_owned())
    );
    remeasure(&mut kit, AttemptReason::Ground);
    ring(&mut kit, &ROUND_1);
    let second = kit.verdict();
    let took = second.figures.took_off.clone().unwrap();
    let at = |position: usize| took.at[position].amount.shown(Unit::Inch);
    assert_eq!((at(0), at(4)), ("0.00053".to_owned(), "0.00038".to_owned()));
    // Nobody touched a master: only the difference is more than a guess.
    assert!(!took.same_zero);
    assert!(
        second.advice.contains(&"The wheel took 0.00015 more at 0 than at 180.".to_owned()),
        "{:?}",
        second.advice
    );
    ring(&mut kit, &["-0.00023", "-0.00034"]);
    remeasure(&mut kit, AttemptReason::Again);
    ring(&mut kit, &["-0.00023", "-0.00024", "-0.00029", "-0.00032"]);
    ring(&mut kit, &["-0.00034", "-0.00031", "-0.00027", "-0.00023"]);
    let both = kit.verdict();
    assert_eq!((both.tries, both.word), (2, Word::Undecided));
    assert_eq!(both.value.unwrap().shown(Unit::Inch), "0.000115");
    remeasure(&mut kit, AttemptReason::Ground);
    ring(&mut kit, &ROUND_2);
    let last = kit.verdict();
    assert_eq!(last.word, Word::Conforms);
    assert_eq!(last.value.unwrap().shown(Unit::Inch), "0.00004");
    let notes = kit.alerts(AlertKind::Regrind);
    assert!(notes[0].starts_with("ring/face was 0.00012, now 0.00004."), "{notes:?}");
}

#[test]
fn with_a_master_the_wheel_is_told_in_full() {
    let mut check = ground();
    check.master = crate::plan::MasterUse::Opening;
    check.master_size = Some(inch("2"));
    let mut kit = Kit::new(vec![check]);
    kit.measure("ring/face").unwrap();
    kit.press("0.00000");
    ring(&mut kit, &ROUND_0);
    remeasure(&mut kit, AttemptReason::Ground);
    // The gauge was set anew, 0.00010 lower.
    kit.press("-0.00010");
    let lower = ["-0.00032", "-0.00034", "-0.00039", "-0.00043", "-0.00044", "-0.00041"];
    ring(&mut kit, &lower);
    ring(&mut kit, &["-0.00037", "-0.00033"]);
    let verdict = kit.verdict();
    let took = verdict.figures.took_off.clone().unwrap();
    assert!(took.same_zero);
    let told = "The wheel took 0.00053 at 0, 0.00038 at 180.".to_owned();
    assert!(verdict.advice.contains(&told), "{:?}", verdict.advice);
    // The removal is a plane like the wedge itself, highest near 0.
    let more = took.more_deg.unwrap().get();
    assert!(!(10.0..=350.0).contains(&more), "{more}");
}

#[test]
fn nothing_is_ground_below_the_drawing_or_from_an_open_circle() {
    let mut length = face("length");
    length.measures = Size::default().into();
    length.limits = Some(Limits::Band { min: inch("1.99995"), max: inch("2.001") });
    let mut kit = Kit::new(vec![ground(), length]);
    kit.measure("ring/face").unwrap();
    ring(&mut kit, &ROUND_0);
    ring(&mut kit, &["0.00030", "0.00004"]);
    let verdict = kit.verdict();
    assert!(verdict.figures.take_off.is_empty());
    assert!(verdict.advice.iter().any(|said| said.starts_with("Do not grind it: 1.9999")));
}

#[test]
fn the_face_that_lies_on_the_plate_comes_first() {
    let mut a = ground();
    a.down = Some("under".to_owned());
    let mut kit = Kit::new(vec![a, face("under")]);
    kit.measure("ring/under").unwrap();
    ring(&mut kit, &ROUND_0);
    kit.measure("ring/face").unwrap();
    ring(&mut kit, &ROUND_0);
    ring(&mut kit, &["0.00030", "0.00004"]);
    let verdict = kit.verdict();
    assert!(verdict.figures.take_off.is_empty());
    assert!(verdict.advice.iter().any(|said| said.starts_with("under lies on the plate")));
}

#[test]
fn high_and_low_that_change_places_are_asked_about_wherever_the_zero_lies() {
    // In hundredths of a thousandth of an inch.
    let round = [31, 27, 17, 7, 4, 8, 19, 28];
    let past_flat = |zero: i32, after: [i32; 8]| {
        let texts = |of: [i32; 8]| of.map(|steps| format!("0.{:05}", zero + steps));
        let mut kit = Kit::new(vec![face("face")]);
        kit.measure("ring/face").unwrap();
        ring(&mut kit, &texts(round).each_ref().map(String::as_str));
        remeasure(&mut kit, AttemptReason::Ground);
        ring(&mut kit, &texts(after).each_ref().map(String::as_str));
        kit.alerts(AlertKind::PastFlat).len()
    };
    for zero in [40, 1000] {
        assert_eq!(past_flat(zero, round.map(|steps| -steps)), 1, "from {zero}");
        assert_eq!(past_flat(zero, round.map(|steps| steps - 20)), 0, "from {zero}");
    }
}

#[test]
fn a_size_two_thou_off_asks_for_the_part() {
    let mut length = face("length");
    length.measures = Size::default().into();
    length.limits = Some(Limits::Band { min: inch("1.4999"), max: inch("1.5001") });
    length.nominal = Some(inch("1.5"));
    let mut kit = Kit::new(vec![length]);
    kit.measure("ring/length").unwrap();
    kit.press("1.50300");
    let asked = kit.alerts(AlertKind::WrongPart);
    assert_eq!(asked, ["ring/length is 0.00300 off size. Right part? Right face?"]);
    kit.ask(Command::Void { id: None, why: None }).unwrap();
    kit.press("1.50001");
    assert!(kit.alerts(AlertKind::WrongPart).is_empty());
}

fn question() -> Check {
    Check {
        gauge: None,
        positions: 0,
        radii: Vec::new(),
        limits: None,
        measures: Measures::from(Ask {
            question: "Which mark is up?".to_owned(),
            answers: vec!["V".to_owned(), "dot".to_owned()],
            good: vec!["V".to_owned()],
        }),
        ..face("mark")
    }
}

fn torque() -> Check {
    Check {
        measures: Measures::from(Entry {
            question: "Torque of the nut".to_owned(),
            unit: Some("N m".to_owned()),
            thermometer: None,
            columns: None,
            u: None,
        }),
        name: name("torque"),
        ..question()
    }
}

fn confirm(answer: &str) -> Command {
    Command::Confirm { target: "ring/mark".to_owned(), answer: answer.to_owned() }
}

#[test]
fn a_question_is_answered_once_and_its_answer_judged() {
    let mut kit = Kit::new(vec![question(), torque()]);
    assert!(kit.ask(confirm("yes")).is_err_and(|refusal| refusal.hint.unwrap().contains("V, dot")));
    let done = kit.ask(confirm("DOT")).unwrap();
    assert!(matches!(done, Done::Answered { word: Some(Word::DoesNotConform), .. }), "{done:?}");
    let alert = kit.alerts(AlertKind::Out);
    assert_eq!(alert, ["ring/mark OUT. \"Which mark is up?\" dot; it should be V."]);
    assert!(kit.ask(confirm("V")).is_err(), "answered already");
    let reason = AttemptReason::Again;
    let target = Some("ring/mark".to_owned());
    kit.ask(Command::Remeasure { reason, target, remark: None }).unwrap();
    let done = kit.ask(confirm("v")).unwrap();
    assert!(matches!(done, Done::Answered { word: Some(Word::Conforms), .. }));
    assert!(kit.alerts(AlertKind::Out).is_empty());
    // The entry is all that is left, and done once recorded.
    let record =
        |value: &str| Command::Record { target: "ring/torque".to_owned(), value: value.to_owned() };
    kit.ask(Command::Next).unwrap();
    let done = kit.ask(record("45")).unwrap();
    assert!(matches!(done, Done::Answered { ref text, word: None, .. } if text == "45 N m"));
    assert_eq!(kit.ask(Command::Next).unwrap_err().exit, 1);
    let done = kit.ask(record("48 N m")).unwrap();
    assert!(matches!(done, Done::Answered { ref text, .. } if text == "48 N m"));
}

#[test]
fn what_has_a_unit_is_written_down_as_a_number_of_it() {
    let entry = |of: &str, unit: Option<&str>| Check {
        name: name(of),
        measures: Measures::from(Entry {
            question: "What is it?".to_owned(),
            unit: unit.map(str::to_owned),
            thermometer: None,
            columns: None,
            u: None,
        }),
        ..torque()
    };
    let checks = vec![torque(), entry("warmth", Some("C")), entry("slot", None)];
    let mut kit = Kit::new(checks);
    let mut record = |check: &str, value: &str| {
        let target = format!("ring/{check}");
        match kit.ask(Command::Record { target, value: value.to_owned() }) {
            Ok(Done::Answered { text, .. }) => text,
            Ok(_) => panic!("it is an answer"),
            Err(refusal) => format!("{}: {}", refusal.exit, refusal.text),
        }
    };
    for typed in ["40", "40 Nm", "40N·m", " 40  N m "] {
        assert_eq!(record("torque", typed), "40 N m", "{typed}");
    }
    for typed in ["20.6", "20.6 °C", "20.6C", "20.6 c", "20.6 degC"] {
        assert_eq!(record("warmth", typed), "20.6 C", "{typed}");
    }
    assert_eq!(record("warmth", "-0.5"), "-0.5 C");
    for typed in ["68F", "20,6", "abc", "20.6.1", "-", ".", "1e3", "inf", "20.6 C C"] {
        let said = record("warmth", typed);
        assert_eq!(said, format!("2: ring/warmth is a number in C, and {typed:?} is not one"));
    }
    assert_eq!(record("slot", "20,6 or abc"), "20,6 or abc", "no unit: free text");
}

#[test]
fn whoever_touched_last_is_told_what_came_of_it() {
    let came_to = |readings: &[&str], limit: &str| {
        let check = Check { limits: Some(Limits::Max(inch(limit))), positions: 8, ..face("face") };
        let mut kit = Kit::new(vec![check]);
        kit.measure("ring/face").unwrap();
        ring(&mut kit, &readings[..7]);
        let values = vec![readings[7].to_owned()];
        let done = kit.ask(Command::Enter { values, graduation: None }).unwrap();
        let Done::Entered { measuring, .. } = done else { panic!("{done:?}") };
        (measuring.next, measuring.came_to)
    };
    let (_, passed) = came_to(&ROUND_2, "0.0001");
    assert!(passed.clone().unwrap().starts_with("CONFORMS. 0.00004 in ± "), "{passed:?}");
    assert!(passed.unwrap().ends_with(", limit 0.0001."));
    let (_, out) = came_to(&ROUND_2, "0.000001");
    assert!(out.clone().unwrap().starts_with("DOES NOT CONFORM. 0.00004"), "{out:?}");
    let (_, close) = came_to(&ROUND_2, "0.00004");
    assert!(close.clone().unwrap().starts_with("UNDECIDED. 0.00004"), "{close:?}");
}

/// Three parts and a nut, the middle one with two ways round.
fn stacked() -> Kit {
    let part = |of: &str, kind, check| Part { name: name(of), kind, checks: vec![check] };
    let parts = vec![
        part("front", PartKind::Bearing, torque()),
        part("spacer", PartKind::Spacer, face("face")),
        part("nut", PartKind::Nut, torque()),
    ];
    let ways = vec!["thrust".to_owned(), "open".to_owned()];
    let stack = vec![
        StackPlace {
            part: 0,
            ways,
            towards_nose: Some("thrust".to_owned()),
            marked: true,
            mark_deg: Some(0),
            opposes: None,
            marks: 12,
        },
        StackPlace {
            part: 1,
            ways: vec![],
            towards_nose: None,
            marked: false,
            mark_deg: None,
            opposes: None,
            marks: 12,
        },
    ];
    Kit::of(parts, stack)
}

fn place(stage: Stage, part: &str, way: Option<&str>, mark_deg: Option<u16>) -> Command {
    Command::StackPlace {
        stage,
        part: part.to_owned(),
        towards_nose: way.map(str::to_owned),
        mark_deg,
        serial: None,
        why: None,
    }
}

#[test]
fn the_stack_is_held_against_the_plan_before_the_nut_goes_on() {
    use Stage::{Built, Found};
    let mut kit = stacked();
    let refused = |kit: &mut Kit, command| kit.ask(command).unwrap_err().text;
    assert!(refused(&mut kit, place(Found, "front", None, None)).contains("which face"));
    assert!(refused(&mut kit, place(Found, "front", Some("top"), None)).contains("no face"));
    kit.ask(place(Found, "front", Some("open"), Some(90))).unwrap();
    assert_eq!(kit.alerts(AlertKind::Stack).len(), 1, "found the wrong way round: said");
    kit.ask(place(Found, "spacer", None, None)).unwrap();
    let torque = Command::Record { target: "nut/torque".to_owned(), value: "45".to_owned() };
    assert!(refused(&mut kit, torque.clone()).contains("stack is not whole: front, spacer"));
    assert!(refused(&mut kit, place(Built, "spacer", None, None)).contains("front goes on next"));
    let wrong = place(Built, "front", Some("open"), Some(0));
    assert!(refused(&mut kit, wrong).contains("goes with thrust towards the nose"));
    let turned = place(Built, "front", Some("thrust"), Some(340));
    assert!(refused(&mut kit, turned).contains("belongs at 0 degrees, not at 340"));
    kit.ask(place(Built, "front", Some("thrust"), Some(350))).unwrap();
    assert!(refused(&mut kit, torque.clone()).contains("not whole: spacer"));
    let said = refused(&mut kit, place(Built, "spacer", None, None));
    assert!(said.contains("spacer/face is not measured"), "{said}");
    kit.measure("spacer/face").unwrap();
    ring(&mut kit, &ROUND_2);
    kit.ask(place(Built, "spacer", None, None)).unwrap();
    kit.ask(Command::StackBack { stage: Built }).unwrap();
    assert!(kit.ask(torque.clone()).is_err(), "taken off again");
    kit.ask(place(Built, "spacer", None, None)).unwrap();
    kit.ask(torque).unwrap();
}

#[test]
fn a_part_that_went_on_in_spite_of_something_is_told_at_the_nut() {
    let mut kit = stacked();
    let done = kit.measure("spacer/face").unwrap();
    let Done::Measuring(spacer) = done else { panic!("{done:?}") };
    assert_eq!(spacer.mind, Vec::<String>::new());
    kit.ask(place(Stage::Built, "front", Some("thrust"), Some(0))).unwrap();
    let mut on = place(Stage::Built, "spacer", None, None);
    if let Command::StackPlace { why, .. } = &mut on {
        *why = Some("no time".to_owned());
    }
    kit.ask(on).unwrap();
    let done = kit.measure("nut/torque").unwrap();
    let Done::Measuring(nut) = done else { panic!("{done:?}") };
    let said = "spacer went on the stack although spacer/face is not measured: \"no time\".";
    assert_eq!(nut.mind, [said]);
    assert!(kit.alerts(AlertKind::Stack).contains(&said.to_owned()), "{:?}", kit.open());
}

#[test]
fn what_went_on_in_spite_of_something_is_told_at_the_nut_of_each_job() {
    let mut kit = stacked();
    for job in ["j1", "j2"] {
        if job == "j2" {
            let (name, plan) = (job.to_owned(), "held".to_owned());
            let open = Command::JobOpen {
                name,
                used: false,
                plan,
                serial: None,
                customer: None,
                told: Vec::new(),
                rule: None,
            };
            kit.ask(open).unwrap();
        }
        kit.ask(place(Stage::Built, "front", Some("thrust"), Some(0))).unwrap();
        let mut on = place(Stage::Built, "spacer", None, None);
        if let Command::StackPlace { why, .. } = &mut on {
            *why = Some("no time".to_owned());
        }
        kit.ask(on).unwrap();
        kit.measure("nut/torque").unwrap();
    }
    // The sentence is the same in both; each is about its own job.
    let said = kit.alerts(AlertKind::Stack);
    assert!(said.len() == 2 && said[0] == said[1], "{said:?}");
    kit.measure("nut/torque").unwrap();
    assert_eq!(kit.alerts(AlertKind::Stack).len(), 2, "once in a job");
}

#[test]
fn a_replaced_part_begins_afresh_and_keeps_what_was_read() {
    let mut kit = Kit::new(vec![face("face")]);
    kit.measure("ring/face").unwrap();
    ring(&mut kit, &ROUND_0);
    assert!(!kit.alerts(AlertKind::Out).is_empty());
    let replace = |why: &str| Command::Replace {
        part: "ring".to_owned(),
        serial: Some("N2".to_owned()),
        why: why.to_owned(),
    };
    assert!(kit.ask(replace(" ")).is_err(), "not without a reason");
    kit.ask(replace("bore worn")).unwrap();
    assert!(kit.alerts(AlertKind::Out).is_empty(), "the old part is out of the way");
    kit.measure("ring/face").unwrap();
    ring(&mut kit, &ROUND_2);
    let verdict = kit.verdict();
    assert_eq!((verdict.word, verdict.tries), (Word::Conforms, 1));
    assert!(verdict.figures.took_off.is_none(), "another part was not ground");
    let job = kit.job();
    assert_eq!(job.attempts.len(), 2);
    assert!(job.attempts.values().all(|attempt| attempt.taken() == 8));
}
