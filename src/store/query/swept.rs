//! Where the samples of a swept turn lie.

use super::super::body;
use super::super::read::{Book, damaged, number};
use super::super::write::{int, seq};
use super::Found;
use bench::Seq;
use bench::sweep::Taps;

/// The turns that were swept in an attempt, oldest first.
pub(super) fn turns(book: Book<'_>, job: Seq, attempt: Seq) -> Found<Vec<(Seq, Taps)>> {
    let sql = "SELECT seq, number, text FROM step
               WHERE job = ?1 AND attempt = ?2 AND kind = 'swept' ORDER BY seq";
    let mut statement = book.conn.prepare_cached(sql)?;
    let mut rows = statement.query([int(job), int(attempt)])?;
    let mut turns = Vec::new();
    while let Some(row) = rows.next()? {
        let id = seq(row.get("seq")?);
        let samples = number(id, "samples", row.get("number")?)?;
        let text: String = row.get("text")?;
        let at_us = body::taps(&text).map_err(|what| damaged(id, format!("swept: {what}")))?;
        turns.push((id, Taps { at_us, samples }));
    }
    Ok(turns)
}
