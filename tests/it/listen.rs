//! `gauge list` and `gauge listen` over pseudo-terminals, which have no speed of their own.

use std::process::{Child, Stdio};
use std::time::Duration;

use rustix::fs::{FlockOperation, flock};
use serde_json::Value;

use crate::rig::{Bench, Gauge, Make, RING_PLAN};

const GAUGE: &str = "unit = \"in\"\nresolution = \"0.00001 in\"";

fn bench() -> Bench {
    Bench::new(&Make { gauge: GAUGE, more: "", plan: RING_PLAN })
}

/// Listens while a gauge sends frames a while apart; the exit code, standard output and error.
fn listened(bench: &Bench, gauge: &Gauge, frames: &[&[u8]]) -> (i32, String, String) {
    let port = bench.path("other");
    let listen = ["gauge", "listen", port.to_str().unwrap(), "--seconds", "1"];
    heard(
        bench.command(&listen).stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap(),
        gauge,
        frames,
    )
}

fn heard(child: Child, gauge: &Gauge, frames: &[&[u8]]) -> (i32, String, String) {
    // Bytes wait in the line until they are listened to; the first are sent to a port that is open.
    std::thread::sleep(Duration::from_millis(300));
    for frame in frames {
        gauge.send_bytes(frame);
        std::thread::sleep(Duration::from_millis(80));
    }
    let output = child.wait_with_output().unwrap();
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
    (output.status.code().unwrap(), text(output.stdout), text(output.stderr))
}

/// The proposal as TOML, which it has to be.
fn proposed(out: &str) -> toml::Table {
    out.parse().unwrap_or_else(|error| panic!("{error}\n{out}"))
}

#[test]
fn a_gauge_is_heard_out_and_its_lines_proposed() {
    let bench = bench();
    let gauge = Gauge::plugged(bench.path("other"));
    let frames: [&[u8]; 4] =
        [b"   1.23450 in \r\n", b"-  0.00010 in\r\n", b"1.23455 in\r\n", b"LB\r\n"];
    let (exit, out, err) = listened(&bench, &gauge, &frames);
    assert_eq!(exit, 0, "{out}{err}");
    let proposed = proposed(&out);
    let lines = &proposed["gauge"].as_array().unwrap()[0];
    assert_eq!(lines["profile"].as_str(), Some("value-unit"), "{out}");
    assert_eq!(lines["unit"].as_str(), Some("in"));
    assert_eq!(lines["resolution"].as_str(), Some("0.00001 in"));
    assert_eq!(lines["baud"].as_integer(), Some(9600));
    assert!(err.contains("nothing is sent"), "{err}");
    // Put in bench.toml as they are, they work.
    let path = bench.path("bench.toml");
    let before = std::fs::read_to_string(&path).unwrap();
    std::fs::write(&path, before + &out).unwrap();
    let told = String::from_utf8(bench.run(&["config", "check"]).stdout).unwrap();
    assert!(!told.contains("bench.toml:") || !told.contains("error: gauge"), "{told}");
    assert!(!told.contains("gauge \"new\""), "{told}");
}

#[test]
fn seven_bits_and_parity_are_told_and_an_unsaid_unit_is_left_open() {
    let bench = bench();
    let gauge = Gauge::plugged(bench.path("other"));
    let even = |text: &str| -> Vec<u8> {
        text.bytes().map(|byte| byte | u8::try_from(byte.count_ones() % 2).unwrap() << 7).collect()
    };
    let frames = ["+0.00012\r", "-0.00307\r", "+0.01125\r"].map(even);
    let frames: Vec<&[u8]> = frames.iter().map(Vec::as_slice).collect();
    let (exit, out, err) = listened(&bench, &gauge, &frames);
    assert_eq!(exit, 0, "{out}{err}");
    let proposed = proposed(&out);
    let lines = &proposed["gauge"].as_array().unwrap()[0];
    assert_eq!(
        (lines["data_bits"].as_integer(), lines["parity"].as_str()),
        (Some(7), Some("even"))
    );
    assert_eq!(
        (lines["profile"].as_str(), lines["unit"].as_str()),
        (Some("signed-decimal"), Some("?"))
    );
}

#[test]
fn it_says_why_it_cannot_tell() {
    let bench = bench();
    let gauge = Gauge::plugged(bench.path("other"));
    let (exit, out, _) = listened(&bench, &gauge, &[]);
    assert_eq!((exit, out.contains("nothing came at any speed")), (1, true), "{out}");
    let noise: Vec<u8> =
        (0..400_u32).map(|at| (at.wrapping_mul(2_654_435_761) >> 23).to_le_bytes()[0]).collect();
    let (exit, out, _) = listened(&bench, &gauge, &[&noise]);
    assert_eq!((exit, out.contains("no profile reads them at any speed")), (1, true), "{out}");
    // Nothing was ever sent to the gauge.
    assert_eq!(gauge.received(), b"");
}

#[test]
fn ports_in_use_or_missing_are_refused_with_what_to_do() {
    let bench = bench();
    let gauge = Gauge::plugged(bench.path("other"));
    let path = bench.path("other").to_string_lossy().into_owned();
    flock(gauge.port(), FlockOperation::NonBlockingLockExclusive).unwrap();
    let told = bench.refused(2, &["gauge", "listen", &path]);
    assert!(told.contains("is in use by") && told.contains("hint: "), "{told}");
    let told = bench.refused(2, &["gauge", "listen", "/dev/serial/by-id/none"]);
    assert!(told.contains("is not there"), "{told}");
    let told = bench.refused(2, &["gauge", "listen", "/dev/null"]);
    assert!(told.contains("is no serial port"), "{told}");
}

#[test]
fn the_list_names_the_gauge_on_a_port_and_who_holds_it() {
    let mut bench = Bench::new(&Make { gauge: GAUGE, more: "", plan: RING_PLAN });
    bench.start();
    let ports = bench.lines(&["gauge", "list"]);
    let plate = bench.path("plate").canonicalize().unwrap();
    let line = ports.iter().find(|line| line["device"] == plate.to_str().unwrap());
    let line: &Value = line.unwrap_or_else(|| panic!("{ports:?}"));
    assert_eq!((&line["schema"], &line["gauges"][0]), (&"port/1".into(), &"plate".into()));
    assert_eq!(line["may_open"], true);
    let holder = line["held_by"].as_str().unwrap();
    assert!(holder.contains("process"), "{holder}");
    let table = bench.ok(&["gauge", "list"]);
    assert!(table.contains("plate") && table.contains("held by"), "{table}");
}
