//! Writes readings into their two tables; they are most of a record.

use std::iter;
use std::sync::{Arc, LazyLock};

use rusqlite::{CachedStatement, Connection, OptionalExtension};

use super::{Pen, Written, faulty, int};
use crate::compact;
use crate::compact::{Times, counted};
use crate::seals::{Ink, ReadingInk, Words};
use crate::stored::{StoredForm, StoredReading};
use bench::row::{Body, Reading, Source};
use bench::{Row, Seq};
use quantity::{Name, Quoted, Unit, Wall};

/// How many readings go into a table with one statement: it finds the place in the table once for all of
/// them. More of them would gain nothing.
const AT_ONCE: usize = 32;

/// How many are sent to their seals together, so that the other thread is woken once for all.
const SEALED_AT_ONCE: usize = 16 * AT_ONCE;

/// The statements that find and that add a form.
const FIND_FORM: &str =
    "SELECT id FROM form WHERE gauge = ?1 AND unit = ?2 AND places = ?3 AND counts = ?4
    AND source = ?5 AND file = ?6 AND by_whom = ?7";
const ADD_FORM: &str = "INSERT INTO form (gauge, unit, places, counts, source, file, by_whom)
    VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7)";

/// The two statements of a table, for one reading and for [`AT_ONCE`].
struct Sql {
    one: String,
    many: String,
}

impl Sql {
    fn new(into: &str, columns: usize) -> Self {
        let values = format!("({})", vec!["?"; columns].join(", "));
        let one = format!("INSERT INTO {into} VALUES {values}");
        let more = format!(", {values}").repeat(AT_ONCE - 1);
        // When a row is refused the whole transaction is taken back, so the database need not keep what it
        // would need to take back a single statement.
        Self { many: format!("INSERT OR FAIL INTO {into} VALUES {values}{more}"), one }
    }
}

static READING: LazyLock<Sql> = LazyLock::new(|| {
    let columns = "job, nth, back, form, number, mono, drift, place, as_sent";
    Sql::new(&format!("reading ({columns})"), 9)
});
static MORE: LazyLock<Sql> =
    LazyLock::new(|| Sql::new("reading_more (reading, line, measured_at, why)", 4));

/// The newest of each thing that readings refer to, and the statements that write them: finding a statement
/// by its text takes about as long as running it. Rows only add to the facts it was read from.
#[derive(Default)]
pub(super) struct Memo<'a> {
    form: Option<(Form, Arc<[u8]>, i64)>,
    stored_form: Option<(Arc<StoredForm>, Arc<[u8]>, i64)>,
    attempt: Option<((Seq, Option<Seq>), Times)>,
    job: Option<Seq>,
    reading: Kept<'a>,
    more: Kept<'a>,
}

/// The two statements of a table, prepared when they are needed.
#[derive(Default)]
struct Kept<'a> {
    one: Option<CachedStatement<'a>>,
    many: Option<CachedStatement<'a>>,
}

/// What many readings share.
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

/// A reading in the form of its tables.
pub(crate) struct Line<'r> {
    numbers: [i64; 8],
    as_sent: &'r str,
    more: Option<More<'r>>,
    /// The words of its form as they enter the seals.
    form: Arc<[u8]>,
}

impl Line<'_> {
    /// Adds the values of its tables, with the words of its form, to the seals.
    pub(super) fn sealed(&self, ink: &mut Ink) {
        let [job, nth, back, _, number, mono, drift, place] = self.numbers;
        let more = self.more.as_ref().map(|more| (more.line, more.measured_at, more.why));
        let text = self.as_sent;
        let reading = ReadingInk { job, nth, back, number, mono, drift, place, text, more };
        ink.reading(&reading, &self.form);
    }
}

impl Form {
    /// Its words as they enter the seals.
    fn sealed(&self) -> Arc<[u8]> {
        let words = Words {
            gauge: self.gauge.as_str(),
            unit: self.unit.symbol(),
            places: self.places.into(),
            counts: self.counts,
            source: self.source,
            file: self.file,
            by_whom: self.by.as_ref().map_or("", Name::as_str),
        };
        words.sealed().into()
    }
}

/// Details that most readings do not have.
struct More<'r> {
    reading: i64,
    line: Option<i64>,
    measured_at: Option<i64>,
    why: Option<&'r str>,
}

/// A value that fills the columns of one row of a table.
trait Fills {
    /// Gives a statement its values, after this many others.
    fn fill(&self, statement: &mut CachedStatement<'_>, after: usize) -> Written;
    /// The number of these columns.
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

/// Writes rows of one table, [`AT_ONCE`] at a time, the rest one by one.
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

impl<'a> Pen<'a> {
    /// Writes rows that are all readings.
    pub(super) fn readings(&mut self, rows: &'a [Row]) -> Written {
        for rows in rows.chunks(SEALED_AT_ONCE) {
            let mut lines = Vec::with_capacity(rows.len());
            for row in rows {
                if let Body::Reading(reading) = &row.body {
                    lines.push(self.line(row, reading)?);
                }
            }
            self.lines(lines)?;
        }
        Ok(())
    }

    pub(super) fn reading(&mut self, row: &'a Row, reading: &'a Reading) -> Written {
        let line = self.line(row, reading)?;
        self.lines(vec![line])
    }

    fn lines(&mut self, lines: Vec<Line<'a>>) -> Written {
        let Memo { reading, more, .. } = &mut self.memo;
        for lines in lines.chunks(AT_ONCE) {
            written(self.conn, (reading, &*READING), lines.iter())?;
            let with_more: Vec<&More<'_>> =
                lines.iter().filter_map(|line| line.more.as_ref()).collect();
            written(self.conn, (more, &*MORE), with_more.into_iter())?;
        }
        self.seal(lines);
        Ok(())
    }

    /// Writes readings that are stored elsewhere already, as they are.
    pub(super) fn stored_readings(
        &mut self,
        readings: impl ExactSizeIterator<Item = &'a StoredReading>,
    ) -> Written {
        let mut lines = Vec::with_capacity(readings.len());
        for reading in readings {
            lines.push(self.stored_line(reading)?);
        }
        self.lines(lines)
    }

    fn stored_line<'r>(&mut self, reading: &'r StoredReading) -> rusqlite::Result<Line<'r>> {
        let StoredReading { job, nth, back, number, mono, drift, place, .. } = *reading;
        let (id, form) = match &self.memo.stored_form {
            Some((known, words, id)) if *known == reading.form => (*id, Arc::clone(words)),
            _ => {
                let form = &reading.form;
                let values = (&form.gauge, &form.unit, form.places, &form.counts);
                let (gauge, unit, places, counts) = values;
                let whose = (&form.source, form.file, &form.by_whom);
                let values = (gauge, unit, places, counts, whose.0, whose.1, whose.2);
                let id = self.id(FIND_FORM, ADD_FORM, values)?;
                let words: Arc<[u8]> = form.words().sealed().into();
                self.memo.stored_form = Some((Arc::clone(form), Arc::clone(&words), id));
                (id, words)
            }
        };
        let numbers = [job, nth, back, id, number, mono, drift, place];
        let more = reading.more.as_ref().map(|more| More {
            reading: reading.seq(),
            line: more.line,
            measured_at: more.measured_at,
            why: more.why.as_deref(),
        });
        Ok(Line { numbers, as_sent: &reading.as_sent, more, form })
    }

    fn line<'r>(&mut self, row: &Row, reading: &'r Reading) -> rusqlite::Result<Line<'r>> {
        let (source, file, line) = match reading.source {
            Source::Serial => ("serial", 0, None),
            Source::Drop { file, line } => ("drop", int(file), Some(i64::from(line))),
            Source::Keyed => ("keyed", 0, None),
        };
        let (number, counts) = counted(reading.value);
        let (id, form) = self.form(reading, counts, (source, file, row.by.as_ref()))?;
        let base = match reading.attempt {
            Some(attempt) => self.began_at(attempt, reading.job)?,
            None => Times::default(),
        };
        let times = Times::of(row.at).minus(base);
        let job = reading.job.map_or(Ok(0), |job| self.is_job(job).map(|()| int(job)))?;
        let nth = int(row.seq) - job;
        let back = reading.attempt.map_or(0, |attempt| int(row.seq) - int(attempt));
        let place = compact::state_code(reading.state)
            + reading.position.map_or(0, |position| compact::STATES * (i64::from(position) + 1));
        let numbers = [job, nth, back, id, number, times.mono, times.drift, place];
        let (measured_at, why) = (reading.measured_at.map(Wall::micros), reading.why.as_deref());
        let any = line.is_some() || measured_at.is_some() || why.is_some();
        let more = any.then(|| More { reading: int(row.seq), line, measured_at, why });
        Ok(Line { numbers, as_sent: &reading.as_sent, more, form })
    }

    fn form(
        &mut self,
        reading: &Reading,
        counts: &'static str,
        (source, file, by): (&'static str, i64, Option<&Name>),
    ) -> rusqlite::Result<(i64, Arc<[u8]>)> {
        let Quoted { unit, places, .. } = reading.value;
        if let Some((form, sealed, id)) = &self.memo.form
            && (form.unit, form.places, form.counts) == (unit, places, counts)
            && (form.source, form.file, form.by.as_ref()) == (source, file, by)
            && form.gauge == reading.gauge
        {
            return Ok((*id, Arc::clone(sealed)));
        }
        let whom = by.map_or("", Name::as_str);
        let values = (reading.gauge.as_str(), unit.symbol(), places, counts, source, file, whom);
        let id = self.id(FIND_FORM, ADD_FORM, values)?;
        let (gauge, by) = (reading.gauge.clone(), by.cloned());
        let form = Form { gauge, unit, places, counts, source, file, by };
        let sealed = form.sealed();
        self.memo.form = Some((form, Arc::clone(&sealed), id));
        Ok((id, sealed))
    }

    fn began_at(&mut self, attempt: Seq, job: Option<Seq>) -> rusqlite::Result<Times> {
        if let Some((of, times)) = self.memo.attempt
            && of == (attempt, job)
        {
            return Ok(times);
        }
        let sql =
            "SELECT wall, mono FROM fact WHERE seq = ?1 AND job IS ?2 AND kind = 'attempt-began'";
        let mut statement = self.conn.prepare_cached(sql)?;
        let times = statement.query_row((int(attempt), job.map(int)), |row| {
            Ok(Times::from_columns(row.get(0)?, row.get(1)?))
        });
        let missing = || faulty(format!("there is no attempt {attempt} of its job"));
        let times = times.optional()?.ok_or_else(missing)?;
        self.memo.attempt = Some(((attempt, job), times));
        Ok(times)
    }

    /// Refuses a reading whose job does not exist.
    fn is_job(&mut self, job: Seq) -> Written {
        if self.memo.job != Some(job) {
            self.points_to(job, "job-opened")?;
            self.memo.job = Some(job);
        }
        Ok(())
    }
}
