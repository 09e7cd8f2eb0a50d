//! The feed: verdicts and changes of alerts, numbered without a gap.

use std::sync::Arc;

use rusqlite::{Connection, OptionalExtension};

use super::read::{self, Book};
use super::{FeedEvent, FeedRecord, StoreError, fact, query};
use bench::Row;
use bench::row::Body;
use quantity::Wall;

/// Which feed the numbers of lines belong to.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct FeedOrigin {
    /// Made with the record, and made new by every restore.
    pub name: String,
    /// The newest line that the record already had at that time.
    pub began: u64,
}

impl FeedOrigin {
    /// Reads the origin of a record; `None` where it is missing or damaged.
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
            // A value that is not text is not a name.
            Err(rusqlite::Error::FromSqlConversionFailure(..)) => Ok(None),
            other => other.map(Option::flatten),
        }
    }

    fn sum(&self) -> [u8; 32] {
        *blake3::hash(format!("{} {}", self.name, self.began).as_bytes()).as_bytes()
    }

    /// Begins another feed with the existing lines: programs that follow the feed before start again.
    pub(super) fn begin_anew(conn: &Connection) -> rusqlite::Result<()> {
        let sql = "SELECT lower(hex(randomblob(8))), coalesce(max(line), 0) FROM fact WHERE line IS NOT NULL";
        let origin = conn.query_row(sql, [], |row| {
            let began: i64 = row.get(1)?;
            Ok(Self { name: row.get(0)?, began: began.cast_unsigned() })
        })?;
        let sql =
            "INSERT OR REPLACE INTO feed_origin (id, name, began, sum) VALUES (1, ?1, ?2, ?3)";
        let values = rusqlite::params![origin.name, origin.began.cast_signed(), origin.sum()];
        conn.execute(sql, values).map(drop)
    }

    /// Reads the origin of a record; makes one where there is none.
    pub(super) fn made_sure(conn: &Connection) -> rusqlite::Result<Self> {
        if let Some(found) = Self::read(conn)? {
            return Ok(found);
        }
        Self::begin_anew(conn)?;
        Ok(Self::read(conn)?.unwrap_or_default())
    }
}

/// Which feed it is, and the number of its newest line.
pub(super) fn end(conn: &Connection) -> Result<(FeedOrigin, u64), StoreError> {
    let sql = "SELECT coalesce(max(line), 0) FROM fact WHERE line IS NOT NULL";
    let newest: i64 = conn.prepare_cached(sql)?.query_row([], |row| row.get(0))?;
    Ok((FeedOrigin::read(conn)?.unwrap_or_default(), newest.cast_unsigned()))
}

/// At most `limit` lines after line `since`.
pub(super) fn since(
    book: Book<'_>,
    since: u64,
    limit: usize,
) -> Result<Vec<FeedRecord>, StoreError> {
    let limit = i64::try_from(limit).unwrap_or(i64::MAX);
    let after = i64::try_from(since).unwrap_or(i64::MAX);
    let sql = "SELECT * FROM fact WHERE line > ?1 ORDER BY line LIMIT ?2";
    let mut statement = book.conn.prepare_cached(sql)?;
    let mut rows = statement.query([after, limit])?;
    let feed: Arc<str> = FeedOrigin::read(book.conn)?.unwrap_or_default().name.into();
    let (mut found, mut metals) = (Vec::new(), query::Metals::default());
    while let Some(row) = rows.next()? {
        let number = row.get::<_, i64>("line")?.cast_unsigned();
        let told = fact::row(book, row).and_then(|row| told(book, &row, &mut metals));
        let (at, event) = match told.map_err(|error| read::placed(error, row)) {
            Ok((at, event)) => (Some(at), event),
            Err(error) if error.passes() => return Err(error),
            // The line keeps its number, so that none is missing, and reports the damage.
            Err(error) => (None, FeedEvent::Damaged(book.named(error).to_string())),
        };
        found.push(FeedRecord { feed: Arc::clone(&feed), seq: number, at, event });
    }
    Ok(found)
}

/// The event in the line of a fact.
fn told(
    book: Book<'_>,
    row: &Row,
    metals: &mut query::Metals,
) -> Result<(Wall, FeedEvent), StoreError> {
    let missing = || read::damaged(row.seq, "nothing is there for its line of the feed");
    let alert = |id| query::alert_as_of(book, id, row.seq)?.map(Box::new).ok_or_else(missing);
    let event = if let Body::Verdict(_) = row.body {
        let record = query::verdict_then(book, row.seq, metals)?.ok_or_else(missing)?;
        FeedEvent::Verdict(Box::new(record))
    } else if let Body::AlertRaised(_) = row.body {
        FeedEvent::Raised(alert(row.seq)?)
    } else if let Body::AlertSeen { alert: id } = row.body {
        FeedEvent::Seen(alert(id)?)
    } else if let Body::AlertCleared { alert: id } = row.body {
        FeedEvent::Cleared(alert(id)?)
    } else {
        return Err(missing());
    };
    Ok((row.at.wall, event))
}
