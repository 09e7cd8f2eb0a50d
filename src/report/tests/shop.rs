//! A shop for tests: jobs are opened, measured and closed by the bench itself, in made-up time.

#![expect(clippy::wildcard_enum_match_arm, reason = "few of all rows are told here")]

use std::collections::BTreeMap;
use std::sync::Arc;

use ::record::{
    CheckPlace, JobRecord, Place, ReadingRecord, ReadingSource, Remark, ReplacedPart, StackRecord,
    VerdictRecord,
};
use bench::plan::PinnedPlan;
use bench::row::{AttemptReason, Stage, State};
use bench::setup::{GaugeKind, GaugeSetup, Setup, StationSetup};
use bench::{Bench, Body, Command, Decision, Event, Request, Row, Seq};
use jiff::tz::TimeZone;
use judgement::Rule;
use quantity::{Name, Quoted, Stamp, Unit, Wall};

use super::html::Page;
use crate::trial::length;
use crate::{JobFacts, Letterhead, ReportFacts, report_page};

pub(super) fn name(text: &str) -> Name {
    Name::new(text).expect("a name")
}

/// A bench and everything that was stored on it.
pub(super) struct Shop {
    setup: Setup,
    bench: Bench,
    rows: Vec<Row>,
    clock_s: u64,
    person: Option<String>,
}

fn gauge(kind: GaugeKind, called: &str, uncertainty: Option<&str>) -> GaugeSetup {
    GaugeSetup {
        name: name(called),
        kind,
        unit: Some(Unit::Inch),
        resolution: Quoted::parse("0.00001", Unit::Inch).expect("a step"),
        uncertainty: uncertainty.map(length),
        repeatability: uncertainty.map(|_| length("0.000006 in")),
        travel: None,
        serial: Some(format!("{called}-7")),
        calibration_due: None,
        lever_mdeg: 0,
        wire: None,
    }
}

impl Shop {
    /// A shop with one plan.
    pub(super) fn with(plan: &str) -> Self {
        let text = format!("name = \"held\"\nunit = \"in\"\n{plan}");
        let plan = config::parse_plan(&text, "held").expect("a plan");
        let gauges = [
            gauge(GaugeKind::Indicator, "plate", Some("0.0000084 in")),
            gauge(GaugeKind::Dial, "mute", None),
        ];
        let gauges: BTreeMap<Name, GaugeSetup> =
            gauges.into_iter().map(|gauge| (gauge.name.clone(), gauge)).collect();
        let setup = Setup {
            name: "test bench".to_owned(),
            unit: Unit::Inch,
            rule: Rule::Guarded,
            stations: vec![StationSetup {
                name: name("bench"),
                gauges: gauges.keys().cloned().collect(),
            }],
            gauges,
            drops: Vec::new(),
            plans: BTreeMap::from([(name("held"), Arc::new(PinnedPlan { text, plan }))]),
            plans_aside: BTreeMap::new(),
            people: Vec::new(),
            withholds_unproven: false,
            proof_days: None,
            attached_bytes: 200_000_000,
        };
        let bench = Bench::default();
        let mut shop =
            Self { setup, bench, rows: Vec::new(), clock_s: 1_800_000_000, person: None };
        shop.event(&Event::Started { boot: 1 });
        shop
    }

    fn event(&mut self, event: &Event) -> Decision {
        self.clock_s += 60;
        let mono_us = self.clock_s * 1_000_000;
        let wall = Wall::from_micros(i64::try_from(mono_us).expect("a time"));
        let decision = self.bench.decide(&self.setup, Stamp { wall, mono_us }, event);
        for row in &decision.rows {
            self.bench.apply(row);
        }
        self.rows.extend(decision.rows.iter().cloned());
        decision
    }

    /// Asks for something that must be done.
    #[track_caller]
    pub(super) fn ask(&mut self, command: Command) {
        let request = Request { station: None, by: self.person.clone(), login: None, command };
        let reply = self.event(&Event::Request(request)).reply.expect("a reply");
        reply.unwrap_or_else(|refusal| panic!("{}", refusal.text));
    }

    /// Whoever asks from now on.
    pub(super) fn person(&mut self, person: &str) {
        self.person = Some(person.to_owned());
    }

    pub(super) fn open(&mut self, job: &str, serial: Option<&str>) {
        self.ask(Command::JobOpen {
            name: job.to_owned(),
            used: false,
            plan: "held".to_owned(),
            serial: serial.map(str::to_owned),
            customer: None,
            told: Vec::new(),
            rule: None,
        });
    }

    #[track_caller]
    pub(super) fn measure(&mut self, target: &str, readings: &str) {
        self.ask(Command::Measure { target: target.to_owned(), remark: None });
        self.enter(readings);
    }

    #[track_caller]
    pub(super) fn enter(&mut self, readings: &str) {
        // The plan may be in another unit than the gauge.
        let values = readings.split(' ').map(|value| format!("{value}in")).collect();
        self.ask(Command::Enter { values, graduation: None });
    }

    #[track_caller]
    pub(super) fn again(&mut self, reason: AttemptReason, target: &str, readings: &str) {
        let target = Some(target.to_owned());
        self.ask(Command::Remeasure { reason, target, remark: None });
        self.enter(readings);
    }

    /// Answers once more.
    #[track_caller]
    pub(super) fn answer_again(&mut self, target: &str, answer: &str) {
        let of = Some(target.to_owned());
        self.ask(Command::Remeasure { reason: AttemptReason::Again, target: of, remark: None });
        self.answer(target, answer);
    }

    #[track_caller]
    pub(super) fn answer(&mut self, target: &str, answer: &str) {
        let (target, answer) = (target.to_owned(), answer.to_owned());
        self.ask(Command::Confirm { target, answer });
    }

    /// A job as the record would tell it.
    #[track_caller]
    pub(super) fn facts(&self, job: &str) -> JobFacts {
        let (id, state) = self.bench.job_named(job).expect("a job");
        let state = Arc::clone(state);
        let mut record = JobRecord {
            id,
            name: name(job),
            plan_name: name("held"),
            plan: Arc::clone(&state.opened.plan),
            serial: state.opened.serial.clone(),
            customer: state.opened.customer.clone(),
            by: None,
            callers: [None, None],
            opened_at: self.at(id),
            closed_at: None,
            closed_by: None,
            notes: Vec::new(),
            rule: state.opened.rule,
            rules: Vec::new(),
            signed: Vec::new(),
            told: Vec::new(),
            edits: Vec::new(),
            decided: Vec::new(),
            serials: Vec::new(),
            flow: None,
            stack: StackRecord::default(),
            replaced: Vec::new(),
            went_on: Vec::new(),
            attached: Vec::new(),
        };
        let (mut verdicts, mut readings) = (Vec::new(), Vec::new());
        for row in &self.rows {
            match &row.body {
                Body::Verdict(verdict) if state.attempts.contains_key(&verdict.attempt) => {
                    verdicts.push(self.verdict(job, row, verdict));
                }
                Body::Reading(reading) if reading.job == Some(id) => {
                    readings.push(self.reading(job, row, reading));
                }
                Body::PartReplaced { job: of, part, serial, why } if *of == id => {
                    let plan = &state.opened.plan.plan;
                    record.replaced.push(ReplacedPart {
                        at: row.at.wall,
                        by: row.by.clone(),
                        part: plan.parts[usize::from(*part)].name.clone(),
                        serial: serial.clone(),
                        why: why.clone(),
                        caller: None,
                    });
                }
                Body::Noted { job: of, text } if *of == id => record.notes.push(Remark {
                    at: row.at.wall,
                    by: row.by.clone(),
                    text: text.clone(),
                    caller: None,
                }),
                _ => {}
            }
        }
        // Of each attempt the newest one stands.
        let newest: BTreeMap<Seq, Seq> =
            verdicts.iter().map(|one: &VerdictRecord| (one.verdict.attempt, one.id)).collect();
        verdicts.retain(|one| newest.get(&one.verdict.attempt) == Some(&one.id));
        JobFacts { record, state, verdicts, readings, bench: None }
    }

    fn at(&self, seq: Seq) -> Wall {
        self.rows.iter().find(|row| row.seq == seq).expect("a row").at.wall
    }

    fn verdict(
        &self,
        job: &str,
        row: &Row,
        verdict: &Arc<bench::verdict::Verdict>,
    ) -> VerdictRecord {
        let (_, state, attempt) = self.bench.attempt(verdict.attempt).expect("an attempt");
        let (part, check) = state.check_of(attempt).expect("a check");
        VerdictRecord {
            id: row.seq,
            at: row.at.wall,
            by: attempt.last_hand().cloned(),
            job: name(job),
            part: part.name.clone(),
            check: check.name.clone(),
            attempt: attempt.began.number,
            reason: attempt.began.reason,
            measures: check.traits(),
            setup: check.setup,
            gauge: attempt.gauge().map(|gauge| gauge.name.clone()),
            down: check.down.clone(),
            remark: attempt.began.remark.clone(),
            good: check.measures.asks().map_or_else(Vec::new, |asks| asks.good),
            verdict: Arc::clone(verdict),
            superseded_by: None,
            caller: None,
            began_caller: None,
            standing: state.standing(verdict.attempt),
        }
    }

    fn reading(&self, job: &str, row: &Row, reading: &bench::row::Reading) -> ReadingRecord {
        let attempt = reading.attempt.and_then(|id| Some((id, self.bench.attempt(id)?)));
        let check = attempt.map(|(id, (_, state, attempt))| {
            let (part, check) = state.check_of(attempt).expect("a check");
            let (part, check) = (part.name.clone(), check.name.clone());
            CheckPlace { part, check, attempt: id, number: attempt.began.number }
        });
        let now = attempt.and_then(|(_, (_, _, attempt))| {
            attempt.readings.iter().find(|touched| touched.id == row.seq).map(|one| one.state)
        });
        let void = self.rows.iter().find_map(|other| match &other.body {
            Body::Marked { reading: of, state: State::Void, why, .. } if *of == row.seq => {
                Some(why.clone())
            }
            _ => None,
        });
        ReadingRecord {
            id: row.seq,
            at: row.at.wall,
            gauge: reading.gauge.clone(),
            source: ReadingSource::Keyed,
            place: Some(Place { job: name(job), check }),
            position: reading.position,
            angle_deg: None,
            radius: None,
            station: None,
            value: reading.value,
            as_sent: reading.as_sent.clone(),
            state: now.unwrap_or(reading.state),
            why: void.or_else(|| reading.why.clone()),
            measured_at: None,
            by: None,
            voided_by: None,
            voided_caller: None,
            caller: None,
        }
    }

    /// The page of a job in a unit, with earlier jobs of the same serial.
    #[track_caller]
    pub(super) fn page_in(&self, unit: Unit, job: &str, earlier: &[&str]) -> Page {
        let earlier: Vec<JobFacts> = earlier.iter().map(|job| self.facts(job)).collect();
        page_of(&self.facts(job), unit, &earlier)
    }

    #[track_caller]
    pub(super) fn page(&self, job: &str) -> Page {
        self.page_in(Unit::Inch, job, &[])
    }

    /// Builds a part into the stack.
    pub(super) fn build(&mut self, part: &str) {
        self.ask(Command::StackPlace {
            stage: Stage::Built,
            part: part.to_owned(),
            towards_nose: None,
            mark_deg: Some(0),
            serial: None,
            why: None,
        });
    }
}

/// The page of these facts, in a unit, after earlier jobs.
#[track_caller]
pub(super) fn page_of(job: &JobFacts, unit: Unit, earlier: &[JobFacts]) -> Page {
    let (zone, papers) = (&TimeZone::UTC, &[]);
    let (shop, samples) = (&Letterhead::default(), false);
    let (annex, seal) = (false, None);
    let facts = ReportFacts { job, earlier, unit, zone, papers, annex, shop, samples, seal };
    Page::of(&report_page(&facts))
}
