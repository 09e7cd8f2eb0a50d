//! `checked`: a second person's check of a job.

use clap::Args;

use ::bench::Command;

use super::change::change;
use super::failure::Failure;
use super::global::{Asking, Global};

#[derive(Debug, Args)]
pub(crate) struct CheckedArgs {
    /// The job
    pub(crate) job: String,
    #[command(flatten)]
    pub(crate) asking: Asking,
}

pub(crate) fn run(global: &Global, args: CheckedArgs) -> Result<u8, Failure> {
    change(global, args.asking, Command::Checked { job: args.job, closed: None })
}
