//! Writes rows into the tables.

mod readings;

use std::sync::mpsc::Sender;

use rusqlite::types::ToSqlOutput;
use rusqlite::{Connection, OptionalExtension, params};

use self::readings::{Line, Memo};
use super::fact::{self, Pinned, Whose};
use super::pending;
use super::seals::{Ink, Of, Seals};
use super::stored::{StoredReading, StoredRow};
use bench::row::Body;
use bench::{Row, Seq};

/// The number of a row in its database form.
pub(super) const fn int(seq: Seq) -> i64 {
    seq.0.cast_signed()
}

/// A number from the database as the number of a row.
pub(super) const fn seq(int: i64) -> Seq {
    Seq(int.cast_unsigned())
}

/// Writes rows inside an open transaction, keeping count of the feed.
pub(super) struct Pen<'a> {
    pub(super) conn: &'a Connection,
    /// The newest line of the feed.
    pub(super) feed: u64,
    /// What the readings of one series share, looked up once.
    memo: Memo<'a>,
    /// Whether verdicts and alerts appear in the feed of this bench.
    told: bool,
    /// The rows as they were written, for their seals.
    pub(super) ink: Ink,
    /// Where written rows are sent on the way, when there are many.
    beside: Option<Sender<Given<'a>>>,
}

type Written = rusqlite::Result<()>;

/// Written rows, on their way to their seals.
pub(super) enum Given<'r> {
    Ink(Ink),
    Lines(Vec<Line<'r>>),
}

impl Given<'_> {
    /// Adds them to the seals; `ink` is empty before and after.
    pub(super) fn seal(&self, seals: &mut Seals, ink: &mut Ink) {
        match self {
            Self::Ink(given) => seals.take(given),
            Self::Lines(lines) => {
                for line in lines {
                    line.sealed(ink);
                }
                seals.take(ink);
                ink.clear();
            }
        }
    }
}

pub(super) fn faulty(text: String) -> rusqlite::Error {
    rusqlite::Error::ToSqlConversionFailure(text.into())
}

impl<'a> Pen<'a> {
    /// A writer that continues after line `feed` of the feed; `told` says whether verdicts and alerts
    /// appear in the feed.
    pub(super) fn new(conn: &'a Connection, feed: u64, told: bool) -> Self {
        let (memo, ink, beside) = (Memo::default(), Ink::default(), None);
        Self { conn, feed, memo, told, ink, beside }
    }

    /// The same, which also sends the written rows to another thread.
    pub(super) fn giving(mut self, beside: Sender<Given<'a>>) -> Self {
        self.beside = Some(beside);
        self
    }

    /// Writes rows in order, consecutive readings many at a time.
    pub(super) fn rows(&mut self, rows: &'a [Row]) -> Written {
        let is_reading = |row: &Row| matches!(row.body, Body::Reading(_));
        for run in rows.chunk_by(|one, next| is_reading(one) && is_reading(next)) {
            match run {
                [row] => self.row(row, None)?,
                readings => self.readings(readings)?,
            }
        }
        Ok(())
    }

    /// Writes rows that are stored elsewhere already, as they are, in order.
    pub(super) fn stored(&mut self, rows: &'a [StoredRow]) -> Written {
        let is_reading = |row: &StoredRow| matches!(row, StoredRow::Reading(_));
        for run in rows.chunk_by(|one, next| is_reading(one) && is_reading(next)) {
            match run {
                [StoredRow::Fact(fact)] => self.fact(fact.columns())?,
                [StoredRow::Lost(loss)] => {
                    let sql =
                        "INSERT INTO lost (first, last, since, until) VALUES (?1, ?2, ?3, ?4)";
                    let values = [loss.first, loss.last, loss.since, loss.until];
                    self.conn.prepare_cached(sql)?.execute(values)?;
                }
                readings => {
                    let reading = |row: &'a StoredRow| match row {
                        StoredRow::Reading(reading) => Some(reading),
                        StoredRow::Fact(_) | StoredRow::Lost(_) => None,
                    };
                    let readings: Vec<&StoredReading> =
                        readings.iter().filter_map(reading).collect();
                    self.stored_readings(readings.into_iter())?;
                }
            }
        }
        Ok(())
    }

    /// Sends readings that were written to the thread that seals them.
    fn seal(&mut self, lines: Vec<Line<'a>>) {
        match &self.beside {
            // The send fails only if that thread died, which is reported when it is joined.
            Some(beside) => drop(beside.send(Given::Lines(lines))),
            None => {
                for line in &lines {
                    line.sealed(&mut self.ink);
                }
            }
        }
    }

    /// Writes one row. A boot of an imported job is stored with that job.
    pub(super) fn row(&mut self, row: &'a Row, along: Option<Seq>) -> Written {
        if let Body::Reading(reading) = &row.body {
            return self.reading(row, reading);
        }
        let (body, pinned) = fact::stored(&row.body).map_err(faulty)?;
        if let Some(pinned) = pinned {
            self.pin(&pinned)?;
        }
        let whose = Whose::of(row.seq, &row.body);
        let job = self.job_of(row, &whose)?.or(along);
        let line = (self.told && fact::is_told(&row.body)).then(|| {
            self.feed += 1;
            self.feed
        });
        self.fact(fact::Columns::of(row, &whose, (job, line), &body))?;
        if let Some(beside) = &self.beside {
            drop(beside.send(Given::Ink(std::mem::take(&mut self.ink))));
        }
        pending::follow(self.conn, row)
    }

    /// Writes the columns of a fact.
    fn fact(&mut self, columns: fact::Columns<'_>) -> Written {
        let sql = "INSERT INTO fact (seq, wall, mono, by_whom, job, attempt, about, key, line, kind, body)
            VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11)";
        let values = columns.values();
        let bound = values.map(ToSqlOutput::Borrowed);
        self.conn.prepare_cached(sql)?.execute(rusqlite::params_from_iter(bound))?;
        self.ink.row(Of::Fact, seq(columns.seq), values);
        Ok(())
    }

    /// The job of a fact. The facts it refers to must exist, and be of the right kind.
    fn job_of(&self, row: &Row, whose: &Whose<'_>) -> rusqlite::Result<Option<Seq>> {
        if let (Some(alert), Body::AlertSeen { .. } | Body::AlertCleared { .. }) =
            (whose.about, &row.body)
        {
            self.points_to(alert, "alert-raised")?;
        }
        if let Some(job) = whose.job.filter(|job| *job != row.seq) {
            self.points_to(job, "job-opened")?;
        }
        let Some(attempt) = whose.attempt else { return Ok(whose.job) };
        let of = self.points_to(attempt, "attempt-began")?;
        Ok(if whose.has_the_attempts_job() { of } else { whose.job })
    }

    /// The job of a fact that must exist.
    fn points_to(&self, row: Seq, kind: &str) -> rusqlite::Result<Option<Seq>> {
        let sql = "SELECT job FROM fact WHERE seq = ?1 AND kind = ?2";
        let mut statement = self.conn.prepare_cached(sql)?;
        let found =
            statement.query_row(params![int(row), kind], |row| row.get::<_, Option<i64>>(0));
        let missing = || faulty(format!("there is no fact {kind:?} with the number {row}"));
        Ok(found.optional()?.ok_or_else(missing)?.map(seq))
    }

    /// Stores a text once. A damaged text is corrected: its digest says what it was.
    fn pin(&self, Pinned { digest, text }: &Pinned) -> Written {
        let sql = "INSERT INTO pinned (digest, text) VALUES (?1, ?2) ON CONFLICT (digest)
            DO UPDATE SET text = ?2 WHERE CAST(text AS BLOB) <> CAST(?2 AS BLOB)";
        self.conn.prepare_cached(sql)?.execute(params![digest, text]).map(drop)
    }

    /// The id of a value in a table that has each value once.
    fn id(
        &self,
        find: &str,
        add: &str,
        values: impl rusqlite::Params + Copy,
    ) -> rusqlite::Result<i64> {
        let found =
            self.conn.prepare_cached(find)?.query_row(values, |row| row.get(0)).optional()?;
        match found {
            Some(id) => Ok(id),
            None => self.conn.prepare_cached(add)?.insert(values),
        }
    }
}
