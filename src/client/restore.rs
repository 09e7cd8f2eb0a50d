//! `restore`: put a copy in place of the record, and keep the record that was there.

use std::path::{Path, PathBuf};

use clap::Args;

use ::bench::judge;
use ::record::{Restored, StoreError, restore};
use wire::{printable, restore_line};

use super::failure::{Failure, REFUSED};
use super::global::Global;
use super::unreadable::{no_record_in, not_opened, place};
use super::{bench, screen};

/// The copy to use.
#[derive(Debug, Args)]
#[command(after_help = "The service must be stopped.

Examples:
  tenths restore monday.db
  tenths --state-folder /var/lib/tenths restore /media/stick/monday.db")]
pub(crate) struct RestoreArgs {
    /// The copy that `tenths backup` made
    pub(crate) file: PathBuf,
}

pub(crate) fn run(global: &Global, args: &RestoreArgs) -> Result<u8, Failure> {
    let state = bench::whereabouts(global)?.state;
    let now = intake::now().wall;
    let restored = restore(&state, &args.file, (bench::parse_plan, &judge), now)
        .map_err(|error| refused(error, &args.file))?;
    let Restored { verified, aside, newest, newest_before } = &restored;
    let file = args.file.display();
    if let Some(first) = verified.differences.first() {
        let more = match verified.differences.len() as u64 - 1 + verified.more {
            0 => String::new(),
            more => format!(" (and {more} more)"),
        };
        let text = format!("{file} is damaged: {}{}{more}", place(first), first.what);
        let hint = "nothing was changed; see all damage with: tenths verify FILE";
        return Err(Failure::new(REFUSED, text, hint));
    }
    if global.json {
        screen::line(&restore_line(&state.to_string_lossy(), &restored))?;
        return Ok(0);
    }
    let (rows, verdicts) = (verified.rows, verified.verdicts);
    let file = printable(&file.to_string());
    screen::sentence(&format!("{file} is the record now ({rows} rows, {verdicts} verdicts)."))?;
    if let Some(aside) = aside {
        let aside = printable(&aside.to_string_lossy());
        screen::sentence(&format!("The record before is kept as {aside}."))?;
    }
    for wrong in &verified.papers_wrong {
        let wrong = printable(&wrong.what);
        screen::sentence(&format!("NOT as attached: {wrong}. The rest is as it was stored."))?;
    }
    if let Some((before, at)) = newest_before.filter(|(before, _)| before > newest) {
        screen::sentence(&format!(
            "The copy ends with row {newest}, the record before with row {before} of {} UTC. The rows beyond \
             the copy are only in the record that was kept: measure or note them again.",
            at.to_the_second()
        ))?;
    }
    Ok(0)
}

fn refused(error: StoreError, file: &Path) -> Failure {
    let hint = "nothing was changed; name a copy that `tenths backup` made";
    if let StoreError::Missing(_) = error {
        return Failure::new(REFUSED, error.to_string(), hint);
    }
    if let StoreError::Older { .. } = error {
        let hint = "nothing was changed; the version that wrote the copy can read it";
        return Failure::new(REFUSED, error.to_string(), hint);
    }
    match no_record_in(&error, file) {
        Some(text) => Failure::new(REFUSED, text, hint),
        None => not_opened(error),
    }
}
