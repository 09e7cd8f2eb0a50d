//! `backup/1`, `verify/1`, `export/1`, `import/1`, `restore/1`.

use serde::Serialize;

use ::record::{Difference, Imported, Restored, Verified};

use super::bundle::Manifest;
use super::text::json_text;

/// The result of looking at a copy.
#[derive(Debug, Clone, Copy)]
pub enum Looked<'a> {
    /// The copy was not looked at.
    Not,
    /// It could be read.
    Found(&'a Verified),
    /// It cannot be read completely.
    Unreadable,
}

quantity::worded! {
    /// How thoroughly a copy was looked at.
    #[derive(Debug, Clone, Copy, PartialEq, Eq)]
    pub enum HowFar {
        /// Whether it holds what was stored.
        Stored = "stored",
        /// That, and every verdict computed again.
        Whole = "whole",
    }
}

/// A copy of the record.
#[derive(Serialize)]
#[cfg_attr(
    feature = "schemas",
    derive(schemars::JsonSchema),
    schemars(transform = ::words::schema::forms().called("backup/1"))
)]
pub(crate) struct BackupLine<'a> {
    /// The name of this shape: `backup/1`.
    schema: &'static str,
    /// The file of the copy.
    file: &'a str,
    /// Its size in bytes.
    bytes: u64,
    /// How thoroughly it was looked at; `null` where it was not.
    checked: Option<HowFar>,
    /// Whether something was found to be wrong; `null` where it was not looked at.
    damaged: Option<bool>,
    /// What was found to be wrong.
    differences: Vec<Different<'a>>,
    /// How many files of pictures and papers went along; `null` where that was not looked at.
    papers: Option<u64>,
    /// Those that are missing or not as they were attached. The copy is good without them.
    papers_wrong: Vec<Different<'a>>,
    /// Older copies in the same folder that were removed, as was asked; their files.
    removed: &'a [String],
}

/// A new copy of the record, and the older ones that were removed for it, as one line of JSON without its line end.
#[must_use]
pub fn backup_line(file: &str, bytes: u64, looked: Looked<'_>, removed: &[String]) -> String {
    let (checked, damaged, found) = match looked {
        Looked::Not => (None, None, None),
        Looked::Unreadable => (Some(HowFar::Whole), Some(true), None),
        Looked::Found(found) => {
            let checked = if found.judged { HowFar::Whole } else { HowFar::Stored };
            (Some(checked), Some(!found.differences.is_empty()), Some(found))
        }
    };
    json_text(&BackupLine {
        schema: "backup/1",
        file,
        bytes,
        checked,
        damaged,
        differences: found.map_or_else(Vec::new, |found| different(&found.differences)),
        papers: found.map(|found| found.papers),
        papers_wrong: found.map_or_else(Vec::new, |found| different(&found.papers_wrong)),
        removed,
    })
}

/// A place of the record that is not as it was written.
#[derive(Clone, Serialize)]
#[cfg_attr(feature = "schemas", derive(schemars::JsonSchema))]
struct Different<'a> {
    /// The table; `null` where it is about the file.
    table: Option<&'a str>,
    /// The number of the row; `null` where it is about no single row.
    row: Option<u64>,
    /// What is wrong.
    text: &'a str,
}

fn different(found: &[Difference]) -> Vec<Different<'_>> {
    found
        .iter()
        .map(|Difference { table, row, what }| Different {
            table: table.as_deref(),
            row: row.map(|row| row.0),
            text: what,
        })
        .collect()
}

/// A job that was exported.
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
    /// The folder of the export.
    folder: &'a str,
    /// How many rows of the record it has.
    rows: u64,
    /// The size of all files in bytes.
    bytes: u64,
    /// How many files of pictures and papers are among them.
    papers: u64,
    /// How many are not, because they are missing here or not as they were attached.
    papers_missing: u64,
}

/// An exported job, as one line of JSON without its line end.
#[must_use]
pub fn export_line(manifest: &Manifest, folder: &str, bytes: u64) -> String {
    let Manifest { job, closed, rows, papers, missing, .. } = manifest;
    let (papers, papers_missing) = (papers.len() as u64, missing.len() as u64);
    let (schema, closed, rows) = ("export/1", *closed, *rows);
    json_text(&ExportLine { schema, job, closed, folder, rows, bytes, papers, papers_missing })
}

/// A job that was imported.
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
    /// How many rows were imported.
    rows: u64,
    /// How many verdicts were computed again, with the same result.
    verdicts: u64,
    /// How many verdicts are of an older version of the arithmetic and were not computed again.
    older: u64,
    /// How many files of pictures and papers came along.
    papers: u64,
    /// How many were missing already where the job comes from.
    papers_missing: u64,
}

/// An imported job, as one line of JSON without its line end.
#[must_use]
pub fn import_line(manifest: &Manifest, imported: &Imported) -> String {
    let Manifest { job, closed, papers, missing, .. } = manifest;
    let Imported { rows, verdicts, older } = *imported;
    let (papers, papers_missing) = (papers.len() as u64, missing.len() as u64);
    let (schema, closed) = ("import/1", *closed);
    json_text(&ImportLine { schema, job, closed, rows, verdicts, older, papers, papers_missing })
}

/// A copy that has become the record.
#[derive(Serialize)]
#[cfg_attr(
    feature = "schemas",
    derive(schemars::JsonSchema),
    schemars(transform = ::words::schema::forms().called("restore/1").of(::words::schema::time, "newest_before_at"))
)]
pub(crate) struct RestoreLine<'a> {
    /// The name of this shape: `restore/1`.
    schema: &'static str,
    /// The state folder that now has the copy as its record.
    state: &'a str,
    /// Where the earlier record was moved; `null` where there was none.
    aside: Option<&'a str>,
    /// How many rows the copy has.
    rows: u64,
    /// How many verdicts were computed again, with the same result.
    verdicts: u64,
    /// The number of the newest row of the copy.
    newest: u64,
    /// The number of the newest row of the earlier record; `null` where that is not known.
    newest_before: Option<u64>,
    /// When that row was written, RFC 3339, UTC.
    newest_before_at: Option<String>,
    /// How many files of pictures and papers its rows name.
    papers: u64,
    /// Those that are missing or not as they were attached.
    papers_wrong: Vec<Different<'a>>,
}

/// A copy that has become the record, as one line of JSON without its line end.
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
        papers: verified.papers,
        papers_wrong: different(&verified.papers_wrong),
    })
}

/// The result of a check of the record.
#[derive(Serialize)]
#[cfg_attr(
    feature = "schemas",
    derive(schemars::JsonSchema),
    schemars(transform = ::words::schema::forms().called("verify/1"))
)]
pub(crate) struct VerifyLine<'a> {
    /// The name of this shape: `verify/1`.
    schema: &'static str,
    /// How many rows were read.
    rows: u64,
    /// How many verdicts were computed again.
    verdicts: u64,
    /// How many verdicts are of an older version of the arithmetic and were not computed again.
    older: u64,
    /// How many rows were held against their seals.
    summed: u64,
    /// The seal after the newest row, as `tenths verify --seal` takes it; `null` of a record without rows.
    seal: Option<String>,
    /// Whether the rows are those that the seal was printed with which `--seal` gave; `null` without it.
    sealed: Option<bool>,
    /// What differs from what was stored; empty where nothing does.
    differences: Vec<Different<'a>>,
    /// How many further differences there are.
    more: u64,
    /// How many files of pictures and papers were read; those that are missing or not as they were attached are
    /// among the differences, with the table `attached`.
    papers: u64,
}

/// The result of a check of the record, as one line of JSON without its line end.
#[must_use]
pub fn verify_line(found: &Verified) -> String {
    json_text(&VerifyLine {
        schema: "verify/1",
        rows: found.rows,
        verdicts: found.verdicts,
        older: found.older,
        summed: found.rows,
        seal: found.seal.map(|seal| seal.to_string()),
        sealed: found.sealed,
        differences: [different(&found.differences), different(&found.papers_wrong)].concat(),
        more: found.more,
        papers: found.papers,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use bench::Seq;

    #[test]
    fn a_copy_and_a_check_have_their_shapes() {
        assert_eq!(
            backup_line("/b\u{9b}.db", 172_032, Looked::Not, &[]),
            r#"{"schema":"backup/1","file":"/b\u009b.db","bytes":172032,"checked":null,"damaged":null,"differences":[],"papers":null,"papers_wrong":[],"removed":[]}"#
        );
        let what = "computed again, it differs in value".to_owned();
        let found = Verified {
            rows: 120,
            verdicts: 7,
            older: 2,
            seal: "120 00112233445566778899aabbccddeeff".parse().ok(),
            sealed: Some(true),
            differences: vec![Difference {
                table: Some("verdict".to_owned()),
                row: Some(Seq(50)),
                what,
            }],
            judged: true,
            more: 3,
            papers: 1,
            papers_wrong: vec![Difference {
                table: Some("attached".to_owned()),
                row: Some(Seq(9)),
                what: "gone".to_owned(),
            }],
        };
        assert_eq!(
            backup_line("/b.db", 1, Looked::Found(&found), &["/a.db".to_owned()]),
            r#"{"schema":"backup/1","file":"/b.db","bytes":1,"checked":"whole","damaged":true,"differences":[{"table":"verdict","row":50,"text":"computed again, it differs in value"}],"papers":1,"papers_wrong":[{"table":"attached","row":9,"text":"gone"}],"removed":["/a.db"]}"#
        );
        assert_eq!(
            verify_line(&found),
            r#"{"schema":"verify/1","rows":120,"verdicts":7,"older":2,"summed":120,"seal":"120-0011-2233-4455-6677-8899-aabb-ccdd-eeff","sealed":true,"differences":[{"table":"verdict","row":50,"text":"computed again, it differs in value"},{"table":"attached","row":9,"text":"gone"}],"more":3,"papers":1}"#
        );
    }
}
