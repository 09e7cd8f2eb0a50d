//! `skip`: leave out a position that cannot be touched.

use ::bench::Command;

use super::args::{Global, SkipArgs};
use super::change::change;
use super::failure::Failure;

pub(crate) fn run(global: &Global, args: SkipArgs) -> Result<u8, Failure> {
    change(global, args.asking, Command::Skip { position: args.position, why: args.why })
}
