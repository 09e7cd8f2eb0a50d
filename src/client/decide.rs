//! `decide`: what becomes of a part. `serial`: its serial number.

use clap::builder::NonEmptyStringValueParser;
use clap::{Args, ValueEnum};

use ::bench::Command;
use ::bench::row::Outcome;

use super::change::change;
use super::failure::Failure;
use super::global::{Asking, Global};

#[derive(Debug, Args)]
#[command(after_help = "Examples:
  tenths decide spindle kept --why \"taper within its limit\"
  tenths decide inner-spacer reground --why \"face a leaned\"")]
pub(crate) struct DecideArgs {
    /// The part
    pub(crate) part: String,
    /// What becomes of it
    pub(crate) outcome: OutcomeWord,
    /// Why
    #[arg(long, value_name = "TEXT", value_parser = NonEmptyStringValueParser::new())]
    pub(crate) why: String,
    #[command(flatten)]
    pub(crate) asking: Asking,
}

/// What becomes of a part.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(crate) enum OutcomeWord {
    /// It stays as it was found
    Kept,
    /// It stays, and metal is taken off
    Reground,
    /// A new one takes its place
    Replaced,
}

pub(crate) fn run(global: &Global, args: DecideArgs) -> Result<u8, Failure> {
    let DecideArgs { part, outcome, why, asking } = args;
    let outcome = match outcome {
        OutcomeWord::Kept => Outcome::Kept,
        OutcomeWord::Reground => Outcome::Reground,
        OutcomeWord::Replaced => Outcome::Replaced,
    };
    change(global, asking, Command::Decide { part, outcome, why })
}

#[derive(Debug, Args)]
#[command(after_help = "Examples:
  tenths serial front-pair B7104-33
  tenths serial spindle \"SP 77\"")]
pub(crate) struct SerialArgs {
    /// The part
    pub(crate) part: String,
    /// Its serial number, as it stands on it
    pub(crate) serial: String,
    #[command(flatten)]
    pub(crate) asking: Asking,
}

pub(crate) fn serial(global: &Global, args: SerialArgs) -> Result<u8, Failure> {
    let SerialArgs { part, serial, asking } = args;
    change(global, asking, Command::Serial { part, serial })
}
