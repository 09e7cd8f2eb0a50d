//! Least squares over any columns.

use super::*;
use crate::columns::Columns;

/// Factors of the powers 0 to 5 of x that fit y(x) for x = 0 to 20.
fn wampler(y: impl Fn(i32) -> f64) -> Vec<f64> {
    let at = || 0..=20_i32;
    let power = |k: u32| at().map(|x| f64::from(x.pow(k))).collect();
    let fit = Columns::new((0..=5).map(power).collect()).unwrap();
    let values: Vec<f64> = at().map(y).collect();
    let (factors, rest) = fit.fit(&values);
    assert!(rest.iter().all(|rest| rest.abs() < 1e-6), "{rest:?}");
    factors
}

#[test]
fn polynomials_of_degree_five_come_back() {
    // NIST Statistical Reference Datasets, Wampler1 and Wampler2, of higher difficulty: y is the
    // polynomial itself at x = 0 to 20, all certified factors are 1, and 10^-k (from memory).
    let whole = wampler(|x| (0..=5).map(|k| f64::from(x.pow(k))).sum());
    for factor in whole {
        near(factor, 1.0, 1e-8);
    }
    let falling = wampler(|x| (0..=5_i32).map(|k| (f64::from(x) / 10.0).powi(k)).sum());
    for (factor, k) in falling.iter().zip(0_i32..) {
        near(factor * 10_f64.powi(k), 1.0, 1e-8);
    }
}

proptest! {
    #[test]
    fn what_is_left_is_square_to_every_column_and_factors_come_back(
        rows in prop::collection::vec((-5.0..5.0_f64, -5.0..5.0_f64, -5.0..5.0_f64), 6..30),
        made in (-9.0..9.0_f64, -9.0..9.0_f64, -9.0..9.0_f64),
    ) {
        let columns = vec![
            vec![1.0; rows.len()],
            rows.iter().map(|row| row.0).collect::<Vec<f64>>(),
            rows.iter().map(|row| row.1).collect(),
        ];
        let Some(fit) = Columns::new(columns.clone()) else { return Ok(()) };
        let values: Vec<f64> = rows.iter().map(|row| row.2).collect();
        let (factors, rest) = fit.fit(&values);
        for column in &columns {
            prop_assert!(dot(column, &rest).abs() < 1e-10 * count(rows.len()));
        }
        let told = |row: usize| factors.iter().zip(&columns).map(|(factor, column)| factor * column[row]).sum::<f64>();
        prop_assert!((0..rows.len()).all(|row| (values[row] - told(row) - rest[row]).abs() < 1e-9));
        // Nothing is left of what is left; what was made of the columns leaves nothing.
        let (none, same) = fit.fit(&rest);
        prop_assert!(none.iter().all(|factor| factor.abs() < 1e-9));
        prop_assert!(same.iter().zip(&rest).all(|(one, two)| (one - two).abs() < 1e-10));
        let exact: Vec<f64> = rows.iter().map(|row| made.0 + made.1 * row.0 + made.2 * row.1).collect();
        let (back, rest) = fit.fit(&exact);
        prop_assert!(rest.iter().all(|rest| rest.abs() < 1e-9));
        for (found, made) in back.iter().zip([made.0, made.1, made.2]) {
            prop_assert!((found - made).abs() < 1e-6, "{found} {made}");
        }
    }

    /// Variances of factors by what each value does to them.
    #[test]
    fn covariances_are_sums_over_all_values(rows in prop::collection::vec((-5.0..5.0_f64, -5.0..5.0_f64), 5..20)) {
        let columns = vec![
            vec![1.0; rows.len()],
            rows.iter().map(|row| row.0).collect::<Vec<f64>>(),
            rows.iter().map(|row| row.1).collect(),
        ];
        let Some(fit) = Columns::new(columns) else { return Ok(()) };
        let by: Vec<Vec<f64>> = (0..rows.len()).map(|row| {
            let mut unit = vec![0.0; rows.len()];
            unit[row] = 1.0;
            fit.fit(&unit).0
        }).collect();
        for one in 0..3 {
            for other in 0..3 {
                let sum: f64 = by.iter().map(|of| of[one] * of[other]).sum();
                let told = fit.covariance(one, other);
                prop_assert!((told - sum).abs() <= 1e-9 * (1.0 + sum.abs()), "{told} {sum}");
            }
        }
        let leverages: f64 = (0..rows.len()).map(|row| fit.leverage(row)).sum();
        prop_assert!((leverages - 3.0).abs() < 1e-9);
    }
}
