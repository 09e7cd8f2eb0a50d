//! What a bench learns of its gauges while it measures, and which verdicts it is used for. Readings are in
//! millionths of an inch, in steps of ten.

use std::sync::Arc;

use crate::event::{Command, Event, Request};
use crate::fact::row::{AttemptReason, Body, Repeated, Spot};
use crate::plan::{Check, MasterUse};
use crate::state::row::Row;
use crate::tests::kit::{Kit, face, inch, name};
use judgement::{Known, Word};
use quantity::{Length, Name};

fn text(millionths: i64) -> String {
    let sign = if millionths < 0 { "-" } else { "" };
    format!("{sign}0.{:05}", millionths.abs() / 10)
}

fn send(kit: &mut Kit, readings: &[i64]) {
    for reading in readings {
        kit.press(&text(*reading));
    }
}

/// A face that is closed, with a gauge of which nothing is stated.
fn unstated(check: Check) -> Kit {
    let mut kit = Kit::new(vec![Check { closure: true, ..check }]);
    for gauge in kit.setup.gauges.values_mut() {
        (gauge.uncertainty, gauge.repeatability) = (None, None);
    }
    kit
}

fn uin(count: i64) -> Length {
    Length::from_picometres(25_400 * count)
}

/// What was noted: the kind, how far off and by whom.
fn noted(kit: &Kit) -> Vec<(Spot, Vec<Length>, Option<Name>)> {
    let one = |row: &Row| {
        let Body::Repeated(seen) = &row.body else { return None };
        let Repeated { spot, lengths, .. } = (**seen).clone();
        Some((spot, lengths, row.by.clone()))
    };
    kit.rows.iter().filter_map(one).collect()
}

fn asks(kit: &mut Kit, login: &str, command: Command) {
    let login = Some(login.to_owned());
    let request = Request { station: None, by: None, login, command };
    kit.event(&Event::Request(request)).reply.unwrap().unwrap();
}

fn person(kit: &mut Kit, of: Option<&str>) {
    kit.ask(Command::Person { name: of.map(str::to_owned) }).unwrap();
}

fn ground(kit: &mut Kit) {
    let target = Some("ring/face".to_owned());
    let reason = AttemptReason::Ground;
    kit.ask(Command::Remeasure { reason, target, remark: None }).unwrap();
}

/// A round on a flat face that comes back off by this.
fn round(kit: &mut Kit, back: i64) {
    if kit.job().attempts.is_empty() {
        kit.measure("ring/face").unwrap();
    } else {
        ground(kit);
    }
    send(kit, &[0; 8]);
    send(kit, &[back]);
}

/// From how many pairs the newest verdict knows how touches scatter.
fn pairs(kit: &Kit) -> Option<u32> {
    kit.verdict().repeat.map(|repeat| repeat.pairs)
}

#[test]
fn the_first_return_is_noted_as_it_was_and_never_a_second_one() {
    let mut kit = unstated(face("face"));
    round(&mut kit, 300);
    assert_eq!(noted(&kit), [(Spot::Return, vec![uin(300)], None)]);
    // Asked for once more, and back: it looked bad, so it is no fair sample.
    send(&mut kit, &[10]);
    assert_eq!(kit.verdict().word, Word::Conforms);
    assert_eq!(noted(&kit).len(), 1);
    // Taken back and touched again.
    ground(&mut kit);
    send(&mut kit, &[0; 8]);
    send(&mut kit, &[-20]);
    kit.ask(Command::Void { id: None, why: None }).unwrap();
    send(&mut kit, &[0]);
    let all: Vec<Vec<Length>> = noted(&kit).into_iter().map(|(_, lengths, _)| lengths).collect();
    assert_eq!(all, [vec![uin(300)], vec![uin(-20)]]);
}

#[test]
fn what_was_keyed_or_touched_by_two_people_is_not_noted() {
    let mut kit = unstated(face("face"));
    kit.measure("ring/face").unwrap();
    let values = vec!["0".to_owned(); 9];
    kit.ask(Command::Enter { values, graduation: None }).unwrap();
    assert_eq!(noted(&kit), []);
    // The return alone keyed, and the return alone by somebody else.
    ground(&mut kit);
    send(&mut kit, &[0; 8]);
    kit.ask(Command::Enter { values: vec!["0".to_owned()], graduation: None }).unwrap();
    assert_eq!(noted(&kit), []);
    person(&mut kit, Some("Ada"));
    ground(&mut kit);
    send(&mut kit, &[0; 8]);
    person(&mut kit, Some("Bo"));
    send(&mut kit, &[10]);
    assert_eq!(noted(&kit), []);
    // All by one.
    ground(&mut kit);
    send(&mut kit, &[0; 8]);
    send(&mut kit, &[10]);
    assert_eq!(noted(&kit), [(Spot::Return, vec![uin(10)], Some(name("Bo")))]);
}

#[test]
fn the_master_before_and_after_is_a_pair_of_its_own() {
    let master_size = Some(inch("1.5"));
    let mut kit = unstated(Check { master: MasterUse::Both, master_size, ..face("face") });
    kit.measure("ring/face").unwrap();
    send(&mut kit, &[100]);
    // Touched once more before the part: it is the opening touch.
    kit.ask(Command::Master { gauge: None }).unwrap();
    send(&mut kit, &[110]);
    send(&mut kit, &[0; 8]);
    send(&mut kit, &[20, 120]);
    let spots: Vec<(Spot, Vec<Length>)> =
        noted(&kit).into_iter().map(|(spot, lengths, _)| (spot, lengths)).collect();
    assert_eq!(spots[0], (Spot::Return, vec![uin(20)]));
    assert_eq!(spots[1].0, Spot::Master);
    assert_eq!(spots.len(), 2);
}

/// 0.95·9 = 8 degrees of freedom: known to 25 %, as well as what is assumed without it.
#[test]
fn nine_returns_take_the_place_of_what_is_assumed() {
    let mut kit = unstated(face("face"));
    let mut by_pairs = Vec::new();
    for nth in 0..12 {
        round(&mut kit, if nth % 2 == 0 { 10 } else { -10 });
        by_pairs.push(pairs(&kit));
    }
    assert_eq!(by_pairs[..9], [None; 9], "its own return is not behind a verdict");
    assert_eq!(by_pairs[9..], [Some(9), Some(10), Some(11)]);
    let (first, last) = (kit.verdicts()[0].clone(), kit.verdict());
    assert!(last.uncertainty < first.uncertainty, "s 7 in place of 12");
    assert_eq!(last.known, Known::Assumed, "the plate is assumed all the same");
}

#[test]
fn what_one_hand_shows_says_nothing_of_another() {
    let mut kit = unstated(face("face"));
    person(&mut kit, Some("Ada"));
    for nth in 0..10 {
        round(&mut kit, if nth % 2 == 0 { 10 } else { -10 });
    }
    assert_eq!(pairs(&kit), Some(9));
    person(&mut kit, Some("Bo"));
    round(&mut kit, 0);
    assert_eq!(pairs(&kit), None);
    // Ada again: her own and no more.
    person(&mut kit, Some("Ada"));
    round(&mut kit, 0);
    assert_eq!(pairs(&kit), Some(10));
    // She begins, and Bo makes one touch: nobody's scatter is behind this one.
    ground(&mut kit);
    send(&mut kit, &[0; 4]);
    person(&mut kit, Some("Bo"));
    send(&mut kit, &[0]);
    person(&mut kit, Some("Ada"));
    send(&mut kit, &[0; 3]);
    send(&mut kit, &[0]);
    assert_eq!(pairs(&kit), None);
}

#[test]
fn a_verdict_keeps_what_was_known_when_its_attempt_began() {
    let mut kit = unstated(face("face"));
    for nth in 0..10 {
        round(&mut kit, if nth % 2 == 0 { 10 } else { -10 });
    }
    let before = kit.verdict();
    let newest = *kit.job().attempts.keys().last().unwrap();
    // Later returns scatter far more; judged again, the old one is as it was.
    for _ in 0..6 {
        round(&mut kit, 60);
        round(&mut kit, -60);
    }
    let again = crate::judge::judge(&kit.job(), newest).unwrap();
    assert_eq!(again, *before);
    assert!(kit.verdict().uncertainty > before.uncertainty);
}

#[test]
fn another_set_up_and_another_serial_number_begin_anew() {
    let mut kit = unstated(face("face"));
    for nth in 0..10 {
        round(&mut kit, if nth % 2 == 0 { 10 } else { -10 });
    }
    kit.setup.gauges.get_mut(&name("plate")).unwrap().serial = Some("B2".to_owned());
    round(&mut kit, 0);
    assert_eq!(pairs(&kit), None);
    kit.setup.gauges.get_mut(&name("plate")).unwrap().serial = None;
    round(&mut kit, 0);
    assert_eq!(pairs(&kit), Some(10), "the first one is back");
}

/// Ten lifts of a proof have nine degrees of freedom, of which 8 are left: enough until there are returns.
#[test]
fn the_lifts_of_a_proof_serve_the_hand_that_made_them() {
    let prove = |login: &str| {
        let mut kit = unstated(face("face"));
        let gauge = "plate".to_owned();
        let command = Command::Prove { gauge, step: None, blocks: None, step_only: false };
        asks(&mut kit, login, command);
        send(&mut kit, &[10, 0, 10, 20, 10, 0, 10, 10, 0, 10, 1010, 10]);
        let target = "ring/face".to_owned();
        asks(&mut kit, "ada", Command::Measure { target, remark: None });
        send(&mut kit, &[0; 9]);
        let proof = kit.bench.shop.proofs(&name("plate"))[0].clone();
        (proof.by, pairs(&kit))
    };
    assert_eq!(prove("ada"), (Some(name("ada")), Some(10)));
    assert_eq!(prove("bo"), (Some(name("bo")), None), "lifts of another hand");
}

/// Ada measures; Bo proves her gauge in the middle of it, and she goes on.
#[test]
fn a_proof_in_the_middle_of_a_check_leaves_each_touch_with_its_hand() {
    let mut kit = unstated(face("face"));
    let target = "ring/face".to_owned();
    asks(&mut kit, "ada", Command::Measure { target, remark: None });
    send(&mut kit, &[0; 4]);
    let gauge = "plate".to_owned();
    let prove = Command::Prove { gauge, step: None, blocks: None, step_only: false };
    asks(&mut kit, "bo", prove);
    send(&mut kit, &[10, 0, 10]);
    // Somebody who says so takes over the proof.
    person(&mut kit, Some("cy"));
    send(&mut kit, &[20, 10, 0, 10, 10, 0, 10, 1010, 10]);
    person(&mut kit, Some("ada"));
    send(&mut kit, &[0; 5]);
    let hands: Vec<Option<Name>> = kit
        .rows
        .iter()
        .filter(|row| matches!(row.body, Body::Reading(_)))
        .map(|row| row.by.clone())
        .collect();
    let by = |of: &str, count: usize| vec![Some(name(of)); count];
    assert_eq!(hands, [by("ada", 4), by("bo", 3), by("cy", 9), by("ada", 5)].concat());
    // Where nobody says anything, the check goes on in the hand that it began with.
    let mut kit = unstated(face("face"));
    let target = "ring/face".to_owned();
    asks(&mut kit, "ada", Command::Measure { target, remark: None });
    let gauge = "plate".to_owned();
    let prove = Command::Prove { gauge, step: None, blocks: None, step_only: true };
    asks(&mut kit, "bo", prove);
    send(&mut kit, &[10, 1010, 10, 0]);
    let newest = kit.rows.iter().rfind(|row| matches!(row.body, Body::Reading(_))).unwrap();
    assert_eq!(newest.by, Some(name("ada")));
}

#[test]
fn what_was_noted_is_known_after_a_restart() {
    let mut kit = unstated(face("face"));
    for nth in 0..10 {
        round(&mut kit, if nth % 2 == 0 { 10 } else { -10 });
    }
    kit.event(&Event::Started { boot: 2 });
    round(&mut kit, 0);
    assert_eq!(pairs(&kit), Some(10));
    let seen = Arc::new(kit.bench.known.witnesses(&kit.setup.gauges[&name("plate")]));
    assert_eq!((seen.len(), seen[0].pool.count, seen[0].spot), (1, 11, Spot::Return));
}
