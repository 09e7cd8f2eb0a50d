//! Where the page has its data from: the record and the service of one bench, or the record of a shop.

use std::fmt::Debug;

use quantity::Unit;
use report::{JobFacts, Table};
use wire::View;

/// What the page asks for. Every question may take its time: it is asked on a thread of its own.
pub trait Source: Debug + Send + Sync + 'static {
    /// Whose page it is: the name of the bench, or of the shop.
    fn name(&self) -> String;

    /// The stations that can be followed; none where there is no service to follow.
    ///
    /// # Errors
    /// The service cannot be reached.
    fn stations(&self) -> Result<Vec<String>, Told>;

    /// Begins to follow a station.
    fn follow(&self, station: &str) -> Box<dyn Follow>;

    /// Jobs, the newest first, at most `rows`.
    ///
    /// # Errors
    /// Something that no job has, or a record that cannot be read; so for all that follows.
    fn jobs(&self, sought: &Sought, rows: usize) -> Result<Listed, Told>;

    /// Everything about one job.
    ///
    /// # Errors
    /// As [`Source::jobs`].
    fn job(&self, at: &JobAt) -> Result<JobFound, Told>;

    /// The customer's page of a job, whole.
    ///
    /// # Errors
    /// As [`Source::jobs`].
    fn report(&self, at: &JobAt) -> Result<String, Told>;

    /// Alerts that are not over, the newest first, at most `rows`; `before` as [`Listed::older`] gave it.
    ///
    /// # Errors
    /// As [`Source::jobs`].
    fn alerts(&self, before: Option<&str>, rows: usize) -> Result<Listed, Told>;
}

/// Follows a station.
pub trait Follow: Debug + Send {
    /// What the station shows: the first time at once, then when something is new, or after about a second.
    ///
    /// # Errors
    /// The service cannot be reached now; the next call tries again. A call takes at most a few seconds.
    fn next(&mut self) -> Result<Seen, Told>;
}

/// What a station shows.
#[derive(Debug)]
pub struct Seen {
    /// The screen.
    pub view: View,
    /// What it sounds like, where it has a sound.
    pub tone: Option<Tone>,
}

/// A sound, as notes.
#[derive(Debug, Clone, PartialEq)]
pub struct Tone {
    /// Pitch in hertz, 0 for a rest; length in milliseconds.
    pub notes: Vec<(f64, u32)>,
    /// Whether it has overtones.
    pub buzz: bool,
}

/// What is looked for among the jobs; what is left out does not narrow it.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Sought {
    /// A part of the job's name.
    pub name: Option<String>,
    /// The serial number of the spindle.
    pub serial: Option<String>,
    /// A part of the customer's name.
    pub customer: Option<String>,
    /// Who opened it.
    pub person: Option<String>,
    /// Opened on this day or later: `2027-03-01`.
    pub since: Option<String>,
    /// Opened on this day or before.
    pub until: Option<String>,
    /// Whether it is open.
    pub open: Option<bool>,
    /// Only jobs older than a page before, as [`Listed::older`] gave it.
    pub before: Option<String>,
}

/// Which job is meant.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct JobAt {
    /// Its name.
    pub name: String,
    /// Its bench, where there are several.
    pub bench: Option<String>,
}

/// Rows of a list, as tables at the command line have them.
#[derive(Debug)]
pub struct Listed {
    /// The rows; the column `job` leads to the job.
    pub table: Table,
    /// The job of each row.
    pub jobs: Vec<Option<JobAt>>,
    /// What the page with older rows is asked for by; `None` where there are none.
    pub older: Option<String>,
    /// What else a person has to know: damage that was left out, for example.
    pub remarks: Vec<String>,
}

/// A job, with all that is shown of it.
#[derive(Debug)]
pub struct JobFound {
    /// The job.
    pub job: JobFacts,
    /// Earlier jobs of the same serial, oldest first.
    pub earlier: Vec<JobFacts>,
    /// The unit people see.
    pub unit: Unit,
    /// Every round of every check.
    pub rounds: Table,
    /// Its bench, where there are several.
    pub bench: Option<String>,
    /// Where it stands, in words.
    pub state: String,
    /// Its alerts that are not over.
    pub alerts: Table,
}

/// Why there is no answer, for a person.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Told {
    /// What kind of refusal it is.
    pub wrong: Wrong,
    /// What is wrong.
    pub text: String,
    /// What to do.
    pub hint: Option<String>,
}

/// The kinds of refusals.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Wrong {
    /// There is no such thing.
    NotThere,
    /// What was asked for makes no sense.
    Asked,
    /// The record or the service cannot be reached now.
    Away,
}
