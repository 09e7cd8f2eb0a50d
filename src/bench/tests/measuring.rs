//! Requests and the order of touches.

use crate::event::{AckOf, Command};
use crate::fact::row::{AttemptReason, Question, State};
use crate::fact::seq::Seq;
use crate::reply::Done;
use crate::series::Touch;
use crate::tests::kit::{Kit, face};
use judgement::Word;

fn next(done: Done) -> Touch {
    let (Done::Measuring(measuring) | Done::Already(measuring)) = done else {
        panic!("{done:?}");
    };
    measuring.next
}

#[test]
fn a_series_stopped_early_is_incomplete_and_never_combined() {
    let mut kit = Kit::new(vec![face("face"), face("back")]);
    kit.measure("ring/face").unwrap();
    kit.send(&["0", "0.00001", "0", "0", "0"]);
    kit.ask(Command::Stop).unwrap();
    assert_eq!(kit.verdict().word, Word::Incomplete);
    assert_eq!(next(kit.ask(Command::Next).unwrap()), Touch::Position(0));
    kit.send(&["0"; 8]);
    assert_eq!((kit.verdict().word, kit.verdict().tries), (Word::Conforms, 1));
}

#[test]
fn an_unfinished_check_goes_on_where_it_was() {
    let mut kit = Kit::new(vec![face("face"), face("back")]);
    kit.measure("ring/face").unwrap();
    kit.send(&["0", "0", "0"]);
    let rows = kit.rows.len();
    assert_eq!(next(kit.measure("ring/face").unwrap()), Touch::Position(3));
    assert_eq!(kit.rows.len(), rows, "nothing had to be done");
    kit.measure("ring/back").unwrap();
    kit.send(&["0.00009"]);
    assert_eq!(next(kit.measure("ring/face").unwrap()), Touch::Position(3));
}

#[test]
fn a_finished_check_wants_a_reason() {
    let mut kit = Kit::new(vec![face("face")]);
    kit.measure("ring/face").unwrap();
    kit.send(&["0"; 8]);
    let refusal = kit.measure("ring/face").unwrap_err();
    assert_eq!(refusal.exit, 2);
    assert!(refusal.hint.unwrap().contains("remeasure"));
    assert_eq!(kit.ask(Command::Next).unwrap_err().exit, 1, "nothing left");
}

#[test]
fn holes_are_filled_last_and_before_the_closure() {
    let mut check = face("face");
    check.closure = true;
    let mut kit = Kit::new(vec![check]);
    kit.measure("ring/face").unwrap();
    kit.send(&["0", "0", "0", "0"]);
    let second = kit.readings()[1].0;
    kit.ask(Command::Void { id: Some(second), why: Some("slipped".to_owned()) }).unwrap();
    kit.send(&["0", "0", "0", "0"]);
    let positions: Vec<_> = kit.readings().iter().map(|(_, r)| r.position.unwrap()).collect();
    assert_eq!(positions, [0, 1, 2, 3, 4, 5, 6, 7]);
    kit.send(&["0"]);
    assert_eq!(kit.readings().last().unwrap().1.position, Some(1));
    kit.send(&["0"]);
    assert_eq!(kit.states().last(), Some(&State::Closure));
    assert_eq!(kit.verdict().word, Word::Conforms);
}

#[test]
fn taking_back_after_the_last_touch_arms_the_hole() {
    let mut kit = Kit::new(vec![face("face")]);
    kit.measure("ring/face").unwrap();
    kit.send(&["0"; 8]);
    let third = kit.readings()[3].0;
    kit.ask(Command::Void { id: Some(third), why: None }).unwrap();
    assert_eq!(kit.verdict().word, Word::Incomplete);
    assert_eq!(kit.ask(Command::Void { id: Some(third), why: None }).unwrap_err().exit, 2);
    kit.send(&["0.00001"]);
    assert_eq!(kit.verdict().word, Word::Conforms);
    assert_eq!(kit.readings().last().unwrap().1.position, Some(3));
    assert_eq!(kit.verdicts().len(), 3);
}

#[test]
fn a_skipped_position_is_named_and_six_touches_never_pass() {
    let mut kit = Kit::new(vec![face("face")]);
    kit.measure("ring/face").unwrap();
    kit.send(&["0", "0", "0"]);
    kit.ask(Command::Skip { position: None, why: "slot".to_owned() }).unwrap();
    kit.ask(Command::Skip { position: Some(7), why: "etch".to_owned() }).unwrap();
    kit.send(&["0", "0", "0"]);
    let verdict = kit.verdict();
    assert_eq!((verdict.taken, verdict.skipped, verdict.word), (6, 2, Word::Undecided));
    assert!(verdict.advice.iter().any(|line| line.contains("Position 3 was left out: slot")));
}

#[test]
fn a_position_left_out_ahead_of_the_hand_does_not_make_the_order_jump() {
    let mut kit = Kit::new(vec![face("face")]);
    kit.measure("ring/face").unwrap();
    let skip = |position| Command::Skip { position: Some(position), why: "slot".to_owned() };
    kit.ask(skip(0)).unwrap();
    kit.send(&["0", "0"]);
    kit.ask(skip(5)).unwrap();
    kit.ask(skip(7)).unwrap();
    kit.send(&["0", "0", "0"]);
    kit.ask(Command::Void { id: None, why: None }).unwrap();
    kit.send(&["0"]);
    let positions: Vec<_> = kit.readings().iter().map(|(_, one)| one.position).collect();
    assert_eq!(positions, [1, 2, 3, 4, 6, 6].map(Some));
    assert_eq!(kit.verdict().taken, 5);
}

#[test]
fn leaving_out_the_position_asked_for_ends_the_question() {
    let mut kit = Kit::new(vec![face("face")]);
    kit.measure("ring/face").unwrap();
    kit.send(&["0", "0", "0", "0.00142", "0", "0", "0", "0"]);
    let attempt = kit.verdict().attempt;
    let asked = |kit: &Kit| kit.bench.attempt(attempt).unwrap().2.asked;
    assert_eq!(asked(&kit), Some(Question::Touch(3)));
    let wild = kit.readings()[3].0;
    kit.ask(Command::Void { id: Some(wild), why: None }).unwrap();
    kit.ask(Command::Skip { position: Some(3), why: "slot".to_owned() }).unwrap();
    assert_eq!(asked(&kit), None);
    kit.send(&["0"]);
    assert_eq!(kit.states().last(), Some(&State::Unclaimed), "position 3 stays left out");
}

#[test]
fn a_whole_ring_is_keyed_in_or_nothing() {
    let mut kit = Kit::new(vec![face("face")]);
    kit.measure("ring/face").unwrap();
    let enter = |values: &[&str]| Command::Enter {
        values: values.iter().map(ToString::to_string).collect(),
        graduation: Some("0.0001in".to_owned()),
    };
    assert!(kit.ask(enter(&["0", "2", "3", "x"])).is_err());
    assert!(kit.ask(enter(&["0"; 9])).is_err());
    assert!(kit.readings().is_empty());
    kit.ask(enter(&["0", "2", "3", "3", "2", "1", "-1", "-1"])).unwrap();
    assert_eq!(kit.verdict().word, Word::DoesNotConform);
    assert_eq!(kit.readings().len(), 8);
}

#[test]
fn a_reading_nobody_asked_for_is_kept_with_one_alert() {
    let mut kit = Kit::new(vec![face("face")]);
    kit.send(&["0.5", "0.6"]);
    assert_eq!(kit.states(), [State::Unclaimed, State::Unclaimed]);
    assert_eq!(kit.open().len(), 1);
    kit.measure("ring/face").unwrap();
    kit.frame("height", "0", false);
    assert_eq!(kit.states().last(), Some(&State::Unclaimed));
    kit.send(&["0"]);
    assert_eq!(kit.states().last(), Some(&State::Placed));
    assert_eq!(kit.open().len(), 1, "the other gauge's alert stays: {:?}", kit.open());
}

#[test]
fn remeasuring_ends_what_is_unfinished() {
    let mut kit = Kit::new(vec![face("face")]);
    kit.measure("ring/face").unwrap();
    kit.send(&["0", "0"]);
    kit.ask(Command::Remeasure { reason: AttemptReason::Ground, target: None, remark: None })
        .unwrap();
    assert_eq!(kit.verdict().word, Word::Incomplete);
    assert_eq!(kit.ask(Command::Ack(AckOf::One(Seq(999)))).unwrap_err().exit, 2);
}

#[test]
fn a_closed_job_comes_back_as_it_was() {
    let mut kit = Kit::new(vec![face("face")]);
    kit.measure("ring/face").unwrap();
    kit.send(&["0"; 8]);
    let before = kit.bench.jobs.clone();
    kit.ask(Command::JobClose { name: None, why: Some("seen".to_owned()) }).unwrap();
    assert!(kit.bench.jobs.is_empty());
    let found = Some(std::sync::Arc::new(kit.rows.clone()));
    kit.ask(Command::JobReopen { name: "j1".to_owned(), found }).unwrap();
    assert_eq!(kit.bench.jobs, before);
    let again = Command::JobOpen {
        name: "j1".to_owned(),
        used: true,
        plan: "held".to_owned(),
        serial: None,
        customer: None,
        told: Vec::new(),
        rule: None,
    };
    assert_eq!(kit.ask(again).unwrap_err().exit, 2, "names live for ever");
}

#[test]
fn a_closure_taken_back_is_asked_for_again() {
    let mut check = face("face");
    check.closure = true;
    let mut kit = Kit::new(vec![check]);
    kit.measure("ring/face").unwrap();
    kit.send(&["0"; 9]);
    assert_eq!(kit.verdict().word, Word::Conforms);
    kit.ask(Command::Void { id: None, why: None }).unwrap();
    assert_eq!(kit.verdict().word, Word::Undecided, "nothing proves the return");
    kit.send(&["0.00001"]);
    assert_eq!(kit.states().last(), Some(&State::Closure));
    assert_eq!(kit.verdict().word, Word::Conforms);
}

#[test]
fn a_hole_in_a_finished_check_is_found_again() {
    let mut kit = Kit::new(vec![face("face"), face("back")]);
    kit.measure("ring/face").unwrap();
    kit.send(&["0"; 8]);
    let third = kit.readings()[3].0;
    kit.measure("ring/back").unwrap();
    kit.ask(Command::Void { id: Some(third), why: None }).unwrap();
    assert_eq!(next(kit.ask(Command::Next).unwrap()), Touch::Position(3));
    kit.send(&["0"]);
    assert_eq!(kit.verdict().word, Word::Conforms);
    assert!(kit.measure("ring/face").is_err(), "finished again");
}

#[test]
fn a_job_is_found_in_any_letter_case_and_its_name_is_taken_in_every_one() {
    let mut kit = Kit::new(vec![face("face")]);
    let open = |name: &str, used| Command::JobOpen {
        name: name.to_owned(),
        used,
        plan: "held".to_owned(),
        serial: None,
        customer: None,
        told: Vec::new(),
        rule: None,
    };
    let refused = kit.ask(open("J1", false)).unwrap_err();
    assert!(refused.text.contains("exists already"), "{}", refused.text);
    kit.ask(open("try-2", false)).unwrap();
    let named = |done: Done| {
        let Done::Job { name, .. } = done else { panic!("{done:?}") };
        name.to_string()
    };
    let using = |name: &str| Command::JobUse { name: name.to_owned() };
    assert_eq!(named(kit.ask(using("J1")).unwrap()), "j1");
    assert_eq!(named(kit.ask(using(" TRY-2 ")).unwrap()), "try-2");
    assert!(kit.ask(using("try-3")).is_err());
    let text = "worn".to_owned();
    kit.ask(Command::Note { job: "Try-2".to_owned(), text, closed: None }).unwrap();
    let reopen = Command::JobReopen { name: "TRY-2".to_owned(), found: None };
    assert_eq!(named(kit.ask(reopen).unwrap()), "try-2", "it is open");
    let close = Command::JobClose { name: Some("TRY-2".to_owned()), why: Some("a try".to_owned()) };
    assert_eq!(named(kit.ask(close).unwrap()), "try-2");
    assert_eq!(kit.ask(open("TRY-2", true)).unwrap_err().exit, 2, "names live for ever");
}

#[test]
fn a_mistyped_check_is_told_with_the_nearest_one_first() {
    let mut kit = Kit::new(vec![face("face-a"), face("length")]);
    let hint = |refused: Result<Done, _>| {
        let refused: crate::Refusal = refused.unwrap_err();
        refused.hint.unwrap()
    };
    let slip = hint(kit.measure("ring/lenght"));
    assert_eq!(slip, "did you mean ring/length? its checks are: ring/face-a, ring/length");
    assert_eq!(hint(kit.measure("shaft-of-a-lathe")), "its checks are: ring/face-a, ring/length");
}
