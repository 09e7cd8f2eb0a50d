//! Every fact as it is stored: `fixtures/facts/facts.jsonl` has the facts of a history with every kind
//! of row, each behind its word, and the bytes may not change.
//!
//! `TENTHS_WRITE=1 cargo test -p tenths-store facts` adds those of new kinds. From the first release on
//! lines are added there and none is edited.

use std::collections::BTreeSet;
use std::fs;

use bench::row::{Body, Changes};

use crate::trial::{Home, full_verdict, history, parse};

const FILE: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/../../fixtures/facts/facts.jsonl");

fn line(body: &Body) -> String {
    format!("{} {}", body.kind(), serde_json::to_string(body).unwrap())
}

fn read(line: &str) -> Body {
    let (kind, text) = line.split_once(' ').unwrap();
    let mut from = serde_json::Deserializer::from_str(text);
    Body::read(kind, &mut from, parse).unwrap().unwrap()
}

#[test]
fn a_fact_is_stored_as_it_always_was_and_comes_back() {
    let rows = history().rows;
    let mut facts: Vec<Body> = rows.into_iter().map(|row| row.body).collect();
    facts.push(Body::Verdict(full_verdict(bench::Seq(7)).into()));
    let lines: Vec<String> = facts.iter().map(line).collect();
    if std::env::var_os("TENTHS_WRITE").is_some() {
        fs::write(FILE, lines.join("\n") + "\n").unwrap();
    }
    let kept = fs::read_to_string(FILE).unwrap();
    for (kept, line) in kept.lines().zip(&lines) {
        assert_eq!(kept, line);
    }
    assert_eq!(kept.lines().count(), lines.len());
    for (fact, line) in facts.iter().zip(kept.lines()) {
        assert_eq!(read(line), *fact);
    }
    let there: BTreeSet<&str> = facts.iter().map(Body::kind).collect();
    assert_eq!(there, Body::KINDS.iter().copied().collect());
}

#[test]
fn what_is_not_known_in_a_fact_is_refused() {
    for line in fs::read_to_string(FILE).unwrap().lines() {
        let more = line.replacen(" {", " {\"more\":1,", 1).replace(",}", "}");
        let (kind, text) = more.split_once(' ').unwrap();
        let mut from = serde_json::Deserializer::from_str(text);
        let error = Body::read(kind, &mut from, parse).unwrap_err().to_string();
        assert!(error.contains("unknown field `more`"), "{line}: {error}");
    }
    let mut from = serde_json::Deserializer::from_str("{}");
    assert!(Body::read("nothing", &mut from, parse).unwrap().is_none());
}

/// A signature is of an earlier state as soon as one of these was stored: the list by which the record looks
/// for them is the one that the bench goes by.
#[test]
fn the_facts_that_change_a_job_are_listed() {
    for row in history().rows.iter().filter(|row| !matches!(row.body, Body::Reading(_))) {
        let listed = Body::CHANGING.contains(&row.body.kind());
        // A lift of a proof that was taken back is of no job.
        let of_no_job = matches!(row.body, Body::Marked { attempt: None, .. });
        let changes = row.body.changes() != Changes::Nothing;
        assert_eq!(changes, listed && !of_no_job, "{}", row.body.kind());
    }
}

#[test]
fn the_record_knows_the_newest_change_of_a_job_as_the_bench_does() {
    let rows = history();
    let (home, _store) = Home::holding(&rows);
    for (job, state) in &rows.bench.jobs {
        let name = state.opened.name.as_str();
        let record = home.reader().job(name).unwrap();
        let (_, read) = home.reader().job_state(name).unwrap();
        assert_eq!(read.card, state.card, "{job}");
        let earlier: Vec<bool> = record.signed.iter().map(|one| one.earlier).collect();
        let expected: Vec<bool> =
            state.card.signed.iter().map(|one| state.card.is_earlier(one)).collect();
        assert_eq!(earlier, expected, "{name}");
    }
}
