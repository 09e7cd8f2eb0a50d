//! What no verdict rests on is found by its sum.

use crate::trial::{Home, Rows, as_stored, history};
use crate::{Difference, Verified};
use bench::Seq;
use bench::row::Body;

/// What verify says after the record was changed past the program.
fn after(rows: &Rows, sql: &str) -> Verified {
    let (home, store) = Home::holding(rows);
    store.connection().execute_batch(sql).unwrap();
    home.reader().verify(&as_stored).unwrap()
}

fn of(table: &str, row: u64) -> Difference {
    let what = "it is not as it was stored".to_owned();
    Difference { table: Some(table.to_owned()), row: Some(Seq(row)), what }
}

/// A history that goes on over several blocks of the sums.
fn long() -> Rows {
    let mut rows = history();
    let job = *rows.bench.jobs.keys().next().unwrap();
    for number in 0..900 {
        rows.add(Body::Noted { job, text: format!("remark {number}") });
    }
    rows
}

#[test]
fn one_row_that_changed_is_named_with_its_table() {
    let cases = [
        ("UPDATE reading SET number = number + 1 WHERE short = 0", "reading", 2),
        ("UPDATE reading SET as_sent = '+0.00013' WHERE short = 0", "reading", 2),
        ("UPDATE reading SET drift = drift + 1 WHERE short = 0", "reading", 2),
        ("UPDATE reading_more SET why = 'nobody' WHERE reading = 2", "reading", 2),
        ("UPDATE job SET customer = 'X' WHERE seq = 3", "job", 3),
        ("UPDATE attempt SET mono = mono + 0, number = 9 WHERE seq = 5", "attempt", 5),
        ("UPDATE mark SET why = 'tame'", "mark", 16),
        ("UPDATE alert SET text = 'x' WHERE seq = 18", "alert", 18),
        ("UPDATE alert_step SET wall = wall + 1 WHERE seq = 19", "alert_step", 19),
        (
            "UPDATE step SET body = replace(body, 'remark 0\"', 'remark 0.\"') WHERE body LIKE '%remark 0\"%'",
            "step",
            81,
        ),
        (
            "UPDATE step SET body = replace(body, 'remark 899\"', 'remark 899.\"') WHERE body LIKE '%remark 899\"%'",
            "step",
            980,
        ),
        ("UPDATE file SET name = 'x' WHERE taken = 0", "file", 35),
    ];
    let rows = long();
    for (sql, table, row) in cases {
        assert_eq!(after(&rows, sql).differences, [of(table, row)], "{sql}");
    }
}

#[test]
fn two_rows_of_a_block_are_said_to_lie_among_others() {
    let sql = "UPDATE step SET wall = wall + 1 WHERE body LIKE '%remark 300\"%' OR body LIKE '%remark 301\"%'";
    let found = after(&long(), sql).differences;
    let what = "something in the rows 256 to 511, or their sum, is not as it was stored".to_owned();
    assert_eq!(found, [Difference { table: None, row: None, what }]);
    let sql = "UPDATE step SET wall = wall + 1 WHERE body LIKE '%remark 3\"%' OR body LIKE '%remark 801\"%'";
    assert_eq!(after(&long(), sql).differences, [of("step", 84), of("step", 882)]);
}

#[test]
fn sums_themselves_and_texts_kept_twice_are_looked_at() {
    for (sql, table) in [
        ("UPDATE sum SET plain = plain + 1 WHERE block = 1", None),
        ("UPDATE counter SET weighted = weighted + 1", None),
        ("DELETE FROM sum WHERE block = 0", None),
        ("UPDATE plan SET digest = zeroblob(32)", Some("plan")),
        ("UPDATE pin SET gauge = 'other' WHERE id = 1", Some("pin")),
        ("UPDATE feed SET row = (SELECT row FROM feed WHERE seq = 1) WHERE seq = 2", None),
        ("CREATE TABLE more (x)", Some("more")),
        ("DROP INDEX mark_job", Some("mark_job")),
    ] {
        let found = after(&long(), sql).differences;
        assert!(!found.is_empty(), "{sql}");
        let named = found.iter().any(|one| one.table.as_deref() == table);
        assert!(table.is_none() || named, "{sql}: {found:?}");
    }
}
