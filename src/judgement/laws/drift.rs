//! A line through three touches of one surface.

use super::{Dice, moved, pm, times};
use crate::{Drift, Part, ThreeTouches, Traps, in_the_middle_third};
use num_rational::Ratio;
use proptest::prelude::*;
use quantity::{Figure, Length};

const S: i64 = 152_400;

fn through(shown: &[Length], middle: Ratio<i128>, s: i64) -> Option<Drift> {
    let shown = [shown[0], shown[1], shown[2]];
    Drift::through(&ThreeTouches { shown, middle }, Part::stated(pm(s)), &Traps::default())
}

/// A place in the order of touches, in hundredths.
fn place() -> impl Strategy<Value = Ratio<i128>> {
    (0_i128..=100).prop_map(|hundredths| Ratio::new(hundredths, 100))
}

fn shown() -> impl Strategy<Value = Vec<Length>> {
    let one = prop_oneof![-3 * S..3 * S, -20 * S..20 * S];
    proptest::collection::vec(one.prop_map(pm), 3)
}

proptest! {
    #[test]
    fn the_zero_does_not_matter(shown in shown(), middle in place(), up in -9_000_000_i64..9_000_000) {
        prop_assert_eq!(through(&moved(&shown, up), middle, S), through(&shown, middle, S));
    }

    #[test]
    fn a_gauge_that_counts_the_other_way_sees_the_same(shown in shown(), middle in place()) {
        let one = through(&shown, middle, S);
        let other = through(&times(&shown, -1), middle, S);
        prop_assert_eq!(one.is_some(), other.is_some());
        if let Some((one, other)) = one.zip(other) {
            prop_assert_eq!(one.far().picometres(), -other.far().picometres());
            prop_assert_eq!(one.bow().picometres(), -other.bow().picometres());
            prop_assert_eq!((one.is_seen(), one.is_steady()), (other.is_seen(), other.is_steady()));
            prop_assert_eq!((one.slope(), one.bend()), (other.slope(), other.bend()));
        }
    }

    #[test]
    fn whoever_goes_round_the_other_way_sees_the_same(shown in shown(), middle in place()) {
        let mut back = shown.clone();
        back.reverse();
        let one = through(&shown, middle, S);
        let other = through(&back, Ratio::from_integer(1) - middle, S);
        prop_assert_eq!(one.is_some(), other.is_some(), "the thirds are alike");
        if let Some((one, other)) = one.zip(other) {
            prop_assert_eq!(one.far().picometres(), -other.far().picometres());
            prop_assert_eq!(one.bow(), other.bow(), "the bow stays where it is");
            prop_assert_eq!(one.is_taken_out(), other.is_taken_out());
        }
    }

    #[test]
    fn the_unit_does_not_matter(shown in shown(), middle in place(), by in 2_i64..26) {
        let one = through(&shown, middle, S);
        let other = through(&times(&shown, by), middle, by * S);
        if let Some((one, other)) = one.zip(other) {
            prop_assert_eq!(one.is_seen(), other.is_seen());
            // The bow is rounded away from zero to a picometre: what is that near the limit may differ.
            let near = (10 * one.bow().picometres().abs() - 31 * S).abs() <= 20;
            prop_assert!(near || one.is_steady() == other.is_steady());
        }
    }

    #[test]
    fn what_is_taken_out_is_a_line_from_nothing_to_all_of_it(
        shown in shown(), middle in place(), at in place(),
    ) {
        let Some(drift) = through(&shown, middle, S) else { return Ok(()) };
        prop_assert!(in_the_middle_third(middle));
        let [begin, end] = [0, 1].map(|whole| drift.at(Ratio::from_integer(whole)));
        prop_assert_eq!((begin, end), (Figure::ZERO, Figure::from(drift.far())));
        prop_assert_eq!(drift.at(at) + drift.at(Ratio::from_integer(1) - at), end);
        // The middle touch lies on line and bow; the bow is rounded away from the line.
        let up = Figure::from(shown[1]) - Figure::from(shown[0]);
        let off = up - drift.at(middle);
        let bow = Figure::from(drift.bow());
        prop_assert!(bow.abs() >= off.abs() && (bow - off).abs() < Figure::from(pm(1)));
        prop_assert!(off == Figure::ZERO || (off > Figure::ZERO) == (bow > Figure::ZERO));
        // √2·s of the whole, and a bend of max(|bow|, √1.5·s)/√3.
        prop_assert_eq!(drift.slope().square, 2 * square(pm(S)));
        let bend = square(drift.bow()).max(square(pm(S)) * 3 / 2);
        prop_assert_eq!(drift.bend().square, bend.div_ceil(3));
        prop_assert!(drift.bent_by() >= pm(drift.bow().picometres().abs()));
    }

    #[test]
    fn more_drift_is_never_less_seen_and_more_bow_never_steadier(
        far in 0_i64..20 * S, more in 0_i64..20 * S, bow in 0_i64..9 * S, bent in 0_i64..9 * S,
    ) {
        let half = Ratio::new(1, 2);
        let of = |far: i64, bow: i64| through(&[pm(0), pm(far + bow), pm(2 * far)], half, S).unwrap();
        prop_assert!(!of(far, bow).is_seen() || of(far + more, bow).is_seen());
        prop_assert!(!of(far, bow + bent).is_steady() || of(far, bow).is_steady());
        prop_assert_eq!(of(far, bow).bow(), pm(bow));
        prop_assert!(of(far, bow + bent).bend().square >= of(far, bow).bend().square);
    }
}

fn square(length: Length) -> u128 {
    u128::from(length.picometres().unsigned_abs()).pow(2)
}

#[test]
fn the_limits_are_met_exactly() {
    // s 10 pm: 4.2·s = 42 pm, 3.1·s = 31 pm.
    let of = |shown: [i64; 3]| through(&shown.map(pm), Ratio::new(1, 2), 10).unwrap();
    assert!(!of([0, 21, 42]).is_seen() && of([0, 21, 43]).is_seen());
    assert!(!of([0, -21, -42]).is_seen() && of([0, -21, -43]).is_seen());
    assert!(of([0, 31, 0]).is_steady() && !of([0, 32, 0]).is_steady());
    assert!(of([0, -31, 0]).is_steady() && !of([0, -32, 0]).is_steady());
    // Half a picometre beyond counts as a whole one.
    assert!(!of([0, 32, 1]).is_steady() && of([0, 31, 1]).is_steady());
}

/// The ends differ by √2·s and the middle lies off by √1.5·s: 4.2/√2 = 2.97 and 3.1/√1.5 = 2.53 standard
/// deviations, which good work exceeds in 0.30 % and 1.14 % (table of the normal distribution).
#[test]
fn good_work_is_as_rarely_beyond_the_limits_as_the_normal_distribution_says() {
    const SERIES: u32 = 100_000;
    let mut dice = Dice(0x1234_5678_9ABC_DEF1);
    let (mut seen, mut bent) = (0, 0);
    for _ in 0..SERIES {
        let touch = |dice: &mut Dice| {
            #[expect(clippy::cast_possible_truncation, reason = "some standard deviations")]
            let read = (1e6 * dice.normal()).round() as i64;
            pm(read)
        };
        let shown = [touch(&mut dice), touch(&mut dice), touch(&mut dice)];
        let drift = through(&shown, Ratio::new(1, 2), 1_000_000).unwrap();
        seen += u32::from(drift.is_seen());
        bent += u32::from(!drift.is_steady());
    }
    let [seen, bent] = [seen, bent].map(|count| 100.0 * f64::from(count) / f64::from(SERIES));
    assert!((seen - 0.298).abs() < 0.06 && (bent - 1.14).abs() < 0.12, "{seen} %, {bent} %");
}
