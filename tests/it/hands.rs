//! Hands-free working on a bad day: streams that race, freeze or flicker, pedals that stick, scanners that
//! type rubbish.

use std::fs;
use std::os::fd::OwnedFd;
use std::path::Path;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

use rustix::fs::{Mode, OFlags};
use serde_json::Value;

use crate::rig::{Bench, Ends, Gauge, Make, Wire};

const GAUGE: &str = "unit = \"in\"\nresolution = \"0.00001 in\"\ncapture = \"settle\"\n\
                     travel = [\"-0.030 in\", \"0.030 in\"]\n";

const STATIONS: &str = r#"
[[gauge]]
name = "bore"
kind = "indicator"
port = "{dir}/bore"
profile = "signed-decimal"
unit = "in"
resolution = "0.00001 in"
capture = "settle"
travel = ["-0.050 in", "0.050 in"]
[[station]]
name = "one"
gauges = ["plate"]
pedal = "keys:{dir}/pedal-1"
scanner = "{dir}/scanner"
[[station]]
name = "two"
gauges = ["bore"]
pedal = "keys:{dir}/pedal-2"
scanner = "keys:{dir}/typist"
"#;

const PLAN: &str = r#"
name = "held"
unit = "in"
[[part]]
name = "ring"
kind = "spacer"
[[part.check]]
name = "plate"
measures = "parallelism"
gauge = "plate"
setup = "plate"
moves = "ring"
positions = 8
radius = "1.5 in"
tolerance = "0.002 in"
[[part.check]]
name = "bore"
measures = "parallelism"
gauge = "bore"
setup = "plate"
moves = "ring"
positions = 8
radius = "1.5 in"
tolerance = "0.002 in"
"#;

/// Two stations, each with a stream, a pedal and a scanner, a check active at both.
struct Shop {
    bench: Bench,
    bore: Gauge,
    scanner: Gauge,
    pedals: [Keys; 2],
    typist: Keys,
}

fn shop() -> Shop {
    let mut bench = Bench::new(&Make { gauge: GAUGE, more: STATIONS, plan: PLAN });
    let bore = Gauge::plugged(bench.path("bore"));
    let scanner = Gauge::plugged(bench.path("scanner"));
    let pedals = ["pedal-1", "pedal-2"].map(|name| Keys::plugged(&bench.path(name)));
    let typist = Keys::plugged(&bench.path("typist"));
    bench.start();
    bench.until("all devices are read", || open(&bench, "device-lost").is_empty());
    bench.ok(&["job", "open", "s1", "--plan", "held", "--station", "one"]);
    bench.ok(&["job", "use", "s1", "--station", "two"]);
    bench.ok(&["measure", "ring/plate", "--station", "one"]);
    bench.ok(&["measure", "ring/bore", "--station", "two"]);
    Shop { bench, bore, scanner, pedals, typist }
}

/// A named pipe that stands in for an input device: opened by a name, readable, bytes of events.
pub(crate) struct Keys(OwnedFd);

impl Keys {
    pub(crate) fn plugged(path: &Path) -> Self {
        assert!(std::process::Command::new("mkfifo").arg(path).status().unwrap().success());
        let end = rustix::fs::open(path, OFlags::RDWR | OFlags::NONBLOCK, Mode::empty()).unwrap();
        Self(end)
    }

    /// An event as the kernel writes it (`struct input_event` of `linux/input.h`): two words of
    /// time, type `EV_KEY` (1), code, value: 1 is down, 0 is up.
    pub(crate) fn key(&self, code: u16, value: i32) {
        let mut event = vec![0; 2 * size_of::<usize>()];
        for part in [1_u16.to_ne_bytes(), code.to_ne_bytes()] {
            event.extend(part);
        }
        event.extend(value.to_ne_bytes());
        assert_eq!(rustix::io::write(&self.0, &event).unwrap(), event.len());
    }

    /// The letter b, as many foot switches are set.
    pub(crate) fn foot(&self, down: bool) {
        self.key(48, i32::from(down));
    }

    /// Bytes as they are; what does not fit waits until there is room.
    fn rubbish(&self, bytes: &[u8]) {
        let mut left = bytes;
        while !left.is_empty() {
            match rustix::io::write(&self.0, left) {
                Ok(count) => left = &left[count..],
                Err(rustix::io::Errno::AGAIN) => std::thread::sleep(Duration::from_millis(1)),
                Err(error) => panic!("{error}"),
            }
        }
    }
}

fn open(bench: &Bench, kind: &str) -> Vec<String> {
    let alerts = bench.lines(&["alerts", "--all"]);
    let open = alerts.iter().filter(|one| one["kind"] == kind && one["cleared_at"].is_null());
    open.map(|one| one["text"].as_str().unwrap().to_owned()).collect()
}

fn raised(bench: &Bench, kind: &str) -> usize {
    bench.lines(&["alerts", "--all"]).iter().filter(|one| one["kind"] == kind).count()
}

/// Sends a value at a rate for a time; how many frames.
fn stay(gauge: &Gauge, steps: i64, (hertz, ms): (u64, u64)) -> u64 {
    let start = Instant::now();
    let frames = hertz * ms / 1000;
    for frame in 0..frames {
        let due = start + Duration::from_micros(frame * 1_000_000 / hertz);
        std::thread::sleep(due.saturating_duration_since(Instant::now()));
        gauge.send(&format!("+0.{steps:05}\r"));
    }
    frames
}

fn sent(bench: &Bench, check: &str) -> Vec<String> {
    let all = bench.lines(&["readings", "s1", "--check", check]);
    all.iter().map(|one| one["as_sent"].as_str().unwrap().to_owned()).collect()
}

/// What the service holds in memory, KiB: `VmRSS` of proc(5).
pub(crate) fn memory_kib(bench: &Bench) -> u64 {
    let status = fs::read_to_string(format!("/proc/{}/status", bench.pid())).unwrap();
    let line = status.lines().find(|line| line.starts_with("VmRSS")).unwrap();
    line.split_whitespace().nth(1).unwrap().parse().unwrap()
}

/// Asks for the status until told to end; how long each answer took.
fn keep_asking(bench: &Bench, over: &AtomicBool) -> Vec<Duration> {
    let mut wire = Wire::to(&bench.state.join("tenths.sock")).unwrap();
    let mut took = Vec::new();
    while !over.load(Ordering::Relaxed) {
        let start = Instant::now();
        assert_eq!(wire.ask(r#"{"request":"status"}"#).unwrap()["schema"], "status/1");
        took.push(start.elapsed());
        std::thread::sleep(Duration::from_millis(20));
    }
    took.sort_unstable();
    took
}

/// Does something while the status is asked for all the time: each answer came quickly.
fn answers_meanwhile<T>(bench: &Bench, act: impl FnOnce() -> T) -> T {
    let over = AtomicBool::new(false);
    std::thread::scope(|scope| {
        let asking = scope.spawn(|| keep_asking(bench, &over));
        let done = {
            let _ends = Ends(&over);
            act()
        };
        let took = asking.join().unwrap();
        assert!(took.len() > 3, "{took:?}");
        // Machines are shared, so the slowest may take long; half of them may not.
        let (middle, slowest) = (took[took.len() / 2], took[took.len() - 1]);
        assert!(middle < Duration::from_millis(100), "{middle:?}");
        assert!(slowest < Duration::from_secs(3), "{slowest:?}");
        done
    })
}

#[test]
fn a_stream_of_a_thousand_a_second_is_counted_whole_and_taken_exactly() {
    let shop = shop();
    let bench = &shop.bench;
    let touches = [12, 7, 31, 0];
    let frames = answers_meanwhile(bench, || {
        let rate = 1000;
        let mut frames = stay(&bench.plate, 500, (rate, 500));
        for steps in touches {
            frames += stay(&bench.plate, 3000, (rate, 500));
            frames += stay(&bench.plate, steps, (rate, 900));
        }
        frames
    });
    bench.until("all samples", || bench.gauge("plate")["frames"] == frames);
    let status = bench.gauge("plate");
    let count = touches.len() as u64;
    let counted = ["taken", "idle", "damaged", "muted"].map(|key| status[key].as_u64().unwrap());
    assert_eq!(counted, [count, frames - count, 0, 0], "{status}");
    assert_eq!(sent(bench, "plate"), ["+0.00012", "+0.00007", "+0.00031", "+0.00000"]);
    bench.balanced();
}

#[test]
fn two_feet_at_two_stations_come_down_at_once_and_each_takes_its_own() {
    let shop = shop();
    let bench = &shop.bench;
    let still = |steps: [i64; 2]| {
        std::thread::scope(|scope| {
            scope.spawn(|| stay(&bench.plate, steps[0], (20, 600)));
            scope.spawn(|| stay(&shop.bore, steps[1], (20, 600)));
        });
    };
    let step = || std::thread::sleep(Duration::from_millis(120));
    still([5, 40]);
    // One goes down, the other goes down, the first comes up, the other comes up.
    for (pedal, down) in [(0, true), (1, true), (0, false), (1, false)] {
        shop.pedals[pedal].foot(down);
        step();
    }
    bench.until("both are taken", || {
        ["plate", "bore"].iter().all(|gauge| bench.gauge(gauge)["taken"] == 1)
    });
    assert_eq!((sent(bench, "plate"), sent(bench, "bore")), (one("+0.00005"), one("+0.00040")));
    // One holds and takes back while the other takes.
    shop.pedals[0].foot(true);
    std::thread::sleep(Duration::from_millis(700));
    still([5, 41]);
    shop.pedals[1].foot(true);
    step();
    shop.pedals[1].foot(false);
    shop.pedals[0].foot(false);
    bench.until("taken and taken back", || {
        let states = |state| bench.lines(&["readings", "s1", "--state", state]).len();
        (states("placed"), states("void")) == (2, 1)
    });
    assert_eq!(sent(bench, "bore"), ["+0.00040", "+0.00041"]);
    assert_eq!(raised(bench, "foot"), 0);
    // A foot on nothing is told where the foot is, and only there.
    std::thread::sleep(Duration::from_millis(1300));
    shop.pedals[1].foot(true);
    step();
    shop.pedals[1].foot(false);
    bench.until("a note", || !open(bench, "foot").is_empty());
    let mut wire = Wire::to(&bench.state.join("tenths.sock")).unwrap();
    let mut notes = |station: &str| {
        let ask = format!("{{\"request\":\"view\",\"station\":\"{station}\"}}");
        let view = wire.ask(&ask).unwrap();
        let alerts = view["alerts"].as_array().unwrap().clone();
        alerts.iter().filter(|alert| alert["kind"] == "foot").count()
    };
    assert_eq!((notes("one"), notes("two")), (0, 1));
    still([5, 42]);
    shop.pedals[1].foot(true);
    step();
    shop.pedals[1].foot(false);
    bench.until("the note is over", || open(bench, "foot").is_empty());
    assert_eq!(sent(bench, "bore").len(), 3);
}

fn one(text: &str) -> Vec<String> {
    vec![text.to_owned()]
}

#[test]
fn a_pedal_stuck_down_is_said_without_other_news_and_takes_nothing() {
    let shop = shop();
    let bench = &shop.bench;
    stay(&bench.plate, 5, (20, 600));
    let start = Instant::now();
    shop.pedals[0].foot(true);
    bench.until("it is said", || !open(bench, "pedal").is_empty());
    let took = start.elapsed();
    assert!((30..45).contains(&took.as_secs()), "{took:?}");
    assert!(open(bench, "pedal")[0].contains("has been down for half a minute"));
    // Its key repeats for ever; the other foot works.
    for _ in 0..200 {
        shop.pedals[0].key(48, 2);
    }
    stay(&shop.bore, 9, (20, 600));
    shop.pedals[1].foot(true);
    std::thread::sleep(Duration::from_millis(100));
    shop.pedals[1].foot(false);
    bench.until("the other takes", || bench.gauge("bore")["taken"] == 1);
    shop.pedals[0].foot(false);
    bench.until("it is well again", || open(bench, "pedal").is_empty());
    assert_eq!(sent(bench, "plate"), [""; 0], "neither taken nor taken back");
    assert_eq!((raised(bench, "pedal"), raised(bench, "foot")), (1, 0));
}

/// Bytes of a small generator (Knuth's MMIX constants).
fn noise(count: usize) -> Vec<u8> {
    let mut seed = 7_u64;
    let mut next = || {
        seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        seed.to_be_bytes()[0]
    };
    (0..count).map(|_| next()).collect()
}

#[test]
fn scanners_that_type_rubbish_are_one_note_and_fill_nothing() {
    let shop = shop();
    let bench = &shop.bench;
    let before = memory_kib(bench);
    let rows = || newest(bench);
    let first = rows();
    answers_meanwhile(bench, || {
        // Binary, with line ends and without; a line that does not end; lines without pause, of
        // two kinds in turn, so that their sentences differ.
        let noise = noise(400_000);
        let letters: Vec<u8> = noise.iter().map(|byte| b'a' + byte % 26).collect();
        shop.scanner.send_all(&noise);
        shop.scanner.send_all(&letters);
        shop.typist.rubbish(&noise);
        shop.pedals[0].rubbish(&noise);
        for line in 0..4000 {
            shop.scanner.send_all(format!("ISP-{line}\r$A-NEXT-{:02}\r", line % 90).as_bytes());
        }
        bench.until("one note", || open(bench, "scan").len() == 1);
    });
    // Whatever is still on its way is read by now.
    std::thread::sleep(Duration::from_millis(1500));
    assert!(open(bench, "scan").len() <= 2, "one for each scanner: {:?}", open(bench, "scan"));
    let grown = memory_kib(bench).saturating_sub(before);
    assert!(grown < 16 * 1024, "{grown} KiB more");
    let stored = rows() - first;
    assert!(stored < 200, "{stored} rows");
    assert_eq!((sent(bench, "plate"), sent(bench, "bore")), (vec![], vec![]));
    // The bench is alive, and the scanner is, too.
    bench.ok(&["job", "open", "s2", "--plan", "held", "--station", "two"]);
    shop.scanner.send(&format!("{}\r", stop()));
    bench.until("the check is left", || station(bench, 0)["check"].is_null());
}

/// The code for "stop".
fn stop() -> wire::code::Code {
    wire::code::Code::Action(wire::code::Action::Stop)
}

fn station(bench: &Bench, index: usize) -> Value {
    bench.heard().unwrap()["stations"][index].clone()
}

/// The number of the newest row.
fn newest(bench: &Bench) -> u64 {
    let mut wire = Wire::to(&bench.state.join("tenths.sock")).unwrap();
    wire.ask(r#"{"request":"view","station":"one"}"#).unwrap()["seq"].as_u64().unwrap()
}

#[test]
fn a_stream_that_freezes_is_said_and_a_value_that_stays_is_not() {
    let shop = shop();
    let bench = &shop.bench;
    let kind = "stream-stopped";
    stay(&bench.plate, 7, (20, 8000));
    assert_eq!(raised(bench, kind), 0, "the same value all the time is no fault");
    // A gauge that sent hardly anything was no stream.
    stay(&shop.bore, 7, (20, 500));
    bench.until("it is said", || !open(bench, kind).is_empty());
    assert!(open(bench, kind)[0].starts_with("plate has stopped sending."));
    bench.until_gauge("plate", "live");
    stay(&bench.plate, 7, (20, 500));
    bench.until("it is over", || open(bench, kind).is_empty());
    // Unplugged is another thing than silent, and told as such alone.
    stay(&bench.plate, 7, (20, 4000));
    bench.until("it is said again", || !open(bench, kind).is_empty());
    let mut bench = shop.bench;
    bench.plate.unplug();
    bench.until_gauge("plate", "lost");
    bench.until("the line is told of", || !open(&bench, "gauge-lost").is_empty());
    assert_eq!((open(&bench, kind).len(), raised(&bench, kind)), (0, 2));
}
