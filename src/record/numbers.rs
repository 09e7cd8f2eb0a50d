//! The numbers that rows had where they came from.
//!
//! A bench counts all its rows in one series, so rows from another bench get new numbers, without a gap and
//! in the same order. The old numbers are stored beside them as runs, so that a job is handed on with the
//! numbers it had first, however many benches it has been on.

use rusqlite::params;

use super::read::{Book, Read};
use super::write::{int, seq};
use bench::{RefersToRows as _, Row, Seq};

/// Rows whose new and old numbers all differ by the same amount.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Run {
    pub(super) first: Seq,
    pub(super) last: Seq,
    pub(super) was: Seq,
}

/// The numbers that the rows of one job had on the bench where it was opened.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Numbers(Vec<Run>);

impl Numbers {
    pub(super) fn of(book: Book<'_>, job: Seq) -> Read<Self> {
        let sql = "SELECT first, last, was FROM import_run WHERE job = ?1 ORDER BY first";
        let mut statement = book.conn.prepare_cached(sql)?;
        let runs = statement.query_map([int(job)], |row| {
            let number = |at: usize| row.get(at).map(seq);
            Ok(Run { first: number(0)?, last: number(1)?, was: number(2)? })
        })?;
        Ok(Self(runs.collect::<Result<_, _>>()?))
    }

    /// New numbers without a gap from `next` on, for rows with these old numbers.
    pub(super) fn given(next: Seq, were: impl IntoIterator<Item = Seq>) -> Self {
        let mut runs: Vec<Run> = Vec::new();
        for (was, now) in were.into_iter().zip(next.0..) {
            match runs.last_mut() {
                Some(run) if run.was.0 + (now - run.first.0) == was.0 => run.last = Seq(now),
                _ => runs.push(Run { first: Seq(now), last: Seq(now), was }),
            }
        }
        Self(runs)
    }

    pub(super) fn runs(&self) -> &[Run] {
        &self.0
    }

    /// The last run that begins at or before a row.
    fn before(&self, row: Seq) -> Option<&Run> {
        let at = self.0.partition_point(|run| run.first <= row);
        self.0.get(at.checked_sub(1)?)
    }

    /// Whether a row came from another bench.
    pub(super) fn came_along(&self, row: Seq) -> bool {
        self.before(row).is_some_and(|run| row <= run.last)
    }

    /// The number a row had on its first bench. Rows added here continue from there.
    #[must_use]
    pub fn was(&self, row: Seq) -> Seq {
        self.before(row).map_or(row, |run| Seq(run.was.0.wrapping_add(row.0 - run.first.0)))
    }

    /// The number of a row here, by its old number.
    pub(super) fn now(&self, was: Seq) -> Option<Seq> {
        let at = self.0.partition_point(|run| run.was <= was);
        let run = self.0.get(at.checked_sub(1)?)?;
        let now = Seq(run.first.0.checked_add(was.0 - run.was.0)?);
        (now <= run.last).then_some(now)
    }
}

/// A row with new numbers, its own and those it refers to; `None` where one of them has no new number.
pub(super) fn renumbered(row: &Row, new: &impl Fn(Seq) -> Option<Seq>) -> Option<Row> {
    let mut row = row.clone();
    let mut known = true;
    let mut other = |number: &mut Seq| match new(*number) {
        Some(now) => *number = now,
        None => known = false,
    };
    other(&mut row.seq);
    row.body.numbers("", &mut |_, number| other(number));
    known.then_some(row)
}

/// Stores that a job came from another bench, with its old numbers.
pub(super) fn write(
    conn: &rusqlite::Connection,
    (job, wall, digest): (Seq, i64, &[u8; 32]),
    numbers: &Numbers,
) -> rusqlite::Result<()> {
    let sum = sum((int(job), wall, digest), numbers);
    let sql = "INSERT INTO import (job, wall, digest, sum) VALUES (?1, ?2, ?3, ?4)";
    conn.prepare_cached(sql)?.execute(params![int(job), wall, digest, sum])?;
    let sql = "INSERT INTO import_run (first, last, was, job) VALUES (?1, ?2, ?3, ?4)";
    let mut statement = conn.prepare_cached(sql)?;
    for Run { first, last, was } in numbers.runs() {
        statement.execute([int(*first), int(*last), int(*was), int(job)])?;
    }
    Ok(())
}

fn sum((job, wall, digest): (i64, i64, &[u8]), numbers: &Numbers) -> [u8; 32] {
    let mut all = blake3::Hasher::new();
    all.update(&job.to_le_bytes()).update(&wall.to_le_bytes()).update(digest);
    for Run { first, last, was } in numbers.runs() {
        for number in [first, last, was] {
            all.update(&number.0.to_le_bytes());
        }
    }
    *all.finalize().as_bytes()
}

/// Jobs that are no longer as they were described when they came.
pub(super) fn changed(book: Book<'_>) -> Read<Vec<Seq>> {
    let mut statement = book.conn.prepare("SELECT job, wall, digest, sum FROM import")?;
    let mut rows = statement.query([])?;
    let mut found = Vec::new();
    while let Some(row) = rows.next()? {
        let job = seq(row.get(0)?);
        let (digest, stored): (Vec<u8>, Vec<u8>) = (row.get(2)?, row.get(3)?);
        let now = sum((int(job), row.get(1)?, &digest), &Numbers::of(book, job)?);
        if stored != now {
            found.push(job);
        }
    }
    Ok(found)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_without_a_gap_lead_back_to_those_they_were() {
        let were = [3, 5, 6, 7, 20, 21, 400].map(Seq);
        let numbers = Numbers::given(Seq(101), were);
        assert_eq!(numbers.runs().len(), 4);
        for (was, now) in were.into_iter().zip(101..) {
            assert_eq!(numbers.now(was), Some(Seq(now)));
            assert_eq!(numbers.was(Seq(now)), was);
            assert!(numbers.came_along(Seq(now)));
        }
        for missing in [0, 2, 4, 8, 22, 401].map(Seq) {
            assert_eq!(numbers.now(missing), None, "{missing}");
        }
        assert!(!numbers.came_along(Seq(100)) && !numbers.came_along(Seq(108)));
        assert_eq!(numbers.was(Seq(100)), Seq(100), "what is older here has its own number");
        assert_eq!(numbers.was(Seq(110)), Seq(403), "what is added here counts on");
        assert_eq!(Numbers::default().was(Seq(7)), Seq(7));
    }
}
