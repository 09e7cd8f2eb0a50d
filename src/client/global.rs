//! Options of all commands, and options of all commands that change something.

use std::path::PathBuf;

use clap::Args;

/// Options of every command.
#[derive(Debug, Clone, Args)]
#[command(next_help_heading = "Options of every command")]
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

/// Options of every command that changes something.
#[derive(Debug, Args)]
#[command(next_help_heading = "Where and who")]
pub(crate) struct Asking {
    /// The station, if there are several
    #[arg(long, value_name = "NAME")]
    pub(crate) station: Option<String>,
    /// Who does it; if left out, whoever works at the station, else your login name
    #[arg(long, value_name = "WHO")]
    pub(crate) by: Option<String>,
}

/// Where a look-up looks.
#[derive(Debug, Args, Default)]
pub(crate) struct WhereArgs {
    /// Look into the record of the whole shop, in the database of [shop.database], and not into that of this bench
    #[arg(long, help_heading = "Where")]
    pub(crate) shop: bool,
    /// Only this bench of the shop
    #[arg(long, value_name = "NAME", requires = "shop", help_heading = "Where")]
    pub(crate) bench: Option<String>,
}
