//! What all commands take, or all that change something.

use std::path::PathBuf;

use clap::Args;

/// What every command takes.
#[derive(Debug, Args)]
pub(crate) struct Global {
    /// The bench's configuration file
    #[arg(long, global = true, value_name = "FILE")]
    pub(crate) config: Option<PathBuf>,
    /// The bench's state folder, with its record and its socket: no configuration file is needed then
    #[arg(long, global = true, value_name = "FOLDER")]
    pub(crate) state_folder: Option<PathBuf>,
    /// Print one JSON object a line, for scripts
    #[arg(long, global = true)]
    pub(crate) json: bool,
}

/// What every command takes that changes something.
#[derive(Debug, Args)]
pub(crate) struct Asking {
    /// The measuring place, where there are several
    #[arg(long, value_name = "NAME")]
    pub(crate) station: Option<String>,
    /// Who does it; if left out whoever works at the station, else your login name
    #[arg(long, value_name = "WHO")]
    pub(crate) by: Option<String>,
}
