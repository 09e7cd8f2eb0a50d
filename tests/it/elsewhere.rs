//! What one person has under way at a station, and what another person does at a second one.

use crate::rig::{Bench, Make};

const GAUGE: &str = "resolution = \"0.00001 in\"";

const STATIONS: &str = r#"
[[gauge]]
name = "bore"
kind = "dial"
resolution = "0.0001 in"
[[station]]
name = "one"
gauges = ["plate"]
[[station]]
name = "two"
gauges = ["bore"]
"#;

const PLAN: &str = r#"
name = "held"
unit = "in"
[[part]]
name = "ring"
kind = "spacer"
[[part.check]]
name = "plate"
measures = "parallelism"
gauge = "plate"
setup = "plate"
positions = 8
radius = "1.5 in"
tolerance = "0.002 in"
[[part.check]]
name = "bore"
measures = "parallelism"
gauge = "bore"
setup = "plate"
positions = 8
radius = "1.5 in"
tolerance = "0.002 in"
"#;

/// A ring half measured at station two.
fn half_way() -> Bench {
    let mut bench = Bench::new(&Make { gauge: GAUGE, more: STATIONS, plan: PLAN });
    bench.start();
    bench.ok(&["job", "open", "J-1", "--plan", "held", "--station", "one"]);
    bench.ok(&["job", "use", "J-1", "--station", "two"]);
    bench.ok(&["next", "--station", "two"]);
    bench.ok(&["enter", "0", "1", "2", "--station", "two", "--graduation", "0.0001in"]);
    bench
}

fn check_at_two(bench: &Bench) -> serde_json::Value {
    bench.heard().unwrap()["stations"][1]["check"].clone()
}

#[test]
fn the_next_check_at_a_station_is_one_that_its_gauges_can_do() {
    let bench = half_way();
    assert_eq!(check_at_two(&bench), "bore", "plate is first in the plan, and lies at one");
    bench.ok(&["next", "--station", "one"]);
    let status = bench.heard().unwrap();
    assert_eq!(status["stations"][0]["check"], "plate");
    // Nothing is left for one: it is said whose gauge the rest needs.
    bench.ok(&["measure", "--stop", "--station", "one"]);
}

#[test]
fn a_ring_under_way_at_another_station_is_not_ended_without_a_word() {
    let bench = half_way();
    let said = bench.refused(2, &["job", "close", "J-1", "--station", "one"]);
    assert!(said.contains("ring/bore is under way at two"), "{said}");
    assert!(said.contains("tenths measure --stop --station two"), "{said}");
    let replace = ["replace", "ring", "--why", "bore worn", "--station", "one"];
    let said = bench.refused(2, &replace);
    assert!(said.contains("ring/bore is under way at two"), "{said}");
    assert_eq!(check_at_two(&bench), "bore");
    assert_eq!(bench.lines(&["verdicts", "J-1"]).len(), 0, "nothing was ended");

    let why = "the owner took it home";
    bench.ok(&["job", "close", "J-1", "--station", "one", "--by", "Ada", "--why", why]);
    let told =
        |bench: &Bench| bench.lines(&["alerts", "--state", "open", "--kind", "ended-elsewhere"]);
    let alerts = told(&bench);
    assert_eq!(alerts.len(), 1, "{alerts:?}");
    let text = alerts[0]["text"].as_str().unwrap();
    assert_eq!(alerts[0]["level"], "interrupt");
    for part in ["ring/bore", "at two", "Ada", why] {
        assert!(text.contains(part), "{text}");
    }
    // It is over when that station goes on with something.
    bench.ok(&["job", "open", "J-2", "--plan", "held", "--station", "two"]);
    bench.ok(&["next", "--station", "two"]);
    assert_eq!(told(&bench).len(), 0);
}

#[test]
fn ones_own_ring_and_one_that_was_stopped_keep_nobody_from_replacing() {
    let bench = half_way();
    bench.ok(&["replace", "ring", "--why", "bore worn", "--station", "two"]);
    assert_eq!(bench.lines(&["verdicts", "J-1"])[0]["verdict"], "incomplete");
    bench.ok(&["next", "--station", "two"]);
    bench.ok(&["enter", "0", "1", "--station", "two", "--graduation", "0.0001in"]);
    bench.ok(&["measure", "--stop", "--station", "two"]);
    bench.ok(&["replace", "ring", "--why", "bore worn again", "--station", "one"]);
}
