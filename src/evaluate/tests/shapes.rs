//! Changes that must not change a figure: the units, the order of rows, the position of the part.

use proptest::prelude::*;

use super::*;

/// Places in whole tenths of a millimetre, heights in whole thousandths of a micrometre.
fn face() -> impl Strategy<Value = Vec<(i32, i32, i32)>> {
    prop::collection::vec((-900..900, -900..900, -20_000..20_000), 4..20)
}

/// A whole number of these parts as a decimal.
fn decimal(count: i32, places: usize) -> String {
    let digits = format!("{:0width$}", count.unsigned_abs(), width = places + 1);
    let (whole, fraction) = digits.split_at(digits.len() - places);
    format!("{}{whole}.{fraction}", if count < 0 { "-" } else { "" })
}

fn written(header: &str, rows: impl IntoIterator<Item = String>) -> String {
    std::iter::once(header.to_owned()).chain(rows).collect::<Vec<_>>().join("\n")
}

fn figures(measures: Characteristic, file: &str) -> Option<Figures> {
    evaluated(measures, file, None).ok().map(|found| found.figures)
}

/// Within the thousandths of a picometre that floats are told to.
fn close(one: Figure, other: Figure) -> bool {
    (one - other).abs() <= Figure::new(3, 1000)
}

proptest! {
    #[test]
    fn a_face_is_the_same_in_every_unit_and_order_and_wherever_it_lies(
        rows in face(), by in (-5_000..5_000, -5_000..5_000, -90_000..90_000), turn in 0_usize..20,
    ) {
        let file = |header: &str, row: &dyn Fn(i32, i32, i32) -> String| {
            written(header, rows.iter().map(|&(x, y, z)| row(x, y, z)))
        };
        let plain = file("x_mm,y_mm,z_um", &|x, y, z| format!("{},{},{}", decimal(x, 1), decimal(y, 1), decimal(z, 3)));
        for measures in [Characteristic::Flatness, Characteristic::Parallelism] {
            let Some(expected) = figures(measures, &plain) else { continue };
            let others = [
                // The same numbers in other units, other columns first, more zeros behind.
                file("x_um,y_um,z_mm", &|x, y, z| format!("{}00,{}00,{}", x, y, decimal(z, 6))),
                file("z_um,y_mm,x_mm", &|x, y, z| format!("{}00,{},{}", decimal(z, 3), decimal(y, 1), decimal(x, 1))),
                file("x_mm,y_mm,z_um", &|x, y, z| {
                    format!("{},{},{}", decimal(x + by.0, 1), decimal(y + by.1, 1), decimal(z + by.2, 3))
                }),
                // A quarter round the part.
                file("x_mm,y_mm,z_um", &|x, y, z| format!("{},{},{}", decimal(-y, 1), decimal(x, 1), decimal(z, 3))),
            ];
            let range = expected.beside.max_minus_min;
            for other in &others {
                let found = figures(measures, other).unwrap();
                prop_assert!(close(found.value, expected.value), "{measures:?} {other}");
                prop_assert_eq!(found.beside.max_minus_min, range, "as written");
                let widths = [&found, &expected].map(|f| f.beside.least_squares.as_ref().unwrap().width);
                prop_assert!(close(widths[0], widths[1]));
                let slopes = [&found, &expected].map(|f| f.beside.slope_urad.unwrap());
                prop_assert!((slopes[0] - slopes[1]).abs() < 1e-6 * (1.0 + slopes[1]));
            }
            let mut lines: Vec<&str> = plain.lines().skip(1).collect();
            let middle = turn % lines.len();
            lines.rotate_left(middle);
            let other = figures(measures, &written("x_mm,y_mm,z_um", lines.iter().map(|line| (*line).to_owned())));
            prop_assert!(close(other.unwrap().value, expected.value), "in another order");
        }
        // The zone is no wider than least squares, and that no wider than highest minus lowest may be.
        if let Some(flat) = figures(Characteristic::Flatness, &plain) {
            let squares = flat.beside.least_squares.unwrap().width;
            prop_assert!(flat.value <= squares + Figure::new(1, 1));
            prop_assert!(flat.value <= flat.beside.max_minus_min.unwrap());
            prop_assert_eq!(Some(flat.value), flat.beside.zone.map(|zone| zone.width));
        }
    }

    #[test]
    fn a_turn_is_the_same_wherever_its_angles_are_counted_from(
        off in prop::collection::vec(-2_000..2_000_i32, 7..30), turn in 0_u32..360, base in 0..3_usize,
    ) {
        let count = u32::try_from(off.len()).unwrap();
        let angle = |row: u32| 360.0 * f64::from(row) / f64::from(count);
        // Deviations, radii of 20 mm, and heights of a face at one radius.
        let (header, more) = [("angle_deg,r_um", 0), ("angle_deg,r_um", 20_000_000), ("angle_deg,radius_mm,z_um", 0)][base];
        let file = |from: u32| written(header, (0..count).zip(&off).map(|(row, off)| {
            let at = angle(row) + f64::from(from);
            let radius = if base == 2 { "40," } else { "" };
            format!("{at},{radius}{}", decimal(off + more, 3))
        }));
        let (one, other) = (file(0), file(turn));
        let [one, other] = [one, other].map(|file| figures(Characteristic::Runout, &file).unwrap());
        prop_assert_eq!(one.value, other.value);
        let waves = one.beside.waves.iter().zip(&other.beside.waves);
        for (before, after) in waves {
            prop_assert!((before.amplitude - after.amplitude).abs() <= Figure::new(1, 10));
            let moved = (f64::from(turn) + before.high_deg - after.high_deg) * f64::from(u32::try_from(before.order).unwrap());
            let apart = (moved + 180.0).rem_euclid(360.0) - 180.0;
            prop_assert!(before.amplitude < Figure::new(1_000, 1) || apart.abs() < 1e-3, "{apart}");
        }
        prop_assert_eq!(one.beside.eccentricity, one.beside.waves.first().map(|wave| wave.amplitude));
        if base < 2 {
            let [one, other] = [file(0), file(turn)].map(|file| figures(Characteristic::Roundness, &file).unwrap());
            let taken = if base == 0 { TakenAs::Deviations } else { TakenAs::Radii };
            prop_assert_eq!((one.beside.taken_as, other.beside.taken_as), (Some(taken), Some(taken)));
            // Points of 20 mm carry less than a thousandth of a nanometre in floats.
            prop_assert!((one.value - other.value).abs() <= Figure::new(1, 1), "{:?} {:?}", one.value, other.value);
            prop_assert!(one.value <= one.beside.max_minus_min.unwrap() + Figure::new(1, 1));
        }
    }

    #[test]
    fn a_range_is_that_of_the_decimals_as_they_were_written(
        heights in prop::collection::vec((-900_000_000..900_000_000_i32, 0_usize..9, 0_usize..3), 3..20),
    ) {
        // Each with its own number of places and zeros behind; nine places in whole numbers.
        let exact = |&(count, places, _): &(i32, usize, usize)| {
            i128::from(count) * 10_i128.pow(u32::try_from(9 - places).unwrap())
        };
        let least = heights.iter().map(exact).min().unwrap();
        let most = heights.iter().map(exact).max().unwrap();
        let rows = (0..).zip(&heights).map(|(row, (count, places, zeros))| {
            let text = if *places == 0 { format!("{count}") } else { decimal(*count, *places) + &"0".repeat(*zeros) };
            format!("{},{text}", 90 * row)
        });
        let file = written("x_mm,z_mm", rows);
        let expected = Figure::new(most - least, 1);
        let found = figures(Characteristic::Straightness, &file).unwrap();
        prop_assert_eq!(found.beside.max_minus_min, Some(expected), "{}", file);
    }
}

#[test]
fn every_header_that_is_offered_is_taken_and_no_other() {
    let all =
        ["x_mm,y_mm,z_um", "angle_deg,radius_mm,z_um", "angle_deg,r_um", "x_mm,y_mm", "x_mm,z_um"];
    let rows = |header: &str| {
        let row = |k: u32| {
            let (x, y) = ([10, 0, -10, 0, 7][k as usize], [0, 10, 0, -10, 7][k as usize]);
            let cell = |column: &str| match column {
                "x_mm" => x.to_string(),
                "y_mm" => y.to_string(),
                "angle_deg" => (72 * k).to_string(),
                "radius_mm" => "10".to_owned(),
                _ => (k * k % 3).to_string(),
            };
            header.split(',').map(cell).collect::<Vec<_>>().join(",")
        };
        written(header, (0..5).map(row))
    };
    for measures in Characteristic::ALL {
        let taken: Vec<&str> = measures.headers().split(" or ").collect();
        for header in all {
            let found = evaluated(measures, &rows(header), None);
            assert_eq!(found.is_ok(), taken.contains(&header), "{measures:?} {header}: {found:?}");
        }
        // Help tells the same columns, each set of them or in words.
        let about = measures.about();
        assert!(about.len() > 20 && about.contains(": "), "{about}");
        let more = format!("{},r_um", taken[0]).replace("r_um,r_um", "r_um,z_um");
        assert!(evaluated(measures, &rows(&more), None).is_err(), "a column too many: {more}");
        assert_eq!(Characteristic::parse(measures.text()), Some(measures));
    }
}

#[test]
fn few_points_deserve_a_word() {
    let line = |count: u32| written("x_mm,z_um", (0..count).map(|k| format!("{k},{}", k % 2)));
    let face =
        |count: u32| written("x_mm,y_mm,z_um", (0..count).map(|k| format!("{k},{},0", k * k)));
    let turn = |count: u32| {
        written("angle_deg,r_um", (0..count).map(|k| format!("{},0", 360 * k / count)))
    };
    let few = |measures, file: &str| evaluation_of(measures, file).has_few_points();
    assert_eq!(
        [few(Characteristic::Straightness, &line(3)), few(Characteristic::Straightness, &line(4))],
        [true, false]
    );
    assert_eq!(
        [few(Characteristic::Taper, &line(2)), few(Characteristic::Taper, &line(3))],
        [true, false]
    );
    for measures in [Characteristic::Flatness, Characteristic::Parallelism] {
        assert_eq!([few(measures, &face(6)), few(measures, &face(7))], [true, false]);
    }
    for measures in [Characteristic::Runout, Characteristic::Roundness] {
        assert_eq!([few(measures, &turn(6)), few(measures, &turn(7))], [true, false]);
    }
}

#[test]
fn coefficients_come_in_the_unit_that_is_wanted_or_that_of_the_heights() {
    let file = "x_mm,z_um\n0,1\n10,3\n20,5\n";
    let told = |unit| {
        let points = Points::read(file.as_bytes(), |_, _| ()).unwrap();
        let wanted = Wanted { measures: Characteristic::Straightness, unit, limit: None };
        let found = evaluate(points, wanted).unwrap();
        (found.unit, found.figures.beside.least_squares.unwrap().coefficients)
    };
    assert_eq!(told(None).0, Unit::Micrometre);
    let (unit, fit) = told(Some(Unit::Inch));
    assert_eq!(unit, Unit::Inch);
    // 1 um and 0.2 um per millimetre.
    assert!(
        (fit[0] - 1.0 / 25_400.0).abs() < 1e-18 && (fit[1] - 0.2 / 25_400.0).abs() < 1e-18,
        "{fit:?}"
    );
    let (_, fit) = told(None);
    assert!((fit[0] - 1.0).abs() < 1e-12 && (fit[1] - 0.2).abs() < 1e-12, "{fit:?}");
}

#[test]
fn numbers_are_radii_where_they_differ_by_less_than_a_twentieth() {
    let taken = |radii: [&str; 8]| {
        let rows = (0..).zip(radii).map(|(k, r)| format!("{},{r}", 45 * k));
        evaluation_of(Characteristic::Roundness, &written("angle_deg,r_um", rows))
            .figures
            .beside
            .taken_as
            .unwrap()
    };
    let one = |odd: &'static str| ["100", odd, "100", "100", "100", "100", "100", "100"];
    assert_eq!(taken(one("104.9")), TakenAs::Radii);
    assert_eq!(taken(one("105")), TakenAs::Deviations);
    assert_eq!(taken(one("-100")), TakenAs::Deviations);
    assert_eq!(taken(["0"; 8]), TakenAs::Deviations);
}

#[test]
fn radii_round_a_turn_have_the_figures_of_their_points() {
    // Three lobes and a dent on 12 mm, off centre; the same as points.
    let turn: Vec<(f64, f64)> = (0..24)
        .map(|k| 15.0 * f64::from(k))
        .map(|deg| {
            let t = f64::to_radians(deg);
            (
                deg,
                12_000.0 + 4.0 * (3.0 * t).cos() + 2.0 * t.sin()
                    - if deg > 350.0 { 1.5 } else { 0.0 },
            )
        })
        .collect();
    let radii = written("angle_deg,r_um", turn.iter().map(|(deg, r)| format!("{deg},{r:.9}")));
    let (angles, far): (Vec<f64>, Vec<f64>) = turn.iter().copied().unzip();
    let (x, y) = geometry::on_circles(&angles, &far);
    let places = written("x_um,y_um", x.iter().zip(&y).map(|(x, y)| format!("{x:.9},{y:.9}")));
    let [of_radii, of_places] =
        [&radii, &places].map(|file| evaluation_of(Characteristic::Roundness, file).figures);
    // A nanometre in a thousand: what nine decimals leave.
    let near = |one: Figure, other: Figure| (one - other).abs() < Figure::new(10, 1);
    assert!(near(of_radii.value, of_places.value) && of_radii.proves && of_places.proves);
    let [zone, other] = [&of_radii, &of_places].map(|figures| figures.beside.zone.clone().unwrap());
    assert_eq!((zone.upper, zone.lower, zone.width), (other.upper, other.lower, of_radii.value));
    let [fit, other] =
        [&of_radii, &of_places].map(|figures| figures.beside.least_squares.clone().unwrap());
    assert!(near(fit.width, other.width));
    assert!(
        fit.coefficients
            .iter()
            .zip(&other.coefficients)
            .all(|(one, other)| (one - other).abs() < 1e-4)
    );
    let all = |figures: &Figures| {
        let circles = figures.beside.circles.unwrap();
        [circles.least_squares, circles.minimum_zone, circles.circumscribed, circles.inscribed]
            .map(Option::unwrap)
    };
    for (one, other) in all(&of_radii).into_iter().zip(all(&of_places)) {
        assert!(near(one.x, other.x) && near(one.y, other.y) && near(one.radius, other.radius));
    }
    // What a turn has besides: its waves; points have none.
    let beside = of_radii.beside;
    assert_eq!((beside.rank, beside.taken_as), (3, Some(TakenAs::Radii)));
    assert!((thousandth(beside.eccentricity.unwrap()) - 2.0).abs() < 0.2 && beside.waves.len() > 7);
    assert!(of_places.beside.waves.is_empty() && of_places.beside.taken_as.is_none());
    // The same as deviations: the zone is the value, with the rows that touch.
    let off =
        written("angle_deg,r_um", turn.iter().map(|(deg, r)| format!("{deg},{:.9}", r - 12_000.0)));
    let off = evaluation_of(Characteristic::Roundness, &off).figures;
    let zone = off.beside.zone.clone().unwrap();
    assert_eq!((zone.width, zone.certified, off.beside.rank), (off.value, true, 3));
    assert_eq!(zone.upper.len() + zone.lower.len(), 4);
    assert!(
        (thousandth(off.value) - thousandth(of_radii.value)).abs() < 0.01,
        "small against the radius"
    );
    assert_eq!(off.beside.max_minus_min, beside.max_minus_min);
    assert!(off.beside.circles.is_none(), "nobody told how large it is");
}
