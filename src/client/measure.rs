//! `measure`: make a check active, or leave it.

use clap::Args;

use ::bench::Command;

use super::change::change;
use super::failure::Failure;
use super::global::{Asking, Global};

#[derive(Debug, Args)]
#[group(id = "what", required = true, multiple = false, args = ["target", "stop"])]
#[command(after_help = "Examples:
  tenths measure inner-spacer/face-a
  tenths measure inner-spacer/face-a --remark \"face b down, chuck 2\"
  tenths measure --stop")]
pub(crate) struct MeasureArgs {
    /// The part and the check on it
    #[arg(value_name = "PART/CHECK")]
    pub(crate) target: Option<String>,
    /// Leave the active check; it counts as incomplete if its last position is not touched yet
    #[arg(long)]
    pub(crate) stop: bool,
    /// A remark on the attempt that begins: "face b down, chuck 2"
    #[arg(long, value_name = "TEXT", conflicts_with = "stop")]
    pub(crate) remark: Option<String>,
    #[command(flatten)]
    pub(crate) asking: Asking,
}

pub(crate) fn run(global: &Global, args: MeasureArgs) -> Result<u8, Failure> {
    let command = match args.target {
        Some(target) => Command::Measure { target, remark: args.remark },
        // The arguments always have one of the two: a target or `--stop`.
        None => Command::Stop,
    };
    change(global, args.asking, command)
}
