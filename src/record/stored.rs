//! Rows as they are stored, as plain values: what a record elsewhere has to hold so that it is the same
//! record, and the chain of seals over them.
//!
//! Nothing here is read as a fact: a row goes on as it is, also where this program could not understand it.

mod chain;
mod make;
mod read;

use std::sync::Arc;

use super::fact::{self, Columns};
use super::papers::PaperFact;
use super::seals::{Ink, Of, ReadingInk, Words, loss};
use super::write::seq;
use bench::Seq;

pub use chain::{Chain, NotAsSealed, OwnSeals, StoredSeal};
pub use make::{Made, PapersAtHand};
pub(super) use read::jobs_near_the_end;
pub use read::{Batch, Tracks};

/// A row of the table of facts. Times are microseconds: `wall` since 1970 UTC, `mono` since the machine was
/// switched on (the 64 bits of an unsigned number).
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct StoredFact {
    /// Its number.
    pub seq: i64,
    /// When it happened, by the clock on the wall.
    pub wall: i64,
    /// When, by the steady clock.
    pub mono: i64,
    /// Who did it.
    pub by_whom: Option<String>,
    /// Its job.
    pub job: Option<i64>,
    /// Its attempt.
    pub attempt: Option<i64>,
    /// The row that it is about.
    pub about: Option<i64>,
    /// The word that it is searched by.
    pub key: Option<String>,
    /// Its line of the feed.
    pub line: Option<i64>,
    /// Its kind.
    pub kind: String,
    /// What happened, as JSON.
    pub body: String,
}

/// What many readings have in common.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct StoredForm {
    /// The gauge.
    pub gauge: String,
    /// The unit it showed.
    pub unit: String,
    /// Decimal places.
    pub places: i64,
    /// What numbers count: `place` the last place, `pm` picometres.
    pub counts: String,
    /// Where they came from: `serial`, `keyed` or `drop`.
    pub source: String,
    /// The fact of a dropped file, otherwise 0.
    pub file: i64,
    /// Who touched; empty where that is not known.
    pub by_whom: String,
}

/// What most readings do not have.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct StoredMore {
    /// The line of a dropped file.
    pub line: Option<i64>,
    /// The time the file states, microseconds since 1970 UTC.
    pub measured_at: Option<i64>,
    /// Why it is not taken, and the like.
    pub why: Option<String>,
}

/// A row of the table of readings, with the words of its form.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct StoredReading {
    /// Its job; 0 without one.
    pub job: i64,
    /// Its number minus that of its job.
    pub nth: i64,
    /// Its number minus that of its attempt; 0 without one.
    pub back: i64,
    /// The value, counted as its form says.
    pub number: i64,
    /// The steady clock, minus that of its attempt, in microseconds.
    pub mono: i64,
    /// The clock on the wall minus the steady clock, minus the same of its attempt, in microseconds.
    pub drift: i64,
    /// State and position, in one number.
    pub place: i64,
    /// What the gauge sent.
    pub as_sent: String,
    /// What it has in common with others.
    pub form: Arc<StoredForm>,
    /// What stands beside it.
    pub more: Option<StoredMore>,
    /// When it was taken, microseconds since 1970 UTC. It follows from `mono`, `drift` and the attempt; it is
    /// there to be searched by, and is no part of the leaf.
    pub wall: i64,
}

impl StoredReading {
    /// Its number.
    #[must_use]
    pub const fn seq(&self) -> i64 {
        self.job.wrapping_add(self.nth)
    }
}

/// Rows that were acknowledged and are missing.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct StoredLoss {
    /// The number of the first.
    pub first: i64,
    /// That of the last.
    pub last: i64,
    /// When the newest row before them was stored, microseconds since 1970 UTC.
    pub since: i64,
    /// When the last of them was.
    pub until: i64,
}

/// A row that has a number and a leaf.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum StoredRow {
    /// Something that happened.
    Fact(StoredFact),
    /// A value of a gauge.
    Reading(StoredReading),
    /// Rows that are missing.
    Lost(StoredLoss),
}

impl StoredForm {
    pub(super) const fn words(&self) -> Words<'_> {
        Words {
            gauge: self.gauge.as_str(),
            unit: self.unit.as_str(),
            places: self.places,
            counts: self.counts.as_str(),
            source: self.source.as_str(),
            file: self.file,
            by_whom: self.by_whom.as_str(),
        }
    }
}

impl StoredFact {
    /// The digest of the text that it refers to: of a plan, or of what an attempt is judged with.
    #[must_use]
    pub fn text_digest(&self) -> Option<[u8; 32]> {
        fact::digest_in(&self.kind, &self.body)
    }

    pub(super) fn columns(&self) -> Columns<'_> {
        Columns {
            seq: self.seq,
            wall: self.wall,
            mono: self.mono,
            by_whom: self.by_whom.as_deref(),
            job: self.job,
            attempt: self.attempt,
            about: self.about,
            key: self.key.as_deref(),
            line: self.line,
            kind: &self.kind,
            body: &self.body,
        }
    }
}

impl StoredReading {
    fn inked(&self) -> ReadingInk<'_> {
        let more = self.more.as_ref();
        ReadingInk {
            job: self.job,
            nth: self.nth,
            back: self.back,
            number: self.number,
            mono: self.mono,
            drift: self.drift,
            place: self.place,
            text: &self.as_sent,
            more: more.map(|more| (more.line, more.measured_at, more.why.as_deref())),
        }
    }
}

impl StoredRow {
    /// Its number.
    #[must_use]
    pub const fn seq(&self) -> Seq {
        seq(match self {
            Self::Fact(fact) => fact.seq,
            Self::Reading(reading) => reading.seq(),
            Self::Lost(loss) => loss.first,
        })
    }

    /// The number after which the record goes on: its own, or the last that is missing.
    #[must_use]
    pub const fn last(&self) -> Seq {
        match self {
            Self::Lost(loss) => seq(loss.last),
            Self::Fact(_) | Self::Reading(_) => self.seq(),
        }
    }

    /// Adds it to what enters the seals; `words` are those of the form of the reading before.
    fn inked(&self, ink: &mut Ink, words: &mut FormWords) {
        match self {
            Self::Fact(fact) => ink.row(Of::Fact, seq(fact.seq), fact.columns().values()),
            Self::Reading(reading) => ink.reading(&reading.inked(), words.of(&reading.form)),
            Self::Lost(StoredLoss { first, last, since, until }) => {
                loss(ink, [*first, *last, *since, *until]);
            }
        }
    }

    /// Its leaf: the BLAKE3 of the row as it is stored.
    #[must_use]
    pub fn leaf(&self) -> [u8; 32] {
        let mut ink = Ink::default();
        self.inked(&mut ink, &mut FormWords::default());
        ink.leaves().next().map_or([0; 32], |(_, leaf)| leaf)
    }
}

/// The words of the form that was used last, written out once for the readings that follow each other.
#[derive(Debug, Clone, Default)]
struct FormWords(Option<(Arc<StoredForm>, Vec<u8>)>);

impl FormWords {
    fn of(&mut self, form: &Arc<StoredForm>) -> &[u8] {
        if self.0.as_ref().is_none_or(|(known, _)| known != form) {
            self.0 = Some((Arc::clone(form), form.words().sealed()));
        }
        self.0.as_ref().map_or(&[], |(_, words)| words)
    }
}

/// A text that facts have by its digest.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StoredText {
    /// The BLAKE3 of the text.
    pub digest: [u8; 32],
    /// The text.
    pub text: String,
}

/// The process that asked for some rows.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StoredCaller {
    /// The first of the rows.
    pub first: i64,
    /// The last of them.
    pub last: i64,
    /// Its user number.
    pub uid: i64,
    /// Its process number.
    pub pid: i64,
    /// The login name of that user.
    pub login: Option<String>,
    /// 1: it came with a job from another bench.
    pub elsewhere: i64,
    /// The sum of all of this.
    pub sum: Vec<u8>,
}

/// A job that came from another record.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StoredImport {
    /// The job.
    pub job: i64,
    /// When it came, microseconds since 1970 UTC.
    pub wall: i64,
    /// SHA-256 of the lines it came as.
    pub digest: Vec<u8>,
    /// The sum of this row and its runs.
    pub sum: Vec<u8>,
}

/// Rows of such a job, and the number that the first of them had where it came from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct StoredRun {
    /// The first row.
    pub first: i64,
    /// The last.
    pub last: i64,
    /// The number of the first there.
    pub was: i64,
    /// The job.
    pub job: i64,
}

/// What stands beside rows and has no leaf of its own.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Beside {
    /// Texts that the rows refer to, each once. A text that came with earlier rows comes again.
    pub texts: Vec<StoredText>,
    /// Whose process asked for rows, where the first of them is among these.
    pub callers: Vec<StoredCaller>,
    /// Jobs that came from elsewhere, where they are opened among these.
    pub imports: Vec<StoredImport>,
    /// The runs of such jobs.
    pub runs: Vec<StoredRun>,
    /// Pictures and papers that are attached in these rows. [`super::Reader::paper`] has their bytes.
    pub papers: Vec<PaperFact>,
}
