//! What a script reads when a command could not do what it was asked, and which commands of a person work
//! although no configuration can be read.

use std::fs;

use serde_json::Value;

use crate::rig::{Bench, Follower, Make, RING_PLAN};

const GAUGE: &str = "unit = \"in\"\nresolution = \"0.00001 in\"\nrepeat_ms = 0\nmax_rate = 0";

fn bench() -> Bench {
    Bench::new(&Make { gauge: GAUGE, more: "", plan: RING_PLAN })
}

/// The one line on standard error.
#[track_caller]
fn error(bench: &Bench, exit: i32, arguments: &[&str]) -> Value {
    let output = bench.run(&[arguments, &["--json"]].concat());
    let err = String::from_utf8(output.stderr).unwrap();
    assert_eq!(output.status.code(), Some(exit), "{arguments:?}: {err}");
    assert!(output.stdout.is_empty(), "{arguments:?}");
    assert_eq!(err.lines().count(), 1, "{arguments:?}: {err}");
    let line: Value = serde_json::from_str(&err).unwrap_or_else(|why| panic!("{why}: {err}"));
    assert_eq!(line["schema"], "error/1");
    assert_eq!(line["exit"], exit, "{line}");
    // A person reads the same, as sentences.
    let output = bench.run(arguments);
    let told = String::from_utf8(output.stderr).unwrap();
    assert_eq!(output.status.code(), Some(exit), "{arguments:?}: {told}");
    let first = told.lines().find(|line| line.starts_with("tenths: ")).unwrap();
    let text = line["text"].as_str().unwrap();
    assert!(text.starts_with(first.trim_start_matches("tenths: ")), "{told} {line}");
    if let Some(hint) = line["hint"].as_str() {
        assert!(told.contains(&format!("hint: {hint}\n")), "{told} {line}");
    }
    line
}

#[test]
fn a_script_reads_an_error_as_one_line() {
    let mut bench = bench();
    let line = error(&bench, 3, &["measure", "ring/face"]);
    assert_eq!(line["code"], "unreachable");
    assert_eq!(error(&bench, 3, &["status"])["code"], "unreachable");
    bench.start();
    let line = error(&bench, 2, &["measure", "ring/face"]);
    assert_eq!((&line["code"], &line["place"]), (&Value::from("refused"), &Value::Null));
    bench.ok(&["job", "open", "J-1", "--plan", "held"]);
    for refused in [
        &["measure", "ring/bore"][..],
        &["enter", "0.1 furlong"],
        &["verdicts", "J-2"],
        &["report", "J-2"],
        &["ack", "77"],
        &["job", "close"],
        &["evaluate", "nowhere.csv", "--measures", "flatness"],
        &["verify", "nowhere.db"],
    ] {
        let exit = if refused[0] == "verify" { 3 } else { 2 };
        let line = error(&bench, exit, refused);
        let code = if exit == 3 { "unreachable" } else { "refused" };
        assert_eq!(line["code"], code, "{refused:?}: {line}");
    }
    // What was typed wrongly.
    let line = error(&bench, 2, &["measure", "--nonsense"]);
    assert_eq!(line["code"], "usage");
    assert!(line["text"].as_str().unwrap().contains("--nonsense"), "{line}");
    assert_eq!(error(&bench, 2, &["nonsense"])["code"], "usage");
    bench.stop();
}

#[test]
fn an_error_in_a_file_names_its_place() {
    let bench = bench();
    fs::write(bench.path("bench.toml"), "[bench]\nname = \"rig\"\nunit = in\n").unwrap();
    let line = error(&bench, 2, &["verdicts"]);
    assert_eq!(line["code"], "configuration");
    let file = line["place"]["file"].as_str().unwrap();
    assert!(file.ends_with("bench.toml"), "{line}");
    assert_eq!(line["place"]["line"], 3, "{line}");
}

#[test]
fn without_a_readable_configuration_the_state_folder_can_be_named() {
    let mut bench = bench();
    bench.start();
    bench.ok(&["job", "open", "J-1", "--plan", "held"]);
    bench.ok(&["measure", "ring/face"]);
    let ring = ["0.00001", "0.00002", "0.00003", "0.00002", "0.00001", "0", "0", "0", "0.00001"];
    bench.ok(&[&["enter"][..], &ring].concat());
    let table = bench.ok(&["verdicts", "J-1"]);
    let good = fs::read_to_string(bench.path("bench.toml")).unwrap();
    // Somebody is just writing in it, and the line that names the folder is not there any more.
    fs::write(bench.path("bench.toml"), "[bench]\nname = \"rig\"\n[[gauge]\nunit = in\n").unwrap();
    for arguments in [
        &["verdicts", "J-1"][..],
        &["readings", "J-1"],
        &["alerts"],
        &["job", "list"],
        &["job", "show", "J-1"],
        &["report", "J-1"],
        &["verify"],
        &["tail", "--since", "0"],
        &["status"],
        &["note", "J-1", "hello"],
    ] {
        let said = bench.refused(2, arguments);
        assert!(said.contains("bench.toml:3: error"), "{arguments:?}: {said}");
        assert!(said.contains("--state-folder FOLDER"), "{arguments:?}: {said}");
    }
    let state = bench.state.to_str().unwrap().to_owned();
    let named = |arguments: &[&str]| {
        let all = [arguments, &["--state-folder", &state]].concat();
        bench.ok(&all)
    };
    assert_eq!(named(&["verdicts", "J-1"]), table);
    for arguments in [
        &["readings", "J-1"][..],
        &["alerts"],
        &["job", "list"],
        &["job", "show", "J-1"],
        &["report", "J-1"],
        &["verify"],
        &["note", "J-1", "hello"],
        &["status"],
    ] {
        assert!(!named(arguments).is_empty(), "{arguments:?}");
    }
    // Nor where there is no file at all.
    fs::remove_file(bench.path("bench.toml")).unwrap();
    assert_eq!(named(&["verdicts", "J-1"]), table);
    let tail = bench.spawn(&["tail", "--since", "0", "--json", "--state-folder", &state]);
    let tail = Follower::of(tail);
    bench.until("it is told", || {
        tail.seen().iter().any(|line| line["verdict"]["verdict"] == "conforms")
    });
    drop(tail);
    // What needs the file says so.
    let said = bench.refused(2, &["serve", "--state-folder", &state]);
    assert!(said.contains("serve") && said.contains("state ="), "{said}");
    fs::write(bench.path("bench.toml"), good).unwrap();
    bench.stop();
}
