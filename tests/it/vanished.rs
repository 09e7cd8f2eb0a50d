//! Records that are gone, in part or as a whole, and what a start does about it: what was acknowledged is never
//! lost without a report.

use std::fs;
use std::path::{Path, PathBuf};

use serde_json::Value;

use crate::rig::{Bench, Make, RING_PLAN};

fn bench() -> Bench {
    Bench::new(&Make {
        gauge: "resolution = \"0.00001 in\"\nuncertainty = \"0.000009 in\"\nrepeat_ms = 0\nmax_rate = 0",
        more: "",
        plan: RING_PLAN,
    })
}

/// A service that was killed with rows that lie only in the log.
fn killed() -> Bench {
    let mut bench = bench();
    bench.start();
    bench.ok(&["job", "open", "J-1", "--plan", "held"]);
    bench.ok(&["measure", "ring/face"]);
    bench.touches(&bench.plate, "plate", &["0.00001", "0.00002", "0.00003", "0.00004"]);
    bench.kill();
    bench
}

fn alerts(bench: &Bench, kind: &str) -> Vec<Value> {
    bench.lines(&["alerts", "--all", "--kind", kind])
}

#[test]
fn a_record_that_is_missing_or_empty_beside_its_log_is_no_new_one() {
    let mut bench = killed();
    let (db, log) = (bench.path("state/tenths.db"), bench.path("state/tenths.db-wal"));
    let (kept, rows) = (fs::read(&db).unwrap(), fs::read(&log).unwrap());
    for empty in [false, true] {
        if empty {
            fs::write(&db, "").unwrap();
        } else {
            fs::remove_file(&db).unwrap();
        }
        let said = bench.refused_serve(2);
        assert!(said.contains(if empty { "is an empty file" } else { "is missing" }), "{said}");
        assert!(said.contains("tenths.db-wal"), "{said}");
        assert!(said.contains("hint: ") && said.contains("tenths restore FILE"), "{said}");
        assert!(said.contains("tenths verify FILE") && said.contains("move"), "{said}");
        assert_eq!(fs::read(&log).unwrap(), rows, "the log is as it was");
        assert_eq!(db.exists(), empty, "nothing was made");
    }
    fs::write(&db, &kept).unwrap();
    bench.start();
    assert_eq!(bench.placed("J-1").len(), 4);
    assert_eq!(bench.heard().unwrap()["storage"]["begun"], Value::Null);
    assert!(alerts(&bench, "rows-lost").is_empty());
}

#[test]
fn a_copy_or_a_damaged_record_in_the_folder_keeps_a_new_one_from_beginning() {
    let mut bench = killed();
    bench.start();
    bench.stop();
    let state = bench.path("state");
    let db = state.join("tenths.db");
    for name in ["tenths.db.2026-11-30T01-02-03", "monday.db", "tenths.db.broken"] {
        let other = state.join(name);
        fs::rename(&db, &other).unwrap();
        let said = bench.refused_serve(2);
        assert!(said.contains("is missing") && said.contains(name), "{said}");
        assert!(!db.exists());
        // The hint is true.
        if name == "monday.db" {
            bench.ok(&["restore", other.to_str().unwrap()]);
            fs::remove_file(&other).unwrap();
        } else {
            fs::rename(&other, &db).unwrap();
        }
    }
    bench.start();
    assert_eq!(bench.placed("J-1").len(), 4);
    bench.stop();
    // A damaged one at its place is told, too, and never started again in vain.
    fs::write(&db, "not a database, whatever its name says, and long enough to be looked at")
        .unwrap();
    let said = bench.refused_serve(2);
    assert!(said.contains("tenths verify") && said.contains("tenths restore FILE"), "{said}");
}

#[test]
fn a_new_record_is_announced_once_and_one_that_was_there_before_stays_told() {
    let mut bench = bench();
    bench.start();
    let status = bench.heard().unwrap();
    assert!(status["storage"]["begun"].is_string(), "{status}");
    assert!(bench.ok(&["status"]).contains("NEW, begun"), "{status}");
    assert!(bench.log().contains("a new record begins"), "{}", bench.log());
    let told = alerts(&bench, "record-begun");
    assert_eq!((told.len(), &told[0]["level"]), (1, &Value::from("note")), "{told:?}");
    assert!(!told[0]["cleared_at"].is_null());
    bench.ok(&["job", "open", "J-1", "--plan", "held"]);
    bench.stop();
    bench.start();
    assert_eq!(bench.heard().unwrap()["storage"]["begun"], Value::Null);
    assert_eq!(alerts(&bench, "record-begun").len(), 1);
    bench.stop();
    // Taken away as a whole: a new one begins, and says what was there.
    fs::remove_file(bench.path("state/tenths.db")).unwrap();
    bench.start();
    let told = alerts(&bench, "record-begun");
    let text = told[0]["text"].as_str().unwrap();
    assert!(text.contains("is gone") && text.contains("tenths restore FILE"), "{text}");
    assert_eq!(
        (told[0]["level"].as_str(), &told[0]["cleared_at"]),
        (Some("interrupt"), &Value::Null)
    );
    assert_eq!(bench.run(&["status"]).status.code(), Some(1));
    bench.ok(&["job", "open", "J-1", "--plan", "held"]);
    bench.ok(&["verify"]);
}

/// Where the frames of the log begin that hold rows not in the database yet.
fn frames(log: &Path) -> Vec<usize> {
    let bytes = fs::read(log).unwrap();
    // The header of the log (32 bytes) and of each frame (24) hold the same two salts while the frame
    // belongs to it: SQLite, "Database File Format", section 4.1.
    let salts = bytes[16..24].to_vec();
    let starts = (32..bytes.len()).step_by(24 + 4096);
    starts.take_while(|at| bytes.get(at + 8..at + 16) == Some(&salts[..])).collect()
}

fn flip(path: &PathBuf, at: usize) {
    let mut bytes = fs::read(path).unwrap();
    bytes[at] ^= 4;
    fs::write(path, bytes).unwrap();
}

#[test]
fn a_bit_that_flips_in_the_log_of_a_killed_service_loses_no_row_in_silence() {
    let log = "state/tenths.db-wal";
    for which in [0.0, 0.4, 0.9] {
        let mut bench = killed();
        let newest = bench.readings("J-1").last().unwrap()["id"].as_u64().unwrap();
        let all = frames(&bench.path(log));
        assert!(all.len() > 8, "{all:?}");
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            clippy::cast_precision_loss,
            reason = "a place in a short list"
        )]
        let place = all[(all.len() as f64 * which) as usize] + 24 + 2000;
        flip(&bench.path(log), place);
        bench.start();
        let told = alerts(&bench, "rows-lost");
        assert_eq!(told.len(), 1, "{which}: {told:?}");
        assert_eq!(told[0]["level"], "interrupt");
        let text = told[0]["text"].as_str().unwrap();
        // `… (rows 8 to 14).`
        let numbers: Vec<u64> = text
            .rsplit_once("(rows ")
            .unwrap()
            .1
            .split(|c: char| !c.is_ascii_digit())
            .filter_map(|part| part.parse().ok())
            .collect();
        let (first, last) = (numbers[0], numbers[1]);
        assert_eq!(last, newest, "the last acknowledged row: {text}");
        assert!(text.starts_with(&format!("{} row", last - first + 1)), "{text}");
        assert!(text.contains("UTC to ") && text.contains("Measure again"), "{text}");
        let status = bench.heard().unwrap();
        assert_eq!(status["storage"]["state"], "fine", "the service goes on");
        assert_eq!(status["set_aside"][0]["what"], format!("rows {first} to {last}"));
        let said = String::from_utf8(bench.run(&["status"]).stdout).unwrap();
        assert!(said.contains("rows are missing from the record"), "{said}");
        assert!(bench.log().contains("missing at the end of the record"), "{}", bench.log());
        bench.ok(&["job", "open", "J-9", "--plan", "held"]);
        bench.touches(&bench.plate, "plate", &["0.00009"]);
        let after = bench.lines(&["readings"]).last().unwrap()["id"].as_u64().unwrap();
        assert!(after > last, "no number is given twice: {after}");
        bench.ok(&["verify"]);
        // It stays, is not told twice, and a copy of the record knows of it.
        bench.stop();
        bench.start();
        assert_eq!(alerts(&bench, "rows-lost").len(), 1);
        let copy = bench.path("copy.db");
        bench.ok(&["backup", copy.to_str().unwrap()]);
        bench.ok(&["verify", copy.to_str().unwrap()]);
        bench.stop();
        bench.ok(&["restore", copy.to_str().unwrap()]);
        bench.start();
        assert_eq!(alerts(&bench, "rows-lost").len(), 1);
        bench.stop();
    }
}

#[test]
fn an_older_copy_that_was_put_there_by_hand_is_told_and_one_that_was_restored_is_not() {
    let mut bench = bench();
    bench.start();
    bench.ok(&["job", "open", "J-1", "--plan", "held"]);
    let copy = bench.path("copy.db");
    bench.ok(&["backup", copy.to_str().unwrap()]);
    bench.ok(&["job", "open", "J-2", "--plan", "held"]);
    bench.stop();
    bench.ok(&["restore", copy.to_str().unwrap()]);
    bench.start();
    assert!(alerts(&bench, "rows-lost").is_empty());
    bench.ok(&["job", "open", "J-3", "--plan", "held"]);
    bench.stop();
    fs::copy(&copy, bench.path("state/tenths.db")).unwrap();
    bench.start();
    assert_eq!(alerts(&bench, "rows-lost").len(), 1);
    bench.ok(&["verify"]);
}
