//! Disks that accept no more writes.

use std::fs::{self, File};
use std::io::Write;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

use crate::rig::{Bench, Make};
use crate::slips::{GAUGE, PLAN};
use crate::{Outcome, Play, Row};

pub(crate) const ROWS: [Row; 2] = [
    Row {
        fault: "the disk is full",
        how: "a small tmpfs in a namespace of the service's own is filled while touches come, and emptied again",
        share: |count| (count / 50).max(2),
        play: full,
    },
    Row {
        fault: "the system refuses to write",
        how: "the service runs with a limit on the size of its files (`RLIMIT_FSIZE`): a write past it fails as a broken disk's does",
        share: |count| (count / 100).max(2),
        play: limited,
    },
];

/// Sends touches until the record refuses; how many were sent.
fn until_failing(bench: &Bench, mut sent: usize) -> usize {
    while bench.heard().unwrap()["storage"]["state"] != "failing" {
        assert!(sent < 50_000, "the record never refuses");
        bench.plate.send(&format!("+0.{:05}\r", sent + 1));
        sent += 1;
        std::thread::sleep(Duration::from_millis(2));
    }
    sent
}

fn shown(bench: &Bench) -> usize {
    usize::try_from(bench.gauge("plate")["taken"].as_u64().unwrap()).unwrap()
}

fn full(play: &mut Play) -> Outcome {
    let mut outcome = Outcome::default();
    let mount = "mount -t tmpfs -o size=16m,mode=0750 none \"$0\" && exec \"$1\" serve";
    let mut bench = Bench::new(&Make { gauge: GAUGE, more: "", plan: PLAN });
    let mut serve = Command::new("unshare");
    serve.args(["-Urm", "sh", "-c", mount]).arg(bench.path("state"));
    serve.arg(env!("CARGO_BIN_EXE_tenths")).stdin(Stdio::null());
    serve.env("TENTHS_CONFIG", bench.path("bench.toml"));
    bench.launch_as(serve);
    let inside = format!("/proc/{}/root{}", bench.pid(), bench.path("state").display());
    bench.state = inside.into();
    bench.until_gauge("plate", "live");
    let pid = bench.pid().to_string();
    let enter = ["nsenter", "--preserve-credentials", "-U", "-m", "-t", &pid];
    bench.before = enter.map(str::to_owned).to_vec();
    let mut sent = 0;
    for _ in 0..play.tries {
        let filler = bench.state.join("filler");
        let mut file = File::create(&filler).unwrap();
        for chunk in [1 << 16, 1 << 12, 1] {
            while file.write_all(&vec![0; chunk]).is_ok() {}
        }
        // What is open is not gone when it is removed.
        drop(file);
        sent = until_failing(&bench, sent);
        let before = shown(&bench);
        let began = Instant::now();
        fs::remove_file(filler).unwrap();
        while shown(&bench) != sent && began.elapsed() < Duration::from_mins(1) {
            std::thread::sleep(Duration::from_millis(10));
        }
        outcome.must(shown(&bench) == sent, || {
            format!(
                "{sent} were sent: {} {}",
                bench.gauge("plate"),
                bench.heard().unwrap()["storage"]
            )
        });
        outcome.answered_after(began.elapsed());
        let stored = bench.lines(&["readings"]).len();
        outcome.lost += before.saturating_sub(stored);
        outcome.doubled += stored.saturating_sub(sent);
        outcome.tries += 1;
        play.progress(&outcome);
    }
    outcome.acknowledges("readings", sent);
    let verified = bench.run(&["verify"]);
    outcome.must(verified.status.success(), || String::from_utf8_lossy(&verified.stdout).into());
    outcome.told = "`status`, the feed and the log: CANNOT BE WRITTEN; what was sent meanwhile waited (the outage is until all of it was stored)".into();
    outcome
}

fn limited(play: &mut Play) -> Outcome {
    let mut outcome = Outcome::default();
    for number in 0..play.tries {
        let mut bench = Bench::new(&Make { gauge: GAUGE, more: "", plan: PLAN });
        // A first start makes the record; its log has about a megabyte, blocks of 512 bytes are limited.
        bench.start();
        bench.stop();
        let limit =
            format!("trap '' XFSZ; ulimit -f {} && exec \"$0\" serve", 2200 + 40 * (number % 8));
        let mut serve = Command::new("sh");
        serve.args(["-c", &limit]).arg(env!("CARGO_BIN_EXE_tenths")).stdin(Stdio::null());
        serve.env("TENTHS_CONFIG", bench.path("bench.toml"));
        bench.launch_as(serve);
        bench.until_gauge("plate", "live");
        let sent = until_failing_or(&bench, 3000);
        let before = shown(&bench);
        bench.kill();
        let stored = bench.lines(&["readings"]).len();
        outcome.acknowledges("readings", before);
        outcome.lost += before.saturating_sub(stored);
        outcome.doubled += stored.saturating_sub(sent);
        let began = Instant::now();
        bench.plate.plug();
        bench.start();
        outcome.answered_after(began.elapsed());
        let verified = bench.run(&["verify"]);
        outcome
            .must(verified.status.success(), || String::from_utf8_lossy(&verified.stdout).into());
        outcome.tries += 1;
        play.progress(&outcome);
    }
    outcome.told =
        "`status` and the log, where the limit was met: the record cannot be written".into();
    outcome
}

/// Sends touches until the record refuses, or so many were sent.
fn until_failing_or(bench: &Bench, most: usize) -> usize {
    let mut sent = 0;
    while sent < most && bench.heard().is_some_and(|status| status["storage"]["state"] != "failing")
    {
        bench.plate.send(&format!("+0.{:05}\r", sent + 1));
        sent += 1;
    }
    sent
}
