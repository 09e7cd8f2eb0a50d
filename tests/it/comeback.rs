//! A spindle comes back: what it left with is compared with what is found, station by station, and a part
//! that was replaced in between makes them incomparable.

use serde_json::Value;

use crate::report::html::{elements, parsed, text};
use crate::rig::{Bench, Make};

const GAUGE: &str = "resolution = \"0.00001 in\"\nuncertainty = \"0.000004 in\"\nrepeatability = \"0.000003 in\"\nrepeat_ms = 0\nmax_rate = 0";

/// A bar as received at 0.5 in, 2 in and 4 in, and as final at 0.5 in and 4 in.
fn plan(more: &str) -> String {
    format!(
        r#"
name = "held"
unit = "in"
[[part]]
name = "received"
kind = "shaft"
[[part.check]]
name = "bar"
measures = "bar-runout"
gauge = "plate"
positions = 8
stations = [{{ at = "0.5 in", tolerance = "0.0001 in" }}, {{ at = "2 in", tolerance = "0.0002 in" }}, {{ at = "4 in", tolerance = "0.0003 in" }}]
[[part.check]]
name = "drag"
measures = "entry"
question = "drag"
[[part]]
name = "front"
kind = "bearing"
[[part.check]]
name = "serial"
measures = "entry"
question = "serial"
[[part]]
name = "final"
kind = "shaft"
[[part.check]]
name = "bar"
found = "received/bar"
measures = "bar-runout"
gauge = "plate"
positions = 8
stations = [{{ at = "0.5 in", tolerance = "0.0001 in" }}, {{ at = "4 in", tolerance = "0.0003 in" }}]
[[part.check]]
name = "drag"
found = "received/drag"
measures = "entry"
question = "drag"
{more}"#
    )
}

fn bar(bench: &Bench, target: &str, highest: &[&str]) {
    bench.ok(&["measure", target]);
    for highest in highest {
        bench.ok(&["enter", "0", "0", highest, "0", "0", "0", "0", "0"]);
    }
}

/// Two jobs of one spindle. In the first the bearings were replaced between found and final.
fn two_jobs() -> Bench {
    let mut bench = Bench::new(&Make { gauge: GAUGE, more: "", plan: &plan("") });
    bench.start();
    bench.ok(&["job", "open", "J-1", "--plan", "held", "--serial", "SP-1"]);
    bar(&bench, "received/bar", &["0.00030", "0.00040", "0.00050"]);
    bench.ok(&["record", "received/drag", "stiff"]);
    bench.ok(&["replace", "front", "--serial", "B2", "--why", "pitted"]);
    bar(&bench, "final/bar", &["0.00002", "0.00012"]);
    bench.ok(&["record", "final/drag", "light"]);
    bench.verdict("J-1", 2);
    bench.ok(&["job", "close", "--why", "a try"]);
    bench.ok(&["job", "open", "J-2", "--plan", "held", "--serial", "SP-1"]);
    bar(&bench, "received/bar", &["0.00008", "0.00011", "0.00014"]);
    bench.ok(&["record", "received/drag", "light"]);
    bar(&bench, "final/bar", &["0.00002", "0.00014"]);
    bench.verdict("J-2", 2);
    bench
}

fn characteristic<'a>(line: &'a Value, part: &str, check: &str, at: Option<&str>) -> &'a Value {
    let all = line["characteristics"].as_array().unwrap();
    let fits = |one: &&Value| {
        one["part"] == part && one["check"] == check && one["station"].as_str() == at
    };
    all.iter().find(fits).unwrap_or_else(|| panic!("{part}/{check} {at:?}: {line}"))
}

#[test]
fn found_final_and_found_again_are_compared_station_by_station() {
    let bench = two_jobs();
    let line = bench.lines(&["job", "compare", "J-1", "J-2"]).remove(0);
    let all = line["characteristics"].as_array().unwrap();
    assert!(all.iter().all(|one| one["part"] != "received"), "a found side has no row: {line}");
    // Each job: station, found, final. By hand from what was entered above.
    for (at, jobs) in [
        ("0.5", [("0.0003", "0.00002"), ("0.00008", "0.00002")]),
        ("4", [("0.0005", "0.00012"), ("0.00014", "0.00014")]),
    ] {
        let one = characteristic(&line, "final", "bar", Some(at));
        for (job, (found, last)) in one["jobs"].as_array().unwrap().iter().zip(jobs) {
            assert_eq!(job["first"]["value"], found, "{at}: {one}");
            assert_eq!(job["standing"]["value"], last, "{at}: {one}");
            assert_eq!(job["found"]["part"], "received");
            assert_eq!(job["found"]["rounds"].as_array().unwrap().len(), 1);
        }
    }
    // What J-1 left against what J-2 found: 0.00008 − 0.00002 and 0.00014 − 0.00012.
    let near = &characteristic(&line, "final", "bar", Some("0.5"))["changes"][0];
    assert_eq!((&near["value"], &near["result"]), (&"0.00006".into(), &"changed".into()));
    assert_eq!(
        (&near["same_piece"], &near["broken_by"]),
        (&true.into(), &Value::from(Vec::<Value>::new()))
    );
    let far = &characteristic(&line, "final", "bar", Some("4"))["changes"][0];
    assert_eq!((&far["value"], &far["result"]), (&"0.00002".into(), &"cannot-tell".into()));
    // A station that only the found side has is kept.
    let middle = characteristic(&line, "final", "bar", Some("2"));
    assert_eq!(middle["jobs"][0]["first"]["value"], "0.0004");
    assert_eq!(middle["jobs"][0]["standing"], Value::Null);
    assert_eq!(middle["changes"].as_array().unwrap().len(), 0);
    // Found to final: across new bearings in J-1, on the same ones in J-2.
    for (check, at) in [("bar", Some("0.5")), ("bar", Some("4"))] {
        let within = &characteristic(&line, "final", check, at)["found_to_final"];
        assert_eq!((&within[0]["from"], &within[0]["to"]), (&"J-1".into(), &"J-1".into()));
        assert_eq!(within[0]["same_piece"], false);
        assert_eq!(within[0]["broken_by"], Value::from(vec!["front"]));
        assert_eq!(within[1]["same_piece"], true);
    }
    let drag = characteristic(&line, "final", "drag", None);
    assert_eq!(drag["found_to_final"][0]["broken_by"], Value::from(vec!["front"]));
    assert_eq!(drag["found_to_final"][0]["result"], "other-answer");
    assert_eq!(drag["changes"][0]["result"], "same-answer");
}

#[test]
fn a_bearing_replaced_in_between_breaks_the_chain_of_what_turns() {
    let bench = two_jobs();
    bench.ok(&["job", "open", "J-3", "--plan", "held", "--serial", "SP-1"]);
    bench.ok(&["replace", "front", "--serial", "B3", "--why", "noisy"]);
    bar(&bench, "received/bar", &["0.00002", "0.00011", "0.00014"]);
    bench.verdict("J-3", 1);
    let line = bench.lines(&["job", "compare", "J-2", "J-3"]).remove(0);
    let change = &characteristic(&line, "final", "bar", Some("4"))["changes"][0];
    assert_eq!(change["same_piece"], false);
    assert_eq!(change["broken_by"], Value::from(vec!["front"]));
    let said = bench.ok(&["job", "compare", "J-1", "J-2", "--long"]);
    assert!(said.contains("another piece: new front"), "{said}");
    assert!(said.contains("received/bar at 0.5"), "every round is told: {said}");
}

#[test]
fn the_first_page_pairs_found_and_final_and_what_has_moved_keeps_stations_apart() {
    let bench = two_jobs();
    let page = bench.ok(&["report", "J-2"]);
    let tree = parsed(&page);
    let section = |id: &str| {
        let named = |one: &markup5ever_rcdom::Handle| {
            crate::report::html::attribute(one, "aria-labelledby").as_deref() == Some(id)
        };
        elements(&tree, "section").into_iter().find(named).unwrap()
    };
    let rows = |id: &str| -> Vec<Vec<String>> {
        let cells = |row: &markup5ever_rcdom::Handle| {
            let cell = |tag| elements(row, tag).iter().map(text).collect::<Vec<_>>();
            [cell("th"), cell("td")].concat()
        };
        elements(&section(id), "tr").iter().map(cells).collect()
    };
    let row = |id: &str, name: &str| {
        let all = rows(id);
        all.iter().find(|row| row[0] == name).cloned().unwrap_or_else(|| panic!("{name}: {all:?}"))
    };
    // Left, found, final; by hand from what was entered.
    let near = row("front", "final/bar at 0.5");
    assert_eq!(near[1..4], ["0.00002", "0.00008", "0.00002"], "{near:?}");
    assert!(near[4].contains("CHANGED"), "{near:?}");
    let far = row("front", "final/bar at 4");
    assert_eq!(far[1..4], ["0.00012", "0.00014", "0.00014"], "{far:?}");
    assert!(far[4].contains("cannot tell"), "{far:?}");
    let near = row("earlier", "final/bar at 0.5");
    assert_eq!(near[1..4], ["0.00002", "0.00008", "0.00002"], "{near:?}");
    let far = row("earlier", "final/bar at 4");
    assert_eq!(far[1..4], ["0.00012", "0.00014", "0.00014"], "{far:?}");
    // The report of the job with new bearings says that found and final are not of one spindle.
    let first = bench.ok(&["report", "J-1"]);
    assert!(first.contains("another piece: new front"), "{first}");
}

#[test]
fn a_found_side_that_cannot_be_one_is_told_with_its_line() {
    let drag = |found: &str| {
        format!(
            "[[part.check]]\nname = \"more\"\nfound = \"{found}\"\nmeasures = \"entry\"\nquestion = \"drag\"\n"
        )
    };
    let apart = "[[part]]\nname = \"other\"\nkind = \"shaft\"\n[[part.check]]\nname = \"bar\"\nmeasures = \"bar-runout\"\n\
                 gauge = \"plate\"\npositions = 8\nstations = [{ at = \"6 in\", tolerance = \"0.0003 in\" }]\n\
                 [[part.check]]\nname = \"again\"\nfound = \"other/bar\"\nmeasures = \"bar-runout\"\n\
                 gauge = \"plate\"\npositions = 8\nstations = [{ at = \"5 in\", tolerance = \"0.0003 in\" }]\n";
    for (more, said) in [
        (drag("final/more"), "final/more is its own found side"),
        (drag("final/drag"), "final/drag is a found side and names one itself"),
        (drag("received/drag"), "received/drag is the found side of final/drag already"),
        (drag("received/bar"), "\"received/bar\" measures bar-runout"),
        (drag("received/dra"), "received/dra"),
        (apart.to_owned(), "other/again and its found side other/bar have no station in common"),
    ] {
        let bench = Bench::new(&Make { gauge: GAUGE, more: "", plan: &plan(&more) });
        let output = bench.command(&["config", "check"]).output().unwrap();
        let all = [output.stdout, output.stderr].concat();
        let all = String::from_utf8(all).unwrap();
        assert!(!output.status.success() && all.contains(said), "{said:?} in:\n{all}");
        assert!(all.contains("held.toml:"), "{all}");
    }
    let bench = Bench::new(&Make { gauge: GAUGE, more: "", plan: &plan("") });
    bench.ok(&["config", "check"]);
}

const TURNS: &str = r#"
name = "held"
unit = "in"
[[part]]
name = "came"
kind = "shaft"
[[part.check]]
name = "nose"
measures = "runout"
gauge = "plate"
touch = "outside"
positions = 8
tolerance = "0.0001 in"
closure = false
[[part]]
name = "leaves"
kind = "shaft"
[[part.check]]
name = "nose"
measures = "runout"
gauge = "plate"
touch = "outside"
positions = 8
tolerance = "0.0001 in"
closure = false
found = "came/nose"
[[part.check]]
name = "seat"
measures = "runout"
gauge = "plate"
touch = "outside"
positions = 8
tolerance = "0.0001 in"
closure = false
"#;

/// The cells of the first row of a table that has this heading.
fn row_under(page: &str, heading: &str, name: &str) -> Vec<String> {
    let page = parsed(page);
    let tables = elements(&page, "table");
    let table = tables
        .iter()
        .find(|table| elements(table, "th").iter().any(|head| text(head).starts_with(heading)));
    let rows = elements(table.unwrap(), "tr");
    let named = |row: &&_| elements(row, "th").first().is_some_and(|th| text(th).contains(name));
    elements(rows.iter().find(named).unwrap(), "td").iter().map(text).collect()
}

#[test]
fn what_was_cut_short_or_is_on_metal_that_is_gone_is_no_figure_before_or_final() {
    let mut bench = Bench::new(&Make { gauge: GAUGE, more: "", plan: TURNS });
    bench.start();
    bench.ok(&["job", "open", "J-1", "--plan", "held", "--serial", "SP-1"]);
    let turn = |highest: &str| {
        bench.ok(&["enter", "0", "0", highest, "0", "0", "0", "0", "0"]);
    };
    bench.ok(&["measure", "came/nose"]);
    turn("0.00040");
    bench.ok(&["measure", "leaves/nose"]);
    turn("0.00002");
    // Cut short after three touches: it is not what stood before the grind that follows.
    bench.ok(&["remeasure", "cleaned"]);
    bench.ok(&["enter", "0", "0", "0.00009"]);
    bench.ok(&["measure", "--stop"]);
    let found = row_under(&bench.ok(&["report", "J-1"]), "Found to final", "leaves/nose");
    assert_eq!((found[0].as_str(), found[1].as_str()), ("0.00040", "incomplete"), "{found:?}");
    bench.ok(&["remeasure", "ground", "leaves/nose"]);
    turn("0.00003");
    let before = row_under(&bench.ok(&["report", "J-1"]), "Before", "leaves/nose");
    assert_eq!((before[0].as_str(), before[1].as_str()), ("0.00002", "0.00003"), "{before:?}");
    // The shaft is ground at its seat: the final figure is that of a nose that is not there any more.
    bench.ok(&["measure", "leaves/seat"]);
    turn("0.00002");
    bench.ok(&["remeasure", "ground", "leaves/seat"]);
    turn("0.00002");
    let found = row_under(&bench.ok(&["report", "J-1"]), "Found to final", "leaves/nose");
    assert!(found[1].contains("stands no longer"), "{found:?}");
    // Measured anew it takes no metal off, and is not told as ground.
    bench.ok(&["measure", "leaves/nose"]);
    turn("0.00002");
    bench.ok(&["job", "close", "J-1"]);
    bench.ok(&["job", "open", "J-2", "--plan", "held", "--serial", "SP-1"]);
    bench.ok(&["measure", "leaves/nose"]);
    turn("0.00002");
    bench.ok(&["measure", "leaves/seat"]);
    turn("0.00002");
    bench.ok(&["remeasure", "ground", "leaves/seat"]);
    turn("0.00002");
    // Side by side with the job before it says so, too.
    let table = bench.ok(&["job", "compare", "J-1", "J-2"]);
    let row = table.lines().find(|row| row.contains("leaves/nose") && row.contains("J-2")).unwrap();
    assert!(row.contains("METAL CHANGED") && !row.contains("CONFORMS"), "{table}");
    let line = bench.lines(&["job", "compare", "J-1", "J-2"]).remove(0);
    let nose = characteristic(&line, "leaves", "nose", None);
    assert_eq!(nose["jobs"][1]["standing"]["standing"], "metal-changed", "{nose}");
    assert_eq!(nose["jobs"][0]["standing"]["standing"], "stands", "{nose}");
    bench.ok(&["measure", "leaves/nose"]);
    turn("0.00002");
    let page = bench.ok(&["report", "J-2"]);
    let told = text(&parsed(&page));
    let changed = told.split("What was changed").nth(1).unwrap();
    let changed = changed.split("What has moved").next().unwrap();
    let now = changed.split("Job J-2").nth(1).unwrap();
    assert!(now.contains("ground: leaves/seat") && !now.contains("leaves/nose"), "{changed}");
}
