//! `restore`: a copy of the record becomes the record, and the one that was there is kept.

use std::path::PathBuf;

use clap::Args;

use crate::bench::judge;
use crate::intake;
use crate::store::{Restored, StoreError, restore};
use crate::wire::{printable, restore_line};

use super::args::Global;
use super::failure::{Failure, REFUSED};
use super::import::not_opened;
use super::{bench, screen};

/// Which copy.
#[derive(Debug, Args)]
#[command(after_help = "The service must be stopped. Example: tenths restore monday.db")]
pub(crate) struct RestoreArgs {
    /// The copy that `tenths backup` made
    pub(crate) file: PathBuf,
}

pub(crate) fn run(global: &Global, args: &RestoreArgs) -> Result<u8, Failure> {
    let state = bench::whereabouts(global)?.state;
    let now = intake::now().wall;
    let restored =
        restore(&state, &args.file, (bench::parse_plan, &judge), now).map_err(refused)?;
    let Restored { verified, aside } = restored;
    let file = args.file.display();
    if let Some(first) = verified.differences.first() {
        let more = match verified.differences.len() {
            1 => String::new(),
            many => format!(" (and {} more)", many - 1),
        };
        let text = format!("{file} is not as it was stored: {}{more}", first.what);
        let hint = "nothing was changed; see all of it with: tenths verify FILE";
        return Err(Failure::new(REFUSED, text, hint));
    }
    let aside = aside.map(|aside| aside.to_string_lossy().into_owned());
    if global.json {
        screen::line(&restore_line(&state.to_string_lossy(), aside.as_deref(), &verified))?;
        return Ok(0);
    }
    let (rows, verdicts) = (verified.rows, verified.verdicts);
    let file = printable(&file.to_string());
    screen::line(&format!("{file} is the record now ({rows} rows, {verdicts} verdicts)."))?;
    if let Some(aside) = aside {
        screen::line(&format!("The one that was there is kept as {}.", printable(&aside)))?;
    }
    Ok(0)
}

fn refused(error: StoreError) -> Failure {
    if matches!(error, StoreError::Missing(_) | StoreError::Foreign) {
        let hint = "nothing was changed; name a copy that `tenths backup` made";
        return Failure::new(REFUSED, error.to_string(), hint);
    }
    not_opened(error)
}
