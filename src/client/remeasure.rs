//! `remeasure`: the next attempt at a check, with its reason.

use ::bench::Command;
use ::bench::row::AttemptReason;

use super::args::{Global, RemeasureArgs, Why};
use super::change::change;
use super::failure::Failure;

pub(crate) fn run(global: &Global, args: RemeasureArgs) -> Result<u8, Failure> {
    let reason = match args.why {
        Why::Ground => AttemptReason::Ground,
        Why::Cleaned => AttemptReason::Cleaned,
        Why::Again => AttemptReason::Again,
    };
    let (target, remark) = (args.target, args.remark);
    change(global, args.asking, Command::Remeasure { reason, target, remark })
}
