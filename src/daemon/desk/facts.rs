//! What only the disk knows, looked up right before a decision that needs it. The batch is stored
//! first, so that nothing decided is missing from the answer.

use std::sync::Arc;

use super::{Desk, GivenUp};
use crate::bench::event::StorageNews;
use crate::bench::{Bench, Command, DroppedFile, Event, Job, Refusal};
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

    /// Whether a file was refused with the same bytes.
    pub(super) fn refused_before(&mut self, file: &DroppedFile) -> Result<bool, GivenUp> {
        let seen = &file.seen;
        let before =
            self.look(|record| record.refused_before(&seen.drop, &seen.name, &seen.digest))?;
        // Where that cannot be read it is told once more.
        Ok(before.unwrap_or(false))
    }

    /// Fills in what the decision on a file needs to know; the sentence where the record is damaged
    /// there.
    pub(super) fn know_file(
        &mut self,
        file: &mut DroppedFile,
    ) -> Result<Result<(), String>, GivenUp> {
        let digest = file.seen.digest;
        match self.look(|record| record.file_known(&digest))? {
            Ok(known) => file.known = known,
            Err(why) => return Ok(Err(why)),
        }
        for name in file.rows.tags.iter().filter_map(|tag| tag.job.as_ref()) {
            let open = self.bench.job_named(name).is_some();
            match self.look(|record| record.closed_job(name))? {
                Ok(closed) if !open && closed.is_some() => {
                    file.closed_jobs.insert(name.clone());
                }
                Ok(_) => {}
                Err(why) => return Ok(Err(why)),
            }
        }
        Ok(Ok(()))
    }
}

/// What is said where the record is damaged.
pub(super) fn damage(why: &str) -> Refusal {
    let hint = "`tenths verify` names everything that is damaged; a copy becomes the record with \
                `tenths restore FILE`";
    Refusal { exit: 3, text: why.to_owned(), hint: Some(hint.to_owned()) }
}

/// The file's name said `CHECK*`: the longest check of the part that it begins with is meant. What
/// fits none stays as it is, and the bench says that there is no such check.
pub(super) fn settle_check(bench: &Bench, file: &mut DroppedFile) {
    let Some(tag) = file.rows.tags.first() else { return };
    let (Some(job), Some(part), Some(text)) = (&tag.job, &tag.part, &tag.check) else { return };
    let Some((_, job)) = bench.job_named(job) else { return };
    if let Some(check) = meant(job, part, text)
        && &check != text
    {
        Arc::make_mut(&mut file.rows).tags[0].check = Some(check);
    }
}

fn meant(job: &Job, part: &str, text: &str) -> Option<String> {
    let parts = &job.opened.plan.plan.parts;
    let checks = &parts.iter().find(|known| known.name.as_str() == part)?.checks;
    let names = checks.iter().map(|check| check.name.as_str());
    let longest = names.filter(|name| text.starts_with(name)).max_by_key(|name| name.len())?;
    Some(longest.to_owned())
}
