//! Errors about a record, or a copy of one, that cannot be opened, read or trusted.

use std::path::Path;

use rusqlite::ErrorCode;

use ::record::{Difference, StoreError};
use wire::printable;

use super::bench;
use super::failure::{Failure, UNREACHABLE};

/// The hint for a person whose service still runs.
const STOP_FIRST: &str =
    "stop the service first, and start it again afterwards; nothing was changed";

/// The error for a record that is in use or cannot be opened.
pub(super) fn not_opened(error: StoreError) -> Failure {
    if matches!(error, StoreError::Held { .. }) {
        return Failure::new(UNREACHABLE, error.to_string(), STOP_FIRST);
    }
    bench::no_record(error)
}

/// The sentence about a file that is no record at all; `None` where it may be one.
pub(super) fn no_record_in(error: &StoreError, file: &Path) -> Option<String> {
    let file = file.display();
    if let StoreError::Foreign = error {
        return Some(format!("{file} is not a record of this program"));
    }
    let StoreError::Database(why) = error else { return None };
    let code = why.sqlite_error_code()?;
    if code == ErrorCode::NotADatabase {
        return Some(format!("{file} is not a record: it is not a database"));
    }
    (code == ErrorCode::DatabaseCorrupt).then(|| format!("{file} cannot be read whole: {why}"))
}

/// The error for a database that cannot be read.
pub(super) fn unreadable(error: StoreError) -> Failure {
    if matches!(error, StoreError::Database(_)) && !error.is_locked() {
        let text = format!("it cannot be read whole: {error}");
        return Failure::new(UNREACHABLE, text, "put a copy in its place: tenths restore FILE");
    }
    bench::no_record(error)
}

/// `reading, row 50: `
pub(super) fn place(difference: &Difference) -> String {
    let table = difference.table.as_deref().map(printable);
    let row = difference.row.map(|row| format!("row {row}"));
    let known: Vec<String> = table.into_iter().chain(row).collect();
    if known.is_empty() { String::new() } else { format!("{}: ", known.join(", ")) }
}
