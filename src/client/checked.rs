//! `checked`: a second person's check of a job.

use clap::Args;
use clap::builder::NonEmptyStringValueParser;

use ::bench::Command;
use ::bench::row::Role;

use super::change::change;
use super::failure::Failure;
use super::global::{Asking, Global};

#[derive(Debug, Args)]
#[command(after_help = "Examples:
  tenths checked J-1042 --by \"A. Brandt\"
  tenths checked J-1042 --by \"A. Brandt\" --why \"the nut is still on order\"")]
pub(crate) struct CheckedArgs {
    /// The job
    pub(crate) job: String,
    /// Why, although a check is not in order; the record and the report show this
    #[arg(long, value_name = "TEXT", value_parser = NonEmptyStringValueParser::new())]
    pub(crate) why: Option<String>,
    #[command(flatten)]
    pub(crate) asking: Asking,
}

pub(crate) fn run(global: &Global, args: CheckedArgs) -> Result<u8, Failure> {
    let CheckedArgs { job, why, asking } = args;
    change(global, asking, Command::Sign { job, role: Role::Checked, why, known: None })
}
