//! A ring measured hands free: a scanner types or sends a printed code, the gauge sends its touches.

use serde_json::Value;

use bench::plan::CheckAt;
use bench::row::Stage;
use quantity::Name;
use wire::code::{Action, Blocked, Code, JobTag};

use crate::hands::Keys;
use crate::rig::{Bench, Gauge, Make};

const GAUGE: &str = "unit = \"in\"\nresolution = \"0.00001 in\"\nuncertainty = \"0.0000084 in\"\n\
                     repeat_ms = 0\nmax_rate = 0";

const STATION: &str = r#"
[[station]]
name = "bench-1"
gauges = ["plate"]
pedal = "keys:{dir}/pedal"
scanner = "{dir}/scanner"
"#;

const PLAN: &str = r#"
name = "held"
unit = "in"
[[part]]
name = "ring"
kind = "spacer"
[[part.check]]
name = "face"
measures = "parallelism"
gauge = "plate"
setup = "plate"
moves = "stand"
positions = 8
radius = "1.5 in"
tolerance = "0.0001 in"
[[part.check]]
name = "clean"
measures = "confirm"
question = "burrs stoned off?"
answers = ["yes", "no"]
good = ["yes"]
[[part.check]]
name = "again"
measures = "parallelism"
gauge = "plate"
setup = "plate"
moves = "stand"
positions = 8
radius = "1.5 in"
tolerance = "0.0001 in"
[[stack]]
part = "ring"
ways = ["front", "back"]
towards_nose = "front"
"#;

/// Position 0 to 7 and 0 again.
const TOUCHES: [&str; 9] = [
    "+0.00000", "+0.00001", "+0.00002", "+0.00002", "+0.00001", "+0.00003", "+0.00002", "+0.00001",
    "+0.00000",
];

const FACE: CheckAt = CheckAt { part: 0, check: 0 };
const CLEAN: CheckAt = CheckAt { part: 0, check: 1 };

fn started() -> (Bench, Gauge) {
    let mut bench = Bench::new(&Make { gauge: GAUGE, more: STATION, plan: PLAN });
    let scanner = Gauge::plugged(bench.path("scanner"));
    bench.start();
    bench.until("the scanner is read", || lost(&bench, "scanner").is_empty());
    (bench, scanner)
}

fn tag(job: &str) -> JobTag {
    JobTag::of(&Name::new(job).unwrap())
}

fn open_alerts(bench: &Bench, kind: &str) -> Vec<String> {
    let alerts = bench.lines(&["alerts", "--all"]);
    let open = alerts.iter().filter(|one| one["kind"] == kind && one["cleared_at"].is_null());
    open.map(|one| one["text"].as_str().unwrap().to_owned()).collect()
}

fn lost(bench: &Bench, what: &str) -> Vec<String> {
    let all = open_alerts(bench, "device-lost");
    all.into_iter().filter(|text| text.starts_with(what)).collect()
}

fn station(bench: &Bench) -> Value {
    bench.heard().unwrap()["stations"][0].clone()
}

fn scan(scanner: &Gauge, code: Code) {
    scanner.send(&format!("{code}\r"));
}

#[test]
fn a_whole_ring_is_one_scan_and_nine_touches() {
    let (bench, scanner) = started();
    bench.ok(&["job", "open", "s1", "--plan", "held"]);
    scan(&scanner, Code::Check { job: tag("s1"), at: FACE });
    bench.until("the check is active", || station(&bench)["check"] == "face");
    bench.touches(&bench.plate, "plate", &TOUCHES);
    let verdict = bench.verdict("s1", 1);
    assert_eq!((&verdict["verdict"], &verdict["value"]), (&"conforms".into(), &"0.00003".into()));
    assert_eq!(verdict["taken"], 8);
    assert_eq!(bench.readings("s1").len(), 9);
    assert!(open_alerts(&bench, "scan").is_empty());
    bench.balanced();
}

#[test]
fn codes_change_one_thing_each_and_what_is_refused_is_one_note() {
    let (bench, scanner) = started();
    let noted = |text: &str| {
        bench.until(text, || open_alerts(&bench, "scan").iter().any(|one| one.contains(text)));
        assert_eq!(open_alerts(&bench, "scan").len(), 1);
    };
    // Nothing that is no code does anything but leave a note.
    for rubbish in ["ISP-2041/7", "+0.00012", "\u{1b}[2J\u{7}", &"7".repeat(5000), "$A-NEXT-00"] {
        scanner.send(&format!("{rubbish}\r"));
    }
    noted("not read whole");
    bench.ok(&["job", "open", "s1", "--plan", "held"]);
    bench.ok(&["job", "open", "s2", "--plan", "held"]);
    scan(&scanner, Code::Check { job: tag("s1"), at: FACE });
    noted("that sheet is of job s1, and s2 is in use here");
    assert_eq!(station(&bench)["check"], Value::Null);
    scan(&scanner, Code::Job(tag("s1")));
    bench.until("s1 in use", || station(&bench)["job"] == "s1");
    bench.until("the note is over", || open_alerts(&bench, "scan").is_empty());
    scan(&scanner, Code::Job(tag("s3")));
    noted("not open on this bench");
    scan(&scanner, Code::Answer { job: tag("s1"), at: CLEAN, answer: 0 });
    assert_eq!(bench.verdict("s1", 1)["verdict"], "conforms");
    scan(&scanner, Code::Action(Action::Next));
    bench.until("the next check", || station(&bench)["check"] == "face");
    // This gauge has a button of its own.
    scan(&scanner, Code::Action(Action::Take));
    noted("cannot be asked");
    scan(&scanner, Code::Value(-3));
    bench.until("one reading", || bench.readings("s1").len() == 1);
    let reading = bench.readings("s1").pop().unwrap();
    assert_eq!((&reading["value"], &reading["source"]), (&"-0.00003".into(), &"keyed".into()));
    scan(&scanner, Code::Action(Action::Void));
    bench.until("taken back", || bench.readings("s1")[0]["state"] == "void");
    bench.touches(&bench.plate, "plate", &TOUCHES);
    bench.verdict("s1", 2);
    // Finished: the reason is asked for, and the scan of it is about that check.
    scan(&scanner, Code::Action(Action::Stop));
    scan(&scanner, Code::Check { job: tag("s1"), at: FACE });
    noted("ring/face is finished; scan why");
    scan(&scanner, Code::Action(Action::Ground));
    bench.until("another attempt of it", || station(&bench)["check"] == "face");
    bench.until("another attempt", || station(&bench)["attempt"] == 2);
    assert!(open_alerts(&bench, "scan").is_empty());
}

#[test]
fn the_stack_and_positions_that_cannot_be_touched_are_scanned() {
    let (bench, scanner) = started();
    bench.ok(&["job", "open", "s1", "--plan", "held"]);
    let job = tag("s1");
    let stack = |stage, way| Code::Stack { job, stage, place: 0, way };
    scan(&scanner, stack(Stage::Found, None));
    bench.until("it is asked which way", || {
        open_alerts(&bench, "scan").iter().any(|text| text.contains("towards the nose?"))
    });
    scan(&scanner, stack(Stage::Found, Some(1)));
    bench.until("it is on the list", || {
        bench.ok(&["job", "show", "s1"]).contains("back to the nose")
    });
    // Scanned on another screen, the reason is about the check that was scanned.
    scan(&scanner, Code::Check { job, at: FACE });
    bench.until("the check is active", || station(&bench)["check"] == "face");
    bench.touches(&bench.plate, "plate", &TOUCHES[..3]);
    scan(&scanner, Code::Skip(Blocked::Slot));
    bench.until("one left out", || station(&bench)["next_position"] == 4);
    bench.touches(&bench.plate, "plate", &TOUCHES[4..]);
    assert_eq!(bench.verdict("s1", 1)["skipped"], 1);
    scan(&scanner, Code::Check { job, at: CheckAt { part: 0, check: 2 } });
    bench.until("another is active", || station(&bench)["check"] == "again");
    scan(&scanner, Code::Check { job, at: FACE });
    bench.until("it is asked why", || {
        open_alerts(&bench, "scan").iter().any(|text| text.contains("is finished; scan why"))
    });
    scan(&scanner, Code::Action(Action::Cleaned));
    bench.until("the scanned one", || station(&bench)["check"] == "face");
    assert_eq!(station(&bench)["attempt"], 2);
}

#[test]
fn a_scanner_and_a_pedal_that_are_missing_are_told_and_stop_nothing() {
    let (bench, mut scanner) = started();
    bench.until("the pedal is missed", || lost(&bench, "pedal").len() == 1);
    let why = lost(&bench, "pedal").pop().unwrap();
    assert!(why.contains("is not there; plug the pedal in"), "{why}");
    bench.ok(&["job", "open", "s1", "--plan", "held"]);
    scanner.unplug();
    bench.until("the scanner is lost", || lost(&bench, "scanner").len() == 1);
    let pedal = Keys::plugged(&bench.path("pedal"));
    bench.until("the pedal is found", || lost(&bench, "pedal").is_empty());
    // A pedal that is stuck down repeats its key for ever.
    for _ in 0..200 {
        pedal.key(48, 2);
    }
    scanner.plug();
    bench.until("the scanner is back", || lost(&bench, "scanner").is_empty());
    scan(&scanner, Code::Check { job: tag("s1"), at: FACE });
    bench.until("the check is active", || station(&bench)["check"] == "face");
    bench.touches(&bench.plate, "plate", &TOUCHES);
    assert_eq!(bench.verdict("s1", 1)["verdict"], "conforms");
}
