//! Another program holds a lock on a file of the record: it is named, and the service goes on when the lock is
//! released. Here that program is this process; a member of the group may do the same.

use std::fs::File;
use std::path::Path;
use std::time::{Duration, Instant};

use rustix::fs::{FlockOperation, fcntl_lock};

use crate::rig::{Bench, Make, RING_PLAN};

fn bench() -> Bench {
    Bench::new(&Make {
        gauge: "resolution = \"0.00001 in\"\nuncertainty = \"0.000009 in\"",
        more: "",
        plan: RING_PLAN,
    })
}

/// What a sentence says of this process: its name, its number, its user.
#[track_caller]
fn names_this_process(said: &str) {
    let number = format!("process {}", std::process::id());
    let user = if rustix::process::geteuid().is_root() { "user root" } else { "user " };
    let command = std::fs::read_to_string("/proc/self/comm").unwrap();
    for part in [&number, user, command.trim()] {
        assert!(said.contains(part), "{part}: {said}");
    }
}

/// A start that must be refused, and soon.
#[track_caller]
fn refused_soon(bench: &Bench) -> String {
    let began = Instant::now();
    let said = bench.refused_serve(3);
    assert!(began.elapsed() < Duration::from_secs(20), "{:?}", began.elapsed());
    said
}

/// A lock for reading on the whole file, as whoever may read it can take.
fn read_lock(path: &Path) -> File {
    let file = File::open(path).unwrap();
    fcntl_lock(&file, FlockOperation::NonBlockingLockShared).unwrap();
    file
}

#[test]
fn who_holds_the_lock_of_the_folder_is_told_and_is_no_other_service() {
    let mut bench = bench();
    bench.start();
    bench.ok(&["job", "open", "J-1", "--plan", "held"]);
    bench.stop();
    let held = File::open(bench.path("state/tenths.lock")).unwrap();
    held.try_lock_shared().unwrap();
    let said = refused_soon(&bench);
    names_this_process(&said);
    assert!(!said.contains("another service"), "{said}");
    assert!(said.contains("tenths.lock") && said.contains("hint: "), "{said}");
    drop(held);
    bench.start();
    // A service it is, when it is one.
    let said = refused_soon(&bench);
    assert!(said.contains("another service works with"), "{said}");
    assert!(said.contains(&format!("process {}", bench.pid())), "{said}");
}

#[test]
fn who_locks_the_record_is_told_at_a_start_and_while_the_service_runs() {
    let mut bench = bench();
    bench.start();
    bench.ok(&["job", "open", "J-1", "--plan", "held"]);
    let shared = bench.path("state/tenths.db-shm");
    let held = read_lock(&shared);
    let note = bench.spawn(&["note", "J-1", "while it was locked"]);
    bench.until("it is told", || bench.heard().unwrap()["storage"]["state"] == "failing");
    let why = bench.heard().unwrap()["storage"]["why"].as_str().unwrap().to_owned();
    names_this_process(&why);
    drop(held);
    let note = note.wait_with_output().unwrap();
    assert!(note.status.success(), "{}", String::from_utf8_lossy(&note.stderr));
    assert_eq!(bench.heard().unwrap()["storage"]["state"], "fine");
    // At a start, after a kill that left the file there.
    bench.kill();
    let held = read_lock(&shared);
    let said = refused_soon(&bench);
    names_this_process(&said);
    assert!(said.contains("tenths.db-shm") && said.contains("hint: "), "{said}");
    drop(held);
    bench.plate.plug();
    bench.start();
    let shown = bench.lines(&["job", "show", "J-1"]).remove(0);
    assert_eq!(shown["notes"].as_array().unwrap().len(), 1);
    bench.ok(&["verify"]);
}

#[test]
fn who_locks_the_record_is_told_to_those_who_only_look() {
    let mut bench = bench();
    bench.start();
    bench.ok(&["job", "open", "J-1", "--plan", "held"]);
    // Killed, it leaves its log and the index of it beside the record.
    bench.kill();
    let shared = bench.path("state/tenths.db-shm");
    let held = File::options().read(true).write(true).open(&shared).unwrap();
    fcntl_lock(&held, FlockOperation::NonBlockingLockExclusive).unwrap();
    let copy = bench.path("copy.db");
    let looks = [
        &["readings", "J-1"][..],
        &["verdicts"],
        &["alerts"],
        &["job", "list"],
        &["job", "show", "J-1"],
        &["verify"],
        &["backup", copy.to_str().unwrap()],
    ];
    // Each waits for the lock for some seconds: all of them at once.
    for (look, ran) in looks.map(|look| (look, bench.spawn(look))) {
        let ran = ran.wait_with_output().unwrap();
        let said = String::from_utf8_lossy(&ran.stderr).into_owned();
        assert_eq!(ran.status.code(), Some(3), "{look:?}: {said}");
        names_this_process(&said);
        assert!(said.contains("tenths.db-shm") && said.contains("hint: "), "{look:?}: {said}");
    }
    drop(held);
    assert_eq!(bench.lines(&["job", "list"])[0]["name"], "J-1");
}
