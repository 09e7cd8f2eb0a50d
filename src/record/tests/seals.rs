//! Changes that no verdict shows are found by the seals.

use std::sync::Arc;

use crate::trial::{Home, Rows, as_stored, history};
use crate::{Difference, Verified};
use bench::Seq;
use bench::row::{Body, Role, Signed};

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

/// A signature whose seal does not fit.
fn not_as_signed(row: Seq) -> Difference {
    let what = "the rows before this signature are not those that it was given under: its seal does not fit";
    Difference { table: Some("fact".to_owned()), row: Some(row), what: what.to_owned() }
}

/// A history that goes on over several blocks.
fn long() -> Rows {
    let mut rows = history();
    let job = *rows.bench.jobs.keys().next().unwrap();
    for number in 0..900 {
        rows.add(Body::Noted { job, text: format!("remark {number}") });
    }
    rows
}

/// The number of the row of a remark.
fn remark(number: u64) -> u64 {
    history().bench.last.0 + 1 + number
}

#[test]
fn one_row_that_changed_is_named_with_its_table() {
    let cases = [
        ("UPDATE reading SET number = number + 1 WHERE job = 0 AND nth = 2", "reading", 2),
        ("UPDATE reading SET as_sent = '+0.00013' WHERE job = 0 AND nth = 2", "reading", 2),
        ("UPDATE reading SET drift = drift + 1 WHERE job = 0 AND nth = 2", "reading", 2),
        ("UPDATE reading_more SET why = 'nobody' WHERE reading = 2", "reading", 2),
        ("UPDATE fact SET body = replace(body, '77', '78') WHERE seq = 3", "fact", 3),
        (
            "UPDATE fact SET body = replace(body, '\"number\":1', '\"number\":9') WHERE seq = 5",
            "fact",
            5,
        ),
        ("UPDATE fact SET body = replace(body, 'wild', 'tame') WHERE seq = 16", "fact", 16),
        ("UPDATE fact SET wall = wall + 1 WHERE seq = 19", "fact", 19),
        ("UPDATE fact SET mono = mono + 1 WHERE seq = 18", "fact", 18),
        ("UPDATE fact SET by_whom = 'Ida' WHERE seq = 18", "fact", 18),
        (
            "UPDATE fact SET body = replace(body, 'remark 0\"', 'remark 0.\"') WHERE body LIKE '%remark 0\"%'",
            "fact",
            remark(0),
        ),
        (
            "UPDATE fact SET body = replace(body, 'remark 899\"', 'remark 899.\"') WHERE body LIKE '%remark 899\"%'",
            "fact",
            remark(899),
        ),
    ];
    let rows = long();
    for (sql, table, row) in cases {
        let mut expected = vec![of(table, row)];
        expected.extend(rows.signatures_after(Seq(row)).into_iter().map(not_as_signed));
        assert_eq!(after(&rows, sql).differences, expected, "{sql}");
    }
}

/// The rows are those that were stored, and the seals of the record fit them; the signature alone names others.
#[test]
fn a_signature_is_held_against_the_chain() {
    let with = |seal: &str, of: u64| {
        let mut rows = history();
        let job = *rows.bench.jobs.keys().next_back().unwrap();
        let (role, seal, of) = (Role::Accepted, seal.to_owned(), Seq(of));
        let signed = Signed { role, seal, of, lacking: Vec::new(), why: None };
        let row = rows.add(Body::Signed { job, signed: Arc::new(signed) });
        (after(&rows, ""), row)
    };
    let last = history().bench.last;
    let (_home, store) = Home::holding(&history());
    let seal = store.seal().unwrap().to_string();
    assert_eq!(with(&seal, last.0).0.differences, []);
    let other = format!("{last}-0000-0000-0000-0000-0000-0000-0000-0000");
    let (found, row) = with(&other, last.0);
    assert_eq!(found.differences, [not_as_signed(row)]);
    let what = |seal: &str, of: u64| with(seal, of).0.differences[0].what.clone();
    assert!(what("seal", 1).contains("is not a seal"), "{}", what("seal", 1));
    assert_eq!(what(&seal, last.0 + 1), "its seal is not of the rows that were signed");
}

#[test]
fn each_row_of_a_block_that_changed_is_named() {
    let changed = |some: &str| {
        let which: Vec<String> =
            some.split(' ').map(|number| format!("body LIKE '%remark {number}\"%'")).collect();
        after(&long(), &format!("UPDATE fact SET wall = wall + 1 WHERE {}", which.join(" OR ")))
            .differences
    };
    assert_eq!(changed("300 301"), [of("fact", remark(300)), of("fact", remark(301))]);
    assert_eq!(changed("3 801"), [of("fact", remark(3)), of("fact", remark(801))]);
    // Of very many only how many they are.
    let found =
        after(&long(), "UPDATE fact SET wall = wall + 1 WHERE seq BETWEEN 300 AND 400").differences;
    let what = "101 of the rows 256 to 511 are not as they were stored".to_owned();
    assert_eq!(found, [Difference { table: None, row: None, what }]);
}

#[test]
fn seals_themselves_and_texts_kept_by_their_digest_are_looked_at() {
    for (sql, table) in [
        ("UPDATE seal SET seal = zeroblob(32) WHERE block = 1", None),
        ("UPDATE seal SET tags = zeroblob(512) WHERE block = 1", None),
        ("UPDATE counter SET head = zeroblob(32)", None),
        ("UPDATE counter SET tags = x''", None),
        ("DELETE FROM seal WHERE block = 0", None),
        ("UPDATE pinned SET digest = zeroblob(32) WHERE text LIKE '%wheelhead%'", Some("pinned")),
        ("UPDATE pinned SET text = text || ' '", Some("pinned")),
        ("CREATE TABLE more (x)", Some("more")),
        ("DROP INDEX fact_about", Some("fact_about")),
    ] {
        let found = after(&long(), sql).differences;
        assert!(!found.is_empty(), "{sql}");
        let named = found.iter().any(|one| one.table.as_deref() == table);
        assert!(table.is_none() || named, "{sql}: {found:?}");
    }
}
