//! `ack`: an alert has been seen.

use ::bench::{Command, Seq};

use super::args::{AckArgs, Global};
use super::change::change;
use super::failure::Failure;

pub(crate) fn run(global: &Global, args: AckArgs) -> Result<u8, Failure> {
    change(global, args.asking, Command::Ack { id: Seq(args.id) })
}
