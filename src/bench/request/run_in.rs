//! The run-in of a spindle: a person says when it runs at which speed, thermometers and keyed values say how
//! warm it is. Nothing here switches a machine.

use std::sync::Arc;

use gauge::FileRow;
use quantity::{Length, Name, Quoted, Stamp, Unit, Wall};

use crate::draft::{Answer, Draft, of_gauge};
use crate::event::{Frame, RunInAsked};
use crate::fact::row::{
    Alert, AlertKind, AttemptReason, Body, Ending, LogWentOn, Source, SpeedStep, Temperature,
};
use crate::fact::seq::Seq;
use crate::plan::run_in::{Course, Noted, STANDS, degrees, minutes};
use crate::plan::{Check, CheckAt};
use crate::reply::{Done, Refusal};
use crate::request::answers::may_begin;
use crate::request::measure::Begin;
use crate::state::{Attempt, Job, Logged};
use crate::words;
use crate::words::run_in as says;

/// Colder than this is no spindle in a shop, °C carried as millimetres (common practice, no source).
const COLDEST: Length = Length::from_picometres(-20_000_000_000);
/// A reading that moved by its last digit is kept at most this often, milliseconds: a digit that flickers
/// says nothing new.
const FLICKERS_MS: u64 = 5_000;
/// The clock of a logger may be ahead of that of the bench by this much, milliseconds (common practice, no
/// source).
const AHEAD_MS: u64 = 60_000;

/// A log under way.
struct Running {
    attempt: Seq,
    job: Arc<Job>,
    state: Arc<Attempt>,
}

impl Running {
    fn check(&self) -> Option<(&Check, &Course)> {
        let (_, check) = self.job.check_of(&self.state)?;
        Some((check, check.measures.own().log?))
    }

    fn logged(&self) -> Option<&Logged> {
        self.state.log.as_ref()
    }
}

/// A temperature on its way into a log.
struct Arrived {
    place: u16,
    after_ms: u64,
    value: Quoted,
    source: Source,
    gauge: Option<Name>,
}

impl Draft<'_> {
    /// `run-in start|step|end [PART/CHECK]`.
    pub(crate) fn run_in(
        &mut self,
        station: &Name,
        asked: RunInAsked,
        target: Option<&str>,
    ) -> Answer {
        if asked == RunInAsked::Start {
            return self.run_in_starts(station, target);
        }
        let running = self.running_at(station, target)?;
        let name = self.target(running.attempt);
        let Some(((_, run_in), logged)) = running.check().zip(running.logged()) else {
            return Err(not_running(&name));
        };
        let after_ms = logged.after(self.at, self.bench.boot);
        let now = logged.log.speeds.last().map_or(0, |last| last.step);
        let next = now + 1;
        if asked == RunInAsked::Step && usize::from(next) >= run_in.steps.len() {
            return Err(Refusal::input(
                format!("{name} is at its last step"),
                "stop the spindle by hand, then say so: `tenths run-in end`",
            ));
        }
        let step = if asked == RunInAsked::Step { next } else { STANDS };
        let boot = self.bench.boot;
        let attempt = running.attempt;
        self.push(Body::SpeedStep(SpeedStep { attempt, step, after_ms, boot, by_plan: false }));
        self.clear_for(attempt, AlertKind::StepDue);
        if step != STANDS {
            let text = format!("{}. {}", says::step(run_in, step), says::CAUTION);
            return Ok(Done::Answered { target: name, text, word: None });
        }
        self.end(attempt, Ending::Complete);
        let verdict = self.attempt(attempt).and_then(|(.., state)| state.verdict.clone());
        let text = verdict.as_ref().map_or_else(String::new, |(_, one)| words::came_to(one));
        let text = format!("ended after {}. {text}", minutes(after_ms));
        Ok(Done::Answered { target: name, text, word: verdict.map(|(_, one)| one.word) })
    }

    fn run_in_starts(&mut self, station: &Name, target: Option<&str>) -> Answer {
        let (job, state) = self.job_of(station)?;
        let at = log_of(&state, target)?;
        let Some((part, check)) = state.opened.plan.plan.at(at) else {
            return Err(not_running("this check"));
        };
        let name = words::target(part, check);
        let newest = state.newest_at(at).map(|(id, one)| (id, Arc::clone(one)));
        if newest.as_ref().is_some_and(|(_, one)| one.ending.is_none() && one.log.is_some()) {
            return Err(Refusal::input(
                format!("{name} runs already"),
                "`tenths run-in step` for the next speed, `tenths run-in end` when it stands",
            ));
        }
        may_begin(&state, at)?;
        let attempt = match newest {
            Some((id, one)) if one.ending.is_none() => id,
            Some(_) => self.begin_attempt(job, at, Begin::same(AttemptReason::Again, None))?,
            None => self.begin_attempt(job, at, Begin::same(AttemptReason::First, None))?,
        };
        let boot = self.bench.boot;
        self.push(Body::SpeedStep(SpeedStep {
            attempt,
            step: 0,
            after_ms: 0,
            boot,
            by_plan: false,
        }));
        self.show(station, Some(attempt));
        let run_in = check.measures.own().log;
        let step = run_in.map_or_else(String::new, |run_in| says::step(run_in, 0));
        let text = format!("{step}. {}", says::CAUTION);
        Ok(Done::Answered { target: name, text, word: None })
    }

    /// The log under way that a person means: the one named, the one on the screen, or the only one of the
    /// job.
    fn running_at(&self, station: &Name, target: Option<&str>) -> Result<Running, Refusal> {
        let (_, state) = self.job_of(station)?;
        let at = target.map(|target| Self::find(&state, target)).transpose()?;
        let of_job = |id: &&Seq| state.attempts.contains_key(id);
        let named = |id: &&Seq| {
            let check = state.attempts.get(id).map(|one| one.began.check);
            at.is_none() || check == at
        };
        let mut all = self.bench.logs.iter().filter(of_job).filter(named);
        let shown = self.active(station).filter(|shown| self.bench.logs.contains(shown));
        let id = shown.filter(|shown| named(&shown)).or_else(|| all.next().copied());
        let found = id.and_then(|id| self.running(id));
        found.ok_or_else(|| not_running(target.unwrap_or("a run-in of this job")))
    }

    fn running(&self, attempt: Seq) -> Option<Running> {
        let (_, job, state) = self.attempt(attempt)?;
        Some(Running { attempt, job, state })
    }

    /// What a thermometer sends goes to the logs that name it.
    pub(crate) fn log_frame(&mut self, frame: &Frame) {
        if frame.repeat {
            return;
        }
        for attempt in self.bench.logs.clone() {
            let Some(running) = self.running(attempt) else { continue };
            let Some(((_, run_in), logged)) = running.check().zip(running.logged()) else {
                continue;
            };
            let after_ms = logged.after(self.at, self.bench.boot);
            let of_it = |(_, place): &(u16, &crate::plan::run_in::Place)| {
                place.thermometer.as_ref() == Some(&frame.gauge)
            };
            let places: Vec<u16> =
                (0_u16..).zip(&run_in.places).filter(of_it).map(|(at, _)| at).collect();
            for place in places {
                let (value, source) = (frame.value, Source::Serial);
                let gauge = Some(frame.gauge.clone());
                self.log(&running, Arrived { place, after_ms, value, source, gauge });
            }
        }
    }

    /// Keeps a temperature where it says something, and calls where it is too much.
    fn log(&mut self, running: &Running, one: Arrived) {
        let Some(((_, run_in), logged)) = running.check().zip(running.logged()) else { return };
        let name = run_in.place(one.place).to_owned();
        let value = one.value.length;
        if value > run_in.ceiling || value < COLDEST {
            if let Some(gauge) = &one.gauge {
                let text = says::impossible(&name, value, run_in.ceiling);
                self.raise_about(Some(of_gauge(gauge)), AlertKind::Thermometer, text);
            }
            return;
        }
        if let Some(gauge) = &one.gauge {
            self.clear_about(Some(&of_gauge(gauge)), AlertKind::Thermometer);
        }
        let Arrived { place, after_ms, value: quoted, source, gauge } = one;
        let now = Noted { place, after_ms, value };
        let rate = logged.log.rate(place, now);
        let keep = is_news(run_in, logged, now, quoted) || source != Source::Serial;
        let attempt = running.attempt;
        if keep {
            let value = quoted;
            self.push(Body::Temperature(Temperature {
                attempt,
                place,
                after_ms,
                value,
                source,
                gauge,
            }));
        }
        self.call(attempt, (AlertKind::SensorLost, place), None);
        if place == run_in.room() {
            return;
        }
        let warm = run_in.max.filter(|max| value > *max);
        let warm = warm.map(|max| says::too_warm(&name, value, max));
        self.call(attempt, (AlertKind::TooWarm, place), warm);
        let fast = run_in.rate.zip(rate).filter(|(most, rate)| *rate > (*most).into());
        let fast = fast.map(|(most, rate)| says::rising_fast(&name, rate, most));
        self.call(attempt, (AlertKind::RisingFast, place), fast);
        let frozen = logged.log.same_since(place).filter(|(same, _)| *same == value);
        let frozen = frozen.and_then(|_| logged.log.frozen_at(run_in, place, after_ms));
        self.call(attempt, (AlertKind::SensorFrozen, place), frozen);
    }

    /// Raises the alert about a place, or ends it; while it stands its first sentence does.
    fn call(&mut self, attempt: Seq, (kind, place): (AlertKind, u16), wrong: Option<String>) {
        let position = Some(u32::from(place));
        let Some(text) = wrong else {
            self.clear_of([Some(attempt)], |open| open.kind == kind && open.position == position);
            return;
        };
        let text = format!("{}: {text}", self.target(attempt));
        if let Some(alert) = self.alert_for(attempt, kind, text) {
            self.raise(Alert { position, ..alert });
        }
    }

    /// Time passed: a place without a reading, or a step that has run its time.
    pub(crate) fn look_at_logs(&mut self) {
        for attempt in self.bench.logs.clone() {
            let Some(running) = self.running(attempt) else { continue };
            let Some(((_, run_in), logged)) = running.check().zip(running.logged()) else {
                continue;
            };
            let now = logged.after(self.at, self.bench.boot);
            let target = self.target(attempt);
            let typed = words::typed(&target);
            for place in 0..run_in.room() {
                let newest = logged.log.of(place).next_back().map_or(0, |one| one.after_ms);
                let silent = now.saturating_sub(newest);
                let text = (silent > run_in.gap_of(place))
                    .then(|| says::silent(run_in, place, silent, &typed));
                if text.is_some() {
                    self.call(attempt, (AlertKind::SensorLost, place), text);
                }
            }
            let due = logged.log.live(run_in, now).and_then(|live| says::step_over(run_in, live));
            if let Some(text) = due {
                self.raise_for(attempt, AlertKind::StepDue, format!("{target}: {text}"));
            }
        }
    }

    /// The service starts: the logs go on, and what was missed is said.
    pub(crate) fn logs_go_on(&mut self) {
        for attempt in self.bench.logs.clone() {
            let Some(running) = self.running(attempt) else { continue };
            let Some(((_, run_in), logged)) = running.check().zip(running.logged()) else {
                continue;
            };
            let boot = self.bench.boot;
            let after_ms = logged.after(self.at, boot);
            let missed = after_ms - logged.newest_ms;
            let least = (0..run_in.room()).map(|place| run_in.gap_of(place)).min().unwrap_or(0);
            let from = logged.newest_ms;
            self.push(Body::LogWentOn(LogWentOn { attempt, after_ms, boot }));
            if missed > least {
                let text = format!(
                    "{}: the run-in goes on; nothing was written down for {}, from {} on.",
                    self.target(attempt),
                    minutes(missed),
                    minutes(from)
                );
                self.raise_for(attempt, AlertKind::LogGap, text);
            }
        }
    }

    /// Takes a row of a logger's file into the log of a run-in. Where nobody began it, the first row does,
    /// and the steps are those of the plan.
    pub(crate) fn log_row(
        &mut self,
        (gauge, file): (&Name, Seq),
        (job, at): (Seq, CheckAt),
        row: &FileRow,
    ) -> Result<Seq, String> {
        let time = row.time.ok_or("a run-in needs the time of each row: name its column")?;
        let attempt = self.log_for_row((job, at), time)?;
        let running = self.running(attempt).ok_or("the run-in is not under way")?;
        let Some(((_, run_in), logged)) = running.check().zip(running.logged()) else {
            return Err("the run-in is not under way".to_owned());
        };
        let after_ms = logged.after_wall(time).ok_or("it is from before the run-in began")?;
        // A later row would carry the time of all that follows with it.
        let now = logged.after(self.at, self.bench.boot);
        if !logged.log.by_plan && after_ms > now.saturating_add(AHEAD_MS) {
            return Err("it is from later than now: look at the clock of the logger".to_owned());
        }
        let place = place_of(run_in, gauge, row)?;
        let name = run_in.place(place).to_owned();
        let value = row.value;
        if value.length > run_in.ceiling || value.length < COLDEST {
            return Err(says::impossible(&name, value.length, run_in.ceiling));
        }
        if logged.log.by_plan {
            self.steps_of_plan(attempt, (run_in, after_ms));
        }
        let running = self.running(attempt).ok_or("the run-in is not under way")?;
        let Some(logged) = running.logged() else { return Ok(attempt) };
        if is_news(run_in, logged, Noted { place, after_ms, value: value.length }, value) {
            let source = Source::Drop { file, line: row.line };
            let gauge = None;
            let one = Temperature { attempt, place, after_ms, value, source, gauge };
            self.push(Body::Temperature(one));
        }
        Ok(attempt)
    }

    /// The run-in under way at a check; where there is none, one that begins with a row of a file.
    fn log_for_row(&mut self, (job, at): (Seq, CheckAt), time: Wall) -> Result<Seq, String> {
        let state = self.bench.jobs.get(&job).map(Arc::clone).ok_or("the job is closed")?;
        let newest = state.newest_at(at).map(|(id, one)| (id, Arc::clone(one)));
        let attempt = match newest {
            Some((id, one)) if one.ending.is_none() && one.log.is_some() => return Ok(id),
            Some((id, one)) if one.ending.is_none() => Ok(id),
            Some(_) => self.begin_attempt(job, at, Begin::same(AttemptReason::Again, None)),
            None => self.begin_attempt(job, at, Begin::same(AttemptReason::First, None)),
        };
        let attempt = attempt.map_err(|refusal| refusal.text)?;
        let (boot, at) = (self.bench.boot, Stamp { wall: time, ..self.at });
        let step = SpeedStep { attempt, step: 0, after_ms: 0, boot, by_plan: true };
        self.push_at(at, Body::SpeedStep(step));
        Ok(attempt)
    }

    /// The steps of the plan that have begun by a moment of a logger's file.
    fn steps_of_plan(&mut self, attempt: Seq, (run_in, by_ms): (&Course, u64)) {
        let mut began = 0;
        for (step, speed) in (1_u16..).zip(&run_in.steps) {
            began += speed.ms;
            let last = usize::from(step) == run_in.steps.len();
            let there = self.running(attempt).is_none_or(|one| {
                one.logged().is_none_or(|one| one.log.speeds.iter().any(|one| one.step == step))
            });
            if last || began > by_ms || there {
                continue;
            }
            self.stepped((attempt, step), began);
        }
    }

    fn stepped(&mut self, (attempt, step): (Seq, u16), after_ms: u64) {
        let Some((at, boot)) = self.running(attempt).and_then(|one| {
            let logged = one.logged()?;
            Some((logged.wall_at(after_ms, self.at), self.bench.boot))
        }) else {
            return;
        };
        let step = SpeedStep { attempt, step, after_ms, boot, by_plan: true };
        self.push_at(at, Body::SpeedStep(step));
    }

    /// Ends a run-in that came from a file alone, once the file has all of its steps.
    pub(crate) fn end_log_of_file(&mut self, attempt: Seq) {
        let Some(running) = self.running(attempt) else { return };
        let Some(((_, run_in), logged)) = running.check().zip(running.logged()) else { return };
        let whole: u64 = run_in.steps.iter().map(|speed| speed.ms).sum();
        let newest = logged.newest_ms;
        if logged.log.by_plan && newest >= whole {
            self.stepped((attempt, STANDS), newest);
            self.end(attempt, Ending::Complete);
        }
    }

    /// `record PART/CHECK front=31.5 room=21.0`, of a run-in under way.
    pub(crate) fn record_temperatures(
        &mut self,
        (state, at): (&Job, CheckAt),
        target: &str,
        text: &str,
    ) -> Answer {
        let newest = state.newest_at(at).filter(|(id, _)| self.bench.logs.contains(id));
        let running = newest.and_then(|(id, _)| self.running(id));
        let running = running.ok_or_else(|| not_running(target))?;
        let Some(((_, run_in), logged)) = running.check().zip(running.logged()) else {
            return Err(not_running(target));
        };
        let after_ms = logged.after(self.at, self.bench.boot);
        let values = temperatures(run_in, target, text)?;
        let mut told = Vec::new();
        for (place, value) in values {
            told.push(format!("{} {}", run_in.place(place), degrees(value.length)));
            let (source, gauge) = (Source::Keyed, None);
            // The rows of the values before belong to it.
            let running = self.running(running.attempt).ok_or_else(|| not_running(target))?;
            self.log(&running, Arrived { place, after_ms, value, source, gauge });
        }
        let text = told.join(", ");
        Ok(Done::Answered { target: target.to_owned(), text, word: None })
    }
}

/// The place of a row: by its number, otherwise the first one that the thermometer sends.
fn place_of(run_in: &Course, gauge: &Name, row: &FileRow) -> Result<u16, String> {
    let of_gauge = || run_in.places.iter().position(|one| one.thermometer.as_ref() == Some(gauge));
    let Some(number) = row.position else {
        return Ok(of_gauge().and_then(|at| u16::try_from(at).ok()).unwrap_or(0));
    };
    let place = u16::try_from(number).ok().filter(|place| *place <= run_in.room());
    place.ok_or_else(|| format!("there is no place {number}; the room is {}", run_in.room()))
}

/// Whether a reading is kept: the first of its place, one after a while, a new highest or lowest, or one that
/// moved by its last digit and is no flicker.
fn is_news(run_in: &Course, logged: &Logged, now: Noted, quoted: Quoted) -> bool {
    let of_place = || logged.log.of(now.place);
    let Some(before) = of_place().next_back() else { return true };
    let since = now.after_ms.saturating_sub(before.after_ms);
    let moved = now.value.checked_sub(before.value).unwrap_or(now.value).abs();
    let moved = moved.picometres() >= 1_000_000_000 / 10_i64.pow(u32::from(quoted.places.min(9)));
    let beyond =
        of_place().all(|one| one.value < now.value) || of_place().all(|one| one.value > now.value);
    since >= run_in.kept_every(now.place) || beyond || moved && since >= FLICKERS_MS
}

/// Reads `front=31.5 room=21.0`.
fn temperatures(run_in: &Course, target: &str, text: &str) -> Result<Vec<(u16, Quoted)>, Refusal> {
    let names: Vec<&str> = run_in.places.iter().map(|place| place.name.as_str()).collect();
    let hint = format!(
        "write `tenths record {target} {}=31.5 room=21.0`; the places are {}",
        names[0],
        names.join(", ")
    );
    let refuse =
        |why: String| Refusal::input(format!("{target}: {why}; nothing was written"), hint.clone());
    let mut values = Vec::new();
    for pair in text.split_whitespace() {
        let (name, value) =
            pair.split_once('=').ok_or_else(|| refuse(format!("{pair:?} has no \"=\"")))?;
        let place = names.iter().position(|one| *one == name);
        let place = place.ok_or_else(|| refuse(format!("there is no place {name:?}")))?;
        let digits = value.trim_end_matches(['C', 'c']).trim_end_matches('°');
        let value = Quoted::parse(digits, Unit::Millimetre)
            .map_err(|_| refuse(format!("{value:?} is no temperature in °C")))?;
        if value.length > run_in.ceiling || value.length < COLDEST {
            return Err(refuse(says::impossible(name, value.length, run_in.ceiling)));
        }
        let place = u16::try_from(place).unwrap_or(u16::MAX);
        if values.iter().any(|(other, _)| *other == place) {
            return Err(refuse(format!("{name} is there twice")));
        }
        values.push((place, value));
    }
    if values.is_empty() {
        return Err(refuse("there is no temperature in it".to_owned()));
    }
    Ok(values)
}

/// The check of a job that is a run-in: the one named, or the only one.
fn log_of(state: &Job, target: Option<&str>) -> Result<CheckAt, Refusal> {
    let plan = &state.opened.plan.plan;
    let is_log =
        |at: &CheckAt| plan.at(*at).is_some_and(|(_, check)| check.measures.own().log.is_some());
    if let Some(target) = target {
        let at = Draft::find(state, target)?;
        return Some(at).filter(is_log).ok_or_else(|| {
            Refusal::input(
                format!("{target} is no run-in"),
                "`tenths run-in` is for checks that measure \"run-in\"",
            )
        });
    }
    let mut all = plan.places().filter(is_log);
    match (all.next(), all.next()) {
        (Some(at), None) => Ok(at),
        (None, _) => Err(Refusal::input(
            format!("the plan of job {} has no run-in", state.opened.name),
            "a check with measures = \"run-in\" is one",
        )),
        (Some(_), Some(_)) => Err(Refusal::input(
            format!("the plan of job {} has several run-ins", state.opened.name),
            "name the one: `tenths run-in start PART/CHECK`",
        )),
    }
}

fn not_running(name: &str) -> Refusal {
    Refusal::input(
        format!("{name} is not under way"),
        "set the first speed by hand, then say so: `tenths run-in start`",
    )
}
