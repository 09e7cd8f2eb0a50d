//! A seal that was printed proves later whether the record behind it is the same.

use std::fs;

use crate::rig::{Bench, Make};

const PLAN: &str = r#"
name = "held"
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
radius = "1.5 in"
tolerance = "0.0001 in"
closure = false
"#;

/// A bench with a ring in its record that was touched so.
fn measured(touches: [&str; 8]) -> Bench {
    let gauge = "unit = \"in\"\nresolution = \"0.00001 in\"\nuncertainty = \"0.000009 in\"";
    let mut bench = Bench::new(&Make { gauge, more: "", plan: PLAN });
    bench.start();
    bench.ok(&["job", "open", "J-1", "--plan", "held"]);
    bench.ok(&["measure", "ring/face"]);
    let mut enter = vec!["enter", "--graduation", "0.00001in"];
    enter.extend(touches);
    bench.ok(&enter);
    bench.ok(&["job", "close", "J-1"]);
    bench
}

const TOUCHED: [&str; 8] = ["0", "1", "2", "3", "2", "1", "0", "1"];

fn report(bench: &Bench) -> String {
    let page = bench.path("page.html");
    bench.ok(&["report", "J-1", "--out", page.to_str().unwrap()]);
    fs::read_to_string(page).unwrap()
}

/// The seal on a page.
fn printed(page: &str) -> &str {
    let (_, seal) = page.split_once("Seal of the record: <span class=\"seal\">").unwrap();
    seal.split_once('<').unwrap().0
}

#[test]
fn a_seal_on_a_report_tells_later_whether_the_record_is_the_same() {
    let mut bench = measured(TOUCHED);
    let seal = printed(&report(&bench)).to_owned();
    assert_eq!(bench.heard().unwrap()["storage"]["seal"], seal.as_str());
    let status = String::from_utf8(bench.run(&["status"]).stdout).unwrap();
    assert!(status.contains(&format!("seal: {seal}")), "{status}");
    // It goes on, and what was printed holds however it is typed.
    bench.ok(&["note", "J-1", "shipped"]);
    assert_ne!(bench.heard().unwrap()["storage"]["seal"], seal.as_str());
    for typed in [seal.clone(), seal.replace('-', " "), seal.to_uppercase()] {
        let said = bench.ok(&["verify", "--seal", &typed]);
        assert!(said.contains("what it was when the seal was printed"), "{said}");
    }
    let line = bench.lines(&["verify", "--seal", &seal]).remove(0);
    assert_eq!(line["sealed"], true);
    assert_eq!(line["seal"], bench.heard().unwrap()["storage"]["seal"]);
    assert!(bench.lines(&["verify"])[0]["sealed"].is_null());
    bench.stop();
    // A record that is whole by itself, and is another one: somebody wrote it anew with a better ring.
    let mut other = measured(["0", "1", "2", "1", "2", "1", "0", "1"]);
    other.ok(&["note", "J-1", "shipped"]);
    other.stop();
    other.ok(&["verify"]);
    let found = other.run(&["verify", "--seal", &seal]);
    let out = String::from_utf8(found.stdout).unwrap();
    assert_eq!(found.status.code(), Some(1), "{out}");
    assert!(out.contains("are not those that the seal was printed with"), "{out}");
    // A row that changed is named, and the seal holds no more.
    let path = bench.path("state/tenths.db");
    let file = rusqlite::Connection::open(&path).unwrap();
    file.execute("UPDATE reading SET number = 2 WHERE number = 3", []).unwrap();
    file.close().unwrap();
    let out = bench.run(&["verify", "--seal", &seal, "--json"]);
    let line: serde_json::Value = serde_json::from_slice(&out.stdout).unwrap();
    assert_eq!((out.status.code(), &line["sealed"]), (Some(1), &false.into()), "{line}");
    assert!(line["differences"][0]["table"] == "reading", "{line}");
}

#[test]
fn what_is_no_seal_or_of_a_row_to_come_is_told() {
    let mut bench = measured(TOUCHED);
    bench.stop();
    let said = bench.refused(2, &["verify", "--seal", "12-34"]);
    assert!(said.contains("is not a seal") && said.contains("as printed"), "{said}");
    let later = format!("999-{}", "0".repeat(32));
    let found = bench.run(&["verify", "--seal", &later]);
    let out = String::from_utf8(found.stdout).unwrap();
    assert!(found.status.code() == Some(1) && out.contains("does not have"), "{out}");
}

#[test]
fn the_report_of_an_old_job_is_the_same_page_whatever_comes_after_it() {
    let bench = measured(TOUCHED);
    bench.ok(&["job", "open", "J-2", "--plan", "held"]);
    for number in 0..260 {
        bench.ok(&["note", "J-2", &format!("remark {number}")]);
    }
    let page = report(&bench);
    assert!(printed(&page).starts_with("255-"), "{}", printed(&page));
    bench.ok(&["note", "J-2", "one more"]);
    assert_eq!(report(&bench), page);
    bench.ok(&["verify", "--seal", printed(&page)]);
}
