//! Whole series through the real program over a pseudo-terminal. The readings are invented; the
//! expected figures come from an independent program (exact fractions where it decides).

use std::time::Duration;

use serde_json::{Value, json};

use crate::rig::{Bench, Make};

/// The set-up of these series: 0.00001 in readout, s 0.000006 in, a lapped plate.
const PLATE: &str = "unit = \"in\"\nresolution = \"0.00001 in\"\nuncertainty = \"0.0000084 in\"\n\
                     repeatability = \"0.000006 in\"\nrepeat_ms = 0\nmax_rate = 0";

fn plan(check: &str) -> String {
    format!(
        "name = \"held\"\nunit = \"in\"\n[[part]]\nname = \"ring\"\nkind = \"spacer\"\n\
         [[part.check]]\nname = \"face\"\ngauge = \"plate\"\nsetup = \"plate\"\nmoves = \"stand\"\n\
         positions = 8\ntolerance = \"0.0001 in\"\n{check}\n"
    )
}

const PARALLELISM: &str = "measures = \"parallelism\"\nradius = \"1.5 in\"\nclosure = false";

fn started(gauge: &str, check: &str) -> Bench {
    let mut bench = Bench::new(&Make { gauge, more: "", plan: &plan(check) });
    bench.start();
    bench.ok(&["job", "open", "s1", "--plan", "held", "--serial", "SN 7"]);
    bench.ok(&["measure", "ring/face"]);
    bench
}

/// Sends one reading and waits until it is stored, as a person paces the touches.
fn touch(bench: &Bench, text: &str, stored: usize) {
    bench.plate.send(&format!("{text}\r"));
    bench.until("reading", || bench.readings("s1").len() >= stored);
}

fn number(value: &Value) -> f64 {
    value.as_str().map_or_else(|| value.as_f64().unwrap(), |text| text.parse().unwrap())
}

#[test]
fn a_plain_pass() {
    let bench = started(PLATE, &PARALLELISM.replace("false", "true"));
    let touches = [
        "0.00000", "0.00002", "0.00003", "0.00003", "0.00002", "0.00001", "-0.00001", "-0.00001",
        "0.00001",
    ];
    for (index, text) in touches.iter().enumerate() {
        touch(&bench, text, index + 1);
    }
    let verdict = bench.verdict("s1", 1);
    assert_eq!(verdict["verdict"], "conforms", "{verdict}");
    assert_eq!(verdict["value"], "0.00004");
    assert_eq!(verdict["unit"], "in");
    // 2·√(2·8.4² + 10²/3): it came back 0.00001 in off.
    assert!((number(&verdict["uncertainty"]) - 0.000_026_42).abs() < 1e-8, "{verdict}");
    let figures = &verdict["figures"];
    assert!((number(&figures["high_side_deg"]) - 118.68).abs() < 0.01);
    assert!((number(&figures["high_side_u_deg"]) - 22.4).abs() < 0.05);
    assert!((number(&figures["least_squares"]) - 7.2e-6).abs() < 1e-8);
    assert!((number(&figures["tilt"]) - 4.294e-5).abs() < 1e-8);
    assert!((number(&figures["noise_floor"]) - 1.71e-5).abs() < 1e-7);
    assert_eq!(figures["closure"], "0.00001");
    assert_eq!(verdict["reasons"], json!([]));
    bench.balanced();
}

#[test]
fn a_tie_on_a_coarse_readout_is_inside_and_undecided() {
    let gauge = PLATE
        .replace("resolution = \"0.00001 in\"", "resolution = \"0.0001 in\"")
        .replace("0.0000084", "0.0000295");
    let bench = started(&gauge, PARALLELISM);
    let touches = ["1.2345", "1.2345", "1.2346", "1.2346", "1.2346", "1.2345", "1.2345", "1.2345"];
    for (index, text) in touches.iter().enumerate() {
        touch(&bench, text, index + 1);
    }
    let verdict = bench.verdict("s1", 1);
    assert_eq!(verdict["value"], "0.0001");
    assert_eq!(verdict["simple"], "conforms");
    assert_eq!(verdict["guarded"], "undecided");
    assert_eq!(verdict["verdict"], "undecided");
    assert_eq!(verdict["reasons"], json!(["gauge-too-coarse"]));
    assert!((number(&verdict["uncertainty"]) - 8.344e-5).abs() < 1e-8, "{verdict}");
}

#[test]
fn a_bad_touch_is_taken_back_and_a_double_send_is_one_press() {
    let gauge = PLATE.replace("repeat_ms = 0", "repeat_ms = 300");
    let bench = started(&gauge, PARALLELISM);
    let pause = || std::thread::sleep(Duration::from_millis(400));
    for (index, text) in ["0.00001", "0.00002", "0.00002", "0.00142"].iter().enumerate() {
        touch(&bench, text, index + 1);
        pause();
    }
    let alerts = bench.lines(&["alerts", "s1"]);
    assert!(alerts.iter().any(|alert| alert["kind"] == "out-so-far"), "{alerts:?}");
    bench.ok(&["void"]);
    touch(&bench, "0.00001", 5);
    pause();
    bench.plate.send("0.00000\r");
    std::thread::sleep(Duration::from_millis(60));
    bench.plate.send("0.00000\r");
    bench.until("the double", || bench.readings("s1").len() >= 7);
    pause();
    for (index, text) in ["-0.00002", "-0.00001", "0.00000"].iter().enumerate() {
        touch(&bench, text, index + 8);
        pause();
    }
    let verdict = bench.verdict("s1", 1);
    assert_eq!(verdict["verdict"], "conforms", "{verdict}");
    assert_eq!(verdict["value"], "0.00004");
    let readings = bench.readings("s1");
    assert_eq!(readings.len(), 10);
    let count = |state: &str| readings.iter().filter(|one| one["state"] == state).count();
    assert_eq!((count("placed"), count("void"), count("repeat")), (8, 1, 1));
    let gauge = bench.status().unwrap()["gauges"][0].clone();
    assert_eq!((&gauge["taken"], &gauge["repeats"]), (&json!(9), &json!(1)));
    bench.balanced();
}

#[test]
fn two_radii_are_judged_by_the_minimum_zone() {
    let check = "measures = \"flatness\"\nradii = [\"1.2 in\", \"1.8 in\"]\nclosure = false";
    let bench = started(PLATE, check);
    let touches = [
        "0.00002", "-0.00004", "0.00000", "-0.00002", "-0.00001", "-0.00004", "0.00000",
        "-0.00003", "0.00005", "-0.00007", "-0.00001", "-0.00003", "0.00001", "-0.00006",
        "0.00000", "-0.00002",
    ];
    for (index, text) in touches.iter().enumerate() {
        touch(&bench, text, index + 1);
    }
    let verdict = bench.verdict("s1", 1);
    assert!((number(&verdict["value"]) - 9.5e-5).abs() < 1e-8, "{verdict}");
    assert!((number(&verdict["figures"]["least_squares"]) - 1.1482e-4).abs() < 1e-8);
    assert!((number(&verdict["uncertainty"]) - 1.68e-5).abs() < 1e-8);
    assert_eq!(verdict["figures"]["contacts_upper"], json!([8, 12]));
    assert_eq!(verdict["figures"]["contacts_lower"], json!([9, 13]));
    assert_eq!(
        (&verdict["simple"], &verdict["verdict"]),
        (&json!("conforms"), &json!("undecided"))
    );
}

#[test]
fn a_series_stopped_after_five_is_incomplete() {
    let bench = started(PLATE, PARALLELISM);
    for index in 0..5 {
        touch(&bench, "0.00001", index + 1);
    }
    bench.ok(&["measure", "--stop"]);
    let verdict = bench.verdict("s1", 1);
    assert_eq!(verdict["verdict"], "incomplete", "{verdict}");
    assert_eq!((&verdict["taken"], &verdict["positions"]), (&json!(5), &json!(8)));
}
