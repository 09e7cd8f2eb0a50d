//! Plane vectors, circles through three places, the convex hull.

/// A place, or a step from one to another.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(super) struct Vector {
    pub(super) x: f64,
    pub(super) y: f64,
}

impl Vector {
    pub(super) const fn minus(self, other: Self) -> Self {
        Self { x: self.x - other.x, y: self.y - other.y }
    }

    pub(super) const fn plus(self, other: Self) -> Self {
        Self { x: self.x + other.x, y: self.y + other.y }
    }

    pub(super) const fn times(self, factor: f64) -> Self {
        Self { x: self.x * factor, y: self.y * factor }
    }

    pub(super) const fn dot(self, other: Self) -> f64 {
        self.x * other.x + self.y * other.y
    }

    /// Positive where `other` lies to the left.
    pub(super) const fn cross(self, other: Self) -> f64 {
        self.x * other.y - self.y * other.x
    }

    /// Turned a quarter to the left.
    pub(super) const fn left(self) -> Self {
        Self { x: -self.y, y: self.x }
    }

    pub(super) fn length(self) -> f64 {
        self.x.hypot(self.y)
    }

    pub(super) fn distance(self, other: Self) -> f64 {
        self.minus(other).length()
    }
}

/// Points that are off a line by less than this share of their length count as on it: it is rounding.
const FLAT: f64 = 1e-12;

/// Whether the places, given relative to their mean, lie on one line or at one place.
pub(super) fn on_one_line(about: &[Vector]) -> bool {
    let far = about.iter().copied().max_by(|a, b| a.length().total_cmp(&b.length()));
    let Some(far) = far.filter(|far| far.length() > 0.0) else { return true };
    let along = far.times(1.0 / far.length());
    let across = about.iter().map(|place| along.cross(*place).abs()).fold(0.0, f64::max);
    across <= FLAT * far.length()
}

/// The centre of the circle through three places; `None` where they lie on one line.
pub(super) fn centre_of(one: Vector, two: Vector, three: Vector) -> Option<Vector> {
    let (a, b) = (two.minus(one), three.minus(one));
    let twice = 2.0 * a.cross(b);
    let (aa, bb) = (a.dot(a), b.dot(b));
    let step = b.times(aa).minus(a.times(bb)).left().times(-1.0 / twice);
    let centre = one.plus(step);
    (twice != 0.0 && centre.x.is_finite() && centre.y.is_finite()).then_some(centre)
}

/// The place farthest from `centre`, by number, and its distance.
pub(super) fn farthest(places: &[Vector], centre: Vector) -> (usize, f64) {
    let distances = places.iter().map(|place| place.distance(centre)).enumerate();
    distances.fold((0, f64::NEG_INFINITY), |best, next| if next.1 > best.1 { next } else { best })
}

/// The place nearest to `centre`, by number, and its distance.
pub(super) fn nearest(places: &[Vector], centre: Vector) -> (usize, f64) {
    let distances = places.iter().map(|place| place.distance(centre)).enumerate();
    distances.fold((0, f64::INFINITY), |best, next| if next.1 < best.1 { next } else { best })
}

/// The corners of the convex hull, to the left all the way round.
pub(super) fn hull(places: &[Vector]) -> Vec<Vector> {
    let mut sorted = places.to_vec();
    sorted.sort_by(|a, b| a.x.total_cmp(&b.x).then(a.y.total_cmp(&b.y)));
    let mut corners = half(sorted.iter());
    corners.pop();
    corners.extend(half(sorted.iter().rev()));
    corners.pop();
    corners
}

fn half<'a>(sorted: impl Iterator<Item = &'a Vector>) -> Vec<Vector> {
    let mut corners: Vec<Vector> = Vec::new();
    for &place in sorted {
        while let [.., from, over] = corners[..] {
            if over.minus(from).cross(place.minus(from)) > 0.0 {
                break;
            }
            corners.pop();
        }
        corners.push(place);
    }
    corners
}

/// Up to this many points all are looked at; with more, the search starts from a few.
const FEW: usize = 16;

/// Where a search by exchange starts: all of a few points, or the nearest and the farthest of each
/// eighth of the turn about `centre`.
pub(super) fn seeds(places: &[Vector], centre: Vector) -> Vec<usize> {
    if places.len() <= FEW {
        return (0..places.len()).collect();
    }
    let mut eighths: [Option<(usize, usize)>; 8] = [None; 8];
    let distance = |number: usize| places[number].distance(centre);
    for (number, place) in places.iter().enumerate() {
        let from = place.minus(centre);
        let eighth = usize::from(from.x < 0.0) << 2
            | usize::from(from.y < 0.0) << 1
            | usize::from(from.x.abs() < from.y.abs());
        let (near, far) = eighths[eighth].get_or_insert((number, number));
        if distance(number) < distance(*near) {
            *near = number;
        }
        if distance(number) > distance(*far) {
            *far = number;
        }
    }
    let mut few: Vec<usize> =
        eighths.iter().flatten().flat_map(|&(near, far)| [near, far]).collect();
    few.sort_unstable();
    few.dedup();
    few
}
