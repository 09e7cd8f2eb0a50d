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

/// A copy of the record that was made.
#[derive(Serialize)]
#[cfg_attr(
    feature = "schemas",
    derive(schemars::JsonSchema),
    schemars(transform = ::words::schema::forms().called("backup/1").words("checked", crate::terms::CHECKED))
)]
pub(crate) struct BackupLine<'a> {
    /// The name of this shape: `backup/1`.
    schema: &'static str,
    /// The copy.
    file: &'a str,
    /// Its size, bytes.
    bytes: u64,
    /// How far it was looked at; `null` where nobody looked.
    checked: Option<&'static str>,
    /// Whether the look found something wrong; `null` where nobody looked.
    damaged: Option<bool>,
    /// What it found.
    differences: Vec<Different<'a>>,
}

/// A copy of the record that was made, as one line of JSON without its end.
#[must_use]
pub fn backup_line(file: &str, bytes: u64, looked: Looked<'_>) -> String {
    let (checked, damaged, differences) = match looked {
        Looked::Not => (None, None, Vec::new()),
        Looked::Unreadable => (Some("whole"), Some(true), Vec::new()),
        Looked::Found(found) => {
            let checked = if found.judged { "whole" } else { "stored" };
            (Some(checked), Some(!found.differences.is_empty()), different(found))
        }
    };
    json_text(&BackupLine { schema: "backup/1", file, bytes, checked, damaged, differences })
}

/// A place of the record that is not as it was written.
#[derive(Serialize)]
#[cfg_attr(feature = "schemas", derive(schemars::JsonSchema))]
struct Different<'a> {
    /// The table; `null` where it is about the file.
    table: Option<&'a str>,
    /// The number of the row; `null` where it is about no single row.
    row: Option<u64>,
    /// The sentence.
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

/// A job that was handed on.
#[derive(Serialize)]
#[cfg_attr(
    feature = "schemas",
    derive(schemars::JsonSchema),
    schemars(transform = ::words::schema::forms().called("export/1").of(::words::schema::name, "job"))
)]
pub(crate) struct ExportLine<'a> {
    /// The name of this shape: `export/1`.
    schema: &'static str,
    /// The job.
    job: &'a str,
    /// Whether it is closed.
    closed: bool,
    /// The folder it was written to.
    folder: &'a str,
    /// Rows of the record in it.
    rows: u64,
    /// The size of all files, bytes.
    bytes: u64,
}

/// A job that was handed on, as one line of JSON without its end.
#[must_use]
pub fn export_line(manifest: &Manifest, folder: &str, bytes: u64) -> String {
    let Manifest { job, closed, rows, .. } = manifest;
    let (schema, closed, rows) = ("export/1", *closed, *rows);
    json_text(&ExportLine { schema, job, closed, folder, rows, bytes })
}

/// A job that was taken over.
#[derive(Serialize)]
#[cfg_attr(
    feature = "schemas",
    derive(schemars::JsonSchema),
    schemars(transform = ::words::schema::forms().called("import/1").of(::words::schema::name, "job"))
)]
pub(crate) struct ImportLine<'a> {
    /// The name of this shape: `import/1`.
    schema: &'static str,
    /// The job.
    job: &'a str,
    /// Whether it is closed.
    closed: bool,
    /// Rows that were taken over.
    rows: u64,
    /// Verdicts that were computed again and came out the same.
    verdicts: u64,
    /// Verdicts of an older version of the arithmetic, which were not computed again.
    older: u64,
}

/// A job that was taken over, as one line of JSON without its end.
#[must_use]
pub fn import_line(manifest: &Manifest, imported: &Imported) -> String {
    let Manifest { job, closed, .. } = manifest;
    let Imported { rows, verdicts, older } = *imported;
    json_text(&ImportLine { schema: "import/1", job, closed: *closed, rows, verdicts, older })
}

/// A copy that became the record.
#[derive(Serialize)]
#[cfg_attr(
    feature = "schemas",
    derive(schemars::JsonSchema),
    schemars(transform = ::words::schema::forms().called("restore/1").of(::words::schema::time, "newest_before_at"))
)]
pub(crate) struct RestoreLine<'a> {
    /// The name of this shape: `restore/1`.
    schema: &'static str,
    /// The state folder whose record it is now.
    state: &'a str,
    /// Where the record went that was there before; `null` where there was none.
    aside: Option<&'a str>,
    /// Rows of the copy.
    rows: u64,
    /// Verdicts that were computed again and came out the same.
    verdicts: u64,
    /// The number of the newest row of the copy.
    newest: u64,
    /// The number of the newest row of the record that was there before; `null` where that is not
    /// known.
    newest_before: Option<u64>,
    /// When that row was written, RFC 3339, UTC.
    newest_before_at: Option<String>,
}

/// A copy that became the record, as one line of JSON without its end.
#[must_use]
pub fn restore_line(state: &str, restored: &Restored) -> String {
    let Restored { verified, aside, newest, newest_before } = restored;
    let aside = aside.as_ref().map(|aside| aside.to_string_lossy());
    json_text(&RestoreLine {
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

/// What a check of the record found.
#[derive(Serialize)]
#[cfg_attr(
    feature = "schemas",
    derive(schemars::JsonSchema),
    schemars(transform = ::words::schema::forms().called("verify/1"))
)]
pub(crate) struct VerifyLine<'a> {
    /// The name of this shape: `verify/1`.
    schema: &'static str,
    /// Rows that were read.
    rows: u64,
    /// Verdicts that were computed again.
    verdicts: u64,
    /// Verdicts of an older version of the arithmetic, which were not computed again.
    older: u64,
    /// Rows whose sums were compared.
    summed: u64,
    /// What differs from what was stored; empty where all is as it was written.
    differences: Vec<Different<'a>>,
    /// Differences beyond those listed.
    more: u64,
}

/// What a check of the record found, as one line of JSON without its end.
#[must_use]
pub fn verify_line(found: &Verified) -> String {
    json_text(&VerifyLine {
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
