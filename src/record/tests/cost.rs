//! The cost of a commit: the pages it writes, and processor time.
//!
//! `cargo test -p tenths-store cost -- --nocapture` prints both.

use std::time::Duration;

use rustix::time::{ClockId, clock_gettime};

use crate::trial::{Home, Rows};
use crate::{DATABASE, Store};
use bench::row::{Body, Ending};

fn ran() -> Duration {
    let at = clock_gettime(ClockId::ThreadCPUTime);
    Duration::new(at.tv_sec.unsigned_abs(), u32::try_from(at.tv_nsec).unwrap())
}

/// A bench with some jobs in its record, and one that is measured.
fn at_work() -> (Home, Store, Rows, bench::Seq, bench::Seq) {
    let mut rows = Rows::default();
    for number in 0..40 {
        let job = rows.open(&format!("J-{number}"));
        for turn in 1..8 {
            let attempt = rows.begin(job, (0, 0), turn);
            for position in 0..8 {
                rows.touch(job, attempt, position);
            }
            rows.add(Body::AttemptEnded { attempt, ending: Ending::Complete });
            rows.judge(attempt);
        }
        if number % 4 != 0 {
            rows.close(job);
        }
    }
    let job = rows.open("NOW");
    let attempt = rows.begin(job, (0, 0), 1);
    let (home, store) = Home::holding(&rows);
    (home, store, rows, job, attempt)
}

/// Pages that the log holds; the pragma moves them into the database.
fn pages(store: &Store) -> i64 {
    let sql = "PRAGMA wal_checkpoint(RESTART)";
    store.connection().query_row(sql, [], |row| row.get(1)).unwrap()
}

type Work = fn(&mut Rows, bench::Seq, bench::Seq, u32) -> bench::Seq;

const KINDS: [(&str, Work, i64); 4] = [
    ("a touch", |rows, job, attempt, nth| rows.touch(job, attempt, nth % 8), 2),
    (
        "the last touch of a check and its verdict",
        |rows, job, attempt, nth| {
            rows.touch(job, attempt, nth % 8);
            rows.add(Body::AttemptEnded { attempt, ending: Ending::Complete });
            rows.judge(attempt)
        },
        7,
    ),
    (
        "a verdict, an alert and the next attempt",
        |rows, job, attempt, nth| {
            rows.judge(attempt);
            let alert = rows.alert(Some(job), Some(attempt));
            rows.add(Body::AlertSeen { alert });
            rows.begin(job, (0, 0), nth + 2)
        },
        9,
    ),
    (
        "a remark",
        |rows, job, _, nth| rows.add(Body::Noted { job, text: format!("remark {nth}") }),
        3,
    ),
];

#[test]
fn a_commit_writes_few_pages() {
    for (what, work, most) in KINDS {
        let (_home, mut store, mut rows, job, attempt) = at_work();
        store.connection().pragma_update(None, "synchronous", "OFF").unwrap();
        let (mut written, mut times, commits) = (0, Vec::new(), 60);
        for nth in 0..commits {
            pages(&store);
            let stored = rows.rows.len();
            work(&mut rows, job, attempt, nth);
            let before = ran();
            store.commit(&rows.rows[stored..], &[]).unwrap();
            times.push(ran().saturating_sub(before));
            written += pages(&store);
        }
        times.sort_unstable();
        let (each, time) = (written / i64::from(commits), times[times.len() / 2]);
        println!("{what}: {written} pages in {commits} commits, {time:?} of a processor each");
        assert!(each <= most, "{what}: {each} pages a commit");
    }
}

#[test]
fn a_large_file_is_sealed_beside_its_writing() {
    let (home, mut store, mut rows, job, attempt) = at_work();
    let stored = rows.rows.len();
    for nth in 0..50_000 {
        rows.touch(job, attempt, nth % 8);
    }
    store.connection().pragma_update(None, "synchronous", "OFF").unwrap();
    let (before, began) = (ran(), std::time::Instant::now());
    store.commit(&rows.rows[stored..], &[]).unwrap();
    let (time, wall) = (ran().saturating_sub(before), began.elapsed());
    let bytes = std::fs::metadata(home.0.path().join(DATABASE)).unwrap().len();
    println!("50000 readings: {time:?} of the writing thread, {wall:?} in all; {bytes} bytes");
    assert_eq!(store.all_rows().unwrap().len(), rows.rows.len());
}
