//! Requests that were carried out, so that a repeated request is not carried out twice.
//!
//! The key of a request and a digest of its content are kept for ever; the reply is kept for
//! [`ANSWERS_KEPT_DAYS`]. So a key is still known when its reply is gone, and a jump of the clock does not
//! make a request be carried out again.

use std::collections::HashSet;

use rusqlite::{Connection, params};

use super::pieces::Pieces;
use super::read::SqlRow;
use super::write::seq;
use super::{Called, StoreError, read};
use bench::Seq;
use quantity::Wall;

/// How long replies are kept.
pub const ANSWERS_KEPT_DAYS: u32 = 30;

const DAY_US: i64 = 24 * 3600 * 1_000_000;
/// Replies that are too old are removed this many at each commit.
const SWEPT_A_COMMIT: i64 = 16;

/// Half of a BLAKE3 digest. Two that are equal by chance are not expected, and a person who may send
/// requests gains nothing by making two equal.
pub type Digest = [u8; 16];

fn half(hash: &blake3::Hash) -> Digest {
    let mut half = Digest::default();
    half.copy_from_slice(&hash.as_bytes()[..16]);
    half
}

/// The digest of a key, or of the content of a request.
#[must_use]
pub fn digest_of(text: &str) -> Digest {
    half(&blake3::hash(text.as_bytes()))
}

/// The reply to a request, kept so that the request is carried out only once.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Answer {
    /// The key that the client made.
    pub key: String,
    /// [`digest_of`] the content of the request.
    pub digest: Digest,
    /// When it was carried out.
    pub at: Wall,
    /// The line that was sent back.
    pub reply: String,
    /// The rows of the request and who asked, where it came from outside.
    pub called: Option<Called>,
}

/// What is known of a request that was carried out.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Answered {
    /// [`digest_of`] the content of the request.
    pub digest: Digest,
    /// When it was carried out.
    pub at: Wall,
    /// The line that was sent back, while it is kept.
    pub reply: Option<String>,
}

/// The sum that a reply is checked against before it is sent again.
fn sum_of(key: &Digest, digest: &Digest, (at, reply): (i64, &str)) -> Digest {
    let mut hash = blake3::Hasher::new();
    hash.update(key).update(digest).update(&at.to_le_bytes()).update(reply.as_bytes());
    half(&hash.finalize())
}

/// Keeps an answer; the first one of a key counts.
pub(super) fn keep(conn: &Connection, answer: &Answer) -> rusqlite::Result<()> {
    let Answer { key, digest, at, reply, called: _ } = answer;
    let (key, at) = (digest_of(key), at.micros());
    let sql = "INSERT INTO asked (key, digest, wall, answer)
        VALUES (?1, ?2, ?3, (SELECT coalesce(max(id), 0) + 1 FROM answer))
        ON CONFLICT (key) DO NOTHING";
    if conn.prepare_cached(sql)?.execute(params![key, digest, at])? == 0 {
        return Ok(());
    }
    let sum = sum_of(&key, digest, (at, reply));
    let sql = "INSERT INTO answer (id, wall, reply, sum)
        VALUES ((SELECT coalesce(max(id), 0) + 1 FROM answer), ?1, ?2, ?3)";
    conn.prepare_cached(sql)?.execute(params![at, reply, sum])?;
    Ok(())
}

/// Removes at most this many of the oldest replies, if they are too old, or too far in the future because a
/// clock was wrong. The newest one stays, so that no number is used twice.
pub(super) fn sweep(conn: &Connection, now: Wall, most: i64) -> rusqlite::Result<()> {
    let sql = "DELETE FROM answer WHERE wall NOT BETWEEN ?1 AND ?2
        AND id IN (SELECT id FROM answer ORDER BY id LIMIT ?3)
        AND id < (SELECT max(id) FROM answer)";
    let kept_us = i64::from(ANSWERS_KEPT_DAYS) * DAY_US;
    let [oldest, newest] = [now.micros() - kept_us, now.micros() + kept_us];
    conn.prepare_cached(sql)?.execute([oldest, newest, most]).map(drop)
}

/// The same, a few at a time.
pub(super) fn sweep_some(conn: &Connection, now: Wall) -> rusqlite::Result<()> {
    sweep(conn, now, SWEPT_A_COMMIT)
}

/// What is known of the request with a key.
pub(super) fn of_key(conn: &Connection, key: &str) -> Result<Option<Answered>, StoreError> {
    let sql = "SELECT a.key, a.digest, a.wall, a.answer, r.reply, r.sum
        FROM asked a LEFT JOIN answer r ON r.id = a.answer AND r.wall = a.wall WHERE a.key = ?1";
    let mut statement = conn.prepare_cached(sql)?;
    let mut rows = statement.query([digest_of(key)])?;
    rows.next()?.map(answered).transpose()
}

/// The content of a row, checked against its sum.
fn answered(row: &SqlRow<'_>) -> Result<Answered, StoreError> {
    let id = row.get("answer").map_or(Seq(0), seq);
    let read = || -> rusqlite::Result<_> {
        let (key, digest, wall): (Digest, Digest, i64) = (row.get(0)?, row.get(1)?, row.get(2)?);
        let (reply, sum): (Option<String>, Option<Digest>) = (row.get(4)?, row.get(5)?);
        Ok((key, digest, wall, reply, sum))
    };
    let (key, digest, wall, reply, sum) = read().map_err(|error| {
        let placed = read::placed_at(error.into(), id);
        if matches!(placed, StoreError::Damaged { .. }) { damaged(id) } else { placed }
    })?;
    let right = |reply: &String| sum == Some(sum_of(&key, &digest, (wall, reply)));
    if reply.as_ref().is_some_and(|reply| !right(reply)) {
        return Err(damaged(id));
    }
    Ok(Answered { digest, at: Wall::from_micros(wall), reply })
}

fn damaged(id: Seq) -> StoreError {
    let what = "it is not as it was stored; the request itself was carried out".to_owned();
    StoreError::DamagedIn { table: "answer", row: id, what }
}

/// Reports the answers that are not as they were stored; `None` stands for answers without a request.
/// Replies that are removed during the check are not reported, and new ones are left to the next check.
pub(super) fn verify(
    pieces: Pieces<'_>,
    mut found: impl FnMut(Option<Seq>),
) -> Result<(), StoreError> {
    let newest = "SELECT coalesce(max(id), 0) FROM answer";
    let newest: i64 =
        pieces.moment(|book| Ok(book.conn.query_row(newest, [], |row| row.get(0))?))?;
    let (mut seen, mut twice) = (HashSet::new(), false);
    let sql = "SELECT a.key, a.digest, a.wall, a.answer, r.reply, r.sum
        FROM asked a JOIN answer r ON r.id = a.answer AND r.wall = a.wall
        WHERE a.key >= ?1 AND (a.key < ?2 OR ?2 IS NULL)";
    // Digests are spread evenly, so the first byte divides them into equal pieces.
    pieces.each(0..=u8::MAX, |book, byte| {
        let first: &[u8] = if byte == 0 { &[] } else { &[byte] };
        let end = byte.checked_add(1).map(|next| vec![next]);
        let mut statement = book.conn.prepare_cached(sql)?;
        let mut rows = statement.query(params![first, end])?;
        while let Some(row) = rows.next()? {
            twice |= !seen.insert(row.get::<_, i64>("answer")?);
            match answered(row) {
                Err(StoreError::DamagedIn { row, .. }) => found(Some(row)),
                other => drop(other?),
            }
        }
        Ok(())
    })?;
    let sql = "SELECT id FROM answer WHERE id BETWEEN ?1 AND ?2 AND id > 0 AND id <= ?3";
    let mut of_none = twice;
    pieces.spans(("answer", "id"), |book, (first, last)| {
        let mut statement = book.conn.prepare_cached(sql)?;
        let ids = statement.query_map([first, last, newest], |row| row.get::<_, i64>(0))?;
        for id in ids {
            of_none |= !seen.contains(&id?);
        }
        Ok(())
    })?;
    if of_none {
        found(None);
    }
    Ok(())
}
