//! High spots that oppose each other.

use std::sync::Arc;

use crate::event::Command;
use crate::plan::{Part, PartKind, StackPlace};
use crate::spots::{Together, as_built, opposing};
use crate::state::Job;
use crate::tests::kit::{Kit, face, name};
use proptest::prelude::*;
use quantity::Length;

fn part(of: &str, kind: PartKind) -> Part {
    Part { name: name(of), kind, checks: vec![face("face")] }
}

/// Two seats and a bearing with faces of two names.
fn kit() -> Kit {
    let place = StackPlace {
        part: 2,
        ways: vec!["thrust".to_owned(), "open".to_owned()],
        towards_nose: None,
        marked: false,
        mark_deg: None,
        opposes: None,
        marks: 12,
    };
    let parts = vec![
        part("front", PartKind::Shaft),
        part("rear", PartKind::Shaft),
        part("bearing", PartKind::Bearing),
    ];
    Kit::of(parts, vec![place])
}

fn spot(kit: &mut Kit, part: &str, deg: u16, amount: Option<i64>, u: i64) {
    let length = |count: i64| format!("{:.6} in", f64::from(i32::try_from(count).unwrap()) / 1e6);
    kit.ask(Command::StackSpot {
        part: part.to_owned(),
        deg: Some(deg),
        low: false,
        amount: amount.map(length),
        uncertainty: amount.map(|_| length(u)),
        towards_nose: (part == "bearing").then(|| "thrust".to_owned()),
    })
    .unwrap();
}

fn of(job: &Arc<Job>) -> (f64, f64, f64) {
    match as_built(job) {
        Together::Towards(sum) => {
            let amount = sum.amount.unwrap_or(Length::ZERO).picometres() / 25_400;
            (f64::from(i32::try_from(amount).unwrap()), sum.high_deg, sum.within_deg)
        }
        other @ (Together::Nothing | Together::Unknown(_) | Together::Even(_)) => {
            panic!("{other:?}")
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 48, ..ProptestConfig::default() })]

    /// Counted from another index mark all angles are on by as much, and nothing else changes; so are those
    /// at which the bearing belongs.
    #[test]
    fn a_sum_turns_with_the_index_mark(
        (a, b) in (0_u16..360, 0_u16..360),
        (long, short) in (40_i64..200, 1_i64..20),
        by in 0_u16..360,
    ) {
        let sum = |on: u16| {
            let mut kit = kit();
            spot(&mut kit, "front", (a + on) % 360, Some(long), 1);
            spot(&mut kit, "rear", (b + on) % 360, Some(short), 1);
            spot(&mut kit, "bearing", 30, Some(10), 0);
            let job = kit.job();
            (of(&job), opposing(&job, 2, Some("thrust")).unwrap(), opposing(&job, 2, Some("open")).unwrap())
        };
        let ((amount, high, within), mark, turned_over) = sum(0);
        let ((other, turned, same), on, _) = sum(by);
        prop_assert!((amount - other).abs() <= 1.0 && (within - same).abs() < 1e-6);
        prop_assert!(((turned - high - f64::from(by) + 540.0).rem_euclid(360.0) - 180.0).abs() < 1e-6);
        let apart = (i32::from(on.mark_deg) - i32::from(mark.mark_deg) - i32::from(by)).rem_euclid(360);
        prop_assert!(apart <= 1 || apart >= 359, "rounded to whole degrees: {apart}");
        // Highest 30 degrees on from its mark, or 30 before it: the two marks lie 60 apart.
        let over = (i32::from(turned_over.mark_deg) - i32::from(mark.mark_deg)).rem_euclid(360);
        prop_assert!((59..=61).contains(&over), "{over}");
        prop_assert!(mark.whole_deg % 30 == 0 && mark.within_deg >= 15);
    }

    /// A part that opposes a sum by as much leaves nothing that has a direction.
    #[test]
    fn what_is_opposed_by_as_much_is_even(deg in 0_u16..360, amount in 1_i64..200) {
        let mut kit = kit();
        spot(&mut kit, "front", deg, Some(amount), 0);
        spot(&mut kit, "rear", (deg + 180) % 360, Some(amount), 0);
        prop_assert!(matches!(as_built(&kit.job()), Together::Even(_)));
    }
}

#[test]
fn a_direction_is_told_as_long_as_it_is_known_within_a_quarter_turn() {
    // 2·√2·u/a radians are 90 degrees at a = 1.8·u: with u 10, 18.0.
    let told = |amount| {
        let mut kit = kit();
        spot(&mut kit, "front", 0, Some(amount), 10);
        spot(&mut kit, "rear", 0, Some(1), 10);
        matches!(as_built(&kit.job()), Together::Towards(_))
    };
    assert!(told(18) && !told(16), "19 and 17 together; 18.006 is the limit");
}
