//! Capture "settle": a stream of samples. A value that stands still after a lift is the touch.
//!
//! A touch is a lift, in either direction, that ends on the surface and stands still. The first touch
//! teaches the level of the surface. The place where the stylus rests free and the ends of its travel
//! are air: a value there is never a touch, however still it stands (`air.rs`).
//!
//! Before the first touch the level is unknown. Then a still value is the touch only where it cannot be
//! anything else: the stylus came out of known air; or its rest is known and it came back from farther
//! away than the rest; or a trembling hand lifted it and it came back to where it stood. If it stood
//! still at two places and neither is known as air, readings alone cannot tell which is the part:
//! nothing is taken, and the person is told to take the first touch.
//! alone: nothing is taken then, and the person is told to take the first touch.

mod air;

use std::collections::VecDeque;
use std::fmt;

use self::air::Air;
use crate::Odd;
use quantity::{Length, Quoted};

/// Samples in a row that must agree (common practice, no source).
const STILL_SAMPLES: usize = 6;

/// They must also span this long: at 1 kHz, six samples alone could be the turning point of a moving
/// hand. At 30 Hz six samples span 167 ms, so at rates up to that the count alone decides.
const STILL_US: u64 = 120_000;

/// Samples within this span, 0.5 µm, always count as still (common practice, no source).
const STILL: Length = Length::from_picometres(500_000);

/// 0.001 in. Farther above the surface than this is air, farther below is off the edge (common
/// practice, no source). It is also the least height of a lift: even the high side of a part that is
/// far out stays below it, so sliding there is no lift, and a hand lifts a plunger many times as far.
const AIR: Length = Length::from_picometres(25_400_000);

/// A lift lasts at least this long. A knock rings for a shorter time (from memory); even the shortest
/// move to the next position takes several times as long.
const LIFT_US: u64 = 150_000;

/// A press of the pedal takes the sample from this long before it: the foot shakes the bench.
const FOOT_US: u64 = 200_000;

/// Without a sample for this long the stream has stopped; the next sample starts afresh.
const STOPPED_US: u64 = 1_000_000;

/// A foot that comes down this soon after a touch was taken automatically means that touch.
const JUST_TAKEN_US: u64 = 1_000_000;

/// If a person takes two values this close together, the second is a slip (common practice, no source).
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
    /// The value in the unit and with the places sent.
    pub value: Quoted,
    /// What was sent, printable.
    pub text: String,
    /// An unexpected unit or number of places.
    pub odd: Option<Odd>,
    /// The frame also said that the battery is low.
    pub low_battery: bool,
}

/// What is known of a touch that is waited for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Armed {
    /// The attempt it is for. A lift before that attempt began belongs to something else.
    pub attempt: u64,
    /// How many of its readings were taken back. After each of these a lift is needed again.
    pub voided: u64,
    /// The level of the surface, once it was touched.
    pub level: Option<Length>,
}

/// What is known of a gauge before it sends.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Stream {
    /// One step of its display.
    pub resolution: Length,
    /// The lowest and highest reading of its travel.
    pub travel: Option<(Length, Length)>,
    /// Where the stylus rests free, if stated.
    pub rest: Option<Length>,
}

/// Why there is no settled value.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NotSettled {
    /// Too few samples in the last second.
    Silent,
    /// A value was taken a moment ago, automatically or by the same hand or foot.
    JustTaken,
    /// It still moves.
    Moving {
        /// The span of the newest samples.
        by: Length,
    },
    /// It stands above the surface.
    Air {
        /// How far.
        by: Length,
    },
    /// It stands below the surface.
    OffTheEdge {
        /// How far.
        by: Length,
    },
    /// At the end of its travel.
    AtItsStop,
    /// Where it rests free.
    AtRest,
}

quantity::worded! {
    /// Why nothing is taken automatically although a touch is waited for.
    #[derive(Debug, Clone, Copy, PartialEq, Eq)]
    pub enum Waits {
        /// The stylus is in the air.
        InTheAir = "in-the-air",
        /// The stylus is below the surface.
        OffTheEdge = "off-the-edge",
        /// It stands where it stood before and was not lifted.
        SameSpot = "same-spot",
        /// It cannot be told whether it stands on the part or in the air.
        Unsure = "unsure",
    }
}

/// What the stylus did since the last touch, or since the attempt began.
#[derive(Debug, Clone, Copy, Default)]
struct Since {
    /// The greatest height that was held as long as a lift lasts.
    high: Option<Length>,
    /// The least height that was held as long as a lift lasts.
    low: Option<Length>,
    /// It was in known air for as long as a lift lasts.
    aired: bool,
    /// The lowest and the highest place where it stood still outside known air.
    still: Option<(Length, Length)>,
}

/// The stream of one gauge.
#[derive(Debug, Clone)]
pub struct Settle {
    /// The largest span of samples that counts as still.
    still: Length,
    air: Air,
    /// The newest samples, oldest first.
    recent: VecDeque<Sample>,
    /// The attempt and number of takes back that the newest sample was armed for.
    armed: Option<(u64, u64)>,
    since: Since,
    /// When a touch was last taken automatically.
    taken_us: Option<u64>,
    /// When a person last took a touch.
    asked_us: Option<u64>,
}

impl Settle {
    /// A stream without touches so far. It takes nothing until a lift.
    #[must_use]
    pub fn new(stream: Stream) -> Self {
        let step = stream.resolution.abs().picometres();
        let still = STILL.max(Length::from_picometres(step.saturating_mul(2)));
        Self {
            still,
            air: Air::new(stream.travel, stream.rest),
            recent: VecDeque::new(),
            armed: None,
            since: Since::default(),
            taken_us: None,
            asked_us: None,
        }
    }

    /// Takes in a sample. Returns the frame to take if this completes a touch.
    pub fn sample(&mut self, sample: Sample, armed: Option<Armed>) -> Option<Sample> {
        self.keep(sample);
        let armed_for = armed.map(|armed| (armed.attempt, armed.voided));
        if armed_for != self.armed {
            self.armed = armed_for;
            self.since = Since::default();
        }
        let armed = armed?;
        self.follow();
        // Almost every sample ends here: there was no lift since the last touch.
        let newest = self.recent.back()?.value.length;
        if !self.lifted_from(newest, armed.level) {
            self.stands();
            return None;
        }
        let found = self.median_of_still().ok().cloned();
        let taken = found.filter(|found| self.is_touch(found.value.length, armed.level).is_ok());
        if taken.is_none() {
            self.stands();
            return None;
        }
        self.taken_us = self.recent.back().map(|newest| newest.at_us);
        self.touched(taken.as_ref()?.value.length);
        taken
    }

    /// A person took a touch: a lift is needed before the next one is taken automatically.
    pub fn taken(&mut self, now_us: u64, value: Length) {
        self.touched(value);
        self.asked_us = Some(now_us);
    }

    fn touched(&mut self, value: Length) {
        self.air.touched(value);
        self.since = Since::default();
    }

    /// Whether a person took a touch just before this one.
    fn slips(&self, now_us: u64) -> bool {
        self.asked_us.is_some_and(|asked| now_us.saturating_sub(asked) < TWICE_US)
    }

    /// The line was lost: the next sample starts afresh.
    pub fn lost(&mut self) {
        self.recent.clear();
        self.since = Since::default();
    }

    /// Why nothing is taken automatically now; `None` while the stylus moves or just after a touch.
    #[must_use]
    pub fn waits(&self, armed: Armed) -> Option<Waits> {
        let newest = self.recent.back()?;
        let (now_us, value) = (newest.at_us, newest.value.length);
        let just = |us: Option<u64>| us.is_some_and(|us| now_us.saturating_sub(us) < JUST_TAKEN_US);
        if just(self.taken_us) || just(self.asked_us) {
            return None;
        }
        if self.air.holds(value).is_some() {
            return Some(Waits::InTheAir);
        }
        match armed.level.and_then(|level| off_the_surface(value, level)) {
            Some(NotSettled::OffTheEdge { .. }) => return Some(Waits::OffTheEdge),
            Some(_) => return Some(Waits::InTheAir),
            None => {}
        }
        self.still_for().ok()?;
        let lifted = self.lifted_from(value, armed.level);
        Some(if lifted { Waits::Unsure } else { Waits::SameSpot })
    }

    /// The value that stands still now, for a person who asks for it; no lift is needed.
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
        self.on_the_surface(found.value.length, level)?;
        Ok(found)
    }

    /// The newest sample from before a foot came down. Samples after that are shaken by the foot.
    ///
    /// # Errors
    /// When no sample is recent enough, or it is not on the surface.
    pub fn before_foot(&self, at_us: u64, level: Option<Length>) -> Result<&Sample, NotSettled> {
        let by_itself = |taken_us: u64| at_us.saturating_sub(taken_us) < JUST_TAKEN_US;
        if self.taken_us.is_some_and(by_itself) || self.slips(at_us) {
            return Err(NotSettled::JustTaken);
        }
        let before = at_us.saturating_sub(FOOT_US);
        let found = self.recent.iter().rev().find(|sample| sample.at_us <= before);
        let fresh = |sample: &&Sample| before.saturating_sub(sample.at_us) <= STOPPED_US;
        let found = found.filter(fresh).ok_or(NotSettled::Silent)?;
        self.on_the_surface(found.value.length, level)?;
        Ok(found)
    }

    /// Whether a place can be the surface at all.
    fn on_the_surface(&self, value: Length, level: Option<Length>) -> Result<(), NotSettled> {
        if let Some(why) = self.air.holds(value) {
            return Err(why);
        }
        level.and_then(|level| off_the_surface(value, level)).map_or(Ok(()), Err)
    }

    /// Notes how high the stylus was held just now.
    fn follow(&mut self) {
        let Some((low, high, aired)) = self.held_now() else { return };
        // The lowest point of a high stretch was held all along, and so was the highest point of a low one.
        self.since.high = self.since.high.max(Some(low));
        self.since.low = Some(self.since.low.map_or(high, |held| held.min(high)));
        self.since.aired |= aired;
    }

    /// Notes a place where it stands still without being taken.
    fn stands(&mut self) {
        let Ok(count) = self.still_for() else { return };
        let newest = self.recent.iter().rev().take(count).map(|sample| sample.value.length);
        let Some(low) = newest.min() else { return };
        self.air.stood(low);
        if self.air.holds(low).is_none() {
            let (least, most) = self.since.still.unwrap_or((low, low));
            self.since.still = Some((least.min(low), most.max(low)));
        }
    }

    /// Whether the stylus was lifted away from a place, in either direction, since the last touch.
    fn lifted_from(&self, value: Length, level: Option<Length>) -> bool {
        let about = level.unwrap_or(value);
        let far = |held: Option<Length>, over: bool| {
            held.is_some_and(|held| {
                let by = if over { above(held, about) } else { above(about, held) };
                by > AIR
            })
        };
        self.since.aired || far(self.since.high, true) || far(self.since.low, false)
    }

    /// Whether a place where the stylus stands still after a lift is the touch.
    fn is_touch(&self, value: Length, level: Option<Length>) -> Result<(), Waits> {
        if self.on_the_surface(value, level).is_err() {
            return Err(Waits::InTheAir);
        }
        if level.is_some() || self.since.aired {
            return Ok(());
        }
        if let Some(rest) = self.air.rest() {
            // A touch moves the stylus away from its rest; a hand lifts it farther in the same direction.
            let further = if value > rest {
                self.since.high.is_some_and(|high| above(high, value) > AIR)
            } else {
                self.since.low.is_some_and(|low| above(value, low) > AIR)
            };
            return if further { Ok(()) } else { Err(Waits::Unsure) };
        }
        // It stood still nowhere else: it came back from a trembling hand.
        let (least, most) = self.since.still.unwrap_or((value, value));
        let alone = above(value, least) <= AIR && above(most, value) <= AIR;
        if alone { Ok(()) } else { Err(Waits::Unsure) }
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

    /// The lowest and the highest place in the time of one lift up to now, and whether all of them were
    /// known air.
    fn held_now(&self) -> Option<(Length, Length, bool)> {
        let now_us = self.recent.back()?.at_us;
        let mut span: Option<(Length, Length)> = None;
        let mut aired = true;
        for sample in self.recent.iter().rev() {
            let value = sample.value.length;
            let (low, high) = span.map_or((value, value), |(l, h)| (l.min(value), h.max(value)));
            span = Some((low, high));
            aired = aired && self.air.holds(value).is_some();
            if now_us.saturating_sub(sample.at_us) >= LIFT_US {
                return Some((low, high, aired));
            }
        }
        None
    }

    /// How many of the newest samples agree and are looked at together.
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

    /// The median frame of the newest samples, if they agree. For an even number it is the lower one of the
    /// middle two.
    fn median_of_still(&self) -> Result<&Sample, NotSettled> {
        let count = self.still_for()?;
        let mut window: Vec<&Sample> = self.recent.iter().rev().take(count).collect();
        window.sort_by_key(|sample| sample.value.length);
        Ok(window[(count - 1) / 2])
    }
}

/// Why a value is not on the surface, if it is not.
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

/// How far one length lies above another. If the difference does not fit (no gauge gets near that), the
/// largest length is returned.
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
            Self::AtItsStop => f.write_str("it stands at the end of its travel: in the air"),
            Self::AtRest => f.write_str("it stands where the stylus rests free: in the air"),
        }
    }
}

#[cfg(test)]
mod tests;
