//! The proof of a gauge.

use super::{moved, pm, times, uin};
use crate::{Fault, Known, Part, Proof, Step, Touches, good_for, scatters_more, unseen_angle_deg};
use proptest::prelude::*;
use quantity::{Figure, Length};

/// What is touched: ten lifts, high and back in counts of 0.00001 in, about a step of a hundred.
fn touched() -> impl Strategy<Value = (Vec<Length>, Length, Length)> {
    let lifts = proptest::collection::vec((-3_i64..4).prop_map(|count| uin(10 * count)), 10);
    let high = prop_oneof![
        4 => 90_i64..112,
        1 => -112_i64..-90,
        1 => -5_i64..6,
        1 => 2500_i64..2580,
        1 => 0_i64..3000,
    ];
    (lifts, high.prop_map(|count| uin(10 * count)), (-6_i64..7).prop_map(|count| uin(10 * count)))
}

fn of(lifts: &[Length], high: Length, back: Length, scale: i64) -> Touches<'_> {
    Touches {
        lifts,
        high,
        back,
        step: Step { size: uin(1000 * scale), u: Part::stated(uin(2 * scale)) },
        resolution: uin(10 * scale),
        scatter: Part::stated(uin(10 * scale)),
        lever_mdeg: 0,
    }
}

fn proof((lifts, high, back): &(Vec<Length>, Length, Length)) -> Proof {
    Proof::of(&of(lifts, *high, *back, 1)).unwrap()
}

proptest! {
    /// What "proven" means: sign, scale and unit of the step are right as far as it can be told, the low
    /// block came back, and the step is large enough to tell.
    #[test]
    fn what_is_proven_reads_the_step_right(touched in touched()) {
        let proof = proof(&touched);
        let off = (proof.step - Figure::from(uin(1000))).abs();
        let right = off <= Figure::from(proof.may_differ);
        let back = proof.came_back.abs() <= Figure::from(proof.may_be_off);
        let tells = Figure::from(proof.may_differ) * 4 <= Figure::from(uin(1000));
        if proof.faults.is_empty() {
            prop_assert!(right && back && tells && proof.step > Figure::ZERO, "{proof:?}");
        }
        // Each of these alone is a fault.
        prop_assert!(right || !proof.faults.is_empty());
        prop_assert_eq!(proof.faults.contains(&Fault::Moved), !back);
        prop_assert_eq!(proof.faults.contains(&Fault::StepTooSmall), !tells);
    }

    #[test]
    fn the_zero_does_not_matter(touched in touched(), up in -9_000_i64..9_000) {
        let (lifts, high, back) = &touched;
        let up = uin(up).picometres();
        let elsewhere = (moved(lifts, up), moved(&[*high], up)[0], moved(&[*back], up)[0]);
        prop_assert_eq!(proof(&elsewhere), proof(&touched));
    }

    #[test]
    fn the_unit_does_not_matter(touched in touched(), by in 2_i64..30) {
        let (lifts, high, back) = &touched;
        let lifts = times(lifts, by);
        let touches = of(&lifts, times(&[*high], by)[0], times(&[*back], by)[0], by);
        let (one, other) = (proof(&touched), Proof::of(&touches).unwrap());
        prop_assert_eq!(&other.faults, &one.faults);
        prop_assert_eq!((other.step, other.stands_off), (one.step * by, one.stands_off));
        // s is rounded up to a picometre before it counts t·√1.275 times, about five.
        let off = by * one.may_differ.picometres() - other.may_differ.picometres();
        prop_assert!((0..=6 * by).contains(&off), "{off}");
    }

    #[test]
    fn a_gauge_that_counts_the_other_way_has_the_wrong_sign_and_no_other_fault(touched in touched()) {
        let (lifts, high, back) = &touched;
        let turned = (times(lifts, -1), times(&[*high], -1)[0], times(&[*back], -1)[0]);
        let (one, other) = (proof(&touched), proof(&turned));
        let but_the_sign = |proof: &Proof| {
            let others = proof.faults.iter().filter(|fault| **fault != Fault::Sign);
            others.copied().collect::<Vec<_>>()
        };
        prop_assert_eq!(but_the_sign(&one), but_the_sign(&other));
        prop_assert_eq!(one.step, other.step * -1);
        let signs = [&one, &other].map(|proof| proof.faults.contains(&Fault::Sign));
        let told = !one.faults.iter().any(|one| [Fault::Still, Fault::StepTooSmall].contains(one));
        prop_assert_eq!(signs.into_iter().filter(|one| *one).count(), usize::from(told));
    }

    #[test]
    fn the_order_of_the_lifts_matters_only_for_which_one_stands_off(touched in touched()) {
        let (lifts, high, back) = &touched;
        let mut turned = lifts.clone();
        turned.reverse();
        let (one, other) = (proof(&touched), proof(&(turned, *high, *back)));
        prop_assert_eq!(Proof { stands_off: None, ..one.clone() }, Proof { stands_off: None, ..other.clone() });
        prop_assert_eq!(one.stands_off.is_some(), other.stands_off.is_some());
    }

    /// The plain standard deviation of n values (definition), at least q/√12.
    #[test]
    fn the_scatter_is_the_standard_deviation_of_the_lifts(
        lifts in proptest::collection::vec(-3_000_000_i64..3_000_000, 2..12),
    ) {
        let lifts: Vec<Length> = lifts.into_iter().map(pm).collect();
        let (s, freedom) = Proof::of(&of(&lifts, uin(1000), pm(0), 1)).unwrap().repeat.unwrap();
        prop_assert_eq!(usize::try_from(freedom).unwrap(), lifts.len() - 1);
        #[expect(clippy::cast_precision_loss, reason = "small lengths")]
        let expected = {
            let values: Vec<f64> = lifts.iter().map(|one| one.picometres() as f64).collect();
            let mean = values.iter().sum::<f64>() / values.len() as f64;
            let squares = values.iter().map(|value| (value - mean).powi(2)).sum::<f64>();
            (squares / f64::from(freedom)).sqrt().max(254_000.0 / 12.0_f64.sqrt())
        };
        let off = Figure::from(s).to_f64() - expected;
        prop_assert!((-0.01..1.01).contains(&off), "rounded up: {off}");
    }

    #[test]
    fn a_steady_walk_between_the_touches_of_the_low_block_is_half_of_it_in_the_step(walk in -20_i64..21) {
        let lifts = vec![pm(0); 10];
        let proof = proof(&(lifts, uin(1000 + 5 * walk), uin(10 * walk)));
        prop_assert_eq!(proof.step, Figure::from(uin(1000)));
        prop_assert_eq!(proof.came_back, Figure::from(uin(10 * walk)));
    }

    #[test]
    fn more_scatter_hides_more_and_is_good_for_less(s in 1_i64..3_000_000, more in 0_i64..3_000_000) {
        prop_assert!(good_for(pm(s + more)) >= good_for(pm(s)));
        let [size, few, many] = [uin(1000), pm(s), pm(s + more)];
        prop_assert!(unseen_angle_deg(size, many) >= unseen_angle_deg(size, few));
        prop_assert!(unseen_angle_deg(uin(2000), few) <= unseen_angle_deg(size, few));
        // 8·√2·s: 11.3137 of it.
        let good = Figure::from(good_for(pm(s))).to_f64() / Figure::from(pm(s)).to_f64();
        prop_assert!(good >= 11.313 && good * 1e6 <= 11_313_709.0 + 1e6, "{good}");
        prop_assert!(!scatters_more(Part::stated(pm(s)), Part::stated(pm(s + more))));
    }
}

#[test]
fn lifts_of_more_than_2_81_times_the_usual_variance_are_no_chance() {
    // Chi-square at 99.73 % and 9 degrees of freedom is 25.26 (table): over 9, 2.81.
    let variance = |square: u128| Part { square, ..Part::stated(pm(0)) };
    assert!(!scatters_more(variance(281), variance(100)));
    assert!(scatters_more(variance(282), variance(100)));
    // By integrating the density of chi-square, x^3.5·e^(−x/2) over its whole.
    let density = |x: f64| x.powf(3.5) * (-x / 2.0).exp();
    let area = |from: f64, to: f64| {
        let step = (to - from) / 20_000.0;
        (0..20_000).map(|at| density(from + step * (f64::from(at) + 0.5)) * step).sum::<f64>()
    };
    let beyond = area(9.0 * 2.81, 400.0) / area(0.0, 400.0);
    assert!((beyond - 0.0027).abs() < 0.000_1, "{beyond}");
}

/// Grubbs's test: with ten values the largest is beyond 2.606 s in so few of a hundred good sets (two-sided
/// from Student's t at 8 degrees of freedom and 0.02 %: 10·0.02 % = 0.2 %; by simulation).
#[test]
fn a_good_lift_is_hardly_ever_called_off() {
    let mut dice = super::Dice(0x0DD_B1A5_E5BA_D5EE);
    let mut called = 0;
    for _ in 0..20_000 {
        let lifts: Vec<Length> = (0..10)
            .map(|_| {
                #[expect(clippy::cast_possible_truncation, reason = "some standard deviations")]
                let read = (3e6 * dice.normal()).round() as i64;
                pm(read)
            })
            .collect();
        let touches = Touches { resolution: pm(1), ..of(&lifts, uin(1000), pm(0), 1) };
        let touches =
            Touches { scatter: Part { known: Known::Assumed, ..touches.scatter }, ..touches };
        called += u32::from(Proof::of(&touches).unwrap().stands_off.is_some());
    }
    let share = 100.0 * f64::from(called) / 20_000.0;
    assert!((0.1..0.35).contains(&share), "{share} %");
}
