//! The sentences when a check under way is left, when a part was ground, and about what the wheel took where
//! only a total or a high and a low were known before.

use serde_json::{Value, json};

use crate::rig::{Bench, Make};

const GAUGE: &str = "resolution = \"0.00001 in\"\nuncertainty = \"0.000004 in\"\nrepeatability = \"0.000003 in\"\nsign = \"+\"\nrepeat_ms = 0\nmax_rate = 0";

fn started() -> Bench {
    let face = |name: &str| {
        format!(
            "[[part.check]]\nname = \"{name}\"\nmeasures = \"parallelism\"\ngauge = \"plate\"\n\
             setup = \"plate\"\npositions = 8\nradius = \"1.5 in\"\ntolerance = \"0.0001 in\"\n\
             closure = false\n"
        )
    };
    let plan = format!(
        "name = \"held\"\nunit = \"in\"\n[[part]]\nname = \"ring\"\nkind = \"spacer\"\n{}{}{}",
        face("face-a"),
        face("face-b"),
        face("face-c")
    );
    let mut bench = Bench::new(&Make { gauge: GAUGE, more: "", plan: &plan });
    bench.start();
    bench.ok(&["job", "open", "j", "--plan", "held"]);
    bench
}

const RING: [&str; 8] = ["0", "0.00005", "0.00003", "0", "0.00001", "0", "0.00002", "0.00001"];

fn keyed(bench: &Bench, values: &[&str]) -> String {
    let all: Vec<&str> = ["enter"].iter().chain(values).copied().collect();
    bench.ok(&all)
}

fn newest(bench: &Bench, check: &str) -> Value {
    bench.lines(&["verdicts", "j", "--check", check]).pop().unwrap()
}

/// A reply as a script reads it.
fn reply(bench: &Bench, arguments: &[&str]) -> Value {
    let all: Vec<&str> = arguments.iter().chain(&["--json"]).copied().collect();
    serde_json::from_str(&bench.ok(&all)).unwrap()
}

/// The face before the wheel as `before`, after it as a whole ring: no word of where the wheel took.
fn no_shape(before: &[&str], was: &str) {
    let bench = started();
    bench.ok(&["measure", "ring/face-a"]);
    let all: Vec<&str> = ["enter"].iter().chain(before).copied().collect();
    bench.ok(&all);
    bench.ok(&["remeasure", "ground", "ring/face-a"]);
    let said = keyed(&bench, &RING);
    assert!(said.contains(&format!("was {was}, now 0.00005.")), "{said}");
    assert!(!said.contains("wheel"), "{said}");
    let line = newest(&bench, "face-a");
    assert!(line["figures"].get("took_off").is_none_or(Value::is_null), "{line}");
    let alerts = bench.lines(&["alerts", "j"]);
    assert!(!alerts.iter().any(|alert| alert.to_string().contains("changed places")), "{alerts:?}");
    assert!(!bench.ok(&["report", "j"]).contains("What the wheel took off"));
}

#[test]
fn a_total_says_nothing_of_where_the_wheel_took() {
    no_shape(&["--total", "0.00015"], "0.00015");
}

#[test]
fn a_high_and_a_low_say_nothing_of_where_the_wheel_took() {
    // The low was where the ring is high now: at two of eight marks nothing changed places.
    no_shape(&["--high", "0.00012@180", "--low", "-0.00003@45"], "0.00015");
}

#[test]
fn a_whole_ring_before_and_after_tells_what_the_wheel_took() {
    let bench = started();
    bench.ok(&["measure", "ring/face-a"]);
    keyed(&bench, &["0", "0.00015", "0.00003", "0", "0.00001", "0", "0.00002", "0.00001"]);
    bench.ok(&["remeasure", "ground", "ring/face-a"]);
    let said = keyed(&bench, &RING);
    assert!(said.contains("The wheel took"), "{said}");
    let line = newest(&bench, "face-a");
    assert_eq!(line["figures"]["took_off"]["at"].as_array().unwrap().len(), 8, "{line}");
}

#[test]
fn a_check_that_is_left_with_touches_is_named_in_the_reply() {
    let bench = started();
    bench.ok(&["measure", "ring/face-a"]);
    keyed(&bench, &RING[..3]);
    let left = reply(&bench, &["remeasure", "cleaned"]);
    let text = left["text"].as_str().unwrap();
    assert!(text.starts_with("Left ring/face-a incomplete: 3 of 8."), "{text}");
    let told = json!([{"target": "ring/face-a", "taken": 3, "of": 8, "ended": true}]);
    assert_eq!(left["left"], told, "{left}");
    assert_eq!(newest(&bench, "face-a")["verdict"], "incomplete");
    // Another check is measured: this one goes on later.
    keyed(&bench, &RING[..2]);
    let left = reply(&bench, &["measure", "ring/face-b"]);
    let text = left["text"].as_str().unwrap();
    assert!(text.starts_with("Left ring/face-a incomplete: 2 of 8."), "{text}");
    assert!(text.contains("`tenths measure ring/face-a` goes on with it."), "{text}");
    let told = json!([{"target": "ring/face-a", "taken": 2, "of": 8, "ended": false}]);
    assert_eq!(left["left"], told, "{left}");
    // `next` goes back to the first that is open.
    keyed(&bench, &RING[..1]);
    let text = bench.ok(&["next"]);
    assert!(text.starts_with("Left ring/face-b incomplete: 1 of 8."), "{text}");
    // What lies ended without being on the screen is told, too.
    let text = bench.ok(&["remeasure", "again", "ring/face-b"]);
    assert!(text.contains("Left ring/face-b incomplete: 1 of 8."), "{text}");
}

#[test]
fn nothing_is_told_of_a_check_that_is_left_without_a_touch() {
    let bench = started();
    bench.ok(&["measure", "ring/face-a"]);
    let left = reply(&bench, &["remeasure", "again"]);
    assert!(left.get("left").is_none(), "{left}");
    assert!(!left["text"].as_str().unwrap().contains("incomplete"), "{left}");
    let left = reply(&bench, &["measure", "ring/face-b"]);
    assert!(left.get("left").is_none(), "{left}");
    bench.ok(&["measure", "ring/face-a"]);
    keyed(&bench, &RING);
    assert_eq!(newest(&bench, "face-a")["verdict"], "conforms");
    bench.ok(&["verify"]);
}

#[test]
fn a_grind_names_its_check_and_what_is_to_be_measured_again() {
    let bench = started();
    for check in ["ring/face-a", "ring/face-b"] {
        bench.ok(&["measure", check]);
        keyed(&bench, &RING);
    }
    bench.ok(&["next"]);
    let ground = reply(&bench, &["remeasure", "ground"]);
    let text = ground["text"].as_str().unwrap();
    let first = "Ground: ring/face-c, attempt 2. To be measured again: ring/face-a, ring/face-b.";
    assert!(text.starts_with(first), "{text}");
    assert_eq!(ground["measure_again"], json!(["ring/face-a", "ring/face-b"]), "{ground}");
    let again = reply(&bench, &["remeasure", "again", "ring/face-c"]);
    assert!(again.get("measure_again").is_none(), "{again}");
}
