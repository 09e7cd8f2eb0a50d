//! `gauge`: which ports there are, and how a gauge on one talks. Needs no service.

mod list;
mod listen;
mod score;

use super::args::{GaugeCommand, Global};
use super::failure::Failure;

pub(crate) fn run(global: &Global, command: GaugeCommand) -> Result<u8, Failure> {
    match command {
        GaugeCommand::List => list::run(global),
        GaugeCommand::Listen(args) => listen::run(global, &args),
    }
}
