//! The places where a stylus is in the air whatever is under it: the ends of its travel, and where it
//! rests free.

use super::{AIR, NotSettled, above};
use quantity::Length;

/// This fraction of the travel at either end is air: one hundredth.
const END: i64 = 100;

/// A stylus comes back to its rest within this distance, 0.0005 in (common practice, no source). It is
/// half of the least distance between a rest and any touch.
const NEAR_REST: Length = Length::from_picometres(12_700_000);

/// A place counts as the rest once the stylus has come back to it this often between touches.
const TIMES: u32 = 3;

/// How many places are remembered; the oldest is forgotten first. A hand lifts to another height each
/// time.
const MOST_PLACES: usize = 8;

/// What is known of the air of one gauge.
#[derive(Debug, Clone)]
pub(super) struct Air {
    travel: Option<(Length, Length)>,
    /// The rest as stated.
    rest: Option<Length>,
    /// The rest as learned.
    learned: Option<Length>,
    /// Places where it stood still between touches, and how often it came back there.
    places: Vec<(Length, u32)>,
    /// Places where it stood still since the last touch.
    stood: Vec<Length>,
    /// Whether a touch came before these places.
    between: bool,
}

impl Air {
    pub(super) fn new(travel: Option<(Length, Length)>, rest: Option<Length>) -> Self {
        let (places, stood) = (Vec::new(), Vec::new());
        Self { travel, rest, learned: None, places, stood, between: false }
    }

    /// Where the stylus rests free, stated or learned.
    pub(super) fn rest(&self) -> Option<Length> {
        self.rest.or(self.learned)
    }

    /// Why a place is in the air, where that is known without knowing the surface.
    pub(super) fn holds(&self, value: Length) -> Option<NotSettled> {
        if let Some((low, high)) = self.travel {
            let end = Length::from_picometres(above(high, low).picometres() / END);
            if above(value, low) <= end || above(high, value) <= end {
                return Some(NotSettled::AtItsStop);
            }
        }
        let near = |rest: Length| apart(value, rest) <= NEAR_REST;
        self.rest().is_some_and(near).then_some(NotSettled::AtRest)
    }

    /// Notes that it stands still at a place and is not taken.
    pub(super) fn stood(&mut self, value: Length) {
        // A rest that is stated need not be learned.
        if self.rest.is_some() || !self.between {
            return;
        }
        let known = self.stood.iter().any(|place| apart(*place, value) <= NEAR_REST);
        if !known && self.stood.len() < MOST_PLACES {
            self.stood.push(value);
        }
    }

    /// Notes a touch at a place. The places it came back to since the touch before may be its rest.
    pub(super) fn touched(&mut self, value: Length) {
        for place in std::mem::take(&mut self.stood) {
            self.came_back_to(place);
        }
        self.between = true;
        // A touch, or a place near one, is not its rest.
        self.places.retain(|(place, _)| apart(*place, value) > AIR);
        self.learned = self.learned.filter(|rest| apart(*rest, value) > AIR);
        let often = self.places.iter().find(|(_, times)| *times >= TIMES);
        self.learned = self.learned.or(often.map(|(place, _)| *place));
    }

    fn came_back_to(&mut self, value: Length) {
        let known = self.places.iter_mut().find(|(place, _)| apart(*place, value) <= NEAR_REST);
        if let Some((_, times)) = known {
            *times = times.saturating_add(1);
            return;
        }
        if self.places.len() >= MOST_PLACES {
            self.places.remove(0);
        }
        self.places.push((value, 1));
    }
}

fn apart(one: Length, other: Length) -> Length {
    above(one, other).max(above(other, one))
}
