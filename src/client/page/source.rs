//! The page's data: the record of the bench, opened anew for each question, and its service.

use std::path::PathBuf;
use std::sync::{Mutex, PoisonError};
use std::time::{Duration, Instant};

use ::bench::flow::Flow;
use ::bench::flow::words::at_step_of_all;
use ::page::{Follow, JobAt, JobFound, Listed, Sought, Source, Told};
use ::record::{JobRecord, Reader};
use ::report::{Comparison, JobFacts, day_and_time};
use jiff::tz::TimeZone;
use quantity::Unit;
use wire::JobState;

use super::lists;
use super::station::Station;
use super::told::told;
use crate::failure::Failure;
use crate::global::Global;
use crate::{bench, report, socket};

/// One bench.
#[derive(Debug)]
pub(super) struct BenchSource {
    global: Global,
    name: String,
    socket: PathBuf,
    /// The stations, and when the service was asked for them.
    known: Mutex<Option<(Instant, Vec<String>)>>,
}

/// For so long the service is not asked for its stations again.
const KNOWN_FOR: Duration = Duration::from_secs(2);

impl BenchSource {
    /// The bench of the configuration. Its record need not be there yet, nor its service.
    pub(super) fn of(global: &Global) -> Result<Self, Failure> {
        let socket = bench::socket(global)?;
        let loaded = bench::config_path(global).ok().and_then(|path| config::load(&path).loaded);
        let name = loaded.map_or_else(|| "the bench".to_owned(), |loaded| loaded.bench.name);
        Ok(Self { global: global.clone(), name, socket, known: Mutex::default() })
    }

    /// The record, opened for one question: it may be put in place anew meanwhile, and its log grows while somebody
    /// has it open.
    fn record(&self) -> Result<(Reader, Unit), Told> {
        bench::record(&self.global).map_err(told)
    }
}

impl Source for BenchSource {
    fn name(&self) -> String {
        self.name.clone()
    }

    fn stations(&self) -> Result<Vec<String>, Told> {
        let mut known = self.known.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some((at, stations)) = &*known
            && at.elapsed() < KNOWN_FOR
        {
            return Ok(stations.clone());
        }
        let status = socket::status(&self.socket);
        let status = status.map_err(|trouble| told(socket::told(&self.socket, trouble)))?;
        let stations: Vec<String> =
            status.stations.into_iter().map(|station| station.name).collect();
        *known = Some((Instant::now(), stations.clone()));
        Ok(stations)
    }

    fn follow(&self, station: &str) -> Box<dyn Follow> {
        Box::new(Station::of(&self.socket, station))
    }

    fn jobs(&self, sought: &Sought, rows: usize) -> Result<Listed, Told> {
        lists::jobs(&self.record()?.0, sought, rows)
    }

    fn job(&self, at: &JobAt) -> Result<JobFound, Told> {
        let (record, unit) = self.record()?;
        one_job(&record, unit, &at.name)
    }

    fn report(&self, at: &JobAt) -> Result<String, Told> {
        let (record, unit) = self.record()?;
        let (shop, _) = report::letterhead(&self.global);
        let head = report::Head { unit, shop: &shop, samples: false };
        report::page(&record, &at.name, &head, None).map_err(told)
    }

    fn alerts(&self, before: Option<&str>, rows: usize) -> Result<Listed, Told> {
        lists::alerts(&self.record()?.0, before, rows)
    }
}

/// A job of a record; the record may be that of a bench, or what was fetched of one.
pub(super) fn one_job(record: &Reader, unit: Unit, typed: &str) -> Result<JobFound, Told> {
    let named = record.job(typed).map_err(bench::no_record).map_err(told)?;
    let name = named.name.as_str();
    let job = report::facts(record, name, true).map_err(told)?;
    let earlier = report::earlier(record, &job.record).map_err(told)?;
    let rounds = {
        let own = std::slice::from_ref(&job);
        Comparison::of(own, &[], unit).rounds()
    };
    let zone = TimeZone::system();
    let open = lists::not_over(record, Some(name), None, usize::MAX)?;
    Ok(JobFound {
        bench: None,
        state: state(&job, &zone),
        alerts: lists::shown_alerts(&open, true),
        job,
        earlier,
        unit,
        rounds,
    })
}

/// `open, step 5 of 11: grind, 3 of 5. Opened 2027-03-01 08:00:00 by M. Weber, plan spindle.`
fn state(job: &JobFacts, zone: &TimeZone) -> String {
    let record: &JobRecord = &job.record;
    let by = record.by.as_ref().map_or_else(String::new, |by| format!(" by {by}"));
    let opened = format!("Opened {}{by}", day_and_time(record.opened_at, zone));
    let closed = record.closed_at.map(|at| format!(", closed {}", day_and_time(at, zone)));
    let step = record.closed_at.is_none().then(|| at_step_of_all(&Flow::of(&job.state, false)));
    let step = step.map_or_else(String::new, |step| format!(", {step}"));
    format!(
        "{}{step}. {opened}{}, plan {}.",
        JobState::of(record).text(),
        closed.unwrap_or_default(),
        record.plan_name
    )
}
