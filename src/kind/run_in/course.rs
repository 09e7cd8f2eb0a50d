//! The course of a run-in: its steps of speed, the places that are watched, and when a person is called. It is
//! all that others ask of a run-in: a log is kept, told and drawn by it.

use quantity::{Length, Name};

/// What a run-in is made of, and what it is judged by. Temperatures are degrees Celsius, each carried as a
/// millimetre; times are milliseconds.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Course {
    /// The steps of speed, in order.
    pub steps: Vec<Speed>,
    /// The places whose temperature is watched; the last one is the room.
    pub places: Vec<Place>,
    /// A place warmer than this calls a person.
    pub max: Option<Length>,
    /// A place that rises by more than this in a minute calls a person.
    pub rate: Option<Length>,
    /// The rule of steady: no more change than this, in so long.
    pub steady: Option<(Length, u64)>,
    /// No spindle is warmer than this: such a value is refused.
    pub ceiling: Length,
    /// Without a reading for so long there is a gap; `None` where the plan does not say.
    pub gap_ms: Option<u64>,
    /// A sensor that shows the same digits for so long although the speed changed is frozen.
    pub frozen_ms: u64,
    /// Standard uncertainty of one thermometer; `None` where nobody states it.
    pub u: Option<Length>,
}

/// One step of speed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Speed {
    /// Revolutions a minute.
    pub rpm: u32,
    /// How long it is to run, milliseconds.
    pub ms: u64,
}

/// A place whose temperature is watched.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Place {
    /// Its name.
    pub name: String,
    /// The thermometer that sends it; without one it is keyed in.
    pub thermometer: Option<Name>,
}

/// A gap of a sensor, and of what is keyed in, where the plan does not say (common practice, no source).
const GAP_MS: [u64; 2] = [120_000, 900_000];

impl Course {
    /// The number of the room among the places.
    #[must_use]
    pub fn room(&self) -> u16 {
        u16::try_from(self.places.len().saturating_sub(1)).unwrap_or(u16::MAX)
    }

    /// How long a place may be without a reading before that is a gap.
    #[must_use]
    pub fn gap_of(&self, place: u16) -> u64 {
        let sensor = self.places.get(usize::from(place)).is_some_and(|p| p.thermometer.is_some());
        self.gap_ms.unwrap_or(GAP_MS[usize::from(!sensor)])
    }

    /// At least so often a reading is kept, whatever it shows: once a minute, and twice in a gap.
    #[must_use]
    pub fn kept_every(&self, place: u16) -> u64 {
        (self.gap_of(place) / 2).clamp(1, 60_000)
    }

    /// The name of a place.
    #[must_use]
    pub fn place(&self, place: u16) -> &str {
        self.places.get(usize::from(place)).map_or("", |place| place.name.as_str())
    }
}
