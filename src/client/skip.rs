//! `skip`: leave out a position that cannot be touched.

use clap::Args;
use clap::builder::NonEmptyStringValueParser;

use ::bench::Command;

use super::change::change;
use super::failure::Failure;
use super::global::{Asking, Global};

#[derive(Debug, Args)]
#[command(after_help = "Examples:
  tenths skip --why \"keyway\"
  tenths skip 3 --why \"a hole is there\"")]
pub(crate) struct SkipArgs {
    /// The position; if left out, the next one
    pub(crate) position: Option<u32>,
    /// Why it cannot be touched
    #[arg(long, value_name = "TEXT", value_parser = NonEmptyStringValueParser::new())]
    pub(crate) why: String,
    #[command(flatten)]
    pub(crate) asking: Asking,
}

pub(crate) fn run(global: &Global, args: SkipArgs) -> Result<u8, Failure> {
    change(global, args.asking, Command::Skip { position: args.position, why: args.why })
}
