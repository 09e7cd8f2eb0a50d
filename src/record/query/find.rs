//! Which jobs, parts and checks a request means.

use std::collections::BTreeSet;
use std::fmt::Write as _;
use std::sync::Arc;

use rusqlite::OptionalExtension;

use super::{Found, Where, known};
use crate::fact;
use crate::read::{self, Book};
use crate::write::{int, seq};
use crate::{Filter, StoreError};
use bench::Seq;
use bench::plan::{PinnedPlan, Plan};
use bench::row::{Body, JobField, JobOpened};
use quantity::{Name, near};

/// The data of a job by which it is found.
struct Entry {
    id: Seq,
    name: String,
    serial: Option<String>,
    customer: Option<String>,
    by: Option<String>,
}

impl Entry {
    fn of(row: &rusqlite::Row<'_>) -> Found<Self> {
        let id = seq(row.get("seq")?);
        let text = row.get_ref("body")?.as_str().map_err(rusqlite::Error::from)?;
        let opened: JobOpened<String> = serde_json::from_str(text)
            .map_err(|error| read::damaged(id, format!("job-opened: {error}")))?;
        let JobOpened { name, serial, customer, .. } = opened;
        let by = fact::by_whom(id, row)?.map(|by| by.to_string());
        Ok(Self { id, name: name.to_string(), serial, customer, by })
    }
}

/// Jobs that cannot be read, each with its error.
type Unreadable = Vec<(Seq, StoreError)>;

/// Every job that can be read, the one opened last first, and those that cannot be read.
fn entries(book: Book<'_>) -> Found<(Vec<Entry>, Unreadable)> {
    let sql = "SELECT * FROM fact WHERE kind = 'job-opened' ORDER BY wall DESC, seq DESC";
    let (mut found, mut damaged) = (Vec::new(), Vec::new());
    let mut statement = book.conn.prepare_cached(sql)?;
    let mut rows = statement.query([])?;
    while let Some(row) = rows.next()? {
        match Entry::of(row).map_err(|error| read::placed(error, row)) {
            Ok(entry) => found.push(entry),
            Err(error) => damaged.push((seq(row.get("seq")?), error)),
        }
    }
    correct(book, &mut found)?;
    Ok((found, damaged))
}

/// Puts what was corrected in the place of what was typed first: a job is found by what it is called now.
fn correct(book: Book<'_>, entries: &mut [Entry]) -> Found<()> {
    for row in book.facts("kind = 'job-edited' ORDER BY seq", [])? {
        let Body::JobEdited { job, what, text, .. } = row.body else { continue };
        let Some(entry) = entries.iter_mut().find(|entry| entry.id == job) else { continue };
        match what {
            JobField::Serial => entry.serial = Some(text),
            JobField::Customer => entry.customer = Some(text),
        }
    }
    Ok(())
}

/// Every job that can be read; the others are reported.
fn entries_telling(book: Book<'_>) -> Found<Vec<Entry>> {
    let (found, damaged) = entries(book)?;
    for (job, error) in damaged {
        book.leave_out(Some(job), error)?;
    }
    Ok(found)
}

/// A text in the form in which it is compared: a scanner or a person may add blanks and change capital
/// letters.
fn plain(text: &str) -> String {
    text.trim().to_lowercase()
}

/// The number of a job by its name, or by the serial number of its spindle if that has one job. The exact
/// name comes first, then the name in any letter case, then the serial number.
pub(crate) fn job_id(book: Book<'_>, typed: &str) -> Found<Seq> {
    let sql = "SELECT seq FROM fact WHERE kind = 'job-opened' AND key = ?1";
    let mut statement = book.conn.prepare_cached(sql)?;
    if let Some(job) = statement.query_row([typed], |row| row.get(0)).optional()? {
        return Ok(seq(job));
    }
    let (all, damaged) = entries(book)?;
    let wanted = plain(typed);
    let by_name: Vec<&Entry> = all.iter().filter(|job| plain(&job.name) == wanted).collect();
    if !by_name.is_empty() {
        return the_one(typed, &by_name, false);
    }
    let is_serial = |serial: &String| plain(serial) == wanted && !wanted.is_empty();
    let by_serial: Vec<&Entry> =
        all.iter().filter(|job| job.serial.as_ref().is_some_and(is_serial)).collect();
    if !by_serial.is_empty() {
        return the_one(typed, &by_serial, true);
    }
    let names = all.iter().map(|job| (job.name.clone(), job.name.clone()));
    let told = |job: &Entry| {
        let serial = job.serial.clone()?;
        let text = format!("{} (serial {serial})", job.name);
        Some((serial, text))
    };
    let near = near::texts(typed, names.chain(all.iter().filter_map(told)));
    // It may be the job that cannot be read.
    for (job, error) in damaged {
        book.leave_out(Some(job), error)?;
    }
    Err(StoreError::NoSuchJob { name: typed.to_owned(), near })
}

fn the_one(typed: &str, jobs: &[&Entry], by_serial: bool) -> Found<Seq> {
    if let [only] = jobs {
        return Ok(only.id);
    }
    let jobs = jobs.iter().map(|job| job.name.clone()).collect();
    Err(StoreError::SeveralJobs { typed: typed.to_owned(), by_serial, jobs })
}

/// The jobs that match a filter; `None` where it says nothing about jobs.
pub(super) fn jobs_meant(book: Book<'_>, filter: &Filter) -> Found<Option<Vec<Seq>>> {
    let named = filter.job.as_deref().map(|name| job_id(book, name)).transpose()?;
    let asked = [&filter.named, &filter.serial, &filter.customer, &filter.who];
    if asked.iter().all(|asked| asked.is_none()) {
        return Ok(named.map(|job| vec![job]));
    }
    let all = entries_telling(book)?;
    let mut left: Vec<&Entry> = all.iter().collect();
    narrow(&mut left, &all, "serial", filter.serial.as_deref(), |job| job.serial.as_deref())?;
    narrow(&mut left, &all, "person", filter.who.as_deref(), |job| job.by.as_deref())?;
    if let Some(customer) = filter.customer.as_deref() {
        let wanted = plain(customer);
        let whose = |job: &Entry| job.customer.clone();
        let holds = |job: &&Entry| whose(job).is_some_and(|name| plain(&name).contains(&wanted));
        if !all.iter().any(|job| holds(&job)) {
            return Err(no_such("customer", customer, all.iter().filter_map(whose)));
        }
        left.retain(holds);
    }
    if let Some(part) = filter.named.as_deref().map(plain) {
        left.retain(|job| plain(&job.name).contains(&part));
    }
    let left = left.into_iter().map(|job| job.id);
    Ok(Some(left.filter(|job| named.is_none_or(|named| named == *job)).collect()))
}

/// Keeps the jobs whose text is the requested one; an error where no job of the record has it.
fn narrow<'a>(
    left: &mut Vec<&'a Entry>,
    all: &'a [Entry],
    what: &'static str,
    asked: Option<&str>,
    text: impl Fn(&'a Entry) -> Option<&'a str>,
) -> Found<()> {
    let Some(asked) = asked else { return Ok(()) };
    let wanted = plain(asked);
    let fits = |job: &'a Entry| text(job).is_some_and(|own| plain(own) == wanted);
    if !all.iter().any(fits) {
        let known: BTreeSet<String> =
            all.iter().filter_map(&text).map(|own| own.trim().to_owned()).collect();
        return Err(no_such(what, asked, known));
    }
    left.retain(|job| fits(job));
    Ok(())
}

fn no_such(what: &'static str, name: &str, known: impl IntoIterator<Item = String>) -> StoreError {
    StoreError::NoSuchName { what, name: name.to_owned(), near: near::names(name, known) }
}

/// Which jobs, parts and checks are meant.
pub(super) struct Scope {
    /// The jobs; `None` means all.
    pub(super) jobs: Option<Vec<Seq>>,
    part: Option<String>,
    check: Option<String>,
}

impl Scope {
    pub(super) fn of(book: Book<'_>, filter: &Filter) -> Found<Self> {
        let jobs = jobs_meant(book, filter)?;
        let Filter { part, check, .. } = filter.clone();
        let scope = Self { jobs, part, check };
        if scope.is_of_a_check() {
            scope.is_in_some_plan(book, filter)?;
        }
        Ok(scope)
    }

    fn is_of_a_check(&self) -> bool {
        self.part.is_some() || self.check.is_some()
    }

    fn fits(&self, part: &Name, check: &Name) -> bool {
        is_asked(self.part.as_ref(), part) && is_asked(self.check.as_ref(), check)
    }

    /// Whether something with this attempt, or with none, belongs to a check that is meant.
    pub(super) fn has(&self, book: Book<'_>, attempt: Option<Seq>) -> Found<bool> {
        if !self.is_of_a_check() {
            return Ok(true);
        }
        let Some(attempt) = attempt else { return Ok(false) };
        let around = known::attempt(book, attempt)?;
        Ok(self.fits(&around.part, &around.check))
    }

    /// An error where no plan of these jobs has such a check.
    fn is_in_some_plan(&self, book: Book<'_>, filter: &Filter) -> Found<()> {
        let plans = plans(book, (self.jobs.as_deref(), filter.job.is_some()))?;
        let has = |plan: &Plan| {
            plan.parts
                .iter()
                .any(|part| part.checks.iter().any(|check| self.fits(&part.name, &check.name)))
        };
        if plans.iter().any(|plan| has(&plan.plan)) { Ok(()) } else { Err(missing(&plans, filter)) }
    }

    /// Adds the condition on a column with the job.
    pub(super) fn narrow_jobs(&self, column: &str, sought: &mut Where) {
        match self.jobs.as_deref() {
            None => {}
            Some([job]) => sought.and(&format!("{column} = ?"), int(*job)),
            Some(jobs) => {
                let list = list_of(jobs);
                sought.and(&format!("{column} IN (SELECT value FROM json_each(?))"), list);
            }
        }
    }
}

/// Numbers as a single value of a query.
pub(super) fn list_of(numbers: &[Seq]) -> String {
    let mut list = String::from("[");
    for (index, number) in numbers.iter().enumerate() {
        let comma = if index == 0 { "" } else { "," };
        write!(list, "{comma}{number}").expect("a String takes everything");
    }
    list.push(']');
    list
}

fn is_asked(asked: Option<&String>, name: &Name) -> bool {
    asked.is_none_or(|asked| asked == name.as_str())
}

/// The different plans of some jobs, or of all; damaged ones are left out unless the job was named.
fn plans(book: Book<'_>, (jobs, named): (Option<&[Seq]>, bool)) -> Found<Vec<Arc<PinnedPlan>>> {
    let jobs = match jobs {
        Some(jobs) => jobs.to_vec(),
        None => entries_telling(book)?.into_iter().map(|job| job.id).collect(),
    };
    let mut found: Vec<Arc<PinnedPlan>> = Vec::new();
    for job in jobs {
        match known::job(book, job) {
            Ok(opened) if found.iter().any(|plan| Arc::ptr_eq(plan, &opened.plan)) => {}
            Ok(opened) => found.push(Arc::clone(&opened.plan)),
            Err(error) if named => return Err(error),
            Err(error) => book.leave_out(Some(job), error)?,
        }
    }
    Ok(found)
}

/// The error when no plan has the part or the check.
fn missing(plans: &[Arc<PinnedPlan>], filter: &Filter) -> StoreError {
    let every = |names: fn(&Plan) -> Vec<String>| -> BTreeSet<String> {
        plans.iter().flat_map(|plan| names(&plan.plan)).collect()
    };
    let parts = every(|plan| plan.parts.iter().map(|part| part.name.to_string()).collect());
    if let Some(part) = filter.part.as_ref().filter(|part| !parts.contains(*part)) {
        return no_such("part", part, parts);
    }
    let asked = filter.part.as_ref();
    let checks = plans.iter().flat_map(|plan| &plan.plan.parts);
    let checks = checks.filter(|part| is_asked(asked, &part.name)).flat_map(|part| &part.checks);
    let checks: BTreeSet<String> = checks.map(|check| check.name.to_string()).collect();
    no_such("check", filter.check.as_deref().unwrap_or_default(), checks)
}
