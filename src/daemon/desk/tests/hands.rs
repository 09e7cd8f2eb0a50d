//! Streams, gauges that are asked, and feet, with every time made up.

use super::shop::*;
use super::*;
use bench::Command;
use bench::row::{Device, State};
use gauge::{Capture, Damage, Foreign};
use intake::Asks;
use wire::code::Action;

#[test]
fn nine_touches_of_a_stream_are_a_ring_and_the_rest_is_idle() {
    let mut shop = shop(Capture::Settle);
    shop.stay(30, 20);
    for steps in [0, 1, 2, 3, 3, 2, 1, 0, 0] {
        shop.touch(steps);
    }
    let after = shop.desk.bench.last;
    shop.touch(5);
    shop.touch(7);
    assert_eq!(shop.desk.bench.last, after, "after the last touch nothing is stored");
    let states: Vec<State> = shop.readings().into_iter().map(|(_, state)| state).collect();
    assert_eq!(states[..8], [State::Placed; 8]);
    assert_eq!(states[8..], [State::Closure]);
    assert_eq!(shop.sent(), ["0", "1", "2", "3", "3", "2", "1", "0", "0"]);
    assert_eq!(shop.counted(), (20 + 11 * 12, 9, 20 + 11 * 12 - 9));
    let last = shop.shown.borrow().status(intake::now().wall).gauges[0].last.clone();
    assert_eq!(last.as_deref(), Some("0.00007 in"), "idle samples show the live value");
    assert!(shop.alerts().is_empty(), "{:?}", shop.alerts());
}

#[test]
fn a_ring_goes_on_after_a_start_and_keeps_its_level() {
    let mut shop = shop(Capture::Settle);
    shop.touch(0);
    shop.touch(1);
    // As a start leaves it: the bench as stored, the streams new.
    let captures = shop.desk.streams.captures.clone();
    shop.desk.streams = Streams::new(Asks::new());
    shop.desk.streams.follow(captures);
    shop.stay(1, 100);
    shop.stay(9, 100);
    assert_eq!(shop.sent(), ["0", "1"], "disarmed until a lift; a slide is none");
    shop.touch(2);
    assert_eq!(shop.sent(), ["0", "1", "2"]);
    shop.stay(4000, 10);
    shop.stay(3000, 20);
    assert_eq!(shop.sent(), ["0", "1", "2"], "still, and in the air as the ring knows it");
}

#[test]
fn a_touch_that_is_taken_back_is_made_again_after_a_lift() {
    let mut shop = shop(Capture::Settle);
    shop.touch(500);
    shop.done(Command::Void { id: None, why: None });
    shop.stay(500, 30);
    assert_eq!(shop.sent(), ["500"]);
    // The level went with it.
    shop.touch(0);
    assert_eq!(shop.readings()[1], ("0".to_owned(), State::Placed));
}

#[test]
fn take_takes_what_stands_still_and_says_why_not() {
    let mut shop = shop(Capture::Settle);
    shop.refused("has not sent enough samples");
    shop.stay(3, 10);
    let line = shop.done(Command::Take { frame: None });
    assert!(line.contains("taken/1") && line.contains("0.00003 in taken."), "{line}");
    assert!(line.contains("Touch position 1 of 8 next."), "{line}");
    assert_eq!(shop.counted(), (10, 1, 9));
    shop.stay(60, 3);
    shop.refused("does not stand still");
    shop.stay(900, 10);
    shop.refused("in the air");
    shop.stay(-900, 10);
    shop.refused("off the edge");
    shop.done(Command::Stop);
    shop.refused("no check is active");
    assert_eq!(shop.sent(), ["3"]);
}

#[test]
fn two_takes_in_a_moment_are_one_that_slipped() {
    let mut shop = shop(Capture::Settle);
    shop.stay(3, 10);
    shop.done(Command::Take { frame: None });
    shop.now_us += 120_000;
    shop.refused("taken a moment ago");
    shop.tap();
    assert_eq!(shop.sent(), ["3"], "nor by foot");
    shop.stay(3, 10);
    shop.done(Command::Take { frame: None });
    assert_eq!(shop.sent(), ["3", "3"]);
}

#[test]
fn a_gauge_that_sends_by_itself_is_not_taken() {
    let mut shop = shop(Capture::Send);
    shop.frame(4);
    shop.refused("plate cannot be asked");
    shop.tap();
    assert_eq!(shop.sent(), ["4"], "its newest frame is a reading already");
    shop.foot_at("bench", true, 500);
    shop.foot_at("bench", false, 1500);
    assert_eq!(shop.readings(), [("4".to_owned(), State::Void)]);
}

#[test]
fn a_foot_takes_the_value_from_before_it_and_takes_back() {
    let mut shop = shop(Capture::Settle);
    shop.stay(3, 5);
    shop.stay(4, 3);
    // Samples of 30 and 130 ms before are shaken; the one of 230 ms before is meant.
    shop.frame(5);
    shop.tap();
    assert_eq!(shop.sent(), ["4"]);
    shop.stay(12, 10);
    shop.tap();
    assert_eq!(shop.sent(), ["4", "12"], "no lift is needed");
    shop.foot_at("bench", true, 1000);
    shop.stay(13, 15);
    shop.foot_at("bench", false, 10);
    let states: Vec<State> = shop.readings().into_iter().map(|(_, state)| state).collect();
    assert_eq!(states, [State::Placed, State::Void]);
    shop.stay(4000, 10);
    shop.tap();
    assert_eq!(shop.sent(), ["4", "12"], "not out of the air");
    let (frames, taken, _) = shop.counted();
    assert_eq!((frames, taken), (5 + 3 + 1 + 10 + 15 + 10, 2));
}

#[test]
fn a_foot_and_a_settled_stream_mean_one_touch() {
    let mut shop = shop(Capture::Settle);
    shop.touch(0);
    shop.tap();
    assert_eq!(shop.sent(), ["0"], "the foot came right after the take");
    shop.stay(0, 10);
    shop.stay(4000, 4);
    shop.stay(1, 4);
    shop.foot_at("bench", true, 10);
    shop.stay(1, 4);
    shop.foot_at("bench", false, 10);
    assert_eq!(shop.sent(), ["0", "1"], "it settled while the foot was down");
}

#[test]
fn a_pedal_stuck_down_is_one_note_and_two_pedals_are_two_feet() {
    let mut shop = shop(Capture::Settle);
    shop.stay(0, 10);
    shop.foot_at("other", true, 0);
    shop.tap();
    assert_eq!(shop.sent(), ["0"], "the other station's foot is its own");
    shop.stay(0, 290);
    assert_eq!(shop.alerts(), []);
    shop.stay(0, 700);
    assert_eq!(shop.alerts(), [AlertKind::Pedal]);
    shop.tap();
    shop.foot_at("other", false, 10);
    assert_eq!(shop.alerts(), []);
    assert_eq!(shop.sent(), ["0", "0"], "the stuck one took nothing and took nothing back");
}

#[test]
fn take_asks_a_polled_gauge_once_and_waits_for_it() {
    let mut shop = shop(Capture::Request);
    let mut answer = shop.ask(Command::Take { frame: None });
    assert_eq!(shop.asked.try_recv().unwrap(), name("plate"));
    shop.kind("2:+0.1", Kind::Foreign(Foreign::OtherChannel));
    assert!(answer.try_recv().is_err(), "another channel answers nothing");
    shop.refused("was asked already");
    shop.now_us += 100_000;
    shop.frame(7);
    let line = answer.try_recv().unwrap().line;
    assert!(line.contains("taken/1") && line.contains("0.00007"), "{line}");
    shop.frame(8);
    assert_eq!(shop.sent(), ["7", "8"]);
    assert_eq!(shop.states(), [State::Placed, State::Unclaimed], "it answers nothing");
    assert_eq!(shop.counted(), (3, 2, 0));
}

#[test]
fn a_polled_gauge_that_does_not_answer_is_told_of() {
    let mut shop = shop(Capture::Request);
    let mut answer = shop.ask(Command::Take { frame: None });
    shop.now_us += 1_000_000;
    shop.news(News::Unanswered { gauge: name("plate") });
    let line = answer.try_recv().unwrap().line;
    assert!(line.contains("plate did not answer within 1000 ms"), "{line}");
    shop.refused("may still answer");
    shop.frame(7);
    assert_eq!(shop.states(), [State::Unclaimed], "a late answer is no touch");
    let mut damaged = shop.ask(Command::Take { frame: None });
    shop.kind("?", Kind::Damaged(Damage::NotThePattern));
    assert!(damaged.try_recv().unwrap().line.contains("but not with a reading"));
    let mut lost = shop.ask(Command::Take { frame: None });
    let link = Link::Lost("gone".to_owned());
    shop.news(News::Line { gauges: vec![name("plate")], link });
    assert!(lost.try_recv().unwrap().line.contains("was lost before it answered"));
    shop.refused("its line is not open");
    assert_eq!(shop.counted(), (2, 1, 0));
}

#[test]
fn nobody_waits_for_a_gauge_whose_line_was_lost_a_moment_ago() {
    let mut shop = shop(Capture::Request);
    // Both come together and are stored in one commit: what is published is older than either.
    let (at, gauges) = (shop.at(), vec![name("plate")]);
    let lost = News::Line { gauges: gauges.clone(), link: Link::Lost("gone".to_owned()) };
    shop.desk.take(Input::Arrival(Arrival { at, news: lost })).unwrap();
    let (reply, mut answer) = oneshot::channel();
    let command = Command::Take { frame: None };
    let request = Request { station: Some("bench".to_owned()), by: None, login: None, command };
    let change = Change::new((at, "k".to_owned()), request, reply);
    shop.take(Input::Change(Box::new(change)));
    let line = answer.try_recv().expect("it is answered").line;
    assert!(line.contains("its line is not open"), "{line}");
    // A foot that asks is told, too.
    shop.news(News::Line { gauges: gauges.clone(), link: Link::Live });
    let lost = News::Line { gauges, link: Link::Lost("gone".to_owned()) };
    shop.desk.take(Input::Arrival(Arrival { at, news: lost })).unwrap();
    shop.tap();
    assert!(shop.asked.try_recv().is_err(), "nothing is asked");
}

#[test]
fn a_foot_asks_a_polled_gauge_and_the_release_takes_it() {
    let mut shop = shop(Capture::Request);
    shop.foot_at("bench", true, 0);
    assert_eq!(shop.asked.try_recv().unwrap(), name("plate"));
    shop.frame(1);
    assert_eq!(shop.sent(), [""; 0], "not before the release");
    shop.foot_at("bench", false, 300);
    shop.foot_at("bench", true, 300);
    shop.foot_at("bench", false, 300);
    shop.frame(2);
    assert_eq!(shop.sent(), ["1", "2"], "the answer may come after the release");
    shop.foot_at("bench", true, 300);
    shop.frame(3);
    shop.foot_at("bench", false, 1300);
    let states: Vec<State> = shop.readings().into_iter().map(|(_, state)| state).collect();
    assert_eq!(states, [State::Placed, State::Void], "a hold takes back and takes nothing");
    assert_eq!(shop.counted(), (3, 2, 1));
}

#[test]
fn a_foot_that_comes_to_nothing_is_one_note_until_something_is_taken() {
    let mut shop = shop(Capture::Settle);
    shop.tap();
    let silent = "pedal: nothing taken of plate: it has not sent enough samples in the last second";
    shop.noted(AlertKind::Foot, silent);
    let rows = shop.desk.bench.last;
    shop.tap();
    assert_eq!(shop.desk.bench.last, rows, "the note stands; nothing is stored again");
    shop.hold();
    let back = "pedal: nothing taken back: there is no reading to take back at bench";
    shop.noted(AlertKind::Foot, back);
    shop.foot_at("other", true, 10);
    shop.foot_at("other", false, 200);
    let other = "pedal: nothing taken: no check is active here";
    assert_eq!(shop.notes(AlertKind::Foot), [back, other]);
    shop.stay(3, 10);
    shop.tap();
    shop.noted(AlertKind::Foot, other);
    shop.stay(4000, 10);
    shop.tap();
    assert_eq!(shop.notes(AlertKind::Foot).len(), 2, "in the air");
    shop.hold();
    shop.noted(AlertKind::Foot, other);
    shop.stay(4000, 5);
    shop.foot_at("bench", true, 10);
    shop.stay(4000, 12);
    shop.foot_at("bench", false, 10);
    assert!(shop.notes(AlertKind::Foot).iter().any(|text| text == back), "a hold takes nothing");
    shop.touch(0);
    shop.noted(AlertKind::Foot, other);
    let state = |shop: &Shop| shop.readings().last().unwrap().clone();
    assert_eq!(state(&shop), ("0".to_owned(), State::Placed));
}

#[test]
fn a_foot_after_the_last_touch_is_looking_and_silent() {
    let mut shop = shop(Capture::Settle);
    for steps in [0, 1, 2, 3, 3, 2, 1, 0, 0] {
        shop.touch(steps);
    }
    shop.stay(1, 20);
    shop.tap();
    assert_eq!(shop.alerts(), []);
    assert_eq!(shop.sent().len(), 9);
}

#[test]
fn a_foot_on_a_gauge_with_a_button_says_that_it_takes_nothing() {
    let mut shop = shop(Capture::Send);
    shop.frame(4);
    shop.tap();
    let why = "pedal: nothing taken of plate: each of its frames is a reading already";
    shop.noted(AlertKind::Foot, why);
    shop.now_us += 1_000_000;
    shop.frame(5);
    assert_eq!(shop.alerts(), []);
}

#[test]
fn a_gauge_that_does_not_answer_a_foot_is_a_note_at_the_release() {
    let mut shop = shop(Capture::Request);
    let why = "pedal: nothing taken: plate did not answer within 1000 ms";
    shop.tap();
    shop.now_us += 900_000;
    shop.news(News::Unanswered { gauge: name("plate") });
    shop.noted(AlertKind::Foot, why);
    shop.now_us += 2_000_000;
    shop.tap();
    shop.frame(2);
    assert_eq!((shop.sent(), shop.alerts()), (vec!["2".to_owned()], vec![]));
    // Still down: whether it takes or takes back is not known yet.
    shop.foot_at("bench", true, 300);
    shop.now_us += 600_000;
    shop.news(News::Unanswered { gauge: name("plate") });
    assert_eq!(shop.alerts(), []);
    shop.foot_at("bench", false, 100);
    shop.noted(AlertKind::Foot, why);
    shop.foot_at("bench", true, 2000);
    shop.now_us += 1_000_000;
    shop.news(News::Unanswered { gauge: name("plate") });
    shop.foot_at("bench", false, 300);
    assert_eq!(shop.readings(), [("2".to_owned(), State::Void)]);
    assert_eq!(shop.alerts(), [], "taken back: something was done");
}

#[test]
fn a_scanned_take_is_told_when_the_gauge_has_answered_or_not() {
    let mut shop = shop(Capture::Request);
    shop.scan(Action::Take);
    assert_eq!(shop.asked.try_recv().unwrap(), name("plate"));
    assert_eq!(shop.alerts(), []);
    shop.now_us += 1_000_000;
    shop.news(News::Unanswered { gauge: name("plate") });
    shop.noted(AlertKind::Scan, "scan: plate did not answer within 1000 ms");
    shop.now_us += 1_000_000;
    shop.scan(Action::Take);
    shop.noted(AlertKind::Scan, "scan: plate did not answer within 1000 ms");
    shop.kind("?", Kind::Damaged(Damage::NotThePattern));
    assert!(shop.notes(AlertKind::Scan)[0].contains("but not with a reading"));
    shop.scan(Action::Take);
    shop.scan(Action::Take);
    shop.noted(AlertKind::Scan, "scan: plate was asked already and has not answered yet");
    shop.frame(3);
    assert_eq!(shop.notes(AlertKind::Scan), [""; 0]);
    assert_eq!(shop.sent(), ["3"]);
    shop.scan(Action::Take);
    let link = Link::Lost("gone".to_owned());
    shop.news(News::Line { gauges: vec![name("plate")], link });
    shop.noted(AlertKind::Scan, "scan: the line of plate was lost before it answered");
}

#[test]
fn a_pedal_that_is_unplugged_while_it_is_down_is_forgotten() {
    let missing = || Some("gone".to_owned());
    let gone = |missing| News::Device { station: name("bench"), what: Device::Pedal, missing };
    let mut shop = shop(Capture::Settle);
    shop.stay(3, 10);
    shop.foot_at("bench", true, 30);
    shop.news(gone(missing()));
    assert_eq!(shop.alerts(), [AlertKind::DeviceLost]);
    shop.news(gone(None));
    shop.foot_at("bench", false, 100);
    shop.stay(3, 400);
    assert_eq!((shop.sent(), shop.alerts()), (vec![], vec![]), "neither taken nor stuck");
    shop.tap();
    assert_eq!(shop.sent(), ["3"], "it is a pedal again");
    shop.foot_at("bench", true, 30);
    shop.stay(3, 310);
    assert_eq!(shop.alerts(), [AlertKind::Pedal]);
    shop.news(gone(missing()));
    assert_eq!(shop.alerts(), [AlertKind::DeviceLost], "what is not there is not stuck");
    shop.news(gone(None));
    shop.foot_at("bench", true, 30);
    shop.stay(3, 310);
    assert_eq!(shop.alerts(), [AlertKind::Pedal]);
    shop.desk.started().unwrap();
    assert_eq!(shop.alerts(), [], "after a start it is up for all that is known");
    shop.foot_at("bench", false, 30);
    // A scanner that goes takes no press with it.
    shop.news(gone(None));
    shop.foot_at("bench", true, 30);
    shop.news(News::Device { station: name("bench"), what: Device::Scanner, missing: missing() });
    shop.foot_at("bench", false, 100);
    assert_eq!(shop.sent(), ["3", "3"]);
}

#[test]
fn a_scanner_that_types_rubbish_changes_its_note_now_and_then_only() {
    let mut shop = shop(Capture::Settle);
    let read = |shop: &mut Shop, text: &str, after_us: u64| {
        shop.now_us += after_us;
        shop.news(News::Scan { station: name("bench"), text: text.to_owned() });
    };
    // A person who scans the wrong things one after the other is told of each.
    for (text, why) in [("1234", "no code"), ("$A-NEXT-00", "not read whole"), ("x", "no code")] {
        read(&mut shop, text, 1_000_000);
        assert!(shop.notes(AlertKind::Scan)[0].contains(why), "{text}");
    }
    let before = shop.desk.bench.last.0;
    for line in 0..20_000 {
        read(&mut shop, if line % 2 == 0 { "$A-NEXT-00" } else { "rubbish" }, 1000);
        assert_eq!(shop.notes(AlertKind::Scan).len(), 1);
    }
    let told = shop.desk.bench.last.0 - before;
    assert!((10..=24).contains(&told), "{told} rows in 20 s");
    shop.scan(Action::Stop);
    assert_eq!(shop.notes(AlertKind::Scan), [""; 0], "a code is a code all the same");
    read(&mut shop, "rubbish", 1000);
    assert_eq!(shop.notes(AlertKind::Scan).len(), 1, "the first one is always told");
}

/// An hour at ten samples a second of a display that cannot decide between two digits.
fn flicker(shop: &mut Shop, steps: i64, digit: impl Fn(u64) -> i64) {
    for sample in 0..36_000 {
        shop.now_us += 100_000;
        shop.frame(steps + digit(sample));
    }
}

#[test]
fn an_hour_between_two_digits_is_one_take_a_touch_and_never_one_without_a_lift() {
    let mut shop = shop(Capture::Settle);
    let seed = |n: u64| n.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(n >> 7) >> 63;
    let digits: [fn(u64) -> i64; 3] = [
        |n| i64::from(n % 2 == 0),
        // Ten seconds each, so that each stands still for itself.
        |n| i64::from(n / 100 % 2 == 0),
        |n| i64::from(n * n % 7 < 3),
    ];
    for (touch, digit) in digits.into_iter().enumerate() {
        let steps = i64::try_from(touch).unwrap() * 2;
        shop.stay(4000, 4);
        flicker(&mut shop, steps, digit);
        let sent = shop.sent();
        assert_eq!(sent.len(), touch + 1, "one take");
        let taken: i64 = sent[touch].parse().unwrap();
        assert!((steps..=steps + 1).contains(&taken), "{sent:?}");
    }
    shop.stay(4000, 4);
    flicker(&mut shop, 6, |n| i64::try_from(seed(n)).unwrap());
    assert_eq!(shop.sent().len(), 4);
    assert_eq!(shop.alerts(), [], "a value that hardly changes is no fault");
    let (frames, taken, idle) = shop.counted();
    assert_eq!((frames, taken, idle), (4 * 36_004, 4, 4 * 36_004 - 4));
}
