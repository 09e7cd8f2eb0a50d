//! Several touches on one spot.

use super::{moved, pm, readings, times, uin};
use crate::{Freedom, Known, Part, Repeats, Shown, Times};
use proptest::prelude::*;
use quantity::Length;

const USUAL: Times = Times::of_hundredths(470);

fn stated(s: i64, step: i64) -> Repeats {
    Repeats { scatter: Part::stated(pm(s)), resolution: pm(step), times: USUAL }
}

fn assumed(s: i64) -> Repeats {
    let scatter = Part { freedom: Freedom::TO_A_QUARTER, ..Part::assumed(pm(s)) };
    Repeats { scatter, resolution: pm(1), times: USUAL }
}

fn spots(of: &[Vec<Length>]) -> Shown {
    of.iter().fold(Shown::default(), |all, spot| all.and(Shown::of_spot(spot)))
}

proptest! {
    #[test]
    fn neither_zero_nor_sign_nor_order_matters(
        touches in readings(2..8), up in -9_000_000_i64..9_000_000, s in 1_i64..3_000_000,
    ) {
        let found = stated(s, 1).apart(&touches);
        prop_assert_eq!(stated(s, 1).apart(&moved(&touches, up)), found);
        prop_assert_eq!(stated(s, 1).apart(&times(&touches, -1)), found);
        let mut turned = touches.clone();
        turned.reverse();
        prop_assert_eq!(stated(s, 1).apart(&turned), found);
    }

    #[test]
    fn the_unit_does_not_matter(touches in readings(2..8), s in 1_i64..3_000_000) {
        let of = |by: i64| stated(by * s, by).apart(&times(&touches, by)).map(Length::picometres);
        let near = |limit: Length| {
            let most = touches.iter().max().unwrap().picometres();
            let span = most - touches.iter().min().unwrap().picometres();
            (span - limit.picometres()).abs() <= 1
        };
        prop_assert!(near(stated(s, 1).limit(touches.len())) || of(10) == of(1).map(|far| 10 * far));
    }

    #[test]
    fn the_limit_is_met_exactly(count in 2_usize..11, s in 1_i64..3_000_000, step in 1_i64..300_000) {
        let repeats = stated(s, step);
        let limit = repeats.limit(count).picometres();
        prop_assert!(limit >= 2 * step);
        let at = |far: i64| {
            let mut touches = vec![pm(0); count];
            touches[count / 2] = pm(far);
            repeats.apart(&touches)
        };
        prop_assert_eq!(at(limit), None);
        prop_assert_eq!(at(limit + 1), Some(pm(limit + 1)));
    }

    #[test]
    fn more_scatter_a_coarser_step_and_more_touches_allow_more(
        count in 2_usize..10, s in 1_i64..3_000_000, step in 1_i64..300_000, more in 0_i64..900_000,
    ) {
        let limit = stated(s, step).limit(count);
        prop_assert!(stated(s + more, step).limit(count) >= limit);
        prop_assert!(stated(s, step + more).limit(count) >= limit);
        prop_assert!(stated(s, step).limit(count + 1) >= limit);
        // What is less well known allows more.
        let scatter = Part { freedom: Freedom::of_degrees(9), ..Part::stated(pm(s)) };
        let unsure = Repeats { scatter, resolution: pm(step), times: USUAL };
        prop_assert!(unsure.limit(count) >= limit);
    }

    #[test]
    fn one_more_touch_at_the_ends_or_between_keeps_the_span(touches in readings(2..8)) {
        // As many touches as there were, one of them in the place of another.
        let repeats = stated(1, 1);
        let span = repeats.apart(&touches);
        let mut inner = touches.clone();
        let middle = inner[0].picometres().midpoint(inner[1].picometres());
        inner.push(pm(middle));
        prop_assert_eq!(repeats.apart(&inner), span);
    }

    #[test]
    fn what_spots_show_together_may_be_taken_apart_again(
        all in proptest::collection::vec(readings(0..5), 1..6), up in -9_000_000_i64..9_000_000,
    ) {
        let together = spots(&all);
        let one = Shown::of_spot(&all[0]);
        prop_assert_eq!(together.without(one).and(one), together);
        prop_assert_eq!(spots(&all[1..]), together.without(one));
        // Each spot has a height of its own.
        let elsewhere: Vec<Vec<Length>> = all
            .iter()
            .zip(1..)
            .map(|(spot, nth)| moved(spot, nth * up))
            .collect();
        prop_assert_eq!(spots(&elsewhere), together);
        let mut turned = all.clone();
        turned.reverse();
        prop_assert_eq!(spots(&turned), together);
    }

    #[test]
    fn a_hand_is_never_taken_for_steadier_than_assumed(
        all in proptest::collection::vec(readings(0..5), 0..6), s in 1_i64..9_000_000,
    ) {
        let before = assumed(s);
        let after = before.or_as_shown(spots(&all));
        prop_assert!(after.scatter.square >= before.scatter.square);
        prop_assert_eq!(after.scatter.known, Known::Assumed);
        prop_assert_eq!(after.resolution, before.resolution);
        // What is stated or on record stands.
        for known in [Known::Stated, Known::Record] {
            let sure = Repeats { scatter: Part { known, ..before.scatter }, ..before };
            prop_assert_eq!(sure.or_as_shown(spots(&all)), sure);
        }
    }

    /// By hand: of two touches 2d apart the squares are 2·d² with one degree of freedom.
    #[test]
    fn pairs_show_the_scatter_that_they_have(half in 1_i64..3_000_000, pairs in 1_u32..30) {
        let pair = Shown::of_spot(&[pm(-half), pm(half)]);
        let all = (0..pairs).fold(Shown::default(), |all, _| all.and(pair));
        let found = assumed(1).or_as_shown(all).scatter;
        prop_assert_eq!(found.square, 2 * u128::from(half.unsigned_abs()).pow(2));
        prop_assert_eq!(found.freedom, Freedom::of_degrees(pairs));
    }
}

#[test]
fn one_touch_and_none_have_no_span() {
    for touches in [&[][..], &[uin(500)][..]] {
        assert_eq!(stated(1, 1).apart(touches), None);
    }
    // Beyond ten the factor of ten counts, and with fewer than two that of two.
    let wide = stated(25_400, 1);
    assert_eq!(wide.limit(11), wide.limit(10));
    assert_eq!(wide.limit(0), wide.limit(2));
}
