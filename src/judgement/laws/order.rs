//! What the order of touches tells of a round that did not close.

use super::Dice;
use crate::{Mishap, Spot, Sure, mishap, moved_so_far};
use proptest::prelude::*;

const SURE: Sure = Sure { scatter: 6.0, odds: 100.0 };

/// A ring of so many positions and back, with waves of one and two lobes, a hand that scatters by 6 and what
/// is added at each touch.
fn ring(seed: u64, count: u32, added: impl Fn(u32) -> f64) -> Vec<Spot> {
    let mut dice = Dice(seed | 1);
    let phases = [dice.next(), dice.next()].map(|one| one * std::f64::consts::TAU);
    (0..=count)
        .map(|touch| {
            let angle_deg = 360.0 * f64::from(touch % count) / f64::from(count);
            let turned = angle_deg.to_radians();
            let form = 30.0 * (turned + phases[0]).cos() + 8.0 * (2.0 * turned + phases[1]).cos();
            Spot { circle: 0, angle_deg, height: form + 6.0 * dice.normal() + added(touch) }
        })
        .collect()
}

fn each(spots: &[Spot], change: impl Fn(Spot) -> Spot) -> Vec<Spot> {
    spots.iter().map(|spot| change(*spot)).collect()
}

/// A ring in which something steps after a touch.
fn stepped() -> impl Strategy<Value = (Vec<Spot>, usize)> {
    (1_u64.., 7_u32..17, prop_oneof![Just(0.0), 40.0..900.0_f64]).prop_flat_map(
        |(seed, count, step)| {
            (1..count).prop_map(move |after| {
                let spots = ring(seed, count, |touch| if touch > after { step } else { 0.0 });
                (spots, usize::try_from(after).unwrap())
            })
        },
    )
}

proptest! {
    #[test]
    fn zero_sign_and_unit_do_not_matter((spots, _) in stepped(), up in -5000.0..5000.0_f64) {
        let found = mishap(&spots, SURE);
        let so_far = moved_so_far(&spots[..spots.len() - 1], SURE);
        let same = |spots: Vec<Spot>, sure: Sure| {
            (mishap(&spots, sure), moved_so_far(&spots[..spots.len() - 1], sure))
        };
        let higher = each(&spots, |spot| Spot { height: spot.height + up, ..spot });
        prop_assert_eq!(same(higher, SURE), (found, so_far));
        let turned = each(&spots, |spot| Spot { height: -spot.height, ..spot });
        prop_assert_eq!(same(turned, SURE), (found, so_far));
        let larger = each(&spots, |spot| Spot { height: 8.0 * spot.height, ..spot });
        let sure = Sure { scatter: 48.0, ..SURE };
        prop_assert_eq!(same(larger, sure), (found, so_far));
    }

    #[test]
    fn neither_the_mark_nor_the_way_round_matters((spots, _) in stepped(), mark in 0.0..360.0_f64) {
        let found = mishap(&spots, SURE);
        let elsewhere = each(&spots, |spot| Spot { angle_deg: spot.angle_deg + mark, ..spot });
        prop_assert_eq!(mishap(&elsewhere, SURE), found);
        let other_way = each(&spots, |spot| Spot { angle_deg: -spot.angle_deg, ..spot });
        prop_assert_eq!(mishap(&other_way, SURE), found);
    }

    #[test]
    fn a_form_of_two_waves_is_the_faces_own((spots, _) in stepped(), tilt in 0.0..400.0_f64) {
        // While only steps are named: a slip of the hand shows by the form itself.
        let tilted = each(&spots, |spot| {
            let turned = spot.angle_deg.to_radians();
            let form = tilt * turned.cos() - tilt / 2.0 * (2.0 * turned).sin();
            Spot { height: spot.height + form, ..spot }
        });
        let steps = |found: Option<Mishap>| {
            found.filter(|found| matches!(found, Mishap::Moved { .. }))
        };
        let (plain, found) = (mishap(&spots, SURE), mishap(&tilted, SURE));
        if let (Some(one), Some(other)) = (steps(plain), steps(found)) {
            prop_assert_eq!(one, other);
        }
    }

    #[test]
    fn who_wants_to_be_surer_is_told_less((spots, _) in stepped(), odds in 2.0..1e4_f64) {
        let loose = mishap(&spots, Sure { odds, ..SURE });
        let strict = mishap(&spots, Sure { odds: 20.0 * odds, ..SURE });
        match (loose, strict) {
            (_, None) => {}
            (Some(Mishap::Moved { after, until }), Some(Mishap::Moved { after: wide, until: end })) => {
                prop_assert!(wide <= after && until <= end, "{loose:?} {strict:?}");
            }
            (loose, strict) => prop_assert_eq!(loose, strict),
        }
    }

    #[test]
    fn what_is_named_lies_in_the_series((spots, _) in stepped()) {
        let last = spots.len() - 1;
        match mishap(&spots, SURE) {
            Some(Mishap::Moved { after, until }) => {
                prop_assert!(after < until && until <= last && until - after <= 2);
            }
            Some(Mishap::Missed(at)) => prop_assert!((1..last).contains(&at)),
            Some(Mishap::Doubled(at)) => prop_assert!(at + 1 < last),
            None => {}
        }
        for touches in 0..=last {
            let open = &spots[..touches];
            let found = moved_so_far(open, SURE);
            prop_assert!(found.is_none() || touches >= 6);
            if let Some((after, until)) = found {
                prop_assert!(after < until && until + 1 < touches, "two touches lie behind it");
            }
        }
        prop_assert_eq!(mishap(&spots[..6], SURE), None);
    }

    /// A step of a hundred scatters is named, and where it was.
    #[test]
    fn a_great_step_is_named_where_it_was(seed in 1_u64.., count in 8_u32..17, at in 1_u32..6) {
        let spots = ring(seed, count, |touch| if touch > at { 600.0 } else { 0.0 });
        let at = usize::try_from(at).unwrap();
        let Some(Mishap::Moved { after, until }) = mishap(&spots, SURE) else {
            prop_assert!(false, "{:?}", mishap(&spots, SURE));
            return Ok(());
        };
        prop_assert!(after <= at && at < until, "{at}: {after} to {until}");
    }

    /// Two circles: each has a form of its own, so that a difference of their heights is no step.
    #[test]
    fn the_height_of_another_circle_is_no_step(seed in 1_u64.., apart in -900.0..900.0_f64) {
        let ring = ring(seed, 8, |_| 0.0);
        let inner = ring[..8].iter().map(|spot| Spot { circle: 1, height: spot.height + apart, ..*spot });
        let mut both: Vec<Spot> = ring[..8].to_vec();
        both.extend(inner);
        both.push(ring[8]);
        let named = mishap(&both, SURE);
        prop_assert!(named.is_none_or(|found| matches!(found, Mishap::Moved { after, until }
            if !(after <= 7 && 7 < until))), "{named:?}");
    }
}
