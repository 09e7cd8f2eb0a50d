//! Metal that was ground away is no longer measured: verdicts on it.

use serde_json::Value;

use crate::rig::{Bench, Make};

const GAUGE: &str = "resolution = \"0.00001 in\"\nuncertainty = \"0.000004 in\"\nrepeatability = \"0.000003 in\"\nsign = \"+\"\nrepeat_ms = 0\nmax_rate = 0";

fn face(name: &str, measures: &str, more: &str) -> String {
    format!(
        "[[part.check]]\nname = \"{name}\"\nmeasures = \"{measures}\"\ngauge = \"plate\"\nsetup = \"plate\"\n\
         positions = 8\nradius = \"1.5 in\"\ntolerance = \"0.0001 in\"\nclosure = false\n{more}"
    )
}

const LENGTH: &str = "[[part.check]]\nname = \"length\"\nmeasures = \"length\"\ngauge = \"plate\"\nsetup = \"plate\"\n\
     positions = 4\nmin = \"0.9990 in\"\nmax = \"1.0010 in\"\nmaster = \"none\"\nclosure = false\n";

fn spacer(name: &str, faces: &str) -> String {
    format!("[[part]]\nname = \"{name}\"\nkind = \"spacer\"\n{faces}{LENGTH}")
}

const PAIR: &str = "[[part]]\nname = \"spacers\"\nkind = \"other\"\n[[part.check]]\nname = \"match\"\n\
     measures = \"difference\"\nof = [\"outer/length\", \"ring/length\"]\ntolerance = \"0.0005 in\"\n";

fn bench(plan: &str) -> Bench {
    let plan = format!("name = \"held\"\nunit = \"in\"\n{plan}");
    let mut bench = Bench::new(&Make { gauge: GAUGE, more: "", plan: &plan });
    bench.start();
    bench
}

const GOOD: [&str; 8] = ["0", "0", "0.00002", "0", "0", "0", "0", "0"];
const INCH: [&str; 4] = ["1.00000", "1.00001", "1.00000", "1.00001"];

fn keyed(bench: &Bench, values: &[&str]) {
    let all: Vec<&str> = ["enter"].iter().chain(values).copied().collect();
    bench.ok(&all);
}

fn measured(bench: &Bench, target: &str, values: &[&str]) {
    bench.ok(&["measure", target]);
    keyed(bench, values);
}

/// The standing of the newest attempt's verdict at a check.
fn standing(bench: &Bench, target: &str) -> String {
    let (part, check) = target.split_once('/').unwrap();
    let lines = bench.lines(&["verdicts", "j", "--part", part, "--check", check]);
    text(lines.last().unwrap(), "standing")
}

fn text(line: &Value, field: &str) -> String {
    line[field].as_str().unwrap_or_else(|| panic!("{field}: {line}")).to_owned()
}

/// What `next` makes active, as `PART/CHECK`, with the reason of the attempt.
fn next(bench: &Bench) -> (String, String) {
    bench.ok(&["next"]);
    let status = bench.heard().unwrap();
    let station = &status["stations"][0];
    let target = format!("{}/{}", text(station, "part"), text(station, "check"));
    (target, text(&shown(bench)["check"], "reason"))
}

/// What is on the bench's screen.
fn shown(bench: &Bench) -> Value {
    let mut wire = crate::rig::Wire::to(&bench.state.join("tenths.sock")).unwrap();
    wire.ask(r#"{"request":"view"}"#).unwrap()
}

#[test]
fn a_grind_takes_the_metal_from_under_every_other_verdict_of_the_part() {
    let faces = [face("face-a", "parallelism", ""), face("face-b", "parallelism", "")].concat();
    let bench = bench(&[&spacer("ring", &faces), &spacer("outer", ""), PAIR].concat());
    bench.ok(&["job", "open", "j", "--plan", "held"]);
    measured(&bench, "ring/face-a", &GOOD);
    measured(&bench, "ring/face-b", &GOOD);
    measured(&bench, "ring/length", &INCH);
    measured(&bench, "outer/length", &INCH);
    bench.ok(&["measure", "spacers/match"]);
    for check in ["ring/face-a", "ring/face-b", "ring/length", "outer/length", "spacers/match"] {
        assert_eq!(standing(&bench, check), "stands", "{check}");
    }
    bench.ok(&["remeasure", "ground", "ring/face-a", "--remark", "0.003 off"]);
    keyed(&bench, &GOOD);
    assert_eq!(standing(&bench, "ring/face-a"), "stands");
    for check in ["ring/face-b", "ring/length", "spacers/match"] {
        assert_eq!(standing(&bench, check), "metal-changed", "{check}");
    }
    assert_eq!(standing(&bench, "outer/length"), "stands", "the other ring was not touched");
    // What was measured before on the very face is on metal that is gone, too.
    let face = bench.lines(&["verdicts", "j", "--part", "ring", "--check", "face-a"]);
    assert_eq!(text(&face[0], "standing"), "metal-changed");
    // No verdict row and no line of the feed came of it.
    assert_eq!(bench.lines(&["verdicts", "j", "--all"]).len(), 6);

    // `next` offers them in order, each as new metal that takes nothing off itself.
    assert_eq!(next(&bench), ("ring/face-b".to_owned(), "ground".to_owned()));
    keyed(&bench, &GOOD);
    assert_eq!(standing(&bench, "ring/face-a"), "stands", "joining spoils no neighbour");
    assert_eq!(next(&bench), ("ring/length".to_owned(), "ground".to_owned()));
    keyed(&bench, &INCH);
    assert_eq!(standing(&bench, "ring/face-a"), "stands");
    assert_eq!(standing(&bench, "ring/face-b"), "stands");
    assert_eq!(standing(&bench, "spacers/match"), "metal-changed");
    bench.ok(&["next"]);
    assert_eq!(standing(&bench, "spacers/match"), "stands");
    let pair = bench.lines(&["verdicts", "j", "--part", "spacers"]);
    assert_eq!((pair.len(), text(&pair[0], "standing")), (2, "metal-changed".to_owned()));
    bench.refused(1, &["next"]);
    // A second grind is a new state of the metal.
    bench.ok(&["remeasure", "ground", "ring/face-b"]);
    for check in ["ring/face-a", "ring/length", "spacers/match"] {
        assert_eq!(standing(&bench, check), "metal-changed", "{check}");
    }
    // An old length is no half of a new difference, and old metal is not averaged with new.
    let said = bench.refused(2, &["measure", "spacers/match"]);
    assert!(said.contains("ring/length") && said.contains("ground"), "{said}");
    let said = bench.refused(2, &["remeasure", "again", "ring/length"]);
    assert!(said.contains("ring was ground"), "{said}");
    // `measure` takes such a check without a reason being said.
    measured(&bench, "ring/length", &INCH);
    let length = bench.lines(&["verdicts", "j", "--part", "ring", "--check", "length"]);
    let last = length.last().unwrap();
    assert_eq!((text(last, "reason"), text(last, "standing")), ("ground".into(), "stands".into()));
}

#[test]
fn cleaning_and_trying_again_change_no_metal() {
    let bench = bench(&spacer("ring", &face("face-a", "parallelism", "")));
    bench.ok(&["job", "open", "j", "--plan", "held"]);
    measured(&bench, "ring/face-a", &GOOD);
    measured(&bench, "ring/length", &INCH);
    for reason in ["cleaned", "again"] {
        bench.ok(&["remeasure", reason, "ring/face-a"]);
        keyed(&bench, &GOOD);
        assert_eq!(standing(&bench, "ring/length"), "stands", "{reason}");
    }
    let face = bench.lines(&["verdicts", "j", "--check", "face-a"]);
    let told: Vec<String> = face.iter().map(|line| text(line, "standing")).collect();
    assert_eq!(told, ["superseded", "superseded", "stands"]);
}

#[test]
fn a_new_ring_leaves_its_verdicts_to_the_old_one_and_the_pair_without_a_half() {
    let bench = bench(&[&spacer("ring", ""), &spacer("outer", ""), PAIR].concat());
    bench.ok(&["job", "open", "j", "--plan", "held"]);
    measured(&bench, "ring/length", &INCH);
    measured(&bench, "outer/length", &INCH);
    bench.ok(&["measure", "spacers/match"]);
    bench.ok(&["replace", "ring", "--why", "cracked"]);
    assert_eq!(standing(&bench, "ring/length"), "part-replaced");
    assert_eq!(standing(&bench, "spacers/match"), "metal-changed");
    assert_eq!(standing(&bench, "outer/length"), "stands");
    assert_eq!(next(&bench), ("ring/length".to_owned(), "first".to_owned()));
}

#[test]
fn a_plan_may_say_which_face_a_flatness_is_of() {
    let faces = [
        face("face-a", "parallelism", "face = \"a\"\n"),
        face("flat-a", "flatness", "face = \"a\"\n"),
        face("flat-b", "flatness", "face = \"b\"\n"),
        face("flat", "flatness", ""),
    ];
    let bench = bench(&spacer("ring", &faces.concat()));
    bench.ok(&["job", "open", "j", "--plan", "held"]);
    for check in ["ring/face-a", "ring/flat-a", "ring/flat-b", "ring/flat"] {
        measured(&bench, check, &GOOD);
    }
    bench.ok(&["remeasure", "ground", "ring/face-a"]);
    assert_eq!(standing(&bench, "ring/flat-a"), "metal-changed");
    assert_eq!(standing(&bench, "ring/flat-b"), "stands");
    assert_eq!(standing(&bench, "ring/flat"), "metal-changed", "nobody said which face it is of");
}

fn turn(name: &str) -> String {
    format!(
        "[[part.check]]\nname = \"{name}\"\nmeasures = \"runout\"\ngauge = \"plate\"\ntouch = \"outside\"\n\
         positions = 8\ntolerance = \"0.0002 in\"\nclosure = false\n"
    )
}

#[test]
fn what_turns_on_the_built_stack_falls_with_a_part_of_it() {
    let shaft = |name: &str, checks: &str| {
        format!("[[part]]\nname = \"{name}\"\nkind = \"shaft\"\n{checks}")
    };
    let stack = "[[stack]]\npart = \"ring\"\n[[stack]]\npart = \"outer\"\n";
    let plan = [
        shaft("received", &turn("nose")),
        spacer("ring", &turn("rim")),
        spacer("outer", ""),
        shaft("final", &turn("nose")),
        stack.to_owned(),
    ];
    let bench = bench(&plan.concat());
    bench.ok(&["job", "open", "j", "--plan", "held"]);
    measured(&bench, "received/nose", &GOOD);
    measured(&bench, "ring/rim", &GOOD);
    measured(&bench, "ring/length", &INCH);
    measured(&bench, "outer/length", &INCH);
    bench.ok(&["stack", "built", "ring"]);
    bench.ok(&["stack", "built", "outer"]);
    measured(&bench, "final/nose", &GOOD);
    let told = |bench: &Bench| {
        ["received/nose", "ring/rim", "final/nose"].map(|check| standing(bench, check))
    };
    assert_eq!(told(&bench), ["stands", "stands", "stands"]);
    bench.ok(&["stack", "built", "--back"]);
    assert_eq!(told(&bench), ["stands", "stands", "metal-changed"]);
    bench.ok(&["stack", "built", "outer"]);
    assert_eq!(next(&bench), ("final/nose".to_owned(), "ground".to_owned()));
    keyed(&bench, &GOOD);
    assert_eq!(told(&bench), ["stands", "stands", "stands"]);
    // A grind of a part on the stack, and of the part whose own rim was read before it was built.
    bench.ok(&["remeasure", "ground", "ring/length"]);
    assert_eq!(told(&bench), ["stands", "metal-changed", "metal-changed"]);
    keyed(&bench, &INCH);
    assert_eq!(next(&bench).0, "ring/rim");
    keyed(&bench, &GOOD);
    assert_eq!(next(&bench).0, "final/nose");
    keyed(&bench, &GOOD);
    bench.ok(&["replace", "outer", "--why", "cracked"]);
    assert_eq!(told(&bench), ["stands", "metal-changed", "metal-changed"]);
}
