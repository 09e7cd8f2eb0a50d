//! Looks up what only the disk knows, just before a decision that needs it. If rows that are decided and
//! not stored concern the answer, they are stored first, so that the answer is complete.

use std::sync::Arc;

use super::{Desk, GivenUp, requests};
use crate::input::Change;
use crate::input::Replied;
use crate::record::Record;
use ::record::{ANSWERS_KEPT_DAYS, Answered, SetAside};
use bench::event::StorageNews;
use bench::row::Piece;
use bench::{Command, Event, Refusal, Seq, ToSign};
use quantity::{Name, Stamp};

impl<R: Record> Desk<R> {
    /// Fills in what a command needs to know; returns a refusal where the record is damaged there.
    pub(super) fn know_command(
        &mut self,
        at: Stamp,
        command: &mut Command,
    ) -> Result<Result<(), Refusal>, GivenUp> {
        if requests::bears_on(&self.batch.rows, command) {
            self.commit()?;
        }
        if let Command::JobOpen { name, used, plan, .. } = command {
            match self.look(|record| record.name_used(name))? {
                Ok(known) => *used = known,
                Err(why) => return Ok(Err(damage(&why))),
            }
            self.tell_damaged_plan(at, plan)?;
        } else if let Command::JobReopen { name, found } = command {
            match self.look(|record| record.job_rows(name))? {
                Ok(rows) => *found = rows,
                Err(why) => {
                    let what = Name::new(name).map_or(Piece::Asked, Piece::Job);
                    let news = StorageNews::Damaged { what, why: why.clone() };
                    self.happened(at, &Event::Storage(news));
                    return Ok(Err(damage(&why)));
                }
            }
        } else if let Command::Sign { job, known, .. } = command {
            match self.known_to_sign(job)? {
                Ok(found) => *known = Some(Arc::new(found)),
                Err(refusal) => return Ok(Err(refusal)),
            }
        } else if let Command::JobEdit { name, found, .. } = command {
            match self.look(|record| record.job_rows(name))? {
                Ok(rows) => *found = rows,
                Err(why) => return Ok(Err(damage(&why))),
            }
        } else if let Command::Note { job, closed, .. } = command {
            match self.look(|record| record.closed_job(job))? {
                Ok(known) => *closed = known,
                Err(why) => return Ok(Err(damage(&why))),
            }
        }
        Ok(Ok(()))
    }

    /// What a signature stands under: the seal of all stored rows, and the rows of a job that is closed.
    fn known_to_sign(&mut self, job: &str) -> Result<Result<ToSign, Refusal>, GivenUp> {
        let closed = match self.look(|record| record.job_rows(job))? {
            Ok(rows) => rows,
            Err(why) => return Ok(Err(damage(&why))),
        };
        let seal =
            self.record.seal().map_or((String::new(), Seq(0)), |seal| (seal.to_string(), seal.row));
        Ok(Ok(ToSign { seal, closed }))
    }

    /// Reports that the record's copy of a plan is damaged. The job that is being opened then gets the plan
    /// from its file.
    fn tell_damaged_plan(&mut self, at: Stamp, plan: &str) -> Result<(), GivenUp> {
        let Some(text) = self.setup.plans.iter().find(|(name, _)| name.as_str() == plan) else {
            return Ok(());
        };
        let text = text.1.text.clone();
        let found = self.look(|record| record.damaged_plan(&text))?;
        if let Ok(Some(SetAside { what, why })) = found {
            self.happened(at, &Event::Storage(StorageNews::Damaged { what, why }));
        }
        Ok(())
    }
}

/// The reply to a request whose key was used before: the earlier reply, if the request is the same and the
/// reply is still kept. The request is never done twice.
pub(super) fn came_before(change: &Change, answered: Answered) -> Replied {
    let Answered { digest, at, reply } = answered;
    let refused = if digest != change.digest {
        Refusal::input(
            format!(
                "the key {:?} was used for another request before; nothing was done",
                change.key
            ),
            "make a new key for each request, and keep it only to send the same one again",
        )
    } else if let Some(line) = reply {
        return Replied::again(line);
    } else {
        let text = format!(
            "this request was done already ({at}); replies are kept for {ANSWERS_KEPT_DAYS} days, \
             and this one is gone; nothing was done now"
        );
        Refusal::input(text, "look at its result; to ask again, make a new key")
    };
    Replied::of(&Err(refused))
}

/// The refusal where the record is damaged.
pub(super) fn damage(why: &str) -> Refusal {
    let hint = "`tenths verify` names everything that is damaged; a copy becomes the record with \
                `tenths restore FILE`";
    Refusal { exit: 3, text: why.to_owned(), hint: Some(hint.to_owned()) }
}
