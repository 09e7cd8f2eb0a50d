//! A job's rule is fixed when it is opened, and changed only with a reason that is recorded.

use std::fs;

use crate::rig::{Bench, Make, RING_PLAN};

/// 0.00009 of 0.0001: inside, but not by U.
const NEAR: [&str; 9] = ["0", "3", "6", "9", "6", "3", "0", "3", "0"];

fn ring(bench: &Bench) -> serde_json::Value {
    let before = bench.lines(&["verdicts", "J-1"]).len();
    let mut enter = vec!["enter", "--graduation", "0.00001in"];
    enter.extend(NEAR);
    bench.ok(&enter);
    bench.verdict("J-1", before + 1)
}

#[test]
fn an_edit_of_the_bench_changes_no_open_job_and_a_change_needs_a_reason() {
    let gauge = "resolution = \"0.00001 in\"\nuncertainty = \"0.000009 in\"";
    let mut bench = Bench::new(&Make { gauge, more: "", plan: RING_PLAN });
    bench.start();
    bench.ok(&["job", "open", "J-1", "--plan", "held"]);
    bench.ok(&["measure", "ring/face"]);
    assert_eq!(ring(&bench)["verdict"], "undecided");
    let file = bench.path("bench.toml");
    let text = fs::read_to_string(&file).unwrap();
    fs::write(&file, text.replacen("unit = \"in\"\n", "unit = \"in\"\nrule = \"simple\"\n", 1))
        .unwrap();
    bench.signal(rustix::process::Signal::HUP);
    bench.until("the configuration is read", || bench.log().contains("was read again"));
    bench.ok(&["remeasure", "again"]);
    let verdict = ring(&bench);
    assert_eq!((&verdict["rule"], &verdict["verdict"]), (&"guarded".into(), &"undecided".into()));
    // A new job has the bench's rule of now.
    bench.ok(&["job", "open", "J-2", "--plan", "held"]);
    bench.refused(2, &["job", "rule", "J-2", "simple", "--why", "it is so already"]);
    bench.ok(&["job", "use", "J-1"]);
    bench.refused_usage(&["job", "rule", "J-1", "simple"]);
    bench.refused(2, &["job", "rule", "J-1", "simple", "--why", " "]);
    bench.ok(&["job", "rule", "J-1", "simple", "--why", "agreed with the owner", "--by", "Ada"]);
    bench.ok(&["remeasure", "again", "ring/face"]);
    let verdict = ring(&bench);
    assert_eq!((&verdict["rule"], &verdict["verdict"]), (&"simple".into(), &"conforms".into()));
    let shown = &bench.lines(&["job", "show", "J-1"])[0];
    assert_eq!(
        (&shown["rule"], &shown["rules"][0]["why"]),
        (&"simple".into(), &"agreed with the owner".into())
    );
    let shown = bench.ok(&["job", "show", "J-1"]);
    assert!(shown.contains("Ada: agreed with the owner"), "{shown}");
    let page = bench.path("page.html");
    bench.ok(&["report", "J-1", "--out", page.to_str().unwrap()]);
    let page = fs::read_to_string(page).unwrap();
    assert!(page.contains("agreed with the owner") && page.contains("Ada"), "the reason stands");
    assert!(bench.ok(&["verify"]).contains("All is as it was stored"));
}
