//! An attempt with the names around it.

use std::sync::Arc;

use super::Found;
use crate::compact::Times;
use crate::read::{self, Book, SqlRow};
use crate::write::{int, seq};
use crate::{CheckPlace, Place, StoreError};
use bench::Seq;
use bench::plan::{Check, CheckAt, Part, PinnedPlan};
use bench::row::{AttemptReason, Pin};
use quantity::Name;

/// An attempt with the names around it.
pub(super) struct Around {
    pub(super) job: Name,
    pub(super) part: Name,
    pub(super) check: Name,
    plan: Arc<PinnedPlan>,
    at: CheckAt,
    pub(super) number: u32,
    pub(super) reason: AttemptReason,
    pub(super) pin: Arc<Pin>,
    pub(super) remark: Option<String>,
    /// When it began: readings count from there.
    pub(super) began: Times,
}

impl Around {
    /// The check as the plan has it.
    pub(super) fn check(&self, attempt: Seq) -> Found<&Check> {
        in_plan(&self.plan, self.at, attempt).map(|(_, check)| check)
    }

    /// Where something of this attempt belongs.
    pub(super) fn place(&self, attempt: Seq) -> Place {
        let (part, check) = (self.part.clone(), self.check.clone());
        let check = CheckPlace { part, check, attempt, number: self.number };
        Place { job: self.job.clone(), check: Some(check) }
    }
}

fn in_plan(plan: &PinnedPlan, at: CheckAt, attempt: Seq) -> Found<(&Part, &Check)> {
    plan.plan.at(at).ok_or_else(|| StoreError::Damaged {
        row: attempt,
        what: "its check is not in the plan of its job".to_owned(),
    })
}

const ATTEMPTS: &str = "SELECT a.seq, a.wall, a.mono, a.job, a.part, a.chk, a.number, a.reason,
    a.pin, j.name, j.plan, r.text FROM attempt a
    JOIN job j ON j.seq = a.job LEFT JOIN attempt_remark r ON r.attempt = a.seq";

/// One attempt.
pub(super) fn of_attempt(book: Book<'_>, attempt: Seq) -> Found<Around> {
    let mut statement = book.conn.prepare_cached(&format!("{ATTEMPTS} WHERE a.seq = ?1"))?;
    let mut rows = statement.query([int(attempt)])?;
    let missing = || StoreError::Damaged {
        row: attempt,
        what: "the attempt with this number is missing".to_owned(),
    };
    around(book, rows.next()?.ok_or_else(missing)?)
}

/// Every attempt of a job.
pub(super) fn of_job(book: Book<'_>, job: Seq, mut each: impl FnMut(Seq, Around)) -> Found<()> {
    let mut statement = book.conn.prepare_cached(&format!("{ATTEMPTS} WHERE a.job = ?1"))?;
    let mut rows = statement.query([int(job)])?;
    while let Some(row) = rows.next()? {
        each(seq(row.get(0)?), around(book, row)?);
    }
    Ok(())
}

fn around(book: Book<'_>, row: &SqlRow<'_>) -> Found<Around> {
    let attempt = seq(row.get(0)?);
    let (reason, job): (String, String) = (row.get(7)?, row.get(9)?);
    let plan = book.plan(seq(row.get(3)?), row.get(10)?)?;
    let at = CheckAt { part: row.get(4)?, check: row.get(5)? };
    let (part, check) = in_plan(&plan, at, attempt)?;
    Ok(Around {
        job: read::name(attempt, &job)?,
        part: part.name.clone(),
        check: check.name.clone(),
        at,
        number: row.get(6)?,
        reason: read::known(attempt, "reason", &reason, AttemptReason::parse(&reason))?,
        pin: book.pin(attempt, row.get(8)?)?,
        remark: row.get(11)?,
        began: Times::from_columns(row.get(1)?, row.get(2)?),
        plan,
    })
}
