//! `job`: open, use, list, show, close, reopen.

mod show;

use jiff::tz::TimeZone;

use crate::bench::Command;
use crate::report::{Column, Table};
use crate::store::JobRecord;
use crate::wire::job_line;

use super::args::{Global, JobCommand};
use super::change::change;
use super::failure::Failure;
use super::{bench, query};

pub(crate) fn run(global: &Global, command: JobCommand) -> Result<u8, Failure> {
    match command {
        JobCommand::Open(args) => {
            let (plan, serial, customer) = (args.plan, args.serial, args.customer);
            let opens = Command::JobOpen { name: args.name, used: false, plan, serial, customer };
            change(global, args.asking, opens)
        }
        JobCommand::Use(args) => change(global, args.asking, Command::JobUse { name: args.name }),
        JobCommand::List => list(global),
        JobCommand::Show { name } => show::run(global, &name),
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
