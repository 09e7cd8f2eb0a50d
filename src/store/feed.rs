//! The feed: verdicts and news of alerts, numbered without a gap.

use rusqlite::OptionalExtension;

use super::read::Book;
use super::write::seq;
use super::{FeedEvent, FeedRecord, StoreError, query};
use crate::bench::Seq;
use crate::quantity::Wall;

/// At most `limit` lines after line `since`.
pub(super) fn since(
    book: Book<'_>,
    since: u64,
    limit: usize,
) -> Result<Vec<FeedRecord>, StoreError> {
    let limit = i64::try_from(limit).unwrap_or(i64::MAX);
    let after = i64::try_from(since).unwrap_or(i64::MAX);
    let sql = "SELECT seq, kind, row FROM feed WHERE seq > ?1 ORDER BY seq LIMIT ?2";
    let mut statement = book.conn.prepare_cached(sql)?;
    let mut rows = statement.query([after, limit])?;
    let (mut found, mut metals) = (Vec::new(), query::Metals::default());
    while let Some(row) = rows.next()? {
        let number: i64 = row.get(0)?;
        let kind: String = row.get(1)?;
        let of = (kind.as_str(), seq(row.get(2)?));
        let number = number.cast_unsigned();
        found.push(match line(book, number, of, &mut metals) {
            Ok(record) => record,
            Err(error) if error.passes() => return Err(error),
            // The line keeps its number, so that none is missing, and says what it is.
            Err(error) => FeedRecord {
                seq: number,
                at: None,
                event: FeedEvent::Damaged(book.named(error).to_string()),
            },
        });
    }
    Ok(found)
}

fn line(
    book: Book<'_>,
    number: u64,
    (kind, row): (&str, Seq),
    metals: &mut query::Metals,
) -> Result<FeedRecord, StoreError> {
    let missing = || StoreError::Damaged {
        row,
        what: format!("nothing is there for line {number} of the feed, {kind:?}"),
    };
    if kind == "verdict" {
        let record = query::verdict_then(book, row, metals)?.ok_or_else(missing)?;
        return Ok(FeedRecord {
            seq: number,
            at: Some(record.at),
            event: FeedEvent::Verdict(Box::new(record)),
        });
    }
    let alert = if kind == "raised" { row } else { alert_of(book, row)?.ok_or_else(missing)? };
    let record = Box::new(query::alert_as_of(book, alert, row)?.ok_or_else(missing)?);
    let (at, event) = match kind {
        "raised" => (record.at, FeedEvent::Raised(record)),
        "seen" => (at(book, row)?, FeedEvent::Seen(record)),
        "cleared" => (at(book, row)?, FeedEvent::Cleared(record)),
        _ => return Err(missing()),
    };
    Ok(FeedRecord { seq: number, at: Some(at), event })
}

fn alert_of(book: Book<'_>, step: Seq) -> Result<Option<Seq>, StoreError> {
    let sql = "SELECT alert FROM alert_step WHERE seq = ?1";
    let mut statement = book.conn.prepare_cached(sql)?;
    let alert = statement.query_row([super::write::int(step)], |row| row.get(0)).optional()?;
    Ok(alert.map(seq))
}

fn at(book: Book<'_>, step: Seq) -> Result<Wall, StoreError> {
    let mut statement = book.conn.prepare_cached("SELECT wall FROM alert_step WHERE seq = ?1")?;
    Ok(statement.query_row([super::write::int(step)], |row| row.get(0)).map(Wall::from_micros)?)
}
