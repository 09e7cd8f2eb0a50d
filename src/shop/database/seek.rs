//! Lists over the whole shop, in pieces: the database says in which stretch of time the next rows lie and which
//! jobs they are of; the rows of those jobs are fetched, and the question of the bench is asked of them.

use std::collections::{BTreeMap, BTreeSet};

use bench::Seq;
use quantity::Wall;
use record::{AlertStage, Filter, Reader};
use tokio_postgres::types::ToSql;

use super::fetch::{Wanted, WithReadings, col};
use super::look::{Jobs, Look, LookError};
use super::trouble::Trouble;

/// What is listed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Listed {
    /// Readings.
    Readings,
    /// Verdicts.
    Verdicts,
    /// Alerts.
    Alerts,
    /// Jobs.
    Jobs,
}

/// A piece of a list: a record of one bench that has what lies in it, and what to ask it for.
#[derive(Debug)]
pub struct Piece {
    /// The bench.
    pub bench: String,
    /// The record.
    pub record: Reader,
    /// The filter with the limits of the piece.
    pub filter: Filter,
}

/// A list, in pieces that do not overlap: the newest first where a limit keeps the newest, otherwise the oldest
/// first. Within a piece the order is that of the bench.
#[derive(Debug)]
pub struct Seek<'l> {
    look: &'l Look,
    listed: Listed,
    filter: Filter,
    /// The jobs that are meant, where they are named.
    meant: Option<Jobs>,
    /// What is left: from a value on, before another one.
    left: Option<(i64, i64)>,
    /// How many rows of its sort the next piece has.
    size: i64,
}

/// The most rows of its sort in one piece.
const LARGEST: i64 = 16_384;

impl Listed {
    /// The rows of this sort, and their number of a piece where everything is wanted.
    const fn table(self) -> (&'static str, i64) {
        match self {
            Self::Readings => ("reading r WHERE true", 8192),
            Self::Verdicts => ("fact r WHERE r.kind = 'verdict'", 512),
            Self::Alerts => ("fact r WHERE r.kind = 'alert-raised'", 2048),
            Self::Jobs => ("fact r WHERE r.kind = 'job-opened'", 256),
        }
    }

    const fn readings(self) -> WithReadings {
        match self {
            Self::Readings | Self::Verdicts => WithReadings::All,
            Self::Jobs => WithReadings::OfOpenJobs,
            Self::Alerts => WithReadings::None,
        }
    }
}

impl<'l> Seek<'l> {
    /// Begins a list.
    ///
    /// # Errors
    /// No such job, serial number, person or customer, jobs of several benches where one is named, or what the
    /// database says.
    pub fn begin(look: &'l Look, listed: Listed, filter: &Filter) -> Result<Self, LookError> {
        let meant = look.meant(filter)?;
        let number = |seq: Seq| i64::try_from(seq.0).unwrap_or(i64::MAX);
        // The numbers of one bench are in the order in which it stored; over several benches only time is.
        let left = if look.bench.is_some() {
            (
                filter.after.map_or(0, |after| number(after).saturating_add(1)),
                filter.before.map_or(i64::MAX, number),
            )
        } else {
            let micros = |wall: Option<Wall>, otherwise| wall.map_or(otherwise, Wall::micros);
            (micros(filter.since, i64::MIN), micros(filter.until, i64::MAX))
        };
        let asked = filter.first.or(filter.last);
        // Of readings and verdicts some are left out by what only the whole job tells; of the others hardly any.
        let more = match listed {
            Listed::Readings | Listed::Verdicts => 2,
            Listed::Alerts | Listed::Jobs => 1,
        };
        let size = asked.map_or(listed.table().1, |asked| {
            i64::try_from(asked).unwrap_or(LARGEST).saturating_mul(more).clamp(16, LARGEST)
        });
        Ok(Self { look, listed, filter: filter.clone(), meant, left: Some(left), size })
    }

    /// Whether the newest rows come first.
    const fn backwards(&self) -> bool {
        self.filter.first.is_none() && self.filter.last.is_some()
    }

    const fn axis(&self) -> &'static str {
        if self.look.bench.is_some() { "r.seq" } else { "r.wall" }
    }

    /// The next piece of each bench concerned; `None` at the end. A piece may have nothing in it.
    ///
    /// # Errors
    /// What the database says, or what was fetched cannot be read.
    pub fn advance(&mut self) -> Result<Option<Vec<Piece>>, LookError> {
        let Some((low, high)) = self.left.take() else { return Ok(None) };
        if let Some(meant) = self.meant.take() {
            return self.of_jobs(meant).map(Some);
        }
        if low >= high {
            return Ok(None);
        }
        let (from, to) = self.stretch((low, high))?;
        self.left = if (from, to) == (low, high) {
            None
        } else if self.backwards() {
            Some((low, from))
        } else {
            Some((to, high))
        };
        self.size = self.size.saturating_mul(4).min(LARGEST);
        self.pieces((from, to)).map(Some)
    }

    /// Jobs that are meant by their names are one piece: their rows are few beside the shop's.
    fn of_jobs(&self, meant: Jobs) -> Result<Vec<Piece>, LookError> {
        let alone = meant.len() == 1 && self.look.bench.is_some();
        let filter = if alone {
            self.filter.clone()
        } else {
            Filter { first: None, last: None, ..self.filter.clone() }
        };
        let piece = |(bench, jobs): (String, BTreeSet<i64>)| {
            let (readings, damage) = (self.listed.readings(), self.listed == Listed::Jobs);
            let wanted = Wanted { jobs, readings, damage, ..Wanted::default() };
            let record = self.look.of(&bench).slice(&wanted)?;
            Ok(Piece { bench, record, filter: filter.clone() })
        };
        meant.into_iter().map(piece).collect()
    }

    /// The condition on rows of this sort, with the values of it after the first three.
    fn which(&self) -> (String, Option<&str>) {
        let axis = self.axis();
        let (table, _) = self.listed.table();
        let mut sql = format!(
            "{table} AND {axis} >= $1 AND {axis} < $2 AND ($3::text IS NULL OR r.bench = $3)"
        );
        let mut value = None;
        match self.listed {
            Listed::Readings => {
                if let Some(gauge) = &self.filter.gauge {
                    value = Some(gauge.as_str());
                    sql += " AND EXISTS (SELECT 1 FROM form f
                        WHERE f.bench = r.bench AND f.id = r.form AND f.gauge = $4)";
                }
            }
            Listed::Verdicts => {
                if let Some(word) = self.filter.word {
                    value = Some(word.text());
                    sql += " AND r.key = $4";
                }
            }
            Listed::Alerts => {
                let over = "EXISTS (SELECT 1 FROM fact c WHERE c.bench = r.bench
                    AND c.about = r.seq AND c.kind = 'alert-cleared')";
                match self.filter.stage {
                    None => {}
                    Some(AlertStage::Cleared) => sql += &[" AND ", over].concat(),
                    Some(AlertStage::Open | AlertStage::Seen) => {
                        sql += &[" AND NOT ", over].concat();
                    }
                }
            }
            Listed::Jobs => {
                let closed = "coalesce((SELECT c.kind = 'job-closed' FROM fact c
                    WHERE c.bench = r.bench AND c.job = r.seq
                    AND c.kind IN ('job-closed', 'job-reopened') ORDER BY c.seq DESC LIMIT 1), false)";
                match self.filter.open {
                    None => {}
                    Some(true) => sql += &[" AND NOT ", closed].concat(),
                    Some(false) => sql += &[" AND ", closed].concat(),
                }
            }
        }
        (sql, value)
    }

    /// Rows of this sort in a stretch; `tail` follows the conditions.
    fn rows(
        &self,
        columns: &str,
        (low, high): (i64, i64),
        tail: &str,
    ) -> Result<Vec<tokio_postgres::Row>, Trouble> {
        let (which, value) = self.which();
        let sql = format!("SELECT {columns} FROM {which} {tail}");
        let mut values: Vec<&(dyn ToSql + Sync)> = vec![&low, &high, &self.look.bench];
        if let Some(value) = &value {
            values.push(value);
        }
        self.look.session.rows(&sql, &values)
    }

    /// The stretch with the next rows: up to `size` of them, and those of the same value as the last.
    fn stretch(&self, (low, high): (i64, i64)) -> Result<(i64, i64), Trouble> {
        let (axis, backwards) = (self.axis(), self.backwards());
        let order = if backwards { "DESC" } else { "ASC" };
        let beyond = self.size - 1;
        let tail = format!("ORDER BY {axis} {order} OFFSET {beyond} LIMIT 1");
        let edge = self.rows(axis, (low, high), &tail)?;
        let Some(edge) = edge.first() else { return Ok((low, high)) };
        let edge: i64 = col(edge, 0)?;
        Ok(if backwards { (edge, high) } else { (low, edge.saturating_add(1)) })
    }

    /// The pieces of a stretch.
    fn pieces(&self, (from, to): (i64, i64)) -> Result<Vec<Piece>, LookError> {
        let mut wanted: BTreeMap<String, Wanted> = BTreeMap::new();
        let readings = self.listed.readings();
        let mut add = |rows: Vec<tokio_postgres::Row>, to: fn(&mut Wanted, i64)| {
            for row in rows {
                let new = || Wanted { readings, ..Wanted::default() };
                let of = wanted.entry(col(&row, 0)?).or_insert_with(new);
                if let Some(number) = col(&row, 1)? {
                    to(of, number);
                }
            }
            Ok::<_, Trouble>(())
        };
        let of_job = |wanted: &mut Wanted, job| {
            wanted.jobs.insert(job);
        };
        let (jobs, numbers) = ("DISTINCT r.bench, r.job", "r.bench, r.seq");
        match self.listed {
            Listed::Readings => {
                add(self.rows(jobs, (from, to), "AND r.job > 0")?, of_job)?;
                let loose = self.rows(numbers, (from, to), "AND r.job = 0")?;
                add(loose, |wanted, number| wanted.loose.push(number))?;
            }
            Listed::Verdicts => add(self.rows(jobs, (from, to), "")?, of_job)?,
            Listed::Alerts => {
                let alerts = self.rows(numbers, (from, to), "")?;
                add(alerts, |wanted, number| wanted.alerts.push(number))?;
            }
            Listed::Jobs => add(self.rows(numbers, (from, to), "")?, |wanted, job| {
                wanted.damage = true;
                wanted.jobs.insert(job);
            })?,
        }
        let filter = self.within((from, to));
        let piece = |(bench, wanted): (String, Wanted)| {
            let record = self.look.of(&bench).slice(&wanted)?;
            Ok(Piece { bench, record, filter: filter.clone() })
        };
        wanted.into_iter().map(piece).collect()
    }

    /// The filter with the limits of a stretch.
    fn within(&self, (from, to): (i64, i64)) -> Filter {
        let filter = Filter { first: None, last: None, ..self.filter.clone() };
        if self.look.bench.is_some() {
            let seq = |number: i64| Seq(number.max(0).cast_unsigned());
            let after = (from > 0).then(|| seq(from - 1));
            return Filter { after, before: Some(seq(to)), ..filter };
        }
        let since = (from > i64::MIN).then(|| Wall::from_micros(from));
        let until = (to < i64::MAX).then(|| Wall::from_micros(to));
        Filter { since, until, ..filter }
    }
}
