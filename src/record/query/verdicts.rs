//! Verdicts.

use std::sync::Arc;

use super::find::{Scope, list_of};
use super::metal::Metals;
use super::{Found, Where, by_number, collect, known, other_than};
use crate::read::Book;
use crate::write::{int, seq};
use crate::{Filter, VerdictRecord, caller};
use bench::row::Body;
use bench::{Row, Seq};

/// The newest verdict on the attempt of `t`.
const NEWEST: &str =
    "(SELECT max(n.seq) FROM fact n WHERE n.kind = 'verdict' AND n.attempt = t.attempt)";

/// Verdicts, oldest first; without `all` only the standing one of each attempt.
pub(crate) fn verdicts(book: Book<'_>, filter: &Filter) -> Found<Vec<VerdictRecord>> {
    let mut sought = Where::default();
    sought.plain("t.kind = 'verdict'");
    let scope = Scope::of(book, filter)?;
    scope.narrow_jobs("t.job", &mut sought);
    if let Some(gauge) = &filter.gauge {
        let of_gauge = "(SELECT a.key FROM fact a WHERE a.seq = t.attempt) = ?";
        sought.and(of_gauge, gauge.clone());
    }
    if let Some(word) = filter.word {
        sought.and("t.key = ?", word.text().to_owned());
    }
    if !filter.all {
        sought.plain(format!("t.seq = {NEWEST}"));
    }
    sought.times("t.wall", filter);
    sought.page(filter);
    let mut metals = Metals::default();
    collect(book, &sought, filter, |row| {
        if !scope.has(book, row_attempt(&row))? {
            return Ok(None);
        }
        record(book, row, &mut metals, None).map(Some)
    })
}

/// One verdict by its number, as it stood when it was given.
pub(crate) fn verdict_then(
    book: Book<'_>,
    id: Seq,
    metals: &mut Metals,
) -> Found<Option<VerdictRecord>> {
    let mut sought = Where::default();
    sought.and("t.seq = ?", int(id));
    let found =
        collect(book, &sought, &by_number(), |row| record(book, row, metals, Some(id)).map(Some));
    Ok(found?.pop())
}

/// One verdict by its number, as it stands now; `None` where no verdict has that number.
pub(crate) fn verdict(book: Book<'_>, id: Seq) -> Found<Option<VerdictRecord>> {
    let mut sought = Where::default();
    sought.plain("t.kind = 'verdict'");
    sought.and("t.seq = ?", int(id));
    let metals = &mut Metals::default();
    let found =
        collect(book, &sought, &by_number(), |row| record(book, row, metals, None).map(Some));
    Ok(found?.pop())
}

/// How many verdicts on some attempts are superseded.
pub(crate) fn superseded(book: Book<'_>, attempts: &[Seq]) -> Found<usize> {
    let sql = format!(
        "SELECT count(*) FROM fact t WHERE t.kind = 'verdict'
         AND t.attempt IN (SELECT value FROM json_each(?1)) AND t.seq < {NEWEST}"
    );
    let mut statement = book.conn.prepare_cached(&sql)?;
    let count: i64 = statement.query_row([list_of(attempts)], |row| row.get(0))?;
    Ok(usize::try_from(count).unwrap_or_default())
}

fn row_attempt(row: &Row) -> Option<Seq> {
    if let Body::Verdict(verdict) = &row.body { Some(verdict.attempt) } else { None }
}

/// The next verdict on an attempt, or the newest where there are several.
fn newer(book: Book<'_>, attempt: Seq, id: Seq) -> Found<Option<Seq>> {
    let sql = "SELECT max(seq) FROM fact WHERE kind = 'verdict' AND attempt = ?1 AND seq > ?2";
    let mut statement = book.conn.prepare_cached(sql)?;
    let newer: Option<i64> = statement.query_row([int(attempt), int(id)], |row| row.get(0))?;
    Ok(newer.map(seq))
}

/// A verdict as it stands now, or `then`.
fn record(
    book: Book<'_>,
    row: Row,
    metals: &mut Metals,
    then: Option<Seq>,
) -> Found<VerdictRecord> {
    let Body::Verdict(verdict) = &row.body else { return Err(other_than(&row, "verdict")) };
    let (id, attempt, verdict) = (row.seq, verdict.attempt, Arc::clone(verdict));
    let around = known::attempt(book, attempt)?;
    let check = around.check(attempt)?;
    let newer = newer(book, attempt, id)?;
    let superseded_by = newer.filter(|newer| then.is_none_or(|then| *newer <= then));
    let then = then.unwrap_or(Seq(u64::MAX));
    let of = (around.began.job, attempt);
    let standing = metals.standing(book, of, superseded_by.is_some(), then)?;
    Ok(VerdictRecord {
        id,
        at: row.at.wall,
        by: row.by,
        job: around.job.name.clone(),
        part: around.part.clone(),
        check: around.check.clone(),
        attempt: around.began.number,
        reason: around.began.reason,
        measures: check.traits(),
        setup: check.setup,
        gauge: around.began.pin.gauge.as_ref().map(|gauge| gauge.name.clone()),
        down: check.down.clone(),
        remark: around.began.remark.clone(),
        good: check.measures.asks().map_or_else(Vec::new, |asks| asks.good),
        verdict,
        superseded_by,
        caller: caller::of_row(book.conn, id)?,
        began_caller: caller::of_row(book.conn, attempt)?,
        standing,
    })
}
