//! `pictures`: the drawings of the guides, hidden from the help. A test holds the files under `docs/pictures` against
//! what it writes.

use std::fs;
use std::path::PathBuf;

use clap::Args;

use ::report::drawing::drawings;

use super::failure::{Failure, REFUSED, UNREACHABLE};

/// The plan whose first check is the ring that is drawn.
const PLAN: &str = include_str!("../../config/plans/ring.toml");

/// The folder to write them into.
#[derive(Debug, Args)]
pub(crate) struct PicturesArgs {
    /// A folder; files of the same names in it are written over
    pub(crate) folder: PathBuf,
}

pub(crate) fn run(args: &PicturesArgs) -> Result<u8, Failure> {
    let plan = config::parse_plan(PLAN, "ring").ok();
    let check = plan.as_ref().and_then(|plan| plan.places().find_map(|at| plan.at(at)));
    let Some((_, check)) = check else {
        return Err(Failure::plain(REFUSED, "the plan of the ring cannot be read".to_owned()));
    };
    let cannot = |error| {
        Failure::plain(UNREACHABLE, format!("cannot write {}: {error}", args.folder.display()))
    };
    fs::create_dir_all(&args.folder).map_err(cannot)?;
    for drawn in drawings(check) {
        let file = args.folder.join(format!("{}.svg", drawn.name));
        fs::write(file, drawn.svg).map_err(cannot)?;
    }
    Ok(0)
}
