//! Figures that others published; those of an independent program say so.

use super::super::*;
use super::near;

fn set(name: &str) -> Vec<(f64, f64)> {
    let rows = include_str!("../../../../fixtures/published/circles.csv").lines();
    let cells = rows.map(|row| row.split(',').collect::<Vec<_>>());
    cells
        .filter(|cells| cells.first() == Some(&name) && cells.len() == 3)
        .map(|cells| (cells[1].parse().unwrap(), cells[2].parse().unwrap()))
        .collect()
}

fn squares(circle: &Circle, points: &[(f64, f64)]) -> f64 {
    circle.residuals(points).iter().map(|rest| rest * rest).sum()
}

fn is(circle: &Circle, expected: [f64; 3], within: f64) {
    let found = [circle.x, circle.y, circle.radius];
    for (value, expected) in found.iter().zip(expected) {
        near(*value, expected, within);
    }
}

#[test]
fn six_points_of_1994() {
    // Gander, Golub, Strebel, BIT 34 (1994), as quoted by N. Chernov.
    let points = set("gander");
    assert_eq!(points.len(), 6);
    let circle = least_squares_circle(&points).unwrap();
    is(&circle, [4.739_782, 2.983_533, 4.714_226], 5.1e-7);
    near((squares(&circle, &points) / 6.0).sqrt(), 0.452_327_1, 5.1e-8);
    // More digits by Newton's method in 40 digits, an independent program.
    is(&circle, [4.739_782_410_906_074, 2.983_532_699_292_475, 4.714_226_037_792_11], 1e-13);
    near(squares(&circle, &points), 1.227_599_078_183_656, 1e-14);
}

#[test]
fn the_algebraic_circle_is_not_the_one_in_circulation() {
    // Widely copied as the algebraic answer: (4.921166, 3.835123) r 4.123176. That is the output of
    // a coding slip, a cross term halved twice. The true one, by an independent program:
    let points = set("gander");
    let circle = algebraic_circle(&points).unwrap();
    is(&circle, [4.742_331_288, 3.835_122_699, 4.108_761_522], 6e-10);
    near((squares(&circle, &points) / 6.0).sqrt(), 0.482_750_582_2, 6e-11);
    assert!((circle.x - 4.921_166).abs() > 0.17);
}

#[test]
fn six_points_round_and_on_an_arc() {
    // SciPy Cookbook, "Least squares circle": centre, radius and sum of squares as printed there.
    let full = set("full");
    let circle = least_squares_circle(&full).unwrap();
    is(&circle, [10.500_09, 9.659_95, 23.333_53], 5.1e-6);
    near(squares(&circle, &full), 7.711_852, 5.1e-7);
    let algebraic = algebraic_circle(&full).unwrap();
    near(algebraic.x, 10.552_31, 5.1e-6);
    near(algebraic.y, 9.705_90, 5.1e-6);

    let arc = set("arc");
    let circle = least_squares_circle(&arc).unwrap();
    // Three solvers printed 9.88757 to 9.88760, 3.68750 to 3.68753 and 27.35040 to 27.35044; more
    // digits by Newton's method in 40 digits, an independent program.
    is(&circle, [9.887_566_567_477, 3.687_497_309_784, 27.350_443_168_134], 1e-11);
    near(squares(&circle, &arc), 4.042_522, 5.1e-7);
    let algebraic = algebraic_circle(&arc).unwrap();
    near(algebraic.x, 15.055_03, 5.1e-6);
    near(algebraic.y, 8.836_15, 5.1e-6);
    // The same centre with the mean distance for a radius, as the source has it.
    let mean = algebraic.residuals(&arc).iter().sum::<f64>() / 6.0 + algebraic.radius;
    near(mean, 20.829_95, 5.1e-6);
    assert!((circle.radius - mean) > 6.0, "least squares and algebraic are different circles");
}

#[test]
fn the_survey_circle_is_the_algebraic_one() {
    // Land-survey COGO manual, 2007, "Best Fit Circle", sample report.
    let points = set("survey");
    let algebraic = algebraic_circle(&points).unwrap();
    is(&algebraic, [5_242.678, 5_073.785, 10.977], 5.1e-4);
    let residuals = algebraic.residuals(&points);
    for (rest, printed) in residuals.iter().zip([0.126, 0.045, -0.131, 0.217, -0.264]) {
        near(*rest, printed, 1e-3);
    }
    near((squares(&algebraic, &points) / 5.0).sqrt(), 0.174, 6e-4);
    // By an independent program; 5 mm from what is printed under "least squares".
    let circle = least_squares_circle(&points).unwrap();
    is(&circle, [5_242.678_66, 5_073.789_83, 10.976_28], 6e-6);
    assert!(squares(&circle, &points) < squares(&algebraic, &points));
}

#[test]
fn minimum_zones_of_the_same_points() {
    // No published value. By an independent program that tries all sets of contacts.
    let expected = [
        ("gander", 1.353_615_1, (4.772_727, 0.409_091)),
        ("full", 2.924_591_8, (10.253_633, 9.274_769)),
        ("arc", 2.211_807_3, (-0.415_254, -7.364_407)),
    ];
    for (name, width, centre) in expected {
        let points = set(name);
        let zone = minimum_zone_circle(&points).unwrap();
        near(zone.width, width, 6e-7);
        near(zone.x, centre.0, 6e-7);
        near(zone.y, centre.1, 6e-7);
        assert!(zone.width < least_squares_circle(&points).unwrap().width(&points));
    }
    // About the least-squares centre, by the same program.
    let [full, arc] = ["full", "arc"].map(set);
    near(least_squares_circle(&full).unwrap().width(&full), 3.126_464_9, 6e-8);
    near(least_squares_circle(&arc).unwrap().width(&arc), 2.527_735_0, 6e-8);
}
