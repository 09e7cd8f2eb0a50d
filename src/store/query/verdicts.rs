//! Verdicts.

use std::sync::Arc;

use super::find::{Scope, list_of};
use super::metal::Metals;
use super::{Found, Where, by_number, collect, known};
use crate::read::{self, Book, SqlRow};
use crate::write::{int, seq};
use crate::{Filter, VerdictRecord, caller};
use bench::Seq;
use quantity::Wall;

const VERDICTS: &str = "SELECT t.*, t.job AS job_seq, (SELECT max(n.seq) FROM verdict n
    WHERE n.attempt = t.attempt AND n.seq > t.seq) AS superseded_by FROM verdict t";

/// Verdicts, oldest first; without `all` only the standing one of each attempt.
pub(crate) fn verdicts(book: Book<'_>, filter: &Filter) -> Found<Vec<VerdictRecord>> {
    let mut sought = Where::default();
    Scope::of(book, filter)?.narrow(&mut sought);
    if let Some(gauge) = &filter.gauge {
        let of_gauge = "(SELECT p.gauge FROM attempt a JOIN pin p ON p.id = a.pin
            WHERE a.seq = t.attempt) = ?";
        sought.and(of_gauge, gauge.clone());
    }
    if let Some(word) = filter.word {
        sought.and("t.word = ?", word.text().to_owned());
    }
    if !filter.all {
        sought.plain("t.seq = (SELECT max(n.seq) FROM verdict n WHERE n.attempt = t.attempt)");
    }
    sought.times("t.wall", filter);
    sought.page(filter);
    let mut metals = Metals::default();
    collect(book, (VERDICTS, &sought), filter, |row| record(book, row, &mut metals, None))
}

/// One verdict by its number, as it stood when it was given.
pub(crate) fn verdict_then(
    book: Book<'_>,
    id: Seq,
    metals: &mut Metals,
) -> Found<Option<VerdictRecord>> {
    let mut sought = Where::default();
    sought.and("t.seq = ?", int(id));
    let then = Some(id);
    let found =
        collect(book, (VERDICTS, &sought), &by_number(), |row| record(book, row, metals, then));
    Ok(found?.pop())
}

/// How many verdicts on some attempts are superseded.
pub(crate) fn superseded(book: Book<'_>, attempts: &[Seq]) -> Found<usize> {
    let sql = "SELECT count(*) FROM verdict t
        WHERE t.attempt IN (SELECT value FROM json_each(?1)) AND t.seq < (
            SELECT max(n.seq) FROM verdict n WHERE n.attempt = t.attempt)";
    let mut statement = book.conn.prepare_cached(sql)?;
    let count: i64 = statement.query_row([list_of(attempts)], |row| row.get(0))?;
    Ok(usize::try_from(count).unwrap_or_default())
}

/// A verdict as it stands now, or `then`.
fn record(
    book: Book<'_>,
    row: &SqlRow<'_>,
    metals: &mut Metals,
    then: Option<Seq>,
) -> Found<VerdictRecord> {
    let verdict = Arc::new(read::verdict(row)?);
    let around = known::attempt(book, verdict.attempt)?;
    let check = around.check(verdict.attempt)?;
    let newer = row.get::<_, Option<i64>>("superseded_by")?.map(seq);
    let superseded_by = newer.filter(|newer| then.is_none_or(|then| *newer <= then));
    let of = (seq(row.get("job")?), verdict.attempt);
    let then = then.unwrap_or(Seq(u64::MAX));
    let standing = metals.standing(book, of, superseded_by.is_some(), then)?;
    let (verdict_id, attempt) = (seq(row.get("seq")?), verdict.attempt);
    Ok(VerdictRecord {
        id: verdict_id,
        at: Wall::from_micros(row.get("wall")?),
        by: read::by_whom(verdict_id, row)?,
        job: around.job.clone(),
        part: around.part.clone(),
        check: around.check.clone(),
        attempt: around.number,
        reason: around.reason,
        measures: check.traits(),
        setup: check.setup,
        gauge: around.pin.gauge.as_ref().map(|gauge| gauge.name.clone()),
        down: check.down.clone(),
        remark: around.remark.clone(),
        good: check.measures.asks().map_or_else(Vec::new, |asks| asks.good),
        verdict,
        superseded_by,
        caller: caller::of_row(book.conn, verdict_id)?,
        began_caller: caller::of_row(book.conn, attempt)?,
        standing,
    })
}
