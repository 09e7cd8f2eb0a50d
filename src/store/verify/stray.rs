//! What points nowhere, or wrongly, and what has not been counted.

use super::super::StoreError;
use super::super::pieces::Pieces;
use super::super::read::Read;
use super::{Verified, numbers};
use bench::Seq;

/// What a query goes through, piece by piece.
enum By {
    /// All at once: there is little of it.
    Once,
    /// The readings of a job: what follows is a condition on them.
    Reading,
    /// The rows of a table, by their numbers.
    Row(&'static str),
}

/// A piece of readings: of the job `?1` in short, from `?2` to `?3`.
const READING: &str =
    "SELECT coalesce(j.seq, 0) + r.nth FROM reading r LEFT JOIN job j ON j.short = r.short
    WHERE r.short = ?1 AND r.nth BETWEEN ?2 AND ?3";

/// Queries that give a row for everything that points nowhere, or wrongly. What each needs is either
/// never changed or read in the same moment.
const STRAY: [(&str, By, &str); 14] = [
    (
        "the job of a reading is missing",
        By::Reading,
        "r.short > 0 AND coalesce(j.seq, 0) = 0",
    ),
    (
        "the attempt of a reading is missing, or is of another job",
        By::Reading,
        "r.back <> 0 AND NOT EXISTS (SELECT 1 FROM attempt a
         WHERE a.seq = coalesce(j.seq, 0) + r.nth - r.back AND a.job = coalesce(j.seq, 0))",
    ),
    (
        "the form of a reading is missing",
        By::Reading,
        "NOT EXISTS (SELECT 1 FROM form WHERE id = r.form)",
    ),
    (
        "the file of readings is missing",
        By::Once,
        "SELECT file FROM form f WHERE file > 0 AND NOT EXISTS
         (SELECT 1 FROM file WHERE seq = f.file AND taken = 1)",
    ),
    (
        "the reading of a mark is missing",
        By::Row("mark"),
        "SELECT seq FROM mark k WHERE k.seq BETWEEN ?1 AND ?2 AND NOT EXISTS
         (SELECT 1 FROM job j JOIN reading r ON r.short = j.short AND r.nth = k.reading - j.seq
         WHERE j.seq = k.job)",
    ),
    (
        "the attempt of a mark is of another job",
        By::Row("mark"),
        "SELECT seq FROM mark k WHERE k.seq BETWEEN ?1 AND ?2
         AND job IS NOT (SELECT a.job FROM attempt a WHERE a.seq = k.attempt)",
    ),
    (
        "the attempt of a verdict is of another job",
        By::Row("verdict"),
        "SELECT seq FROM verdict v WHERE v.seq BETWEEN ?1 AND ?2
         AND job IS NOT (SELECT a.job FROM attempt a WHERE a.seq = v.attempt)",
    ),
    (
        "the attempt of a step is missing, or is of another job",
        By::Row("step"),
        "SELECT seq FROM step s WHERE s.seq BETWEEN ?1 AND ?2 AND attempt IS NOT NULL AND station IS NULL AND NOT EXISTS
         (SELECT 1 FROM attempt a WHERE a.seq = s.attempt AND a.job = s.job)",
    ),
    (
        "the fact behind a line of the feed is missing",
        By::Row("feed"),
        "SELECT row FROM feed WHERE seq BETWEEN ?1 AND ?2 AND NOT CASE kind
         WHEN 'verdict' THEN EXISTS (SELECT 1 FROM verdict v WHERE v.seq = row)
         WHEN 'raised' THEN EXISTS (SELECT 1 FROM alert a WHERE a.seq = row)
         ELSE EXISTS (SELECT 1 FROM alert_step s WHERE s.seq = row AND s.what = kind) END",
    ),
    (
        "a line of the feed is out of order",
        By::Row("feed"),
        "SELECT next.row FROM feed f JOIN feed next ON next.seq = f.seq + 1
         WHERE f.seq BETWEEN ?1 AND ?2 AND next.row <= f.row",
    ),
    (
        "a line of the feed tells of what happened elsewhere",
        By::Row("feed"),
        "SELECT row FROM feed f WHERE f.seq BETWEEN ?1 AND ?2 AND EXISTS
         (SELECT 1 FROM import_run r WHERE f.row BETWEEN r.first AND r.last)",
    ),
    (
        "its job came from another record, and nothing says when",
        By::Once,
        "SELECT job FROM import_run EXCEPT SELECT job FROM import",
    ),
    (
        "a job's note of being closed does not fit what happened",
        By::Row("job"),
        "SELECT seq FROM job j WHERE j.seq BETWEEN ?1 AND ?2 AND closed_by IS NOT (SELECT CASE kind WHEN 'job-closed' THEN seq END
         FROM step s WHERE s.job = j.seq AND kind IN ('job-closed', 'job-reopened')
         ORDER BY s.seq DESC LIMIT 1)",
    ),
    (
        "an alert's note of being cleared does not fit what happened",
        By::Row("alert"),
        "SELECT seq FROM alert a WHERE a.seq BETWEEN ?1 AND ?2 AND cleared_by IS NOT
         (SELECT min(seq) FROM alert_step s WHERE s.alert = a.seq AND what = 'cleared')",
    ),
];

/// Looks for all of that.
pub(super) fn strays(pieces: Pieces<'_>, found: &mut Verified) -> Result<(), StoreError> {
    for (what, by, sql) in STRAY {
        let mut note = |rows: Read<Vec<Seq>>| -> Read<()> {
            for row in rows? {
                found.add(Some(row), what);
            }
            Ok(())
        };
        match by {
            By::Once => pieces.moment(|book| note(numbers(book, sql, [])))?,
            By::Reading => {
                let sql = format!("{READING} AND {sql}");
                pieces.readings(|book, short, (first, last)| {
                    note(numbers(book, &sql, [short, first, last]))
                })?;
            }
            By::Row(table) => pieces.spans((table, "seq"), |book, (first, last)| {
                note(numbers(book, sql, [first, last]))
            })?,
        }
    }
    Ok(())
}
