//! `backup`: copy the record, while the service runs or not, and check the copy.

use std::path::Path;
use std::path::PathBuf;

use clap::Args;

use ::bench::judge;
use ::record::{Copied, CopyState, Difference, Judge, Verified};
use wire::{Looked, backup_line, printable};

use super::failure::{Failure, NO};
use super::global::Global;
use super::unreadable::{place, unreadable};
use super::{bench, progress, screen};

#[derive(Debug, Args)]
pub(crate) struct BackupArgs {
    /// The file to write; it must not exist
    pub(crate) file: PathBuf,
    /// Do not check the copy
    #[arg(long)]
    pub(crate) no_verify: bool,
}

pub(crate) fn run(global: &Global, args: &BackupArgs) -> Result<u8, Failure> {
    progress::give_way();
    let (record, _) = bench::record(global)?;
    let check: Option<Judge<'_>> = if args.no_verify { None } else { Some(&judge) };
    let copied = progress::shown(|progress| record.backup(&args.file, check, progress));
    let Copied { path, state } = copied.map_err(unreadable)?;
    let bytes = std::fs::metadata(&path).map_or(0, |found| found.len());
    let path = std::path::absolute(&path).unwrap_or(path);
    if global.json {
        let looked = match &state {
            CopyState::Unchecked => Looked::Not,
            CopyState::Checked(found) => Looked::Found(found),
            CopyState::Unreadable(_) => Looked::Unreadable,
        };
        screen::line(&backup_line(&path.to_string_lossy(), bytes, looked))?;
    }
    match state {
        CopyState::Checked(found) if !found.differences.is_empty() => {
            let more = found.differences.len() as u64 + found.more - 1;
            let first = found.differences.first().map(told).unwrap_or_default();
            Err(damaged(&path, &first, more, NO))
        }
        CopyState::Unreadable(error) => {
            let why = format!("it cannot be read whole: {error}");
            let exit = match unreadable(error) {
                Failure::Told(told) => told.exit,
                Failure::ClosedPipe => NO,
            };
            Err(damaged(&path, &why, 0, exit))
        }
        CopyState::Checked(found) if global.json => Ok(exit(&found)),
        CopyState::Unchecked if global.json => Ok(0),
        CopyState::Unchecked => made(&path, bytes, "The copy was not checked: tenths verify FILE"),
        CopyState::Checked(found) => {
            let checked = format!("Checked {} rows: all is as it was stored", found.rows);
            let more =
                if found.judged { "." } else { "; `tenths verify FILE` computes the verdicts." };
            let files = match found.papers {
                0 => String::new(),
                1 => " 1 picture or paper went along.".to_owned(),
                many => format!(" {many} pictures and papers went along."),
            };
            made(&path, bytes, &format!("{checked}{more}{files}"))?;
            for wrong in &found.papers_wrong {
                let wrong = printable(&wrong.what);
                screen::sentence(&format!(
                    "NOT as attached, in the record as in the copy: {wrong}."
                ))?;
            }
            Ok(exit(&found))
        }
    }
}

/// A copy of a record that misses a picture is a good copy, and still a reason to look.
const fn exit(found: &Verified) -> u8 {
    if found.papers_wrong.is_empty() { 0 } else { NO }
}

fn made(path: &Path, bytes: u64, looked: &str) -> Result<u8, Failure> {
    let path = printable(&path.to_string_lossy());
    screen::sentence(&format!("The record is copied to {path} ({bytes} bytes). {looked}"))?;
    Ok(0)
}

fn told(difference: &Difference) -> String {
    format!("{}{}", place(difference), difference.what)
}

/// The error about a damaged copy, so that nobody takes it for a good one.
fn damaged(path: &Path, first: &str, more: u64, exit: u8) -> Failure {
    let more = if more == 0 { String::new() } else { format!(" (and {more} more)") };
    let text = format!("the copy is damaged, and kept as {}: {first}{more}", path.display());
    let hint = "`tenths verify` says whether the record itself is damaged; if it is, keep every earlier copy \
                and put a good one in its place: tenths restore FILE";
    Failure::new(exit, text, hint)
}
