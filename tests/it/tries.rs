//! Which attempts count, through the real program: a verdict stores what it combined, and the page says the
//! same. The readings are invented; figures beside them are worked out by hand.

use serde_json::{Value, json};

use crate::report::html::{elements, parsed, text};
use crate::rig::{Bench, Make};

const GAUGE: &str = "unit = \"in\"\nresolution = \"0.000001 in\"\nuncertainty = \"0.0000084 in\"\n\
                     repeatability = \"0.000006 in\"\nrepeat_ms = 0\nmax_rate = 0";

const PLAN: &str = include_str!("tries/plan.toml");

fn started() -> Bench {
    let mut bench = Bench::new(&Make { gauge: GAUGE, more: "", plan: PLAN });
    bench.start();
    bench.ok(&["job", "open", "s1", "--plan", "held"]);
    bench
}

fn enter(bench: &Bench, readings: &str) {
    let mut arguments = vec!["enter"];
    arguments.extend(readings.split(' '));
    bench.ok(&arguments);
}

/// Readings in millionths of an inch.
fn millionths(bench: &Bench, readings: &[i32]) {
    let texts: Vec<String> =
        readings.iter().map(|one| format!("{:.6}", f64::from(*one) / 1e6)).collect();
    enter(bench, &texts.join(" "));
}

fn again(bench: &Bench, check: &str, readings: &[i32]) {
    bench.ok(&["remeasure", "again", check]);
    millionths(bench, readings);
}

/// The newest verdict of each attempt at a check.
fn verdicts(bench: &Bench, check: &str) -> Vec<Value> {
    bench.lines(&["verdicts", "s1", "--check", check])
}

fn newest(bench: &Bench, check: &str) -> Value {
    verdicts(bench, check).pop().unwrap()
}

/// The attempt ids of some attempts at a check, by their numbers.
fn ids(bench: &Bench, check: &str, numbers: &[u64]) -> Value {
    let all = verdicts(bench, check);
    let id = |number: &u64| {
        let found = all.iter().find(|one| one["attempt"] == *number).unwrap();
        found["attempt_id"].clone()
    };
    numbers.iter().map(id).collect()
}

fn section(bench: &Bench, name: &str) -> String {
    let tree = parsed(&bench.ok(&["report", "s1"]));
    let all = elements(&tree, "section");
    let found = all.iter().find(|one| {
        crate::report::html::attribute(one, "aria-labelledby").as_deref() == Some(name)
    });
    found.map(text).unwrap()
}

#[test]
fn a_try_whose_zero_moved_is_left_out_of_verdict_and_report_alike() {
    let bench = started();
    let check = "ring/length";
    bench.ok(&["measure", check]);
    millionths(&bench, &[0, 100, 100, 100, 100, 0]);
    // The zero is 240 off at the end, and is again when it is asked for.
    again(&bench, check, &[0, 300, 300, 300, 300, 240, 240]);
    again(&bench, check, &[0, 120, 120, 120, 120, 0]);
    let now = newest(&bench, check);
    assert_eq!((&now["tries"], &now["value"]), (&json!(2), &json!("2.00011")), "{now}");
    assert_eq!(now["combined"], ids(&bench, check, &[1, 3]));
    let worked = section(&bench, "how");
    assert!(worked.contains("2.00011 + 2.00011 + 2.00011 + 2.00011) / 4"), "{worked}");
    let aside = section(&bench, "aside");
    assert!(aside.contains("ring/length2, again"), "{aside}");
    assert!(
        aside.contains("the master came back different") && !aside.contains("No attempt was"),
        "{aside}"
    );
}

/// The one sentence about a try that counts for nothing stands in the reply, in the record, in the
/// table and, in the same words, in the report.
#[test]
fn a_try_that_is_left_out_is_named_with_its_reason_wherever_the_verdict_is_told() {
    let bench = started();
    let check = "ring/length";
    bench.ok(&["measure", check]);
    millionths(&bench, &[0, 100, 100, 100, 100, 0]);
    again(&bench, check, &[0, 300, 300, 300, 300, 240, 240]);
    bench.ok(&["remeasure", "again", check]);
    let last = ["0", "0.00012", "0.00012", "0.00012", "0.00012", "0"];
    let reply = bench.ok(&[&["enter"][..], &last[..]].concat());
    let why = "not combined with the others: the master came back different";
    let said = format!("Attempt 2 is {why}.");
    assert_eq!(reply.matches(&said).count(), 1, "{reply}");
    let now = newest(&bench, check);
    assert!(now["advice"].as_array().unwrap().contains(&json!(said)), "{now}");
    let table = bench.ok(&["verdicts", "s1"]);
    assert!(table.contains(said.trim_end_matches('.')), "{table}");
    assert!(section(&bench, "aside").contains(why));
    // The first try was combined and is not named; a try that was ground away is not either.
    assert!(!reply.contains("Attempt 1 is"), "{reply}");
    bench.ok(&["remeasure", "ground", check]);
    let reply = bench.ok(&[&["enter"][..], &last[..]].concat());
    assert!(!reply.contains("not combined"), "{reply}");
}

#[test]
fn a_total_a_face_that_did_not_close_and_a_stopped_try_are_named_when_left_out() {
    let bench = started();
    let check = "ring/face";
    bench.ok(&["measure", check]);
    bench.ok(&["enter", "--total", "0.00020"]);
    bench.ok(&["remeasure", "again", check]);
    millionths(&bench, &[0, 20, 40]);
    bench.ok(&["measure", "--stop"]);
    bench.ok(&["measure", check]);
    millionths(&bench, &[0, 20, 40, 60, 80, 60, 40, 20, 90, 90]);
    again(&bench, check, &[0, 20, 40, 60, 80, 60, 40, 20, 0]);
    let now = newest(&bench, check);
    let aside: Vec<&str> = now["advice"]
        .as_array()
        .unwrap()
        .iter()
        .filter_map(Value::as_str)
        .filter(|said| said.contains("not combined"))
        .collect();
    let others = "is not combined with the others:";
    assert_eq!(
        aside,
        [
            format!("Attempt 1 {others} it has too little in common with the newest."),
            format!("Attempt 2 {others} stopped before its last position."),
            format!("Attempt 3 {others} position 0 did not come back to its first reading."),
        ],
        "{now}"
    );
}

#[test]
fn a_failed_answer_stands_beside_the_one_after_it() {
    let bench = started();
    bench.ok(&["confirm", "ring/burr", "no", "--by", "Ada"]);
    assert_eq!(newest(&bench, "ring/burr")["verdict"], "does-not-conform");
    bench.ok(&["remeasure", "again", "ring/burr"]);
    bench.ok(&["confirm", "ring/burr", "yes", "--by", "Ada"]);
    let now = newest(&bench, "ring/burr");
    assert_eq!((&now["tries"], &now["verdict"]), (&json!(1), &json!("conforms")), "{now}");
    let answers: Vec<&Value> =
        now["answers"].as_array().unwrap().iter().map(|one| &one["answer"]).collect();
    assert_eq!(answers, ["no", "yes"]);
    let table = bench.ok(&["verdicts", "s1"]);
    assert!(!table.contains("mean of"), "{table}");
    assert!(table.contains("answered no"), "{table}");
    let entries = section(&bench, "entries");
    assert!(
        entries.contains("answered no by Ada at ") && entries.contains("then yes"),
        "{entries}"
    );
    let main = section(&bench, "verdicts");
    assert!(main.contains("answered no"), "{main}");
}

#[test]
fn a_difference_of_the_same_lengths_is_not_taken_again() {
    let bench = started();
    bench.ok(&["measure", "ring/length"]);
    millionths(&bench, &[0, 100, 100, 100, 100, 0]);
    bench.ok(&["measure", "other/length"]);
    millionths(&bench, &[0, 140, 140, 140, 140, 0]);
    bench.ok(&["measure", "other/match"]);
    let said = bench.refused(2, &["remeasure", "again", "other/match"]);
    assert!(said.contains("neither length was measured again"), "{said}");
    assert_eq!(verdicts(&bench, "other/match").len(), 1, "no attempt was begun");
    again(&bench, "ring/length", &[0, 100, 100, 100, 100, 0]);
    bench.ok(&["remeasure", "again", "other/match"]);
    let now = newest(&bench, "other/match");
    assert_eq!(now["tries"], 1, "a difference is taken, never averaged: {now}");
    let lengths: Vec<Value> =
        [ids(&bench, "ring/length", &[1, 2]), ids(&bench, "other/length", &[1])]
            .iter()
            .flat_map(|some| some.as_array().unwrap().clone())
            .collect();
    assert_eq!(now["combined"], json!(lengths));
}

#[test]
fn tries_of_a_face_are_compared_by_their_shape() {
    let bench = started();
    // The indicator was set anew by 0.0005 between.
    let check = "ring/face";
    bench.ok(&["measure", check]);
    millionths(&bench, &[0, 20, 40, 60, 80, 60, 40, 20, 0]);
    again(&bench, check, &[500, 520, 540, 560, 580, 560, 540, 520, 500]);
    let now = newest(&bench, check);
    assert_eq!((&now["tries"], &now["value"]), (&json!(2), &json!("0.00008")), "{now}");
    assert_eq!(now["reasons"], json!([]));
    // 0 0 0 60 0 0 0 0 and 5 5 5 – 5 5 5 5: 60, not 57.5 nor 55.
    let check = "ring/holed";
    bench.ok(&["measure", check]);
    millionths(&bench, &[0, 0, 0, 60, 0, 0, 0, 0]);
    bench.ok(&["remeasure", "again", check]);
    millionths(&bench, &[5, 5, 5]);
    bench.ok(&["skip", "3", "--why", "a chip"]);
    millionths(&bench, &[5, 5, 5, 5]);
    let now = newest(&bench, check);
    assert_eq!((&now["tries"], &now["value"]), (&json!(2), &json!("0.00006")), "{now}");
}

#[test]
fn tries_of_a_flat_face_are_compared_without_their_planes() {
    let bench = started();
    let check = "ring/flat";
    // The jacks were set anew: the second try leans by 800 across the face.
    let shape = [0, 10, 0, -10, 0, 10, 0, -10];
    let lean = [400, 283, 0, -283, -400, -283, 0, 283];
    bench.ok(&["measure", check]);
    millionths(&bench, &shape);
    let second: Vec<i32> = (0..8).map(|at| shape[at] + lean[at] + 300).collect();
    again(&bench, check, &second);
    let now = newest(&bench, check);
    assert_eq!((&now["tries"], &now["reasons"]), (&json!(2), &json!([])), "{now}");
    let value: f64 = now["value"].as_str().unwrap().parse().unwrap();
    assert!((value - 0.00002).abs() < 0.000_000_6, "{now}");
}

#[test]
fn a_lower_face_against_its_master_asks_whether_it_was_ground() {
    let bench = started();
    let check = "ring/mastered";
    bench.ok(&["measure", check]);
    millionths(&bench, &[0, 0, 20, 40, 60, 60, 40, 20, 0, 0, 0]);
    again(&bench, check, &[0, -300, -280, -260, -240, -240, -260, -280, -300, -300, 0]);
    let now = newest(&bench, check);
    assert_eq!((&now["verdict"], &now["reasons"]), (&json!("undecided"), &json!(["tries-differ"])));
    let alerts = bench.lines(&["alerts", "s1"]);
    let asked = alerts.iter().any(|alert| {
        alert["level"] == "interrupt" && alert["text"].as_str().unwrap().contains("Was it ground?")
    });
    assert!(asked, "{alerts:?}");
}

#[test]
fn each_circle_of_a_turn_has_an_offset_of_its_own_and_totals_have_none() {
    let bench = started();
    let check = "ring/turn";
    let shape = [0, 10, 20, 30, 20, 10, 0, -10];
    let both = |first: i32, second: i32| -> Vec<i32> {
        shape.map(|at| at + first).into_iter().chain(shape.map(|at| 2 * at + second)).collect()
    };
    bench.ok(&["measure", check]);
    millionths(&bench, &both(0, 0));
    again(&bench, check, &both(400, -300));
    let now = newest(&bench, check);
    assert_eq!((&now["tries"], &now["value"]), (&json!(2), &json!("0.00008")), "{now}");
    assert_eq!(now["reasons"], json!([]), "{now}");
    // Totals are no heights; their sign says nothing: 60 and 80 are 70.
    let check = "ring/holed";
    bench.ok(&["measure", check]);
    bench.ok(&["enter", "--total", "0.00006"]);
    bench.ok(&["remeasure", "again", check]);
    bench.ok(&["enter", "--total", "0.00008"]);
    let now = newest(&bench, check);
    assert_eq!((&now["tries"], &now["value"]), (&json!(2), &json!("0.00007")), "{now}");
    let worked = section(&bench, "how");
    assert!(worked.contains("Total reading keyed in, mean of 2 tries: 0.00007"), "{worked}");
}
