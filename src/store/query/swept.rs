//! Where the samples of a swept turn lie.

use std::sync::Arc;

use super::super::read::{Book, damaged};
use super::super::step;
use super::super::write::{int, seq};
use super::Found;
use bench::Seq;
use bench::Taps;
use bench::row::Body;

/// The turns that were swept in an attempt, oldest first.
pub(super) fn turns(book: Book<'_>, job: Seq, attempt: Seq) -> Found<Vec<(Seq, Arc<Taps>)>> {
    let sql = "SELECT * FROM step
               WHERE job = ?1 AND attempt = ?2 AND kind = 'swept' ORDER BY seq";
    let mut statement = book.conn.prepare_cached(sql)?;
    let mut rows = statement.query([int(job), int(attempt)])?;
    let mut turns = Vec::new();
    while let Some(row) = rows.next()? {
        let id = seq(row.get("seq")?);
        let Body::Swept { taps, .. } = step::body_of(id, row)? else {
            return Err(damaged(id, "it is no turn".to_owned()));
        };
        turns.push((id, taps));
    }
    Ok(turns)
}
