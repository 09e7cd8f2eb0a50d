//! `stack`: the parts on the shaft, as found and as built.

use clap::builder::NonEmptyStringValueParser;
use clap::{Args, Subcommand};

use ::bench::Command;
use ::bench::row::Stage;

use super::change::change;
use super::failure::Failure;
use super::global::{Asking, Global};

/// Commands about the stack. Parts are named from the nose inwards.
#[derive(Debug, Subcommand)]
pub(crate) enum StackCommand {
    /// Record the next part as it was found when the stack was taken apart
    #[command(after_help = "Examples:
  tenths stack found front-1 --towards-nose thrust-side --mark 0
  tenths stack found inner-spacer
  tenths stack found --back")]
    Found(StackArgs),
    /// Record the next part as it is built in; it is compared with the plan and with how it was found
    #[command(after_help = "Examples:
  tenths stack built front-1 --towards-nose thrust-side --mark 0
  tenths stack built front-2 --why \"the customer brought this one\"
  tenths stack built --back")]
    Built(BuiltArgs),
    /// Mark where a part, or a seat of the shaft, runs highest; what goes on after it is set opposite
    #[command(after_help = "Examples:
  tenths stack spot spindle --high 30 --amount \"0.00004 in\"
  tenths stack spot front-1 --low 0
  tenths stack spot front-1 --none")]
    Spot(SpotArgs),
}

#[derive(Debug, Args)]
#[group(id = "where", required = true, multiple = false, args = ["high", "low", "none"])]
pub(crate) struct SpotArgs {
    /// The part
    pub(crate) part: String,
    /// Where it is highest: degrees from its own mark, on the shaft from the index mark
    #[arg(long, value_name = "DEG", value_parser = clap::value_parser!(u16).range(0..360))]
    pub(crate) high: Option<u16>,
    /// Where it is lowest, where that is marked
    #[arg(long, value_name = "DEG", value_parser = clap::value_parser!(u16).range(0..360))]
    pub(crate) low: Option<u16>,
    /// Take the mark back
    #[arg(long, conflicts_with_all = ["amount", "uncertainty", "towards_nose"])]
    pub(crate) none: bool,
    /// The total reading that it makes in one turn
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true)]
    pub(crate) amount: Option<String>,
    /// The standard uncertainty of that
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true)]
    pub(crate) uncertainty: Option<String>,
    /// The face that was towards the nose as the angle was counted; turned over, it counts the other way
    #[arg(long, value_name = "FACE")]
    pub(crate) towards_nose: Option<String>,
    #[command(flatten)]
    pub(crate) asking: Asking,
}

#[derive(Debug, Args)]
#[group(id = "which", required = true, multiple = false, args = ["part", "back"])]
pub(crate) struct StackArgs {
    /// The part
    pub(crate) part: Option<String>,
    /// The face of it that is towards the nose
    #[arg(long, value_name = "FACE", conflicts_with = "back")]
    pub(crate) towards_nose: Option<String>,
    /// Where its mark is, in degrees from the index mark of the shaft
    #[arg(
        long = "mark", value_name = "DEG", conflicts_with = "back",
        value_parser = clap::value_parser!(u16).range(0..360)
    )]
    pub(crate) mark_deg: Option<u16>,
    /// Its serial number
    #[arg(long, value_name = "S", conflicts_with = "back")]
    pub(crate) serial: Option<String>,
    /// Take the newest part off the list again
    #[arg(long)]
    pub(crate) back: bool,
    #[command(flatten)]
    pub(crate) asking: Asking,
}

#[derive(Debug, Args)]
pub(crate) struct BuiltArgs {
    #[command(flatten)]
    pub(crate) part: StackArgs,
    /// Why it is built in although a check of it is not in order; the record and the report show this
    #[arg(
        long, value_name = "TEXT", conflicts_with = "back",
        value_parser = NonEmptyStringValueParser::new()
    )]
    pub(crate) why: Option<String>,
}

pub(crate) fn run(global: &Global, command: StackCommand) -> Result<u8, Failure> {
    let (stage, args, why) = match command {
        StackCommand::Spot(args) => return spot(global, args),
        StackCommand::Found(args) => (Stage::Found, args, None),
        StackCommand::Built(args) => (Stage::Built, args.part, args.why),
    };
    let StackArgs { part, towards_nose, mark_deg, serial, back: _, asking } = args;
    let command = match part {
        Some(part) => Command::StackPlace { stage, part, towards_nose, mark_deg, serial, why },
        // The arguments always have one of the two: a part or `--back`.
        None => Command::StackBack { stage },
    };
    change(global, asking, command)
}

fn spot(global: &Global, args: SpotArgs) -> Result<u8, Failure> {
    let SpotArgs { part, high, low, none: _, amount, uncertainty, towards_nose, asking } = args;
    let (deg, low) = (high.or(low), low.is_some());
    let command = Command::StackSpot { part, deg, low, amount, uncertainty, towards_nose };
    change(global, asking, command)
}
