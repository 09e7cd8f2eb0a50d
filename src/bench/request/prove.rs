//! The proof of a gauge: it begins, its lifts come in, it ends and is judged.

use std::sync::Arc;

use ::words::size;
use judgement::{Doubt, Fault, LIFTS, Part, Stated, assumed_plate};
use quantity::{Length, Name, Quoted, Unit, near};

use crate::draft::{Answer, Draft, of_gauge};
use crate::event::{Command, Frame, Request};
use crate::fact::row::{
    AlertKind, Blocks, Body, Charted, Equipment, ProofBegan, ProofEnding, ProofShows, Proved,
    Reading, Registered, Source, State,
};
use crate::fact::seq::Seq;
use crate::reply::{Done, ProvingNow, Refusal};
use crate::request::touch::{Incoming, incoming};
use crate::setup::GaugeSetup;
use crate::state::Proving;
use crate::state::proofs::{chart_of_steps, pinned, scatter_of};
use crate::words::proof as said;

/// A gauge block of the shop is within ± 0.2 µm of its size where nobody states it better (from memory of
/// ISO 3650, grade 1, up to 10 mm).
const BLOCK: Length = Length::from_picometres(200_000);
/// So many lifts of earlier proofs say what the scatter of a gauge usually is.
const KNOWN_BY: u32 = 90;

impl<'a> Draft<'a> {
    /// Decides a request that is about a proof: it begins or ends one, or comes to a station at which a
    /// gauge is being proved. `None` for any other.
    pub(crate) fn about_a_proof(
        &mut self,
        request: &Request,
        station: Option<&Name>,
    ) -> Option<Answer> {
        let command = &request.command;
        if let Command::Prove { .. } = command {
            return Some(self.prove(station.filter(|_| request.station.is_some()), command));
        }
        let station = station?;
        let proving = self.proving_at(station)?;
        if goes_to_a_check(command) {
            return Some(Err(while_proving(station, &proving.began.gauge.name)));
        }
        let at = (station, &*proving);
        if let Command::Enter { values, graduation } = command {
            return Some(self.enter_lifts(at, values, graduation.as_deref()));
        }
        if let Command::Take { frame } = command {
            return Some(self.take_lift(station, frame.as_ref()));
        }
        let Command::Void { id, why } = command else { return None };
        Some(self.void_lift(at, *id, why.as_deref()))
    }

    /// The station at which a request begins or ends a proof.
    pub(crate) fn station_of_proof(&self, request: &Request) -> Option<&'a Name> {
        let (Command::Prove { gauge, .. } | Command::ProveStop { gauge, .. }) = &request.command
        else {
            return None;
        };
        self.setup.station_of(&Name::new(gauge).ok()?)
    }

    /// `prove GAUGE`.
    pub(crate) fn prove(&mut self, station: Option<&Name>, command: &Command) -> Answer {
        let Command::Prove { gauge, step, blocks, step_only } = command else {
            return Err(Refusal::input("no gauge to prove", "see `tenths prove --help`"));
        };
        let gauge = self.gauge_named(gauge)?;
        let own = self.setup.station_of(&gauge.name).cloned();
        let Some(own) = own.filter(|own| station.is_none_or(|station| station == own)) else {
            let text = format!("{} does not belong to this station", gauge.name);
            return Err(Refusal::input(text, "leave `--station` out: the gauge says where it is"));
        };
        if let Some(proving) = self.proving_at(&own) {
            let other = &proving.began.gauge.name;
            return Err(Refusal::input(
                format!(
                    "{other} is being proved at {own} already: {} of {} touches are taken",
                    proving.touches.len(),
                    proving.began.touches()
                ),
                format!("go on with it, or give it up: tenths prove {other} --stop"),
            ));
        }
        if self.active(&own).and_then(|id| self.attempt(id)).is_some_and(|(.., a)| a.turn_under_way)
        {
            let text = format!("a turn is being swept at {own}");
            return Err(Refusal::input(text, "finish the turn first"));
        }
        let blocks = self.blocks_of(&gauge, step.as_deref(), blocks.as_ref())?;
        let history = self.bench.shop.history(&gauge.name, gauge.serial.as_deref());
        let resolution = gauge.resolution.length.abs();
        let (scatter, scatter_known, scatter_df) =
            pinned(known_scatter(&gauge, scatter_of(history, resolution)));
        let began = ProofBegan {
            station: own.clone(),
            blocks,
            lifts: if *step_only { 1 } else { LIFTS },
            scatter,
            scatter_known,
            scatter_df,
            gauge,
        };
        self.push(Body::ProofBegan(Arc::new(began)));
        Ok(self.proving_now(&own, Vec::new()))
    }

    /// `prove GAUGE --stop`.
    pub(crate) fn prove_stop(&mut self, gauge: &str, why: Option<&str>) -> Answer {
        let gauge = self.gauge_named(gauge)?.name;
        let Some((station, proving)) = self.proving_of(&gauge) else {
            let text = format!("{gauge} is not being proved");
            return Err(Refusal::input(text, format!("begin with `tenths prove {gauge}`")));
        };
        self.end_proof(&proving, ProofEnding::GivenUp, why.map(str::to_owned));
        Ok(self.proving_now(&station, Vec::new()))
    }

    /// Ends the proofs of gauges that are set up differently now, or are gone.
    pub(crate) fn follow_proved_gauges(&mut self) {
        let all = self.bench.stations.values().filter_map(|station| station.proving.clone());
        for proving in all.collect::<Vec<_>>() {
            let before = &proving.began.gauge;
            if self.gauge_set_up(&before.name).as_ref() != Some(before) {
                let why = "the gauge was set up differently".to_owned();
                self.end_proof(&proving, ProofEnding::SetupChanged, Some(why));
            }
        }
    }

    fn gauge_named(&self, name: &str) -> Result<GaugeSetup, Refusal> {
        let found = Name::new(name).ok().and_then(|name| self.gauge_set_up(&name));
        found.ok_or_else(|| {
            let names: Vec<&str> = self.setup.gauges.keys().map(Name::as_str).collect();
            let near =
                near::names(name, names.iter().map(|name| (*name).to_owned())).into_iter().next();
            let hint = near.map_or_else(
                || format!("there are: {}", names.join(", ")),
                |near| format!("did you mean {near}?"),
            );
            Refusal::input(format!("there is no gauge {name:?}"), hint)
        })
    }

    /// The blocks of a proof: two that are registered, or a step that a person says.
    fn blocks_of(
        &self,
        gauge: &GaugeSetup,
        step: Option<&str>,
        named: Option<&(String, String)>,
    ) -> Result<Blocks, Refusal> {
        let unit = self.setup.unit;
        let blocks = match (step, named) {
            (_, Some((low, high))) => self.named_blocks(low, high)?,
            (step, None) => {
                let default = if unit == Unit::Inch { "0.001" } else { "0.02 mm" };
                let step = step_of(step.unwrap_or(default), unit)?;
                let u = assumed_block();
                let u = Part { square: u.square.saturating_mul(2), ..u }.u();
                let known = judgement::Known::Assumed;
                Blocks { step: step.length, unit: step.unit, u, known, low: None, high: None }
            }
        };
        if let Some((low, high)) = gauge.travel
            && high.checked_sub(low).is_some_and(|travel| blocks.step >= travel)
        {
            let step = size(blocks.step, blocks.unit);
            return Err(Refusal::input(
                format!(
                    "a step of {step} {} is more than the travel of {}",
                    blocks.unit, gauge.name
                ),
                "take blocks that are nearer to each other",
            ));
        }
        Ok(blocks)
    }

    fn named_blocks(&self, low: &str, high: &str) -> Result<Blocks, Refusal> {
        let (low, low_size, low_u) = self.block(low)?;
        let (high, high_size, high_u) = self.block(high)?;
        let step = high_size.length.checked_sub(low_size.length).unwrap_or_default();
        if step <= Length::ZERO {
            return Err(Refusal::input(
                format!("{} is not higher than {}", high.name, low.name),
                "name the low block first, then the high one",
            ));
        }
        let known = low_u.known.max(high_u.known);
        let u = Part { square: low_u.square.saturating_add(high_u.square), ..low_u }.u();
        let (low, high) = (Some(low.name.clone()), Some(high.name.clone()));
        Ok(Blocks { step, unit: high_size.unit, u, known, low, high })
    }

    /// A block of the register: its size, and the standard uncertainty of that.
    fn block(&self, name: &str) -> Result<(&Registered, Quoted, Part), Refusal> {
        let Some(entry) = self.bench.shop.registered(name) else {
            let text = format!("there is no block {name:?} in the register");
            return Err(Refusal::input(text, "`tenths register` lists what is registered"));
        };
        let sized = matches!(entry.what, Equipment::Block | Equipment::Master);
        let Some(size) = entry.size.filter(|_| sized) else {
            let text = format!("{name} is registered without a size, as a {}", entry.what.text());
            let hint = format!("write its size down: tenths register block {name} --size …");
            return Err(Refusal::input(text, hint));
        };
        if entry.due.is_some_and(|due| self.at.wall >= due) {
            return Err(Refusal::input(
                format!("{name} is past the date of its certificate"),
                "take another block, or write the new certificate down with `tenths register`",
            ));
        }
        Ok((entry, size, entry.uncertainty.map_or_else(assumed_block, Part::stated)))
    }

    /// The proof under way at a station.
    pub(crate) fn proving_at(&self, station: &Name) -> Option<Arc<Proving>> {
        self.bench.stations.get(station)?.proving.clone()
    }

    /// The proof under way of a gauge, and where.
    pub(crate) fn proving_of(&self, gauge: &Name) -> Option<(Name, Arc<Proving>)> {
        self.bench.stations.iter().find_map(|(station, state)| {
            let proving = state.proving.as_ref()?;
            (proving.began.gauge.name == *gauge).then(|| (station.clone(), Arc::clone(proving)))
        })
    }

    /// A good frame of a gauge that is being proved.
    pub(crate) fn lift_frame(&mut self, frame: &Frame) {
        let incoming = incoming(frame);
        if frame.repeat {
            self.beside(&incoming, State::Repeat, None);
            return;
        }
        if let Some((kind, text)) = self.cannot_belong(frame, None) {
            self.beside(&incoming, State::Suspect, Some(text.clone()));
            self.raise_about(Some(of_gauge(&frame.gauge)), kind, text);
            return;
        }
        self.clear_good(&frame.gauge);
        self.lift(&incoming);
    }

    /// Keeps a reading that is no touch of the proof.
    fn beside(&mut self, incoming: &Incoming, state: State, why: Option<String>) {
        let Incoming { gauge, source, value, text, .. } = incoming.clone();
        let arrived = Reading::arrived(gauge, source, value, text);
        self.push(Body::Reading(Reading { state, why, ..arrived }));
    }

    /// Takes a reading as the next touch of a proof.
    fn lift(&mut self, incoming: &Incoming) -> Option<Seq> {
        let (station, proving) = self.proving_of(&incoming.gauge)?;
        let position = u32::try_from(proving.touches.len()).ok();
        let Incoming { gauge, source, value, text, .. } = incoming.clone();
        let arrived = Reading::arrived(gauge, source, value, text);
        let reading = Reading { state: State::Placed, position, ..arrived };
        let reading = self.push(Body::Reading(reading));
        self.clear_about(Some(&of_gauge(&incoming.gauge)), AlertKind::Unclaimed);
        self.foot_is_over(&station);
        let proving = self.proving_at(&station)?;
        if proving.is_complete() {
            self.end_proof(&proving, ProofEnding::Complete, None);
        }
        Some(reading)
    }

    /// `take` while a gauge is being proved.
    pub(crate) fn take_lift(&mut self, station: &Name, frame: Option<&Frame>) -> Answer {
        let Some(frame) = frame else {
            let text = "there is no gauge to take a reading from";
            return Err(Refusal::input(text, "`tenths enter` keys a reading in"));
        };
        if let Some((_, why)) = self.cannot_belong(frame, None) {
            return Err(Refusal::input(
                format!("nothing taken: {why}"),
                "look at the gauge: its display, its unit, where the stylus stands",
            ));
        }
        let Some(reading) = self.lift(&incoming(frame)) else {
            let proved = self.proving_at(station).map(|proving| proving.began.gauge.name.clone());
            let proved = proved.as_ref().map_or("the gauge", Name::as_str);
            return Err(Refusal::input(
                format!("nothing taken: {} is not being proved here, {proved} is", frame.gauge),
                format!("set {proved} down for its next touch, and take that"),
            ));
        };
        Ok(self.proving_now(station, vec![reading]))
    }

    /// `enter` while a gauge is being proved: takes all values or none.
    pub(crate) fn enter_lifts(
        &mut self,
        (station, proving): (&Name, &Proving),
        values: &[String],
        graduation: Option<&str>,
    ) -> Answer {
        let gauge = &proving.began.gauge;
        let unit = gauge.unit.unwrap_or(gauge.resolution.unit);
        let read = |text: &str| {
            Quoted::parse_with_unit(text, Some(unit)).map_err(|error| {
                Refusal::input(
                    format!("{error}; nothing was entered"),
                    format!("write a decimal number; without a unit it is taken as {unit}"),
                )
            })
        };
        let values = crate::request::by_hand::keyed(values, graduation, read)?;
        let mut readings = Vec::new();
        for (text, value) in values {
            let open = self.proving_at(station).is_some_and(|now| now.id == proving.id);
            if !open {
                return Err(Refusal::input(
                    format!("{text} is one value too many for this proof; nothing was entered"),
                    format!("it has {} touches", proving.began.touches()),
                ));
            }
            crate::request::door::refuse_lift(gauge, (&text, graduation.is_some()), value)?;
            let gauge = gauge.name.clone();
            let source = Source::Keyed;
            readings.extend(self.lift(&Incoming { gauge, source, value, text, measured_at: None }));
        }
        Ok(self.proving_now(station, readings))
    }

    /// `void` while a gauge is being proved: the newest touch, or the one named.
    pub(crate) fn void_lift(
        &mut self,
        (station, proving): (&Name, &Proving),
        id: Option<Seq>,
        why: Option<&str>,
    ) -> Answer {
        let newest = proving.touches.last().map(|lift| lift.id);
        let found = id.or(newest).filter(|id| proving.touches.iter().any(|lift| lift.id == *id));
        let Some(reading) = found else {
            let text = format!("there is no touch of this proof to take back at {station}");
            return Err(Refusal::input(text, "`tenths readings --gauge` shows the numbers"));
        };
        let why = why.unwrap_or("taken back").to_owned();
        self.push(Body::Marked { reading, attempt: None, state: State::Void, why });
        Ok(self.proving_now(station, Vec::new()))
    }

    /// Where the proof at a station stands, or what it came to.
    fn proving_now(&self, station: &Name, readings: Vec<Seq>) -> Done {
        let state = self.bench.stations.get(station);
        let proving = state.and_then(|state| state.proving.clone());
        let over = state.and_then(|state| state.proved.as_ref()).and_then(|gauge| {
            self.bench.shop.proofs(gauge).last().map(|row| Arc::clone(&row.proved))
        });
        let off_chart = over.as_ref().and_then(|proved| {
            said::off_chart(proved, self.bench.shop.history(proved.name(), proved.serial()))
        });
        let waits = self.active(station).map(|attempt| self.target(attempt));
        Done::Proving(Box::new(ProvingNow {
            station: station.clone(),
            proving,
            over,
            readings,
            waits,
            off_chart,
        }))
    }

    /// Ends a proof: judges it, and tells what is wrong.
    fn end_proof(&mut self, proving: &Proving, ending: ProofEnding, why: Option<String>) {
        let began = &proving.began;
        let gauge = began.gauge.name.clone();
        let shows = proving.shows().filter(|_| ending == ProofEnding::Complete);
        let shows = shows.map(|proof| ProofShows {
            s: proof.repeat.map(|(s, _)| s),
            df: proof.repeat.map(|(_, df)| df),
            step: proof.step,
            uncertainty: proof.uncertainty,
            may_differ: proof.may_differ,
            came_back: proof.came_back,
            may_be_off: proof.may_be_off,
            stands_off: proof.stands_off,
            faults: proof.faults,
            off_chart: Vec::new(),
        });
        let mut proved = Proved {
            proof: proving.id,
            station: began.station.clone(),
            gauge: began.gauge.clone(),
            blocks: began.blocks.clone(),
            ending,
            why,
            readings: proving.touches.iter().map(|lift| lift.id).collect(),
            lifts: if began.lifts > 1 { proving.lifts() } else { Vec::new() },
            engine: crate::ENGINE,
            shows,
        };
        let off_chart = self.off_chart(&proved);
        if let Some(shows) = &mut proved.shows {
            shows.off_chart = off_chart;
        }
        let proved = Arc::new(proved);
        self.push(Body::Proved(Arc::clone(&proved)));
        if ending != ProofEnding::Complete {
            return;
        }
        let about = of_gauge(&gauge);
        let alert = |kind, text| crate::fact::row::Alert::new(Some(about.clone()), kind, text);
        let failed =
            (!proved.is_good()).then(|| alert(AlertKind::NotProven, said::came_to(&proved)));
        self.tell_now(None, |open| is_of(open, AlertKind::NotProven, &about), failed);
        let off = said::off_chart(&proved, self.bench.shop.history(&gauge, proved.serial()));
        let off = off.map(|text| alert(AlertKind::CheckMasterOff, text));
        self.tell_now(None, |open| is_of(open, AlertKind::CheckMasterOff, &about), off);
    }

    /// What of a proof left the chart of the instrument.
    fn off_chart(&self, proved: &Proved) -> Vec<Charted> {
        let history = self.bench.shop.history(proved.name(), proved.serial());
        // A step that is near its size belongs on the chart, though something may be wrong with it.
        let near = |shows: &&ProofShows| {
            shows.faults.iter().all(|fault| matches!(fault, Fault::Leans | Fault::Short))
        };
        let Some(shows) = proved.shows.as_ref().filter(near) else { return Vec::new() };
        let mut off = Vec::new();
        let usual = scatter_of(history, proved.resolution());
        let usual = usual.filter(|usual| usual.count >= KNOWN_BY);
        if let (Some(s), Some(usual)) = (shows.s, usual)
            && judgement::scatters_more(Part::stated(s), Part::stated(usual.s))
        {
            off.push(Charted::Repeatability);
        }
        let chart = chart_of_steps(history, &proved.blocks, proved.resolution());
        if chart.zip(proved.off_by()).is_some_and(|(chart, off)| chart.is_off(off)) {
            off.push(Charted::CheckMaster);
        }
        off
    }
}

fn is_of(
    open: &crate::fact::row::Alert,
    kind: AlertKind,
    about: &crate::fact::row::Subject,
) -> bool {
    open.kind == kind && open.about.as_ref() == Some(about)
}

/// The scatter of a lift before a proof: stated, shown by earlier proofs, or assumed.
fn known_scatter(gauge: &GaugeSetup, earlier: Option<judgement::Pooled>) -> Part {
    let stated = gauge.stated();
    if let (Stated { uncertainty: None, repeatability: None }, Some(earlier)) = (stated, earlier) {
        let known = judgement::Known::Record;
        return Part { known, freedom: earlier.freedom, ..Part::stated(earlier.s) };
    }
    Doubt::of(stated, gauge.resolution.length.abs(), assumed_plate(false)).scatter()
}

fn assumed_block() -> Part {
    Part::within(BLOCK, judgement::Known::Assumed)
}

/// A step as a person says it.
fn step_of(text: &str, unit: Unit) -> Result<Quoted, Refusal> {
    let hint = "write how much higher the high block is: --step \"0.001 in\"";
    let step = Quoted::parse_with_unit(text, Some(unit))
        .map_err(|error| Refusal::input(format!("the step: {error}"), hint))?;
    if step.length <= Length::ZERO {
        return Err(Refusal::input(format!("a step of {text} is no step"), hint));
    }
    Ok(step)
}

/// The refusal of what goes to a check while a gauge is being proved at its station.
fn while_proving(station: &Name, gauge: &Name) -> Refusal {
    Refusal::input(
        format!("{gauge} is being proved at {station}; no check goes on there until that is over"),
        format!("finish the proof, or give it up: tenths prove {gauge} --stop"),
    )
}

/// Whether a request begins a check, goes on with it, or takes something for it.
const fn goes_to_a_check(command: &Command) -> bool {
    matches!(
        command,
        Command::Measure { .. }
            | Command::Stop
            | Command::Remeasure { .. }
            | Command::Next
            | Command::Tapped { .. }
            | Command::Swept(_)
            | Command::EnterHighLow { .. }
            | Command::EnterTotal { .. }
            | Command::Skip { .. }
            | Command::Master { .. }
    )
}
