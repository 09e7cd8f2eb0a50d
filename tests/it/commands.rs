//! Every command from outside: exit codes, sentences, JSON, several stations, the bare socket, and
//! input from outside on its way to a terminal.

use std::fs;
use std::process::Stdio;
use std::time::{Duration, Instant};

use serde_json::Value;

use crate::rig::{Bench, Follower, Gauge, Make, Wire};

const GAUGE: &str = "unit = \"in\"\nresolution = \"0.00001 in\"\nuncertainty = \"0.0000084 in\"\n\
                     repeat_ms = 0\nmax_rate = 0";

fn check(name: &str, gauge: &str) -> String {
    format!(
        "[[part.check]]\nname = \"{name}\"\nmeasures = \"parallelism\"\ngauge = \"{gauge}\"\n\
         setup = \"plate\"\nmoves = \"stand\"\npositions = 8\nradius = \"1.5 in\"\n\
         tolerance = \"0.0001 in\"\nclosure = false\n"
    )
}

const PART: &str = "name = \"held\"\nunit = \"in\"\n[[part]]\nname = \"ring\"\nkind = \"spacer\"\n";

fn plan() -> String {
    format!("{PART}{}{}", check("face", "plate"), check("back", "plate"))
}

/// A ring that conforms, keyed in on one line.
const RING: [&str; 9] =
    ["enter", "0", "0.00001", "0.00002", "0.00002", "0.00001", "0.00000", "-0.00001", "0.00001"];

fn started() -> Bench {
    let mut bench = Bench::new(&Make { gauge: GAUGE, more: "", plan: &plan() });
    bench.start();
    bench
}

fn measuring() -> Bench {
    let bench = started();
    bench.ok(&["job", "open", "s1", "--plan", "held"]);
    bench.ok(&["measure", "ring/face"]);
    bench
}

#[track_caller]
fn hinted(err: &str, sentence: &str) {
    assert!(err.contains(sentence), "{err:?} does not say {sentence:?}");
    assert!(err.contains("\nhint: "), "{err:?} has no hint");
}

#[test]
fn without_a_service_or_a_configuration() {
    let bench = Bench::new(&Make { gauge: GAUGE, more: "", plan: &plan() });
    for arguments in [
        &["status"][..],
        &["job", "open", "s1", "--plan", "held"],
        &["job", "use", "s1"],
        &["job", "close", "s1", "--why", "a try"],
        &["job", "reopen", "s1"],
        &["measure", "ring/face"],
        &["measure", "--stop"],
        &["remeasure", "ground"],
        &["next"],
        &["enter", "0.00001"],
        &["void"],
        &["skip", "--why", "slot"],
        &["master"],
        &["note", "s1", "remark"],
        &["ack", "1"],
        &["tail"],
    ] {
        hinted(&bench.refused(3, arguments), "the service is not running");
    }
    for arguments in [
        &["job", "list"][..],
        &["job", "show", "s1"],
        &["readings"],
        &["verdicts"],
        &["alerts"],
        &["verify"],
        &["backup", "copy.db"],
    ] {
        hinted(&bench.refused(3, arguments), "there is no record");
    }
    for arguments in [&["status"][..], &["readings"], &["tail"], &["next"]] {
        let with: Vec<_> =
            ["--config", "/nowhere/bench.toml"].iter().chain(arguments).copied().collect();
        hinted(&bench.refused(2, &with), "/nowhere/bench.toml");
    }
}

#[test]
fn what_is_typed_wrongly_is_told_and_nothing_else_happens() {
    let bench = measuring();
    for arguments in [
        &["frob"][..],
        &["skip"],
        &["enter"],
        &["measure"],
        &["measure", "ring/face", "--stop"],
        &["remeasure", "polished"],
        &["readings", "--since", "someday"],
        &["readings", "--csv", "--json"],
        &["ack", "one"],
        &["job", "open", "s2"],
        &["status", "--colour"],
        &["completions", "abacus"],
    ] {
        let err = bench.refused(2, arguments);
        let hint = if arguments.contains(&"--json") { "\"hint\":" } else { "\nhint: " };
        assert!(err.contains(hint), "{err}");
    }
    let refused = [
        (&["job", "open", "s1", "--plan", "held"][..], "exists already"),
        (&["job", "open", "a__b", "--plan", "held"], "__"),
        (&["job", "open", "", "--plan", "held"], ""),
        (&["job", "open", "s2", "--plan", "nosuch"], "nosuch"),
        (&["job", "use", "s9"], "s9"),
        (&["job", "close", "s9", "--why", "a try"], "s9"),
        (&["job", "reopen", "s9"], "s9"),
        (&["job", "show", "lathe-77"], "lathe-77"),
        (&["measure", "ring/nosuch"], "nosuch"),
        (&["measure", "ring"], "ring"),
        (&["measure", "ring/face", "--station", "attic"], "attic"),
        (&["remeasure", "again", "ring/back"], "never measured"),
        (&["enter", "abc"], "abc"),
        (&["enter", "0.00001", "1.2.3"], "nothing was entered"),
        (&["enter", "0.0000000000000001"], "nothing was entered"),
        (&["enter", "--graduation", "0.0001in", "1.55"], "graduations"),
        (&["enter", "0", "0", "0", "0", "0", "0", "0", "0", "0"], "nothing was entered"),
        (&["void"], "no reading to take back"),
        (&["void", "1"], "no reading 1"),
        (&["skip", "8", "--why", "slot"], "no position 8"),
        (&["master"], "no master"),
        (&["note", "s9", "remark"], "s9"),
        (&["note", "s1", " "], "empty"),
        (&["ack", "4000"], "4000"),
        (&["readings", "--state", "lost"], "lost"),
        (&["readings", "lathe-77"], "lathe-77"),
        (&["verdicts", "lathe-77"], "lathe-77"),
        (&["alerts", "lathe-77"], "lathe-77"),
    ];
    for (arguments, sentence) in refused {
        hinted(&bench.refused(2, arguments), sentence);
    }
    assert!(bench.readings("s1").is_empty());
    assert_eq!(bench.lines(&["job", "list"]).len(), 1);
    let hint = bench.refused(2, &["job", "reopen", "s9"]);
    assert!(hint.contains("`tenths job list`"), "a hint that is no command: {hint}");
}

#[test]
fn a_day_at_the_bench() {
    let bench = measuring();
    let next = || bench.heard().unwrap()["stations"][0]["next_position"].clone();
    // Under way and active already: nothing happens.
    let again = bench.lines(&["measure", "ring/face"]).remove(0);
    assert_eq!((&again["schema"], &again["already"]), (&"measuring/1".into(), &true.into()));
    // Back to any depth, and forward again.
    bench.touches(&bench.plate, "plate", &["0.00001", "0.00002", "0.00003", "0.00002", "0.00001"]);
    for depth in (0..5).rev() {
        let voided = bench.lines(&["void", "--why", "chip"]).remove(0);
        assert_eq!((&voided["schema"], &voided["position"]), (&"voided/1".into(), &depth.into()));
        assert_eq!(next(), depth);
    }
    bench.refused(2, &["void"]);
    let kept = bench.lines(&["readings", "s1", "--state", "void"]);
    assert_eq!(kept.len(), 5);
    assert!(kept.iter().all(|one| one["why"] == "chip"));
    bench.touches(&bench.plate, "plate", &["0.00001", "0.00002", "0.00003"]);
    // An older hole is filled last.
    let second = bench.placed("s1")[1]["id"].to_string();
    bench.ok(&["void", &second]);
    assert_eq!(next(), 3);
    bench.refused(2, &["void", &second]);
    let skipped = bench.lines(&["skip", "5", "--why", "slot"]).remove(0);
    assert_eq!((&skipped["schema"], &skipped["position"]), (&"skipped/1".into(), &5.into()));
    bench.refused(2, &["skip", "5", "--why", "slot"]);
    bench.touches(&bench.plate, "plate", &["0.00001", "0.00002", "0.00002", "0.00000"]);
    assert_eq!(next(), 1);
    bench.touches(&bench.plate, "plate", &["0.00001"]);
    let verdict = bench.verdict("s1", 1);
    assert_eq!((&verdict["taken"], &verdict["skipped"]), (&7.into(), &1.into()), "{verdict}");
    // Finished: why again? And a touch taken back after the end is asked for again.
    hinted(&bench.refused(2, &["measure", "ring/face"]), "is finished");
    let last = bench.placed("s1").pop().unwrap()["id"].to_string();
    bench.ok(&["void", &last]);
    assert_eq!(next(), 1);
    bench.touches(&bench.plate, "plate", &["0.00004"]);
    bench.until("a newer verdict", || bench.lines(&["verdicts", "s1", "--all"]).len() == 3);
    assert_eq!(bench.lines(&["verdicts", "s1"]).len(), 1);
    // The next check, all of it keyed in; then none is left.
    assert_eq!(bench.lines(&["next"])[0]["check"], "back");
    let entered = bench.lines(&RING).remove(0);
    assert_eq!(
        (&entered["schema"], &entered["measuring"]["next"]),
        (&"entered/1".into(), &"nothing".into())
    );
    assert_eq!(bench.verdict("s1", 2)["value"], "0.00003");
    assert_eq!(bench.run(&["next"]).status.code(), Some(1));
    // Again, with its reason; left before the end it is incomplete, and next asks for it.
    for (why, number) in [("ground", 2), ("cleaned", 3), ("again", 4)] {
        let begun = bench.lines(&["remeasure", why, "ring/back"]).remove(0);
        assert_eq!((&begun["attempt"], &begun["next_position"]), (&number.into(), &0.into()));
    }
    // Nothing touched is nothing to judge: the attempt waits. The other face lost its metal.
    bench.ok(&["measure", "--stop"]);
    let face = bench.lines(&["next"]).remove(0);
    assert_eq!((&face["check"], &face["attempt"]), (&"face".into(), &2.into()));
    bench.ok(&RING);
    assert_eq!(bench.lines(&["next"])[0]["attempt"], 4);
    bench.ok(&["enter", "0.00001"]);
    bench.ok(&["measure", "--stop"]);
    assert_eq!(bench.lines(&["next"])[0]["attempt"], 5);
    bench.ok(&["measure", "--stop"]);
    hinted(&bench.refused(2, &["measure", "--stop"]), "nothing is measured");
    bench.ok(&["verify"]);
}

#[test]
fn jobs_live_for_ever() {
    let bench = measuring();
    bench.touches(&bench.plate, "plate", &["0.00001", "0.00002"]);
    bench.ok(&["job", "open", "s2", "--plan", "held", "--serial", "7", "--customer", "Sedge & Co"]);
    bench.ok(&["job", "use", "s1"]);
    let went_on = bench.lines(&["measure", "ring/face"]).remove(0);
    assert_eq!(went_on["next_position"], 2, "{went_on}");
    bench.ok(&["note", "s1", "coolant", "changed"]);
    bench.ok(&["job", "close", "--why", "a try"]);
    assert_eq!(bench.verdict("s1", 1)["verdict"], "incomplete");
    bench.ok(&["note", "s1", "after the close"]);
    for name in ["s1", "S1"] {
        let said = bench.refused(2, &["job", "open", name, "--plan", "held"]);
        hinted(&said, "a name is never used twice");
    }
    hinted(&bench.refused(2, &["job", "use", "s1"]), "s1");
    hinted(&bench.refused(2, &["measure", "ring/face"]), "no job is active");
    let shown = bench.lines(&["job", "show", "s1"]).remove(0);
    assert_eq!((&shown["schema"], &shown["state"]), (&"job/1".into(), &"closed".into()));
    assert_eq!(shown["notes"].as_array().unwrap().len(), 2, "{shown}");
    bench.ok(&["job", "reopen", "s1"]);
    let begun = bench.lines(&["measure", "ring/face"]).remove(0);
    assert_eq!((&begun["attempt"], &begun["next_position"]), (&2.into(), &0.into()));
    bench.ok(&RING);
    assert_eq!(bench.verdict("s1", 2)["verdict"], "conforms");
    let states: Vec<_> =
        bench.lines(&["job", "list"]).iter().map(|job| job["state"].clone()).collect();
    assert_eq!(states, ["open", "open"]);
    bench.ok(&["verify"]);
}

#[test]
fn alerts_are_seen_and_stay_on_the_record() {
    let bench = measuring();
    bench.touches(&bench.plate, "plate", &["0.00001", "0.00050"]);
    let open = bench.lines(&["alerts", "--state", "open"]);
    assert_eq!(open.len(), 1, "{open:?}");
    let id = open[0]["id"].to_string();
    assert_eq!(bench.heard().unwrap()["alerts_open"], 1);
    let seen = bench.lines(&["ack", &id]).remove(0);
    assert_eq!(seen["schema"], "seen/1");
    bench.ok(&["ack", &id]);
    assert_eq!(bench.heard().unwrap()["alerts_open"], 0);
    let alerts = bench.lines(&["alerts", "s1"]);
    assert!(!alerts[0]["acked_at"].is_null() && alerts[0]["cleared_at"].is_null(), "{}", alerts[0]);
    bench.ok(&["void"]);
    let alerts = bench.lines(&["alerts", "s1", "--all"]);
    assert!(!alerts[0]["cleared_at"].is_null(), "{}", alerts[0]);
    bench.refused(2, &["ack", &id]);
}

#[test]
fn json_of_every_command_parses_and_says_what_it_is() {
    let bench = measuring();
    bench.touches(&bench.plate, "plate", &["0.00001", "0.00050"]);
    let copy = bench.path("copy.db").display().to_string();
    let id = bench.lines(&["alerts", "--state", "open"])[0]["id"].to_string();
    let commands = [
        (&["status"][..], "status/1"),
        (&["job", "list"], "job/1"),
        (&["job", "show", "s1"], "job/1"),
        (&["readings"], "reading/1"),
        (&["alerts"], "alert/1"),
        (&["ack", &id], "seen/1"),
        (&["void"], "voided/1"),
        (&["enter", "0.00001"], "entered/1"),
        (&["skip", "--why", "slot"], "skipped/1"),
        (&["note", "s1", "remark"], "noted/1"),
        (&["measure", "ring/back"], "measuring/1"),
        (&["measure", "--stop"], "stopped/1"),
        (&["remeasure", "ground", "ring/face"], "measuring/1"),
        (&["next"], "measuring/1"),
        (&["verdicts"], "verdict/1"),
        (&["backup", &copy], "backup/1"),
        (&["verify"], "verify/1"),
        (&["verify", &copy], "verify/1"),
        (&["job", "open", "s2", "--plan", "held"], "opened/1"),
        (&["job", "use", "s1"], "in-use/1"),
        (&["job", "close", "--why", "a try"], "closed/1"),
        (&["job", "reopen", "s1"], "reopened/1"),
    ];
    for (arguments, schema) in commands {
        let arguments: Vec<_> = arguments.iter().copied().chain(["--json"]).collect();
        let output = bench.run(&arguments);
        assert!(matches!(output.status.code(), Some(0 | 1)), "{arguments:?}");
        let text = String::from_utf8(output.stdout).unwrap();
        assert!(!text.is_empty() && text.ends_with('\n'), "{arguments:?}");
        for line in text.lines() {
            let line: Value = serde_json::from_str(line).unwrap();
            assert_eq!(line["schema"], schema, "{arguments:?}: {line}");
        }
    }
}

mod service;
mod terminal;
