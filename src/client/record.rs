//! `record`: record a value that has no tolerance.

use clap::Args;

use ::bench::Command;

use super::change::change;
use super::failure::Failure;
use super::global::{Asking, Global};

#[derive(Debug, Args)]
#[command(after_help = "Examples:
  tenths record nut/torque 40 Nm
  tenths record as-received/drag 0.12 Nm")]
pub(crate) struct RecordArgs {
    /// The part and the check on it
    #[arg(value_name = "PART/CHECK")]
    pub(crate) target: String,
    /// The value; a number without a unit is in the unit that the plan states
    #[arg(required = true)]
    pub(crate) value: Vec<String>,
    #[command(flatten)]
    pub(crate) asking: Asking,
}

pub(crate) fn run(global: &Global, args: RecordArgs) -> Result<u8, Failure> {
    let value = args.value.join(" ");
    change(global, args.asking, Command::Record { target: args.target, value })
}
