//! How the metal of jobs changed, for what verdicts are worth now. It grows with the record, so it is
//! read anew for every question.

use std::collections::BTreeMap;
use std::collections::btree_map::Entry;
use std::sync::Arc;

use super::Found;
use super::jobs::{Told, steps};
use crate::read::Book;
use crate::write::{int, seq};
use bench::OnShaft;
use bench::metal::Go;
use bench::plan::CheckAt;
use bench::row::{Body, Ending, Stage};
use bench::{Metal, Seq, Standing};

/// What was read of jobs while one question is answered.
#[derive(Default)]
pub(crate) struct Metals {
    jobs: BTreeMap<Seq, Metal>,
}

impl Metals {
    /// What the newest verdict on an attempt is worth, or an earlier one was at a row.
    pub(super) fn standing(
        &mut self,
        book: Book<'_>,
        (job, attempt): (Seq, Seq),
        newer: bool,
        then: Seq,
    ) -> Found<Standing> {
        let metal = match self.jobs.entry(job) {
            Entry::Occupied(known) => known.into_mut(),
            Entry::Vacant(unknown) => unknown.insert(of_job(book, job)?),
        };
        Ok(metal.standing(attempt, newer, then))
    }
}

fn of_job(book: Book<'_>, job: Seq) -> Found<Metal> {
    let plan: i64 = book
        .conn
        .prepare_cached("SELECT plan FROM job WHERE seq = ?1")?
        .query_row([int(job)], |row| row.get(0))?;
    let plan = Arc::clone(&book.plan(job, plan)?);
    let mut metal =
        Metal { plan, goes: goes(book, job)?, shaft: Vec::new(), replaced: BTreeMap::new() };
    for Told { id, body, .. } in
        steps(book, job, "'attempt-ended', 'stack-placed', 'stack-taken', 'part-replaced'")?
    {
        take(&mut metal, id, &body);
    }
    let changes = !metal.shaft.is_empty() || metal.goes.iter().any(|go| go.grinds);
    if changes {
        let touched = first_touches(book, job)?;
        for go in &mut metal.goes {
            go.since = touched.get(&go.id).copied();
        }
    }
    Ok(metal)
}

/// Every attempt; as long as no metal changed it does not matter when it was touched.
fn goes(book: Book<'_>, job: Seq) -> Found<Vec<Go>> {
    let sql = "SELECT seq, part, chk, grinds FROM attempt WHERE job = ?1 ORDER BY seq";
    let mut statement = book.conn.prepare_cached(sql)?;
    let goes = statement.query_map([int(job)], |row| {
        let id = seq(row.get(0)?);
        let at = CheckAt { part: row.get(1)?, check: row.get(2)? };
        Ok(Go { id, at, grinds: row.get(3)?, since: Some(id), whole: false })
    })?;
    Ok(goes.collect::<Result<_, _>>()?)
}

fn take(metal: &mut Metal, id: Seq, body: &Body) {
    if let Body::AttemptEnded { attempt, ending } = body {
        if let Ok(found) = metal.goes.binary_search_by_key(attempt, |go| go.id) {
            metal.goes[found].whole = *ending == Ending::Complete;
        }
    } else if let Body::StackPlaced { stage: Stage::Built, item, .. } = body {
        metal.shaft.push(OnShaft { part: item.part, from: id, until: None });
    } else if let Body::StackTaken { stage: Stage::Built, .. } = body {
        // The newest that is still on comes off first.
        if let Some(on) = metal.shaft.iter_mut().rev().find(|on| on.until.is_none()) {
            on.until = Some(id);
        }
    } else if let Body::PartReplaced { part, .. } = body {
        metal.replaced.entry(*part).or_default().push(id);
    }
}

fn first_touches(book: Book<'_>, job: Seq) -> Found<BTreeMap<Seq, Seq>> {
    let sql = "SELECT t.seq - t.back, min(t.seq) FROM reading_seq t
        WHERE t.short = (SELECT short FROM job WHERE seq = ?1) AND t.back > 0 GROUP BY 1";
    let mut statement = book.conn.prepare_cached(sql)?;
    let touches =
        statement.query_map([int(job)], |row| Ok((seq(row.get(0)?), seq(row.get(1)?))))?;
    Ok(touches.collect::<Result<_, _>>()?)
}
