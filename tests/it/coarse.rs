//! Readings coarser than they might be, and verdicts that must not pass without a remark: a dial beside a
//! fine gauge, missing digits, a bar nobody turned, a ring that grew by grinding. Readings are invented;
//! expected figures are worked out by hand beside them.

use serde_json::{Value, json};

use crate::rig::{Bench, Make};

const GAUGE: &str = "unit = \"in\"\nresolution = \"0.00001 in\"\nuncertainty = \"0.0000084 in\"\n\
                     repeatability = \"0.000006 in\"\nrepeat_ms = 0\nmax_rate = 0";
const COARSE: &str = "0 .5 .5 .5 .5 .5 0 0 0";
const FINE: &str = "0 .00003 .00006 .00009 .00006 .00003 0 0 0";

fn started(check: &str) -> Bench {
    let plan = format!(
        "name = \"held\"\nunit = \"in\"\n[[part]]\nname = \"ring\"\nkind = \"spacer\"\n\
         [[part.check]]\nname = \"face\"\ngauge = \"plate\"\n{check}"
    );
    let mut bench = Bench::new(&Make { gauge: GAUGE, more: "", plan: &plan });
    bench.start();
    bench.ok(&["job", "open", "s1", "--plan", "held"]);
    bench.ok(&["measure", "ring/face"]);
    bench
}

fn face(tolerance: &str) -> Bench {
    started(&format!(
        "measures = \"parallelism\"\nsetup = \"plate\"\nmoves = \"ring\"\nradius = \"1.5 in\"\n\
         positions = 8\ntolerance = \"{tolerance} in\"\n"
    ))
}

fn enter(bench: &Bench, options: &[&str], values: &str) -> String {
    let mut arguments = vec!["enter"];
    arguments.extend(options);
    arguments.extend(values.split(' '));
    bench.ok(&arguments)
}

fn newest(bench: &Bench) -> Value {
    bench.lines(&["verdicts", "s1"]).last().cloned().unwrap_or_default()
}

#[test]
fn a_coarse_dial_helps_no_ring_to_pass_whichever_came_first() {
    let dial = ["--graduation", "0.0001in"];
    let tries: [[(&[&str], &str); 2]; 2] =
        [[(&dial, COARSE), (&[], FINE)], [(&[], FINE), (&dial, COARSE)]];
    let [one, other] = tries.map(|tries| {
        let bench = face("0.0001");
        enter(&bench, tries[0].0, tries[0].1);
        bench.ok(&["remeasure", "again"]);
        let said = enter(&bench, tries[1].0, tries[1].1);
        bench.ok(&["verify"]);
        (newest(&bench), said)
    });
    for (verdict, _) in [&one, &other] {
        assert_eq!(verdict["verdict"], "undecided", "{verdict}");
        assert_eq!(verdict["reasons"], json!(["gauge-too-coarse"]), "{verdict}");
        assert_eq!(
            (&verdict["tries"], &verdict["uncertainty_from"]),
            (&json!(2), &json!("assumed"))
        );
    }
    for key in ["value", "uncertainty", "k"] {
        assert_eq!(one.0[key], other.0[key], "{key}");
    }
    // No better than the last place of the dial: 2·√(2·100²/12) = 81.6 and more.
    let known: f64 = one.0["uncertainty"].as_str().unwrap().parse().unwrap();
    assert!(known > 81e-6, "{known}");
    assert!(one.1.contains("One of the tries was read in steps of 0.0001 in"), "{}", one.1);
}

#[test]
fn a_dial_that_is_watched_all_round_may_be_read_in_its_graduations() {
    let bench = face("0.0001");
    bench.ok(&["enter", "--total", "0.5", "--graduation", "0.0001in"]);
    let verdict = newest(&bench);
    assert_eq!(verdict["reasons"], json!(["gauge-too-coarse"]), "{verdict}");
    assert_eq!(verdict["value"], "0.00005");
    // The same total of the fine gauge passes.
    let bench = face("0.0001");
    bench.ok(&["enter", "--total", "0.00005"]);
    assert_eq!(newest(&bench)["verdict"], "conforms");

    let bench = face("0.001");
    bench.ok(&["enter", "--high", "2@90", "--low", "-1.5@270", "--graduation", "0.0001in"]);
    let verdict = newest(&bench);
    assert_eq!(
        (&verdict["value"], &verdict["uncertainty_from"]),
        (&json!("0.00035"), &json!("assumed"))
    );
    assert_eq!((&verdict["verdict"], &verdict["reasons"]), (&json!("conforms"), &json!([])));
    let sent: Vec<Value> = bench.placed("s1").iter().map(|one| one["as_sent"].clone()).collect();
    assert_eq!(sent, [json!("2@90 of 0.0001 in"), json!("-1.5@270 of 0.0001 in")]);
    bench.ok(&["verify"]);
    bench.ok(&["remeasure", "again"]);
    let graduation = ["--graduation", "0.0001in"];
    bench.refused(2, &["enter", "--total", "1.55", graduation[0], graduation[1]]);
    bench.refused(2, &["enter", "--high", "1.55@0", "--low", "0@90", graduation[0], graduation[1]]);
}

#[test]
fn digits_that_were_left_off_are_told_before_they_cost_a_verdict() {
    let bench = face("0.0001");
    let told = "Keyed to 0.0001 in: key every digit the gauge shows.";
    assert!(enter(&bench, &[], "0.0000 0.0001").contains(told), "while there is time");
    let said = enter(&bench, &[], "0.0001 0.0000 0.0000 0.0000 0.0000 0.0000 0.0000");
    assert!(said.contains("UNDECIDED") && said.contains(told), "{said}");
    let report = bench.ok(&["report", "s1"]);
    let page = std::fs::read_to_string(report.trim()).unwrap_or(report);
    assert!(page.contains("keyed to 0.0001"), "the table of gauges names it");
    assert!(page.contains("Keyed to 0.0001 in"));
    assert!(!page.contains("the gauge shows steps"));
    // With every digit there is nothing to be said.
    bench.ok(&["remeasure", "cleaned"]);
    let said = enter(&bench, &[], "0.00000 0.00001 0.00001 0.00000");
    assert!(!said.contains("Keyed"), "{said}");
}

#[test]
fn a_figure_below_the_noise_is_told_alike_after_a_grind() {
    let bench = face("0.0001");
    enter(&bench, &[], "0 .00001 .00003 .00004 .00003 .00001 0 0 0");
    bench.ok(&["remeasure", "ground"]);
    enter(&bench, &[], "0 .00001 0 0 0 0 .00001 0 0");
    let notes = bench.lines(&["alerts", "s1", "--all"]);
    let note = notes.iter().find(|alert| alert["kind"] == "regrind").unwrap();
    let text = note["text"].as_str().unwrap();
    assert!(text.starts_with("ring/face was 0.00004, now less than 0.0000"), "{text}");
}

#[test]
fn a_ring_that_grew_under_the_wheel_is_asked_about() {
    let bench = started(
        "measures = \"length\"\nsetup = \"plate\"\nradius = \"1.5 in\"\npositions = 1\nmin = \"1.9995 in\"\nmax = \"2.0005 in\"\n\
         closure = false\nmaster = \"both\"\nmaster_size = \"2 in\"\nmaster_uncertainty = \"0.000004 in\"\n\
         temperature_between = 0.1\noff_20 = 1\n",
    );
    enter(&bench, &[], "0 .00002 0");
    bench.ok(&["remeasure", "ground"]);
    let said = enter(&bench, &[], "0 .00018 0");
    let asks = "Ground, and yet 0.00016 longer? Right part, right master, clean?";
    assert!(said.contains(asks), "{said}");
    let verdict = newest(&bench);
    assert!(verdict["cautions"].to_string().contains(asks), "{verdict}");
    assert!(!verdict["advice"].to_string().contains("The wheel took"), "{verdict}");
    assert!(verdict["figures"]["took_off"].is_null(), "{verdict}");
    let alerts = bench.lines(&["alerts", "s1"]);
    assert!(alerts.iter().any(|alert| alert["text"].as_str().unwrap().contains(asks)));
    // What came off is told as before.
    bench.ok(&["remeasure", "ground"]);
    enter(&bench, &[], "0 .00002 0");
    let verdict = newest(&bench);
    assert!(verdict["advice"].to_string().contains("The wheel took"), "{verdict}");
    assert!(verdict["cautions"].is_null(), "{verdict}");
}

/// A coarse try that is combined with a fine one costs both the fine digits, in what the wheel is told
/// to take, in what it took, and only until the check is measured anew.
#[test]
fn what_the_wheel_takes_is_told_no_finer_than_the_coarsest_try() {
    let bench = started(
        "measures = \"parallelism\"\nsetup = \"plate\"\nmoves = \"ring\"\nradius = \"1.5 in\"\n\
         positions = 8\ntolerance = \"0.0004 in\"\nclosure = false\nmaster = \"opening\"\n\
         master_size = \"1 in\"\n",
    );
    let dial = ["--graduation", "0.0001in"];
    // A ridge, out by the dial and by the fine gauge: no tilt that has to be turned round first.
    enter(&bench, &dial, "0 0 5 8 5 0 5 8 5");
    bench.ok(&["remeasure", "again"]);
    let fine = "0 .00003 .00051 .00083 .00048 .00002 .00052 .00081 .00047";
    enter(&bench, &[], fine);
    let verdict = newest(&bench);
    assert_eq!((&verdict["tries"], &verdict["verdict"]), (&json!(2), &json!("does-not-conform")));
    let told = verdict["advice"].to_string();
    assert!(told.contains("One of the tries was read in steps of 0.0001 in"), "{told}");
    // 0.000800 by the means; in steps of a tenth, U with one digit more.
    assert!(told.contains("0.0008 ± 0.0") && told.contains("comes off at"), "{told}");
    bench.ok(&["remeasure", "ground"]);
    let said = enter(&bench, &[], "0 -.00002 .00001 .00003 .00002 -.00001 .00002 .00004 .00001");
    // What came off is known to a tenth, for one of the series before was read so.
    let verdict = newest(&bench);
    let told = verdict["advice"].to_string();
    assert!(told.contains("The wheel took 0.0008 at 90, 0.0000 at "), "{told} {said}");
    // The new metal stands by itself, and nothing is said of the dial any more.
    assert_eq!((&verdict["tries"], &verdict["verdict"]), (&json!(1), &json!("conforms")));
    assert_eq!(verdict["uncertainty_from"], "stated");
    assert!(!told.contains("steps of 0.0001"), "{told}");
    bench.ok(&["verify"]);
}

/// A grind at another face leaves the combined verdict of this one as it is, and says that it is of
/// metal that is gone; measured anew it is judged without the coarse try.
#[test]
fn after_a_grind_elsewhere_a_coarse_try_counts_for_metal_that_is_gone() {
    let keys = "measures = \"parallelism\"\nsetup = \"plate\"\nmoves = \"ring\"\n\
                radius = \"1.5 in\"\npositions = 8\ntolerance = \"0.0004 in\"\nclosure = false\n";
    let other = format!("{keys}[[part.check]]\nname = \"other\"\ngauge = \"plate\"\n{keys}");
    let bench = started(&other);
    enter(&bench, &["--graduation", "0.0001in"], ".5 .5 1 1 .5 .5 0 0");
    bench.ok(&["remeasure", "again"]);
    enter(&bench, &[], ".00003 .00005 .00009 .00008 .00005 .00003 0 0");
    let of_face = || bench.lines(&["verdicts", "s1", "--check", "face", "--last", "1"]).remove(0);
    let before = of_face();
    assert_eq!((&before["tries"], &before["standing"]), (&json!(2), &json!("stands")));
    bench.ok(&["measure", "ring/other"]);
    enter(&bench, &[], "0 .00001 .00002 .00001 0 0 0 0");
    bench.ok(&["remeasure", "ground", "ring/other"]);
    enter(&bench, &[], "0 .00001 .00002 .00001 0 0 0 0");
    let gone = of_face();
    assert_eq!((&gone["tries"], &gone["standing"]), (&json!(2), &json!("metal-changed")));
    assert_eq!((&gone["id"], &gone["value"]), (&before["id"], &before["value"]));
    let table = bench.ok(&["verdicts", "s1"]).to_lowercase();
    assert!(table.contains("metal"), "it says so in the table: {table}");
    let said = bench.refused(2, &["remeasure", "again", "ring/face"]);
    assert!(said.contains("was ground since face was measured"), "{said}");
    let said = bench.ok(&["next"]);
    assert!(said.contains("ring/face"), "{said}");
    enter(&bench, &[], ".00003 .00005 .00009 .00008 .00005 .00003 0 0");
    let anew = of_face();
    assert_eq!((&anew["tries"], &anew["standing"]), (&json!(1), &json!("stands")));
    assert_eq!(anew["uncertainty_from"], "stated");
    assert!(!anew["cautions"].to_string().contains("steps of"), "{anew}");
}
