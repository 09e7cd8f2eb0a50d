//! The chart of a gauge: what its proofs show from day to day, and a day that leaves the limits.

use super::{LIFTS, all, ask, begin, command, prove};
use crate::event::Command;
use crate::fact::row::{AlertKind, Body, Charted, ProofBegan};
use crate::proofs::{CHART_DAYS, PROOFS_AT_HAND, chart_of_steps, scatter_of};
use crate::tests::kit::{Kit, face, inch, name};
use judgement::Known;
use quantity::{Figure, Length};

/// A gauge of which nothing is stated.
fn unstated() -> Kit {
    let mut kit = Kit::new(vec![face("face")]);
    let plate = kit.setup.gauges.get_mut(&name("plate")).unwrap();
    (plate.uncertainty, plate.repeatability) = (None, None);
    kit
}

/// Proves the gauge with a step of so many counts; what left the chart.
fn day(kit: &mut Kit, high: i64) -> Vec<Charted> {
    let proved = prove(kit, &all(LIFTS, high, 1));
    let shows = proved.shows.as_ref().unwrap();
    assert_eq!(shows.faults, [], "{}", crate::words::proof::came_to(&proved));
    shows.off_chart.clone()
}

fn days(kit: &mut Kit, so_many: usize) {
    for _ in 0..so_many {
        assert_eq!(day(kit, 101), []);
    }
}

#[test]
fn a_step_that_leaves_the_limits_of_ten_days_is_told_and_left_out_of_them() {
    let mut kit = Kit::new(vec![face("face")]);
    days(&mut kit, 10);
    // Ten days at +1 µin: the limits lie a step and a half on either side, −14 and 16.
    assert_eq!(day(&mut kit, 102), [], "11 µin");
    assert_eq!(day(&mut kit, 103), [Charted::CheckMaster], "21 µin");
    let told = kit.alerts(AlertKind::CheckMasterOff);
    assert_eq!(told.len(), 1);
    assert!(told[0].starts_with("CHECK MASTER OFF with plate: +0.000021"), "{told:?}");
    assert!(told[0].contains("judge no parts"), "{told:?}");
    // Again, on the other side: the alert names the newest, and none of them moves the limits.
    assert_eq!(day(&mut kit, 99), [Charted::CheckMaster], "−19 µin");
    let told = kit.alerts(AlertKind::CheckMasterOff);
    assert!(told.len() == 1 && told[0].contains("-0.000019"), "{told:?}");
    for high in [103, 99, 103, 99, 103] {
        assert_eq!(day(&mut kit, high), [Charted::CheckMaster]);
    }
    // A good day ends it.
    assert_eq!(day(&mut kit, 101), []);
    assert!(kit.alerts(AlertKind::CheckMasterOff).is_empty());
}

#[test]
fn nine_days_are_no_chart_and_other_blocks_have_one_of_their_own() {
    let mut kit = Kit::new(vec![face("face")]);
    days(&mut kit, 9);
    assert_eq!(day(&mut kit, 103), [], "the tenth day belongs to the chart");
    let mut kit = Kit::new(vec![face("face")]);
    days(&mut kit, 10);
    ask(&mut kit, command(Some("0.002"))).unwrap();
    super::press_all(&mut kit, &all(LIFTS, 203, 1));
    let proved = super::newest(&kit);
    assert_eq!(proved.shows.as_ref().unwrap().off_chart, [], "the first day of this step");
    let plate = name("plate");
    let history = kit.bench.shop.history(&plate, None);
    let step = inch("0.00001");
    assert!(chart_of_steps(history, &proved.blocks, step).is_none());
    assert!(chart_of_steps(history, &history[0].proved.blocks, step).is_some());
}

#[test]
fn the_first_twenty_days_make_the_limits_so_that_a_slow_walk_is_seen() {
    let mut kit = Kit::new(vec![face("face")]);
    days(&mut kit, CHART_DAYS);
    // Each day a little further, always within the limits of the days just before it.
    assert_eq!(day(&mut kit, 102), []);
    for _ in 0..5 {
        assert_eq!(day(&mut kit, 102), []);
    }
    assert_eq!(day(&mut kit, 103), [Charted::CheckMaster]);
    let plate = name("plate");
    let history = kit.bench.shop.history(&plate, None);
    let chart = chart_of_steps(history, &history[0].proved.blocks, inch("0.00001")).unwrap();
    assert_eq!(chart.centre, Figure::from(inch("0.000001")), "the first twenty, and no later one");
}

#[test]
fn a_failed_proof_is_no_day_of_the_chart() {
    let mut kit = Kit::new(vec![face("face")]);
    days(&mut kit, 9);
    assert!(!prove(&mut kit, &all(LIFTS, -99, 1)).is_good());
    begin(&mut kit);
    super::give_up(&mut kit, None);
    assert_eq!(day(&mut kit, 103), [], "still the tenth day");
    assert_eq!(kit.bench.shop.proofs(&name("plate")).len(), 12);
}

#[test]
fn lifts_that_scatter_more_than_they_used_to_are_told() {
    // Twice the usual scatter: four times the variance, where 2.81 is the limit for ten lifts.
    let loose = LIFTS.map(|lift| 2 * lift);
    let after = |so_many: usize| {
        let mut kit = unstated();
        days(&mut kit, so_many);
        let proved = prove(&mut kit, &all(loose, 101, 2));
        (proved.shows.as_ref().unwrap().off_chart.clone(), kit.alerts(AlertKind::CheckMasterOff))
    };
    // Ninety lifts say what is usual; with eighty the scatter is not yet known well.
    assert_eq!(after(8), (vec![], vec![]));
    let (off, told) = after(9);
    assert_eq!(off, [Charted::Repeatability]);
    assert!(told[0].starts_with("plate SCATTERS more than on its chart: 0.000013 in"), "{told:?}");
}

fn began(kit: &Kit) -> std::sync::Arc<ProofBegan> {
    let newest = kit.rows.iter().rev().find_map(|row| {
        let Body::ProofBegan(began) = &row.body else { return None };
        Some(std::sync::Arc::clone(began))
    });
    newest.unwrap()
}

#[test]
fn the_step_alone_stands_on_what_earlier_proofs_showed_of_the_scatter() {
    let alone = |kit: &mut Kit| {
        let gauge = "plate".to_owned();
        ask(kit, Command::Prove { gauge, step: None, blocks: None, step_only: true }).unwrap();
        let began = began(kit);
        super::give_up(kit, None);
        began
    };
    let mut kit = unstated();
    let assumed = alone(&mut kit);
    assert_eq!((assumed.scatter_known, assumed.scatter_df), (Known::Assumed, Some(8)));
    days(&mut kit, 1);
    let known = alone(&mut kit);
    // Of nine degrees of freedom clipping costs a twentieth.
    assert_eq!((known.scatter_known, known.scatter_df), (Known::Record, Some(8)));
    assert!((known.scatter.picometres() - 162_474).abs() <= 1, "the s of the proof before");
    assert!(known.scatter < assumed.scatter);
    days(&mut kit, 1);
    assert_eq!(alone(&mut kit).scatter_df, Some(17), "two proofs, nine degrees each");
    // What is stated comes first.
    let mut kit = Kit::new(vec![face("face")]);
    days(&mut kit, 1);
    let stated = alone(&mut kit);
    assert_eq!((stated.scatter_known, stated.scatter), (Known::Stated, inch("0.000006")));
}

#[test]
fn the_newest_proofs_are_at_hand_and_the_oldest_go_first() {
    let mut kit = Kit::new(vec![face("face")]);
    days(&mut kit, 1);
    let row =
        kit.rows.iter().rev().find(|row| matches!(row.body, Body::Proved(_))).unwrap().clone();
    let mut bench = kit.bench.clone();
    for nth in 0..PROOFS_AT_HAND + 3 {
        let seq = crate::fact::seq::Seq(1000 + u64::try_from(nth).unwrap());
        bench.apply(&crate::state::row::Row { seq, ..row.clone() });
    }
    let at_hand = bench.shop.proofs(&name("plate"));
    assert_eq!((at_hand.len(), at_hand[0].id.0), (PROOFS_AT_HAND, 1003));
    let usual = scatter_of(at_hand, inch("0.00001")).unwrap();
    // All alike: the pool is the scatter of each of them, over √0.9776 for what clipping takes.
    assert!((usual.s.picometres() - 162_474).abs() <= 2, "{:?}", usual.s);
    assert_eq!(usual.count, 5000);
    assert!(scatter_of(&[], Length::from_picometres(254_000)).is_none());
}
