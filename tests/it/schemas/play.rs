//! One small job through the real program with every kind of line that it prints.

use std::collections::BTreeMap;
use std::fs::File;
use std::io::{BufRead, BufReader};
use std::os::unix::net::UnixStream;
use std::process::Output;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Duration;

use rustix::fs::{FlockOperation, fcntl_lock};
use serde_json::Value;

use super::{CLOSED, hold};
use crate::broker::{Forward, shop};
use crate::mosquitto::Mosquitto;
use crate::rig::{Bench, Ends, Gauge, Make, Wire};

const GAUGE: &str = "unit = \"in\"\nresolution = \"0.00001 in\"\nrepeatability = \"0.000003 in\"\n\
                     uncertainty = \"0.000005 in\"\ncapture = \"sweep\"\ntravel = [\"-0.010 in\", \"0.010 in\"]\n";

const PLAN: &str = r#"
name = "held"
unit = "in"
[[part]]
name = "ring"
kind = "spacer"
[[part.check]]
name = "long"
measures = "length"
gauge = "plate"
setup = "plate"
positions = 1
min = "1.9995 in"
max = "2.0005 in"
master = "both"
master_size = "2 in"
closure = false
[[part.check]]
name = "flat"
measures = "flatness"
gauge = "plate"
setup = "plate"
moves = "stand"
positions = 8
radius = "1.5 in"
tolerance = "0.0001 in"
closure = false
[[part.check]]
name = "clean"
measures = "confirm"
question = "Clean?"
answers = ["yes", "no"]
good = ["yes"]
[[part.check]]
name = "torque"
measures = "entry"
question = "Torque"
unit = "Nm"
[[part]]
name = "nose"
kind = "shaft"
[[part.check]]
name = "pilot"
measures = "runout"
gauge = "plate"
reads = "sweep"
touch = "outside"
tolerance = "0.0002 in"
stand = "0.000005 in"
[[part]]
name = "bar"
kind = "bar"
[[part.check]]
name = "out"
measures = "bar-runout"
gauge = "plate"
positions = 8
seatings = 3
touch = "outside"
seating = "0.000004 in"
bar = "0.00001 in"
stand = "0 in"
closure = false
stations = [{ at = "0.5 in", tolerance = "0.0001 in" }, { at = "4 in", tolerance = "0.0002 in" }]
"#;

/// Eight touches of a ring.
const RING: [&str; 8] =
    ["0", "0.00001", "0.00002", "0.00001", "0", "0.00001", "0.00002", "0.00001"];

/// What was read so far: how many lines of each schema.
#[derive(Default)]
struct Seen(BTreeMap<String, usize>);

impl Seen {
    fn line(&mut self, line: &Value) {
        hold(line);
        *self.0.entry(line["schema"].as_str().unwrap().to_owned()).or_default() += 1;
    }

    /// Every line that a command printed for a script.
    fn output(&mut self, output: &Output) -> Vec<Value> {
        let text = |bytes: &[u8]| String::from_utf8(bytes.to_vec()).unwrap();
        let (out, err) = (text(&output.stdout), text(&output.stderr));
        let lines = out.lines().chain(err.lines().filter(|line| line.starts_with('{')));
        let lines: Vec<Value> = lines.map(|line| serde_json::from_str(line).unwrap()).collect();
        for line in &lines {
            self.line(line);
        }
        lines
    }

    /// Runs a command that prints lines of that schema and nothing else.
    #[track_caller]
    fn run(&mut self, bench: &Bench, schema: &str, arguments: &[&str]) -> Vec<Value> {
        let output = bench.run(&[arguments, &["--json"]].concat());
        let lines = self.output(&output);
        let said = String::from_utf8_lossy(&output.stderr);
        assert!(!lines.is_empty(), "{arguments:?} {said}");
        for line in &lines {
            assert_eq!(line["schema"], schema, "{arguments:?}: {line}");
        }
        lines
    }

    fn entered(&mut self, bench: &Bench, values: &[&str]) {
        self.run(bench, "entered/1", &[&["enter"], values].concat());
    }
}

/// A stream at rest while `body` runs.
fn while_still<T>(bench: &Bench, body: impl FnOnce() -> T) -> T {
    let over = AtomicBool::new(false);
    std::thread::scope(|scope| {
        scope.spawn(|| {
            while !over.load(Ordering::Relaxed) {
                bench.plate.send("+0.00001\r");
                std::thread::sleep(Duration::from_millis(20));
            }
        });
        let _ends = Ends(&over);
        std::thread::sleep(Duration::from_millis(1500));
        body()
    })
}

fn a_job(seen: &mut Seen, bench: &Bench) {
    seen.run(bench, "opened/1", &["job", "open", "s1", "--plan", "held", "--serial", "S7"]);
    seen.run(bench, "person/1", &["person", "Ada"]);
    let picture = bench.path("as-it-came.png");
    image::RgbImage::new(9, 7).save(&picture).unwrap();
    let attach = ["attach", "s1", picture.to_str().unwrap(), "--to", "ring/flat", "--what", "rust"];
    let id = seen.run(bench, "attached/1", &attach)[0]["id"].to_string();
    seen.run(bench, "attached/1", &attach);
    let back = ["attach", "s1", "--remove", &id, "--why", "blurred"];
    seen.run(bench, "attached-taken-back/1", &back);
    seen.run(bench, "attachment/1", &["attachments", "s1"]);
    let line = r#"{"request":"attach","key":"a1","job":"s1","what":"rust","name":"a","digest":"DIGEST","bytes":1}"#;
    let line = line.replace("DIGEST", &"0".repeat(64));
    seen.line(&Wire::to(&bench.state.join("tenths.sock")).unwrap().ask(&line).unwrap());
    seen.run(bench, "measuring/1", &["measure", "ring/long"]);
    seen.run(bench, "master/1", &["master"]);
    seen.run(bench, "stopped/1", &["measure", "--stop"]);
    seen.run(bench, "measuring/1", &["measure", "ring/flat"]);
    seen.entered(bench, &["0.00001", "0.00002", "0.00003", "0.00002", "0.00050"]);
    seen.run(bench, "voided/1", &["void", "--why", "slipped"]);
    seen.entered(bench, &["0.00090", "0.00002"]);
    seen.run(bench, "skipped/1", &["skip", "6", "--why", "slot"]);
    seen.entered(bench, &["0.00001"]);
    seen.run(bench, "measuring/1", &["remeasure", "ground", "ring/flat"]);
    seen.entered(bench, &RING);
    seen.run(bench, "answered/1", &["confirm", "ring/clean", "yes"]);
    seen.run(bench, "answered/1", &["record", "ring/torque", "40"]);
    let (found, built) = (["stack", "found", "ring"], ["stack", "built", "ring", "--why", "haste"]);
    seen.run(bench, "stacked/1", &found);
    seen.run(bench, "stacked/1", &built);
    let spot = ["stack", "spot", "ring", "--low", "30", "--amount", "0.00004 in"];
    seen.run(bench, "spot/1", &spot);
    seen.run(bench, "job/1", &["job", "show", "s1"]);
    seen.run(bench, "spot/1", &["stack", "spot", "ring", "--none"]);
    seen.run(bench, "replaced/1", &["replace", "nose", "--serial", "N8", "--why", "cracked"]);
    seen.run(bench, "noted/1", &["note", "s1", "came in dirty"]);
    seen.run(bench, "rule-changed/1", &["job", "rule", "s1", "simple", "--why", "as agreed"]);
    seen.run(bench, "intake/1", &["job", "intake", "s1", "--complaint", "whines"]);
    seen.run(bench, "edited/1", &["job", "edit", "s1", "--serial", "SP-9", "--why", "mistyped"]);
    seen.run(bench, "serial/1", &["serial", "nose", "N9"]);
    seen.run(bench, "decided/1", &["decide", "ring", "reground", "--why", "0.0005 in out"]);
    for (what, sign) in [
        ("checked/1", &["checked", "s1", "--by", "Bo"][..]),
        ("signed/1", &["sign", "s1", "measured", "--by", "Ada"]),
    ] {
        seen.run(bench, what, &[sign, &["--why", "haste"]].concat());
    }
    seen.run(bench, "alert/1", &["alerts", "--all"]);
    let open = seen.run(bench, "alert/1", &["alerts", "--state", "open"]);
    seen.run(bench, "seen/1", &["ack", &open[0]["id"].to_string()]);
    seen.run(bench, "all-seen/1", &["ack", "--all"]);
    seen.run(bench, "error/1", &["measure", "ring/bore"]);
    seen.run(bench, "error/1", &["measure", "--nonsense"]);
}

/// A bar of which a seating is said, and a turn that is swept.
fn taps(seen: &mut Seen, bench: &Bench) {
    seen.run(bench, "measuring/1", &["measure", "bar/out"]);
    for seating in 0..3 {
        if seating > 0 {
            seen.run(bench, "seated/1", &["take"]);
        }
        seen.entered(bench, &[RING, RING].concat());
    }
    while_still(bench, || {
        seen.run(bench, "measuring/1", &["remeasure", "again", "ring/flat"]);
        seen.run(bench, "taken/1", &["take"]);
        seen.run(bench, "measuring/1", &["measure", "nose/pilot"]);
        for _ in 0..4 {
            seen.run(bench, "tapped/1", &["take"]);
            std::thread::sleep(Duration::from_millis(1200));
        }
        seen.run(bench, "swept/1", &["take"]);
    });
}

/// What is looked up, and what is told on the socket.
fn looks(seen: &mut Seen, bench: &Bench) {
    seen.run(bench, "status/1", &["status"]);
    seen.run(bench, "reload/1", &["reload"]);
    seen.run(bench, "job/1", &["job", "list"]);
    seen.run(bench, "job/1", &["job", "show", "s1"]);
    seen.run(bench, "reading/1", &["readings", "s1"]);
    seen.run(bench, "verdict/1", &["verdicts", "s1", "--all"]);
    let with_u = |line: &Value| line["uncertainty"].is_string();
    let judged = bench.lines(&["verdicts", "s1"]).into_iter().find(with_u).unwrap();
    seen.run(bench, "budget/1", &["budget", &judged["id"].to_string()]);
    let socket = bench.state.join("tenths.sock");
    let greeting = BufReader::new(UnixStream::connect(&socket).unwrap()).lines().next();
    seen.line(&serde_json::from_str(&greeting.unwrap().unwrap()).unwrap());
    let mut wire = Wire::to(&socket).unwrap();
    seen.line(&wire.ask(r#"{"request":"view"}"#).unwrap());
    seen.line(&wire.ask(r#"{"request":"nonsense"}"#).unwrap());
    let mut feed = Wire::to(&socket).unwrap();
    let begins = feed.ask(r#"{"request":"tail","since":0}"#).unwrap();
    let newest = begins["newest"].as_u64().unwrap();
    seen.line(&begins);
    for _ in 0..newest {
        seen.line(&feed.hear().unwrap());
    }
    // Somebody locks the record: that is told between the lines of the feed.
    let held = File::open(bench.path("state/tenths.db-shm")).unwrap();
    fcntl_lock(&held, FlockOperation::NonBlockingLockShared).unwrap();
    let note = bench.spawn(&["note", "s1", "while it was locked", "--json"]);
    seen.line(&feed.hear().unwrap());
    drop(held);
    seen.output(&note.wait_with_output().unwrap());
}

/// Copies of the record, a job that is handed on and taken over, and the record put back.
fn copies(seen: &mut Seen, bench: &mut Bench) {
    let copy = bench.path("copy.db").display().to_string();
    let folder = bench.path("bundle").display().to_string();
    seen.run(bench, "backup/1", &["backup", &copy]);
    seen.run(bench, "verify/1", &["verify"]);
    seen.run(bench, "verify/1", &["verify", &copy]);
    seen.run(bench, "opened/1", &["job", "open", "s2", "--plan", "held", "--serial", "S7"]);
    seen.run(bench, "measuring/1", &["measure", "ring/flat"]);
    seen.entered(bench, &RING);
    seen.run(bench, "in-use/1", &["job", "use", "s1"]);
    seen.run(bench, "closed/1", &["job", "close", "--why", "a try"]);
    seen.run(bench, "reopened/1", &["job", "reopen", "s1"]);
    seen.run(bench, "comparison/1", &["job", "compare", "s1", "s2"]);
    seen.run(bench, "export/1", &["export", "s1", "--out", &folder]);
    bench.stop();
    let other = Bench::new(&Make { gauge: GAUGE, more: "", plan: PLAN });
    seen.run(&other, "import/1", &["import", &folder]);
    seen.run(bench, "restore/1", &["restore", &copy]);
    seen.run(bench, "error/1", &["status"]);
}

const POINTS: [(&str, &str); 7] = [
    ("flatness", "x_mm,y_mm,z_um\n0,0,0\n10,0,1\n0,10,2\n10,10,4\n5,5,1\n"),
    ("parallelism", "angle_deg,radius_mm,z_um\n0,10,0\n90,10,1\n180,10,2\n270,10,1\n"),
    ("roundness", "angle_deg,r_um\n0,0\n60,1\n120,0\n180,1\n240,0\n300,1\n"),
    ("runout", "angle_deg,r_um\n0,0\n60,1\n120,0\n180,1\n240,0\n300,1\n"),
    ("roundness", "x_mm,y_mm\n10,0\n0,10.001\n-10,0\n0,-10\n7.07,7.07\n"),
    ("straightness", "x_mm,z_um\n0,0\n10,1\n20,0\n30,2\n"),
    ("taper", "x_mm,z_um\n0,50000\n10,52917\n20,55833\n"),
];

/// A gauge is proved, and its history is looked up.
fn proofs(seen: &mut Seen, bench: &Bench) {
    seen.run(bench, "proving/1", &["prove", "plate", "--step", "0.002 in"]);
    seen.run(bench, "proving/1", &["prove", "plate", "--stop"]);
    seen.run(bench, "proving/1", &["prove", "plate", "--step-only"]);
    seen.run(bench, "proving/1", &["enter", "0", "0.00103", "0"]);
    let block = ["register", "block", "b-1", "--size", "0.1 in", "--due", "2099-01-01"];
    seen.run(bench, "registered/1", &block);
    seen.run(bench, "registered/1", &["register"]);
    seen.run(bench, "registered/1", &["register", "retire", "b-1", "--why", "dropped"]);
    seen.run(bench, "gauge-history/1", &["gauge", "show", "plate"]);
}

/// What a broker is told.
fn events(seen: &mut Seen, bench: &Bench) {
    let broker = Mosquitto::started("");
    let listener = broker.listener("schemas", "tenths/#", &[]);
    let config = bench.path("bench.toml");
    let text = std::fs::read_to_string(&config).unwrap();
    std::fs::write(&config, text + &shop(broker.port, "")).unwrap();
    let forward = Forward::of(bench);
    let kind = |name: &str| listener.heard().iter().any(|message| message.line["schema"] == name);
    bench.until("the events are told", || kind("gauge/1") && kind("presence/1") && kind("feed/1"));
    forward.ends();
    for message in listener.heard().iter().filter(|message| !message.line.is_null()) {
        seen.line(&message.line);
    }
}

/// What needs no service.
fn without_a_service(seen: &mut Seen, bench: &Bench) {
    let gauge = Gauge::plugged(bench.path("other"));
    let port = bench.path("other").display().to_string();
    let listen = bench.spawn(&["gauge", "listen", &port, "--seconds", "1", "--json"]);
    std::thread::sleep(Duration::from_millis(300));
    for frame in ["   1.23450 in \r\n", "-  0.00010 in\r\n", "1.23455 in\r\n"] {
        gauge.send(frame);
        std::thread::sleep(Duration::from_millis(80));
    }
    seen.output(&listen.wait_with_output().unwrap());
    seen.run(bench, "port/1", &["gauge", "list"]);
    seen.run(bench, "plan/1", &["plan", "list"]);
    seen.run(bench, "doctor/1", &["doctor"]);
    let path = bench.path("points.csv");
    let file = path.to_str().unwrap();
    for (measures, points) in POINTS {
        std::fs::write(&path, points).unwrap();
        let command = ["evaluate", file, "--measures", measures];
        seen.run(bench, "evaluation/1", &command);
        if measures != "taper" {
            let limits = ["--tolerance", "2.54 um", "--uncertainty", "0.6 um"];
            seen.run(bench, "evaluation/1", &[&command[..], &limits].concat());
        }
    }
    let study = "hand,part,value_um\nA,1,0\nA,1,1\nB,1,1\nB,1,2\nA,2,4\nA,2,5\nB,2,6\nB,2,6\n";
    std::fs::write(&path, study).unwrap();
    seen.run(bench, "study/1", &["study", file, "--tolerance", "2.54 um"]);
    let config = bench.path("bench.toml");
    let text = std::fs::read_to_string(&config).unwrap();
    std::fs::write(&config, text.replace("[bench]", "[bench]\nbauds = 1")).unwrap();
    seen.run(bench, "finding/1", &["config", "check"]);
    seen.run(bench, "explained/1", &["explain"]);
    seen.run(bench, "key/1", &["config", "keys"]);
}

#[test]
fn every_kind_of_line_is_as_its_schema_has_it() {
    let mut bench = Bench::new(&Make { gauge: GAUGE, more: "", plan: PLAN });
    let mut seen = Seen::default();
    bench.start();
    a_job(&mut seen, &bench);
    taps(&mut seen, &bench);
    looks(&mut seen, &bench);
    proofs(&mut seen, &bench);
    events(&mut seen, &bench);
    copies(&mut seen, &mut bench);
    without_a_service(&mut seen, &bench);
    let missed: Vec<_> = CLOSED.keys().filter(|name| !seen.0.contains_key(*name)).collect();
    assert!(missed.is_empty(), "no line of {missed:?} was read");
}
