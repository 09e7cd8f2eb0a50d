//! `job compare`: several jobs side by side, oldest first.

use std::fmt::Write as _;

use clap::Args;
use jiff::tz::TimeZone;

use crate::failure::{Failure, REFUSED};
use crate::global::{Global, WhereArgs};
use crate::whole_shop::Shop;
use crate::{bench, query, report, screen};
use ::record::{Filter, JobRecord, Reader};
use ::report::{Comparison, JobFacts, day_and_time};
use ::shop::database::OneJob;
use quantity::Unit;
use wire::{comparison_line, printable};

/// The jobs to compare.
#[derive(Debug, Args)]
#[command(after_help = "Examples:
  tenths job compare J-1042 J-1043
  tenths job compare --serial SP-77 --long
  tenths job compare --serial SP-77 --shop   # on whichever bench it was")]
pub(crate) struct CompareArgs {
    /// The jobs: their names, or the serial number of a spindle that has one job
    #[arg(required_unless_present = "serial", conflicts_with = "serial", num_args = 1..)]
    pub(crate) jobs: Vec<String>,
    /// All jobs of the spindle with this serial number
    #[arg(long, value_name = "TEXT")]
    pub(crate) serial: Option<String>,
    /// Every round of every check, with its reason
    #[arg(long)]
    pub(crate) long: bool,
    #[command(flatten)]
    pub(crate) whose: WhereArgs,
}

pub(super) fn run(global: &Global, args: &CompareArgs) -> Result<u8, Failure> {
    if let Some(shop) = Shop::of(global, &args.whose)? {
        let (facts, others) = of_shop(&shop, args)?;
        compared(global, args, (&facts, &others, shop.unit))?;
        return shop.whole();
    }
    let (record, unit) = bench::record(global)?;
    let names = names(&record, args)?;
    let facts = names.iter().map(|name| report::facts(&record, name, false));
    let facts: Vec<JobFacts> = facts.collect::<Result<_, _>>()?;
    let others = same_spindle(&record, &facts)?;
    compared(global, args, (&facts, &others, unit))?;
    bench::whole(&record)
}

/// The jobs to compare out of the whole shop, and every job of the spindle of the oldest.
fn of_shop(shop: &Shop, args: &CompareArgs) -> Result<(Vec<JobFacts>, Vec<JobRecord>), Failure> {
    let mut found: Vec<JobFacts> = Vec::new();
    let mut take = |bench: &str, record: &Reader, name: &str| {
        let of = JobFacts { bench: Some(bench.to_owned()), ..report::facts(record, name, false)? };
        let is_it = |one: &JobFacts| one.bench == of.bench && one.record.id == of.record.id;
        if !found.iter().any(is_it) {
            found.push(of);
        }
        Ok::<_, Failure>(())
    };
    if let Some(serial) = &args.serial {
        let filter = Filter { serial: Some(serial.clone()), ..Filter::default() };
        for (bench, record) in shop.jobs_of_serial(serial)? {
            for job in record.jobs_found(&filter).map_err(bench::no_record)? {
                take(&bench, &record, job.name.as_str())?;
            }
            shop.asked(&record);
        }
    }
    for typed in &args.jobs {
        let OneJob { bench, record } = shop.job(typed)?;
        let name = record.job(typed).map_err(bench::no_record)?.name;
        take(&bench, &record, name.as_str())?;
        shop.asked(&record);
    }
    found.sort_by_key(|one| one.record.age());
    at_least_two(found.iter().map(|one| &one.record))?;
    let mut others = Vec::new();
    if let Some(serial) = serial_of(&found) {
        let filter = Filter { serial: Some(serial.clone()), ..Filter::default() };
        for (_, record) in shop.jobs_of_serial(&serial)? {
            others.extend(record.jobs_found(&filter).map_err(bench::no_record)?);
        }
    }
    Ok((found, others))
}

/// Prints a comparison.
fn compared(
    global: &Global,
    args: &CompareArgs,
    (facts, others, unit): (&[JobFacts], &[JobRecord], Unit),
) -> Result<(), Failure> {
    let comparison = Comparison::of(facts, others, unit);
    if global.json {
        return Ok(screen::line(&comparison_line(&comparison.line()))?);
    }
    let zone = TimeZone::system();
    if comparison.nothing_in_common() {
        screen::sentence("Nothing to compare: no check has the same name in two of these jobs.")?;
    }
    for job in facts {
        if let Some(bench) = &job.bench {
            screen::told(&format!("bench {}: ", printable(bench)))?;
        }
        screen::told(&heading(&job.record, &zone))?;
    }
    for job in comparison.others().filter(|job| !job.replaced.is_empty()) {
        screen::told(&format!("not compared: {}", heading(job, &zone)))?;
    }
    if comparison.same_spindle() == Some(false) {
        screen::sentence("These are different spindles.")?;
    }
    screen::sentence(&format!("Lengths in {}.", unit.plural()))?;
    query::print_table(&comparison.table(), "Their plans have no checks.", &[])?;
    for remark in comparison.remarks() {
        screen::sentence(&printable(&remark))?;
    }
    if args.long {
        query::print_table(&comparison.rounds(), "Nothing was measured.", &[])?;
    }
    screen::say(
        "A change is the first verdict of a job minus the standing verdict of the job before. CHANGED: it is\n\
         larger than √(U1² + U2²) of the two. A smaller change cannot be told from measuring again.\n",
    );
    Ok(())
}

/// The jobs to compare, oldest first; at least two.
fn names(record: &Reader, args: &CompareArgs) -> Result<Vec<String>, Failure> {
    let mut jobs = Vec::new();
    if let Some(serial) = &args.serial {
        let filter = Filter { serial: Some(serial.clone()), ..Filter::default() };
        jobs = record.jobs_found(&filter).map_err(bench::no_record)?;
    }
    for typed in &args.jobs {
        jobs.push(record.job(typed).map_err(bench::no_record)?);
    }
    jobs.sort_by_key(JobRecord::age);
    jobs.dedup_by_key(|job| job.id);
    at_least_two(jobs.iter())?;
    Ok(jobs.iter().map(|job| job.name.to_string()).collect())
}

/// Refuses a comparison of one job, or of none.
fn at_least_two<'a>(mut jobs: impl Iterator<Item = &'a JobRecord>) -> Result<(), Failure> {
    let (first, second) = (jobs.next(), jobs.next());
    if second.is_some() {
        return Ok(());
    }
    let only = first.map_or_else(String::new, |job| format!(", and this is only {}", job.name));
    let text = format!("a comparison needs two jobs{only}");
    Err(Failure::new(REFUSED, text, "see which there are with: tenths job list"))
}

/// The serial number of the spindle of the oldest job.
fn serial_of(jobs: &[JobFacts]) -> Option<String> {
    let serial = jobs.first().and_then(|job| job.record.serial.clone());
    serial.filter(|serial| !serial.trim().is_empty())
}

/// Every job of the spindle of the oldest job.
fn same_spindle(record: &Reader, jobs: &[JobFacts]) -> Result<Vec<JobRecord>, Failure> {
    let Some(serial) = serial_of(jobs) else { return Ok(Vec::new()) };
    let filter = Filter { serial: Some(serial), ..Filter::default() };
    record.jobs_found(&filter).map_err(bench::no_record)
}

/// A job in one line, and a line for each part that was replaced in it.
fn heading(record: &JobRecord, zone: &TimeZone) -> String {
    let serial = record.serial.as_ref();
    let serial =
        serial.map_or_else(String::new, |serial| format!(", serial {}", printable(serial)));
    let closed = record.closed_at.map(|at| format!(", closed {}", day_and_time(at, zone)));
    let mut text = format!(
        "{}: plan {}{serial}, opened {}{}\n",
        printable(record.name.as_str()),
        printable(record.plan_name.as_str()),
        day_and_time(record.opened_at, zone),
        closed.unwrap_or_default(),
    );
    for part in &record.replaced {
        let serial = part.serial.as_ref();
        let serial = serial.map_or_else(String::new, |one| format!(", serial {}", printable(one)));
        let name = printable(part.part.as_str());
        let at = day_and_time(part.at, zone);
        let why = printable(&part.why);
        writeln!(text, "  replaced {at}: {name}{serial}: {why}")
            .expect("a String takes everything");
    }
    text
}
