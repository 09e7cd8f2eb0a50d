//! A copy becomes the record, at every moment either the old or the new one.

use std::fs;
use std::os::unix::fs::PermissionsExt;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use std::time::Duration;

use ::record::Reader;
use serde_json::Value;

use super::shop::{Shop, ring_bench, shop};
use crate::rig::{Bench, Dice, Ends, Wire, skipped};

fn backup(bench: &Bench, name: &str) -> PathBuf {
    let path = bench.path(name);
    bench.ok(&["backup", path.to_str().unwrap()]);
    path
}

/// The records that were moved aside.
fn aside(state: &Path) -> Vec<PathBuf> {
    let entries = fs::read_dir(state).unwrap().map(|entry| entry.unwrap().path());
    let mut found: Vec<_> = entries
        .filter(|path| path.file_name().unwrap().to_str().unwrap().starts_with("tenths.db.20"))
        .collect();
    found.sort();
    found
}

fn notes(bench: &Bench) -> usize {
    let shown = bench.lines(&["job", "show", "wh-2"]).remove(0);
    shown["notes"].as_array().unwrap().len()
}

#[test]
fn a_copy_becomes_the_record_and_the_other_is_kept() {
    let Shop { mut bench } = shop();
    let copy = backup(&bench, "copy.db");
    bench.ok(&["note", "wh-2", "after the copy"]);
    let said = bench.refused(3, &["restore", copy.to_str().unwrap()]);
    assert!(said.contains("stop the service first"), "{said}");
    // Killed: what it stored last is still in the log beside the record.
    bench.kill();
    assert!(bench.path("state/tenths.db-wal").metadata().unwrap().len() > 0);
    let told = bench.ok(&["restore", copy.to_str().unwrap()]);
    assert!(told.contains("is the record now") && told.contains("is kept as "), "{told}");
    let beyond = "The rows beyond the copy are only in the record that was kept";
    assert!(told.contains("the record before with row ") && told.contains(beyond), "{told}");
    assert_eq!(notes(&bench), 1);
    let kept = aside(&bench.state);
    assert_eq!(kept.len(), 1);
    assert!(told.contains(kept[0].to_str().unwrap()), "{told}");
    let names = ["tenths.db", "tenths.lock"].map(|name| bench.state.join(name));
    for path in names.iter().chain(&kept) {
        assert_eq!(fs::metadata(path).unwrap().permissions().mode() & 0o777, 0o640, "{path:?}");
    }
    for gone in ["tenths.db-wal", "tenths.db-shm", "tenths.db.restoring"] {
        assert!(!bench.state.join(gone).exists(), "{gone}");
    }
    bench.ok(&["verify"]);
    bench.ok(&["verify", kept[0].to_str().unwrap()]);
    // The other way round, and the service runs on it.
    let told = bench.ok(&["restore", kept[0].to_str().unwrap()]);
    assert!(!told.contains(beyond), "nothing is missing: {told}");
    assert_eq!(notes(&bench), 2);
    assert_eq!(aside(&bench.state).len(), 2);
    bench.start();
    bench.ok(&["note", "wh-2", "and on"]);
    assert_eq!(notes(&bench), 3);
    bench.ok(&["verify"]);
}

#[test]
fn a_log_whose_record_is_gone_is_not_taken_for_the_new_one_s() {
    let Shop { mut bench } = shop();
    let copy = backup(&bench, "copy.db");
    bench.ok(&["note", "wh-2", "after the copy"]);
    bench.kill();
    let log = fs::read(bench.path("state/tenths.db-wal")).unwrap();
    assert!(!log.is_empty());
    fs::rename(bench.path("state/tenths.db"), bench.path("moved.db")).unwrap();
    let told = bench.ok(&["restore", copy.to_str().unwrap()]);
    let rows = |path: &Path| Reader::open(path).unwrap().all_rows().unwrap();
    assert_eq!(rows(&bench.path("state/tenths.db")), rows(&copy));
    assert!(bench.ok(&["verify"]).contains("All is as it was stored"));
    assert_eq!(notes(&bench), 1);
    let kept = aside(&bench.state);
    assert_eq!(kept.len(), 1, "{kept:?}");
    assert!(kept[0].to_str().unwrap().ends_with("-wal"), "{kept:?}");
    assert_eq!(fs::read(&kept[0]).unwrap(), log);
    assert!(told.contains(kept[0].to_str().unwrap()), "{told}");
    bench.start();
    bench.ok(&["note", "wh-2", "and on"]);
    assert_eq!(notes(&bench), 2);
}

#[test]
fn what_is_no_whole_record_is_not_restored() {
    let Shop { mut bench } = shop();
    let copy = backup(&bench, "copy.db");
    bench.stop();
    let before = fs::read(bench.path("state/tenths.db")).unwrap();
    let refused = |bench: &Bench, exit: i32, name: &str, words: &str| {
        let said = bench.refused(exit, &["restore", bench.path(name).to_str().unwrap()]);
        assert!(said.contains(words), "{name}: {said}");
        assert_eq!(fs::read(bench.path("state/tenths.db")).unwrap(), before, "{name}");
        assert!(aside(&bench.state).is_empty());
        assert!(!bench.path("state/tenths.db.restoring").exists(), "{name}");
    };
    refused(&bench, 2, "nowhere.db", "there is no record at");
    refused(&bench, 2, "state/tenths.db", "is the record itself");
    fs::write(bench.path("text.db"), "x".repeat(9000)).unwrap();
    refused(&bench, 2, "text.db", "text.db is not a record: it is not a database");
    let strange = rusqlite::Connection::open(bench.path("strange.db")).unwrap();
    strange.execute_batch("CREATE TABLE t (a)").unwrap();
    strange.close().unwrap();
    refused(&bench, 2, "strange.db", "strange.db is not a record of this program");
    for (name, words) in [
        ("nowhere.db", "there is no record at"),
        ("text.db", "text.db is not a record: it is not a database"),
        ("strange.db", "strange.db is not a record of this program"),
    ] {
        let said = bench.refused(3, &["verify", bench.path(name).to_str().unwrap()]);
        assert!(said.contains(words) && said.contains("name a record, or a copy"), "{said}");
    }
    let whole = fs::read(&copy).unwrap();
    fs::write(bench.path("short.db"), &whole[..whole.len() / 2]).unwrap();
    let said = bench.run(&["restore", bench.path("short.db").to_str().unwrap()]);
    assert!(!said.status.success());
    assert_eq!(fs::read(bench.path("state/tenths.db")).unwrap(), before);
    let change = rusqlite::Connection::open(&copy).unwrap();
    change.execute_batch("UPDATE reading SET number = number + 1 WHERE job = 0").unwrap();
    change.close().unwrap();
    refused(&bench, 2, "copy.db", "it is not as it was stored");
}

#[test]
fn a_kill_at_any_moment_leaves_one_of_both_whole() {
    let Shop { mut bench } = shop();
    let copy = backup(&bench, "copy.db");
    bench.ok(&["note", "wh-2", "after the copy"]);
    let old = backup(&bench, "old.db");
    bench.kill();
    let mut dice = Dice::seeded(5);
    let (mut old_ones, mut new_ones) = (0, 0);
    // However fast the machine is: until a kill came too early and one too late, often enough.
    for round in 0..200 {
        if round >= 24 && old_ones > 2 && new_ones > 2 {
            break;
        }
        let longest = if old_ones < new_ones { 40_000 } else { 260_000 + 20_000 * round };
        let mut child = bench.spawn(&["restore", copy.to_str().unwrap()]);
        std::thread::sleep(Duration::from_micros(dice.below(longest)));
        child.kill().unwrap();
        child.wait().unwrap();
        match notes(&bench) {
            1 => new_ones += 1,
            2 => old_ones += 1,
            other => panic!("round {round}: {other} notes"),
        }
        bench.ok(&["verify"]);
        for kept in aside(&bench.state) {
            bench.ok(&["verify", kept.to_str().unwrap()]);
            fs::remove_file(kept).unwrap();
        }
        bench.ok(&["restore", old.to_str().unwrap()]);
        assert_eq!(notes(&bench), 2);
    }
    assert!(old_ones > 2 && new_ones > 2, "{old_ones} old, {new_ones} new");
}

#[test]
fn a_record_that_is_past_use_is_kept_as_it_is() {
    let Shop { mut bench } = shop();
    let copy = backup(&bench, "copy.db");
    bench.stop();
    for (name, bytes) in [("", "rubbish"), ("-wal", "more rubbish")] {
        fs::write(bench.path(&format!("state/tenths.db{name}")), bytes.repeat(999)).unwrap();
    }
    bench.ok(&["restore", copy.to_str().unwrap()]);
    bench.ok(&["verify"]);
    let kept = aside(&bench.state);
    assert_eq!(fs::read(&kept[0]).unwrap(), "rubbish".repeat(999).into_bytes());
    assert_eq!(fs::read(&kept[1]).unwrap(), "more rubbish".repeat(999).into_bytes());
    bench.start();
}

/// Fewer than the check has positions.
const MOST: usize = 990;

/// One keyed reading after the other by the socket, until it is over; how many were acknowledged.
fn key_in(state: &Path, over: &AtomicBool, acknowledged: &AtomicUsize) {
    let mut wire = Wire::to(&state.join("tenths.sock")).unwrap();
    while !over.load(Ordering::Relaxed) {
        let number = acknowledged.load(Ordering::Relaxed);
        if number == MOST {
            break;
        }
        let value = format!("0.{number:04}");
        let ask = format!(r#"{{"request":"enter","key":"k{number}","values":["{value}"]}}"#);
        let reply = wire.ask(&ask).unwrap();
        assert_eq!(reply["schema"], "entered/1", "{reply}");
        acknowledged.store(number + 1, Ordering::Release);
    }
}

#[test]
fn a_copy_made_at_full_speed_holds_everything_acknowledged_before_it_began() {
    let mut bench = ring_bench();
    let plan = "name = \"fast\"\nunit = \"mm\"\n[[part]]\nname = \"ring\"\nkind = \"spacer\"\n\
                [[part.check]]\nname = \"thickness\"\nmeasures = \"thickness-variation\"\n\
                gauge = \"height\"\nsetup = \"anvil\"\npositions = 1000\nradius = \"40 mm\"\n\
                tolerance = \"0.002 mm\"\nclosure = false\n";
    fs::write(bench.path("plans/fast.toml"), plan).unwrap();
    bench.start();
    bench.ok(&["job", "open", "fast", "--plan", "fast"]);
    bench.ok(&["measure", "ring/thickness"]);
    let (over, acknowledged) = (AtomicBool::new(false), AtomicUsize::new(0));
    let mut copies = Vec::new();
    std::thread::scope(|scope| {
        let _ends = Ends(&over);
        scope.spawn(|| key_in(&bench.state, &over, &acknowledged));
        scope.spawn(|| {
            // Frames at the same time, more than a hand could press.
            for count in 0.. {
                if over.load(Ordering::Relaxed) {
                    break;
                }
                bench.plate.send_all(format!("+1.{:05}\r", count % 100_000).as_bytes());
                std::thread::sleep(Duration::from_millis(1));
            }
        });
        for number in 0..3 {
            bench.until("some readings", || {
                acknowledged.load(Ordering::Acquire) > 200 * number + 50
            });
            let before = acknowledged.load(Ordering::Acquire);
            assert!(before < MOST, "it was over before the copy began");
            copies.push((before, backup(&bench, &format!("copy-{number}.db"))));
        }
    });
    for (before, copy) in copies {
        let mut other = ring_bench();
        fs::remove_dir(&other.state).unwrap();
        other.ok(&["restore", copy.to_str().unwrap()]);
        other.ok(&["verify"]);
        let keyed = |reading: &Value| reading["source"] == "keyed";
        let readings = other.lines(&["readings", "--all"]);
        let there: Vec<&Value> = readings.iter().filter(|reading| keyed(reading)).collect();
        assert!(there.len() >= before, "{} of {before} acknowledged", there.len());
        for (number, reading) in there.iter().enumerate() {
            assert_eq!(reading["value"], format!("0.{number:04}"), "{reading}");
        }
        assert!(readings.len() > there.len(), "frames came, too");
        other.start();
        other.ok(&["note", "fast", "on"]);
        other.ok(&["verify"]);
    }
}

#[test]
fn what_root_puts_in_place_belongs_to_whoever_the_folder_belongs_to() {
    if !rustix::process::geteuid().is_root() {
        skipped("files of another owner", "only root can make them");
        return;
    }
    let Shop { mut bench } = shop();
    let copy = backup(&bench, "copy.db");
    let bundle = super::export(&bench, "wh-1", "bundle");
    bench.stop();
    for (number, arguments) in
        [["restore", copy.to_str().unwrap()], ["import", bundle.to_str().unwrap()]]
            .iter()
            .enumerate()
    {
        let other = ring_bench();
        std::os::unix::fs::chown(&other.state, Some(65534), Some(65533)).unwrap();
        other.ok(arguments);
        for name in ["tenths.db", "tenths.lock"] {
            let found = fs::metadata(other.state.join(name)).unwrap();
            let owner = (
                std::os::unix::fs::MetadataExt::uid(&found),
                std::os::unix::fs::MetadataExt::gid(&found),
            );
            assert_eq!(owner, (65534, 65533), "{number} {name}");
            assert_eq!(found.permissions().mode() & 0o777, 0o640, "{number} {name}");
        }
        let left: Vec<_> = super::files(&other.state).into_keys().collect();
        // A restore leaves the number of the newest row to the next start.
        let made: &[_] = &["tenths.db", "tenths.lock", "tenths.newest"];
        assert_eq!(left, made[..2 + number]);
    }
}
