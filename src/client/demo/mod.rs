//! `tenths demo`: a whole job with pretend gauges through the real service, as a person would see
//! it.

mod gauges;
mod stage;
mod story;

use std::path::PathBuf;

use clap::Args;

use super::failure::{Failure, REFUSED};
pub(super) use gauges::PretendGauge;
use stage::Stage;

/// Plays a whole job with pretend gauges through the real service.
#[derive(Debug, Args)]
#[command(after_help = "Examples:
  tenths demo
  tenths demo --fast
  tenths demo --keep demo-record   # look round in it afterwards")]
pub(crate) struct Demo {
    /// Do not pause between touches like a person.
    #[arg(long)]
    fast: bool,
    /// The folder for everything; it must be empty or new. If left out, a new temporary folder.
    #[arg(long, value_name = "DIR")]
    keep: Option<PathBuf>,
}

impl Demo {
    /// Plays it.
    pub(crate) fn run(&self) -> Result<u8, Failure> {
        let failed = |error: std::io::Error| {
            if error.kind() == std::io::ErrorKind::BrokenPipe {
                return Failure::ClosedPipe;
            }
            Failure::new(
                REFUSED,
                format!("the demo cannot go on: {error}"),
                "name an empty folder with --keep, on a disk that has room",
            )
        };
        let mut stage = Stage::set(self.keep.as_deref(), self.fast).map_err(failed)?;
        story::play(&mut stage).map_err(failed)?;
        stage.clear_away().map_err(failed)?;
        Ok(0)
    }
}
