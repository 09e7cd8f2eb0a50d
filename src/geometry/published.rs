//! Figures published by others, each with its source; sets without a published figure say so.

mod plates;

use super::{
    LineFit, Point, end_points_line, least_squares, least_squares_line, minimum_zone,
    minimum_zone_line,
};
use quantity::{Figure, Grid};

fn near(value: f64, expected: f64, within: f64) {
    assert!((value - expected).abs() <= within, "{value} is not {expected}");
}

/// The numbers of a CSV without comments and header, leaving out the first `skip` columns.
fn rows(text: &str, skip: usize) -> Vec<Vec<f64>> {
    let data = text.lines().filter(|line| !line.starts_with('#')).skip(1);
    data.map(|line| line.split(',').skip(skip).map(|cell| cell.parse().unwrap()).collect())
        .collect()
}

/// Points from x, y, z, each in millionths of its unit.
fn millionths(rows: &[Vec<f64>]) -> Vec<Point> {
    #[expect(
        clippy::cast_possible_truncation,
        reason = "the sets have six decimals and few digits"
    )]
    let whole = |value: f64| (value * 1e6).round() as i64;
    rows.iter()
        .map(|row| Point {
            at: Grid { x_nm: whole(row[0]), y_nm: whole(row[1]) },
            height: whole(row[2]),
        })
        .collect()
}

fn points(rows: &[(i64, i64, i64)]) -> Vec<Point> {
    rows.iter().map(|&(x_nm, y_nm, height)| Point { at: Grid { x_nm, y_nm }, height }).collect()
}

fn width(rows: &[(i64, i64, i64)]) -> Figure {
    minimum_zone(&points(rows)).unwrap().width
}

#[test]
fn the_surface_plate_of_1955() {
    let rows = rows(include_str!("../../fixtures/published/moody-1955-heights.csv"), 1);
    assert_eq!(rows.len(), 126);
    let points = millionths(&rows);
    // Published: the highest station of the base plane, 17.841145 units of 10 microinch.
    let heights = points.iter().map(|point| point.height);
    let range = heights.clone().max().unwrap() - heights.min().unwrap();
    assert_eq!(range, 17_841_145);
    // No published value for these two; two independent programs agree on them: 175.37 and
    // 163.673 microinch.
    let microinch = |units: f64| units / 1e5;
    near(microinch(least_squares(&points).unwrap().width()), 175.37, 0.005);
    near(microinch(minimum_zone(&points).unwrap().width.to_f64()), 163.673, 0.0005);
}

#[test]
fn steep_solids_have_their_known_width() {
    // Octahedron: squared width 4/3, published output of a program in exact arithmetic
    // (repository Hermann-SW/cgal4gp, README). Its faces lean so that cos = 1/√3.
    let octahedron = [(1, 0, 0), (2, -1, 0), (2, 0, -1), (3, 0, 0), (2, 1, 0), (2, 0, 1)];
    let vertical = width(&octahedron);
    assert_eq!(vertical, Figure::new(2, 1));
    near((vertical.to_f64() / 3_f64.sqrt()).powi(2), 4.0 / 3.0, 1e-12);
    // Cube and simplex of test_width_cube.cpp and test_width_simplex.cpp (repository CGAL/cgal);
    // values by hand. The simplex face x/2 + y + z = 1 leans by cos = 2/3, its width is 2/3.
    let cube = [-1, 1].map(|x| [-1, 1].map(|y| [(x, y, 2), (x, y, 4)]));
    assert_eq!(width(cube.as_flattened().as_flattened()), Figure::new(2, 1));
    assert_eq!(width(&[(2, 0, 0), (0, 1, 0), (0, 0, 1), (0, 0, 0)]), Figure::new(1, 1));
}

#[test]
fn five_points_asked_on_a_forum() {
    // eng-tips.com thread 393584: points published, no answer. Independent programs give 0.0672621
    // square to the planes (0.0672623 vertical) and 0.0720973 by least squares.
    let points = millionths(&[
        vec![11.5, 7.0, 1.1],
        vec![18.5, 6.9, 1.03],
        vec![4.5, 13.0, 1.02],
        vec![25.5, 30.0, 1.03],
        vec![11.5, 37.5, 1.02],
    ]);
    let zone = minimum_zone(&points).unwrap();
    let slopes = zone.slopes.unwrap();
    let cosine = (1.0 + slopes.x.powi(2) + slopes.y.powi(2)).sqrt().recip();
    near(zone.width.to_f64() / 1e6, 0.067_262_295_08, 1e-10);
    near(zone.width.to_f64() / 1e6 * cosine, 0.067_262_1, 5e-8);
    near(least_squares(&points).unwrap().width() / 1e6, 0.072_097_3, 5e-8);
}

#[test]
fn constructed_faces_have_the_width_they_were_made_with() {
    // Not external: made so that the zone can be seen by hand.
    let triangle = [
        (0, 0, 0),
        (60, 0, 0),
        (30, 50, 0),
        (30, 20, 8),
        (10, 10, 3),
        (45, 5, 2),
        (30, 35, 5),
        (20, 25, 4),
        (40, 20, 6),
    ];
    let leaning = triangle.map(|(x, y, z)| (x, y, z + 2 * x - 3 * y));
    for set in [triangle, leaning] {
        let zone = minimum_zone(&points(&set)).unwrap();
        assert_eq!(zone.width, Figure::new(8, 1));
        assert_eq!((zone.upper, zone.lower), (vec![3], vec![0, 1, 2]));
    }
    let cross = [
        (0, 0, 0),
        (60, 40, 0),
        (0, 40, 7),
        (60, 0, 7),
        (30, 20, 3),
        (15, 10, 2),
        (45, 30, 1),
        (15, 30, 5),
        (45, 10, 4),
    ];
    let zone = minimum_zone(&points(&cross)).unwrap();
    assert_eq!((zone.width, zone.upper, zone.lower), (Figure::new(7, 1), vec![2, 3], vec![0, 1]));
    let c = 35_355_339;
    let saddle = [
        (50_000_000, 0, 3),
        (c, c, 0),
        (0, 50_000_000, -3),
        (-c, c, 0),
        (-50_000_000, 0, 3),
        (-c, -c, 0),
        (0, -50_000_000, -3),
        (c, -c, 0),
    ];
    assert_eq!(width(&saddle), Figure::new(6, 1));
}

#[test]
fn norris_comes_out_to_the_certified_digits() {
    let rows = rows(include_str!("../../fixtures/published/nist-norris.csv"), 0);
    let points: Vec<(f64, f64)> = rows.iter().map(|row| (row[1], row[0])).collect();
    assert_eq!(points.len(), 36);
    let line = least_squares_line(&points).unwrap();
    near(line.intercept, -0.262_323_073_774_029, 1e-11);
    near(line.slope, 1.002_116_818_020_45, 1e-13);
    let squares: f64 = line.residuals.iter().map(|rest| rest * rest).sum();
    near((squares / 34.0).sqrt(), 0.884_796_396_144_373, 1e-12);
}

fn straightness(points: &[(f64, f64)]) -> [f64; 3] {
    [end_points_line, least_squares_line, minimum_zone_line]
        .map(|fit| fit(points).as_ref().map(LineFit::width).unwrap())
}

#[test]
fn a_line_of_seven_stations_by_autocollimator() {
    // Lecture slides on straightness measurement, slides 12-15 (author not shown; coursehero.com
    // pgh1bs): base 100 mm, 0.5 µm per second of arc. Seconds above two minutes, forward, backward.
    let forward = [8.0, 8.0, 11.0, 15.0, 8.0, 9.0, 14.0];
    let backward = [12.0, 12.0, 15.0, 19.0, 8.0, 11.0, 14.0];
    let means: Vec<f64> = forward.iter().zip(backward).map(|(f, b)| f64::midpoint(*f, b)).collect();
    let (mut height, mut stations) = (0.0, Vec::new());
    for (x, mean) in (0_u32..).map(f64::from).zip(&means) {
        height += (mean - means[0]) * 0.5;
        stations.push((x, height));
    }
    let ends = end_points_line(&stations).unwrap();
    for (rest, expected) in ends.residuals.iter().zip([0.0, -1.0, -0.5, 2.0, 0.0, -1.0, 0.0]) {
        near(*rest, expected, 1e-12);
    }
    // Published: 3 µm by end points. By an independent program: 3.0357 and 3.0.
    let [ends, squares, zone] = straightness(&stations);
    near(ends, 3.0, 1e-12);
    near(squares, 3.0357, 5e-5);
    near(zone, 3.0, 1e-12);
}

#[test]
fn two_axes_by_laser() {
    // User manual of a laser measurement system, October 1987, "Straightness and Squareness
    // Considerations", pp. 21-3 to 21-7. Slopes published in µm/m, widths by an independent program.
    let axis = |pitch: f64, heights: [f64; 10]| -> Vec<(f64, f64)> {
        (0_u32..).map(f64::from).zip(heights).map(|(k, height)| (k * pitch, height)).collect()
    };
    let one = axis(0.1, [-0.3, 0.9, 1.5, 2.5, 2.9, 3.6, 4.2, 5.1, 5.9, 7.2]);
    let two = axis(0.05, [-0.5, -1.2, -2.5, -3.8, -4.0, -4.8, -5.9, -6.2, -7.4, -8.8]);
    let expected = [
        (one, 8.33, 7.65, [0.8667, 0.7036, 0.65]),
        (two, -18.44, -17.42, [1.2889, 1.0836, 0.9333]),
    ];
    for (axis, ends, squares, widths) in expected {
        near(end_points_line(&axis).unwrap().slope, ends, 0.005);
        near(least_squares_line(&axis).unwrap().slope, squares, 0.005);
        for (width, expected) in straightness(&axis).iter().zip(widths) {
            near(*width, expected, 5.1e-5);
        }
    }
}
