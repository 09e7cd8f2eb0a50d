//! The thresholds of the traps, set in a plan, through the real program. Readings are invented, in millionths of
//! an inch: s 6, T 100.

use serde_json::json;

use crate::rig::{Bench, Make};

const GAUGE: &str = "unit = \"in\"\nresolution = \"0.00001 in\"\nuncertainty = \"0.0000084 in\"\n\
                     repeatability = \"0.000006 in\"\nrepeat_ms = 0\nmax_rate = 0\n";

fn plan(traps: &str) -> String {
    format!(
        "name = \"held\"\nunit = \"in\"\n[[part]]\nname = \"ring\"\nkind = \"spacer\"\n[[part.check]]\n\
         name = \"face\"\nmeasures = \"parallelism\"\ngauge = \"plate\"\nsetup = \"plate\"\nmoves = \"ring\"\n\
         radius = \"1.5 in\"\npositions = 8\ntouches = 3\ntolerance = \"0.0001 in\"\n{traps}\n"
    )
}

fn started(traps: &str) -> Bench {
    let mut bench = Bench::new(&Make { gauge: GAUGE, more: "", plan: &plan(traps) });
    bench.start();
    bench.ok(&["job", "open", "s1", "--plan", "held"]);
    bench.ok(&["measure", "ring/face"]);
    bench
}

fn touch(bench: &Bench, microinches: &[i32]) {
    let texts: Vec<String> =
        microinches.iter().map(|one| format!("{:.5}", f64::from(*one) / 1e6)).collect();
    let texts: Vec<&str> = texts.iter().map(String::as_str).collect();
    bench.touches(&bench.plate, "plate", &texts);
}

fn asked(bench: &Bench) -> usize {
    let alerts = bench.lines(&["alerts", "s1"]);
    alerts.iter().filter(|alert| alert["kind"] == "wild-touch").count()
}

/// Three touches on one spot span 40: 4.7·6 = 28.2 are allowed, with `spread = 7` it is 42.
#[test]
fn a_hand_for_which_the_plan_allows_more_is_not_asked() {
    let usual = started("");
    touch(&usual, &[0, 40, 20]);
    usual.until("the question", || asked(&usual) == 1);
    let mut wide = started("traps = { spread = 7 }");
    let ring: Vec<i32> = (0..9).flat_map(|_| [0, 40, 20]).collect();
    touch(&wide, &ring[..25]);
    wide.until("the verdict", || !wide.lines(&["verdicts", "s1"]).is_empty());
    let verdict = wide.verdict("s1", 1);
    assert_eq!((asked(&wide), &verdict["reasons"]), (0, &json!([])), "{verdict}");
    // The plan is pinned with the job: the verdict comes out the same when it is worked out again, also
    // after the file has changed.
    wide.stop();
    std::fs::write(wide.dir.path().join("plans/held.toml"), plan("")).unwrap();
    wide.start();
    wide.ok(&["verify"]);
    assert_eq!(wide.verdict("s1", 1)["reasons"], json!([]));
}

#[test]
fn a_threshold_that_makes_no_sense_is_refused_with_its_place() {
    for (traps, text, hint) in [
        ("traps = { spread = 0.5 }", "spread should be 2 to 60", "4.7 is usual"),
        ("traps = { heat = 3 }", "heat should be 0.01 to 1", "0.1 is usual"),
        ("traps = { wild = 6.001 }", "wild should be 2 to 60", "at most two decimal places"),
        ("traps = { heet = 0.2 }", "heet", "heat"),
        ("traps = 3", "traps", "it is"),
    ] {
        let bench = Bench::new(&Make { gauge: GAUGE, more: "", plan: &plan(traps) });
        let checked = bench.run(&["config", "check"]);
        let said = String::from_utf8_lossy(&checked.stdout).into_owned()
            + &String::from_utf8_lossy(&checked.stderr);
        assert_eq!(checked.status.code(), Some(2), "{traps}: {said}");
        assert!(said.contains(text) && said.contains(hint), "{traps}: {said}");
        assert!(said.contains("held.toml:16"), "{traps}: {said}");
    }
}
