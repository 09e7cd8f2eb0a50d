//! What only the disk knows, looked up right before a decision that needs it. The batch is stored
//! first, so that nothing decided is missing from the answer.

use std::sync::Arc;

use super::{Desk, GivenUp};
use crate::bench::{Bench, Command, DroppedFile, Job};
use crate::daemon::record::Record;

impl<R: Record> Desk<R> {
    /// Fills in what a command needs to know.
    pub(super) fn know_command(&mut self, command: &mut Command) -> Result<(), GivenUp> {
        if let Command::JobOpen { name, used, .. } = command {
            *used = self.bench.job_named(name).is_some()
                || self.insist(|record| record.name_used(name))?;
        } else if let Command::JobReopen { name, found } = command {
            *found = self.insist(|record| record.job_rows(name))?;
        } else if let Command::Note { job, closed, .. } | Command::Checked { job, closed } = command
        {
            *closed = self.insist(|record| record.closed_job(job))?;
        }
        Ok(())
    }

    /// Whether a file was refused with the same bytes.
    pub(super) fn refused_before(&mut self, file: &DroppedFile) -> Result<bool, GivenUp> {
        let seen = &file.seen;
        self.insist(|record| record.refused_before(&seen.drop, &seen.name, &seen.digest))
    }

    /// Fills in what the decision on a file needs to know.
    pub(super) fn know_file(&mut self, file: &mut DroppedFile) -> Result<(), GivenUp> {
        let digest = file.seen.digest;
        file.known = self.insist(|record| record.file_known(&digest))?;
        for name in file.rows.tags.iter().filter_map(|tag| tag.job.as_ref()) {
            let open = self.bench.job_named(name).is_some();
            if !open && self.insist(|record| record.closed_job(name))?.is_some() {
                file.closed_jobs.insert(name.clone());
            }
        }
        Ok(())
    }
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
