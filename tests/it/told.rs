//! Sentences that once said too little, through the real program.

use std::time::{Duration, SystemTime, UNIX_EPOCH};

use serde_json::Value;

use crate::rig::{Bench, Make};

const GAUGE: &str = "unit = \"in\"\nresolution = \"0.00001 in\"\nuncertainty = \"0.0000084 in\"\n\
                     repeatability = \"0.000006 in\"\nrepeat_ms = 0\nmax_rate = 0";

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
[[part.check]]
name = "run"
measures = "runout"
gauge = "plate"
touch = "outside"
positions = 12
stand = "0.000005 in"
tolerance = "0.0005 in"
[[part.check]]
name = "length"
measures = "length"
gauge = "plate"
setup = "plate"
positions = 4
master = "none"
min = "-0.001 in"
max = "0.001 in"
[[part]]
name = "other"
kind = "spacer"
[[part.check]]
name = "length"
measures = "length"
gauge = "plate"
setup = "plate"
positions = 4
master = "none"
min = "-0.001 in"
max = "0.001 in"
[[part]]
name = "pair"
kind = "other"
[[part.check]]
name = "match"
measures = "difference"
of = ["ring/length", "other/length"]
arrangement = "back-to-back"
min = "-0.00005 in"
max = "0.00005 in"
"#;

fn bench(gauge: &str) -> Bench {
    let gauge = format!("{GAUGE}\n{gauge}");
    let mut bench = Bench::new(&Make { gauge: &gauge, more: "", plan: PLAN });
    bench.start();
    bench.ok(&["job", "open", "J-1", "--plan", "held"]);
    bench
}

fn status(bench: &Bench) -> String {
    String::from_utf8(bench.run(&["status"]).stdout).unwrap()
}

fn enter(bench: &Bench, readings: &str) -> String {
    let mut typed = vec!["enter"];
    typed.extend(readings.split(' '));
    bench.ok(&typed)
}

/// A date so many days from now.
fn day(from_now: i64) -> String {
    let now = SystemTime::now().duration_since(UNIX_EPOCH).unwrap();
    let seconds = i64::try_from(now.as_secs()).unwrap() + from_now * 86_400;
    let at = UNIX_EPOCH + Duration::from_secs(u64::try_from(seconds).unwrap());
    let micros = at.duration_since(UNIX_EPOCH).unwrap().as_micros();
    let wall = quantity::Wall::from_micros(i64::try_from(micros).unwrap());
    wall.to_string()[..10].to_owned()
}

#[test]
fn a_gauge_past_its_calibration_date_is_told_before_it_withholds_a_verdict() {
    let bench = bench(&format!("calibration_due = {}", day(-28)));
    let text = status(&bench);
    let first = text.lines().next().unwrap();
    assert!(first.starts_with("The service is well. The work needs a hand: "), "{text}");
    assert!(first.contains("1 calibration is due or past its date"), "{text}");
    let past =
        "to do: The gauge plate is 28 days past its calibration date: its verdicts are withheld.";
    assert!(text.contains(past), "{text}");
    let said = bench.ok(&["measure", "ring/face"]);
    let past = "plate is 28 days past its calibration date: the verdict will be withheld.";
    assert!(said.contains(past), "{said}");
    let said = enter(&bench, "0");
    assert!(!said.contains("calibration"), "told once, before the first touch: {said}");
}

#[test]
fn a_calibration_that_ends_within_a_month_is_told_at_status_and_at_the_begin_of_a_check() {
    let soon = bench(&format!("calibration_due = {}", day(12)));
    let text = status(&soon);
    assert!(text.contains("to do: The gauge plate is due for calibration in 12 days."), "{text}");
    let said = soon.ok(&["measure", "ring/face"]);
    assert!(said.contains("plate is due for calibration in 12 days."), "{said}");
    drop(soon);
    let later = bench(&format!("calibration_due = {}", day(40)));
    assert!(!status(&later).contains("calibration"), "{}", status(&later));
}

#[test]
fn alerts_that_nobody_has_seen_stand_in_the_first_line() {
    let bench = bench("");
    assert!(!status(&bench).contains("nobody has seen"));
    bench.plate.send("0.00001\r");
    bench.until("an alert", || !bench.lines(&["alerts", "--state", "open"]).is_empty());
    let text = status(&bench);
    let first = text.lines().next().unwrap();
    assert!(first.contains("The work needs a hand: 1 alert nobody has seen"), "{text}");
}

#[test]
fn to_use_a_job_says_whether_a_check_is_active() {
    let bench = bench("");
    let said = bench.ok(&["job", "use", "J-1"]);
    assert!(said.contains("No check is active: tenths next begins one."), "{said}");
    bench.ok(&["measure", "ring/face"]);
    let said = bench.ok(&["job", "use", "J-1"]);
    assert!(said.contains("ring/face is active."), "{said}");
}

#[test]
fn a_high_read_off_at_its_mark_gives_a_high_side() {
    let bench = bench("");
    bench.ok(&["measure", "ring/face"]);
    bench.ok(&["enter", "--high", "0.00012@85", "--low", "-0.00008@270"]);
    let figures = &bench.verdict("J-1", 1)["figures"];
    assert_eq!(
        (&figures["high_side_deg"], &figures["high_side_u_deg"]),
        (&90.0.into(), &22.5.into())
    );
    // High and low no further apart than what is known of them point nowhere.
    bench.ok(&["remeasure", "ground"]);
    bench.ok(&["enter", "--high", "0.00001@85", "--low", "0.00000@270"]);
    let figures = &bench.verdict("J-1", 2)["figures"];
    assert_eq!(figures["high_side_deg"], Value::Null);
}

#[test]
fn the_first_high_spot_of_three_lobes_is_told_as_the_first() {
    let bench = bench("");
    bench.ok(&["measure", "ring/run"]);
    // Three lobes with a crest at the index mark, and an offset.
    enter(
        &bench,
        "0.00012 0.00006 -0.00002 0.00005 0.00009 0.00003 -0.00006 0.00003 0.00009 0.00005 -0.00002 0.00006",
    );
    let line = bench.verdict("J-1", 1);
    let waves = line["figures"]["harmonics"].as_array().unwrap();
    assert!(waves.iter().any(|wave| wave["order"] == 3), "{line}");
    for wave in waves {
        let (order, phase) = (wave["order"].as_f64().unwrap(), wave["phase_deg"].as_f64().unwrap());
        assert!((0.0..360.0 / order).contains(&phase), "{wave}");
    }
    let three = waves.iter().find(|wave| wave["order"] == 3).unwrap();
    assert_eq!(three["phase_deg"], 0.0, "{three}");
}

#[test]
fn a_difference_says_why_in_its_reply() {
    let bench = bench("");
    for (check, readings) in [
        ("ring/length", "0.0002 0.0002 0.0002 0.0002"),
        ("other/length", "0.0001 0.0001 0.0001 0.0001"),
    ] {
        bench.ok(&["measure", check]);
        let said = enter(&bench, readings);
        if said.contains("position 0 again") {
            enter(&bench, readings.split(' ').next().unwrap());
        }
    }
    let said = bench.ok(&["measure", "pair/match"]);
    assert!(said.contains("Done."), "{said}");
    assert!(said.contains("ring is longer"), "{said}");
}
