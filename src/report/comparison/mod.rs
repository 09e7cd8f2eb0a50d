//! Jobs side by side: each characteristic as every job found it first and as it left it, and whether a
//! change in between is larger than the measurement explains.
//!
//! Nothing is guessed. A change within the uncertainties "cannot be told", and a figure of another piece is
//! marked so.

pub(super) mod chain;
mod line;
pub(super) mod model;
pub(super) mod text;

use ::record::JobRecord;
use quantity::Unit;
use wire::ComparisonLine;

use self::model::Model;
use super::page::JobFacts;
use super::table::Table;

/// Jobs side by side.
#[derive(Debug)]
pub struct Comparison<'a> {
    model: Model<'a>,
    unit: Unit,
}

impl<'a> Comparison<'a> {
    /// Compares jobs, the oldest first, in the unit people see. `others` are jobs of the same spindle that
    /// are not compared: a part may have been replaced in one of them.
    #[must_use]
    pub fn of(jobs: &'a [JobFacts], others: &'a [JobRecord], unit: Unit) -> Self {
        Self { model: Model::of(jobs.iter().collect(), others), unit }
    }

    /// The published line.
    #[must_use]
    pub fn line(&self) -> ComparisonLine {
        line::line(&self.model, self.unit)
    }

    /// A row for each characteristic in each job.
    #[must_use]
    pub fn table(&self) -> Table {
        text::table(&self.model, self.unit)
    }

    /// A row for each round of each characteristic in each job.
    #[must_use]
    pub fn rounds(&self) -> Table {
        text::rounds(&self.model, self.unit)
    }

    /// What a person must know beside the table: differences of plans, limits or kinds of check.
    #[must_use]
    pub fn remarks(&self) -> Vec<String> {
        text::remarks(&self.model, self.unit)
    }

    /// Whether no two of the jobs measure anything of the same name.
    #[must_use]
    pub fn nothing_in_common(&self) -> bool {
        let several = |jobs: &[Option<model::InJob>]| jobs.iter().flatten().count() > 1;
        !self.model.characteristics.iter().any(|one| several(&one.jobs))
    }

    /// Jobs of the same spindle in between that are not compared, oldest first.
    pub fn others(&self) -> impl Iterator<Item = &'a JobRecord> + '_ {
        self.model.others.iter().copied()
    }

    /// Whether all jobs are of one spindle; `None` where a job names none.
    #[must_use]
    pub fn same_spindle(&self) -> Option<bool> {
        self.model.same_spindle()
    }
}
