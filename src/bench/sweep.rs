//! A turn that passes under the stylus in one go: every sample is a reading, and the marks that a
//! person taps on the way round say where on the metal it lies.
//!
//! Time alone says nothing of the angle: a hand whose speed varies by 20 % within a turn would show
//! the high side up to 23 degrees away from where it is (simulated). Between two taps the speed is
//! taken as constant.

use std::sync::Arc;

use quantity::{Name, Stamp, Wall};
use serde::{Deserialize, Deserializer, Serialize, de};

use super::draft::{Answer, Draft, of_gauge};
use super::event::SweptTurn;
use super::plan::{Check, Detail, Direction, Swept};
use super::reply::{Done, Refusal};
use super::row::{AlertKind, Body, Ending, Seq, State};
use super::series::Touch;
use super::state::MOST_POSITIONS;
use super::touch::{Place, incoming, reading};

/// How far a tap may be off in time, one standard deviation (common practice, no source).
const TAP_US: u64 = 50_000;

/// The most that a hand whose speed varies by 20 % within the turn shifts an angle between so many
/// taps, degrees: `36/π·(1 − cos(180°/marks))`, half a chord of its sway; 3.4 at the quarters.
fn speed_deg(marks: usize) -> f64 {
    let share = 1.0 / micros(marks.max(1) as u64);
    36.0 / std::f64::consts::PI * (1.0 - (std::f64::consts::PI * share).cos())
}

/// When the marks of one turn were tapped, and how many samples lie between the first and the last
/// tap.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Taps {
    /// Microseconds of the monotonic clock, rising; the first and the last are those of the index
    /// mark, one turn apart.
    #[serde(deserialize_with = "in_order")]
    pub at_us: Vec<u64>,
    /// Samples that get a position; the closure is one more.
    pub samples: u32,
}

/// Taps of a turn: two at least, rising.
fn in_order<'de, D: Deserializer<'de>>(from: D) -> Result<Vec<u64>, D::Error> {
    let at_us = Vec::<u64>::deserialize(from)?;
    let rising = at_us.len() > 1 && at_us.windows(2).all(|two| two[0] < two[1]);
    if rising { Ok(at_us) } else { Err(de::Error::custom("taps do not follow one another")) }
}

impl Taps {
    /// Where the metal stood at a moment, degrees from the index mark in the order of the taps,
    /// [0, 360); `None` outside the turn.
    #[must_use]
    pub fn turned_deg(&self, at_us: u64) -> Option<f64> {
        let marks = self.at_us.len().checked_sub(1).filter(|marks| *marks > 0)?;
        let (&first, &last) = (self.at_us.first()?, self.at_us.last()?);
        if at_us < first || at_us > last {
            return None;
        }
        let passed = self.at_us.partition_point(|tap| *tap <= at_us).clamp(1, marks);
        let (from, to) = (self.at_us[passed - 1], self.at_us[passed]);
        let share = |part: u64, whole: u64| micros(part) / micros(whole.max(1));
        let since = share(at_us.saturating_sub(from), to.saturating_sub(from));
        let pitch = 360.0 / micros(marks as u64);
        Some((micros(passed as u64 - 1) + since) * pitch % 360.0)
    }

    /// Where a sample lies on the metal, counted as the check counts its marks.
    #[must_use]
    pub fn angle_deg(&self, direction: Direction, at_us: u64) -> Option<f64> {
        let turned = self.turned_deg(at_us)?;
        Some(match direction {
            Direction::CounterClockwise => turned,
            Direction::Clockwise => (360.0 - turned) % 360.0,
        })
    }

    /// Standard uncertainty of the angle of a sample, degrees: how well a tap meets its mark, and
    /// what the speed does between two taps, taken as evenly spread up to its bound.
    #[must_use]
    pub fn uncertainty_deg(&self) -> f64 {
        let marks = self.at_us.len().saturating_sub(1);
        self.tap_deg().hypot(speed_deg(marks) / 3.0_f64.sqrt())
    }

    /// The part of the turn between two marks that took longest, counted from 0, and how many times as
    /// long as the quickest it took; `None` without marks on the way round.
    #[must_use]
    pub fn slowest(&self) -> Option<(usize, f64)> {
        let parts: Vec<u64> =
            self.at_us.windows(2).map(|two| two[1].saturating_sub(two[0])).collect();
        let quickest = parts.iter().copied().min().filter(|_| parts.len() > 1)?;
        let (at, longest) =
            parts.iter().enumerate().max_by_key(|(at, part)| (**part, usize::MAX - at))?;
        Some((at, micros(*longest) / micros(quickest.max(1))))
    }

    /// How many times as long as the quickest a part of the turn between two marks took.
    #[must_use]
    pub fn times_the_quickest(&self, part: usize) -> f64 {
        let times = self.at_us.windows(2).map(|two| two[1].saturating_sub(two[0]));
        let own = times.clone().nth(part).unwrap_or(0);
        micros(own) / micros(times.min().unwrap_or(1).max(1))
    }

    /// Where the samples lie if the hand stood still in one slow part of the turn after a share of it,
    /// and moved as fast as in the quickest part otherwise; angles as on the metal, degrees.
    #[must_use]
    pub fn had_it_stood(&self, angles_deg: &[f64], (part, after): (usize, f64)) -> Vec<f64> {
        let parts: Vec<u64> =
            self.at_us.windows(2).map(|two| two[1].saturating_sub(two[0])).collect();
        let quickest = parts.iter().copied().min().unwrap_or(1);
        let times = micros(parts.get(part).copied().unwrap_or(1)) / micros(quickest.max(1));
        let pitch = 360.0 / micros(parts.len().max(1) as u64);
        let first = micros(part as u64) * pitch;
        let moved = |angle: f64| {
            let share = (angle - first) / pitch;
            if !(0.0..1.0).contains(&share) {
                return angle;
            }
            // Before it stood, while it stood, afterwards.
            let gone = (share * times).min(after).max(1.0 - (1.0 - share) * times);
            first + gone * pitch
        };
        angles_deg.iter().map(|angle| moved(*angle)).collect()
    }

    /// Standard uncertainty of where the metal stood at a tap, degrees: 0.05 s at the mean speed.
    #[must_use]
    pub fn tap_deg(&self) -> f64 {
        let turn =
            self.at_us.last().zip(self.at_us.first()).map_or(0, |(last, first)| last - first);
        360.0 * micros(TAP_US) / micros(turn.max(1))
    }

    /// The check with a position for each sample, whose angles come with the samples.
    pub(super) fn check_to_fill(&self, check: &Check) -> Check {
        let mut own = check.clone();
        own.positions = self.samples.min(MOST_POSITIONS);
        if let Some(swept) = swept_mut(&mut own) {
            swept.angles_deg = Vec::new();
        }
        own
    }

    /// A sample fills the next position of a check from [`Self::check_to_fill`].
    pub(super) fn place(&self, own: &mut Check, at_us: u64) {
        let angle = self.angle_deg(own.direction, at_us).unwrap_or_default();
        if let Some(swept) = swept_mut(own) {
            swept.angles_deg.push(angle);
        }
    }
}

fn swept_mut(check: &mut Check) -> Option<&mut Swept> {
    if let Detail::Turn(turn) = &mut check.detail { turn.swept.as_mut() } else { None }
}

/// A count of microseconds or marks as a float; a turn lasts far less than 2^53 of them.
#[expect(clippy::cast_precision_loss, reason = "below 2^53: two thousand years of microseconds")]
const fn micros(count: u64) -> f64 {
    count as f64
}

impl Draft<'_> {
    /// A tap at a mark: that a turn is under way is stored, so that a start of the service can tell
    /// that it was lost.
    pub(super) fn tapped(&mut self, station: &Name, tapped: u32) -> Answer {
        let measuring = self.stands(station)?;
        if measuring.next != Touch::Sweep {
            let text = format!("{}/{} waits for no sweep", measuring.part, measuring.check);
            return Err(Refusal::input(text, "see `tenths status`"));
        }
        let active = self.active(station);
        if let Some(id) = active {
            self.turn_is_under_way(id, tapped > 0);
        }
        let found = active.and_then(|id| self.attempt(id));
        let marks = found.and_then(|(_, job, attempt)| {
            let (_, check) = job.check_of(&attempt)?;
            Some((check.swept()?.marks, check.mark_deg(tapped)?))
        });
        let (marks, next_deg) = marks.unwrap_or((1, 0));
        Ok(Done::Tapped { tapped, marks, next_deg, measuring })
    }

    fn turn_is_under_way(&mut self, attempt: Seq, under_way: bool) {
        let before = self.attempt(attempt).is_some_and(|(_, _, state)| state.turn_under_way);
        if before != under_way {
            self.push(Body::TurnUnderWay { attempt, under_way });
        }
    }

    /// A turn under way cannot become whole: the taps to come would be taken for other marks.
    pub(super) fn turn_lost(&mut self, attempt: Seq, why: &str) {
        self.turn_is_under_way(attempt, false);
        let text = format!(
            "{}: the turn under way is lost: {why}. Begin it again: tap at mark 0.",
            self.target(attempt)
        );
        self.clear_for(attempt, AlertKind::TurnLost);
        self.raise_for(attempt, AlertKind::TurnLost, text);
    }

    /// A turn is whole: all its samples are taken, or none of them.
    pub(super) fn swept(&mut self, station: &Name, turn: &SweptTurn) -> Answer {
        let waits = self.active(station).filter(|id| self.expected(*id) == Touch::Sweep);
        let Some(id) = waits else {
            let text = format!("no turn is waited for at {station}; nothing of it was taken");
            return Err(Refusal::input(text, "begin with `tenths measure PART/CHECK`"));
        };
        let frames = || turn.samples.iter().map(|(_, frame)| frame);
        let about = frames().next().map(|frame| frame.gauge.clone());
        let wrong = frames().find_map(|frame| self.cannot_belong(frame, Some(id)));
        if let Some((kind, text)) = wrong {
            self.turn_is_under_way(id, false);
            self.suspect_turn(id, turn, (kind, text));
            let samples = u32::try_from(turn.samples.len()).unwrap_or(u32::MAX);
            let measuring = self.stands(station)?;
            return Ok(Done::Swept { samples, state: State::Suspect, measuring });
        }
        if let Some(gauge) = &about {
            self.clear_good(gauge);
        }
        if frames().any(|frame| frame.low_battery)
            && let Some(gauge) = &about
        {
            self.battery_low(gauge);
        }
        self.foot_is_over(station);
        self.take_turn(id, turn);
        self.clear_for(id, AlertKind::TurnLost);
        let over = self.attempt(id).is_some_and(|(_, _, attempt)| attempt.ending.is_some());
        if over {
            self.settle(id);
        } else {
            self.end(id, Ending::Complete);
        }
        let samples = u32::try_from(turn.samples.len()).unwrap_or(u32::MAX);
        Ok(Done::Swept { samples, state: State::Placed, measuring: self.stands(station)? })
    }

    /// Whether an attempt is a swept turn.
    pub(super) fn is_swept(&self, id: Seq) -> bool {
        let swept = self.attempt(id).and_then(|(_, job, attempt)| {
            job.check_of(&attempt).map(|(_, check)| check.swept().is_some())
        });
        swept == Some(true)
    }

    /// A turn is taken back as a whole: one sample less would be a hole that nobody can fill.
    pub(super) fn void_turn(&mut self, station: &Name, id: Seq, why: &str) -> Answer {
        let Some((_, _, attempt)) = self.attempt(id) else {
            return Err(Refusal::input("the check is gone", "see `tenths status`"));
        };
        let counts: Vec<Seq> =
            attempt.readings.iter().filter(|one| one.state.counts()).map(|one| one.id).collect();
        let over = attempt.ending.is_some();
        drop(attempt);
        for reading in &counts {
            let (reading, why) = (*reading, why.to_owned());
            self.push(Body::Marked { reading, attempt: id, state: State::Void, why });
        }
        if over {
            self.settle(id);
        }
        let samples = u32::try_from(counts.len()).unwrap_or(u32::MAX);
        Ok(Done::Swept { samples, state: State::Void, measuring: self.stands(station)? })
    }

    fn take_turn(&mut self, id: Seq, turn: &SweptTurn) {
        let Some((job, state, attempt)) = self.attempt(id) else { return };
        let closes = state.check_of(&attempt).is_some_and(|(_, check)| check.closure);
        drop((state, attempt));
        // The last sample lies where the first one did: it closes the turn.
        let filling = turn.samples.len() - usize::from(closes && turn.samples.len() > 1);
        let samples = u32::try_from(filling).unwrap_or(u32::MAX);
        let taps = Arc::new(Taps { at_us: turn.taps_us.clone(), samples });
        self.push(Body::Swept { attempt: id, taps });
        for ((at, frame), position) in turn.samples.iter().zip(0_u32..) {
            let place = if position < samples {
                Place::plain(State::Placed, Some(position))
            } else {
                Place::plain(State::Closure, Some(0))
            };
            self.push_at(*at, Body::Reading(reading(incoming(frame), Some(job), Some(id), place)));
        }
    }

    /// One sample that cannot belong spoils the turn: all are kept, none is placed.
    fn suspect_turn(&mut self, id: Seq, turn: &SweptTurn, (kind, text): (AlertKind, String)) {
        let job = self.attempt(id).map(|(job, ..)| job);
        for (at, frame) in &turn.samples {
            let place = Place { state: State::Suspect, position: None, why: Some(text.clone()) };
            self.push_at(*at, Body::Reading(reading(incoming(frame), job, Some(id), place)));
        }
        let about = turn.samples.first().map(|(_, frame)| of_gauge(&frame.gauge));
        self.raise_about(about, kind, text);
    }
}

/// The moment of a sample by both clocks, from a later moment that both are known of.
#[must_use]
pub fn earlier(now: Stamp, at_us: u64) -> Stamp {
    let before = now.mono_us.saturating_sub(at_us);
    let before = i64::try_from(before).unwrap_or(i64::MAX);
    Stamp { wall: Wall::from_micros(now.wall.micros().saturating_sub(before)), mono_us: at_us }
}
