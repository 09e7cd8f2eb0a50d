//! Readings that are written many at a time.

use rusqlite::types::Value;

use crate::trial::{Home, Rows, reading};
use crate::{CommitError, Store};
use bench::row::{Body, Reading, Source, State};
use bench::{Bench, Seq};
use quantity::{Quoted, Unit, Wall};

/// All that the tables hold which readings are written into, and what follows from them.
fn tables(store: &Store) -> Vec<Vec<Value>> {
    let mut all = Vec::new();
    for table in ["form", "reading", "reading_more", "seal", "counter"] {
        let mut statement = store.connection().prepare(&format!("SELECT * FROM {table}")).unwrap();
        let columns = statement.column_count();
        let row = |row: &rusqlite::Row<'_>| (0..columns).map(|at| row.get(at)).collect();
        let rows = statement.query_map([], row).unwrap();
        all.extend(rows.map(Result::unwrap));
    }
    all
}

/// A reading unlike the ones beside it.
fn one_of_many(nth: u32, job: Seq, attempt: Seq) -> Reading {
    let whole = reading(Some(job), Some(attempt), nth % 8);
    let from_file = |line| Source::Drop { file: Seq(1), line };
    match nth % 7 {
        0 | 1 => Reading { source: from_file(nth + 2), ..whole },
        2 => Reading { why: Some("wild".to_owned()), state: State::Suspect, ..whole },
        3 => Reading {
            source: from_file(nth),
            measured_at: Some(Wall::from_micros(1_700_000_000_000_000 + i64::from(nth))),
            ..whole
        },
        4 => Reading { position: None, ..reading(None, None, 0) },
        5 => Reading {
            source: Source::Keyed,
            value: Quoted::parse(&format!("-0.{nth:03}"), Unit::Millimetre).unwrap(),
            as_sent: format!("-0.{nth:03} mm"),
            ..whole
        },
        _ => whole,
    }
}

/// `many` readings that follow each other, all from a file where they are alike, and some rows behind.
fn run(many: u32, alike: bool) -> Rows {
    let mut rows = Rows::default();
    let job = rows.open("S-1");
    let attempt = rows.begin(job, (0, 0), 1);
    for nth in 0..many {
        let source = Source::Drop { file: Seq(1), line: nth + 2 };
        let like = Reading { source, ..reading(Some(job), Some(attempt), nth % 8) };
        rows.add(Body::Reading(if alike { like } else { one_of_many(nth, job, attempt) }));
    }
    let other = rows.begin(job, (1, 1), 1);
    rows.touch(job, other, 3);
    rows.judge(attempt);
    rows
}

#[test]
fn readings_written_many_at_a_time_are_those_written_one_by_one() {
    for many in [1, 2, 31, 32, 33, 64, 95, 300] {
        for alike in [false, true] {
            let rows = run(many, alike);
            let (_home, together) = Home::holding(&rows);
            let other = Home::new();
            let (mut alone, _) = other.open();
            for row in &rows.rows {
                alone.commit(std::slice::from_ref(row), &[]).unwrap();
            }
            assert_eq!(together.all_rows().unwrap(), rows.rows, "{many}, {alike}");
            assert_eq!(tables(&together), tables(&alone), "{many}, {alike}");
        }
    }
}

#[test]
fn a_run_of_readings_broken_off_anywhere_leaves_nothing_half() {
    let mut rows = run(1, true);
    let (home, mut store) = Home::holding(&rows);
    let before = tables(&store);
    let stored = rows.rows.len();
    let (job, attempt) = (rows.rows[0].seq, rows.rows[1].seq);
    for nth in 0..3000 {
        rows.add(Body::Reading(one_of_many(nth, job, attempt)));
    }
    let mut broken = 0;
    for after in (0..16).map(|doubled| 1 << doubled) {
        store.break_off(Some(after));
        let done = store.commit(&rows.rows[stored..], &[]);
        store.break_off(None);
        if done.is_ok() {
            break;
        }
        broken += 1;
        assert!(!matches!(done, Err(CommitError::Contradiction(_))), "{done:?}");
        assert_eq!(store.last_committed().unwrap(), rows.rows[stored - 1].seq);
        assert_eq!(tables(&store), before, "broken off after {after} steps");
    }
    assert!(broken > 10, "{broken}");
    if store.last_committed().unwrap() < rows.bench.last {
        store.commit(&rows.rows[stored..], &[]).unwrap();
    }
    assert_eq!(store.all_rows().unwrap(), rows.rows);
    store.close().unwrap();
    let (_store, back) = home.open();
    assert_eq!(Bench::rebuilt(&back.rows, back.last, back.feed), rows.bench);
}

#[test]
fn a_reading_that_contradicts_the_record_takes_the_others_of_its_run_with_it() {
    let mut rows = run(1, true);
    let (_home, mut store) = Home::holding(&rows);
    let stored = rows.rows.len();
    let (job, attempt) = (rows.rows[0].seq, rows.rows[1].seq);
    for nth in 0..100 {
        rows.add(Body::Reading(one_of_many(nth, job, attempt)));
    }
    // Its place is taken already: somebody wrote past the program.
    let taken = rows.rows[stored + 70].seq;
    let sql = "INSERT INTO reading_more (reading) VALUES (?1)";
    store.connection().execute(sql, [taken.0.cast_signed()]).unwrap();
    let before = tables(&store);
    let refused = store.commit(&rows.rows[stored..], &[]).unwrap_err();
    assert!(matches!(refused, CommitError::Contradiction(_)), "{refused}");
    assert_eq!(tables(&store), before);
    store
        .connection()
        .execute("DELETE FROM reading_more WHERE reading = ?1", [taken.0.cast_signed()])
        .unwrap();
    store.commit(&rows.rows[stored..], &[]).unwrap();
    assert_eq!(store.all_rows().unwrap(), rows.rows);
}
