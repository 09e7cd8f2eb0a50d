//! Whole series with figures worked out by an independent program in exact or float arithmetic
//! from the formulas of GUM and ISO 1101. The data are invented; the figures are its results.

use crate::event::Command;
use crate::fact::row::{AlertKind, AttemptReason, Question, State};
use crate::plan::{Check, Flatness, MasterUse, Size};
use crate::series::Touch;
use crate::tests::kit::{Kit, face, inch, name};
use judgement::{Limits, Reason, Word};
use quantity::{Quoted, Unit};

const PLAIN: [&str; 8] =
    ["0.00000", "0.00002", "0.00003", "0.00003", "0.00002", "0.00001", "-0.00001", "-0.00001"];

#[test]
fn a_plain_pass() {
    let mut check = face("face");
    check.closure = true;
    let mut kit = Kit::new(vec![check]);
    kit.measure("ring/face").unwrap();
    kit.send(&PLAIN);
    assert!(kit.verdicts().is_empty(), "no verdict before the last touch");
    kit.send(&["0.00001"]);
    let verdict = kit.verdict();
    assert_eq!(verdict.word, Word::Conforms);
    assert_eq!(verdict.value.unwrap().shown(Unit::Inch), "0.00004");
    // U = 2·√(2·0.0000084² + 0.00001²/3) in = 0.00002642 in: it came back 0.00001 in off.
    let expanded = verdict.uncertainty.unwrap();
    assert_eq!(quantity::Figure::from(expanded).fixed(Unit::Inch, 8), "0.00002642");
    let figures = &verdict.figures;
    assert_eq!(figures.tilt.unwrap().fixed(Unit::Inch, 8), "0.00004294");
    assert!((figures.high_side_deg.unwrap().get() - 118.68).abs() < 0.01);
    assert!((figures.high_side_u_deg.unwrap().get() - 22.4).abs() < 0.05);
    assert_eq!(figures.least_squares.unwrap().fixed(Unit::Inch, 8), "0.00000720");
    assert_eq!(figures.closure.unwrap().shown(Unit::Inch), "0.00001");
    assert!(kit.open().is_empty(), "{:?}", kit.open());
}

#[test]
fn a_tie_on_a_coarse_readout() {
    let mut kit = Kit::new(vec![face("face")]);
    let gauge = kit.setup.gauges.get_mut("plate").unwrap();
    gauge.resolution = Quoted::parse("0.0001", Unit::Inch).unwrap();
    gauge.uncertainty = Some(inch("0.0000295"));
    kit.measure("ring/face").unwrap();
    kit.send(&["1.2345", "1.2345", "1.2346", "1.2346", "1.2346", "1.2345", "1.2345", "1.2345"]);
    let verdict = kit.verdict();
    assert_eq!((verdict.simple, verdict.guarded), (Some(Word::Conforms), Some(Word::Undecided)));
    assert_eq!(verdict.word, Word::Undecided);
    assert_eq!(verdict.reasons, [Reason::GaugeTooCoarse]);
}

#[test]
fn a_bad_touch_taken_back_and_a_double_send() {
    let mut kit = Kit::new(vec![face("face")]);
    kit.measure("ring/face").unwrap();
    kit.send(&["0.00001", "0.00002", "0.00002", "0.00142"]);
    assert_eq!(kit.open(), ["ring/face out so far: 0.00141. Go on, or take it back."]);
    kit.ask(Command::Void { id: None, why: None }).unwrap();
    assert!(kit.open().is_empty());
    kit.send(&["0.00001", "0.00000"]);
    kit.frame("plate", "0.00000", true);
    kit.send(&["-0.00002", "-0.00001", "0.00000"]);
    let verdict = kit.verdict();
    assert_eq!(verdict.word, Word::Conforms);
    assert_eq!(verdict.value.unwrap().shown(Unit::Inch), "0.00004");
    assert_eq!(kit.readings().len(), 10);
    assert_eq!(kit.states().iter().filter(|state| **state == State::Repeat).count(), 1);
}

#[test]
fn a_touch_that_stands_off_is_named() {
    let mut kit = Kit::new(vec![face("face")]);
    kit.measure("ring/face").unwrap();
    kit.send(&["0.00001", "0.00002", "0.00002", "0.00142", "0.00000"]);
    let wild = kit.bench.alerts.values().find(|open| open.alert.kind == AlertKind::WildTouch);
    let now = "ring/face: Touch position 3 again. Not now: when the round is done. Go on, or take it back.";
    assert_eq!(wild.unwrap().alert.text, now);
    kit.send(&["-0.00002", "-0.00001", "0.00000"]);
    assert_eq!(kit.verdict().word, Word::DoesNotConform, "a question holds no verdict back");
    kit.send(&["0.00001"]);
    assert_eq!(kit.verdict().word, Word::Conforms, "the newer touch counts");
    assert_eq!(kit.verdicts().len(), 2);
    kit.send(&["0.00009"]);
    assert_eq!(kit.states().last(), Some(&State::Unclaimed), "then it is looking");
    assert!(kit.open().is_empty(), "{:?}", kit.open());
}

/// A face that leans, and one touch that slips: without it the face would not conform either. What is asked for
/// during the round is asked for after it, so that nobody grinds a slip off.
#[test]
fn a_touch_that_stands_off_on_a_bad_face_is_asked_for_when_the_round_is_done() {
    let mut kit = Kit::new(vec![Check { closure: true, ..face("face") }]);
    kit.measure("ring/face").unwrap();
    let lean = ["0.00009", "0.00013", "0.00009", "0.00131", "-0.00009", "-0.00013", "-0.00009"];
    kit.send(&lean);
    let asked = |kit: &Kit| kit.alerts(AlertKind::WildTouch);
    assert!(asked(&kit)[0].starts_with("ring/face: Touch position 3 again."), "{:?}", asked(&kit));
    kit.send(&["0.00000", "0.00009"]);
    assert_eq!(kit.verdict().word, Word::DoesNotConform);
    assert!(asked(&kit)[0].starts_with("ring/face: Touch position 3 again."), "{:?}", asked(&kit));
    // It is answered by the next touch, and the face is out by what it leans.
    kit.send(&["0.00000"]);
    assert_eq!(kit.verdict().value.unwrap().shown(Unit::Inch), "0.00026");
    assert_eq!(asked(&kit), Vec::<String>::new());
    assert_eq!(kit.verdict().word, Word::DoesNotConform);
}

/// Where it is the metal, the same touch again says so, and nothing is asked twice.
#[test]
fn a_touch_that_stands_off_twice_is_the_part() {
    let mut kit = Kit::new(vec![Check { closure: true, ..face("face") }]);
    kit.measure("ring/face").unwrap();
    kit.send(&[
        "0.00009", "0.00013", "0.00009", "0.00131", "-0.00009", "-0.00013", "-0.00009", "0",
        "0.00009",
    ]);
    kit.send(&["0.00130"]);
    assert_eq!(kit.verdict().word, Word::DoesNotConform);
    assert_eq!(kit.alerts(AlertKind::WildTouch), Vec::<String>::new());
    kit.send(&["0.00005"]);
    assert_eq!(kit.states().last(), Some(&State::Unclaimed), "nothing is asked any more");
}

#[test]
fn two_radii_minimum_zone_against_least_squares() {
    let mut check = face("top");
    check.measures = Flatness.into();
    check.radii = vec![inch("1.2"), inch("1.8")];
    let mut kit = Kit::new(vec![check]);
    kit.measure("ring/top").unwrap();
    kit.send(&[
        "0.00002", "-0.00004", "0.00000", "-0.00002", "-0.00001", "-0.00004", "0.00000", "-0.00003",
    ]);
    kit.send(&[
        "0.00005", "-0.00007", "-0.00001", "-0.00003", "0.00001", "-0.00006", "0.00000", "-0.00002",
    ]);
    let verdict = kit.verdict();
    assert_eq!(verdict.value.unwrap().fixed(Unit::Inch, 6), "0.000095");
    assert_eq!(verdict.figures.least_squares.unwrap().fixed(Unit::Inch, 8), "0.00011482");
    assert_eq!(verdict.figures.contacts_upper, [8, 12]);
    assert_eq!(verdict.figures.contacts_lower, [9, 13]);
    // U = 2·0.0000084 in · √1 with weights ½ at the four contacts.
    assert_eq!(verdict.uncertainty, Some(inch("0.0000168")));
    assert_eq!((verdict.simple, verdict.word), (Some(Word::Conforms), Word::Undecided));
}

#[test]
fn a_chip_and_a_wedge_are_told_apart_by_half_a_turn() {
    let mut kit = Kit::new(vec![face("face")]);
    kit.measure("ring/face").unwrap();
    kit.send(&[
        "0.00005", "0.00016", "0.00014", "0.00008", "-0.00005", "-0.00016", "-0.00014", "-0.00007",
    ]);
    assert_eq!(kit.verdict().word, Word::DoesNotConform);
    let attempt = kit.verdict().attempt;
    let asked = kit.bench.attempt(attempt).unwrap().2.asked;
    assert_eq!(asked, Some(Question::HalfTurn { high: 1, low: 5 }));
    kit.send(&["0.00002", "-0.00002"]);
    assert!(
        kit.open().iter().any(|text| text.contains("It was dirt or a burr")),
        "{:?}",
        kit.open()
    );
    kit.ask(Command::Remeasure { reason: AttemptReason::Cleaned, target: None, remark: None })
        .unwrap();
    kit.send(&[
        "0.00001", "0.00002", "0.00000", "0.00001", "-0.00001", "-0.00002", "0.00000", "-0.00001",
    ]);
    assert_eq!(kit.verdict().word, Word::Conforms);
    assert_eq!(kit.verdict().tries, 1, "cleaned sets the one before aside");
    assert!(kit.open().is_empty(), "{:?}", kit.open());
}

#[test]
fn a_wedge_ground_twice_and_tried_twice_between() {
    let mut kit = Kit::new(vec![face("face")]);
    let again = |kit: &mut Kit, reason| {
        kit.ask(Command::Remeasure { reason, target: Some("ring/face".to_owned()), remark: None })
            .unwrap()
    };
    kit.measure("ring/face").unwrap();
    kit.send(&[
        "0.00031", "0.00027", "0.00017", "0.00007", "0.00004", "0.00008", "0.00019", "0.00028",
    ]);
    kit.send(&["0.00030", "0.00004"]);
    assert!(kit.open().iter().any(|text| text.contains("a wedge")), "{:?}", kit.open());
    again(&mut kit, AttemptReason::Ground);
    kit.send(&[
        "-0.00022", "-0.00024", "-0.00029", "-0.00033", "-0.00034", "-0.00031", "-0.00027",
        "-0.00023",
    ]);
    assert_eq!(kit.verdict().word, Word::Undecided);
    kit.send(&["-0.00023", "-0.00034"]);
    again(&mut kit, AttemptReason::Again);
    kit.send(&[
        "-0.00023", "-0.00024", "-0.00029", "-0.00032", "-0.00034", "-0.00031", "-0.00027",
        "-0.00023",
    ]);
    let combined = kit.verdict();
    assert_eq!((combined.tries, combined.word), (2, Word::Undecided));
    assert_eq!(combined.value.unwrap().shown(Unit::Inch), "0.000115");
    assert_eq!(combined.figures.tilt.unwrap().fixed(Unit::Inch, 8), "0.00011736");
    again(&mut kit, AttemptReason::Ground);
    kit.send(&[
        "-0.00047", "-0.00048", "-0.00049", "-0.00050", "-0.00051", "-0.00050", "-0.00048",
        "-0.00047",
    ]);
    assert_eq!(kit.verdict().word, Word::Conforms);
    assert_eq!(kit.verdict().tries, 1);
}

#[test]
fn a_zero_that_walks_is_not_judged() {
    let mut check = face("face");
    check.closure = true;
    let mut kit = Kit::new(vec![check]);
    kit.measure("ring/face").unwrap();
    kit.send(&[
        "0.00001", "0.00001", "0.00003", "0.00004", "0.00004", "0.00006", "0.00007", "0.00007",
        "0.00008",
    ]);
    let first = kit.verdict();
    assert_eq!((first.word, &first.reasons[..]), (Word::Undecided, &[Reason::NotClosed][..]));
    assert_eq!((first.simple, first.guarded), (Some(Word::Conforms), Some(Word::Undecided)));
    assert_eq!(kit.open(), ["ring/face: Came back 0.00007 different at 0. Touch 0 once more."]);
    kit.send(&["0.00008"]);
    assert_eq!(kit.verdicts().len(), 2);
    assert_eq!(kit.open(), ["ring/face: still not closed. Undecided. Go round again."]);
    let closures = kit.bench.attempt(first.attempt).unwrap().2.count(State::Closure);
    assert_eq!(closures, 1, "the older closure is void");
}

#[test]
fn a_length_against_a_master() {
    let mut check = face("length");
    check.measures = Size::default().into();
    check.positions = 4;
    check.limits = Some(Limits::Band { min: inch("1.499"), max: inch("1.501") });
    check.master = MasterUse::Both;
    check.master_size = Some(inch("1.5000"));
    let mut kit = Kit::new(vec![check]);
    kit.measure("ring/length").unwrap();
    let attempt = kit.bench.stations[&name("bench")].attempt.unwrap();
    let (_, job, state) = kit.bench.attempt(attempt).unwrap();
    let (_, plan) = job.check_of(state).unwrap();
    assert_eq!(crate::series::next_touch(plan, state), Touch::Master);
    kit.send(&["0.00010", "0.00031", "0.00032", "0.00031", "0.00030", "0.00010"]);
    let verdict = kit.verdict();
    // Mean 0.00031 above the zero the master shows as 0.00010: 1.5000 + 0.00021.
    assert_eq!(verdict.value.unwrap().shown(Unit::Inch), "1.50021");
    assert_eq!(verdict.word, Word::Conforms);
    assert_eq!(kit.states()[0], State::Master);
    assert_eq!(kit.states()[5], State::Master);
}
