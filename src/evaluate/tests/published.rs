//! Published test sets, as files; each figure has its source.

use super::*;

/// A file of these columns.
fn file(header: &str, rows: &[Vec<String>]) -> String {
    let rows = rows.iter().map(|row| row.join(","));
    std::iter::once(header.to_owned()).chain(rows).collect::<Vec<_>>().join("\n")
}

/// A figure in micrometres.
fn in_um(figure: Figure) -> f64 {
    figure.to_f64() / 1e6
}

#[track_caller]
fn near(value: f64, expected: f64, within: f64) {
    assert!((value - expected).abs() <= within, "{value} is not {expected}");
}

#[track_caller]
fn all_near(values: &[f64], expected: &[f64], within: f64) {
    assert_eq!(values.len(), expected.len());
    for (value, expected) in values.iter().zip(expected) {
        near(*value, *expected, within);
    }
}

#[test]
fn two_axes_by_laser_as_a_file() {
    // User manual of a laser measurement system, October 1987, "Straightness and Squareness
    // Considerations", pp. 21-3 to 21-7: slopes in um/m as printed; widths by an independent program.
    let one = [-0.3, 0.9, 1.5, 2.5, 2.9, 3.6, 4.2, 5.1, 5.9, 7.2];
    let two = [-0.5, -1.2, -2.5, -3.8, -4.0, -4.8, -5.9, -6.2, -7.4, -8.8];
    for (pitch_mm, heights, slope, [ends, squares, zone]) in
        [(100, one, 7.65, [0.8667, 0.7036, 0.65]), (50, two, -17.42, [1.2889, 1.0836, 0.9333])]
    {
        let rows: Vec<Vec<String>> = (0..)
            .zip(heights)
            .map(|(k, z)| vec![(k * pitch_mm).to_string(), format!("{z}")])
            .collect();
        let Figures { value, beside, proves } =
            evaluation_of(Characteristic::Straightness, &file("x_mm,z_um", &rows)).figures;
        near(in_um(value), zone, 5.1e-5);
        near(in_um(beside.end_points.unwrap()), ends, 5.1e-5);
        let fit = beside.least_squares.unwrap();
        near(in_um(fit.width), squares, 5.1e-5);
        // A micrometre in a metre is a microradian.
        near(beside.slope_urad.unwrap(), slope, 0.005);
        near(fit.coefficients[1] * 1_000.0, slope, 0.005);
        let (high, low) = (
            heights.iter().copied().fold(f64::MIN, f64::max),
            heights.iter().copied().fold(f64::MAX, f64::min),
        );
        near(in_um(beside.max_minus_min.unwrap()), high - low, 1e-9);
        let zone = beside.zone.unwrap();
        assert_eq!((zone.width, zone.certified, proves, beside.rank), (value, true, true, 2));
        assert_eq!(zone.upper.len() + zone.lower.len(), 3);
    }
}

#[test]
fn seven_stations_by_autocollimator_as_a_file() {
    // Lecture slides on straightness measurement, slides 12-15 (coursehero.com pgh1bs): 3 um by end
    // points; zone 3.0 and least squares 3.0357 by an independent program.
    let heights = ["0", "-1", "-0.5", "2", "0", "-1", "0"];
    let rows: Vec<Vec<String>> =
        (0..).zip(heights).map(|(k, z)| vec![(k * 100).to_string(), z.to_owned()]).collect();
    let Evaluation { figures, .. } =
        evaluation_of(Characteristic::Straightness, &file("x_mm,z_um", &rows));
    assert_eq!((figures.value, figures.beside.end_points), (um("3"), Some(um("3"))));
    near(in_um(figures.beside.least_squares.unwrap().width), 3.0357, 5e-5);
    let zone = figures.beside.zone.unwrap();
    assert_eq!((zone.upper, zone.lower), (vec![3], vec![1, 5]));
}

#[test]
fn the_surface_plate_of_1955_as_a_file() {
    // Heights of 126 stations, unit 10 microinch: J. C. Moody 1955, worked out by B. Allen 2019. Zone
    // 163.673, least squares 175.37 microinch by independent programs, 178.41 above the base plane.
    let text = include_str!("../../../fixtures/published/moody-1955-heights.csv");
    let data = text.lines().filter(|line| !line.starts_with('#')).skip(1);
    let row = |line: &str| {
        let cells: Vec<&str> = line.split(',').collect();
        // Ten microinch are 0.00001 in: the point goes five places to the left.
        vec![cells[1].to_owned(), cells[2].to_owned(), format!("{}e-5", cells[3])]
    };
    let rows: Vec<Vec<String>> = data.map(row).collect();
    let plate = file("x_in,y_in,z_in", &rows);
    let Evaluation { points, figures, .. } = evaluation_of(Characteristic::Flatness, &plate);
    let microinch = |figure: Figure| in_um(figure) / 0.0254;
    assert_eq!(points, 126);
    near(microinch(figures.value), 163.673, 0.0005);
    near(microinch(figures.beside.least_squares.unwrap().width), 175.37, 0.005);
    // Exactly as written: 17.841145 of ten microinch, 0.254 um each.
    let range = Figure::new(17_841_145 * 254, 1_000);
    assert_eq!(figures.beside.max_minus_min, Some(range));
    assert_eq!(value(Characteristic::Parallelism, &plate), range);
}

/// The points of a set of circles as a file.
fn circle(name: &str) -> String {
    let text = include_str!("../../../fixtures/published/circles.csv");
    let rows = text.lines().filter_map(|line| line.strip_prefix(name)?.strip_prefix(','));
    std::iter::once("x_um,y_um").chain(rows).collect::<Vec<_>>().join("\n")
}

#[test]
fn circles_of_others_as_files() {
    // Gander, Golub, Strebel 1994 as quoted by N. Chernov; SciPy Cookbook, "Least squares circle"; zones
    // by an independent program that tries all contact sets. One micrometre stands for their unit.
    for (name, fit, within, zone, centre) in [
        ("gander", [4.739_782, 2.983_533, 4.714_226], 5.1e-7, 1.353_615_1, [4.772_727, 0.409_091]),
        ("full", [10.500_09, 9.659_95, 23.333_53], 5.1e-6, 2.924_591_8, [10.253_633, 9.274_769]),
        (
            "arc",
            [9.887_566_6, 3.687_497_3, 27.350_443_2],
            5.1e-6,
            2.211_807_3,
            [-0.415_254, -7.364_407],
        ),
    ] {
        let Figures { value, beside, .. } =
            evaluation_of(Characteristic::Roundness, &circle(name)).figures;
        all_near(&beside.least_squares.unwrap().coefficients, &fit, within);
        near(in_um(value), zone, 5.1e-7);
        let circles = beside.circles.unwrap();
        let of_zone = circles.minimum_zone.unwrap();
        all_near(&[in_um(of_zone.x), in_um(of_zone.y)], &centre, 6e-7);
        let squares = circles.least_squares.unwrap();
        all_near(&[squares.x, squares.y, squares.radius].map(in_um), &fit, within);
        let widths = beside.widths.unwrap();
        assert_eq!(widths.minimum_zone, Some(value));
        for width in
            [widths.least_squares, widths.circumscribed, widths.inscribed].into_iter().flatten()
        {
            assert!(width >= value, "{name}: no centre gives less than the zone");
        }
    }
    // About the least-squares centre, by the same program.
    let widths =
        evaluation_of(Characteristic::Roundness, &circle("full")).figures.beside.widths.unwrap();
    near(in_um(widths.least_squares.unwrap()), 3.126_464_9, 6e-7);
}

#[test]
fn a_minimax_fit_as_a_face() {
    // NAG Library Manual, E02GCF example: y = a1 eᵗ + a2 e⁻ᵗ + a3, the largest residual 1.03e-3; more
    // digits by an independent program. Half of the zone over the two functions.
    let set = [(0.0, "4.501"), (0.2, "4.360"), (0.4, "4.333"), (0.6, "4.418"), (0.8, "4.625")];
    let rows: Vec<Vec<String>> = set
        .iter()
        .map(|(t, y): &(f64, &str)| {
            vec![format!("{:.17}", t.exp()), format!("{:.17}", (-t).exp()), (*y).to_owned()]
        })
        .collect();
    near(
        in_um(value(Characteristic::Flatness, &file("x_um,y_um,z_um", &rows))) / 2.0,
        1.034_037e-3,
        1e-9,
    );
}

#[test]
fn norris_as_a_line() {
    // NIST Statistical Reference Datasets, Norris, certified values; a micrometre for the unit of both.
    let text = include_str!("../../../fixtures/published/nist-norris.csv");
    let data = text.lines().filter(|line| !line.starts_with('#')).skip(1);
    let rows: Vec<Vec<String>> = data
        .filter_map(|line| line.split_once(','))
        .map(|(y, x)| vec![x.to_owned(), y.to_owned()])
        .collect();
    let beside =
        evaluation_of(Characteristic::Straightness, &file("x_um,z_um", &rows)).figures.beside;
    let fit = beside.least_squares.unwrap().coefficients;
    all_near(&fit, &[-0.262_323_073_774_029, 1.002_116_818_020_45], 1e-11);
    near(beside.slope_urad.unwrap(), 1_002_116.818_020_45, 1e-6);
}

#[test]
fn a_taper_of_iso_297_is_one_in_every_unit() {
    // 7/24 on the diameter, 8 degrees 17' 49.7" from the axis (ISO 297). No. 50: 69.85 mm (from memory).
    let rows = |of_mm: f64| -> Vec<Vec<String>> {
        [0.0, 12.0, 36.0, 96.0]
            .map(|z| {
                vec![format!("{}", z * of_mm), format!("{}", (69.85 - 7.0 * z / 24.0) * of_mm)]
            })
            .to_vec()
    };
    for (header, of_mm) in [("x_mm,z_mm", 1.0), ("x_um,z_um", 1_000.0), ("x_in,z_in", 1.0 / 25.4)] {
        let Figures { value, beside, proves } =
            evaluation_of(Characteristic::Taper, &file(header, &rows(of_mm))).figures;
        near(in_um(value), 28_000.0, 1e-6);
        near(beside.rate.unwrap(), -7.0 / 24.0, 1e-12);
        near(beside.half_angle_deg.unwrap(), -(8.0 + 17.0 / 60.0 + 49.72 / 3600.0), 2e-6);
        near(in_um(beside.max_minus_min.unwrap()), 28_000.0, 1e-6);
        let fit = beside.least_squares.unwrap();
        near(fit.coefficients[0], 69_850.0, 1e-6);
        assert!(in_um(fit.width) < 1e-6 && proves && beside.rank == 2);
    }
}
