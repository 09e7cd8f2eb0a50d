//! A job is not closed and a part not built in while a check is not in order, unless somebody gives a reason.

use crate::rig::{Bench, Make};

const GAUGE: &str = "resolution = \"0.00001 in\"\nuncertainty = \"0.000004 in\"\nrepeatability = \"0.000003 in\"\nrepeat_ms = 0\nmax_rate = 0";

const PLAN: &str = r#"
name = "held"
unit = "in"
[[part]]
name = "received"
kind = "shaft"
[[part.check]]
name = "nose"
measures = "runout"
gauge = "plate"
touch = "outside"
positions = 8
tolerance = "0.0001 in"
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
[[part.check]]
name = "mark"
measures = "confirm"
question = "which face carries the mark?"
answers = ["face-a", "face-b"]
good = ["face-a", "face-b"]
[[part]]
name = "outer"
kind = "spacer"
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
[[part]]
name = "spacers"
kind = "other"
[[part.check]]
name = "match"
measures = "difference"
of = ["outer/length", "ring/length"]
tolerance = "0.0003 in"
[[part]]
name = "nut"
kind = "nut"
[[part.check]]
name = "face"
measures = "runout"
gauge = "plate"
touch = "near-face"
positions = 8
radius = "1.3 in"
tolerance = "0.0002 in"
[[part.check]]
name = "torque"
measures = "entry"
question = "torque"
unit = "Nm"
[[part]]
name = "final"
kind = "shaft"
[[part.check]]
name = "nose"
measures = "runout"
gauge = "plate"
touch = "outside"
positions = 8
tolerance = "0.0001 in"
found = "received/nose"
[[stack]]
part = "ring"
[[stack]]
part = "outer"
"#;

const GOOD: [&str; 8] = ["0", "0", "0.00002", "0", "0", "0", "0", "0"];
const OUT: [&str; 8] = ["0", "0", "0.0005", "0", "0", "0", "0", "0"];
const INCH: [&str; 4] = ["1.00000", "1.00001", "1.00000", "1.00001"];
const LONG: [&str; 4] = ["1.00070", "1.00071", "1.00070", "1.00071"];

fn measured(bench: &Bench, target: &str, values: &[&str]) {
    bench.ok(&["measure", target]);
    let all: Vec<&str> = ["enter"].iter().chain(values).copied().collect();
    bench.ok(&all);
}

fn bench() -> Bench {
    let mut bench = Bench::new(&Make { gauge: GAUGE, more: "", plan: PLAN });
    bench.start();
    bench.ok(&["job", "open", "j", "--plan", "held"]);
    bench
}

#[test]
fn a_part_that_is_out_or_unmeasured_does_not_go_on_the_stack_without_a_reason() {
    let bench = bench();
    measured(&bench, "ring/face", &OUT);
    let said = bench.refused(2, &["stack", "built", "ring"]);
    for part in [
        "ring does not go on the stack",
        "ring/face does not conform",
        "ring/length is not measured",
        "spacers/match is not measured",
        "tenths stack built ring --why TEXT",
    ] {
        assert!(said.contains(part), "{part}: {said}");
    }
    assert!(!said.contains("ring/mark") && !said.contains("nut/face"), "{said}");
    measured(&bench, "ring/length", &INCH);
    measured(&bench, "outer/length", &LONG);
    bench.ok(&["measure", "spacers/match"]);
    let said = bench.refused(2, &["stack", "built", "ring"]);
    assert!(said.contains("spacers/match does not conform"), "{said}");
    bench.refused_usage(&["stack", "built", "ring", "--why", ""]);
    bench.ok(&["stack", "built", "ring", "--why", "the owner waits <b>"]);
    // The other ring answers for the pair as well.
    let said = bench.refused(2, &["stack", "built", "outer"]);
    assert!(said.contains("spacers/match does not conform"), "{said}");
    assert!(!said.contains("ring/face"), "{said}");
    bench.ok(&["remeasure", "ground", "outer/length"]);
    bench.ok(&["enter", "1.00010", "1.00011", "1.00010", "1.00011"]);
    bench.ok(&["measure", "spacers/match"]);
    bench.ok(&["stack", "built", "outer"]);
    // Before the nut it is said, and it stands on record.
    let told = bench.ok(&["measure", "nut/face"]);
    assert!(told.contains("ring went on the stack although ring/face does not conform"), "{told}");
    assert!(told.contains("the owner waits"), "{told}");
    assert!(!told.contains("outer went on"), "{told}");
    let alerts = bench.lines(&["alerts", "j", "--kind", "stack"]);
    assert!(alerts.iter().any(|alert| alert["part"] == "nut"), "{alerts:?}");
    let shown = bench.lines(&["job", "show", "j"]).remove(0);
    let went = &shown["went_on"][0];
    assert_eq!((&went["what"], &went["part"]), (&"stack".into(), &"ring".into()), "{shown}");
    assert_eq!(went["checks"][0]["lack"], "does-not-conform");
    assert!(bench.ok(&["job", "show", "j"]).contains("although ring/face does not conform"));
    let page = bench.ok(&["report", "j"]);
    assert!(page.contains("went on the stack") && page.contains("the owner waits &lt;b&gt;"));
    bench.ok(&["verify"]);
}

#[test]
fn a_job_is_not_closed_in_silence() {
    let bench = bench();
    measured(&bench, "received/nose", &OUT);
    measured(&bench, "ring/face", &GOOD);
    measured(&bench, "ring/length", &INCH);
    measured(&bench, "outer/length", &INCH);
    bench.ok(&["measure", "spacers/match"]);
    bench.ok(&["stack", "built", "ring", "--why", "checked by eye"]);
    bench.ok(&["stack", "built", "outer"]);
    bench.ok(&["measure", "nut/face"]);
    bench.ok(&["enter", "0", "0"]);
    let said = bench.refused(2, &["job", "close"]);
    for part in [
        "job j is not closed",
        "ring/mark is not measured",
        "nut/face is incomplete",
        "nut/torque is not measured",
        "final/nose is not measured",
        "tenths job close j --why TEXT",
    ] {
        assert!(said.contains(part), "{part}: {said}");
    }
    assert!(!said.contains("received/nose"), "how it came is no reason: {said}");
    // The refusal changed nothing: the ring under way goes on.
    bench.ok(&["enter", "0", "0", "0", "0", "0", "0"]);
    bench.ok(&["record", "nut/torque", "45"]);
    bench.ok(&["confirm", "ring/mark", "face-a"]);
    measured(&bench, "final/nose", &GOOD);
    bench.ok(&["remeasure", "ground", "ring/face"]);
    bench.ok(&["enter", "0", "0", "0.00002", "0", "0", "0", "0", "0"]);
    let said = bench.refused(2, &["job", "close", "j"]);
    for part in ["ring/length", "spacers/match", "nut/face", "final/nose"] {
        let gone = format!("{part} was measured on metal that has changed since");
        assert!(said.contains(&gone), "{part}: {said}");
    }
    bench.ok(&["job", "close", "j", "--why", "fetched by the owner"]);
    let shown = bench.lines(&["job", "show", "j"]).remove(0);
    assert_eq!(shown["state"], "closed");
    let went = shown["went_on"].as_array().unwrap().last().unwrap().clone();
    assert_eq!((&went["what"], &went["why"]), (&"close".into(), &"fetched by the owner".into()));
    assert_eq!(went["checks"].as_array().unwrap().len(), 4);
    // It goes along with the job, and comes back with it.
    let bundle = bench.path("bundle");
    bench.ok(&["export", "j", "--out", bundle.to_str().unwrap()]);
    assert!(bench.ok(&["report", "j"]).contains("fetched by the owner"));
    bench.ok(&["verify"]);
}

#[test]
fn a_difference_of_a_length_that_was_measured_again_since_holds_a_job_and_a_part_up() {
    let bench = bench();
    measured(&bench, "ring/face", &GOOD);
    measured(&bench, "ring/length", &INCH);
    measured(&bench, "outer/length", &INCH);
    bench.ok(&["measure", "spacers/match"]);
    bench.ok(&["remeasure", "cleaned", "ring/length"]);
    bench.ok(&["enter", "1.00060", "1.00061", "1.00060", "1.00061"]);
    // 0.0006 in between them by now; the difference on record is that of before.
    let told = "spacers/match was taken before one of its lengths was measured again";
    let said = bench.refused(2, &["stack", "built", "ring"]);
    assert!(said.contains(told), "{said}");
    let said = bench.refused(2, &["job", "close"]);
    assert!(said.contains(told), "{said}");
    bench.ok(&["job", "close", "--why", "fetched by the owner"]);
    let shown = bench.lines(&["job", "show", "j"]).remove(0);
    let checks = shown["went_on"][0]["checks"].as_array().unwrap();
    let lack = checks.iter().find(|one| one["part"] == "spacers").unwrap();
    assert_eq!(lack["lack"], "outdated", "{shown}");
    bench.ok(&["verify"]);
}
