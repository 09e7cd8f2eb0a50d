//! The minimum zone of a circle: the two concentric circles, closest together, that hold all
//! points.

use super::place::{Place, farthest, hull, nearest, seeds};
use super::{CircleError, centred, least_squares_circle};

/// The two concentric circles, closest together, that hold all points, with their contacts.
///
/// The proof that no centre nearby does better is in the contacts: seen from the centre, an outer,
/// an inner, an outer and an inner one follow each other round. (Three outer and one inner, or one
/// and three, cannot hold a centre: of points on one circle none lies inside a triangle of others.)
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
}

/// The minimum zone of `points`, the least over all centres, proved to rounding.
///
/// By exchange: the least zone of a few points is found by trying every pair of outer contacts
/// with every pair of inner ones; the points that stand out of it the most join the few, until
/// none does. The zone of the few is then that of all, as no zone of more points is narrower.
/// Where two straight lines hold the points closer still (a circle without end), there is no
/// answer: [`CircleError::NoRing`].
pub fn minimum_zone_circle(points: &[(f64, f64)]) -> Result<RingZone, CircleError> {
    let (places, mean) = centred(points)?;
    let start = least_squares_circle(points)
        .map_or(Place::default(), |circle| Place { x: circle.x, y: circle.y }.minus(mean));
    let mut few = seeds(&places, start);
    for _ in 0..=places.len() {
        let chosen: Vec<Place> = few.iter().map(|&number| places[number]).collect();
        let stand_out = match least(&chosen).ok_or(CircleError::Straight)? {
            Least::Ring(ring) => {
                let (far, outer_radius) = farthest(&places, ring.centre);
                let (near, inner_radius) = nearest(&places, ring.centre);
                let width = outer_radius - inner_radius;
                let rounding = 8.0 * f64::EPSILON * outer_radius;
                let held = few.contains(&far) && few.contains(&near);
                if held || width <= ring.width + rounding {
                    let Place { x, y } = ring.centre.plus(mean);
                    let numbers =
                        |[one, other]: [usize; 2]| [few[one.min(other)], few[one.max(other)]];
                    let (outer, inner) = (numbers(ring.outer), numbers(ring.inner));
                    return Ok(RingZone { x, y, outer_radius, inner_radius, width, outer, inner });
                }
                [far, near]
            }
            Least::Strip(across) => {
                let (low, high) = extremes(&places, across);
                if few.contains(&low) && few.contains(&high) {
                    return Err(CircleError::NoRing);
                }
                [low, high]
            }
        };
        few.extend(stand_out);
        few.sort_unstable();
        few.dedup();
    }
    Err(CircleError::NotSettled)
}

/// The least zone of a few points.
enum Least {
    Ring(Ring),
    /// Two straight lines: the direction across them.
    Strip(Place),
}

struct Ring {
    centre: Place,
    width: f64,
    outer: [usize; 2],
    inner: [usize; 2],
}

fn least(places: &[Place]) -> Option<Least> {
    let corners = hull(places);
    let number = |corner: &Place| places.iter().position(|place| place == corner);
    let corners: Vec<usize> = corners.iter().filter_map(number).collect();
    let pairs = corners
        .iter()
        .enumerate()
        .flat_map(|(k, &one)| corners[..k].iter().map(move |&other| [other, one]));
    let rings = pairs.filter_map(|outer| Bisector::new(places, outer)).flat_map(|b| b.rings());
    let ring = rings.min_by(|one, other| one.width.total_cmp(&other.width));
    let (across, width) = strip(places, &corners)?;
    match ring {
        Some(ring) if ring.width < width => Some(Least::Ring(ring)),
        Some(_) | None => Some(Least::Strip(across)),
    }
}

/// The narrowest pair of parallel lines that hold the places: one lies along an edge of the hull.
fn strip(places: &[Place], corners: &[usize]) -> Option<(Place, f64)> {
    let next = corners.iter().cycle().skip(1);
    let edges = corners.iter().zip(next).map(|(&from, &to)| places[to].minus(places[from]));
    let across = edges.map(|edge| edge.left().times(1.0 / edge.length()));
    let strips = across.map(|across| {
        let (low, high) = extremes(places, across);
        (across, across.dot(places[high].minus(places[low])))
    });
    strips.min_by(|one, other| one.1.total_cmp(&other.1))
}

/// The first and the last place in a direction.
fn extremes(places: &[Place], along: Place) -> (usize, usize) {
    let (mut low, mut high) = (0, 0);
    for (number, place) in places.iter().enumerate() {
        if along.dot(*place) < along.dot(places[low]) {
            low = number;
        }
        if along.dot(*place) > along.dot(places[high]) {
            high = number;
        }
    }
    (low, high)
}

/// The centres from which two places are equally far, `middle + t·along`, with the squared
/// distance of every place from there, less t²: straight lines `level − slope·t`.
struct Bisector<'a> {
    places: &'a [Place],
    outer: [usize; 2],
    middle: Place,
    along: Place,
    /// The level of the outer two; their slope is 0.
    top: f64,
    lines: Vec<(f64, f64)>,
    /// Where no other place is farther than the two, with the place that ends it.
    from: (f64, Option<usize>),
    to: (f64, Option<usize>),
}

impl<'a> Bisector<'a> {
    fn new(places: &'a [Place], outer: [usize; 2]) -> Option<Self> {
        let [one, other] = outer.map(|number| places[number]);
        let step = other.minus(one);
        let middle = one.plus(other).times(0.5);
        let along = step.left().times(1.0 / step.length());
        let top = step.dot(step) / 4.0;
        let line = |place: &Place| {
            let from = place.minus(middle);
            (from.dot(from), 2.0 * along.dot(from))
        };
        let mut lines: Vec<(f64, f64)> = places.iter().map(line).collect();
        let (mut from, mut to) = ((f64::NEG_INFINITY, None), (f64::INFINITY, None));
        for (number, place) in places.iter().enumerate() {
            if *place == one || *place == other {
                lines[number] = (top, 0.0);
                continue;
            }
            let (level, slope) = lines[number];
            let end = (level - top) / slope;
            if slope > 0.0 && end > from.0 {
                from = (end, Some(number));
            }
            if slope < 0.0 && end < to.0 {
                to = (end, Some(number));
            }
            if slope == 0.0 && level > top {
                return None;
            }
        }
        let bisector = Self { places, outer, middle, along, top, lines, from, to };
        // Equal ends are the centre of a circle through three: they must not be lost to rounding.
        (from.0 <= to.0 + 4.0 * f64::EPSILON * to.0.abs()).then_some(bisector)
    }

    /// The zones on this bisector that can be the least: where the nearest place changes, and the
    /// ends, where three places are on the outer circle, if all places are.
    fn rings(&self) -> Vec<Ring> {
        let ends = [self.from, self.to].into_iter().filter_map(|(t, third)| {
            let (near, third) = (self.nearest_at(t)?, third?);
            let second = if near == third { self.outer[0] } else { third };
            Some(self.ring(t, [near, second]))
        });
        let radius = |ring: &Ring| ring.centre.distance(self.places[self.outer[0]]);
        let mut rings: Vec<Ring> =
            ends.filter(|ring| ring.width <= 16.0 * f64::EPSILON * radius(ring)).collect();
        let Some(mut near) = self.nearest_at(self.from.0) else { return rings };
        let mut t = self.from.0;
        while let Some((at, next)) = self.change_after(near, t) {
            if at > self.to.0 {
                break;
            }
            rings.push(self.ring(at, [near, next]));
            (near, t) = (next, at);
        }
        rings
    }

    fn nearest_at(&self, t: f64) -> Option<usize> {
        let lower = |one: &usize, other: &usize| {
            let ((level, slope), (level2, slope2)) = (self.lines[*one], self.lines[*other]);
            if t.is_finite() {
                let height = (level - slope * t).total_cmp(&(level2 - slope2 * t));
                // Of two that meet here, the one that falls faster is lower from here on.
                height.then(slope2.total_cmp(&slope))
            } else {
                slope.total_cmp(&slope2).then(level.total_cmp(&level2))
            }
        };
        (0..self.lines.len()).min_by(lower)
    }

    /// Where the line of another place first crosses below that of `near`, after `t`.
    fn change_after(&self, near: usize, t: f64) -> Option<(f64, usize)> {
        let (level, slope) = self.lines[near];
        let crossings = self.lines.iter().enumerate().filter(|(_, line)| line.1 > slope);
        let at = crossings.map(|(number, line)| ((line.0 - level) / (line.1 - slope), number));
        let first = at.min_by(|one, other| {
            let steeper = self.lines[other.1].1.total_cmp(&self.lines[one.1].1);
            one.0.total_cmp(&other.0).then(steeper)
        });
        first.map(|(at, number)| (at.max(t), number))
    }

    fn ring(&self, t: f64, inner: [usize; 2]) -> Ring {
        let (level, slope) = self.lines[inner[0]];
        let below = self.top - (level - slope * t);
        let outer_radius = (self.top + t * t).sqrt();
        let inner_radius = (level - slope * t + t * t).max(0.0).sqrt();
        let centre = self.middle.plus(self.along.times(t));
        Ring { centre, width: below / (outer_radius + inner_radius), outer: self.outer, inner }
    }
}
