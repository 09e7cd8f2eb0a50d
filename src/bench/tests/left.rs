//! What a reply says about a check that was left, and about open alerts other than the verdict.

use crate::event::Command;
use crate::fact::row::{AlertKind, AttemptReason, Body, State};
use crate::fact::seq::Seq;
use crate::reply::{Done, Left, Measuring};
use crate::tests::kit::{Kit, face};

fn measuring(done: Done) -> Measuring {
    let Done::Measuring(measuring) = done else { panic!("{done:?}") };
    measuring
}

fn left(target: &str, taken: u32, ended: bool) -> Left {
    Left { target: target.to_owned(), taken, of: 8, ended }
}

#[test]
fn a_check_that_was_left_with_touches_is_told_and_a_whole_one_is_not() {
    let mut kit = Kit::new(vec![face("face"), face("back")]);
    kit.measure("ring/face").unwrap();
    kit.send(&["0", "0", "0"]);
    let other = measuring(kit.measure("ring/back").unwrap());
    assert_eq!(other.left, [left("ring/face", 3, false)], "it goes on where it was");
    let back = measuring(kit.measure("ring/face").unwrap());
    assert_eq!(back.left, [], "nothing was touched there");
    let again = Command::Remeasure { reason: AttemptReason::Again, target: None, remark: None };
    assert_eq!(measuring(kit.ask(again).unwrap()).left, [left("ring/face", 3, true)]);
    kit.send(&["0"; 8]);
    assert_eq!(measuring(kit.measure("ring/back").unwrap()).left, [], "it is whole");
}

#[test]
fn what_the_touches_raised_is_told_once_and_only_while_it_is_so() {
    let mut kit = Kit::new(vec![face("face")]);
    assert_eq!(measuring(kit.measure("ring/face").unwrap()).raised, Vec::<String>::new());
    let enter = |kit: &mut Kit, value: &str| {
        let values = vec![value.to_owned()];
        let done = kit.ask(Command::Enter { values, graduation: None }).unwrap();
        let Done::Entered { measuring, .. } = done else { panic!("{done:?}") };
        measuring.raised
    };
    let none = Vec::<String>::new();
    assert_eq!(enter(&mut kit, "0.00000"), none);
    assert_eq!(enter(&mut kit, "0.00010"), none, "at the limit is not beyond it");
    let out = "ring/face out so far: 0.00011. Go on, or take it back.";
    assert_eq!(enter(&mut kit, "0.00011"), [out]);
    assert_eq!(kit.alerts(AlertKind::OutSoFar), [out]);
    assert_eq!(enter(&mut kit, "0.00005"), none, "it was told");
    kit.ask(Command::Void { id: Some(kit.readings()[2].0), why: None }).unwrap();
    assert_eq!(kit.alerts(AlertKind::OutSoFar), none);
}

#[test]
fn a_touch_that_alone_made_the_part_out_is_not_replaced_by_a_kinder_one() {
    let again = |value: &str| {
        let mut kit = Kit::new(vec![face("face")]);
        kit.measure("ring/face").unwrap();
        kit.send(&["0", "0", "0", "0.00013", "0", "0", "0", "0"]);
        let out = kit.readings()[3].0;
        kit.ask(Command::Void { id: Some(out), why: None }).unwrap();
        kit.send(&[value]);
        let attempt = kit.job().attempts.values().next().unwrap().clone();
        let at = attempt.readings.iter().find(|touched| touched.id == out).unwrap();
        at.state
    };
    assert_eq!(again("0.00011"), State::Placed, "the mean of both is judged");
    assert_eq!(again("0"), State::Void, "one of the two was a slip");
}

#[test]
fn a_touch_that_made_nothing_out_is_replaced() {
    let mut kit = Kit::new(vec![face("face")]);
    kit.measure("ring/face").unwrap();
    kit.send(&["0", "0", "0", "0.00008", "0", "0", "0", "0"]);
    let first = kit.readings()[3].0;
    kit.ask(Command::Void { id: Some(first), why: None }).unwrap();
    kit.send(&["0.00007"]);
    let attempt = kit.job().attempts.values().next().unwrap().clone();
    let at = attempt.readings.iter().find(|touched| touched.id == first).unwrap();
    assert_eq!(at.state, State::Void);
}

#[test]
fn what_goes_on_in_spite_of_something_stands_in_the_record_with_its_reason() {
    let mut kit = Kit::new(vec![face("face")]);
    kit.measure("ring/face").unwrap();
    assert!(kit.ask(Command::JobClose { name: None, why: None }).is_err());
    kit.ask(Command::JobClose { name: None, why: Some("the owner waits".to_owned()) }).unwrap();
    let went = kit.rows.iter().find_map(|row| {
        let Body::WentOn { went, .. } = &row.body else { return None };
        Some((went.part, went.lacking.len(), went.why.clone()))
    });
    assert_eq!(went, Some((None, 1, "the owner waits".to_owned())));
}

#[test]
fn a_reading_that_is_not_there_is_told_by_its_number() {
    let mut kit = Kit::new(vec![face("face")]);
    let refused = kit.ask(Command::Void { id: Some(Seq(4711)), why: None }).unwrap_err();
    assert_eq!(refused.text, "no reading 4711 in an open job");
}

#[test]
fn a_try_that_was_not_finished_is_told_as_one_that_does_not_count() {
    let mut kit = Kit::new(vec![face("face")]);
    kit.measure("ring/face").unwrap();
    kit.send(&["0", "0", "0"]);
    let again = || Command::Remeasure { reason: AttemptReason::Again, target: None, remark: None };
    kit.ask(again()).unwrap();
    kit.send(&["0"; 8]);
    let verdict = kit.verdict();
    assert_eq!(verdict.tries, 1);
    assert!(verdict.cautions.iter().any(|line| line.contains("not combined")), "{verdict:?}");
    // One in which nothing was touched is none.
    let mut kit = Kit::new(vec![face("face")]);
    kit.measure("ring/face").unwrap();
    kit.ask(Command::Stop).unwrap();
    kit.measure("ring/face").unwrap();
    kit.send(&["0"; 8]);
    assert_eq!(kit.verdict().cautions, Vec::<String>::new());
}
