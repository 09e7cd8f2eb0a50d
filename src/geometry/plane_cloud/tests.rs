use super::*;

fn near(value: f64, expected: f64, within: f64) {
    assert!((value - expected).abs() <= within, "{value} is not {expected}");
}

#[test]
fn a_plane_comes_back_whatever_the_offset() {
    for offset in [0.0, 1e3, 1e6, 1e8] {
        let place = |k: u32| {
            let angle = f64::from(k) * 0.37;
            (offset + (40.0 * angle.cos()).round(), offset + (40.0 * angle.sin()).round())
        };
        let (x, y): (Vec<f64>, Vec<f64>) = (0..100).map(place).unzip();
        let z: Vec<f64> = x.iter().zip(&y).map(|(x, y)| 2.0 * x - 0.5 * y + 7.0).collect();
        let cloud = Cloud::new(&x, &y, &z).unwrap();
        let plane = least_squares_of_cloud(&cloud).unwrap();
        assert_eq!(plane.fit, Fit::OnePass);
        near(plane.slopes.x, 2.0, 1e-15);
        near(plane.slopes.y, -0.5, 1e-15);
        near(plane.intercept, 7.0, 1e-15 * (1.0 + offset));
        near(plane.width(&cloud), 0.0, 1e-15 * (100.0 + offset));
    }
}

#[test]
fn a_plane_of_many_points_far_from_the_origin_comes_back_in_one_pass() {
    // More than are summed with what is rounded off, on a square of 200 by 200.
    let offset = 1e7;
    let place = |k: u32| (offset + f64::from(k / 200), offset + f64::from(k % 200));
    let (x, y): (Vec<f64>, Vec<f64>) = (0..40_000).map(place).unzip();
    let z: Vec<f64> = x.iter().zip(&y).map(|(x, y)| 2.0 * x - 0.5 * y + 7.0).collect();
    let cloud = Cloud::new(&x, &y, &z).unwrap();
    assert!(cloud.len() > CAREFUL);
    let plane = least_squares_of_cloud(&cloud).unwrap();
    assert_eq!(plane.fit, Fit::OnePass);
    near(plane.slopes.x, 2.0, 1e-13);
    near(plane.slopes.y, -0.5, 1e-13);
    near(plane.width(&cloud), 0.0, 1e-7);
}

#[test]
fn a_thin_strip_keeps_its_digits() {
    // A strip along the diagonal, 2⁻²³ wide: whole numbers, so the slopes are exact.
    let thin = 2_f64.powi(-23);
    let (x, y): (Vec<f64>, Vec<f64>) =
        (0..50_u32).map(|k| (f64::from(k), f64::from(k) + thin * f64::from(k % 3))).unzip();
    let z: Vec<f64> = x.iter().zip(&y).map(|(x, y)| 3.0 * x - 2.0 * y).collect();
    let plane = least_squares_of_cloud(&Cloud::new(&x, &y, &z).unwrap()).unwrap();
    assert_eq!(plane.fit, Fit::Orthogonal);
    near(plane.slopes.x, 3.0, 1e-15);
    near(plane.slopes.y, -2.0, 1e-15);
}

#[test]
fn positions_that_carry_no_plane_are_named() {
    let refused =
        |x: &[f64], y: &[f64]| least_squares_of_cloud(&Cloud::new(x, y, x).unwrap()).unwrap_err();
    assert_eq!(refused(&[], &[]), CloudError::Positions(Rank::OnePlace));
    assert_eq!(refused(&[2.0, 2.0], &[0.1, 0.1]), CloudError::Positions(Rank::OnePlace));
    // Tenths are on a line as decimals, though their floats are not.
    let tenths = [0.1, 0.2, 0.3, 0.7];
    assert_eq!(refused(&tenths, &[0.3, 0.6, 0.9, 2.1]), CloudError::Positions(Rank::Line));
    assert_eq!(refused(&tenths, &[0.0, f64::NAN, 1.0, 2.0]), CloudError::NotFinite(1));
    assert_eq!(refused(&[f64::INFINITY, 1.0], &[0.0, 0.0]), CloudError::NotFinite(0));
    assert_eq!(Cloud::new(&[1.0], &[], &[1.0]).unwrap_err(), CloudError::Lengths);
}
