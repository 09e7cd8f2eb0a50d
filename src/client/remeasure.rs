//! `remeasure`: the next attempt at a check, with its reason.

use clap::{Args, ValueEnum};

use ::bench::Command;
use ::bench::row::AttemptReason;

use super::change::change;
use super::failure::Failure;
use super::global::{Asking, Global};

/// Why a check is measured again.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(crate) enum Why {
    /// Metal was taken off. The new attempt counts; what was measured before stays as history, and other checks
    /// of the part have to be measured again
    Ground,
    /// There was dirt, a burr or a slip, and it is gone. The attempt before is set aside; other checks stay
    Cleaned,
    /// Nothing was changed, to see whether it repeats. This try and those before it are judged together
    Again,
}

#[derive(Debug, Args)]
#[command(after_help = "Examples:
  tenths remeasure ground --remark \"stoned, face b down\"
  tenths remeasure cleaned
  tenths remeasure again inner-spacer/face-a")]
pub(crate) struct RemeasureArgs {
    /// What happened to the part since
    #[arg(value_name = "WHY")]
    pub(crate) why: Why,
    /// The part and the check on it; if left out, the active one
    #[arg(value_name = "PART/CHECK")]
    pub(crate) target: Option<String>,
    /// A remark on the attempt that begins: "stoned, face b down"
    #[arg(long, value_name = "TEXT")]
    pub(crate) remark: Option<String>,
    #[command(flatten)]
    pub(crate) asking: Asking,
}

pub(crate) fn run(global: &Global, args: RemeasureArgs) -> Result<u8, Failure> {
    let reason = match args.why {
        Why::Ground => AttemptReason::Ground,
        Why::Cleaned => AttemptReason::Cleaned,
        Why::Again => AttemptReason::Again,
    };
    let (target, remark) = (args.target, args.remark);
    change(global, args.asking, Command::Remeasure { reason, target, remark })
}
