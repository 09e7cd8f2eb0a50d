//! `replace`: a part is a new one from now on.

use ::bench::Command;

use super::args::{Global, ReplaceArgs};
use super::change::change;
use super::failure::Failure;

pub(crate) fn run(global: &Global, args: ReplaceArgs) -> Result<u8, Failure> {
    let ReplaceArgs { part, serial, why, asking } = args;
    change(global, asking, Command::Replace { part, serial, why })
}
