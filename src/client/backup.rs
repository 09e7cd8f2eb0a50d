//! `backup`: copy the record, while the service runs or not, and check the copy.

use std::path::Path;
use std::path::PathBuf;

use clap::Args;

use ::bench::judge;
use ::record::{Copied, CopyState, Difference, Judge, Verified, copy_name, keep_newest};
use wire::{Looked, backup_line, printable};

use super::failure::{Failure, NO, UNREACHABLE};
use super::global::Global;
use super::status::now;
use super::unreadable::{place, unreadable};
use super::{bench, progress, screen};

#[derive(Debug, Args)]
#[command(after_help = "Examples:
  tenths backup monday.db
  tenths backup --into /mnt/copies --keep 14")]
pub(crate) struct BackupArgs {
    /// The file to write; it must not exist
    #[arg(required_unless_present = "into")]
    pub(crate) file: Option<PathBuf>,
    /// Write it into this folder, with a name of its time in UTC: tenths-20270301T061500Z.db
    #[arg(long, value_name = "FOLDER", conflicts_with = "file")]
    pub(crate) into: Option<PathBuf>,
    /// With --into: keep the newest N copies of such names there, and remove older ones once this one is found good
    #[arg(long, value_name = "N", requires = "into", conflicts_with_all = ["file", "no_verify"],
        value_parser = clap::value_parser!(u32).range(1..))]
    pub(crate) keep: Option<u32>,
    /// Do not check the copy
    #[arg(long)]
    pub(crate) no_verify: bool,
}

impl BackupArgs {
    /// The file to write.
    fn to(&self) -> PathBuf {
        let named = |folder: &PathBuf| folder.join(copy_name(now()));
        self.into.as_ref().map(named).or_else(|| self.file.clone()).unwrap_or_default()
    }
}

pub(crate) fn run(global: &Global, args: &BackupArgs) -> Result<u8, Failure> {
    progress::give_way();
    let (record, _) = bench::record(global)?;
    let check: Option<Judge<'_>> = if args.no_verify { None } else { Some(&judge) };
    let copied = progress::shown(|progress| record.backup(&args.to(), check, progress));
    let Copied { path, state } = copied.map_err(unreadable)?;
    let bytes = std::fs::metadata(&path).map_or(0, |found| found.len());
    let path = std::path::absolute(&path).unwrap_or(path);
    let removed = older_removed(&path, &state, args.keep)?;
    if global.json {
        let looked = match &state {
            CopyState::Unchecked => Looked::Not,
            CopyState::Checked(found) => Looked::Found(found),
            CopyState::Unreadable(_) => Looked::Unreadable,
        };
        screen::line(&backup_line(&path.to_string_lossy(), bytes, looked, &removed))?;
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
        CopyState::Checked(found) => good(&path, bytes, &found, &removed),
    }
}

/// Removes the copies that a good one makes superfluous. A damaged one makes none so.
fn older_removed(
    path: &Path,
    state: &CopyState,
    keep: Option<u32>,
) -> Result<Vec<String>, Failure> {
    let good = matches!(state, CopyState::Checked(found) if found.differences.is_empty());
    let Some(keep) = keep.filter(|_| good).and_then(|keep| usize::try_from(keep).ok()) else {
        return Ok(Vec::new());
    };
    let removed = keep_newest(path, keep).map_err(|error| {
        let text = format!("the copy {} is good, but older ones stay: {error}", path.display());
        Failure::new(UNREACHABLE, text, "remove them as somebody who may")
    })?;
    Ok(removed.iter().map(|path| path.to_string_lossy().into_owned()).collect())
}

/// Tells of a copy that was checked and found good.
fn good(path: &Path, bytes: u64, found: &Verified, removed: &[String]) -> Result<u8, Failure> {
    let checked = format!("Checked {} rows: all is as it was stored", found.rows);
    let more = if found.judged { "." } else { "; `tenths verify FILE` computes the verdicts." };
    let files = match found.papers {
        0 => String::new(),
        1 => " 1 picture or paper went along.".to_owned(),
        many => format!(" {many} pictures and papers went along."),
    };
    made(path, bytes, &format!("{checked}{more}{files}"))?;
    for removed in removed {
        screen::sentence(&format!("Older, and removed: {}.", printable(removed)))?;
    }
    for wrong in &found.papers_wrong {
        let wrong = printable(&wrong.what);
        screen::sentence(&format!("NOT as attached, in the record as in the copy: {wrong}."))?;
    }
    Ok(exit(found))
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
