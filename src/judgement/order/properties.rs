//! What holds of every series, whatever its readings.

use proptest::prelude::*;

use super::*;

const SURE: Sure = Sure { scatter: 6.0, odds: 100.0 };

fn spots(heights: &[i32]) -> Vec<Spot> {
    let count = heights.len() - 1;
    let number = |index: usize| f64::from(u32::try_from(index).unwrap());
    let spot = |(at, height): (usize, &i32)| Spot {
        circle: 0,
        angle_deg: 360.0 * number(at % count) / number(count),
        height: f64::from(*height),
    };
    heights.iter().enumerate().map(spot).collect()
}

fn readings() -> impl Strategy<Value = Vec<i32>> {
    proptest::collection::vec(-300..300_i32, 7..18)
}

proptest! {
    /// Where the zero of the gauge lies, and which way it counts, says nothing of what happened.
    #[test]
    fn zero_and_sign_change_nothing(heights in readings(), zero in -100_000..100_000_i32) {
        let found = mishap(&spots(&heights), SURE);
        let moved: Vec<i32> = heights.iter().map(|height| height + zero).collect();
        prop_assert_eq!(mishap(&spots(&moved), SURE), found);
        let turned: Vec<i32> = heights.iter().map(|height| -height).collect();
        prop_assert_eq!(mishap(&spots(&turned), SURE), found);
    }

    /// Asking for more certainty never tells more.
    #[test]
    fn higher_odds_tell_no_more(heights in readings()) {
        let spots = spots(&heights);
        let bold = mishap(&spots, Sure { odds: 10.0, ..SURE });
        let shy = mishap(&spots, Sure { odds: 10_000.0, ..SURE });
        prop_assert!(bold.is_some() || shy.is_none());
        if let (Some(Mishap::Moved { after, until }), Some(Mishap::Moved { after: a, until: u })) =
            (bold, shy)
        {
            prop_assert!(a <= after && until <= u, "{bold:?} against {shy:?}");
        }
    }

    /// What is named lies inside the series, in order.
    #[test]
    fn what_is_named_lies_in_the_series(heights in readings()) {
        match mishap(&spots(&heights), SURE) {
            Some(Mishap::Moved { after, until }) => {
                prop_assert!(after < until && until < heights.len());
            }
            Some(Mishap::Missed(at) | Mishap::Doubled(at)) => prop_assert!(at < heights.len() - 1),
            None => {}
        }
        if let Some((after, until)) = moved_so_far(&spots(&heights), SURE) {
            prop_assert!(after < until && until < heights.len() - 1);
        }
    }

    /// A large step on a flat face is found wherever it lies.
    #[test]
    fn a_large_step_is_found_where_it_is(
        count in 8..17_usize, at in 1..15_usize, size in 500..5000_i32, noise in any::<[i8; 18]>(),
    ) {
        let at = at % (count - 2) + 1;
        let noise = |touch: usize| i32::from(noise[touch]) % 7;
        let height = |touch: usize| noise(touch) + if touch > at { size } else { 0 };
        let heights: Vec<i32> = (0..=count).map(height).collect();
        let found = Some(Mishap::Moved { after: at, until: at + 1 });
        prop_assert_eq!(mishap(&spots(&heights), SURE), found);
    }
}
