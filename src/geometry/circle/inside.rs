//! The largest circle inside the points.

use super::vector::{Vector, centre_of, hull, nearest, seeds};
use super::{Circle, CircleError, Touching, centred, least_squares_circle};

/// The largest circle that holds no point and has its centre among them (maximum inscribed
/// circle), with its contacts.
///
/// "Among them" means inside the convex hull; a circle beside the points could be as large as one
/// likes. The proof is in the three contacts: they surround the centre, so every step of it comes
/// nearer to one of them. Where the hull stops the largest circle instead, the points do not go
/// round it: [`CircleError::Open`].
///
/// Found by exchange: the largest circle among a few points is found by trying every three of them;
/// the point deepest inside it joins them, until no point is inside. It is then the largest among all
/// points.
pub fn inscribed_circle(points: &[(f64, f64)]) -> Result<Touching, CircleError> {
    let (places, mean) = centred(points)?;
    let start = least_squares_circle(points)
        .map_or(Vector::default(), |circle| Vector { x: circle.x, y: circle.y }.minus(mean));
    let corners = hull(&places);
    let mut few = seeds(&places, start);
    for _ in 0..=places.len() {
        let chosen: Vec<Vector> = few.iter().map(|&number| places[number]).collect();
        let largest = largest(&chosen, &corners).ok_or(CircleError::Open)?;
        let (near, radius) = nearest(&places, largest.centre);
        let rounding = 8.0 * f64::EPSILON * (radius + largest.centre.length());
        if few.contains(&near) || radius + rounding >= largest.radius {
            let contacts = largest.contacts.ok_or(CircleError::Open)?;
            let mut contacts = contacts.map(|number| few[number]).to_vec();
            contacts.sort_unstable();
            return Ok(Touching { circle: Circle::moved(largest.centre, radius, mean), contacts });
        }
        few.push(near);
    }
    Err(CircleError::NotSettled)
}

/// An empty circle: held by three contacts, or by the hull.
struct Largest {
    centre: Vector,
    radius: f64,
    contacts: Option<[usize; 3]>,
}

/// Radii that differ by less than this share count as equal: the difference is rounding.
const ROUNDING: f64 = 32.0 * f64::EPSILON;

impl Largest {
    /// The larger of two circles; of equal ones (four contacts on a circle) the one its contacts prove.
    fn or(self, other: Self) -> Self {
        let equal = (self.radius - other.radius).abs() <= ROUNDING * self.radius;
        let other_wins = if equal {
            self.contacts.is_none() && other.contacts.is_some()
        } else {
            other.radius > self.radius
        };
        if other_wins { other } else { self }
    }
}

/// The largest circle that holds none of a few places, its centre inside `corners`.
fn largest(places: &[Vector], corners: &[Vector]) -> Option<Largest> {
    let mut best: Option<Largest> = None;
    let reaches = |radius: f64, best: &Option<Largest>| {
        best.as_ref().is_none_or(|best| radius >= best.radius * (1.0 - ROUNDING))
    };
    let take = |found: Largest, best: Option<Largest>| match best {
        Some(best) => best.or(found),
        None => found,
    };
    for three in triples(places.len()) {
        let [a, b, c] = three.map(|number| places[number]);
        let Some(centre) = centre_of(a, b, c) else { continue };
        if !reaches(centre.distance(a), &best) {
            continue;
        }
        let radius = nearest(places, centre).1;
        if reaches(radius, &best) && within(corners, centre) {
            let contacts = surround(centre, [a, b, c]).then_some(three);
            best = Some(take(Largest { centre, radius, contacts }, best));
        }
    }
    let ahead = corners.iter().cycle().skip(1);
    for (&from, &to) in corners.iter().zip(ahead) {
        let middle = from.plus(to).times(0.5);
        if !reaches(nearest(places, middle).1 + from.distance(to) / 2.0, &best) {
            continue;
        }
        for centre in stops(places, from, to) {
            let radius = nearest(places, centre).1;
            best = Some(take(Largest { centre, radius, contacts: None }, best));
        }
    }
    best
}

fn triples(few: usize) -> impl Iterator<Item = [usize; 3]> {
    (0..few).flat_map(move |c| (0..c).flat_map(move |b| (0..b).map(move |a| [a, b, c])))
}

/// Whether the place is inside the corners, which go round to the left.
fn within(corners: &[Vector], place: Vector) -> bool {
    let ahead = corners.iter().cycle().skip(1);
    corners.iter().zip(ahead).all(|(from, to)| to.minus(*from).cross(place.minus(*from)) >= 0.0)
}

/// Whether the centre lies inside the triangle.
fn surround(centre: Vector, three: [Vector; 3]) -> bool {
    let [a, b, c] = three.map(|place| place.minus(centre));
    let turns = [a.cross(b), b.cross(c), c.cross(a)];
    turns.iter().all(|turn| *turn >= 0.0) || turns.iter().all(|turn| *turn <= 0.0)
}

/// The centres on an edge of the hull where the nearest place can change, and its two ends.
fn stops(places: &[Vector], from: Vector, to: Vector) -> Vec<Vector> {
    let edge = to.minus(from);
    let mut stops = vec![from, to];
    for (k, one) in places.iter().enumerate() {
        for other in &places[..k] {
            let step = other.minus(*one);
            let middle = one.plus(*other).times(0.5);
            let share = step.dot(middle.minus(from)) / step.dot(edge);
            if (0.0..=1.0).contains(&share) {
                stops.push(from.plus(edge.times(share)));
            }
        }
    }
    stops
}
