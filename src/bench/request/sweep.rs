//! A turn that passes under the stylus in one go: every sample is a reading, and the marks that a person
//! taps during the turn say where on the metal it lies.

use crate::plan::Taps;
use std::sync::Arc;

use quantity::Name;

use crate::draft::{Answer, Draft, of_gauge};
use crate::event::SweptTurn;
use crate::fact::row::{AlertKind, Body, Ending, State};
use crate::fact::seq::Seq;
use crate::reply::{Done, Refusal};
use crate::request::touch::{Place, incoming, reading};
use crate::series::Touch;

impl Draft<'_> {
    /// A tap at a mark. It is stored that a turn is under way, so that the service can say after a start
    /// that the turn was lost.
    pub(crate) fn tapped(&mut self, station: &Name, tapped: u32) -> Answer {
        let measuring = self.stands(station)?;
        if measuring.next != Touch::Sweep {
            let text = format!("{}/{} does not wait for a sweep", measuring.part, measuring.check);
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

    /// Gives up a turn that can no longer be completed: further taps would be counted for the wrong marks.
    pub(crate) fn turn_lost(&mut self, attempt: Seq, why: &str) {
        self.turn_is_under_way(attempt, false);
        let text = format!(
            "{}: the turn under way is lost: {why}. Begin it again: tap at mark 0.",
            self.target(attempt)
        );
        self.clear_for(attempt, AlertKind::TurnLost);
        self.raise_for(attempt, AlertKind::TurnLost, text);
    }

    /// A turn is complete: all its samples are taken, or none.
    pub(crate) fn swept(&mut self, station: &Name, turn: &SweptTurn) -> Answer {
        let waits = self.active(station).filter(|id| self.expected(*id) == Touch::Sweep);
        let Some(id) = waits else {
            let text = format!("no sweep is expected at {station}; the turn was not taken");
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
    pub(crate) fn is_swept(&self, id: Seq) -> bool {
        let swept = self.attempt(id).and_then(|(_, job, attempt)| {
            job.check_of(&attempt).map(|(_, check)| check.swept().is_some())
        });
        swept == Some(true)
    }

    /// Takes back a whole turn: without a single sample it would have a gap that nobody can fill.
    pub(crate) fn void_turn(&mut self, station: &Name, id: Seq, why: &str) -> Answer {
        let Some((_, _, attempt)) = self.attempt(id) else {
            return Err(Refusal::input("the check is gone", "see `tenths status`"));
        };
        let counts: Vec<Seq> =
            attempt.readings.iter().filter(|one| one.state.counts()).map(|one| one.id).collect();
        let over = attempt.ending.is_some();
        drop(attempt);
        for reading in &counts {
            let (reading, why) = (*reading, why.to_owned());
            self.push(Body::Marked { reading, attempt: Some(id), state: State::Void, why });
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

    /// One sample that cannot belong spoils the turn: all samples are stored, none is placed.
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
