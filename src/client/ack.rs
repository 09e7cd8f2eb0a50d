//! `ack`: mark an alert as seen.

use clap::Args;

use ::bench::{Command, Seq};

use super::change::change;
use super::failure::Failure;
use super::global::{Asking, Global};

#[derive(Debug, Args)]
pub(crate) struct AckArgs {
    /// The alert
    pub(crate) id: u64,
    #[command(flatten)]
    pub(crate) asking: Asking,
}

pub(crate) fn run(global: &Global, args: AckArgs) -> Result<u8, Failure> {
    change(global, args.asking, Command::Ack { id: Seq(args.id) })
}
