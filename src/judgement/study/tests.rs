//! Studies against published ones.

use super::super::floor::range_of;
use super::*;

/// Ten parts, hands A, B, C, three trials each, in standardised units: AIAG, Measurement Systems Analysis,
/// 4th edition 2010, data sheet of the gauge study, as four independent copies have it.
const AIAG: [f64; 90] = [
    0.29, 0.41, 0.64, 0.08, 0.25, 0.07, 0.04, -0.11, -0.15, -0.56, -0.68, -0.58, -0.47, -1.22,
    -0.68, -1.38, -1.13, -0.96, 1.34, 1.17, 1.27, 1.19, 0.94, 1.34, 0.88, 1.09, 0.67, 0.47, 0.5,
    0.64, 0.01, 1.03, 0.2, 0.14, 0.2, 0.11, -0.8, -0.92, -0.84, -0.56, -1.2, -1.28, -1.46, -1.07,
    -1.45, 0.02, -0.11, -0.21, -0.2, 0.22, 0.06, -0.29, -0.67, -0.49, 0.59, 0.75, 0.66, 0.47, 0.55,
    0.83, 0.02, 0.01, 0.21, -0.31, -0.2, -0.17, -0.63, 0.08, -0.34, -0.46, -0.56, -0.49, 2.26,
    1.99, 2.01, 1.8, 2.12, 2.19, 1.77, 1.45, 1.87, -1.36, -1.25, -1.31, -1.68, -1.62, -1.5, -1.49,
    -1.77, -2.16,
];

/// Thermal impedance of power modules, 100 × °C/W: Houf and Berman 1988, as reprinted in Vidakovic,
/// Statistics for Bioengineering Sciences, example 11.14.
const IMPEDANCE: [u32; 90] = [
    37, 38, 37, 41, 41, 40, 41, 42, 41, 42, 41, 43, 42, 42, 42, 43, 42, 43, 30, 31, 31, 31, 31, 31,
    29, 30, 28, 42, 43, 42, 43, 43, 43, 42, 42, 42, 28, 30, 29, 29, 30, 29, 31, 29, 29, 42, 42, 43,
    45, 45, 45, 44, 46, 45, 25, 26, 27, 28, 28, 30, 29, 27, 27, 40, 40, 40, 43, 42, 42, 43, 43, 41,
    25, 25, 25, 27, 29, 28, 26, 26, 26, 35, 34, 34, 35, 35, 34, 35, 34, 35,
];

fn aiag() -> Crossed {
    Crossed::new([10, 3, 3], AIAG.to_vec()).unwrap()
}

fn near(found: f64, meant: f64, within: f64) {
    assert!((found - meant).abs() <= within, "{found} is not {meant}");
}

#[test]
fn the_study_of_ten_parts_and_three_hands() {
    let found = Anova::of(&aiag());
    // Quoted as the printed output of a statistics package on these data, and of a second program.
    near(found.part.squares, 88.361_93, 6e-6);
    near(found.hand.squares, 3.167_26, 6e-6);
    near(found.interaction.squares, 0.3590, 5e-5);
    near(found.repeatability.squares, 2.7589, 5e-5);
    let freedom = [found.part, found.hand, found.interaction, found.repeatability];
    let apart = freedom.iter().zip([9.0, 2.0, 18.0, 60.0]).map(|(one, want)| one.freedom - want);
    assert!(apart.into_iter().all(|off: f64| off.abs() < 1e-12));
    assert!(found.is_pooled());
    near(found.chance.unwrap(), 0.974, 6e-4);
    near(found.pooled().squares, 3.117_92, 6e-6);
    let parts = found.components();
    near(parts.repeatability, 0.039_973_3, 5e-8);
    near(parts.reproducibility(), 0.051_455_3, 5e-8);
    near(parts.gauge(), 0.091_428_5, 6e-8);
    near(parts.part, 1.086_446_6, 5e-8);
    near(parts.total(), 1.177_875_1, 6e-8);
    near(100.0 * (parts.gauge() / parts.total()).sqrt(), 27.86, 5e-3);
    near(100.0 * parts.gauge() / parts.total(), 7.76, 5e-3);
    // 4.86: by ranges the same readings give 5.
    assert_eq!((parts.distinct_categories(), parts.interaction), (Some(4), None));
}

#[test]
fn the_same_by_averages_and_ranges() {
    let found = AverageAndRange::of(&aiag());
    // AIAG's own results, from memory; it rounds the factors to
    // four digits on the way.
    near(found.repeatability, 0.201_88, 5e-5);
    near(found.reproducibility, 0.229_63, 1e-4);
    near(found.gauge(), 0.305_75, 1e-4);
    near(found.part, 1.104_56, 2e-4);
    near(found.total(), 1.146_10, 2e-4);
    assert_eq!(found.distinct_categories(), Some(5));
}

#[test]
fn hands_that_read_some_parts_otherwise() {
    let study = Crossed::new([10, 3, 3], IMPEDANCE.iter().copied().map(f64::from).collect());
    let found = Anova::of(&study.unwrap());
    // Montgomery, Introduction to Statistical Quality Control 2005, from memory.
    let squares = [found.part, found.hand, found.interaction, found.repeatability];
    for (found, meant) in squares.into_iter().zip([3935.96, 39.27, 48.51, 30.67]) {
        near(found.squares, meant, 5e-3);
    }
    assert!(!found.is_pooled() && found.chance.unwrap() < 1e-5);
    let parts = found.components();
    near(parts.repeatability, 0.51, 5e-3);
    near(parts.interaction.unwrap(), 0.73, 5e-3);
    near(parts.hand, 0.56, 5e-3);
    near(parts.part, 48.29, 5e-3);
}

#[test]
fn readings_that_share_a_large_size() {
    // NIST StRD, SiRstv: five instruments, five readings each; certified.
    let values = [
        [196.3052, 196.1240, 196.1890, 196.2569, 196.3403],
        [196.3042, 196.3825, 196.1669, 196.3257, 196.0422],
        [196.1303, 196.2005, 196.2889, 196.0343, 196.1811],
        [196.2795, 196.1748, 196.1494, 196.1485, 195.9885],
        [196.2119, 196.1051, 196.1850, 196.0052, 196.2090],
    ];
    let study = Crossed::new([5, 1, 5], values.concat()).unwrap();
    let found = Anova::of(&study);
    near(found.part.squares, 5.114_626_16e-2, 1e-13);
    near(found.repeatability.squares, 2.166_365_60e-1, 1e-13);
    near(found.part.mean() / found.repeatability.mean(), 1.180_462_374_402_55, 1e-10);
    near(found.repeatability.mean().sqrt(), 0.104_076_068_334_656, 1e-12);
    // One hand: nothing is said of hands.
    assert_eq!((found.hand.squares, found.hand.mean(), found.chance), (0.0, 0.0, None));
    assert!(found.is_pooled());
    assert!(found.components().reproducibility().abs() < 1e-12);
    // A constant beside them all changes nothing.
    let far = values.concat().into_iter().map(|value| value + 1e6).collect();
    let far = Anova::of(&Crossed::new([5, 1, 5], far).unwrap());
    near(far.repeatability.squares, found.repeatability.squares, 1e-7);
}

#[test]
fn factors_of_ranges_as_printed() {
    // Factors of control charts, table A.22 of a textbook, the same as ASTM's; 0.820 and the like.
    let printed = [
        (2, 1.128, 0.853),
        (3, 1.693, 0.888),
        (4, 2.059, 0.880),
        (5, 2.326, 0.864),
        (7, 2.704, 0.833),
        (10, 3.078, 0.797),
        (15, 3.472, 0.756),
        (20, 3.735, 0.729),
    ];
    for (count, d2, d3) in printed {
        let found = range_of(count);
        near(found.0, d2, 5.1e-4);
        near(found.1, d3, 5.1e-4);
    }
    // By the integrals, where the printed d3 of nineteen is a misprint (0.734).
    near(range_of(2).1, 0.852_50, 6e-6);
    near(range_of(10).1, 0.797_05, 6e-6);
    near(range_of(19).1, 0.733_48, 6e-6);
}

#[test]
fn a_gauge_whose_steps_hide_its_scatter_is_told() {
    let same = Crossed::new([2, 2, 2], vec![1.0, 1.0, 1.0, 1.0, 2.0, 2.0, 2.0, 2.0]).unwrap();
    let found = Anova::of(&same);
    assert_eq!((found.chance, found.components().distinct_categories()), (Some(1.0), None));
    assert_eq!(AverageAndRange::of(&same).distinct_categories(), None);
    // Only the hands differ, each by itself alike: that is an interaction however few there are.
    let turned = Crossed::new([2, 2, 2], vec![1.0, 1.0, 2.0, 2.0, 2.0, 2.0, 1.0, 1.0]).unwrap();
    assert_eq!(Anova::of(&turned).chance, Some(0.0));
}

#[test]
fn what_makes_no_study() {
    let values = |count: usize| vec![0.0; count];
    for shape in [[0, 3, 3], [3, 0, 3], [3, 3, 1]] {
        assert_eq!(Crossed::new(shape, values(shape.iter().product())), None);
    }
    assert_eq!(Crossed::new([2, 2, 2], values(7)), None);
    assert_eq!(Crossed::new([2, 1, 2], vec![0.0, 1.0, f64::NAN, 2.0]), None);
    assert_eq!(Crossed::new([usize::MAX, 2, 2], values(8)), None);
}

#[test]
fn what_is_said_does_not_depend_on_the_order_of_hands_or_trials() {
    let study = aiag();
    let mut swapped = Vec::new();
    for part in 0..10 {
        for hand in [2, 0, 1] {
            swapped.extend(study.cell(part, hand).iter().rev());
        }
    }
    let swapped = Crossed::new([10, 3, 3], swapped).unwrap();
    let (one, other) = (Anova::of(&study).components(), Anova::of(&swapped).components());
    near(one.gauge(), other.gauge(), 1e-12);
    near(AverageAndRange::of(&study).gauge(), AverageAndRange::of(&swapped).gauge(), 1e-12);
}

#[test]
fn hands_on_one_part_are_told_apart_by_themselves() {
    let study = Crossed::new([1, 2, 3], vec![1.0, 2.0, 3.0, 4.0, 5.0, 6.0]).unwrap();
    let found = Anova::of(&study);
    assert_eq!((found.part.squares, found.part.mean(), found.chance), (0.0, 0.0, None));
    // Means 2 and 5 about 3.5: 3·2·1.5² = 13.5; within 2 + 2 from 4 degrees.
    near(found.hand.squares, 13.5, 1e-12);
    let (f, chance) = Anova::held_against(found.hand, found.error()).unwrap();
    near(f, 13.5, 1e-12);
    // t = √13.5 = 3.674 with 4 degrees: 0.0213, both sides (a table of t, from memory).
    near(chance, 0.0213, 1e-4);
    let parts = found.components();
    near(parts.hand, 12.5 / 3.0, 1e-12);
    near(parts.part, 0.0, 0.0);
    assert_eq!(Anova::held_against(found.part, found.error()), None);
    let repeats = Repeatability::of(&found);
    assert_eq!((repeats.s, repeats.freedom), (1.0, 4.0));
    near(repeats.unsure(), 0.3536, 5e-5);
    // χ² with 4 degrees, 5 %: 0.711 (a table, from memory).
    near(repeats.at_most(), 2.372, 1e-3);
}
