//! Badges: scanning one says who works at a station, and everything done there names that person.

use std::fs;

use rustix::process::Signal;
use serde_json::Value;

use bench::plan::CheckAt;
use bench::row::Stage;
use quantity::Name;
use wire::code::{Code, JobTag};

use crate::rig::{Bench, Gauge, Make};
use crate::watch::Terminal;

const GAUGE: &str = "unit = \"in\"\nresolution = \"0.00001 in\"\nuncertainty = \"0.0000084 in\"\n\
                     repeatability = \"0.000003 in\"\nrepeat_ms = 0\nmax_rate = 0";

const STATIONS: &str = r#"
[[gauge]]
name = "dial"
kind = "dial"
unit = "in"
resolution = "0.0001 in"
[[station]]
name = "bench-1"
gauges = ["plate"]
scanner = "{dir}/scanner"
[[station]]
name = "bench-2"
gauges = ["dial"]
"#;

const PLAN: &str = r#"
name = "held"
unit = "in"
[[part]]
name = "inner ring"
kind = "spacer"
[[part.check]]
name = "face"
measures = "parallelism"
gauge = "plate"
setup = "plate"
positions = 8
radius = "1.5 in"
tolerance = "0.0001 in"
closure = false
[[part.check]]
name = "length"
measures = "length"
gauge = "plate"
setup = "plate"
positions = 4
min = "0.9990 in"
max = "1.0010 in"
master = "none"
closure = false
[[part]]
name = "outer"
kind = "spacer"
[[part.check]]
name = "length"
measures = "length"
gauge = "plate"
setup = "plate"
positions = 4
min = "0.9990 in"
max = "1.0010 in"
master = "none"
closure = false
[[part]]
name = "pair"
kind = "other"
[[part.check]]
name = "match"
measures = "difference"
of = ["outer/length", "inner ring/length"]
tolerance = "0.0003 in"
[[stack]]
part = "inner ring"
ways = ["front", "back"]
towards_nose = "front"
[[stack]]
part = "outer"
"#;

const FACE: [&str; 8] = ["0", "0", "0.00002", "0", "0", "0", "0", "0"];
const INCH: [&str; 4] = ["1.00000", "1.00001", "1.00000", "1.00001"];

const PEOPLE: &str = "people = [\"Zoë Ångström\", \"M. Weber\", \"Łukasz O'Neil\"]";

/// Writes the names into `[bench]`, over those that are there.
fn with_people(bench: &Bench, people: &str) {
    let file = bench.path("bench.toml");
    let text = fs::read_to_string(&file).unwrap();
    let kept: Vec<&str> = text.lines().filter(|line| !line.starts_with("people")).collect();
    let text = kept.join("\n").replacen("unit = \"in\"", &format!("unit = \"in\"\n{people}"), 1);
    fs::write(file, text + "\n").unwrap();
}

fn bench() -> (Bench, Gauge) {
    let mut bench = Bench::new(&Make { gauge: GAUGE, more: STATIONS, plan: PLAN });
    with_people(&bench, PEOPLE);
    let scanner = Gauge::plugged(bench.path("scanner"));
    bench.start();
    bench.until("the scanner is read", || {
        let alerts = bench.lines(&["alerts", "--state", "open", "--kind", "device-lost"]);
        alerts.is_empty()
    });
    bench.ok(&["job", "open", "J-1", "--plan", "held", "--station", "bench-1", "--by", "Office"]);
    (bench, scanner)
}

/// The code that stands on the sheet beside a name.
fn badge(bench: &Bench, name: &str) -> String {
    let page = bench.ok(&["sheet", "J-1"]);
    let (before, _) = page.split_once(&format!("<strong><bdi>{name}</bdi>")).unwrap();
    let text = before.rsplit("aria-label=\"code ").next().unwrap();
    text.split('"').next().unwrap().to_owned()
}

fn station(bench: &Bench) -> Value {
    bench.heard().unwrap()["stations"][0].clone()
}

fn scan_notes(bench: &Bench) -> Vec<String> {
    let open = bench.lines(&["alerts", "--state", "open", "--kind", "scan"]);
    open.iter().map(|one| one["text"].as_str().unwrap().to_owned()).collect()
}

fn measured(bench: &Bench, by: &str, target: &str, values: &[&str]) {
    bench.ok(&["measure", target, "--station", "bench-1", "--by", by]);
    enter(bench, by, values);
}

fn enter(bench: &Bench, by: &str, values: &[&str]) {
    let mut all = vec!["enter", "--station", "bench-1", "--by", by];
    all.extend(values);
    bench.ok(&all);
}

#[test]
fn a_scanned_badge_says_who_works_here_and_an_old_one_names_nobody_else() {
    let (bench, scanner) = bench();
    let scan = |code: &str| scanner.send(&format!("{code}\r"));
    let works = |name: &str| {
        bench.until(name, || station(&bench)["person"] == name);
    };
    assert_eq!(station(&bench)["person"], Value::Null);
    let [zoe, weber, lukasz] =
        ["Zoë Ångström", "M. Weber", "Łukasz O'Neil"].map(|name| badge(&bench, name));
    let screen = Terminal::with_watch(&bench, (100, 30), &["--station", "bench-1"]);
    scan(&zoe);
    works("Zoë Ångström");
    screen.until(&["Zoë Ångström"]);
    assert!(bench.ok(&["status"]).contains("bench-1 (Zoë Ångström): job J-1"));
    bench.ok(&["measure", "inner ring/face", "--station", "bench-1"]);
    bench.touches(&bench.plate, "plate", &["+0.00000", "+0.00001"]);
    // The next person comes in the middle of the ring: their touches are theirs.
    scan(&lukasz);
    works("Łukasz O'Neil");
    bench.touches(&bench.plate, "plate", &["+0.00001"]);
    let by: Vec<Value> = bench.readings("J-1").iter().map(|one| one["by"].clone()).collect();
    assert_eq!(by[1..], ["Zoë Ångström", "Łukasz O'Neil"].map(Value::from));
    // Somebody named at a command touches for the person who works here: both are told.
    bench.ok(&["measure", "inner ring/length", "--station", "bench-1", "--by", "Ada"]);
    assert_eq!(station(&bench)["by"], "Ada");
    let told = bench.ok(&["status"]);
    assert!(told.contains("bench-1 (Łukasz O'Neil; Ada touches)"), "{told}");

    // One leaves, one comes, the order is another: a badge names whom it always named.
    with_people(&bench, "people = [\"A. New\", \"Łukasz O'Neil\", \"Zoë Ångström\"]");
    bench.signal(Signal::HUP);
    let new = badge(&bench, "A. New");
    bench.until("the list is read again", || {
        scan(&new);
        station(&bench)["person"] == "A. New"
    });
    scan(&zoe);
    works("Zoë Ångström");
    scan(&weber);
    bench.until("it is refused", || !scan_notes(&bench).is_empty());
    let told = scan_notes(&bench).remove(0);
    for words in ["nobody", "people", "bench.toml", "tenths person"] {
        assert!(told.contains(words), "{words}: {told}");
    }
    screen.until(&["nobody"]);
    assert_eq!(station(&bench)["person"], "Zoë Ångström");
    scan(&lukasz);
    works("Łukasz O'Neil");
    bench.until("the note is over", || scan_notes(&bench).is_empty());
    assert!(bench.ok(&["verify"]).contains("All is as it was stored"));
}

#[test]
fn people_that_cannot_be_told_apart_are_found_by_the_check() {
    let bench = Bench::new(&Make { gauge: GAUGE, more: "", plan: PLAN });
    let config = |people: &str| {
        with_people(&bench, people);
        let output = bench.run(&["config", "check"]);
        let told = String::from_utf8(output.stdout).unwrap();
        let errors = String::from_utf8(output.stderr).unwrap();
        (output.status.code(), told + &errors)
    };
    assert_eq!(config("people = [\"Ada\", \"Bo\"]").0, Some(0));
    assert_eq!(config("people = []").0, Some(0));
    let long = format!("people = [\"{}\"]", "x".repeat(65));
    for (people, words) in [
        ("people = [\"Ada\", \"\"]", "a name may not be empty"),
        ("people = [\"Ada\", \"Bo\", \"Ada\"]", "\"Ada\" stands twice"),
        ("people = [\"Ada\", \"ADA\"]", "stands twice"),
        ("people = [\"A\\u001b[31m\"]", "no control character"),
        ("people = [\"A\\u202eb\"]", "a name may hold"),
        (long.as_str(), "64 characters at most"),
        ("people = [7]", "should be a text in quotes"),
    ] {
        let (exit, told) = config(people);
        assert_eq!(exit, Some(2), "{people}: {told}");
        assert!(told.contains("bench.toml:4: error") && told.contains(words), "{people}: {told}");
    }
    // A name on a line of its own is named with that line.
    let told = config("people = [\n\"Ada\",\n\"Ada\",\n]").1;
    assert!(told.contains("bench.toml:6: error"), "{told}");
}

#[test]
fn tables_and_spreadsheets_say_who() {
    let (bench, _scanner) = bench();
    measured(&bench, "Ada", "inner ring/face", &FACE);
    bench.ok(&["void", "--station", "bench-1", "--by", "Bo", "--why", "slipped"]);
    enter(&bench, "Ada", &["0"]);
    bench.ok(&["person", "Bo", "--station", "bench-1"]);
    measured(&bench, "Cy", "outer/length", &["1.0100", "1.0100", "1.0100", "1.0100"]);
    let alert = bench.lines(&["alerts", "J-1", "--kind", "out"]).remove(0);
    bench.ok(&["ack", &alert["id"].to_string(), "--station", "bench-1", "--by", "Dee"]);
    for (command, headings) in
        [("readings", &["by", "voided_by"][..]), ("verdicts", &["by"]), ("alerts", &["acked_by"])]
    {
        let text = bench.ok(&[command, "J-1", "--csv"]);
        let rows: Vec<Vec<String>> = csv(&text);
        let lines = bench.lines(&[command, "J-1"]);
        assert_eq!(rows.len(), lines.len() + 1);
        let docs = include_str!("../../docs/csv.md");
        assert!(docs.contains(text.lines().next().unwrap()), "{command}");
        for heading in headings {
            let at = rows[0].iter().position(|one| one == heading).unwrap();
            let cells: Vec<&str> = rows[1..].iter().map(|row| row[at].as_str()).collect();
            let told: Vec<&str> =
                lines.iter().map(|line| line[heading].as_str().unwrap_or_default()).collect();
            assert_eq!(cells, told, "{command} {heading}");
            assert!(cells.iter().any(|cell| !cell.is_empty()), "{command} {heading}");
        }
    }
    let table = bench.ok(&["readings", "J-1"]);
    let head = table.lines().next().unwrap();
    assert!(head.contains("by") && head.contains("taken back by"), "{table}");
    let void = table.lines().find(|line| line.contains("slipped")).unwrap();
    assert!(void.contains("Ada") && void.contains("Bo"), "{table}");
    assert!(!bench.ok(&["readings", "J-1", "--state", "placed"]).contains("taken back by"));
    let table = bench.ok(&["verdicts", "J-1"]);
    assert!(table.contains("Ada") && table.contains("Cy"), "{table}");
    let table = bench.ok(&["alerts", "J-1"]);
    assert!(table.contains("seen by") && table.contains("Dee"), "{table}");
}

/// The cells of a text of separated values that quotes nothing but with `"`.
fn csv(text: &str) -> Vec<Vec<String>> {
    let row = |line: &str| {
        let (mut cells, mut quoted) = (vec![String::new()], false);
        for character in line.chars() {
            match character {
                '"' => quoted = !quoted,
                ',' if !quoted => cells.push(String::new()),
                _ => cells.last_mut().unwrap().push(character),
            }
        }
        cells
    };
    text.lines().map(row).collect()
}

#[test]
fn who_left_out_changed_replaced_or_went_on_is_told() {
    let (bench, _scanner) = bench();
    let at = ["--station", "bench-1", "--by"];
    let ask = |words: &[&str], by: &str| {
        let mut all = words.to_vec();
        all.extend(at);
        all.push(by);
        bench.ok(&all);
    };
    ask(&["measure", "inner ring/face"], "Ada");
    enter(&bench, "Ada", &FACE[..5]);
    ask(&["skip", "5", "--why", "a slot"], "Bo");
    enter(&bench, "Ada", &["0", "0"]);
    ask(&["job", "rule", "J-1", "simple", "--why", "the customer asked"], "Cy");
    ask(&["stack", "found", "inner ring", "--towards-nose", "front"], "Fay");
    ask(&["replace", "outer", "--serial", "N-2", "--why", "cracked"], "Dee");
    ask(&["note", "J-1", "came in dirty"], "Eve");
    ask(
        &["stack", "built", "inner ring", "--towards-nose", "front", "--why", "the owner waits"],
        "Gus",
    );
    ask(&["job", "close", "J-1", "--why", "fetched"], "Hal");
    let told = bench.ok(&["job", "show", "J-1"]);
    let page = bench.ok(&["report", "J-1"]).replace("<bdi>", "").replace("</bdi>", "");
    for (what, by) in [
        ("position 5 left out", "Bo"),
        ("rule", "Cy"),
        ("replaced", "Dee"),
        ("came in dirty", "Eve"),
        ("stack as found", "Fay"),
        ("the owner waits", "Gus"),
        ("fetched", "Hal"),
    ] {
        let line = told.lines().find(|line| line.contains(what) && line.contains(by));
        assert!(line.is_some(), "{what} by {by}: {told}");
        let near = page.match_indices(by).any(|(at, _)| {
            let around = &page[at.saturating_sub(400)..(at + 400).min(page.len())];
            around.contains(what)
                || around.contains("Changed to simple")
                || what == "stack as found"
        });
        assert!(near, "{what} by {by} is not on the page");
    }
    let job = bench.lines(&["job", "show", "J-1"]).remove(0);
    let left_out = &job["left_out"][0];
    assert_eq!(
        [&left_out["part"], &left_out["check"], &left_out["why"], &left_out["by"]],
        ["inner ring", "face", "a slot", "Bo"]
    );
    assert_eq!((&left_out["position"], &left_out["attempt"]), (&5.into(), &1.into()));
    assert_eq!(job["rules"][0]["by"], "Cy");
    assert_eq!(job["replaced"][0]["by"], "Dee");
    assert_eq!(job["stack"]["found"][0]["by"], "Fay");
    assert_eq!(job["stack"]["built"][0]["by"], "Gus");
    assert_eq!(
        (&job["went_on"][0]["by"], &job["went_on"][1]["by"]),
        (&"Gus".into(), &"Hal".into())
    );
    assert_eq!(job["closed_by"], "Hal");
    // Handed on and taken over, it is all still there.
    let bundle = bench.path("bundle");
    bench.ok(&["export", "J-1", "--out", bundle.to_str().unwrap()]);
    let mut other = Bench::new(&Make { gauge: GAUGE, more: "", plan: PLAN });
    other.start();
    other.stop();
    other.ok(&["import", bundle.to_str().unwrap()]);
    let there = other.lines(&["job", "show", "J-1"]).remove(0);
    for list in ["left_out", "rules", "replaced", "stack", "went_on", "closed_by"] {
        // Whose process it was is told as one of the other bench.
        let there = there[list].to_string().replace("\"elsewhere\":true,", "");
        assert_eq!(there, job[list].to_string(), "{list}");
    }
}

#[test]
fn the_report_names_everyone_whose_readings_count() {
    let (bench, _scanner) = bench();
    let front = || {
        let page = bench.ok(&["report", "J-1"]).replace("<bdi>", "").replace("</bdi>", "");
        let front = page.split("<dt>Measured by</dt>").nth(1).unwrap();
        front.split("Rule agreed").next().unwrap().to_owned()
    };
    measured(&bench, "Ada", "inner ring/face", &FACE);
    // A command that is told can be typed as it stands.
    let told = bench.refused(2, &["measure", "inner ring/face", "--station", "bench-1"]);
    assert!(told.contains("`tenths remeasure ground 'inner ring/face'`"), "{told}");
    measured(&bench, "Ada", "inner ring/length", &INCH);
    measured(&bench, "Ada", "outer/length", &INCH);
    bench.ok(&["measure", "pair/match", "--station", "bench-1", "--by", "Ada"]);
    bench.ok(&["checked", "J-1", "--by", "Ada"]);
    // A difference has no touches of its own; whoever measured both lengths measured it.
    assert!(front().contains("no second person"), "{}", front());
    // Another person's try that is combined with the first one.
    bench.ok(&["remeasure", "again", "inner ring/face", "--station", "bench-1", "--by", "Bo"]);
    enter(&bench, "Bo", &FACE);
    let verdict = bench.lines(&["verdicts", "J-1", "--check", "face"]).pop().unwrap();
    assert_eq!((&verdict["tries"], &verdict["by"]), (&2.into(), &"Bo".into()));
    let told = front();
    let of = |person: &str| {
        let rest = told.split(&format!("<p>{person}: ")).nth(1);
        rest.map(|rest| rest.split("</p>").next().unwrap().to_owned())
    };
    let ada = of("Ada").unwrap();
    assert!(ada.contains("inner ring/face") && ada.contains("outer/length"), "{told}");
    assert_eq!(of("Bo").unwrap(), "inner ring/face", "{told}");
    assert!(!told.contains("Office"), "{told}");
    // Each line of the verdicts names its own.
    let page = bench.ok(&["report", "J-1"]).replace("<bdi>", "").replace("</bdi>", "");
    let row = |id: &Value| {
        let rest = page.split(&format!("data-verdict=\"{id}\"")).nth(1).unwrap();
        rest.split("</tr>").next().unwrap().to_owned()
    };
    assert!(row(&verdict["id"]).contains("by Ada, Bo"), "{}", row(&verdict["id"]));
    let of_pair = bench.lines(&["verdicts", "J-1", "--check", "match"]).pop().unwrap();
    assert!(row(&of_pair["id"]).contains("by Ada"), "{}", row(&of_pair["id"]));
    // Ada measured most of it alone: her check is a second person's of the face only.
    bench.ok(&["checked", "J-1", "--by", "Ada"]);
    let told = front();
    assert!(
        told.contains("who measured inner ring/length, outer/length, pair/match alone"),
        "{told}"
    );
}

#[test]
fn a_refused_scan_at_the_stack_says_the_command_that_goes_on() {
    let (bench, scanner) = bench();
    let job = JobTag::of(&Name::new("J-1").unwrap());
    let stack = |place, way| Code::Stack { job, stage: Stage::Built, place, way };
    let scan = |code: Code| scanner.send(&format!("{code}\r"));
    scan(Code::Check { job, at: CheckAt { part: 0, check: 0 } });
    bench.until("it is active", || station(&bench)["check"] == "face");
    scan(stack(0, Some(0)));
    bench.until("it is refused", || !scan_notes(&bench).is_empty());
    let told = scan_notes(&bench).remove(0);
    assert!(told.contains("inner ring/face is not measured"), "{told}");
    let command = told.split('`').nth(1).unwrap().to_owned();
    assert_eq!(
        command,
        "tenths stack built 'inner ring' --towards-nose front --station bench-1 --why TEXT"
    );
    // Typed as it stands, with a reason, it does it.
    let done = std::process::Command::new("sh")
        .arg("-c")
        .arg(command.replacen("tenths", env!("CARGO_BIN_EXE_tenths"), 1))
        .env("TENTHS_CONFIG", bench.path("bench.toml"))
        .output()
        .unwrap();
    assert!(done.status.success(), "{}", String::from_utf8_lossy(&done.stderr));
    let shown = bench.lines(&["job", "show", "J-1"]).remove(0);
    assert_eq!(shown["went_on"][0]["part"], "inner ring");
    // The same sentence where it is typed.
    let typed = bench.refused(2, &["stack", "built", "outer", "--station", "bench-1"]);
    assert!(typed.contains("`tenths stack built outer --station bench-1 --why TEXT`"), "{typed}");
    let typed = bench.refused(2, &["job", "close", "J-1", "--station", "bench-1"]);
    assert!(typed.contains("`tenths job close J-1 --station bench-1 --why TEXT`"), "{typed}");
}
