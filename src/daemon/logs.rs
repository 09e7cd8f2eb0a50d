//! The log on standard error.

use std::io::IsTerminal as _;

use tracing_subscriber::filter::{LevelFilter, Targets};
use tracing_subscriber::prelude::*;

/// Starts the log. `TENTHS_LOG` sets how much is written; the default is `info`. Under systemd the journal
/// records the time, so the lines have none.
pub fn start_logs() {
    let asked = std::env::var("TENTHS_LOG").ok().and_then(|text| text.parse::<Targets>().ok());
    let told = asked.unwrap_or_else(|| Targets::new().with_default(LevelFilter::INFO));
    let journal = std::env::var_os("JOURNAL_STREAM").is_some() && !std::io::stderr().is_terminal();
    let lines = tracing_subscriber::fmt::layer()
        .with_target(false)
        .with_ansi(false)
        .with_writer(std::io::stderr);
    let lines = if journal { lines.without_time().boxed() } else { lines.boxed() };
    let started = tracing_subscriber::registry().with(lines.with_filter(told)).try_init();
    if started.is_err() {
        tracing::debug!("the log was already started");
    }
}
