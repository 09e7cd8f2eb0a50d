//! An attempt with the names of its job, part and check.

use std::sync::Arc;

use super::{Found, known, other_than};
use crate::compact::Times;
use crate::read::{Book, damaged};
use crate::write::int;
use crate::{CheckPlace, Place};
use bench::plan::Check;
use bench::row::{AttemptBegan, Body, JobOpened};
use bench::{Row, Seq};
use quantity::Name;

/// An attempt with the names of its job, part and check.
pub(super) struct Around {
    pub(super) job: Arc<JobOpened>,
    pub(super) part: Name,
    pub(super) check: Name,
    pub(super) began: AttemptBegan,
    /// When it began: the times of its readings count from there.
    pub(super) at: Times,
}

impl Around {
    fn of(book: Book<'_>, row: Row) -> Found<Self> {
        let Body::AttemptBegan(began) = row.body else { return Err(other_than(&row, "attempt")) };
        let job = known::job(book, began.job)?;
        let found = job.plan.plan.at(began.check);
        let (part, check) = found.ok_or_else(|| not_in_plan(row.seq))?;
        let (part, check) = (part.name.clone(), check.name.clone());
        Ok(Self { job, part, check, began, at: Times::of(row.at) })
    }

    /// The check as in the plan.
    pub(super) fn check(&self, attempt: Seq) -> Found<&Check> {
        let found = self.job.plan.plan.at(self.began.check);
        found.map(|(_, check)| check).ok_or_else(|| not_in_plan(attempt))
    }

    /// The place of something in this attempt.
    pub(super) fn place(&self, attempt: Seq) -> Place {
        let (part, check) = (self.part.clone(), self.check.clone());
        let check = CheckPlace { part, check, attempt, number: self.began.number };
        Place { job: self.job.name.clone(), check: Some(check) }
    }
}

fn not_in_plan(attempt: Seq) -> crate::StoreError {
    damaged(attempt, "its check is not in the plan of its job")
}

/// One attempt.
pub(super) fn of_attempt(book: Book<'_>, attempt: Seq) -> Found<Around> {
    Around::of(book, book.fact(attempt)?)
}

/// Every attempt of a job.
pub(super) fn of_job(book: Book<'_>, job: Seq, mut each: impl FnMut(Seq, Around)) -> Found<()> {
    for row in book.facts("job = ?1 AND kind = 'attempt-began'", [int(job)])? {
        each(row.seq, Around::of(book, row)?);
    }
    Ok(())
}
