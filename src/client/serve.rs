//! `serve`: the service itself, in the foreground.

use daemon::{self, DaemonError};

use super::bench;
use super::failure::{Failure, REFUSED};
use super::global::Global;

pub(crate) fn run(global: &Global) -> Result<u8, Failure> {
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
