//! `job`: open, intake, edit, use, list, show, close, rule, reopen.

mod card;
mod compare;
mod edit;
mod intake;
mod show;

use std::cell::RefCell;
use std::collections::BTreeSet;

use clap::builder::NonEmptyStringValueParser;
use clap::{Args, Subcommand};
use jiff::tz::TimeZone;

pub(crate) use self::compare::CompareArgs;
use self::edit::JobEditArgs;
use self::intake::{JobIntakeArgs, JobOpenArgs, RuleWord};

use ::bench::Command;
use ::bench::flow::Flow;
use ::bench::flow::words::at_step;
use ::bench::row::{AlertKind, Piece, Subject};
use ::record::{AlertRecord, Filter, JobRecord, Reader, StoreError};
use ::report::{Column, JOB_COLUMNS, Table, day_and_time};
use quantity::Name;
use wire::JobState;

use super::bench;
use super::change::change;
use super::failure::Failure;
use super::global::{Asking, Global, WhereArgs};
use super::query::{self, Form, Listed, LookUp};
use super::sought::{About, Sought};
use super::whole_shop::{self, List, Shop};

/// Commands about jobs.
#[derive(Debug, Subcommand)]
pub(crate) enum JobCommand {
    /// Open a job and use it
    Open(JobOpenArgs),
    /// Use a job that is open
    #[command(after_help = "Examples:
  tenths job use J-1042
  tenths job use J-1042 --station lathe")]
    Use(JobNameArgs),
    /// List jobs
    #[command(after_help = "Examples:
  tenths job list --state open
  tenths job list --customer mill --csv
  tenths job list --shop --serial SP-77   # where this spindle ever was")]
    List(Sought),
    /// Show the state of a job
    #[command(after_help = "Examples:
  tenths job show J-1042
  tenths job show SP-77   # by the spindle's serial number")]
    Show {
        /// The job: its name, or the serial number of its spindle
        name: String,
        #[command(flatten)]
        whose: WhereArgs,
    },
    /// Compare jobs side by side, oldest first: what changed, and whether by more than the uncertainty
    Compare(CompareArgs),
    /// Close a job; without a name the one in use
    #[command(after_help = "Examples:
  tenths job close J-1043
  tenths job close --why \"the customer takes it as it is\"")]
    Close {
        /// The job
        name: Option<String>,
        /// Why it is closed although a check is not in order; the record and the report show this
        #[arg(long, value_name = "TEXT", value_parser = NonEmptyStringValueParser::new())]
        why: Option<String>,
        #[command(flatten)]
        asking: Asking,
    },
    /// Record what the customer says is wrong, what was asked for, which limits were agreed
    Intake(JobIntakeArgs),
    /// Correct a serial number or a customer that was mistyped; what was written first stays in the record
    Edit(JobEditArgs),
    /// Judge a job by another rule from now on; the report shows it with the reason
    Rule(JobRuleArgs),
    /// Open a closed job again
    #[command(after_help = "Examples:
  tenths job reopen J-1043
  tenths job reopen J-1043 --by \"M. Weber\"")]
    Reopen(JobNameArgs),
}

#[derive(Debug, Args)]
pub(crate) struct JobNameArgs {
    /// The job
    pub(crate) name: String,
    #[command(flatten)]
    pub(crate) asking: Asking,
}

#[derive(Debug, Args)]
#[command(after_help = "Examples:
  tenths job rule J-1042 guarded --why \"agreed with the customer by letter\"
  tenths job rule J-1042 simple --why \"as the drawing asks\"")]
pub(crate) struct JobRuleArgs {
    /// The job
    pub(crate) name: String,
    /// guarded: inside the limit by the uncertainty; simple: inside the limit
    pub(crate) rule: RuleWord,
    /// What was agreed, and with whom
    #[arg(long, value_name = "TEXT")]
    pub(crate) why: String,
    #[command(flatten)]
    pub(crate) asking: Asking,
}

pub(crate) fn run(global: &Global, command: JobCommand) -> Result<u8, Failure> {
    match command {
        JobCommand::Open(args) => intake::open(global, args),
        JobCommand::Intake(args) => intake::run(global, args),
        JobCommand::Edit(args) => edit::run(global, args),
        JobCommand::Use(args) => change(global, args.asking, Command::JobUse { name: args.name }),
        JobCommand::List(sought) => list(global, &sought),
        JobCommand::Compare(args) => compare::run(global, &args),
        JobCommand::Show { name, whose } => show::run(global, &name, &whose),
        JobCommand::Close { name, why, asking } => {
            change(global, asking, Command::JobClose { name, why })
        }
        JobCommand::Rule(args) => {
            let rule = args.rule.rule();
            change(global, args.asking, Command::JobRule { name: args.name, rule, why: args.why })
        }
        JobCommand::Reopen(args) => {
            change(global, args.asking, Command::JobReopen { name: args.name, found: None })
        }
    }
}

fn list(global: &Global, sought: &Sought) -> Result<u8, Failure> {
    sought.makes_sense(About::Jobs)?;
    let form = Form::of(global, sought);
    let mut filter = query::filter(sought, None, form);
    let states = JobState::ALL.map(|state| (state.text(), state == JobState::Open));
    filter.open = query::word_of("state", sought.state.as_deref(), &states)?;
    let about = About::Jobs;
    if let Some(shop) = Shop::of(global, &sought.whose)? {
        let list = List { sought, form, about, columns: JOB_COLUMNS };
        return of_shop(&shop, &list, &filter);
    }
    let (record, _) = bench::record(global)?;
    let look_up = LookUp { global, sought, form, record: &record, about, columns: JOB_COLUMNS };
    let mut left_out = Vec::new();
    look_up.print(
        &filter,
        |filter| with_steps(&record, record.jobs_found(filter)?),
        |shown, notes| {
            left_out = record.left_out();
            let mut table = job_table(shown, &set_aside(&record)?, &TimeZone::system());
            for job in left_out.iter().filter(|job| job.what.is_a_job()) {
                // Nothing of it but its name can be trusted.
                let mut cells: [String; 10] = Default::default();
                (cells[1], cells[2]) = (job.what.to_string(), DAMAGED.to_owned());
                table.push(&cells);
            }
            let any = filter == (Filter { last: filter.last, ..Filter::default() });
            let none = if any { "No jobs yet." } else { "No such jobs." };
            Ok(Listed { table, none, notes })
        },
    )?;
    bench::whole_but(left_out, &record)
}

/// The jobs of the whole shop.
fn of_shop(shop: &Shop, list: &List<'_>, filter: &Filter) -> Result<u8, Failure> {
    let aside: RefCell<BTreeSet<Name>> = RefCell::default();
    let question = |_: &str, record: &Reader, filter: &Filter| {
        aside.borrow_mut().extend(aside_in(record)?);
        with_steps(record, record.jobs_found(filter)?)
    };
    shop.list(list, filter, (question, |one: &JobRecord| one.opened_at), |_, shown| {
        let table = job_table(shown, &aside.borrow(), &TimeZone::system());
        whole_shop::Listed { table, none: "No such jobs.", notes: Vec::new() }
    })
}

/// Adds to the open jobs where each stands. A job that cannot be read back stands nowhere.
pub(crate) fn with_steps(
    record: &Reader,
    mut jobs: Vec<JobRecord>,
) -> Result<Vec<JobRecord>, StoreError> {
    for job in jobs.iter_mut().filter(|job| job.closed_at.is_none()) {
        job.flow = match record.job_state(job.name.as_str()) {
            Ok((_, state)) => Some(Flow::of(&state, false)),
            Err(StoreError::Damaged { .. }) => None,
            Err(error) => return Err(error),
        };
    }
    Ok(jobs)
}

/// The jobs that are set aside.
pub(crate) fn set_aside(record: &Reader) -> Result<BTreeSet<Name>, Failure> {
    aside_in(record).map_err(bench::no_record)
}

pub(crate) fn aside_in(record: &Reader) -> Result<BTreeSet<Name>, StoreError> {
    let damaged = Filter { kind: Some(AlertKind::RecordDamaged), ..Filter::default() };
    let damaged = record.alerts(&damaged)?;
    let open = damaged.into_iter().filter(|alert| alert.cleared_at.is_none());
    let job = |alert: AlertRecord| match &alert.alert.about {
        Some(Subject::Record(Piece::Job(job))) => Some(job.clone()),
        _ => None,
    };
    Ok(open.filter_map(job).collect())
}

/// The state of a job that cannot be read at all.
const DAMAGED: &str = "damaged";

/// The state of a job that cannot be read back.
const SET_ASIDE: &str = "set aside: damaged";

pub(crate) fn job_table(jobs: &[JobRecord], aside: &BTreeSet<Name>, zone: &TimeZone) -> Table {
    let mut table = Table::new(&[
        Column::number("id", 6),
        Column::words("job", 0),
        Column::words("state", 0),
        Column::words("step", 0),
        Column::words("plan", 2),
        Column::words("serial", 1),
        Column::words("customer", 3),
        Column::words("opened", 4),
        Column::words("closed", 5),
        Column::words("opened by", 7),
    ]);
    for job in jobs {
        table.push(&[
            job.id.to_string(),
            job.name.to_string(),
            if aside.contains(&job.name) { SET_ASIDE } else { JobState::of(job).text() }.to_owned(),
            job.flow.as_ref().map_or_else(String::new, at_step),
            job.plan_name.to_string(),
            job.serial.clone().unwrap_or_default(),
            job.customer.clone().unwrap_or_default(),
            day_and_time(job.opened_at, zone),
            job.closed_at.map_or_else(String::new, |at| day_and_time(at, zone)),
            job.by.clone().unwrap_or_default(),
        ]);
    }
    table
}
