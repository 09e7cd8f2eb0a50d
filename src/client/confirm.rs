//! `confirm`: answer the question of a check.

use ::bench::Command;

use super::args::{ConfirmArgs, Global};
use super::change::change;
use super::failure::Failure;

pub(crate) fn run(global: &Global, args: ConfirmArgs) -> Result<u8, Failure> {
    let answer = args.answer.join(" ");
    change(global, args.asking, Command::Confirm { target: args.target, answer })
}
