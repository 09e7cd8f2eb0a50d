//! Jobs with their notes, the stack and the parts that are new ones.

use super::find::Scope;
use super::{Found, Where, by_number, collect};
use crate::read::{self, Book};
use crate::step;
use crate::write::{int, seq};
use crate::{
    Caller, Filter, JobRecord, Remark, ReplacedPart, RuleChange, SecondCheck, StackRecord,
    StackedPart, StoreError, WentOnRecord, caller,
};
use bench::Seq;
use bench::plan::{CheckAt, Plan};
use bench::row::{Body, Lack, Stage};
use judgement::Rule;
use quantity::{Name, Wall};

const JOBS: &str = "SELECT t.*, t.seq AS job_seq,
    (SELECT s.wall FROM step s WHERE s.seq = t.closed_by) AS closed_at,
    (SELECT s.by_whom FROM step s WHERE s.seq = t.closed_by) AS closed_by_whom FROM job t";

/// Jobs, oldest first.
pub(crate) fn jobs(book: Book<'_>, filter: &Filter) -> Found<Vec<JobRecord>> {
    let mut sought = Where::default();
    Scope::of(book, filter)?.narrow_jobs("t.seq", &mut sought);
    match filter.open {
        None => {}
        Some(true) => sought.plain("t.closed_by IS NULL"),
        Some(false) => sought.plain("t.closed_by IS NOT NULL"),
    }
    sought.times("t.wall", filter);
    sought.page(filter);
    collect(book, (JOBS, &sought), filter, |row| job_record(book, row))
}

/// The job with a number.
pub(crate) fn job(book: Book<'_>, job: Seq) -> Found<Option<JobRecord>> {
    let mut sought = Where::default();
    sought.and("t.seq = ?", int(job));
    let found = collect(book, (JOBS, &sought), &by_number(), |row| job_record(book, row));
    Ok(found?.pop())
}

fn job_record(book: Book<'_>, row: &rusqlite::Row<'_>) -> Found<JobRecord> {
    let id = seq(row.get("seq")?);
    let text = |column: &str| row.get::<_, String>(column);
    let plan = book.plan(id, row.get("plan")?)?;
    Ok(JobRecord {
        id,
        name: read::name(id, &text("name")?)?,
        plan_name: read::name(id, &text("plan_name")?)?,
        serial: row.get("serial")?,
        customer: row.get("customer")?,
        by: read::by_whom(id, row)?.map(|by| by.to_string()),
        callers: {
            let closed = row.get::<_, Option<i64>>("closed_by")?.map(seq);
            let closed = closed.map(|row| caller::of_row(book.conn, row)).transpose()?;
            [caller::of_row(book.conn, id)?, closed.flatten()]
        },
        opened_at: Wall::from_micros(row.get("wall")?),
        closed_at: row.get::<_, Option<i64>>("closed_at")?.map(Wall::from_micros),
        closed_by: {
            let by: Option<String> = row.get("closed_by_whom")?;
            by.map(|by| read::name(id, &by)).transpose()?
        },
        notes: notes(book, id)?,
        rule: {
            let rule = text("rule")?;
            read::known(id, "rule", &rule, Rule::parse(&rule))?
        },
        rules: rules(book, id)?,
        checked: checked(book, id)?,
        stack: stack(book, id, &plan.plan)?,
        replaced: replaced(book, id, &plan.plan)?,
        went_on: went_on(book, id, &plan.plan)?,
        plan,
    })
}

fn notes(book: Book<'_>, job: Seq) -> Found<Vec<Remark>> {
    let mut found = Vec::new();
    for Told { at, by, caller, body, .. } in steps(book, job, "'noted'")? {
        if let Body::Noted { text, .. } = body {
            found.push(Remark { at, by, text, caller });
        }
    }
    Ok(found)
}

fn rules(book: Book<'_>, job: Seq) -> Found<Vec<RuleChange>> {
    let mut found = Vec::new();
    for Told { at, by, caller, body, .. } in steps(book, job, "'rule-changed'")? {
        if let Body::RuleChanged { rule, why, .. } = body {
            found.push(RuleChange { at, by, rule, why, caller });
        }
    }
    Ok(found)
}

fn checked(book: Book<'_>, job: Seq) -> Found<Vec<SecondCheck>> {
    let steps = steps(book, job, "'checked'")?.into_iter();
    let check = |Told { id, at, by, caller, .. }| Some(SecondCheck { id, at, by: by?, caller });
    Ok(steps.filter_map(check).collect())
}

/// A step of a job.
pub(super) struct Told {
    pub(super) id: Seq,
    pub(super) at: Wall,
    pub(super) by: Option<Name>,
    pub(super) caller: Option<Caller>,
    pub(super) body: Body,
}

/// The steps of a job of some kinds, in order.
pub(super) fn steps(book: Book<'_>, job: Seq, kinds: &str) -> Found<Vec<Told>> {
    let sql = format!("SELECT * FROM step WHERE job = ?1 AND kind IN ({kinds}) ORDER BY seq");
    let mut statement = book.conn.prepare_cached(&sql)?;
    let mut rows = statement.query([int(job)])?;
    let mut found = Vec::new();
    while let Some(row) = rows.next()? {
        let id = seq(row.get("seq")?);
        let (at, by) = (Wall::from_micros(row.get("wall")?), read::by_whom(id, row)?);
        let caller = caller::of_row(book.conn, id)?;
        found.push(Told { id, at, by, caller, body: step::body_of(id, row)? });
    }
    Ok(found)
}

fn part_name(row: Seq, plan: &Plan, part: u16) -> Found<Name> {
    let found = plan.parts.get(usize::from(part)).map(|part| part.name.clone());
    found.ok_or_else(|| StoreError::Damaged {
        row,
        what: format!("part {part} is not in the plan of its job"),
    })
}

/// Both lists of the stack as they are now.
fn stack(book: Book<'_>, job: Seq, plan: &Plan) -> Found<StackRecord> {
    let mut stack = StackRecord::default();
    for Told { id, by, caller, body, .. } in steps(book, job, "'stack-placed', 'stack-taken'")? {
        if let Body::StackPlaced { stage, item, .. } = body {
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

const fn list(stack: &mut StackRecord, stage: Stage) -> &mut Vec<StackedPart> {
    match stage {
        Stage::Found => &mut stack.found,
        Stage::Built => &mut stack.built,
    }
}

/// Parts that became new ones, oldest first.
fn replaced(book: Book<'_>, job: Seq, plan: &Plan) -> Found<Vec<ReplacedPart>> {
    let mut found = Vec::new();
    for Told { id, at, by, caller, body } in steps(book, job, "'part-replaced'")? {
        if let Body::PartReplaced { part, serial, why, .. } = body {
            let part = part_name(id, plan, part)?;
            found.push(ReplacedPart { at, by, part, serial, why, caller });
        }
    }
    Ok(found)
}

/// What went on in spite of something, oldest first.
fn went_on(book: Book<'_>, job: Seq, plan: &Plan) -> Found<Vec<WentOnRecord>> {
    let mut found = Vec::new();
    for Told { id, at, by, caller, body } in steps(book, job, "'went-on'")? {
        let Body::WentOn { went, .. } = body else { continue };
        let part = went.part.map(|part| part_name(id, plan, part)).transpose()?;
        let name = |(at, lack): &(CheckAt, Lack)| {
            let (part, check) = plan.at(*at)?;
            Some((part.name.clone(), check.name.clone(), *lack))
        };
        let lacking = went.lacking.iter().filter_map(name).collect();
        found.push(WentOnRecord { at, by, part, lacking, why: went.why.clone(), caller });
    }
    Ok(found)
}
