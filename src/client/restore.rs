//! `restore`: put a copy in place of the record, and keep the record that was there.

use std::path::{Path, PathBuf};

use clap::Args;

use ::bench::Seq;
use ::bench::judge;
use ::record::{Made, Restored, StoreError, restore};
use ::shop::database::{Fetched, fetch_whole};
use wire::{printable, restore_line};

use super::failure::{Failure, REFUSED};
use super::global::Global;
use super::shop::configured;
use super::unreadable::{no_record_in, not_opened, place};
use super::whole_shop::failed;
use super::{bench, progress, screen};

/// The copy to use.
#[derive(Debug, Args)]
#[command(after_help = "The service must be stopped.

Examples:
  tenths restore monday.db
  tenths --state-folder /var/lib/tenths restore /media/stick/monday.db
  tenths restore --from-shop north   # all rows that this bench ever sent to the shop")]
pub(crate) struct RestoreArgs {
    /// The copy that `tenths backup` made
    #[arg(required_unless_present = "from_shop", conflicts_with = "from_shop")]
    pub(crate) file: Option<PathBuf>,
    /// The record of this bench as the shop has it, in place of a copy
    #[arg(long, value_name = "BENCH")]
    pub(crate) from_shop: Option<String>,
}

pub(crate) fn run(global: &Global, args: &RestoreArgs) -> Result<u8, Failure> {
    let state = bench::whereabouts(global)?.state;
    let Some(bench) = &args.from_shop else {
        let file = args.file.as_deref().unwrap_or(Path::new(""));
        return put_in_place(global, &state, (file, &file.display().to_string()));
    };
    let room = Made::room_in(&state).map_err(not_opened)?;
    let restored = fetched(global, bench, &room).and_then(|()| {
        let called = format!("what the shop has of bench {bench}");
        put_in_place(global, &state, (&room, &called))
    });
    Made::room_cleared(&state).map_err(not_opened)?;
    restored
}

/// Makes a file of everything that the shop has of a bench.
fn fetched(global: &Global, bench: &str, to: &Path) -> Result<(), Failure> {
    let database = configured(global)?;
    let fetched = progress::shown(|progress| {
        fetch_whole(&database, bench, (to, bench::parse_plan), progress)
    });
    let Fetched { newest, papers_wrong } = fetched.map_err(failed)?;
    if newest == Seq(0) {
        let text = format!("the shop has no row of bench {bench}");
        return Err(Failure::new(REFUSED, text, "nothing was changed"));
    }
    for wrong in papers_wrong {
        screen::say(&format!("{}\n", printable(&wrong)));
    }
    Ok(())
}

/// Puts a copy in the place of the record; `called` is what sentences call it.
fn put_in_place(
    global: &Global,
    state: &Path,
    (copy, called): (&Path, &str),
) -> Result<u8, Failure> {
    let now = intake::now().wall;
    let restored = restore(state, copy, (bench::parse_plan, &judge), now)
        .map_err(|error| refused(error, copy))?;
    let Restored { verified, aside, newest, newest_before } = &restored;
    let file = called;
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
    let file = printable(file);
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
