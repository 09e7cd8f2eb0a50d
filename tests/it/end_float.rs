//! End float through the real program: pushes and pulls in turn, sent, keyed and dropped. The readings are
//! invented; figures are worked out beside them, in millionths of an inch.

use serde_json::{Value, json};

use crate::rig::{Bench, Make};
use crate::watch::Terminal;

/// 0.00001 in readout, s 0.000006 in, u 0.0000084 in.
const GAUGE: &str = "unit = \"in\"\nresolution = \"0.00001 in\"\nuncertainty = \"0.0000084 in\"\n\
                     repeatability = \"0.000006 in\"\nrepeat_ms = 0\nmax_rate = 0\n";

const PLAN: &str = "name = \"held\"\nunit = \"in\"\n[[part]]\nname = \"spindle\"\nkind = \"shaft\"\n\
                    [[part.check]]\nname = \"float\"\nmeasures = \"end-float\"\ngauge = \"plate\"\n\
                    times = 3\nload = \"50 N\"\nmax = \"0.0005 in\"\n";

fn bench() -> Bench {
    let mut bench = Bench::new(&Make { gauge: GAUGE, more: "", plan: PLAN });
    bench.start();
    bench.ok(&["job", "open", "J", "--plan", "held"]);
    bench
}

fn verdict(bench: &Bench) -> Value {
    bench.lines(&["verdicts", "J"]).last().cloned().unwrap()
}

fn value(verdict: &Value, field: &str) -> f64 {
    verdict[field].as_str().unwrap().parse::<f64>().unwrap() * 1e6
}

#[test]
fn pushes_and_pulls_are_led_in_turn_and_come_to_a_float() {
    let bench = bench();
    bench.ok(&["measure", "spindle/float"]);
    let terminal = Terminal::with_watch(&bench, (80, 24), &["--station", "bench"]);
    terminal.until(&["push, 1 of 3"]);
    for (text, next) in [
        ("0.00000", "pull, 1 of 3"),
        ("0.00020", "push, 2 of 3"),
        ("0.00001", "pull, 2 of 3"),
        ("0.00021", "push, 3 of 3"),
        ("0.00000", "pull, 3 of 3"),
    ] {
        bench.plate.send(&format!("{text}\r\n"));
        terminal.until(&[next]);
    }
    bench.plate.send("0.00021\r\n");
    terminal.until(&["0.00020 in, limit 0.0005, ±0.00002."]);
    let verdict = verdict(&bench);
    // (200 + 210 + 210)/3 − (0 + 10 + 0)/3 = 203.33; 2·√(2·(36/3 + 34.56)) = 19.3.
    assert!((value(&verdict, "value") - 203.333).abs() < 0.01, "{verdict}");
    assert!((value(&verdict, "uncertainty") - 19.3).abs() < 0.01, "{verdict}");
    assert_eq!(verdict["verdict"], "conforms");
    assert_eq!(verdict["figures"]["each_way"]["load"], "50 N");
    // What stands beside the figure on the page: each reading by its way, and the sum.
    let page = bench.ok(&["report", "J"]);
    for told in ["end float", "Under 50 N", "push, 1 of 3", "minus mean after a push"] {
        assert!(page.contains(told), "the page says {told}");
    }
    bench.ok(&["verify"]);
}

#[test]
fn a_spindle_that_does_not_come_back_is_undecided_whichever_way_its_readings_come() {
    let bench = bench();
    bench.ok(&["measure", "spindle/float"]);
    let said = bench.ok(&["enter", "0", "0.00020", "0.00010", "0.00021", "0", "0.00021"]);
    assert!(said.contains("does not come back: the pushes lie 0.000100 apart"), "{said}");
    let verdict = verdict(&bench);
    assert_eq!(verdict["verdict"], "undecided");
    assert_eq!(verdict["reasons"], json!(["does-not-come-back"]));
}

#[test]
fn a_loggers_file_holds_pushes_and_pulls_in_turn() {
    let more = "[[drop]]\nname = \"logger\"\nfolder = \"{dir}/drop\"\ngauge = \"plate\"\n\
                tags = \"name\"\ncolumns = { value = \"Value\" }\n";
    let mut bench = Bench::new(&Make { gauge: GAUGE, more, plan: PLAN });
    bench.start();
    bench.ok(&["job", "open", "J", "--plan", "held"]);
    bench.drop_file("J__spindle__float.csv", "Value\n0\n0.00020\n0.00001\n0.00021\n0\n0.00021\n");
    let verdict = bench.verdict("J", 1);
    assert!((value(&verdict, "value") - 203.333).abs() < 0.01, "{verdict}");
}

#[test]
fn a_plan_without_a_load_or_with_two_pushes_is_told_so() {
    let wrong = [
        (PLAN.replace("load = \"50 N\"\n", ""), "load"),
        (PLAN.replace("50 N", "50"), "no load above zero with its unit"),
        (PLAN.replace("50 N", "0 N"), "no load above zero with its unit"),
        (PLAN.replace("times = 3", "times = 2"), "times"),
        (
            PLAN.replace("max = \"0.0005 in\"", "tolerance = \"0.0005 in\""),
            "an end float has no tolerance",
        ),
        (PLAN.replace("times = 3", "times = 3\nsetup = \"turning\""), "a spindle at rest"),
    ];
    for (plan, told) in wrong {
        let bench = Bench::new(&Make { gauge: GAUGE, more: "", plan: &plan });
        let out = bench.run(&["config", "check"]);
        let text = String::from_utf8_lossy(&out.stdout) + String::from_utf8_lossy(&out.stderr);
        assert!(!out.status.success() && text.contains(told), "{told}: {text}");
    }
}
