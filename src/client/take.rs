//! `take`: one reading now.

use ::bench::Command;

use super::args::{Asking, Global};
use super::change::change;
use super::failure::Failure;

pub(crate) fn run(global: &Global, asking: Asking) -> Result<u8, Failure> {
    change(global, asking, Command::Take { frame: None })
}
