//! Rows into tables.

mod readings;

use rusqlite::{Connection, OptionalExtension, params};

use self::readings::Memo;
use super::step::Step;
use super::{body, compact};
use bench::row::{Alert, AttemptBegan, Body, FileSeen, JobOpened};
use bench::verdict::Verdict;
use bench::{Row, Seq};
use quantity::Name;

/// The number of a row as the database keeps it.
pub(super) const fn int(seq: Seq) -> i64 {
    seq.0.cast_signed()
}

/// A number of the database as the number of a row.
pub(super) const fn seq(int: i64) -> Seq {
    Seq(int.cast_unsigned())
}

/// Writes rows inside an open transaction, keeping count of the feed.
pub(super) struct Pen<'a> {
    pub(super) conn: &'a Connection,
    /// The newest line of the feed.
    pub(super) feed: u64,
    /// What the readings of one series have in common, looked up once.
    memo: Memo<'a>,
    /// Whether verdicts and alerts are news of this bench.
    told: bool,
}

type Written = rusqlite::Result<()>;

/// Who did it, as the database keeps it.
fn by(row: &Row) -> Option<&str> {
    row.by.as_ref().map(Name::as_str)
}

pub(super) fn faulty(text: body::Faulty) -> rusqlite::Error {
    rusqlite::Error::ToSqlConversionFailure(text.into())
}

impl<'a> Pen<'a> {
    /// One that goes on after line `feed` of the feed; `told`: whether verdicts and alerts are news of
    /// this bench.
    pub(super) fn new(conn: &'a Connection, feed: u64, told: bool) -> Self {
        Self { conn, feed, memo: Memo::default(), told }
    }

    /// Writes rows in their order, readings that follow each other many at a time.
    pub(super) fn rows(&mut self, rows: &[Row]) -> Written {
        let is_reading = |row: &Row| matches!(row.body, Body::Reading(_));
        rows.chunk_by(|one, next| is_reading(one) && is_reading(next)).try_for_each(|run| match run
        {
            [row] => self.row(row),
            readings => self.readings(readings),
        })
    }

    /// Writes one row.
    pub(super) fn row(&mut self, row: &Row) -> Written {
        match &row.body {
            Body::JobOpened(opened) => self.job(row, opened),
            Body::JobClosed { job } => {
                self.plain_step(row, None)?;
                self.job_pointer(*job, Some(row.seq))
            }
            Body::JobReopened { job } => {
                self.plain_step(row, None)?;
                self.job_pointer(*job, None)
            }
            Body::AttemptBegan(began) => self.attempt(row, began),
            Body::Reading(reading) => self.reading(row, reading),
            Body::Marked { .. } => self.mark(row),
            Body::Verdict(verdict) => {
                self.verdict(row, verdict)?;
                self.feed("verdict", row.seq)
            }
            Body::AlertRaised(alert) => {
                self.alert(row, alert)?;
                self.feed("raised", row.seq)
            }
            Body::AlertSeen { alert } => {
                self.alert_step(row, *alert, "seen")?;
                self.feed("seen", row.seq)
            }
            Body::AlertCleared { alert } => {
                self.alert_step(row, *alert, "cleared")?;
                self.alert_pointer(*alert, row.seq)?;
                self.feed("cleared", row.seq)
            }
            Body::FileTaken(seen) => self.file(row, seen, true),
            Body::FileRefused(seen) => self.file(row, seen, false),
            Body::Started { .. }
            | Body::JobActive { .. }
            | Body::CheckActive { .. }
            | Body::AttemptEnded { .. }
            | Body::Skipped { .. }
            | Body::Asked { .. }
            | Body::MasterNext { .. }
            | Body::Seated { .. }
            | Body::TurnUnderWay { .. }
            | Body::Swept { .. }
            | Body::Answered { .. }
            | Body::StackPlaced { .. }
            | Body::StackTaken { .. }
            | Body::PartReplaced { .. }
            | Body::PersonAt { .. }
            | Body::Checked { .. }
            | Body::RuleChanged { .. }
            | Body::WentOn { .. }
            | Body::Noted { .. } => self.plain_step(row, None),
        }
    }

    fn run(&self, sql: &str, values: impl rusqlite::Params) -> Written {
        self.conn.prepare_cached(sql)?.execute(values).map(drop)
    }

    /// The id of a value in a table where each value stands once.
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

    fn job(&self, row: &Row, opened: &JobOpened) -> Written {
        let text = &opened.plan.text;
        let digest = blake3::hash(text.as_bytes());
        // One that is damaged is not taken for this one: it has the digest and another text.
        let find = "SELECT id FROM plan WHERE digest = ?1 AND text = ?2";
        let found = self
            .conn
            .prepare_cached(find)?
            .query_row(params![digest.as_bytes(), text], |row| row.get(0));
        let plan: i64 = match found.optional()? {
            Some(id) => id,
            None => self
                .conn
                .prepare_cached("INSERT INTO plan (digest, text) VALUES (?1, ?2)")?
                .insert(params![digest.as_bytes(), text])?,
        };
        self.run(
            "INSERT INTO job
             (seq, wall, mono, name, plan_name, plan, serial, customer, by_whom, rule, short)
             VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10,
             (SELECT coalesce(max(short), 0) + 1 FROM
             (SELECT max(short) AS short FROM job WHERE short < 1 << 53
             UNION ALL SELECT max(short) FROM reading WHERE short < 1 << 53)))",
            params![
                int(row.seq),
                row.at.wall.micros(),
                row.at.mono_us.cast_signed(),
                opened.name.as_str(),
                opened.plan_name.as_str(),
                plan,
                opened.serial,
                opened.customer,
                by(row),
                opened.rule.text(),
            ],
        )
    }

    fn job_pointer(&self, job: Seq, closed_by: Option<Seq>) -> Written {
        self.run(
            "UPDATE job SET closed_by = ?2 WHERE seq = ?1",
            params![int(job), closed_by.map(int)],
        )
    }

    fn attempt(&self, row: &Row, began: &AttemptBegan) -> Written {
        let text = body::pin_text(&began.pin).map_err(faulty)?;
        let pin = self.id(
            "SELECT id FROM pin WHERE body = ?2 AND gauge = ?1",
            "INSERT INTO pin (gauge, body) VALUES (?1, ?2)",
            [began.pin.gauge.as_ref().map_or("", |gauge| gauge.name.as_str()), text.as_str()],
        )?;
        self.run(
            "INSERT INTO attempt (seq, wall, mono, job, part, chk, number, reason, pin, grinds, by_whom)
             VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11)",
            params![
                int(row.seq),
                row.at.wall.micros(),
                row.at.mono_us.cast_signed(),
                int(began.job),
                began.check.part,
                began.check.check,
                began.number,
                began.reason.text(),
                pin,
                began.grinds,
                by(row),
            ],
        )?;
        let Some(remark) = &began.remark else { return Ok(()) };
        self.run(
            "INSERT INTO attempt_remark (attempt, text) VALUES (?1, ?2)",
            params![int(row.seq), remark],
        )
    }

    fn job_of(&self, attempt: Seq) -> rusqlite::Result<i64> {
        self.conn
            .prepare_cached("SELECT job FROM attempt WHERE seq = ?1")?
            .query_row([int(attempt)], |row| row.get(0))
    }

    fn mark(&self, row: &Row) -> Written {
        let Body::Marked { reading, attempt, state, why } = &row.body else { return Ok(()) };
        self.run(
            "INSERT INTO mark (seq, wall, mono, job, attempt, reading, state, why, by_whom)
             VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9)",
            params![
                int(row.seq),
                row.at.wall.micros(),
                row.at.mono_us.cast_signed(),
                self.job_of(*attempt)?,
                int(*attempt),
                int(*reading),
                compact::state_code(*state),
                why,
                by(row),
            ],
        )
    }

    fn verdict(&self, row: &Row, verdict: &Verdict) -> Written {
        self.run(
            "INSERT INTO verdict (seq, wall, mono, job, attempt, word, body, by_whom)
             VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8)",
            params![
                int(row.seq),
                row.at.wall.micros(),
                row.at.mono_us.cast_signed(),
                self.job_of(verdict.attempt)?,
                int(verdict.attempt),
                verdict.word.text(),
                body::verdict_text(verdict).map_err(faulty)?,
                by(row),
            ],
        )
    }

    fn alert(&self, row: &Row, alert: &Alert) -> Written {
        self.run(
            "INSERT INTO alert (seq, wall, mono, level, kind, job, attempt, about, position, text, by_whom)
             VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11)",
            params![
                int(row.seq),
                row.at.wall.micros(),
                row.at.mono_us.cast_signed(),
                alert.level.text(),
                alert.kind.text(),
                alert.job.map(int),
                alert.attempt.map(int),
                alert.about.as_ref().map(body::subject_text),
                alert.position,
                alert.text,
                by(row),
            ],
        )
    }

    fn alert_step(&self, row: &Row, alert: Seq, what: &str) -> Written {
        self.run(
            "INSERT INTO alert_step (seq, wall, mono, alert, what, by_whom) VALUES (?1, ?2, ?3, ?4, ?5, ?6)",
            params![
                int(row.seq),
                row.at.wall.micros(),
                row.at.mono_us.cast_signed(),
                int(alert),
                what,
                by(row),
            ],
        )
    }

    fn alert_pointer(&self, alert: Seq, cleared_by: Seq) -> Written {
        self.run(
            "UPDATE alert SET cleared_by = coalesce(cleared_by, ?2) WHERE seq = ?1",
            params![int(alert), int(cleared_by)],
        )
    }

    fn file(&self, row: &Row, seen: &FileSeen, taken: bool) -> Written {
        self.run(
            "INSERT INTO file (seq, wall, mono, taken, drop_name, name, digest, bytes, lines, series,
                               went, why, by_whom)
             VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12, ?13)",
            params![
                int(row.seq),
                row.at.wall.micros(),
                row.at.mono_us.cast_signed(),
                taken,
                seen.drop.as_str(),
                seen.name,
                seen.digest,
                seen.bytes.cast_signed(),
                seen.rows,
                seen.series,
                seen.went,
                seen.why,
                by(row),
            ],
        )
    }

    fn feed(&mut self, kind: &str, row: Seq) -> Written {
        if !self.told {
            return Ok(());
        }
        self.feed += 1;
        self.run(
            "INSERT INTO feed (seq, kind, row) VALUES (?1, ?2, ?3)",
            params![self.feed.cast_signed(), kind, int(row)],
        )
    }

    /// A fact without a table of its own; a boot that came along with a job has that job.
    pub(super) fn plain_step(&self, row: &Row, along: Option<Seq>) -> Written {
        let Step { kind, of, body } = Step::of(&row.body).map_err(faulty)?;
        // What a station has on its screen says nothing of the job.
        let job = match of.attempt.filter(|_| of.station.is_none()) {
            Some(attempt) => Some(seq(self.job_of(attempt)?)),
            None => of.job.or(along),
        };
        self.run(
            "INSERT INTO step (seq, wall, mono, kind, station, job, attempt, body, by_whom)
             VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9)",
            params![
                int(row.seq),
                row.at.wall.micros(),
                row.at.mono_us.cast_signed(),
                kind,
                of.station.map(Name::as_str),
                job.map(int),
                of.attempt.map(int),
                body,
                by(row),
            ],
        )
    }
}
