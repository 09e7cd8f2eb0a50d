use crate::plan::{Flatness, Parallelism, Size};
use crate::tests::turns::*;
use judgement::{Reason, Word};

fn flat(positions: u32) -> Check {
    Check { measures: Flatness.into(), positions, ..face("top") }
}

/// A saddle of 0.00012 in peak to valley, `turned` degrees, read to 0.00001 in (scenario,
/// invented).
fn saddle(angles_deg: impl Iterator<Item = f64>, turned: f64) -> Vec<String> {
    let height = |angle: f64| 0.00006 * (2.0 * (angle + turned).to_radians()).sin();
    angles_deg.map(|angle| format!("{:.5}", height(angle))).collect()
}

fn round(positions: u32, from: f64) -> impl Iterator<Item = f64> {
    let pitch = 360.0 / f64::from(positions);
    (0..positions).map(move |k| from + pitch * f64::from(k))
}

fn judged(check: Check, readings: &[String]) -> Kit {
    let mut kit = measuring(check);
    kit.send(&readings.iter().map(String::as_str).collect::<Vec<_>>());
    kit
}

fn says(kit: &Kit, text: &str) -> bool {
    kit.verdict().advice.iter().any(|line| line == text)
}

#[test]
fn three_touches_show_no_flatness() {
    let kit = judged(flat(3), &saddle(round(3, 0.0), 0.0));
    let verdict = kit.verdict();
    assert_eq!((verdict.word, verdict.simple, verdict.value), (Word::Undecided, None, None));
    assert!(verdict.reasons.contains(&Reason::TooFewPositions));
    assert_eq!(verdict.figures.max_minus_min, Some(exact("0.0001")));
    assert_eq!(verdict.limits, Some(Limits::Max(inch("0.0001"))), "it is told what it is held to");
}

#[test]
fn a_face_has_its_mean_range_and_return_beside_the_figure() {
    let readings = ["0.00001", "0.00002", "0.00003", "0.00002", "0", "0", "0.00001", "0.00001"];
    for measures in [Measures::from(Flatness), Parallelism.into()] {
        let mut kit = measuring(Check { measures, closure: true, ..face("top") });
        kit.send(&readings);
        kit.send(&["0.00002"]);
        let figures = &kit.verdict().figures;
        assert_eq!(figures.mean, Some(exact("0.0001") / 8), "ten steps on eight touches");
        assert_eq!(figures.max_minus_min, Some(exact("0.00003")));
        assert_eq!(figures.closure, Some(exact("0.00001")));
    }
}

#[test]
fn contacts_on_two_circles_lie_where_their_radii_say() {
    // Upper contacts at 0 and 180 of the outer circle of 2 in, 0 and 40 millionths high; the lower one
    // at 180 of the inner circle of 1 in, three quarters of the way between: 3/4·40 − 0 = 30.
    let check = Check { radii: vec![inch("1"), inch("2")], ..flat(4) };
    let mut kit = measuring(check);
    kit.send(&["0", "0.00001", "0", "0.00001"]);
    kit.send(&["0", "0.00001", "0.00004", "0.00001"]);
    let verdict = kit.verdict();
    assert_eq!(verdict.value, Some(exact("0.00003")));
    assert_eq!(
        (&verdict.figures.contacts_upper[..], &verdict.figures.contacts_lower[..]),
        (&[4, 6][..], &[2][..])
    );
}

#[test]
fn a_flatness_near_the_noise_is_not_called_out() {
    // Every touch stands at either plane: 120 is over 100 + 16.8, and not without what noise alone
    // makes of eight of them.
    let high_low = ["0.00012", "0"].repeat(4);
    let mut kit = measuring(flat(8));
    kit.send(&high_low);
    let verdict = kit.verdict();
    assert_eq!((verdict.word, &verdict.reasons[..]), (Word::Undecided, &[Reason::NearNoise][..]));
    assert_eq!(verdict.simple, Some(Word::DoesNotConform));
    // A saddle has four at its planes, and is out.
    let saddle = judged(flat(8), &saddle(round(8, 0.0), 0.0));
    assert_eq!((saddle.verdict().word, saddle.verdict().reasons.len()), (Word::DoesNotConform, 0));
}

#[test]
fn four_touches_can_miss_a_saddle_altogether() {
    let kit = judged(flat(4), &saddle(round(4, 0.0), 0.0));
    let verdict = kit.verdict();
    assert_eq!((verdict.word, verdict.simple), (Word::Undecided, Some(Word::Conforms)));
    assert_eq!((verdict.value, verdict.figures.saddle_factor), (Some(Figure::ZERO), None));
    assert!(says(&kit, "Claimed at these 4 touches; a saddle between them could be unseen."));
    let kit = judged(flat(4), &saddle(round(4, 0.0), 45.0));
    assert_eq!(
        (kit.verdict().word, kit.verdict().value),
        (Word::DoesNotConform, Some(exact("0.00012")))
    );
}

#[test]
fn an_unlucky_eight_conforms_and_a_second_pass_does_not() {
    let lucky = judged(flat(8), &saddle(round(8, 0.0), 0.0));
    assert_eq!(lucky.verdict().word, Word::DoesNotConform);
    assert_eq!(fixed(lucky.verdict().uncertainty, 8), "0.00001680");

    let unlucky = judged(flat(8), &saddle(round(8, 0.0), 22.5));
    let verdict = unlucky.verdict();
    assert_eq!((verdict.word, verdict.value), (Word::Conforms, Some(exact("0.00008"))));
    assert_eq!(fixed(verdict.uncertainty, 8), "0.00001818");
    near(verdict.figures.saddle_factor, 2.0_f64.sqrt(), 0.0005);
    assert!(says(
        &unlucky,
        "Claimed at these 8 touches; a saddle between them could be 1.42 times larger."
    ));

    let both: Vec<f64> = round(8, 0.0).chain(round(8, 22.5)).collect();
    let twice = Check { passes: 2, ..flat(8) };
    let kit = judged(twice, &saddle(both.into_iter(), 22.5));
    let verdict = kit.verdict();
    assert_eq!((verdict.word, verdict.value), (Word::DoesNotConform, Some(exact("0.00012"))));
    assert_eq!(fixed(verdict.uncertainty, 8), "0.00001680");
    // 1/cos(π/8)
    near(verdict.figures.saddle_factor, 1.0824, 0.0005);
}

#[test]
fn a_face_says_what_its_touches_cannot_see() {
    let flat_ring =
        |positions| judged(Check { positions, ..face("face") }, &vec!["0".to_owned(); 24]);
    // 1/cos²(90°/7) = 1.0521, 1/cos 45° = 1.4142, 1/cos² 10° = 1.0311, 1/cos² 18° = 1.1056 and
    // 1/cos 22.5° = 1.0824, rounded up.
    for (positions, factor) in [(7, 1.06), (8, 1.42), (9, 1.04), (10, 1.11), (16, 1.09)] {
        let text = format!(
            "Claimed at these {positions} touches; a saddle between them could be {factor:.2} times larger."
        );
        assert!(says(&flat_ring(positions), &text), "{:?}", flat_ring(positions).verdict().advice);
    }
}

#[test]
fn a_touch_left_out_makes_no_claim_of_a_saddle() {
    let mut kit = measuring(face("face"));
    kit.send(&["0"; 7]);
    skip(&mut kit, &[7]);
    assert_eq!(kit.verdict().figures.saddle_factor, None);
    assert!(says(&kit, "Claimed at these 7 touches."), "{:?}", kit.verdict().advice);
}

#[test]
fn a_dish_is_outer_minus_inner() {
    // Scenario, invented.
    let mut check = flat(8);
    check.radii = vec![inch("1.2"), inch("1.8")];
    let mut kit = measuring(check.clone());
    kit.send(&[
        "0.00002", "-0.00004", "0.00000", "-0.00002", "-0.00001", "-0.00004", "0.00000", "-0.00003",
    ]);
    kit.send(&[
        "0.00005", "-0.00007", "-0.00001", "-0.00003", "0.00001", "-0.00006", "0.00000", "-0.00002",
    ]);
    let dish = kit.verdict().figures.dish;
    // The circles sum up to −12 (inner) and −13 (outer) of 0.00001 in.
    assert_eq!(dish, Some(Figure::from(inch("-0.00001")) / 8));
    // A tilt with a touch missing would pass for one.
    let mut kit = measuring(check.clone());
    kit.send(&["0"; 8]);
    skip(&mut kit, &[15]);
    kit.send(&["0"; 7]);
    assert_eq!(kit.verdict().figures.dish, None);
    check.radii.reverse();
    let mut kit = measuring(check);
    kit.send(&["0.00003"; 8]);
    kit.send(&["0.00001"; 8]);
    assert_eq!(kit.verdict().figures.dish, Some(exact("0.00002")), "whichever was touched first");
}

#[test]
fn what_a_new_setting_of_the_supports_adds_is_taken_out_of_a_try() {
    // A saddle of 120, and again 1000 higher, leaning by 100 towards 180 and by 200 towards 90.
    let check = Check { setup: Holding::Supports, ..flat(4) };
    let mut kit = judged(check, &["0.00006", "-0.00006", "0.00006", "-0.00006"].map(str::to_owned));
    let again = crate::fact::row::AttemptReason::Again;
    kit.ask(Command::Remeasure { reason: again, target: None, remark: None }).unwrap();
    kit.send(&["0.00096", "0.00114", "0.00116", "0.00074"]);
    let verdict = kit.verdict();
    assert_eq!((verdict.tries, &verdict.reasons[..]), (2, &[Reason::TooFewPositions][..]));
    assert_eq!(fixed(verdict.value, 8), "0.00012000");
    // The newest is as it was read; the mean of both lies on it.
    let means: Vec<String> =
        verdict.means.iter().map(|mean| mean.value.fixed(Unit::Inch, 7)).collect();
    assert_eq!(means, ["0.0009600", "0.0011400", "0.0011600", "0.0007400"]);
}

#[test]
fn tries_that_differ_are_not_the_same_metal() {
    let tries = |measures: &Measures, second: &[&str; 8]| {
        let mut kit = measuring(Check { measures: measures.clone(), ..flat(8) });
        kit.send(&["0"; 8]);
        let again = crate::fact::row::AttemptReason::Again;
        kit.ask(Command::Remeasure { reason: again, target: None, remark: None }).unwrap();
        kit.send(second);
        kit.verdict().reasons.clone()
    };
    for measures in [Measures::from(Flatness), Parallelism.into()] {
        assert_eq!(tries(&measures, &["0.0005"; 8]), [], "the gauge was set anew");
        let one_off = ["0", "0", "0.0003", "0", "0", "0", "0", "0"];
        assert!(tries(&measures, &one_off).contains(&Reason::TriesDiffer), "{measures:?}");
    }
}

#[test]
fn tries_that_have_nothing_in_common_are_not_put_together_unless_a_master_joins_them() {
    let tries = |check: Check| {
        let (half, name) = (check.positions / 2, format!("ring/{}", check.name));
        let mut kit = Kit::new(vec![check]);
        kit.measure(&name).unwrap();
        let touch = vec!["1.5"; usize::try_from(half).unwrap()];
        kit.send(&touch);
        skip(&mut kit, &(half..2 * half).collect::<Vec<_>>());
        let again = crate::fact::row::AttemptReason::Again;
        kit.ask(Command::Remeasure { reason: again, target: None, remark: None }).unwrap();
        skip(&mut kit, &(0..half).collect::<Vec<_>>());
        kit.send(&touch);
        kit.verdict().tries
    };
    assert_eq!(tries(face("face")), 1, "how the gauge was set between them nobody knows");
    assert_eq!(tries(flat(8)), 1);
    let limits = Some(Limits::Band { min: inch("1.499"), max: inch("1.501") });
    assert_eq!(tries(Check { measures: Size::default().into(), limits, ..face("length") }), 2);
}
