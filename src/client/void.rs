//! `void`: take a reading back.

use clap::Args;

use ::bench::{Command, Seq};

use super::change::change;
use super::failure::Failure;
use super::global::{Asking, Global};

#[derive(Debug, Args)]
#[command(after_help = "Examples:
  tenths void   # the newest reading that counts
  tenths void --why \"slipped on the chamfer\"
  tenths void 51 --why \"slipped on the chamfer\"")]
pub(crate) struct VoidArgs {
    /// The reading; if left out, the newest one that counts
    pub(crate) id: Option<u64>,
    /// Why it is taken back
    #[arg(long, value_name = "TEXT")]
    pub(crate) why: Option<String>,
    #[command(flatten)]
    pub(crate) asking: Asking,
}

pub(crate) fn run(global: &Global, args: VoidArgs) -> Result<u8, Failure> {
    change(global, args.asking, Command::Void { id: args.id.map(Seq), why: args.why })
}
