//! `confirm`: answer the question of a check.

use clap::Args;

use ::bench::Command;

use super::change::change;
use super::failure::Failure;
use super::global::{Asking, Global};

#[derive(Debug, Args)]
#[command(after_help = "Examples:
  tenths confirm inner-spacer/mark yes
  tenths confirm nut/slot no")]
pub(crate) struct ConfirmArgs {
    /// The part and the check on it
    #[arg(value_name = "PART/CHECK")]
    pub(crate) target: String,
    /// One of the answers that the plan allows
    #[arg(required = true)]
    pub(crate) answer: Vec<String>,
    #[command(flatten)]
    pub(crate) asking: Asking,
}

pub(crate) fn run(global: &Global, args: ConfirmArgs) -> Result<u8, Failure> {
    let answer = args.answer.join(" ");
    change(global, args.asking, Command::Confirm { target: args.target, answer })
}
