//! Values that a person writes down, judged where the plan has limits, and tables of a few values, through the
//! real program. Values and limits are invented.

use serde_json::{Value, json};

use crate::rig::{Bench, Make};

const GAUGE: &str = "unit = \"in\"\nresolution = \"0.00001 in\"\n";

fn plan(checks: &[(&str, &str)]) -> String {
    let head = "name = \"held\"\nunit = \"in\"\n[[part]]\nname = \"spindle\"\nkind = \"shaft\"\n";
    let check = |(name, keys): &(&str, &str)| {
        format!(
            "[[part.check]]\nname = \"{name}\"\nmeasures = \"entry\"\nquestion = \"what?\"\n{keys}\n"
        )
    };
    format!("{head}{}", checks.iter().map(check).collect::<String>())
}

fn bench(checks: &[(&str, &str)]) -> Bench {
    let mut bench = Bench::new(&Make { gauge: GAUGE, more: "", plan: &plan(checks) });
    bench.start();
    bench.ok(&["job", "open", "J", "--plan", "held"]);
    bench
}

fn verdict(bench: &Bench, check: &str) -> Value {
    bench.lines(&["verdicts", "J", "--check", check]).last().cloned().unwrap()
}

#[test]
fn a_value_with_a_limit_is_judged_and_without_an_uncertainty_by_the_simple_rule() {
    let bench = bench(&[
        ("vibration", "unit = \"mm/s\"\nmax = \"1.0\""),
        ("drag", "unit = \"Nm\"\nmin = 0.2\nmax = 0.6\nuncertainty = \"0.05 Nm\""),
        ("torque", "unit = \"Nm\"\nmin = \"40 Nm\""),
        ("noise", "unit = \"dB\""),
    ]);
    let said = bench.ok(&["record", "spindle/vibration", "0.8"]);
    assert!(said.contains("CONFORMS"), "{said}");
    let found = verdict(&bench, "vibration");
    assert_eq!((&found["value"], &found["unit"]), (&json!("0.8"), &json!("mm/s")));
    assert_eq!((&found["verdict"], &found["uncertainty"]), (&json!("conforms"), &json!(null)));
    assert!(found["advice"][0].as_str().unwrap().contains("judged by the simple rule"), "{found}");
    // 0.5 Nm, U 2·0.05 = 0.1: 0.5 + 0.1 = 0.6 conforms, 0.55 does not reach it with its U.
    bench.ok(&["record", "spindle/drag", "0.5", "Nm"]);
    assert_eq!(verdict(&bench, "drag")["verdict"], "conforms");
    assert_eq!(verdict(&bench, "drag")["uncertainty"], "0.1");
    bench.ok(&["record", "spindle/drag", "0.55"]);
    let found = verdict(&bench, "drag");
    assert_eq!((&found["verdict"], &found["tries"]), (&json!("undecided"), &json!(1)));
    bench.ok(&["record", "spindle/torque", "39.5 N·m"]);
    let found = verdict(&bench, "torque");
    assert_eq!(found["verdict"], "does-not-conform");
    assert_eq!(found["limits"], json!({"min": "40", "max": null}));
    // What has no limit is kept, as it always was.
    bench.ok(&["record", "spindle/noise", "71"]);
    assert!(bench.lines(&["verdicts", "J", "--check", "noise"]).is_empty());
    let alerts = bench.ok(&["alerts"]);
    assert!(alerts.contains("spindle/torque OUT. 39.5"), "{alerts}");
    let refused = bench.refused(2, &["job", "close", "J"]);
    assert!(refused.contains("spindle/torque does not conform"), "{refused}");
    let page = bench.ok(&["report", "J"]);
    for told in ["0.8 mm/s", "39.5 Nm", "at least 40", "71 dB"] {
        assert!(page.contains(told), "{told}");
    }
    bench.ok(&["verify"]);
}

#[test]
fn a_table_of_a_few_values_is_judged_by_its_worst_row() {
    let columns =
        "columns = [\"speed rpm\", \"vibration mm/s\"]\nmax = \"1 mm/s\"\nuncertainty = 0.1";
    let bench = bench(&[("vibration", columns)]);
    let said = bench.ok(&[
        "record",
        "spindle/vibration",
        "1000=0.4",
        "2000",
        "rpm",
        "=",
        "0.6mm/s",
        "3000=0.9",
    ]);
    assert!(
        said.contains("1000 rpm = 0.4 mm/s, 2000 rpm = 0.6 mm/s, 3000 rpm = 0.9 mm/s"),
        "{said}"
    );
    let found = verdict(&bench, "vibration");
    // U 0.2: 0.9 is within 1 ± 0.2.
    assert_eq!((&found["value"], &found["verdict"]), (&json!("0.9"), &json!("undecided")));
    assert_eq!(
        found["figures"]["rows"],
        json!([
            { "at": "1000 rpm", "value": "0.4", "verdict": "conforms" },
            { "at": "2000 rpm", "value": "0.6", "verdict": "conforms" },
            { "at": "3000 rpm", "value": "0.9", "verdict": "undecided" },
        ])
    );
    let page = bench.ok(&["report", "J"]);
    for told in ["speed, rpm", "vibration, mm/s", "3000 rpm", "The worst row is at 3000 rpm"] {
        assert!(page.contains(told), "{told}");
    }
    for (rows, told) in [
        (vec!["1000"], "has no \\\"=\\\""),
        (vec!["1000=fast"], "no number in mm/s"),
        (vec!["1000=0.4 in/s"], "is not in mm/s"),
        (vec!["1000=0.4", "1000.0=0.5"], "is there twice"),
    ] {
        let mut arguments = vec!["record", "spindle/vibration"];
        arguments.extend(&rows);
        let refused = bench.refused(2, &arguments).replace('"', "\\\"");
        assert!(refused.contains(told) && refused.contains("nothing was written"), "{refused}");
    }
    assert_eq!(bench.lines(&["verdicts", "J"]).len(), 1);
}

#[test]
fn another_unit_is_refused_and_a_plan_that_cannot_be_judged_is_told_so() {
    let bench = bench(&[("vibration", "unit = \"mm/s\"\nmax = \"1.0\"")]);
    for value in ["0.8 in/s", "0.8 mm", "fast", "1.2.3", "12345678901234567"] {
        let refused = bench.refused(2, &["record", "spindle/vibration", value]);
        assert!(refused.contains("spindle/vibration"), "{refused}");
    }
    assert!(bench.lines(&["verdicts", "J"]).is_empty());
    for (keys, told) in [
        ("max = 1", "unit is missing"),
        ("unit = \"furlong\"\nmax = 1", "no unit that a value is judged in"),
        ("unit = \"mm/s\"\nmin = 2\nmax = 1", "min is not below max"),
        ("unit = \"mm/s\"\nmax = \"1 in/s\"", "is not in mm/s"),
        ("unit = \"mm/s\"\nuncertainty = 0.1", "uncertainty changes nothing"),
        ("columns = [\"speed rpm\"]\nmax = 1", "columns should be two"),
        (
            "unit = \"in/s\"\ncolumns = [\"speed rpm\", \"v mm/s\"]\nmax = 1",
            "the column of the values is in mm/s",
        ),
    ] {
        let plan = plan(&[("vibration", keys)]);
        let bench = Bench::new(&Make { gauge: GAUGE, more: "", plan: &plan });
        let out = bench.run(&["config", "check"]);
        let text = String::from_utf8_lossy(&out.stdout) + String::from_utf8_lossy(&out.stderr);
        assert!(!out.status.success() && text.contains(told), "{told}: {text}");
    }
}
