//! The record of the simulation: the real record on disk, which refuses when told to, and what has been
//! seen of it from outside.

use crate::input::Replied;
use std::cell::RefCell;
use std::collections::BTreeMap;
use std::path::PathBuf;
use std::rc::Rc;
use std::sync::Arc;

use tokio::sync::{oneshot, watch};

use crate::record::{Asked, Kept, Record, Refused, Space};
use crate::shown::Shown;
use ::record::{Answer, Answered, FileHistory, FileLook, ReadBack, SetAside};
use bench::row::{Body, Source};
use bench::{Bench, Row, Seq};
use intake::Fate;
use quantity::Name;

/// How the record fails next.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(super) struct Outage {
    /// How many requests to it are refused.
    pub(super) tries: u32,
    /// Whether the first refused commit is done all the same.
    pub(super) happens: bool,
    /// What the next commit meets in the real database.
    pub(super) meets: Meets,
}

/// What a commit meets in the real database, in the middle of its work.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(super) enum Meets {
    /// Nothing.
    #[default]
    Nothing,
    /// A disk with room for this many more pages.
    Full(i64),
    /// An error after this many steps of the database.
    Error(i32),
}

impl Outage {
    /// Whether anything is going to be refused.
    pub(super) const fn comes(self) -> bool {
        self.tries > 0 || !matches!(self.meets, Meets::Nothing)
    }
}

/// Something that somebody outside waits for.
pub(super) struct Waiting {
    pub(super) letter: Letter,
    /// The number of the newest row when it was decided. Nothing of it may be seen before that row is
    /// stored.
    pub(super) decided: Option<Seq>,
    /// Since when somebody waits, in microseconds of this boot.
    pub(super) since_us: u64,
}

/// What is waited for.
pub(super) enum Letter {
    Reply { key: String, reply: oneshot::Receiver<Replied> },
    Fate { became: oneshot::Receiver<Fate> },
}

/// What is known outside the service: what is certainly stored, and what was reported of it.
#[derive(Default)]
pub(super) struct Outside {
    /// Every stored row.
    pub(super) rows: Vec<Row>,
    /// A bench built from exactly those rows.
    pub(super) bench: Bench,
    /// Every stored reply.
    pub(super) answers: BTreeMap<String, String>,
    /// The newest reply for each key.
    pub(super) replies: BTreeMap<String, String>,
    /// Readings from serial lines since the counters of their gauge began.
    pub(super) serial: BTreeMap<Name, u64>,
    pub(super) waiting: Vec<Waiting>,
    pub(super) shown: Option<watch::Receiver<Arc<Shown>>>,
    pub(super) outage: Outage,
    /// Whether the disk is nearly full.
    pub(super) low: bool,
    /// How many refusals there were, and how many commits that were done although they were refused.
    pub(super) refusals: (u64, u64),
    /// Commits that failed in the real database.
    pub(super) met: u64,
    /// The first and last numbers of the rows that were imported with jobs.
    pub(super) came: Vec<(Seq, Seq)>,
    /// Rules that were broken while the record was used.
    pub(super) broken: Vec<String>,
}

impl Outside {
    pub(super) fn store(&mut self, rows: &[Row], answers: &[Answer]) {
        for row in rows {
            self.bench.apply(row);
            if let Body::Reading(reading) = &row.body
                && reading.source == Source::Serial
            {
                *self.serial.entry(reading.gauge.clone()).or_default() += 1;
            }
        }
        self.rows.extend_from_slice(rows);
        for answer in answers {
            self.answers.entry(answer.key.clone()).or_insert_with(|| answer.reply.clone());
        }
    }

    /// Whether a row was imported with a job.
    pub(super) fn came_along(&self, row: Seq) -> bool {
        self.came.iter().any(|(first, last)| (*first..=*last).contains(&row))
    }

    /// Looks at everything that was sent; all of it must be stored by now.
    pub(super) fn look(&mut self) {
        for waiting in std::mem::take(&mut self.waiting) {
            if let Some(waiting) = self.look_at(waiting) {
                self.waiting.push(waiting);
            }
        }
        let Some(shown) = &self.shown else { return };
        let shown = Arc::clone(&shown.borrow());
        if shown.bench.last > self.bench.last {
            self.broken.push(format!("row {} is shown and not stored", shown.bench.last));
        }
        for (name, tally) in &shown.tallies.gauges {
            let (counted, stored) = (tally.taken + tally.repeats, self.serial.get(name));
            if counted > stored.copied().unwrap_or_default() {
                self.broken.push(format!("{name}: {counted} counted, {stored:?} stored"));
            }
        }
    }

    fn look_at(&mut self, mut waiting: Waiting) -> Option<Waiting> {
        use oneshot::error::TryRecvError::{Closed, Empty};
        let came = match &mut waiting.letter {
            Letter::Reply { key, reply } => {
                reply.try_recv().map(|reply| Some((key.clone(), reply.line)))
            }
            Letter::Fate { became } => became.try_recv().map(|_| None),
        };
        match came {
            Err(Empty) => return Some(waiting),
            Err(Closed) => return None,
            Ok(Some((key, line))) => {
                let refused = line.contains("\"error/1\"");
                if !refused && self.answers.get(&key) != Some(&line) {
                    self.broken.push(format!("{line} was replied to {key} and is not stored"));
                }
                self.replies.insert(key, line);
            }
            Ok(None) => {}
        }
        if waiting.decided.is_none_or(|decided| decided > self.bench.last) {
            let (decided, stored) = (waiting.decided, self.bench.last);
            self.broken.push(format!("told what was decided as {decided:?}, stored is {stored}"));
        }
        None
    }

    fn strike(&mut self) -> Asked<()> {
        if self.outage.tries == 0 {
            return Ok(());
        }
        self.outage.tries -= 1;
        self.refusals.0 += 1;
        Err(Refused { why: "the disk is full".to_owned(), ours: false, damaged: false })
    }
}

/// The real record, which can be made to refuse.
pub(super) struct Refusing {
    pub(super) kept: Kept,
    pub(super) outside: Rc<RefCell<Outside>>,
}

impl Refusing {
    fn strike(&self) -> Asked<()> {
        self.outside.borrow_mut().strike()
    }

    /// A commit that may meet a fault on its way. Nothing of a commit that fails is there afterwards.
    fn stored(&mut self, rows: &[Row], answers: &[Answer]) -> Asked<()> {
        let meets = std::mem::take(&mut self.outside.borrow_mut().outage.meets);
        match meets {
            Meets::Nothing => return self.kept.commit(rows, answers),
            Meets::Full(pages) => self.kept.store.limit_pages(Some(pages)),
            Meets::Error(after) => self.kept.store.break_off(Some(after)),
        }
        let done = self.kept.commit(rows, answers);
        self.kept.store.break_off(None);
        self.kept.store.limit_pages(None);
        if let Err(refused) = &done {
            let mut outside = self.outside.borrow_mut();
            outside.met += 1;
            if refused.ours || refused.damaged {
                outside.broken.push(format!("{meets:?} is told as {refused:?}"));
            }
            let there = self.kept.store.last_committed();
            let stored = outside.bench.last;
            if there.as_ref().ok() != Some(&stored) {
                outside.broken.push(format!("{meets:?} left {there:?} of {stored}"));
            }
        }
        done
    }
}

impl Record for Refusing {
    fn commit(&mut self, rows: &[Row], answers: &[Answer]) -> Asked<()> {
        self.outside.borrow_mut().look();
        let struck = self.strike();
        let happens = std::mem::take(&mut self.outside.borrow_mut().outage.happens);
        if struck.is_err() && !happens {
            return struck;
        }
        self.stored(rows, answers)?;
        let mut outside = self.outside.borrow_mut();
        outside.store(rows, answers);
        outside.refusals.1 += u64::from(struck.is_err());
        struck
    }

    fn last_committed(&mut self) -> Asked<Seq> {
        self.kept.last_committed()
    }

    fn answer_of(&mut self, key: &str) -> Asked<Option<Answered>> {
        self.strike()?;
        self.kept.answer_of(key)
    }

    fn name_used(&mut self, name: &str) -> Asked<bool> {
        self.strike()?;
        self.kept.name_used(name)
    }

    fn job_rows(&mut self, name: &str) -> Asked<Option<Arc<Vec<Row>>>> {
        self.strike()?;
        self.kept.job_rows(name)
    }

    fn closed_job(&mut self, name: &str) -> Asked<Option<Seq>> {
        self.strike()?;
        self.kept.closed_job(name)
    }

    fn file_history(&mut self, look: FileLook<'_>) -> Asked<FileHistory> {
        self.strike()?;
        self.kept.file_history(look)
    }

    fn space(&mut self) -> Asked<Space> {
        self.strike()?;
        let free_bytes = if self.outside.borrow().low { 1 << 20 } else { 1 << 40 };
        Ok(Space { wal_bytes: 0, free_bytes, disk_bytes: 1 << 41 })
    }

    fn database(&self) -> PathBuf {
        self.kept.database()
    }

    fn tidy(&mut self) {
        self.kept.tidy();
    }

    fn read_back(&mut self) -> Asked<ReadBack> {
        self.strike()?;
        self.kept.read_back()
    }

    fn seal(&self) -> Option<::record::Seal> {
        self.kept.seal()
    }

    fn damaged_plan(&mut self, text: &str) -> Asked<Option<SetAside>> {
        self.strike()?;
        self.kept.damaged_plan(text)
    }

    fn close(self) -> Asked<()> {
        self.kept.close()
    }
}
