//! Cases in which a touch, a try or a question could be taken for another.

use crate::event::Command;
use crate::fact::row::{AttemptReason, Question, State};
use crate::plan::{Check, MasterUse, Size};
use crate::tests::kit::{Kit, face, inch};
use judgement::{Known, Limits, Reason, Word};
use quantity::Unit;

fn length(master: MasterUse) -> Check {
    Check {
        measures: Size::default().into(),
        positions: 4,
        radii: Vec::new(),
        limits: Some(Limits::Band { min: inch("1.4999"), max: inch("1.5001") }),
        nominal: Some(inch("1.5")),
        master,
        master_size: Some(inch("1.5")),
        ..face("length")
    }
}

fn again(kit: &mut Kit) {
    kit.ask(Command::Remeasure { reason: AttemptReason::Again, target: None, remark: None })
        .unwrap();
}

fn value(kit: &Kit) -> String {
    kit.verdict().value.unwrap().shown(Unit::Inch)
}

fn asked(kit: &Kit) -> Option<Question> {
    kit.bench.attempt(kit.verdict().attempt).unwrap().2.asked
}

#[test]
fn each_try_is_held_against_its_own_master() {
    let mut kit = Kit::new(vec![length(MasterUse::Opening)]);
    kit.measure("ring/length").unwrap();
    kit.send(&["0", "0.00002", "0.00002", "0.00002", "0.00002"]);
    again(&mut kit);
    kit.send(&["0.00104", "0.00106", "0.00106", "0.00106", "0.00106"]);
    assert_eq!((value(&kit).as_str(), kit.verdict().tries), ("1.50002", 2));
    assert_eq!(kit.verdict().reasons, []);
}

#[test]
fn a_closing_master_taken_back_proves_nothing() {
    let mut kit = Kit::new(vec![length(MasterUse::Both)]);
    kit.measure("ring/length").unwrap();
    kit.send(&["0", "0.00002", "0.00002", "0.00002", "0.00002", "0.00007"]);
    assert_eq!(kit.verdict().reasons, [Reason::ZeroMoved]);
    kit.ask(Command::Void { id: None, why: None }).unwrap();
    assert_eq!(
        (kit.verdict().word, &kit.verdict().reasons[..]),
        (Word::Undecided, &[Reason::NotMastered][..])
    );
    kit.send(&["0.00007"]);
    assert_eq!(kit.verdict().reasons, [Reason::ZeroMoved], "the opening touch stays");
    assert_eq!(kit.bench.attempt(kit.verdict().attempt).unwrap().2.opening(), Some(inch("0")));
}

#[test]
fn a_position_left_out_of_one_try_is_judged_from_the_other() {
    let mut kit = Kit::new(vec![face("face")]);
    kit.measure("ring/face").unwrap();
    kit.send(&["0", "0", "0"]);
    kit.ask(Command::Skip { position: None, why: "chip".to_owned() }).unwrap();
    kit.send(&["0", "0", "0", "0"]);
    again(&mut kit);
    kit.send(&["0", "0", "0", "0.0005", "0", "0", "0", "0"]);
    assert_eq!((value(&kit).as_str(), kit.verdict().word), ("0.0005", Word::DoesNotConform));
}

#[test]
fn a_touch_that_fills_a_hole_answers_no_question() {
    let mut kit = Kit::new(vec![face("face")]);
    kit.measure("ring/face").unwrap();
    kit.send(&["0.00034", "0.00029", "0.00017", "0.00005", "0", "0.00005", "0.00017", "0.00029"]);
    assert_eq!(asked(&kit), Some(Question::HalfTurn { high: 0, low: 4 }));
    kit.ask(Command::Void { id: None, why: None }).unwrap();
    kit.send(&["0.00029"]);
    assert_eq!(kit.verdict().word, Word::DoesNotConform);
    assert_eq!(asked(&kit), Some(Question::HalfTurn { high: 0, low: 4 }), "still asked");
    assert!(kit.open().iter().any(|text| text.contains("OUT.")), "{:?}", kit.open());
}

#[test]
fn a_closure_that_is_off_is_said_before_the_master_is_touched() {
    let mut check = length(MasterUse::Both);
    check.closure = true;
    let mut kit = Kit::new(vec![check]);
    kit.measure("ring/length").unwrap();
    kit.send(&["0", "0.00002", "0.00002", "0.00002", "0.00002", "0.00009"]);
    assert_eq!(kit.verdict().reasons, [Reason::NotClosed]);
    assert_eq!(asked(&kit), Some(Question::Closure));
    kit.send(&["0.00002", "0"]);
    let states = kit.states();
    assert_eq!(states[states.len() - 2..], [State::Closure, State::Master]);
    assert_eq!((kit.verdict().word, value(&kit).as_str()), (Word::Conforms, "1.50002"));
}

#[test]
fn an_out_at_the_lower_limit_is_not_rounded_in() {
    let mut check = length(MasterUse::None);
    check.limits = Some(Limits::Band { min: inch("1.499"), max: inch("1.501") });
    let mut kit = Kit::new(vec![check]);
    kit.measure("ring/length").unwrap();
    kit.send(&["1.49896", "1.49896", "1.49896", "1.49896"]);
    assert_eq!(kit.open(), ["ring/length OUT. 1.49896, limit 1.499 to 1.501."]);
}

#[test]
fn an_incomplete_try_is_judged_by_itself() {
    let mut kit = Kit::new(vec![face("face")]);
    kit.measure("ring/face").unwrap();
    kit.send(&["0"; 8]);
    again(&mut kit);
    kit.send(&["0.0001", "0"]);
    kit.ask(Command::Stop).unwrap();
    assert_eq!((value(&kit).as_str(), kit.verdict().tries), ("0.0001", 1));
}

#[test]
fn a_dial_is_judged_by_its_graduation() {
    let mut kit = Kit::new(vec![face("face")]);
    kit.measure("ring/face").unwrap();
    let values = ["0"; 8].map(str::to_owned).to_vec();
    let graduation = Some("0.0001in".to_owned());
    kit.ask(Command::Enter { values, graduation }).unwrap();
    let verdict = kit.verdict();
    assert_eq!(
        (verdict.word, &verdict.reasons[..]),
        (Word::Undecided, &[Reason::GaugeTooCoarse][..])
    );
    assert!(verdict.known == Known::Assumed, "the stated uncertainty is not that of a dial");
    // s = 100/√12 µin, rest √(8.4² − 6²): U = 2·√(2·(833.3 + 34.56)) = 83.3 µin.
    assert_eq!(
        quantity::Figure::from(verdict.uncertainty.unwrap()).fixed(Unit::Inch, 7),
        "0.0000833"
    );
}

#[test]
fn a_check_left_untouched_waits_and_is_no_verdict() {
    let mut kit = Kit::new(vec![face("face")]);
    kit.measure("ring/face").unwrap();
    kit.ask(Command::Stop).unwrap();
    assert!(kit.verdicts().is_empty());
    kit.measure("ring/face").unwrap();
    kit.send(&["0"; 8]);
    assert_eq!(kit.verdict().word, Word::Conforms);
}

#[test]
fn a_length_has_its_mean_range_and_returns_beside_the_figure() {
    let mut check = length(MasterUse::Both);
    check.closure = true;
    let mut kit = Kit::new(vec![check]);
    kit.measure("ring/length").unwrap();
    // The master, four touches, position 0 again, the master again.
    kit.send(&["0", "0.00002", "0.00003", "0.00002", "0.00001", "0.00003", "-0.00001"]);
    let figures = &kit.verdict().figures;
    let exact = |text: &str| Some(quantity::Figure::from(inch(text)));
    assert_eq!(figures.zero_walk, exact("-0.00001"));
    // The zero came down by 10 millionths on the way of six touches, so the four stand 21.67, 33.33, 25
    // and 16.67 above the master.
    let fixed = |figure: Option<quantity::Figure>| figure.unwrap().fixed(Unit::Inch, 7);
    assert_eq!(fixed(figures.mean), "1.5000242");
    assert_eq!(fixed(figures.max_minus_min), "0.0000167");
    assert_eq!(fixed(figures.closure), "0.0000167", "38.33 less 21.67");
}

#[test]
fn a_length_of_which_only_the_master_was_touched_still_says_what_its_limits_are() {
    let mut kit = Kit::new(vec![length(MasterUse::Opening)]);
    kit.measure("ring/length").unwrap();
    kit.send(&["0"]);
    kit.ask(Command::Stop).unwrap();
    let verdict = kit.verdict();
    assert_eq!((verdict.word, verdict.value), (Word::Incomplete, None));
    assert_eq!(verdict.limits, Some(Limits::Band { min: inch("1.4999"), max: inch("1.5001") }));
    assert_eq!(verdict.figures.judged, Some(crate::plan::SizeJudged::Mean));
}

#[test]
fn one_word_of_cleaning_is_believed_for_the_same_metal() {
    let clean = |kit: &mut Kit| {
        let reason = AttemptReason::Cleaned;
        kit.ask(Command::Remeasure { reason, target: None, remark: None }).unwrap();
        kit.send(&["0"; 8]);
        kit.verdict().tries
    };
    let mut kit = Kit::new(vec![face("face")]);
    kit.measure("ring/face").unwrap();
    kit.send(&["0"; 8]);
    assert_eq!(clean(&mut kit), 1, "what stood on the dirt does not count");
    assert_eq!(clean(&mut kit), 2, "cleaned again is tried again");
    assert_eq!(clean(&mut kit), 3);
}

#[test]
fn a_face_that_lies_lower_on_its_master_than_before_asks_whether_it_was_ground() {
    let asked = |master: MasterUse, lower: &str| {
        let mut kit =
            Kit::new(vec![Check { master, master_size: Some(inch("1")), ..face("face") }]);
        kit.measure("ring/face").unwrap();
        if master == MasterUse::Opening {
            kit.send(&["0"]);
        }
        kit.send(&["0"; 8]);
        again(&mut kit);
        if master == MasterUse::Opening {
            kit.send(&["0"]);
        }
        kit.send(&[lower; 8]);
        kit.verdict().advice.iter().any(|line| line.contains("ground"))
    };
    assert!(asked(MasterUse::Opening, "-0.0005"));
    assert!(!asked(MasterUse::Opening, "-0.00001"), "that is its scatter");
    assert!(
        !asked(MasterUse::None, "-0.0005"),
        "without a master the gauge may have been set anew"
    );
}

#[test]
fn one_touch_on_the_master_between_two_positions_proves_no_zero() {
    let uncertain = |late: bool| {
        let mut kit = Kit::new(vec![length(MasterUse::Opening)]);
        kit.measure("ring/length").unwrap();
        kit.send(&["0", "0.00002", "0.00002"]);
        if late {
            let opening = kit.readings()[0].0;
            kit.ask(Command::Void { id: Some(opening), why: None }).unwrap();
            kit.send(&["0"]);
        }
        kit.send(&["0.00002", "0.00002"]);
        assert_eq!(value(&kit), "1.50002");
        kit.verdict().uncertainty.unwrap()
    };
    assert_eq!(uncertain(true), uncertain(false), "nothing shows that it did not walk");
}
