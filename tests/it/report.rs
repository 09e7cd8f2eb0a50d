//! The customer's report through the real program. The readings are invented; what the page says is compared
//! with what the record says.

use std::fmt::Write as _;

use markup5ever_rcdom::Handle;
use serde_json::Value;

use self::html::{attribute, collect_ids, elements, parsed, text};
use crate::rig::{Bench, Make};

pub(crate) mod html;
mod pictures;

const GAUGE: &str = "unit = \"in\"\nresolution = \"0.00001 in\"\nuncertainty = \"0.0000084 in\"\n\
                     repeatability = \"0.000006 in\"\nrepeat_ms = 0\nmax_rate = 0\nserial = \"P-7\"";

const PLAN: &str = include_str!("report/plan.toml");

fn started(plan: &str) -> Bench {
    let mut bench = Bench::new(&Make { gauge: GAUGE, more: "", plan });
    bench.start();
    bench
}

fn measure(bench: &Bench, check: &str, readings: &str) {
    bench.ok(&["measure", check]);
    enter(bench, readings);
}

fn enter(bench: &Bench, readings: &str) {
    let mut arguments = vec!["enter"];
    arguments.extend(readings.split(' '));
    bench.ok(&arguments);
}

/// A job with a verdict of every kind, a regrind, a touch taken back and a position left out.
fn whole_job() -> Bench {
    let bench = started(PLAN);
    bench.ok(&[
        "job",
        "open",
        "s1",
        "--plan",
        "held",
        "--serial",
        "7-1",
        "--customer",
        "Brook & Sons",
    ]);
    measure(
        &bench,
        "inner/face",
        "0.00019 0.00026 0.00024 0.00016 0.00007 0.00000 0.00002 0.00010",
    );
    bench.ok(&["remeasure", "ground", "--remark", "face b down, chuck 2"]);
    enter(&bench, "0.00001 0.00003 0.00003 0.00002 0.00001 0.00000 0.00000 0.00001");
    measure(&bench, "inner/length", "0.00000 -0.00031 -0.00031 -0.00032 -0.00031 0.00001");
    measure(&bench, "outer/length", "0.00000 -0.00018 -0.00018 -0.00017 -0.00018 0.00000");
    bench.ok(&["measure", "pair/match"]);
    measure(&bench, "shield/flat", "0.00002 -0.00002 0.00141");
    bench.ok(&["void", "--why", "slipped"]);
    bench.ok(&["skip", "5", "--why", "a slot"]);
    enter(&bench, "0.00002 -0.00003 0.00001 0.00003 -0.00001");
    measure(
        &bench,
        "nose/pilot",
        "0.00002 0.00004 0.00003 0.00001 -0.00002 -0.00003 -0.00004 -0.00001",
    );
    measure(
        &bench,
        "nose/bar",
        "0.00001 0.00003 0.00003 0.00001 -0.00001 -0.00003 -0.00003 -0.00001",
    );
    enter(&bench, "0.00008 0.00005 0.00000 -0.00005 -0.00008 -0.00005 0.00000 0.00005");
    bench.ok(&["confirm", "nose/seen", "yes"]);
    bench.ok(&["record", "nose/room", "20.4"]);
    bench
}

/// The rows of the main table by the number of their verdict.
fn rows(page: &Handle) -> Vec<(u64, Vec<Handle>)> {
    let with_number = elements(page, "tr").into_iter().filter_map(|row| {
        let id = attribute(&row, "data-verdict")?.parse().unwrap();
        Some((id, elements(&row, "td")))
    });
    with_number.collect()
}

/// A number as it is printed against the exact one, within half of its last place; `up`: not below.
#[track_caller]
fn agrees(printed: &str, exact: &str, up: bool) {
    let printed = printed.replace('−', "-").replace('+', "");
    let places = printed.split_once('.').map_or(0, |(_, digits)| digits.trim().len());
    let (one, other): (f64, f64) = (printed.trim().parse().unwrap(), exact.parse().unwrap());
    let last = 10_f64.powi(-i32::try_from(places).unwrap());
    let (most, least) = if up { (last, 0.0) } else { (last / 2.0, -last / 2.0) };
    assert!(one - other <= most + 1e-12 && one - other >= least - 1e-12, "{printed} for {exact}");
}

#[track_caller]
fn cell_agrees(cell: &Handle, exact: &Value, up: bool) {
    let Some(exact) = exact.as_str() else { return assert!(elements(cell, "data").is_empty()) };
    let data = &elements(cell, "data")[0];
    assert_eq!(attribute(data, "value").as_deref(), Some(exact));
    if !text(data).starts_with("less than") {
        agrees(&text(data), exact, up);
    }
}

#[test]
fn every_number_of_the_main_table_is_that_of_the_record() {
    let bench = whole_job();
    let page = bench.ok(&["report", "s1"]);
    let tree = parsed(&page);
    let verdicts = bench.lines(&["verdicts", "s1"]);
    let rows = rows(&tree);
    assert_eq!(rows.len(), 8, "one line for each check with a verdict");
    for (id, cells) in &rows {
        let wire = verdicts.iter().find(|verdict| verdict["id"] == *id).unwrap();
        cell_agrees(&cells[1], &wire["value"], false);
        cell_agrees(&cells[3], &wire["uncertainty"], true);
        let word = wire["verdict"].as_str().unwrap().replace('-', " ");
        assert!(text(&cells[4]).starts_with(&word), "{} is not {word}", text(&cells[4]));
        let taken = wire["taken"].to_string();
        let positions = text(&cells[5]);
        assert!(positions.starts_with(&taken) || (taken == "0" && positions == "–"), "{positions}");
        assert!(!text(&cells[6]).is_empty(), "no verdict without its set-up: {wire}");
    }
    let ground = rows.iter().find(|(_, cells)| text(&cells[7]).starts_with("2, 1")).unwrap();
    assert_eq!(attribute(&elements(&ground.1[0], "data")[0], "value").as_deref(), Some("0.00026"));
}

#[test]
fn the_page_tells_all_that_the_job_holds() {
    let bench = whole_job();
    let page = bench.ok(&["report", "s1"]);
    for words in [
        "Brook &amp; Sons",
        "temperature of the room</bdi>: <bdi>20.4 C",
        "0.00003 − 0.00000 = 0.00003; limit 0.0001; U 0.000024: 0.00003 ≤ 0.0001 − 0.000024",
        "1 touch was taken back",
        "slipped",
        "a slot",
        "metal was taken off after it",
        "predicted, not measured",
        "rings lying free; nut and fit add to this",
        "turns were read by hand, cold, without load; no turn is a running test",
        "Annex: the other rule",
        "P-7",
    ] {
        assert!(page.to_lowercase().contains(&words.to_lowercase()), "{words:?} is missing");
    }
    let tree = parsed(&page);
    let not = elements(&tree, "section")
        .into_iter()
        .find(|one| attribute(one, "aria-labelledby").as_deref() == Some("not"))
        .unwrap();
    assert!(text(&not).contains("nose/never, runout of one turn: not begun"));
    let titles: Vec<String> = elements(&tree, "svg")
        .iter()
        .map(|svg| {
            assert_eq!((elements(svg, "title").len(), elements(svg, "desc").len()), (1, 1));
            text(&elements(svg, "title")[0])
        })
        .collect();
    let ones = [
        "Before: heights",
        "After: heights",
        "As measured: one turn",
        "Turns of the bar",
        "Where the axis lies",
    ];
    for one in ones {
        assert!(titles.iter().any(|title| title.starts_with(one)), "{one}: {titles:?}");
    }
}

#[test]
fn nothing_is_loaded_and_headings_and_heads_are_in_order() {
    let bench = whole_job();
    let file = bench.path("s1.html");
    bench.ok(&["report", "s1", "--out", file.to_str().unwrap()]);
    let page = std::fs::read_to_string(&file).unwrap();
    assert_eq!(page, bench.ok(&["report", "s1"]), "the page is the same whenever it is made");
    for word in
        ["http:", "https:", "src=", "url(", "@import", "<link", "<script", "<iframe", "onload"]
    {
        assert!(!page.contains(word), "{word} is in the page");
    }
    let tree = parsed(&page);
    for head in elements(&tree, "th") {
        assert!(attribute(&head, "scope").is_some(), "a head without scope: {}", text(&head));
    }
    let mut ids: Vec<String> = Vec::new();
    collect_ids(&tree, &mut ids);
    let many = ids.len();
    ids.sort();
    ids.dedup();
    assert_eq!(ids.len(), many, "an id twice");
    for link in elements(&tree, "a") {
        let to = attribute(&link, "href").unwrap();
        assert!(ids.iter().any(|id| format!("#{id}") == to), "{to} leads nowhere");
    }
    assert_eq!(elements(&tree, "h1").len(), 1);
    let first_h2 = page.find("<h2").unwrap();
    assert!(page.find("<h1").unwrap() < first_h2 && first_h2 < page.find("<h3").unwrap());
}

#[test]
fn an_unknown_job_is_refused_and_an_empty_one_says_so() {
    let bench = started(PLAN);
    bench.ok(&["job", "open", "s1", "--plan", "held"]);
    let said = bench.refused(2, &["report", "s2"]);
    assert!(said.contains("s1"), "{said}");
    let page = bench.ok(&["report", "s1"]);
    let tree = parsed(&page);
    assert!(rows(&tree).is_empty());
    assert!(page.contains("No check of this job has a verdict."));
    assert!(text(&tree).contains("inner/face, parallelism to the plate: not begun"));
}

#[test]
fn a_job_of_nothing_but_voids_has_no_figure() {
    let bench = started(PLAN);
    bench.ok(&["job", "open", "s1", "--plan", "held"]);
    measure(&bench, "inner/face", "0.00001 0.00002");
    bench.ok(&["void", "--why", "wrong face"]);
    bench.ok(&["void", "--why", "wrong face"]);
    bench.ok(&["measure", "--stop"]);
    let tree = parsed(&bench.ok(&["report", "s1"]));
    let said = text(&tree);
    assert!(said.contains("2 touches were taken back") && said.contains("wrong face"));
    for (_, cells) in rows(&tree) {
        assert!(text(&cells[4]).starts_with("incomplete"), "{}", text(&cells[4]));
        assert_eq!((text(&cells[1]).as_str(), text(&cells[5]).as_str()), ("–", "0 of 8"));
    }
}

#[test]
fn two_hundred_checks_have_a_line_each() {
    let mut plan =
        "name = \"held\"\nunit = \"in\"\n[[part]]\nname = \"p\"\nkind = \"other\"\n".to_owned();
    for check in 0..200 {
        write!(plan, "[[part.check]]\nname = \"c{check}\"\nmeasures = \"confirm\"\nquestion = \"done?\"\nanswers = [\"yes\", \"no\"]\ngood = [\"yes\"]\n").unwrap();
    }
    let bench = started(&plan);
    bench.ok(&["job", "open", "s1", "--plan", "held"]);
    for check in (0..200).step_by(10) {
        bench.ok(&["confirm", &format!("p/c{check}"), if check == 50 { "no" } else { "yes" }]);
    }
    let tree = parsed(&bench.ok(&["report", "s1"]));
    assert_eq!(rows(&tree).len(), 20);
    assert_eq!(text(&tree).matches(", answer: not begun").count(), 180);
    assert!(text(&tree).contains("20 checks have a verdict: conforms 19, does not conform 1."));
}

#[test]
fn hostile_text_is_shown_and_never_works() {
    let bench =
        started(&PLAN.replace("down = \"face-b\"", "down = \"</td><script>alert(1)</script>\""));
    let script = "<script>alert('x')</script>";
    let steering = "safe\u{202e}evas\u{1b}[2J";
    let long = "n".repeat(10_000);
    bench.ok(&["job", "open", "s1", "--plan", "held", "--serial", script, "--customer", steering]);
    bench.ok(&["person", "\"><img onerror=x>"]);
    bench.ok(&["note", "s1", &long]);
    bench.ok(&["note", "s1", "]]></style><svg onload=alert(1)>"]);
    bench.ok(&["measure", "inner/face", "--remark", script]);
    bench.ok(&["skip", "1", "--why", "<b>slot</b>\u{202e}"]);
    enter(&bench, "0.00001 0.00002 0.00002 0.00001 0.00002 0.00001 0.00001");
    let said = bench.refused(2, &["record", "nose/room", "<i>20</i>"]);
    assert!(said.contains("nose/room is a number in C"), "{said}");
    let page = bench.ok(&["report", "s1"]);
    let tree = parsed(&page);
    for element in ["script", "img", "b", "i", "iframe"] {
        assert!(elements(&tree, element).is_empty(), "a {element} came to life");
    }
    assert!(!page.chars().any(|c| (c.is_control() && c != '\n') || c == '\u{202e}'));
    let said = text(&tree);
    for whole in [script, &long, "safe\\u{202e}evas\\x1b[2J", "<b>slot</b>", "\"><img onerror=x>"] {
        assert!(said.contains(whole), "the whole text is kept: {whole:.60}");
    }
    let isolated: Vec<String> = elements(&tree, "bdi").iter().map(text).collect();
    assert!(isolated.iter().any(|text| text == script) && isolated.contains(&long));
}

#[test]
fn earlier_jobs_of_the_serial_tell_what_was_changed_and_what_has_moved() {
    let bench = whole_job();
    bench.ok(&["job", "close", "--why", "a try"]);
    bench.ok(&["job", "open", "s2", "--plan", "held", "--serial", "7-1"]);
    measure(
        &bench,
        "inner/face",
        "0.00001 0.00005 0.00003 0.00002 0.00001 0.00000 0.00000 0.00001",
    );
    let page = bench.ok(&["report", "s2"]);
    let tree = parsed(&page);
    let strip = elements(&tree, "section")
        .into_iter()
        .find(|one| attribute(one, "aria-labelledby").as_deref() == Some("earlier"))
        .unwrap();
    let said = text(&strip);
    assert!(said.contains("ground: inner/face"), "{said}");
    let figures: Vec<String> =
        elements(&strip, "data").iter().map(|one| attribute(one, "value").unwrap()).collect();
    assert_eq!(figures, ["0.00003", "0.00005", "0.00005"]);
    assert!(!bench.ok(&["report", "s1"]).contains("Earlier jobs of this serial"));
}
