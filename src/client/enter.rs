//! `enter`: readings keyed in.

use crate::bench::Command;

use super::args::{EnterArgs, Global};
use super::change::change;
use super::failure::Failure;

pub(crate) fn run(global: &Global, args: EnterArgs) -> Result<u8, Failure> {
    let values = args.values.iter().map(|value| value.trim().to_owned()).collect();
    let graduation = args.graduation.map(|text| text.trim().to_owned());
    change(global, args.asking, Command::Enter { values, graduation })
}
