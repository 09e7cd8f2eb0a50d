//! Where a stylus is in the air whatever it is held over: at the ends of its travel, and where it
//! rests free.

use super::{AIR, NotSettled, above};
use quantity::Length;

/// One in so many parts of the travel, at either end, is air.
const END: i64 = 100;

/// A stylus comes back to its rest this closely, 0.0005 in (common practice, no source). It is half
/// of what a rest lies away from any touch at least.
const NEAR_REST: Length = Length::from_picometres(12_700_000);

/// So many times it has to come back to a place between touches until that is where it rests.
const TIMES: u32 = 3;

/// Places that are remembered; the oldest is forgotten first. A hand lifts to another height each
/// time.
const MOST_PLACES: usize = 8;

/// What is known of the air of one gauge.
#[derive(Debug, Clone)]
pub(super) struct Air {
    travel: Option<(Length, Length)>,
    /// As stated.
    rest: Option<Length>,
    /// As learned.
    learned: Option<Length>,
    /// Places where it stood still between touches, and how often it came back there.
    places: Vec<(Length, u32)>,
    /// Places where it stood still since the last touch.
    stood: Vec<Length>,
    /// Whether a touch came before these.
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

    /// Why a place is in the air, where that is known without a surface.
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

    /// It stands still at a place and is not taken.
    pub(super) fn stood(&mut self, value: Length) {
        // What is stated need not be learned.
        if self.rest.is_some() || !self.between {
            return;
        }
        let known = self.stood.iter().any(|place| apart(*place, value) <= NEAR_REST);
        if !known && self.stood.len() < MOST_PLACES {
            self.stood.push(value);
        }
    }

    /// A touch was taken at a place: what it came back to since the one before may be its rest.
    pub(super) fn touched(&mut self, value: Length) {
        for place in std::mem::take(&mut self.stood) {
            self.came_back_to(place);
        }
        self.between = true;
        // Neither a touch nor what lies next to one is where it rests.
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
