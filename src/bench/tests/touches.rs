//! Several touches at each position. Readings are invented, in millionths of an inch, in steps of ten;
//! expected figures are worked out by hand beside them.

mod anew;
mod days;
mod files;

use std::sync::Arc;

use crate::event::Command;
use crate::fact::row::{AttemptReason, State};
use crate::fact::seq::Seq;
use crate::plan::{Check, MasterUse, Size};
use crate::reply::Refusal;
use crate::series::{Nth, Touch, next_nth, next_touch};
use crate::state::Attempt;
use crate::tests::kit::{Kit, face, inch};
use judgement::{Limits, Reason, Word};
use proptest::prelude::*;
use quantity::{Figure, Length};

/// A ring whose heights span 70.
const RING: [i32; 8] = [0, 30, 50, 40, 20, -10, -20, 0];

/// A face with three touches at each of eight positions.
fn thrice() -> Check {
    Check { touches: 3, ..face("face") }
}

fn begun(check: Check) -> Kit {
    let mut kit = Kit::new(vec![check]);
    kit.measure("ring/face").unwrap();
    kit
}

fn text(millionths: i32) -> String {
    let sign = if millionths < 0 { "-" } else { "" };
    format!("{sign}0.{:05}", millionths.abs() / 10)
}

fn send(kit: &mut Kit, readings: &[i32]) {
    for reading in readings {
        kit.press(&text(*reading));
    }
}

/// Each height three times, with a scatter whose mean is zero.
fn each_thrice(ring: &[i32]) -> Vec<i32> {
    ring.iter().flat_map(|height| [*height, height + 10, height - 10]).collect()
}

fn attempt(kit: &Kit) -> Arc<Attempt> {
    Arc::clone(kit.job().attempts.values().last().unwrap())
}

/// What is touched next, and which of its position's touches that is.
fn next(kit: &Kit) -> (Touch, Option<Nth>) {
    let job = kit.job();
    let attempt = job.attempts.values().last().unwrap();
    let next = next_touch(job.check_of(attempt).unwrap().1, attempt);
    (next, next_nth(attempt, next))
}

fn at(position: u32, touch: u32) -> (Touch, Option<Nth>) {
    (Touch::Position(position), Some(Nth { touch, of: 3 }))
}

/// In tenths of a millionth of an inch.
fn tenths(figure: impl Into<Figure>) -> f64 {
    (figure.into().to_f64() / 2_540.0).round() / 10.0
}

fn void(kit: &mut Kit, id: Option<Seq>) {
    kit.ask(Command::Void { id, why: Some("slipped".to_owned()) }).unwrap();
}

fn skip(kit: &mut Kit, position: Option<u32>) -> Result<(), Refusal> {
    kit.ask(Command::Skip { position, why: "chipped".to_owned() }).map(|_| ())
}

/// The numbers of the touches at a position that count.
fn ids(kit: &Kit, position: u32) -> Vec<Seq> {
    attempt(kit).all_at(position).map(|touched| touched.id).collect()
}

#[test]
fn a_position_is_touched_to_the_end_before_the_next() {
    let mut kit = begun(thrice());
    for position in 0..8 {
        for touch in 1..=3 {
            assert_eq!(next(&kit), at(position, touch));
            send(&mut kit, &[RING[usize::try_from(position).unwrap()]]);
        }
    }
    assert_eq!(next(&kit).0, Touch::Nothing);
    let placed: Vec<u32> = kit.readings().iter().filter_map(|(_, one)| one.position).collect();
    assert_eq!(placed, (0..8).flat_map(|position| [position; 3]).collect::<Vec<_>>());
    // The 25th touch is only looking.
    send(&mut kit, &[0]);
    assert_eq!(kit.states()[24], State::Unclaimed);
}

/// 2·√(2·(36/3 + 8.4² − 36)) = 19.3 for three touches; 23.8 for one. A third of it all would be 13.7.
#[test]
fn the_means_are_judged_and_of_the_doubt_the_scatter_alone_averages() {
    let mut kit = begun(thrice());
    send(&mut kit, &each_thrice(&RING));
    let verdict = kit.verdict();
    assert_eq!((verdict.word, verdict.reasons.as_slice()), (Word::Conforms, &[][..]));
    assert_eq!(verdict.value.map(tenths), Some(70.0));
    assert_eq!(verdict.uncertainty.map(tenths), Some(19.3));
    assert_eq!((verdict.positions, verdict.touches, verdict.taken), (8, 3, 24));
    let twice = |touches: u32, lifts: &[i32]| {
        let mut kit = begun(Check { touches, ..face("face") });
        let all: Vec<i32> =
            RING.iter().flat_map(|height| lifts.iter().map(move |off| height + off)).collect();
        send(&mut kit, &all);
        let verdict = kit.verdict();
        (verdict.value.map(tenths), verdict.uncertainty.map(tenths))
    };
    assert_eq!(twice(1, &[0]), (Some(70.0), Some(23.8)));
    // 2·√(2·(36/2 + 34.56)) = 20.5.
    assert_eq!(twice(2, &[10, -10]), (Some(70.0), Some(20.5)));
    // Means that are no whole count: 50 + 20/3 above −20.
    let mut kit = begun(thrice());
    let mut uneven = each_thrice(&RING);
    uneven[6] += 10;
    uneven[8] += 10;
    send(&mut kit, &uneven);
    // 230/3 µin are 1 947 333⅓ pm; a mean is rounded to a picometre.
    assert_eq!(kit.verdict().value, Some(Figure::from(Length::from_picometres(1_947_333))));
}

#[test]
fn the_newest_touch_taken_back_is_asked_for_at_once_and_an_older_one_last() {
    let mut kit = begun(thrice());
    send(&mut kit, &[0, 10, -10, 30]);
    void(&mut kit, None);
    assert_eq!((next(&kit), attempt(&kit).taken()), (at(1, 1), 3));
    send(&mut kit, &[30, 40]);
    let second = kit.readings()[1].0;
    void(&mut kit, Some(second));
    assert_eq!(next(&kit), at(1, 3), "the hand stays where it is");
    send(&mut kit, &each_thrice(&RING)[5..]);
    assert_eq!(next(&kit), at(0, 3), "and comes back in the end");
    assert_eq!(attempt(&kit).taken(), 23);
    send(&mut kit, &[10]);
    let verdict = kit.verdict();
    assert_eq!((verdict.word, verdict.value.map(tenths)), (Word::Conforms, Some(70.0)));
    let void: Vec<Seq> = attempt(&kit).in_state(State::Void).map(|one| one.id).collect();
    assert_eq!(void.len(), 2, "both are kept");
}

#[test]
fn a_touch_taken_back_after_the_end_opens_its_position_alone() {
    let mut kit = begun(thrice());
    send(&mut kit, &each_thrice(&RING));
    let of_5 = ids(&kit, 5);
    void(&mut kit, Some(of_5[1]));
    assert_eq!(kit.verdict().word, Word::Incomplete);
    assert_eq!(next(&kit), at(5, 3));
    send(&mut kit, &[-10]);
    let verdict = kit.verdict();
    assert_eq!((verdict.word, verdict.value.map(tenths)), (Word::Conforms, Some(70.0)));
    assert_eq!(ids(&kit, 5).len(), 3);
}

#[test]
fn a_position_is_left_out_whole_or_not_at_all() {
    let mut kit = begun(thrice());
    send(&mut kit, &each_thrice(&RING)[..6]);
    skip(&mut kit, None).unwrap();
    assert_eq!(next(&kit), at(3, 1));
    send(&mut kit, &[40]);
    let refused = skip(&mut kit, None).unwrap_err();
    assert_eq!(refused.text, "position 3 has 1 of its 3 touches already");
    assert!(refused.hint.unwrap().contains("tenths void"));
    assert!(skip(&mut kit, Some(1)).unwrap_err().text.contains("filled or left out already"));
    assert!(skip(&mut kit, Some(8)).unwrap_err().text.contains("they run 0 to 7"));
    void(&mut kit, None);
    skip(&mut kit, None).unwrap();
    send(&mut kit, &each_thrice(&RING)[12..]);
    let verdict = kit.verdict();
    assert_eq!((verdict.skipped, verdict.taken), (2, 18));
    // Six of eight are too few for a face to be good.
    assert_eq!(
        (verdict.word, &verdict.reasons[..]),
        (Word::Undecided, &[Reason::TooFewPositions][..])
    );
    assert_eq!(verdict.value.map(tenths), Some(50.0), "30 − (−20)");
}

#[test]
fn a_series_that_is_left_is_incomplete_and_says_what_it_has() {
    let mut kit = begun(thrice());
    send(&mut kit, &each_thrice(&RING)[..23]);
    kit.ask(Command::Stop).unwrap();
    let verdict = kit.verdict();
    assert_eq!((verdict.word, verdict.taken), (Word::Incomplete, 23));
    assert_eq!(next(&kit).0, Touch::Nothing);
}

#[test]
fn the_return_and_the_touch_half_way_are_single_ones() {
    let mut kit = begun(Check { closure: true, middle: true, ..thrice() });
    send(&mut kit, &each_thrice(&RING)[..12]);
    assert_eq!(next(&kit), (Touch::Middle, None));
    send(&mut kit, &[0]);
    assert_eq!(next(&kit), at(4, 1));
    send(&mut kit, &each_thrice(&RING)[12..]);
    assert_eq!(next(&kit), (Touch::Closure, None));
    send(&mut kit, &[0]);
    let verdict = kit.verdict();
    assert_eq!((verdict.word, &verdict.reasons[..]), (Word::Conforms, &[][..]));
    let states = kit.states();
    let count = |state: State| states.iter().filter(|one| **one == state).count();
    assert_eq!([State::Placed, State::Middle, State::Closure].map(count), [24, 1, 1]);
}

/// The master 0 before and after, four positions of two touches, on 20, 30, 20 and 10: mean 20 above.
#[test]
fn a_length_takes_its_master_once_and_each_position_twice() {
    let length = Check {
        measures: Size::default().into(),
        positions: 4,
        touches: 2,
        limits: Some(Limits::Band { min: inch("1.4999"), max: inch("1.5001") }),
        master: MasterUse::Both,
        master_size: Some(inch("1.5")),
        ..face("face")
    };
    let mut kit = begun(length);
    assert_eq!(next(&kit), (Touch::Master, None));
    send(&mut kit, &[0, 20, 20, 30, 30, 20, 20, 10]);
    assert_eq!(next(&kit), (Touch::Position(3), Some(Nth { touch: 2, of: 2 })));
    send(&mut kit, &[10]);
    assert_eq!(next(&kit), (Touch::Master, None));
    send(&mut kit, &[0]);
    let verdict = kit.verdict();
    assert_eq!(verdict.value, Some(Figure::from(inch("1.50002"))));
    assert_eq!((verdict.word, verdict.taken), (Word::Conforms, 8));
}

#[test]
fn a_second_try_is_the_mean_of_means() {
    let mut kit = begun(thrice());
    send(&mut kit, &each_thrice(&RING));
    let reason = AttemptReason::Again;
    kit.ask(Command::Remeasure { reason, target: None, remark: None }).unwrap();
    send(&mut kit, &each_thrice(&RING));
    let both = kit.verdict();
    assert_eq!((both.tries, both.value.map(tenths)), (2, Some(70.0)));
    // The first try showed how this hand scatters: eight spots with squares of 2·10²·3/2 beside 24·0.9776,
    // 102.3, from 15 degrees of freedom. Six touches in all: 2·(102.3/6 + 34.56) = 103.2; 103.2²/(34.1²/15)
    // are 137 degrees of freedom: 2.03·√103.2 = 20.6.
    assert_eq!(both.uncertainty.map(tenths), Some(20.6));
}

fn orders() -> impl Strategy<Value = (Vec<i32>, Vec<usize>)> {
    let offsets = proptest::collection::vec(-1_i32..2, 24);
    (
        offsets.prop_map(|all| all.into_iter().map(|one| 10 * one).collect()),
        Just((0..3).collect::<Vec<_>>()).prop_shuffle(),
    )
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, ..ProptestConfig::default() })]

    #[test]
    fn neither_the_order_of_touches_on_one_spot_nor_the_zero_matters(
        (offsets, order) in orders(), zero in -90_i32..90,
    ) {
        let judged = |order: &[usize], zero: i32| {
            let mut kit = begun(thrice());
            for (position, height) in RING.iter().enumerate() {
                let touch = |nth: &usize| height + offsets[3 * position + nth] + 10 * zero;
                send(&mut kit, &order.iter().map(touch).collect::<Vec<_>>());
            }
            let verdict = kit.verdict();
            (verdict.value, verdict.uncertainty, verdict.word, verdict.reasons.clone())
        };
        let plain = judged(&[0, 1, 2], 0);
        prop_assert_eq!(&judged(&order, 0), &plain);
        prop_assert_eq!(&judged(&[0, 1, 2], zero), &plain);
        // The range of the means, by hand.
        let means = RING.iter().enumerate().map(|(position, height)| {
            3 * height + offsets[3 * position..3 * position + 3].iter().sum::<i32>()
        });
        let (low, high) = (means.clone().min().unwrap(), means.max().unwrap());
        let expected = Figure::from(inch("0.000001")) * i64::from(high - low) / 3;
        // Each mean is rounded to a picometre.
        let off = (plain.0.unwrap() - expected).abs();
        prop_assert!(off <= Figure::from(Length::from_picometres(1)), "{off:?}");
    }
}
