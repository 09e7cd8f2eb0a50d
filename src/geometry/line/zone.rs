//! The minimum zone of a line: the two parallel lines, closest together in `z`, that hold all
//! stations.

use super::{LineError, LineFit, ends};

/// The two parallel lines, closest together in `z`, that hold all stations, with their proof.
///
/// The contacts are the proof: two stations on one line and one on the other, its `x` between
/// theirs. Every line is at least half of `width` away from one of these three.
#[derive(Debug, Clone, PartialEq)]
pub struct LineZone {
    /// The line midway between the two.
    pub line: LineFit,
    /// The straightness, in the unit of `z`.
    pub width: f64,
    /// Two stations that touch one of the lines, by their number in the data, smaller `x` first.
    pub pair: [usize; 2],
    /// The station between them that touches the other line (one of the pair where two stations
    /// at one place make the zone, or where all stations lie on the line).
    pub opposite: usize,
}

impl LineZone {
    /// The stations that touch the upper and the lower line, by their number in the data, rising.
    #[must_use]
    pub fn contacts(&self) -> (Vec<usize>, Vec<usize>) {
        let mut contacts = self.pair.to_vec();
        contacts.push(self.opposite);
        contacts.sort_unstable();
        contacts.dedup();
        contacts.into_iter().partition(|number| self.line.residuals[*number] > 0.0)
    }
}

/// A station with its number in the data.
#[derive(Debug, Clone, Copy)]
struct Station {
    x: f64,
    z: f64,
    number: usize,
}

/// The line midway in the minimum zone: [`straightness_zone`] without its contacts.
pub fn minimum_zone_line(points: &[(f64, f64)]) -> Result<LineFit, LineError> {
    straightness_zone(points).map(|zone| zone.line)
}

/// The minimum zone of the stations `(x, z)`, the least over all lines, in O(n log n).
///
/// Its width is the longest upright chord of the convex hull: a zone must hold that chord, and the
/// two lines parallel to the hull edge that the chord meets hold everything. One end of the chord is
/// a corner, so each corner is tried against the chain of edges on the other side.
pub fn straightness_zone(points: &[(f64, f64)]) -> Result<LineZone, LineError> {
    let [first, _] = ends(points)?;
    let (lowest, highest) = outline(points, first);
    let lower = chain(&lowest, 1.0);
    let upper = chain(&highest, -1.0);
    let from_above = longest_chord(&upper, &lower);
    let from_below = longest_chord(&lower, &upper);
    let (_, at) = if from_above.0 >= from_below.0 { from_above } else { from_below };
    let contacts = across(&lower, &upper, at).chain(across(&upper, &lower, at));
    let zones = contacts.map(|(edge, opposite)| {
        let slope = (edge[1].z - edge[0].z) / (edge[1].x - edge[0].x);
        let line = lay(points, slope, first);
        let pair = [edge[0].number, edge[1].number];
        LineZone { width: line.width(), line, pair, opposite: opposite.number }
    });
    // Where the chord joins two corners, only one of the edges beside them holds everything:
    // the one of the narrowest zone.
    zones.min_by(|one, other| one.width.total_cmp(&other.width)).ok_or(LineError::OnePlace)
}

/// The lowest and the highest station at each place, by `x`, worked out from `start`.
fn outline(points: &[(f64, f64)], start: (f64, f64)) -> (Vec<Station>, Vec<Station>) {
    let mut sorted: Vec<Station> = (points.iter().enumerate())
        .map(|(number, &(x, z))| Station { x: x - start.0, z: z - start.1, number })
        .collect();
    sorted.sort_by(|a, b| a.x.total_cmp(&b.x).then(a.z.total_cmp(&b.z)));
    let places = sorted.chunk_by(|a, b| a.x.total_cmp(&b.x).is_eq());
    places.filter_map(|place| Some((*place.first()?, *place.last()?))).unzip()
}

/// The lower (`side` 1) or upper (`side` −1) corners of the hull of stations sorted by `x`.
fn chain(sorted: &[Station], side: f64) -> Vec<Station> {
    let mut corners: Vec<Station> = Vec::new();
    for &point in sorted {
        while let [.., from, over] = corners[..] {
            let turn =
                (over.x - from.x) * (point.z - from.z) - (over.z - from.z) * (point.x - from.x);
            if turn * side > 0.0 {
                break;
            }
            corners.pop();
        }
        corners.push(point);
    }
    corners
}

/// The longest distance in `z` from a corner of `corners` to the `edges`, and the `x` where it is.
///
/// Both run over the same range of `x`, so one walk over the edges serves all corners.
fn longest_chord(corners: &[Station], edges: &[Station]) -> (f64, f64) {
    let mut edge = 0;
    let mut longest = (f64::NEG_INFINITY, 0.0);
    for corner in corners {
        while edge + 2 < edges.len() && edges[edge + 1].x < corner.x {
            edge += 1;
        }
        let (from, to) = (edges[edge], edges[edge + 1]);
        let on_edge = from.z + (to.z - from.z) * ((corner.x - from.x) / (to.x - from.x));
        let length = (corner.z - on_edge).abs();
        if length > longest.0 {
            longest = (length, corner.x);
        }
    }
    longest
}

/// The corner of `corners` at `x`, with each edge of `edges` that holds `x`.
fn across<'a>(
    edges: &'a [Station],
    corners: &'a [Station],
    x: f64,
) -> impl Iterator<Item = (&'a [Station], Station)> {
    let corner = corners.iter().copied().find(|corner| corner.x.total_cmp(&x).is_eq());
    let beside = edges.windows(2).filter(move |edge| edge[0].x <= x && x <= edge[1].x);
    corner.into_iter().flat_map(move |corner| beside.clone().map(move |edge| (edge, corner)))
}

/// The line of `slope` midway between the two that hold all stations.
fn lay(points: &[(f64, f64)], slope: f64, start: (f64, f64)) -> LineFit {
    let line = LineFit::through(points, slope, start);
    let low = line.residuals.iter().copied().fold(f64::INFINITY, f64::min);
    LineFit::through(points, slope, (start.0, start.1 + low + line.width() / 2.0))
}
