//! The feed: verdicts and news of alerts, numbered without a gap.

use std::sync::Arc;

use rusqlite::{Connection, OptionalExtension};

use super::read::Book;
use super::write::seq;
use super::{FeedEvent, FeedRecord, StoreError, query};
use bench::Seq;
use quantity::Wall;

/// Which feed the numbers of lines belong to.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct FeedOrigin {
    /// Made with the record, and anew by every restore.
    pub name: String,
    /// The newest line that the record already had then.
    pub began: u64,
}

impl FeedOrigin {
    /// The one of a record; `None` where it is missing or damaged.
    pub(super) fn read(conn: &Connection) -> rusqlite::Result<Option<Self>> {
        let sql = "SELECT name, began, sum FROM feed_origin WHERE id = 1 AND typeof(name) = 'text'
            AND length(name) > 0 AND typeof(began) = 'integer' AND typeof(sum) = 'blob'";
        let mut statement = conn.prepare_cached(sql)?;
        let found = statement.query_row([], |row| {
            let began: i64 = row.get(1)?;
            let found = Self { name: row.get(0)?, began: began.cast_unsigned() };
            Ok((row.get::<_, Vec<u8>>(2)? == found.sum()).then_some(found))
        });
        match found.optional() {
            // A text that is none is no name.
            Err(rusqlite::Error::FromSqlConversionFailure(..)) => Ok(None),
            other => other.map(Option::flatten),
        }
    }

    fn sum(&self) -> [u8; 32] {
        *blake3::hash(format!("{} {}", self.name, self.began).as_bytes()).as_bytes()
    }

    /// Begins another feed with the lines that are there: whoever follows the one before starts
    /// anew.
    pub(super) fn begin_anew(conn: &Connection) -> rusqlite::Result<()> {
        let sql = "SELECT lower(hex(randomblob(8))), coalesce(max(seq), 0) FROM feed";
        let origin = conn.query_row(sql, [], |row| {
            let began: i64 = row.get(1)?;
            Ok(Self { name: row.get(0)?, began: began.cast_unsigned() })
        })?;
        let sql =
            "INSERT OR REPLACE INTO feed_origin (id, name, began, sum) VALUES (1, ?1, ?2, ?3)";
        let values = rusqlite::params![origin.name, origin.began.cast_signed(), origin.sum()];
        conn.execute(sql, values).map(drop)
    }

    /// The one of a record, which gets one where it has none.
    pub(super) fn made_sure(conn: &Connection) -> rusqlite::Result<Self> {
        if let Some(found) = Self::read(conn)? {
            return Ok(found);
        }
        Self::begin_anew(conn)?;
        Ok(Self::read(conn)?.unwrap_or_default())
    }
}

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
    let feed: Arc<str> = FeedOrigin::read(book.conn)?.unwrap_or_default().name.into();
    let (mut found, mut metals) = (Vec::new(), query::Metals::default());
    while let Some(row) = rows.next()? {
        let number: i64 = row.get(0)?;
        let kind: String = row.get(1)?;
        let of = (kind.as_str(), seq(row.get(2)?));
        let number = number.cast_unsigned();
        found.push(match line(book, number, of, &mut metals) {
            Ok((at, event)) => {
                FeedRecord { feed: Arc::clone(&feed), seq: number, at: Some(at), event }
            }
            Err(error) if error.passes() => return Err(error),
            // The line keeps its number, so that none is missing, and says what it is.
            Err(error) => FeedRecord {
                feed: Arc::clone(&feed),
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
) -> Result<(Wall, FeedEvent), StoreError> {
    let missing = || StoreError::Damaged {
        row,
        what: format!("nothing is there for line {number} of the feed, {kind:?}"),
    };
    if kind == "verdict" {
        let record = query::verdict_then(book, row, metals)?.ok_or_else(missing)?;
        return Ok((record.at, FeedEvent::Verdict(Box::new(record))));
    }
    let alert = if kind == "raised" { row } else { alert_of(book, row)?.ok_or_else(missing)? };
    let record = Box::new(query::alert_as_of(book, alert, row)?.ok_or_else(missing)?);
    Ok(match kind {
        "raised" => (record.at, FeedEvent::Raised(record)),
        "seen" => (at(book, row)?, FeedEvent::Seen(record)),
        "cleared" => (at(book, row)?, FeedEvent::Cleared(record)),
        _ => return Err(missing()),
    })
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
