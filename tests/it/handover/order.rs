//! Jobs that came from elsewhere among those of the bench: what happened first comes first, and what
//! they rang for there does not ring here.

use serde_json::Value;

use super::shop::{Shop, other_bench, ring_bench, shop};
use super::{export, listed_anew};

fn compared(bench: &crate::rig::Bench, which: &[&str]) -> Value {
    bench.lines(&[&["job", "compare"], which].concat()).remove(0)
}

fn names(jobs: &Value) -> Vec<&str> {
    jobs.as_array().unwrap().iter().map(|job| job["job"].as_str().unwrap()).collect()
}

/// What is found of the nut, from one job to the next.
fn nut(comparison: &Value) -> &Value {
    let all = comparison["characteristics"].as_array().unwrap();
    let is = |one: &&Value| one["part"] == "nut" && one["check"] == "locked";
    &all.iter().find(is).unwrap()["changes"][0]
}

#[test]
fn an_older_job_that_came_later_is_still_the_older_one() {
    let mut from = ring_bench();
    from.start();
    let open = |job: &str, serial: &[&str]| {
        from.ok(&[&["job", "open", job, "--plan", "held"], serial].concat());
    };
    for job in ["first", "between", "last"] {
        open(job, &["--serial", "77"]);
        if job == "between" {
            from.ok(&["replace", "nut", "--why", "thread"]);
        } else {
            from.ok(&["confirm", "nut/locked", "yes"]);
        }
        from.ok(&["job", "close", job, "--why", "a try"]);
    }
    from.stop();
    let here = ring_bench();
    // The newest one first: it has the lowest number here.
    for job in ["last", "first", "between"] {
        here.ok(&["import", export(&from, job, job).to_str().unwrap()]);
    }
    let all = compared(&here, &["--serial", "77"]);
    assert_eq!(names(&all["jobs"]), ["first", "between", "last"]);
    let two = compared(&here, &["last", "first"]);
    assert_eq!(names(&two["jobs"]), ["first", "last"]);
    assert_eq!(names(&two["not_compared"]), ["between"]);
    assert_eq!((&nut(&two)["from"], &nut(&two)["to"]), (&"first".into(), &"last".into()));
    assert_eq!(nut(&two)["same_piece"], false, "it became a new one in between");
    let there = compared(&from, &["last", "first"]);
    assert_eq!((&two["jobs"], &two["not_compared"]), (&there["jobs"], &there["not_compared"]));
    assert_eq!(nut(&two), nut(&there), "as on the bench they come from");
    let told = here.run(&["job", "show", "77"]);
    let said = String::from_utf8([told.stdout, told.stderr].concat()).unwrap();
    assert!(said.contains("This is last, the newest of 3 jobs of serial 77"), "{said}");
    assert!(said.contains("before it: between, first"), "{said}");
    let report = here.ok(&["report", "last"]);
    let of = |job: &str| report.find(&format!(">{job}<"));
    assert!(of("first").is_some() && of("first") < of("between"), "{report}");
    assert!(!here.ok(&["report", "first"]).contains(">last<"));
    let listed = here.lines(&["job", "list"]);
    let listed: Vec<&str> = listed.iter().map(|job| job["name"].as_str().unwrap()).collect();
    assert_eq!(listed, ["last", "first", "between"], "a list goes by number, as its pages do");
}

#[test]
fn jobs_that_name_no_spindle_are_not_of_the_same_one() {
    let mut bench = ring_bench();
    bench.start();
    for job in ["one", "two"] {
        bench.ok(&["job", "open", job, "--plan", "held"]);
        bench.ok(&["confirm", "nut/locked", "yes"]);
    }
    let both = compared(&bench, &["one", "two"]);
    assert_eq!(both["same_spindle"], Value::Null);
    assert_eq!(nut(&both)["same_piece"], false);
    let text = bench.ok(&["job", "compare", "one", "two"]);
    assert!(text.contains("the same answer, perhaps another piece"), "{text}");
}

#[test]
fn alerts_that_came_along_are_not_open_here() {
    let mut bench = ring_bench();
    bench.start();
    bench.ok(&["job", "open", "wh-1", "--plan", "held"]);
    bench.ok(&["measure", "ring/face"]);
    bench.ok(&["enter", "0", "0", "0.00090", "0", "0", "0", "0", "0", "0"]);
    bench.verdict("wh-1", 1);
    bench.stop();
    let open = |bench: &crate::rig::Bench, state: &str| {
        bench.lines(&["alerts", "wh-1", "--state", state]).len()
    };
    let there = open(&bench, "open");
    assert!(there > 0);
    let here = other_bench();
    let bundle = export(&bench, "wh-1", "bundle");
    here.ok(&["import", bundle.to_str().unwrap()]);
    assert_eq!(open(&here, "open"), 0);
    assert_eq!(open(&here, "seen"), there + open(&bench, "seen"));
    assert_eq!(open(&here, "cleared"), open(&bench, "cleared"));
    let table = here.ok(&["alerts", "wh-1"]);
    assert!(table.contains("  seen  ") && !table.contains("  open  "), "{table}");
}

#[test]
fn verdicts_of_another_version_are_told_of_first_or_refused() {
    let Shop { mut bench } = shop();
    bench.stop();
    let bundle = export(&bench, "wh-1", "bundle");
    let path = bundle.join("record.jsonl");
    let record = std::fs::read_to_string(&path).unwrap();
    let now = format!("\"engine\":{}", bench::ENGINE);
    let verdicts = record.matches("\"fact\":\"verdict\"").count();
    assert!(record.contains(&now) && verdicts > 1);
    let here = other_bench();
    let write = |engine: u32| {
        std::fs::write(&path, record.replace(&now, &format!("\"engine\":{engine}"))).unwrap();
        listed_anew(&bundle);
    };
    write(bench::ENGINE + 1);
    let said = here.refused(2, &["import", bundle.to_str().unwrap()]);
    assert!(said.contains("use a newer tenths"), "{said}");
    assert!(!here.path("state/tenths.db").exists());
    write(bench::ENGINE - 1);
    let told = here.ok(&["import", bundle.to_str().unwrap()]);
    let first = told.lines().next().unwrap();
    assert!(
        first.contains(&format!("{verdicts} of its verdicts are of an older version")),
        "{told}"
    );
    assert!(first.contains("NOT computed again; the other 0 follow"), "{told}");
    here.ok(&["verify"]);
}
