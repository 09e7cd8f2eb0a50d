//! Capture "settle": a stream of samples, of which the one that stands still after a lift is the
//! touch.
//!
//! A touch is a lift that comes down and stands still. What was touched first teaches the level of
//! the surface; before that no level is known, and the same rule holds against the value that
//! stands still: the plunger must have been held more than the air limit above it. So a plunger
//! that is parked in the air, hangs free, or rests on the part since before the check began is
//! never the first touch, however still it stands: nothing was ever above it. What cannot be told
//! from it before the first touch is a stylus that slides off the part's edge and stays there.

use std::collections::VecDeque;
use std::fmt;

use crate::gauge::Odd;
use crate::quantity::{Length, Quoted};

/// Samples in a row that must agree (common practice, no source).
const STILL_SAMPLES: usize = 6;

/// They must also span this long: six samples of a stream of 1 kHz would be the turning point of
/// a moving hand. At 30 Hz six samples span 167 ms, so up to there the count alone decides.
const STILL_US: u64 = 120_000;

/// The least span that counts as still, 0.5 µm (common practice, no source).
const STILL: Length = Length::from_picometres(500_000);

/// 0.001 in. Further above the surface is air, as far below it is off the edge (common practice,
/// no source). It is the height of a lift, too: the high side of a part that is far out still lies
/// below it, so that sliding there is no lift, and a plunger lifted by hand goes many times as far.
const AIR: Length = Length::from_picometres(25_400_000);

/// A lift lasts at least this long. A knock rings for less (from memory); the shortest way to the
/// next position takes several times as long.
const LIFT_US: u64 = 150_000;

/// A press of the pedal takes the sample from this long before it: the foot shakes the bench.
const FOOT_US: u64 = 200_000;

/// Without a sample for this long the stream has stopped, and what comes next begins anew.
const STOPPED_US: u64 = 1_000_000;

/// A foot that comes down this soon after a touch was taken by itself means that touch.
const JUST_TAKEN_US: u64 = 1_000_000;

/// Two takes of a person this close are one that slipped (common practice, no source).
const TWICE_US: u64 = 300_000;

/// How far back samples are kept: a little more than the longest look back.
const KEPT_US: u64 = 250_000;

/// The most samples that are kept, whatever the rate.
const MOST_KEPT: usize = 1024;

/// One good frame of a stream.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Sample {
    /// When it arrived, in the microseconds the caller counts.
    pub at_us: u64,
    /// In the unit and with the places sent.
    pub value: Quoted,
    /// What was sent, printable.
    pub as_sent: String,
    /// A unit, or places, other than expected.
    pub odd: Option<Odd>,
    /// The frame also said that the battery is low.
    pub low_battery: bool,
}

/// A touch is waited for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Armed {
    /// What it is for: a lift before this began belongs to something else.
    pub attempt: u64,
    /// The level of the surface, once it was touched.
    pub level: Option<Length>,
}

/// Why there is no settled value.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NotSettled {
    /// Too few samples in the last second.
    Silent,
    /// It was taken a moment ago, by itself or by the same hand or foot.
    JustTaken,
    /// It still moves.
    Moving {
        /// By so much among the newest samples.
        by: Length,
    },
    /// So far above the surface.
    Air {
        /// How far.
        by: Length,
    },
    /// So far below the surface.
    OffTheEdge {
        /// How far.
        by: Length,
    },
}

/// The stream of one gauge.
#[derive(Debug, Clone)]
pub struct Settle {
    /// The largest span that is still.
    still: Length,
    /// The newest samples, oldest first.
    recent: VecDeque<Sample>,
    /// What the newest sample was armed for.
    attempt: Option<u64>,
    /// The greatest height that was held for the time of a lift since the last touch, or since
    /// the attempt began.
    held: Option<Length>,
    /// When a touch was last taken by itself.
    taken_us: Option<u64>,
    /// When a person last took a touch.
    asked_us: Option<u64>,
}

impl Settle {
    /// A stream of a gauge with this resolution. It is disarmed until a lift.
    #[must_use]
    pub fn new(resolution: Length) -> Self {
        let step = resolution.abs().picometres();
        let still = STILL.max(Length::from_picometres(step.saturating_mul(2)));
        Self {
            still,
            recent: VecDeque::new(),
            attempt: None,
            held: None,
            taken_us: None,
            asked_us: None,
        }
    }

    /// A sample arrived; the frame to take, if it completes a touch.
    pub fn sample(&mut self, sample: Sample, armed: Option<Armed>) -> Option<Sample> {
        self.keep(sample);
        let attempt = armed.map(|armed| armed.attempt);
        if attempt != self.attempt {
            self.attempt = attempt;
            self.held = None;
        }
        let armed = armed?;
        self.held = self.held.max(self.held_now());
        // Almost every sample ends here: nothing was lifted since the last touch.
        let newest = self.recent.back()?.value.length;
        let about = armed.level.unwrap_or(newest);
        if self.held.is_none_or(|held| held <= about) {
            return None;
        }
        let found = self.median_of_still().ok()?;
        let value = found.value.length;
        let level = armed.level.unwrap_or(value);
        let lifted = self.held.is_some_and(|held| above(held, level) > AIR);
        if !lifted || off_the_surface(value, level).is_some() {
            return None;
        }
        let found = found.clone();
        self.held = None;
        self.taken_us = self.recent.back().map(|newest| newest.at_us);
        Some(found)
    }

    /// A person took a touch: the next one that is taken by itself needs a lift.
    pub fn taken(&mut self, now_us: u64) {
        self.held = None;
        self.asked_us = Some(now_us);
    }

    /// Whether a person took a touch right before.
    fn slips(&self, now_us: u64) -> bool {
        self.asked_us.is_some_and(|asked| now_us.saturating_sub(asked) < TWICE_US)
    }

    /// The line was lost: what comes next begins anew.
    pub fn lost(&mut self) {
        self.recent.clear();
        self.held = None;
    }

    /// The value that stands still now, for a person who asks for it: no lift is needed.
    ///
    /// # Errors
    /// Why there is none.
    pub fn settled(&self, now_us: u64, level: Option<Length>) -> Result<&Sample, NotSettled> {
        if self.slips(now_us) {
            return Err(NotSettled::JustTaken);
        }
        let newest = self.recent.back().ok_or(NotSettled::Silent)?;
        if now_us.saturating_sub(newest.at_us) > STOPPED_US {
            return Err(NotSettled::Silent);
        }
        let found = self.median_of_still()?;
        match level.and_then(|level| off_the_surface(found.value.length, level)) {
            Some(why) => Err(why),
            None => Ok(found),
        }
    }

    /// The newest sample from before a foot came down, which shakes the bench.
    ///
    /// # Errors
    /// None is fresh, or it is not on the surface.
    pub fn before_foot(&self, at_us: u64, level: Option<Length>) -> Result<&Sample, NotSettled> {
        let by_itself = |taken_us: u64| at_us.saturating_sub(taken_us) < JUST_TAKEN_US;
        if self.taken_us.is_some_and(by_itself) || self.slips(at_us) {
            return Err(NotSettled::JustTaken);
        }
        let before = at_us.saturating_sub(FOOT_US);
        let found = self.recent.iter().rev().find(|sample| sample.at_us <= before);
        let fresh = |sample: &&Sample| before.saturating_sub(sample.at_us) <= STOPPED_US;
        let found = found.filter(fresh).ok_or(NotSettled::Silent)?;
        match level.and_then(|level| off_the_surface(found.value.length, level)) {
            Some(why) => Err(why),
            None => Ok(found),
        }
    }

    fn keep(&mut self, sample: Sample) {
        let now_us = sample.at_us;
        let follows = self.recent.back().is_none_or(|last| {
            let alike = last.value.unit == sample.value.unit
                && last.value.places == sample.value.places
                && last.odd == sample.odd;
            alike && now_us.saturating_sub(last.at_us) <= STOPPED_US
        });
        if !follows {
            self.recent.clear();
        }
        self.recent.push_back(sample);
        let spare = |recent: &VecDeque<Sample>| {
            let second = recent.get(1).map_or(now_us, |second| second.at_us);
            recent.len() > STILL_SAMPLES && now_us.saturating_sub(second) >= KEPT_US
        };
        while spare(&self.recent) || self.recent.len() > MOST_KEPT {
            self.recent.pop_front();
        }
    }

    /// The height that was held for the time of a lift until now.
    fn held_now(&self) -> Option<Length> {
        let now_us = self.recent.back()?.at_us;
        let mut lowest: Option<Length> = None;
        for sample in self.recent.iter().rev() {
            let value = sample.value.length;
            lowest = Some(lowest.map_or(value, |lowest| lowest.min(value)));
            if now_us.saturating_sub(sample.at_us) >= LIFT_US {
                return lowest;
            }
        }
        None
    }

    /// How many of the newest samples are looked at together, when they agree.
    fn still_for(&self) -> Result<usize, NotSettled> {
        let now_us = self.recent.back().ok_or(NotSettled::Silent)?.at_us;
        let mut span: Option<(Length, Length)> = None;
        for (before, sample) in self.recent.iter().rev().enumerate() {
            let value = sample.value.length;
            let (low, high) = span.map_or((value, value), |(l, h)| (l.min(value), h.max(value)));
            span = Some((low, high));
            let by = above(high, low);
            if by > self.still {
                return Err(NotSettled::Moving { by });
            }
            let long = now_us.saturating_sub(sample.at_us) >= STILL_US;
            if before + 1 >= STILL_SAMPLES && long {
                return Ok(before + 1);
            }
        }
        Err(NotSettled::Silent)
    }

    /// The median frame of the newest samples, when they agree. Of an even number of frames it is
    /// the lower one in the middle.
    fn median_of_still(&self) -> Result<&Sample, NotSettled> {
        let count = self.still_for()?;
        let mut window: Vec<&Sample> = self.recent.iter().rev().take(count).collect();
        window.sort_by_key(|sample| sample.value.length);
        Ok(window[(count - 1) / 2])
    }
}

/// Why a value is not on the surface.
fn off_the_surface(value: Length, level: Length) -> Option<NotSettled> {
    let (over, under) = (above(value, level), above(level, value));
    if over > AIR {
        Some(NotSettled::Air { by: over })
    } else if under > AIR {
        Some(NotSettled::OffTheEdge { by: under })
    } else {
        None
    }
}

/// How far one length lies above another. Lengths of a gauge never reach the end of their range;
/// one that did would be as far away as can be told.
fn above(high: Length, low: Length) -> Length {
    Length::from_picometres(high.picometres().saturating_sub(low.picometres()))
}

impl fmt::Display for NotSettled {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Silent => f.write_str("it has not sent enough samples in the last second"),
            Self::JustTaken => f.write_str("it was taken a moment ago"),
            Self::Moving { .. } => f.write_str("it does not stand still"),
            Self::Air { .. } => {
                f.write_str("it stands more than 0.001 in above the surface: in the air")
            }
            Self::OffTheEdge { .. } => {
                f.write_str("it stands more than 0.001 in below the surface: off the edge")
            }
        }
    }
}

#[cfg(test)]
mod tests;
