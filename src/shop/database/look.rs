//! Looking things up over the whole shop: which benches, which jobs, and their rows as records in memory, of which
//! everything is asked that is asked of a bench.

use std::collections::{BTreeMap, BTreeSet};

use config::Database;
use quantity::near;
use record::{Filter, NotAsSealed, Reader, StoreError};

use super::fetch::{Of, Wanted, WithReadings, col};
use super::session::Session;
use super::trouble::Trouble;

/// Why a look-up has no answer.
#[derive(Debug, thiserror::Error)]
pub enum LookError {
    /// The database.
    #[error("{0}")]
    Trouble(#[from] Trouble),
    /// What was fetched.
    #[error("{0}")]
    Store(#[from] StoreError),
    /// Rows of the shop that are not those that the bench sealed.
    #[error("in the record of the shop {0}")]
    NotAsSealed(#[from] NotAsSealed),
    /// No bench has this name.
    #[error("the shop has no bench {name:?}{}", told(known))]
    NoSuchBench {
        /// The name asked for.
        name: String,
        /// The benches there are.
        known: Vec<String>,
    },
    /// Jobs of several benches are meant.
    #[error("{typed:?} is a job of several benches: {}", jobs.join(", "))]
    SeveralBenches {
        /// What was asked for.
        typed: String,
        /// The jobs, each with its bench.
        jobs: Vec<String>,
    },
}

fn told(known: &[String]) -> String {
    if known.is_empty() { String::new() } else { format!("; there is {}", known.join(", ")) }
}

/// At most this many names are looked through for one that is close to a mistyped one.
const NAMES: i64 = 20_000;

/// Jobs by their benches.
pub(super) type Jobs = BTreeMap<String, BTreeSet<i64>>;

/// A job that was named, its bench, and a record with it.
#[derive(Debug)]
pub struct OneJob {
    /// The bench.
    pub bench: String,
    /// The record, with the job and those that may be meant by the same word.
    pub record: Reader,
}

/// A shop that is looked into, in the state it had when this began.
#[derive(Debug)]
pub struct Look {
    pub(super) session: Session,
    pub(super) bench: Option<String>,
}

/// A text in the form in which it is compared.
pub(super) fn plain(text: &str) -> String {
    text.trim().to_lowercase()
}

impl Look {
    /// Begins to look into the shop: into all of it, or only at one bench.
    ///
    /// # Errors
    /// The database cannot be reached, or it has no such bench.
    pub fn begin(database: &Database, bench: Option<&str>) -> Result<Self, LookError> {
        let session = Session::open(database)?;
        // What is asked for one answer is asked of one state, whatever benches add meanwhile.
        session.rows("BEGIN ISOLATION LEVEL REPEATABLE READ READ ONLY", &[])?;
        let look = Self { session, bench: bench.map(str::to_owned) };
        let Some(name) = bench else { return Ok(look) };
        let known = look.benches()?;
        if known.iter().any(|one| one == name) {
            return Ok(look);
        }
        Err(LookError::NoSuchBench { name: name.to_owned(), known })
    }

    /// Whether all benches are looked at, and not only one.
    #[must_use]
    pub const fn is_whole(&self) -> bool {
        self.bench.is_none()
    }

    /// The benches that ever added a row.
    ///
    /// # Errors
    /// What the database says.
    pub fn benches(&self) -> Result<Vec<String>, LookError> {
        let rows = self.session.rows("SELECT bench FROM bench ORDER BY bench", &[])?;
        Ok(rows.iter().map(|row| col(row, 0)).collect::<Result<_, _>>()?)
    }

    /// Every gauge that ever gave a reading.
    ///
    /// # Errors
    /// What the database says.
    pub fn gauges(&self) -> Result<BTreeSet<String>, LookError> {
        let sql = "SELECT DISTINCT gauge FROM form WHERE $1::text IS NULL OR bench = $1";
        let rows = self.session.rows(sql, &[&self.bench])?;
        Ok(rows.iter().map(|row| col(row, 0)).collect::<Result<_, _>>()?)
    }

    /// The rows of one bench.
    pub(super) const fn of<'s>(&'s self, bench: &'s str) -> Of<'s> {
        Of { session: &self.session, bench }
    }

    /// The jobs that a word means now: a later fact may have corrected an earlier one.
    fn sought(&self, what: &str, which: &str, word: &str) -> Result<Jobs, Trouble> {
        let sql = format!(
            "SELECT s.bench, s.job FROM sought s WHERE s.what = $1 AND {which}
            AND ($3::text IS NULL OR s.bench = $3)
            AND NOT EXISTS (SELECT 1 FROM sought n WHERE n.bench = s.bench AND n.job = s.job
                AND n.what = s.what AND n.seq > s.seq)"
        );
        let mut jobs = Jobs::new();
        for row in self.session.rows(&sql, &[&what, &word, &self.bench])? {
            jobs.entry(col(&row, 0)?).or_default().insert(col(&row, 1)?);
        }
        Ok(jobs)
    }

    fn with_word(&self, what: &str, typed: &str) -> Result<Jobs, Trouble> {
        self.sought(what, "s.word = $2", &plain(typed))
    }

    /// Every word of a sort, to tell one that is close to a mistyped one.
    fn words(&self, what: &str) -> Result<Vec<String>, Trouble> {
        let sql = "SELECT DISTINCT word FROM sought WHERE what = $1
            AND ($2::text IS NULL OR bench = $2) LIMIT $3";
        let rows = self.session.rows(sql, &[&what, &self.bench, &NAMES])?;
        rows.iter().map(|row| col(row, 0)).collect()
    }

    /// The names of jobs, by bench and number.
    fn names(&self, jobs: &Jobs) -> Result<BTreeMap<(String, i64), String>, Trouble> {
        let mut names = BTreeMap::new();
        for (bench, numbers) in jobs {
            let numbers: Vec<i64> = numbers.iter().copied().collect();
            let sql = "SELECT seq, key FROM fact WHERE bench = $1 AND seq = ANY($2)";
            for row in self.session.rows(sql, &[bench, &numbers])? {
                let name: Option<String> = col(&row, 1)?;
                names.insert((bench.clone(), col(&row, 0)?), name.unwrap_or_default());
            }
        }
        Ok(names)
    }

    /// The jobs that a typed word may mean, as on a bench: by the exact name, by the name in any letter case, by
    /// the serial number.
    fn named(&self, typed: &str) -> Result<Jobs, LookError> {
        let by_name = self.with_word("name", typed)?;
        let mut exact = by_name.clone();
        let names = self.names(&by_name)?;
        exact.retain(|bench, jobs| {
            jobs.retain(|job| names.get(&(bench.clone(), *job)).is_some_and(|name| name == typed));
            !jobs.is_empty()
        });
        let found = [exact, by_name].into_iter().find(|jobs| !jobs.is_empty());
        let found = match found {
            Some(found) => found,
            None => self.with_word("serial", typed)?,
        };
        if found.is_empty() {
            let near = near::names(typed, self.words("name")?);
            return Err(StoreError::NoSuchJob { name: typed.to_owned(), near }.into());
        }
        Ok(found)
    }

    /// The same, of one bench: a word that means jobs of several is refused with their benches.
    fn named_once(&self, typed: &str) -> Result<(String, BTreeSet<i64>), LookError> {
        let mut found = self.named(typed)?;
        if found.len() == 1
            && let Some(one) = found.pop_first()
        {
            return Ok(one);
        }
        let names = self.names(&found)?;
        let jobs = names.iter().map(|((bench, _), name)| format!("{name} of {bench}")).collect();
        Err(LookError::SeveralBenches { typed: typed.to_owned(), jobs })
    }

    /// The jobs that a filter means by name, serial number, customer and person; `None`: all.
    pub(super) fn meant(&self, filter: &Filter) -> Result<Option<Jobs>, LookError> {
        let mut meant: Option<Jobs> = None;
        if let Some(typed) = &filter.job {
            meant = Some(BTreeMap::from([self.named_once(typed)?]));
        }
        let whole = "s.word = $2";
        let part = "position($2 in s.word) > 0";
        for (what, typed, which) in [
            ("serial", &filter.serial, whole),
            ("person", &filter.who, whole),
            ("customer", &filter.customer, part),
            ("name", &filter.named, part),
        ] {
            let Some(typed) = typed else { continue };
            let found = self.sought(what, which, &plain(typed))?;
            if found.is_empty() {
                let near = near::names(&plain(typed), self.words(what)?);
                return Err(StoreError::NoSuchName { what, name: typed.clone(), near }.into());
            }
            meant = Some(match meant {
                None => found,
                Some(known) => both(&known, &found),
            });
        }
        Ok(meant)
    }

    /// The job that a word means, with its bench, and a record that has it.
    ///
    /// # Errors
    /// There is none, jobs of several benches are meant, or what the database says.
    pub fn job(&self, typed: &str) -> Result<OneJob, LookError> {
        let (bench, numbers) = self.named_once(typed)?;
        let wanted = Wanted { jobs: numbers, readings: WithReadings::All, ..Wanted::default() };
        let record = self.of(&bench).slice(&wanted)?;
        Ok(OneJob { bench, record })
    }

    /// The same, with the jobs of the same serial number on that bench, pictures, papers and seals: what a report
    /// needs.
    ///
    /// # Errors
    /// As there.
    pub fn job_with_its_past(&self, typed: &str) -> Result<OneJob, LookError> {
        let (bench, mut numbers) = self.named_once(typed)?;
        let heads = Wanted { jobs: numbers.clone(), ..Wanted::default() };
        let record = self.of(&bench).slice(&heads)?;
        if let Some(serial) = record.job(typed)?.serial {
            let found = self.with_word("serial", &serial)?;
            numbers.extend(found.get(&bench).into_iter().flatten());
        }
        let wanted = Wanted {
            jobs: numbers,
            readings: WithReadings::All,
            report: true,
            ..Wanted::default()
        };
        let record = self.of(&bench).slice(&wanted)?;
        Ok(OneJob { bench, record })
    }

    /// Every job of a serial number, bench by bench.
    ///
    /// # Errors
    /// There is none, or what the database says.
    pub fn jobs_of_serial(&self, serial: &str) -> Result<Vec<(String, Reader)>, LookError> {
        let filter = Filter { serial: Some(serial.to_owned()), ..Filter::default() };
        let jobs = self.meant(&filter)?.unwrap_or_default();
        let slice = |(bench, jobs): (String, BTreeSet<i64>)| {
            let wanted = Wanted { jobs, readings: WithReadings::All, ..Wanted::default() };
            let record = self.of(&bench).slice(&wanted)?;
            Ok((bench, record))
        };
        jobs.into_iter().map(slice).collect()
    }
}

/// The jobs that are in both.
fn both(some: &Jobs, others: &Jobs) -> Jobs {
    let of = |(bench, jobs): (&String, &BTreeSet<i64>)| {
        let common: BTreeSet<i64> = jobs & others.get(bench)?;
        (!common.is_empty()).then(|| (bench.clone(), common))
    };
    some.iter().filter_map(of).collect()
}
