//! Jobs and alerts in lists, the newest first.

use std::collections::BTreeSet;

use ::bench::Seq;
use ::page::{JobAt, Listed, Sought, Told, Wrong};
use ::record::{AlertRecord, AlertStage, Filter, JobRecord, Reader, StoreError};
use ::report::{Chosen, Table};
use jiff::ToSpan;
use jiff::civil::Date;
use jiff::tz::TimeZone;
use quantity::{Name, Wall};

use super::told::{asked, told};
use crate::job::{job_table, set_aside, with_steps};
use crate::{alerts, bench, moment};

/// Jobs that fit, at most `rows`.
pub(super) fn jobs(record: &Reader, sought: &Sought, rows: usize) -> Result<Listed, Told> {
    // One more tells whether there are older ones.
    let last = Some(rows.saturating_add(1));
    let filter = Filter { before: number(sought.before.as_deref())?, last, ..filter(sought)? };
    let found = record.jobs_found(&filter);
    let (found, older) = newest_first(found.map_err(typed)?, rows, |job| job.id);
    let found = with_steps(record, found).map_err(bench::no_record).map_err(told)?;
    let aside: BTreeSet<Name> = set_aside(record).map_err(told)?;
    let at = |job: &JobRecord| Some(JobAt { name: job.name.to_string(), bench: None });
    Ok(Listed {
        table: shown_jobs(&found, &aside),
        jobs: found.iter().map(at).collect(),
        older,
        remarks: left_out(record),
    })
}

/// What is looked for, without what makes a page of it.
pub(super) fn filter(sought: &Sought) -> Result<Filter, Told> {
    Ok(Filter {
        named: sought.name.clone(),
        serial: sought.serial.clone(),
        customer: sought.customer.clone(),
        who: sought.person.clone(),
        open: sought.open,
        since: sought.since.as_deref().map(|day| begin_of(day, 0)).transpose()?,
        until: sought.until.as_deref().map(|day| begin_of(day, 1)).transpose()?,
        ..Filter::default()
    })
}

/// Jobs as a person in an office reads them: without their numbers, which nobody there asks by.
pub(super) fn shown_jobs(found: &[JobRecord], aside: &BTreeSet<Name>) -> Table {
    job_table(found, aside, &TimeZone::system()).chosen(&own(&[1, 5, 6, 2, 3, 7, 8, 9, 4]))
}

/// Alerts that are not over, at most `rows`.
pub(super) fn alerts(record: &Reader, before: Option<&str>, rows: usize) -> Result<Listed, Told> {
    let found = not_over(record, None, number(before)?, rows.saturating_add(1))?;
    let (found, older) = newest_first(found, rows, |alert| alert.id);
    let at = |alert: &AlertRecord| {
        let job = alert.place.as_ref().map(|place| place.job.to_string());
        job.map(|name| JobAt { name, bench: None })
    };
    Ok(Listed {
        table: shown_alerts(&found, false),
        jobs: found.iter().map(at).collect(),
        older,
        remarks: left_out(record),
    })
}

/// Alerts that are not over, seen or not, oldest first: the newest `last`.
pub(super) fn not_over(
    record: &Reader,
    job: Option<&str>,
    before: Option<Seq>,
    last: usize,
) -> Result<Vec<AlertRecord>, Told> {
    let of = |stage| {
        let last = Some(last);
        let job = job.map(str::to_owned);
        let filter = Filter { job, stage: Some(stage), before, last, ..Filter::default() };
        record.alerts(&filter).map_err(bench::no_record).map_err(told)
    };
    let mut found = of(AlertStage::Open)?;
    found.extend(of(AlertStage::Seen)?);
    found.sort_by_key(|alert| alert.id);
    let more = found.len().saturating_sub(last);
    Ok(found.split_off(more))
}

/// Alerts as a person in an office reads them: how urgent, what, where, when.
pub(super) fn shown_alerts(found: &[AlertRecord], one_job: bool) -> Table {
    alerts::table(found, one_job, &TimeZone::system()).chosen(&own(&[2, 8, 4, 5, 6, 1, 3, 7]))
}

/// Columns of a table by their places in it.
fn own(places: &[usize]) -> Vec<Chosen> {
    places.iter().map(|at| Chosen::Own(*at)).collect()
}

/// The newest rows of those found, the newest first, and what the older ones are asked for by.
fn newest_first<T>(
    mut found: Vec<T>,
    rows: usize,
    id: impl Fn(&T) -> Seq,
) -> (Vec<T>, Option<String>) {
    let more = found.len().saturating_sub(rows);
    found = found.split_off(more);
    found.reverse();
    let older = found.last().filter(|_| more > 0).map(|last| id(last).to_string());
    (found, older)
}

fn number(text: Option<&str>) -> Result<Option<Seq>, Told> {
    let Some(text) = text else { return Ok(None) };
    let number = text.parse().ok().filter(|number| i64::try_from(*number).is_ok());
    let wrong = || Told {
        wrong: Wrong::Asked,
        text: format!("{text:?} is no number of a row"),
        hint: None,
    };
    number.map(|number: u64| Some(Seq(number))).ok_or_else(wrong)
}

/// The begin of a day, or of one so many days later, on the clock of this machine.
fn begin_of(day: &str, later: i64) -> Result<Wall, Told> {
    let wrong = |_| Told {
        wrong: Wrong::Asked,
        text: format!("{day:?} is no date"),
        hint: Some("write it as 2027-03-01".to_owned()),
    };
    let date: Date = day.parse().map_err(wrong)?;
    let date = date.checked_add(later.days()).map_err(wrong)?;
    moment::parse(&date.to_string()).map_err(|text| Told { wrong: Wrong::Asked, text, hint: None })
}

/// What no job has is a matter of what was typed.
fn typed(error: StoreError) -> Told {
    asked(bench::no_record(error))
}

/// Damage that was left out.
fn left_out(record: &Reader) -> Vec<String> {
    record.left_out().into_iter().map(|aside| aside.why).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_page_has_the_newest_first_and_says_how_to_go_on() {
        let ids = |found: &[u64], rows| {
            newest_first(found.iter().copied().map(Seq).collect(), rows, |id| *id)
        };
        let (shown, older) = ids(&[1, 2, 3, 4], 3);
        assert_eq!((shown, older.as_deref()), (vec![Seq(4), Seq(3), Seq(2)], Some("2")));
        assert_eq!(ids(&[1, 2], 3), (vec![Seq(2), Seq(1)], None));
        assert_eq!(ids(&[], 3), (vec![], None));
    }

    #[test]
    fn days_and_numbers_that_are_none_are_refused() {
        let day = |text| begin_of(text, 0).map(Wall::micros);
        assert_eq!(begin_of("2027-03-01", 1).unwrap().micros(), day("2027-03-02").unwrap());
        for wrong in ["yesterday", "2027-02-30", "<b>", "9999-12-31T"] {
            assert!(begin_of(wrong, 1).is_err(), "{wrong}");
        }
        for wrong in ["", "-1", "1x", "99999999999999999999", "9223372036854775808"] {
            assert!(number(Some(wrong)).is_err(), "{wrong}");
        }
        assert_eq!(number(Some("7")).unwrap(), Some(Seq(7)));
    }
}
