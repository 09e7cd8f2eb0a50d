//! What people wrote on the card of a job.

use super::Found;
use super::jobs::{named, part_name, steps};
use crate::numbers::Numbers;
use crate::read::Book;
use crate::write::{int, seq};
use crate::{DecidedRecord, EditRecord, SerialRecord, SignatureRecord, ToldRecord, caller};
use bench::plan::Plan;
use bench::row::{Body, JobField, JobOpened};
use bench::{Row, Seq};

/// What was said when the job came in, or agreed since; every change, oldest first.
pub(super) fn told(book: Book<'_>, job: Seq) -> Found<Vec<ToldRecord>> {
    let mut found = Vec::new();
    for Row { seq, at, by, body, .. } in steps(book, job, "'intake'")? {
        if let Body::Intake { what, text, .. } = body {
            let caller = caller::of_row(book.conn, seq)?;
            found.push(ToldRecord { at: at.wall, by, what, text, caller });
        }
    }
    Ok(found)
}

/// What was corrected at the head of a job, oldest first, each with what stood there before.
pub(super) fn edits(book: Book<'_>, job: Seq, opened: &JobOpened) -> Found<Vec<EditRecord>> {
    let mut found: Vec<EditRecord> = Vec::new();
    for Row { seq, at, by, body, .. } in steps(book, job, "'job-edited'")? {
        let Body::JobEdited { what, text, why, .. } = body else { continue };
        let before = found.iter().rev().find(|edit| edit.what == what);
        let was = match (before, what) {
            (Some(before), _) => Some(before.text.clone()),
            (None, JobField::Serial) => opened.serial.clone(),
            (None, JobField::Customer) => opened.customer.clone(),
        };
        let caller = caller::of_row(book.conn, seq)?;
        found.push(EditRecord { at: at.wall, by, what, was, text, why, caller });
    }
    Ok(found)
}

/// What was decided about parts, oldest first.
pub(super) fn decided(book: Book<'_>, job: Seq, plan: &Plan) -> Found<Vec<DecidedRecord>> {
    let mut found = Vec::new();
    for Row { seq, at, by, body, .. } in steps(book, job, "'decided'")? {
        if let Body::Decided { part, outcome, why, .. } = body {
            let (part, caller) = (part_name(seq, plan, part)?, caller::of_row(book.conn, seq)?);
            found.push(DecidedRecord { id: seq, at: at.wall, by, part, outcome, why, caller });
        }
    }
    Ok(found)
}

/// The serial numbers that were written down for parts, oldest first.
pub(super) fn serials(book: Book<'_>, job: Seq, plan: &Plan) -> Found<Vec<SerialRecord>> {
    let mut found = Vec::new();
    for Row { seq, at, by, body, .. } in steps(book, job, "'serial'")? {
        if let Body::Serial { part, serial, .. } = body {
            let (part, caller) = (part_name(seq, plan, part)?, caller::of_row(book.conn, seq)?);
            found.push(SerialRecord { at: at.wall, by, part, serial, caller });
        }
    }
    Ok(found)
}

/// Signatures, oldest first.
pub(super) fn signed(book: Book<'_>, job: Seq, plan: &Plan) -> Found<Vec<SignatureRecord>> {
    let rows = steps(book, job, "'signed'")?;
    if rows.is_empty() {
        return Ok(Vec::new());
    }
    let (changed, numbers) = (changed(book, job)?, Numbers::of(book, job)?);
    let mut found = Vec::new();
    for Row { seq: id, at, by, body, .. } in rows {
        let (Body::Signed { signed, .. }, Some(by)) = (body, by) else { continue };
        found.push(SignatureRecord {
            id,
            at: at.wall,
            role: signed.role,
            by,
            seal: signed.seal.clone(),
            earlier: signed.of < changed,
            elsewhere: numbers.came_along(id),
            lacking: named(plan, &signed.lacking),
            why: signed.why.clone(),
            caller: caller::of_row(book.conn, id)?,
        });
    }
    Ok(found)
}

/// The newest row of a job that something was measured or changed in: [`bench::card::Card::changed`], without
/// reading the whole job.
fn changed(book: Book<'_>, job: Seq) -> Found<Seq> {
    let kinds: Vec<String> = Body::CHANGING.iter().map(|kind| format!("'{kind}'")).collect();
    let facts = format!(
        "SELECT coalesce(max(seq), ?1) FROM fact WHERE job = ?1 AND kind IN ({})",
        kinds.join(", ")
    );
    let readings = "SELECT coalesce(max(?1 + nth), ?1) FROM
        (SELECT nth FROM reading WHERE job = ?1 AND back != 0 ORDER BY nth DESC LIMIT 1)";
    let newest = |sql: &str| -> Found<Seq> {
        let mut statement = book.conn.prepare_cached(sql)?;
        Ok(seq(statement.query_row([int(job)], |row| row.get(0))?))
    };
    Ok(newest(&facts)?.max(newest(readings)?))
}
