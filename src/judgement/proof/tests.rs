use super::*;
use quantity::Unit;

/// Counts of 0.00001 in.
fn counts(of: &[i64]) -> Vec<Length> {
    of.iter().map(|count| micro(count * 10)).collect()
}

/// So many millionths of an inch.
const fn micro(inches: i64) -> Length {
    Length::from_picometres(25_400 * inches)
}

const STEP: Length = micro(10);

/// Ten lifts with a mean of 0.000009 in.
const TEN: [i64; 10] = [1, 0, 1, 2, 1, 0, 1, 1, 0, 1];

fn blocks() -> Step {
    Step { size: micro(1000), u: Part::stated(micro(2)) }
}

fn touches(lifts: &[Length], high: i64, back: i64) -> Touches<'_> {
    Touches {
        lifts,
        high: micro(high),
        back: micro(back),
        step: blocks(),
        resolution: STEP,
        scatter: Part::stated(micro(6)),
        lever_mdeg: 0,
    }
}

fn faults(high: i64, back: i64) -> Vec<Fault> {
    Proof::of(&touches(&counts(&TEN), high, back)).unwrap().faults
}

#[test]
fn ten_lifts_and_a_step_prove_a_gauge() {
    let lifts = counts(&TEN);
    let proof = Proof::of(&touches(&lifts, 1010, 10)).unwrap();
    // By hand: mean 0.8 counts, squares 5·0.04 … sum 3.6 over 9 = 0.4, root 0.632456 counts.
    let (s, freedom) = proof.repeat.unwrap();
    assert_eq!(freedom, 9);
    assert!((s.picometres() - 160_644).abs() <= 1, "0.00000632 in: {s:?}");
    // (8 + 10)/2 = 9 under 1010.
    assert_eq!(proof.step, Figure::from(micro(1001)));
    assert_eq!(proof.came_back, Figure::from(micro(2)));
    assert_eq!(proof.faults, []);
    // By hand: s²·(5/4 + 1/40) + 2² = 40·1.275 + 4 = 55 µin², 7.42; t at 10 degrees 2.28.
    let micro_inches = Figure::from(proof.uncertainty).to_f64() / 25_400.0;
    assert!((16.5..17.5).contains(&micro_inches), "{micro_inches}");
    assert!((12.0..15.0).contains(&unseen_angle_deg(micro(1000), proof.may_differ)));
    let good_for = good_for(s).picometres();
    assert!((good_for - 1_817_500).abs() < 100, "11.31·s: {good_for}");
}

#[test]
fn each_fault_is_named_and_several_are_named_together() {
    assert_eq!(faults(-992, 10), [Fault::Sign]);
    assert_eq!(faults(25_410, 10), [Fault::Unit]);
    assert_eq!(faults(48, 10), [Fault::Unit]);
    assert_eq!(faults(-25_390, 10), [Fault::Sign, Fault::Unit]);
    assert_eq!(faults(10_010, 10), [Fault::Places]);
    assert_eq!(faults(109, 10), [Fault::Places]);
    assert_eq!(faults(5_009, 10), [Fault::Places]);
    // 15° reads 1/cos 15° = 1.0353 times as far.
    assert_eq!(faults(1044, 10), [Fault::Leans]);
    assert_eq!(faults(1424, 10), [Fault::Scale]);
    assert_eq!(faults(970, 10), [Fault::Short]);
    assert_eq!(faults(310, 10), [Fault::Scale], "less than half of the step");
    assert_eq!(faults(10, 10), [Fault::Still]);
    assert_eq!(faults(1030, 50), [Fault::Moved]);
}

#[test]
fn a_step_within_its_uncertainty_is_right_on_both_sides() {
    // By hand: 7.42 µin times Student's 3.96 at ten degrees, 29.4.
    assert_eq!(faults(1009 + 29, 10), []);
    assert_eq!(faults(1009 - 29, 10), []);
    assert_eq!(faults(1009 + 30, 10), [Fault::Leans]);
    assert_eq!(faults(1009 - 30, 10), [Fault::Short]);
}

#[test]
fn a_stated_lever_angle_explains_a_long_step_and_forbids_none_that_is_right() {
    let lifts = counts(&TEN);
    let leaning = |high| {
        let touched = Touches { lever_mdeg: 15_000, ..touches(&lifts, high, 10) };
        Proof::of(&touched).unwrap()
    };
    assert_eq!(leaning(1044).faults, []);
    assert_eq!(leaning(1009).faults, []);
    assert_eq!(leaning(1090).faults, [Fault::Leans]);
    let seen = leaning(1044).leaning_deg(micro(1000)).unwrap();
    assert!((14.0..16.0).contains(&seen), "{seen}");
    assert_eq!(leaning(990).leaning_deg(micro(1000)), None);
}

#[test]
fn a_lift_that_stands_off_is_named_and_a_single_count_is_not() {
    let named = |counted: [i64; 10]| {
        let lifts = counts(&counted);
        let proof = Proof::of(&touches(&lifts, 1000, 0)).unwrap();
        (proof.stands_off, proof.faults)
    };
    assert_eq!(named([0, 0, 0, 0, 0, 0, 30, 0, 0, 0]).0, Some(6));
    assert_eq!(named([0, 0, 0, 0, 0, 0, 1, 0, 0, 0]), (None, vec![]));
    assert_eq!(named([0, 0, 0, 0, 0, 0, 3, 0, 0, 0]).0, None, "2.7 steps off");
    assert_eq!(named([0; 10]), (None, vec![]));
    let (s, _) = scatter_of(&counts(&[0; 10]), STEP).unwrap();
    assert_eq!(s.picometres(), 73_324, "q/√12 = 2.887 µin");
}

#[test]
fn lifts_worse_than_stated_are_told_and_those_of_an_assumed_hand_are_not() {
    let lifts = counts(&[-2, 2, -2, 2, -2, 2, -2, 2, 1, -1]);
    let proof = Proof::of(&touches(&lifts, 1000, 0)).unwrap();
    assert_eq!(proof.faults, [Fault::Scatters], "19 µin against 6");
    let assumed = Touches { scatter: Part::assumed(micro(12)), ..touches(&lifts, 1000, 0) };
    assert_eq!(Proof::of(&assumed).unwrap().faults, []);
}

#[test]
fn a_step_that_the_scatter_hides_proves_nothing() {
    let lifts = counts(&[-20, 20, -10, 10, 0, 0, 20, -20, 10, -10]);
    let touched = Touches { scatter: Part::assumed(micro(12)), ..touches(&lifts, 1000, 0) };
    assert!(Proof::of(&touched).unwrap().faults.contains(&Fault::StepTooSmall));
}

#[test]
fn the_step_alone_takes_its_scatter_from_what_is_known() {
    let lifts = counts(&[0]);
    let proof = Proof::of(&touches(&lifts, 1000, 0)).unwrap();
    assert_eq!((proof.repeat, proof.faults.clone()), (None, vec![]));
    // By hand: 36·1.5 + 4 = 58 µin², 7.62, twice.
    let micro_inches = Figure::from(proof.uncertainty).to_f64() / 25_400.0;
    assert!((15.2..15.3).contains(&micro_inches), "{micro_inches}");
    assert!(Proof::of(&Touches { lifts: &[], ..touches(&lifts, 0, 0) }).is_none());
    assert_eq!(Length::parse("0.001", Unit::Inch), Ok(micro(1000)));
}

/// So many of a hundred good proofs of a hand with this scatter, in µin, find something.
fn called_of_a_thousand(s: f64, stated: Option<i64>) -> usize {
    let mut seed = 88_172_645_463_325_252_u64;
    let mut uniform = move || {
        seed ^= seed << 13;
        seed ^= seed >> 7;
        seed ^= seed << 17;
        f64::from(u32::try_from(seed >> 32).unwrap()) / 4_294_967_296.0
    };
    let mut lift = move |level: f64| {
        let normal: f64 = (0..12).map(|_| uniform()).sum::<f64>() - 6.0;
        #[expect(clippy::cast_possible_truncation, reason = "some counts")]
        let count = ((level + s * normal) / 10.0).round() as i64;
        micro(count * 10)
    };
    let scatter = stated.map_or(Part::assumed(micro(12)), |s| Part::stated(micro(s)));
    (0..1000)
        .filter(|_| {
            let lifts: Vec<Length> = (0..10).map(|_| lift(0.0)).collect();
            let (high, back) = (lift(1000.0), lift(0.0));
            let touched = Touches { high, back, scatter, ..touches(&lifts, 0, 0) };
            !Proof::of(&touched).unwrap().faults.is_empty()
        })
        .count()
}

#[test]
fn good_gauges_are_rarely_called_bad() {
    for (s, stated) in [(6.0, None), (12.0, None), (18.0, None), (6.0, Some(6)), (12.0, Some(12))] {
        let called = called_of_a_thousand(s, stated);
        println!("s {s}, stated {stated:?}: {called} of 1000 good proofs found something");
        assert!(called <= 20, "{s}: {called}");
    }
}
