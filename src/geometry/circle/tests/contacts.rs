//! The proofs of the circles that rest on contacts, over random points.

use super::super::vector::{Vector, centre_of, hull};
use super::super::*;
use super::near;
use proptest::prelude::*;

const fn place(point: (f64, f64)) -> Vector {
    Vector { x: point.0, y: point.1 }
}

/// Seen from the centre, outer and inner contacts follow each other by turns.
fn alternate(zone: &RingZone, points: &[(f64, f64)]) -> bool {
    let angle = |number: usize| {
        let (x, y) = points[number];
        (y - zone.y).atan2(x - zone.x)
    };
    let mut round: Vec<(f64, bool)> = (zone.outer.iter().map(|n| (angle(*n), true)))
        .chain(zone.inner.iter().map(|n| (angle(*n), false)))
        .collect();
    round.sort_by(|a, b| a.0.total_cmp(&b.0));
    round.windows(2).all(|two| two[0].1 != two[1].1)
}

/// Two on a diameter, or three around the centre.
fn hold(touching: &Touching, points: &[(f64, f64)]) -> bool {
    let centre = Vector { x: touching.circle.x, y: touching.circle.y };
    let contacts: Vec<Vector> =
        touching.contacts.iter().map(|n| place(points[*n]).minus(centre)).collect();
    let touch =
        contacts.iter().all(|contact| (contact.length() - touching.circle.radius).abs() < 1e-9);
    let around = match contacts[..] {
        [one, other] => one.plus(other).length() < 1e-9,
        [a, b, c] => {
            let turns = [a.cross(b), b.cross(c), c.cross(a)];
            turns.iter().all(|t| *t >= -1e-9) || turns.iter().all(|t| *t <= 1e-9)
        }
        _ => false,
    };
    touch && around
}

/// Every centre at which two pairs, or three places and one, are at equal distance.
fn all_centres(places: &[Vector]) -> Vec<Vector> {
    let pairs: Vec<[Vector; 2]> = (0..places.len())
        .flat_map(|k| (0..k).map(move |m| [k, m]))
        .map(|pair| pair.map(|number| places[number]))
        .collect();
    let mut centres = Vec::new();
    for [a, b] in &pairs {
        for [c, d] in &pairs {
            // The crossing of two bisectors: (b − a)·p = (b² − a²)/2, and so for c and d.
            let (one, two) = (b.minus(*a), d.minus(*c));
            let det = one.cross(two);
            if det.abs() < 1e-12 {
                continue;
            }
            let right = ((b.dot(*b) - a.dot(*a)) / 2.0, (d.dot(*d) - c.dot(*c)) / 2.0);
            centres.push(Vector {
                x: (right.0 * two.y - right.1 * one.y) / det,
                y: (right.1 * one.x - right.0 * two.x) / det,
            });
        }
    }
    centres
}

/// The least ring over all contact sets, and the narrowest strip.
fn enumerated(points: &[(f64, f64)]) -> (f64, f64) {
    let places: Vec<Vector> = points.iter().copied().map(place).collect();
    let width =
        |centre: &Vector| range(&places.iter().map(|p| p.distance(*centre)).collect::<Vec<f64>>());
    let ring = all_centres(&places).iter().map(width).fold(f64::INFINITY, f64::min);
    let mut strip = f64::INFINITY;
    for (k, one) in places.iter().enumerate() {
        for other in places[..k].iter().filter(|other| *other != one) {
            let along = other.minus(*one);
            let across = along.left().times(1.0 / along.length());
            let heights: Vec<f64> = places.iter().map(|p| across.dot(*p)).collect();
            strip = strip.min(range(&heights));
        }
    }
    (ring, strip)
}

/// A turn of `count` points about (30, −7) with lobes and noise of the size of `form`.
fn trace(count: u32, form: f64) -> Vec<(f64, f64)> {
    let mut seed = 11_u64;
    let mut noise = move || {
        seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        f64::from(u32::try_from(seed >> 32).unwrap()) / f64::from(u32::MAX) - 0.5
    };
    (0..count)
        .map(|k| std::f64::consts::TAU * f64::from(k) / f64::from(count))
        .map(|t| {
            let radius = 25.0 + form * ((3.0 * t).cos() + 0.4 * (5.0 * t).sin() + 0.3 * noise());
            (30.0 + radius * t.cos(), -7.0 + radius * t.sin())
        })
        .collect()
}

#[test]
fn a_trace_of_any_length_has_its_three_circles_in_order() {
    for (count, form) in [(360, 1e-3), (3_600, 1e-5), (10_000, 1e-4), (10_000, 0.0)] {
        let points = trace(count, form);
        let squares = least_squares_circle(&points).unwrap();
        let zone = minimum_zone_circle(&points).unwrap();
        let around = circumscribed_circle(&points).unwrap();
        let inside = inscribed_circle(&points).unwrap();
        let width = squares.width(&points);
        assert!(zone.width <= width + 1e-13, "{count}: {} and {width}", zone.width);
        assert!(form == 0.0 || zone.width > 1.6 * form);
        assert!(around.circle.radius <= zone.outer_radius + 1e-12);
        assert!(inside.circle.radius >= zone.inner_radius - 1e-12);
        for circle in [squares, around.circle, inside.circle] {
            near(circle.x, 30.0, form + 1e-12);
            near(circle.y, -7.0, form + 1e-12);
        }
        assert!(form == 0.0 || alternate(&zone, &points));
        assert!(hold(&around, &points) && hold(&inside, &points));
    }
}

#[test]
fn an_oval_is_known_by_hand() {
    // An ellipse of half axes 26 and 24: outer contacts on the long axis, inner on the short.
    let points: Vec<(f64, f64)> = (0_u16..360)
        .map(|k| f64::from(k).to_radians())
        .map(|t| (26.0 * t.cos(), 24.0 * t.sin()))
        .collect();
    let zone = minimum_zone_circle(&points).unwrap();
    near(zone.width, 2.0, 1e-12);
    assert_eq!((zone.outer, alternate(&zone, &points)), ([0, 180], true));
    near(circumscribed_circle(&points).unwrap().circle.radius, 26.0, 1e-12);
    // Held on the short axis alone it would slip sideways, until the next point stops it.
    let inside = inscribed_circle(&points).unwrap();
    assert_eq!(inside.contacts.len(), 3);
    near(inside.circle.radius, 24.0, 3e-5);
}

#[test]
fn an_arc_has_a_zone_and_no_circle_inside() {
    let points: Vec<(f64, f64)> = trace(360, 1e-3).into_iter().take(100).collect();
    let zone = minimum_zone_circle(&points).unwrap();
    assert!(alternate(&zone, &points));
    assert!(zone.width <= least_squares_circle(&points).unwrap().width(&points));
    assert_eq!(inscribed_circle(&points), Err(CircleError::Open));
}

/// The zone against all contact sets.
fn is_the_least(points: &[(f64, f64)]) -> Result<(), TestCaseError> {
    let (ring, strip) = enumerated(points);
    match minimum_zone_circle(points) {
        Ok(zone) => {
            prop_assert!((zone.width - ring).abs() < 1e-7, "{} and {ring}", zone.width);
            prop_assert!(zone.width < 1e-9 || alternate(&zone, points), "{zone:?}");
        }
        Err(refusal) => {
            prop_assert_eq!(refusal, CircleError::NoRing);
            prop_assert!(strip <= ring + 1e-7, "{} and {}", strip, ring);
        }
    }
    Ok(())
}

proptest! {
    // More points than are all looked at from the start: the exchange has to find the rest.
    #![proptest_config(ProptestConfig::with_cases(24))]

    #[test]
    fn the_exchange_finds_the_contacts_it_did_not_start_from(
        points in prop::collection::vec((-1.0..1.0_f64, -1.0..1.0_f64), 17..=22),
    ) {
        is_the_least(&points)?;
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    #[test]
    fn the_zone_is_the_least_over_all_contact_sets(
        points in prop::collection::vec((-1.0..1.0_f64, -1.0..1.0_f64), 3..=8),
    ) {
        is_the_least(&points)?;
    }

    #[test]
    fn a_rough_ring_is_held_from_both_sides(
        radii in prop::collection::vec(0.9..1.1_f64, 7..60),
        shift in 0_usize..60,
        scale in 1e-3..1e3_f64,
    ) {
        let count = count(radii.len());
        let points: Vec<(f64, f64)> = (0_u8..)
            .map(|k| std::f64::consts::TAU * f64::from(k) / count)
            .zip(&radii)
            .map(|(t, r)| (5.0 + r * t.cos(), r * t.sin()))
            .collect();
        let squares = least_squares_circle(&points).unwrap();
        let zone = minimum_zone_circle(&points).unwrap();
        let around = circumscribed_circle(&points).unwrap();
        let inside = inscribed_circle(&points).unwrap();
        prop_assert!(zone.width <= squares.width(&points) + 1e-12);
        prop_assert!(alternate(&zone, &points));
        prop_assert!(around.circle.residuals(&points).iter().all(|rest| *rest <= 1e-12));
        prop_assert!(inside.circle.residuals(&points).iter().all(|rest| *rest >= -1e-12));
        prop_assert!(hold(&around, &points) && hold(&inside, &points));
        // Least squares: the gradient vanishes.
        let rests = squares.residuals(&points);
        let pull: (f64, f64) = points.iter().zip(&rests).fold((0.0, 0.0), |sum, (p, e)| {
            let d = (p.0 - squares.x).hypot(p.1 - squares.y);
            (sum.0 + e * (p.0 - squares.x) / d, sum.1 + e * (p.1 - squares.y) / d)
        });
        prop_assert!(pull.0.hypot(pull.1) < 1e-11 && rests.iter().sum::<f64>().abs() < 1e-11);
        // Order and scale change nothing.
        let mut other: Vec<(f64, f64)> = points.iter().map(|(x, y)| (x * scale, y * scale)).collect();
        other.rotate_left(shift % radii.len());
        let near = |value: f64, scaled: f64| (value - scaled / scale).abs() < 1e-9;
        prop_assert!(near(zone.width, minimum_zone_circle(&other).unwrap().width));
        prop_assert!(near(squares.radius, least_squares_circle(&other).unwrap().radius));
        prop_assert!(near(around.circle.radius, circumscribed_circle(&other).unwrap().circle.radius));
        prop_assert!(near(inside.circle.radius, inscribed_circle(&other).unwrap().circle.radius));
    }

    #[test]
    fn small_circles_hold_against_every_three(
        points in prop::collection::vec((-1.0..1.0_f64, -1.0..1.0_f64), 3..=8),
    ) {
        let places: Vec<Vector> = points.iter().copied().map(place).collect();
        let around = circumscribed_circle(&points).unwrap();
        prop_assert!(hold(&around, &points));
        prop_assert!(around.circle.residuals(&points).iter().all(|rest| *rest <= 1e-12));
        // Every empty circle about a centre that three places surround is at most the one inside.
        let corners = hull(&places);
        let mut largest = 0.0_f64;
        for a in &places {
            for b in &places {
                for c in &places {
                    let Some(centre) = centre_of(*a, *b, *c) else { continue };
                    let ahead = corners.iter().cycle().skip(1);
                    let among = corners.iter().zip(ahead).all(|(from, to)| {
                        to.minus(*from).cross(centre.minus(*from)) >= 0.0
                    });
                    let radius = centre.distance(*a);
                    if among && places.iter().all(|p| p.distance(centre) >= radius - 1e-12) {
                        largest = largest.max(radius);
                    }
                }
            }
        }
        match inscribed_circle(&points) {
            Ok(inside) => {
                prop_assert!((inside.circle.radius - largest).abs() < 1e-9);
                prop_assert!(hold(&inside, &points));
            }
            Err(refusal) => prop_assert_eq!(refusal, CircleError::Open),
        }
    }
}
