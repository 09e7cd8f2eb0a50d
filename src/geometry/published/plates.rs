//! A surface plate from its readings to its zone, and solids and fits as clouds of floats.

use super::*;
use crate::{Cloud, Method, exact_zone_of_cloud, least_squares_of_cloud, minimum_zone_of_cloud};

/// Readings of a line of the Union Jack, seconds of arc, four inches apart. J. C. Moody, "How to
/// calibrate surface plates in the plant", The Tool Engineer, October 1955, as transcribed by B. Allen
/// (2019); two are corrected from the print: the ninth of `NE_NW` (18.3), the nineteenth of `NE_SW` (4.2).
const READINGS: [(&str, &[f64]); 8] = [
    (
        "NW_SE",
        &[
            6.5, 6.0, 5.0, 5.2, 5.5, 5.6, 5.5, 5.0, 5.5, 4.8, 5.0, 5.2, 5.3, 4.9, 4.6, 4.2, 5.3,
            4.9, 4.5, 3.5,
        ],
    ),
    (
        "NE_SW",
        &[
            6.6, 5.4, 5.4, 5.2, 5.5, 5.7, 5.0, 5.0, 5.4, 4.5, 4.4, 4.5, 4.5, 4.8, 4.2, 4.2, 4.2,
            4.8, 4.3, 3.2,
        ],
    ),
    (
        "NE_NW",
        &[
            20.5, 19.7, 20.5, 20.3, 20.2, 19.9, 19.0, 19.5, 18.8, 18.6, 18.7, 18.6, 18.4, 18.5,
            19.0, 17.9,
        ],
    ),
    ("NE_SE", &[3.5, 2.1, 2.5, 2.8, 3.4, 3.2, 3.5, 4.0, 4.2, 3.5]),
    ("NW_SW", &[6.0, 4.6, 4.5, 4.7, 5.0, 4.5, 5.9, 6.0, 6.0, 4.9]),
    (
        "SE_SW",
        &[
            16.4, 15.0, 15.6, 15.5, 15.1, 15.3, 15.1, 14.6, 14.0, 13.5, 13.5, 13.3, 13.3, 13.4,
            14.0, 13.9,
        ],
    ),
    ("N_S", &[6.6, 6.4, 6.3, 6.5, 6.6, 6.9, 7.5, 7.4, 7.1, 7.0]),
    (
        "E_W",
        &[
            11.7, 12.4, 12.1, 12.5, 12.0, 11.5, 11.5, 11.3, 11.3, 10.3, 10.8, 10.3, 10.0, 10.7,
            10.4, 10.4,
        ],
    ),
];

/// The heights of a line from its readings, its two ends put at these heights.
fn laid(line: &str, ends: [f64; 2]) -> Vec<f64> {
    let (_, readings) = READINGS.into_iter().find(|(name, _)| *name == line).unwrap();
    let mut sum = 0.0;
    let mut stations = vec![(0.0, 0.0)];
    for (at, reading) in (1_u32..).zip(readings) {
        sum += reading - readings[0];
        stations.push((f64::from(at), sum));
    }
    let off = end_points_line(&stations).unwrap().residuals;
    let last = stations.last().unwrap().0;
    let line = |at: f64| ends[0] + (ends[1] - ends[0]) * at / last;
    stations.iter().zip(off).map(|((at, _), off)| off + line(*at)).collect()
}

fn middle(line: &[f64]) -> f64 {
    line[line.len() / 2]
}

/// All lines in seconds of arc of one foot, above the plane of the diagonals, and by how much the
/// centre lines missed the centre.
fn union_jack() -> (Vec<(&'static str, Vec<f64>)>, [f64; 2]) {
    let centred = |line: &str| {
        let heights = laid(line, [0.0; 2]);
        let centre = middle(&heights);
        heights.iter().map(|height| height - centre).collect::<Vec<f64>>()
    };
    let (one, two) = (centred("NW_SE"), centred("NE_SW"));
    let corner = |name: &str| match name {
        "NW" => one[0],
        "SE" => one[20],
        "NE" => two[0],
        _ => two[20],
    };
    let side = |line: &'static str| {
        let (from, to) = line.split_once('_').unwrap();
        (line, laid(line, [corner(from), corner(to)]))
    };
    let sides = ["NE_NW", "NE_SE", "NW_SW", "SE_SW"].map(side);
    let [north, east, west, south] = sides.each_ref().map(|(_, heights)| middle(heights));
    let mut lines = vec![("NW_SE", one), ("NE_SW", two)];
    let missed = [("N_S", [north, south]), ("E_W", [east, west])].map(|(line, ends)| {
        let heights = laid(line, ends);
        let off = middle(&heights);
        lines.push((line, heights.iter().map(|height| height - off).collect()));
        off
    });
    lines.extend(sides);
    (lines, missed)
}

/// One second of arc over four inches, in units of ten microinch.
fn unit() -> f64 {
    4.0 * (1.0_f64 / 3600.0).to_radians() * 1e5
}

/// Line, place and height of each station as published.
fn stations() -> Vec<(String, [f64; 3])> {
    let text = include_str!("../../../fixtures/published/moody-1955-heights.csv");
    let data = text.lines().filter(|line| !line.starts_with('#')).skip(1);
    let row = |line: &str| {
        let (name, numbers) = line.split_once(',').unwrap();
        let numbers: Vec<f64> = numbers.split(',').map(|cell| cell.parse().unwrap()).collect();
        (name.to_owned(), numbers.try_into().unwrap())
    };
    data.map(row).collect()
}

#[test]
fn readings_of_1955_become_the_published_heights() {
    near(unit() * 10.0, 19.3925, 5e-5);
    let (lines, missed) = union_jack();
    // Closure of the centre lines at the centre, microinch: N-S 0.0, E-W −13.57; the method allows 100.
    near(missed[0] * unit() * 10.0, 0.0, 0.05);
    near(missed[1] * unit() * 10.0, -13.57, 0.005);
    let lowest = lines.iter().flat_map(|line| &line.1).copied().fold(f64::INFINITY, f64::min);
    let mut compared = 0;
    for (name, heights) in &lines {
        let published = stations().into_iter().filter(|(line, _)| line == name);
        for (height, (_, [_, _, published])) in heights.iter().zip(published) {
            near((height - lowest) * unit(), published, 2e-5);
            compared += 1;
        }
    }
    assert_eq!(compared, 126);
}

#[test]
fn the_plate_of_1955_has_its_zone_as_floats_too() {
    let columns =
        [0, 1, 2].map(|at| stations().iter().map(|(_, row)| row[at]).collect::<Vec<f64>>());
    let [x, y, z] = &columns;
    let cloud = Cloud::new(x, y, z).unwrap();
    // Microinch: 163.673 by an independent program; the base plane shows 178.41, least squares 175.37.
    for zone in [minimum_zone_of_cloud(&cloud).unwrap(), exact_zone_of_cloud(&cloud).unwrap()] {
        near(zone.width * 10.0, 163.673, 0.0005);
        assert!(zone.certified);
        // Two stations above and two below, crosswise.
        assert_eq!(zone.weights.len(), 4, "{zone:?}");
        assert!(zone.weights.iter().all(|(_, weight)| (weight.abs() - 0.5).abs() < 1e-12));
    }
    near(least_squares_of_cloud(&cloud).unwrap().width(&cloud) * 10.0, 175.37, 0.005);
    near(crate::total_reading(z) * 10.0, 178.41, 0.005);
}

/// Points as three columns.
fn columns(points: &[(f64, f64, f64)]) -> [Vec<f64>; 3] {
    let column = |of: fn(&(f64, f64, f64)) -> f64| points.iter().map(of).collect();
    [column(|p| p.0), column(|p| p.1), column(|p| p.2)]
}

/// The zone of points and its slopes, both ways; the exact one tells how it was obtained.
fn zones(points: &[(f64, f64, f64)]) -> [crate::CloudZone; 2] {
    let [x, y, z] = columns(points);
    let cloud = Cloud::new(&x, &y, &z).unwrap();
    let zones = [minimum_zone_of_cloud(&cloud).unwrap(), exact_zone_of_cloud(&cloud).unwrap()];
    assert_ne!(zones[1].method, Method::Floats);
    zones
}

#[test]
fn a_minimax_fit_is_the_zone_of_its_functions() {
    // NAG Library Manual, E02GCF example (data Mark 30.2, results Mark 30.1): y = a1 eᵗ + a2 e⁻ᵗ + a3,
    // a = 1.0049, 2.0149, 1.4822, the largest residual 1.03e-3. More digits by an independent program.
    let set = [(0.0, 4.501), (0.2, 4.360), (0.4, 4.333), (0.6, 4.418), (0.8, 4.625)];
    let points = set.map(|(t, y): (f64, f64)| (t.exp(), (-t).exp(), y));
    for zone in zones(&points) {
        near(zone.slopes.x, 1.0049, 5e-5);
        near(zone.slopes.y, 2.0149, 5e-5);
        near(zone.slopes.x, 1.004_860_36, 5e-9);
        near(zone.slopes.y, 2.014_933_60, 5e-9);
        near(zone.width / 2.0, 1.034_037e-3, 5e-10);
        // The constant is half way between the planes.
        let rest = points.map(|(x, y, z)| z - zone.slopes.x * x - zone.slopes.y * y);
        let high = rest.iter().copied().fold(f64::MIN, f64::max);
        near(high - zone.width / 2.0, 1.4822, 5e-5);
        near(high - zone.width / 2.0, 1.482_240_08, 5e-9);
        // Four of the five touch, by turns.
        assert_eq!(zone.upper.len() + zone.lower.len(), 4);
    }
}

#[test]
fn solids_with_a_known_width_keep_it_as_floats() {
    // Sources as of the exact ones: octahedron of squared width 4/3 (Hermann-SW/cgal4gp), cube 2 and
    // simplex 2/3 (CGAL/cgal, values by hand). The zone is upright; square to it, its cosine times that.
    let octahedron = [
        (1.0, 0.0, 0.0),
        (2.0, -1.0, 0.0),
        (2.0, 0.0, -1.0),
        (3.0, 0.0, 0.0),
        (2.0, 1.0, 0.0),
        (2.0, 0.0, 1.0),
    ];
    let cube = [-1.0, 1.0].map(|x| [-1.0, 1.0].map(|y| [(x, y, 2.0), (x, y, 4.0)]));
    let simplex = [(2.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0), (0.0, 0.0, 0.0)];
    for (points, upright) in
        [(&octahedron[..], 2.0), (cube.as_flattened().as_flattened(), 2.0), (&simplex, 1.0)]
    {
        for zone in zones(points) {
            near(zone.width, upright, 1e-14);
            assert!(zone.within < 1e-12);
        }
        // Larger, smaller and turned upside down it is the same solid.
        for factor in [-1.0, 1e-3, 1e6] {
            let scaled: Vec<_> =
                points.iter().map(|p| (p.0 * 7.0, p.1 * 7.0, p.2 * factor)).collect();
            near(zones(&scaled)[0].width / f64::abs(factor), upright, 1e-12);
        }
    }
}

#[test]
fn constructed_faces_keep_zone_and_least_squares_as_floats() {
    // Not external: made so that the zone can be seen by hand. Least squares by an independent program.
    let triangle = [
        (0.0, 0.0, 0.0),
        (60.0, 0.0, 0.0),
        (30.0, 50.0, 0.0),
        (30.0, 20.0, 8.0),
        (10.0, 10.0, 3.0),
        (45.0, 5.0, 2.0),
        (30.0, 35.0, 5.0),
        (20.0, 25.0, 4.0),
        (40.0, 20.0, 6.0),
    ];
    let leaning = triangle.map(|(x, y, z)| (x, y, z + 2.0 * x - 3.0 * y));
    let cross = [
        (0.0, 0.0, 0.0),
        (60.0, 40.0, 0.0),
        (0.0, 40.0, 7.0),
        (60.0, 0.0, 7.0),
        (30.0, 20.0, 3.0),
        (15.0, 10.0, 2.0),
        (45.0, 30.0, 1.0),
        (15.0, 30.0, 5.0),
        (45.0, 10.0, 4.0),
    ];
    for (points, zone, squares) in
        [(triangle, 8.0, 9.0925), (leaning, 8.0, 9.0925), (cross, 7.0, 7.4)]
    {
        for found in zones(&points) {
            near(found.width, zone, 1e-12);
        }
        let [x, y, z] = columns(&points);
        let cloud = Cloud::new(&x, &y, &z).unwrap();
        near(least_squares_of_cloud(&cloud).unwrap().width(&cloud), squares, 5.1e-5);
    }
    // A ring of eight with 3 cos 2t: both are 6.
    let ring: Vec<(f64, f64, f64)> = (0..8)
        .map(|k| 45.0 * f64::from(k))
        .map(|deg: f64| {
            (
                50.0 * deg.to_radians().cos(),
                50.0 * deg.to_radians().sin(),
                3.0 * (2.0 * deg).to_radians().cos(),
            )
        })
        .collect();
    let [x, y, z] = columns(&ring);
    let cloud = Cloud::new(&x, &y, &z).unwrap();
    near(minimum_zone_of_cloud(&cloud).unwrap().width, 6.0, 1e-12);
    near(least_squares_of_cloud(&cloud).unwrap().width(&cloud), 6.0, 1e-12);
}

#[test]
fn points_asked_on_a_forum_have_their_widths_as_floats() {
    // eng-tips.com thread 393584: no answer was published. By independent programs, upright: zone
    // 0.0672623, least squares 0.0720973.
    let points = [
        (11.5, 7.0, 1.1),
        (18.5, 6.9, 1.03),
        (4.5, 13.0, 1.02),
        (25.5, 30.0, 1.03),
        (11.5, 37.5, 1.02),
    ];
    for zone in zones(&points) {
        near(zone.width, 0.067_262_295_08, 1e-10);
    }
    let [x, y, z] = columns(&points);
    let cloud = Cloud::new(&x, &y, &z).unwrap();
    near(least_squares_of_cloud(&cloud).unwrap().width(&cloud), 0.072_097_3, 5e-8);
}

#[test]
fn a_load_cell_is_a_plane_over_load_and_its_square() {
    // NIST Statistical Reference Datasets, Pontius: y = B0 + B1 x + B2 x². Certified values from memory,
    // confirmed by an independent program to 1e-9.
    let rows = rows(include_str!("../../../fixtures/published/nist-pontius.csv"), 0);
    assert_eq!(rows.len(), 40);
    let points: Vec<(f64, f64, f64)> =
        rows.iter().map(|row| (row[1], row[1] * row[1], row[0])).collect();
    let [x, y, z] = columns(&points);
    let plane = least_squares_of_cloud(&Cloud::new(&x, &y, &z).unwrap()).unwrap();
    let relative = |value: f64, certified: f64| near(value / certified, 1.0, 1e-9);
    relative(plane.intercept, 0.673_565_789_473_684e-3);
    relative(plane.slopes.x, 0.732_059_160_401_003e-6);
    relative(plane.slopes.y, -0.316_081_871_345_029e-14);
    let rest =
        |(x, y, z): &(f64, f64, f64)| z - plane.intercept - plane.slopes.x * x - plane.slopes.y * y;
    let squares: f64 = points.iter().map(|point| rest(point).powi(2)).sum();
    near((squares / 37.0).sqrt(), 0.205_177_424_076_185e-3, 1e-9);
}
