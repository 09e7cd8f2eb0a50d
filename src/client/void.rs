//! `void`: take a reading back.

use clap::Args;

use ::bench::{Command, Seq};

use super::change::change;
use super::failure::Failure;
use super::global::{Asking, Global};

#[derive(Debug, Args)]
pub(crate) struct VoidArgs {
    /// The reading; the newest that counts if left out
    pub(crate) id: Option<u64>,
    /// Why
    #[arg(long, value_name = "TEXT")]
    pub(crate) why: Option<String>,
    #[command(flatten)]
    pub(crate) asking: Asking,
}

pub(crate) fn run(global: &Global, args: VoidArgs) -> Result<u8, Failure> {
    change(global, args.asking, Command::Void { id: args.id.map(Seq), why: args.why })
}
