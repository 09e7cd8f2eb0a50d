//! Faults of disks and files, and the messages about them.

use std::os::unix::fs::PermissionsExt;

use crate::digest_of;
use crate::schema::VERSION;
use crate::trial::{Home, Rows, as_stored, history, parse};
use crate::{Answer, CommitError, DATABASE, Reader, Store, StoreError, restore};
use bench::row::Body;
use bench::{Bench, Seq};
use quantity::Wall;

fn commit_in_two(more_pages: i64) -> (Home, Store, Rows, Result<(), CommitError>) {
    let mut rows = Rows::default();
    let job = rows.open("S-1");
    let attempt = rows.begin(job, (0, 0), 1);
    for position in 0..8 {
        rows.touch(job, attempt, position);
    }
    let (home, mut store) = Home::holding(&rows);
    let stored = rows.rows.len();
    rows.judge(attempt);
    for _ in 0..300 {
        rows.add(Body::Noted { job, text: "x".repeat(100) });
    }
    store.limit_pages(Some(more_pages));
    let answers = [Answer {
        key: "k".to_owned(),
        digest: digest_of("asked"),
        at: Wall::from_micros(0),
        reply: "r".to_owned(),
        called: None,
    }];
    let refused = store.commit(&rows.rows[stored..], &answers);
    let rest = rows.rows.split_off(stored);
    assert_eq!(store.last_committed().unwrap(), Seq(10));
    assert_eq!(store.all_rows().unwrap(), rows.rows, "nothing half is left");
    assert_eq!(store.answer_of("k").unwrap(), None);
    assert_eq!(store.feed_since(0, 10).unwrap(), []);
    rows.rows = rest;
    (home, store, rows, refused)
}

#[test]
fn on_a_full_disk_nothing_half_is_stored_and_the_same_rows_go_in_later() {
    let (home, mut store, rows, refused) = commit_in_two(2);
    assert_eq!(refused, Err(CommitError::Full));
    assert_eq!(store.commit(&rows.rows, &[]), Err(CommitError::Full), "still full");
    store.limit_pages(None);
    store.commit(&rows.rows, &[]).unwrap();
    assert_eq!(store.last_committed().unwrap(), rows.bench.last);
    assert_eq!(store.feed_since(0, 10).unwrap().len(), 1);
    store.close().unwrap();
    let (_store, back) = home.open();
    assert_eq!(Bench::rebuilt(&back.rows, back.last, back.feed), rows.bench);
}

#[test]
fn wherever_a_commit_is_broken_off_nothing_half_stays_and_the_next_one_goes_in() {
    let mut rows = Rows::default();
    let job = rows.open("S-1");
    let (_home, mut store) = Home::holding(&rows);
    let mut broken = 0;
    for after in 1..120 {
        let stored = rows.rows.len();
        rows.add(Body::Noted { job, text: format!("after {after}") });
        store.break_off(Some(after));
        let done = store.commit(&rows.rows[stored..], &[]);
        // Whoever looks before the database is itself again must not see what was not stored.
        let seen = store.last_committed();
        store.break_off(None);
        let last = if done.is_ok() { rows.bench.last } else { rows.rows[stored - 1].seq };
        assert!(
            seen.as_ref().is_ok_and(|seen| *seen == last) || seen.is_err(),
            "after {after}: {seen:?}"
        );
        assert_eq!(store.last_committed().unwrap(), last, "after {after}");
        if done.is_err() {
            broken += 1;
            store.commit(&rows.rows[stored..], &[]).unwrap();
        }
    }
    assert!(broken > 10, "{broken}");
    assert_eq!(store.all_rows().unwrap(), rows.rows);
}

#[test]
fn rows_that_contradict_the_record_are_refused_whole() {
    let mut rows = Rows::default();
    let job = rows.open("S-1");
    let (_home, mut store) = Home::holding(&rows);
    rows.open("S-2");
    rows.add(Body::AlertSeen { alert: job });
    let refused = store.commit(&rows.rows[1..], &[]).unwrap_err();
    assert!(matches!(refused, CommitError::Contradiction(_)), "{refused}");
    assert_eq!(store.all_rows().unwrap(), rows.rows[..1]);
}

#[test]
fn rows_go_on_where_the_record_ends() {
    let rows = history();
    let (_home, mut store) = Home::holding(&rows);
    let last = rows.bench.last;
    let again = store.commit(&rows.rows[rows.rows.len() - 1..], &[]);
    assert_eq!(again, Err(CommitError::Order { expected: last.next(), got: last }));
}

#[test]
fn a_database_locked_by_somebody_else_is_told_apart() {
    let mut rows = Rows::default();
    rows.open("S-1");
    let (home, mut store) = Home::holding(&rows);
    rows.open("S-2");
    let other = rusqlite::Connection::open(home.0.path().join(DATABASE)).unwrap();
    other.execute_batch("BEGIN IMMEDIATE").unwrap();
    let began = std::time::Instant::now();
    assert_eq!(store.commit(&rows.rows[1..], &[]), Err(CommitError::Locked(None)));
    assert!(began.elapsed().as_millis() < 1000, "one try is short");
    other.execute_batch("ROLLBACK").unwrap();
    store.commit(&rows.rows[1..], &[]).unwrap();
}

#[test]
fn a_database_deleted_or_replaced_under_the_service_is_noticed() {
    for ending in ["", "-wal"] {
        let mut rows = Rows::default();
        rows.open("S-1");
        let (home, mut store) = Home::holding(&rows);
        rows.open("S-2");
        let path = home.0.path().join(format!("{DATABASE}{ending}"));
        let aside = home.0.path().join("aside");
        std::fs::rename(&path, &aside).unwrap();
        assert_eq!(store.commit(&rows.rows[1..], &[]), Err(CommitError::Replaced), "{ending}");
        std::fs::copy(&aside, &path).unwrap();
        assert_eq!(store.commit(&rows.rows[1..], &[]), Err(CommitError::Replaced), "{ending}");
        assert_eq!(store.last_committed().unwrap(), Seq(1));
        std::fs::rename(&aside, &path).unwrap();
        store.commit(&rows.rows[1..], &[]).unwrap();
        assert_eq!(store.last_committed().unwrap(), Seq(2));
    }
}

#[test]
fn a_second_service_is_refused_and_told_who_is_there() {
    let home = Home::new();
    let (store, _) = home.open();
    let refused = Store::open_with(home.0.path(), parse).unwrap_err();
    let holder = format!("process {}", std::process::id());
    assert!(matches!(&refused, StoreError::Held { holder: Some(who), .. } if *who == holder));
    assert!(refused.to_string().ends_with(&format!("({holder})")), "{refused}");
    store.close().unwrap();
    home.open();
}

#[test]
fn a_database_of_a_newer_program_is_left_alone() {
    let home = Home::new();
    let (store, _) = home.open();
    store.connection().pragma_update(None, "user_version", 99).unwrap();
    store.close().unwrap();
    let path = home.0.path().join(DATABASE);
    let before = std::fs::read(&path).unwrap();
    let refused = Store::open_with(home.0.path(), parse).unwrap_err();
    assert!(matches!(refused, StoreError::Newer { found: 99, known: VERSION }), "{refused}");
    assert!(refused.to_string().contains("newer version"));
    let refused = Reader::open_with(home.0.path(), parse).unwrap_err();
    assert!(matches!(refused, StoreError::Newer { found: 99, .. }), "{refused}");
    assert_eq!(std::fs::read(&path).unwrap(), before);
}

#[test]
fn a_record_of_an_earlier_program_is_refused_and_left_as_it_is() {
    for older in [0, -1] {
        let (home, store) = Home::holding(&history());
        store.connection().pragma_update(None, "user_version", older).unwrap();
        store.close().unwrap();
        let path = home.0.path().join(DATABASE);
        let before = std::fs::read(&path).unwrap();
        let told = |error: &StoreError| {
            assert!(
                matches!(error, StoreError::Older { found, known: VERSION, .. } if *found == older)
            );
            assert!(error.to_string().starts_with(path.to_str().unwrap()), "{error}");
        };
        told(&Store::open_with(home.0.path(), parse).unwrap_err());
        told(&Reader::open_with(home.0.path(), parse).unwrap_err());
        let how: (crate::ParsePlan, crate::Judge<'_>) = (parse, &as_stored);
        let other = Home::new();
        told(&restore(other.0.path(), &path, how, Wall::from_micros(0)).unwrap_err());
        assert_eq!(std::fs::read(&path).unwrap(), before);
        assert!(!other.0.path().join(DATABASE).exists());
    }
}

#[test]
fn a_foreign_file_is_left_alone() {
    let home = Home::new();
    let path = home.0.path().join(DATABASE);
    let other = rusqlite::Connection::open(&path).unwrap();
    other.execute_batch("CREATE TABLE books (title TEXT)").unwrap();
    drop(other);
    let refused = Store::open_with(home.0.path(), parse).unwrap_err();
    assert!(matches!(refused, StoreError::Foreign), "{refused}");
    std::fs::write(&path, "not a database at all, but long enough to be looked at").unwrap();
    assert!(matches!(Store::open_with(home.0.path(), parse), Err(StoreError::Database(_))));
}

#[test]
fn the_group_may_read_the_files_and_nobody_else() {
    let (home, store) = Home::holding(&history());
    for file in ["tenths.db", "tenths.db-wal", "tenths.db-shm", "tenths.lock"] {
        let mode = std::fs::metadata(home.0.path().join(file)).unwrap().permissions().mode();
        assert_eq!(mode & 0o137, 0, "{file}: {mode:o}");
        assert_eq!(mode & 0o600, 0o600, "{file}: {mode:o}");
    }
    drop(store);
}

#[test]
fn the_log_keeps_its_room_and_does_not_grow() {
    let mut rows = Rows::default();
    let job = rows.open("S-1");
    let (_home, mut store) = Home::holding(&rows);
    let before = store.health().unwrap();
    assert!(before.wal_bytes > 0 && before.free_bytes > 0);
    for round in 0..400 {
        let stored = rows.rows.len();
        rows.add(Body::Noted { job, text: format!("round {round}") });
        store.commit(&rows.rows[stored..], &[]).unwrap();
        if store.wants_checkpoint() {
            store.checkpoint().unwrap();
        }
    }
    assert_eq!(store.health().unwrap().wal_bytes, before.wal_bytes);
    assert_eq!(store.all_rows().unwrap(), rows.rows);
}

#[test]
fn a_copy_that_is_restored_stays_and_what_was_there_is_kept() {
    let rows = history();
    let (home, store) = Home::holding(&rows);
    store.close().unwrap();
    let copy = home.0.path().join(DATABASE);
    let bytes = std::fs::read(&copy).unwrap();
    let other = Home::new();
    let put = || {
        let how: (crate::ParsePlan, crate::Judge<'_>) = (parse, &as_stored);
        restore(other.0.path(), &copy, how, Wall::from_micros(1_800_000_000_000_000))
    };
    let first = put().unwrap();
    assert_eq!(first.verified.rows, rows.bench.last.0);
    assert_eq!((first.verified.differences, first.aside), (Vec::new(), None));
    assert_eq!(other.reader().all_rows().unwrap(), rows.rows);
    assert_eq!(std::fs::read(&copy).unwrap(), bytes, "the copy stays as it is");
    let (store, _) = other.open();
    let held = put().unwrap_err();
    assert!(matches!(held, StoreError::Held { .. }), "{held}");
    store.close().unwrap();
    for ending in ["2027-01-15T08-00-00", "2027-01-15T08-00-00-2"] {
        let aside = put().unwrap().aside.unwrap();
        assert_eq!(aside, other.0.path().join(format!("{DATABASE}.{ending}")));
        assert_eq!(Reader::open_with(&aside, parse).unwrap().all_rows().unwrap(), rows.rows);
    }
}
