//! `take`: take one reading now.

use ::bench::Command;

use super::change::change;
use super::failure::Failure;
use super::global::{Asking, Global};

pub(crate) fn run(global: &Global, asking: Asking) -> Result<u8, Failure> {
    change(global, asking, Command::Take { frame: None })
}
