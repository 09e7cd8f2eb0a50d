//! The log beside the database, while somebody reads the whole record and rows keep coming.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Child, Stdio};
use std::time::{Duration, Instant};

use rustix::process::{Pid, Signal, kill_process};

use crate::rig::{Bench, Make, Wire};

const GAUGE: &str = "resolution = \"0.00001 in\"\nuncertainty = \"0.000009 in\"";
const MORE: &str = "[[gauge]]\nname = \"height\"\nkind = \"height\"\nunit = \"mm\"\n\
                    resolution = \"0.0001 mm\"\nuncertainty = \"0.0001 mm\"\n";
const PLAN: &str = "name = \"held\"\nunit = \"mm\"\n[[part]]\nname = \"ring\"\nkind = \"spacer\"\n\
                    [[part.check]]\nname = \"long\"\nmeasures = \"thickness-variation\"\n\
                    gauge = \"height\"\nsetup = \"anvil\"\npositions = 1000\nradius = \"40 mm\"\n\
                    tolerance = \"0.0025 mm\"\nclosure = false\n";
const JOBS: usize = 20;
/// The room that the log has, and half as much again.
const FEW: u64 = 12 << 20;

/// Asks for changes on a connection of its own.
struct Asks {
    wire: Wire,
    asked: usize,
}

impl Asks {
    fn to(bench: &Bench) -> Self {
        Self { wire: Wire::to(&bench.path("state/tenths.sock")).unwrap(), asked: 0 }
    }

    fn ask(&mut self, what: &str, rest: &str) {
        self.asked += 1;
        let asked = self.asked;
        let line = format!("{{\"request\":\"{what}\",\"key\":\"{asked}\"{rest}}}");
        let reply = self.wire.ask(&line).unwrap();
        assert_ne!(reply["schema"], "error/1", "{what}: {reply}");
    }
}

fn log_of(bench: &Bench) -> PathBuf {
    bench.path("state/tenths.db-wal")
}

/// How often the log was begun anew: bytes 12 to 15 of its head (SQLite, "WAL-Mode File Format", 1.1).
fn begun_anew(log: &Path) -> u32 {
    let bytes = fs::read(log).unwrap();
    u32::from_be_bytes(*bytes[12..].first_chunk().unwrap())
}

/// Asks again and again while another process may run for a sixteenth of the time, so that what
/// it does takes so much longer; until that has ended.
fn asked_while_slow(other: &mut Child, mut ask: impl FnMut()) {
    let id = Pid::from_child(other);
    for turn in 0.. {
        let (signal, ms) = if turn % 2 == 0 { (Signal::STOP, 45) } else { (Signal::CONT, 3) };
        kill_process(id, signal).unwrap();
        let since = Instant::now();
        while since.elapsed() < Duration::from_millis(ms) {
            ask();
        }
        if other.try_wait().unwrap().is_some() {
            return;
        }
    }
}

#[test]
fn the_log_stays_short_while_the_record_is_verified_and_a_clean_stop_leaves_none() {
    let mut bench = Bench::new(&Make { gauge: GAUGE, more: MORE, plan: PLAN });
    bench.start();
    let mut asks = Asks::to(&bench);
    let values: Vec<String> = (0..1000).map(|at| format!("\"12.34{:02}\"", at % 9)).collect();
    let values = format!(",\"values\":[{}]", values.join(","));
    for job in 0..JOBS {
        asks.ask("job-open", &format!(",\"name\":\"J-{job}\",\"plan\":\"held\""));
        asks.ask("measure", ",\"target\":\"ring/long\"");
        asks.ask("enter", &values);
    }
    let before = begun_anew(&log_of(&bench));
    let note = format!(",\"job\":\"J-0\",\"text\":\"{}\"", "a long note ".repeat(4500));

    let (mut longest, mut written) = (0, 0);
    let mut verify = bench.command(&["verify"]);
    let mut verify = verify.stdout(Stdio::null()).stderr(Stdio::null()).spawn().unwrap();
    asked_while_slow(&mut verify, || {
        asks.ask("note", &note);
        written += note.len() as u64;
        longest = longest.max(fs::metadata(log_of(&bench)).unwrap().len());
    });
    let status = verify.wait().unwrap();
    assert!(status.success(), "{status}");
    assert!(written > FEW, "only {written} bytes: the look was too short");
    // Where others want every processor, `verify` stands still in the middle of a moment, too: beside the other
    // tests here the log grew to three tenths of what was written, alone to less than an eighth.
    let most = FEW.max(written / 2);
    assert!(longest < most, "the log grew to {longest} bytes while {written} were written");
    assert!(begun_anew(&log_of(&bench)) > before, "the log was never begun anew");

    bench.ok(&["verify"]);
    drop(asks);
    bench.stop();
    let left: Vec<_> =
        fs::read_dir(bench.path("state")).unwrap().map(|file| file.unwrap().file_name()).collect();
    let log = left.iter().filter(|name| name.to_string_lossy().starts_with("tenths.db-")).count();
    assert_eq!(log, 0, "{left:?}");
    bench.ok(&["verify"]);
}
