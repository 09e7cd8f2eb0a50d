//! Pictures and papers of a job: attached, and taken back.

use std::sync::Arc;

use crate::draft::{Answer, Draft};
use crate::event::AttachAsked;
use crate::fact::row::{AlertKind, Attached, Body, Paper, Piece, Subject};
use crate::fact::seq::Seq;
use crate::reply::{AttachedNow, Done, Refusal};
use crate::state::Job;
use crate::words;
use quantity::near;

/// The largest file that is attached, in bytes.
pub const LARGEST_PAPER: u64 = 20_000_000;
/// The most files of one job, those that were taken back among them.
pub const MOST_PAPERS: usize = 500;
/// The longest words about a file, and the longest name of one, in bytes.
const LONGEST: usize = 300;

/// The refusal of a file that is larger than any that is attached.
#[must_use]
pub fn too_large(name: &str, bytes: u64) -> Refusal {
    let (has, most) = (megabytes(bytes), LARGEST_PAPER / 1_000_000);
    Refusal::input(
        format!("{name} has {has} MB, and at most {most} MB are taken"),
        "make it smaller in a program for pictures, or split the paper, and attach that",
    )
}

/// Bytes as megabytes, rounded up, so that no limit seems to be kept that is not.
fn megabytes(bytes: u64) -> u64 {
    bytes.div_ceil(1_000_000)
}

impl Draft<'_> {
    /// `attach JOB FILE`.
    pub(crate) fn attach(&mut self, asked: &AttachAsked) -> Answer {
        let (id, job) = self.job_for_papers(&asked.job)?;
        let (part, check) = match asked.to.as_deref() {
            None => (None, None),
            Some(to) => place(&job, to)?,
        };
        let name = words_of("the name of the file", &asked.name)?;
        let what = words_of("what the file shows", &asked.what)?;
        if asked.bytes > LARGEST_PAPER {
            return Err(too_large(&name, asked.bytes));
        }
        let Some(kind) = asked.found else {
            let text = format!("{name} did not arrive");
            return Err(Refusal::input(text, "attach it with `tenths attach JOB FILE`"));
        };
        let paper = Paper { digest: asked.digest, bytes: asked.bytes, kind };
        self.has_room_for(&job, &name, &paper)?;
        let same = job.attached.iter().find(|kept| kept.attached.paper == paper);
        let same = same.map(|kept| kept.id);
        let attached = Arc::new(Attached { job: id, part, check, what, name, paper });
        let attachment = self.push(Body::Attached(Arc::clone(&attached)));
        // Its file is on disk now, whatever was wrong with it before.
        let file = Subject::Record(Piece::Paper(attached.paper.kept_as()));
        self.clear_about(Some(&file), AlertKind::RecordDamaged);
        Ok(Done::Attached(Box::new(AttachedNow {
            id: attachment,
            job: job.opened.name.clone(),
            to: asked.to.clone(),
            attached,
            same,
        })))
    }

    /// The open job with this name, or how to open it again.
    fn job_for_papers(&self, name: &str) -> Result<(Seq, Arc<Job>), Refusal> {
        let (id, _) = self.open_job(name)?;
        let job = self.bench.jobs.get(&id).map(Arc::clone);
        Ok((
            id,
            job.ok_or_else(|| {
                Refusal::input("the job is not open", "`tenths job list` shows all")
            })?,
        ))
    }

    /// Refuses a file for which the job has no room. The same bytes are kept once and count once.
    fn has_room_for(&self, job: &Job, name: &str, paper: &Paper) -> Result<(), Refusal> {
        if job.attached.len() >= MOST_PAPERS {
            return Err(Refusal::input(
                format!(
                    "job {} has {MOST_PAPERS} files already, the most of one job",
                    job.opened.name
                ),
                "put several pictures into one PDF, and attach that",
            ));
        }
        let (has, most) = (job.attached_bytes(), self.setup.attached_bytes);
        let known = job.attached.iter().any(|kept| kept.attached.paper == *paper);
        if known || has + paper.bytes <= most {
            return Ok(());
        }
        let (of, most) = (megabytes(has), most / 1_000_000);
        Err(Refusal::input(
            format!(
                "{name} has {} MB, and job {} has {of} of the {most} MB that one job may have",
                megabytes(paper.bytes),
                job.opened.name
            ),
            "make it smaller in a program for pictures, or set `attached_mb` under [bench] in bench.toml \
             higher and reload the service",
        ))
    }

    /// `attach JOB --remove ID --why TEXT`.
    pub(crate) fn take_attached_back(&mut self, name: &str, id: Seq, why: &str) -> Answer {
        let (job_id, job) = self.job_for_papers(name)?;
        let name = &job.opened.name;
        let list =
            format!("see its files with: tenths attachments {}", words::typed(name.as_str()));
        let Some(kept) = job.attached.iter().find(|kept| kept.id == id) else {
            return Err(Refusal::input(format!("job {name} has no attachment {id}"), list));
        };
        if kept.taken_back {
            return Err(Refusal::input(format!("attachment {id} was taken back before"), list));
        }
        let why = words_of("the reason", why)?;
        self.push(Body::AttachedTakenBack { job: job_id, attached: id, why });
        Ok(Done::AttachedTakenBack { id, attached: Arc::clone(&kept.attached) })
    }
}

/// Words of a person as they are stored: without blanks around them, on one line.
fn words_of(what: &str, said: &str) -> Result<String, Refusal> {
    let said = said.trim();
    let wrong = if said.is_empty() {
        "is empty"
    } else if said.len() > LONGEST {
        "is too long (300 bytes at most)"
    } else if said.chars().any(char::is_control) {
        "has signs in it that cannot be printed"
    } else {
        return Ok(said.to_owned());
    };
    Err(Refusal::input(format!("{what} {wrong}"), "say it in a few plain words"))
}

/// The place that `PART` or `PART/CHECK` names.
fn place(job: &Job, to: &str) -> Result<(Option<u16>, Option<u16>), Refusal> {
    if to.contains('/') {
        let at = Draft::find(job, to)?;
        return Ok((Some(at.part), Some(at.check)));
    }
    let parts = || job.opened.plan.plan.parts.iter().map(|part| part.name.as_str());
    let found = parts().position(|part| part == to).and_then(|at| u16::try_from(at).ok());
    if found.is_some() {
        return Ok((found, None));
    }
    let names: Vec<String> = parts().map(str::to_owned).collect();
    let meant = match near::names(to, names.clone()).first() {
        Some(nearest) => format!("did you mean {nearest}? "),
        None => String::new(),
    };
    Err(Refusal::input(
        format!("the plan of job {} has no part {to:?}", job.opened.name),
        format!("{meant}its parts are: {}; PART/CHECK names a check", names.join(", ")),
    ))
}
