//! Pools against cases worked by hand and against the scatter they were drawn with.

use super::*;
use proptest::prelude::*;

const STEP: Length = Length::from_picometres(254_000);

/// Tenths of a count of 0.00001 in, so µin.
fn uin(of: &[i64]) -> Vec<Length> {
    of.iter().map(|uin| Length::from_picometres(25_400 * uin)).collect()
}

/// In µin.
fn s_of(pooled: Pooled) -> f64 {
    picometres(pooled.s) / 25_400.0
}

#[test]
fn a_bumped_stand_is_no_repeatability() {
    let returns = [0, 10, -10, 0, 10, 0, -10, 10, 0, 0, 10, -10, 0, 10, 0, -10, 0, 10, 0, 200];
    let found = Pooled::returns(&uin(&returns), STEP).unwrap();
    // By hand: ten returns of ±10, one clipped: σ² = 1000/(0.9776·20 − 6.25), s = σ/√2.
    assert!((s_of(found) - 6.13).abs() < 0.005, "{found:?}");
    assert_eq!((found.freedom, found.count, found.drift), (Freedom::of_degrees(19), 20, None));
    // The plain standard deviation would be 32 µin.
    let good = Pooled::returns(&uin(&returns[..19]), STEP).unwrap();
    assert!((s_of(good) - s_of(found)).abs() < 1.1, "{good:?}");
}

#[test]
fn no_scatter_is_below_what_rounding_makes() {
    let found = Pooled::returns(&uin(&[0; 12]), STEP).unwrap();
    assert_eq!(found.s, Length::from_picometres(73_324), "254000/√12, rounded up");
    assert_eq!(found.freedom, Freedom::of_degrees(11));
    assert_eq!(Pooled::returns(&[], STEP), None);
}

#[test]
fn a_steady_walk_is_told_and_is_no_scatter() {
    let walking = [20, 30, 20, 30, 20, 30, 30, 20, 20, 30];
    let found = Pooled::returns(&uin(&walking), STEP).unwrap();
    assert_eq!(found.drift, Some(uin(&[25])[0]));
    assert!(s_of(found) < 4.0, "{found:?}");
    assert_eq!(found.freedom, Freedom::of_degrees(8), "one is spent on the mean");
    let chance = Pooled::returns(&uin(&[20, -30, 20, 30, -20, 30, -30, 20, 20, -30]), STEP);
    assert_eq!(chance.unwrap().drift, None);
}

#[test]
fn lifts_are_pooled_about_the_mean_of_each_set() {
    // Ten lifts on one spot, counts of 10 µin; their plain standard deviation is 6.32 µin.
    let lifts = uin(&[10, 0, 10, 20, 10, 0, 10, 10, 0, 10]);
    let found = Pooled::lifts(&[&lifts], STEP).unwrap();
    assert!((s_of(found) - 6.32 / KEPT.sqrt()).abs() < 0.05, "{found:?}");
    assert_eq!((found.freedom, found.count), (Freedom::of_degrees(8), 10));
    // The same ten on another spot, far away: the distance is none of theirs.
    let far: Vec<Length> =
        lifts.iter().map(|one| Length::from_picometres(one.picometres() + 9_000_000)).collect();
    let both = Pooled::lifts(&[&lifts, &far, &lifts[..1]], STEP).unwrap();
    assert_eq!((both.s, both.freedom), (found.s, Freedom::of_degrees(17)));
    assert_eq!(Pooled::lifts(&[&lifts[..1], &[]], STEP), None);
}

proptest! {
    /// Of normal returns the pool finds the scatter of one touch, with one in twenty bumped or without.
    #[test]
    fn drawn_scatter_is_found_again(seed in any::<u64>(), bumped in any::<bool>()) {
        let mut state = seed | 1;
        let mut uniform = || {
            state ^= state << 13;
            state ^= state >> 7;
            state ^= state << 17;
            f64::from(u32::try_from(state >> 32).unwrap()) / f64::from(u32::MAX)
        };
        let s = 12.0 * 25_400.0;
        let mut normal = || (0..12).map(|_| uniform()).sum::<f64>() - 6.0;
        let returns: Vec<Length> = (0..400)
            .map(|index| {
                let off = if bumped && index % 20 == 7 { 3_000_000.0 } else { 0.0 };
                length((normal() - normal()) * s + off)
            })
            .collect();
        let found = Pooled::returns(&returns, Length::from_picometres(1)).unwrap();
        let ratio = picometres(found.s) / s;
        // One in twenty clipped counts as 2.5σ: a good sixth more than there is.
        let most = if bumped { 1.36 } else { 1.2 };
        prop_assert!((0.85..most).contains(&ratio), "{ratio}");
    }

    /// Order, sign and an added bump change little or nothing.
    #[test]
    fn order_and_sign_do_not_matter(mut counts in proptest::collection::vec(-4_i64..5, 8..60)) {
        let found = Pooled::returns(&uin(&counts), STEP).unwrap();
        counts.reverse();
        prop_assert_eq!(Pooled::returns(&uin(&counts), STEP), Some(found));
        let turned: Vec<i64> = counts.iter().map(|count| -count).collect();
        prop_assert_eq!(Pooled::returns(&uin(&turned), STEP).map(|one| one.s), Some(found.s));
    }
}
