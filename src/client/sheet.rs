//! `sheet`: the printable sheet of codes of a job.

use std::path::PathBuf;

use clap::Args;

use ::report::sheet;
use wire::printable;

use super::failure::{Failure, UNREACHABLE};
use super::global::Global;
use super::{bench, screen};

#[derive(Debug, Args)]
#[command(after_help = "Examples:
  tenths sheet J-1042 --out sheet.html
  tenths sheet J-1042 > sheet.html")]
pub(crate) struct SheetArgs {
    /// The job: its name, or the serial number of its spindle
    pub(crate) job: String,
    /// The file to write; if left out, the page goes to standard output
    #[arg(long, value_name = "FILE")]
    pub(crate) out: Option<PathBuf>,
}

pub(crate) fn run(global: &Global, args: &SheetArgs) -> Result<u8, Failure> {
    let (record, _) = bench::record(global)?;
    let job = record.job(&args.job).map_err(bench::no_record)?;
    let people = config::people_of(&bench::config_path(global)?);
    let page = sheet(&job, &people);
    let Some(file) = &args.out else {
        screen::text(&page)?;
        return Ok(0);
    };
    let shown = printable(&file.display().to_string());
    std::fs::write(file, page)
        .map_err(|error| Failure::plain(UNREACHABLE, format!("cannot write {shown}: {error}")))?;
    screen::say(&format!(
        "The codes of {} are in {shown}; print it on A4 or letter.\n",
        printable(job.name.as_str())
    ));
    Ok(0)
}
