//! Places as a file holds them, in floats of one unit: placing them on circles, whether they lie on
//! one line, and how many of them differ.

use quantity::sine_cosine;

/// Places on circles: each at its own angle, in degrees counter-clockwise, so that equal steps stay
/// equal. The results `x` and `y` have the unit of the radii.
#[must_use]
pub fn on_circles(angles_deg: &[f64], radii: &[f64]) -> (Vec<f64>, Vec<f64>) {
    let places = angles_deg.iter().zip(radii).map(|(angle, radius)| {
        let (sine, cosine) = sine_cosine(*angle);
        (radius * cosine, radius * sine)
    });
    places.unzip()
}

/// Whether all places are at most `within` (in their unit) from the line through the first of them
/// and the one farthest from it. True where there is no place, one place, or the same place repeated.
#[must_use]
pub fn lie_on_a_line(x: &[f64], y: &[f64], within: f64) -> bool {
    let (Some(&x0), Some(&y0)) = (x.first(), y.first()) else { return true };
    let away = || x.iter().zip(y).map(|(x, y)| (x - x0, y - y0));
    let farthest = away().max_by(|a, b| a.0.hypot(a.1).total_cmp(&b.0.hypot(b.1)));
    let (dx, dy) = farthest.unwrap_or_default();
    let length = dx.hypot(dy);
    // The cross product is the distance from the line times the length of the step.
    length <= 0.0 || away().all(|(x, y)| (x * dy - y * dx).abs() <= within * length)
}

/// Whether more than three places differ. A plane or a circle goes through any three, so only a
/// fourth place can show that a form is not perfect.
#[must_use]
pub fn more_than_three_places(x: &[f64], y: &[f64]) -> bool {
    let mut places: Vec<(f64, f64)> = Vec::with_capacity(3);
    x.iter().zip(y).any(|(&x, &y)| {
        let known = places.iter().any(|place| (place.0 - x).abs() + (place.1 - y).abs() <= 0.0);
        if known {
            return false;
        }
        places.push((x, y));
        places.len() > 3
    })
}

/// How many of the stations `(x, z)` differ in `x`.
#[must_use]
pub fn different_stations(stations: &[(f64, f64)]) -> usize {
    let mut places: Vec<f64> = stations.iter().map(|(x, _)| *x).collect();
    places.sort_by(f64::total_cmp);
    places.dedup_by(|one, other| *one <= *other);
    places.len()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn quarters_of_a_circle_are_exact() {
        let (x, y) = on_circles(&[0.0, 90.0, -180.0, 630.0], &[2.0, 3.0, 4.0, 5.0]);
        let plain = |all: Vec<f64>| all.into_iter().map(|one| one + 0.0).collect::<Vec<_>>();
        assert_eq!((plain(x), plain(y)), (vec![2.0, 0.0, -4.0, 0.0], vec![0.0, 3.0, 0.0, -5.0]));
        // 3-4-5: atan(4/3) is 53.130 102 354 156 degrees (handbooks of mathematics).
        let (x, y) = on_circles(&[53.130_102_354_156], &[5.0]);
        assert!((x[0] - 3.0).abs() < 1e-12 && (y[0] - 4.0).abs() < 1e-12, "{x:?} {y:?}");
    }

    #[test]
    fn a_line_is_told_to_the_width_that_is_given() {
        let (x, y) = ([0.0, 30.0, 10.0], [0.0, 40.0, 13.0]);
        // From (10, 13) to the line 4x = 3y it is |40 − 39| / 5.
        assert!(lie_on_a_line(&x, &y, 0.2) && !lie_on_a_line(&x, &y, 0.199));
        assert!(lie_on_a_line(&[], &[], 0.0) && lie_on_a_line(&[7.0; 4], &[1.0; 4], 0.0));
    }

    #[test]
    fn a_place_that_comes_twice_counts_once() {
        let (x, y) = ([0.0, 1.0, 0.0, -0.0, 1.0], [0.0, 0.0, 1.0, 0.0, 0.0]);
        assert!(!more_than_three_places(&x, &y));
        assert!(more_than_three_places(&[&x[..], &[1.0]].concat(), &[&y[..], &[1.0]].concat()));
        assert_eq!(different_stations(&[(2.0, 1.0), (0.0, 5.0), (2.0, 3.0), (-0.0, 4.0)]), 2);
        assert_eq!(different_stations(&[]), 0);
    }
}
