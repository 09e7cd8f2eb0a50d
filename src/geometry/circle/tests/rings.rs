//! The minimum zone of rings whose contacts tie, against every centre two pairs of points can have.

use super::super::*;
use super::near;

#[path = "../../../../benches/zone/rings.rs"]
mod plain;
#[path = "../../../../benches/zone/sets.rs"]
#[expect(dead_code, reason = "the benchmark draws other sets from it, too")]
mod sets;

use plain::{KINDS, by_all_centres, set};

#[test]
fn lobes_ties_and_mirrors_hide_no_centre() {
    let mut dice = sets::Dice(3);
    for case in 0..20 * KINDS.len() {
        let points = set(case % KINDS.len(), &mut dice);
        let plain = by_all_centres(&points);
        let reach = points.iter().map(|point| point.0.hypot(point.1)).fold(0.0, f64::max);
        match minimum_zone_circle(&points) {
            Ok(zone) => {
                near(zone.width, plain.ring, 1e-11 * reach);
                assert!(zone.proved, "{points:?}");
                let about = Circle { x: zone.x, y: zone.y, radius: zone.inner_radius };
                near(about.width(&points), zone.width, 1e-11 * reach + 1e-15 * about.radius);
            }
            Err(CircleError::NoRing | CircleError::Straight) => {
                assert!(plain.strip <= plain.ring + 1e-11 * reach, "{points:?}");
            }
            Err(other) => panic!("{other} for {points:?}"),
        }
    }
}

/// Three outer and three inner contacts at once, by hand: about 0 the outer ones lie on 10, the
/// inner on 7, and the hexagon is only good to its thousandths.
#[test]
fn three_and_three_contacts() {
    let (half, high, far) = (3.5, 6.062, 8.66);
    let points = [(10.0, 0.0), (half, high), (-5.0, far), (-7.0, 0.0), (-5.0, -far), (half, -high)];
    let zone = minimum_zone_circle(&points).unwrap();
    near(zone.width, 3.000_081, 5e-7);
    assert!(zone.proved);
}

#[test]
fn pairs_on_whole_numbers() {
    // About (7, −3): (24, 32), (−24, −32) and their like lie on 40, the others 0.001 inside.
    let points = [
        (31.0, 29.0),
        (-17.0, -35.0),
        (-17.0, 29.0),
        (31.0, -35.0),
        (39.0, 21.0),
        (-25.0, -27.0),
        (46.999, -3.0),
        (-32.999, -3.0),
        (7.0, 36.999),
        (7.0, -42.999),
    ];
    let zone = minimum_zone_circle(&points).unwrap();
    near(zone.width, 0.001, 1e-13);
    near(zone.x, 7.0, 1e-12);
    assert!(zone.proved);
}

#[test]
fn a_squared_circle_of_least_squares_comes_to_rest() {
    // Its gradient shrinks for ever by steps that move nothing.
    let points = [(31.957, 0.0), (0.0, 31.959), (-31.957, 0.0), (0.0, -31.959)];
    near(least_squares_circle(&points).unwrap().radius, 31.958, 1e-9);
}
