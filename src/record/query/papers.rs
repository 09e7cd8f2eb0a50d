//! Pictures and papers of a job.

use std::sync::Arc;

use super::Found;
use super::jobs::steps;
use crate::read::Book;
use crate::{Caller, StoreError, caller};
use bench::plan::Plan;
use bench::row::{Attached, Body};
use bench::{Row, Seq};
use quantity::{Name, Wall};

/// A picture or a paper of a job, as in `attachment/1`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct AttachmentRecord {
    /// Its number.
    pub id: Seq,
    /// When it was attached.
    pub at: Wall,
    /// Who attached it.
    pub by: Option<Name>,
    /// Whose process asked for it, where one did.
    pub caller: Option<Caller>,
    /// The part it belongs to, if it is of one.
    pub part: Option<Name>,
    /// The check of that part.
    pub check: Option<Name>,
    /// What it is.
    pub attached: Arc<Attached>,
    /// Where it was taken back: when, by whom and why.
    pub taken_back: Option<TakenBack>,
}

/// That an attachment was taken back.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TakenBack {
    /// When.
    pub at: Wall,
    /// Who did it.
    pub by: Option<Name>,
    /// Why.
    pub why: String,
}

impl AttachmentRecord {
    /// `PART`, `PART/CHECK`, or nothing where it is of the whole job.
    #[must_use]
    pub fn place(&self) -> Option<String> {
        let part = self.part.as_ref()?;
        Some(
            self.check.as_ref().map_or_else(|| part.to_string(), |check| format!("{part}/{check}")),
        )
    }
}

/// All of them, the oldest first.
pub(super) fn attached(book: Book<'_>, job: Seq, plan: &Plan) -> Found<Vec<AttachmentRecord>> {
    let mut found: Vec<AttachmentRecord> = Vec::new();
    for Row { seq: id, at, by, body, .. } in steps(book, job, "'attached', 'attached-taken-back'")?
    {
        if let Body::Attached(attached) = body {
            let (part, check) = place(id, plan, &attached)?;
            let caller = caller::of_row(book.conn, id)?;
            let at = at.wall;
            found.push(AttachmentRecord {
                id,
                at,
                by,
                caller,
                part,
                check,
                attached,
                taken_back: None,
            });
        } else if let Body::AttachedTakenBack { attached, why, .. } = body
            && let Some(one) = found.iter_mut().find(|one| one.id == attached)
        {
            one.taken_back = Some(TakenBack { at: at.wall, by, why });
        }
    }
    Ok(found)
}

/// The names of the part and of the check.
fn place(row: Seq, plan: &Plan, attached: &Attached) -> Found<(Option<Name>, Option<Name>)> {
    let missing =
        || StoreError::Damaged { row, what: "its place is not in the plan of its job".to_owned() };
    let Some(part) = attached.part else { return Ok((None, None)) };
    let part = plan.parts.get(usize::from(part)).ok_or_else(missing)?;
    let Some(check) = attached.check else { return Ok((Some(part.name.clone()), None)) };
    let check = part.checks.get(usize::from(check)).ok_or_else(missing)?;
    Ok((Some(part.name.clone()), Some(check.name.clone())))
}
