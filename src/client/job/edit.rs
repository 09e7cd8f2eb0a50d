//! `job edit`: what was mistyped when a job was opened.

use clap::Args;
use clap::builder::NonEmptyStringValueParser;

use ::bench::Command;
use ::bench::row::JobField;

use crate::change::change;
use crate::failure::Failure;
use crate::global::{Asking, Global};

#[derive(Debug, Args)]
#[group(id = "edits", required = true, multiple = true, args = ["serial", "customer"])]
#[command(
    after_help = "Both stay in the record; the report and `tenths job show` show the newer one. A closed job can \
    be corrected, too.\n\nExamples:\n  tenths job edit J-1042 --serial SP-78 --why \"a 7 read for an 8\"\n  \
    tenths job edit J-1042 --customer \"Mill 4, hall B\""
)]
pub(crate) struct JobEditArgs {
    /// The job
    pub(crate) name: String,
    /// The spindle's serial number, as it should be
    #[arg(long, value_name = "S", value_parser = NonEmptyStringValueParser::new())]
    pub(crate) serial: Option<String>,
    /// Whose spindle it is
    #[arg(long, value_name = "C", value_parser = NonEmptyStringValueParser::new())]
    pub(crate) customer: Option<String>,
    /// Why; the report shows it
    #[arg(long, value_name = "TEXT", value_parser = NonEmptyStringValueParser::new())]
    pub(crate) why: Option<String>,
    #[command(flatten)]
    pub(crate) asking: Asking,
}

pub(super) fn run(global: &Global, args: JobEditArgs) -> Result<u8, Failure> {
    let JobEditArgs { name, serial, customer, why, asking } = args;
    let all = [(JobField::Serial, serial), (JobField::Customer, customer)];
    let edits = all.into_iter().filter_map(|(what, text)| Some((what, text?))).collect();
    change(global, asking, Command::JobEdit { name, edits, why, found: None })
}
