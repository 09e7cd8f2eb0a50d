//! Rows of one bench out of the shop, as they are stored on that bench.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use bench::Seq;
use record::{
    Beside, Made, PapersAtHand, Reader, StoredCaller, StoredFact, StoredImport, StoredRow,
    StoredRun, StoredSeal, StoredText,
};
use tokio_postgres::Row;
use tokio_postgres::types::{FromSql, ToSql};

use super::look::LookError;
use super::position;
use super::rows::{self, FACT, Forms, READING};
use super::session::Session;
use super::trouble::{Trouble, TroubleKind};

/// The readings that come along with jobs.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(super) enum WithReadings {
    /// None.
    #[default]
    None,
    /// Those of jobs that are open.
    OfOpenJobs,
    /// All.
    All,
}

/// Which rows of a bench are wanted, by their numbers.
#[derive(Debug, Clone, Default)]
pub(super) struct Wanted {
    /// Jobs, with everything about them.
    pub(super) jobs: BTreeSet<i64>,
    pub(super) readings: WithReadings,
    /// Alerts, with the names of what they are about.
    pub(super) alerts: Vec<i64>,
    /// Readings without a job.
    pub(super) loose: Vec<i64>,
    /// Whether alerts about damage to the record are wanted.
    pub(super) damage: bool,
    /// Whether the bytes of pictures and papers and the seals come along, which a report shows.
    pub(super) report: bool,
}

/// A value of a row.
pub(super) fn col<'r, T: FromSql<'r>>(row: &'r Row, at: usize) -> Result<T, Trouble> {
    row.try_get(at).map_err(|error| unknown(&error))
}

fn unknown(error: &tokio_postgres::Error) -> Trouble {
    let text = format!("the record of the shop is not as this program knows it: {error}");
    Trouble::new(TroubleKind::Refused, text, "see its step with: tenths shop migrate")
}

fn fact(row: &Row) -> Result<Option<StoredFact>, Trouble> {
    match rows::fact(row).map_err(|error| unknown(&error))? {
        StoredRow::Fact(fact) => Ok(Some(fact)),
        StoredRow::Reading(_) | StoredRow::Lost(_) => Ok(None),
    }
}

fn reading(row: &Row, forms: &Forms) -> Result<StoredRow, Trouble> {
    let known: i32 = col(row, 8)?;
    let form = forms.form(known).ok_or_else(|| {
        let seq: i64 = col(row, 0).unwrap_or_default();
        let text =
            format!("the record of the shop is damaged: the form of reading {seq} is missing");
        Trouble::new(TroubleKind::Refused, text, "put a copy of the database in its place")
    })?;
    rows::reading(row, |_| Arc::clone(form)).map_err(|error| unknown(&error))
}

/// The rows of one bench, in one state of the shop.
pub(super) struct Of<'s> {
    pub(super) session: &'s Session,
    pub(super) bench: &'s str,
}

impl Of<'_> {
    /// Rows of a query whose `$1` is the bench and whose `$2` are numbers.
    fn rows(&self, sql: &str, numbers: &[i64]) -> Result<Vec<Row>, Trouble> {
        if numbers.is_empty() {
            return Ok(Vec::new());
        }
        self.session.rows(sql, &[&self.bench, &numbers])
    }

    fn facts(&self, which: &str, numbers: &[i64]) -> Result<Vec<StoredFact>, Trouble> {
        let sql = format!("SELECT {FACT} FROM fact WHERE bench = $1 AND {which}");
        self.rows(&sql, numbers)?.iter().filter_map(|row| fact(row).transpose()).collect()
    }

    fn readings(
        &self,
        which: &str,
        values: &[&(dyn ToSql + Sync)],
        forms: &mut Forms,
    ) -> Result<Vec<StoredRow>, Trouble> {
        let sql = format!("SELECT {READING} FROM reading WHERE bench = $1 AND {which}");
        let rows = self.session.rows(&sql, values)?;
        let known = forms.of_readings(self.client(), self.bench, &rows);
        self.session.wait(known).map_err(|error| self.session.trouble(&error))?;
        rows.iter().map(|row| reading(row, forms)).collect()
    }

    /// Every row numbered from one to another, in order. A reading whose form is not there does not fit its seal.
    pub(super) fn span(
        &self,
        span: (i64, i64),
        forms: &mut Forms,
    ) -> Result<Vec<StoredRow>, Trouble> {
        let rows = rows::between(self.client(), self.bench, span, forms);
        self.session.wait(rows).map_err(|error| self.session.trouble(&error))
    }

    /// The newest row; 0 where the bench has none in the shop.
    pub(super) fn newest(&self) -> Result<i64, Trouble> {
        let newest = position::newest(self.client(), self.bench);
        self.session.wait(newest).map_err(|error| self.session.trouble(&error))
    }

    /// The newest row, and the seal after it: that before its block, carried on over the rows since.
    fn end(&self) -> Result<(Seq, [u8; 32]), Trouble> {
        let newest = self.newest()?;
        let mut forms = Forms::default();
        let end = position::end_at(self.client(), self.bench, newest, &mut forms);
        let end = self.session.wait(end).map_err(|error| self.session.trouble(&error))?;
        Ok(end.sealed())
    }

    const fn client(&self) -> &tokio_postgres::Client {
        self.session.client()
    }

    /// What stands beside some facts and readings.
    fn beside(&self, rows: &BTreeMap<i64, StoredRow>, jobs: &[i64]) -> Result<Beside, Trouble> {
        let facts = rows.values().filter_map(|row| match row {
            StoredRow::Fact(fact) => Some(fact),
            StoredRow::Reading(_) | StoredRow::Lost(_) => None,
        });
        let digests: BTreeSet<[u8; 32]> = facts.filter_map(StoredFact::text_digest).collect();
        let digests: Vec<Vec<u8>> = digests.into_iter().map(|one| one.to_vec()).collect();
        // Nobody asked for a reading of a gauge; the others are few.
        let asked = rows.values().filter(|row| match row {
            StoredRow::Fact(_) => true,
            StoredRow::Reading(reading) => reading.form.source == "keyed",
            StoredRow::Lost(_) => false,
        });
        let asked: Vec<i64> = asked.map(|row| row.seq().0.cast_signed()).collect();
        let callers = "SELECT DISTINCT c.first, c.last, c.uid, c.pid, c.login, c.elsewhere, c.sum
            FROM unnest($2::bigint[]) AS s (seq), LATERAL (SELECT * FROM caller
                WHERE bench = $1 AND first <= s.seq ORDER BY first DESC LIMIT 1) c
            WHERE c.last >= s.seq";
        let imports =
            "SELECT job, wall, digest, sum FROM import WHERE bench = $1 AND job = ANY($2)";
        let runs =
            "SELECT first, last, was, job FROM import_run WHERE bench = $1 AND job = ANY($2)";
        Ok(Beside {
            texts: self.texts(&digests)?,
            callers: self.rows(callers, &asked)?.iter().map(caller).collect::<Result<_, _>>()?,
            imports: self.rows(imports, jobs)?.iter().map(import).collect::<Result<_, _>>()?,
            runs: self.rows(runs, jobs)?.iter().map(run).collect::<Result<_, _>>()?,
            papers: Vec::new(),
        })
    }

    fn texts(&self, digests: &[Vec<u8>]) -> Result<Vec<StoredText>, Trouble> {
        let sql = "SELECT digest, text FROM pinned WHERE bench = $1 AND digest = ANY($2)";
        let rows = self.session.rows(sql, &[&self.bench, &digests])?;
        rows.iter().map(text).collect()
    }

    /// What stands beside the rows numbered from one to another.
    pub(super) fn beside_span(
        &self,
        (first, last): (i64, i64),
        rows: &[StoredRow],
    ) -> Result<Beside, Trouble> {
        let values: [&(dyn ToSql + Sync); 3] = [&self.bench, &first, &last];
        let facts = rows.iter().filter_map(|row| match row {
            StoredRow::Fact(fact) => fact.text_digest(),
            StoredRow::Reading(_) | StoredRow::Lost(_) => None,
        });
        let digests: BTreeSet<[u8; 32]> = facts.collect();
        let digests: Vec<Vec<u8>> = digests.into_iter().map(|one| one.to_vec()).collect();
        let within = |columns: &str, table: &str, key: &str| {
            let sql = format!(
                "SELECT {columns} FROM {table} WHERE bench = $1 AND {key} BETWEEN $2 AND $3"
            );
            self.session.rows(&sql, &values)
        };
        let callers = within("first, last, uid, pid, login, elsewhere, sum", "caller", "first")?;
        let imports = within("job, wall, digest, sum", "import", "job")?;
        let runs = within("first, last, was, job", "import_run", "first")?;
        Ok(Beside {
            texts: self.texts(&digests)?,
            callers: callers.iter().map(caller).collect::<Result<_, _>>()?,
            imports: imports.iter().map(import).collect::<Result<_, _>>()?,
            runs: runs.iter().map(run).collect::<Result<_, _>>()?,
            papers: Vec::new(),
        })
    }

    /// The bytes of a picture or a paper.
    pub(super) fn paper(&self, kept_as: &str) -> Result<Option<Vec<u8>>, Trouble> {
        let sql = "SELECT bytes FROM paper WHERE bench = $1 AND kept_as = $2";
        let rows = self.session.rows(sql, &[&self.bench, &kept_as])?;
        rows.first().map(|row| col(row, 0)).transpose()
    }

    /// The wanted rows, as a record in memory.
    pub(super) fn slice(&self, wanted: &Wanted) -> Result<Reader, LookError> {
        let jobs: Vec<i64> = wanted.jobs.iter().copied().collect();
        let mut rows = BTreeMap::new();
        let mut add = |facts: Vec<StoredFact>| {
            for fact in facts {
                rows.insert(fact.seq, StoredRow::Fact(fact));
            }
        };
        let mut facts = self.facts("job = ANY($2)", &jobs)?;
        facts.extend(self.facts("seq = ANY($2)", &wanted.alerts)?);
        if wanted.damage {
            let damage =
                "kind = 'alert-raised' AND key LIKE '{\"record\":%' AND $2::bigint[] IS NOT NULL";
            facts.extend(self.facts(damage, &[0])?);
        }
        let alerts: Vec<&StoredFact> =
            facts.iter().filter(|fact| fact.kind == "alert-raised").collect();
        let numbers: Vec<i64> = alerts.iter().map(|fact| fact.seq).collect();
        let steps = "about = ANY($2) AND kind IN ('alert-seen', 'alert-cleared')";
        let steps = self.facts(steps, &numbers)?;
        let about = alerts.iter().flat_map(|fact| [fact.job, fact.attempt]).flatten();
        let about: BTreeSet<i64> = about.collect();
        let mut of_jobs = wanted.jobs.clone();
        of_jobs.extend(alerts.iter().filter_map(|fact| fact.job));
        let about = self.facts("seq = ANY($2)", &about.into_iter().collect::<Vec<_>>())?;
        let marks = self.facts("about = ANY($2) AND kind = 'marked'", &wanted.loose)?;
        let with_readings = match wanted.readings {
            WithReadings::None => Vec::new(),
            WithReadings::OfOpenJobs => open(&facts, &jobs),
            WithReadings::All => jobs.clone(),
        };
        for some in [facts, steps, about, marks] {
            add(some);
        }
        let mut forms = Forms::default();
        for (which, numbers) in
            [("job = ANY($2)", &with_readings), ("seq = ANY($2)", &wanted.loose)]
        {
            if !numbers.is_empty() {
                let readings = self.readings(which, &[&self.bench, numbers], &mut forms)?;
                let number = |one: &StoredRow| one.seq().0.cast_signed();
                rows.extend(readings.into_iter().map(|one| (number(&one), one)));
            }
        }
        let files: Vec<i64> = forms.all().map(|form| form.file).filter(|file| *file > 0).collect();
        for file in self.facts("seq = ANY($2)", &files)? {
            rows.insert(file.seq, StoredRow::Fact(file));
        }
        let of_jobs: Vec<i64> = of_jobs.into_iter().collect();
        let beside = self.beside(&rows, &of_jobs)?;
        let rows: Vec<StoredRow> = rows.into_values().collect();
        let mut made = Made::in_memory(&format!("the record of bench {} in the shop", self.bench))?;
        made.take(&rows, &beside)?;
        if !wanted.report {
            return Ok(made.opened((Seq(0), [0; 32]), PapersAtHand::default())?);
        }
        made.seals(&self.seals_after(&jobs)?)?;
        let mut papers = PapersAtHand::default();
        for paper in made.papers()? {
            let kept_as = paper.attached.paper.kept_as();
            if let Some(bytes) = self.paper(&kept_as)? {
                papers.0.insert(kept_as, bytes);
            }
        }
        Ok(made.opened(self.end()?, papers)?)
    }

    /// The seal after the block of the newest row of each job, where that block is complete.
    fn seals_after(&self, jobs: &[i64]) -> Result<Vec<StoredSeal>, Trouble> {
        let sql = "SELECT DISTINCT s.block, s.seal FROM unnest($2::bigint[]) AS j (job),
            LATERAL (SELECT greatest(j.job,
                (SELECT max(seq) FROM fact WHERE bench = $1 AND job = j.job),
                (SELECT max(seq) FROM reading WHERE bench = $1 AND job = j.job)) AS last) n,
            LATERAL (SELECT block, seal FROM seal
                WHERE bench = $1 AND block >= n.last / 256 ORDER BY block LIMIT 1) s";
        let rows = self.rows(sql, jobs)?;
        let seal = |row: &Row| {
            Ok(StoredSeal { block: col(row, 0)?, seal: col(row, 1)?, tags: Vec::new() })
        };
        rows.iter().map(seal).collect()
    }
}

/// The jobs that are open according to these facts.
fn open(facts: &[StoredFact], jobs: &[i64]) -> Vec<i64> {
    let mut newest: BTreeMap<i64, (i64, bool)> = BTreeMap::new();
    for fact in facts {
        let closes = fact.kind == "job-closed";
        if let Some(job) = fact.job.filter(|_| closes || fact.kind == "job-reopened") {
            let known = newest.entry(job).or_insert((0, false));
            if fact.seq > known.0 {
                *known = (fact.seq, closes);
            }
        }
    }
    let is_open = |job: &&i64| newest.get(*job).is_none_or(|(_, closed)| !closed);
    jobs.iter().filter(is_open).copied().collect()
}

fn text(row: &Row) -> Result<StoredText, Trouble> {
    let digest: Vec<u8> = col(row, 0)?;
    Ok(StoredText { digest: digest.try_into().unwrap_or_default(), text: col(row, 1)? })
}

fn caller(row: &Row) -> Result<StoredCaller, Trouble> {
    Ok(StoredCaller {
        first: col(row, 0)?,
        last: col(row, 1)?,
        uid: col(row, 2)?,
        pid: col(row, 3)?,
        login: col(row, 4)?,
        elsewhere: col(row, 5)?,
        sum: col(row, 6)?,
    })
}

fn import(row: &Row) -> Result<StoredImport, Trouble> {
    Ok(StoredImport {
        job: col(row, 0)?,
        wall: col(row, 1)?,
        digest: col(row, 2)?,
        sum: col(row, 3)?,
    })
}

fn run(row: &Row) -> Result<StoredRun, Trouble> {
    Ok(StoredRun { first: col(row, 0)?, last: col(row, 1)?, was: col(row, 2)?, job: col(row, 3)? })
}
