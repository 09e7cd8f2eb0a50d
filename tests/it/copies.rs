//! Copies of the record: a damaged one is reported and named as such; an unfinished one is never taken for
//! a record and does not stay.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Child;
use std::time::{Duration, Instant, SystemTime};

use rustix::process::{Pid, Signal, kill_process};
use serde_json::Value;

use crate::rig::{Bench, Make, RING_PLAN};

fn bench() -> Bench {
    Bench::new(&Make {
        gauge: "resolution = \"0.00001 in\"\nuncertainty = \"0.000009 in\"",
        more: "",
        plan: RING_PLAN,
    })
}

/// A stopped bench with some jobs in its record.
fn stopped(jobs: usize) -> Bench {
    let mut bench = bench();
    bench.start();
    for job in 0..jobs {
        bench.ok(&["job", "open", &format!("J-{job}"), "--plan", "held", "--serial", "S-1"]);
        bench.ok(&["measure", "ring/face"]);
        let mut enter = vec!["enter", "--graduation", "0.00001in"];
        enter.extend(["0", "1", "2", "3", "2", "1", "0", "1", "0"]);
        bench.ok(&enter);
        bench.ok(&["note", &format!("J-{job}"), "came in dirty"]);
    }
    bench.stop();
    bench
}

fn change(path: &Path, sql: &str) {
    let file = rusqlite::Connection::open(path).unwrap();
    file.execute_batch(sql).unwrap();
    file.close().unwrap();
}

/// Exit code, standard output, standard error.
fn said(bench: &Bench, arguments: &[&str]) -> (i32, String, String) {
    let output = bench.run(arguments);
    let text = |bytes| String::from_utf8(bytes).unwrap();
    (output.status.code().unwrap(), text(output.stdout), text(output.stderr))
}

/// A copy of a damaged record: `verify` says so of the record, `backup` of its copy.
fn copied_as_damaged(bench: &Bench, what: &str) {
    let (expected, ..) = said(bench, &["verify"]);
    let copy = bench.path("copy.db");
    let (exit, out, err) = said(bench, &["backup", copy.to_str().unwrap()]);
    assert_eq!(exit, expected, "{what}: {out}{err}");
    assert!(!copy.exists() || expected == 0, "{what}: a damaged copy has the name of a good one");
    if expected == 0 {
        return fs::remove_file(copy).unwrap();
    }
    assert!(out.is_empty(), "{what}: {out}");
    assert!(err.starts_with("tenths: ") && !err.contains("panicked"), "{what}: {err}");
    let kept = bench.path("copy.db.damaged");
    assert!(err.contains("hint: ") || !kept.exists(), "{what}: {err}");
    if kept.exists() {
        assert!(err.contains("copy.db.damaged") && err.contains("tenths restore"), "{what}: {err}");
        let again = said(bench, &["verify", kept.to_str().unwrap()]);
        assert_eq!(again.0, expected, "{what}: {again:?}");
        fs::remove_file(kept).unwrap();
    } else {
        // Nothing of it could be read at all.
        assert_eq!(expected, 3, "{what}: {err}");
    }
}

#[test]
fn a_damaged_record_is_copied_under_a_name_that_says_so_and_the_command_fails() {
    let bench = stopped(2);
    let path = bench.path("state/tenths.db");
    let whole = fs::read(&path).unwrap();
    copied_as_damaged(&bench, "nothing");
    for sql in [
        "UPDATE pinned SET text = replace(text, 'measures', 'meazures')",
        "UPDATE pinned SET digest = x'00' WHERE text LIKE '%measures =%'",
        "UPDATE fact SET body = replace(body, '\"reason\":\"first\"', '\"reason\":\"grnd\"')",
        "DELETE FROM pinned",
        "UPDATE form SET unit = 'ell'",
        "UPDATE reading SET number = number + 1 WHERE nth = 5",
        "UPDATE reading SET as_sent = 'x' WHERE nth = 6",
        "DELETE FROM reading WHERE nth = 6",
        "UPDATE fact SET key = 'conforns' WHERE kind = 'verdict'",
        "UPDATE fact SET body = replace(body, '\"value\"', '\"valve\"') WHERE kind = 'verdict'",
        "UPDATE fact SET body = replace(body, 'came in', 'came in clean') WHERE kind = 'noted'",
        "UPDATE counter SET last = last - 3",
        "UPDATE seal SET tags = x''",
        "UPDATE counter SET head = zeroblob(32)",
        "UPDATE fact SET line = NULL WHERE line = 2",
        "DELETE FROM pending",
        "DROP INDEX fact_job",
    ] {
        fs::write(&path, &whole).unwrap();
        change(&path, sql);
        copied_as_damaged(&bench, sql);
    }
    // A byte of every page, at its head and in its cells.
    for page in 0..whole.len() / 4096 {
        for offset in [7, 4000] {
            let mut bytes = whole.clone();
            bytes[page * 4096 + offset] ^= 0x55;
            fs::write(&path, &bytes).unwrap();
            copied_as_damaged(&bench, &format!("page {page}, byte {offset}"));
        }
    }
}

#[test]
fn a_damaged_copy_is_told_to_scripts_and_made_unlooked_at_on_demand() {
    let bench = stopped(1);
    let path = bench.path("state/tenths.db");
    let (copy, fine) = (bench.path("copy.db"), bench.path("fine.db"));
    let line = bench.lines(&["backup", fine.to_str().unwrap()]).remove(0);
    assert_eq!((&line["checked"], &line["damaged"]), (&Value::from("whole"), &Value::from(false)));
    change(&path, "UPDATE reading SET as_sent = 'x' WHERE nth = 6");
    let (exit, out, err) = said(&bench, &["backup", copy.to_str().unwrap(), "--json"]);
    let line: Value = serde_json::from_str(&out).unwrap();
    let kept = bench.path("copy.db.damaged");
    assert_eq!((exit, line["damaged"].as_bool()), (1, Some(true)), "{line}");
    assert_eq!(line["file"], kept.to_str().unwrap());
    let told = line["differences"][0]["text"].as_str().unwrap();
    assert!(told.contains("not as it was stored"), "{line}");
    let error: Value = serde_json::from_str(&err).unwrap();
    assert!(error["hint"].as_str().unwrap().contains("tenths restore"), "{error}");
    // A second one takes nothing from the first.
    let first = fs::read(&kept).unwrap();
    change(&path, "UPDATE reading SET as_sent = 'y' WHERE nth = 6");
    let (exit, _, err) = said(&bench, &["backup", copy.to_str().unwrap()]);
    assert!(exit == 1 && err.contains("copy.db.damaged-2"), "{err}");
    assert_eq!(fs::read(&kept).unwrap(), first);
    let line = bench.lines(&["backup", copy.to_str().unwrap(), "--no-verify"]).remove(0);
    assert_eq!((&line["checked"], &line["damaged"]), (&Value::Null, &Value::Null), "{line}");
    assert!(copy.exists());
    let said = bench.refused(2, &["restore", kept.to_str().unwrap()]);
    assert!(said.contains("not as it was stored"), "{said}");
}

fn parts(folder: &Path) -> Vec<PathBuf> {
    let entries = fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path());
    entries.filter(|path| path.to_string_lossy().contains(".part-")).collect()
}

fn signal(child: &Child, signal: Signal) {
    kill_process(Pid::from_raw(i32::try_from(child.id()).unwrap()).unwrap(), signal).unwrap();
}

/// A backup that was stopped while its part was there.
fn caught(bench: &Bench, folder: &Path) -> (Child, PathBuf) {
    for turn in 0..200 {
        let to = folder.join(format!("copy-{turn}.db"));
        let mut child = bench.spawn(&["backup", to.to_str().unwrap()]);
        let start = Instant::now();
        while parts(folder).is_empty() && start.elapsed() < Duration::from_secs(20) {
            if child.try_wait().unwrap().is_some() {
                break;
            }
        }
        signal(&child, Signal::STOP);
        let mut found = parts(folder);
        if let Some(part) = found.pop() {
            assert_eq!(found, [] as [PathBuf; 0], "one file at a time");
            return (child, part);
        }
        signal(&child, Signal::CONT);
        child.wait().unwrap();
    }
    panic!("no backup was caught half-way");
}

#[test]
fn half_a_copy_is_no_record_and_the_next_backup_takes_it_away() {
    let bench = stopped(3);
    let folder = bench.path("copies");
    fs::create_dir(&folder).unwrap();
    let (mut child, part) = caught(&bench, &folder);
    // What is not ours stays, whatever its name; so does what others are making.
    let theirs = ["notes.part-1", "other.db.part-1", "link.part-1", "empty.part-1"];
    let theirs = theirs.map(|name| folder.join(name));
    fs::write(&theirs[0], "the second part of my notes").unwrap();
    change(&theirs[1], "CREATE TABLE t (x)");
    std::os::unix::fs::symlink(&part, &theirs[2]).unwrap();
    fs::write(&theirs[3], "").unwrap();
    bench.ok(&["backup", folder.join("while.db").to_str().unwrap()]);
    assert!(part.exists(), "it is being made");
    signal(&child, Signal::CONT);
    assert!(child.wait().unwrap().success(), "a backup beside another one");
    assert!(!part.exists());

    fs::remove_file(&theirs[2]).unwrap();
    let away = bench.path("away");
    fs::create_dir(&away).unwrap();
    let (mut child, part) = caught(&bench, &away);
    child.kill().unwrap();
    child.wait().unwrap();
    let name = part.to_str().unwrap();
    for asked in [&["verify", name][..], &["restore", name]] {
        let (exit, out, err) = said(&bench, asked);
        assert!(exit >= 2 && out.is_empty(), "{asked:?}: {exit} {out}");
        assert!(err.contains("not finished") && err.contains("hint: "), "{asked:?}: {err}");
    }
    bench.ok(&["backup", away.join("next.db").to_str().unwrap()]);
    assert_eq!(parts(&away), [] as [PathBuf; 0], "the part of a killed backup stays");
    bench.ok(&["backup", folder.join("last.db").to_str().unwrap()]);
    for path in [&theirs[0], &theirs[1], &theirs[3]] {
        assert!(path.exists(), "{}", path.display());
    }
    bench.ok(&["verify", folder.join("last.db").to_str().unwrap()]);
    assert_eq!(fs::read_to_string(&theirs[0]).unwrap(), "the second part of my notes");
    bench.refused(2, &["backup", folder.join("copy.db.part-12").to_str().unwrap()]);
}

#[test]
fn a_part_of_another_machine_is_left_until_it_is_old() {
    let bench = stopped(1);
    let folder = bench.path("copies");
    fs::create_dir(&folder).unwrap();
    // Its process has the number of one that runs here: this one.
    let part = folder.join(format!("copy.db.part-{}", std::process::id()));
    bench.ok(&["backup", folder.join("a.db").to_str().unwrap()]);
    fs::rename(folder.join("a.db"), &part).unwrap();
    bench.ok(&["backup", folder.join("b.db").to_str().unwrap()]);
    assert!(part.exists(), "it may be in use");
    let file = fs::File::options().write(true).open(&part).unwrap();
    file.set_modified(SystemTime::now() - Duration::from_hours(2)).unwrap();
    bench.ok(&["backup", folder.join("c.db").to_str().unwrap()]);
    assert!(!part.exists());
}

#[test]
fn copies_that_are_made_every_night_leave_the_newest() {
    let bench = stopped(1);
    let folder = bench.path("copies");
    fs::create_dir(&folder).unwrap();
    // Copies of earlier nights, one of them with pictures, and what a person put there.
    for day in ["01", "02", "03"] {
        fs::write(folder.join(format!("tenths-202401{day}T023000Z.db")), "a copy").unwrap();
    }
    fs::create_dir(folder.join("tenths-20240101T023000Z.db.attached")).unwrap();
    fs::write(folder.join("before-the-move.db"), "mine").unwrap();
    let into = ["backup", "--into", folder.to_str().unwrap(), "--keep", "3", "--json"];
    let (exit, out, err) = said(&bench, &into);
    assert_eq!(exit, 0, "{out}{err}");
    let line: Value = serde_json::from_str(&out).unwrap();
    let made = PathBuf::from(line["file"].as_str().unwrap());
    let name = made.file_name().unwrap().to_str().unwrap().to_owned();
    assert!(made.is_file() && name.starts_with("tenths-20") && name.ends_with("Z.db"), "{line}");
    let removed = folder.join("tenths-20240101T023000Z.db");
    assert_eq!(line["removed"], serde_json::json!([removed.to_str().unwrap()]), "{line}");
    assert_eq!(said(&bench, &["verify", made.to_str().unwrap()]).0, 0);
    let mut left: Vec<String> = fs::read_dir(&folder)
        .unwrap()
        .map(|one| one.unwrap().file_name().into_string().unwrap())
        .collect();
    left.sort();
    let expected =
        ["before-the-move.db", "tenths-20240102T023000Z.db", "tenths-20240103T023000Z.db", &name];
    assert_eq!(left, expected);
    // A damaged copy makes no older one superfluous.
    change(&bench.path("state/tenths.db"), "UPDATE fact SET body = 'x' || body WHERE seq = 3");
    std::thread::sleep(Duration::from_millis(1100));
    let (exit, _, err) =
        said(&bench, &["backup", "--into", folder.to_str().unwrap(), "--keep", "1"]);
    assert!(exit != 0 && err.contains(".damaged"), "{exit}: {err}");
    assert!(left.iter().all(|name| folder.join(name).exists()));
    // What cannot be meant is refused.
    bench.refused(2, &["backup", "--keep", "3", "here.db"]);
    bench.refused(2, &["backup", "--into", folder.to_str().unwrap(), "--keep", "0"]);
    bench.refused(2, &["backup"]);
}
