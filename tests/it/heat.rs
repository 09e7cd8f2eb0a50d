//! Lengths at 20 °C through the real program. The readings are invented; the figures are worked out beside them
//! with a pocket calculator.

use serde_json::{Value, json};

use crate::rig::{Bench, Gauge, Make};

const GAUGE: &str = "unit = \"in\"\nresolution = \"0.00001 in\"\nuncertainty = \"0.0000084 in\"\n\
                     repeatability = \"0.000006 in\"\nrepeat_ms = 0\nmax_rate = 0\n";

/// A spacer of 2 in, ±0.0001 in, against its master, with the temperatures of both and of the room.
const PLAN: &str = r#"
name = "held"
unit = "in"
[[part]]
name = "ring"
kind = "spacer"
[[part.check]]
name = "length"
measures = "length"
gauge = "plate"
setup = "plate"
positions = 4
closure = false
min = "1.9999 in"
max = "2.0001 in"
master_size = "2.0000 in"
master_uncertainty = "0 in"
temperature_between = 0.5
expansion_uncertainty = 1e-6
temperatures = ["ring/ring-c", "ring/master-c"]
[[part.check]]
name = "ring-c"
measures = "entry"
question = "temperature of the ring"
unit = "C"
[[part.check]]
name = "master-c"
measures = "entry"
question = "temperature of the master"
unit = "C"
[[part.check]]
name = "room-c"
measures = "entry"
question = "temperature of the room"
unit = "C"
"#;

fn started(plan: &str) -> Bench {
    let mut bench = Bench::new(&Make { gauge: GAUGE, more: "", plan });
    bench.start();
    bench.ok(&["job", "open", "s1", "--plan", "held"]);
    bench
}

fn measured(bench: &Bench) -> Value {
    let verdicts = bench.lines(&["verdicts", "s1", "--part", "ring", "--check", "length"]);
    verdicts.last().cloned().unwrap_or_default()
}

fn temperatures(bench: &Bench, ring: &str, master: &str) {
    bench.ok(&["record", "ring/ring-c", ring]);
    bench.ok(&["record", "ring/master-c", master]);
}

#[track_caller]
fn near(value: &Value, millionths: f64, within: f64) {
    let found = value.as_str().unwrap().parse::<f64>().unwrap() * 1e6;
    assert!((found - millionths).abs() <= within, "{found} is not {millionths}");
}

fn says(verdict: &Value, sentence: &str) -> bool {
    verdict["advice"].as_array().unwrap().iter().any(|one| one == sentence)
}

/// The example of the trade: 0.00014 in too long as read, of which 0.000138 are heat.
#[test]
fn a_warm_spacer_is_brought_to_20_degrees_and_not_judged() {
    let bench = started(PLAN);
    bench.ok(&["measure", "ring/length"]);
    bench.ok(&["enter", "0", "0.00014", "0.00014", "0.00014", "0.00014", "0"]);
    let unknown = measured(&bench);
    near(&unknown["value"], 2_000_140.0, 0.001);
    assert!(says(&unknown, "Not at 20 °C: the temperatures are not written down."), "{unknown}");
    bench.ok(&["record", "ring/room-c", "20.5"]);
    temperatures(&bench, "26.5", "20.5");
    let warm = measured(&bench);
    assert_eq!((&warm["verdict"], &warm["reasons"]), (&json!("undecided"), &json!(["warm"])));
    assert_eq!(warm["simple"], "conforms");
    // 2.00014 · 11.5e-6 · 6 = 138.01.
    near(&warm["figures"]["to_20_c"], 138.01, 0.01);
    near(&warm["value"], 2_000_001.99, 0.01);
    near(&warm["figures"]["as_read"], 2_000_140.0, 0.001);
    // 2·√(2·8.4² + (2·11.5·0.5)² + (2·6.5)²): what is not stated of 20 °C is known from the temperatures.
    let u = 2.0 * (141.12_f64 + 11.5_f64.powi(2) + 13.0_f64.powi(2)).sqrt();
    near(&warm["uncertainty"], u, 0.02);
    let said = "The part is 6 °C warmer than its master: 0.000138 of heat, 0.000010 at most is allowed. Ready when they are within 0.4 °C.";
    assert!(says(&warm, said), "{warm}");
    // When both have lain together.
    temperatures(&bench, "20.8", "20.5");
    let ready = measured(&bench);
    assert_eq!(ready["reasons"], json!([]));
    assert!(says(&ready, "Ready by temperature: 0.3 °C apart, 0.4 at most is allowed."), "{ready}");
    bench.ok(&["verify"]);
}

/// Both at 22 °C: 2·2·(23 − 11.5) = 46 of heat in a tolerance of 100.
#[test]
fn aluminium_on_a_master_of_steel_is_seen_to_hold_heat() {
    let plan = PLAN.replace("master_uncertainty", "expansion = 23e-6\nmaster_uncertainty");
    let bench = started(&plan);
    bench.ok(&["measure", "ring/length"]);
    bench.ok(&["enter", "0", "0.00005", "0.00005", "0.00005", "0.00005", "0"]);
    temperatures(&bench, "22", "22");
    let verdict = measured(&bench);
    assert_eq!(verdict["reasons"], json!(["warm"]));
    near(&verdict["figures"]["to_20_c"], 46.0, 0.01);
    near(&verdict["figures"]["as_read"], 2_000_050.0, 0.001);
    let said = "Part and master are of unlike metal, and at 22 °C: 0.000046 of heat, 0.000010 at most is allowed. Ready within 0.4 °C of 20 °C, or against a master of its own metal.";
    assert!(says(&verdict, said), "{verdict}");
}

#[test]
fn a_temperature_that_nothing_on_a_bench_has_is_refused_with_a_sentence() {
    let bench = started(PLAN);
    let refused = bench.refused(2, &["record", "ring/ring-c", "200"]);
    assert!(refused.contains("200 C is no temperature of a part that is measured"), "{refused}");
    assert!(refused.contains("0 to 50 °C are believed"), "{refused}");
    // The room is used by no length: it is a remark.
    bench.ok(&["record", "ring/room-c", "200"]);
}

const PROBE: &str = "[[gauge]]\nname = \"probe\"\nkind = \"thermometer\"\nport = \"{dir}/probe\"\n\
                     profile = \"celsius\"\nresolution = \"0.1 C\"\nrepeat_ms = 0\n";

/// Part and master lie on one plate with a probe on it. It sends by itself; nobody records anything.
#[test]
fn a_thermometer_on_a_line_writes_down_the_temperatures_of_a_length() {
    let plan = PLAN.replace(
        "question = \"temperature of the ring\"",
        "question = \"temperature of the ring\"\nthermometer = \"probe\"",
    );
    let plan = plan.replace(
        "question = \"temperature of the master\"",
        "question = \"temperature of the master\"\nthermometer = \"probe\"",
    );
    let mut bench = Bench::new(&Make { gauge: GAUGE, more: PROBE, plan: &plan });
    let probe = Gauge::plugged(bench.path("probe"));
    bench.start();
    bench.ok(&["job", "open", "s1", "--plan", "held"]);
    bench.touches(&probe, "probe", &["19.9 C"]);
    bench.ok(&["measure", "ring/length"]);
    bench.ok(&["enter", "0"]);
    bench.touches(&probe, "probe", &["200.0 C"]);
    let alerts = bench.lines(&["alerts", "--kind", "thermometer"]);
    let said = "probe shows 200.0 °C: no temperature of a part that is measured. Not written down.";
    assert_eq!(alerts[0]["text"], said, "{alerts:?}");
    bench.touches(&probe, "probe", &["22.0 C", "22.1 C"]);
    bench.ok(&["enter", "0.00005", "0.00005", "0.00005", "0.00005", "0"]);
    let verdict = measured(&bench);
    assert_eq!(verdict["reasons"], json!([]), "steel on steel at one temperature: {verdict}");
    assert!(says(&verdict, "At 20 °C; nothing to take off."), "{verdict}");
    let written = bench.lines(&["verdicts", "s1", "--check", "ring-c"]);
    assert!(written.is_empty(), "an entry has no verdict");
    let gauge = bench.gauge("probe");
    assert_eq!((&gauge["last"], &gauge["taken"]), (&json!("22.1 °C"), &json!(4)));
    assert!(bench.readings("s1").iter().all(|one| one["gauge"] == "plate"));
    bench.balanced();
    bench.ok(&["verify"]);
}

#[test]
fn a_thermometer_measures_no_length_and_a_gauge_writes_no_temperature() {
    let plan = PLAN.replace("gauge = \"plate\"", "gauge = \"probe\"").replace(
        "question = \"temperature of the ring\"",
        "question = \"temperature of the ring\"\nthermometer = \"plate\"",
    );
    let bench = Bench::new(&Make { gauge: GAUGE, more: PROBE, plan: &plan });
    let output = bench.run(&["config", "check"]);
    let said = String::from_utf8(output.stdout).unwrap();
    assert!(said.contains("gauge \"probe\" is a thermometer and measures no length"), "{said}");
    assert!(said.contains("gauge \"plate\" is no thermometer"), "{said}");
}
