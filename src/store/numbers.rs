//! The numbers that rows had where they came from.
//!
//! A bench counts all its rows in one series, so rows from elsewhere get new numbers, without a gap
//! and in the same order. What they were stands beside them in runs, so that a job is handed on
//! with the numbers it first had, whatever bench it has been on.

use std::sync::Arc;

use rusqlite::params;

use super::read::{Book, Read};
use super::write::{int, seq};
use bench::row::{Alert, AttemptBegan, Body, Reading, Source};
use bench::verdict::Verdict;
use bench::{Row, Seq};

/// Rows whose numbers are as far from the ones they had as the first of them.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Run {
    pub(super) first: Seq,
    pub(super) last: Seq,
    pub(super) was: Seq,
}

/// What the numbers of one job's rows were where the job was opened.
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

    /// Numbers without a gap from `next` on for rows with these.
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

    /// The last run that begins no later than a row here.
    fn before(&self, row: Seq) -> Option<&Run> {
        let at = self.0.partition_point(|run| run.first <= row);
        self.0.get(at.checked_sub(1)?)
    }

    /// Whether a row came from elsewhere.
    pub(super) fn came_along(&self, row: Seq) -> bool {
        self.before(row).is_some_and(|run| row <= run.last)
    }

    /// The number a row had where it came from. What was added here counts on from there.
    #[must_use]
    pub fn was(&self, row: Seq) -> Seq {
        self.before(row).map_or(row, |run| Seq(run.was.0.wrapping_add(row.0 - run.first.0)))
    }

    /// The number of a row here, by the one it had.
    pub(super) fn now(&self, was: Seq) -> Option<Seq> {
        let at = self.0.partition_point(|run| run.was <= was);
        let run = self.0.get(at.checked_sub(1)?)?;
        let now = Seq(run.first.0.checked_add(was.0 - run.was.0)?);
        (now <= run.last).then_some(now)
    }
}

/// A row with other numbers, its own and those it points to; `None` where one of them has none.
pub(super) fn renumbered(row: &Row, new: &impl Fn(Seq) -> Option<Seq>) -> Option<Row> {
    let maybe = |old: Option<Seq>| match old {
        Some(old) => new(old).map(Some),
        None => Some(None),
    };
    let body = match &row.body {
        Body::JobClosed { job } => Body::JobClosed { job: new(*job)? },
        Body::JobReopened { job, restored } => {
            Body::JobReopened { job: new(*job)?, restored: Arc::clone(restored) }
        }
        Body::AttemptBegan(began) => {
            Body::AttemptBegan(AttemptBegan { job: new(began.job)?, ..began.clone() })
        }
        Body::AttemptEnded { attempt, ending } => {
            Body::AttemptEnded { attempt: new(*attempt)?, ending: *ending }
        }
        Body::Reading(reading) => {
            let source = match reading.source {
                Source::Drop { file, line } => Source::Drop { file: new(file)?, line },
                Source::Serial | Source::Keyed => reading.source,
            };
            let (job, attempt) = (maybe(reading.job)?, maybe(reading.attempt)?);
            Body::Reading(Reading { job, attempt, source, ..reading.clone() })
        }
        Body::Marked { reading, attempt, state, why } => Body::Marked {
            reading: new(*reading)?,
            attempt: new(*attempt)?,
            state: *state,
            why: why.clone(),
        },
        Body::Skipped { attempt, .. }
        | Body::Asked { attempt, .. }
        | Body::MasterNext { attempt }
        | Body::Answered { attempt, .. }
        | Body::Seated { attempt, .. }
        | Body::TurnUnderWay { attempt, .. }
        | Body::Swept { attempt, .. } => of_attempt(&row.body, new(*attempt)?),
        Body::StackPlaced { job, .. }
        | Body::StackTaken { job, .. }
        | Body::WentOn { job, .. }
        | Body::PartReplaced { job, .. } => of_assembly(&row.body, new(*job)?),
        Body::Verdict(verdict) => Body::Verdict(Arc::new(of_verdict(verdict, new)?)),
        Body::AlertRaised(alert) => {
            let (job, attempt) = (maybe(alert.job)?, maybe(alert.attempt)?);
            Body::AlertRaised(Arc::new(Alert { job, attempt, ..alert.as_ref().clone() }))
        }
        Body::AlertSeen { alert } => Body::AlertSeen { alert: new(*alert)? },
        Body::AlertCleared { alert } => Body::AlertCleared { alert: new(*alert)? },
        Body::RuleChanged { job, rule, why } => {
            Body::RuleChanged { job: new(*job)?, rule: *rule, why: why.clone() }
        }
        Body::Checked { job } => Body::Checked { job: new(*job)? },
        Body::Noted { job, text } => Body::Noted { job: new(*job)?, text: text.clone() },
        Body::JobActive { station, job } => {
            Body::JobActive { station: station.clone(), job: maybe(*job)? }
        }
        Body::CheckActive { station, attempt } => {
            Body::CheckActive { station: station.clone(), attempt: maybe(*attempt)? }
        }
        Body::Started { .. }
        | Body::JobOpened(_)
        | Body::PersonAt { .. }
        | Body::FileTaken(_)
        | Body::FileRefused(_) => row.body.clone(),
    };
    Some(Row { seq: new(row.seq)?, at: row.at, by: row.by.clone(), body })
}

/// A verdict with other numbers of attempts.
fn of_verdict(verdict: &Verdict, new: &impl Fn(Seq) -> Option<Seq>) -> Option<Verdict> {
    let mut verdict = verdict.clone();
    let answers = verdict.answers.iter_mut().map(|answered| &mut answered.attempt);
    let attempts = verdict.combined.iter_mut().chain(answers).chain([&mut verdict.attempt]);
    for attempt in attempts {
        *attempt = new(*attempt)?;
    }
    Some(verdict)
}

/// A row that names no other row but its attempt, of an attempt with another number.
fn of_attempt(body: &Body, attempt: Seq) -> Body {
    let mut body = body.clone();
    if let Body::Skipped { attempt: old, .. }
    | Body::Asked { attempt: old, .. }
    | Body::MasterNext { attempt: old }
    | Body::Answered { attempt: old, .. }
    | Body::Seated { attempt: old, .. }
    | Body::TurnUnderWay { attempt: old, .. }
    | Body::Swept { attempt: old, .. } = &mut body
    {
        *old = attempt;
    }
    body
}

/// A row of the stack or of a new part, of a job with another number.
fn of_assembly(body: &Body, job: Seq) -> Body {
    let mut body = body.clone();
    if let Body::StackPlaced { job: old, .. }
    | Body::StackTaken { job: old, .. }
    | Body::WentOn { job: old, .. }
    | Body::PartReplaced { job: old, .. } = &mut body
    {
        *old = job;
    }
    body
}

/// Writes down that a job came from elsewhere, and the numbers it had.
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

/// Jobs of which it is not any more as it was written down where they came from.
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
