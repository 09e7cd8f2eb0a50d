//! `job`: open, use, list, show, close, reopen.

use jiff::tz::TimeZone;

use crate::bench::Command;
use crate::quantity::Unit;
use crate::report::{Column, Spoken, Table, day_and_time, spoken, word_of};
use crate::store::{Filter, JobRecord, VerdictRecord};
use crate::wire::{CheckStanding, VerdictLine, job_line, job_show_line, printable};

use super::args::{Global, JobCommand};
use super::change::change;
use super::failure::Failure;
use super::{bench, query, screen};

pub(crate) fn run(global: &Global, command: JobCommand) -> Result<u8, Failure> {
    match command {
        JobCommand::Open(args) => {
            let (plan, serial, customer) = (args.plan, args.serial, args.customer);
            let opens = Command::JobOpen { name: args.name, used: false, plan, serial, customer };
            change(global, args.asking, opens)
        }
        JobCommand::Use(args) => change(global, args.asking, Command::JobUse { name: args.name }),
        JobCommand::List => list(global),
        JobCommand::Show { name } => show(global, &name),
        JobCommand::Close { name, asking } => change(global, asking, Command::JobClose { name }),
        JobCommand::Reopen(args) => {
            change(global, args.asking, Command::JobReopen { name: args.name, found: None })
        }
    }
}

fn list(global: &Global) -> Result<u8, Failure> {
    let (record, _) = bench::record(global)?;
    let jobs = record.jobs().map_err(bench::no_record)?;
    if global.json {
        query::print_json(&jobs.iter().map(job_line).collect::<Vec<_>>())?;
    } else {
        query::print_table(&job_table(&jobs, &TimeZone::system()), "No jobs yet.", false)?;
    }
    Ok(0)
}

fn job_table(jobs: &[JobRecord], zone: &TimeZone) -> Table {
    let column = |title, spare| Column { title, right: false, spare };
    let mut table = Table::new(&[
        column("job", 0),
        column("state", 0),
        column("plan", 2),
        column("serial", 1),
        column("customer", 3),
        column("opened", 4),
        column("closed", 5),
    ]);
    for job in jobs {
        table.push(&[
            job.name.to_string(),
            state(job).to_owned(),
            job.plan_name.to_string(),
            job.serial.clone().unwrap_or_default(),
            job.customer.clone().unwrap_or_default(),
            query::when(job.opened_at, zone),
            job.closed_at.map_or_else(String::new, |at| query::when(at, zone)),
        ]);
    }
    table
}

const fn state(job: &JobRecord) -> &'static str {
    if job.closed_at.is_some() { "closed" } else { "open" }
}

fn show(global: &Global, name: &str) -> Result<u8, Failure> {
    let (record, unit) = bench::record(global)?;
    let job = record.job(name).map_err(bench::no_record)?;
    let filter = Filter { job: Some(name.to_owned()), ..Filter::default() };
    let verdicts = record.verdicts(&filter).map_err(bench::no_record)?;
    let standing = standing(&job, &verdicts);
    if global.json {
        let checks: Vec<_> = standing.iter().map(|(check, _)| check.clone()).collect();
        screen::line(&job_show_line(&job, &checks))?;
        return Ok(0);
    }
    screen::text(&heading(&job, &TimeZone::system()))?;
    query::print_table(&check_table(&standing, unit), "The plan has no checks.", false)?;
    for (at, text) in &job.notes {
        let at = day_and_time(*at, &TimeZone::system());
        screen::line(&format!("note of {at}: {}", printable(text)))?;
    }
    Ok(0)
}

/// Every check in plan order with the standing verdict of its newest judged attempt.
fn standing<'a>(
    job: &JobRecord,
    verdicts: &'a [VerdictRecord],
) -> Vec<(CheckStanding, Option<&'a VerdictRecord>)> {
    let plan = &job.plan.plan;
    plan.places()
        .filter_map(|place| plan.at(place))
        .map(|(part, check)| {
            let of_check =
                |verdict: &&VerdictRecord| verdict.part == part.name && verdict.check == check.name;
            let newest = verdicts.iter().filter(of_check).max_by_key(|v| (v.attempt, v.id));
            let standing = CheckStanding {
                part: part.name.to_string(),
                check: check.name.to_string(),
                measures: check.measures.text().to_owned(),
                attempt: newest.map(|verdict| verdict.attempt),
                verdict: newest.map(|verdict| verdict.verdict.word.text().to_owned()),
            };
            (standing, newest)
        })
        .collect()
}

fn heading(job: &JobRecord, zone: &TimeZone) -> String {
    let told = |what: &str, text: &Option<String>| {
        text.as_ref().map_or_else(String::new, |text| format!(", {what} {}", printable(text)))
    };
    let closed =
        job.closed_at.map_or_else(String::new, |at| format!(", closed {}", day_and_time(at, zone)));
    format!(
        "{}: {}, plan {}{}{}{}\nopened {}{closed}\n",
        printable(job.name.as_str()),
        state(job),
        printable(job.plan_name.as_str()),
        told("serial", &job.serial),
        told("for", &job.customer),
        told("opened by", &job.by),
        day_and_time(job.opened_at, zone),
    )
}

fn check_table(standing: &[(CheckStanding, Option<&VerdictRecord>)], unit: Unit) -> Table {
    let column = |title, right, spare| Column { title, right, spare };
    let mut table = Table::new(&[
        column("check", false, 0),
        column("measures", false, 3),
        column("verdict", false, 0),
        column(query::value_title(unit), true, 0),
        column("limit", true, 0),
        column("±U", true, 1),
        column("try", true, 2),
    ]);
    for (check, verdict) in standing {
        let line = verdict.map(VerdictLine::from);
        let told = line.as_ref().map(|line| spoken(line, unit));
        let Spoken { value, limit, uncertainty } = told.unwrap_or_else(|| Spoken {
            value: String::new(),
            limit: String::new(),
            uncertainty: String::new(),
        });
        table.push(&[
            format!("{}/{}", check.part, check.check),
            check.measures.clone(),
            check.verdict.as_deref().map_or_else(|| "not yet".to_owned(), word_of),
            value,
            limit,
            uncertainty,
            check.attempt.map_or_else(String::new, |attempt| attempt.to_string()),
        ]);
    }
    table
}
