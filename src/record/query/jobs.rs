//! Jobs with their notes, their stack and their replaced parts.

use super::card;
use super::find::Scope;
use super::{Found, Where, by_number, collect, other_than};
use crate::read::Book;
use crate::write::int;
use crate::{
    Filter, JobRecord, MarkedSpot, Remark, ReplacedPart, RuleChange, StackRecord, StackedPart,
    StoreError, WentOnRecord, caller,
};
use bench::plan::{CheckAt, Plan};
use bench::row::{Body, JobField, Lack, Stage};
use bench::spots::{Together, as_built};
use bench::{Bench, Row, Seq};
use quantity::Name;
use std::collections::BTreeMap;

/// Jobs, oldest first.
pub(crate) fn jobs(book: Book<'_>, filter: &Filter) -> Found<Vec<JobRecord>> {
    let mut sought = Where::default();
    sought.plain("t.kind = 'job-opened'");
    Scope::of(book, filter)?.narrow_jobs("t.seq", &mut sought);
    match filter.open {
        None => {}
        Some(true) => sought.plain("t.seq IN (SELECT fact FROM pending WHERE kind = 'job-opened')"),
        Some(false) => {
            sought.plain("t.seq NOT IN (SELECT fact FROM pending WHERE kind = 'job-opened')");
        }
    }
    sought.times("t.wall", filter);
    sought.page(filter);
    collect(book, &sought, filter, |row| job_record(book, &row).map(Some))
}

/// The job with a number.
pub(crate) fn job(book: Book<'_>, job: Seq) -> Found<Option<JobRecord>> {
    let mut sought = Where::default();
    sought.and("t.seq = ?", int(job));
    let found = collect(book, &sought, &by_number(), |row| job_record(book, &row).map(Some));
    Ok(found?.pop())
}

fn job_record(book: Book<'_>, row: &Row) -> Found<JobRecord> {
    let Body::JobOpened(opened) = &row.body else { return Err(other_than(row, "job")) };
    let (id, plan) = (row.seq, &opened.plan);
    let closed = steps(book, id, "'job-closed', 'job-reopened'")?.pop();
    let closed = closed.filter(|row| matches!(row.body, Body::JobClosed { .. }));
    let caller_of = |row: Option<Seq>| {
        row.map(|row| caller::of_row(book.conn, row)).transpose().map(Option::flatten)
    };
    let edits = card::edits(book, id, opened)?;
    let now =
        |what| edits.iter().rev().find(|edit| edit.what == what).map(|edit| edit.text.clone());
    Ok(JobRecord {
        id,
        name: opened.name.clone(),
        plan_name: opened.plan_name.clone(),
        serial: now(JobField::Serial).or_else(|| opened.serial.clone()),
        customer: now(JobField::Customer).or_else(|| opened.customer.clone()),
        by: row.by.as_ref().map(ToString::to_string),
        callers: [caller_of(Some(id))?, caller_of(closed.as_ref().map(|row| row.seq))?],
        opened_at: row.at.wall,
        closed_at: closed.as_ref().map(|row| row.at.wall),
        closed_by: closed.and_then(|row| row.by),
        notes: notes(book, id)?,
        rule: opened.rule,
        rules: rules(book, id)?,
        signed: card::signed(book, id, &plan.plan)?,
        told: card::told(book, id)?,
        decided: card::decided(book, id, &plan.plan)?,
        serials: card::serials(book, id, &plan.plan)?,
        flow: None,
        stack: StackRecord {
            spots: spots(book, id, &plan.plan)?,
            together: together(book, id)?,
            ..stack(book, id, &plan.plan)?
        },
        replaced: replaced(book, id, &plan.plan)?,
        went_on: went_on(book, id, &plan.plan)?,
        attached: super::papers::attached(book, id, &plan.plan)?,
        plan: plan.clone(),
        edits,
    })
}

fn notes(book: Book<'_>, job: Seq) -> Found<Vec<Remark>> {
    let mut found = Vec::new();
    for Row { seq, at, by, body, .. } in steps(book, job, "'noted'")? {
        if let Body::Noted { text, .. } = body {
            let caller = caller::of_row(book.conn, seq)?;
            found.push(Remark { at: at.wall, by, text, caller });
        }
    }
    Ok(found)
}

fn rules(book: Book<'_>, job: Seq) -> Found<Vec<RuleChange>> {
    let mut found = Vec::new();
    for Row { seq, at, by, body, .. } in steps(book, job, "'rule-changed'")? {
        if let Body::RuleChanged { rule, why, .. } = body {
            let caller = caller::of_row(book.conn, seq)?;
            found.push(RuleChange { at: at.wall, by, rule, why, caller });
        }
    }
    Ok(found)
}

/// The facts of these kinds of a job, in order.
pub(super) fn steps(book: Book<'_>, job: Seq, kinds: &str) -> Found<Vec<Row>> {
    let which = format!("job = ?1 AND kind IN ({kinds}) ORDER BY seq");
    book.facts(&which, [int(job)])
}

pub(super) fn part_name(row: Seq, plan: &Plan, part: u16) -> Found<Name> {
    let found = plan.parts.get(usize::from(part)).map(|part| part.name.clone());
    found.ok_or_else(|| StoreError::Damaged {
        row,
        what: format!("part {part} is not in the plan of its job"),
    })
}

/// Both lists of the stack in their present state.
fn stack(book: Book<'_>, job: Seq, plan: &Plan) -> Found<StackRecord> {
    let mut stack = StackRecord::default();
    for Row { seq: id, by, body, .. } in steps(book, job, "'stack-placed', 'stack-taken'")? {
        if let Body::StackPlaced { stage, item, .. } = body {
            let caller = caller::of_row(book.conn, id)?;
            let part = part_name(id, plan, item.part)?;
            let item = item.as_ref().clone();
            list(&mut stack, stage).push(StackedPart {
                part,
                towards_nose: item.towards_nose,
                mark_deg: item.mark_deg,
                serial: item.serial,
                by,
                caller,
            });
        } else if let Body::StackTaken { stage, .. } = body {
            list(&mut stack, stage).pop();
        }
    }
    Ok(stack)
}

/// The marked high spots that count: the newest of each part, unless the part was replaced since.
fn spots(book: Book<'_>, job: Seq, plan: &Plan) -> Found<Vec<MarkedSpot>> {
    let mut found = BTreeMap::new();
    for Row { seq, at, by, body, .. } in steps(book, job, "'spot-marked', 'part-replaced'")? {
        if let Body::SpotMarked { part, spot: Some(spot), .. } = body {
            let caller = caller::of_row(book.conn, seq)?;
            let (at, name, spot) = (at.wall, part_name(seq, plan, part)?, (*spot).clone());
            found.insert(part, MarkedSpot { at, part: name, spot, by, caller });
        } else if let Body::SpotMarked { part, spot: None, .. } | Body::PartReplaced { part, .. } =
            body
        {
            found.remove(&part);
        }
    }
    Ok(found.into_values().collect())
}

/// What the high spots come to as the stack is built.
fn together(book: Book<'_>, job: Seq) -> Found<Option<Together>> {
    if steps(book, job, "'spot-marked'")?.is_empty() {
        return Ok(None);
    }
    let kinds = "'job-opened', 'stack-placed', 'stack-taken', 'spot-marked', 'part-replaced'";
    let rows = steps(book, job, kinds)?;
    let state = Bench::rebuilt_job(rows.iter(), job);
    Ok(state.map(|state| as_built(&state)).filter(|found| *found != Together::Nothing))
}

const fn list(stack: &mut StackRecord, stage: Stage) -> &mut Vec<StackedPart> {
    match stage {
        Stage::Found => &mut stack.found,
        Stage::Built => &mut stack.built,
    }
}

/// Replaced parts, the oldest first.
fn replaced(book: Book<'_>, job: Seq, plan: &Plan) -> Found<Vec<ReplacedPart>> {
    let mut found = Vec::new();
    for Row { seq: id, at, by, body, .. } in steps(book, job, "'part-replaced'")? {
        if let Body::PartReplaced { part, serial, why, .. } = body {
            let (part, caller) = (part_name(id, plan, part)?, caller::of_row(book.conn, id)?);
            found.push(ReplacedPart { at: at.wall, by, part, serial, why, caller });
        }
    }
    Ok(found)
}

/// Checks by their names.
pub(super) fn named(plan: &Plan, lacking: &[(CheckAt, Lack)]) -> Vec<(Name, Name, Lack)> {
    let name = |(at, lack): &(CheckAt, Lack)| {
        let (part, check) = plan.at(*at)?;
        Some((part.name.clone(), check.name.clone(), *lack))
    };
    lacking.iter().filter_map(name).collect()
}

/// Steps that were taken although something spoke against them, the oldest first.
fn went_on(book: Book<'_>, job: Seq, plan: &Plan) -> Found<Vec<WentOnRecord>> {
    let mut found = Vec::new();
    for Row { seq: id, at, by, body, .. } in steps(book, job, "'went-on'")? {
        let Body::WentOn { went, .. } = body else { continue };
        let part = went.part.map(|part| part_name(id, plan, part)).transpose()?;
        let lacking = named(plan, &went.lacking);
        let (why, caller) = (went.why.clone(), caller::of_row(book.conn, id)?);
        found.push(WentOnRecord { at: at.wall, by, part, lacking, mark: went.mark, why, caller });
    }
    Ok(found)
}
