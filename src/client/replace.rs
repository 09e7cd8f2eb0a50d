//! `replace`: a part was replaced by a new one.

use clap::Args;
use clap::builder::NonEmptyStringValueParser;

use ::bench::Command;

use super::change::change;
use super::failure::Failure;
use super::global::{Asking, Global};

#[derive(Debug, Args)]
#[command(after_help = "Examples:
  tenths replace nut --why \"thread torn\"
  tenths replace shield --serial S-8 --why \"bore worn\"")]
pub(crate) struct ReplaceArgs {
    /// The part
    pub(crate) part: String,
    /// The serial number of the new part
    #[arg(long, value_name = "S")]
    pub(crate) serial: Option<String>,
    /// Why it is replaced
    #[arg(long, value_name = "TEXT", value_parser = NonEmptyStringValueParser::new())]
    pub(crate) why: String,
    #[command(flatten)]
    pub(crate) asking: Asking,
}

pub(crate) fn run(global: &Global, args: ReplaceArgs) -> Result<u8, Failure> {
    let ReplaceArgs { part, serial, why, asking } = args;
    change(global, asking, Command::Replace { part, serial, why })
}
