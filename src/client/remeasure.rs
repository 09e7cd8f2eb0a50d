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
    /// The part was ground: the newest attempt counts
    Ground,
    /// It was dirty: the attempt before is set aside
    Cleaned,
    /// The part is unchanged: tries are combined
    Again,
}

#[derive(Debug, Args)]
pub(crate) struct RemeasureArgs {
    /// Why it is measured again
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
