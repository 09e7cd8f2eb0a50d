//! Whether the record is whole, and whether every verdict follows from what is stored.

mod count;
mod stray;
pub(super) mod whole;

use ::words::Tell;
use bench::row::Body;
use bench::verdict::Verdict;
use bench::{Bench, ENGINE, Job, Row, Seq};

use super::counters::{Counted, End};
use super::loose::LOOSE;
use super::pieces::Pieces;
use super::progress::{Progress, Step};
use super::read::{Book, Read, Which};
use super::sums::{Again, Off, Stored};
use super::write::{int, seq};
use super::{StoreError, answers, caller};

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
    /// Whether verdicts were computed again at all.
    pub judged: bool,
    /// Rows that were held against the stored sums; none where a damaged row leaves no sum right.
    pub summed: u64,
    /// What is wrong; empty when all is well. At most [`TOLD`] of it.
    pub differences: Vec<Difference>,
    /// What else is wrong, counted only.
    pub more: u64,
}

/// So many differences are told one by one: a record may have a million.
pub const TOLD: usize = 1000;

/// How thoroughly a record is checked.
#[derive(Clone, Copy)]
pub(super) enum Depth<'a> {
    /// Everything that is stored: pages, what points where, every row against its sum.
    Stored,
    /// That, and every verdict is computed again.
    Judged(Judge<'a>),
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
    pub(super) fn add(&mut self, row: Option<Seq>, what: impl Into<String>) {
        self.push(Difference { table: None, row, what: what.into() });
    }

    /// Of a table, where no row is known.
    pub(super) fn add_of(&mut self, table: &str, row: Option<Seq>, what: impl Into<String>) {
        let table = Some(table.to_owned());
        self.push(Difference { table, row, what: what.into() });
    }

    fn push(&mut self, difference: Difference) {
        if self.differences.len() < TOLD {
            self.differences.push(difference);
        } else {
            self.more += 1;
        }
    }
}

/// Where the record ended at one moment: up to there it is looked at, whatever is added meanwhile.
struct Until {
    /// The newest row, and the newest line of the feed.
    end: End,
    /// What the counters said of it; `None` where they are missing.
    counted: Option<Counted>,
    stored: Stored,
}

impl Until {
    fn now(book: Book<'_>) -> Read<Self> {
        let (end, _) = End::read(book)?;
        Ok(Self { end, counted: Counted::read(book)?, stored: Stored::read(book, end.sums)? })
    }
}

/// Checks everything, as far as `depth` says. What is held in memory meanwhile is one large job or some
/// small ones, and a few bytes for each block of rows. The record may grow: what is checked is what
/// it held when its pages had been looked at.
pub(super) fn verify(
    pieces: Pieces<'_>,
    depth: Depth<'_>,
    progress: &Progress,
) -> Result<Verified, StoreError> {
    let judged = matches!(depth, Depth::Judged(_));
    let mut found = Verified { judged, ..Verified::default() };
    progress.begin(Step::File, 0);
    whole::file(pieces, &mut found)?;
    if !found.differences.is_empty() {
        // In a damaged file every further question would only repeat the damage.
        return Ok(found);
    }
    let until = pieces.moment(Until::now)?;
    stray::strays(pieces, &mut found)?;
    count::counting(pieces, &until, &mut found)?;
    pieces.moment(|book| whole::texts(book, &mut found))?;
    progress.begin(Step::Rows, found.rows);
    rows(pieces, depth, &until, (&mut found, progress))?;
    pieces.moment(|book| {
        whole::name_tables(book, &mut found);
        Ok(())
    })?;
    answers::verify(pieces, |row| {
        found.add_of("answer", row, "it is not as it was given");
    })?;
    caller::verify(pieces, |row| {
        found.add_of("caller", Some(row), "who asked is not as it was kept");
    })?;
    Ok(found)
}

/// The sums over what was read so far, and whether something could not be read.
struct Summing<'a> {
    again: Again,
    damaged: bool,
    last: Seq,
    progress: &'a Progress,
    found: &'a mut Verified,
}

impl Summing<'_> {
    /// Takes a row in, as far as it was there at the beginning.
    fn take(&mut self, row: &Row) -> Result<(), StoreError> {
        if row.seq > self.last {
            return Ok(());
        }
        self.progress.at(self.again.rows);
        let damaged = |what| StoreError::Damaged { row: row.seq, what };
        self.again.take(row).map_err(damaged)
    }

    /// What cannot be read is told, and the rest is looked at all the same.
    fn noted(&mut self, result: Read<()>) -> Read<()> {
        let Err(error) = result else { return Ok(()) };
        self.damaged = true;
        damage(error, self.found)
    }

    fn read(&mut self, row: Read<Row>) -> Read<()> {
        let summed = row.and_then(|row| self.take(&row));
        self.noted(summed)
    }
}

/// Reads every row back, sums them up, and lives each job through again.
fn rows(
    pieces: Pieces<'_>,
    depth: Depth<'_>,
    until: &Until,
    (found, progress): (&mut Verified, &Progress),
) -> Result<(), StoreError> {
    let last = until.end.last;
    let mut sum = Summing { again: Again::default(), damaged: false, last, progress, found };
    loose(pieces, &mut sum)?;
    let jobs = pieces.moment(|book| numbers(book, "SELECT seq FROM job ORDER BY seq", []))?;
    let mut jobs = jobs.into_iter();
    loop {
        let read = pieces.some(&mut jobs, Book::job_rows)?;
        if read.is_empty() {
            break;
        }
        for rows in read {
            let rows = rows.and_then(|mut rows| {
                rows.retain(|row| row.seq <= last);
                rows.iter().try_for_each(|row| sum.take(row))?;
                Ok(rows)
            });
            match (rows, depth) {
                (Ok(rows), Depth::Judged(judge)) => replay(&rows, judge, sum.found),
                (Ok(_), Depth::Stored) => {}
                (Err(error), _) => sum.noted(Err(error))?,
            }
        }
    }
    let Summing { again, damaged, found, .. } = sum;
    if damaged {
        // Without the rows that cannot be read, no sum can be right.
        return Ok(());
    }
    found.summed = again.rows;
    for off in again.compared(&until.stored) {
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

/// Reads back what belongs to no job, alerts and files of any job among it.
fn loose(pieces: Pieces<'_>, sum: &mut Summing<'_>) -> Read<()> {
    pieces.readings(|book, short, span| match short {
        0 => book.each_stray_reading(span, &mut |row| sum.read(row)),
        _ => Ok(()),
    })?;
    for of in LOOSE {
        pieces.spans((of.0, "seq"), |book, span| {
            book.each_loose(of, span, &mut |row| sum.read(row))
        })?;
    }
    let sql = "SELECT DISTINCT job FROM step WHERE kind = 'job-reopened' AND job IS NOT NULL";
    let reopened = pieces.moment(|book| numbers(book, sql, []))?;
    pieces.each(reopened, |book, job| {
        book.each_reopened(Which("job = ?1", int(job)), &mut |row| sum.read(row))
    })
}

/// A damaged row is a finding; a database that cannot be read is an error.
fn damage(error: StoreError, found: &mut Verified) -> Result<(), StoreError> {
    let StoreError::Damaged { row, what } = error else { return Err(error) };
    found.add(Some(row), what);
    Ok(())
}

fn numbers(
    book: Book<'_>,
    sql: &str,
    values: impl rusqlite::Params,
) -> Result<Vec<Seq>, StoreError> {
    let mut statement = book.conn.prepare_cached(sql)?;
    let rows = statement.query_map(values, |row| row.get(0).map(seq))?;
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
        ("figures", stored.figures.alike(&again.figures)),
        ("reasons", stored.reasons == again.reasons),
    ];
    same.into_iter().filter(|(_, same)| !same).map(|(part, _)| part).collect()
}
