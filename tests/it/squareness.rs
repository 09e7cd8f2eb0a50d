//! Squareness of a face to the axis it turns about, through the real program: the highest minus the
//! lowest touch on all radii, one zero of the gauge for all. Readings are invented, in counts of
//! 0.00001 in; U is worked out here by hand: 2·√(2·6² + 5²) = 19.697 millionths of an inch.

use serde_json::{Value, json};

use crate::rig::{Bench, Make};

fn bench_of(plan: &str) -> Bench {
    let mut bench = Bench::new(&Make {
        gauge: "unit = \"in\"\nresolution = \"0.00001 in\"\nuncertainty = \"0.0000084 in\"\n\
                repeatability = \"0.000006 in\"\nrepeat_ms = 0\nmax_rate = 0",
        more: "",
        plan,
    });
    bench.start();
    bench.ok(&["job", "open", "s1", "--plan", "held"]);
    bench
}

fn plan(touched: &str) -> String {
    format!(
        "name = \"held\"\nunit = \"in\"\n[[part]]\nname = \"spindle\"\nkind = \"shaft\"\n\
         [[part.check]]\nname = \"face\"\nmeasures = \"squareness\"\ngauge = \"plate\"\n\
         stand = \"0.000005 in\"\ntolerance = \"0.0001 in\"\n{touched}"
    )
}

const TWO_RADII: &str = "positions = 8\nradii = [\"1 in\", \"1.5 in\"]\n";

/// Touches the face on all its positions; the verdict.
fn touched(bench: &Bench, counts: &[i32]) -> Value {
    bench.ok(&["measure", "spindle/face"]);
    let keyed: Vec<String> = counts
        .iter()
        .map(|count| format!("{}0.{:05}", if *count < 0 { "-" } else { "" }, count.abs()))
        .collect();
    let all: Vec<&str> = std::iter::once("enter").chain(keyed.iter().map(String::as_str)).collect();
    bench.ok(&all);
    bench.lines(&["verdicts", "s1"]).last().cloned().unwrap()
}

/// A tilt on the outer radius, two thirds of it on the inner one.
const SQUARE: [i32; 16] = [0, 1, 2, 1, 0, -1, -2, -1, 0, 2, 3, 2, 0, -2, -3, -2];

#[test]
fn a_square_face_conforms_with_its_uncertainty_and_its_other_figures() {
    let bench = bench_of(&plan(TWO_RADII));
    let verdict = touched(&bench, &SQUARE);
    assert_eq!(verdict["measures"], "squareness");
    assert_eq!((&verdict["value"], &verdict["verdict"]), (&json!("0.00006"), &json!("conforms")));
    assert_eq!(verdict["uncertainty"], "0.00001969772", "2·√(2·6² + 5²) millionths, rounded up");
    assert_eq!(verdict["uncertainty_from"], "stated");
    assert_eq!((&verdict["positions"], &verdict["setup"]), (&json!(16), &json!("turning")));
    let figures = &verdict["figures"];
    assert_eq!((&figures["max_minus_min"], &figures["dish"]), (&json!("0.00006"), &json!("0")));
    assert_eq!(figures["high_side_deg"], 90.0);
    bench.ok(&["verify"]);
    let table = bench.ok(&["verdicts", "s1"]);
    assert!(table.contains("0.00006"), "{table}");
}

#[test]
fn a_dished_face_fails_though_each_circle_by_itself_would_pass() {
    let bench = bench_of(&plan(TWO_RADII));
    let dished = [0, 1, 0, 0, 0, 0, 0, 0, 13, 14, 14, 13, 13, 13, 14, 13];
    let verdict = touched(&bench, &dished);
    assert_eq!(
        (&verdict["value"], &verdict["verdict"]),
        (&json!("0.00014"), &json!("does-not-conform"))
    );
    // Mean of the outer circle 13.375, of the inner one 0.125 counts.
    assert_eq!(verdict["figures"]["dish"], "0.0001325");
}

#[test]
fn one_radius_may_fail_and_never_pass() {
    let one = plan("positions = 8\nradius = \"1.5 in\"\n");
    let bench = bench_of(&one);
    let verdict = touched(&bench, &[0, 2, 3, 2, 0, -2, -3, -2]);
    assert_eq!((&verdict["simple"], &verdict["guarded"]), (&json!("conforms"), &json!("conforms")));
    assert_eq!(
        (&verdict["verdict"], &verdict["reasons"]),
        (&json!("undecided"), &json!(["one-radius"]))
    );
    let failing = bench_of(&one);
    let verdict = touched(&failing, &[0, 5, 8, 5, 0, -5, -8, -5]);
    assert_eq!(
        (&verdict["verdict"], &verdict["reasons"]),
        (&json!("does-not-conform"), &json!(["one-radius"]))
    );
    let checked = bench.run(&["config", "check"]);
    let said = String::from_utf8_lossy(&checked.stdout).into_owned()
        + &String::from_utf8_lossy(&checked.stderr);
    assert!(said.contains("one radius may fail squareness, never pass it"), "{said}");
}

#[test]
fn a_radius_that_was_left_out_is_no_radius() {
    let bench = bench_of(&plan("positions = 3\nradii = [\"1 in\", \"1.5 in\"]\n"));
    bench.ok(&["measure", "spindle/face"]);
    bench.ok(&["enter", "0", "0.00001", "0.00002"]);
    for position in ["3", "4", "5"] {
        bench.ok(&["skip", position, "--why", "a groove"]);
    }
    let verdict = bench.lines(&["verdicts", "s1"]).last().cloned().unwrap();
    assert_eq!(verdict["verdict"], "undecided");
    assert_eq!(verdict["reasons"], json!(["too-few-positions", "one-radius"]));
}

#[test]
fn the_position_is_told_by_its_radius_and_a_stopped_series_proves_nothing() {
    let bench = bench_of(&plan(TWO_RADII));
    bench.ok(&["measure", "spindle/face"]);
    bench.ok(&["enter", "0", "0.00001"]);
    let status = bench.status().unwrap();
    let text = status.to_string();
    assert!(text.contains("first radius, 1 in, touch 3 of 8"), "{text}");
    bench.ok(&["measure", "--stop"]);
    let verdict = bench.lines(&["verdicts", "s1"]).last().cloned().unwrap();
    assert_eq!(verdict["verdict"], "incomplete");
}

#[test]
fn a_stand_of_which_nothing_is_said_is_assumed() {
    let silent = plan(TWO_RADII).replace("stand = \"0.000005 in\"\n", "");
    let verdict = touched(&bench_of(&silent), &SQUARE);
    // 2·√2·6 millionths.
    assert_eq!(
        (&verdict["uncertainty"], &verdict["uncertainty_from"]),
        (&json!("0.0000169706"), &json!("assumed"))
    );
}

#[test]
fn a_face_that_does_not_turn_cannot_prove_it() {
    let plan = plan(&format!("setup = \"plate\"\n{TWO_RADII}"));
    let bench = Bench::new(&Make {
        gauge: "unit = \"in\"\nresolution = \"0.00001 in\"",
        more: "",
        plan: &plan,
    });
    let checked = bench.run(&["config", "check"]);
    let said = String::from_utf8_lossy(&checked.stdout).into_owned()
        + &String::from_utf8_lossy(&checked.stderr);
    assert!(said.contains("setup \"plate\" cannot prove squareness"), "{said}");
}

#[test]
fn the_report_works_it_out_and_the_sheet_names_it() {
    let bench = bench_of(&plan(TWO_RADII));
    touched(&bench, &SQUARE);
    let text = bench.ok(&["report", "s1"]).replace("<bdi>", "").replace("</bdi>", "");
    for said in [
        "squareness of a face to its axis",
        "Highest at position 10, lowest at 14",
        "fixed stylus, turned by hand",
        "at radius 1 and 1.5 in",
    ] {
        assert!(text.contains(said), "{said} is missing");
    }
}
