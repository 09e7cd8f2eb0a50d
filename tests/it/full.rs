//! A full disk: a small tmpfs in a mount namespace of the service's own, which gives the real error of the
//! system.

use std::fs::{self, File};
use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::time::Duration;

use serde_json::Value;

use crate::rig::{Bench, Follower, Make, skipped};

const GAUGE: &str = "unit = \"in\"\nresolution = \"0.00001 in\"\nuncertainty = \"0.0000084 in\"\n\
                     repeat_ms = 0\nmax_rate = 0";

const PLAN: &str = "name = \"held\"\nunit = \"in\"\n[[part]]\nname = \"ring\"\nkind = \"spacer\"\n\
                    [[part.check]]\nname = \"face\"\nmeasures = \"parallelism\"\ngauge = \"plate\"\n\
                    setup = \"plate\"\nmoves = \"stand\"\npositions = 300\nradius = \"1.5 in\"\n\
                    tolerance = \"0.0001 in\"\nclosure = false\n";

const WHY_NOT: &str = "no mount namespace to be had here (unshare -Urm, mount, nsenter)";

const NAMESPACE: [&str; 2] = ["unshare", "-Urm"];

/// A service whose record lies on a disk of 16 MB; `None` where that cannot be had.
fn on_a_small_disk() -> Option<Bench> {
    let mount = "mount -t tmpfs -o size=16m,mode=0750 none \"$0\"";
    let mut bench = Bench::new(&Make { gauge: GAUGE, more: "", plan: PLAN });
    let mut tried = Command::new(NAMESPACE[0]);
    tried.args([NAMESPACE[1], "sh", "-c", mount]).arg(bench.path("state"));
    if !tried.stderr(Stdio::null()).status().is_ok_and(|status| status.success()) {
        return None;
    }
    let mut serve = Command::new(NAMESPACE[0]);
    serve.args([NAMESPACE[1], "sh", "-c", &format!("{mount} && exec \"$1\" serve")]);
    serve.arg(bench.path("state")).arg(env!("CARGO_BIN_EXE_tenths"));
    serve.env("TENTHS_CONFIG", bench.path("bench.toml")).env("NO_COLOR", "1").stdin(Stdio::null());
    bench.launch_as(serve);
    // The disk is seen through the service's own root.
    let inside = format!("/proc/{}/root{}", bench.pid(), bench.path("state").display());
    bench.state = PathBuf::from(inside);
    bench.until_gauge("plate", "live");
    let pid = bench.pid().to_string();
    let inside = ["nsenter", "--preserve-credentials", "-U", "-m", "-t", &pid];
    bench.before = inside.map(str::to_owned).to_vec();
    if !bench.command(&["--version"]).output().is_ok_and(|output| output.status.success()) {
        return None;
    }
    bench.ok(&["job", "open", "s1", "--plan", "held"]);
    bench.ok(&["measure", "ring/face"]);
    Some(bench)
}

/// Takes every byte that is left.
fn fill(state: &Path) -> PathBuf {
    let path = state.join("filler");
    let mut file = File::create(&path).unwrap();
    for chunk in [1 << 16, 1 << 12, 1] {
        while file.write_all(&vec![0; chunk]).is_ok() {}
    }
    path
}

fn storage(bench: &Bench) -> String {
    bench.heard().unwrap()["storage"]["state"].as_str().unwrap().to_owned()
}

/// The text of the touch at a position: each another one than its neighbours.
fn text(index: usize) -> String {
    format!("+0.0000{}", index * 7 % 10)
}

fn frames(bench: &Bench) -> usize {
    usize::try_from(bench.gauge("plate")["frames"].as_u64().unwrap()).unwrap()
}

/// What was sent so far.
#[derive(Default)]
struct Sent {
    touches: usize,
    /// Remarks that were acknowledged.
    remarks: usize,
    /// A remark on its way when the disk was full.
    waiting: Option<Child>,
}

/// Touches, and writes long remarks in between, until the record refuses.
fn until_failing(bench: &Bench, sent: &mut Sent) {
    let remark = "x".repeat(50_000);
    while storage(bench) != "failing" {
        assert!(sent.touches < 290, "the disk does not fill up");
        bench.plate.send(&format!("{}\r", text(sent.touches)));
        sent.touches += 1;
        let all = || frames(bench) == sent.touches || storage(bench) == "failing";
        bench.until("stored or refused", all);
        if storage(bench) == "failing" {
            return;
        }
        let mut client = bench.spawn(&["note", "s1", &remark]);
        let ended = loop {
            if let Some(status) = client.try_wait().unwrap() {
                break Some(status);
            }
            if storage(bench) == "failing" {
                break None;
            }
            std::thread::sleep(Duration::from_millis(5));
        };
        match ended {
            Some(status) if status.success() => sent.remarks += 1,
            // It came when the record was known to be failing, and was refused.
            Some(status) => assert_eq!(status.code(), Some(3)),
            None => sent.waiting = Some(client),
        }
    }
}

/// What is visible is what was sent first, each at its position.
fn visible(bench: &Bench) -> usize {
    let readings = bench.readings("s1");
    for (index, reading) in readings.iter().enumerate() {
        assert_eq!(reading["position"], Value::from(index), "{reading}");
        assert_eq!(reading["as_sent"], text(index), "position {index}: {reading}");
    }
    readings.len()
}

#[test]
fn a_full_disk_is_told_everywhere_and_nothing_is_lost_when_space_returns() {
    let Some(mut bench) = on_a_small_disk() else {
        return skipped("a full disk", WHY_NOT);
    };
    let feed = Follower::of(bench.spawn(&["tail", "--json", "--since", "0"]));
    let mut sent = Sent::default();
    for round in 0..2 {
        let filler = fill(&bench.state);
        until_failing(&bench, &mut sent);
        let shown = visible(&bench);
        assert_eq!(shown, frames(&bench), "what was counted is stored");
        assert!(shown + 1 >= sent.touches, "{shown} of {}", sent.touches);
        // Everywhere: to scripts, to people, to who follows the feed, in the log.
        let status = bench.run(&["status"]);
        assert_eq!(status.status.code(), Some(1));
        let told = String::from_utf8(status.stdout).unwrap();
        assert!(told.contains("CANNOT BE WRITTEN"), "{told}");
        let free = bench.heard().unwrap()["storage"]["free_bytes"].as_u64().unwrap();
        assert!(free < 100_000, "{free} bytes free on a full disk");
        bench.until("the feed's listener is told", || {
            feed.said().matches("CANNOT BE WRITTEN").count() == round + 1
        });
        assert!(bench.log().contains("cannot be written"), "{}", bench.log());
        let err = bench.refused(3, &["note", "s1", "remark"]);
        assert!(err.contains("cannot be written"), "{err}");
        // What is sent meanwhile waits. Nothing of it is counted or shown.
        for _ in 0..5 {
            bench.plate.send(&format!("{}\r", text(sent.touches)));
            sent.touches += 1;
        }
        std::thread::sleep(Duration::from_millis(300));
        assert_eq!((visible(&bench), frames(&bench)), (shown, shown));
        fs::remove_file(filler).unwrap();
        bench.until("space is back", || storage(&bench) != "failing");
        bench.until("everything is stored", || frames(&bench) == sent.touches);
        assert_eq!(visible(&bench), sent.touches);
        if let Some(client) = sent.waiting.take() {
            let ended = client.wait_with_output().unwrap();
            assert!(ended.status.success(), "{}", String::from_utf8_lossy(&ended.stderr));
            sent.remarks += 1;
        }
        let notes = bench.lines(&["job", "show", "s1"])[0]["notes"].as_array().unwrap().len();
        assert_eq!(notes, sent.remarks, "remarks on the record, remarks acknowledged");
    }
    let alerts = bench.lines(&["alerts", "--all"]);
    let failing: Vec<_> = alerts.iter().filter(|one| one["kind"] == "storage-failing").collect();
    assert_eq!(failing.len(), 2, "{alerts:?}");
    assert!(failing.iter().all(|one| one["level"] == "interrupt" && !one["cleared_at"].is_null()));
    bench.until("the feed's listener is told of the end", || {
        let cleared = |line: &&Value| {
            line["event"] == "cleared" && line["alert"]["kind"] == "storage-failing"
        };
        feed.seen().iter().filter(cleared).count() == 2
    });
    let numbers: Vec<_> = feed.seen().iter().map(|line| line["seq"].as_u64().unwrap()).collect();
    assert_eq!(numbers, (1..=numbers.len() as u64).collect::<Vec<_>>());
    bench.balanced();
    bench.ok(&["verify"]);
    bench.stop();
}

#[test]
fn a_service_that_ends_on_a_full_disk_says_what_it_could_not_store() {
    let Some(mut bench) = on_a_small_disk() else {
        return skipped("an end on a full disk", WHY_NOT);
    };
    fill(&bench.state);
    let mut sent = Sent::default();
    until_failing(&bench, &mut sent);
    assert_eq!(visible(&bench), frames(&bench));
    assert_eq!(bench.ended(), Some(3), "{}", bench.log());
    if let Some(client) = sent.waiting.take() {
        assert_eq!(client.wait_with_output().unwrap().status.code(), Some(3));
    }
    let log = bench.log();
    assert!(log.contains("not stored: "), "{log}");
}

#[test]
fn a_database_that_is_moved_away_is_told_and_nothing_is_lost_when_it_is_back() {
    let mut bench = Bench::new(&Make { gauge: GAUGE, more: "", plan: PLAN });
    bench.start();
    bench.ok(&["job", "open", "s1", "--plan", "held"]);
    bench.ok(&["measure", "ring/face"]);
    for index in 0..3 {
        bench.plate.send(&format!("{}\r", text(index)));
        bench.until("stored", || frames(&bench) == index + 1);
    }
    let (there, away) = (bench.path("state/tenths.db"), bench.path("state/away.db"));
    fs::rename(&there, &away).unwrap();
    bench.plate.send(&format!("{}\r", text(3)));
    bench.until("refused", || storage(&bench) == "failing");
    assert!(bench.log().contains("deleted or replaced"), "{}", bench.log());
    assert_eq!(frames(&bench), 3, "a reading was taken into a file that is not there");
    bench.refused(3, &["note", "s1", "remark"]);
    fs::rename(&away, &there).unwrap();
    bench.until("it goes on", || storage(&bench) != "failing" && frames(&bench) == 4);
    assert_eq!(visible(&bench), 4);
    bench.balanced();
    bench.ok(&["verify"]);
    // Gone for good: the service ends with what it could not store.
    fs::remove_file(&there).unwrap();
    bench.plate.send(&format!("{}\r", text(4)));
    bench.until("refused", || storage(&bench) == "failing");
    assert_eq!(bench.ended(), Some(3), "{}", bench.log());
    assert!(bench.log().contains("not stored: "), "{}", bench.log());
}

/// Killed while the disk is full, and started again before there is room.
const KILLED_FULL: &str = r#"
mount -t tmpfs -o size=16m,mode=0750 none "$1"
"$0" serve 2>"$2" & service=$!
until "$0" status >/dev/null 2>&1 || [ $? = 1 ]; do sleep 0.1; done
"$0" job open J-1 --plan held >/dev/null || exit 9
dd if=/dev/zero of="$1/filler" bs=4k 2>/dev/null
kill -9 $service; wait $service 2>/dev/null
[ "$3" = kept ] || { rm "$1/tenths.db-shm" && dd if=/dev/zero of="$1/more" bs=1 2>/dev/null; }
"$0" serve 2>>"$2" & service=$!
n=0; until "$0" status | grep "CANNOT BE WRITTEN" || grep "the service waits until there is room" "$2"; do n=$((n+1)); [ $n = 100 ] && exit 8; sleep 0.1; done
rm -f "$1/filler" "$1/more"
n=0; until "$0" job open J-2 --plan held; do n=$((n+1)); [ $n = 100 ] && exit 7; sleep 0.1; done
"$0" job list; "$0" verify
kill $service; wait $service; echo "ended with $?"
"#;

fn killed_on_a_full_disk(shared_index: &str) {
    let bench = Bench::new(&Make { gauge: GAUGE, more: "", plan: PLAN });
    let mut play = Command::new(NAMESPACE[0]);
    play.args([NAMESPACE[1], "sh", "-c", KILLED_FULL, env!("CARGO_BIN_EXE_tenths")]);
    play.args([bench.path("state"), bench.path("log")]).arg(shared_index).stdin(Stdio::null());
    play.env("TENTHS_CONFIG", bench.path("bench.toml")).env("NO_COLOR", "1");
    let mut tried = Command::new(NAMESPACE[0]);
    tried.args([NAMESPACE[1], "sh", "-c", "mount -t tmpfs none \"$0\""]).arg(bench.path("state"));
    if !tried.stderr(Stdio::null()).status().is_ok_and(|status| status.success()) {
        return skipped("a kill on a full disk", WHY_NOT);
    }
    let output = play.output().unwrap();
    let said = String::from_utf8_lossy(&output.stdout);
    assert!(output.status.success(), "{}: {said} {}", output.status, bench.log());
    let held = match shared_index {
        "kept" => "CANNOT BE WRITTEN",
        // Nothing can be read either, and so nobody answers; the log says why.
        _ => "the service waits until there is room",
    };
    for told in [held, "J-1", "J-2", "All is as it was stored", "ended with 0"] {
        assert!(said.contains(told), "{told}: {said} {}", bench.log());
    }
}

#[test]
fn a_service_that_was_killed_on_a_full_disk_starts_holds_and_goes_on_when_there_is_room() {
    killed_on_a_full_disk("kept");
}

#[test]
fn it_starts_there_too_when_the_index_beside_the_log_is_gone() {
    killed_on_a_full_disk("gone");
}
