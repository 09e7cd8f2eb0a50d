//! The parts of the minimum zone of a circle: distances from far centres, hulls, contacts in turn, and the
//! bound over all centres.

use proptest::prelude::*;

use super::super::tests::near;
use super::super::vector::{Vector, centre_of, farthest, hull, nearest, seeds};
use super::contacts::by_turns;
use super::few::{Least, least};
use super::proof::{Lower, lower_than};
use super::reach::{beyond, spread};
use crate::count;

fn places(least: usize, most: usize) -> impl Strategy<Value = Vec<Vector>> {
    let place = (-100_i16..100, -100_i16..100);
    prop::collection::vec(place, least..most).prop_map(|all| {
        all.into_iter()
            .map(|(x, y)| Vector { x: f64::from(x) / 50.0, y: f64::from(y) / 50.0 })
            .collect()
    })
}

fn least_width(places: &[Vector]) -> Option<f64> {
    least(places).as_ref().map(Least::width)
}

/// The largest less the smallest distance.
fn width_at(places: &[Vector], centre: Vector) -> f64 {
    let far = places.iter().map(|place| place.distance(centre));
    let (low, high) =
        far.fold((f64::MAX, f64::MIN), |(low, high), far| (low.min(far), high.max(far)));
    high - low
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    #[test]
    fn no_centre_has_a_smaller_width_than_what_was_proved(
        places in places(4, 9), share in 0.3..1.1_f64,
        centres in prop::collection::vec((-3.0..3.0_f64, -3.0..3.0_f64, 0.0..6.0_f64), 60),
    ) {
        let Some(width) = least_width(&places) else { return Ok(()) };
        prop_assume!(width > 1e-6);
        match lower_than(&places, width * share) {
            // Near and far centres, and those at every place itself.
            Lower::Nowhere => {
                let far = centres.iter().map(|(x, y, power)| Vector { x: *x, y: *y }.times(10_f64.powf(*power)));
                for centre in far.chain(places.iter().copied()) {
                    let width_there = if centre.length() > 1e4 {
                        // So far away two lines hold them: the digits of a distance are gone.
                        let along = centre.times(1.0 / centre.length());
                        let on = places.iter().map(|place| along.dot(*place));
                        let (low, high) = on.fold((f64::MAX, f64::MIN), |(l, h), at| (l.min(at), h.max(at)));
                        high - low + 1e-3
                    } else {
                        width_at(&places, centre) + 1e-9
                    };
                    prop_assert!(width_there >= width * share, "{width_there} at {centre:?}");
                }
                prop_assert!(share <= 1.0 + 1e-9, "its own centre is below that");
            }
            Lower::At(centre) => {
                prop_assert!(share >= 1.0 - 1e-9, "{share}: nothing is below the least");
                if centre.length() < 1e4 {
                    prop_assert!(width_at(&places, centre) < width * share + 1e-9);
                }
            }
            Lower::Unknown => prop_assert!(share > 1.0 - 1e-6, "{share} was not shown"),
        }
    }

    #[test]
    fn how_much_farther_a_place_is_keeps_its_digits_from_any_centre(
        place in (-2.0..2.0_f64, -2.0..2.0_f64), centre in (-2.0..2.0_f64, -2.0..2.0_f64), turn in 0.0..6.3_f64,
    ) {
        let (place, centre) = (Vector { x: place.0, y: place.1 }, Vector { x: centre.0, y: centre.1 });
        prop_assert!((beyond(place, centre) - (place.distance(centre) - centre.length())).abs() < 1e-14);
        // From without end it is how far the place lies the other way.
        let direction = Vector { x: turn.cos(), y: turn.sin() };
        prop_assert!((beyond(place, direction.times(1e15)) + direction.dot(place)).abs() < 1e-12);
        prop_assert!(beyond(Vector::default(), Vector::default()).abs() < 1e-300);
        let all = [place, centre, direction];
        let found = spread(&all, centre);
        let far = all.map(|place| beyond(place, centre));
        prop_assert!(far.iter().all(|far| found.low <= *far && *far <= found.high));
        prop_assert_eq!((far[found.near].to_bits(), far[found.far].to_bits()), (found.low.to_bits(), found.high.to_bits()));
        prop_assert!((found.width() - width_at(&all, centre)).abs() < 1e-12);
    }

    #[test]
    fn a_hull_goes_round_to_the_left_and_holds_every_place(places in places(3, 30)) {
        let corners = hull(&places);
        prop_assert!(corners.iter().all(|corner| places.contains(corner)));
        prop_assume!(corners.len() > 2);
        for (k, from) in corners.iter().enumerate() {
            let (to, after) = (corners[(k + 1) % corners.len()], corners[(k + 2) % corners.len()]);
            prop_assert!(to.minus(*from).cross(after.minus(to)) > 0.0, "a corner turns");
            prop_assert!(places.iter().all(|place| to.minus(*from).cross(place.minus(*from)) >= -1e-12));
        }
    }

    #[test]
    fn a_search_starts_from_all_of_a_few_and_from_the_ends_of_each_eighth(places in places(1, 60)) {
        let few = seeds(&places, Vector::default());
        prop_assert!(few.windows(2).all(|two| two[0] < two[1]), "each once, in order");
        if places.len() <= 16 {
            prop_assert_eq!(few.len(), places.len());
        }
        let distance = |number: &usize| places[*number].length();
        let (far, most) = farthest(&places, Vector::default());
        let (near, less) = nearest(&places, Vector::default());
        prop_assert!(few.iter().any(|number| distance(number) >= most) && distance(&far) >= most);
        prop_assert!(few.iter().any(|number| distance(number) <= less) && distance(&near) <= less);
        prop_assert!(places.iter().position(|place| place.length() >= most) == Some(far), "the first of them");
        prop_assert!(places.iter().position(|place| place.length() <= less) == Some(near));
        // An eighth is told by two signs and the longer axis: its nearest and farthest are there.
        let eighth = |place: Vector| (place.x < 0.0, place.y < 0.0, place.x.abs() < place.y.abs());
        for place in &places {
            let there = few.iter().filter(|number| eighth(places[**number]) == eighth(*place));
            let far: Vec<f64> = there.map(distance).collect();
            prop_assert!(far.iter().any(|far| *far >= place.length()) && far.iter().any(|far| *far <= place.length()));
        }
    }

    #[test]
    fn a_centre_is_as_far_from_all_three(places in places(3, 4)) {
        let [a, b, c] = places[..] else { return Ok(()) };
        let area = b.minus(a).cross(c.minus(a));
        match centre_of(a, b, c) {
            Some(centre) => {
                let radius = centre.distance(a);
                prop_assert!((centre.distance(b) - radius).abs() < 1e-9 * (1.0 + radius));
                prop_assert!((centre.distance(c) - radius).abs() < 1e-9 * (1.0 + radius));
            }
            None => prop_assert!(area.abs() < 1e-15),
        }
    }
}

/// Places on two circles about the middle, at these angles: outer ones above zero.
fn on_two_circles(turns: &[(f64, bool)]) -> Vec<Vector> {
    let place = |(deg, outer): &(f64, bool)| {
        let (y, x) = deg.to_radians().sin_cos();
        Vector { x, y }.times(if *outer { 2.0 } else { 1.0 })
    };
    turns.iter().map(place).collect()
}

#[test]
fn contacts_are_taken_by_turns_round_the_centre() {
    let contacts = |turns: &[(f64, bool)]| {
        let places = on_two_circles(turns);
        let middle = Vector::default();
        by_turns(&places, middle, &spread(&places, middle), 1e-9)
    };
    let four = [(0.0, true), (90.0, false), (180.0, true), (270.0, false)];
    assert_eq!(contacts(&four), ([0, 2], [1, 3]));
    // Several of one side in a row count once, by the first of them in the list.
    let rows = [
        (0.0, true),
        (10.0, true),
        (90.0, false),
        (100.0, false),
        (180.0, true),
        (270.0, false),
        (350.0, true),
    ];
    assert_eq!(contacts(&rows), ([0, 4], [2, 5]));
    let mixed = [(100.0, false), (350.0, true), (180.0, true), (10.0, true), (270.0, false)];
    assert_eq!(contacts(&mixed), ([1, 2], [0, 4]));
    // Not by turns: one stands for both.
    assert_eq!(contacts(&[(0.0, true), (20.0, true), (90.0, false)]), ([0, 0], [2, 2]));
    // From very far away they are parted across the direction they lie in.
    let places = on_two_circles(&[(0.0, true), (90.0, true), (180.0, true), (270.0, true)]);
    let far = Vector { x: 1e9, y: 0.0 };
    let found = by_turns(&places, far, &spread(&places, far), 1e-6);
    assert_eq!(found, ([2, 2], [0, 0]));
}

#[test]
fn the_least_ring_and_the_narrowest_strip_of_a_few_by_hand() {
    let at = |x: f64, y: f64| Vector { x, y };
    // Two squares about one centre, one turned by an eighth: corners at √2 and at 1.
    let squares = [
        at(1.0, 1.0),
        at(-1.0, 1.0),
        at(-1.0, -1.0),
        at(1.0, -1.0),
        at(1.0, 0.0),
        at(0.0, 1.0),
        at(-1.0, 0.0),
        at(0.0, -1.0),
    ];
    near(least_width(&squares).unwrap(), 2_f64.sqrt() - 1.0, 1e-12);
    assert!(matches!(lower_than(&squares, 2_f64.sqrt() - 1.0 - 1e-9), Lower::Nowhere));
    assert!(matches!(lower_than(&squares, 0.5), Lower::At(_)));
    assert!(matches!(lower_than(&squares, 0.0), Lower::Nowhere), "no width is below nothing");
    // A flat row of steps: two lines hold it, 1 apart.
    let row: Vec<Vector> = (0..7).map(|k| at(10.0 * count(k), count(k % 2))).collect();
    near(least_width(&row).unwrap(), 1.0, 1e-12);
    assert_eq!(least_width(&[at(0.0, 0.0), at(1.0, 1.0)]).map(|width| width < 1e-12), Some(true));
}
