//! Requests about the check under way: begin, go on, stop, key in, take back, leave out.

use std::sync::Arc;

use crate::quantity::{Name, Quoted, Unit};

use super::answers::may_begin;
use super::draft::{Answer, Draft};
use super::pairs::newer_half;
use super::plan::{Check, CheckAt, MasterUse, Measures};
use super::reply::{Done, Measuring, Refusal};
use super::row::{
    AlertKind, AttemptBegan, AttemptReason, Body, Ending, Level, Pin, Question, Seq, Source, State,
};
use super::series::Touch;
use super::state::{Attempt, Job};
use super::touch::{Incoming, off_by_a_unit_in};
use super::{ENGINE, judge, words};

impl Draft<'_> {
    /// The open job a station works on.
    pub(super) fn job_of(&self, station: &Name) -> Result<(Seq, Arc<Job>), Refusal> {
        let job = self.bench.stations.get(station).and_then(|state| state.job);
        job.and_then(|id| Some((id, Arc::clone(self.bench.jobs.get(&id)?)))).ok_or_else(|| {
            Refusal::input(
                format!("no job is active at {station}"),
                "open one with `tenths job open NAME --plan PLAN`, or pick one with `tenths job use NAME`",
            )
        })
    }

    /// The check that `PART/CHECK` names in a job.
    pub(super) fn find(job: &Job, target: &str) -> Result<CheckAt, Refusal> {
        let plan = &job.opened.plan.plan;
        let found = target.split_once('/').and_then(|(part, check)| plan.find(part, check));
        found.ok_or_else(|| {
            let names: Vec<String> = plan
                .places()
                .filter_map(|at| plan.at(at))
                .map(|(part, check)| words::target(part, check))
                .collect();
            Refusal::input(
                format!("the plan of job {} has no check {target:?}", job.opened.name),
                format!("its checks are: {}", names.join(", ")),
            )
        })
    }

    /// `measure PART/CHECK`.
    pub(super) fn measure(
        &mut self,
        station: &Name,
        target: &str,
        remark: Option<String>,
    ) -> Answer {
        let (id, job) = self.job_of(station)?;
        let at = Self::find(&job, target)?;
        let newest = job.newest_at(at).map(|(attempt, state)| (attempt, Arc::clone(state)));
        match newest {
            None => self.begin(station, (id, at), AttemptReason::First, remark),
            Some((attempt, state)) if state.ending.is_none() || has_hole(&job, &state) => {
                self.go_on(station, attempt)
            }
            Some((_, state)) if state.ending == Some(Ending::Stopped) => {
                self.begin(station, (id, at), state.began.reason, remark)
            }
            // A half that was measured again since makes another difference.
            Some((attempt, _)) if let Some(reason) = newer_half(&job, at, attempt) => {
                self.begin(station, (id, at), reason, remark)
            }
            Some(_) => Err(Refusal::input(
                format!("{target} is finished"),
                format!(
                    "say why it is measured again: `tenths remeasure ground {target}` (new metal), `cleaned` or `again`"
                ),
            )),
        }
    }

    /// An unfinished attempt is shown again and goes on where it was.
    fn go_on(&mut self, station: &Name, attempt: Seq) -> Answer {
        match self.station_showing(attempt) {
            Some(shown) if shown == *station => Ok(Done::Already(self.stands(station)?)),
            Some(shown) => Err(Refusal::input(
                format!("{} is under way at {shown}", self.target(attempt)),
                format!("stop it there first: `tenths measure --stop --station {shown}`"),
            )),
            None => {
                self.gauge_at(station, attempt)?;
                self.show(station, Some(attempt));
                Ok(Done::Measuring(self.stands(station)?))
            }
        }
    }

    /// The gauge of an attempt must belong to the station.
    fn gauge_at(&self, station: &Name, attempt: Seq) -> Result<(), Refusal> {
        let gauge =
            self.attempt(attempt).and_then(|(_, job, state)| job.check_of(&state)?.1.gauge.clone());
        gauge.map_or(Ok(()), |gauge| self.belongs(station, &gauge).map(|_| ()))
    }

    fn belongs(&self, station: &Name, gauge: &Name) -> Result<super::setup::GaugeSetup, Refusal> {
        let setup = self.setup.gauges.get(gauge).ok_or_else(|| {
            Refusal::input(
                format!("gauge {gauge} is not configured"),
                "add it to bench.toml and reload the service",
            )
        })?;
        match self.setup.station_of(gauge) {
            Some(holder) if holder == station => Ok(setup.clone()),
            Some(holder) => Err(Refusal::input(
                format!("gauge {gauge} belongs to station {holder}"),
                format!("add `--station {holder}`"),
            )),
            None => Err(Refusal::input(
                format!("gauge {gauge} belongs to no station"),
                "add it to a [[station]] in bench.toml",
            )),
        }
    }

    /// Begins an attempt and shows it.
    pub(super) fn begin(
        &mut self,
        station: &Name,
        (job, at): (Seq, CheckAt),
        reason: AttemptReason,
        remark: Option<String>,
    ) -> Answer {
        let Some(state) = self.bench.jobs.get(&job).map(Arc::clone) else {
            return Err(Refusal::input("the job is closed", "reopen it with `tenths job reopen`"));
        };
        if let Some((_, check)) = state.opened.plan.plan.at(at) {
            self.gauge_belongs(station, check)?;
        }
        may_begin(&state, at)?;
        let attempt = self.begin_attempt(job, at, (reason, remark))?;
        self.show(station, Some(attempt));
        if state.opened.plan.plan.at(at).is_some_and(|(_, c)| c.measures == Measures::Difference) {
            self.end(attempt, Ending::Complete);
        }
        Ok(Done::Measuring(self.stands(station)?))
    }

    fn gauge_belongs(&self, station: &Name, check: &Check) -> Result<(), Refusal> {
        check.gauge.as_ref().map_or(Ok(()), |gauge| self.belongs(station, gauge).map(drop))
    }

    /// The rows of a new attempt, pinned to the present gauge set-up and rule.
    pub(super) fn begin_attempt(
        &mut self,
        job: Seq,
        at: CheckAt,
        (reason, remark): (AttemptReason, Option<String>),
    ) -> Result<Seq, Refusal> {
        let unknown = || Refusal::input("no such check", "see `tenths job show`");
        let state = self.bench.jobs.get(&job).map(Arc::clone).ok_or_else(unknown)?;
        let plan = &state.opened.plan.plan;
        let (_, check) = plan.at(at).ok_or_else(unknown)?;
        let configured = |gauge| {
            self.setup.gauges.get(gauge).cloned().ok_or_else(|| {
                Refusal::input(
                    format!("gauge {gauge} of {} is not configured", check.name),
                    "add it to bench.toml and reload the service",
                )
            })
        };
        let gauge = check.gauge.as_ref().map(configured).transpose()?;
        let rule = plan.rule.unwrap_or(self.setup.rule);
        let pin = Arc::new(Pin { gauge, rule, engine: ENGINE });
        let number = u32::try_from(state.attempts_at(at).count() + 1).unwrap_or(u32::MAX);
        drop(state);
        let began = AttemptBegan { job, check: at, number, reason, pin, remark };
        let attempt = self.push(Body::AttemptBegan(began));
        self.about_the_gauge(attempt);
        Ok(attempt)
    }

    /// What the gauge cannot do for this check, said once a series.
    fn about_the_gauge(&mut self, id: Seq) {
        let Some((_, job, attempt)) = self.attempt(id) else { return };
        self.clear_earlier(&job, id);
        let Some((part, check)) = job.check_of(&attempt) else { return };
        let Some(gauge) = attempt.gauge() else { return };
        let name = words::target(part, check);
        let tolerance = check.half_width();
        if crate::judgement::too_coarse(gauge.resolution.length, tolerance) {
            let text = format!("{name}: {} is too coarse for the limit.", gauge.name);
            self.raise_for(id, Level::Note, AlertKind::TooCoarse, text);
        }
        if check.closure && !judge::closure_limit(check, &attempt).checks_its_own_return() {
            let text = format!("{name}: {} cannot check its own return.", gauge.name);
            self.raise_for(id, Level::Note, AlertKind::OwnReturn, text);
        }
        if gauge.calibration_due.is_some_and(|due| attempt.began_at >= due) {
            let text = format!("{name}: {} is past its calibration date.", gauge.name);
            self.raise_for(id, Level::Note, AlertKind::Overdue, text);
        }
    }

    /// Puts an attempt on a station's screen; a question left open on the one before is over.
    pub(super) fn show(&mut self, station: &Name, attempt: Option<Seq>) {
        if let Some(before) = self.active(station)
            && Some(before) != attempt
            && self.attempt(before).is_some_and(|(_, _, state)| state.asked.is_some())
        {
            self.push(Body::Asked { attempt: before, question: None });
            self.clear_for(
                before,
                &[AlertKind::WildTouch, AlertKind::MostlyTilt, AlertKind::NotClosed],
            );
            // The question is over, the verdict it left is not; what was only not due yet is missing
            // now.
            self.settle_again(before);
            let standing = self.attempt(before).and_then(|(_, _, state)| state.verdict.clone());
            if let Some((_, verdict)) = standing {
                self.tell(before, &verdict);
            }
        }
        self.push(Body::CheckActive { station: station.clone(), attempt });
    }

    /// Where a station stands, which must show a check.
    pub(super) fn stands(&self, station: &Name) -> Result<Measuring, Refusal> {
        self.measuring(station).ok_or_else(|| {
            Refusal::input(format!("no check is active at {station}"), "see `tenths status`")
        })
    }

    /// `measure --stop`.
    pub(super) fn stop(&mut self, station: &Name) -> Answer {
        let Some(active) = self.active(station) else {
            return Err(Refusal::input(
                format!("nothing is measured at {station}"),
                "nothing to stop",
            ));
        };
        let under_way = self.attempt(active).is_some_and(|(_, _, state)| {
            // Nothing touched is nothing to judge: the attempt waits for its first touch.
            state.ending.is_none() && state.is_touched()
        });
        if under_way {
            self.end(active, Ending::Stopped);
        }
        self.show(station, None);
        Ok(Done::Stopped { station: station.clone(), incomplete: under_way.then_some(active) })
    }

    /// `remeasure REASON [PART/CHECK]`.
    pub(super) fn remeasure(
        &mut self,
        station: &Name,
        reason: AttemptReason,
        target: Option<&str>,
        remark: Option<String>,
    ) -> Answer {
        let (id, job) = self.job_of(station)?;
        let at = match target {
            Some(target) => Self::find(&job, target)?,
            None => self
                .active(station)
                .and_then(|active| Some(job.attempts.get(&active)?.began.check))
                .ok_or_else(|| {
                    Refusal::input(
                        format!("no check is active at {station}"),
                        "name it: `tenths remeasure ground PART/CHECK`",
                    )
                })?,
        };
        let Some((newest, state)) = job.newest_at(at).map(|(id, s)| (id, Arc::clone(s))) else {
            return Err(Refusal::input(
                "this check was never measured",
                "begin with `tenths measure PART/CHECK`",
            ));
        };
        if let Some((_, check)) = job.check_of(&state) {
            self.gauge_belongs(station, check)?;
        }
        if state.ending.is_none() {
            if let Some(shown) = self.station_showing(newest).filter(|shown| shown != station) {
                return Err(Refusal::input(
                    format!("it is under way at {shown}"),
                    format!("stop it there first: `tenths measure --stop --station {shown}`"),
                ));
            }
            self.end(newest, Ending::Stopped);
        }
        self.begin(station, (id, at), reason, remark)
    }

    /// `next`: the first check in plan order without a verdict.
    pub(super) fn next(&mut self, station: &Name) -> Answer {
        self.job_of(station)?;
        self.next_check(station).unwrap_or_else(|| {
            Err(Refusal {
                exit: 1,
                text: "every check of this job has a verdict".to_owned(),
                hint: Some("`tenths verdicts` shows them".to_owned()),
            })
        })
    }

    /// Makes the first check in plan order without a verdict active; `None` when none is left.
    pub(super) fn next_check(&mut self, station: &Name) -> Option<Answer> {
        use crate::judgement::Word;
        let (_, job) = self.job_of(station).ok()?;
        let plan = &job.opened.plan.plan;
        let open = plan.places().find(|at| {
            let newest = job.newest_at(*at);
            let recorded = newest.is_some_and(|(_, state)| state.answer.is_some());
            let entry = plan.at(*at).is_some_and(|(_, check)| check.measures == Measures::Entry);
            let verdict = newest.and_then(|(_, state)| state.verdict.as_ref());
            let stale = newest.is_some_and(|(id, _)| newer_half(&job, *at, id).is_some());
            if entry {
                return !recorded;
            }
            stale || verdict.is_none_or(|(_, verdict)| verdict.word == Word::Incomplete)
        })?;
        let (part, check) = plan.at(open)?;
        Some(self.measure(station, &words::target(part, check), None))
    }

    /// `enter VALUE…`: all of them, or none.
    pub(super) fn enter(
        &mut self,
        station: &Name,
        values: &[String],
        graduation: Option<&str>,
    ) -> Answer {
        let active = self.active(station).ok_or_else(|| {
            Refusal::input(
                format!("no check is active at {station}"),
                "begin with `tenths measure PART/CHECK`",
            )
        })?;
        let gauge = self
            .attempt(active)
            .and_then(|(_, _, state)| state.gauge().cloned())
            .ok_or_else(|| {
                Refusal::input(
                    "no gauge measures this check",
                    "answer with `tenths confirm` or write down with `tenths record`",
                )
            })?;
        let unit = gauge.unit.unwrap_or(gauge.resolution.unit);
        let values = keyed_values(values, graduation, unit)?;
        let mut readings = Vec::new();
        for (text, value) in values {
            let touch = self.expected(active);
            if touch == Touch::Sweep {
                return Err(Refusal::input(
                    "this turn is swept: its samples come from the gauge; nothing was entered",
                    "tap its marks with the pedal or `tenths take`, or key in --high and --low, or --total, of a check with positions",
                ));
            }
            if touch == Touch::Nothing {
                return Err(Refusal::input(
                    format!("{text} has no open position; nothing was entered"),
                    "key in only the touches that are still open; see `tenths status`",
                ));
            }
            let odd = self.attempt(active).is_some_and(|(_, job, state)| {
                let check = job.check_of(&state);
                check.is_some_and(|(_, check)| off_by_a_unit_in(check, value.length))
            });
            if odd {
                return Err(Refusal::input(
                    format!("{text} looks like inch and millimetre mixed; nothing was entered"),
                    "write the value with its unit",
                ));
            }
            let incoming = Incoming {
                gauge: gauge.name.clone(),
                source: Source::Keyed,
                value,
                as_sent: text,
                measured_at: None,
            };
            readings.push(self.touch(active, &incoming, touch));
        }
        Ok(Done::Entered { readings, measuring: self.stands(station)? })
    }

    /// `void [ID]`.
    pub(super) fn void(&mut self, station: &Name, id: Option<Seq>, why: Option<&str>) -> Answer {
        let (attempt, reading, position) = match id {
            Some(id) => self.reading_to_void(id)?,
            None => self.newest_that_counts(station)?,
        };
        let why = why.unwrap_or("taken back").to_owned();
        if self.is_swept(attempt) {
            return self.void_turn(station, attempt, &why);
        }
        self.push(Body::Marked { reading, attempt, state: State::Void, why });
        let over = self.attempt(attempt).is_some_and(|(_, _, state)| state.ending.is_some());
        if over {
            self.settle(attempt);
        } else {
            self.hint(attempt);
        }
        Ok(Done::Voided { reading, position, measuring: self.measuring(station) })
    }

    fn reading_to_void(&self, id: Seq) -> Result<(Seq, Seq, Option<u32>), Refusal> {
        let found =
            self.bench.jobs.values().flat_map(|job| &job.attempts).find_map(|(of, state)| {
                let touched = state.readings.iter().find(|touched| touched.id == id)?;
                Some((*of, touched.state, touched.position))
            });
        match found {
            None => Err(Refusal::input(
                format!("no reading {id} in an open job"),
                "`tenths readings` shows the numbers; a closed job is reopened with `tenths job reopen NAME`",
            )),
            Some((_, State::Void, _)) => Err(Refusal::input(
                format!("reading {id} is taken back already"),
                "touch its position again to fill it",
            )),
            Some((_, state, _)) if !state.counts() => Err(Refusal::input(
                format!("reading {id} is {} and does not count anyway", state.text()),
                "only readings that count can be taken back",
            )),
            Some((attempt, _, position)) => Ok((attempt, id, position)),
        }
    }

    fn newest_that_counts(&self, station: &Name) -> Result<(Seq, Seq, Option<u32>), Refusal> {
        let active = self.active(station);
        let newest = active.and_then(|active| {
            let (_, _, state) = self.attempt(active)?;
            let touched = state.readings.iter().rev().find(|touched| touched.state.counts())?;
            Some((active, touched.id, touched.position))
        });
        newest.ok_or_else(|| {
            Refusal::input(
                format!("there is no reading to take back at {station}"),
                "name one: `tenths void ID`; `tenths readings` shows the numbers",
            )
        })
    }

    /// `skip [POSITION] --why TEXT`.
    pub(super) fn skip(&mut self, station: &Name, position: Option<u32>, why: &str) -> Answer {
        let refuse = |text: String| Refusal::input(text, "see `tenths status` for what is open");
        let active = self
            .active(station)
            .ok_or_else(|| refuse(format!("no check is active at {station}")))?;
        let Some((_, job, state)) = self.attempt(active) else {
            return Err(refuse("the check is gone".to_owned()));
        };
        if self.is_swept(active) {
            return Err(refuse("a turn is swept as a whole; nothing of it is left out".to_owned()));
        }
        let total = job.check_of(&state).map_or(0, |(_, check)| check.total());
        let next = match self.expected(active) {
            Touch::Position(next) => Some(next),
            Touch::Sweep
            | Touch::Master
            | Touch::Closure
            | Touch::Asked(_)
            | Touch::Answer
            | Touch::Nothing => None,
        };
        let position = position
            .or(next)
            .ok_or_else(|| refuse("no position is open; name the one to leave out".to_owned()))?;
        if super::dial::is_kept_for_dials(why) {
            return Err(refuse(format!("{why:?} is said of watched dials only; say it otherwise")));
        }
        if position >= total {
            return Err(refuse(format!(
                "there is no position {position}; they run 0 to {}",
                total.saturating_sub(1)
            )));
        }
        if state.settled(position) {
            return Err(refuse(format!("position {position} is filled or left out already")));
        }
        let over = state.ending.is_some();
        let was_asked_for = state.asked == Some(Question::Touch(position));
        drop((job, state));
        let why = why.to_owned();
        self.push(Body::Skipped { attempt: active, position, why });
        if was_asked_for {
            // A touch that answers it would fill a position that is left out.
            self.push(Body::Asked { attempt: active, question: None });
        }
        if over {
            self.settle(active);
        } else if self.expected(active) == Touch::Nothing {
            self.end(active, Ending::Complete);
        }
        Ok(Done::Skipped { position, measuring: self.stands(station)? })
    }

    /// `master [GAUGE]`: the next reading is the master.
    pub(super) fn master(&mut self, station: &Name, gauge: Option<&str>) -> Answer {
        let refuse = |text: String| Refusal::input(text, "begin a check with a master first");
        let active = self
            .active(station)
            .ok_or_else(|| refuse(format!("no check is active at {station}")))?;
        let Some((_, job, state)) = self.attempt(active) else {
            return Err(refuse("the check is gone".to_owned()));
        };
        let Some((_, check)) = job.check_of(&state) else {
            return Err(refuse("the check is gone".to_owned()));
        };
        if let Some(own) = &check.gauge
            && gauge.is_some_and(|gauge| gauge != own.as_str())
        {
            return Err(refuse(format!("{} is measured with {own}", check.name)));
        }
        if check.master == MasterUse::None || state.ending.is_some() {
            return Err(refuse(format!("{} asks for no master now", check.name)));
        }
        self.push(Body::MasterNext { attempt: active });
        Ok(Done::MasterNext { measuring: self.stands(station)? })
    }
}

/// Whether a touch of a finished attempt was taken back and not made again.
pub(super) fn has_hole(job: &Job, attempt: &Attempt) -> bool {
    let open = |check| attempt.open_positions(check) > 0 || attempt.closure_taken_back();
    attempt.ending == Some(Ending::Complete)
        && job.check_of(attempt).is_some_and(|(_, check)| open(check))
}

/// Keyed values, each exact: a number in the gauge's unit, a number with its unit, or a count of
/// graduations.
fn keyed_values(
    values: &[String],
    graduation: Option<&str>,
    unit: Unit,
) -> Result<Vec<(String, Quoted)>, Refusal> {
    let bad = |why: &dyn std::fmt::Display| {
        Refusal::input(
            format!("{why}; nothing was entered"),
            format!("write a decimal number; without a unit it is taken as {unit}"),
        )
    };
    let step = graduation
        .map(|text| Quoted::parse_with_unit(text, Some(unit)).map_err(|error| bad(&error)))
        .transpose()?;
    values
        .iter()
        .map(|text| {
            let value = match step {
                None => Quoted::parse_with_unit(text, Some(unit)).map_err(|e| bad(&e))?,
                Some(step) => graduations(text, step)
                    .ok_or_else(|| bad(&format!("{text:?} is no whole number of graduations")))?,
            };
            Ok((text.clone(), value))
        })
        .collect()
}

/// A whole number of graduations as a value with the graduation's unit and places.
fn graduations(text: &str, step: Quoted) -> Option<Quoted> {
    let count: i64 = text.trim().trim_start_matches('+').parse().ok()?;
    let picometres = step.length.picometres().checked_mul(count)?;
    let length = crate::quantity::Length::from_picometres(picometres);
    Some(Quoted { length, ..step })
}
