//! A short answer costs the same in a long record: steps of the database are counted, not time.

use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};

use rusqlite::Connection;

use crate::trial::{Home, Rows};
use crate::{Filter, Reader, Store};

/// A record of so many closed jobs, and one that is open.
fn record(jobs: u32) -> Rows {
    let mut rows = Rows::default();
    for number in 0..=jobs {
        let job = rows.open(&format!("J-{number}"));
        let attempt = rows.begin(job, (0, 0), 1);
        for position in 0..4 {
            rows.touch(job, attempt, position);
        }
        rows.judge(attempt);
        rows.alert(Some(job), Some(attempt));
        if number < jobs {
            rows.close(job);
        }
    }
    rows
}

/// Counts the steps of a database from now on.
fn counting(conn: &mut Connection) -> Arc<AtomicU64> {
    let steps = Arc::new(AtomicU64::new(0));
    let counted = Arc::clone(&steps);
    let count = move || {
        counted.fetch_add(1, Ordering::Relaxed);
        false
    };
    conn.progress_handler(1, Some(count)).unwrap();
    steps
}

/// The steps that the database takes for a question.
fn steps(reader: &mut Reader, question: impl Fn(&Reader) -> usize) -> u64 {
    assert_eq!(question(reader), 20, "what is known once is looked up before");
    let steps = counting(&mut reader.conn);
    assert_eq!(question(reader), 20);
    steps.load(Ordering::Relaxed)
}

#[test]
fn what_a_request_looks_up_costs_the_same_in_a_record_ten_times_as_long() {
    let (_short, mut few) = Home::holding(&record(60));
    let (_long, mut many) = Home::holding(&record(600));
    for name in ["J-7", "j-7", "J-60", "nobody"] {
        let asked = |store: &mut Store, ask: fn(&Store, &str)| {
            let steps = counting(store.connection_mut());
            ask(store, name);
            steps.load(Ordering::Relaxed)
        };
        let closed: fn(&Store, &str) = |store, name| assert!(store.closed_job(name).is_ok());
        let used: fn(&Store, &str) = |store, name| assert!(store.name_used(name).is_ok());
        for (what, ask) in [("closed", closed), ("used", used)] {
            let (few, many) = (asked(&mut few, ask), asked(&mut many, ask));
            println!("{what} {name}: {few} and {many} steps");
            assert!(many * 10 <= few * 12, "{what} {name}: {few} steps became {many}");
        }
    }
}

#[test]
fn a_closed_job_is_found_by_its_name_in_another_letter_case_where_no_other_job_has_that() {
    let mut rows = Rows::default();
    let [closed, open, twin] = ["J-1", "K-2", "k-2"].map(|name| rows.open(name));
    rows.close(closed);
    rows.close(twin);
    let (_home, store) = Home::holding(&rows);
    let found = |name| store.closed_job(name).unwrap();
    assert_eq!((found("J-1"), found("j-1")), (Some(closed), Some(closed)));
    assert_eq!((found("k-2"), found("K-2"), found("nobody")), (Some(twin), None, None));
    assert!(open != twin && store.name_used("J-1").unwrap() && store.name_used("j-1").unwrap());
}

#[test]
fn the_newest_and_the_oldest_cost_the_same_in_a_record_ten_times_as_long() {
    let (short, _one) = Home::holding(&record(60));
    let (long, _other) = Home::holding(&record(600));
    let (mut short, mut long) = (short.reader(), long.reader());
    let last = Filter { last: Some(20), ..Filter::default() };
    let first = Filter { first: Some(20), ..Filter::default() };
    for filter in [last, first] {
        let mut flat = |what: &str, question: &dyn Fn(&Reader) -> usize| {
            let (few, many) = (steps(&mut short, question), steps(&mut long, question));
            println!("{what}: {few} and {many} steps");
            assert!(many * 10 <= few * 12, "{what}: {few} steps became {many}");
        };
        flat("readings", &|reader| reader.readings(&filter).unwrap().len());
        flat("verdicts", &|reader| reader.verdicts(&filter).unwrap().len());
        flat("alerts", &|reader| reader.alerts(&filter).unwrap().len());
    }
}
