//! The parts of a ±, through the real program: what averages and what does not, how far a ring came back
//! different, and noise that must not fail a part. Readings are invented, in millionths of an inch; expected
//! figures are worked out by hand beside them.

use std::fmt::Write;

use serde_json::{Value, json};

use crate::rig::{Bench, Make};

/// 0.00001 in readout, s 0.000006 in, all in 0.0000084 in.
const STATED: &str = "unit = \"in\"\nresolution = \"0.00001 in\"\nuncertainty = \"0.0000084 in\"\n\
                      repeatability = \"0.000006 in\"\nrepeat_ms = 0\nmax_rate = 0";
const UNSTATED: &str = "unit = \"in\"\nresolution = \"0.00001 in\"\nrepeat_ms = 0\nmax_rate = 0";
const FACE: &str = "measures = \"parallelism\"\nsetup = \"plate\"\nmoves = \"ring\"\n\
                    radius = \"1.5 in\"\npositions = 8";
const RING: [i32; 8] = [0, 30, 50, 40, 20, -10, -20, 0];

fn started(gauge: &str, keys: &str) -> Bench {
    let mut plan = "name = \"held\"\nunit = \"in\"\n[[part]]\nname = \"ring\"\nkind = \"spacer\"\n\
                    [[part.check]]\nname = \"face\"\ngauge = \"plate\"\n"
        .to_owned();
    writeln!(plan, "{keys}").unwrap();
    let mut bench = Bench::new(&Make { gauge, more: "", plan: &plan });
    bench.start();
    bench.ok(&["job", "open", "s1", "--plan", "held"]);
    bench.ok(&["measure", "ring/face"]);
    bench
}

fn key_in(bench: &Bench, readings: &[i32]) {
    let text = |reading: &i32| {
        let sign = if *reading < 0 { "-" } else { "" };
        format!("{sign}0.{:05}", reading.abs() / 10)
    };
    let texts: Vec<String> = readings.iter().map(text).collect();
    let mut arguments = vec!["enter"];
    arguments.extend(texts.iter().map(String::as_str));
    bench.ok(&arguments);
}

fn enter(bench: &Bench, readings: &[i32]) -> Value {
    key_in(bench, readings);
    newest(bench)
}

fn newest(bench: &Bench) -> Value {
    bench.lines(&["verdicts", "s1"]).last().cloned().unwrap_or_default()
}

/// U in millionths, to a tenth.
fn spread(verdict: &Value) -> f64 {
    let inches: f64 = verdict["uncertainty"].as_str().unwrap().parse().unwrap();
    (inches * 1e7).round() / 10.0
}

fn alerts(bench: &Bench, key: &str, value: &str) -> usize {
    let all = bench.lines(&["alerts", "s1", "--all"]);
    all.iter().filter(|alert| alert[key] == value).count()
}

#[test]
fn three_tries_shrink_the_scatter_and_nothing_else() {
    let bench = started(STATED, &format!("{FACE}\nclosure = false\ntolerance = \"0.0001 in\""));
    let first = enter(&bench, &RING);
    assert_eq!((spread(&first), &first["k"]), (23.8, &json!(2.0)));
    for _ in 0..2 {
        bench.ok(&["remeasure", "again"]);
        enter(&bench, &RING);
    }
    // 2·√(2·(36/3 + 8.4² − 36)) = 19.3.
    let third = newest(&bench);
    assert_eq!((spread(&third), &third["tries"]), (19.3, &json!(3)));
    assert_eq!(third["uncertainty_from"], "stated");
    bench.ok(&["verify"]);
}

#[test]
fn a_gauge_of_which_nothing_is_stated_is_assumed_to_be_poor() {
    let bench = started(UNSTATED, &format!("{FACE}\nclosure = false\ntolerance = \"0.0001 in\""));
    // s 12 known to 25 %, plate 10/√3: 2.23·√(2·144 + 2·100/3) = 42.0, degrees of freedom 12.
    let verdict = enter(&bench, &RING);
    assert_eq!((spread(&verdict), &verdict["k"]), (42.0, &json!(2.23)));
    assert_eq!(verdict["uncertainty_from"], "assumed");
    assert_eq!(verdict["verdict"], "undecided", "70 is over 100 − 42");
    bench.ok(&["verify"]);
}

#[test]
fn a_drift_that_asks_nobody_counts_all_the_same() {
    let bench = started(STATED, &format!("{FACE}\ntolerance = \"0.0005 in\""));
    let verdict = enter(&bench, &[250, 280, 160, -40, -190, -190, -40, 190, 370]);
    // 2·√(2·8.4² + 120²/3) = 140.6: a true wedge of 540 with a drift of 120 read 470.
    assert_eq!((spread(&verdict), &verdict["value"]), (140.6, &json!("0.00047")));
    assert_eq!((&verdict["verdict"], &verdict["reasons"]), (&json!("undecided"), &json!([])));
}

#[test]
fn a_return_is_held_against_what_the_gauge_repeats_to() {
    // All in it is known to 40 only; on one spot it repeats to 6.
    let gauge = STATED.replace("0.0000084", "0.00004");
    let bench = started(&gauge, &format!("{FACE}\ntolerance = \"0.0001 in\""));
    assert_eq!(alerts(&bench, "kind", "own-return"), 0);
    let mut ring = RING.to_vec();
    ring.push(30);
    let first = enter(&bench, &ring);
    assert_eq!(first["reasons"], json!(["not-closed"]), "{first}");
    assert_eq!(alerts(&bench, "kind", "not-closed"), 1);
}

#[test]
fn noise_alone_fails_no_part() {
    let bench = started(STATED, &format!("{FACE}\nclosure = false\ntolerance = \"0.0001 in\""));
    let verdict = enter(&bench, &[130, 0, 130, 0, 120, 0, 130, 0]);
    let words = ["verdict", "simple", "guarded"].map(|word| verdict[word].as_str().unwrap());
    assert_eq!(words, ["undecided", "does-not-conform", "does-not-conform"]);
    assert_eq!(verdict["reasons"], json!(["near-noise"]));
    bench.ok(&["remeasure", "ground"]);
    let wedge = enter(&bench, &[130, 110, 60, 20, 0, 20, 60, 110]);
    assert_eq!((&wedge["verdict"], &wedge["reasons"]), (&json!("does-not-conform"), &json!([])));
    bench.ok(&["verify"]);
}

#[test]
fn a_turn_whose_stand_counts_as_nothing_says_so() {
    let turn = "measures = \"runout\"\nsetup = \"turning\"\npositions = 8\nclosure = false\n\
                tolerance = \"0.0001 in\"\ntouch = \"outside\"";
    let bench = started(STATED, turn);
    let verdict = enter(&bench, &RING);
    assert_eq!((spread(&verdict), &verdict["uncertainty_from"]), (17.0, &json!("assumed")));
    let bench = started(STATED, &format!("{turn}\nstand = \"0.000005 in\""));
    let verdict = enter(&bench, &RING);
    assert_eq!((spread(&verdict), &verdict["uncertainty_from"]), (19.7, &json!("stated")));
}

#[test]
fn an_answer_counts_beside_the_touch_it_was_asked_for() {
    let bench = started(STATED, &format!("{FACE}\nclosure = false\ntolerance = \"0.0001 in\""));
    enter(&bench, &[0, 0, 10, 110, 10, 0, -10, 0]);
    assert!(alerts(&bench, "kind", "wild-touch") > 0);
    // 90 lies within 3·√2·6 of 110: the mean is 100.
    assert_eq!(enter(&bench, &[90])["value"], "0.00011");
    bench.ok(&["remeasure", "ground"]);
    enter(&bench, &[0, 0, 10, 110, 10, 0, -10, 0]);
    assert_eq!(enter(&bench, &[10])["value"], "0.00002", "110 was a slip");
    bench.ok(&["verify"]);
}
