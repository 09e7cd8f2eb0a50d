//! What a person is answered at once: to what they keyed, to alerts they have seen, to what they typed wrongly, and
//! whether all is well.

use serde_json::Value;

use crate::rig::{Bench, Make, RING_PLAN};

const GAUGE: &str = "unit = \"in\"\nresolution = \"0.00001 in\"\nrepeat_ms = 0\nmax_rate = 0\n\
                     travel = [\"-0.010 in\", \"0.010 in\"]";

fn bench() -> Bench {
    let mut bench = Bench::new(&Make { gauge: GAUGE, more: "", plan: RING_PLAN });
    bench.start();
    bench.ok(&["job", "open", "J-1", "--plan", "held"]);
    bench.ok(&["measure", "ring/face"]);
    bench
}

fn readings(bench: &Bench) -> usize {
    bench.lines(&["readings", "J-1"]).len()
}

#[test]
fn a_decimal_comma_is_refused_with_the_word_point() {
    let bench = bench();
    for typed in [
        &["enter", "0,00012"][..],
        &["enter", "0.00001", "0,00012"],
        &["enter", "0,003 mm"],
        &["enter", "1,5", "--graduation", "0.00005in"],
        &["enter", "2", "--graduation", "0,00005in"],
        &["enter", "--total", "0,00012"],
    ] {
        let said = bench.refused(2, typed);
        assert!(said.contains("write it with a decimal point"), "{typed:?}: {said}");
        assert!(said.contains("nothing was entered"), "{typed:?}: {said}");
    }
    assert_eq!(readings(&bench), 0);
    // Half a graduation is fine.
    let said = bench.ok(&["enter", "1.5", "-0.5", "2", "--graduation", "0.00005in"]);
    assert!(said.contains("3 readings taken"), "{said}");
    let values: Vec<Value> =
        bench.lines(&["readings", "J-1"]).iter().map(|one| one["value"].clone()).collect();
    assert_eq!(values, ["0.000075", "-0.000025", "0.00010"]);
}

#[test]
fn what_cannot_be_is_refused_and_nothing_of_it_entered() {
    let bench = bench();
    for (typed, said) in [
        (&["enter", "0.0123"][..], "beyond the travel"),
        (&["enter", "0.00001", "-0.0123"], "beyond the travel"),
        (&["enter", "0.0098"], "near its stop"),
        (&["enter", "0.000001"], "finer than plate shows"),
        (&["enter", "0.0003 mm"], "plate is read in in"),
    ] {
        let told = bench.refused(2, typed);
        assert!(told.contains(said) && told.contains("nothing was entered"), "{typed:?}: {told}");
    }
    assert_eq!(readings(&bench), 0);
}

#[test]
fn an_alert_that_a_touch_raises_stands_in_its_reply() {
    let bench = bench();
    bench.ok(&["enter", "0", "0"]);
    let said = bench.ok(&["enter", "0.00032"]);
    let open = bench.lines(&["alerts", "--state", "open"]);
    assert!(!open.is_empty(), "{said}");
    for alert in &open {
        assert!(said.contains(alert["text"].as_str().unwrap()), "{alert}: {said}");
    }
}

#[test]
fn too_few_digits_are_told_before_they_cost_a_verdict() {
    let bench = bench();
    let said = bench.ok(&["enter", "0.0001"]);
    assert!(said.contains("Keyed to 0.0001 in: key every digit the gauge shows."), "{said}");
    bench.ok(&["void"]);
    let said = bench.ok(&["enter", "0.00010"]);
    assert!(!said.contains("every digit"), "{said}");
    bench.ok(&["void"]);
    // A whole ring keyed at once would come to its verdict at once: it is told before.
    let ring = ["enter", "0", "0.0001", "0", "0", "0.0001", "0", "0", "0.0001", "0"];
    let said = bench.refused(2, &ring);
    assert!(said.contains("keyed to 0.0001 in, which is too coarse for the limit"), "{said}");
    assert!(said.contains("key every digit the gauge shows"), "{said}");
    assert_eq!(bench.lines(&["verdicts", "J-1"]).len(), 0);
    // Whoever was told goes on as they like.
    bench.ok(&["enter", "0", "0.0001"]);
    let said = bench.ok(&["enter", "0", "0", "0.0001", "0", "0", "0.0001", "0"]);
    assert!(said.contains("UNDECIDED"), "{said}");
}

/// Jobs with alerts that nobody has seen: each is out.
fn with_alerts() -> Bench {
    let bench = bench();
    let out = ["0", "0.00041", "0", "-0.00041", "0", "0.00041", "0", "-0.00041", "0"];
    bench.ok(&[&["enter"][..], &out].concat());
    bench.ok(&["job", "open", "J-2", "--plan", "held"]);
    bench.ok(&["measure", "ring/face"]);
    bench.ok(&[&["enter"][..], &out].concat());
    bench
}

fn unseen(bench: &Bench) -> Vec<Value> {
    bench.lines(&["alerts", "--state", "open"])
}

#[test]
fn alerts_are_seen_one_by_one_job_by_job_or_all() {
    let bench = with_alerts();
    let all = unseen(&bench);
    let of_two = all.iter().filter(|alert| alert["job"] == "J-2").count();
    assert!(of_two >= 1 && all.len() > of_two, "{all:?}");
    let said = bench.ok(&["ack", "--job", "J-2"]);
    assert!(said.contains("of job J-2"), "{said}");
    assert_eq!(unseen(&bench).len(), all.len() - of_two);
    let line = &bench.lines(&["ack", "--all"])[0];
    assert_eq!(line["schema"], "all-seen/1");
    assert_eq!(line["ids"].as_array().unwrap().len(), all.len() - of_two);
    assert_eq!(unseen(&bench).len(), 0);
    let said = bench.ok(&["ack", "--all"]);
    assert!(said.contains("No alert was open"), "{said}");
    bench.refused(2, &["ack", "--job", "J-3"]);
    for wrong in [&["ack"][..], &["ack", "9", "--all"], &["ack", "--all", "--job", "J-1"]] {
        bench.refused_usage(wrong);
    }
}

#[test]
fn every_error_of_a_script_is_one_line() {
    let bench = bench();
    std::fs::write(bench.path("rows.csv"), "x_mm\n1\n").unwrap();
    let rows = bench.path("rows.csv");
    let rows = rows.to_str().unwrap();
    for typed in [
        &["--json"][..],
        &["job", "--json"],
        &["--json", "frobnicate"],
        &["enter", "--json"],
        &["status", "--json", "--colour"],
        &["job", "open", "--json", "J-9"],
        &["job", "show", "nothing", "--json"],
        &["measure", "no/such", "--json"],
        &["remeasure", "sideways", "--json"],
        &["enter", "0,1", "--json"],
        &["budget", "999999", "--json"],
        &["readings", "--since", "sometime", "--json"],
        &["readings", "--part", "nut", "--json"],
        &["verify", "/nowhere/x.db", "--json"],
        &["export", "J-1", "--out", "/proc/x", "--json"],
        &["import", "/nowhere", "--json"],
        &["evaluate", rows, "--measures", "flatness", "--json"],
        &["study", rows, "--json"],
        &["plan", "show", "moon", "--json"],
        &["plan", "new", "a/b", "--json"],
        &["gauge", "listen", "/dev/none", "--json"],
        &["gauge", "show", "a/b", "--json"],
        &["init", "--json"],
        &["practice", "--json"],
        &["attach", "J-1", "/nowhere", "--what", "x", "--json"],
        &["report", "J-1", "--out", "/proc/x", "--json"],
        &["sheet", "J-1", "--out", "/proc/x", "--json"],
        &["status", "--config", "/nowhere/bench.toml", "--json"],
        &["restore", "/nowhere", "--json"],
        &["backup", "/proc/x/y.db", "--json"],
    ] {
        let output = bench.run(typed);
        let err = String::from_utf8(output.stderr).unwrap();
        assert!(
            output.status.code().is_some_and(|code| (1..=3).contains(&code)),
            "{typed:?}: {err}"
        );
        assert!(output.stdout.is_empty(), "{typed:?}: {}", String::from_utf8_lossy(&output.stdout));
        let lines: Vec<&str> = err.lines().collect();
        assert_eq!(lines.len(), 1, "{typed:?}: {err}");
        let line: Value = serde_json::from_str(lines[0]).expect(&err);
        assert_eq!(line["schema"], "error/1", "{typed:?}: {err}");
        assert!(!line["text"].as_str().unwrap().is_empty(), "{typed:?}: {err}");
    }
    // What stands behind `--` is no option.
    let said = bench.refused_usage(&["note", "J-9", "--", "--json"]);
    assert!(said.starts_with("tenths: "), "{said}");
}

#[test]
fn a_hint_names_the_help_of_the_command_itself() {
    let bench = bench();
    for (typed, help) in [
        (&["job", "open", "J-9"][..], "see tenths job open --help"),
        (&["stack", "built", "--mark", "x"], "see tenths stack built --help"),
        (&["enter", "1", "--colour"], "see tenths enter --help"),
        (&["frobnicate"], "see tenths --help"),
    ] {
        let said = bench.refused_usage(typed);
        assert!(said.contains(help), "{typed:?}: {said}");
    }
}

fn status(bench: &Bench) -> (i32, String, Value) {
    let output = bench.run(&["status"]);
    let text = String::from_utf8(output.stdout).unwrap();
    (output.status.code().unwrap(), text, bench.heard().unwrap())
}

#[test]
fn a_bad_ring_is_no_outage_and_all_is_not_well_either() {
    let bench = with_alerts();
    let (code, text, line) = status(&bench);
    assert_eq!(code, 0, "the service is well: {text}");
    assert_eq!((&line["healthy"], &line["needs_a_hand"]), (&true.into(), &true.into()));
    let first = text.lines().next().unwrap();
    assert!(first.starts_with("The service is well. The work needs a hand: "), "{text}");
    assert!(first.contains("alerts nobody has seen"), "{text}");
    // Each of them is told, up to a few, with the number that `ack` takes.
    let told = unseen(&bench);
    for alert in told.iter().take(5) {
        assert!(text.contains(&format!("alert {}: ", alert["id"])), "{text}");
    }
    bench.ok(&["ack", "--all"]);
    assert!(!status(&bench).1.contains("nobody has seen"));
}

#[test]
fn a_gauge_that_is_gone_is_an_outage_whoever_has_seen_it() {
    let mut bench = bench();
    bench.plate.unplug();
    bench.until_gauge("plate", "lost");
    bench.ok(&["ack", "--all"]);
    let (code, text, line) = status(&bench);
    assert_eq!((code, &line["healthy"]), (1, &false.into()), "{text}");
    assert!(text.starts_with("NOT ALL WELL: 1 gauge cannot be read."), "{text}");
}

/// A pedal that is not there is told by its alert alone.
#[test]
fn a_pedal_that_is_gone_stands_in_the_first_line_whoever_has_seen_it() {
    let more = "[[station]]\nname = \"bench\"\ngauges = [\"plate\"]\n\
                pedal = \"cts:{dir}/no-pedal\"\n";
    let mut bench = Bench::new(&Make { gauge: GAUGE, more, plan: RING_PLAN });
    bench.start();
    bench.until("the pedal is missed", || !unseen(&bench).is_empty());
    bench.ok(&["ack", "--all"]);
    let (code, text, line) = status(&bench);
    assert_eq!((code, &line["healthy"]), (1, &false.into()), "{text}");
    assert!(text.starts_with("NOT ALL WELL: a pedal or scanner cannot be read."), "{text}");
    assert_eq!(line["troubles"][0]["kind"], "device-lost", "{line}");
}
