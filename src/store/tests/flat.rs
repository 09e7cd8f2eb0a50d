//! A short answer costs the same in a long record: steps of the database are counted, not time.

use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};

use super::home::{Home, Rows};
use crate::store::{Filter, Reader};

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

/// The steps that the database takes for a question.
fn steps(reader: &mut Reader, question: impl Fn(&Reader) -> usize) -> u64 {
    let steps = Arc::new(AtomicU64::new(0));
    let counted = Arc::clone(&steps);
    let count = move || {
        counted.fetch_add(1, Ordering::Relaxed);
        false
    };
    assert_eq!(question(reader), 20, "what is known once is looked up before");
    reader.conn.progress_handler(1, Some(count)).unwrap();
    assert_eq!(question(reader), 20);
    reader.conn.progress_handler(1, None::<fn() -> bool>).unwrap();
    steps.load(Ordering::Relaxed)
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
