//! `prove`: prove a gauge by lifts on one spot and a step of two blocks.

use clap::Args;

use ::bench::Command;

use super::change::change;
use super::failure::Failure;
use super::global::{Asking, Global};

#[derive(Debug, Args)]
#[command(after_help = "Examples:
  tenths prove plate
  tenths prove plate --step \"0.001 in\" --step-only
  tenths prove plate --stop --why \"the stand was bumped\"")]
pub(crate) struct ProveArgs {
    /// The gauge
    pub(crate) gauge: String,
    /// How much higher the high block is; if left out, 0.001 in, or 0.02 mm on a metric bench
    #[arg(long, value_name = "LENGTH", conflicts_with = "blocks")]
    pub(crate) step: Option<String>,
    /// Two blocks of the register, the low one first; their sizes make the step
    #[arg(long, num_args = 2, value_names = ["LOW", "HIGH"])]
    pub(crate) blocks: Option<Vec<String>>,
    /// Only the step: low, high and low again, as a check of every day
    #[arg(long)]
    pub(crate) step_only: bool,
    /// Give up the proof of this gauge; its touches are kept
    #[arg(long, conflicts_with_all = ["step", "blocks", "step_only"])]
    pub(crate) stop: bool,
    /// Why it is given up
    #[arg(long, value_name = "TEXT", requires = "stop")]
    pub(crate) why: Option<String>,
    #[command(flatten)]
    pub(crate) asking: Asking,
}

pub(crate) fn run(global: &Global, args: ProveArgs) -> Result<u8, Failure> {
    let ProveArgs { gauge, step, blocks, step_only, stop, why, asking } = args;
    if stop {
        return change(global, asking, Command::ProveStop { gauge, why });
    }
    let blocks = blocks.and_then(|two| match <[String; 2]>::try_from(two) {
        Ok([low, high]) => Some((low, high)),
        Err(_) => None,
    });
    change(global, asking, Command::Prove { gauge, step, blocks, step_only })
}
