//! Floats as whole numbers of a step: the exact value is returned, and a value that has no such form is
//! refused.

use super::super::lattice::{Lattice, Step, lattice};
use super::super::number::{At, Number};
use super::*;

fn x_of<T: Number>(at: &[At<T>]) -> Vec<f64> {
    at.iter().map(|at| at.x.near()).collect()
}

/// The whole numbers along x of some values, in 128 or in 512 bits, and their step.
fn along(values: &[f64]) -> Option<(Vec<f64>, bool, Step)> {
    let flat = vec![0.0; values.len()];
    let (points, steps) = lattice([values, &flat, &flat])?;
    Some(match points {
        Lattice::Narrow(at) => (x_of(&at), false, steps[0]),
        Lattice::Wide(at) => (x_of(&at), true, steps[0]),
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(500))]

    #[test]
    fn decimals_are_counted_in_the_last_place_that_any_of_them_has(
        counts in prop::collection::vec(-2_000_000_000_i64..2_000_000_000, 1..12), places in 0_usize..12,
    ) {
        let scale = 10_i64.pow(u32::try_from(places).unwrap());
        // The float of each decimal, as a file gives it.
        let text = |count: &i64| format!("{count}e-{places}").parse::<f64>().unwrap();
        let values: Vec<f64> = counts.iter().map(text).collect();
        let (whole, _, step) = along(&values).unwrap();
        let Step::Decimal(found) = step else { panic!("{step:?} of {values:?}") };
        prop_assert!(found <= places);
        // The fewest places that hold all of them.
        let least = (0..=places).find(|k| {
            let rest = scale / 10_i64.pow(u32::try_from(*k).unwrap());
            counts.iter().all(|count| count % rest == 0)
        });
        prop_assert_eq!(Some(found), least);
        let unit = scale / 10_i64.pow(u32::try_from(found).unwrap());
        for (whole, count) in whole.iter().zip(&counts) {
            prop_assert_eq!(whole.to_bits(), float(i128::from((count - counts[0]) / unit)).to_bits());
        }
    }

    #[test]
    fn other_floats_are_counted_exactly_in_a_power_of_two(
        parts in prop::collection::vec((-(1_i64 << 50)..1 << 50, -20_i32..20), 1..8),
    ) {
        // Odd thirds make sure that no decimal is meant.
        let values: Vec<f64> = parts.iter().map(|(count, power)| {
            float(i128::from(*count)) / 3.0 * f64::from(*power).exp2()
        }).collect();
        let Some((whole, _, step)) = along(&values) else { return Ok(()) };
        for (whole, value) in whole.iter().zip(&values) {
            let apart = value - values[0];
            // The difference of two floats is rounded once; that of the whole numbers when it is told.
            let told = step.times(*whole);
            let size = value.abs().max(values[0].abs());
            prop_assert!((told - apart).abs() <= f64::EPSILON * size, "{told} {apart}");
        }
    }
}

#[test]
fn spreads_decide_how_many_bits_are_taken() {
    let kind = |values: &[f64]| along(values).map(|(_, wide, _)| wide);
    let bits = |power: i32| 2_f64.powi(power);
    assert_eq!(kind(&[0.0, bits(32) - 1.0]), Some(false));
    assert_eq!(kind(&[0.0, bits(32)]), Some(true));
    // It is the spread that counts, not how far away the points lie.
    assert_eq!(kind(&[1e15, 1e15 + 1.0]), Some(false));
    assert_eq!(kind(&[-bits(31), bits(31) - 1.0]), Some(false));
    assert_eq!(kind(&[-bits(31), bits(31)]), Some(true));
    // Heights may spread over 58 bits.
    let heights = |high: f64| {
        let flat = [0.0; 3];
        matches!(lattice([&flat, &flat, &[0.0, 1.0, high]]), Some((Lattice::Narrow(_), _)))
    };
    assert!(heights(bits(58) - 32.0) && !heights(bits(58)));
    // Further than 96 bits nothing is proved.
    assert_eq!(kind(&[0.0, bits(-20) / 3.0, bits(10)]), Some(true));
    assert_eq!(kind(&[0.0, bits(-20) / 3.0, bits(60)]), None);
    assert_eq!(kind(&[f64::NAN]), None);
    assert_eq!(kind(&[0.0, f64::INFINITY]), None);
}

#[test]
fn a_step_is_what_one_of_it_is() {
    for (step, count, length) in [
        (Step::Decimal(0), 7.0, 7.0),
        (Step::Decimal(3), 7.0, 0.007),
        (Step::Decimal(15), 1.0, 1e-15),
        (Step::Binary(0), 7.0, 7.0),
        (Step::Binary(-3), 7.0, 0.875),
        (Step::Binary(5), -3.0, -96.0),
        // Half of it alone would still be a number; all of it at once is below the smallest.
        (Step::Binary(-1074), 1.0, 5e-324),
        (Step::Binary(-1100), 60_f64.exp2(), (-1040_f64).exp2()),
    ] {
        assert_eq!(step.times(count).to_bits(), length.to_bits(), "{step:?}");
    }
}

#[test]
fn an_answer_of_512_bits_is_the_one_of_128() {
    // The same shape twice: once so that 32 bits hold its places, once a thousand million times as large.
    let small = [
        (0.0, 0.0, 0.0),
        (40.0, 0.0, 3.0),
        (40.0, 30.0, -1.0),
        (0.0, 30.0, 2.0),
        (20.0, 15.0, 7.0),
    ];
    let zone = |scale: f64| {
        let column = |of: fn(&(f64, f64, f64)) -> f64, scale: f64| {
            small.iter().map(|point| of(point) * scale).collect::<Vec<f64>>()
        };
        let (x, y, z) = (column(|p| p.0, scale), column(|p| p.1, scale), column(|p| p.2, 1.0));
        crate::exact_zone_of_cloud(&crate::Cloud::new(&x, &y, &z).unwrap()).unwrap()
    };
    let (narrow, wide) = (zone(1.0), zone(1e9));
    assert_eq!((narrow.method, wide.method), (crate::Method::Exact128, crate::Method::Exact512));
    assert!((narrow.width - wide.width).abs() < 1e-9, "{narrow:?} {wide:?}");
    assert_eq!((narrow.upper, narrow.lower), (wide.upper, wide.lower));
    assert!((narrow.weights_squared - wide.weights_squared).abs() < 1e-9);
}
