//! Answers that a newcomer reads: nothing is said twice, nothing impossible is asked, and what is missing is
//! named. The readings are invented.

use crate::report::html::{elements, parsed, text};
use crate::rig::{Bench, Make};

const GAUGE: &str = "unit = \"in\"\nresolution = \"0.000001 in\"\nuncertainty = \"0.0000084 in\"\n\
                     repeatability = \"0.000006 in\"\nrepeat_ms = 0\nmax_rate = 0";

const MORE: &str = r#"
[[part]]
name = "nut"
kind = "nut"

[[part.check]]
name = "torque"
measures = "entry"
question = "Torque"
unit = "N m"
"#;

fn started() -> Bench {
    let plan = format!("{}{MORE}", include_str!("tries/plan.toml"));
    let mut bench = Bench::new(&Make { gauge: GAUGE, more: "", plan: &plan });
    bench.start();
    bench.ok(&["job", "open", "s1", "--plan", "held"]);
    bench
}

/// Readings in millionths of an inch, keyed in; the reply.
fn enter(bench: &Bench, readings: &[i32]) -> String {
    let texts: Vec<String> =
        readings.iter().map(|one| format!("{:.6}", f64::from(*one) / 1e6)).collect();
    let typed: Vec<&str> = ["enter"].into_iter().chain(texts.iter().map(String::as_str)).collect();
    bench.ok(&typed)
}

fn report(bench: &Bench) -> String {
    let tree = parsed(&bench.ok(&["report", "s1"]));
    elements(&tree, "section").iter().map(text).collect::<Vec<_>>().join("\n")
}

#[test]
fn what_is_asked_for_is_said_once_in_a_reply() {
    let bench = started();
    bench.ok(&["measure", "ring/face"]);
    let said = enter(&bench, &[0, 20, 40, 60, 80, 60, 40, 20, 90]);
    assert_eq!(said.matches("once more").count(), 1, "{said}");
    assert!(said.contains("different at 0. Touch 0 once more."), "{said}");
    bench.ok(&["remeasure", "cleaned", "ring/face"]);
    let said = enter(&bench, &[60, 130, 110, 30, -60, -130, -110, -30, 60]);
    assert_eq!(said.matches("half a turn round").count(), 1, "{said}");
    bench.ok(&["measure", "ring/mastered"]);
    let said = enter(&bench, &[0, 0, 20, 40, 60, 60, 40, 20, 0, 0, 300]);
    assert_eq!(said.matches("once more").count(), 1, "{said}");
}

#[test]
fn a_difference_says_what_its_length_still_lacks() {
    let bench = started();
    bench.ok(&["measure", "ring/length"]);
    enter(&bench, &[0, 100, 100, 100, 100, 0]);
    let said = bench.refused(2, &["measure", "other/match"]);
    assert!(said.contains("other/length, which is not measured yet"), "{said}");
    bench.ok(&["measure", "other/length"]);
    enter(&bench, &[0, 100, 100]);
    let said = bench.refused(2, &["measure", "other/match"]);
    assert!(said.contains("not finished: 2 of 4 positions are touched"), "{said}");
    enter(&bench, &[100, 100]);
    let said = bench.refused(2, &["measure", "other/match"]);
    assert!(said.contains("not finished: the closing touch on the master is missing"), "{said}");
    enter(&bench, &[0]);
    bench.ok(&["measure", "other/match"]);
    // What was taken is taken anew with its lengths, and no metal comes off a difference.
    let said = bench.refused(2, &["measure", "other/match"]);
    assert!(!said.contains("metal") && said.contains("measure one of them again"), "{said}");
}

#[test]
fn an_answer_and_a_value_that_are_there_are_not_offered_for_grinding() {
    let bench = started();
    bench.ok(&["confirm", "ring/burr", "yes"]);
    let said = bench.refused(2, &["measure", "ring/burr"]);
    assert!(
        !said.contains("metal") && said.contains("`tenths remeasure again ring/burr`"),
        "{said}"
    );
    bench.ok(&["record", "nut/torque", "20"]);
    let said = bench.refused(2, &["measure", "nut/torque"]);
    assert!(!said.contains("metal") && said.contains("`tenths record nut/torque VALUE`"), "{said}");
}

#[test]
fn a_question_that_is_asked_again_is_not_called_unmeasured() {
    let bench = started();
    bench.ok(&["confirm", "ring/burr", "yes"]);
    bench.ok(&["remeasure", "again", "ring/burr"]);
    bench.ok(&["measure", "nut/torque"]);
    let said = bench.refused(2, &["job", "close"]);
    assert!(said.contains("ring/burr is asked again and not answered"), "{said}");
    assert!(said.contains("nut/torque is not measured"), "{said}");
    bench.ok(&["job", "close", "--why", "a trial"]);
    let page = report(&bench);
    assert!(page.contains("ring/burr is asked again and not answered"), "{page}");
    assert!(page.contains("begun, nothing written down") && !page.contains("0 of 0"), "{page}");
}
