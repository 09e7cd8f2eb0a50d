//! Where the samples of a swept turn lie.

use std::sync::Arc;

use super::Found;
use super::jobs::steps;
use crate::read::Book;
use bench::Seq;
use bench::Taps;
use bench::row::Body;

/// The swept turns of an attempt, the oldest first.
pub(super) fn turns(book: Book<'_>, job: Seq, of: Seq) -> Found<Vec<(Seq, Arc<Taps>)>> {
    let turn = |row: bench::Row| {
        let Body::Swept { attempt, taps } = row.body else { return None };
        (attempt == of).then_some((row.seq, taps))
    };
    Ok(steps(book, job, "'swept'")?.into_iter().filter_map(turn).collect())
}
