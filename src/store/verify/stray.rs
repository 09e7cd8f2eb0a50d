//! What points nowhere, or wrongly, and what has not been counted.

use super::super::StoreError;
use super::super::counters::Counted;
use super::super::read::Book;
use super::{Verified, numbers};

/// Queries that give a row for everything that points nowhere, or wrongly.
const STRAY: [(&str, &str); 15] = [
    (
        "the job of a reading is missing",
        "SELECT seq FROM reading_seq r WHERE short > 0 AND job = 0",
    ),
    (
        "the attempt of a reading is missing, or is of another job",
        "SELECT seq FROM reading_seq r WHERE back <> 0 AND NOT EXISTS
         (SELECT 1 FROM attempt a WHERE a.seq = r.seq - r.back AND a.job = r.job)",
    ),
    (
        "the form of a reading is missing",
        "SELECT seq FROM reading_seq r WHERE NOT EXISTS (SELECT 1 FROM form WHERE id = r.form)",
    ),
    (
        "the file of readings is missing",
        "SELECT file FROM form f WHERE file > 0 AND NOT EXISTS
         (SELECT 1 FROM file WHERE seq = f.file AND taken = 1)",
    ),
    (
        "details without a reading",
        "SELECT reading FROM reading_more EXCEPT SELECT seq FROM reading_seq",
    ),
    (
        "the reading of a mark is missing",
        "SELECT seq FROM mark k WHERE NOT EXISTS
         (SELECT 1 FROM job j JOIN reading r ON r.short = j.short AND r.nth = k.reading - j.seq
         WHERE j.seq = k.job)",
    ),
    (
        "the attempt of a mark is of another job",
        "SELECT seq FROM mark k WHERE job IS NOT (SELECT a.job FROM attempt a WHERE a.seq = k.attempt)",
    ),
    (
        "the attempt of a verdict is of another job",
        "SELECT seq FROM verdict v
         WHERE job IS NOT (SELECT a.job FROM attempt a WHERE a.seq = v.attempt)",
    ),
    (
        "the attempt of a step is missing, or is of another job",
        "SELECT seq FROM step s WHERE attempt IS NOT NULL AND station IS NULL AND NOT EXISTS
         (SELECT 1 FROM attempt a WHERE a.seq = s.attempt AND a.job = s.job)",
    ),
    (
        "the fact behind a line of the feed is missing",
        "SELECT row FROM feed WHERE NOT CASE kind
         WHEN 'verdict' THEN EXISTS (SELECT 1 FROM verdict v WHERE v.seq = row)
         WHEN 'raised' THEN EXISTS (SELECT 1 FROM alert a WHERE a.seq = row)
         ELSE EXISTS (SELECT 1 FROM alert_step s WHERE s.seq = row AND s.what = kind) END",
    ),
    (
        "a line of the feed is out of order",
        "SELECT next.row FROM feed f JOIN feed next ON next.seq = f.seq + 1 WHERE next.row <= f.row",
    ),
    (
        "a line of the feed tells of what happened elsewhere",
        "SELECT row FROM feed f WHERE EXISTS
         (SELECT 1 FROM import_run r WHERE f.row BETWEEN r.first AND r.last)",
    ),
    (
        "its job came from another record, and nothing says when",
        "SELECT job FROM import_run EXCEPT SELECT job FROM import",
    ),
    (
        "a job's note of being closed does not fit what happened",
        "SELECT seq FROM job j WHERE closed_by IS NOT (SELECT CASE kind WHEN 'job-closed' THEN seq END
         FROM step s WHERE s.job = j.seq AND kind IN ('job-closed', 'job-reopened')
         ORDER BY s.seq DESC LIMIT 1)",
    ),
    (
        "an alert's note of being cleared does not fit what happened",
        "SELECT seq FROM alert a WHERE cleared_by IS NOT
         (SELECT min(seq) FROM alert_step s WHERE s.alert = a.seq AND what = 'cleared')",
    ),
];

/// Every number of the record, wherever it stands.
const NUMBERS: &str = "SELECT seq FROM job UNION ALL SELECT seq FROM attempt
    UNION ALL SELECT seq FROM reading_seq UNION ALL SELECT seq FROM mark UNION ALL SELECT seq FROM verdict
    UNION ALL SELECT seq FROM alert UNION ALL SELECT seq FROM alert_step
    UNION ALL SELECT seq FROM step UNION ALL SELECT seq FROM file";

/// Looks for all of that.
pub(super) fn strays(book: Book<'_>, found: &mut Verified) -> Result<(), StoreError> {
    for (what, sql) in STRAY {
        for row in numbers(book, sql)? {
            found.add(Some(row), what);
        }
    }
    counting(book, found)
}

/// Numbers run without a gap, and so does the feed.
fn counting(book: Book<'_>, found: &mut Verified) -> Result<(), StoreError> {
    let Some(Counted { last, feed, .. }) = Counted::read(book)? else {
        found.add_of("counter", None, "the counters are missing");
        return Ok(());
    };
    let sql =
        format!("SELECT count(*), count(DISTINCT seq), coalesce(max(seq), 0) FROM ({NUMBERS})");
    let (rows, different, newest): (i64, i64, i64) =
        book.conn.query_row(&sql, [], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?)))?;
    found.rows = rows.cast_unsigned();
    // What is known to be lost has its numbers all the same.
    let lost = "SELECT coalesce(sum(last - first + 1), 0), coalesce(max(last), 0) FROM lost";
    let (lost, end): (i64, i64) =
        book.conn.query_row(lost, [], |row| Ok((row.get(0)?, row.get(1)?)))?;
    let newest = newest.max(end);
    if rows != different || rows.saturating_add(lost) != newest || newest != last {
        let what = format!(
            "{rows} rows, {different} different numbers, the newest {newest}, {last} were counted"
        );
        found.add_of("counter", None, what);
    }
    let sql = "SELECT count(*), coalesce(max(seq), 0), coalesce(min(seq), 1) FROM feed";
    let (lines, newest, first): (i64, i64, i64) =
        book.conn.query_row(sql, [], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?)))?;
    if lines != newest || first != 1 || newest != feed {
        let what = format!("the feed has {lines} lines up to {newest}, {feed} were counted");
        found.add(None, what);
    }
    let told = "SELECT count(*) FROM (SELECT seq FROM verdict UNION ALL SELECT seq FROM alert
                UNION ALL SELECT seq FROM alert_step) t WHERE NOT EXISTS
                (SELECT 1 FROM import_run r WHERE t.seq BETWEEN r.first AND r.last)";
    let told: i64 = book.conn.query_row(told, [], |row| row.get(0))?;
    if told != lines {
        found.add(None, format!("{told} facts belong in the feed, {lines} are there"));
    }
    Ok(())
}
