//! Questions to the record, answered with names and places.

mod alerts;
mod around;
mod find;
mod jobs;
mod known;
mod metal;
mod place;
mod readings;
mod swept;
mod verdicts;

use rusqlite::params_from_iter;
use rusqlite::types::Value;

use super::read::Book;
use super::write::int;
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

/// The rows of a query, oldest first.
fn collect<T>(
    book: Book<'_>,
    (select, conditions): (&str, &Where),
    filter: &Filter,
    mut decode: impl FnMut(&rusqlite::Row<'_>) -> Found<T>,
) -> Found<Vec<T>> {
    let mut statement = book.conn.prepare_cached(&conditions.sql(select, filter))?;
    let mut rows = statement.query(params_from_iter(&conditions.values))?;
    let mut found = Vec::new();
    while let Some(row) = rows.next()? {
        found.push(decode(row)?);
    }
    if filter.first.is_none() {
        found.reverse();
    }
    Ok(found)
}
