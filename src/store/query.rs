//! Questions to the record, answered with names and places.

mod alerts;
mod around;
mod find;
mod jobs;
mod known;
mod metal;
mod readings;
mod swept;
mod verdicts;

use rusqlite::params_from_iter;
use rusqlite::types::Value;

use super::read::{self, Book};
use super::write::{int, seq};
use super::{Filter, StoreError};

pub(super) use self::alerts::{alert_as_of, alerts};
pub(super) use self::find::job_id;
pub(super) use self::jobs::{job, jobs};
pub(super) use self::known::Known;
pub(super) use self::metal::Metals;
pub(super) use self::readings::readings;
pub(super) use self::verdicts::{superseded, verdict_then, verdicts};

type Found<T> = Result<T, StoreError>;

/// Conditions of a query, with their values in order.
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

    /// The page: rows are found by their number, never counted from an end.
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

    /// The whole query, from the end that a limit keeps.
    fn sql(&self, select: &str, filter: &Filter) -> String {
        let all = self.text();
        let (order, limit) = match (filter.first, filter.last) {
            (Some(first), _) => ("ASC", Some(first)),
            (None, last) => ("DESC", last),
        };
        let limit = limit.map_or_else(String::new, |limit| format!(" LIMIT {limit}"));
        format!("{select} WHERE {all} ORDER BY t.seq {order}{limit}")
    }
}

/// The filter of what is asked for by its number: it is whole, or it is an error.
fn by_number() -> Filter {
    Filter { job: Some(String::new()), ..Filter::default() }
}

/// The rows of a query, oldest first. An answer about several jobs leaves out what is damaged, and
/// that is told; one about a job that was named is whole or none.
fn collect<T>(
    book: Book<'_>,
    (select, conditions): (&str, &Where),
    filter: &Filter,
    mut decode: impl FnMut(&rusqlite::Row<'_>) -> Found<T>,
) -> Found<Vec<T>> {
    let whole_or_none = filter.job.is_some();
    // As many rows more are looked at as were left out: a limit is one of what is shown.
    let mut more = 0;
    loop {
        let filter = &filter.with_room(more);
        let mut statement = book.conn.prepare_cached(&conditions.sql(select, filter))?;
        let mut rows = statement.query(params_from_iter(&conditions.values))?;
        let (mut found, mut left_out) = (Vec::new(), 0);
        while let Some(row) = rows.next()? {
            match decode(row).map_err(|error| read::placed(error, row)) {
                Ok(one) => found.push(one),
                Err(error) if whole_or_none => return Err(error),
                Err(error) => {
                    let job = row.get::<_, Option<i64>>("job_seq").ok().flatten();
                    book.leave_out(job.map(seq), error)?;
                    left_out += 1;
                }
            }
        }
        let limit = filter.first.or(filter.last);
        let full = limit.is_some_and(|limit| found.len() + left_out >= limit);
        if left_out > more && full {
            more = left_out;
            continue;
        }
        if filter.first.is_none() {
            found.reverse();
        }
        return Ok(found);
    }
}
