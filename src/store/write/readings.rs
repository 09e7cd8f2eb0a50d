//! Readings into their two tables: most of what a record holds.

use std::iter;
use std::sync::LazyLock;

use rusqlite::{CachedStatement, Connection};

use super::{Pen, Written, int};
use crate::compact;
use crate::compact::{Times, counted};
use bench::row::{Body, Reading, Source};
use bench::{Row, Seq};
use quantity::{Name, Quoted, Unit, Wall};

/// So many readings go into a table with one statement: it finds the place in the table once, and
/// the rest lie behind it. More of them gain nothing.
const AT_ONCE: usize = 32;

/// What one statement writes, of one reading and of [`AT_ONCE`].
struct Sql {
    one: String,
    many: String,
}

impl Sql {
    fn new(into: &str, columns: usize) -> Self {
        let values = format!("({})", vec!["?"; columns].join(", "));
        let one = format!("INSERT INTO {into} VALUES {values}");
        let more = format!(", {values}").repeat(AT_ONCE - 1);
        // Whoever writes takes the whole transaction back where a row is refused, so that the database
        // need not keep what it takes to take back the rows of one statement.
        Self { many: format!("INSERT OR FAIL INTO {into} VALUES {values}{more}"), one }
    }
}

static READING: LazyLock<Sql> = LazyLock::new(|| {
    let columns = "short, nth, back, form, number, mono, drift, place, as_sent";
    Sql::new(&format!("reading ({columns})"), 9)
});
static MORE: LazyLock<Sql> =
    LazyLock::new(|| Sql::new("reading_more (reading, line, measured_at, why)", 4));

/// The newest of each thing that readings point to, and the statements that write them: finding those
/// by their text takes about as long as running them. Rows only add to what it was read from.
#[derive(Default)]
pub(super) struct Memo<'a> {
    form: Option<(Form, i64)>,
    attempt: Option<(Seq, Times)>,
    short: Option<(i64, i64)>,
    reading: Kept<'a>,
    more: Kept<'a>,
}

/// The two statements of a table, prepared when they are wanted.
#[derive(Default)]
struct Kept<'a> {
    one: Option<CachedStatement<'a>>,
    many: Option<CachedStatement<'a>>,
}

/// What many readings have in common.
#[derive(Clone, PartialEq)]
struct Form {
    gauge: Name,
    unit: Unit,
    places: u8,
    counts: &'static str,
    source: &'static str,
    file: i64,
    by: Option<Name>,
}

/// A reading as its tables have it.
struct Line<'r> {
    numbers: [i64; 8],
    as_sent: &'r str,
    more: Option<More<'r>>,
}

/// What is usually absent.
struct More<'r> {
    reading: i64,
    line: Option<u32>,
    measured_at: Option<i64>,
    why: Option<&'r str>,
}

/// Something that fills the columns of one row of a table.
trait Fills {
    /// Gives a statement its values, beginning after so many.
    fn fill(&self, statement: &mut CachedStatement<'_>, after: usize) -> Written;
    /// How many these are.
    const COLUMNS: usize;
}

impl Fills for Line<'_> {
    const COLUMNS: usize = 9;

    fn fill(&self, statement: &mut CachedStatement<'_>, after: usize) -> Written {
        for (at, number) in iter::zip(after + 1.., self.numbers) {
            statement.raw_bind_parameter(at, number)?;
        }
        statement.raw_bind_parameter(after + Self::COLUMNS, self.as_sent)
    }
}

impl Fills for More<'_> {
    const COLUMNS: usize = 4;

    fn fill(&self, statement: &mut CachedStatement<'_>, after: usize) -> Written {
        statement.raw_bind_parameter(after + 1, self.reading)?;
        statement.raw_bind_parameter(after + 2, self.line)?;
        statement.raw_bind_parameter(after + 3, self.measured_at)?;
        statement.raw_bind_parameter(after + 4, self.why)
    }
}

/// Writes rows of one table, one at a time or all [`AT_ONCE`].
fn written<'a, 'r, F: Fills + 'r>(
    conn: &'a Connection,
    (kept, sql): (&mut Kept<'a>, &Sql),
    rows: impl ExactSizeIterator<Item = &'r F>,
) -> Written {
    let many = rows.len() == AT_ONCE;
    let (keeps, sql) = if many { (&mut kept.many, &sql.many) } else { (&mut kept.one, &sql.one) };
    let statement = match keeps {
        Some(statement) => statement,
        None => keeps.insert(conn.prepare_cached(sql)?),
    };
    for (nth, row) in rows.enumerate() {
        row.fill(statement, if many { nth * F::COLUMNS } else { 0 })?;
        if !many {
            statement.raw_execute()?;
        }
    }
    if many { statement.raw_execute().map(drop) } else { Ok(()) }
}

impl Pen<'_> {
    /// Writes rows that are readings, all of them.
    pub(super) fn readings(&mut self, rows: &[Row]) -> Written {
        let mut lines = Vec::with_capacity(AT_ONCE.min(rows.len()));
        for rows in rows.chunks(AT_ONCE) {
            for row in rows {
                if let Body::Reading(reading) = &row.body {
                    lines.push(self.line(row, reading)?);
                }
            }
            self.lines(&lines)?;
            lines.clear();
        }
        Ok(())
    }

    pub(super) fn reading(&mut self, row: &Row, reading: &Reading) -> Written {
        let line = self.line(row, reading)?;
        self.lines(&[line])
    }

    fn lines(&mut self, lines: &[Line<'_>]) -> Written {
        let Memo { reading, more, .. } = &mut self.memo;
        written(self.conn, (reading, &*READING), lines.iter())?;
        let with_more: Vec<&More<'_>> =
            lines.iter().filter_map(|line| line.more.as_ref()).collect();
        written(self.conn, (more, &*MORE), with_more.into_iter())
    }

    fn line<'r>(&mut self, row: &Row, reading: &'r Reading) -> rusqlite::Result<Line<'r>> {
        let (source, file, line) = match reading.source {
            Source::Serial => ("serial", 0, None),
            Source::Drop { file, line } => ("drop", int(file), Some(line)),
            Source::Keyed => ("keyed", 0, None),
        };
        let (number, counts) = counted(reading.value);
        let form = self.form(reading, counts, (source, file, row.by.as_ref()))?;
        let base = match reading.attempt {
            Some(attempt) => self.began_at(attempt)?,
            None => Times::default(),
        };
        let times = Times::of(row.at).minus(base);
        let job = reading.job.map_or(0, int);
        let short = if job == 0 { 0 } else { self.short(job)? };
        let nth = int(row.seq) - job;
        let back = reading.attempt.map_or(0, |attempt| int(row.seq) - int(attempt));
        let place = compact::state_code(reading.state)
            + reading.position.map_or(0, |position| 8 * (i64::from(position) + 1));
        let numbers = [short, nth, back, form, number, times.mono, times.drift, place];
        let (measured_at, why) = (reading.measured_at.map(Wall::micros), reading.why.as_deref());
        let any = line.is_some() || measured_at.is_some() || why.is_some();
        let more = any.then(|| More { reading: int(row.seq), line, measured_at, why });
        Ok(Line { numbers, as_sent: &reading.as_sent, more })
    }

    fn form(
        &mut self,
        reading: &Reading,
        counts: &'static str,
        (source, file, by): (&'static str, i64, Option<&Name>),
    ) -> rusqlite::Result<i64> {
        let Quoted { unit, places, .. } = reading.value;
        if let Some((form, id)) = &self.memo.form
            && (form.unit, form.places, form.counts) == (unit, places, counts)
            && (form.source, form.file, form.by.as_ref()) == (source, file, by)
            && form.gauge == reading.gauge
        {
            return Ok(*id);
        }
        let whom = by.map_or("", Name::as_str);
        let id = self.id(
            "SELECT id FROM form WHERE gauge = ?1 AND unit = ?2 AND places = ?3 AND counts = ?4
             AND source = ?5 AND file = ?6 AND by_whom = ?7",
            "INSERT INTO form (gauge, unit, places, counts, source, file, by_whom)
             VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7)",
            (reading.gauge.as_str(), unit.symbol(), places, counts, source, file, whom),
        )?;
        let (gauge, by) = (reading.gauge.clone(), by.cloned());
        let form = Form { gauge, unit, places, counts, source, file, by };
        self.memo.form = Some((form, id));
        Ok(id)
    }

    fn began_at(&mut self, attempt: Seq) -> rusqlite::Result<Times> {
        if let Some((of, times)) = self.memo.attempt
            && of == attempt
        {
            return Ok(times);
        }
        let times = self
            .conn
            .prepare_cached("SELECT wall, mono FROM attempt WHERE seq = ?1")?
            .query_row([int(attempt)], |row| Ok(Times::from_columns(row.get(0)?, row.get(1)?)))?;
        self.memo.attempt = Some((attempt, times));
        Ok(times)
    }

    /// What readings call a job.
    fn short(&mut self, job: i64) -> rusqlite::Result<i64> {
        if let Some((of, short)) = self.memo.short
            && of == job
        {
            return Ok(short);
        }
        let short = self
            .conn
            .prepare_cached("SELECT short FROM job WHERE seq = ?1")?
            .query_row([job], |row| row.get(0))?;
        self.memo.short = Some((job, short));
        Ok(short)
    }
}
