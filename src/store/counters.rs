//! The counters: the number of the newest row, and of the newest line of the feed.
//!
//! Every commit writes them anew from what the service holds, so they only matter at the start. A
//! counter that does not fit the rows is told, and counting goes on after whichever is more: a
//! number that may have been given is never given again.

use rusqlite::{Connection, OptionalExtension};

use super::newest::Mark;
use super::read::{Book, Read, SetAside};
use super::sums::Sums;
use super::write::{int, seq};
use bench::Seq;
use bench::row::Piece;

/// No bench counts this far; as much as a number in JSON surely holds.
const FAR: i64 = 1 << 53;

/// Whether a number may have been counted.
pub(super) fn is_near(mark: Mark) -> bool {
    mark.last.0 < FAR.cast_unsigned()
}

/// Where the record ends.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct End {
    pub(super) last: Seq,
    pub(super) feed: u64,
    pub(super) sums: Sums,
}

/// The counters as they are stored.
pub(super) struct Counted {
    pub(super) last: i64,
    pub(super) feed: i64,
    sums: [i64; 2],
}

impl Counted {
    /// `None` where they are missing, or no numbers.
    pub(super) fn read(book: Book<'_>) -> Read<Option<Self>> {
        let sql = "SELECT last, feed, plain, weighted FROM counter WHERE id = 1";
        let found = book
            .conn
            .prepare_cached(sql)?
            .query_row([], |row| {
                let sums = [row.get(2)?, row.get(3)?];
                Ok(Self { last: row.get(0)?, feed: row.get(1)?, sums })
            })
            .optional();
        match found {
            Ok(found) => Ok(found),
            Err(rusqlite::Error::InvalidColumnType(..)) => Ok(None),
            Err(error) => Err(error.into()),
        }
    }
}

/// The newest number of each table; of readings, by their jobs and by jobs that are missing.
const NEWEST: &str = "WITH RECURSIVE shelf(short) AS (
        SELECT min(short) FROM reading
        UNION ALL SELECT (SELECT min(r.short) FROM reading r WHERE r.short > shelf.short) FROM shelf
        WHERE shelf.short IS NOT NULL),
    newest(n) AS (SELECT max(seq) FROM job WHERE seq < ?1
        UNION ALL SELECT max(seq) FROM attempt WHERE seq < ?1
        UNION ALL SELECT max(seq) FROM mark WHERE seq < ?1
        UNION ALL SELECT max(seq) FROM verdict WHERE seq < ?1
        UNION ALL SELECT max(seq) FROM alert WHERE seq < ?1
        UNION ALL SELECT max(seq) FROM alert_step WHERE seq < ?1
        UNION ALL SELECT max(seq) FROM step WHERE seq < ?1
        UNION ALL SELECT max(seq) FROM file WHERE seq < ?1
        UNION ALL SELECT max(last) FROM lost WHERE last < ?1
        UNION ALL SELECT coalesce((SELECT seq FROM job j WHERE j.short = shelf.short), 0)
            + (SELECT max(nth) FROM reading r WHERE r.short = shelf.short AND r.nth < ?1)
        FROM shelf WHERE short IS NOT NULL)
    SELECT coalesce(max(n), 0) FROM newest WHERE n < ?1";

impl End {
    /// Where the record ends, and the sentence where the counters say otherwise.
    pub(super) fn read(book: Book<'_>) -> Read<(Self, Option<SetAside>)> {
        let mut newest = book.conn.prepare_cached(NEWEST)?;
        let newest: i64 = newest.query_row([FAR], |row| row.get(0))?;
        let lines = "SELECT coalesce(max(seq), 0) FROM feed WHERE seq < ?1";
        let lines: i64 = book.conn.prepare_cached(lines)?.query_row([FAR], |row| row.get(0))?;
        let Some(counted) = Counted::read(book)? else {
            let end = Self::at(newest, lines, Sums::begun_anew(seq(newest)));
            let goes_on =
                format!("counting goes on after row {newest} and line {lines} of the feed");
            return Ok((end, Some(told(&format!("they are missing; {goes_on}")))));
        };
        let (last, rows) = agreed("row", counted.last, newest);
        let (feed, news) = agreed("line of the feed", counted.feed, lines);
        let sums = Sums::of_columns(seq(last), counted.sums);
        let said: Vec<String> = rows.into_iter().chain(news).collect();
        let aside = (!said.is_empty()).then(|| told(&said.join("; ")));
        Ok((Self::at(last, feed, sums), aside))
    }

    const fn at(last: i64, feed: i64, sums: Sums) -> Self {
        Self { last: seq(last), feed: feed.cast_unsigned(), sums }
    }

    /// Writes it down, in the transaction that wrote the rows.
    pub(super) fn write(&self, conn: &Connection) -> rusqlite::Result<()> {
        let sql = "INSERT INTO counter (id, last, feed, plain, weighted) VALUES (1, ?1, ?2, ?3, ?4)
            ON CONFLICT (id) DO UPDATE SET last = ?1, feed = ?2, plain = ?3, weighted = ?4";
        let [plain, weighted] = self.sums.columns();
        let values = [int(self.last), self.feed.cast_signed(), plain, weighted];
        conn.prepare_cached(sql)?.execute(values).map(drop)
    }
}

fn told(what: &str) -> SetAside {
    let why = format!("the record is damaged: counter, row 1: {what}");
    SetAside { what: Piece::Counters, why }
}

/// The number that counting goes on after, and the sentence where the counter is not the newest.
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
