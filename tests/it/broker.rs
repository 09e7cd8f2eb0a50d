//! Events by MQTT: a real broker, somebody else's listener, and everything that can happen between.

mod outages;
mod states;

use std::fs;
use std::process::{Child, Stdio};

use serde_json::Value;

use crate::feed::{GAUGE, OUT, PLAN};
use crate::mosquitto::Listener;
use crate::rig::{Bench, Make};

/// `[shop.broker]` of a bench named `north`, on a port of this machine.
pub(crate) fn shop(port: u16, more: &str) -> String {
    format!(
        "[shop]\nbench = \"north\"\n[shop.broker]\nhost = \"localhost\"\nport = {port}\n{more}\n"
    )
}

/// A bench that runs, with a job open.
fn bench(more: &str) -> Bench {
    let mut bench = Bench::new(&Make { gauge: GAUGE, more, plan: PLAN });
    bench.start();
    bench.ok(&["job", "open", "t1", "--plan", "held"]);
    bench
}

/// One whole attempt, which ends in a verdict.
fn measured(bench: &Bench) {
    let before = bench.lines(&["verdicts", "t1"]).len();
    match before {
        0 => bench.ok(&["measure", "ring/face"]),
        _ => bench.ok(&["remeasure", "ground", "ring/face"]),
    };
    bench.touches(&bench.plate, "plate", &OUT);
    bench.verdict("t1", before + 1);
}

/// Lines of the feed: a damaged frame raises an alert, the next good one clears it.
fn alerts(bench: &Bench, pairs: usize) {
    for _ in 0..pairs {
        bench.plate.send("x\r0.00100\r");
    }
}

/// The feed as the bench itself tells it.
fn own_feed(bench: &Bench) -> Vec<Value> {
    let tail = crate::rig::Follower::of(bench.spawn(&["tail", "--json", "--since", "0"]));
    let before = std::cell::Cell::new(usize::MAX);
    bench.until("the feed rests", || {
        let now = tail.seen().len();
        std::thread::sleep(std::time::Duration::from_millis(300));
        now > 0 && before.replace(now) == now
    });
    tail.seen()
}

/// `tenths forward` of a bench; it ends with the test.
pub(crate) struct Forward(Child);

impl Forward {
    pub(crate) fn of(bench: &Bench) -> Self {
        let log = fs::File::options().append(true).create(true).open(bench.path("sent")).unwrap();
        let mut command = bench.command(&["forward"]);
        Self(command.stdout(Stdio::null()).stderr(log).spawn().unwrap())
    }

    /// What it and those before it said.
    fn said(bench: &Bench) -> String {
        fs::read_to_string(bench.path("sent")).unwrap_or_default()
    }

    fn kill(mut self) {
        self.0.kill().unwrap();
        self.0.wait().unwrap();
    }

    pub(crate) fn ends(mut self) {
        rustix::process::kill_process(
            rustix::process::Pid::from_child(&self.0),
            rustix::process::Signal::TERM,
        )
        .unwrap();
        assert_eq!(self.0.wait().unwrap().code(), Some(0));
    }
}

impl Drop for Forward {
    fn drop(&mut self) {
        let _ended = self.0.kill().and_then(|()| self.0.wait());
    }
}

/// Every line arrived, each told as the bench tells it, and no line stands behind a later one without that one
/// coming once more: a listener goes on by one, or back, and never skips.
#[track_caller]
fn complete(listener: &Listener, own: &[Value]) {
    let heard = listener.feed();
    let mut next = 1;
    for line in &heard {
        let seq = line["seq"].as_u64().unwrap();
        assert!(seq <= next, "{seq} came before {next}");
        assert_eq!(line, &own[usize::try_from(seq).unwrap() - 1]);
        next = seq + 1;
    }
    assert_eq!(next - 1, own.len() as u64, "the newest line is not the last");
}

/// Waits until a listener has heard the newest line.
#[track_caller]
fn until_told(bench: &Bench, listener: &Listener, own: &[Value]) {
    let newest = &own.last().unwrap()["seq"];
    bench.until("the newest line is told", || {
        listener.feed().last().is_some_and(|line| line["seq"] == *newest)
    });
}

/// The link as `tenths status --json` shows it.
fn link(bench: &Bench) -> Value {
    bench.status().unwrap()["links"][0].clone()
}
