//! Look-ups over the whole shop: the database says which jobs of which benches are concerned, their rows are
//! fetched, and the questions of the bench are asked of them.

use std::cell::RefCell;

use ::record::{Filter, Reader, SetAside, StoreError};
use ::report::{BENCH, Column, Table};
use ::shop::database::{Listed as Sort, Look, LookError, OneJob, Piece, Seek};
use quantity::{Unit, Wall, near};
use wire::{OfBench, Published};

use super::failure::{Failure, REFUSED, UNREACHABLE};
use super::global::{Global, WhereArgs};
use super::query::{self, Form, Page, Printed};
use super::shop::{configured, troubled};
use super::sought::{About, Sought};
use super::{bench, chosen};

/// The shop that is looked into.
#[derive(Debug)]
pub(crate) struct Shop {
    look: Look,
    /// The unit people see.
    pub(crate) unit: Unit,
    left_out: RefCell<Vec<SetAside>>,
}

/// What a person sees of a list.
pub(crate) struct Listed {
    pub(crate) table: Table,
    /// What is said where there are no rows.
    pub(crate) none: &'static str,
    /// What is said below the table, beside where the next page is.
    pub(crate) notes: Vec<String>,
}

/// A list, and how it is printed.
pub(crate) struct List<'a> {
    pub(crate) sought: &'a Sought,
    pub(crate) form: Form,
    pub(crate) about: About,
    /// The columns of separated values, as on a bench.
    pub(crate) columns: &'a [&'a str],
}

/// The unit people see, whatever else may be wrong in the configuration.
fn unit(global: &Global) -> Unit {
    let Ok(path) = bench::config_path(global) else { return Unit::Inch };
    let written = config::whereabouts(&path).ok().map(|found| found.unit);
    written.or_else(|| config::likely_unit(&path)).unwrap_or(Unit::Inch)
}

/// What to do about rows of the shop that cannot be read.
const DAMAGED: &str = "hold the bench itself against it: tenths verify there; put a copy of the database in its place";

fn damaged(error: StoreError) -> Failure {
    let is_damage = matches!(error, StoreError::Damaged { .. } | StoreError::DamagedIn { .. });
    let failure = bench::no_record(error);
    if is_damage { failure.hinting(DAMAGED) } else { failure }
}

/// The sentence for a look-up without an answer.
pub(crate) fn failed(error: LookError) -> Failure {
    let text = error.to_string();
    match error {
        LookError::Trouble(trouble) => troubled(trouble),
        LookError::Store(error) => damaged(error),
        LookError::NotAsSealed(_) => Failure::new(UNREACHABLE, text, DAMAGED),
        LookError::NoSuchBench { .. } => {
            Failure::new(REFUSED, text, "type it as it is written there")
        }
        LookError::SeveralBenches { .. } => {
            Failure::new(REFUSED, text, "name the bench that is meant: --bench NAME")
        }
    }
}

impl Shop {
    /// The shop, where a look-up asks for it.
    pub(crate) fn of(global: &Global, args: &WhereArgs) -> Result<Option<Self>, Failure> {
        if !args.shop {
            return Ok(None);
        }
        let database = configured(global)?;
        let look = Look::begin(&database, args.bench.as_deref()).map_err(failed)?;
        Ok(Some(Self { look, unit: unit(global), left_out: RefCell::default() }))
    }

    /// A job by its name, or by the serial number of its spindle.
    pub(crate) fn job(&self, typed: &str) -> Result<OneJob, Failure> {
        self.look.job(typed).map_err(failed)
    }

    /// The same with everything that a report of it needs.
    pub(crate) fn job_with_its_past(&self, typed: &str) -> Result<OneJob, Failure> {
        self.look.job_with_its_past(typed).map_err(failed)
    }

    /// Every job of a serial number, bench by bench.
    pub(crate) fn jobs_of_serial(&self, serial: &str) -> Result<Vec<(String, Reader)>, Failure> {
        self.look.jobs_of_serial(serial).map_err(failed)
    }

    /// Notes what a record had to leave out of its answers.
    pub(crate) fn asked(&self, record: &Reader) {
        self.left_out.borrow_mut().extend(record.left_out());
    }

    /// The exit code of an answer. If something damaged was left out of it, that is an error.
    pub(crate) fn whole(&self) -> Result<u8, Failure> {
        bench::told(self.left_out.take()).map_err(|failure| failure.hinting(DAMAGED))
    }

    /// Lists and prints: for a script all there is, for a person the page that `table` makes of it.
    pub(crate) fn list<T: Published + Clone>(
        &self,
        list: &List<'_>,
        filter: &Filter,
        (question, at): (
            impl Fn(&str, &Reader, &Filter) -> Result<Vec<T>, StoreError>,
            fn(&T) -> Wall,
        ),
        table: impl FnOnce(&[OfBench<T>], &[T]) -> Listed,
    ) -> Result<u8, Failure> {
        let List { sought, form, about, .. } = *list;
        if self.look.is_whole() && (sought.after.is_some() || sought.before.is_some()) {
            let text =
                "each bench counts its rows by itself: --after and --before go with --bench NAME";
            return Err(Failure::new(
                REFUSED,
                text,
                "over several benches use --since and --until",
            ));
        }
        let mut columns = list.columns.to_vec();
        columns.push(BENCH);
        let mut gathered = Gathered { shop: self, list, question, at, missing: None };
        if form != Form::Table {
            let chosen = sought.columns.as_ref();
            let chosen = chosen
                .map(|names| chosen::of_file(names, &columns, about.command()))
                .transpose()?;
            let printed = Printed { sought, form, columns: chosen.as_deref().unwrap_or(&columns) };
            gathered.in_parts(filter, |found, begins| printed.print(found, begins))?;
            return self.whole();
        }
        let found = gathered.all(filter)?;
        let (shown, more) = Page::of(sought, form).shown(&found, sought, |one| one.number().0);
        let more =
            more.map(|note| if self.look.is_whole() { by_time(shown, at, &note) } else { note });
        let plain: Vec<T> = shown.iter().map(|one| one.one.clone()).collect();
        let Listed { mut table, none, notes } = table(shown, &plain);
        table.put_first(Column::words(BENCH, 0).key(), shown.iter().map(|one| one.bench.clone()));
        if let Some(names) = &sought.columns {
            let lines: Vec<_> = shown.iter().map(Published::fields).collect();
            table = chosen::of_table(names, &table, (&columns, &lines), about.command())?;
        }
        let notes: Vec<String> = more.into_iter().chain(notes).collect();
        query::print_table(&table, none, &notes)?;
        self.whole()
    }

    /// The rows that a filter with a limit asks for, for whoever shows them otherwise: as [`Self::list`] finds them.
    pub(crate) fn found<T: Published>(
        &self,
        about: About,
        filter: &Filter,
        (question, at): (
            impl Fn(&str, &Reader, &Filter) -> Result<Vec<T>, StoreError>,
            fn(&T) -> Wall,
        ),
    ) -> Result<Vec<OfBench<T>>, Failure> {
        let sought = Sought::default();
        let list = List { sought: &sought, form: Form::Table, about, columns: &[] };
        Gathered { shop: self, list: &list, question, at, missing: None }.all(filter)
    }

    /// What was left out of the answers so far.
    pub(crate) fn left_out(&self) -> Vec<SetAside> {
        self.left_out.take()
    }

    /// Refuses a gauge that gave no result and that no bench ever had a reading of.
    fn gauge_is_known(&self, sought: &Sought, nothing: bool) -> Result<(), Failure> {
        let Some(gauge) = sought.gauge.as_deref().filter(|_| nothing) else { return Ok(()) };
        let known = self.look.gauges().map_err(failed)?;
        if known.contains(gauge) {
            return Ok(());
        }
        let near = near::names(gauge, known.iter().cloned());
        let near = if near.is_empty() { known.into_iter().collect() } else { near };
        let text =
            format!("no bench has a reading of gauge {gauge:?}; there is {}", near.join(", "));
        Err(Failure::new(REFUSED, text, "type it as it is written there"))
    }
}

/// The note about further rows, where they are found by their time.
fn by_time<T>(shown: &[OfBench<T>], at: fn(&T) -> Wall, note: &str) -> String {
    const MILLISECOND: i64 = 1000;
    let time = |one: Option<&OfBench<T>>, more: i64| {
        one.map_or_else(String::new, |one| {
            Wall::from_micros(at(&one.one).micros().saturating_add(more)).to_string()
        })
    };
    // Times are printed to the millisecond: a row of the same one is shown twice and not left out.
    if note.starts_with("There are newer") {
        format!(
            "There are newer ones; the next page: --since {} --first {}",
            time(shown.last(), 0),
            shown.len()
        )
    } else {
        let until = time(shown.first(), MILLISECOND);
        format!("There are older ones; the next page: --until {until} --last {}", shown.len())
    }
}

/// What pieces of a list come to.
struct Gathered<'a, Q, T> {
    shop: &'a Shop,
    list: &'a List<'a>,
    question: Q,
    at: fn(&T) -> Wall,
    /// A part or a check that no plan so far has.
    missing: Option<StoreError>,
}

const fn sort(about: About) -> Sort {
    match about {
        About::Readings => Sort::Readings,
        About::Verdicts => Sort::Verdicts,
        About::Alerts => Sort::Alerts,
        About::Jobs => Sort::Jobs,
    }
}

impl<T: Published, Q: Fn(&str, &Reader, &Filter) -> Result<Vec<T>, StoreError>> Gathered<'_, Q, T> {
    /// The rows of some pieces, in the order of time; those of one bench in the order of their numbers.
    fn of(&mut self, pieces: Vec<Piece>) -> Result<Vec<OfBench<T>>, Failure> {
        let mut found = Vec::new();
        for Piece { bench, record, filter } in pieces {
            let answer = if filter.job.is_some() {
                query::ask(&filter, self.list.form, |filter| {
                    (self.question)(&bench, &record, filter)
                })?
            } else {
                match (self.question)(&bench, &record, &filter) {
                    Ok(answer) => answer,
                    // What this piece lacks another may have.
                    Err(error @ (StoreError::NoSuchName { .. } | StoreError::NoSuchJob { .. })) => {
                        self.missing.get_or_insert(error);
                        continue;
                    }
                    Err(error) => return Err(damaged(error)),
                }
            };
            self.shop.asked(&record);
            found.extend(answer.into_iter().map(|one| OfBench { bench: bench.clone(), one }));
        }
        if self.shop.look.is_whole() {
            found.sort_by(|one, other| {
                let at = |one: &OfBench<T>| (self.at)(&one.one);
                let bench = || one.bench.cmp(&other.bench);
                at(one).cmp(&at(other)).then_with(bench).then(one.number().cmp(&other.number()))
            });
        }
        Ok(found)
    }

    /// Everything that a filter with a limit asks for, or all there is.
    fn all(&mut self, filter: &Filter) -> Result<Vec<OfBench<T>>, Failure> {
        let shop = self.shop;
        let mut seek = Seek::begin(&shop.look, sort(self.list.about), filter).map_err(failed)?;
        let newest = filter.first.is_none() && filter.last.is_some();
        let limit = filter.first.or(filter.last).unwrap_or(usize::MAX);
        let mut found = Vec::new();
        while found.len() < limit
            && let Some(pieces) = seek.advance().map_err(failed)?
        {
            let more = self.of(pieces)?;
            if newest {
                found = more.into_iter().chain(found).collect();
            } else {
                found.extend(more);
            }
        }
        let over = found.len().saturating_sub(limit);
        if newest {
            drop(found.drain(..over));
        } else {
            found.truncate(limit);
        }
        self.is_known(found.is_empty())?;
        Ok(found)
    }

    fn is_known(&mut self, nothing: bool) -> Result<(), Failure> {
        match self.missing.take().filter(|_| nothing) {
            Some(missing) => Err(damaged(missing)),
            None => self.shop.gauge_is_known(self.list.sought, nothing),
        }
    }

    /// Passes everything on, one part after the other, with whether it is the first.
    fn in_parts(
        &mut self,
        filter: &Filter,
        mut each: impl FnMut(&[OfBench<T>], bool) -> Result<(), Failure>,
    ) -> Result<(), Failure> {
        if filter.first.is_some() || filter.last.is_some() {
            return each(&self.all(filter)?, true);
        }
        let shop = self.shop;
        let mut seek = Seek::begin(&shop.look, sort(self.list.about), filter).map_err(failed)?;
        let mut any = false;
        while let Some(pieces) = seek.advance().map_err(failed)? {
            let found = self.of(pieces)?;
            if !found.is_empty() {
                each(&found, !any)?;
                any = true;
            }
        }
        if !any {
            self.is_known(true)?;
            each(&[], true)?;
        }
        Ok(())
    }
}
