//! The counters: the number of the newest row, and of the newest line of the feed.
//!
//! Every commit writes them from what the service holds, so they matter only at the start. A counter that
//! does not fit the rows is reported, and counting continues after the larger number: a number that may
//! have been used is never used again.

use rusqlite::{Connection, OptionalExtension, params};

use super::newest::Mark;
use super::read::{Book, Read, SetAside};
use super::seals::{Seal, Sealed, Seals};
use super::write::{int, seq};
use bench::Seq;
use bench::row::Piece;

/// No bench counts this far; it is the largest number that every JSON reader holds exactly.
const FAR: i64 = 1 << 53;

/// Whether a number may have been counted.
pub(super) fn is_near(mark: Mark) -> bool {
    mark.last.0 < FAR.cast_unsigned()
}

/// The end of the record.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct End {
    pub(super) last: Seq,
    pub(super) feed: u64,
    pub(super) seals: Seals,
}

/// The newest row and the seals of its block as they were counted, without a look at the rows.
pub(super) fn counted_end(book: Book<'_>) -> Read<(Seq, Sealed)> {
    let missing = || super::read::damaged(Seq(1), "the counters are missing");
    let (last, _, open) = counted(book)?.ok_or_else(missing)?;
    Ok((seq(last), open))
}

/// The stored counters; `None` where they are missing or are not numbers.
fn counted(book: Book<'_>) -> Read<Option<(i64, i64, Sealed)>> {
    let sql = "SELECT last, feed, head, tags FROM counter WHERE id = 1";
    let mut statement = book.conn.prepare_cached(sql)?;
    let found = statement.query_row([], |row| {
        let (head, tags) = (row.get_ref(2)?.as_bytes(), row.get_ref(3)?.as_bytes());
        let (head, tags) = (head.unwrap_or_default(), tags.unwrap_or_default());
        Ok((row.get(0)?, row.get(1)?, Sealed::of_columns(head, tags.to_vec())))
    });
    match found.optional() {
        Err(rusqlite::Error::InvalidColumnType(..)) => Ok(None),
        found => Ok(found?),
    }
}

/// The newest number of the facts, of the losses, and of the readings job by job.
const NEWEST: &str = "WITH RECURSIVE shelf(job) AS (
        SELECT min(job) FROM reading
        UNION ALL SELECT (SELECT min(r.job) FROM reading r WHERE r.job > shelf.job) FROM shelf
        WHERE shelf.job IS NOT NULL),
    newest(n) AS (SELECT max(seq) FROM fact WHERE seq < ?1
        UNION ALL SELECT max(last) FROM lost WHERE last < ?1
        UNION ALL SELECT job + (SELECT max(nth) FROM reading r WHERE r.job = shelf.job AND r.nth < ?1)
        FROM shelf WHERE job < ?1)
    SELECT coalesce(max(n), 0) FROM newest WHERE n < ?1";

impl End {
    /// Reads the end of the record, and a sentence where the counters differ from it.
    pub(super) fn read(book: Book<'_>) -> Read<(Self, Option<SetAside>)> {
        let mut newest = book.conn.prepare_cached(NEWEST)?;
        let newest: i64 = newest.query_row([FAR], |row| row.get(0))?;
        let lines = "SELECT coalesce(max(line), 0) FROM fact WHERE line < ?1";
        let lines: i64 = book.conn.prepare_cached(lines)?.query_row([FAR], |row| row.get(0))?;
        let Some((last, feed, open)) = counted(book)? else {
            let end = Self::at(newest, lines, Seals::begun_anew(seq(newest)));
            let goes_on =
                format!("counting goes on after row {newest} and line {lines} of the feed");
            return Ok((end, Some(told(&format!("they are missing; {goes_on}")))));
        };
        let (last, rows) = agreed("row", last, newest);
        let (feed, news) = agreed("line of the feed", feed, lines);
        let seals = Seals::of(seq(last), open);
        let said: Vec<String> = rows.into_iter().chain(news).collect();
        let aside = (!said.is_empty()).then(|| told(&said.join("; ")));
        Ok((Self::at(last, feed, seals), aside))
    }

    const fn at(last: i64, feed: i64, seals: Seals) -> Self {
        Self { last: seq(last), feed: feed.cast_unsigned(), seals }
    }

    /// The seal after the newest row; `None` for a record without rows.
    pub(super) fn seal(&self) -> Option<Seal> {
        (self.last > Seq(0)).then(|| Seal::new(self.last, &self.seals.open.head))
    }

    /// Stores it in the transaction that wrote the rows.
    pub(super) fn write(&mut self, conn: &Connection) -> rusqlite::Result<()> {
        self.seals.store(conn)?;
        let sql = "INSERT INTO counter (id, last, feed, head, tags) VALUES (1, ?1, ?2, ?3, ?4)
            ON CONFLICT (id) DO UPDATE SET last = ?1, feed = ?2, head = ?3, tags = ?4";
        let Sealed { head, tags } = &self.seals.open;
        let values = params![int(self.last), self.feed.cast_signed(), head, tags];
        conn.prepare_cached(sql)?.execute(values).map(drop)
    }
}

fn told(what: &str) -> SetAside {
    let why = format!("the record is damaged: counter, row 1: {what}");
    SetAside { what: Piece::Counters, why }
}

/// The number after which counting continues, and a sentence where the counter is not the newest.
fn agreed(what: &str, counted: i64, newest: i64) -> (i64, Option<String>) {
    if counted == newest {
        return (newest, None);
    }
    let last = if (0..FAR).contains(&counted) { counted.max(newest) } else { newest };
    let said = format!(
        "it says that {counted} is the newest {what}, and {newest} is; counting goes on after {last}"
    );
    (last, Some(said))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn counting_goes_on_after_whatever_may_have_been_counted() {
        let last = |counted, newest| agreed("row", counted, newest).0;
        assert_eq!(agreed("row", 7, 7), (7, None));
        assert_eq!(last(3, 7), 7);
        assert_eq!(last(9, 7), 9, "rows 8 and 9 may be the ones that are missing");
        for absurd in [-1, i64::MIN, i64::MAX, FAR] {
            assert_eq!(last(absurd, 7), 7, "{absurd}");
            assert!(agreed("row", absurd, 7).1.is_some_and(|said| said.contains("after 7")));
        }
    }
}
