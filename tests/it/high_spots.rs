//! High spots of the seats of a shaft and of bearings, through the real program: what opposes them, and what
//! goes on otherwise. Figures are invented; sums of vectors are worked out beside them by hand.

use serde_json::{Value, json};

use crate::rig::{Bench, Make};

const GAUGE: &str = "unit = \"in\"\nresolution = \"0.00001 in\"\nuncertainty = \"0.0000084 in\"\n\
                     repeatability = \"0.000006 in\"\nrepeat_ms = 0\nmax_rate = 0\n";

/// Two seats, a bearing on each, a nut.
fn plan(front: &str, rear: &str) -> String {
    format!(
        r#"name = "held"
unit = "in"
[[part]]
name = "front-seat"
kind = "shaft"
[[part.check]]
name = "clean"
measures = "confirm"
question = "clean?"
good = ["yes"]
[[part]]
name = "rear-seat"
kind = "shaft"
[[part.check]]
name = "clean"
measures = "confirm"
question = "clean?"
good = ["yes"]
[[part]]
name = "front"
kind = "bearing"
[[part.check]]
name = "clean"
measures = "confirm"
question = "clean?"
good = ["yes"]
[[part]]
name = "rear"
kind = "bearing"
[[part.check]]
name = "clean"
measures = "confirm"
question = "clean?"
good = ["yes"]
[[part]]
name = "nut"
kind = "nut"
[[part.check]]
name = "face"
measures = "runout"
gauge = "plate"
positions = 8
tolerance = "0.0005 in"
[[stack]]
part = "front"
ways = ["thrust", "open"]
{front}
[[stack]]
part = "rear"
{rear}
"#
    )
}

fn started(front: &str, rear: &str) -> Bench {
    let mut bench = Bench::new(&Make { gauge: GAUGE, more: "", plan: &plan(front, rear) });
    bench.start();
    bench.ok(&["job", "open", "j1", "--plan", "held"]);
    // A bearing waits for what has to be confirmed of it.
    bench.ok(&["confirm", "front/clean", "yes"]);
    bench.ok(&["confirm", "rear/clean", "yes"]);
    bench
}

/// Two rings and a seat on one arm: 40 at 0 and 30 at 90 are 50 at 36.87; opposite is 216.87.
fn marked(front: &str, rear: &str) -> Bench {
    let bench = started(front, rear);
    bench.ok(&["stack", "spot", "front-seat", "--high", "0", "--amount", "0.00004 in"]);
    bench.ok(&["stack", "spot", "rear-seat", "--low", "270", "--amount", "0.00003 in"]);
    bench
}

fn stack(bench: &Bench) -> Value {
    bench.lines(&["job", "show", "j1"])[0]["stack"].clone()
}

#[track_caller]
fn near(value: &Value, wanted: f64, within: f64) {
    let found = value.as_f64().or_else(|| value.as_str().and_then(|text| text.parse().ok()));
    assert!((found.unwrap() - wanted).abs() <= within, "{value} is not {wanted}");
}

#[test]
fn the_sum_of_the_marks_and_its_opposite_are_told() {
    let bench = marked("", "");
    let together = &stack(&bench)["together"];
    assert_eq!(together["parts"], json!(["front-seat", "rear-seat"]));
    assert_eq!((&together["amount"], &together["unit"]), (&json!("0.00005"), &json!("in")));
    near(&together["high_deg"], 36.870, 0.001);
    near(&together["opposite_deg"], 216.870, 0.001);
    let shown = bench.ok(&["job", "show", "j1"]);
    let told =
        "The high spots of front-seat and rear-seat come to 0.000050 in at 37; opposite is 217.";
    assert!(shown.contains(told), "{shown}");
    let own = &stack(&bench)["high_spots"][1];
    assert_eq!(
        (&own["part"], &own["mark"]["spot"], &own["mark"]["deg"]),
        (&json!("rear-seat"), &json!("low"), &json!(270))
    );
    assert_eq!((&own["mark"]["amount"], &own["mark"]["unit"]), (&json!("0.00003"), &json!("in")));
    let report = bench.ok(&["report", "j1"]);
    assert!(report.contains(told) && report.contains("low spot at 270, 0.00003 in"), "{report}");
    // Two amounts known to 6 (standard): the sum to 2·√72 = 17.0, its direction to 17.0/50 = 19.4 degrees.
    bench.ok(&[
        "stack",
        "spot",
        "front-seat",
        "--high",
        "0",
        "--amount",
        "0.00004 in",
        "--uncertainty",
        "0.000006 in",
    ]);
    bench.ok(&[
        "stack",
        "spot",
        "rear-seat",
        "--high",
        "90",
        "--amount",
        "0.00003 in",
        "--uncertainty",
        "0.000006 in",
    ]);
    let together = &stack(&bench)["together"];
    near(&together["uncertainty"], 0.000_017, 1e-7);
    near(&together["within_deg"], 19.446, 0.01);
    bench.ok(&["verify"]);
}

/// The bearing is highest 30 degrees on from its mark; opposite 36.87 it belongs at 216.87, so its mark at
/// 186.87, the nearest of twelve whole marks is 180. A hand sets it within 15 degrees.
#[test]
fn a_part_whose_mark_contradicts_does_not_go_on_without_a_reason() {
    let bench = marked("", "");
    let spot = [
        "stack",
        "spot",
        "front",
        "--high",
        "30",
        "--amount",
        "0.00002 in",
        "--towards-nose",
        "thrust",
    ];
    bench.ok(&spot);
    let built = ["stack", "built", "front", "--towards-nose", "thrust"];
    let said = bench.refused(2, &built);
    assert!(said.contains("front does not go on the stack"), "{said}");
    assert!(said.contains("where its mark stands is not said"), "{said}");
    assert!(said.contains("tenths stack built front --towards-nose thrust --mark 187"), "{said}");
    for wrong in ["7", "165", "209"] {
        let said = bench.refused(2, &[&built[..], &["--mark", wrong]].concat());
        let told = format!(
            "its mark stands at {wrong}, and its high spot opposes the others at 187 (within 15)"
        );
        assert!(said.contains(&told), "{said}");
    }
    assert!(stack(&bench)["built"].as_array().unwrap().is_empty());
    for right in ["172", "180", "202"] {
        bench.ok(&[&built[..], &["--mark", right]].concat());
        bench.ok(&["stack", "built", "--back"]);
    }
    // The other way round the angle counts the other way: 216.87 + 30.
    let turned = ["stack", "built", "front", "--towards-nose", "open", "--mark", "187"];
    assert!(bench.refused(2, &turned).contains("at 247"));
    let why = [&built[..], &["--mark", "7", "--why", "the maker's number was there"]].concat();
    bench.ok(&why);
    let went = &bench.lines(&["job", "show", "j1"])[0]["went_on"][0];
    assert_eq!(went["mark"], json!({"belongs_deg": 187, "within_deg": 15, "is_deg": 7}));
    assert_eq!((&went["what"], &went["checks"]), (&json!("stack"), &json!([])));
    let told = "its mark stands at 7, and its high spot opposes the others at 187 (within 15)";
    assert!(bench.ok(&["report", "j1"]).contains(told));
    assert!(bench.ok(&["job", "show", "j1"]).contains(told));
    // At the nut both stand: what went on in spite of it, and what the spots come to now. 20 at 37 beside 50
    // at 36.87.
    bench.ok(&["stack", "built", "rear"]);
    let nut = bench.ok(&["measure", "nut/face"]);
    assert!(
        nut.contains(told) && nut.contains("come to 0.000070 in at 37; opposite is 217"),
        "{nut}"
    );
    bench.ok(&["verify"]);
}

/// Each bearing opposes its own seat where the plan says so; the part that goes on next is told its mark.
#[test]
fn a_part_opposes_what_the_plan_says() {
    let bench = marked("opposes = [\"front-seat\"]\nmarks = 8", "opposes = [\"rear-seat\"]");
    bench.ok(&["stack", "spot", "front", "--high", "0", "--amount", "0.00002 in"]);
    bench.ok(&["stack", "spot", "rear", "--high", "0", "--amount", "0.00002 in"]);
    let built = ["stack", "built", "front", "--towards-nose", "thrust", "--mark"];
    let said = bench.refused(2, &[&built[..], &["204"]].concat());
    assert!(said.contains("opposes the others at 180 (within 23)"), "{said}");
    let said = bench.ok(&[&built[..], &["180"]].concat());
    let next = "The mark of rear belongs at 270 (nearest whole mark 270): its high spot opposite the high spot of rear-seat.";
    assert!(said.contains(next), "{said}");
    bench.ok(&["stack", "built", "--back"]);
    let reply = bench.lines(&[&built[..], &["202"]].concat());
    let mark = &reply[0]["next_mark"];
    assert_eq!(
        (&mark["part"], &mark["mark_deg"], &mark["within_deg"]),
        (&json!("rear"), &json!(270), &json!(15))
    );
    assert_eq!(mark["opposes"]["parts"], json!(["rear-seat"]));
    assert!(
        bench
            .refused(2, &["stack", "built", "rear", "--mark", "300"])
            .contains("at 270 (within 15)")
    );
    bench.ok(&["stack", "built", "rear", "--mark", "270"]);
}

/// Nothing is guessed: an amount that is missing, a sum too small for a direction, a mark that the plan fixes.
#[test]
fn what_is_not_known_withholds_the_angle() {
    let bench = started("", "mark_deg = 0");
    bench.ok(&["stack", "spot", "front", "--high", "0"]);
    bench.ok(&["stack", "spot", "front-seat", "--high", "20"]);
    // One spot alone needs no amount.
    let built = ["stack", "built", "front", "--towards-nose", "thrust", "--mark"];
    assert!(bench.refused(2, &[&built[..], &["20"]].concat()).contains("at 200 (within 15)"));
    // Of two, the amounts decide.
    bench.ok(&["stack", "spot", "rear-seat", "--high", "90", "--amount", "0.00003 in"]);
    let said = bench.ok(&["job", "show", "j1"]);
    assert!(said.contains("of front-seat the amount or the place is not written down"), "{said}");
    assert_eq!(stack(&bench)["together"]["unknown"], json!(["front-seat"]));
    bench.ok(&[&built[..], &["20"]].concat());
    bench.ok(&["stack", "built", "--back"]);
    // 30 at 90 and 30 at 270 leave nothing.
    bench.ok(&["stack", "spot", "front-seat", "--high", "270", "--amount", "0.00003 in"]);
    let said = bench.ok(&["job", "show", "j1"]);
    assert!(said.contains("too little for a direction"), "{said}");
    bench.ok(&[&built[..], &["77"]].concat());
    // A mark that the plan fixes is the plan's, whatever the high spots say.
    bench.ok(&["stack", "spot", "front-seat", "--none"]);
    bench.ok(&["stack", "spot", "rear", "--high", "0", "--amount", "0.00003 in"]);
    bench.ok(&["stack", "built", "rear", "--mark", "5"]);
    // A replaced bearing has no mark any more.
    assert_eq!(stack(&bench)["high_spots"].as_array().unwrap().len(), 3);
    bench.ok(&["replace", "front", "--serial", "B9", "--why", "worn"]);
    let left = stack(&bench)["high_spots"].clone();
    let left: Vec<&str> =
        left.as_array().unwrap().iter().map(|one| one["part"].as_str().unwrap()).collect();
    assert_eq!(left, ["rear-seat", "rear"]);
}

#[test]
fn a_mark_that_makes_no_sense_is_refused() {
    let bench = started("", "");
    for (arguments, told) in [
        (&["stack", "spot", "fromt", "--high", "0"][..], "fromt"),
        (&["stack", "spot", "front", "--none"], "no high spot of front is marked"),
        (&["stack", "spot", "front", "--high", "0", "--amount", "0 in"], "is no high spot"),
        (&["stack", "spot", "front", "--high", "0", "--amount", "2 mm"], "cannot be meant"),
        (&["stack", "spot", "front", "--high", "0", "--amount", "a"], "the amount"),
        (&["stack", "spot", "front", "--high", "0", "--uncertainty", "0.00001"], "no amount"),
        (&["stack", "spot", "front", "--high", "0", "--towards-nose", "back"], "no face"),
    ] {
        let said = bench.refused(2, arguments);
        assert!(said.contains(told), "{arguments:?}: {said}");
    }
    bench.refused_usage(&["stack", "spot", "front"]);
    bench.refused_usage(&["stack", "spot", "front", "--high", "360"]);
    bench.refused_usage(&["stack", "spot", "front", "--high", "0", "--low", "180"]);
    assert!(stack(&bench)["high_spots"].is_null());
    for (keys, told) in [
        ("opposes = [\"front\"]", "does not oppose its own"),
        ("opposes = [\"nobody\"]", "nobody"),
        ("marks = 1", "marks"),
    ] {
        let wrong = Bench::new(&Make { gauge: GAUGE, more: "", plan: &plan(keys, "") });
        let checked = wrong.run(&["config", "check"]);
        let said = String::from_utf8_lossy(&checked.stdout).into_owned()
            + &String::from_utf8_lossy(&checked.stderr);
        assert!(checked.status.code() == Some(2) && said.contains(told), "{keys}: {said}");
    }
}

/// A job that is handed on keeps its marks.
#[test]
fn a_job_that_is_handed_on_keeps_its_marks() {
    let bench = marked("", "");
    bench.ok(&["job", "close", "j1", "--why", "handed on"]);
    let file = bench.dir.path().join("j1.bundle");
    let file = file.to_str().unwrap();
    bench.ok(&["export", "j1", "--out", file]);
    let other = Bench::new(&Make { gauge: GAUGE, more: "", plan: &plan("", "") });
    other.ok(&["import", file]);
    assert_eq!(stack(&other)["together"], stack(&bench)["together"]);
}
