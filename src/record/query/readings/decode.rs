//! A reading from its row, with what it shares with its neighbours.

use std::sync::Arc;

use crate::compact::Times;
use crate::query::Found;
use crate::query::around::Around;
use crate::query::known::{self, Form, FormSource};
use crate::query::swept;
use crate::read::{self, Book, SqlRow, damaged};
use crate::write::{int, seq};
use crate::{Place, ReadingRecord, ReadingSource, compact};
use bench::Seq;
use bench::Taps;
use bench::plan::Check;
use quantity::{Length, Quoted, Wall};

/// The details stored beside a reading, where it has any.
pub(super) struct More {
    pub(super) line: Option<u32>,
    pub(super) measured_at: Option<Wall>,
    pub(super) why: Option<String>,
}

/// Readings of one job in sequence: most share attempt and form with the one before.
pub(super) struct Series<'a> {
    pub(super) book: Book<'a>,
    pub(super) job: i64,
    of_job: Option<Place>,
    attempt: Option<Attempt>,
    form: Option<(i64, Arc<Form>)>,
}

struct Attempt {
    id: Seq,
    around: Arc<Around>,
    place: Place,
    /// The swept turns of the job, the oldest first, each before its samples.
    swept: Vec<(Seq, Arc<Taps>)>,
}

impl Attempt {
    /// The angle of the metal at a reading, degrees; for a swept turn, from its taps, and `None` where the
    /// speed was taken as constant.
    fn angle_deg(&self, check: &Check, (reading, position): (Seq, u32), at_us: u64) -> Option<f64> {
        let Some(swept) = check.swept() else {
            return check.has_angles().then(|| check.angle_deg(position));
        };
        let turn = self.swept.iter().rev().find(|(turn, _)| *turn < reading);
        let (_, taps) = turn.filter(|_| swept.knows_angles())?;
        taps.angle_deg(check.direction, at_us)
    }
}

impl<'a> Series<'a> {
    pub(super) const fn new(book: Book<'a>, job: i64) -> Self {
        Self { book, job, of_job: None, attempt: None, form: None }
    }

    /// The reading of a row: columns `nth, back, form, number, mono, drift, place, as_sent`.
    pub(super) fn reading(&mut self, row: &SqlRow<'_>) -> Found<ReadingRecord> {
        let id = seq(self.job + row.get::<_, i64>(0)?);
        let (back, form, place): (i64, i64, i64) = (row.get(1)?, row.get(2)?, row.get(6)?);
        self.change_form(id, form)?;
        self.change_attempt(id, back)?;
        let (_, form) = self.form.as_ref().ok_or_else(|| damaged(id, "its form is missing"))?;
        let times = Times { mono: row.get(4)?, drift: row.get(5)? };
        let attempt = self.attempt.as_ref();
        let began = attempt.map_or_else(Times::default, |attempt| attempt.around.at);
        let position = match place / compact::STATES {
            0 => None,
            position => Some(read::number(id, "position", position - 1)?),
        };
        let state = compact::state(place % compact::STATES);
        let at = times.stamp(began);
        let mut reading = ReadingRecord {
            id,
            at: at.wall,
            gauge: form.gauge.clone(),
            source: source(form),
            place: attempt.map(|attempt| attempt.place.clone()).or_else(|| self.of_job.clone()),
            position,
            angle_deg: None,
            radius: None,
            station: None,
            value: value(id, form, row.get(3)?)?,
            as_sent: row.get(7)?,
            state: state.ok_or_else(|| damaged(id, format!("place {place}")))?,
            why: None,
            measured_at: None,
            by: form.by.clone(),
            voided_by: None,
            voided_caller: None,
            caller: None,
        };
        if let (Some(attempt), Some(position)) = (attempt, position) {
            let check = attempt.around.check(attempt.id)?;
            reading.angle_deg = attempt.angle_deg(check, (id, position), at.mono_us);
            reading.radius = check.radius(position);
            reading.station = check.station_of(position);
        }
        Ok(reading)
    }

    fn change_form(&mut self, reading: Seq, id: i64) -> Found<()> {
        if self.form.as_ref().is_none_or(|(known, _)| *known != id) {
            self.form = Some((id, known::form(self.book, reading, id)?));
        }
        Ok(())
    }

    fn change_attempt(&mut self, reading: Seq, back: i64) -> Found<()> {
        if back == 0 {
            self.attempt = None;
            if self.job != 0 && self.of_job.is_none() {
                self.of_job = known::place(self.book, Some(seq(self.job)), None)?;
            }
            return Ok(());
        }
        let id = seq(int(reading) - back);
        if self.attempt.as_ref().is_none_or(|known| known.id != id) {
            let around = known::attempts_with(self.book, seq(self.job), id)?;
            let place = around.place(id);
            let sweeps = around.check(id)?.swept().is_some();
            let turns = || swept::turns(self.book, seq(self.job), id);
            let swept = if sweeps { turns()? } else { Vec::new() };
            self.attempt = Some(Attempt { id, around, place, swept });
        }
        Ok(())
    }
}

fn source(form: &Form) -> ReadingSource {
    match &form.source {
        FormSource::Serial => ReadingSource::Serial,
        FormSource::Keyed => ReadingSource::Keyed,
        FormSource::Drop(file) => ReadingSource::Drop { file: file.clone(), line: 0 },
    }
}

fn value(id: Seq, form: &Form, count: i64) -> Found<Quoted> {
    let Form { unit, places, .. } = *form;
    if let Some(picometres) = form.step.and_then(|step| count.checked_mul(step)) {
        return Ok(Quoted { length: Length::from_picometres(picometres), unit, places });
    }
    let value = Quoted::from_count(i128::from(count), places, unit);
    value.map_err(|error| damaged(id, error.to_string()))
}

/// Adds the details stored beside a reading.
pub(super) fn add(reading: &mut ReadingRecord, more: Option<More>) -> Found<()> {
    if let ReadingSource::Drop { line, .. } = &mut reading.source {
        let found = more.as_ref().and_then(|more| more.line);
        *line = found.ok_or_else(|| damaged(reading.id, "the line of its file is missing"))?;
    }
    if let Some(more) = more {
        (reading.measured_at, reading.why) = (more.measured_at, more.why);
    }
    Ok(())
}
