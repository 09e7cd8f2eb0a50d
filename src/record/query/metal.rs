//! How the metal of jobs changed, and so what their verdicts are worth now. This grows with the record, so
//! it is read again for every request.

use std::collections::BTreeMap;
use std::collections::btree_map::Entry;
use std::sync::Arc;

use super::jobs::steps;
use super::{Found, known};
use crate::read::Book;
use crate::write::{int, seq};
use bench::OnShaft;
use bench::metal::Go;
use bench::row::{Body, Ending, Stage};
use bench::{Metal, Seq, Standing};

/// What was read of jobs for one request.
#[derive(Default)]
pub(crate) struct Metals {
    jobs: BTreeMap<Seq, Metal>,
}

impl Metals {
    /// What the newest verdict on an attempt is worth, or was worth at a row.
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
    let plan = Arc::clone(&known::job(book, job)?.plan);
    let (shaft, replaced) = (Vec::new(), BTreeMap::new());
    let mut metal = Metal { plan, goes: Vec::new(), shaft, replaced };
    let kinds = "'attempt-began', 'attempt-ended', 'stack-placed', 'stack-taken', 'part-replaced'";
    for row in steps(book, job, kinds)? {
        take(&mut metal, row.seq, &row.body);
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

fn take(metal: &mut Metal, id: Seq, body: &Body) {
    if let Body::AttemptBegan(began) = body {
        // While no metal has changed, it does not matter when it was touched.
        let (at, grinds) = (began.check, began.grinds);
        metal.goes.push(Go { id, at, grinds, since: Some(id), whole: false });
    } else if let Body::AttemptEnded { attempt, ending } = body {
        if let Ok(found) = metal.goes.binary_search_by_key(attempt, |go| go.id) {
            metal.goes[found].whole = *ending == Ending::Complete;
        }
    } else if let Body::StackPlaced { stage: Stage::Built, item, .. } = body {
        metal.shaft.push(OnShaft { part: item.part, from: id, until: None });
    } else if let Body::StackTaken { stage: Stage::Built, .. } = body {
        // The newest part that is still on the shaft comes off first.
        if let Some(on) = metal.shaft.iter_mut().rev().find(|on| on.until.is_none()) {
            on.until = Some(id);
        }
    } else if let Body::PartReplaced { part, .. } = body {
        metal.replaced.entry(*part).or_default().push(id);
    }
}

fn first_touches(book: Book<'_>, job: Seq) -> Found<BTreeMap<Seq, Seq>> {
    let sql = "SELECT job + nth - back, min(job + nth) FROM reading
        WHERE job = ?1 AND back > 0 GROUP BY 1";
    let touches = book.select(sql, [int(job)], |row| Ok((seq(row.get(0)?), seq(row.get(1)?))))?;
    Ok(touches.into_iter().collect())
}
