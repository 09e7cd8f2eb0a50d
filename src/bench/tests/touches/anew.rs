//! Touches on one spot that lie too far apart: they are asked for anew, all of them, and kept.

use super::{RING, at, attempt, begun, each_thrice, ids, next, send, tenths, text, thrice, void};
use crate::event::Command;
use crate::fact::row::{AlertKind, Body, Question, State};
use crate::plan::Check;
use crate::series::{Nth, Touch};
use crate::tests::kit::{Kit, name};
use judgement::{Reason, Word};

/// The ring, with a slip in the second touch at position 3.
fn slipped(by: i32) -> Vec<i32> {
    let mut readings = each_thrice(&RING);
    readings[10] += by;
    readings
}

fn asked(touch: u32) -> (Touch, Option<Nth>) {
    (Touch::Asked(Question::Touch(3)), Some(Nth { touch, of: 3 }))
}

/// Why touches do not count any more.
fn why(kit: &Kit) -> Vec<String> {
    let marked = |row: &crate::Row| {
        let Body::Marked { state: State::Void, why, .. } = &row.body else { return None };
        Some(why.clone())
    };
    kit.rows.iter().filter_map(marked).collect()
}

/// s 6: three touches may span 4.7·6 = 28.2, so 20 and no more in steps of ten.
#[test]
fn the_limit_for_touches_on_one_spot_is_4_7_s() {
    for (by, apart) in [(0, false), (-30, false), (10, true), (-40, true)] {
        // The touches are 40, 50 + by and 30.
        let mut kit = begun(thrice());
        send(&mut kit, &slipped(by));
        let verdict = kit.verdict();
        assert_eq!(verdict.reasons.contains(&Reason::TouchesDiffer), apart, "{by}");
        assert_eq!(next(&kit) == asked(1), apart, "{by}");
    }
}

#[test]
fn they_are_told_when_the_position_is_full_and_the_hand_goes_on() {
    let mut kit = begun(thrice());
    let readings = slipped(60);
    send(&mut kit, &readings[..11]);
    assert!(kit.open().is_empty(), "two of three: {:?}", kit.open());
    send(&mut kit, &readings[11..12]);
    let hint = kit.alerts(AlertKind::WildTouch);
    assert_eq!(hint.len(), 1);
    assert!(hint[0].contains("The 3 touches at 3 are 0.00008 apart."), "{hint:?}");
    assert!(hint[0].contains("Touch position 3 again, 3 times."), "{hint:?}");
    assert_eq!(next(&kit), at(4, 1));
    // Taking the slip back mends it: one touch is missing, nothing is apart.
    let slip = ids(&kit, 3)[1];
    void(&mut kit, Some(slip));
    assert!(kit.alerts(AlertKind::WildTouch).is_empty());
    assert_eq!(next(&kit), at(3, 3));
}

#[test]
fn all_three_are_made_anew_and_the_verdict_waits_for_the_last() {
    let mut kit = begun(thrice());
    send(&mut kit, &slipped(60));
    let before = ids(&kit, 3);
    for touch in 1..=3 {
        assert_eq!(next(&kit), asked(touch));
        let verdict = kit.verdict();
        assert!(verdict.reasons.contains(&Reason::TouchesDiffer), "{:?}", verdict.reasons);
        assert_eq!(verdict.word, Word::Undecided);
        send(&mut kit, &[40]);
    }
    let verdict = kit.verdict();
    assert_eq!((verdict.word, &verdict.reasons[..]), (Word::Conforms, &[][..]));
    assert_eq!(verdict.value.map(tenths), Some(70.0));
    assert_eq!(next(&kit).0, Touch::Nothing);
    // The older ones are kept with the reason, and none of the newer.
    assert_eq!(why(&kit), ["touched anew: the touches lay too far apart"; 3]);
    let void: Vec<_> = attempt(&kit).in_state(State::Void).map(|one| one.id).collect();
    assert_eq!(void, before);
    assert!(kit.open().is_empty(), "{:?}", kit.open());
}

#[test]
fn two_positions_are_asked_for_one_after_the_other_the_worse_first() {
    let mut kit = begun(thrice());
    let mut readings = slipped(60);
    readings[16] += 40;
    send(&mut kit, &readings);
    assert_eq!(next(&kit), asked(1), "80 at 3, 60 at 5");
    send(&mut kit, &[40, 50, 30]);
    assert_eq!(next(&kit).0, Touch::Asked(Question::Touch(5)));
    assert_eq!(kit.verdict().reasons, [Reason::TouchesDiffer]);
    send(&mut kit, &[-10, -10, 0]);
    assert_eq!((next(&kit).0, kit.verdict().word), (Touch::Nothing, Word::Conforms));
}

/// Once asked, not asked again: a hand that cannot do it is not held up for ever.
#[test]
fn a_position_that_is_apart_again_is_not_asked_for_twice() {
    let mut kit = begun(thrice());
    send(&mut kit, &slipped(60));
    send(&mut kit, &[40, 90, 30]);
    let verdict = kit.verdict();
    assert_eq!(
        (verdict.word, &verdict.reasons[..]),
        (Word::Undecided, &[Reason::TouchesDiffer][..])
    );
    assert_eq!(next(&kit).0, Touch::Nothing);
    assert_eq!(ids(&kit, 3).len(), 3, "the new ones count, and lie apart");
}

#[test]
fn a_new_touch_that_slipped_is_taken_back_and_asked_for_again() {
    let mut kit = begun(thrice());
    send(&mut kit, &slipped(60));
    send(&mut kit, &[40, 200]);
    void(&mut kit, None);
    assert_eq!(next(&kit), asked(2));
    send(&mut kit, &[50, 30]);
    let verdict = kit.verdict();
    assert_eq!((verdict.word, verdict.value.map(tenths)), (Word::Conforms, Some(70.0)));
}

/// A hand of which nothing is stated is asked by what it shows at the other spots: s 12 is assumed, and
/// 4.7·4.28/3·12 = 80 is allowed; where the others show 30, much more.
#[test]
fn a_heavy_hand_is_not_asked_at_every_spot() {
    let unstated = |lifts: [i32; 3], slip: i32| {
        let mut kit = Kit::new(vec![thrice()]);
        for gauge in kit.setup.gauges.values_mut() {
            (gauge.uncertainty, gauge.repeatability) = (None, None);
        }
        kit.measure("ring/face").unwrap();
        let each = |height: &i32| lifts.map(|off| height + off);
        let mut readings: Vec<i32> = RING.iter().flat_map(each).collect();
        readings[10] += slip;
        send(&mut kit, &readings);
        kit.verdict().reasons.contains(&Reason::TouchesDiffer)
    };
    assert!(!unstated([0, 10, -10], 60), "80");
    assert!(unstated([0, 10, -10], 70), "90");
    // All spots span 120, s = 60 at each other one: 4.7·3.64/3·60 = 342 at 14 degrees of freedom.
    assert!(!unstated([0, 60, -60], 0));
    assert!(!unstated([0, 60, -60], 210));
    assert!(unstated([0, 60, -60], 240));
}

#[test]
fn one_touch_at_a_position_is_never_apart() {
    let mut kit = begun(Check { touches: 1, ..thrice() });
    send(&mut kit, &RING);
    assert!(kit.verdict().reasons.is_empty());
    assert_eq!(kit.bench.alerts.len(), 0);
}

#[test]
fn touches_keyed_in_together_are_judged_as_if_they_were_sent() {
    let keyed = |readings: &[i32]| {
        let mut kit = begun(thrice());
        let values = readings.iter().map(|one| text(*one)).collect();
        kit.ask(Command::Enter { values, graduation: None }).unwrap();
        let verdict = kit.verdict();
        (verdict.value, verdict.uncertainty, verdict.reasons.clone(), next(&kit))
    };
    let sent = |readings: &[i32]| {
        let mut kit = begun(thrice());
        send(&mut kit, readings);
        let verdict = kit.verdict();
        (verdict.value, verdict.uncertainty, verdict.reasons.clone(), next(&kit))
    };
    for readings in [slipped(0), slipped(60)] {
        assert_eq!(keyed(&readings), sent(&readings));
    }
}

#[test]
fn the_gauge_that_was_changed_beside_it_changes_nothing_of_the_attempt() {
    let mut kit = begun(thrice());
    send(&mut kit, &slipped(60)[..12]);
    kit.setup.gauges.get_mut(&name("height")).unwrap().repeatability = None;
    send(&mut kit, &slipped(60)[12..]);
    assert_eq!(next(&kit), asked(1));
}
