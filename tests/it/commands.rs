//! Every command from outside: exit codes, sentences, JSON, several stations, the bare socket, and
//! what comes from outside on its way to a terminal.

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
        &["job", "close", "s1"],
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
        &["readings", "--since", "yesterday"],
        &["readings", "--csv", "--json"],
        &["ack", "one"],
        &["job", "open", "s2"],
        &["status", "--colour"],
        &["completions", "abacus"],
    ] {
        let err = bench.refused(2, arguments);
        assert!(err.contains("\nhint: "), "{err}");
    }
    let refused = [
        (&["job", "open", "s1", "--plan", "held"][..], "exists already"),
        (&["job", "open", "a__b", "--plan", "held"], "__"),
        (&["job", "open", "", "--plan", "held"], ""),
        (&["job", "open", "s2", "--plan", "nosuch"], "nosuch"),
        (&["job", "use", "s9"], "s9"),
        (&["job", "close", "s9"], "s9"),
        (&["job", "reopen", "s9"], "s9"),
        (&["job", "show", "lathe-77"], "lathe-77"),
        (&["measure", "ring/nosuch"], "nosuch"),
        (&["measure", "ring"], "ring"),
        (&["measure", "ring/face", "--station", "attic"], "attic"),
        (&["remeasure", "again", "ring/back"], "never measured"),
        (&["enter", "abc"], "abc"),
        (&["enter", "0.00001", "1.2.3"], "nothing was entered"),
        (&["enter", "0.0000000000000001"], "nothing was entered"),
        (&["enter", "--graduation", "0.0001in", "1.5"], "graduations"),
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
    // Nothing touched is nothing to judge: the attempt waits.
    bench.ok(&["measure", "--stop"]);
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
    bench.ok(&["job", "close"]);
    assert_eq!(bench.verdict("s1", 1)["verdict"], "incomplete");
    bench.ok(&["note", "s1", "after the close"]);
    hinted(&bench.refused(2, &["job", "open", "s1", "--plan", "held"]), "names live for ever");
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
    let id = bench.lines(&["alerts"])[0]["id"].to_string();
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
        (&["job", "close"], "closed/1"),
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

#[test]
fn a_bad_configuration_is_told_at_once_and_does_not_start() {
    let bench = Bench::new(&Make { gauge: GAUGE, more: "", plan: &plan() });
    let good = fs::read_to_string(bench.path("bench.toml")).unwrap();
    let bad = good
        .replace("unit = \"in\"\nstate", "unit = \"furlong\"\nstate")
        .replace("baud = 9600", "baud = 9600\nbauds = 1")
        .replace("resolution = \"0.00001 in\"", "resolution = \"fine\"");
    fs::write(bench.path("bench.toml"), &bad).unwrap();
    let broken = plan()
        .replace("positions = 8", "positions = 0")
        .replace("kind = \"spacer\"", "kind = \"cheese\"");
    fs::write(bench.path("plans/held.toml"), broken).unwrap();
    let output = bench.run(&["config", "check"]);
    assert_eq!(output.status.code(), Some(2));
    let text = String::from_utf8(output.stdout).unwrap();
    for told in ["furlong", "bauds", "fine", "cheese", "positions"] {
        assert!(text.contains(told), "{told} is not told: {text}");
    }
    let output = bench.run(&["config", "check", "--json"]);
    assert_eq!(output.status.code(), Some(2));
    let text = String::from_utf8(output.stdout).unwrap();
    let findings: Vec<Value> =
        text.lines().map(|line| serde_json::from_str(line).unwrap()).collect();
    assert!(findings.len() >= 5, "{text}");
    for finding in &findings {
        assert_eq!(finding["schema"], "finding/1");
        assert!(finding["line"].is_u64() && finding["file"].is_string(), "{finding}");
    }
    let output = bench.run(&["serve"]);
    let err = String::from_utf8(output.stderr).unwrap();
    assert_eq!(output.status.code(), Some(2), "{err}");
    for told in ["furlong", "bauds", "fine"] {
        assert!(err.contains(told), "{told} is not told: {err}");
    }
    assert!(fs::read_dir(bench.path("state")).unwrap().next().is_none(), "something was started");
    fs::write(bench.path("bench.toml"), good).unwrap();
    fs::write(bench.path("plans/held.toml"), plan()).unwrap();
    bench.ok(&["config", "check"]);
}

#[test]
fn a_reload_follows_a_good_configuration_and_keeps_the_old_where_it_is_bad() {
    let bench = measuring();
    bench.touches(&bench.plate, "plate", &["0.00001", "0.00002"]);
    let good = fs::read_to_string(bench.path("bench.toml")).unwrap();
    fs::write(
        bench.path("bench.toml"),
        good.replace("profile = \"signed-decimal\"", "profile = \"nosuch\""),
    )
    .unwrap();
    bench.signal(rustix::process::Signal::HUP);
    bench.until("the log tells", || bench.log().contains("goes on with the old one"));
    assert!(bench.log().contains("nosuch"), "{}", bench.log());
    // A client with the bad file cannot find its way; the service goes on.
    let good_path = bench.path("good.toml");
    fs::write(&good_path, &good).unwrap();
    bench.plate.send("0.00003\r");
    let taken = |count: u64| bench.heard().unwrap()["stations"][0]["taken"] == count;
    bench.until("a reading", || taken(3));
    let more = format!(
        "{good}\n[[gauge]]\nname = \"other\"\nkind = \"indicator\"\nport = {:?}\n\
         profile = \"signed-decimal\"\nbaud = 9600\n{GAUGE}\n",
        bench.path("other")
    );
    let other = Gauge::plugged(bench.path("other"));
    fs::write(bench.path("bench.toml"), more).unwrap();
    bench.signal(rustix::process::Signal::HUP);
    bench.until_gauge("other", "live");
    bench.touches(&other, "other", &["0.00100"]);
    bench.touches(&bench.plate, "plate", &["0.00003"]);
    assert!(taken(4));
    assert_eq!(bench.gauge("plate")["taken"], 4, "the counters of what stays are kept");
    // And away again.
    fs::write(bench.path("bench.toml"), good).unwrap();
    bench.signal(rustix::process::Signal::HUP);
    bench.until("it is gone", || bench.gauge("other").is_null());
    bench.balanced();
}

/// Two people side by side.
const STATIONS: &str = r#"
[[gauge]]
name = "other"
kind = "indicator"
port = "{dir}/other"
profile = "signed-decimal"
unit = "in"
resolution = "0.00001 in"
repeat_ms = 0
max_rate = 0
[[station]]
name = "left"
gauges = ["plate"]
[[station]]
name = "right"
gauges = ["other"]
"#;

#[test]
fn two_stations_do_not_mix() {
    let plan = format!("{PART}{}{}", check("face", "plate"), check("back", "other"));
    let mut bench = Bench::new(&Make { gauge: GAUGE, more: STATIONS, plan: &plan });
    let other = Gauge::plugged(bench.path("other"));
    bench.start();
    hinted(&bench.refused(2, &["job", "open", "s1", "--plan", "held"]), "several stations");
    bench.ok(&["job", "open", "s1", "--plan", "held", "--station", "left"]);
    hinted(&bench.refused(2, &["measure", "ring/back", "--station", "left"]), "right");
    bench.ok(&["job", "use", "s1", "--station", "right"]);
    bench.ok(&["measure", "ring/face", "--station", "left"]);
    bench.ok(&["measure", "ring/back", "--station", "right"]);
    for at in 0..8 {
        bench.touches(&bench.plate, "plate", &[&format!("0.0000{at}")]);
        bench.touches(&other, "other", &[&format!("-0.0000{at}")]);
    }
    bench.verdict("s1", 2);
    let of = |check: &str| {
        let readings = bench.lines(&["readings", "s1", "--check", check]);
        readings.iter().map(|one| one["value"].as_str().unwrap().to_owned()).collect::<Vec<_>>()
    };
    assert_eq!(of("face"), (0..8).map(|at| format!("0.0000{at}")).collect::<Vec<_>>());
    let minus = |at: u32| if at == 0 { "0.00000".to_owned() } else { format!("-0.0000{at}") };
    assert_eq!(of("back"), (0..8).map(minus).collect::<Vec<_>>());
    bench.refused(2, &["void"]);
    let voided = bench.lines(&["void", "--station", "left"]).remove(0);
    assert_eq!(voided["measuring"]["station"], "left");
    assert_eq!(bench.heard().unwrap()["stations"][1]["taken"], 8);
    // The same check at one place at a time.
    bench.ok(&["job", "open", "s2", "--plan", "held", "--station", "left"]);
    let stations = bench.heard().unwrap()["stations"].clone();
    assert_eq!((&stations[0]["job"], &stations[1]["job"]), (&"s2".into(), &"s1".into()));
}

#[test]
fn junk_on_the_socket_is_answered_where_it_came_from() {
    let bench = measuring();
    let socket = bench.path("state/tenths.sock");
    let mut good = Wire::to(&socket).unwrap();
    let mut bad = Wire::to(&socket).unwrap();
    for junk in [
        "hello",
        "",
        "{}",
        "[1,2]",
        "{\"request\":\"format\",\"key\":\"k\"}",
        "{\"request\":\"next\"}",
        "{\"request\":\"status\",\"colour\":1}",
        "\u{1b}[2J\u{7f}",
    ] {
        let reply = bad.ask(junk).unwrap();
        assert_eq!((&reply["schema"], &reply["exit"]), (&"error/1".into(), &2.into()), "{junk}");
        assert!(!reply["text"].as_str().unwrap().is_empty());
        assert_eq!(good.ask("{\"request\":\"status\"}").unwrap()["schema"], "status/1");
    }
    assert!(bad.write(&[0xff, 0xfe, 0x00, b'\n']));
    assert_eq!(bad.hear().unwrap()["schema"], "error/1");
    assert_eq!(bad.ask("{\"request\":\"status\"}").unwrap()["schema"], "status/1");
    // A line that does not end: an answer and the end of this connection. It may be cut off while
    // it still writes.
    let mut long = Wire::to(&socket).unwrap();
    for _ in 0..64 {
        if !long.write(&[b'x'; 1 << 14]) {
            break;
        }
    }
    let reply = long.hear().unwrap();
    assert_eq!(reply["schema"], "error/1");
    assert!(reply["text"].as_str().unwrap().contains("bytes at most"), "{reply}");
    assert!(long.hear().is_none());
    // Half a line, and gone.
    let mut half = Wire::to(&socket).unwrap();
    assert!(half.write(b"{\"request\":\"next\",\"key\":\"half\""));
    drop(half);
    // Many who only listen; the one who works does not notice.
    let idle: Vec<_> = (0..40).filter_map(|_| Wire::to(&socket)).collect();
    assert_eq!(idle.len(), 40);
    assert_eq!(good.ask("{\"request\":\"status\"}").unwrap()["schema"], "status/1");
    bench.touches(&bench.plate, "plate", &["0.00001"]);
    assert_eq!(bench.placed("s1").len(), 1);
}

#[test]
fn a_request_that_is_repeated_is_done_once() {
    let mut bench = measuring();
    let socket = bench.path("state/tenths.sock");
    let enter = r#"{"request":"enter","key":"press-1","values":["0.00001"]}"#;
    let mut wire = Wire::to(&socket).unwrap();
    let first = wire.ask(enter).unwrap();
    assert_eq!(first["schema"], "entered/1");
    assert_eq!(wire.ask(enter).unwrap(), first);
    assert_eq!(Wire::to(&socket).unwrap().ask(enter).unwrap(), first);
    // Both at once, on two connections.
    let note = r#"{"request":"note","key":"note-1","job":"s1","text":"once"}"#;
    let mut other = Wire::to(&socket).unwrap();
    assert!(
        wire.write(format!("{note}\n").as_bytes()) && other.write(format!("{note}\n").as_bytes())
    );
    assert_eq!(wire.hear().unwrap(), other.hear().unwrap());
    // Sent again after the service was killed: the answer was lost, not the deed.
    bench.kill();
    bench.start();
    assert_eq!(Wire::to(&socket).unwrap().ask(enter).unwrap(), first);
    assert_eq!(Wire::to(&socket).unwrap().ask(note).unwrap()["schema"], "noted/1");
    assert_eq!(bench.placed("s1").len(), 1);
    assert_eq!(bench.lines(&["job", "show", "s1"])[0]["notes"].as_array().unwrap().len(), 1);
    // Another key is another press. What was refused is asked anew.
    let again = enter.replace("press-1", "press-2");
    assert_ne!(Wire::to(&socket).unwrap().ask(&again).unwrap(), first);
    assert_eq!(bench.placed("s1").len(), 2);
    let close = r#"{"request":"job-close","key":"close-1","name":"s2"}"#;
    assert_eq!(Wire::to(&socket).unwrap().ask(close).unwrap()["schema"], "error/1");
    bench.ok(&["job", "open", "s2", "--plan", "held"]);
    assert_eq!(Wire::to(&socket).unwrap().ask(close).unwrap()["schema"], "closed/1");
}

#[test]
fn a_second_service_on_the_same_folder_is_refused() {
    let bench = measuring();
    let err = bench.refused_serve();
    hinted(&err, "another service works with");
    assert!(err.contains(&bench.pid().to_string()), "{err}");
    bench.touches(&bench.plate, "plate", &["0.00001"]);
    assert_eq!(bench.placed("s1").len(), 1);
    bench.ok(&["status"]);
}

#[test]
fn a_copy_made_under_load_is_whole() {
    let bench = measuring();
    let stop = std::sync::atomic::AtomicBool::new(false);
    let order = std::sync::atomic::Ordering::Relaxed;
    std::thread::scope(|scope| {
        scope.spawn(|| {
            let until = Instant::now() + Duration::from_mins(1);
            while !stop.load(order) && Instant::now() < until {
                bench.plate.send_all(b"0.00001\r");
                std::thread::sleep(Duration::from_millis(2));
            }
        });
        let mut rows = 0;
        for number in 0..4 {
            let before = bench.lines(&["readings"]).len() as u64;
            let copy = bench.path(&format!("copy-{number}.db")).display().to_string();
            bench.ok(&["backup", &copy]);
            let checked = bench.lines(&["verify", &copy]).remove(0);
            let now = checked["rows"].as_u64().unwrap();
            assert!(
                now > rows && now > before,
                "{now} rows after {rows}, {before} readings before"
            );
            rows = now;
        }
        stop.store(true, order);
    });
    let copy = bench.path("copy-0.db").display().to_string();
    hinted(&bench.refused(2, &["backup", &copy]), "already there");
    let parts = fs::read_dir(bench.dir.path()).unwrap().filter_map(Result::ok);
    let left = parts.filter(|entry| entry.file_name().to_string_lossy().contains(".part")).count();
    assert_eq!(left, 0, "half a copy is left behind");
    bench.balanced();
    bench.ok(&["verify"]);
}

#[test]
fn the_record_is_read_while_the_service_is_stopped_and_nothing_is_left_behind() {
    let mut bench = measuring();
    bench.touches(&bench.plate, "plate", &["0.00001", "0.00002"]);
    bench.ok(&["measure", "--stop"]);
    bench.stop();
    let listed = || {
        let entries = fs::read_dir(bench.path("state")).unwrap().map(Result::unwrap);
        let mut names: Vec<_> = entries.map(|entry| entry.file_name()).collect();
        names.sort();
        names
    };
    let before = listed();
    assert_eq!(bench.placed("s1").len(), 2);
    assert_eq!(bench.lines(&["verdicts", "s1"]).len(), 1);
    bench.lines(&["alerts", "--all"]);
    bench.ok(&["job", "list"]);
    bench.ok(&["verify"]);
    let copy = bench.path("copy.db").display().to_string();
    bench.ok(&["backup", &copy]);
    bench.ok(&["verify", &copy]);
    assert_eq!(listed(), before);
    hinted(&bench.refused(3, &["status"]), "not running");
    bench.start();
    bench.ok(&["measure", "ring/face"]);
    bench.touches(&bench.plate, "plate", &["0.00001"]);
    assert_eq!(bench.placed("s1").len(), 3);
}

#[test]
fn the_shell_gets_completions_and_a_manual() {
    let bench = Bench::new(&Make { gauge: GAUGE, more: "", plan: &plan() });
    for shell in ["bash", "zsh", "fish"] {
        let text = bench.ok(&["completions", shell]);
        assert!(text.contains("tenths") && text.contains("remeasure"), "{shell}");
    }
    let manual = bench.ok(&["man"]);
    assert!(manual.contains(".TH") && manual.contains("remeasure"));
    assert!(bench.ok(&["--version"]).starts_with("tenths "));
    assert!(bench.ok(&["--help"]).contains("remeasure"));
}

/// Bytes that could steer a terminal: C0 but for line ends, DEL, C1 as UTF-8.
fn steering(bytes: &[u8]) -> Option<String> {
    let text = String::from_utf8_lossy(bytes);
    let found = text.chars().find(|c| (c.is_control() && *c != '\n') || *c == '\u{202e}');
    found.map(|c| format!("{c:?} in {text:?}"))
}

#[test]
fn nothing_from_outside_reaches_a_terminal_raw() {
    let nasty = "\u{1b}[2J\u{1b}]0;owned\u{7}\u{9b}31m\u{8}\u{7f}\r\u{202e}";
    let bench = started();
    bench.ok(&[
        "job",
        "open",
        "s1",
        "--plan",
        "held",
        "--serial",
        nasty,
        "--customer",
        nasty,
        "--by",
        nasty,
    ]);
    bench.ok(&["measure", "ring/face"]);
    let feed = Follower::of(bench.spawn(&["tail", "--json", "--since", "0"]));
    bench.touches(&bench.plate, "plate", &["0.00001", "\u{1b}[31m0.00001", "\u{9b}31m\u{7f}"]);
    bench.ok(&["void", "--why", nasty]);
    bench.ok(&["skip", "--why", nasty]);
    bench.ok(&["note", "s1", nasty]);
    bench.refused(2, &["job", "open", nasty, "--plan", "held"]);
    bench.ok(&["measure", "--stop"]);
    bench.verdict("s1", 1);
    bench.until("an alert in the feed", || !feed.seen().is_empty());
    let commands = [
        &["status"][..],
        &["job", "list"],
        &["job", "show", "s1"],
        &["readings", "--all"],
        &["verdicts", "--all"],
        &["alerts", "--all"],
        &["measure", nasty],
        &["job", "open", nasty, "--plan", nasty],
        &["job", "use", nasty],
        &["readings", nasty],
        &["readings", "--state", nasty],
        &["enter", nasty],
        &["status", "--station", nasty],
        &["remeasure", nasty],
        &[nasty],
        &["note", nasty, nasty],
        &["backup", "/nowhere/\u{1b}[2J"],
        &["--config", "/nowhere/\u{1b}[2J", "status"],
    ];
    for arguments in commands {
        for form in [None, Some("--json"), Some("--csv")] {
            let looks_up = ["readings", "verdicts", "alerts"].contains(&arguments[0]);
            if form == Some("--csv") && !looks_up {
                continue;
            }
            let arguments: Vec<_> = arguments.iter().copied().chain(form).collect();
            let output = bench.run(&arguments);
            assert_eq!(steering(&output.stdout), None, "{arguments:?}");
            assert_eq!(steering(&output.stderr), None, "{arguments:?}");
        }
    }
    let mut tail = bench.command(&["tail", "--since", "0"]);
    let mut tail = tail.stdout(Stdio::piped()).spawn().unwrap();
    std::thread::sleep(Duration::from_millis(500));
    tail.kill().unwrap();
    let output = tail.wait_with_output().unwrap();
    assert!(!output.stdout.is_empty());
    assert_eq!(steering(&output.stdout), None);
    bench.signal(rustix::process::Signal::USR1);
    bench.until("the frames in the log", || bench.log().contains("not taken"));
    assert_eq!(steering(bench.log().as_bytes()), None);
}

#[test]
fn names_of_files_reach_a_terminal_escaped() {
    let drop = "[[drop]]\nname = \"logger\"\nfolder = \"{dir}/drop\"\ngauge = \"plate\"\n\
                tags = \"columns\"\ncolumns = { value = \"Value\", job = \"Job\", part = \"Part\", check = \"Check\" }\n";
    let mut bench = Bench::new(&Make { gauge: GAUGE, more: drop, plan: &plan() });
    bench.start();
    bench.ok(&["job", "open", "s1", "--plan", "held"]);
    bench.until("watched", || bench.drop_line("logger")["state"] == "watching");
    let nasty = "\u{1b}[2J\u{9b}31m\u{202e}\n\u{7f}";
    let text =
        format!("Value,Job,Part,Check\n0.00001,{nasty},ring,face\n\u{1b}]0;x\u{7},s1,ring,face\n");
    bench.drop_file(&format!("{nasty}.csv"), &text);
    bench.until("refused", || bench.drop_line("logger")["refused"] == 1);
    bench.drop_file(&format!("{nasty}2.csv"), "Value,Job,Part,Check\n0.00001,s1,ring,face\n");
    bench.until("taken", || bench.drop_line("logger")["files"] == 1);
    let beside = bench.path("drop").join(format!("{nasty}.csv.why"));
    bench.until("the reasons", || beside.exists());
    assert_eq!(steering(&fs::read(beside).unwrap()), None);
    assert_eq!(steering(bench.log().as_bytes()), None);
    let copy = bench.path(&format!("{nasty}.db")).display().to_string();
    let commands = [
        &["status"][..],
        &["alerts", "--all"],
        &["readings", "--all"],
        &["backup", &copy],
        &["verify", &copy],
        &["verify", &format!("{copy}x")],
    ];
    for arguments in commands {
        for form in [None, Some("--json")] {
            let arguments: Vec<_> = arguments.iter().copied().chain(form).collect();
            let output = bench.run(&arguments);
            assert_eq!(steering(&output.stdout), None, "{arguments:?}");
            assert_eq!(steering(&output.stderr), None, "{arguments:?}");
        }
    }
    fs::remove_file(&copy).unwrap();
    let told = bench.ok(&["backup", &copy, "--json"]);
    assert_eq!(steering(told.as_bytes()), None);
    assert_eq!(bench.readings("s1").len(), 1);
}
