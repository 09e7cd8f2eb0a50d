//! `plan`: the plans of this bench. Works without the service.

mod found;
mod list;
mod new;
mod show;

use clap::{Args, Subcommand};

use super::failure::Failure;
use super::global::Global;
use new::NewArgs;

/// Commands about plans.
#[derive(Debug, Subcommand)]
pub(crate) enum PlanCommand {
    /// List the plans that jobs can be opened with
    #[command(after_help = "Examples:
  tenths plan list
  tenths plan list --json")]
    List,
    /// Show a plan: its checks with limits and gauges, its positions drawn
    Show(ShowArgs),
    /// Write a plan: asks for parts, checks and limits, or copies one that comes with the program
    New(NewArgs),
}

/// Which plan.
#[derive(Debug, Args)]
#[command(after_help = "Examples:
  tenths plan show ring
  tenths plan show rebuild --json")]
pub(crate) struct ShowArgs {
    /// The plan, by the name of its file without .toml
    name: String,
}

pub(crate) fn run(global: &Global, command: PlanCommand) -> Result<u8, Failure> {
    match command {
        PlanCommand::List => list::run(global),
        PlanCommand::Show(args) => show::run(global, &args.name),
        PlanCommand::New(args) => new::run(global, &args),
    }
}
