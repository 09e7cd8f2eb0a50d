//! `sign`: a person signs a job.

use clap::builder::NonEmptyStringValueParser;
use clap::{Args, ValueEnum};

use ::bench::Command;
use ::bench::row::Role;

use super::change::change;
use super::failure::Failure;
use super::global::{Asking, Global};

#[derive(Debug, Args)]
#[command(after_help = "Examples:
  tenths sign J-1042 measured --by \"M. Weber\"
  tenths sign J-1042 accepted --by \"Mill 4\" --why \"the nut comes later\"")]
pub(crate) struct SignArgs {
    /// The job
    pub(crate) job: String,
    /// What for
    pub(crate) role: RoleWord,
    /// Why, although a check is not in order; the record and the report show this
    #[arg(long, value_name = "TEXT", value_parser = NonEmptyStringValueParser::new())]
    pub(crate) why: Option<String>,
    #[command(flatten)]
    pub(crate) asking: Asking,
}

/// What a person signs for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(crate) enum RoleWord {
    /// Measured by
    Measured,
    /// Checked by, a second person
    Checked,
    /// Accepted by, the customer
    Accepted,
}

pub(crate) fn run(global: &Global, args: SignArgs) -> Result<u8, Failure> {
    let SignArgs { job, role, why, asking } = args;
    let role = match role {
        RoleWord::Measured => Role::Measured,
        RoleWord::Checked => Role::Checked,
        RoleWord::Accepted => Role::Accepted,
    };
    change(global, asking, Command::Sign { job, role, why, known: None })
}
