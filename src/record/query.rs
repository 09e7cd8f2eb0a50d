//! Questions to the record, answered with names and places.

mod alerts;
mod around;
mod card;
mod find;
mod jobs;
mod known;
mod metal;
mod papers;
mod readings;
mod shop;
mod swept;
mod verdicts;

use rusqlite::params_from_iter;
use rusqlite::types::Value;

use super::fact;
use super::read::{self, Book};
use super::write::{int, seq};
use super::{Filter, StoreError};
use bench::Row;

pub(super) use self::alerts::{alert_as_of, alerts};
pub(super) use self::find::job_id;
pub(super) use self::jobs::{job, jobs};
pub(super) use self::known::Known;
pub(super) use self::metal::Metals;
pub use self::papers::{AttachmentRecord, TakenBack};
pub(super) use self::readings::readings;
pub use self::shop::RegisterRow;
pub(super) use self::shop::{proofs, register};
pub(super) use self::verdicts::{superseded, verdict, verdict_then, verdicts};

type Found<T> = Result<T, StoreError>;

/// The conditions of a query, with their values in order.
#[derive(Default)]
struct Where {
    conditions: Vec<String>,
    values: Vec<Value>,
}

impl Where {
    /// Adds a condition that holds one `?`.
    fn and(&mut self, condition: &str, value: impl Into<Value>) {
        self.conditions.push(condition.to_owned());
        self.values.push(value.into());
    }

    /// Adds a condition without a value.
    fn plain(&mut self, condition: impl Into<String>) {
        self.conditions.push(condition.into());
    }

    fn times(&mut self, wall: &str, filter: &Filter) {
        if let Some(since) = filter.since {
            self.and(&format!("{wall} >= ?"), since.micros());
        }
        if let Some(until) = filter.until {
            self.and(&format!("{wall} < ?"), until.micros());
        }
    }

    /// The limits of the page: rows are found by their number, never counted from an end.
    fn page(&mut self, filter: &Filter) {
        if let Some(after) = filter.after {
            self.and("t.seq > ?", int(after));
        }
        if let Some(before) = filter.before {
            self.and("t.seq < ?", int(before));
        }
    }

    fn text(&self) -> String {
        if self.conditions.is_empty() { "1".to_owned() } else { self.conditions.join(" AND ") }
    }

    /// The whole query for facts, in the direction of the end that a limit keeps.
    fn sql(&self, filter: &Filter) -> String {
        let order = if filter.first.is_some() { "ASC" } else { "DESC" };
        format!("SELECT t.* FROM fact t WHERE {} ORDER BY t.seq {order}", self.text())
    }
}

/// The filter of a request by number: the answer is complete, or it is an error.
fn by_number() -> Filter {
    Filter { job: Some(String::new()), ..Filter::default() }
}

/// The facts of a query, the oldest first, for which `decode` returns something. An answer about several
/// jobs leaves damaged ones out and reports them; one about a named job is complete or an error.
fn collect<T>(
    book: Book<'_>,
    conditions: &Where,
    filter: &Filter,
    mut decode: impl FnMut(Row) -> Found<Option<T>>,
) -> Found<Vec<T>> {
    let limit = filter.first.or(filter.last).unwrap_or(usize::MAX);
    let mut statement = book.conn.prepare_cached(&conditions.sql(filter))?;
    let mut rows = statement.query(params_from_iter(&conditions.values))?;
    let mut found = Vec::new();
    while found.len() < limit
        && let Some(row) = rows.next()?
    {
        let decoded = fact::row(book, row).and_then(&mut decode);
        match decoded.map_err(|error| read::placed(error, row)) {
            Ok(one) => found.extend(one),
            Err(error) if filter.job.is_some() => return Err(error),
            Err(error) => {
                let job = row.get::<_, Option<i64>>("job").ok().flatten();
                book.leave_out(job.map(seq), error)?;
            }
        }
    }
    if filter.first.is_none() {
        found.reverse();
    }
    Ok(found)
}

fn other_than(row: &Row, what: &str) -> StoreError {
    read::damaged(row.seq, format!("it is no {what}"))
}
