//! Least-squares planes: against normal equations in whole numbers, and by moving one height after
//! the other.

use super::*;

/// Places and heights of a bench: tenths of a millimetre over 80 mm, heights over 20 um.
fn touches() -> impl Strategy<Value = Vec<(i64, i64, i64)>> {
    let place = (-400_i64..400, -400_i64..400, -20_000_i64..20_000);
    prop::collection::vec(place, 4..24)
}

fn points(all: &[(i64, i64, i64)]) -> Vec<Point> {
    all.iter().map(|&(x, y, z)| point(x * 100_000, y * 100_000, z * 1_000)).collect()
}

/// The plane by its normal equations, in whole numbers by Cramer's rule: `[intercept, x, y]` as
/// fractions with one denominator.
fn by_cramer(all: &[(i64, i64, i64)]) -> Option<([i128; 3], i128)> {
    let sum = |of: fn(i128, i128, i128) -> i128| -> i128 {
        all.iter().map(|&(x, y, z)| of(x.into(), y.into(), z.into())).sum()
    };
    let n = i128::try_from(all.len()).unwrap();
    let (x, y, z) = (sum(|x, _, _| x), sum(|_, y, _| y), sum(|_, _, z| z));
    let (xx, xy, yy) = (sum(|x, _, _| x * x), sum(|x, y, _| x * y), sum(|_, y, _| y * y));
    let (xz, yz) = (sum(|x, _, z| x * z), sum(|_, y, z| y * z));
    let det = |a: [i128; 3], b: [i128; 3], c: [i128; 3]| {
        a[0] * (b[1] * c[2] - b[2] * c[1]) - b[0] * (a[1] * c[2] - a[2] * c[1])
            + c[0] * (a[1] * b[2] - a[2] * b[1])
    };
    let (one, two, three, right) = ([n, x, y], [x, xx, xy], [y, xy, yy], [z, xz, yz]);
    let whole = det(one, two, three);
    let parts = [det(right, two, three), det(one, right, three), det(one, two, right)];
    (whole != 0).then_some((parts, whole))
}

/// A fraction as a float: the whole part first, so that nothing is lost.
fn ratio(top: i128, bottom: i128) -> f64 {
    let rest = float(top % bottom) / float(bottom);
    float(top / bottom) + rest
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(500))]

    #[test]
    fn planes_are_those_of_the_normal_equations_in_whole_numbers(all in touches()) {
        let Some((parts, whole)) = by_cramer(&all) else {
            prop_assert!(least_squares(&points(&all)).is_err());
            return Ok(());
        };
        // Picometres per nanometre: heights came in thousands, places in hundreds of thousands.
        let [intercept, along, across] = parts.map(|part| ratio(part, whole));
        let fit = least_squares(&points(&all)).unwrap();
        let size = along.abs() + across.abs();
        prop_assert!((fit.slopes.x - along / 100.0).abs() <= 1e-12 * size);
        prop_assert!((fit.slopes.y - across / 100.0).abs() <= 1e-12 * size);
        prop_assert!((fit.intercept - intercept * 1_000.0).abs() <= 1e-6);
        // The same as columns of floats, in one pass or square to each other.
        let column = |of: fn(&(i64, i64, i64)) -> i64| -> Vec<f64> {
            all.iter().map(|place| float(of(place).into())).collect()
        };
        let (x, y, z) = (column(|p| p.0), column(|p| p.1), column(|p| p.2));
        let cloud = Cloud::new(&x, &y, &z).unwrap();
        let plane = least_squares_of_cloud(&cloud).unwrap();
        prop_assert!((plane.slopes.x - along).abs() <= 1e-13 * size, "{:?}", plane.fit);
        prop_assert!((plane.slopes.y - across).abs() <= 1e-13 * size);
        prop_assert!((plane.intercept - intercept).abs() <= 1e-13 * (intercept.abs() + 400.0 * size));
        prop_assert!((plane.width(&cloud) * 1_000.0 - fit.width()).abs() <= 1e-6 * (1.0 + fit.width()));
        let count = float(i128::try_from(all.len()).unwrap());
        let mean = |values: &[f64]| values.iter().sum::<f64>() / count;
        for (found, column) in [(plane.centre[0], &x), (plane.centre[1], &y), (plane.level, &z)] {
            prop_assert!((found - mean(column)).abs() <= 1e-11 * (1.0 + found.abs()));
        }
    }

    /// One height raised by one: each residual changes by what it has of itself less the leverage.
    #[test]
    fn leverages_are_what_a_height_does_to_the_plane(all in touches(), row in 0_usize..24) {
        let before = points(&all);
        let Ok(fit) = least_squares(&before) else { return Ok(()) };
        let row = row % before.len();
        let mut raised = before.clone();
        raised[row].height += 1_000_000_000;
        let after = least_squares(&raised).unwrap();
        for other in 0..before.len() {
            let moved = (after.residuals[other] - fit.residuals[other]) / 1e9;
            let own = if other == row { 1.0 } else { 0.0 };
            prop_assert!((moved - (own - fit.leverage(other, row))).abs() < 1e-9);
            prop_assert!((fit.leverage(other, row) - fit.leverage(row, other)).abs() < 1e-12);
        }
        prop_assert!((0.0..=1.0 + 1e-9).contains(&fit.leverage(row, row)));
        let sum: f64 = (0..before.len()).map(|i| fit.leverage(i, i)).sum();
        prop_assert!((sum - 3.0).abs() < 1e-9, "as many as there are coefficients");
    }

    /// The variance of highest less lowest residual is the sum of squares of what each height does to
    /// that difference.
    #[test]
    fn the_variance_of_the_extremes_is_that_of_all_heights_together(all in touches()) {
        let before = points(&all);
        let Ok(fit) = least_squares(&before) else { return Ok(()) };
        let ends = |of: fn(f64, f64) -> bool| {
            let rests = fit.residuals.iter().enumerate();
            rests.fold(0, |best, (row, rest)| if of(*rest, fit.residuals[best]) { row } else { best })
        };
        let (high, low) = (ends(|one, best| one > best), ends(|one, best| one < best));
        let tied = |end: usize| fit.residuals.iter().filter(|rest| (**rest - fit.residuals[end]).abs() < 2.0).count();
        prop_assume!(high != low && tied(high) == 1 && tied(low) == 1);
        let squares: f64 = (0..before.len()).map(|row| {
            let of = |end: usize| f64::from(u8::from(end == row)) - fit.leverage(end, row);
            (of(high) - of(low)).powi(2)
        }).sum();
        prop_assert!((fit.extremes_variance() - squares).abs() < 1e-9, "{squares}");
        prop_assert!(fit.extremes_variance() <= 2.0 + 1e-12, "never more than two heights by themselves");
    }

    #[test]
    fn a_face_that_is_shifted_tilted_turned_or_scaled_leaves_the_same_residuals(
        all in touches(), by in (-900_i64..900, -900_i64..900, -90_000_i64..90_000),
        slope in (-40_i64..40, -40_i64..40), factor in 2_i64..9,
    ) {
        let Ok(fit) = least_squares(&points(&all)) else { return Ok(()) };
        let same = |of: &dyn Fn(i64, i64, i64) -> (i64, i64, i64), scale: f64| {
            let other: Vec<_> = all.iter().map(|&(x, y, z)| of(x, y, z)).collect();
            let other = least_squares(&points(&other)).unwrap();
            let close = |(one, two): (&f64, &f64)| (one * scale - two).abs() < 1e-4 * scale.max(1.0);
            (fit.residuals.iter().zip(&other.residuals).all(close), other)
        };
        let (alike, _) = same(&|x, y, z| (x + by.0, y + by.1, z + by.2), 1.0);
        prop_assert!(alike, "shifted");
        let (alike, tilted) = same(&|x, y, z| (x, y, z + slope.0 * x + slope.1 * y), 1.0);
        prop_assert!(alike, "tilted");
        // A slope of one thousandth of the unit of heights over a tenth of a millimetre.
        let added = (tilted.slopes.x - fit.slopes.x) * 100.0;
        prop_assert!((added - float(slope.0.into())).abs() < 1e-6, "{added}");
        let (alike, turned) = same(&|x, y, z| (-y, x, z), 1.0);
        prop_assert!(alike, "a quarter round");
        let lean = fit.slopes.x.hypot(fit.slopes.y);
        prop_assert!((turned.slopes.x + fit.slopes.y).abs() <= 1e-9 * lean);
        if lean > 1e-6 {
            prop_assert!(apart(turned.high_side_deg(), fit.high_side_deg() + 90.0, 360.0) < 1e-6);
        }
        let (alike, mirrored) = same(&|x, y, z| (y, x, z), 1.0);
        prop_assert!(alike && (mirrored.slopes.x - fit.slopes.y).abs() <= 1e-9 * lean, "mirrored");
        let (alike, _) = same(&|x, y, z| (x, y, z * factor), float(factor.into()));
        prop_assert!(alike, "scaled");
        prop_assert!(fit.residuals.iter().sum::<f64>().abs() < 1e-3);
    }
}

#[test]
fn the_high_side_and_the_rise_are_those_of_the_slope() {
    let lean = |x: f64, y: f64| Slopes { x, y };
    for (slopes, high) in [
        (lean(1.0, 0.0), 0.0),
        (lean(0.0, 2.0), 90.0),
        (lean(-3.0, 0.0), 180.0),
        (lean(0.0, -1.0), 270.0),
        (lean(1.0, 1.0), 45.0),
        (lean(1.0, -1e-20), 0.0),
        (lean(0.0, 0.0), 0.0),
    ] {
        near(slopes.high_side_deg(), high, 1e-12);
    }
    // 3-4-5: over a diameter of 20 mm a slope of 5 pm/nm rises by 100 um.
    near(lean(3.0, -4.0).tilt_over(20e6), 1e8, 1e-6);
    near(lean(3.0, -4.0).rise(Grid { x_nm: 1_000, y_nm: 500 }), 1_000.0, 1e-12);
    near(lean(3.0, -4.0).rise(Grid { x_nm: -1_000, y_nm: 500 }), -5_000.0, 1e-12);
}

#[test]
fn tied_extremes_count_with_the_largest_variance() {
    // A ring of eight: high at 0 and 45, low at 180. 2 − 4/N + (4/N) cos of the angle between.
    let radius = Length::parse("38.1", quantity::Unit::Millimetre).unwrap();
    let ring = |heights: [i64; 8]| -> PlaneFit {
        let place = |k: u32| Grid::on_circle(radius, quantity::position_angle_deg(k, 8));
        let all: Vec<Point> = (0..8)
            .zip(heights)
            .map(|(k, height)| Point { at: place(k), height: height * 1_000_000 })
            .collect();
        least_squares(&all).unwrap()
    };
    let between = |degrees: f64| 1.5 + 0.5 * degrees.to_radians().cos();
    // By hand: waves of order 2, 3 and 4 leave no plane behind.
    let saddle = ring([3, 0, -3, 0, 3, 0, -3, 0]);
    near(saddle.extremes_variance(), between(90.0), 1e-6);
    // Steps of order 4: crests beside and opposite valleys, from 45 to 135 degrees apart.
    let steps = ring([1, -1, 1, -1, 1, -1, 1, -1]);
    near(steps.extremes_variance(), between(45.0), 1e-6);
    near(steps.width(), 2_000_000.0, 1.0);
    let flat = ring([5; 8]);
    assert!(flat.width() < 1.0 && flat.extremes_variance() <= 2.0);
}

/// Whole places and heights of a formula, so many that they are summed block by block.
fn many(length: usize) -> [Vec<f64>; 3] {
    let column = |of: fn(u64) -> u64| -> Vec<f64> {
        (0..u64::try_from(length).unwrap()).map(|k| float(i128::from(of(k)))).collect()
    };
    [column(|k| k * 7 % 1_009), column(|k| k * k % 997), column(|k| k * 31 % 101)]
}

#[test]
fn sums_in_blocks_and_lanes_leave_no_point_out() {
    // Lengths that end in a block and in a lane of any fill; above 32 768 the sums are not careful.
    for length in [9, 127, 128, 129, 1_000, 32_767, 32_768, 32_769, 33_000, 40_003] {
        let columns = many(length);
        let [x, y, z] = &columns;
        #[expect(clippy::cast_possible_truncation, reason = "small whole numbers")]
        let whole = |value: f64| value as i64;
        let all: Vec<(i64, i64, i64)> =
            x.iter().zip(y).zip(z).map(|((x, y), z)| (whole(*x), whole(*y), whole(*z))).collect();
        let (parts, denominator) = by_cramer(&all).unwrap();
        let [intercept, along, across] = parts.map(|part| ratio(part, denominator));
        let cloud = Cloud::new(x, y, z).unwrap();
        let plane = least_squares_of_cloud(&cloud).unwrap();
        near(plane.slopes.x, along, 1e-13);
        near(plane.slopes.y, across, 1e-13);
        near(plane.intercept, intercept, 1e-10);
        assert_eq!(plane.fit, Fit::OnePass, "{length}");
        let rest = |(x, y, z): &(i64, i64, i64)| {
            float((*z).into())
                - intercept
                - along * float((*x).into())
                - across * float((*y).into())
        };
        let (low, high) = all
            .iter()
            .map(rest)
            .fold((f64::MAX, f64::MIN), |(low, high), rest| (low.min(rest), high.max(rest)));
        near(plane.width(&cloud), high - low, 1e-10);
    }
}
