//! `serve`: the service itself, in the foreground.

use clap::Args;
use daemon::{self, DaemonError};
use rustix::process::{Pid, Signal, getppid, set_parent_process_death_signal};

use super::bench;
use super::failure::{Failure, REFUSED};
use super::global::Global;

/// What only this program says to itself.
#[derive(Debug, Args)]
#[command(after_help = "Examples:
  tenths serve
  tenths --config bench.toml serve   # another configuration")]
pub(crate) struct ServeArgs {
    /// The process that started it, with which it ends
    #[arg(long, hide = true, value_name = "PID")]
    of: Option<u32>,
}

/// The arguments of a service that ends with this process, whichever way that ends: one that is left over would go on
/// opening its port, under whose number another device may come.
pub(crate) fn of_this_process() -> [String; 3] {
    ["serve".to_owned(), "--of".to_owned(), std::process::id().to_string()]
}

/// Whether the process that started it lives; from here on its end is this service's end.
fn ends_with(caller: u32) -> std::io::Result<bool> {
    set_parent_process_death_signal(Some(Signal::TERM))?;
    // It may have ended before that was said.
    let parent = getppid().map(Pid::as_raw_nonzero);
    Ok(parent.is_some_and(|parent| u32::try_from(parent.get()) == Ok(caller)))
}

pub(crate) fn run(global: &Global, args: &ServeArgs) -> Result<u8, Failure> {
    if let Some(caller) = args.of
        && !ends_with(caller)?
    {
        return Ok(0);
    }
    let loaded = bench::loaded_telling_all(global)?;
    daemon::start_logs();
    match daemon::run(loaded) {
        Ok(()) => Ok(0),
        Err(DaemonError::Record(error)) => {
            let lasts = error.lasts();
            let failure = bench::no_record(error);
            // An error that will not go away ends like a wrong configuration, so that systemd does not start it again.
            Err(if lasts { failure.ending(REFUSED) } else { failure })
        }
        Err(error) => Err(Failure::new(error.exit_code(), error.to_string(), HINT)),
    }
}

const HINT: &str = "the log above says what led to it; `tenths config check` looks at the set-up";
