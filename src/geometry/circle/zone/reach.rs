//! How far places are from a centre that may itself be very far away.

use super::super::vector::Vector;

/// The distance of the place farthest from the middle.
pub(super) fn size(places: &[Vector]) -> f64 {
    places.iter().map(|place| place.length()).fold(0.0, f64::max)
}

/// How much farther `place` is from `centre` than the middle is: `|c − p| − |c|`, written so that
/// no digits cancel however far away the centre is.
pub(super) fn beyond(place: Vector, centre: Vector) -> f64 {
    let (to_place, to_middle) = (place.distance(centre), centre.length());
    let sum = to_place + to_middle;
    if sum == 0.0 { 0.0 } else { (place.dot(place) - 2.0 * centre.dot(place)) / sum }
}

/// The nearest and the farthest of some places, by number, with their [`beyond`].
#[derive(Debug, Clone, Copy)]
pub(super) struct Spread {
    pub(super) near: usize,
    pub(super) far: usize,
    pub(super) low: f64,
    pub(super) high: f64,
}

impl Spread {
    /// The distance between the two circles about the centre.
    pub(super) fn width(&self) -> f64 {
        self.high - self.low
    }
}

pub(super) fn spread(places: &[Vector], centre: Vector) -> Spread {
    let mut found = Spread { near: 0, far: 0, low: f64::INFINITY, high: f64::NEG_INFINITY };
    for (number, place) in places.iter().enumerate() {
        let beyond = beyond(*place, centre);
        if beyond < found.low {
            (found.near, found.low) = (number, beyond);
        }
        if beyond > found.high {
            (found.far, found.high) = (number, beyond);
        }
    }
    found
}

/// The distance between the two circles about `centre`; `None` where it is `most` or more.
pub(super) fn width_below(places: &[Vector], centre: Vector, most: f64) -> Option<f64> {
    let (mut low, mut high) = (f64::INFINITY, f64::NEG_INFINITY);
    for place in places {
        let beyond = beyond(*place, centre);
        low = low.min(beyond);
        high = high.max(beyond);
        if high - low >= most {
            return None;
        }
    }
    Some(high - low)
}
