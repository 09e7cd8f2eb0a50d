//! `enter`: readings keyed in.

use ::bench::Command;

use super::args::{EnterArgs, Global};
use super::change::change;
use super::failure::Failure;

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
