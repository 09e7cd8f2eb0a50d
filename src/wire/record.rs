//! `backup/1`, `verify/1`, `export/1`, `import/1`, `restore/1`.

use serde::Serialize;

use store::{Difference, Imported, Restored, Verified};

use super::bundle::Manifest;
use super::text::json_text;

/// What a look at a copy found.
#[derive(Debug, Clone, Copy)]
pub enum Looked<'a> {
    /// Nobody looked.
    Not,
    /// It could be read.
    Found(&'a Verified),
    /// It cannot be read whole.
    Unreadable,
}

/// A copy of the record that was made, as one line of JSON without its end.
#[must_use]
pub fn backup_line(file: &str, bytes: u64, looked: Looked<'_>) -> String {
    #[derive(Serialize)]
    struct Shape<'a> {
        schema: &'static str,
        file: &'a str,
        bytes: u64,
        checked: Option<&'static str>,
        damaged: Option<bool>,
        differences: Vec<Different<'a>>,
    }
    let (checked, damaged, differences) = match looked {
        Looked::Not => (None, None, Vec::new()),
        Looked::Unreadable => (Some("whole"), Some(true), Vec::new()),
        Looked::Found(found) => {
            let checked = if found.judged { "whole" } else { "stored" };
            (Some(checked), Some(!found.differences.is_empty()), different(found))
        }
    };
    json_text(&Shape { schema: "backup/1", file, bytes, checked, damaged, differences })
}

#[derive(Serialize)]
struct Different<'a> {
    table: Option<&'a str>,
    row: Option<u64>,
    text: &'a str,
}

fn different(found: &Verified) -> Vec<Different<'_>> {
    let differences = found.differences.iter();
    differences
        .map(|Difference { table, row, what }| Different {
            table: table.as_deref(),
            row: row.map(|row| row.0),
            text: what,
        })
        .collect()
}

/// A job that was handed on, as one line of JSON without its end.
#[must_use]
pub fn export_line(manifest: &Manifest, folder: &str, bytes: u64) -> String {
    #[derive(Serialize)]
    struct Shape<'a> {
        schema: &'static str,
        job: &'a str,
        closed: bool,
        folder: &'a str,
        rows: u64,
        bytes: u64,
    }
    let Manifest { job, closed, rows, .. } = manifest;
    let (schema, closed, rows) = ("export/1", *closed, *rows);
    json_text(&Shape { schema, job, closed, folder, rows, bytes })
}

/// A job that was taken over, as one line of JSON without its end.
#[must_use]
pub fn import_line(manifest: &Manifest, imported: &Imported) -> String {
    #[derive(Serialize)]
    struct Shape<'a> {
        schema: &'static str,
        job: &'a str,
        closed: bool,
        rows: u64,
        verdicts: u64,
        older: u64,
    }
    let Manifest { job, closed, .. } = manifest;
    let Imported { rows, verdicts, older } = *imported;
    json_text(&Shape { schema: "import/1", job, closed: *closed, rows, verdicts, older })
}

/// A copy that became the record, as one line of JSON without its end.
#[must_use]
pub fn restore_line(state: &str, restored: &Restored) -> String {
    #[derive(Serialize)]
    struct Shape<'a> {
        schema: &'static str,
        state: &'a str,
        aside: Option<&'a str>,
        rows: u64,
        verdicts: u64,
        /// The newest row of the copy, and of the record that was there.
        newest: u64,
        newest_before: Option<u64>,
        newest_before_at: Option<String>,
    }
    let Restored { verified, aside, newest, newest_before } = restored;
    let aside = aside.as_ref().map(|aside| aside.to_string_lossy());
    json_text(&Shape {
        schema: "restore/1",
        state,
        aside: aside.as_deref(),
        rows: verified.rows,
        verdicts: verified.verdicts,
        newest: newest.0,
        newest_before: newest_before.map(|(row, _)| row.0),
        newest_before_at: newest_before.map(|(_, at)| at.to_string()),
    })
}

/// What a check of the record found, as one line of JSON without its end.
#[must_use]
pub fn verify_line(found: &Verified) -> String {
    #[derive(Serialize)]
    struct Shape<'a> {
        schema: &'static str,
        rows: u64,
        verdicts: u64,
        older: u64,
        summed: u64,
        differences: Vec<Different<'a>>,
        more: u64,
    }
    json_text(&Shape {
        schema: "verify/1",
        rows: found.rows,
        verdicts: found.verdicts,
        older: found.older,
        summed: found.summed,
        differences: different(found),
        more: found.more,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use bench::Seq;

    #[test]
    fn a_copy_and_a_check_have_their_shapes() {
        assert_eq!(
            backup_line("/b\u{9b}.db", 172_032, Looked::Not),
            r#"{"schema":"backup/1","file":"/b\u009b.db","bytes":172032,"checked":null,"damaged":null,"differences":[]}"#
        );
        let what = "computed again, it differs in value".to_owned();
        let found = Verified {
            rows: 120,
            verdicts: 7,
            older: 2,
            summed: 100,
            differences: vec![Difference {
                table: Some("verdict".to_owned()),
                row: Some(Seq(50)),
                what,
            }],
            judged: true,
            more: 3,
        };
        assert_eq!(
            backup_line("/b.db", 1, Looked::Found(&found)),
            r#"{"schema":"backup/1","file":"/b.db","bytes":1,"checked":"whole","damaged":true,"differences":[{"table":"verdict","row":50,"text":"computed again, it differs in value"}]}"#
        );
        assert_eq!(
            verify_line(&found),
            r#"{"schema":"verify/1","rows":120,"verdicts":7,"older":2,"summed":100,"differences":[{"table":"verdict","row":50,"text":"computed again, it differs in value"}],"more":3}"#
        );
    }
}
