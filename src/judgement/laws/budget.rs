//! The sum of the shares of an uncertainty.

use super::pm;
use crate::{Budget, Coverage, Freedom, Known, Named, Part, Share};
use num_rational::Ratio;
use proptest::prelude::*;
use quantity::Figure;

/// GUM (JCGM 100:2008), G.4.1, example: relative standard uncertainties of 0.25 %, 0.57 % and 0.82 % from
/// 10, 5 and 15 observations come to 1.03 % with 19.0 effective degrees of freedom (from memory). By hand
/// 18.9988, which is rounded down here.
#[test]
fn the_effective_degrees_of_freedom_of_the_gum_come_out() {
    let known = [Known::Stated, Known::Record, Known::Assumed];
    let shares = [(25, 9), (57, 4), (82, 14)].into_iter().zip(known);
    let budget = shares.fold(Budget::default(), |budget, ((u, degrees), known)| {
        let freedom = Freedom::of_degrees(degrees);
        budget.with(Share::Reading, Part { known, freedom, ..Part::stated(pm(1000 * u)) }, 1, 1)
    });
    assert_eq!(budget.square(), 10_598 * 1_000_000);
    assert_eq!(budget.freedom(), Freedom::of_degrees(18));
    // Student's t at 95.45 % and 18 degrees of freedom (table G.2: 2.15).
    assert_eq!(budget.expanded().k, Coverage::from_hundredths(215));
    // 2.15·102.95 nm.
    let u = Figure::from(budget.expanded().uncertainty).to_f64();
    assert!((u - 2.15 * 102_946.6).abs() < 1.0, "{u}");
}

fn part() -> impl Strategy<Value = Part> {
    let known = prop_oneof![Just(Known::Stated), Just(Known::Record), Just(Known::Assumed)];
    let freedom = prop_oneof![Just(Freedom::UNLIMITED), (1_u32..60).prop_map(Freedom::of_degrees),];
    (1_i64..3_000_000, known, freedom).prop_map(|(u, known, freedom)| Part {
        known,
        freedom,
        ..Part::stated(pm(u))
    })
}

fn share() -> impl Strategy<Value = Share> {
    prop_oneof![Just(Share::Reading), Just(Share::Plate), Just(Share::Master), Just(Share::Bar)]
}

type Entry = (Share, Part, (u32, u32));

fn entries() -> impl Strategy<Value = Vec<Entry>> {
    proptest::collection::vec((share(), part(), (1_u32..9, 1_u32..9)), 1..8)
}

fn budget(of: &[Entry]) -> Budget {
    of.iter().fold(Budget::default(), |sum, (share, part, (times, over))| {
        sum.with(*share, *part, *times, *over)
    })
}

proptest! {
    #[test]
    fn the_order_of_the_shares_does_not_matter(of in entries()) {
        let mut turned = of.clone();
        turned.reverse();
        let (one, other) = (budget(&of), budget(&turned));
        prop_assert_eq!(one.square(), other.square());
        prop_assert_eq!(one.expanded(), other.expanded());
        prop_assert_eq!(one.known(), of.iter().map(|(_, part, _)| part.known).max().unwrap());
    }

    #[test]
    fn each_share_enters_with_its_weight_and_no_more_than_a_picometre_of_rounding(of in entries()) {
        let exact = of.iter().map(|(_, part, (times, over))| {
            Ratio::new(i128::try_from(part.square).unwrap() * i128::from(*times), i128::from(*over))
        });
        let exact: Ratio<i128> = exact.sum();
        let found = Ratio::from_integer(i128::try_from(budget(&of).square()).unwrap());
        let most = exact + Ratio::from_integer(i128::try_from(of.len()).unwrap());
        prop_assert!(found >= exact && found <= most);
    }

    /// The effective degrees of freedom lie between the fewest of a share and the sum of all (Welch 1947, as
    /// the GUM tells it in G.4.1; from memory).
    #[test]
    fn the_degrees_of_freedom_lie_between_the_fewest_and_all_of_them(of in entries()) {
        let degrees = budget(&of).freedom().degrees();
        let each: Vec<Option<u32>> = of.iter().map(|(_, part, _)| part.freedom.degrees()).collect();
        let fewest = each.iter().flatten().min();
        match (degrees, fewest) {
            (None, None) => {}
            // So small a share that more degrees than can be counted are left.
            (None, Some(_)) => {
                let limited = of.iter().filter(|(_, part, _)| part.freedom != Freedom::UNLIMITED);
                let limited = limited.map(|(_, part, (times, _))| part.square * u128::from(*times));
                prop_assert!(limited.sum::<u128>() < budget(&of).square() / 1000);
            }
            (Some(found), Some(fewest)) => {
                prop_assert!(found >= *fewest);
                let all: Option<u32> = each.iter().copied().sum();
                prop_assert!(all.is_none_or(|all| found <= all), "{found} of {all:?}");
            }
            (Some(_), None) => prop_assert!(false, "nothing is limited"),
        }
    }

    #[test]
    fn what_is_stated_alone_is_doubled_and_nothing_is_less_than_doubled(of in entries()) {
        let expanded = budget(&of).expanded();
        prop_assert!(expanded.k >= Coverage::TWO);
        if of.iter().all(|(_, part, _)| part.freedom == Freedom::UNLIMITED) {
            prop_assert_eq!(expanded.k, Coverage::TWO);
        }
        // (U·100)² ≥ Σ·k², and no picometre more than needed.
        let k = u128::from(expanded.k.hundredths());
        let least = budget(&of).square() * k * k;
        let hundredfold = |u: i64| (u128::from(u.unsigned_abs()) * 100).pow(2);
        let u = expanded.uncertainty.picometres();
        prop_assert!(hundredfold(u) >= least && hundredfold(u - 1) < least);
    }

    #[test]
    fn one_more_share_never_makes_the_sum_less(of in entries(), share in share(), more in part()) {
        let before = budget(&of);
        let after = before.clone().with(share, more, 1, 1);
        prop_assert_eq!(after.square(), before.square() + more.square);
        prop_assert!(after.known() >= before.known());
        // A share that is as well known as anything can be does not make the whole less known.
        let stated = before.clone().with(share, Part::stated(pm(1000)), 1, 1);
        prop_assert!(stated.freedom() >= before.freedom());
    }

    #[test]
    fn a_share_that_enters_twice_is_one_entry_with_both_weights(
        share in share(), part in part(), one in 1_u32..9, other in 1_u32..9, over in 1_u32..9,
    ) {
        let twice = Budget::default().with(share, part, one, over).with(share, part, other, over);
        let named = Named::of(share, part);
        let weights: Ratio<i128> = twice.entered().map(|entered| entered.weight).sum();
        prop_assert_eq!(weights, Ratio::new(i128::from(one + other), i128::from(over)));
        prop_assert!(twice.entered().all(|entered| entered.named == named));
        let once = Budget::default().with(share, part, one + other, over);
        prop_assert!(twice.square() - once.square() <= 1);
        prop_assert_eq!(twice.freedom(), once.freedom());
    }

    #[test]
    fn the_record_is_asked_by_name_and_its_largest_share_counts(of in entries()) {
        let sum = budget(&of);
        for share in [Share::Reading, Share::Plate, Share::Master, Share::Bar] {
            let its = || of.iter().filter(move |(name, ..)| *name == share);
            let assumed = its().any(|(_, part, _)| part.known == Known::Assumed);
            prop_assert_eq!(sum.has_assumed(share), assumed);
            let recorded = its().any(|(_, part, _)| part.known == Known::Record);
            prop_assert_eq!(sum.recorded(share).is_some(), recorded);
            if let Some(found) = sum.recorded(share) {
                prop_assert!(its().any(|(_, part, _)| *part == found));
            }
        }
    }

    #[test]
    fn the_less_is_known_the_wider_it_is(fewer in 1_u32..400, more in 0_u32..400) {
        let [few, many] = [fewer, fewer + more].map(Freedom::of_degrees);
        prop_assert!(Coverage::for_freedom(few) >= Coverage::for_freedom(many));
        prop_assert!(Coverage::of_a_return(few) >= Coverage::of_a_return(many));
        prop_assert!(Coverage::of_a_return(few) > Coverage::for_freedom(few));
    }
}
