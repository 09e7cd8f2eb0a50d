//! What a bench has seen of its own repeatability.

use super::{Dice, moved, pm, readings, times};
use crate::{Freedom, Pooled};
use proptest::prelude::*;
use quantity::Length;

const STEP: i64 = 254_000;

fn returns(of: &[Length]) -> Pooled {
    Pooled::returns(of, pm(STEP)).unwrap()
}

fn lifts(of: &[Vec<Length>], step: i64) -> Option<Pooled> {
    let sets: Vec<&[Length]> = of.iter().map(Vec::as_slice).collect();
    Pooled::lifts(&sets, pm(step))
}

/// Good work of one hand, with a standard deviation of 1 µm in each touch.
fn normal(dice: &mut Dice, count: usize) -> Vec<Length> {
    #[expect(clippy::cast_possible_truncation, reason = "some standard deviations")]
    let one = |dice: &mut Dice| (1e6 * dice.normal()).round() as i64;
    (0..count).map(|_| pm(one(dice) - one(dice))).collect()
}

#[expect(clippy::cast_precision_loss, reason = "small lengths")]
fn ratio(one: Length, other: Length) -> f64 {
    one.picometres() as f64 / other.picometres() as f64
}

proptest! {
    #[test]
    fn it_is_never_below_what_rounding_makes(of in readings(1..40)) {
        let found = returns(&of);
        // 254 000/√12 = 73 323.5.
        prop_assert!(found.s >= pm(73_324));
        prop_assert_eq!(found.count, u32::try_from(of.len()).unwrap());
        let degrees = found.freedom.degrees().unwrap();
        prop_assert!(degrees >= 1 && degrees <= found.count);
    }

    #[test]
    fn the_sign_turns_the_walk_alone(of in readings(1..40)) {
        let (one, other) = (returns(&of), returns(&times(&of, -1)));
        prop_assert_eq!((one.s, one.freedom), (other.s, other.freedom));
        let turned = other.drift.map(|drift| -drift.picometres());
        prop_assert_eq!(one.drift.map(Length::picometres), turned);
    }

    #[test]
    fn the_unit_does_not_matter(of in readings(2..40)) {
        let larger = Pooled::returns(&times(&of, 8), pm(8 * STEP)).unwrap();
        let one = returns(&of);
        prop_assert!((larger.s.picometres() - 8 * one.s.picometres()).abs() <= 8);
        prop_assert_eq!((larger.freedom, larger.count), (one.freedom, one.count));
        prop_assert_eq!(larger.drift.is_some(), one.drift.is_some());
    }

    #[test]
    fn each_set_of_lifts_has_a_height_of_its_own(
        sets in proptest::collection::vec(readings(0..12), 1..5), up in -9_000_000_i64..9_000_000,
    ) {
        let elsewhere: Vec<Vec<Length>> =
            sets.iter().zip(1..).map(|(set, nth)| moved(set, nth * up)).collect();
        let (one, other) = (lifts(&sets, STEP), lifts(&elsewhere, STEP));
        prop_assert_eq!(one.map(|of| of.freedom), other.map(|of| of.freedom));
        if let Some((one, other)) = one.zip(other) {
            prop_assert!((one.s.picometres() - other.s.picometres()).abs() <= 2, "{one:?} {other:?}");
            let touches: usize = sets.iter().map(Vec::len).filter(|len| *len > 1).sum();
            prop_assert_eq!(one.count, u32::try_from(touches).unwrap());
        }
        let repeated = sets.iter().any(|set| set.len() > 1);
        prop_assert_eq!(one.is_some(), repeated, "one lift alone shows nothing");
    }

    /// A knock that is far off counts as one that is just beyond the clip, however far it is.
    #[test]
    fn one_knock_among_many_can_do_no_more_than_so_much(seed in 1_u64.., far in 12_i64..5_000) {
        let mut dice = Dice(seed | 1);
        let good = normal(&mut dice, 40);
        let with = |far: i64| {
            let mut all = good.clone();
            all.push(pm(far * 1_000_000));
            returns(&all)
        };
        let (near, further) = (with(far), with(2 * far));
        // By chance three in a thousand good series seem to walk.
        prop_assume!([near, further, returns(&good)].iter().all(|one| one.drift.is_none()));
        prop_assert!((near.s.picometres() - further.s.picometres()).abs() <= 1, "{near:?} {further:?}");
        let more = ratio(further.s, returns(&good).s);
        // 0.9776·41 − 6.25 of 0.9776·40: a sixth of the square at most, but for values at the clip.
        prop_assert!((0.95..1.15).contains(&more), "{more}");
        prop_assert_eq!(further.freedom, near.freedom);
    }

    #[test]
    fn good_work_is_found_as_it_was_drawn(seed in 1_u64..) {
        let mut dice = Dice(seed | 1);
        let found = returns(&normal(&mut dice, 300));
        // s of 300 returns is known to 1/√600 = 4 %; five of these are hardly ever reached.
        prop_assert!((0.8..1.22).contains(&ratio(found.s, pm(1_000_000))), "{found:?}");
        prop_assert_eq!(found.freedom, Freedom::of_degrees(285 - u32::from(found.drift.is_some())));
    }
}

#[test]
fn a_steady_walk_is_taken_out_and_costs_a_degree() {
    let mut dice = Dice(0x5EED_1234_9876_5431);
    let good = normal(&mut dice, 60);
    let still = returns(&good);
    let walks = returns(&moved(&good, 3_000_000));
    assert_eq!(still.drift, None);
    let drift = walks.drift.unwrap().picometres();
    assert!((drift - 3_000_000).abs() < 600_000, "{drift}");
    assert!((0.9..1.1).contains(&ratio(walks.s, still.s)), "{walks:?} {still:?}");
    assert_eq!((still.freedom, walks.freedom), (Freedom::of_degrees(57), Freedom::of_degrees(56)));
}
