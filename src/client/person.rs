//! `person`: who works at a station.

use clap::Args;

use ::bench::Command;

use super::change::change;
use super::failure::Failure;
use super::global::{Asking, Global};

#[derive(Debug, Args)]
pub(crate) struct PersonArgs {
    /// The person, as the report is to name them
    #[arg(required_unless_present = "nobody")]
    pub(crate) name: Option<String>,
    /// Nobody in particular from now on
    #[arg(long, conflicts_with = "name")]
    pub(crate) nobody: bool,
    #[command(flatten)]
    pub(crate) asking: Asking,
}

pub(crate) fn run(global: &Global, args: PersonArgs) -> Result<u8, Failure> {
    change(global, args.asking, Command::Person { name: args.name })
}
