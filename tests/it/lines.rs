//! Serial lines that misbehave: unplugged, missing, in use, denied, noisy, stuck. Every frame is counted, and
//! no damaged one becomes a reading.

use std::time::{Duration, Instant};

use rustix::fs::{FlockOperation, flock};
use serde_json::Value;

use crate::rig::{Bench, Gauge, Make, as_nobody, skipped};

const GAUGE: &str = "unit = \"in\"\nresolution = \"0.00001 in\"\nuncertainty = \"0.0000084 in\"\n\
                     repeat_ms = 0\nmax_rate = 0";

/// A second gauge, which says its unit.
const OTHER: &str = r#"
[[gauge]]
name = "other"
kind = "indicator"
port = "{dir}/other"
profile = "value-unit"
unit = "in"
resolution = "0.00001 in"
repeat_ms = 0
max_rate = 0
"#;

fn plan(gauge: &str) -> String {
    format!(
        "name = \"held\"\nunit = \"in\"\n[[part]]\nname = \"ring\"\nkind = \"spacer\"\n\
         [[part.check]]\nname = \"face\"\nmeasures = \"parallelism\"\ngauge = \"{gauge}\"\n\
         setup = \"plate\"\nmoves = \"stand\"\npositions = 8\nradius = \"1.5 in\"\n\
         tolerance = \"0.0001 in\"\nclosure = false\n"
    )
}

const TOUCHES: [&str; 8] = [
    "+0.00000", "+0.00001", "+0.00002", "+0.00002", "+0.00001", "+0.00003", "+0.00002", "+0.00001",
];

fn open(bench: &Bench) {
    bench.ok(&["job", "open", "s1", "--plan", "held"]);
    bench.ok(&["measure", "ring/face"]);
}

/// One gauge, a check active on it.
fn measuring(gauge: &str) -> Bench {
    let mut bench = Bench::new(&Make { gauge, more: "", plan: &plan("plate") });
    bench.start();
    open(&bench);
    bench
}

fn next_position(bench: &Bench) -> Value {
    bench.heard().unwrap()["stations"][0]["next_position"].clone()
}

fn open_alerts(bench: &Bench, kind: &str) -> Vec<Value> {
    let alerts = bench.lines(&["alerts", "--all"]);
    alerts.into_iter().filter(|one| one["kind"] == kind && one["cleared_at"].is_null()).collect()
}

fn counted(bench: &Bench, name: &str, kind: &str) -> u64 {
    bench.gauge(name)[kind].as_u64().unwrap()
}

#[test]
fn unplugged_in_the_middle_of_a_series_it_goes_on_where_it_was() {
    let mut bench = Bench::new(&Make { gauge: GAUGE, more: OTHER, plan: &plan("plate") });
    let other = Gauge::plugged(bench.path("other"));
    bench.start();
    open(&bench);
    bench.touches(&bench.plate, "plate", &TOUCHES[..3]);
    for pulled in 1..=2 {
        bench.plate.unplug();
        bench.until_gauge("plate", "lost");
        let plate = bench.gauge("plate");
        assert!(plate["why"].as_str().unwrap().contains("plug"), "{plate}");
        let alerts = open_alerts(&bench, "gauge-lost");
        assert_eq!(alerts.len(), 1, "{alerts:?}");
        assert_eq!(alerts[0]["gauge"], "plate");
        assert_eq!(bench.run(&["status"]).status.code(), Some(1));
        assert_eq!(next_position(&bench), 3 + 2 * (pulled - 1));
        // The other gauge does not notice.
        let before = counted(&bench, "other", "taken");
        bench.touches(&other, "other", &["+0.00100 in"]);
        assert_eq!(counted(&bench, "other", "taken"), before + 1);
        assert_eq!(bench.gauge_state("other"), "live");
        bench.plate.plug();
        bench.until_gauge("plate", "live");
        bench.until("the alert is over", || open_alerts(&bench, "gauge-lost").is_empty());
        let from = 3 + 2 * (pulled - 1);
        bench.touches(&bench.plate, "plate", &TOUCHES[from..from + 2]);
    }
    bench.touches(&bench.plate, "plate", &TOUCHES[7..]);
    let verdict = bench.verdict("s1", 1);
    assert_eq!((&verdict["value"], &verdict["verdict"]), (&"0.00003".into(), &"conforms".into()));
    let placed = bench.placed("s1");
    let sent: Vec<_> = placed.iter().map(|one| one["as_sent"].as_str().unwrap()).collect();
    assert_eq!(sent, TOUCHES);
    bench.balanced();
    bench.ok(&["verify"]);
}

#[test]
fn a_line_cut_by_the_unplugging_is_no_reading() {
    let mut bench = measuring(GAUGE);
    bench.touches(&bench.plate, "plate", &TOUCHES[..2]);
    bench.plate.send("+0.000");
    std::thread::sleep(Duration::from_millis(20));
    bench.plate.unplug();
    bench.until_gauge("plate", "lost");
    bench.plate.plug();
    // It is sending while it is plugged in: the first line may lack its beginning.
    bench.plate.send("12\r");
    bench.until_gauge("plate", "live");
    bench.touches(&bench.plate, "plate", &TOUCHES[2..]);
    let verdict = bench.verdict("s1", 1);
    assert_eq!(verdict["value"], "0.00003", "{verdict}");
    assert_eq!(bench.readings("s1").len(), 8);
    bench.balanced();
}

#[test]
fn a_port_that_is_not_there_yet_is_waited_for() {
    let mut bench = Bench::new(&Make { gauge: GAUGE, more: OTHER, plan: &plan("plate") });
    let mut other = Gauge::plugged(bench.path("other"));
    other.unplug();
    bench.launch();
    bench.until_gauge("plate", "live");
    bench.until("missed", || {
        let line = bench.gauge("other");
        line["state"] == "absent" && line["why"].as_str().unwrap().contains("not there")
    });
    open(&bench);
    bench.touches(&bench.plate, "plate", &TOUCHES);
    assert_eq!(bench.verdict("s1", 1)["verdict"], "conforms");
    other.plug();
    bench.until_gauge("other", "live");
    bench.touches(&other, "other", &["+0.00100 in"]);
    assert_eq!(counted(&bench, "other", "taken"), 1);
    assert!(open_alerts(&bench, "gauge-lost").is_empty());
}

#[test]
fn a_port_that_another_program_holds_is_refused_with_its_name() {
    let mut bench = Bench::new(&Make { gauge: GAUGE, more: OTHER, plan: &plan("plate") });
    let other = Gauge::plugged(bench.path("other"));
    flock(other.port(), FlockOperation::NonBlockingLockExclusive).unwrap();
    bench.launch();
    bench.until_gauge("other", "refused");
    let why = bench.gauge("other")["why"].as_str().unwrap().to_owned();
    let own = format!("process {}", std::process::id());
    assert!(why.contains("in use by") && why.contains(&own), "{why}");
    assert!(why.contains(&*bench.path("other").to_string_lossy()), "{why}");
    // The first gauge works meanwhile.
    bench.until_gauge("plate", "live");
    open(&bench);
    bench.touches(&bench.plate, "plate", &TOUCHES);
    assert_eq!(bench.verdict("s1", 1)["verdict"], "conforms");
    let told = String::from_utf8(bench.run(&["status"]).stdout).unwrap();
    assert!(told.contains("in use by"), "{told}");
    flock(other.port(), FlockOperation::Unlock).unwrap();
    bench.until_gauge("other", "live");
}

#[test]
fn a_port_that_may_not_be_opened_is_refused_with_what_to_do() {
    let mut bench = Bench::new(&Make { gauge: GAUGE, more: "", plan: &plan("plate") });
    let Some(serve) = as_nobody(&bench, &["serve"]) else {
        return skipped("a port that may not be opened", "root opens everything, no setpriv here");
    };
    let mode = std::os::unix::fs::PermissionsExt::from_mode(0o000);
    std::fs::set_permissions(bench.path("plate"), mode).unwrap();
    bench.launch_as(serve);
    bench.until_up();
    bench.until_gauge("plate", "refused");
    let why = bench.gauge("plate")["why"].as_str().unwrap().to_owned();
    assert!(why.contains("permission denied"), "{why}");
    assert!(why.contains("group") || why.contains("udev"), "{why}");
    assert_eq!(open_alerts(&bench, "gauge-lost").len(), 1);
    let mode = std::os::unix::fs::PermissionsExt::from_mode(0o666);
    std::fs::set_permissions(bench.path("plate"), mode).unwrap();
    bench.until_gauge("plate", "live");
}

/// After whatever came, the next good touch is a reading at the next position.
fn still_hears(bench: &Bench, text: &str, position: u64) {
    assert_eq!(next_position(bench), position);
    bench.touches(&bench.plate, "plate", &[text]);
    let newest = bench.placed("s1").pop().unwrap();
    assert_eq!((&newest["position"], &newest["as_sent"]), (&position.into(), &text.into()));
    bench.balanced();
}

#[test]
fn damaged_frames_are_counted_and_never_a_reading() {
    let bench = measuring(GAUGE);
    let damaged = [
        "+0.0.0012",
        "+0..00012",
        "+0.000000012",
        "+123456789",
        "+1234.56789",
        "+0.00012+0.00012",
        "+0,00012",
        "0x1.2345",
        "+0.0001O",
        "hello",
        "+.",
        "+",
        "+0.00012 mm",
        "1e-5",
        "NaN",
        "--0.00001",
        "+-0.00001",
        "\u{1b}[2J+0.00001",
        "\u{7}",
    ];
    for (index, text) in damaged.iter().enumerate() {
        let count = u64::try_from(index).unwrap() + 1;
        bench.plate.send(&format!("{text}\r"));
        bench.until(text, || counted(&bench, "plate", "frames") == count);
        let gauge = bench.gauge("plate");
        assert_eq!(gauge["damaged"], count, "{text:?}: {gauge}");
    }
    // What a gauge says instead of a value is no damage, and no reading.
    let foreign = ["-----", "ERR 2", "999999", "+OL", "   "];
    for text in foreign {
        let before = counted(&bench, "plate", "foreign");
        bench.plate.send(&format!("{text}\r"));
        bench.until(text, || counted(&bench, "plate", "foreign") == before + 1);
    }
    // Other places than the resolution has: kept and suspect, not placed.
    bench.touches(&bench.plate, "plate", &["+0.0001", "+0.000012"]);
    let readings = bench.readings("s1");
    assert_eq!(readings.len(), 2, "{readings:?}");
    for reading in &readings {
        assert_eq!((&reading["state"], &reading["position"]), (&"suspect".into(), &Value::Null));
    }
    assert_eq!(open_alerts(&bench, "damaged-frames").len(), 1);
    still_hears(&bench, "+0.00001", 0);
    assert!(open_alerts(&bench, "damaged-frames").is_empty());
    // Line ends alone are no frames; a line byte says nothing; CR LF is one end.
    let before = counted(&bench, "plate", "frames");
    bench.plate.send("\r\n\r\r\n\n\0\0\0\u{11}\u{13}");
    bench.plate.send("\x00\x00+0.00\x00002\x00\r\n");
    bench.until("the frame", || counted(&bench, "plate", "frames") > before);
    assert_eq!(counted(&bench, "plate", "frames"), before + 1);
    still_hears(&bench, "+0.00003", 2);
}

#[test]
fn a_flood_of_bytes_is_counted_and_over() {
    let bench = measuring(GAUGE);
    bench.touches(&bench.plate, "plate", &TOUCHES[..1]);
    // A megabyte without an end: one frame, too long.
    let chunk = vec![b'7'; 1 << 14];
    for _ in 0..64 {
        bench.plate.send_all(&chunk);
    }
    bench.until("counted once", || counted(&bench, "plate", "damaged") == 1);
    bench.plate.send("\r");
    still_hears(&bench, TOUCHES[1], 1);
    assert_eq!(counted(&bench, "plate", "damaged"), 1);
    // Nothing but NUL.
    for _ in 0..16 {
        bench.plate.send_all(&[0; 1 << 14]);
    }
    still_hears(&bench, TOUCHES[2], 2);
    // Seven bits with parity read as eight: high bits everywhere.
    let before = counted(&bench, "plate", "frames");
    let line: Vec<u8> =
        b"+0.00012\r".iter().map(|byte| if *byte == b'\r' { *byte } else { byte | 0x80 }).collect();
    for _ in 0..2000 {
        bench.plate.send_all(&line);
    }
    bench.until("all counted", || counted(&bench, "plate", "frames") == before + 2000);
    assert_eq!(counted(&bench, "plate", "damaged"), 1 + 2000);
    still_hears(&bench, TOUCHES[3], 3);
    // Every byte there is, in every order of a simple walk.
    let noise: Vec<u8> = (0..200_000_u32)
        .map(|at| (at.wrapping_mul(2_654_435_761) >> 23).to_le_bytes()[0])
        .collect();
    bench.plate.send_all(&noise);
    bench.plate.send("\r");
    let settled = || {
        let before = counted(&bench, "plate", "frames");
        std::thread::sleep(Duration::from_millis(100));
        before == counted(&bench, "plate", "frames")
    };
    bench.until("the noise is over", settled);
    still_hears(&bench, TOUCHES[4], 4);
    assert_eq!(bench.placed("s1").len(), 5);
    assert!(open_alerts(&bench, "damaged-frames").len() <= 1);
}

#[test]
fn a_value_in_another_unit_is_suspect_and_the_position_stays_open() {
    let mut bench = Bench::new(&Make { gauge: GAUGE, more: OTHER, plan: &plan("other") });
    let other = Gauge::plugged(bench.path("other"));
    bench.start();
    open(&bench);
    bench.touches(&other, "other", &["+0.00001 in", "+0.0003 mm"]);
    assert_eq!(next_position(&bench), 1);
    let newest = bench.readings("s1").pop().unwrap();
    assert_eq!((&newest["state"], &newest["unit"]), (&"suspect".into(), &"mm".into()));
    assert_eq!((&newest["value"], &newest["position"]), (&"0.0003".into(), &Value::Null));
    let alerts = open_alerts(&bench, "unit-mixed");
    assert_eq!(alerts.len(), 1);
    assert_eq!(alerts[0]["level"], "interrupt");
    bench.touches(&other, "other", &["+0.00002 in"]);
    assert_eq!(next_position(&bench), 2);
    assert!(open_alerts(&bench, "unit-mixed").is_empty());
    bench.touches(&other, "other", &["1.23450 kg", "+1. in"]);
    assert_eq!(counted(&bench, "other", "damaged"), 2);
    bench.balanced();
}

#[test]
fn a_stuck_button_is_muted_with_one_alert_until_it_stops() {
    let bench = measuring(&GAUGE.replace("max_rate = 0", "max_rate = 5"));
    bench.ok(&["measure", "--stop"]);
    let start = Instant::now();
    let mut sent = 0;
    while counted(&bench, "plate", "muted") < 10 {
        assert!(start.elapsed() < Duration::from_secs(40), "{}", bench.gauge("plate"));
        bench.plate.send("+0.00001\r");
        sent += 1;
        std::thread::sleep(Duration::from_millis(40));
    }
    assert!(start.elapsed() > Duration::from_secs(3), "muted too soon");
    bench.until("all counted", || counted(&bench, "plate", "frames") == sent);
    assert_eq!(open_alerts(&bench, "flooding").len(), 1);
    let all = bench.lines(&["alerts", "--all"]);
    assert_eq!(all.iter().filter(|one| one["kind"] == "flooding").count(), 1);
    let kept = bench.lines(&["readings", "--state", "unclaimed"]).len() as u64;
    assert_eq!(kept, counted(&bench, "plate", "taken"), "what is muted is no reading");
    // After a calm it is heard again.
    std::thread::sleep(Duration::from_millis(3300));
    bench.touches(&bench.plate, "plate", &["+0.00002"]);
    assert_eq!(counted(&bench, "plate", "taken"), kept + 1);
    assert!(open_alerts(&bench, "flooding").is_empty());
    bench.balanced();
}

#[test]
fn a_press_that_is_sent_twice_counts_once() {
    let bench = measuring(&GAUGE.replace("repeat_ms = 0", "repeat_ms = 10000"));
    // Within two resolutions: the same press. Three away: another touch.
    bench.touches(&bench.plate, "plate", &["+0.00001", "+0.00001", "+0.00003", "+0.00004"]);
    let states: Vec<_> =
        bench.readings("s1").iter().map(|one| one["state"].as_str().unwrap().to_owned()).collect();
    assert_eq!(states, ["placed", "repeat", "repeat", "placed"]);
    assert_eq!(next_position(&bench), 2);
    assert_eq!((counted(&bench, "plate", "taken"), counted(&bench, "plate", "repeats")), (2, 2));
    bench.balanced();
}
