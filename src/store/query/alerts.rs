//! Alerts.

use std::collections::BTreeMap;
use std::sync::Arc;

use super::find::{Scope, list_of};
use super::{Found, Where, collect, known};
use crate::bench::Seq;
use crate::bench::row::Level;
use crate::quantity::Wall;
use crate::store::read::{self, Book, SqlRow};
use crate::store::write::{int, seq};
use crate::store::{AlertRecord, AlertStage, Filter};

/// Whether it came with a job from elsewhere: there is nothing to see to here.
const CAME_ALONG: &str = "coalesce((SELECT r.last FROM import_run r WHERE r.first <= t.seq
    ORDER BY r.first DESC LIMIT 1), 0) >= t.seq";

/// Alerts, oldest first, cleared ones included.
pub(in crate::store) fn alerts(book: Book<'_>, filter: &Filter) -> Found<Vec<AlertRecord>> {
    let mut sought = Where::default();
    Scope::of(book, filter)?.narrow(&mut sought);
    if let Some(gauge) = &filter.gauge {
        sought.and("t.about = ?", gauge.clone());
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
    format!("SELECT t.*, {CAME_ALONG} AS came_along FROM alert t")
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
pub(in crate::store) fn alert_as_of(
    book: Book<'_>,
    id: Seq,
    row: Seq,
) -> Found<Option<AlertRecord>> {
    let mut sought = Where::default();
    sought.and("t.seq = ?", int(id));
    let filter = Filter::default();
    let mut found = collect(book, (&select(), &sought), &filter, |row| record(book, row))?;
    steps(book, Some(row), &mut found)?;
    Ok(found.pop())
}

fn record(book: Book<'_>, row: &SqlRow<'_>) -> Found<AlertRecord> {
    let alert = Arc::new(read::alert(row)?);
    Ok(AlertRecord {
        id: seq(row.get("seq")?),
        at: Wall::from_micros(row.get("wall")?),
        place: known::place(book, alert.job, alert.attempt)?,
        cleared_at: None,
        acked_at: None,
        came_along: row.get("came_along")?,
        alert,
    })
}

/// Adds the moments at which alerts were first seen and cleared, as far as rows up to one number
/// say.
fn steps(book: Book<'_>, as_of: Option<Seq>, found: &mut [AlertRecord]) -> Found<()> {
    let ids: Vec<Seq> = found.iter().map(|alert| alert.id).collect();
    let mut first: BTreeMap<(Seq, bool), Wall> = BTreeMap::new();
    let sql = "SELECT s.alert, s.what = 'cleared', s.wall FROM alert_step s
               WHERE s.alert IN (SELECT value FROM json_each(?1)) AND s.seq <= ?2 ORDER BY s.seq";
    let mut statement = book.conn.prepare_cached(sql)?;
    let mut rows = statement.query((list_of(&ids), as_of.map_or(i64::MAX, int)))?;
    while let Some(row) = rows.next()? {
        let wall = Wall::from_micros(row.get(2)?);
        first.entry((seq(row.get(0)?), row.get(1)?)).or_insert(wall);
    }
    for alert in found {
        alert.acked_at = first.get(&(alert.id, false)).copied();
        alert.cleared_at = first.get(&(alert.id, true)).copied();
    }
    Ok(())
}
