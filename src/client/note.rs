//! `note`: a remark on a job.

use ::bench::Command;

use super::args::{Global, NoteArgs};
use super::change::change;
use super::failure::Failure;

pub(crate) fn run(global: &Global, args: NoteArgs) -> Result<u8, Failure> {
    let text = args.text.join(" ");
    change(global, args.asking, Command::Note { job: args.job, text, closed: None })
}
