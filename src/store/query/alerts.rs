//! Alerts.

use std::sync::Arc;

use super::find::{Scope, list_of};
use super::{Found, Where, by_number, collect, known};
use crate::read::{self, Book, SqlRow};
use crate::write::{int, seq};
use crate::{AlertRecord, AlertStage, Filter, body, caller};
use bench::Seq;
use bench::row::{Level, Subject};
use quantity::{Name, Wall};

const ALERTS: &str = "SELECT t.seq, t.wall, t.level, t.kind, t.job, t.attempt, t.about, t.position, t.text, t.job AS job_seq";

/// Whether it came with a job from elsewhere: there is nothing to see to here.
const CAME_ALONG: &str = "coalesce((SELECT r.last FROM import_run r WHERE r.first <= t.seq
    ORDER BY r.first DESC LIMIT 1), 0) >= t.seq";

/// Alerts, oldest first, cleared ones included.
pub(crate) fn alerts(book: Book<'_>, filter: &Filter) -> Found<Vec<AlertRecord>> {
    let mut sought = Where::default();
    Scope::of(book, filter)?.narrow(&mut sought);
    if let Some(gauge) = &filter.gauge {
        let gauge = Name::new(gauge).map(|gauge| body::subject_text(&Subject::Gauge(gauge)));
        sought.and("t.about = ?", gauge.unwrap_or_default());
    }
    if let Some(level) = filter.level {
        sought.plain(format!("t.level IN ({})", this_or_louder(level)));
    }
    if let Some(kind) = filter.kind {
        sought.and("t.kind = ?", kind.text().to_owned());
    }
    match filter.stage {
        None => {}
        Some(AlertStage::Cleared) => sought.plain("t.cleared_by IS NOT NULL"),
        Some(AlertStage::Seen) => sought.plain(format!("t.cleared_by IS NULL AND {}", seen())),
        Some(AlertStage::Open) => sought.plain(format!("t.cleared_by IS NULL AND NOT {}", seen())),
    }
    sought.times("t.wall", filter);
    sought.page(filter);
    let mut found = collect(book, (&select(), &sought), filter, |row| record(book, row))?;
    steps(book, None, &mut found)?;
    Ok(found)
}

fn select() -> String {
    format!("{ALERTS}, {CAME_ALONG} AS came_along FROM alert t")
}

fn seen() -> String {
    let step = "EXISTS (SELECT 1 FROM alert_step s WHERE s.alert = t.seq AND s.what = 'seen')";
    format!("({step} OR {CAME_ALONG})")
}

fn this_or_louder(level: Level) -> String {
    let all = [Level::Log, Level::Note, Level::Interrupt];
    let words = all.into_iter().filter(|one| *one >= level).map(|one| format!("'{}'", one.text()));
    words.collect::<Vec<_>>().join(", ")
}

/// One alert as it was when a row of the record was written.
pub(crate) fn alert_as_of(book: Book<'_>, id: Seq, row: Seq) -> Found<Option<AlertRecord>> {
    let mut sought = Where::default();
    sought.and("t.seq = ?", int(id));
    let mut found = collect(book, (&select(), &sought), &by_number(), |row| record(book, row))?;
    steps(book, Some(row), &mut found)?;
    Ok(found.pop())
}

fn record(book: Book<'_>, row: &SqlRow<'_>) -> Found<AlertRecord> {
    let id = seq(row.get(0)?);
    let alert = Arc::new(read::alert(row)?);
    Ok(AlertRecord {
        id,
        at: Wall::from_micros(row.get(1)?),
        place: known::place(book, alert.job, alert.attempt)?,
        cleared_at: None,
        acked_at: None,
        acked_by: None,
        acked_caller: None,
        came_along: row.get("came_along")?,
        alert,
    })
}

/// What happened to alerts: the alert, whether it was cleared, the moment, who did it, the row.
type Step = (Seq, bool, Wall, Option<Name>, Seq);

/// Adds the moments at which alerts were first seen and cleared, as far as rows up to one number
/// say.
fn steps(book: Book<'_>, as_of: Option<Seq>, found: &mut [AlertRecord]) -> Found<()> {
    let Some(oldest) = found.first().map(|alert| alert.id) else { return Ok(()) };
    let as_of = as_of.map_or(i64::MAX, int);
    let steps = match steps_since(book, oldest, as_of, found.len())? {
        Some(steps) => steps,
        None => steps_of(book, found, as_of)?,
    };
    for (id, cleared, wall, by, step) in steps {
        let Ok(at) = found.binary_search_by_key(&id, |alert| alert.id) else { continue };
        let alert = &mut found[at];
        if cleared {
            alert.cleared_at.get_or_insert(wall);
        } else if alert.acked_at.is_none() {
            (alert.acked_at, alert.acked_by) = (Some(wall), by);
            alert.acked_caller = caller::of_row(book.conn, step)?;
        }
    }
    Ok(())
}

/// Everything that happened since the oldest of the alerts, unless that is far more than them.
fn steps_since(book: Book<'_>, oldest: Seq, as_of: i64, alerts: usize) -> Found<Option<Vec<Step>>> {
    let most = 4 * alerts;
    let sql = "SELECT alert, what = 'cleared', wall, seq, by_whom FROM alert_step
               WHERE seq > ?1 AND seq <= ?2 ORDER BY seq LIMIT ?3";
    let mut statement = book.conn.prepare_cached(sql)?;
    let limit = i64::try_from(most + 1).unwrap_or(i64::MAX);
    let mut rows = statement.query([int(oldest), as_of, limit])?;
    let mut found = Vec::new();
    while let Some(row) = rows.next()? {
        found.push(step(row)?);
    }
    Ok((found.len() <= most).then_some(found))
}

/// What happened to each of the alerts.
fn steps_of(book: Book<'_>, alerts: &[AlertRecord], as_of: i64) -> Found<Vec<Step>> {
    let ids: Vec<Seq> = alerts.iter().map(|alert| alert.id).collect();
    let sql = "SELECT s.alert, s.what = 'cleared', s.wall, s.seq, s.by_whom FROM alert_step s
               WHERE s.alert IN (SELECT value FROM json_each(?1)) AND s.seq <= ?2 ORDER BY s.seq";
    let mut statement = book.conn.prepare_cached(sql)?;
    let mut rows = statement.query((list_of(&ids), as_of))?;
    let mut found = Vec::new();
    while let Some(row) = rows.next()? {
        found.push(step(row)?);
    }
    Ok(found)
}

fn step(row: &SqlRow<'_>) -> Found<Step> {
    let step = seq(row.get(3)?);
    let by = read::by_whom(step, row)?;
    Ok((seq(row.get(0)?), row.get(1)?, Wall::from_micros(row.get(2)?), by, step))
}
