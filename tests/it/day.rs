//! A day at the bench: the answers to a person who types too much, too little or the wrong way.

use serde_json::Value;

use crate::rig::{Bench, Make};

const GAUGE: &str = "unit = \"in\"\nresolution = \"0.00001 in\"\nuncertainty = \"0.000004 in\"\n\
                     repeatability = \"0.000003 in\"\nrepeat_ms = 0\nmax_rate = 0";

fn started(plan: &str) -> Bench {
    let plan = format!("name = \"held\"\nunit = \"in\"\n{plan}");
    let mut bench = Bench::new(&Make { gauge: GAUGE, more: "", plan: &plan });
    bench.start();
    bench.ok(&["job", "open", "j", "--plan", "held"]);
    bench
}

fn part(name: &str, kind: &str, checks: &[&str]) -> String {
    format!("[[part]]\nname = \"{name}\"\nkind = \"{kind}\"\n{}", checks.concat())
}

fn check(name: &str, measures: &str, more: &str) -> String {
    format!(
        "[[part.check]]\nname = \"{name}\"\nmeasures = \"{measures}\"\ngauge = \"plate\"\nclosure = false\n{more}\n"
    )
}

fn turn(name: &str, more: &str) -> String {
    check(
        name,
        "runout",
        &format!("touch = \"outside\"\npositions = 8\ntolerance = \"0.0002 in\"\n{more}"),
    )
}

fn bar(seatings: u32) -> String {
    check(
        "bar",
        "bar-runout",
        &format!(
            "positions = 8\nseatings = {seatings}\nseating = \"0.000004 in\"\nbar = \"0.000004 in\"\n\
             stations = [{{ at = \"3 in\", tolerance = \"0.0002 in\" }}]"
        ),
    )
}

fn taper() -> String {
    check(
        "taper",
        "taper",
        "touch = \"inside\"\nrate = \"7/24\"\nstations = [\"0.5 in\", \"1.5 in\", \"2.5 in\"]\n\
         station_uncertainty = \"0.0003 in\"\ntolerance = \"0.0004 in\"",
    )
}

/// Diameters of a 7/24 an inch apart: 7/24 in = 0.29167 in.
const TAPER: [&str; 3] = ["1.75000", "2.04167", "2.33333"];
const GOOD: [&str; 8] = ["0", "0", "0.00002", "0", "0", "0", "0", "0"];

fn enter(bench: &Bench, values: &[&str]) -> String {
    let all: Vec<&str> = ["enter"].iter().chain(values).copied().collect();
    bench.ok(&all)
}

fn measured(bench: &Bench, target: &str, values: &[&str]) -> String {
    bench.ok(&["measure", target]);
    enter(bench, values)
}

fn newest(bench: &Bench, target: &str) -> Value {
    let (part, check) = target.split_once('/').unwrap();
    bench.lines(&["verdicts", "j", "--part", part, "--check", check]).pop().unwrap()
}

#[test]
fn what_is_open_in_a_seating_is_said_before_the_bar_is_taken_out() {
    let bench = started(&part("final", "shaft", &[&bar(4)]));
    measured(&bench, "final/bar", &GOOD);
    bench.ok(&["take"]);
    enter(&bench, &GOOD[..5]);
    let all: Vec<&str> = ["enter"].iter().chain(&GOOD).copied().collect();
    let refused = bench.refused(2, &all);
    assert!(refused.contains("3 touches are still open with the bar seated at 90"), "{refused}");
    assert!(
        refused.contains("key in those 3 first; only then take the bar out, turn it to 180"),
        "{refused}"
    );
    enter(&bench, &GOOD[5..]);
    let refused = bench.refused(2, &all);
    assert!(refused.contains("first take the bar out, turn it to 180"), "{refused}");
    assert!(!refused.contains("still open"), "{refused}");
}

#[test]
fn a_ground_taper_takes_the_metal_from_under_all_that_turned_before_it() {
    let (found, held) = (turn("pilot", ""), turn("pilot", "found = \"as-received/pilot\""));
    let plan = [
        part("as-received", "shaft", &[&found]),
        part("spindle", "shaft", &[&taper()]),
        part("nut", "nut", &[&turn("face", "")]),
        part("final", "shaft", &[&held, &bar(1)]),
    ];
    let bench = started(&plan.concat());
    let all = ["as-received/pilot", "nut/face", "final/pilot", "final/bar"];
    let standing = |target: &str| newest(&bench, target)["standing"].as_str().unwrap().to_owned();
    measured(&bench, "spindle/taper", &TAPER);
    for target in all {
        measured(&bench, target, &GOOD);
    }
    assert_eq!(all.map(standing), ["stands"; 4]);
    // No bar is ground: where the taper was, that is said at the taper.
    let refused = bench.refused(2, &["remeasure", "ground", "final/bar"]);
    assert!(
        refused.contains("a test bar is not ground")
            && refused.contains("tenths remeasure cleaned final/bar")
            && refused.contains("tenths remeasure ground spindle/taper"),
        "{refused}"
    );
    bench.ok(&["remeasure", "cleaned", "spindle/taper"]);
    enter(&bench, &TAPER);
    assert_eq!(all.map(standing), ["stands"; 4], "cleaning takes nothing off");
    bench.ok(&["remeasure", "ground", "spindle/taper"]);
    enter(&bench, &TAPER);
    let gone = "metal-changed";
    assert_eq!(all.map(standing), ["stands", gone, gone, gone], "as it was found it was");
    let refused = bench.refused(2, &["remeasure", "again", "final/pilot"]);
    assert!(refused.contains("the shaft"), "{refused}");
    for target in &all[1..] {
        measured(&bench, target, &GOOD);
    }
    assert_eq!(all.map(standing), ["stands"; 4]);
    bench.ok(&["replace", "spindle", "--why", "cracked"]);
    assert_eq!(all.map(standing), ["stands", gone, gone, gone]);
    bench.ok(&["verify"]);
}

#[test]
fn a_pair_names_the_length_that_did_not_close() {
    let length = check(
        "length",
        "length",
        "setup = \"plate\"\npositions = 4\nmin = \"0.9990 in\"\nmax = \"1.0010 in\"\nmaster = \"none\"",
    )
    .replace("closure = false", "closure = true");
    let pair = "[[part.check]]\nname = \"match\"\nmeasures = \"difference\"\n\
                of = [\"outer/length\", \"inner/length\"]\ntolerance = \"0.0005 in\"\n";
    let plan = [
        part("inner", "spacer", &[&length]),
        part("outer", "spacer", &[&length]),
        part("spacers", "other", &[pair]),
    ];
    let bench = started(&plan.concat());
    measured(&bench, "outer/length", &["1.00000"; 5]);
    measured(&bench, "inner/length", &["1.00000", "1.00000", "1.00000", "1.00000", "1.00040"]);
    enter(&bench, &["1.00040"]);
    let said = bench.ok(&["measure", "spacers/match"]);
    let named = "inner/length was not closed at position 0: measure it again.";
    assert!(said.contains(named), "{said}");
    assert!(!said.contains("It was not closed") && !said.contains("outer/length was"), "{said}");
    let verdict = newest(&bench, "spacers/match");
    assert_eq!(verdict["reasons"], serde_json::json!(["not-closed"]), "{verdict}");
    assert!(verdict["advice"].to_string().contains(named), "{verdict}");
    assert!(!verdict["advice"].to_string().contains("It was not closed"), "{verdict}");
    let alert = bench.ok(&["alerts", "j", "--state", "open"]);
    assert!(alert.contains("inner/length was not closed at position 0"), "{alert}");
}

#[test]
fn a_face_that_nobody_named_is_asked_for_as_it_was_found() {
    let ring = |name: &str| part(name, "spacer", &[&turn("rim", "")]);
    let stack = "[[stack]]\npart = \"inner\"\n[[stack]]\npart = \"outer\"\n";
    let bench = started(&[&ring("inner"), &ring("outer"), stack].concat());
    bench.ok(&["stack", "found", "inner", "--towards-nose", "face-a"]);
    let refused = bench.refused(2, &["stack", "built", "inner", "--mark", "45"]);
    assert!(
        refused.contains(
            "say which face is towards the nose: `--towards-nose face-a` (as it was found)"
        ),
        "{refused}"
    );
    assert!(!refused.contains("nothing said") && !refused.contains("turn it over"), "{refused}");
    let refused =
        bench.refused(2, &["stack", "built", "inner", "--towards-nose", "face-b", "--mark", "45"]);
    assert!(refused.contains("turn it over"), "{refused}");
}

#[test]
fn a_wild_touch_keyed_in_with_others_is_told_in_their_reply() {
    let face = check(
        "face",
        "parallelism",
        "setup = \"plate\"\npositions = 8\nradius = \"1.5 in\"\ntolerance = \"0.0001 in\"",
    );
    let bench = started(&part("ring", "spacer", &[&face]));
    bench.ok(&["measure", "ring/face"]);
    let wild = ["0", "0.00001", "0.00002", "0.00400", "0.00002", "0.00001", "0"];
    let said = enter(&bench, &wild);
    assert!(said.contains("Touch position 3 again"), "{said}");
    assert!(said.contains("Touch position 7 of 8 next."), "{said}");
    let said = enter(&bench, &["0"]);
    assert_eq!(said.matches("ouch position 3 again").count(), 1, "{said}");
}

#[test]
fn leaving_a_check_and_a_taper_keyed_in_from_the_other_end_say_what_that_means() {
    let bench = started(&part("spindle", "shaft", &[&taper()]));
    bench.ok(&["measure", "spindle/taper"]);
    let said = bench.ok(&["measure", "--stop"]);
    assert!(said.contains("Left spindle/taper before its first touch"), "{said}");
    let said = measured(&bench, "spindle/taper", &["2.33333", "2.04167", "1.75000"]);
    let hint = "the diameters run the other way. Large end first?";
    assert!(said.contains("DOES NOT CONFORM") && said.contains(hint), "{said}");
    let alert = bench.ok(&["alerts", "j", "--state", "open"]);
    assert!(alert.contains(hint), "{alert}");
    bench.ok(&["remeasure", "cleaned", "spindle/taper"]);
    let said = enter(&bench, &TAPER);
    assert!(!said.contains("other way"), "{said}");
    let said = bench.ok(&["measure", "--stop"]);
    assert!(said.contains("Left the check."), "{said}");
}

#[test]
fn the_screen_shows_the_high_side_on_the_circle_it_is_on() {
    let face = check(
        "face",
        "parallelism",
        "setup = \"plate\"\npositions = 8\nradii = [\"1.4 in\", \"1.8 in\"]\ntolerance = \"0.0001 in\"",
    )
    .replace("closure = false", "closure = true");
    let bench = started(&part("shield", "shield", &[&face]));
    // High at 315: the inner circle a little, the outer one more.
    let tilted = |most: f64| {
        (0..8).map(move |at| format!("{:.5}", most * (f64::from(at - 7) * 45.0).to_radians().cos()))
    };
    let mut values: Vec<String> = tilted(0.0003).chain(tilted(0.0004)).collect();
    values.push(values[0].clone());
    let values: Vec<&str> = values.iter().map(String::as_str).collect();
    measured(&bench, "shield/face", &values);
    let mut wire = crate::rig::Wire::to(&bench.state.join("tenths.sock")).unwrap();
    let view = wire.ask(r#"{"request":"view"}"#).unwrap();
    let verdict = &view["check"]["verdict"];
    assert_eq!(verdict["high_mark_deg"], 315.0, "{view}");
    assert_eq!(verdict["high_position"], 15, "{view}");
}
