//! `person`: who works at a station.

use clap::Args;

use ::bench::Command;

use super::change::change;
use super::failure::Failure;
use super::global::{Asking, Global};

#[derive(Debug, Args)]
#[command(after_help = "Examples:
  tenths person \"M. Weber\"
  tenths person --nobody")]
pub(crate) struct PersonArgs {
    /// The person, with the name that the report is to show
    #[arg(required_unless_present = "nobody")]
    pub(crate) name: Option<String>,
    /// Name nobody from now on
    #[arg(long, conflicts_with = "name")]
    pub(crate) nobody: bool,
    #[command(flatten)]
    pub(crate) asking: Asking,
}

pub(crate) fn run(global: &Global, args: PersonArgs) -> Result<u8, Failure> {
    change(global, args.asking, Command::Person { name: args.name })
}
