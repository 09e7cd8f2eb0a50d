//! `backup`: copy the record, while the service runs or not.

use std::io::{IsTerminal, stderr};
use std::path::Path;
use std::sync::mpsc;
use std::time::Duration;

use crate::wire::{backup_line, printable};

use super::args::{BackupArgs, Global};
use super::failure::Failure;
use super::{bench, screen};

/// How often progress is told.
const TOLD_EVERY: Duration = Duration::from_millis(500);

pub(crate) fn run(global: &Global, args: &BackupArgs) -> Result<u8, Failure> {
    let loaded = bench::whereabouts(global)?;
    let whole = size(&loaded.state.join(crate::store::DATABASE));
    let (record, _) = bench::record(global)?;
    let copied = with_progress(&args.file, whole, || record.backup(&args.file));
    copied.map_err(bench::no_record)?;
    let bytes = size(&args.file);
    let path = std::path::absolute(&args.file).unwrap_or_else(|_| args.file.clone());
    if global.json {
        screen::line(&backup_line(&path.to_string_lossy(), bytes))?;
    } else {
        let path = printable(&path.to_string_lossy());
        screen::line(&format!("The record is copied to {path} ({bytes} bytes)."))?;
    }
    Ok(0)
}

fn size(path: &Path) -> u64 {
    std::fs::metadata(path).map_or(0, |found| found.len())
}

/// Copies, and on a terminal tells meanwhile how much is done, from the size of the part that is
/// there already.
fn with_progress<T>(to: &Path, whole: u64, copy: impl FnOnce() -> T) -> T {
    if !stderr().is_terminal() {
        return copy();
    }
    let mut part = to.as_os_str().to_owned();
    part.push(format!(".part-{}", std::process::id()));
    let (done, ended) = mpsc::channel::<()>();
    std::thread::scope(|scope| {
        scope.spawn(move || {
            while ended.recv_timeout(TOLD_EVERY) == Err(mpsc::RecvTimeoutError::Timeout) {
                let copied = size(Path::new(&part)).min(whole);
                let share = (copied * 100).checked_div(whole).unwrap_or(0);
                screen::say(&format!("copying: {share} %\n"));
            }
        });
        let copied = copy();
        drop(done);
        copied
    })
}
