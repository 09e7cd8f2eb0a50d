//! `enter`: readings that are typed in.

use clap::Args;

use ::bench::Command;

use super::change::change;
use super::failure::Failure;
use super::global::{Asking, Global};

#[derive(Debug, Args)]
#[command(
    after_help = "Key every digit the gauge shows, with a decimal point. Half a graduation is fine: 1.5.

Examples:
  tenths enter 0.00012 0.00013 -0.00003
  tenths enter 1.5 2 --graduation 0.00005in
  tenths enter --high 0.00012@90 --low -0.00003@270"
)]
pub(crate) struct EnterArgs {
    /// Readings in the order touched: 0.00012, -0.00003, "3 um"
    #[arg(
        required_unless_present_any = ["high", "total"],
        value_name = "VALUE",
        allow_negative_numbers = true
    )]
    pub(crate) values: Vec<String>,
    /// The highest reading of a needle watched all the way round, with its mark: 0.00012@90
    #[arg(
        long,
        value_name = "VALUE@DEGREES",
        help_heading = "A needle watched all the way round",
        requires = "low",
        conflicts_with_all = ["values", "total"],
        allow_hyphen_values = true
    )]
    pub(crate) high: Option<String>,
    /// The lowest one: -0.00003@270
    #[arg(
        long,
        value_name = "VALUE@DEGREES",
        help_heading = "A needle watched all the way round",
        requires = "high",
        allow_hyphen_values = true
    )]
    pub(crate) low: Option<String>,
    /// Only the total reading of such a turn
    #[arg(
        long,
        value_name = "VALUE",
        help_heading = "A needle watched all the way round",
        conflicts_with = "values"
    )]
    pub(crate) total: Option<String>,
    /// The length of one graduation, where the values, high and low, or total are counts of it: 0.0001in
    #[arg(long, value_name = "LENGTH")]
    pub(crate) graduation: Option<String>,
    #[command(flatten)]
    pub(crate) asking: Asking,
}

pub(crate) fn run(global: &Global, args: EnterArgs) -> Result<u8, Failure> {
    let graduation = args.graduation.map(|text| text.trim().to_owned());
    if let (Some(high), Some(low)) = (args.high, args.low) {
        return change(global, args.asking, Command::EnterHighLow { high, low, graduation });
    }
    if let Some(value) = args.total {
        return change(global, args.asking, Command::EnterTotal { value, graduation });
    }
    let values = args.values.iter().map(|value| value.trim().to_owned()).collect();
    change(global, args.asking, Command::Enter { values, graduation })
}
