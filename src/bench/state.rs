//! The state of a bench, and `apply`, the only thing that changes it.

pub(crate) mod attempt;
pub mod card;
mod finder;
mod job;
pub(crate) mod known;
mod logged;
pub mod metal;
pub(crate) mod pairs;
mod paperwork;
pub mod proofs;
pub(crate) mod row;
pub(crate) mod shaft;
mod shelf;
mod station;
pub(crate) mod watched;

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use quantity::Name;

use crate::fact::row::{Alert, AttemptBegan, Body, Pin, Reading, Source, StackItem, Stage, State};
use crate::fact::seq::Seq;
use crate::fact::verdict::Verdict;
use crate::plan::{Check, Taps};
use crate::state::row::Row;
use crate::state::shaft::OnShaft;

pub use self::attempt::{Attempt, LeftOut, Touched};
use self::finder::Finder;
pub use self::job::{Job, KeptPaper};
use self::known::Known;
pub use self::logged::Logged;
pub use self::proofs::{Lift, ProofTouch, Proving, Shop};
pub use self::shelf::{Entries, Keys, Shelf, Values};
pub use self::station::Station;

/// What a start reads back of the proofs is enough for what is known of their gauges.
const _: () = assert!(proofs::PROOFS_AT_HAND >= known::NEWEST);

/// The whole state of the bench. It holds open jobs only; closed ones are on disk.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Bench {
    /// The number of the newest row.
    pub last: Seq,
    /// The number of the newest line of the feed.
    pub feed: u64,
    /// Identity of the machine's boot.
    pub boot: u64,
    /// Open jobs.
    pub jobs: Shelf<Seq, Arc<Job>>,
    /// What each station works on. A station nobody used yet is absent.
    pub stations: BTreeMap<Name, Station>,
    /// Alerts that are not cleared.
    pub alerts: Shelf<Seq, OpenAlert>,
    /// The proofs of its gauges, and the register.
    pub shop: Shop,
    /// What it knows of its gauges.
    pub known: Known,
    /// The run-ins under way, by their attempts.
    pub logs: BTreeSet<Seq>,
    /// An index of its attempts, names and alerts.
    finder: Finder,
}

/// An alert that is not cleared.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OpenAlert {
    /// The alert.
    pub alert: Arc<Alert>,
    /// Whether a person has seen it.
    pub seen: bool,
}

impl Bench {
    /// Rebuilds a bench from rows. `last` and `feed` are the newest numbers of the whole record, which is
    /// longer than `rows` where only open jobs were read.
    #[must_use]
    pub fn rebuilt<'a>(rows: impl IntoIterator<Item = &'a Row>, last: Seq, feed: u64) -> Self {
        let mut bench = Self::default();
        for row in rows {
            bench.apply(row);
        }
        bench.last = last;
        bench.feed = feed;
        bench
    }

    /// Rebuilds a job from its own rows, the first of which opened it.
    #[must_use]
    pub fn rebuilt_job<'a>(rows: impl IntoIterator<Item = &'a Row>, job: Seq) -> Option<Arc<Job>> {
        let own = rows
            .into_iter()
            .filter(|row| !matches!(row.body, Body::JobClosed { .. } | Body::JobReopened { .. }));
        Self::rebuilt(own, Seq(0), 0).jobs.remove(&job)
    }

    /// An attempt of an open job.
    #[must_use]
    pub fn attempt(&self, id: Seq) -> Option<(Seq, &Arc<Job>, &Arc<Attempt>)> {
        let job = self.finder.job_of(id)?;
        let state = self.jobs.get(&job)?;
        Some((job, state, state.attempts.get(&id)?))
    }

    /// The open job of an attempt.
    fn job_of_attempt(&self, id: Seq) -> Option<Seq> {
        self.finder.job_of(id)
    }

    /// An open job by its name.
    #[must_use]
    pub fn job_named(&self, name: &str) -> Option<(Seq, &Arc<Job>)> {
        self.jobs_alike(name).find(|(_, job)| job.opened.name.as_str() == name)
    }

    /// The open jobs with this name, whatever the letter case and blanks around it.
    pub fn jobs_alike(&self, name: &str) -> impl Iterator<Item = (Seq, &Arc<Job>)> {
        self.finder.named(name).filter_map(|id| Some((id, self.jobs.get(&id)?)))
    }

    /// The open alerts about an attempt, or about none, oldest first.
    pub fn alerts_about(&self, attempt: Option<Seq>) -> impl Iterator<Item = (Seq, &OpenAlert)> {
        self.finder.alerts_about(attempt).filter_map(|id| Some((id, self.alerts.get(&id)?)))
    }

    /// Applies a row. Nothing else changes the state.
    ///
    /// # Panics
    /// When a job is opened again and the row lacks its state: an error in this program.
    pub fn apply(&mut self, row: &Row) {
        self.last = row.seq;
        self.note_change(row);
        match &row.body {
            Body::Started { boot } => self.boot = *boot,
            Body::JobOpened(opened) => {
                self.finder.job_opened(row.seq, &opened.name);
                self.jobs.insert(row.seq, Arc::new(Job::new(row.seq, Arc::clone(opened))));
            }
            Body::JobClosed { job } => {
                if let Some(closed) = self.jobs.remove(job) {
                    self.logs.retain(|attempt| !closed.attempts.contains_key(attempt));
                    self.finder.job_left(*job, &closed);
                }
            }
            Body::JobReopened { job } => {
                let restored =
                    row.restored.as_ref().expect("whoever brings this row built the state");
                self.finder.job_came(*job, restored);
                self.logs.extend(restored.running());
                self.jobs.insert(*job, Arc::clone(restored));
            }
            Body::JobActive { station, .. }
            | Body::PersonAt { station, .. }
            | Body::CheckActive { station, .. } => {
                self.stations.entry(station.clone()).or_default().apply(row);
            }
            Body::AttemptBegan(began) => self.begin(row, began),
            Body::Reading(reading) => self.take(row, reading),
            Body::Swept { attempt, taps } => self.sweep(*attempt, taps),
            Body::Marked { attempt: None, reading, .. } => self.take_lift_back(*reading),
            Body::Marked { attempt: Some(attempt), .. }
            | Body::AttemptEnded { attempt, .. }
            | Body::Skipped { attempt, .. }
            | Body::Asked { attempt, .. }
            | Body::Answered { attempt, .. }
            | Body::Seated { attempt, .. }
            | Body::TurnUnderWay { attempt, .. }
            | Body::MasterNext { attempt } => self.change(*attempt, row),
            Body::SpeedStep(_) | Body::LogWentOn(_) | Body::Temperature(_) => self.log(row),
            Body::Verdict(verdict) => {
                self.feed += 1;
                self.judge(row.seq, verdict);
            }
            Body::AlertRaised(_) | Body::AlertSeen { .. } | Body::AlertCleared { .. } => {
                self.alert(row);
            }
            Body::StackPlaced { .. }
            | Body::StackTaken { .. }
            | Body::WentOn { .. }
            | Body::PartReplaced { .. }
            | Body::SpotMarked { .. } => self.assemble(row),
            Body::Repeated(seen) => self.known.repeated(row.by.as_ref(), seen),
            Body::RuleChanged { job, rule, .. } => {
                if let Some(job) = self.jobs.get_mut(job) {
                    Arc::make_mut(job).rule = *rule;
                }
            }
            Body::Attached(_) | Body::AttachedTakenBack { .. } => self.papers(row),
            Body::ProofBegan(_) | Body::Proved(_) | Body::Registered(_) => self.prove(row),
            Body::Intake { job, .. }
            | Body::JobEdited { job, .. }
            | Body::Decided { job, .. }
            | Body::Serial { job, .. }
            | Body::Signed { job, .. } => self.write_on_card(*job, row),
            Body::Noted { .. } | Body::FileTaken(_) | Body::FileRefused(_) => {}
        }
    }

    /// Applies a row about the parts of a job and the stack.
    fn assemble(&mut self, row: &Row) {
        if let Body::StackPlaced { job, stage, item } = &row.body {
            self.stack(row.seq, *job, *stage, Some(item));
        } else if let Body::StackTaken { job, stage } = &row.body {
            self.stack(row.seq, *job, *stage, None);
        } else if let Body::WentOn { job, went } = &row.body {
            if let Some(job) = self.jobs.get_mut(job) {
                Arc::make_mut(job).went_on.push((row.seq, Arc::clone(went)));
            }
        } else if let Body::PartReplaced { job, part, serial, .. } = &row.body {
            if let Some(job) = self.jobs.get_mut(job) {
                let since = (row.seq, serial.clone());
                let job = Arc::make_mut(job);
                job.replaced.entry(*part).or_default().push(since);
                // The mark was on the piece that is gone.
                job.spots.remove(part);
            }
        } else if let Body::SpotMarked { job, part, spot } = &row.body
            && let Some(job) = self.jobs.get_mut(job)
        {
            let job = Arc::make_mut(job);
            match spot {
                Some(spot) => job.spots.insert(*part, (row.seq, Arc::clone(spot))),
                None => job.spots.remove(part),
            };
        }
    }

    /// Applies a row about the proof of a gauge, or of the register.
    fn prove(&mut self, row: &Row) {
        if let Body::ProofBegan(began) = &row.body {
            self.stations.entry(began.station.clone()).or_default().apply(row);
        } else if let Body::Proved(proved) = &row.body {
            let station = self.stations.entry(proved.station.clone()).or_default();
            (station.proving, station.proved) = (None, Some(proved.name().clone()));
            self.known.proved(row.by.as_ref(), proved);
        }
        self.shop.apply(row);
    }

    /// Applies a row about an alert.
    fn alert(&mut self, row: &Row) {
        self.feed += 1;
        if let Body::AlertRaised(alert) = &row.body {
            self.finder.alert_raised(row.seq, alert);
            let open = OpenAlert { alert: Arc::clone(alert), seen: false };
            self.alerts.insert(row.seq, open);
        } else if let Body::AlertSeen { alert } = &row.body {
            if let Some(open) = self.alerts.get_mut(alert) {
                open.seen = true;
            }
        } else if let Body::AlertCleared { alert } = &row.body
            && let Some(open) = self.alerts.remove(alert)
        {
            self.finder.alert_cleared(*alert, &open.alert);
        }
    }

    fn begin(&mut self, row: &Row, began: &AttemptBegan) {
        if let Some(job) = self.jobs.get_mut(&began.job) {
            self.finder.attempt_began(row.seq, began.job);
            let check = job.opened.plan.plan.at(began.check);
            let touches = check.map_or(1, |(_, check)| check.touches);
            let mut attempt = Attempt::new(began.clone(), row.at.wall, touches);
            attempt.pinned = check.and_then(|(_, check)| with_its_pieces(check, &began.pin));
            let attempt = Arc::new(attempt);
            Arc::make_mut(job).attempts.insert(row.seq, attempt);
        }
    }

    /// Puts a part on a list of the stack, or takes the newest one off.
    fn stack(&mut self, row: Seq, job: Seq, stage: Stage, item: Option<&Arc<StackItem>>) {
        let Some(job) = self.jobs.get_mut(&job).map(Arc::make_mut) else { return };
        let list = match stage {
            Stage::Found => &mut job.found,
            Stage::Built => &mut job.built,
        };
        let taken = match item {
            Some(item) => {
                list.push(Arc::clone(item));
                None
            }
            None => list.pop(),
        };
        if stage == Stage::Found {
            return;
        }
        if let Some(item) = item {
            job.shaft.push(OnShaft { part: item.part, from: row, until: None });
        } else if let Some(taken) = taken {
            let on = |on: &&mut OnShaft| on.part == taken.part && on.until.is_none();
            if let Some(on) = job.shaft.iter_mut().rev().find(on) {
                on.until = Some(row);
            }
        }
    }

    fn sweep(&mut self, id: Seq, taps: &Arc<Taps>) {
        let found =
            self.attempt(id).map(|(_, job, attempt)| (Arc::clone(job), attempt.began.check));
        let Some((job, at)) = found else { return };
        if let (Some((_, check)), Some(attempt)) =
            (job.opened.plan.plan.at(at), self.attempt_mut(id))
        {
            attempt.sweep(taps, check);
        }
    }

    fn take(&mut self, row: &Row, reading: &Reading) {
        if let Some(lift) = proofs::lift_of(row.seq, reading) {
            if let Some(proving) = self.proving_with(&reading.gauge) {
                proving.touches.push(lift);
            }
            return;
        }
        if let Some(attempt) = reading.attempt {
            // What a proof came to makes room for the check that goes on.
            let shows = |station: &&mut Station| station.attempt == Some(attempt);
            self.stations.values_mut().filter(shows).for_each(|station| station.proved = None);
        }
        let attempt = reading.attempt.and_then(|attempt| self.attempt_in(reading.job, attempt));
        let Some(attempt) = attempt else { return };
        if reading.state == State::Master {
            attempt.master_next = false;
        }
        let (value, state, position) = (reading.value, reading.state, reading.position);
        let from_file = match reading.source {
            Source::Drop { file, .. } => Some(file),
            Source::Serial | Source::Keyed => None,
        };
        let (arrived_as, keyed) = (state, reading.keyed());
        let graduation = keyed.and_then(crate::state::watched::graduation_of);
        let keyed = keyed.is_some();
        let (id, at) = (row.seq, reading.measured_at.unwrap_or(row.at.wall));
        if let (Some((taps, check)), State::Placed, Some(_)) = (&mut attempt.swept, state, position)
        {
            taps.place(Arc::make_mut(check), row.at.mono_us);
        }
        attempt.fill(Touched {
            id,
            value,
            state,
            arrived_as,
            position,
            from_file,
            keyed,
            graduation,
            mono_us: row.at.mono_us,
            at,
            by: row.by.clone(),
        });
    }

    /// The proof under way of a gauge.
    fn proving_with(&mut self, gauge: &Name) -> Option<&mut Proving> {
        let all = self.stations.values_mut().filter_map(|station| station.proving.as_mut());
        let mut its = all.filter(|proving| proving.began.gauge.name == *gauge);
        its.next().map(Arc::make_mut)
    }

    fn take_lift_back(&mut self, reading: Seq) {
        let all = self.stations.values_mut().filter_map(|station| station.proving.as_mut());
        for proving in all {
            if proving.touches.iter().any(|lift| lift.id == reading) {
                let proving = Arc::make_mut(proving);
                proving.touches.retain(|lift| lift.id != reading);
                proving.voided += 1;
            }
        }
    }

    /// Applies a row of a run-in.
    fn log(&mut self, row: &Row) {
        if let Body::SpeedStep(step) = &row.body {
            let Some(state) = self.attempt_mut(step.attempt) else { return };
            match &mut state.log {
                Some(logged) => logged.step(row.at, step),
                none => *none = Some(Logged::began(row.at, step)),
            }
            if state.runs() {
                self.logs.insert(step.attempt);
            } else {
                self.logs.remove(&step.attempt);
            }
        } else if let Body::LogWentOn(went) = &row.body {
            if let Some(logged) = self.attempt_mut(went.attempt).and_then(|one| one.log.as_mut()) {
                logged.went_on(row.at, went);
            }
        } else if let Body::Temperature(one) = &row.body
            && let Some(logged) = self.attempt_mut(one.attempt).and_then(|one| one.log.as_mut())
        {
            logged.temperature(one);
        }
    }

    /// Applies a row that changes an existing attempt.
    fn change(&mut self, attempt: Seq, row: &Row) {
        if matches!(row.body, Body::AttemptEnded { .. }) {
            self.logs.remove(&attempt);
        }
        let Some(attempt) = self.attempt_mut(attempt) else { return };
        let body = &row.body;
        if let Body::AttemptEnded { ending, .. } = body {
            attempt.ending = Some(*ending);
            attempt.turn_under_way = false;
        } else if let Body::Marked { reading, state, .. } = body {
            attempt.mark(*reading, *state);
        } else if let Body::Skipped { position, why, .. } = body {
            let (why, by) = (why.clone(), row.by.clone());
            let left_out = LeftOut { row: row.seq, why, by, at: row.at.wall };
            attempt.skipped.insert(*position, left_out);
        } else if let Body::Asked { question, .. } = body {
            attempt.asked = *question;
            attempt.asked_in = question.map(|_| row.seq);
            attempt.put.extend(*question);
        } else if let Body::Answered { text, .. } = body {
            attempt.answer = Some(text.clone());
            attempt.answered_by.clone_from(&row.by);
            attempt.answered_at = Some(row.at.wall);
            attempt.answered_in = Some(row.seq);
        } else if let Body::MasterNext { .. } = body {
            attempt.master_next = true;
        } else if let Body::Seated { seating, taken_back, .. } = body {
            attempt.seat(row.seq, *seating, *taken_back);
        } else if let Body::TurnUnderWay { under_way, .. } = body {
            attempt.turn_under_way = *under_way;
        }
    }

    fn judge(&mut self, id: Seq, verdict: &Arc<Verdict>) {
        if let Some(attempt) = self.attempt_mut(verdict.attempt) {
            attempt.verdict = Some((id, Arc::clone(verdict)));
        }
    }

    /// An attempt, looked for in the job given first, so that many jobs need not be searched.
    fn attempt_in(&mut self, job: Option<Seq>, id: Seq) -> Option<&mut Attempt> {
        let holds =
            |job: &Seq| self.jobs.get(job).is_some_and(|job| job.attempts.contains_key(&id));
        let Some(job) = job.filter(holds) else { return self.attempt_mut(id) };
        let job = Arc::make_mut(self.jobs.get_mut(&job)?);
        job.attempts.get_mut(&id).map(Arc::make_mut)
    }

    fn attempt_mut(&mut self, id: Seq) -> Option<&mut Attempt> {
        let job = Arc::make_mut(self.jobs.get_mut(&self.finder.job_of(id)?)?);
        job.attempts.get_mut(&id).map(Arc::make_mut)
    }
}

/// A check held against the pieces of the register that its attempt pinned; `None` where it pinned none.
fn with_its_pieces(check: &Check, pin: &Pin) -> Option<Arc<Check>> {
    let held = pin.master.as_ref().map(|master| check.against(master.size, master.uncertainty));
    let held = match &pin.bar {
        Some(bar) => {
            Some(Check { bar_known: Some(bar.u()), ..held.unwrap_or_else(|| check.clone()) })
        }
        None => held,
    };
    held.map(Arc::new)
}
