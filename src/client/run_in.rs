//! `run-in`: a person says at which speed a spindle runs in. Nothing here switches a machine.

use clap::{Args, Subcommand};

use ::bench::Command;
use ::bench::event::RunInAsked;

use super::change::change;
use super::failure::Failure;
use super::global::{Asking, Global};

/// Commands about the run-in of a spindle. Set each speed by hand first: guards on, nobody near, a hand at
/// the stop. Nothing here switches the machine.
#[derive(Debug, Subcommand)]
pub(crate) enum RunInCommand {
    /// Say that the spindle runs at the first speed: the log begins
    #[command(after_help = "Examples:
  tenths run-in start run-in/log
  tenths run-in start   # where the plan has one alone")]
    Start(RunInArgs),
    /// Say that it runs at the next speed
    #[command(after_help = "Examples:
  tenths run-in step
  tenths run-in step run-in/log")]
    Step(RunInArgs),
    /// Say that it stands still again: the log ends and is judged
    #[command(after_help = "Examples:
  tenths run-in end
  tenths run-in end run-in/log")]
    End(RunInArgs),
}

#[derive(Debug, Args)]
pub(crate) struct RunInArgs {
    /// The part and the check on it; the run-in under way, or the only one of the plan, if left out
    #[arg(value_name = "PART/CHECK")]
    pub(crate) target: Option<String>,
    #[command(flatten)]
    pub(crate) asking: Asking,
}

pub(crate) fn run(global: &Global, command: RunInCommand) -> Result<u8, Failure> {
    let (asked, args) = match command {
        RunInCommand::Start(args) => (RunInAsked::Start, args),
        RunInCommand::Step(args) => (RunInAsked::Step, args),
        RunInCommand::End(args) => (RunInAsked::End, args),
    };
    change(global, args.asking, Command::RunIn { asked, target: args.target })
}
