//! Alerts.

use std::sync::Arc;

use super::find::Scope;
use super::{Found, Where, by_number, collect, known, other_than};
use crate::read::Book;
use crate::write::int;
use crate::{AlertRecord, AlertStage, Filter, caller, fact};
use bench::row::{Alert, Body, Subject};
use bench::{Row, Seq};
use quantity::Name;

/// Whether it came with a job from another bench: nobody here has to do anything about it.
const CAME_ALONG: &str = "coalesce((SELECT r.last FROM import_run r WHERE r.first <= ?1
    ORDER BY r.first DESC LIMIT 1), 0) >= ?1";

const IS_PENDING: &str =
    "EXISTS (SELECT 1 FROM pending p WHERE p.kind = 'alert-raised' AND p.fact = t.seq)";

/// Alerts, oldest first, cleared ones included.
pub(crate) fn alerts(book: Book<'_>, filter: &Filter) -> Found<Vec<AlertRecord>> {
    let mut sought = Where::default();
    sought.plain("t.kind = 'alert-raised'");
    let scope = Scope::of(book, filter)?;
    scope.narrow_jobs("t.job", &mut sought);
    if let Some(gauge) = &filter.gauge {
        let gauge = Name::new(gauge).map(|gauge| fact::subject_text(&Subject::Gauge(gauge)));
        sought.and("t.key = ?", gauge.unwrap_or_default());
    }
    match filter.stage {
        None => {}
        Some(AlertStage::Cleared) => sought.plain(format!("NOT {IS_PENDING}")),
        Some(_) => sought.plain("t.seq IN (SELECT fact FROM pending WHERE kind = 'alert-raised')"),
    }
    sought.times("t.wall", filter);
    sought.page(filter);
    let is_sought = |alert: &Alert| {
        filter.level.is_none_or(|level| alert.level >= level)
            && filter.kind.is_none_or(|kind| alert.kind == kind)
    };
    collect(book, &sought, filter, |row| {
        let Body::AlertRaised(alert) = &row.body else { return Err(other_than(&row, "alert")) };
        if !is_sought(alert) || !scope.has(book, alert.attempt)? {
            return Ok(None);
        }
        let record = record(book, row.seq, (&row, alert), Seq(i64::MAX.cast_unsigned()))?;
        Ok(filter.stage.is_none_or(|stage| record.stage() == stage).then_some(record))
    })
}

/// One alert as it was when a row of the record was written.
pub(crate) fn alert_as_of(book: Book<'_>, id: Seq, then: Seq) -> Found<Option<AlertRecord>> {
    let mut sought = Where::default();
    sought.and("t.seq = ?", int(id));
    let found = collect(book, &sought, &by_number(), |row| {
        let Body::AlertRaised(alert) = &row.body else { return Err(other_than(&row, "alert")) };
        record(book, row.seq, (&row, alert), then).map(Some)
    });
    Ok(found?.pop())
}

/// An alert with the moments at which it was first seen and cleared, according to the rows up to one.
fn record(
    book: Book<'_>,
    id: Seq,
    (row, alert): (&Row, &Arc<Alert>),
    then: Seq,
) -> Found<AlertRecord> {
    let mut record = AlertRecord {
        id,
        at: row.at.wall,
        place: known::place(book, alert.job, alert.attempt)?,
        cleared_at: None,
        acked_at: None,
        acked_by: None,
        acked_caller: None,
        came_along: {
            let mut along = book.conn.prepare_cached(&format!("SELECT {CAME_ALONG}"))?;
            along.query_row([int(id)], |row| row.get(0))?
        },
        alert: Arc::clone(alert),
    };
    let steps = "about = ?1 AND seq <= ?2 AND kind IN ('alert-seen', 'alert-cleared') ORDER BY seq";
    for step in book.facts(steps, [int(id), int(then)])? {
        if let Body::AlertCleared { .. } = step.body {
            record.cleared_at.get_or_insert(step.at.wall);
        } else if record.acked_at.is_none() {
            (record.acked_at, record.acked_by) = (Some(step.at.wall), step.by);
            record.acked_caller = caller::of_row(book.conn, step.seq)?;
        }
    }
    Ok(record)
}
