//! `master`: the next reading is the master.

use ::bench::Command;

use super::args::{Global, MasterArgs};
use super::change::change;
use super::failure::Failure;

pub(crate) fn run(global: &Global, args: MasterArgs) -> Result<u8, Failure> {
    change(global, args.asking, Command::Master { gauge: args.gauge })
}
