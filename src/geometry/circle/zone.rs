//! The minimum zone of a circle: the two concentric circles, closest together, that hold all
//! points.

mod contacts;
mod few;
mod proof;
mod reach;

use super::vector::{Vector, seeds};
use super::{CircleError, centred, least_squares_circle};

use self::few::{Least, least};
use self::proof::{Lower, lower_than};
use self::reach::{size, spread};

/// The two concentric circles, closest together, that hold all points, with their contacts.
///
/// The contacts show that no centre nearby is better: seen from the centre, outer and inner contacts
/// alternate. (Three outer and one inner, or one and three, cannot hold a centre: of points on one
/// circle none lies inside a triangle of others.)
#[derive(Debug, Clone, PartialEq)]
pub struct RingZone {
    /// Centre, in the unit of the points.
    pub x: f64,
    /// Centre, in the unit of the points.
    pub y: f64,
    /// Radius of the circle outside.
    pub outer_radius: f64,
    /// Radius of the circle inside.
    pub inner_radius: f64,
    /// The roundness: outer minus inner radius.
    pub width: f64,
    /// Two points that touch the circle outside, by their number in the data.
    pub outer: [usize; 2],
    /// Two points that touch the circle inside. Where all points lie on one circle, one point may
    /// stand in both pairs.
    pub inner: [usize; 2],
    /// Whether every other centre was proved to give no smaller width. Differences up to 10⁻¹⁴ of the
    /// reach of the points do not count.
    pub proved: bool,
}

/// What two widths may differ by and still count as one, as a share of the reach of the points.
pub(super) const TOLERANCE: f64 = 1e-14;

/// The minimum zone of `points`, the least over all centres.
///
/// Found by exchange: the least zone of a few points is found by trying every two pairs of contacts;
/// the points farthest outside it join the few, until no point is outside. The zone of all points is
/// at least as wide as that of the few, so it is then the zone of all. The result is checked by a
/// bound that does not depend on the search (`zone/proof.rs`): the plane of all centres, the far ones
/// included, is cut into cells, and each cell is shown to hold no centre with a smaller width, or cut
/// again.
///
/// Where two straight lines hold the points closer still (a circle without end), there is no
/// answer: [`CircleError::NoRing`].
pub fn minimum_zone_circle(points: &[(f64, f64)]) -> Result<RingZone, CircleError> {
    let (places, mean) = centred(points)?;
    let start = least_squares_circle(points)
        .map_or(Vector::default(), |circle| Vector { x: circle.x, y: circle.y }.minus(mean));
    let mut few = seeds(&places, start);
    let allowed = TOLERANCE * size(&places);
    loop {
        let chosen: Vec<Vector> = few.iter().map(|&number| places[number]).collect();
        let found = least(&chosen).ok_or(CircleError::Straight)?;
        if join(&mut few, found.stand_out(&places, allowed)) {
            continue;
        }
        let lower = lower_than(&chosen, found.width() - allowed);
        if let Lower::At(centre) = lower {
            let there = spread(&places, centre);
            if join(&mut few, [there.near, there.far].into()) {
                continue;
            }
        }
        let proved = matches!(lower, Lower::Nowhere);
        return match found {
            Least::Ring(ring) => Ok(in_place(&places, ring.centre, mean, proved)),
            Least::Strip { .. } => Err(CircleError::NoRing),
        };
    }
}

/// Adds points to the few; whether any was new.
fn join(few: &mut Vec<usize>, points: Vec<usize>) -> bool {
    let before = few.len();
    few.extend(points);
    few.sort_unstable();
    few.dedup();
    few.len() > before
}

fn in_place(places: &[Vector], centre: Vector, mean: Vector, proved: bool) -> RingZone {
    let spread = spread(places, centre);
    let width = spread.width();
    let (outer, inner) = contacts::by_turns(places, centre, &spread, TOLERANCE * size(places));
    let inner_radius = places[spread.near].distance(centre);
    let Vector { x, y } = centre.plus(mean);
    RingZone { x, y, outer_radius: inner_radius + width, inner_radius, width, outer, inner, proved }
}

#[cfg(test)]
mod tests;
