//! Facts that many answers share. They never change once stored, so each is looked up once while a record
//! is open.

use std::cell::RefCell;
use std::collections::BTreeMap;
use std::sync::Arc;

use super::around::{self, Around};
use super::{Found, other_than};
use crate::fact::by_whom;
use crate::read::{self, Book};
use crate::write::seq;
use crate::{Place, StoreError, compact};
use bench::Seq;
use bench::row::{Body, JobOpened};
use quantity::{Name, Unit};

/// The most attempts, jobs or files that are remembered; with more, all are forgotten.
const REMEMBERED: usize = 10_000;

/// What the readings of one series share.
pub(super) struct Form {
    pub(super) gauge: Name,
    pub(super) unit: Unit,
    pub(super) places: u8,
    /// The size of one count, where it is whole picometres.
    pub(super) step: Option<i64>,
    pub(super) source: FormSource,
    pub(super) by: Option<Name>,
}

/// Where the readings of a form came from.
pub(super) enum FormSource {
    Serial,
    Keyed,
    /// The file's name.
    Drop(String),
}

type Cache<K, V> = RefCell<BTreeMap<K, V>>;

/// Everything that was looked up.
pub(crate) struct Known {
    attempts: Cache<Seq, Arc<Around>>,
    jobs: Cache<Seq, Arc<JobOpened>>,
    forms: Cache<i64, Arc<Form>>,
}

impl Known {
    pub(crate) const fn new() -> Self {
        Self {
            attempts: RefCell::new(BTreeMap::new()),
            jobs: RefCell::new(BTreeMap::new()),
            forms: RefCell::new(BTreeMap::new()),
        }
    }
}

fn remember<K: Ord, V>(cache: &Cache<K, V>, key: K, value: V) {
    let mut cache = cache.borrow_mut();
    if cache.len() >= REMEMBERED {
        cache.clear();
    }
    cache.insert(key, value);
}

/// An attempt with the names of its job, part and check.
pub(super) fn attempt(book: Book<'_>, attempt: Seq) -> Found<Arc<Around>> {
    let cache = &book.shared.known.attempts;
    if let Some(around) = cache.borrow().get(&attempt) {
        return Ok(Arc::clone(around));
    }
    let around = Arc::new(around::of_attempt(book, attempt)?);
    remember(cache, attempt, Arc::clone(&around));
    Ok(around)
}

/// Looks up the attempts of a job together, if the one asked for is not known.
pub(super) fn attempts_with(book: Book<'_>, job: Seq, sought: Seq) -> Found<Arc<Around>> {
    let cache = &book.shared.known.attempts;
    if !cache.borrow().contains_key(&sought) {
        around::of_job(book, job, |id, around| remember(cache, id, Arc::new(around)))?;
    }
    attempt(book, sought)
}

/// A job as it was opened.
pub(super) fn job(book: Book<'_>, job: Seq) -> Found<Arc<JobOpened>> {
    let cache = &book.shared.known.jobs;
    if let Some(opened) = cache.borrow().get(&job) {
        return Ok(Arc::clone(opened));
    }
    let row = book.fact(job)?;
    let Body::JobOpened(opened) = &row.body else { return Err(other_than(&row, "job")) };
    remember(cache, job, Arc::clone(opened));
    Ok(Arc::clone(opened))
}

/// The place of something, by the numbers of its job and attempt.
pub(super) fn place(
    book: Book<'_>,
    of_job: Option<Seq>,
    of_attempt: Option<Seq>,
) -> Found<Option<Place>> {
    match (of_job, of_attempt) {
        (_, Some(id)) => Ok(Some(attempt(book, id)?.place(id))),
        (Some(id), None) => Ok(Some(Place { job: job(book, id)?.name.clone(), check: None })),
        (None, None) => Ok(None),
    }
}

/// What the readings of a form share; `reading` is one of them.
pub(super) fn form(book: Book<'_>, reading: Seq, id: i64) -> Found<Arc<Form>> {
    let cache = &book.shared.known.forms;
    if let Some(form) = cache.borrow().get(&id) {
        return Ok(Arc::clone(form));
    }
    let form = Arc::new(read_form(book, reading, id)?);
    remember(cache, id, Arc::clone(&form));
    Ok(form)
}

fn read_form(book: Book<'_>, reading: Seq, id: i64) -> Found<Form> {
    let sql = "SELECT gauge, unit, places, counts, source, file, by_whom FROM form WHERE id = ?1";
    let mut statement = book.conn.prepare_cached(sql)?;
    let mut rows = statement.query([id])?;
    let missing = |what: &str| StoreError::Damaged { row: reading, what: what.to_owned() };
    let row = rows.next()?.ok_or_else(|| missing("its form is missing"))?;
    let text = |column: usize| row.get::<_, String>(column);
    let (unit, counts, source) = (text(1)?, text(3)?, text(4)?);
    let source = match source.as_str() {
        "serial" => FormSource::Serial,
        "keyed" => FormSource::Keyed,
        "drop" => FormSource::Drop(file(book, seq(row.get(5)?))?),
        _ => return Err(missing(&format!("source {source:?}"))),
    };
    let counts_places = match counts.as_str() {
        "place" => true,
        "pm" => false,
        _ => return Err(missing(&format!("counts {counts:?}"))),
    };
    let unit = read::known(reading, "unit", &unit, compact::unit(&unit))?;
    let places: u8 = row.get(2)?;
    let gauge = read::name(reading, &text(0)?)?;
    let step = if counts_places { picometres_a_place(unit, places) } else { Some(1) };
    Ok(Form { gauge, unit, places, step, source, by: by_whom(reading, row)? })
}

fn picometres_a_place(unit: Unit, places: u8) -> Option<i64> {
    let scale = 10_i64.checked_pow(u32::from(places))?;
    (unit.picometres() % scale == 0).then(|| unit.picometres() / scale)
}

/// The name of a dropped file.
fn file(book: Book<'_>, file: Seq) -> Found<String> {
    let row = book.fact(file)?;
    let Body::FileTaken(seen) = &row.body else { return Err(other_than(&row, "dropped file")) };
    Ok(seen.name.clone())
}
