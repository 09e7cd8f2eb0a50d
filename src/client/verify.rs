//! `verify`: compute every verdict again from its readings, and compare.

use std::path::Path;
use std::path::PathBuf;

use clap::Args;

use ::bench::judge;
use ::record::{Reader, Seal, StoreError, Verified};
use wire::{printable, verify_line};

use super::failure::{Failure, NO, UNREACHABLE};
use super::global::Global;
use super::unreadable::{no_record_in, place, unreadable};
use super::{bench, progress, screen};

#[derive(Debug, Args)]
#[command(after_help = "Examples:
  tenths verify
  tenths verify monday.db")]
pub(crate) struct VerifyArgs {
    /// A copy of the record; if left out, the bench's own record
    pub(crate) file: Option<PathBuf>,
    /// A seal that a report or `tenths status` printed: whether the record up to its row is unchanged
    /// since then
    #[arg(long, value_name = "SEAL")]
    pub(crate) seal: Option<Seal>,
}

pub(crate) fn run(global: &Global, args: &VerifyArgs) -> Result<u8, Failure> {
    progress::give_way();
    let look = |record: &Reader| {
        progress::shown(|progress| record.verify_sealed(&judge, args.seal.as_ref(), progress))
    };
    let found = if let Some(file) = &args.file {
        Reader::open_with(file, bench::parse_plan)
            .and_then(|record| look(&record))
            .map_err(|error| unusable(error, file))?
    } else {
        let (record, _) = bench::record(global)?;
        look(&record).map_err(unreadable)?
    };
    if global.json {
        screen::line(&verify_line(&found))?;
    } else {
        screen::told(&told(&found, args.seal))?;
    }
    Ok(if found.is_well() { 0 } else { NO })
}

/// The error for a named file that is missing or no record.
fn unusable(error: StoreError, file: &Path) -> Failure {
    let hint = "name a record, or a copy that `tenths backup` made";
    if let StoreError::Missing(_) = error {
        return Failure::new(UNREACHABLE, error.to_string(), hint);
    }
    match no_record_in(&error, file) {
        Some(text) => Failure::new(UNREACHABLE, text, hint),
        None => unreadable(error),
    }
}

fn told(found: &Verified, given: Option<Seal>) -> String {
    let Verified { rows, verdicts, older, differences, more, seal, sealed, .. } = found;
    let Verified { papers, papers_wrong, .. } = found;
    let mut lines = vec![format!("Checked {rows} rows and computed {verdicts} verdicts again.")];
    if let Some(seal) = seal {
        lines.push(format!("The seal after the newest row is {seal}."));
    }
    if *older > 0 {
        lines.push(format!("{older} verdicts of another version were not computed again."));
    }
    match papers {
        0 => {}
        1 => lines.push("Read 1 picture or paper.".to_owned()),
        many => lines.push(format!("Read {many} pictures and papers.")),
    }
    for difference in differences.iter().chain(papers_wrong) {
        let place = place(difference);
        lines.push(format!("DIFFERENT  {place}{}", printable(&difference.what)));
    }
    if *more > 0 {
        lines.push(format!("and {more} more"));
    }
    if let (Some(Seal { row, .. }), Some(true)) = (given, sealed) {
        lines.push(format!("Up to row {row} it is what it was when the seal was printed."));
    }
    let all = if found.is_well() { "All is as it was stored.\n" } else { "NOT AS STORED.\n" };
    lines.push(all.to_owned());
    lines.join("\n")
}

#[cfg(test)]
mod tests {
    use super::*;
    use ::bench::Seq;
    use ::record::Difference;

    #[test]
    fn it_says_what_was_checked_and_what_differs() {
        let fine = Verified { rows: 120, verdicts: 7, ..Verified::default() };
        assert_eq!(
            told(&fine, None),
            "Checked 120 rows and computed 7 verdicts again.\nAll is as it was stored.\n"
        );
        let what = "computed again, it differs in value".to_owned();
        let bad = Verified {
            older: 2,
            differences: vec![Difference {
                table: Some("verdict".to_owned()),
                row: Some(Seq(50)),
                what,
            }],
            ..fine
        };
        let text = told(&bad, None);
        assert!(text.contains("2 verdicts of another version"), "{text}");
        assert!(
            text.contains("DIFFERENT  verdict, row 50: computed again, it differs in value"),
            "{text}"
        );
        assert!(text.ends_with("NOT AS STORED.\n"), "{text}");
    }
}
