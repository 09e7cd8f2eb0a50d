//! The compact form of a reading, and back.

use std::sync::Arc;

use super::fact::by_whom;
use super::pieces::Pieces;
use super::read::{Read, SqlRow, damaged, known, name, number};
use super::stored::{StoredForm, StoredMore, StoredReading};
use super::write::{int, seq};
use bench::row::State;
use bench::row::{Body, Reading, Source};
use bench::{Row, Seq};
use quantity::Unit;
use quantity::{Length, Quoted, Stamp, Wall};

/// The two clocks as two small numbers: the steady clock, and the distance of the wall clock from it. The
/// arithmetic wraps, so that any pair of clocks can be restored.
#[derive(Clone, Copy, Default)]
pub(super) struct Times {
    pub(super) mono: i64,
    pub(super) drift: i64,
}

impl Times {
    pub(super) const fn of(at: Stamp) -> Self {
        Self::from_columns(at.wall.micros(), at.mono_us.cast_signed())
    }

    /// From the columns `wall` and `mono`.
    pub(super) const fn from_columns(wall: i64, mono: i64) -> Self {
        Self { mono, drift: wall.wrapping_sub(mono) }
    }

    pub(super) const fn minus(self, base: Self) -> Self {
        Self { mono: self.mono.wrapping_sub(base.mono), drift: self.drift.wrapping_sub(base.drift) }
    }

    /// The moment, where `self` counts from `base`.
    pub(super) const fn stamp(self, base: Self) -> Stamp {
        let mono = self.mono.wrapping_add(base.mono);
        let wall = self.drift.wrapping_add(base.drift).wrapping_add(mono);
        Stamp { wall: Wall::from_micros(wall), mono_us: mono.cast_unsigned() }
    }
}

/// A value as a count of its last decimal place, or of picometres where that does not fit.
pub(super) fn counted(value: Quoted) -> (i64, &'static str) {
    let picometres = value.length.picometres();
    let count = || {
        let scale = 10_i128.checked_pow(u32::from(value.places))?;
        let count = i128::from(picometres).checked_mul(scale)?;
        let count = i64::try_from(count / i128::from(value.unit.picometres())).ok()?;
        let back = Quoted::from_count(i128::from(count), value.places, value.unit).ok()?;
        (back == value).then_some(count)
    };
    count().map_or((picometres, "pm"), |count| (count, "place"))
}

/// The query for readings with everything they share with others.
pub(super) const READINGS: &str =
    "SELECT t.*, t.job + t.nth AS seq, f.gauge, f.unit, f.places, f.counts, f.source, f.file, f.by_whom,
    a.wall AS base_wall, a.mono AS base_mono, m.line, m.measured_at, m.why
    FROM reading t JOIN form f ON f.id = t.form
    LEFT JOIN fact a ON a.seq = t.job + t.nth - t.back AND t.back > 0 AND a.kind = 'attempt-began'
    LEFT JOIN reading_more m ON m.reading = t.job + t.nth";

/// The query for readings of job `?1` numbered from `?2` to `?3` in the form of their seals: the content of
/// the row, the words of its form and the details beside it, and whether there are any.
pub(super) const AS_STORED: &str = "SELECT t.job + t.nth, t.job, t.nth, t.back, t.number, t.mono, t.drift,
    t.place, t.as_sent, f.gauge, f.unit, f.places, f.counts, f.source, f.file, f.by_whom, m.line,
    m.measured_at, m.why, m.reading IS NOT NULL
    FROM reading t LEFT JOIN form f ON f.id = t.form LEFT JOIN reading_more m ON m.reading = t.job + t.nth
    WHERE t.job = ?1 AND t.nth BETWEEN ?2 - ?1 AND ?3 - ?1";

/// Readings of job `?1` numbered from `?2` to `?3`, with what stands beside them and the times of their
/// attempts.
pub(super) const WITH_TIMES: &str =
    "SELECT t.job, t.nth, t.back, t.number, t.mono, t.drift, t.place, t.as_sent, t.form,
    m.reading IS NOT NULL, m.line, m.measured_at, m.why, a.wall, a.mono, t.job + t.nth AS seq
    FROM reading t LEFT JOIN reading_more m ON m.reading = t.job + t.nth
    LEFT JOIN fact a ON a.seq = t.job + t.nth - t.back AND t.back > 0 AND a.kind = 'attempt-began'
    WHERE t.job = ?1 AND t.nth BETWEEN ?2 - ?1 AND ?3 - ?1";

/// A reading as it is stored, from a row of [`WITH_TIMES`].
pub(super) fn stored_reading(row: &SqlRow<'_>, form: Arc<StoredForm>) -> Read<StoredReading> {
    let id = seq(row.get("seq")?);
    let times = Times { mono: row.get(4)?, drift: row.get(5)? };
    let back = row.get(2)?;
    let base = match row.get::<_, Option<i64>>(13)? {
        Some(wall) => Times::from_columns(wall, row.get(14)?),
        None if back == 0 => Times::default(),
        None => return Err(damaged(id, "its attempt is missing")),
    };
    let more = if row.get(9)? {
        Some(StoredMore { line: row.get(10)?, measured_at: row.get(11)?, why: row.get(12)? })
    } else {
        None
    };
    Ok(StoredReading {
        job: row.get(0)?,
        nth: row.get(1)?,
        back,
        number: row.get(3)?,
        mono: times.mono,
        drift: times.drift,
        place: row.get(6)?,
        as_sent: row.get(7)?,
        form,
        more,
        wall: times.stamp(base).wall.micros(),
    })
}

/// How many jobs are looked up in one moment.
const JOBS: usize = 1000;

/// The first and the last number of the readings of each job, also of a missing one.
pub(super) fn numbers_of_readings(
    pieces: Pieces<'_>,
    mut take: impl FnMut(i64, i64, i64),
) -> Read<()> {
    let mut from = Some(i64::MIN);
    let sql =
        "SELECT job, min(nth), (SELECT max(nth) FROM reading m WHERE m.job = r.job) FROM reading r
        WHERE job = (SELECT min(job) FROM reading WHERE job >= ?1)";
    while from.is_some() {
        pieces.moment(|book| {
            let mut statement = book.conn.prepare_cached(sql)?;
            for _ in 0..JOBS {
                let Some(job) = from.take() else { break };
                let row = statement.query_row([job], |row| {
                    let job: Option<i64> = row.get(0)?;
                    job.map(|job| Ok((job, row.get::<_, i64>(1)?, row.get::<_, i64>(2)?)))
                        .transpose()
                })?;
                let Some((job, first, last)) = row else { break };
                from = job.checked_add(1);
                take(job, job.saturating_add(first), job.saturating_add(last));
            }
            Ok(())
        })?;
    }
    Ok(())
}

/// A reading from a row of [`READINGS`].
pub(super) fn reading(row: &SqlRow<'_>) -> Read<Row> {
    let id = seq(row.get("seq")?);
    let back: i64 = row.get("back")?;
    let base = match row.get::<_, Option<i64>>("base_wall")? {
        Some(wall) => Times::from_columns(wall, row.get("base_mono")?),
        None if back == 0 => Times::default(),
        None => return Err(damaged(id, "its attempt is missing")),
    };
    let times = Times { mono: row.get("mono")?, drift: row.get("drift")? };
    let job: i64 = row.get("job")?;
    let place: i64 = row.get("place")?;
    let position = match place / STATES {
        0 => None,
        position => Some(number(id, "position", position - 1)?),
    };
    let state = state(place % STATES);
    let reading = Reading {
        job: (job != 0).then(|| seq(job)),
        attempt: (back != 0).then(|| seq(int(id) - back)),
        gauge: name(id, &row.get::<_, String>("gauge")?)?,
        source: source(id, row)?,
        value: value(id, row)?,
        as_sent: row.get("as_sent")?,
        state: known(id, "place", &place.to_string(), state)?,
        why: row.get("why")?,
        position,
        measured_at: row.get::<_, Option<i64>>("measured_at")?.map(Wall::from_micros),
    };
    let (at, by) = (times.stamp(base), by_whom(id, row)?);
    Ok(Row { seq: id, at, by, body: Body::Reading(reading), restored: None })
}

fn source(id: Seq, row: &SqlRow<'_>) -> Read<Source> {
    let source: String = row.get("source")?;
    match source.as_str() {
        "serial" => Ok(Source::Serial),
        "keyed" => Ok(Source::Keyed),
        "drop" => {
            let line: Option<u32> = row.get("line")?;
            let line = line.ok_or_else(|| damaged(id, "the line of its file is missing"))?;
            Ok(Source::Drop { file: seq(row.get("file")?), line })
        }
        _ => Err(damaged(id, format!("source {source:?}"))),
    }
}

fn value(id: Seq, row: &SqlRow<'_>) -> Read<Quoted> {
    let unit_text: String = row.get("unit")?;
    let unit = known(id, "unit", &unit_text, unit(&unit_text))?;
    let places: u8 = row.get("places")?;
    let count: i64 = row.get("number")?;
    let counts: String = row.get("counts")?;
    match counts.as_str() {
        "pm" => Ok(Quoted { length: Length::from_picometres(count), unit, places }),
        "place" => Quoted::from_count(i128::from(count), places, unit)
            .map_err(|error| damaged(id, error.to_string())),
        _ => Err(damaged(id, format!("counts {counts:?}"))),
    }
}

/// How many states there are: the number of a position is a multiple of it. From the first release on no
/// state may be added without a step of the schema.
pub(super) const STATES: i64 = 9;
const _: () = assert!(State::ALL.len() == 9, "each state has a number below STATES");

/// The number of a state in the database, from 0: its place among all. It never changes its meaning.
pub(super) const fn state_code(state: State) -> i64 {
    state as i64
}

/// The state of a number.
pub(super) fn state(code: i64) -> Option<State> {
    State::ALL.get(usize::try_from(code).ok()?).copied()
}

/// The unit of a symbol.
pub(super) fn unit(text: &str) -> Option<Unit> {
    [Unit::Inch, Unit::Millimetre, Unit::Micrometre].into_iter().find(|unit| unit.symbol() == text)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_numbers_of_states_are_those_they_always_were() {
        let words = [
            "placed",
            "closure",
            "middle",
            "master",
            "half-turn",
            "void",
            "repeat",
            "unclaimed",
            "suspect",
        ];
        for (code, word) in (0..).zip(words) {
            assert_eq!(state(code).map(State::text), Some(word));
            assert_eq!(State::parse(word).map(state_code), Some(code));
        }
        assert_eq!((state(STATES), state(-1)), (None, None));
    }
}
