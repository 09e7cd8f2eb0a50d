//! The page's data over the whole shop: jobs and alerts of every bench, from the shop's database. Each question is
//! asked of one state of it, over a connection of its own.

use std::cell::RefCell;
use std::collections::BTreeSet;

use ::page::{Follow, JobAt, JobFound, Listed, Sought, Source, Told, Wrong};
use ::record::{AlertRecord, AlertStage, Filter, JobRecord, Reader};
use ::report::{BENCH, Column, Table};
use ::shop::database::OneJob;
use quantity::{Name, Wall};
use wire::{OfBench, Published};

use super::lists::{filter, shown_alerts, shown_jobs};
use super::source::one_job;
use super::told::{asked, told};
use crate::failure::Failure;
use crate::global::{Global, WhereArgs};
use crate::job::{aside_in, with_steps};
use crate::report;
use crate::shop::configured;
use crate::sought::About;
use crate::whole_shop::Shop;

/// Every bench of a shop.
#[derive(Debug)]
pub(super) struct ShopSource {
    global: Global,
}

impl ShopSource {
    /// The shop of the configuration. Its database need not be reached yet.
    pub(super) fn of(global: &Global) -> Result<Self, Failure> {
        configured(global)?;
        Ok(Self { global: global.clone() })
    }

    fn look(&self, bench: Option<&str>) -> Result<Shop, Told> {
        let whose = WhereArgs { shop: true, bench: bench.map(str::to_owned) };
        let shop = Shop::of(&self.global, &whose).map_err(told)?;
        shop.ok_or_else(|| nothing("the shop is not looked into"))
    }

    /// The job that is meant, with what a report of it needs.
    fn one(&self, at: &JobAt) -> Result<(Shop, OneJob), Told> {
        let shop = self.look(at.bench.as_deref())?;
        let one = shop.job_with_its_past(&at.name).map_err(told)?;
        Ok((shop, one))
    }
}

fn nothing(text: &str) -> Told {
    Told { wrong: Wrong::NotThere, text: text.to_owned(), hint: None }
}

impl Source for ShopSource {
    fn name(&self) -> String {
        "the whole shop".to_owned()
    }

    /// What is at hand at a bench is shown by the page of that bench.
    fn stations(&self) -> Result<Vec<String>, Told> {
        Ok(Vec::new())
    }

    fn follow(&self, _: &str) -> Box<dyn Follow> {
        Box::new(Nobody)
    }

    fn jobs(&self, sought: &Sought, rows: usize) -> Result<Listed, Told> {
        let shop = self.look(None)?;
        let before = cursor(sought.before.as_deref())?;
        let filter = before_that(filter(sought)?, before.as_ref(), rows);
        let aside: RefCell<BTreeSet<Name>> = RefCell::default();
        let question = |_: &str, record: &Reader, filter: &Filter| {
            aside.borrow_mut().extend(aside_in(record)?);
            with_steps(record, record.jobs_found(filter)?)
        };
        let at = |one: &JobRecord| one.opened_at;
        let found = shop.found(About::Jobs, &filter, (question, at)).map_err(asked)?;
        let (found, older) = newest_first(found, at, before.as_ref(), rows);
        let plain: Vec<JobRecord> = found.iter().map(|one| one.one.clone()).collect();
        let job = |one: &OfBench<JobRecord>| {
            Some(JobAt { name: one.one.name.to_string(), bench: Some(one.bench.clone()) })
        };
        Ok(Listed {
            table: with_bench(shown_jobs(&plain, &aside.borrow()), &found),
            jobs: found.iter().map(job).collect(),
            older,
            remarks: left_out(&shop),
        })
    }

    fn job(&self, at: &JobAt) -> Result<JobFound, Told> {
        let (shop, OneJob { bench, record }) = self.one(at)?;
        Ok(JobFound { bench: Some(bench), ..one_job(&record, shop.unit, &at.name)? })
    }

    fn report(&self, at: &JobAt) -> Result<String, Told> {
        let (shop, OneJob { record, .. }) = self.one(at)?;
        let (letterhead, _) = report::letterhead(&self.global);
        let head = report::Head { unit: shop.unit, shop: &letterhead, samples: false };
        report::page(&record, &at.name, &head, None).map_err(told)
    }

    fn alerts(&self, before: Option<&str>, rows: usize) -> Result<Listed, Told> {
        let shop = self.look(None)?;
        let before = cursor(before)?;
        let at = |one: &AlertRecord| one.at;
        let mut found = Vec::new();
        for stage in [AlertStage::Open, AlertStage::Seen] {
            let filter = Filter { stage: Some(stage), ..Filter::default() };
            let filter = before_that(filter, before.as_ref(), rows);
            let question = |_: &str, record: &Reader, filter: &Filter| record.alerts(filter);
            found.extend(shop.found(About::Alerts, &filter, (question, at)).map_err(told)?);
        }
        let (found, older) = newest_first(found, at, before.as_ref(), rows);
        let plain: Vec<AlertRecord> = found.iter().map(|one| one.one.clone()).collect();
        let job = |one: &OfBench<AlertRecord>| {
            let name = one.one.place.as_ref()?.job.to_string();
            Some(JobAt { name, bench: Some(one.bench.clone()) })
        };
        Ok(Listed {
            table: with_bench(shown_alerts(&plain, false), &found),
            jobs: found.iter().map(job).collect(),
            older,
            remarks: left_out(&shop),
        })
    }
}

/// Nobody is followed over the whole shop.
#[derive(Debug)]
struct Nobody;

impl Follow for Nobody {
    fn next(&mut self) -> Result<::page::Seen, Told> {
        Err(nothing("a bench is followed by its own page"))
    }
}

/// Where a page of a list ended: the time of its last row, its number and its bench. Only time puts rows of several
/// benches in an order; the other two part rows of the same moment.
type Ended = (i64, u64, String);

fn cursor(text: Option<&str>) -> Result<Option<Ended>, Told> {
    let Some(text) = text else { return Ok(None) };
    let read = |text: &str| {
        let (micros, rest) = text.split_once('.')?;
        let (number, bench) = rest.split_once('.')?;
        Some((micros.parse().ok()?, number.parse().ok()?, bench.to_owned()))
    };
    let wrong = || Told { wrong: Wrong::Asked, ..nothing(&format!("{text:?} is no row")) };
    read(text).map(Some).ok_or_else(wrong)
}

/// The filter of a page of older rows. Rows of the very moment at which the page before ended may be among those that
/// it had: so many more are asked for.
fn before_that(filter: Filter, before: Option<&Ended>, rows: usize) -> Filter {
    let past = before.map(|(micros, ..)| Wall::from_micros(micros.saturating_add(1)));
    let until = past.into_iter().chain(filter.until).min();
    Filter { until, last: Some(rows.saturating_mul(2).saturating_add(1)), ..filter }
}

/// The newest rows of those found, the newest first, and where the next page goes on.
fn newest_first<T: Published>(
    mut found: Vec<OfBench<T>>,
    at: impl Fn(&T) -> Wall,
    before: Option<&Ended>,
    rows: usize,
) -> (Vec<OfBench<T>>, Option<String>) {
    let key = |one: &OfBench<T>| (at(&one.one).micros(), one.number().0, one.bench.clone());
    found.retain(|one| before.is_none_or(|before| key(one) < *before));
    found.sort_by_key(|one| std::cmp::Reverse(key(one)));
    let more = found.len() > rows;
    found.truncate(rows);
    let older = found.last().filter(|_| more).map(|last| {
        let (micros, number, bench) = key(last);
        format!("{micros}.{number}.{bench}")
    });
    (found, older)
}

fn with_bench<T>(mut table: Table, found: &[OfBench<T>]) -> Table {
    table.put_first(Column::words(BENCH, 0).key(), found.iter().map(|one| one.bench.clone()));
    table
}

fn left_out(shop: &Shop) -> Vec<String> {
    shop.left_out().into_iter().map(|aside| aside.why).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_page_goes_on_where_the_one_before_ended() {
        assert_eq!(cursor(None).unwrap(), None);
        let ended = (1_800_000_000_000_000, 7, "north.2".to_owned());
        assert_eq!(cursor(Some("1800000000000000.7.north.2")).unwrap(), Some(ended.clone()));
        for wrong in ["", "7", "1.x.north", "1.2", "<b>"] {
            assert!(cursor(Some(wrong)).is_err(), "{wrong}");
        }
        let early = Wall::from_micros(5);
        let filter = Filter { until: Some(early), ..Filter::default() };
        assert_eq!(before_that(filter, Some(&ended), 50).until, Some(early));
        let open = before_that(Filter::default(), Some(&ended), 50);
        assert_eq!(open.until.map(Wall::micros), Some(ended.0 + 1));
        assert_eq!(open.last, Some(101));
    }
}
