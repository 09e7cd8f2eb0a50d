//! `measure`: make a check active, or leave it.

use ::bench::Command;

use super::args::{Global, MeasureArgs};
use super::change::change;
use super::failure::Failure;

pub(crate) fn run(global: &Global, args: MeasureArgs) -> Result<u8, Failure> {
    let command = match args.target {
        Some(target) => Command::Measure { target, remark: args.remark },
        // The arguments have one of the two: a target or `--stop`.
        None => Command::Stop,
    };
    change(global, args.asking, command)
}
