//! An exported job: `bundle/1`, a folder with a list of its files, and `record/1`, the lines from which
//! everything else in it follows.

mod fact;
mod lines;
mod manifest;
#[cfg(test)]
mod tests;

pub use lines::RecordLines;
pub use manifest::{
    FILES, FileLine, MANIFEST, Manifest, PAPERS, RECORD, paper_name, parse_manifest,
};

use crate::text::json_text;
use ::record::Caller;
use bench::Row;

/// One row as a line of `record/1` without its line end. `None` where the row belongs to no job, such as
/// what a station has on its screen.
///
/// # Panics
/// When the row cannot be JSON, which would be a bug.
#[must_use]
pub fn record_line(row: &Row, caller: Option<&Caller>) -> Option<String> {
    fact::FactLine::of(row, caller).map(|line| json_text(&line))
}
