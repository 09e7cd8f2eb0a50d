//! High spots that oppose each other.

use std::sync::Arc;

use crate::event::Command;
use crate::fact::row::Stage;
use crate::plan::{Part, PartKind, StackPlace};
use crate::reply::{Done, Refusal};
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

fn build(
    kit: &mut Kit,
    mark_deg: Option<u16>,
    way: &str,
    why: Option<&str>,
) -> Result<Done, Refusal> {
    kit.ask(Command::StackPlace {
        stage: Stage::Built,
        part: "bearing".to_owned(),
        towards_nose: Some(way.to_owned()),
        mark_deg,
        serial: None,
        why: why.map(str::to_owned),
    })
}

/// A kit whose parts have nothing to be measured.
fn bare() -> Kit {
    let place = StackPlace {
        part: 1,
        ways: vec!["thrust".to_owned(), "open".to_owned()],
        towards_nose: None,
        marked: false,
        mark_deg: None,
        opposes: None,
        marks: 12,
    };
    let part = |of: &str, kind| Part { name: name(of), kind, checks: Vec::new() };
    Kit::of(vec![part("front", PartKind::Shaft), part("bearing", PartKind::Bearing)], vec![place])
}

/// The seat is highest at 40, the bearing 30 on from its mark: the mark belongs at 40 + 180 − 30 = 190, within
/// the 15 degrees of half a mark; turned over at 250.
#[test]
fn a_bearing_goes_on_where_its_high_spot_opposes_the_seat_or_with_a_reason() {
    for (way, belongs) in [("thrust", 190_u16), ("open", 250)] {
        for (off, goes) in
            [(0_i32, true), (15, true), (-15, true), (16, false), (-16, false), (180, false)]
        {
            let mut kit = bare();
            spot(&mut kit, "front", 40, Some(100), 0);
            spot(&mut kit, "bearing", 30, Some(40), 0);
            let mark = u16::try_from((i32::from(belongs) + off).rem_euclid(360)).unwrap();
            let done = build(&mut kit, Some(mark), way, None);
            assert_eq!(done.is_ok(), goes, "{way} {off}");
            let Err(refusal) = done else { continue };
            let said = format!(
                "its mark stands at {mark}, and its high spot opposes the others at {belongs} (within 15)"
            );
            assert!(refusal.text.contains(&said), "{}", refusal.text);
            assert!(kit.job().built.is_empty());
            build(&mut kit, Some(mark), way, Some("no room for the key")).unwrap();
            let went = kit.job().went_on.last().unwrap().1.clone();
            let off = went.mark.unwrap();
            assert_eq!((off.belongs_deg, off.within_deg, off.is_deg), (belongs, 15, Some(mark)));
            assert_eq!(went.why, "no room for the key");
        }
    }
    // A mark that is not written down is held against it, too; a whole turn on is the same mark.
    let mut kit = bare();
    spot(&mut kit, "front", 40, Some(100), 0);
    spot(&mut kit, "bearing", 30, Some(40), 0);
    let refusal = build(&mut kit, None, "thrust", None).unwrap_err();
    assert!(refusal.text.contains("where its mark stands is not said"), "{}", refusal.text);
    build(&mut kit, Some(190 + 360), "thrust", None).unwrap();
    assert_eq!(kit.job().built[0].mark_deg, Some(190));
    // Built so, 100 at 40 and 40 at 220 come to 60 at 40.
    let (amount, high, _) = of(&kit.job());
    assert!((amount - 60.0).abs() <= 1.0 && (high - 40.0).abs() < 1e-6, "{amount} {high}");
}

#[test]
fn nothing_is_held_against_a_mark_that_opposes_nothing_known() {
    // No spot of the bearing; none of the seat; one that is even with another.
    for spots in [&[("front", 40)][..], &[("bearing", 30)]] {
        let mut kit = bare();
        for (part, deg) in spots {
            spot(&mut kit, part, *deg, Some(50), 0);
        }
        build(&mut kit, Some(3), "thrust", None).unwrap();
    }
    // The low spot at 220 is the high one at 40.
    let mut kit = bare();
    spot(&mut kit, "bearing", 30, Some(40), 0);
    kit.ask(Command::StackSpot {
        part: "front".to_owned(),
        deg: Some(220),
        low: true,
        amount: Some("0.0001 in".to_owned()),
        uncertainty: None,
        towards_nose: None,
    })
    .unwrap();
    assert_eq!(opposing(&kit.job(), 1, Some("thrust")).unwrap().mark_deg, 190);
}

#[test]
fn a_spot_that_cannot_be_meant_is_refused_and_one_is_taken_back_once() {
    let ask = |kit: &mut Kit, deg: Option<u16>, [amount, u, way]: [Option<&str>; 3]| {
        let part = "bearing".to_owned();
        let [amount, uncertainty, towards_nose] =
            [amount, u, way].map(|text| text.map(str::to_owned));
        kit.ask(Command::StackSpot { part, deg, low: false, amount, uncertainty, towards_nose })
    };
    let mut kit = bare();
    for (deg, given, said) in [
        (None, [None; 3], "no high spot of bearing is marked"),
        (Some(1), [Some("0 in"), None, None], "is no high spot"),
        (Some(1), [Some("-0.0001 in"), None, None], "is no high spot"),
        (Some(1), [Some("1.0001 mm"), None, None], "an amount of 1.0001 mm cannot be meant"),
        (Some(1), [Some("NaN"), None, None], "the amount: "),
        (Some(1), [Some("1e-4 in"), None, None], "the amount: "),
        (Some(1), [Some(""), None, None], "the amount: "),
        (Some(1), [Some("99999999999999999999 in"), None, None], "the amount: "),
        (Some(1), [None, Some("0.00001 in"), None], "an uncertainty is given, and no amount"),
        (Some(1), [Some("0.0001 in"), Some("-0.00001 in"), None], "cannot be meant"),
        (Some(1), [Some("0.0001 in"), Some("1.1 mm"), None], "cannot be meant"),
        (Some(1), [Some("0.0001 in"), None, Some("up")], "bearing has no face \"up\""),
    ] {
        let before = kit.rows.len();
        let refusal = ask(&mut kit, deg, given).unwrap_err();
        assert!(refusal.text.contains(said), "{given:?}: {}", refusal.text);
        assert_eq!((kit.rows.len(), refusal.exit), (before, 2));
    }
    ask(&mut kit, Some(u16::MAX), [Some("1 mm"), Some("0 mm"), Some("open")]).unwrap();
    assert_eq!(kit.job().spots[&1].1.deg, u16::MAX % 360);
    ask(&mut kit, None, [None; 3]).unwrap();
    assert!(kit.job().spots.is_empty());
    assert!(ask(&mut kit, None, [None; 3]).is_err(), "there is none any more");
}
