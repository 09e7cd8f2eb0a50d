//! Whether the record is whole, and whether every verdict follows from what is stored.

mod figures;
mod stray;
pub(super) mod whole;

use crate::bench::row::Body;
use crate::bench::verdict::Verdict;
use crate::bench::{Bench, ENGINE, Job, Row, Seq};

use self::figures::same_figures;
use super::StoreError;
use super::read::Book;
use super::sums::{Again, Off};
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
    /// Verdicts of another version of the arithmetic, which were not computed again.
    pub older: u64,
    /// Rows that were held against the stored sums; none where a damaged row leaves no sum right.
    pub summed: u64,
    /// What is wrong; empty when all is well.
    pub differences: Vec<Difference>,
}

/// Something that is not as it should be.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Difference {
    /// The table, where it is about one.
    pub table: Option<String>,
    /// The row, where it is about one.
    pub row: Option<Seq>,
    /// The sentence.
    pub what: String,
}

impl Verified {
    fn add(&mut self, row: Option<Seq>, what: impl Into<String>) {
        self.differences.push(Difference { table: None, row, what: what.into() });
    }

    /// Of a table, where no row is known.
    fn add_of(&mut self, table: &str, row: Option<Seq>, what: impl Into<String>) {
        let table = Some(table.to_owned());
        self.differences.push(Difference { table, row, what: what.into() });
    }
}

/// Checks everything.
pub(super) fn verify(book: Book<'_>, judge: Judge<'_>) -> Result<Verified, StoreError> {
    let mut found = Verified::default();
    whole::file(book, &mut found)?;
    if !found.differences.is_empty() {
        // In a damaged file every further question would only repeat the damage.
        return Ok(found);
    }
    stray::strays(book, &mut found)?;
    whole::texts(book, &mut found)?;
    rows(book, judge, &mut found)?;
    whole::name_tables(book, &mut found);
    Ok(found)
}

/// Reads every row back, sums them up, and lives each job through again.
fn rows(book: Book<'_>, judge: Judge<'_>, found: &mut Verified) -> Result<(), StoreError> {
    let mut again = Again::default();
    let mut damaged = false;
    let mut sum = |rows: &[Row]| {
        rows.iter().try_for_each(|row| {
            again.take(row).map_err(|what| StoreError::Damaged { row: row.seq, what })
        })
    };
    if let Err(error) = book.loose_rows().and_then(|rows| sum(&rows)) {
        damaged = true;
        damage(error, found)?;
    }
    for job in numbers(book, "SELECT seq FROM job ORDER BY seq")? {
        match book.job_rows(job).and_then(|rows| sum(&rows).map(|()| rows)) {
            Ok(rows) => replay(&rows, judge, found),
            Err(error) => {
                damaged = true;
                damage(error, found)?;
            }
        }
    }
    if damaged {
        // Without the rows that cannot be read, no sum can be right.
        return Ok(());
    }
    found.summed = again.rows;
    for off in again.compared(book)? {
        match off {
            Off::Row(row) => found.add(Some(row), "it is not as it was stored"),
            Off::Among(first, last) => {
                let which = format!("something in the rows {first} to {last}, or their sum,");
                found.add(None, format!("{which} is not as it was stored"));
            }
        }
    }
    Ok(())
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

/// Lives one job through again, and judges where it was judged.
pub(super) fn replay(rows: &[Row], judge: Judge<'_>, found: &mut Verified) {
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
        ("combined", stored.combined == again.combined),
        ("means", stored.means == again.means),
        ("value", stored.value == again.value),
        ("unit", stored.unit == again.unit),
        ("tolerance", stored.limits == again.limits),
        ("uncertainty", stored.uncertainty == again.uncertainty),
        ("uncertainty_from", stored.known == again.known),
        ("k", stored.k == again.k),
        ("rule", stored.rule == again.rule),
        ("verdict", stored.word == again.word),
        ("simple", stored.simple == again.simple),
        ("guarded", stored.guarded == again.guarded),
        ("positions", stored.positions == again.positions),
        ("taken", stored.taken == again.taken),
        ("skipped", stored.skipped == again.skipped),
        ("answer", stored.answer == again.answer),
        ("answers", stored.answers == again.answers),
        ("figures", same_figures(&stored.figures, &again.figures)),
        ("reasons", stored.reasons == again.reasons),
    ];
    same.into_iter().filter(|(_, same)| !same).map(|(part, _)| part).collect()
}
