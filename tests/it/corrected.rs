//! What was mistyped when a job was opened is corrected by a new fact; what was written first stays.

use std::fs;

use crate::rig::{Bench, Make, RING_PLAN};

const GAUGE: &str = "unit = \"in\"\nresolution = \"0.00001 in\"\nrepeat_ms = 0\nmax_rate = 0";

fn bench() -> Bench {
    let mut bench = Bench::new(&Make { gauge: GAUGE, more: "", plan: RING_PLAN });
    bench.start();
    let opens = ["--plan", "held", "--serial", "SP-7", "--customer", "Mil 4"];
    bench.ok(&[&["job", "open", "J-1"][..], &opens].concat());
    bench
}

#[track_caller]
fn report(bench: &Bench, job: &str) -> String {
    bench.ok(&["report", job])
}

#[test]
fn a_mistyped_serial_is_corrected_and_both_stay_in_the_record() {
    let bench = bench();
    let why = "a 1 read for a 7";
    let said = bench.ok(&["job", "edit", "J-1", "--serial", "SP-1", "--by", "Ada", "--why", why]);
    assert!(said.contains("serial SP-1, was SP-7"), "{said}");
    bench.ok(&["job", "edit", "J-1", "--customer", "Mill 4"]);

    // Everything that shows the job shows the newer one, and that it was corrected.
    let job = &bench.lines(&["job", "show", "J-1"])[0];
    assert_eq!((&job["serial"], &job["customer"]), (&"SP-1".into(), &"Mill 4".into()));
    let edits = job["edits"].as_array().unwrap();
    assert_eq!(edits.len(), 2, "{job}");
    assert_eq!(edits[0]["was"], "SP-7", "{job}");
    assert_eq!((&edits[0]["by"], &edits[0]["why"]), (&"Ada".into(), &why.into()));
    let shown = bench.ok(&["job", "show", "J-1"]);
    assert!(shown.contains("serial SP-1, for Mill 4"), "{shown}");
    assert!(shown.contains("serial SP-1, was SP-7: a 1 read for a 7"), "{shown}");
    let page = report(&bench, "J-1");
    let told = |what: &str| page.contains(what);
    assert!(told("<dt>Serial</dt><dd><bdi>SP-1</bdi></dd>"), "the front says so");
    assert!(told("<dt>Serial corrected</dt>") && told("<bdi>SP-1, was SP-7</bdi>"), "and so");

    // It is found by what it is called now, not by what it was called.
    assert_eq!(bench.lines(&["job", "list", "--serial", "sp-1"]).len(), 1);
    assert_eq!(bench.lines(&["job", "list", "--customer", "mill"]).len(), 1);
    assert_eq!(bench.lines(&["job", "show", "SP-1"])[0]["name"], "J-1");
    bench.refused(2, &["job", "list", "--serial", "SP-7"]);
    let verified = bench.lines(&["verify"]);
    assert_eq!(verified[0]["differences"].as_array().unwrap().len(), 0, "{verified:?}");
}

#[test]
fn a_correction_that_corrects_nothing_is_refused() {
    let bench = bench();
    let same = bench.refused(2, &["job", "edit", "J-1", "--serial", "SP-7"]);
    assert!(same.contains("nothing was corrected"), "{same}");
    for wrong in [
        &["job", "edit", "J-1"][..],
        &["job", "edit", "J-1", "--serial", ""],
        &["job", "edit", "J-1", "--serial", " "],
        &["job", "edit", "J-1", "--serial", "a\nb"],
        &["job", "edit", "J-2", "--serial", "SP-1"],
    ] {
        let said = bench.refused_usage(wrong);
        assert!(said.contains("tenths: "), "{wrong:?}: {said}");
    }
    assert_eq!(bench.lines(&["job", "show", "J-1"])[0]["edits"].as_array().unwrap().len(), 0);
}

#[test]
fn a_closed_job_is_corrected_too_and_a_signature_shows_that_it_was() {
    let mut bench = bench();
    bench.ok(&["sign", "J-1", "measured", "--by", "Ada", "--why", "nothing to measure"]);
    bench.ok(&["job", "close", "J-1", "--why", "sent back"]);
    bench.ok(&["job", "edit", "J-1", "--serial", "SP-1"]);
    let job = &bench.lines(&["job", "show", "J-1"])[0];
    assert_eq!((&job["state"], &job["serial"]), (&"closed".into(), &"SP-1".into()));
    assert_eq!(job["signed"][0]["of_an_earlier_state"], true, "{job}");

    // It stays so over a restart, and when the job is open again.
    bench.stop();
    bench.start();
    bench.ok(&["job", "reopen", "J-1"]);
    bench.refused(2, &["job", "edit", "J-1", "--serial", "SP-1"]);
    bench.ok(&["job", "edit", "J-1", "--serial", "SP-11"]);
    let edits = bench.lines(&["job", "show", "J-1"])[0]["edits"].clone();
    assert_eq!((&edits[1]["was"], &edits[1]["text"]), (&"SP-1".into(), &"SP-11".into()));
}

#[test]
fn another_bench_gets_the_correction_with_the_job() {
    let mut bench = bench();
    bench.ok(&["job", "edit", "J-1", "--serial", "SP-1", "--why", "mistyped"]);
    let folder = bench.path("bundle");
    bench.ok(&["export", "J-1", "--out", folder.to_str().unwrap()]);
    bench.stop();

    let mut other = Bench::new(&Make { gauge: GAUGE, more: "", plan: RING_PLAN });
    other.ok(&["import", folder.to_str().unwrap()]);
    other.start();
    let job = &other.lines(&["job", "show", "SP-1"])[0];
    assert_eq!((&job["name"], &job["serial"]), (&"J-1".into(), &"SP-1".into()));
    assert_eq!(job["edits"][0]["was"], "SP-7", "{job}");
    // Handed on again it is the same, byte for byte.
    let again = other.path("again");
    other.ok(&["export", "J-1", "--out", again.to_str().unwrap()]);
    for file in ["record.jsonl", "report.html"] {
        let read = |folder: &std::path::Path| fs::read(folder.join(file)).unwrap();
        assert_eq!(read(&folder), read(&again), "{file}");
    }
}
