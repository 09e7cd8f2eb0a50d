//! `register`: gauges, masters, blocks and bars of the shop, with certificate, date and size.

use clap::{Args, Subcommand};
use jiff::tz::TimeZone;

use ::bench::Command;
use ::bench::event::RegisterAsked;
use ::bench::row::Equipment;
use ::record::RegisterRow;
use ::report::{Column, Table, day_and_time};
use ::words::{Calibration, size};
use quantity::{Quoted, Wall};
use wire::Published;

use super::change::change;
use super::failure::Failure;
use super::global::{Asking, Global};
use super::{bench, query, screen};

#[derive(Debug, Args)]
#[command(
    args_conflicts_with_subcommands = true,
    after_help = "Examples:\n  tenths register\n  tenths register show plate"
)]
pub(crate) struct RegisterArgs {
    #[command(subcommand)]
    pub(crate) command: Option<RegisterCommand>,
}

/// What is written down in the register, or looked up there; without one it is listed.
#[derive(Debug, Subcommand)]
pub(crate) enum RegisterCommand {
    /// Write a gauge of this bench down; another serial number begins a new history
    #[command(after_help = "Examples:
  tenths register gauge plate --serial 1047 --due 2028-03-01
  tenths register gauge plate --certificate C-88 --dated 2027-03-01")]
    Gauge(EntryArgs),
    /// Write a master down; a check that names it takes its size and uncertainty
    #[command(after_help = "Examples:
  tenths register master ring-1500 --size \"1.5000 in\" --expanded \"0.00002 in\"
  tenths register master ring-1500 --certificate C-90 --due 2028-03-01")]
    Master(EntryArgs),
    /// Write a gauge block down
    #[command(after_help = "Examples:
  tenths register block b-1000 --size \"0.1000 in\" --expanded \"0.000004 in\"
  tenths register block b-1010 --size \"0.1010 in\" --serial 23")]
    Block(EntryArgs),
    /// Write a test bar down
    #[command(after_help = "Examples:
  tenths register bar bar-1 --runout \"0.00004 in\" --expanded \"0.00002 in\"
  tenths register bar bar-1 --serial 7 --due 2028-03-01")]
    Bar(EntryArgs),
    /// Put something out of use; its entries are kept
    Retire(RetireArgs),
    /// Show every entry of one name
    Show(ShowArgs),
}

#[derive(Debug, Args)]
pub(crate) struct EntryArgs {
    /// Its name; a gauge is called as in bench.toml
    pub(crate) name: String,
    /// Its serial number
    #[arg(long, value_name = "TEXT")]
    pub(crate) serial: Option<String>,
    /// The number of its certificate
    #[arg(long, value_name = "TEXT", help_heading = "What its certificate says")]
    pub(crate) certificate: Option<String>,
    /// The day of the certificate: 2026-03-01
    #[arg(long, value_name = "DAY", help_heading = "What its certificate says")]
    pub(crate) dated: Option<String>,
    /// The last day on which the certificate counts
    #[arg(long, value_name = "DAY", help_heading = "What its certificate says")]
    pub(crate) due: Option<String>,
    /// Its size, as the certificate has it
    #[arg(long, value_name = "LENGTH", help_heading = "What its certificate says")]
    pub(crate) size: Option<String>,
    /// Of a bar: its own total reading, as the certificate has it
    #[arg(
        long,
        value_name = "LENGTH",
        allow_hyphen_values = true,
        help_heading = "What its certificate says"
    )]
    pub(crate) runout: Option<String>,
    /// The standard uncertainty of the size, of a bar that of its run-out
    #[arg(
        long,
        value_name = "LENGTH",
        allow_hyphen_values = true,
        conflicts_with = "expanded",
        help_heading = "What its certificate says"
    )]
    pub(crate) uncertainty: Option<String>,
    /// The same expanded, as certificates give it for k = 2
    #[arg(
        long,
        value_name = "LENGTH",
        allow_hyphen_values = true,
        help_heading = "What its certificate says"
    )]
    pub(crate) expanded: Option<String>,
    #[command(flatten)]
    pub(crate) asking: Asking,
}

#[derive(Debug, Args)]
#[command(after_help = "Examples:
  tenths register retire b-1000 --why \"a corner is chipped\"
  tenths register retire plate --why \"sent away for repair\"")]
pub(crate) struct RetireArgs {
    /// Its name
    pub(crate) name: String,
    /// Why it is out of use
    #[arg(long, value_name = "TEXT")]
    pub(crate) why: String,
    #[command(flatten)]
    pub(crate) asking: Asking,
}

#[derive(Debug, Args)]
#[command(after_help = "Examples:
  tenths register show b-1000
  tenths register show plate --json")]
pub(crate) struct ShowArgs {
    /// Its name
    pub(crate) name: String,
}

pub(crate) fn run(global: &Global, args: RegisterArgs) -> Result<u8, Failure> {
    let (what, args) = match args.command {
        None => return list(global, None),
        Some(RegisterCommand::Show(args)) => return list(global, Some(&args.name)),
        Some(RegisterCommand::Retire(RetireArgs { name, why, asking })) => {
            return change(global, asking, Command::Retire { name, why });
        }
        Some(RegisterCommand::Gauge(args)) => (Equipment::Gauge, args),
        Some(RegisterCommand::Master(args)) => (Equipment::Master, args),
        Some(RegisterCommand::Block(args)) => (Equipment::Block, args),
        Some(RegisterCommand::Bar(args)) => (Equipment::Bar, args),
    };
    let EntryArgs {
        name,
        serial,
        certificate,
        dated,
        due,
        size,
        runout,
        uncertainty,
        expanded,
        asking,
    } = args;
    let asked = RegisterAsked {
        what,
        name,
        serial,
        certificate,
        dated,
        due,
        size,
        runout,
        uncertainty,
        expanded,
    };
    change(global, asking, Command::Register(Box::new(asked)))
}

/// Lists the newest entry of each name, or every entry of one.
fn list(global: &Global, name: Option<&str>) -> Result<u8, Failure> {
    let (record, _) = bench::record(global)?;
    let mut rows = record.register(name).map_err(bench::no_record)?;
    if name.is_none() {
        rows = newest(rows);
    }
    if global.json {
        query::print_json(&rows.iter().map(Published::line).collect::<Vec<_>>())?;
        return bench::whole(&record);
    }
    let none = match name {
        Some(name) => format!("Nothing is registered as {name}."),
        None => {
            "Nothing is registered. Begin with: tenths register block b-1000 --size \"0.1000 in\""
                .to_owned()
        }
    };
    query::print_table(&table(&rows, &TimeZone::system()), &none, &[])?;
    screen::text("")?;
    bench::whole(&record)
}

fn newest(rows: Vec<RegisterRow>) -> Vec<RegisterRow> {
    let mut newest: std::collections::BTreeMap<_, RegisterRow> = std::collections::BTreeMap::new();
    for row in rows {
        newest.insert((row.entry.what, row.entry.name.clone()), row);
    }
    newest.into_values().collect()
}

fn table(rows: &[RegisterRow], zone: &TimeZone) -> Table {
    let mut table = Table::new(&[
        Column::words("what", 0),
        Column::words("name", 0),
        Column::words("serial", 3),
        Column::words("certificate", 4),
        Column::words("dated", 5),
        Column::words("good to", 0),
        Column::number("size", 1),
        Column::number("run-out", 1),
        Column::number("u", 2),
        Column::words("written down", 6),
        Column::words("who", 7),
        Column::words("", 0),
    ]);
    for row in rows {
        let entry = &row.entry;
        let text = |text: &Option<String>| text.clone().unwrap_or_default();
        let unit = entry.size.or(entry.runout).map(|size| size.unit);
        let u = entry.uncertainty.zip(unit).map(|(u, unit)| size(u, unit)).unwrap_or_default();
        let cells = [
            entry.what.text().to_owned(),
            entry.name.to_string(),
            text(&entry.serial),
            text(&entry.certificate),
            text(&entry.dated),
            entry.last_day().unwrap_or_default(),
            entry.size.as_ref().map_or_else(String::new, Quoted::to_string),
            entry.runout.as_ref().map_or_else(String::new, Quoted::to_string),
            u,
            day_and_time(row.at, zone),
            row.by.as_ref().map_or_else(String::new, ToString::to_string),
            entry
                .retired
                .as_ref()
                .map_or_else(|| said_of(entry.due), |why| format!("OUT OF USE: {why}")),
        ];
        table.push_as(&cells, entry.retired.is_some());
    }
    table
}

fn said_of(due: Option<Wall>) -> String {
    let now = super::status::now();
    let due = due.and_then(|due| Calibration::at(due, now));
    due.map_or_else(String::new, Calibration::words)
}
