//! Records that are not as this program makes them: a sentence, and nothing else is held up.

use std::fs;

use std::path::Path;

use crate::rig::{Bench, Make, RING_PLAN};

fn bench() -> Bench {
    Bench::new(&Make {
        gauge: "resolution = \"0.00001 in\"\nuncertainty = \"0.000009 in\"",
        more: "",
        plan: RING_PLAN,
    })
}

#[test]
fn a_record_of_an_earlier_version_is_refused_everywhere_and_left_as_it_is() {
    let mut bench = bench();
    bench.start();
    bench.ok(&["job", "open", "J-1", "--plan", "held"]);
    bench.stop();
    let path = bench.path("state/tenths.db");
    let file = rusqlite::Connection::open(&path).unwrap();
    file.pragma_update(None, "user_version", 3).unwrap();
    file.close().unwrap();
    let before = fs::read(&path).unwrap();
    let says = |said: &str| {
        assert!(said.contains("earlier version of tenths"), "{said}");
        assert!(said.contains("hint: "), "{said}");
    };
    says(&bench.refused_serve());
    for asked in ["readings", "verdicts", "alerts", "verify", "report J-1"] {
        says(&bench.refused(3, &asked.split(' ').collect::<Vec<_>>()));
    }
    let copy = bench.path("copy.db");
    fs::rename(&path, &copy).unwrap();
    says(&bench.refused(2, &["restore", copy.to_str().unwrap()]));
    assert_eq!(fs::read(&copy).unwrap(), before, "the file stays as it is");
    // What the hint says: with the file elsewhere a new record begins.
    bench.start();
    bench.ok(&["job", "open", "J-1", "--plan", "held"]);
}

fn damage(path: &Path, sql: &str) {
    let file = rusqlite::Connection::open(path).unwrap();
    file.execute_batch(sql).unwrap();
    file.close().unwrap();
}

/// A ring keyed in: one attempt with its readings and its verdict.
fn ring(bench: &Bench, job: &str) {
    bench.ok(&["job", "open", job, "--plan", "held"]);
    bench.ok(&["measure", "ring/face"]);
    let mut enter = vec!["enter", "--graduation", "0.00001in"];
    enter.extend(["0", "1", "2", "3", "2", "1", "0", "1", "0"]);
    bench.ok(&enter);
    bench.ok(&["note", job, "came in dirty"]);
}

/// Other jobs are opened, measured and told of, and the service is not in trouble.
fn the_rest_works(bench: &Bench, job: &str) {
    ring(bench, job);
    assert_eq!(bench.verdict(job, 1)["verdict"], "conforms");
    bench.ok(&["report", job, "--out", bench.path("page.html").to_str().unwrap()]);
    assert_eq!(bench.heard().unwrap()["storage"]["state"], "fine");
}

const NO_PIN: &str = "UPDATE pin SET body = replace(body, '\"rule\"', '\"rual\"')";

#[test]
fn a_closed_job_with_a_damaged_pin_is_refused_by_name_and_nobody_else_waits() {
    let mut bench = bench();
    bench.start();
    ring(&bench, "J-1");
    bench.ok(&["job", "close", "J-1"]);
    bench.stop();
    damage(&bench.path("state/tenths.db"), NO_PIN);
    bench.start();
    let said = bench.refused(3, &["job", "reopen", "J-1"]);
    assert!(said.contains("attempt, row ") && said.contains("pin 1"), "{said}");
    assert!(said.contains("hint: "), "{said}");
    let status = bench.heard().unwrap();
    assert_eq!(status["set_aside"][0]["what"], "J-1");
    assert_eq!(status["storage"]["state"], "fine", "the record can be written");
    assert!(bench.ok(&["job", "list"]).contains("set aside: damaged"));
    the_rest_works(&bench, "J-2");
    let said = bench.refused(3, &["report", "J-1"]);
    assert!(said.contains("pin 1"), "{said}");
}

#[test]
fn an_open_job_with_a_damaged_pin_is_set_aside_at_start_and_the_rest_works() {
    let mut bench = bench();
    bench.start();
    ring(&bench, "J-1");
    bench.stop();
    damage(&bench.path("state/tenths.db"), NO_PIN);
    bench.start();
    let alert = bench.lines(&["alerts", "--kind", "record-damaged"]).pop().unwrap();
    assert!(alert["text"].as_str().unwrap().starts_with("J-1 is set aside"), "{alert}");
    let said = bench.refused(2, &["job", "use", "J-1"]);
    assert!(said.contains("set aside") && said.contains("pin 1"), "{said}");
    assert!(!bench.run(&["status"]).status.success());
    the_rest_works(&bench, "J-2");
    // Seen or not, it stays told, over a restart too, and is not told twice.
    bench.ok(&["ack", &alert["id"].to_string()]);
    bench.stop();
    bench.start();
    assert_eq!(bench.heard().unwrap()["set_aside"][0]["what"], "J-1");
    assert_eq!(bench.lines(&["alerts", "--kind", "record-damaged"]).len(), 1);
}

#[test]
fn whatever_is_damaged_nothing_waits_for_ever_and_other_jobs_go_on() {
    let mut bench = bench();
    bench.start();
    ring(&bench, "OPEN");
    bench.ok(&["job", "open", "CLOSED", "--plan", "held"]);
    ring_of_open_job(&bench);
    bench.ok(&["job", "close", "CLOSED"]);
    bench.stop();
    let path = bench.path("state/tenths.db");
    let whole = fs::read(&path).unwrap();
    for sql in [
        "UPDATE plan SET text = replace(text, 'measures', 'meazures')",
        "UPDATE job SET plan_name = ''",
        "UPDATE attempt SET reason = 'grnd'",
        "UPDATE attempt SET chk = -1",
        "PRAGMA foreign_keys = OFF; UPDATE attempt SET pin = 99",
        "UPDATE form SET unit = 'ell'",
        "UPDATE form SET counts = 'x'",
        "UPDATE form SET by_whom = 'a/b'",
        "UPDATE reading SET place = 7000000000000000",
        "UPDATE verdict SET word = 'conforns'",
        "UPDATE verdict SET body = substr(body, 2)",
        "UPDATE step SET kind = 'notd' WHERE kind = 'noted'",
        "UPDATE step SET text = NULL WHERE kind IN ('noted', 'attempt-ended')",
        "UPDATE step SET station = 'a/b' WHERE station IS NOT NULL",
        "UPDATE step SET by_whom = 'a/b'",
        "UPDATE attempt SET by_whom = CAST(x'ff' AS TEXT)",
    ] {
        fs::write(&path, &whole).unwrap();
        damage(&path, sql);
        bench.start();
        for asked in ["job reopen CLOSED", "readings OPEN", "verdicts CLOSED", "report OPEN"] {
            let output = bench.run(&asked.split(' ').collect::<Vec<_>>());
            let err = String::from_utf8(output.stderr).unwrap();
            assert!(
                output.status.success() || err.starts_with("tenths: "),
                "{sql}: {asked}: {err}"
            );
            assert!(!err.contains("cannot be written"), "{sql}: {asked}: {err}");
        }
        let found = bench.run(&["verify"]);
        assert_eq!(found.status.code(), Some(1), "{sql}");
        ring(&bench, "OTHER");
        assert_eq!(bench.heard().unwrap()["storage"]["state"], "fine", "{sql}");
        bench.stop();
    }
}

fn ring_of_open_job(bench: &Bench) {
    bench.ok(&["measure", "ring/face"]);
    let mut enter = vec!["enter", "--graduation", "0.00001in"];
    enter.extend(["0", "1", "2", "3", "2", "1", "0", "1", "0"]);
    bench.ok(&enter);
}
