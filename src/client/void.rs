//! `void`: take a reading back.

use ::bench::{Command, Seq};

use super::args::{Global, VoidArgs};
use super::change::change;
use super::failure::Failure;

pub(crate) fn run(global: &Global, args: VoidArgs) -> Result<u8, Failure> {
    change(global, args.asking, Command::Void { id: args.id.map(Seq), why: args.why })
}
