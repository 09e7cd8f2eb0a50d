//! `checked`: a second person's check of a job.

use ::bench::Command;

use super::args::{CheckedArgs, Global};
use super::change::change;
use super::failure::Failure;

pub(crate) fn run(global: &Global, args: CheckedArgs) -> Result<u8, Failure> {
    change(global, args.asking, Command::Checked { job: args.job, closed: None })
}
