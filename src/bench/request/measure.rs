//! Requests about the check under way: begin, continue, stop, key in, take back, leave out.

use std::sync::Arc;

use judgement::{Known, Word};
use quantity::{Name, near};

use crate::draft::{Answer, Draft};
use crate::fact::row::{AlertKind, AttemptBegan, AttemptReason, Body, Ending, Ends, Pin, Subject};
use crate::fact::seq::Seq;
use crate::judge::returns;
use crate::plan::{Bar, Check, CheckAt, Part, PartKind};
use crate::reply::{Done, Measuring, Refusal};
use crate::request::answers::may_begin;
use crate::state::pairs::newer_half;
use crate::state::{Attempt, Job};
use crate::{ENGINE, words};

/// How an attempt begins.
pub(crate) struct Begin {
    /// Why it is made.
    pub(crate) reason: AttemptReason,
    /// Whether metal was taken off right before it.
    pub(crate) grinds: bool,
    /// A remark about it.
    pub(crate) remark: Option<String>,
}

impl Begin {
    /// The first attempt at a check.
    pub(crate) const fn first(remark: Option<String>) -> Self {
        Self::same(AttemptReason::First, remark)
    }

    /// An attempt on metal that was ground at another check: this one takes nothing off itself.
    pub(crate) const fn joining(remark: Option<String>) -> Self {
        Self::same(AttemptReason::Ground, remark)
    }

    /// An attempt for a reason given earlier: no metal was taken off since.
    pub(crate) const fn same(reason: AttemptReason, remark: Option<String>) -> Self {
        Self { reason, grinds: false, remark }
    }

    /// An attempt for a reason that a person gives now.
    fn said(reason: AttemptReason, remark: Option<String>) -> Self {
        Self { reason, grinds: reason == AttemptReason::Ground, remark }
    }
}

impl Draft<'_> {
    /// The open job a station works on.
    pub(crate) fn job_of(&self, station: &Name) -> Result<(Seq, Arc<Job>), Refusal> {
        let job = self.bench.stations.get(station).and_then(|state| state.job);
        job.and_then(|id| Some((id, Arc::clone(self.bench.jobs.get(&id)?)))).ok_or_else(|| {
            Refusal::input(
                format!("no job is active at {station}"),
                "open one with `tenths job open NAME --plan PLAN`, or pick one with `tenths job use NAME`",
            )
        })
    }

    /// The check that `PART/CHECK` names in a job.
    pub(crate) fn find(job: &Job, target: &str) -> Result<CheckAt, Refusal> {
        let plan = &job.opened.plan.plan;
        let found = target.split_once('/').and_then(|(part, check)| plan.find(part, check));
        found.ok_or_else(|| {
            let names: Vec<String> = plan
                .places()
                .filter_map(|at| plan.at(at))
                .map(|(part, check)| words::target(part, check))
                .collect();
            let near = near::names(target, names.clone());
            let meant = match near.first() {
                Some(nearest) => format!("did you mean {nearest}? "),
                None => String::new(),
            };
            Refusal::input(
                format!("the plan of job {} has no check {target:?}", job.opened.name),
                format!("{meant}its checks are: {}", names.join(", ")),
            )
        })
    }

    /// `measure PART/CHECK`.
    pub(crate) fn measure(
        &mut self,
        station: &Name,
        target: &str,
        remark: Option<String>,
    ) -> Answer {
        let (id, job) = self.job_of(station)?;
        let at = Self::find(&job, target)?;
        let newest = job.newest_at(at).map(|(attempt, state)| (attempt, Arc::clone(state)));
        match newest {
            None => self.begin(station, (id, at), Begin::first(remark)),
            Some((attempt, state)) if job.metal_changed_at(at) => {
                self.leave_old_metal(station, attempt, &state)?;
                self.begin(station, (id, at), Begin::joining(remark))
            }
            Some((attempt, state)) if state.ending.is_none() || has_hole(&job, &state) => {
                self.go_on(station, attempt)
            }
            Some((_, state)) if state.ending == Some(Ending::Stopped) => {
                self.begin(station, (id, at), Begin::same(state.began.reason, remark))
            }
            Some(_) if job.seat_doubted_at(at) => {
                self.begin(station, (id, at), Begin::same(AttemptReason::Cleaned, remark))
            }
            // A length that was measured again gives another difference.
            Some((attempt, _)) if let Some(reason) = newer_half(&job, at, attempt) => {
                self.begin(station, (id, at), Begin::same(reason, remark))
            }
            Some(_) => {
                Err(Refusal::input(format!("{target} is finished"), how_again(&job, at, target)))
            }
        }
    }

    /// Ends an attempt that was begun on metal that is gone: it cannot be continued.
    fn leave_old_metal(
        &mut self,
        station: &Name,
        attempt: Seq,
        state: &Attempt,
    ) -> Result<(), Refusal> {
        if state.ending.is_some() {
            return Ok(());
        }
        if let Some(shown) = self.station_showing(attempt).filter(|shown| shown != station) {
            return Err(Refusal::input(
                format!("{} is under way at {shown}", self.target(attempt)),
                format!(
                    "stop it there first: `tenths measure --stop --station {}`",
                    words::typed(shown.as_str())
                ),
            ));
        }
        self.gauge_at(station, attempt)?;
        self.end(attempt, Ending::Stopped);
        Ok(())
    }

    /// Shows an unfinished attempt again, to be continued.
    fn go_on(&mut self, station: &Name, attempt: Seq) -> Answer {
        match self.station_showing(attempt) {
            Some(shown) if shown == *station => Ok(Done::Already(self.stands(station)?)),
            Some(shown) => Err(Refusal::input(
                format!("{} is under way at {shown}", self.target(attempt)),
                format!(
                    "stop it there first: `tenths measure --stop --station {}`",
                    words::typed(shown.as_str())
                ),
            )),
            None => {
                self.gauge_at(station, attempt)?;
                self.as_it_was(attempt)?;
                self.show(station, Some(attempt));
                Ok(Done::Measuring(self.stands(station)?))
            }
        }
    }

    /// Refuses to continue an attempt whose gauge changed since it began.
    fn as_it_was(&self, attempt: Seq) -> Result<(), Refusal> {
        let changed = self.attempt(attempt).map(|(_, _, state)| self.changed_since(&state));
        if changed.is_none_or(|changed| changed.is_empty()) {
            return Ok(());
        }
        let target = self.target(attempt);
        Err(Refusal::input(
            format!(
                "the gauge of {target} was changed: its open positions cannot be measured with it"
            ),
            format!(
                "measure it from the beginning: `tenths remeasure again {}`",
                words::typed(&target)
            ),
        ))
    }

    /// The gauge of an attempt must belong to the station.
    fn gauge_at(&self, station: &Name, attempt: Seq) -> Result<(), Refusal> {
        let gauge =
            self.attempt(attempt).and_then(|(_, job, state)| job.check_of(&state)?.1.gauge.clone());
        gauge.map_or(Ok(()), |gauge| self.belongs(station, &gauge).map(|_| ()))
    }

    fn belongs(&self, station: &Name, gauge: &Name) -> Result<crate::setup::GaugeSetup, Refusal> {
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
    pub(crate) fn begin(
        &mut self,
        station: &Name,
        (job, at): (Seq, CheckAt),
        begin: Begin,
    ) -> Answer {
        let Some(state) = self.bench.jobs.get(&job).map(Arc::clone) else {
            return Err(Refusal::input("the job is closed", "reopen it with `tenths job reopen`"));
        };
        if let Some((_, check)) = state.opened.plan.plan.at(at) {
            self.gauge_belongs(station, check)?;
        }
        may_begin(&state, at)?;
        let attempt = self.begin_attempt(job, at, begin)?;
        self.show(station, Some(attempt));
        if state.opened.plan.plan.at(at).is_some_and(|(_, c)| c.traits().is_worked_out()) {
            self.end(attempt, Ending::Complete);
        }
        Ok(Done::Measuring(self.stands(station)?))
    }

    fn gauge_belongs(&self, station: &Name, check: &Check) -> Result<(), Refusal> {
        check.gauge.as_ref().map_or(Ok(()), |gauge| self.belongs(station, gauge).map(drop))
    }

    /// The rows of a new attempt, pinned to the present gauge set-up and rule.
    pub(crate) fn begin_attempt(
        &mut self,
        job: Seq,
        at: CheckAt,
        Begin { reason, grinds, remark }: Begin,
    ) -> Result<Seq, Refusal> {
        let unknown = || Refusal::input("no such check", "see `tenths job show`");
        let state = self.bench.jobs.get(&job).map(Arc::clone).ok_or_else(unknown)?;
        let plan = &state.opened.plan.plan;
        let (_, check) = plan.at(at).ok_or_else(unknown)?;
        let configured = |gauge| {
            self.gauge_set_up(gauge).ok_or_else(|| {
                Refusal::input(
                    format!("gauge {gauge} of {} is not configured", check.name),
                    "add it to bench.toml and reload the service",
                )
            })
        };
        let gauge = check.gauge.as_ref().map(configured).transpose()?;
        let rule = state.rule;
        let unproven = gauge.as_ref().and_then(|gauge| self.unproven(&gauge.name));
        let withheld = unproven.is_some() && self.setup.withholds_unproven;
        let hand = self.by.clone();
        let shown = gauge.as_ref().and_then(|gauge| {
            self.bench.known.shown(
                &self.bench.shop.with_its_entry(gauge),
                hand.as_ref(),
                check.setup,
            )
        });
        let master = self.master_of(check)?;
        let bar = self.bar_of(check)?;
        let pin = Pin { gauge, rule, engine: ENGINE, unproven, withheld, master, bar };
        let pin = Arc::new(pin);
        let number = u32::try_from(state.attempts_at(at).count() + 1).unwrap_or(u32::MAX);
        drop(state);
        let began = AttemptBegan { job, check: at, number, reason, grinds, pin, shown, remark };
        let attempt = self.push(Body::AttemptBegan(began));
        self.about_the_gauge(attempt);
        self.before_the_nut(attempt);
        if reason == AttemptReason::Cleaned {
            self.settle_doubted(attempt);
        }
        Ok(attempt)
    }

    /// Raises, once per series, what the gauge cannot do for this check.
    fn about_the_gauge(&mut self, id: Seq) {
        let Some((_, job, attempt)) = self.attempt(id) else { return };
        self.clear_earlier(&job, id);
        let Some((part, check)) = job.check_of(&attempt) else { return };
        let Some(gauge) = attempt.gauge() else { return };
        let name = words::target(part, check);
        let tolerance = check.half_width();
        if judgement::too_coarse(gauge.resolution.length, tolerance) {
            let text = format!("{name}: {} is too coarse for the limit.", gauge.name);
            self.raise_for(id, AlertKind::TooCoarse, text);
        }
        let limit = returns::closure_limit(check, &attempt);
        // An assumed scatter says nothing about this gauge.
        let told = limit.scatter.known != Known::Assumed && !limit.checks_its_own_return();
        if check.closure && told {
            let text = format!("{name}: {} cannot check its own return.", gauge.name);
            self.raise_for(id, AlertKind::OwnReturn, text);
        }
        if gauge.calibration_due.is_some_and(|due| attempt.began_at >= due) {
            let text = format!("{name}: {} is past its calibration date.", gauge.name);
            self.raise_for(id, AlertKind::Overdue, text);
        }
    }

    /// Puts an attempt on a station's screen; a question open on the one before is dropped.
    pub(crate) fn show(&mut self, station: &Name, attempt: Option<Seq>) {
        if attempt.is_some() {
            let about = Subject::Station(station.clone());
            self.clear_about(Some(&about), AlertKind::EndedElsewhere);
        }
        if let Some(before) = self.active(station)
            && Some(before) != attempt
            && self.attempt(before).is_some_and(|(_, _, state)| state.asked.is_some())
        {
            self.push(Body::Asked { attempt: before, question: None });
            self.clear_ended(before, Ends::Question);
            // The question is dropped, its verdict stays. What was only not due yet is missing now.
            self.settle_again(before);
            let standing = self.attempt(before).and_then(|(_, _, state)| state.verdict.clone());
            if let Some((_, verdict)) = standing {
                self.tell(before, &verdict);
            }
        }
        self.push(Body::CheckActive { station: station.clone(), attempt });
    }

    /// Where a station stands; it must show a check.
    pub(crate) fn stands(&self, station: &Name) -> Result<Measuring, Refusal> {
        self.measuring(station).ok_or_else(|| {
            Refusal::input(format!("no check is active at {station}"), "see `tenths status`")
        })
    }

    /// `measure --stop`.
    pub(crate) fn stop(&mut self, station: &Name) -> Answer {
        let Some(active) = self.active(station) else {
            return Err(Refusal::input(
                format!("nothing is measured at {station}"),
                "nothing to stop",
            ));
        };
        let state = self.attempt(active);
        let open = state.as_ref().is_some_and(|(_, _, state)| state.ending.is_none());
        // Without a touch there is nothing to judge: the attempt stays open for its first touch.
        let touched = state.is_some_and(|(_, _, state)| state.is_touched());
        let under_way = open && touched;
        let untouched = (open && !touched).then(|| self.target(active));
        if under_way {
            self.end(active, Ending::Stopped);
        }
        self.show(station, None);
        let incomplete = under_way.then_some(active);
        Ok(Done::Stopped { station: station.clone(), incomplete, untouched })
    }

    /// `remeasure REASON [PART/CHECK]`.
    pub(crate) fn remeasure(
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
        if let Some((part, check)) = job.check_of(&state) {
            self.gauge_belongs(station, check)?;
            if reason == AttemptReason::Again && job.metal_changed_at(at) {
                let target = words::target(part, check);
                return Err(not_the_same_metal(&target, part, check));
            }
            if reason == AttemptReason::Ground
                && let Some(refusal) = grinds_no_bar(&job, (part, check))
            {
                return Err(refusal);
            }
            let taken = check.traits().is_worked_out() && state.ending.is_some();
            if taken && newer_half(&job, at, newest).is_none() {
                return Err(nothing_new(&words::target(part, check)));
            }
        }
        if state.ending.is_none() {
            if let Some(shown) = self.station_showing(newest).filter(|shown| shown != station) {
                return Err(Refusal::input(
                    format!("it is under way at {shown}"),
                    format!(
                        "stop it there first: `tenths measure --stop --station {}`",
                        words::typed(shown.as_str())
                    ),
                ));
            }
            self.end(newest, Ending::Stopped);
        }
        self.begin(station, (id, at), Begin::said(reason, remark))
    }

    /// `next`: the first check in plan order without a verdict.
    pub(crate) fn next(&mut self, station: &Name) -> Answer {
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
    pub(crate) fn next_check(&mut self, station: &Name) -> Option<Answer> {
        let (_, job) = self.job_of(station).ok()?;
        let plan = &job.opened.plan.plan;
        let open: Vec<CheckAt> = plan.places().filter(|at| is_open(&job, *at)).collect();
        // What is worked out waits for what it is made of, even where they come after it in the plan.
        let waits = |at: &CheckAt| {
            let made_of = plan.at(*at).map(|(_, check)| check.measures.made_of());
            made_of.is_some_and(|others| others.iter().any(|other| open.contains(other)))
        };
        // A check on the gauge of another station, or under way on its screen, belongs there.
        let here = |at: &CheckAt| {
            let mine = |(_, check)| self.gauge_belongs(station, check).is_ok();
            let under_way = job.newest_at(*at).filter(|(_, state)| state.ending.is_none());
            let shown = under_way.and_then(|(id, _)| self.station_showing(id));
            plan.at(*at).is_some_and(mine) && shown.is_none_or(|shown| shown == *station)
        };
        let ready = || open.iter().filter(|at| !waits(at));
        let next = ready().find(|at| here(at)).or(ready().next()).or(open.first())?;
        let (part, check) = plan.at(*next)?;
        Some(self.measure(station, &words::target(part, check), None))
    }
}

/// Whether a check has no verdict, or one whose basis has changed.
fn is_open(job: &Job, at: CheckAt) -> bool {
    let newest = job.newest_at(at);
    let check = job.opened.plan.plan.at(at).map(|(_, check)| check);
    if check.is_some_and(|check| !check.is_judged()) {
        return newest.is_none_or(|(_, state)| state.answer.is_none());
    }
    let verdict = newest.and_then(|(_, state)| state.verdict.as_ref());
    verdict.is_none_or(|(_, verdict)| verdict.word == Word::Incomplete)
        || newest.is_some_and(|(id, _)| newer_half(job, at, id).is_some())
        || job.metal_changed_at(at)
        || job.seat_doubted_at(at)
}

/// The refusal to average touches of old and of new metal.
fn not_the_same_metal(target: &str, part: &Part, check: &Check) -> Refusal {
    let text = (check.traits().other_metal)(target, (part, check));
    Refusal::input(
        text,
        format!("measure it as it is now: `tenths measure {}`", words::typed(target)),
    )
}

/// The refusal to grind on a check of a test bar: a bar is never ground. What carries it is measured by the
/// check of the taper, where the plan has one, and its grind is said there.
fn grinds_no_bar(job: &Job, (part, check): (&Part, &Check)) -> Option<Refusal> {
    let plan = &job.opened.plan.plan;
    let checks = || plan.places().filter_map(|at| plan.at(at));
    let taper = checks().find(|(_, check)| check.traits().bar == Bar::Carried);
    if part.kind != PartKind::Bar && (check.traits().bar != Bar::Read || taper.is_none()) {
        return None;
    }
    let target = words::target(part, check);
    let elsewhere = taper.map_or_else(String::new, |(part, check)| {
        let taper = words::target(part, check);
        format!(
            "; where the taper was ground, say it there: `tenths remeasure ground {}`",
            words::typed(&taper)
        )
    });
    Some(Refusal::input(
        format!("{target} turns on a test bar, and a test bar is not ground"),
        format!(
            "say `tenths remeasure cleaned {}` or `tenths remeasure again {}`{elsewhere}",
            words::typed(&target),
            words::typed(&target)
        ),
    ))
}

/// The refusal to take a difference again: without a new length it would be the same.
fn nothing_new(target: &str) -> Refusal {
    Refusal::input(
        format!("{target} is worked out from two lengths, and neither length was measured again"),
        "measure one of them again first, then `tenths next` takes the difference again",
    )
}

/// What to type to do a finished check once more: only a touched surface can be ground.
fn how_again(job: &Job, at: CheckAt, target: &str) -> String {
    let typed = words::typed(target);
    let check = job.opened.plan.plan.at(at);
    check.map_or_else(String::new, |(_, check)| (check.traits().once_more)(&typed))
}

/// Whether a touch of a finished attempt was taken back and not made again.
pub(crate) fn has_hole(job: &Job, attempt: &Attempt) -> bool {
    let open = |check| attempt.open_touches(check) > 0 || attempt.closure_taken_back();
    attempt.ending == Some(Ending::Complete)
        && job.check_of(attempt).is_some_and(|(_, check)| open(check))
}
