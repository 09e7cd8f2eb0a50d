//! `note`: a remark on a job.

use clap::Args;

use ::bench::Command;

use super::change::change;
use super::failure::Failure;
use super::global::{Asking, Global};

#[derive(Debug, Args)]
#[command(after_help = "Examples:
  tenths note J-1042 \"bearing seat polished\"
  tenths note J-1042 the customer fetches it on Friday")]
pub(crate) struct NoteArgs {
    /// The job
    pub(crate) job: String,
    /// The remark
    #[arg(required = true)]
    pub(crate) text: Vec<String>,
    #[command(flatten)]
    pub(crate) asking: Asking,
}

pub(crate) fn run(global: &Global, args: NoteArgs) -> Result<u8, Failure> {
    let text = args.text.join(" ");
    change(global, args.asking, Command::Note { job: args.job, text, closed: None })
}
