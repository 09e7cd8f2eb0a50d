//! The least zone of a few places, by trying every set of contacts.

use super::super::vector::{Vector, hull};
use super::reach::{spread, width_below};

/// What holds a few places closest.
pub(super) enum Least {
    Ring(Ring),
    /// Two straight lines: the direction across them, and how far they are apart.
    Strip {
        across: Vector,
        width: f64,
    },
}

pub(super) struct Ring {
    pub(super) centre: Vector,
    pub(super) width: f64,
}

impl Least {
    pub(super) const fn width(&self) -> f64 {
        match self {
            Self::Ring(Ring { width, .. }) | Self::Strip { width, .. } => *width,
        }
    }

    /// The places that stand out of it the most; none where all are held to within `allowed`.
    pub(super) fn stand_out(&self, places: &[Vector], allowed: f64) -> Vec<usize> {
        match self {
            Self::Ring(ring) => {
                let all = spread(places, ring.centre);
                let held = all.width() <= ring.width + allowed;
                if held { Vec::new() } else { vec![all.near, all.far] }
            }
            Self::Strip { across, width } => {
                let (low, high) = extremes(places, *across);
                let apart = across.dot(places[high].minus(places[low]));
                if apart <= width + allowed { Vec::new() } else { vec![low, high] }
            }
        }
    }
}

/// The least zone of the places; `None` where they do not go round anything.
///
/// At the least one the bisector of two outer contacts crosses that of two inner ones. Every such
/// crossing is tried, and its width is taken over all places, whether they are what they were tried
/// as or not: ties and rounding can then hide no centre. Only corners of the hull can be outer.
pub(super) fn least(places: &[Vector]) -> Option<Least> {
    let corners = hull(places);
    let number = |corner: &Vector| places.iter().position(|place| place == corner);
    let corners: Vec<usize> = corners.iter().filter_map(number).collect();
    let (across, strip) = strip(places, &corners)?;
    let mut best: Option<Ring> = None;
    let inner: Vec<Bisector> = bisectors(places, &(0..places.len()).collect::<Vec<usize>>());
    for outer in bisectors(places, &corners) {
        for inner in &inner {
            let most = best.as_ref().map_or(strip, |best| best.width);
            let Some(centre) = outer.meets(inner) else { continue };
            let apart = outer.place.distance(centre) - inner.place.distance(centre);
            // Quick, and rough by rounding: far centres are looked at all the same.
            if apart > most + ROUGH * centre.length() || apart < -ROUGH * centre.length() {
                continue;
            }
            if let Some(width) = width_below(places, centre, most) {
                best = Some(Ring { centre, width });
            }
        }
    }
    Some(best.map_or(Least::Strip { across, width: strip }, Least::Ring))
}

/// A difference of two distances is rough by this share of them.
const ROUGH: f64 = 1e-14;

/// The centres from which two places are equally far: `step·c = level`.
struct Bisector {
    place: Vector,
    step: Vector,
    level: f64,
}

fn bisectors(places: &[Vector], among: &[usize]) -> Vec<Bisector> {
    let pairs = among
        .iter()
        .enumerate()
        .flat_map(|(k, &one)| among[..k].iter().map(move |&other| [other, one]));
    let bisector = |pair: [usize; 2]| {
        let [one, other] = pair.map(|number| places[number]);
        let step = other.minus(one);
        let level = step.dot(one.plus(other)) / 2.0;
        (step != Vector::default()).then_some(Bisector { place: one, step, level })
    };
    pairs.filter_map(bisector).collect()
}

impl Bisector {
    fn meets(&self, other: &Self) -> Option<Vector> {
        let parts = self.step.cross(other.step);
        let along = other.step.times(self.level).minus(self.step.times(other.level));
        let centre = Vector { x: along.y, y: -along.x }.times(1.0 / parts);
        (parts != 0.0 && centre.x.is_finite() && centre.y.is_finite()).then_some(centre)
    }
}

/// The narrowest pair of parallel lines that hold the places: one lies along an edge of the hull.
fn strip(places: &[Vector], corners: &[usize]) -> Option<(Vector, f64)> {
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
fn extremes(places: &[Vector], along: Vector) -> (usize, usize) {
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
