//! The log on standard error.

use std::io::IsTerminal as _;

use tracing_subscriber::EnvFilter;
use tracing_subscriber::util::SubscriberInitExt as _;

/// Starts the log. `TENTHS_LOG` sets how much is written; the default is `info`. Under systemd the journal
/// records the time, so the lines have none.
pub fn start_logs() {
    let filter = EnvFilter::try_from_env("TENTHS_LOG").unwrap_or_else(|_| EnvFilter::new("info"));
    let journal = std::env::var_os("JOURNAL_STREAM").is_some() && !std::io::stderr().is_terminal();
    let builder = tracing_subscriber::fmt()
        .with_env_filter(filter)
        .with_target(false)
        .with_ansi(false)
        .with_writer(std::io::stderr);
    let started = if journal {
        builder.without_time().finish().try_init()
    } else {
        builder.finish().try_init()
    };
    if started.is_err() {
        tracing::debug!("the log was already started");
    }
}
