//! Requests about jobs, remarks and alerts.

use std::sync::Arc;

use judgement::Rule;
use quantity::Name;

use crate::draft::{Answer, Draft};
use crate::event::{AckOf, Command, Request};
use crate::fact::row::{Alert, AlertKind, Body, Ending, Ends, JobOpened, Piece, Subject, WentOn};
use crate::fact::seq::Seq;
use crate::gate;
use crate::reply::{Done, JobNow, Refusal};
use crate::request::card;
use crate::state::row::Row;
use crate::state::{Bench, Job};
use crate::words;

impl Draft<'_> {
    /// Closes the job in use at a station.
    fn close_this(&mut self, station: &Name, why: Option<&str>) -> Answer {
        let (_, job) = self.job_of(station)?;
        self.job_close(Some(station), job.opened.name.as_str(), why)
    }

    /// Decides a request.
    pub(crate) fn request(&mut self, request: &Request) -> Answer {
        let station = self.station(request.station.as_deref());
        self.by = self.who(request, station.as_ref().ok().or(self.station_of_proof(request)))?;
        if let Some(answer) = self.about_a_proof(request, station.as_ref().ok()) {
            return answer;
        }
        match &request.command {
            Command::JobOpen { .. } => self.job_open(&station?, request),
            Command::JobUse { name } => self.job_use(&station?, name),
            Command::JobClose { name: Some(name), why } => {
                self.job_close(station.as_ref().ok(), name, why.as_deref())
            }
            Command::JobClose { name: None, why } => self.close_this(&station?, why.as_deref()),
            Command::JobRule { name, rule, why } => self.job_rule(name, *rule, why),
            Command::JobReopen { name, found } => {
                self.job_reopen(&station?, name, found.as_deref().map(Vec::as_slice))
            }
            Command::Measure { target, remark } => {
                let station = station?;
                self.telling_what_is_left(&station, |draft| {
                    draft.measure(&station, target, remark.clone())
                })
            }
            Command::Stop => self.stop(&station?),
            Command::Remeasure { reason, target, remark } => {
                let about = (target.as_deref(), remark.clone());
                self.remeasure_and_tell(&station?, *reason, about)
            }
            Command::Confirm { target, answer } => self.confirm(&station?, target, answer),
            Command::Record { target, value } => self.record(&station?, target, value),
            Command::RunIn { asked, target } => self.run_in(&station?, *asked, target.as_deref()),
            Command::StackPlace { .. } => self.stack_place(&station?, &request.command),
            Command::StackSpot { .. } => self.stack_spot(&station?, &request.command),
            Command::StackBack { stage } => self.stack_back(&station?, *stage),
            Command::Replace { part, serial, why } => {
                self.replace(&station?, part, serial.as_deref(), why)
            }
            Command::Next => {
                let station = station?;
                self.telling_what_is_left(&station, |draft| draft.next(&station))
            }
            Command::Enter { values, graduation } => {
                self.enter(&station?, values, graduation.as_deref())
            }
            Command::Take { frame } => self.take_now(&station?, frame.as_ref()),
            Command::Tapped { tapped } => self.tapped(&station?, *tapped),
            Command::Swept(turn) => self.swept(&station?, turn),
            Command::EnterHighLow { .. } => self.enter_high_and_low(&station?, &request.command),
            Command::EnterTotal { value, graduation } => {
                self.enter_total(&station?, value, graduation.as_deref())
            }
            Command::Void { id, why } => self.void(&station?, *id, why.as_deref()),
            Command::Skip { position, why } => self.skip(&station?, *position, why),
            Command::Master { gauge } => self.master(&station?, gauge.as_deref()),
            Command::Note { job, text, closed } => self.note(job, text, *closed),
            Command::Attach(asked) => self.attach(asked),
            Command::TakeAttachedBack { job, id, why } => self.take_attached_back(job, *id, why),
            Command::Ack(of) => self.ack(of),
            Command::Person { name } => self.person(&station?, name.as_deref()),
            Command::Sign { .. } => self.sign(request),
            Command::JobIntake { name, told } => self.job_intake(name, told),
            Command::JobEdit { .. } => self.job_edit(&request.command),
            Command::Decide { part, outcome, why } => self.decide(&station?, part, *outcome, why),
            Command::Serial { part, serial } => self.serial(&station?, part, serial),
            Command::Register(asked) => self.register(asked),
            Command::Retire { name, why } => self.retire(name, why),
            Command::Prove { .. } => self.prove(None, &request.command),
            Command::ProveStop { gauge, why } => self.prove_stop(gauge, why.as_deref()),
        }
    }

    /// The station of a request: the one named, or the only one.
    fn station(&self, named: Option<&str>) -> Result<Name, Refusal> {
        let names: Vec<&str> = self.setup.stations.iter().map(|s| s.name.as_str()).collect();
        let found = match named {
            Some(named) => self.setup.stations.iter().find(|s| s.name.as_str() == named),
            None if names.len() == 1 => self.setup.stations.first(),
            None => None,
        };
        found.map(|station| station.name.clone()).ok_or_else(|| {
            let text = named.map_or_else(
                || "there are several stations".to_owned(),
                |named| format!("there is no station {named:?}"),
            );
            Refusal::input(text, format!("add `--station` with one of: {}", names.join(", ")))
        })
    }

    fn job_open(&mut self, station: &Name, request: &Request) -> Answer {
        let Command::JobOpen { name, used, plan, serial, customer, told, rule } = &request.command
        else {
            return Err(Refusal::input("no job to open", "see `tenths job open --help`"));
        };
        let name = job_name(name)?;
        let told = card::told_well(told)?;
        if *used || self.bench.jobs_alike(name.as_str()).next().is_some() {
            return Err(Refusal::input(
                format!(
                    "a job named {name} exists already (letter case does not matter), and a \
                     name is never used twice"
                ),
                format!(
                    "pick another name, or `tenths job use {}` / `tenths job reopen {}`",
                    words::typed(name.as_str()),
                    words::typed(name.as_str())
                ),
            ));
        }
        if let Some(why) = self.setup.plans_aside.get(plan.as_str()) {
            return Err(Refusal::input(
                format!("plan {plan} is set aside: {why}"),
                "mend it, see all that is wrong with `tenths config check`, and reload the service",
            ));
        }
        let Some((plan_name, pinned)) = self.setup.plans.get_key_value(plan.as_str()) else {
            let plans: Vec<&str> = self.setup.plans.keys().map(Name::as_str).collect();
            return Err(Refusal::input(
                format!("there is no plan {plan:?}"),
                format!("the plans are: {}", plans.join(", ")),
            ));
        };
        let opened = JobOpened {
            name: name.clone(),
            plan_name: plan_name.clone(),
            plan: Arc::clone(pinned),
            serial: serial.clone(),
            customer: customer.clone(),
            rule: pinned.plan.rule.unwrap_or(self.setup.rule),
        };
        let agreed = card::agreed(&opened, *rule);
        let job = self.push(Body::JobOpened(Arc::new(opened)));
        if let Some(rule) = agreed {
            self.push(Body::RuleChanged { job, rule, why: card::AGREED_AT_OPENING.to_owned() });
        }
        self.write_told(job, told);
        let id = job;
        self.use_job(station, Some(id));
        Ok(Done::Job {
            what: JobNow::Opened,
            id,
            name,
            station: Some(station.clone()),
            active: None,
        })
    }

    /// Makes a job the one a station works on; a check left on its screen stays unfinished.
    pub(crate) fn use_job(&mut self, station: &Name, job: Option<Seq>) {
        if self.active(station).is_some() {
            self.show(station, None);
        }
        self.push(Body::JobActive { station: station.clone(), job });
    }

    /// An open job by its name as typed; otherwise in any letter case, where only one matches.
    fn named(&self, name: &str) -> Option<(Seq, &Arc<Job>)> {
        let any_case = || {
            let mut found = self.bench.jobs_alike(name);
            found.next().filter(|_| found.next().is_none())
        };
        self.bench.job_named(name).or_else(any_case)
    }

    pub(crate) fn open_job(&self, name: &str) -> Result<(Seq, Name), Refusal> {
        let found = self.named(name);
        found.map(|(id, job)| (id, job.opened.name.clone())).ok_or_else(|| {
            if let Some(damage) = self.damage_of(name) {
                return damage;
            }
            let open: Vec<&str> =
                self.bench.jobs.values().map(|job| job.opened.name.as_str()).collect();
            let hint = if open.is_empty() {
                "no job is open; `tenths job list` shows all".to_owned()
            } else {
                format!("open jobs: {}", open.join(", "))
            };
            Refusal::input(format!("no open job is named {name:?}"), hint)
        })
    }

    /// The refusal for a job that is set aside because its record is damaged.
    fn damage_of(&self, name: &str) -> Option<Refusal> {
        let mut open = self.bench.alerts.values().map(|open| &open.alert);
        let about = |alert: &&Arc<Alert>| match &alert.about {
            Some(Subject::Record(Piece::Job(job))) => job.as_str() == name,
            _ => false,
        };
        let told = open.find(about)?;
        Some(Refusal::input(&*told.text, "`tenths verify` names everything that is damaged"))
    }

    /// `job rule NAME RULE --why TEXT`.
    fn job_rule(&mut self, name: &str, rule: Rule, why: &str) -> Answer {
        let (job, name) = self.open_job(name)?;
        if why.trim().is_empty() {
            let text = "the reason is empty";
            return Err(Refusal::input(text, "say what was agreed, and with whom"));
        }
        if self.bench.jobs.get(&job).is_some_and(|open| open.rule == rule) {
            let text = format!("job {name} is judged by the {} rule already", rule.text());
            return Err(Refusal::input(text, "nothing has to be changed"));
        }
        self.push(Body::RuleChanged { job, rule, why: why.to_owned() });
        Ok(Done::RuleChanged { name, rule })
    }

    fn job_use(&mut self, station: &Name, name: &str) -> Answer {
        let (id, name) = self.open_job(name)?;
        if self.bench.stations.get(station).and_then(|state| state.job) != Some(id) {
            self.use_job(station, Some(id));
        }
        let active = self.active(station).map(|attempt| self.target(attempt));
        Ok(Done::Job { what: JobNow::InUse, id, name, station: Some(station.clone()), active })
    }

    /// The checks of a job, or of one part of it, that are under way on the screens of other stations: each
    /// with its station.
    fn under_way_elsewhere(
        &self,
        station: Option<&Name>,
        job: Seq,
        of: Option<u16>,
    ) -> Vec<(Name, String)> {
        let Some(state) = self.bench.jobs.get(&job) else { return Vec::new() };
        let found = state.attempts.iter().filter_map(|(id, attempt)| {
            let part = attempt.began.check.part;
            let open = attempt.ending.is_none() && attempt.is_touched();
            let shown = self.station_showing(*id).filter(|shown| Some(shown) != station)?;
            let meant = open && of.is_none_or(|of| of == part);
            meant.then(|| (shown, self.target(*id)))
        });
        found.collect()
    }

    /// One person's unfinished ring is not ended by another without a reason.
    ///
    /// # Errors
    /// A ring is under way at another station, and no reason is given or none is allowed.
    pub(crate) fn not_under_way_elsewhere(
        &self,
        station: Option<&Name>,
        (job, of): (Seq, Option<u16>),
        what: &str,
        (command, why): (&str, Option<&str>),
    ) -> Result<(), Refusal> {
        let elsewhere = self.under_way_elsewhere(station, job, of);
        let Some((at, _)) = elsewhere.first() else { return Ok(()) };
        if why.is_some_and(|why| !why.trim().is_empty()) {
            return Ok(());
        }
        let one = |(at, target): &(Name, String)| format!("{target} is under way at {at}");
        let told: Vec<String> = elsewhere.iter().map(one).collect();
        let stop = format!("tenths measure --stop --station {}", words::typed(at.as_str()));
        let hint = if command.is_empty() {
            format!("let it be finished, or stop it there first: `{stop}`")
        } else {
            format!(
                "let it be finished, stop it there first: `{stop}`, or end it with a reason that \
                 is told there: `{command} --why TEXT`"
            )
        };
        Err(Refusal::input(format!("{what}: {}", told.join(", ")), hint))
    }

    fn job_close(&mut self, station: Option<&Name>, name: &str, why: Option<&str>) -> Answer {
        let (id, name) = self.open_job(name)?;
        if let Some(job) = self.bench.jobs.get(&id).map(Arc::clone) {
            let lacking = gate::before_closing(&job);
            let typed = words::typed(name.as_str());
            let command = format!("tenths job close {typed}{}", self.at_station(station));
            let what = format!("job {name} is not closed");
            self.not_under_way_elsewhere(station, (id, None), &what, (&command, why))?;
            let told = gate::told_of_a_part(&job, &lacking, None);
            if let Some(why) = Self::gate(told, (&what, &command), why)? {
                self.went_on(id, WentOn { part: None, lacking, mark: None, why });
            }
        }
        let elsewhere = self.under_way_elsewhere(station, id, None);
        let open: Vec<Seq> = self
            .bench
            .jobs
            .get(&id)
            .into_iter()
            .flat_map(|job| &job.attempts)
            .filter(|(_, attempt)| attempt.ending.is_none() && attempt.is_touched())
            .map(|(attempt, _)| *attempt)
            .collect();
        for attempt in open {
            self.end(attempt, Ending::Stopped);
        }
        let at: Vec<Name> = self
            .bench
            .stations
            .iter()
            .filter(|(_, state)| state.job == Some(id))
            .map(|(station, _)| station.clone())
            .collect();
        for station in &at {
            self.use_job(station, None);
        }
        self.clear(|alert| alert.job == Some(id));
        self.push(Body::JobClosed { job: id });
        for (at, target) in elsewhere {
            let by = self.by.as_ref().map_or_else(String::new, |by| format!(" by {by}"));
            let why = why.unwrap_or_default().trim();
            let text = format!(
                "{target}, under way at {at}, was ended: job {name} was closed{by} from another \
                 station: \"{why}\""
            );
            self.raise_about(Some(Subject::Station(at)), AlertKind::EndedElsewhere, text);
        }
        Ok(Done::Job {
            what: JobNow::Closed,
            id,
            name,
            station: at.into_iter().next(),
            active: None,
        })
    }

    fn job_reopen(&mut self, station: &Name, name: &str, found: Option<&[Row]>) -> Answer {
        if self.bench.job_named(name).is_some() {
            return self.job_use(station, name);
        }
        let job =
            found.and_then(|rows| rows.iter().find(|row| matches!(row.body, Body::JobOpened(_))));
        let restored = job
            .zip(found)
            .and_then(|(first, rows)| Some((first.seq, Bench::rebuilt_job(rows, first.seq)?)));
        let Some((id, restored)) = restored else {
            if let Some((_, open)) = self.named(name) {
                return self.job_use(station, open.opened.name.clone().as_str());
            }
            return Err(Refusal::input(
                format!("no closed job is named {name:?}"),
                "`tenths job list` shows every job",
            ));
        };
        let name = restored.opened.name.clone();
        self.reopen(id, restored);
        let about = Subject::Record(Piece::Job(name.clone()));
        self.clear_about(Some(&about), AlertKind::RecordDamaged);
        self.follow_gauges();
        self.use_job(station, Some(id));
        Ok(Done::Job {
            what: JobNow::Reopened,
            id,
            name,
            station: Some(station.clone()),
            active: None,
        })
    }

    fn note(&mut self, name: &str, text: &str, closed: Option<Seq>) -> Answer {
        let job = self.any_job(name, closed)?;
        if text.trim().is_empty() {
            return Err(Refusal::input("the remark is empty", "write what is to be remembered"));
        }
        self.push(Body::Noted { job, text: text.to_owned() });
        Ok(Done::Noted { job })
    }

    /// A job by its name, open or closed.
    pub(crate) fn any_job(&self, name: &str, closed: Option<Seq>) -> Result<Seq, Refusal> {
        let open = self.bench.job_named(name).map(|(id, _)| id);
        match open.or(closed) {
            Some(job) => Ok(job),
            None => Ok(self.open_job(name)?.0),
        }
    }

    /// `ack ID`, `ack --job NAME`, `ack --all`.
    fn ack(&mut self, of: &AckOf) -> Answer {
        let job = match of {
            AckOf::One(id) => {
                let Some(open) = self.bench.alerts.get(id) else {
                    let text = format!("no open alert has the number {id}");
                    return Err(Refusal::input(text, "see `tenths alerts --state open`"));
                };
                let (alert, seen) = (Arc::clone(&open.alert), open.seen);
                self.see(*id, &alert, seen);
                return Ok(Done::Seen { alert: *id });
            }
            AckOf::Job(name) => Some(self.open_job(name)?),
            AckOf::All => None,
        };
        let meant = |alert: &Alert| job.as_ref().is_none_or(|(job, _)| alert.job == Some(*job));
        let unseen: Vec<(Seq, Arc<Alert>)> = (self.bench.alerts.iter())
            .filter(|(_, open)| !open.seen && meant(&open.alert))
            .map(|(id, open)| (*id, Arc::clone(&open.alert)))
            .collect();
        for (id, alert) in &unseen {
            self.see(*id, alert, false);
        }
        let alerts = unseen.into_iter().map(|(id, _)| id).collect();
        Ok(Done::AllSeen { alerts, job: job.map(|(_, name)| name) })
    }

    /// A person has seen an alert. One that nothing else ends is over then.
    fn see(&mut self, id: Seq, alert: &Alert, seen: bool) {
        if !seen {
            self.push(Body::AlertSeen { alert: id });
        }
        if alert.kind.nature().ends == Ends::Seen {
            self.push(Body::AlertCleared { alert: id });
        }
    }
}

/// A job name that is safe in file names and reports: `__` separates job, part and check there.
fn job_name(name: &str) -> Result<Name, Refusal> {
    let hint = "letters, digits and dashes are best: `WH-2041`";
    if name.contains("__") {
        let text = format!("{name:?} holds `__`, which separates names in file names");
        return Err(Refusal::input(text, hint));
    }
    Name::new(name).map_err(|error| Refusal::input(format!("{name:?}: {error}"), hint))
}
