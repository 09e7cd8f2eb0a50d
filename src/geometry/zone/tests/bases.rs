//! Four points that hold a zone open, worked out by hand.

#![expect(clippy::float_cmp, reason = "small whole numbers, which floats hold as they are")]

use std::cmp::Ordering::{Equal, Greater, Less};

use super::super::basis::{Basis, Stand};
use super::super::number::At;

/// The corners of a square with these heights, round it from the origin.
fn corners(heights: [i128; 4]) -> [At<i128>; 4] {
    let [one, two, three, four] = heights;
    let at = |x, y, z| At { x, y, z };
    [at(0, 0, one), at(2, 0, two), at(2, 2, three), at(0, 2, four)]
}

fn basis(heights: [i128; 4]) -> Basis<i128> {
    Basis::of([0, 1, 2, 3], corners(heights)).unwrap()
}

#[test]
fn a_saddle_is_held_open_by_its_four_corners_on_either_side() {
    // Opposite corners 10 high, the others 0: the planes lie at 10 and at 0, half of it is 5.
    for (heights, sides) in [([10, 0, 10, 0], [1, -1, 1, -1]), ([0, 10, 0, 10], [-1, 1, -1, 1])] {
        let basis = basis(heights);
        assert_eq!((basis.sides, basis.is_rigid()), (sides, true));
        assert_eq!((basis.moment, basis.weight, basis.weights), (80, 16, [4; 4]));
        let plane = basis.plane();
        assert_eq!((plane.a, plane.b, plane.c, plane.half), (0.0, 0.0, 5.0, 5.0));
        assert_eq!(plane.off(At { x: 7.0, y: -3.0, z: 11.0 }), 6.0);
    }
}

#[test]
fn the_planes_of_a_basis_lean_with_its_points() {
    // The saddle on a plane that rises by 3 along x and falls by 4 along y, 100 up.
    let basis = basis([110, 106, 108, 92]);
    let plane = basis.plane();
    assert_eq!((plane.a, plane.b, plane.c, plane.half), (3.0, -4.0, 105.0, 5.0));
    let off = |x: i32, y: i32, z: i32| {
        plane.off(At { x: f64::from(x), y: f64::from(y), z: f64::from(z) })
    };
    assert_eq!((off(0, 0, 110), off(2, 0, 106), off(1, 1, 104)), (5.0, -5.0, 0.0));
    let stand = |z: i128| basis.stand(At { x: 1, y: 1, z });
    assert_eq!(stand(109), Stand { upper: Equal, lower: Greater });
    assert_eq!(stand(99), Stand { upper: Less, lower: Equal });
    assert_eq!([110, 109, 104, 99, 98].map(|z| stand(z).outside()), [1, 0, 0, 0, -1]);
}

#[test]
fn a_point_on_the_line_of_two_others_needs_no_fourth() {
    let at = |x, y, z| At { x, y, z };
    // The middle of a side is 6 low, the corner beside carries nothing.
    let three = Basis::of([0, 1, 2, 3], [at(0, 0, 0), at(1, 0, -6), at(2, 0, 0), at(0, 2, 1)]);
    let three = three.unwrap();
    assert_eq!((three.sides[..3].to_vec(), three.is_rigid()), (vec![1, -1, 1], false));
    // Half of the width is moment over weight: weights 2, 4 and 2, 24 over 8.
    assert_eq!((three.moment, three.weight), (24, 8));
    let line = [at(0, 0, 0), at(1, 1, 5), at(2, 2, 0), at(3, 3, 1)];
    assert!(Basis::of([0, 1, 2, 3], line).is_none(), "all on one line");
}
