//! Adapters that type, serial servers on the network, gauges that print a block and gauges asked in a loop, each
//! through the real program.
//!
//! Where the machine has `/dev/uinput` an adapter is a virtual input device, which the service takes for itself;
//! elsewhere its events are played into a pipe that the service reads.

mod adapter;
mod net;

use std::fs;
use std::time::{Duration, Instant};

use serde_json::Value;

use self::adapter::Adapter;
use self::net::Server;
use crate::hands::memory_kib;
use crate::rig::{Bench, Gauge, Make, RING_PLAN};

const PLATE: &str = "unit = \"in\"\nresolution = \"0.00001 in\"";

/// One face, measured with the gauge named here.
fn plan(gauge: &str) -> String {
    RING_PLAN.replace("\"plate\"\nsetup", &format!("\"{gauge}\"\nsetup"))
}

/// Lines for one more gauge.
fn gauge(name: &str, port: &str, more: &str) -> String {
    format!("[[gauge]]\nname = \"{name}\"\nkind = \"indicator\"\nport = \"{port}\"\n{more}\n")
}

/// A bench with one more gauge, and nothing started.
fn bench(port: &str, more: &str) -> Bench {
    let lines = gauge("other", port, more);
    Bench::new(&Make { gauge: PLATE, more: &lines, plan: &plan("other") })
}

const TYPED: &str = "profile = \"signed-decimal\"\nunit = \"in\"\nresolution = \"0.00001 in\"\nrepeat_ms = 0\nmax_rate = 0";

fn measuring(bench: &mut Bench) {
    bench.start();
    bench.until_gauge("other", "live");
    bench.ok(&["job", "open", "s1", "--plan", "held"]);
    bench.ok(&["measure", "ring/face"]);
}

fn sent(bench: &Bench) -> Vec<String> {
    bench.readings("s1").iter().map(|one| one["as_sent"].as_str().unwrap().to_owned()).collect()
}

fn count(bench: &Bench, which: &str) -> u64 {
    bench.gauge("other")[which].as_u64().unwrap()
}

fn why(bench: &Bench) -> String {
    bench.gauge("other")["why"].as_str().unwrap_or_default().to_owned()
}

/// Position 0 to 7, and 0 again.
const TOUCHES: [&str; 9] = [
    "0.00000", "0.00001", "0.00002", "0.00002", "0.00001", "0.00003", "0.00002", "0.00001",
    "-0.00000",
];

#[test]
fn an_adapter_that_types_measures_a_ring() {
    let mut bench = bench("keys:{dir}/keys", TYPED);
    let adapter = Adapter::plugged(&bench.path("keys"));
    measuring(&mut bench);
    for touch in TOUCHES {
        adapter.types(&format!("{touch}\n"));
    }
    let verdict = bench.verdict("s1", 1);
    assert_eq!((&verdict["verdict"], &verdict["value"]), (&"conforms".into(), &"0.00003".into()));
    assert_eq!(sent(&bench), TOUCHES);
    bench.balanced();
    bench.stop();
}

#[test]
fn an_adapter_pulled_in_the_middle_of_a_line_loses_that_line_alone() {
    let mut bench = bench("keys:{dir}/keys", TYPED);
    let mut adapter = Adapter::plugged(&bench.path("keys"));
    measuring(&mut bench);
    adapter.types("0.00001\n");
    bench.until("the first", || sent(&bench).len() == 1);
    adapter.types("0.000");
    std::thread::sleep(Duration::from_millis(100));
    adapter.pull();
    bench.until_gauge("other", "lost");
    assert!(why(&bench).contains("plug the adapter in again"), "{}", why(&bench));
    adapter.plug();
    bench.until_gauge("other", "live");
    // What was typed of the line before is not joined to this one.
    adapter.types("22\n");
    bench.until("it is counted", || count(&bench, "damaged") == 1);
    adapter.types("0.00002\n");
    bench.until("the second", || sent(&bench).len() == 2);
    assert_eq!(sent(&bench), ["0.00001", "0.00002"]);
    bench.balanced();
    bench.stop();
}

#[test]
fn a_keyboard_without_a_point_makes_no_value() {
    let mut bench = bench("keys:{dir}/keys", TYPED);
    let adapter = Adapter::plugged(&bench.path("keys"));
    measuring(&mut bench);
    // A comma; a key that no US keyboard has (KEY_102ND); no point at all; the figures of France, typed with
    // shift.
    adapter.types("0,00012\n");
    adapter.keys(&[11, 86, 11, 11, 2, 28]);
    adapter.types("000012\n!@<#$\n");
    bench.until("all are counted", || count(&bench, "damaged") == 4);
    assert_eq!(sent(&bench), [""; 0]);
    adapter.types("0.00012\n");
    bench.until("the good one", || sent(&bench) == ["0.00012"]);
    bench.balanced();
    bench.stop();
}

#[test]
fn an_adapter_for_a_comma_is_read_by_its_profile_and_heard_out() {
    let mut bench = bench("keys:{dir}/keys", &TYPED.replace("signed-decimal", "decimal-comma"));
    let adapter = Adapter::plugged(&bench.path("keys"));
    let port = format!("keys:{}", bench.path("keys").display());
    let listen = bench.spawn(&["gauge", "listen", &port, "--seconds", "4"]);
    std::thread::sleep(Duration::from_millis(500));
    for text in ["0,00012\n", "-0,00003\n", "0,01125\n"] {
        adapter.types(text);
        std::thread::sleep(Duration::from_millis(60));
    }
    let output = listen.wait_with_output().unwrap();
    let out = String::from_utf8(output.stdout).unwrap();
    assert!(output.status.success(), "{out}{}", String::from_utf8_lossy(&output.stderr));
    let proposed: toml::Table = out.parse().unwrap();
    let lines = &proposed["gauge"].as_array().unwrap()[0];
    assert_eq!(lines["profile"].as_str(), Some("decimal-comma"), "{out}");
    assert!(lines["port"].as_str().unwrap().starts_with("keys:") && !out.contains("baud"), "{out}");
    measuring(&mut bench);
    adapter.types("-0,00012\n");
    bench.until("the reading", || sent(&bench) == ["-0,00012"]);
    assert_eq!(bench.readings("s1")[0]["value"], "-0.00012");
    bench.stop();
}

#[test]
fn a_serial_server_is_lost_and_comes_back_as_a_cable_does() {
    let mut server = Server::new();
    let mut bench = bench(&server.port(), TYPED);
    bench.start();
    let line = server.accepted();
    bench.until_gauge("other", "live");
    bench.ok(&["job", "open", "s1", "--plan", "held"]);
    bench.ok(&["measure", "ring/face"]);
    line.send(b"+0.00001\r+0.000");
    bench.until("the first", || sent(&bench).len() == 1);
    // The connection ends in the middle of a line.
    drop(line);
    bench.until_gauge("other", "lost");
    assert!(why(&bench).contains("is its cable in?"), "{}", why(&bench));
    let line = server.accepted();
    bench.until_gauge("other", "live");
    line.send(b"22\r+0.00002\r");
    bench.until("the second", || sent(&bench).len() == 2);
    assert_eq!(sent(&bench), ["+0.00001", "+0.00002"]);
    assert_eq!((count(&bench, "damaged"), count(&bench, "taken")), (1, 2));
    let doctor = String::from_utf8(bench.run(&["doctor"]).stdout).unwrap();
    assert!(doctor.contains(&format!("{} of other, connected", server.port())), "{doctor}");
    let ports = bench.lines(&["gauge", "list"]);
    let listed = ports.iter().find(|line| line["port"] == server.port().as_str()).unwrap();
    assert_eq!((&listed["way"], &listed["gauges"][0]), (&"network".into(), &"other".into()));
    bench.balanced();
    bench.stop();
}

#[test]
fn ten_megabytes_without_a_line_end_are_one_damaged_frame() {
    let mut server = Server::new();
    let mut bench = bench(&server.port(), TYPED);
    bench.start();
    let line = server.accepted();
    bench.until_gauge("other", "live");
    bench.ok(&["job", "open", "s1", "--plan", "held"]);
    bench.ok(&["measure", "ring/face"]);
    let before = memory_kib(&bench);
    line.send(&vec![b'7'; 10_000_000]);
    line.send(b"\r+0.00002\r");
    bench.until("the reading behind it", || sent(&bench) == ["+0.00002"]);
    let grown = memory_kib(&bench).saturating_sub(before);
    assert!(grown < 8_000, "{grown} KiB");
    assert_eq!(count(&bench, "damaged"), 1);
    bench.balanced();
    bench.stop();
}

#[test]
fn a_server_that_ends_each_connection_at_once_is_told_and_not_hammered() {
    let mut server = Server::new();
    let mut bench = bench(&server.port(), TYPED);
    bench.launch();
    let began = Instant::now();
    drop(server.accepted());
    bench.until_up();
    bench.until("it is told", || why(&bench).contains("ends it at once"));
    let mut connected = 1;
    while began.elapsed() < Duration::from_secs(8) {
        connected += usize::from(server.accepted_within(Duration::from_millis(200)).is_some());
    }
    assert!((2..=5).contains(&connected), "{connected} connections in eight seconds");
    assert_eq!(bench.gauge_state("other"), "absent");
    // One alert, however often it is tried.
    let alerts = bench.lines(&["alerts", "--all"]);
    let lost = alerts.iter().filter(|one| one["gauge"] == "other").count();
    assert!(lost <= 1, "{alerts:?}");
    bench.stop();
}

#[test]
fn a_host_without_an_address_and_one_that_refuses_are_told_apart() {
    let server = Server::new();
    let closed = server.port();
    drop(server);
    for (port, words) in [
        ("tcp:gauges.invalid:4001", "no address is known for gauges.invalid"),
        (closed.as_str(), "refuses the connection"),
    ] {
        let mut bench = bench(port, TYPED);
        let wrong = String::from_utf8(bench.run(&["doctor"]).stdout).unwrap();
        assert!(wrong.contains(words), "{wrong}");
        let told = bench.refused(2, &["gauge", "listen", port]);
        assert!(told.contains(words), "{told}");
        bench.launch();
        bench.until_up();
        bench.until(words, || why(&bench).contains(words));
        assert_eq!(bench.gauge_state("other"), "absent");
        // The other gauge is heard as if nothing were amiss, and the end is not held up.
        bench.until_gauge("plate", "live");
        let began = Instant::now();
        bench.stop();
        assert!(began.elapsed() < Duration::from_secs(5), "{:?}", began.elapsed());
    }
}

#[test]
fn a_gauge_on_the_network_is_added_by_being_heard() {
    let mut server = Server::new();
    let bench = Bench::new(&Make { gauge: PLATE, more: "", plan: RING_PLAN });
    let port = server.port();
    let add = bench.spawn(&["gauge", "add", &port, "--gauge", "far", "--gauge-unit", "in"]);
    let line = server.accepted();
    for frame in ["+0.00012\r", "-0.00003\r", "+0.00125\r"] {
        std::thread::sleep(Duration::from_millis(450));
        line.send(frame.as_bytes());
    }
    let output = add.wait_with_output().unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    let text = fs::read_to_string(bench.path("bench.toml")).unwrap();
    assert!(text.contains(&format!("port = \"{port}\"")), "{text}");
    let told = String::from_utf8(bench.run(&["config", "check"]).stdout).unwrap();
    assert!(!told.contains("error:"), "{told}");
    assert_eq!(line.received(), b"", "nothing was sent");
}

const BLOCK: &str = "profile = \"height-block\"\nunit = \"mm\"\nresolution = \"0.0001 mm\"";

#[test]
fn a_block_of_lines_is_one_reading_and_one_without_its_value_is_none() {
    let lines = gauge("height", "{dir}/height", BLOCK).replace("indicator", "height");
    let plan = "name = \"held\"\nunit = \"mm\"\n[[part]]\nname = \"ring\"\nkind = \"spacer\"\n[[part.check]]\nname = \"face\"\n\
                measures = \"length\"\ngauge = \"height\"\nsetup = \"plate\"\npositions = 2\nmin = \"25 mm\"\nmax = \"26 mm\"\n\
                master = \"none\"\nradius = \"30 mm\"\n";
    let mut bench = Bench::new(&Make { gauge: PLATE, more: &lines, plan });
    let height = Gauge::plugged(bench.path("height"));
    bench.start();
    bench.until_gauge("height", "live");
    bench.ok(&["job", "open", "s1", "--plan", "held"]);
    bench.ok(&["measure", "ring/face"]);
    let gauge = |which: &str| bench.gauge("height")[which].as_u64().unwrap();
    height.send("No. 1\r\nT = 20.4 C\r\n====\r\n");
    bench.until("the block without a value", || gauge("damaged") == 1);
    assert_eq!(sent(&bench), [""; 0]);
    height.send("No. 2\r\nFACE UP\r\nH = +25.4012 mm\r\nT = 20.4 C\r\n====\r\n");
    bench.until("the reading", || sent(&bench) == ["H = +25.4012 mm"]);
    assert_eq!(bench.readings("s1")[0]["value"], "25.4012");
    // Cut off in the middle: half a block does not wait for the next one.
    height.send("No. 3\r\nH = +25.4013 mm\r\n");
    bench.until("the half block", || gauge("damaged") == 2);
    assert_eq!(gauge("frames"), 3);
    bench.balanced();
    bench.stop();
}

/// A gauge that answers a question mark.
const ASKED: &str = r#"about = "asked by a question mark"
frames = "line"
value = "decimal"
pattern = '(?<sign>[+-])(?<digits>[0-9]+\.[0-9]+)'
[ask]
send = "?\r"
timeout_ms = 100
"#;

/// A bench whose other gauge is asked in a loop over the network.
fn looped(server: &Server) -> Bench {
    let more = "profile = \"asked\"\nunit = \"in\"\nresolution = \"0.00001 in\"\ncapture = \"settle\"\n\
                travel = [\"-0.010 in\", \"0.010 in\"]\nrest = \"-0.0080 in\"\nask_every_ms = 40";
    let bench = bench(&server.port(), more);
    fs::create_dir(bench.path("profiles")).unwrap();
    fs::write(bench.path("profiles/asked.toml"), ASKED).unwrap();
    let path = bench.path("bench.toml");
    let text = fs::read_to_string(&path).unwrap();
    let own = |line: &str| line.starts_with("profiles = ");
    let lines = text.lines().map(|line| if own(line) { "profiles = \"profiles\"" } else { line });
    fs::write(&path, lines.collect::<Vec<_>>().join("\n")).unwrap();
    bench
}

fn open_alerts(bench: &Bench, kind: &str) -> Vec<Value> {
    let alerts = bench.lines(&["alerts", "--all"]);
    let is_open = |one: &Value| one["kind"] == kind && one["cleared_at"].is_null();
    alerts.into_iter().filter(is_open).collect()
}

#[test]
fn a_gauge_asked_in_a_loop_settles_like_a_stream() {
    let mut server = Server::new();
    let mut bench = looped(&server);
    bench.start();
    let line = server.accepted().answering("+0.00000\r");
    bench.until_gauge("other", "live");
    // While nobody waits it is asked about once a second, not every 40 ms.
    let before = line.asked();
    std::thread::sleep(Duration::from_secs(3));
    assert!((2..=5).contains(&(line.asked() - before)), "{} questions", line.asked() - before);
    bench.ok(&["job", "open", "s1", "--plan", "held"]);
    bench.ok(&["measure", "ring/face"]);
    for (lift, touch) in [("-0.00800\r", "+0.00003\r"), ("-0.00800\r", "+0.00004\r")] {
        let placed = bench.placed("s1").len();
        line.answers(lift);
        std::thread::sleep(Duration::from_millis(500));
        line.answers(touch);
        bench.until("the touch", || bench.placed("s1").len() > placed);
    }
    let values: Vec<Value> = bench.placed("s1").iter().map(|one| one["value"].clone()).collect();
    assert_eq!(values, ["0.00003", "0.00004"]);
    // Switched off: told once. Switched on again: over.
    line.answers("");
    bench.until("it is missed", || open_alerts(&bench, "stream-stopped").len() == 1);
    let alert = &open_alerts(&bench, "stream-stopped")[0];
    assert!(
        alert["text"].as_str().unwrap().contains("does not answer when it is asked"),
        "{alert}"
    );
    line.answers("+0.00004\r");
    bench.until("it is back", || open_alerts(&bench, "stream-stopped").is_empty());
    bench.balanced();
    bench.stop();
}

#[test]
fn a_gauge_that_has_to_be_asked_is_heard_out_by_its_question() {
    let mut server = Server::new();
    let bench = looped(&server);
    let port = server.port();
    let listen = bench.spawn(&["gauge", "listen", &port, "--ask", "asked", "--seconds", "6"]);
    let line = server.accepted().answering("+0.00012\r");
    let output = listen.wait_with_output().unwrap();
    let (out, err) =
        (String::from_utf8(output.stdout).unwrap(), String::from_utf8(output.stderr).unwrap());
    assert!(output.status.success(), "{out}{err}");
    assert!(out.contains("capture = \"request\"") && err.contains("question"), "{out}{err}");
    assert!(line.asked() >= 3);
    let told = bench.refused(2, &["gauge", "listen", &port, "--ask", "signed-decimal"]);
    assert!(told.contains("does not say how a gauge is asked"), "{told}");
}
