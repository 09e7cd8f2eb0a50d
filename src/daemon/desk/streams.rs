//! Streams on the deciding thread: which samples become readings, and `take`.
//!
//! What a gauge is armed for follows from the bench: it is armed while the check on the screen of its
//! station is measured with it and waits for a touch. The level of the surface follows from the bench too,
//! so that after a start in the middle of a ring the work goes on.

use std::collections::{BTreeMap, BTreeSet};

use super::asked::{Beside, Waiting};
use super::foot::Footing;
use super::{After, Desk, sweeps};
use crate::input::{Captured, Change};
use crate::record::Record;
use bench::event::Frame;
use bench::plan::Check;
use bench::row::{Question, State};
use bench::series::{Touch, next_touch};
use bench::setup::Setup;
use bench::{Attempt, Bench, Command, Event, ProofTouch, Proving, Refusal, Seq};
use gauge::{Armed, Capture, Kind, Outcome, Sample, Settle, Stream, Sweep};
use intake::Asks;
use quantity::{Length, Name, Stamp};

/// What the deciding thread knows of pedals, and of gauges whose frames are not readings by themselves.
pub(super) struct Streams {
    pub(super) captures: BTreeMap<Name, Captured>,
    pub(super) settling: BTreeMap<Name, Settle>,
    pub(super) sweeping: BTreeMap<Name, Sweep>,
    /// Gauges whose line is open, as of the newest news.
    pub(super) live: BTreeSet<Name>,
    /// Gauges that were asked, and who waits for the answer.
    pub(super) waiting: BTreeMap<Name, Waiting>,
    /// Frames that gauges sent without being asked.
    pub(super) beside: BTreeMap<Name, Beside>,
    /// The pedals, by station.
    pub(super) feet: BTreeMap<Name, Footing>,
    pub(super) asks: Asks,
    /// What each gauge is armed for, and the row of the bench it was worked out from.
    armed: BTreeMap<Name, (Seq, Option<Armed>)>,
    /// The row of the bench that the list of gauges waited for was worked out from.
    heeded_as_of: Option<Seq>,
}

impl Streams {
    pub(super) fn new(asks: Asks) -> Self {
        Self {
            captures: BTreeMap::new(),
            settling: BTreeMap::new(),
            sweeping: BTreeMap::new(),
            live: BTreeSet::new(),
            waiting: BTreeMap::new(),
            beside: BTreeMap::new(),
            feet: BTreeMap::new(),
            asks,
            armed: BTreeMap::new(),
            heeded_as_of: None,
        }
    }

    /// Forgets what was seen of a gauge that is now set up differently.
    pub(super) fn forget_changed(&mut self, before: &Setup, now: &Setup) {
        let same = |name: &Name| before.gauges.get(name) == now.gauges.get(name);
        self.settling.retain(|name, _| same(name));
        self.sweeping.retain(|name, _| same(name));
        self.beside.retain(|name, _| same(name));
    }

    /// Follows a new configuration. A stream whose gauge stays the same goes on.
    pub(super) fn follow(&mut self, captures: BTreeMap<Name, Captured>) {
        let before = std::mem::replace(&mut self.captures, captures);
        self.armed.clear();
        self.heeded_as_of = None;
        self.settling.retain(|name, _| self.captures.get(name) == before.get(name));
        sweeps::follow(&mut self.sweeping, &before, &self.captures);
        for (name, captured) in &self.captures {
            if settles(captured) {
                let Captured { resolution, travel, rest, .. } = *captured;
                let new = || Settle::new(Stream { resolution, travel, rest });
                self.settling.entry(name.clone()).or_insert_with(new);
            }
        }
        self.settling.retain(|name, _| self.captures.get(name).is_some_and(settles));
    }
}

/// Whether touches of a gauge are taken when its stream settles. A gauge for sweeping settles too.
fn settles(captured: &Captured) -> bool {
    matches!(captured.capture, Capture::Settle | Capture::Sweep)
}

impl<R: Record> Desk<R> {
    /// Takes in a frame. Returns it if it still has to be handled as a frame of a button.
    pub(super) fn captured(
        &mut self,
        at: Stamp,
        gauge: &Name,
        outcome: Outcome,
    ) -> Option<Outcome> {
        match self.streams.captures.get(gauge).map(|captured| captured.capture) {
            None | Some(Capture::Send) => Some(outcome),
            Some(Capture::Settle | Capture::Sweep) => self.sample(at, gauge, outcome),
            Some(Capture::Request) => self.answered(at, gauge, outcome),
        }
    }

    /// A sample of a stream. It is counted as idle, and counted again as a reading if it is taken.
    fn sample(&mut self, at: Stamp, gauge: &Name, outcome: Outcome) -> Option<Outcome> {
        let sample = match sample_of(at, outcome) {
            Ok(sample) => sample,
            Err(other) => return Some(other),
        };
        self.ledger.tallies.idle(gauge, at, sample.value);
        self.sweep_sample(at, gauge, &sample);
        let armed = self.armed(gauge);
        let settle = self.streams.settling.get_mut(gauge)?;
        let taken = settle.sample(sample, armed);
        let waits = armed.map(|armed| (armed.attempt, settle.waits(armed)));
        self.ledger.tallies.waits(gauge, waits);
        let taken = taken?;
        // A foot that is down meant this touch too.
        self.forget_frozen(gauge);
        self.take_sample(at, gauge, taken);
        None
    }

    /// A frame that was counted as idle becomes a reading.
    pub(super) fn take_sample(&mut self, at: Stamp, gauge: &Name, sample: Sample) {
        self.happened(at, &Event::Frame(frame_of(gauge, sample)));
        self.batch.after.push(After::Regain(gauge.clone(), 1));
    }

    /// Tells the ports whose samples are waited for.
    pub(super) fn heed(&mut self) {
        if self.streams.heeded_as_of == Some(self.bench.last) {
            return;
        }
        self.streams.heeded_as_of = Some(self.bench.last);
        let waiting = self.setup.stations.iter().filter_map(|set| {
            let turn = self.waits_for_turn(&set.name).map(|waited| waited.gauge);
            turn.or_else(|| {
                let gauge = self.measured_with(&set.name)?;
                armed_for(&self.bench, &self.setup, &gauge).map(|_| gauge)
            })
        });
        self.streams.asks.heed(waiting.collect());
    }

    /// What a gauge is armed for.
    pub(super) fn armed(&mut self, gauge: &Name) -> Option<Armed> {
        let last = self.bench.last;
        if let Some((as_of, armed)) = self.streams.armed.get(gauge)
            && *as_of == last
        {
            return *armed;
        }
        let armed = armed_for(&self.bench, &self.setup, gauge);
        self.streams.armed.insert(gauge.clone(), (last, armed));
        armed
    }

    /// The gauge for the check on a station's screen.
    pub(super) fn measured_with(&self, station: &Name) -> Option<Name> {
        if let Some(proving) = &self.bench.stations.get(station)?.proving {
            return Some(proving.began.gauge.name.clone());
        }
        let (_, job, attempt) = self.bench.attempt(self.bench.stations.get(station)?.attempt?)?;
        job.check_of(attempt)?.1.gauge.clone()
    }

    /// Finds the value for a `take`. A request that waits for a gauge or is refused is kept here; any other
    /// is returned, with the value if it was a `take`.
    pub(super) fn value_for(&mut self, mut change: Change) -> Option<Change> {
        if !matches!(change.request.command, Command::Take { .. }) {
            return Some(change);
        }
        let Some(gauge) = self.meant_gauge(change.request.station.as_deref()) else {
            return Some(change);
        };
        // Without an open touch, the bench says why nothing can be taken.
        let Some(armed) = self.armed(&gauge) else { return Some(change) };
        let found = match self.streams.captures.get(&gauge).map(|captured| captured.capture) {
            Some(Capture::Settle | Capture::Sweep) => {
                self.settled_now(change.at, &gauge, armed.level)
            }
            Some(Capture::Request) => match self.ask(change.at, &gauge) {
                Ok(()) => {
                    self.streams.waiting.insert(gauge, Waiting::Person(change));
                    return None;
                }
                Err(refusal) => Err(refusal),
            },
            Some(Capture::Send) | None => Err(Refusal::input(
                format!("{gauge} cannot be asked: its readings come when it is pressed or read"),
                "press its button, or key the reading in with `tenths enter`",
            )),
        };
        match found {
            Ok(sample) => {
                let frame = frame_of(&gauge, sample);
                let (now_us, value) = (change.at.mono_us, frame.value.length);
                change.request.command = Command::Take { frame: Some(frame) };
                if self.decide_change(change).is_ok() {
                    self.batch.after.push(After::Regain(gauge.clone(), 1));
                    if let Some(settle) = self.streams.settling.get_mut(&gauge) {
                        settle.taken(now_us, value);
                    }
                    self.forget_frozen(&gauge);
                }
            }
            Err(refusal) => self.refuse(change, refusal),
        }
        None
    }

    fn settled_now(
        &self,
        at: Stamp,
        gauge: &Name,
        level: Option<Length>,
    ) -> Result<Sample, Refusal> {
        let hint = "hold the stylus still on the part, then take again";
        let stream = self.streams.settling.get(gauge);
        let stream = stream.ok_or_else(|| Refusal::input(format!("{gauge} is no stream"), hint))?;
        let found = stream.settled(at.mono_us, level).cloned();
        found.map_err(|why| Refusal::input(format!("{gauge} is not taken: {why}"), hint))
    }

    fn meant_gauge(&self, station: Option<&str>) -> Option<Name> {
        self.measured_with(&self.meant_station(station)?)
    }

    /// The station that a request is for.
    pub(super) fn meant_station(&self, station: Option<&str>) -> Option<Name> {
        let station = match (station, self.setup.stations.as_slice()) {
            (None, [only]) => only,
            (None, _) => return None,
            (Some(named), all) => all.iter().find(|set| set.name.as_str() == named)?,
        };
        Some(station.name.clone())
    }
}

/// A good frame as a sample. Any other frame is returned as the error.
pub(super) fn sample_of(at: Stamp, outcome: Outcome) -> Result<Sample, Outcome> {
    if let Kind::Reading { value, repeat: false, low_battery, odd } = outcome.kind {
        let (at_us, text) = (at.mono_us, outcome.text);
        return Ok(Sample { at_us, value, text, odd, low_battery });
    }
    Err(outcome)
}

/// A sample as the frame of a button.
pub(super) fn frame_of(gauge: &Name, sample: Sample) -> Frame {
    let Sample { at_us: _, value, text, odd, low_battery } = sample;
    Frame { gauge: gauge.clone(), value, text, repeat: false, odd, low_battery }
}

/// What a gauge is armed for: the attempt on the screen of its station, if that is measured with the gauge
/// and waits for a touch.
fn armed_for(bench: &Bench, setup: &Setup, gauge: &Name) -> Option<Armed> {
    let station = bench.stations.get(setup.station_of(gauge)?)?;
    if let Some(proving) = &station.proving {
        let its = proving.began.gauge.name == *gauge;
        return its.then(|| armed_for_proof(proving));
    }
    let id = station.attempt?;
    let (_, job, attempt) = bench.attempt(id)?;
    let (_, check) = job.check_of(attempt)?;
    if check.gauge.as_ref() != Some(gauge) {
        return None;
    }
    match next_touch(check, attempt) {
        // A turn is swept as a whole, see `sweeps.rs`.
        // A bar that is not confirmed as seated gives no reading that counts.
        Touch::Sweep | Touch::Seat { .. } | Touch::Answer | Touch::Nothing => None,
        next @ (Touch::Master
        | Touch::Position(_)
        | Touch::Middle
        | Touch::Closure
        | Touch::Asked(_)) => {
            let voided = attempt.count(State::Void) as u64;
            Some(Armed { attempt: id.0, voided, level: level_of(check, attempt, next) })
        }
    }
}

/// What a gauge that is being proved is armed for. The low block teaches its level; that of the high one is
/// not known, for the gauge may be set up wrongly.
fn armed_for_proof(proving: &Proving) -> Armed {
    let taught = proving.touches.iter().find(|lift| !lift.keyed).map(|lift| lift.value.length);
    let level = match proving.next() {
        ProofTouch::Lift(_) | ProofTouch::Back => taught,
        ProofTouch::High => None,
    };
    Armed { attempt: proving.id.0, voided: u64::from(proving.voided), level }
}

/// The level of the surface to be touched next: the first touch on it that counts.
fn level_of(check: &Check, attempt: &Attempt, next: Touch) -> Option<Length> {
    let next = match next {
        Touch::Master | Touch::Asked(Question::Master) => None,
        Touch::Position(position)
        | Touch::Asked(Question::Touch(position) | Question::HalfTurn { high: position, low: _ }) => {
            Some(check.surface_at(position))
        }
        Touch::Middle
        | Touch::Closure
        | Touch::Asked(Question::Closure)
        | Touch::Sweep
        | Touch::Seat { .. }
        | Touch::Answer
        | Touch::Nothing => Some(check.surface_at(0)),
    };
    let taught = attempt.readings.iter().find(|touched| {
        let by_stylus = !touched.keyed && touched.from_file.is_none() && touched.state.counts();
        let on_master = touched.state == State::Master;
        let surface = touched.position.map(|position| check.surface_at(position));
        by_stylus && on_master == next.is_none() && (on_master || surface == next)
    });
    taught.map(|touched| touched.value.length)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::reload::parse_pinned_plan;

    #[test]
    fn along_a_bar_every_station_and_seating_has_a_level_of_its_own() {
        let plan = "name = \"p\"\nunit = \"in\"\n[[part]]\nname = \"bar\"\nkind = \"bar\"\n\
            [[part.check]]\nname = \"out\"\nmeasures = \"bar-runout\"\ngauge = \"plate\"\n\
            setup = \"turning\"\npositions = 8\nseatings = 3\n\
            stations = [{ at = \"0.25 in\", tolerance = \"0.0001 in\" }, { at = \"3 in\", tolerance = \"0.0002 in\" }]\n\
            [[part.check]]\nname = \"face\"\nmeasures = \"parallelism\"\ngauge = \"plate\"\n\
            setup = \"plate\"\nmoves = \"ring\"\npositions = 8\nradii = [\"1 in\", \"2 in\"]\ntolerance = \"0.0001 in\"\n";
        let plan = parse_pinned_plan(plan).unwrap();
        let surfaces = |check: &Check| [0, 7, 8, 15].map(|position| check.surface_at(position));
        assert_eq!(surfaces(&plan.parts[0].checks[0]), [0, 0, 1, 1]);
        assert_eq!(
            plan.parts[0].checks[0].surface_at(47),
            5,
            "the last of two stations in three seatings"
        );
        assert_eq!(surfaces(&plan.parts[0].checks[1]), [0; 4], "two rings on one face");
    }
}
