//! `record`: write down a value that has no tolerance.

use ::bench::Command;

use super::args::{Global, RecordArgs};
use super::change::change;
use super::failure::Failure;

pub(crate) fn run(global: &Global, args: RecordArgs) -> Result<u8, Failure> {
    let value = args.value.join(" ");
    change(global, args.asking, Command::Record { target: args.target, value })
}
