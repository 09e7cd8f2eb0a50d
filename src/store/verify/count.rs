//! Whether numbers run without a gap, and the feed with them.

use std::collections::BTreeMap;

use super::super::StoreError;
use super::super::counters::Counted;
use super::super::pieces::Pieces;
use super::super::read::{Book, Read};
use super::super::write::{int, seq};
use super::{Until, Verified};

/// The tables whose rows have numbers, readings apart.
const TABLES: [&str; 8] =
    ["job", "attempt", "mark", "verdict", "alert", "alert_step", "step", "file"];
/// Those of them that are lines of the feed.
const TOLD: [&str; 3] = ["verdict", "alert", "alert_step"];

/// Numbers, a bit for each.
#[derive(Default)]
struct Numbers(BTreeMap<i64, [u64; 4]>);

impl Numbers {
    const fn place(number: i64) -> (i64, usize, u64) {
        let within = number.rem_euclid(256).cast_unsigned();
        (number.div_euclid(256), (within / 64) as usize, 1 << (within % 64))
    }

    /// Takes a number in; whether it is a new one.
    fn take(&mut self, number: i64) -> bool {
        let (block, word, bit) = Self::place(number);
        let word = &mut self.0.entry(block).or_default()[word];
        let new = *word & bit == 0;
        *word |= bit;
        new
    }

    fn has(&self, number: i64) -> bool {
        let (block, word, bit) = Self::place(number);
        self.0.get(&block).is_some_and(|words| words[word] & bit != 0)
    }
}

/// What was counted, up to a number; what is beyond is added meanwhile, or no number at all.
struct Count {
    last: i64,
    rows: i64,
    different: i64,
    newest: i64,
    least: i64,
    beyond: i64,
    seen: Numbers,
    /// Those of readings.
    readings: Numbers,
}

impl Count {
    fn up_to(last: i64) -> Self {
        let (seen, readings) = (Numbers::default(), Numbers::default());
        let (rows, different, newest, least, beyond) = (0, 0, 0, 1, 0);
        Self { last, rows, different, newest, least, beyond, seen, readings }
    }

    fn take(&mut self, number: i64) {
        if number > self.last {
            self.beyond = self.beyond.max(number);
            return;
        }
        self.rows += 1;
        self.different += i64::from(self.seen.take(number));
        self.newest = self.newest.max(number);
        self.least = self.least.min(number);
    }

    /// The newest number, where none may be greater than `now`.
    fn newest(&self, now: i64) -> i64 {
        if self.beyond > now { self.beyond } else { self.newest }
    }
}

/// Numbers run without a gap, and so does the feed.
pub(super) fn counting(
    pieces: Pieces<'_>,
    until: &Until,
    found: &mut Verified,
) -> Result<(), StoreError> {
    let Some(Counted { last, feed, .. }) = until.counted else {
        found.add_of("counter", None, "the counters are missing");
        return Ok(());
    };
    let all = rows(pieces, int(until.end.last))?;
    let lines = lines(pieces, until.end.feed.cast_signed())?;
    let told = told(pieces, all.last)?;
    // What was added meanwhile is not beyond the counters as they are by now.
    let (now, (lost, end)) = pieces.moment(|book| {
        let now = Counted::read(book)?.map_or((last, feed), |now| (now.last, now.feed));
        Ok((now, lost(book, (all.last, now.0))?))
    })?;
    details(pieces, (&all, now.0), found)?;
    let (rows, different) = (all.rows, all.different);
    found.rows = rows.cast_unsigned();
    // What is known to be lost has its numbers all the same.
    let newest = all.newest(now.0).max(end);
    if rows != different || rows.saturating_add(lost) != newest || newest != last {
        let what = format!(
            "{rows} rows, {different} different numbers, the newest {newest}, {last} were counted"
        );
        found.add_of("counter", None, what);
    }
    let (count, newest) = (lines.rows, lines.newest(now.1));
    if count != newest || lines.different != count || lines.least < 1 || newest != feed {
        let what = format!("the feed has {count} lines up to {newest}, {feed} were counted");
        found.add(None, what);
    }
    if told != count {
        found.add(None, format!("{told} facts belong in the feed, {count} are there"));
    }
    Ok(())
}

/// The numbers of all rows, wherever they stand.
fn rows(pieces: Pieces<'_>, last: i64) -> Read<Count> {
    let mut count = Count::up_to(last);
    let sql =
        "SELECT coalesce(j.seq, 0) + r.nth FROM reading r LEFT JOIN job j ON j.short = r.short
        WHERE r.short = ?1 AND r.nth BETWEEN ?2 AND ?3";
    pieces
        .readings(|book, short, (first, last)| each(book, sql, [short, first, last], &mut count))?;
    // The same numbers: of all rows, and of readings alone.
    count.readings = Numbers(count.seen.0.clone());
    for table in TABLES {
        let sql = format!("SELECT seq FROM {table} WHERE seq BETWEEN ?1 AND ?2");
        pieces.spans((table, "seq"), |book, (first, last)| {
            each(book, &sql, [first, last], &mut count)
        })?;
    }
    Ok(count)
}

/// The numbers of the lines of the feed.
fn lines(pieces: Pieces<'_>, last: i64) -> Read<Count> {
    let mut count = Count::up_to(last);
    let sql = "SELECT seq FROM feed WHERE seq BETWEEN ?1 AND ?2";
    pieces
        .spans(("feed", "seq"), |book, (first, last)| each(book, sql, [first, last], &mut count))?;
    Ok(count)
}

fn each(book: Book<'_>, sql: &str, values: impl rusqlite::Params, count: &mut Count) -> Read<()> {
    let mut statement = book.conn.prepare_cached(sql)?;
    let mut rows = statement.query(values)?;
    while let Some(row) = rows.next()? {
        count.take(row.get(0)?);
    }
    Ok(())
}

/// How many facts belong in the feed: those that happened here.
fn told(pieces: Pieces<'_>, last: i64) -> Read<i64> {
    let mut told = 0;
    for table in TOLD {
        let sql = format!(
            "SELECT count(*) FROM {table} t WHERE seq BETWEEN ?1 AND ?2 AND seq <= ?3
             AND NOT EXISTS (SELECT 1 FROM import_run r WHERE t.seq BETWEEN r.first AND r.last)"
        );
        pieces.spans((table, "seq"), |book, (first, end)| {
            let mut statement = book.conn.prepare_cached(&sql)?;
            told += statement.query_row([first, end, last], |row| row.get::<_, i64>(0))?;
            Ok(())
        })?;
    }
    Ok(told)
}

/// How many numbers are lost, and the greatest of them. What was lost since begins after `last`, and
/// is not beyond what is counted `now`.
fn lost(book: Book<'_>, (last, now): (i64, i64)) -> Read<(i64, i64)> {
    let sql = "SELECT coalesce(sum(last - first + 1), 0), coalesce(max(last), 0) FROM lost
        WHERE first <= ?1 OR last > ?2";
    Ok(book.conn.query_row(sql, [last, now], |row| Ok((row.get(0)?, row.get(1)?)))?)
}

/// Details of readings belong to one.
fn details(pieces: Pieces<'_>, (all, now): (&Count, i64), found: &mut Verified) -> Read<()> {
    let sql = "SELECT reading FROM reading_more WHERE reading BETWEEN ?1 AND ?2";
    pieces.spans(("reading_more", "reading"), |book, (first, last)| {
        let mut statement = book.conn.prepare_cached(sql)?;
        let mut rows = statement.query([first, last])?;
        while let Some(row) = rows.next()? {
            let reading = row.get(0)?;
            let is_later = reading > all.last && reading <= now;
            if !is_later && !all.readings.has(reading) {
                found.add(Some(seq(reading)), "details without a reading");
            }
        }
        Ok(())
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_counted_once_and_what_comes_later_is_not() {
        let mut count = Count::up_to(300);
        for number in [1, 2, 256, 255, 300, 2, -5, 301, 999] {
            count.take(number);
        }
        assert_eq!((count.rows, count.different, count.newest, count.least), (7, 6, 300, -5));
        assert_eq!((count.newest(999), count.newest(998)), (300, 999));
        assert!(count.seen.has(-5) && count.seen.has(255) && !count.seen.has(254));
    }
}
