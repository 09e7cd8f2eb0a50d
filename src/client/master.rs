//! `master`: say that the next reading is on the master.

use clap::Args;

use ::bench::Command;

use super::change::change;
use super::failure::Failure;
use super::global::{Asking, Global};

#[derive(Debug, Args)]
#[command(after_help = "Examples:
  tenths master
  tenths master plate")]
pub(crate) struct MasterArgs {
    /// The gauge; if left out, that of the active check
    pub(crate) gauge: Option<String>,
    #[command(flatten)]
    pub(crate) asking: Asking,
}

pub(crate) fn run(global: &Global, args: MasterArgs) -> Result<u8, Failure> {
    change(global, args.asking, Command::Master { gauge: args.gauge })
}
