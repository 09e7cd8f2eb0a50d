//! `gauge`: the serial ports, and how a gauge on one talks. Works without the service.

mod add;
mod describe;
mod list;
mod listen;
mod proposal;
mod score;
mod show;

use clap::Subcommand;

use super::failure::Failure;
use super::global::Global;
use add::AddArgs;
pub(crate) use describe::{Described, Describing};
use listen::ListenArgs;
use show::ShowArgs;

/// Commands about ports and gauges.
#[derive(Debug, Subcommand)]
pub(crate) enum GaugeCommand {
    /// List serial ports: their stable names, who may open them, which gauge is on which
    #[command(after_help = "Examples:\n  tenths gauge list\n  tenths gauge list --json")]
    List,
    /// Listen to a port without sending anything, and suggest the lines for bench.toml
    Listen(ListenArgs),
    /// Listen to a port, and add the gauge that is heard there to bench.toml
    Add(AddArgs),
    /// Show what the record knows of a gauge: its proofs, drawn as charts
    Show(ShowArgs),
}

pub(crate) fn run(global: &Global, command: GaugeCommand) -> Result<u8, Failure> {
    match command {
        GaugeCommand::List => list::run(global),
        GaugeCommand::Listen(args) => listen::run(global, &args),
        GaugeCommand::Add(args) => add::run(global, &args),
        GaugeCommand::Show(args) => show::run(global, &args),
    }
}
