//! Records that this program did not write like this: a sentence about it, and nothing else is held up.

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
    file.pragma_update(None, "user_version", 0).unwrap();
    file.close().unwrap();
    let before = fs::read(&path).unwrap();
    let says = |said: &str| {
        assert!(said.contains("earlier version of tenths"), "{said}");
        assert!(said.contains("hint: "), "{said}");
    };
    says(&bench.refused_serve(2));
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

const NO_PIN: &str = "UPDATE pinned SET text = replace(text, '\"rule\"', '\"rual\"')";

const NO_REASON: &str =
    "UPDATE fact SET body = replace(body, '\"reason\":\"first\"', '\"reason\":\"grnd\"')";

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
    assert!(said.contains("fact, row ") && said.contains("judged with"), "{said}");
    assert!(said.contains("hint: "), "{said}");
    let status = bench.heard().unwrap();
    let aside = status["set_aside"].as_array().unwrap();
    assert!(aside.iter().any(|aside| aside["what"] == "J-1"), "{status}");
    assert_eq!(status["storage"]["state"], "fine", "the record can be written");
    assert!(bench.ok(&["job", "list"]).contains("set aside: damaged"));
    let said = bench.refused(3, &["report", "J-1"]);
    assert!(said.contains("judged with"), "{said}");
    the_rest_works(&bench, "J-2");
    // The other job was judged with the same, which is put right by that.
    bench.ok(&["report", "J-1", "--out", bench.path("page.html").to_str().unwrap()]);
}

#[test]
fn an_open_job_with_a_damaged_attempt_is_set_aside_at_start_and_the_rest_works() {
    let mut bench = bench();
    bench.start();
    ring(&bench, "J-1");
    bench.stop();
    damage(&bench.path("state/tenths.db"), NO_REASON);
    bench.start();
    let told = bench.lines(&["alerts", "--kind", "record-damaged"]);
    let alert = &told[0];
    assert!(alert["text"].as_str().unwrap().starts_with("J-1 is set aside"), "{alert}");
    let said = bench.refused(2, &["job", "use", "J-1"]);
    assert!(said.contains("set aside") && said.contains("fact, row"), "{said}");
    assert!(!bench.run(&["status"]).status.success());
    the_rest_works(&bench, "J-2");
    // Seen or not, it stays told, over a restart too, and is not told twice.
    bench.ok(&["ack", &alert["id"].to_string()]);
    bench.stop();
    bench.start();
    assert_eq!(bench.heard().unwrap()["set_aside"][0]["what"], "J-1");
    assert_eq!(bench.lines(&["alerts", "--kind", "record-damaged"]).len(), told.len());
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
        "UPDATE pinned SET text = replace(text, 'measures', 'meazures')",
        "UPDATE fact SET body = replace(body, '\"plan_name\":\"held\"', '\"plan_name\":\"\"')",
        "UPDATE fact SET body = replace(body, '\"reason\":\"first\"', '\"reason\":\"grnd\"')",
        "UPDATE fact SET body = replace(body, '\"check\":0', '\"check\":-1')",
        "DELETE FROM pinned",
        "UPDATE fact SET job = 1 WHERE kind = 'verdict'",
        "UPDATE fact SET attempt = NULL WHERE kind = 'verdict'",
        "DELETE FROM pending",
        "UPDATE form SET unit = 'ell'",
        "UPDATE form SET counts = 'x'",
        "UPDATE form SET by_whom = 'a/b'",
        "UPDATE reading SET place = 7000000000000000",
        "UPDATE fact SET key = 'conforns' WHERE kind = 'verdict'",
        "UPDATE fact SET body = substr(body, 2) WHERE kind = 'verdict'",
        "UPDATE fact SET kind = 'endd' WHERE kind = 'attempt-ended'",
        "UPDATE fact SET body = '' WHERE kind IN ('noted', 'attempt-ended')",
        "UPDATE fact SET key = 'a/b' WHERE kind IN ('job-active', 'check-active')",
        "UPDATE fact SET by_whom = 'a/b'",
        "UPDATE fact SET by_whom = CAST(x'ff' AS TEXT) WHERE kind = 'attempt-began'",
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
        // What is open follows from the facts: the start makes the list of it again, and says so.
        let mended = sql.contains("pending");
        let alerts = said(&bench, "alerts --kind record-damaged").1;
        assert_eq!(alerts.contains("made again"), mended, "{sql}: {alerts}");
        let found = bench.run(&["verify"]);
        assert_eq!(found.status.code(), Some(i32::from(!mended)), "{sql}");
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

/// A second plan, so that two jobs share neither plan nor pin.
const OTHER_PLAN: &str = r#"
name = "other"
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
radius = "2 in"
tolerance = "0.0002 in"
"#;

/// A ring keyed in by somebody, by a plan.
fn ring_by(bench: &Bench, job: &str, plan: &str, serial: &str) {
    bench.ok(&["job", "open", job, "--plan", plan, "--serial", serial]);
    ring_of_open_job(bench);
}

fn two_jobs(bench: &mut Bench) {
    fs::write(bench.path("plans/other.toml"), OTHER_PLAN).unwrap();
    bench.start();
    ring_by(bench, "J-1", "held", "S-1");
    ring_by(bench, "J-2", "other", "S-1");
    ring_by(bench, "J-3", "other", "S-1");
}

/// What a command printed and said, with its exit code.
fn said(bench: &Bench, asked: &str) -> (i32, String, String) {
    let output = bench.run(&asked.split(' ').collect::<Vec<_>>());
    let text = |bytes| String::from_utf8(bytes).unwrap();
    (output.status.code().unwrap(), text(output.stdout), text(output.stderr))
}

#[test]
fn a_damaged_job_or_plan_is_named_in_every_answer_and_the_others_are_in_it() {
    let mut bench = bench();
    two_jobs(&mut bench);
    bench.stop();
    let path = bench.path("state/tenths.db");
    let whole = fs::read(&path).unwrap();
    let of_others = |line: &&str| !line.contains("\"J-1\"");
    for (sql, table) in [
        (
            "UPDATE fact SET body = replace(body, '\"plan_name\":\"held\"', '\"plan_name\":\"\"')
             WHERE key = 'J-1'",
            "job-opened",
        ),
        (
            "UPDATE fact SET body = replace(body, '\"rule\":\"', '\"rule\":\"x') WHERE key = 'J-1'",
            "job-opened",
        ),
        ("UPDATE fact SET by_whom = 'a/b' WHERE key = 'J-1'", "a/b"),
        (
            "UPDATE pinned SET text = replace(text, 'measures', 'meazures') WHERE text LIKE '%\"held\"%'",
            "its plan",
        ),
        // It can be read, and is not what the job was opened with.
        (
            "UPDATE pinned SET text = replace(text, '0.0001', '0.0009') WHERE text LIKE '%\"held\"%'",
            "its plan",
        ),
        ("UPDATE pinned SET digest = x'00' WHERE text LIKE '%\"held\"%'", "its plan"),
    ] {
        fs::write(&path, &whole).unwrap();
        let asked = ["job list", "readings", "verdicts", "alerts", "job compare J-2 J-3"];
        let json = |asked: &str| format!("{asked} --json");
        let before = asked.map(|asked| said(&bench, &json(asked)));
        damage(&path, sql);
        for (asked, (_, all, _)) in asked.iter().zip(&before) {
            let (exit, out, err) = said(&bench, &json(asked));
            let others: Vec<&str> = all.lines().filter(of_others).collect();
            let got: Vec<&str> = out.lines().filter(of_others).collect();
            if out == *all {
                let rests_on_plan = ["job list", "readings", "verdicts"].contains(asked);
                assert!(!sql.contains("pinned SET") || !rests_on_plan, "{sql}: {asked}: {err}");
            } else if asked.contains("compare") {
                // The third job of the spindle would stand in it.
                assert!(out.contains("J-2") && out.contains("J-3"), "{sql}: {asked}: {out}");
            } else {
                assert_eq!(got, others, "{sql}: {asked}: {err}");
            }
            let told = err.contains("\"error/1\"") || err.starts_with("tenths: ");
            assert!(told || out == *all, "{sql}: {asked}: {err:?}");
            if told {
                assert_eq!(exit, 3, "{sql}: {asked}");
                assert!(
                    err.contains("fact, row 4") && err.contains(table),
                    "{sql}: {asked}: {err}"
                );
            }
        }
        let (exit, table, err) = said(&bench, "job list");
        assert_eq!(exit, 3, "{sql}");
        let row =
            table.lines().find(|line| line.contains("J-1")).unwrap_or_else(|| panic!("{table}"));
        assert!(row.contains("damaged"), "{sql}: {row}");
        assert!(table.lines().any(|line| line.contains("J-2") && line.contains("open")), "{table}");
        assert!(err.starts_with("tenths: the record is damaged: fact, row 4"), "{err}");
        let page = bench.path("page.html");
        let (exit, _, err) = said(&bench, &format!("report J-2 --out {}", page.display()));
        assert!(exit == 3 && err.contains("fact, row 4"), "{sql}: {exit} {err}");
        assert!(fs::read_to_string(&page).unwrap().contains("J-2"));
        let out = bench.path("bundle");
        bench.ok(&["export", "J-3", "--out", out.to_str().unwrap()]);
        fs::remove_dir_all(out).unwrap();
        assert_eq!(bench.run(&["verify"]).status.code(), Some(1), "{sql}");
    }
}

/// The numbers of all rows of the record, each once.
const ALL_NUMBERS: &str = "SELECT count(*) - count(DISTINCT seq) FROM
    (SELECT seq FROM fact UNION ALL SELECT job + nth FROM reading)";

#[test]
fn a_damaged_counter_is_told_at_start_and_no_number_is_given_twice() {
    let mut bench = bench();
    two_jobs(&mut bench);
    bench.stop();
    let path = bench.path("state/tenths.db");
    let whole = fs::read(&path).unwrap();
    for sql in [
        "UPDATE counter SET last = last - 3",
        "UPDATE counter SET last = 1",
        "UPDATE counter SET last = -7",
        "UPDATE counter SET last = last + 400",
        "UPDATE counter SET last = 9223372036854775807",
        "UPDATE counter SET feed = feed - 1",
        "UPDATE counter SET feed = 0",
        "UPDATE counter SET feed = 9223372036854775807",
        "UPDATE counter SET feed = feed + 5",
        "DELETE FROM counter",
        "UPDATE counter SET head = x''",
        "UPDATE fact SET line = NULL WHERE line = (SELECT max(line) FROM fact)",
        "DELETE FROM fact WHERE key = 'J-3'",
        "DELETE FROM fact WHERE seq = (SELECT max(seq) FROM fact WHERE kind = 'verdict')",
        "DELETE FROM fact WHERE seq > (SELECT max(seq) - 6 FROM fact)",
    ] {
        fs::write(&path, &whole).unwrap();
        let before = said(&bench, "verdicts J-1 --json").1;
        damage(&path, sql);
        let count = |sql: &str| -> i64 {
            let file = rusqlite::Connection::open(&path).unwrap();
            file.query_row(sql, [], |row| row.get(0)).unwrap()
        };
        // What is damaged may have the number of another row by itself.
        let twice = count(ALL_NUMBERS);
        bench.start();
        let ring_of = |job| {
            ring_by(&bench, job, "held", "S-9");
            assert_eq!(bench.verdict(job, 1)["verdict"], "conforms", "{sql}");
            assert_eq!(bench.lines(&["readings", job]).len(), 9, "{sql}");
        };
        ring_of("NEW-1");
        assert_eq!(bench.heard().unwrap()["storage"]["state"], "fine", "{sql}");
        bench.stop();
        assert_eq!(said(&bench, "verdicts J-1 --json").1, before, "{sql}");
        assert_eq!(count(ALL_NUMBERS), twice, "{sql}");
        assert_eq!(count("SELECT count(line) - count(DISTINCT line) FROM fact"), 0, "{sql}");
        if sql.contains("counter") && !sql.contains("head") || sql.contains("J-3") {
            let alerts = said(&bench, "alerts --kind record-damaged --json").1;
            let table = if sql.contains("J-3") { "row 35" } else { "counter" };
            assert!(alerts.contains(table), "{sql}: {alerts}");
        } else {
            assert_eq!(bench.run(&["verify"]).status.code(), Some(1), "{sql}");
        }
    }
}

#[test]
fn rows_that_vanish_while_the_service_runs_set_their_job_aside_and_nothing_else() {
    for sql in [
        "DELETE FROM fact WHERE seq = (SELECT max(seq) FROM fact WHERE kind = 'attempt-began')",
        "DELETE FROM fact WHERE key = 'J-3'",
    ] {
        let mut bench = bench();
        two_jobs(&mut bench);
        bench.ok(&["remeasure", "again", "ring/face"]);
        bench.ok(&["enter", "--graduation", "0.00001in", "0", "1", "2"]);
        let path = bench.path("state/tenths.db");
        damage(&path, sql);
        let (exit, _, err) = said(&bench, "enter --graduation 0.00001in 3 2");
        assert!(exit != 0 && exit != 70, "{sql}: {exit}: {err}");
        assert!(err.starts_with("tenths: ") && err.contains("J-3"), "{sql}: {err}");
        // A frame after that belongs to no job, and is kept.
        let readings = said(&bench, "readings --json").1.lines().count();
        bench.touches(&bench.plate, "plate", &["0.00012"]);
        bench.until("the frame is stored", || {
            let out = said(&bench, "readings --json").1;
            out.lines().count() > readings
        });
        let status = bench.heard().unwrap();
        let aside = status["set_aside"].as_array().unwrap();
        assert!(aside.iter().any(|aside| aside["what"] == "J-3"), "{sql}: {status}");
        bench.ok(&["job", "use", "J-2"]);
        bench.ok(&["note", "J-2", "it goes on"]);
        ring_by(&bench, "J-4", "held", "S-4");
        assert_eq!(bench.verdict("J-4", 1)["verdict"], "conforms");
        bench.stop();
        bench.start();
        ring_by(&bench, "J-5", "held", "S-4");
        bench.stop();
        assert_eq!(bench.run(&["verify"]).status.code(), Some(1), "{sql}");
    }
}

#[test]
fn a_damaged_plan_is_told_and_put_right_when_a_job_is_opened_with_it_again() {
    let mut bench = bench();
    bench.start();
    ring_by(&bench, "J-1", "held", "S-1");
    let path = bench.path("state/tenths.db");
    damage(&path, "UPDATE pinned SET text = replace(text, '0.0001', '0.0009')");
    let said = bench.refused(3, &["report", "J-1"]);
    assert!(said.contains("its plan is not the text"), "{said}");
    ring_by(&bench, "J-2", "held", "S-2");
    let alert = bench.lines(&["alerts", "--kind", "record-damaged"]).pop().unwrap();
    let text = alert["text"].as_str().unwrap();
    assert!(text.contains("text of a plan") && text.contains("J-1"), "{text}");
    assert_eq!(bench.verdict("J-2", 1)["tolerance"], "0.0001");
    bench.stop();
    bench.start();
    for job in ["J-1", "J-2"] {
        bench.ok(&["job", "use", job]);
        assert_eq!(bench.verdict(job, 1)["tolerance"], "0.0001");
        let page = bench.path("page.html");
        bench.ok(&["report", job, "--out", page.to_str().unwrap()]);
        assert!(!fs::read_to_string(&page).unwrap().contains("0.0009"));
    }
    bench.stop();
    bench.ok(&["verify"]);
}
