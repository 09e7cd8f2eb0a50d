//! Rows of a bench in the tables of the shop: written by binary `COPY`, and read back as they are stored.

use std::collections::{BTreeMap, BTreeSet};
use std::pin::pin;
use std::sync::Arc;

use record::{StoredFact, StoredForm, StoredLoss, StoredMore, StoredReading, StoredRow};
use tokio_postgres::binary_copy::BinaryCopyInWriter;
use tokio_postgres::types::Type;
use tokio_postgres::{Error, GenericClient, Row, Transaction};

/// What the database says.
pub(super) type Asked<T> = Result<T, Error>;

const COPY_FACTS: &str =
    "COPY fact (seq, wall, mono, by_whom, job, attempt, about, key, line, kind, body)
    FROM STDIN BINARY";
const FACT_TYPES: [Type; 11] = [
    Type::INT8,
    Type::INT8,
    Type::INT8,
    Type::TEXT,
    Type::INT8,
    Type::INT8,
    Type::INT8,
    Type::TEXT,
    Type::INT8,
    Type::TEXT,
    Type::TEXT,
];

const COPY_READINGS: &str =
    "COPY reading (seq, job, number, mono, drift, wall, back, place, form, as_sent,
    line, measured_at, why) FROM STDIN BINARY";
const READING_TYPES: [Type; 13] = [
    Type::INT8,
    Type::INT8,
    Type::INT8,
    Type::INT8,
    Type::INT8,
    Type::INT8,
    Type::INT8,
    Type::INT8,
    Type::INT4,
    Type::TEXT,
    Type::INT8,
    Type::INT8,
    Type::TEXT,
];

/// The columns of a fact, in the order of [`fact`].
pub(super) const FACT: &str =
    "seq, wall, mono, by_whom, job, attempt, about, key, line, kind, body";
/// The columns of a reading, in the order of [`reading`].
pub(super) const READING: &str =
    "seq, job, number, mono, drift, wall, back, place, form, as_sent, line,
    measured_at, why";

/// The forms of a bench's readings, as the database gave them back.
#[derive(Debug, Default)]
pub(super) struct Forms {
    by_id: BTreeMap<i32, Arc<StoredForm>>,
    by_words: BTreeMap<Arc<StoredForm>, i32>,
    newest: Option<i32>,
}

/// How many forms are remembered: of dropped files each has its own.
const FORMS: usize = 4096;

impl Forms {
    /// The number of each form that some rows have. What is new is written; one that was only forgotten is written
    /// again under another number, which is the same form.
    async fn numbers(
        &mut self,
        tx: &Transaction<'_>,
        bench: &str,
        rows: &[StoredRow],
    ) -> Asked<()> {
        if self.by_words.len() > FORMS {
            self.forget();
        }
        let mut new = Vec::new();
        for row in rows {
            let StoredRow::Reading(reading) = row else { continue };
            if self.by_words.contains_key(&reading.form) {
                continue;
            }
            let newest = if let Some(newest) = self.newest {
                newest
            } else {
                let sql = "SELECT coalesce(max(id), 0) FROM form WHERE bench = $1";
                tx.query_one(sql, &[&bench]).await?.get(0)
            };
            let id = newest + 1;
            let StoredForm { gauge, unit, places, counts, source, file, by_whom } = &*reading.form;
            let sql = "INSERT INTO form (id, gauge, unit, places, counts, source, file, by_whom)
                VALUES ($1, $2, $3, $4, $5, $6, $7, $8)";
            tx.execute(sql, &[&id, gauge, unit, places, counts, source, file, by_whom]).await?;
            self.newest = Some(id);
            self.by_words.insert(Arc::clone(&reading.form), id);
            new.push(id);
        }
        if new.is_empty() { Ok(()) } else { self.known(tx, bench, &new).await }
    }

    fn number(&self, form: &Arc<StoredForm>) -> i32 {
        self.by_words.get(form).copied().unwrap_or(0)
    }

    /// Looks up forms by their numbers.
    async fn known(&mut self, client: &impl GenericClient, bench: &str, ids: &[i32]) -> Asked<()> {
        let sql = "SELECT id, gauge, unit, places, counts, source, file, by_whom FROM form
            WHERE bench = $1 AND id = ANY($2)";
        for row in client.query(sql, &[&bench, &ids]).await? {
            let form = StoredForm {
                gauge: row.try_get(1)?,
                unit: row.try_get(2)?,
                places: row.try_get(3)?,
                counts: row.try_get(4)?,
                source: row.try_get(5)?,
                file: row.try_get(6)?,
                by_whom: row.try_get(7)?,
            };
            self.by_id.insert(row.try_get(0)?, Arc::new(form));
        }
        Ok(())
    }

    /// Looks up the forms of some readings that are not known yet.
    pub(super) async fn of_readings(
        &mut self,
        client: &impl GenericClient,
        bench: &str,
        readings: &[Row],
    ) -> Asked<()> {
        let ids: BTreeSet<i32> = readings.iter().map(|row| row.try_get(8)).collect::<Asked<_>>()?;
        let unknown: Vec<i32> = ids.into_iter().filter(|id| !self.by_id.contains_key(id)).collect();
        if unknown.is_empty() { Ok(()) } else { self.known(client, bench, &unknown).await }
    }

    /// A form that was looked up.
    pub(super) fn form(&self, id: i32) -> Option<&Arc<StoredForm>> {
        self.by_id.get(&id)
    }

    /// Every form that was looked up.
    pub(super) fn all(&self) -> impl Iterator<Item = &StoredForm> {
        self.by_id.values().map(Arc::as_ref)
    }

    /// Forgets everything: what was written is not there if its transaction was taken back.
    pub(super) fn forget(&mut self) {
        *self = Self::default();
    }
}

/// Writes rows into the tables.
pub(super) async fn written(
    tx: &Transaction<'_>,
    bench: &str,
    rows: &[StoredRow],
    forms: &mut Forms,
) -> Asked<()> {
    forms.numbers(tx, bench, rows).await?;
    let facts = || {
        rows.iter()
            .filter_map(|row| if let StoredRow::Fact(fact) = row { Some(fact) } else { None })
    };
    if facts().next().is_some() {
        let mut writer = pin!(BinaryCopyInWriter::new(tx.copy_in(COPY_FACTS).await?, &FACT_TYPES));
        for fact in facts() {
            let StoredFact { seq, wall, mono, by_whom, job, attempt, about, key, line, kind, body } =
                fact;
            let values: [&(dyn tokio_postgres::types::ToSql + Sync); 11] =
                [seq, wall, mono, by_whom, job, attempt, about, key, line, kind, body];
            writer.as_mut().write(&values).await?;
        }
        writer.finish().await?;
    }
    let readings = || {
        rows.iter().filter_map(|row| {
            if let StoredRow::Reading(reading) = row { Some(reading) } else { None }
        })
    };
    if readings().next().is_some() {
        let sink = tx.copy_in(COPY_READINGS).await?;
        let mut writer = pin!(BinaryCopyInWriter::new(sink, &READING_TYPES));
        for one in readings() {
            let (seq, form) = (one.seq(), forms.number(&one.form));
            let nothing = StoredMore::default();
            let more = one.more.as_ref().unwrap_or(&nothing);
            let values: [&(dyn tokio_postgres::types::ToSql + Sync); 13] = [
                &seq,
                &one.job,
                &one.number,
                &one.mono,
                &one.drift,
                &one.wall,
                &one.back,
                &one.place,
                &form,
                &one.as_sent,
                &more.line,
                &more.measured_at,
                &more.why,
            ];
            writer.as_mut().write(&values).await?;
        }
        writer.finish().await?;
    }
    for row in rows {
        let StoredRow::Lost(StoredLoss { first, last, since, until }) = row else { continue };
        let sql = "INSERT INTO lost (first, last, since, until) VALUES ($1, $2, $3, $4)";
        tx.execute(sql, &[first, last, since, until]).await?;
    }
    Ok(())
}

/// The rows of a bench from one number to another, in their order, as the database has them.
pub(super) async fn between(
    client: &impl GenericClient,
    bench: &str,
    (first, last): (i64, i64),
    forms: &mut Forms,
) -> Asked<Vec<StoredRow>> {
    let which = "WHERE bench = $1 AND seq >= $2 AND seq <= $3 ORDER BY seq";
    let sql = format!("SELECT {FACT} FROM fact {which}");
    let facts = client.query(&sql, &[&bench, &first, &last]).await?;
    let mut rows = facts.iter().map(fact).collect::<Asked<Vec<_>>>()?;
    let sql = format!("SELECT {READING} FROM reading {which}");
    let readings = client.query(&sql, &[&bench, &first, &last]).await?;
    forms.of_readings(client, bench, &readings).await?;
    for row in &readings {
        rows.push(reading(row, |id| forms.form(id).cloned().unwrap_or_default())?);
    }
    let sql = "SELECT first, last, since, until FROM lost WHERE bench = $1 AND first >= $2 AND first <= $3";
    for row in client.query(sql, &[&bench, &first, &last]).await? {
        let [first, last, since, until] = [0, 1, 2, 3].map(|at| row.try_get(at));
        let loss = StoredLoss { first: first?, last: last?, since: since?, until: until? };
        rows.push(StoredRow::Lost(loss));
    }
    rows.sort_by_key(StoredRow::seq);
    Ok(rows)
}

/// A fact from a row with the columns [`FACT`].
pub(super) fn fact(row: &Row) -> Asked<StoredRow> {
    Ok(StoredRow::Fact(StoredFact {
        seq: row.try_get(0)?,
        wall: row.try_get(1)?,
        mono: row.try_get(2)?,
        by_whom: row.try_get(3)?,
        job: row.try_get(4)?,
        attempt: row.try_get(5)?,
        about: row.try_get(6)?,
        key: row.try_get(7)?,
        line: row.try_get(8)?,
        kind: row.try_get(9)?,
        body: row.try_get(10)?,
    }))
}

/// A reading from a row with the columns [`READING`]. A form that is not there has no words, and then the row has
/// another leaf than on the bench.
pub(super) fn reading(row: &Row, form: impl Fn(i32) -> Arc<StoredForm>) -> Asked<StoredRow> {
    let (seq, job): (i64, i64) = (row.try_get(0)?, row.try_get(1)?);
    let more =
        StoredMore { line: row.try_get(10)?, measured_at: row.try_get(11)?, why: row.try_get(12)? };
    Ok(StoredRow::Reading(StoredReading {
        job,
        nth: seq.wrapping_sub(job),
        back: row.try_get(6)?,
        number: row.try_get(2)?,
        mono: row.try_get(3)?,
        drift: row.try_get(4)?,
        place: row.try_get(7)?,
        as_sent: row.try_get(9)?,
        form: form(row.try_get(8)?),
        more: Some(more).filter(|more| *more != StoredMore::default()),
        wall: row.try_get(5)?,
    }))
}
