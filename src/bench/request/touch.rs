//! A reading arrives: what it counts as, where it goes, and what follows from it.

use gauge::Odd;
use quantity::{Name, Quoted, Wall};

use crate::draft::{Answer, Draft, of_gauge};
use crate::event::Frame;
use crate::fact::row::{
    Alert, AlertKind, Body, Ending, Ends, Question, Reading, Source, State, Subject,
};
use crate::fact::seq::Seq;
use crate::judge::figure;
use crate::judge::half_turn;
use crate::judge::order;
use crate::judge::repeats;
use crate::judge::returns;
use crate::plan::Check;
use crate::reply::{Done, Measuring, Refusal};
use crate::series::{Touch, next_touch};
use crate::setup::GaugeSetup;
use crate::state::{Attempt, Job};
use crate::words;

/// A reading that has no place yet.
#[derive(Debug, Clone)]
pub(crate) struct Incoming {
    pub(crate) gauge: Name,
    pub(crate) source: Source,
    pub(crate) value: Quoted,
    /// What was sent, printable.
    pub(crate) text: String,
    pub(crate) measured_at: Option<Wall>,
}

/// What a reading counts as when it is stored.
pub(crate) struct Place {
    pub(crate) state: State,
    pub(crate) position: Option<u32>,
    pub(crate) why: Option<String>,
}

impl Place {
    pub(crate) const fn plain(state: State, position: Option<u32>) -> Self {
        Self { state, position, why: None }
    }
}

impl Draft<'_> {
    /// A good frame from a gauge.
    pub(crate) fn frame(&mut self, frame: &Frame) {
        if frame.low_battery {
            self.battery_low(&frame.gauge);
        }
        if self.setup.gauges.get(&frame.gauge).is_some_and(GaugeSetup::is_thermometer) {
            self.log_frame(frame);
            self.temperature(frame);
            return;
        }
        let incoming = incoming(frame);
        if self.proving_of(&frame.gauge).is_some() {
            self.lift_frame(frame);
            return;
        }
        let attempt = self.claimant(&frame.gauge);
        if frame.repeat {
            let place = Place::plain(State::Repeat, None);
            self.store(&incoming, attempt, place);
            return;
        }
        let expected = attempt.map(|attempt| (attempt, self.expected(attempt)));
        // After the last touch every reading is only looking.
        let looking = matches!(
            expected,
            Some((_, Touch::Answer | Touch::Nothing | Touch::Sweep | Touch::Seat { .. }))
        );
        if !looking && let Some((kind, text)) = self.cannot_belong(frame, attempt) {
            let place = Place { state: State::Suspect, position: None, why: Some(text.clone()) };
            self.store(&incoming, attempt, place);
            self.raise_about(Some(of_gauge(&frame.gauge)), kind, text);
            return;
        }
        self.clear_good(&frame.gauge);
        match expected {
            Some((attempt, Touch::Seat { deg, .. })) => self.not_seated(attempt, &incoming, deg),
            Some((attempt, touch)) if !looking => {
                self.touch(attempt, &incoming, touch);
            }
            Some((attempt, _)) => {
                // After the last touch the check stays on the screen: readings are stored, not counted and
                // not sounded.
                let job = self.attempt(attempt).map(|(job, ..)| job);
                self.unclaimed(&incoming, job, None);
            }
            None => {
                let job = self.asked_inat(&frame.gauge);
                self.unclaimed(&incoming, job, None);
                let text = self.nobody_asked(&frame.gauge);
                self.raise_about(Some(of_gauge(&frame.gauge)), AlertKind::Unclaimed, text);
            }
        }
    }

    /// A frame that a gauge sent although it was not asked: it is stored, and never a touch.
    pub(crate) fn unasked(&mut self, frame: &Frame) {
        let incoming = incoming(frame);
        let job = self.asked_inat(&frame.gauge);
        self.unclaimed(&incoming, job, None);
        let text = format!(
            "{} sent a reading without being asked. Kept, not placed. Ask with take, or press once.",
            frame.gauge
        );
        self.raise_about(Some(of_gauge(&frame.gauge)), AlertKind::Unclaimed, text);
    }

    /// A good reading came: alerts about the gauge's readings are over.
    pub(crate) fn clear_good(&mut self, gauge: &Name) {
        let about = Some(of_gauge(gauge));
        let over = |alert: &Alert| alert.kind.nature().ends == Ends::GoodReading;
        self.clear_of([None], |alert| alert.about == about && over(alert));
    }

    /// The gauge itself reports this.
    pub(crate) fn battery_low(&mut self, gauge: &Name) {
        let text = format!("Battery of {gauge} is low.");
        self.raise_about(Some(of_gauge(gauge)), AlertKind::BatteryLow, text);
    }

    /// A person acted at a station: the alert about a pedal press without effect is over.
    pub(crate) fn foot_is_over(&mut self, station: &Name) {
        self.clear_about(Some(&Subject::Station(station.clone())), AlertKind::Foot);
    }

    /// `take`: the value that a gauge shows now, as if its button had been pressed.
    pub(crate) fn take_now(&mut self, station: &Name, frame: Option<&Frame>) -> Answer {
        let measuring = self.stands(station)?;
        let over = "nothing is to be touched now; see `tenths status`";
        if let Touch::Seat { seating, .. } = measuring.next {
            return self.seated(station, seating, false);
        }
        let frame = match (measuring.next, frame) {
            (Touch::Answer | Touch::Nothing | Touch::Sweep | Touch::Seat { .. }, _) => {
                let Measuring { part, check, .. } = measuring;
                return Err(Refusal::input(
                    format!("{part}/{check} does not wait for a touch"),
                    over,
                ));
            }
            (_, None) => {
                let text = "there is no gauge to take a reading from";
                return Err(Refusal::input(text, "`tenths enter` keys a reading in"));
            }
            (_, Some(frame)) => frame,
        };
        let attempt = self.claimant(&frame.gauge);
        if let Some((_, why)) = self.cannot_belong(frame, attempt) {
            return Err(Refusal::input(
                format!("nothing taken: {why}"),
                "look at the gauge: its display, its unit, where the stylus stands",
            ));
        }
        self.frame(frame);
        let taken = attempt.and_then(|attempt| self.attempt(attempt)).and_then(|(.., attempt)| {
            attempt.readings.last().map(|touched| (touched.id, touched.value, touched.state))
        });
        let Some((reading, value, state)) = taken else {
            let text = format!("{} is not what is measured with", frame.gauge);
            return Err(Refusal::input(text, over));
        };
        Ok(Done::Taken { reading, value, state, measuring: self.stands(station)? })
    }

    /// The next touch of an attempt.
    pub(crate) fn expected(&self, attempt: Seq) -> Touch {
        self.attempt(attempt)
            .and_then(|(_, job, state)| Some(next_touch(job.check_of(&state)?.1, &state)))
            .unwrap_or(Touch::Nothing)
    }

    /// The attempt on the screen of the gauge's station, if this gauge measures it.
    fn claimant(&self, gauge: &Name) -> Option<Seq> {
        let active = self.active(self.setup.station_of(gauge)?)?;
        let (_, job, attempt) = self.attempt(active)?;
        let (_, check) = job.check_of(&attempt)?;
        (check.gauge.as_ref() == Some(gauge)).then_some(active)
    }

    /// The job that the gauge's station works on.
    fn asked_inat(&self, gauge: &Name) -> Option<Seq> {
        self.bench.stations.get(self.setup.station_of(gauge)?)?.job
    }

    fn nobody_asked(&self, gauge: &Name) -> String {
        let active = self.setup.station_of(gauge).and_then(|station| self.active(station));
        match active {
            Some(active) => format!(
                "{gauge} sent a reading, but {} is measured with another gauge. Not taken.",
                self.target(active)
            ),
            None => format!("{gauge} sent a reading nobody asked for. Kept, not placed."),
        }
    }

    fn unclaimed(&mut self, incoming: &Incoming, job: Option<Seq>, why: Option<String>) {
        let place = Place { state: State::Unclaimed, position: None, why };
        self.push(Body::Reading(reading(incoming.clone(), job, None, place)));
    }

    /// A frame that came before a person said that the bar is seated again.
    fn not_seated(&mut self, attempt: Seq, incoming: &Incoming, deg: u32) {
        let job = self.attempt(attempt).map(|(job, ..)| job);
        let why = words::not_seated(deg);
        let text = format!("{}: {why}", self.target(attempt));
        self.unclaimed(incoming, job, Some(why));
        // Each press is answered by a tone, so each needs an alert of its own.
        self.clear_for(attempt, AlertKind::NotSeated);
        self.raise_for(attempt, AlertKind::NotSeated, text);
    }

    /// Stores a reading that goes to no position, marked with the attempt it was meant for.
    fn store(&mut self, incoming: &Incoming, attempt: Option<Seq>, place: Place) -> Seq {
        let job = match attempt.and_then(|attempt| self.attempt(attempt)) {
            Some((job, ..)) => Some(job),
            None => self.asked_inat(&incoming.gauge),
        };
        self.push(Body::Reading(reading(incoming.clone(), job, attempt, place)))
    }

    /// Why a reading cannot belong to the check: its unit, its places, the end of the travel, or a size off
    /// by the ratio of inch and millimetre.
    pub(crate) fn cannot_belong(
        &self,
        frame: &Frame,
        attempt: Option<Seq>,
    ) -> Option<(AlertKind, String)> {
        if let Some(odd) = frame.odd {
            return Some((AlertKind::UnitMixed, odd_text(&frame.gauge, odd)));
        }
        let gauge = self.setup.gauges.get(&frame.gauge)?;
        self.unfit(gauge, attempt.map(|attempt| (attempt, self.expected(attempt))), frame.value)
    }

    /// Takes a reading as the expected touch, and does what follows from it.
    pub(crate) fn touch(&mut self, attempt: Seq, incoming: &Incoming, touch: Touch) -> Seq {
        let reading = self.place(attempt, incoming.clone(), touch);
        self.clear_about(Some(&of_gauge(&incoming.gauge)), AlertKind::Unclaimed);
        if let Some(station) = self.station_showing(attempt) {
            self.foot_is_over(&station);
        }
        self.follow(attempt, touch, incoming.source);
        reading
    }

    /// Stores a reading as a touch. A newer touch that was asked for replaces the older one, which is kept
    /// as void.
    pub(crate) fn place(&mut self, id: Seq, incoming: Incoming, touch: Touch) -> Seq {
        let Some((job, asked_in, attempt)) = self.bench.attempt(id) else { return self.bench.last };
        let (place, older) = match touch {
            Touch::Master => (Place::plain(State::Master, None), Vec::new()),
            Touch::Position(position) => (Place::plain(State::Placed, Some(position)), Vec::new()),
            Touch::Middle => (Place::plain(State::Middle, Some(0)), Vec::new()),
            Touch::Closure => (Place::plain(State::Closure, Some(0)), Vec::new()),
            Touch::Asked(question) => (
                asked_place(attempt, question).0,
                asked_anew(asked_in, attempt, question, &incoming),
            ),
            Touch::Sweep | Touch::Seat { .. } | Touch::Answer | Touch::Nothing => {
                (Place::plain(State::Unclaimed, None), Vec::new())
            }
        };
        let back = if let Touch::Position(position) | Touch::Asked(Question::Touch(position)) =
            touch
            && let Some((_, check)) = asked_in.check_of(attempt)
        {
            figure::decided_out(check, attempt, position, incoming.value.length)
        } else {
            None
        };
        for (reading, why) in older {
            let why = why.to_owned();
            self.push(Body::Marked { reading, attempt: Some(id), state: State::Void, why });
        }
        let placed = self.push(Body::Reading(reading(incoming, Some(job), Some(id), place)));
        self.note_repeated(id, placed);
        if let Some(reading) = back {
            let why = "counts again, beside the new touch: it decided \"out\"".to_owned();
            self.push(Body::Marked { reading, attempt: Some(id), state: State::Placed, why });
        }
        placed
    }

    /// What follows from a touch: hints, the end of the series, the answer to a question.
    fn follow(&mut self, id: Seq, touch: Touch, source: Source) {
        let Some((_, _, attempt)) = self.attempt(id) else { return };
        if attempt.ending.is_some() {
            self.after_the_end(id, touch);
        } else if self.expected(id) == Touch::Nothing
            // Values keyed in together keep the order in which they were touched.
            || (source == Source::Serial && self.came_back_off(id, touch))
        {
            self.end(id, Ending::Complete);
        } else {
            self.hint(id);
            self.doubt_the_part(id);
        }
    }

    /// Whether the first closure was out of its limit. That is said at once, and the closing touch on the
    /// master comes after the touch that is asked for.
    fn came_back_off(&self, id: Seq, touch: Touch) -> bool {
        let found = self.attempt(id).and_then(|(_, job, attempt)| {
            let (_, check) = job.check_of(&attempt)?;
            Some(returns::closure_off(check, &attempt))
        });
        touch == Touch::Closure && found == Some(true)
    }

    /// A touch after the end filled an open position or answered a question.
    fn after_the_end(&mut self, id: Seq, touch: Touch) {
        let Some((_, job, attempt)) = self.attempt(id) else { return };
        let Some((_, check)) = job.check_of(&attempt) else { return };
        // A touch that fills an open position is no answer; the question stands.
        let answers = matches!(
            (touch, attempt.asked),
            (Touch::Asked(_), _)
                | (Touch::Closure, Some(Question::Closure))
                | (Touch::Master, Some(Question::Master))
        );
        let half_turn = answers && matches!(attempt.asked, Some(Question::HalfTurn { .. }));
        if half_turn && half_turn::stays_with_metal(check, &attempt).is_none() {
            return;
        }
        if answers && !attempt.is_partly_answered() {
            self.push(Body::Asked { attempt: id, question: None });
        }
        if half_turn && let Some(sentence) = words::half_turn(check, &attempt) {
            let text = format!("{}: {sentence}", self.target(id));
            self.raise_for(id, AlertKind::HalfTurn, text);
        }
        self.settle(id);
    }
}

/// Where the answer to a question goes, and the older reading it replaces.
fn asked_place(attempt: &Attempt, question: Question) -> (Place, Option<Seq>) {
    let newest = |state: State| attempt.in_state(state).next_back().map(|touched| touched.id);
    match question {
        Question::Closure => (Place::plain(State::Closure, Some(0)), newest(State::Closure)),
        Question::Master => {
            // The opening touch is never the one to repeat.
            let first = attempt.in_state(State::Placed).map(|touched| touched.id).min();
            let closing = newest(State::Master).filter(|id| first.is_some_and(|first| *id > first));
            (Place::plain(State::Master, None), closing)
        }
        Question::Touch(position) => (
            Place::plain(State::Placed, Some(position)),
            attempt.at(position).map(|touched| touched.id),
        ),
        Question::HalfTurn { high, low } => {
            let high_done = attempt.in_state(State::HalfTurn).any(|t| t.position == Some(high));
            let position = if high_done { low } else { high };
            (Place::plain(State::HalfTurn, Some(position)), None)
        }
    }
}

/// The older readings that an answer to a question replaces, each with why it does not count any more.
fn asked_anew(
    job: &Job,
    attempt: &Attempt,
    question: Question,
    incoming: &Incoming,
) -> Vec<(Seq, &'static str)> {
    if let (Question::Touch(position), Some((_, check))) = (question, job.check_of(attempt))
        && attempt.touches() > 1
    {
        return repeats::give_way(check, attempt, position, incoming.value.length);
    }
    let older = asked_place(attempt, question).1;
    let older = older.filter(|_| !stands_beside(job, attempt, question, incoming));
    older.map(|older| (older, "touched again")).into_iter().collect()
}

/// Whether a repeated touch at a position counts beside the one before, so that their mean is judged:
/// neither of the two is clearly a slip.
fn stands_beside(job: &Job, attempt: &Attempt, question: Question, incoming: &Incoming) -> bool {
    let Question::Touch(position) = question else { return false };
    let before = attempt.length_at(position);
    let off = before.and_then(|before| incoming.value.length.checked_sub(before));
    let check = job.check_of(attempt).map(|(_, check)| check);
    check.zip(off).is_some_and(|(check, off)| !returns::is_a_slip(check, attempt, off))
}

/// A frame of a line as a reading without a place.
pub(crate) fn incoming(frame: &Frame) -> Incoming {
    Incoming {
        gauge: frame.gauge.clone(),
        source: Source::Serial,
        value: frame.value,
        text: frame.text.clone(),
        measured_at: None,
    }
}

pub(crate) fn reading(
    incoming: Incoming,
    job: Option<Seq>,
    attempt: Option<Seq>,
    place: Place,
) -> Reading {
    let Incoming { gauge, source, value, text, measured_at } = incoming;
    let Place { state, position, why } = place;
    let arrived = Reading::arrived(gauge, source, value, text);
    Reading { job, attempt, state, why, position, measured_at, ..arrived }
}

fn odd_text(gauge: &Name, odd: Odd) -> String {
    match odd {
        Odd::Unit { got, expected } => {
            format!("{gauge} sent {got}, expected {expected}. Not placed.")
        }
        Odd::Places { got, expected } => {
            format!("{gauge} sent {got} decimal places, expected {expected}. Not placed.")
        }
    }
}

/// The sentence that asks for a touch, without the name of the check.
pub(crate) fn ask(check: &Check, attempt: &Attempt, question: Question) -> String {
    match question {
        Question::Closure => {
            let off = returns::closure_difference(check, attempt).unwrap_or_default();
            format!(
                "Came back {} different at 0. {}",
                words::difference(check, attempt, off),
                words::asked_for(question)
            )
        }
        Question::Master => {
            let off = returns::zero_walk(attempt).unwrap_or_default();
            format!(
                "The master came back {} different. {}",
                words::difference(check, attempt, off),
                words::asked_for(question)
            )
        }
        Question::Touch(0) if let Some(slip) = order::slip(check, attempt) => {
            words::walked::slipped(slip)
        }
        Question::Touch(position) => words::touch_anew(check, attempt, position),
        Question::HalfTurn { .. } => format!("OUT and mostly tilt. {}", words::asked_for(question)),
    }
}
