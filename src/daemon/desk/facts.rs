//! What only the disk knows, looked up right before a decision that needs it. The batch is stored
//! first, so that nothing decided is missing from the answer.

use super::{Desk, GivenUp};
use crate::bench::event::StorageNews;
use crate::bench::{Command, Event, Refusal};
use crate::daemon::record::Record;
use crate::quantity::Stamp;
use crate::store::SetAside;

impl<R: Record> Desk<R> {
    /// Fills in what a command needs to know; the sentence where the record is damaged there.
    pub(super) fn know_command(
        &mut self,
        at: Stamp,
        command: &mut Command,
    ) -> Result<Result<(), Refusal>, GivenUp> {
        if let Command::JobOpen { name, used, plan, .. } = command {
            let open = self.bench.job_named(name).is_some();
            match self.look(|record| record.name_used(name))? {
                Ok(known) => *used = open || known,
                Err(why) => return Ok(Err(damage(&why))),
            }
            self.tell_damaged_plan(at, plan)?;
        } else if let Command::JobReopen { name, found } = command {
            match self.look(|record| record.job_rows(name))? {
                Ok(rows) => *found = rows,
                Err(why) => {
                    let news = StorageNews::Damaged { what: name.clone(), why: why.clone() };
                    self.happened(at, &Event::Storage(news));
                    return Ok(Err(damage(&why)));
                }
            }
        } else if let Command::Note { job, closed, .. } | Command::Checked { job, closed } = command
        {
            match self.look(|record| record.closed_job(job))? {
                Ok(known) => *closed = known,
                Err(why) => return Ok(Err(damage(&why))),
            }
        }
        Ok(Ok(()))
    }

    /// Tells where the record has the plan of a job to come, and damaged: the job gets the plan as it
    /// is in its file.
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

/// What is said where the record is damaged.
pub(super) fn damage(why: &str) -> Refusal {
    let hint = "`tenths verify` names everything that is damaged; a copy becomes the record with \
                `tenths restore FILE`";
    Refusal { exit: 3, text: why.to_owned(), hint: Some(hint.to_owned()) }
}
