//! `stack`: what sits on the shaft, as it was found and as it is built.

use ::bench::Command;
use ::bench::row::Stage;

use super::args::{Global, StackArgs, StackCommand};
use super::change::change;
use super::failure::Failure;

pub(crate) fn run(global: &Global, command: StackCommand) -> Result<u8, Failure> {
    let (stage, args, why) = match command {
        StackCommand::Found(args) => (Stage::Found, args, None),
        StackCommand::Built(args) => (Stage::Built, args.part, args.why),
    };
    let StackArgs { part, towards_nose, mark_deg, serial, back: _, asking } = args;
    let command = match part {
        Some(part) => Command::StackPlace { stage, part, towards_nose, mark_deg, serial, why },
        // The arguments have one of the two: a part or `--back`.
        None => Command::StackBack { stage },
    };
    change(global, asking, command)
}
