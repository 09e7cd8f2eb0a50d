//! What a word changes and what it does not: dirt that was found, cleaning without dirt, a position left out, a
//! touch that is taken back. The readings are invented, in inches.

use serde_json::{Value, json};

use crate::rig::{Bench, Make};

const GAUGE: &str = "resolution = \"0.00001 in\"\nuncertainty = \"0.000004 in\"\nrepeatability = \"0.000003 in\"\nrepeat_ms = 0\nmax_rate = 0";

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
positions = 8
radius = "1.5 in"
tolerance = "0.0001 in"
closure = false
[[part.check]]
name = "length"
measures = "length"
gauge = "plate"
setup = "plate"
positions = 4
min = "0.9990 in"
max = "1.0010 in"
master = "none"
closure = false
"#;

/// A tilt of 0.0003 in, high at position 0.
const TILT: [&str; 8] =
    ["0.00030", "0.00026", "0.00015", "0.00004", "0", "0.00004", "0.00015", "0.00026"];
const GOOD: [&str; 8] = ["0", "0", "0.00002", "0", "0", "0", "0", "0"];
const INCH: [&str; 4] = ["1.00000", "1.00001", "1.00000", "1.00001"];

fn started() -> Bench {
    let mut bench = Bench::new(&Make { gauge: GAUGE, more: "", plan: PLAN });
    bench.start();
    bench.ok(&["job", "open", "j", "--plan", "held"]);
    bench
}

fn enter(bench: &Bench, values: &[&str]) -> String {
    let all: Vec<&str> = ["enter"].iter().chain(values).copied().collect();
    bench.ok(&all)
}

fn newest(bench: &Bench, check: &str) -> Value {
    bench.lines(&["verdicts", "j", "--check", check]).pop().unwrap()
}

fn says(verdict: &Value, part: &str) -> bool {
    verdict["advice"].as_array().unwrap().iter().any(|one| one.as_str().unwrap().contains(part))
}

#[test]
fn dirt_that_was_found_speaks_against_the_length_of_the_same_seating() {
    let bench = started();
    bench.ok(&["measure", "ring/length"]);
    enter(&bench, &INCH);
    bench.ok(&["measure", "ring/face"]);
    enter(&bench, &TILT);
    // Set back half a turn round, high and low changed places: it stayed with the plate.
    enter(&bench, &["0", "0.00030"]);
    assert!(says(&newest(&bench, "ring/face"), "dirt or a burr"));
    assert_eq!(newest(&bench, "ring/length")["verdict"], "conforms");
    bench.ok(&["remeasure", "cleaned", "ring/face"]);
    let length = newest(&bench, "ring/length");
    assert_eq!(length["reasons"], json!(["seat-doubted"]), "{length}");
    assert_eq!(length["verdict"], "undecided");
    enter(&bench, &GOOD);
    assert_eq!(newest(&bench, "ring/face")["tries"], 1);
    let next = bench.ok(&["next"]);
    assert!(next.contains("ring/length"), "{next}");
    enter(&bench, &INCH);
    let length = newest(&bench, "ring/length");
    assert_eq!((&length["verdict"], &length["reasons"]), (&json!("conforms"), &json!([])));
    assert_eq!((&length["tries"], &length["attempt"]), (&json!(1), &json!(2)), "{length}");
    // Cleaning after found dirt was no word without evidence: the next one is believed.
    bench.ok(&["remeasure", "cleaned", "ring/face"]);
    enter(&bench, &GOOD);
    assert_eq!(newest(&bench, "ring/face")["tries"], 1);
    assert_eq!(newest(&bench, "ring/length")["verdict"], "conforms", "no dirt was found");
    bench.ok(&["verify"]);
}

#[test]
fn dirt_that_was_shown_by_a_slip_doubts_no_length_once_the_touch_is_taken_back() {
    let bench = started();
    bench.ok(&["measure", "ring/length"]);
    enter(&bench, &INCH);
    bench.ok(&["measure", "ring/face"]);
    enter(&bench, &TILT);
    enter(&bench, &["0", "0.00030"]);
    bench.ok(&["remeasure", "cleaned", "ring/face"]);
    let first = || {
        let all = bench.lines(&["verdicts", "j", "--check", "ring/length"]);
        all.into_iter().rfind(|verdict| verdict["attempt"] == 1).unwrap()
    };
    assert_eq!(first()["reasons"], json!(["seat-doubted"]));
    // The length is begun again before the slip is noticed: the first one is no longer the newest.
    bench.ok(&["measure", "ring/length"]);
    enter(&bench, &["1.00000"]);
    let face = bench.lines(&["readings", "j", "--check", "ring/face"]);
    let slip = face.iter().rfind(|one| one["value"] == "0.00030").unwrap();
    bench.ok(&["void", &slip["id"].to_string()]);
    assert_eq!((&first()["verdict"], &first()["reasons"]), (&json!("conforms"), &json!([])));
    bench.ok(&["verify"]);
}

#[test]
fn one_cleaning_without_dirt_is_believed_and_the_second_counts_together() {
    let bench = started();
    let ring = |high| ["0", high, high, "0", "0", "0", "0", "0"];
    bench.ok(&["measure", "ring/face"]);
    enter(&bench, &ring("0.00015"));
    bench.ok(&["remeasure", "cleaned"]);
    enter(&bench, &ring("0.00011"));
    let first = newest(&bench, "ring/face");
    assert_eq!((&first["tries"], &first["value"]), (&json!(1), &json!("0.00011")), "{first}");
    bench.ok(&["remeasure", "cleaned"]);
    enter(&bench, &ring("0.00007"));
    // By hand: the means of the tries are 27.5 and 17.5 millionths, so 10 come off the older one;
    // the mean of 100 and 70 above that of −10 and 0 is 90.
    let second = newest(&bench, "ring/face");
    assert_eq!((&second["tries"], &second["value"]), (&json!(2), &json!("0.00009")), "{second}");
    assert!(says(&second, "Cleaned once more"), "{second}");
    // New metal, new word.
    bench.ok(&["remeasure", "ground"]);
    enter(&bench, &ring("0.00008"));
    bench.ok(&["remeasure", "cleaned"]);
    enter(&bench, &ring("0.00005"));
    assert_eq!(newest(&bench, "ring/face")["tries"], 1);
    bench.ok(&["verify"]);
}

#[test]
fn a_position_left_out_beside_the_highest_is_said_at_the_verdict() {
    for (skipped, said) in [(3_usize, true), (1, true), (5, false)] {
        let bench = started();
        bench.ok(&["measure", "ring/face"]);
        bench.refused(2, &["skip"]);
        bench.ok(&["skip", &skipped.to_string(), "--why", "key slot"]);
        let values = ["0", "0", "0.00005", "0", "0", "0", "0", "0"];
        let left: Vec<&str> = (0..8).filter(|at| *at != skipped).map(|at| values[at]).collect();
        enter(&bench, &left);
        let verdict = newest(&bench, "ring/face");
        assert!(says(&verdict, &format!("Position {skipped} was left out: key slot")), "{verdict}");
        let beside = format!("Position 2 beside {skipped} is the highest");
        assert_eq!(says(&verdict, &beside), said, "{verdict}");
    }
}

#[test]
fn a_touch_that_decided_out_and_is_taken_back_counts_beside_the_new_one() {
    // The limit for a plain slip is 3·√2·0.000003 in, so 0.0000127 in.
    for (high, again, value, states) in [
        ("0.00011", "0.00010", "0.000105", ["placed", "placed"]),
        ("0.00050", "0.00001", "0.00001", ["void", "placed"]),
        // It decided nothing.
        ("0.00009", "0.00008", "0.00008", ["void", "placed"]),
    ] {
        let bench = started();
        bench.ok(&["measure", "ring/face"]);
        enter(&bench, &["0", "0", high]);
        bench.ok(&["void"]);
        enter(&bench, &[again, "0", "0", "0", "0", "0"]);
        let verdict = newest(&bench, "ring/face");
        assert_eq!(verdict["value"], value, "{high}, {again}: {verdict}");
        let readings = bench.lines(&["readings", "j"]);
        let at_two: Vec<&Value> =
            readings.iter().filter(|one| one["position"] == 2).map(|one| &one["state"]).collect();
        assert_eq!(at_two, states, "{high}, {again}");
        assert_eq!(says(&verdict, "taken back when it was out"), states[0] == "placed");
        bench.ok(&["verify"]);
    }
}
