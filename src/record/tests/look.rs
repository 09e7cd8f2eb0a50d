//! What a start checks: all of a record of usual size, and another share of a larger one each time.

use std::time::{Duration, Instant};

use crate::Store;
use crate::look::Limits;
use crate::trial::{Home, Rows, history};
use bench::event::StorageNews;
use bench::row::Body;

const PATIENT: Duration = Duration::from_mins(5);

/// As a record is looked at that is too large to be looked through.
const SHARE: Limits = Limits { time: PATIENT, whole_up_to: 0 };

const WHOLE: Limits = Limits { time: PATIENT, whole_up_to: u64::MAX };

/// A history that goes on over a dozen blocks.
fn long() -> Rows {
    let mut rows = history();
    let job = *rows.bench.jobs.keys().next().unwrap();
    for number in 0..3000 {
        rows.add(Body::Noted { job, text: format!("remark {number}") });
    }
    rows
}

/// The number of the row of a remark.
fn remark(number: u64) -> u64 {
    history().bench.last.0 + 1 + number
}

fn places(store: &mut Store, limits: Limits) -> Vec<String> {
    store.look(limits).0.into_iter().map(|aside| aside.what.to_string()).collect()
}

#[test]
fn a_record_that_is_well_is_found_well_either_way() {
    for rows in [history(), long()] {
        let (_home, mut store) = Home::holding(&rows);
        assert_eq!(store.look(WHOLE), (Vec::new(), vec![StorageNews::FileFine]));
        assert_eq!(store.look(SHARE), (Vec::new(), Vec::new()));
    }
}

#[test]
fn a_row_that_changed_is_found_in_its_block_by_its_seal() {
    for (sql, row) in [
        ("UPDATE reading SET number = number + 1 WHERE job = 0 AND nth = 2", 2),
        ("UPDATE fact SET body = replace(body, 'wild', 'tame') WHERE seq = 16", 16),
        ("UPDATE fact SET body = replace(body, '77', '78') WHERE seq = 3", 3),
        ("UPDATE fact SET key = 'x' WHERE seq = 18", 18),
        (
            "UPDATE fact SET body = replace(body, 'remark 0\"', 'remark 0.\"') WHERE body LIKE '%remark 0\"%'",
            remark(0),
        ),
        (
            "UPDATE fact SET body = replace(body, 'remark 2999\"', 'remark 2999.\"') WHERE body LIKE '%remark 2999\"%'",
            remark(2999),
        ),
    ] {
        let (_home, mut store) = Home::holding(&long());
        assert_eq!(store.connection().execute(sql, []).unwrap(), 1, "{sql}");
        assert_eq!(places(&mut store, SHARE), [format!("the file: row {row}")], "{sql}");
        let whole = places(&mut store, WHOLE);
        // The signatures after it are not those of these rows any more.
        let signed = long().signatures_after(bench::Seq(row));
        let rest: Vec<String> =
            signed.iter().map(|signed| format!("the file: fact, row {signed}")).collect();
        assert!(whole[0].ends_with(&format!("row {row}")), "{sql}: {whole:?}");
        assert_eq!(whole[1..], rest, "{sql}");
    }
    for (sql, place) in [
        ("UPDATE seal SET tags = x'' WHERE block = 9", "the file: rows 2304 to 2559"),
        ("DROP INDEX fact_about", "the file: fact_about"),
    ] {
        let (_home, mut store) = Home::holding(&long());
        store.connection().execute_batch(sql).unwrap();
        assert_eq!(places(&mut store, SHARE), [place], "{sql}");
    }
}

#[test]
fn a_look_ends_in_time_and_the_next_one_goes_on_where_it_ended() {
    let (_home, mut store) = Home::holding(&long());
    let sql = "UPDATE fact SET body = replace(body, 'remark 100\"', 'remark 100.\"') WHERE body LIKE '%remark 100\"%'";
    assert_eq!(store.connection().execute(sql, []).unwrap(), 1);
    let short = Limits { time: Duration::from_millis(100), whole_up_to: 0 };
    let mut looks = 0;
    // A machine that is busy may come to nothing in that time; many times in a row it does not.
    while places(&mut store, short) != [format!("the file: row {}", remark(100))] {
        looks += 1;
        assert!(looks < 100, "never found");
    }
    let began = Instant::now();
    places(&mut store, Limits { time: Duration::ZERO, whole_up_to: u64::MAX });
    assert!(began.elapsed() < Duration::from_secs(5), "{:?}", began.elapsed());
}
