//! Whether the record is whole, and whether every verdict follows from what is stored.

mod figures;

use crate::bench::row::Body;
use crate::bench::verdict::Verdict;
use crate::bench::{Bench, ENGINE, Job, Row, Seq};

use self::figures::same_figures;
use super::StoreError;
use super::read::Book;
use super::write::seq;

/// Computes the verdict on an attempt from the state of its job, as `bench::judge` does; `None`
/// where the job has no such attempt.
pub type Judge<'a> = &'a dyn Fn(&Job, Seq) -> Option<Verdict>;

/// What a check of the record found.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Verified {
    /// Rows of the record.
    pub rows: u64,
    /// Verdicts that were computed again.
    pub verdicts: u64,
    /// Verdicts of an older version of the arithmetic, which were not computed again.
    pub older: u64,
    /// What is wrong; empty when all is well.
    pub differences: Vec<Difference>,
}

/// Something that is not as it should be.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Difference {
    /// The row, where it is about one.
    pub row: Option<Seq>,
    /// The sentence.
    pub what: String,
}

impl Verified {
    fn add(&mut self, row: Option<Seq>, what: impl Into<String>) {
        self.differences.push(Difference { row, what: what.into() });
    }
}

/// Queries that give a row for everything that points nowhere, or wrongly.
const STRAY: [(&str, &str); 10] = [
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

/// Checks everything.
pub(super) fn verify(book: Book<'_>, judge: Judge<'_>) -> Result<Verified, StoreError> {
    let mut found = Verified::default();
    file(book, &mut found)?;
    if !found.differences.is_empty() {
        // In a damaged file every further question would only repeat the damage.
        return Ok(found);
    }
    for (what, sql) in STRAY {
        for row in numbers(book, sql)? {
            found.add(Some(row), what);
        }
    }
    counting(book, &mut found)?;
    if let Err(error) = book.loose_rows() {
        damage(error, &mut found)?;
    }
    for job in numbers(book, "SELECT seq FROM job ORDER BY seq")? {
        match book.job_rows(job) {
            Ok(rows) => replay(&rows, judge, &mut found),
            Err(error) => damage(error, &mut found)?,
        }
    }
    Ok(found)
}

/// A damaged row is a finding; a database that cannot be read is an error.
fn damage(error: StoreError, found: &mut Verified) -> Result<(), StoreError> {
    let StoreError::Damaged { row, what } = error else { return Err(error) };
    found.add(Some(row), what);
    Ok(())
}

fn numbers(book: Book<'_>, sql: &str) -> Result<Vec<Seq>, StoreError> {
    let mut statement = book.conn.prepare(sql)?;
    let rows = statement.query_map([], |row| row.get(0).map(seq))?;
    Ok(rows.collect::<Result<_, _>>()?)
}

/// The file itself and its references.
fn file(book: Book<'_>, found: &mut Verified) -> Result<(), StoreError> {
    let mut statement = book.conn.prepare("PRAGMA integrity_check")?;
    for line in statement.query_map([], |row| row.get::<_, String>(0))? {
        let line = line?;
        if line != "ok" {
            found.add(None, format!("the file is damaged: {line}"));
        }
    }
    let mut statement = book.conn.prepare("PRAGMA foreign_key_check")?;
    let mut rows = statement.query([])?;
    while let Some(row) = rows.next()? {
        let (table, target): (String, String) = (row.get(0)?, row.get(2)?);
        let number: Option<i64> = row.get(1)?;
        found.add(number.map(seq), format!("the {target} of its {table} is missing"));
    }
    Ok(())
}

/// Numbers run without a gap, and so does the feed.
fn counting(book: Book<'_>, found: &mut Verified) -> Result<(), StoreError> {
    let (last, feed) = book.counters()?;
    let sql =
        format!("SELECT count(*), count(DISTINCT seq), coalesce(max(seq), 0) FROM ({NUMBERS})");
    let (rows, different, newest): (i64, i64, i64) =
        book.conn.query_row(&sql, [], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?)))?;
    found.rows = rows.cast_unsigned();
    if rows != different || rows != newest || seq(newest) != last {
        let what = format!(
            "{rows} rows, {different} different numbers, the newest {newest}, {last} were counted"
        );
        found.add(None, what);
    }
    let sql = "SELECT count(*), coalesce(max(seq), 0), coalesce(min(seq), 1) FROM feed";
    let (lines, newest, first): (i64, i64, i64) =
        book.conn.query_row(sql, [], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?)))?;
    if lines != newest || first != 1 || newest.cast_unsigned() != feed {
        let what = format!("the feed has {lines} lines up to {newest}, {feed} were counted");
        found.add(None, what);
    }
    let told = "SELECT (SELECT count(*) FROM verdict) + (SELECT count(*) FROM alert)
                + (SELECT count(*) FROM alert_step)";
    let told: i64 = book.conn.query_row(told, [], |row| row.get(0))?;
    if told != lines {
        found.add(None, format!("{told} facts belong in the feed, {lines} are there"));
    }
    Ok(())
}

/// Lives one job through again, and judges where it was judged.
fn replay(rows: &[Row], judge: Judge<'_>, found: &mut Verified) {
    let mut bench = Bench::default();
    for row in rows {
        if let Body::Verdict(stored) = &row.body {
            compare(&bench, (row.seq, stored), judge, found);
        }
        bench.apply(row);
    }
}

/// Holds a stored verdict against the one that the bench of that moment gives.
fn compare(bench: &Bench, (id, stored): (Seq, &Verdict), judge: Judge<'_>, found: &mut Verified) {
    let Some((_, job, attempt)) = bench.attempt(stored.attempt) else {
        found.add(Some(id), "the attempt of a verdict is missing");
        return;
    };
    if attempt.began.pin.engine != ENGINE {
        found.older += 1;
        return;
    }
    found.verdicts += 1;
    let Some(again) = judge(job, stored.attempt) else {
        found.add(Some(id), "it cannot be computed again");
        return;
    };
    let parts = different(stored, &again);
    if !parts.is_empty() {
        found.add(Some(id), format!("computed again, it differs in {}", parts.join(", ")));
    }
}

/// The parts in which two verdicts differ. Advice is left out: a better sentence is no other
/// verdict.
fn different(stored: &Verdict, again: &Verdict) -> Vec<&'static str> {
    let same = [
        ("attempt", stored.attempt == again.attempt),
        ("tries", stored.tries == again.tries),
        ("value", stored.value == again.value),
        ("unit", stored.unit == again.unit),
        ("tolerance", stored.limits == again.limits),
        ("uncertainty", stored.uncertainty == again.uncertainty),
        ("uncertainty_from", stored.assumed == again.assumed),
        ("rule", stored.rule == again.rule),
        ("verdict", stored.word == again.word),
        ("simple", stored.simple == again.simple),
        ("guarded", stored.guarded == again.guarded),
        ("positions", stored.positions == again.positions),
        ("taken", stored.taken == again.taken),
        ("skipped", stored.skipped == again.skipped),
        ("answer", stored.answer == again.answer),
        ("figures", same_figures(&stored.figures, &again.figures)),
        ("reasons", stored.reasons == again.reasons),
    ];
    same.into_iter().filter(|(_, same)| !same).map(|(part, _)| part).collect()
}
