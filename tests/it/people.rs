//! Who measured, took back, answered, saw and checked: this is kept, shown and exported.

use serde_json::Value;

use crate::rig::{Bench, Make, RING_PLAN};

const RING: [&str; 9] = ["0", "1", "2", "3", "2", "1", "0", "1", "0"];

fn bench() -> Bench {
    let plan = format!(
        "{RING_PLAN}\n[[part.check]]\nname = \"clean\"\nmeasures = \"confirm\"\n\
         question = \"Clean?\"\nanswers = [\"yes\", \"no\"]\ngood = [\"yes\"]\n"
    );
    Bench::new(&Make {
        gauge: "resolution = \"0.00001 in\"\nuncertainty = \"0.000009 in\"\nrepeat_ms = 0",
        more: "",
        plan: &plan,
    })
}

fn enter(bench: &Bench, counts: &[&str], more: &[&str]) {
    let mut command = vec!["enter", "--graduation", "0.00001in"];
    command.extend(counts);
    command.extend(more);
    bench.ok(&command);
}

#[test]
fn who_touched_is_on_every_reading_and_verdict() {
    let mut bench = bench();
    bench.start();
    bench.ok(&["job", "open", "J-1", "--plan", "held", "--by", "Office"]);
    // Named at the command: over everything, and the touches of the gauge that follow are theirs.
    bench.ok(&["measure", "ring/face", "--by", "Ada"]);
    bench.touches(&bench.plate, "plate", &["+0.00000", "+0.00001"]);
    enter(&bench, &RING[2..4], &["--by", "Bo"]);
    bench.ok(&["person", "M. Weber"]);
    bench.touches(&bench.plate, "plate", &["+0.00002"]);
    enter(&bench, &RING[5..], &[]);
    let by: Vec<Value> =
        bench.readings("J-1").into_iter().map(|reading| reading["by"].clone()).collect();
    assert_eq!(by[..4], ["Ada", "Ada", "Bo", "Bo"].map(Value::from));
    assert!(by[4..].iter().all(|by| by == "M. Weber"), "{by:?}");
    let verdict = bench.verdict("J-1", 1);
    assert_eq!(verdict["by"], "M. Weber");
    // Taken back by another one: that is said, and who touched stays.
    bench.ok(&["void", "--by", "Ada", "--why", "slipped"]);
    let readings = bench.readings("J-1");
    let taken_back = readings.iter().find(|reading| reading["state"] == "void").unwrap();
    assert_eq!((&taken_back["by"], &taken_back["voided_by"]), (&"M. Weber".into(), &"Ada".into()));
    assert!(readings.iter().filter(|one| one["voided_by"].is_null()).count() == readings.len() - 1);
    // Nobody said anything: the login.
    bench.ok(&["person", "--nobody"]);
    enter(&bench, &["0"], &[]);
    let login = bench.readings("J-1").pop().unwrap()["by"].clone();
    assert!(login.is_string() && login != "M. Weber" && login != "Ada", "{login}");
    // A person stays over a restart.
    bench.ok(&["person", "M. Weber"]);
    bench.kill();
    bench.start();
    bench.ok(&["confirm", "ring/clean", "no"]);
    let verdict = bench.lines(&["verdicts", "J-1", "--check", "clean"]).pop().unwrap();
    assert_eq!(verdict["by"], "M. Weber");
    let alert = bench.lines(&["alerts", "J-1", "--state", "open"]).pop().unwrap();
    bench.ok(&["ack", &alert["id"].to_string(), "--by", "Ada"]);
    let seen = bench.lines(&["alerts", "J-1", "--state", "seen"]).pop().unwrap();
    assert_eq!(seen["acked_by"], "Ada");
    assert!(bench.ok(&["verify"]).contains("All is as it was stored"));
}

#[test]
fn the_report_names_who_measured_and_who_checked_and_not_who_opened() {
    let mut bench = bench();
    bench.start();
    bench.ok(&["job", "open", "J-1", "--plan", "held", "--by", "Office"]);
    bench.ok(&["measure", "ring/face"]);
    enter(&bench, &RING, &["--by", "Ada"]);
    let page = |job: &str| {
        let path = bench.path("page.html");
        bench.ok(&["report", job, "--out", path.to_str().unwrap()]);
        let text = std::fs::read_to_string(path).unwrap();
        let front = text.split("<dt>Measured by</dt>").nth(1).unwrap();
        front.split("Rule agreed").next().unwrap().to_owned()
    };
    let told = page("J-1");
    assert!(told.contains("Ada") && !told.contains("Office"), "{told}");
    // Whoever measured it all is no second person, and that is said.
    bench.refused(2, &["checked", "J-1", "--by", "Ada"]);
    bench.ok(&["checked", "J-1", "--by", "Ada", "--why", "the rest is seen on Friday"]);
    assert!(page("J-1").contains("no second person"), "{}", page("J-1"));
    bench.ok(&["confirm", "ring/clean", "yes", "--by", "Bo"]);
    let told = page("J-1");
    assert!(told.contains("Ada") && told.contains("ring/face") && told.contains("Bo"), "{told}");
    assert!(told.contains("of an earlier state"), "{told}");
    bench.ok(&["job", "close", "J-1"]);
    bench.ok(&["checked", "J-1", "--by", "M. Weber"]);
    assert!(page("J-1").contains("M. Weber"), "a closed job is checked, too");
    let job = bench.lines(&["job", "show", "J-1"]).pop().unwrap();
    assert_eq!(job["checked"][1]["by"], "M. Weber");
    // Handed on and taken over, it is all still there.
    let bundle = bench.path("bundle");
    bench.ok(&["export", "J-1", "--out", bundle.to_str().unwrap()]);
    let mut other = self::bench();
    other.start();
    other.stop();
    other.ok(&["import", bundle.to_str().unwrap()]);
    let job = other.lines(&["job", "show", "J-1"]).pop().unwrap();
    assert_eq!(job["checked"][1]["by"], "M. Weber");
    assert_eq!(other.lines(&["verdicts", "J-1"])[0]["by"], "Ada");
}
