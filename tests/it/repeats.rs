//! Several touches at each position, through the real program. Readings are invented, in millionths of an
//! inch; expected figures are worked out by hand beside them.

use std::fmt::Write;

use quantity::{Figure, Unit};
use serde_json::{Value, json};

use crate::rig::{Bench, Make};

/// 0.00001 in readout, s 0.000006 in, all in 0.0000084 in.
const STATED: &str = "unit = \"in\"\nresolution = \"0.00001 in\"\nuncertainty = \"0.0000084 in\"\n\
                      repeatability = \"0.000006 in\"\nrepeat_ms = 0\nmax_rate = 0";
const UNSTATED: &str = "unit = \"in\"\nresolution = \"0.00001 in\"\nrepeat_ms = 0\nmax_rate = 0";
const FACE: &str = "measures = \"parallelism\"\nsetup = \"plate\"\nmoves = \"ring\"\n\
                    radius = \"1.5 in\"\npositions = 8\ntouches = 3\ntolerance = \"0.0001 in\"";
const RING: [i32; 8] = [0, 30, 50, 40, 20, -10, -20, 0];

fn started(gauge: &str, more: &str, keys: &str) -> Bench {
    let mut plan = "name = \"held\"\nunit = \"in\"\n[[part]]\nname = \"ring\"\nkind = \"spacer\"\n\
                    [[part.check]]\nname = \"face\"\ngauge = \"plate\"\n"
        .to_owned();
    writeln!(plan, "{keys}").unwrap();
    let mut bench = Bench::new(&Make { gauge, more, plan: &plan });
    bench.start();
    bench.ok(&["job", "open", "s1", "--plan", "held"]);
    bench.ok(&["measure", "ring/face"]);
    bench
}

fn frame(millionths: i32) -> String {
    let sign = if millionths < 0 { '-' } else { '+' };
    format!("{sign}0.{:05}", millionths.abs() / 10)
}

fn touch(bench: &Bench, readings: &[i32]) {
    let texts: Vec<String> = readings.iter().map(|one| frame(*one)).collect();
    let texts: Vec<&str> = texts.iter().map(String::as_str).collect();
    bench.touches(&bench.plate, "plate", &texts);
}

fn newest(bench: &Bench) -> Value {
    bench.lines(&["verdicts", "s1"]).last().cloned().unwrap_or_default()
}

/// A figure of a verdict in tenths of a millionth.
fn tenths(value: &Value) -> i128 {
    let figure = Figure::parse(value.as_str().unwrap(), Unit::Inch).unwrap();
    (figure / 2540 + Figure::new(-1, 2)).ceil()
}

fn station(bench: &Bench) -> Value {
    bench.heard().unwrap()["stations"][0].clone()
}

/// The ring three times at each position, with a scatter whose mean is zero.
fn thrice(ring: &[i32]) -> Vec<i32> {
    ring.iter().flat_map(|height| [*height, height + 10, height - 10]).collect()
}

/// The same from a hand that scatters less than a step.
fn steady(ring: &[i32]) -> Vec<i32> {
    ring.iter().flat_map(|height| [*height; 3]).collect()
}

#[test]
fn each_position_is_filled_three_times_and_the_mean_counts() {
    let bench = started(STATED, "", FACE);
    touch(&bench, &[0, 10, -10, 30]);
    let now = station(&bench);
    assert_eq!((&now["taken"], &now["of"]), (&json!(4), &json!(24)));
    assert_eq!(
        (&now["next_position"], &now["next_touch"], &now["touches"]),
        (&json!(1), &json!(2), &json!(3))
    );
    let said = String::from_utf8(bench.run(&["status"]).stdout).unwrap();
    assert!(said.contains("4 of 24 touched, position 1 next (touch 2 of 3)"), "{said}");
    // The newest touch taken back is asked for again; one of an earlier position is filled last.
    let undone = &bench.lines(&["void"])[0]["measuring"];
    assert_eq!(
        (&undone["next_position"], &undone["next_touch"]),
        (&json!(1), &json!(1)),
        "{undone}"
    );
    touch(&bench, &[30, 40]);
    let first = bench.placed("s1")[1]["id"].to_string();
    bench.ok(&["void", &first]);
    touch(
        &bench,
        &[20, 50, 60, 40, 40, 50, 30, 20, 30, 10, -10, 0, -20, -20, -10, -30, 0, 10, -10],
    );
    let now = station(&bench);
    assert_eq!((&now["next_position"], &now["next_touch"]), (&json!(0), &json!(3)), "{now}");
    touch(&bench, &[10]);
    assert_eq!(station(&bench)["next"], "closure");
    touch(&bench, &[0]);
    let verdict = newest(&bench);
    assert_eq!(tenths(&verdict["value"]), 700, "the means are {RING:?}");
    // 2·√(2·(36/3 + 8.4² − 36)) = 19.3; a third of it all would be 13.7.
    assert_eq!(tenths(&verdict["uncertainty"]), 193);
    assert_eq!((&verdict["taken"], &verdict["positions"]), (&json!(24), &json!(8)));
    assert_eq!((&verdict["touches"], &verdict["tries"]), (&json!(3), &json!(1)));
    assert_eq!(verdict["verdict"], "conforms");
    let said = bench.ok(&["verdicts", "s1"]);
    assert!(said.contains(" 24 "), "{said}");
    let positions: Vec<Value> =
        bench.placed("s1").into_iter().map(|one| one["position"].clone()).collect();
    assert_eq!(positions.iter().filter(|at| **at == json!(7)).count(), 3);
    bench.ok(&["verify"]);
}

#[test]
fn touches_that_lie_apart_are_asked_for_anew_and_kept() {
    let bench = started(STATED, "", FACE);
    let mut readings = thrice(&RING);
    // Position 3 is 40: a slip of 60.
    readings[10] = 100;
    touch(&bench, &readings);
    let hint = &bench.lines(&["alerts", "s1"])[0];
    let text = hint["text"].as_str().unwrap();
    assert!(
        text.contains("The 3 touches at 3 are 0.00007 apart. Touch position 3 again, 3 times."),
        "{text}"
    );
    assert!(text.contains("Not now"), "the next frame goes on with the round: {text}");
    touch(&bench, &[0]);
    let verdict = newest(&bench);
    assert_eq!(
        (&verdict["verdict"], &verdict["reasons"]),
        (&json!("undecided"), &json!(["touches-differ"]))
    );
    let now = station(&bench);
    assert_eq!(
        (&now["next"], &now["next_position"], &now["next_touch"]),
        (&json!("again"), &json!(3), &json!(1))
    );
    touch(&bench, &[40, 50]);
    assert_eq!(station(&bench)["next_touch"], json!(3));
    assert_eq!(newest(&bench)["reasons"], json!(["touches-differ"]), "not before the third");
    touch(&bench, &[30]);
    let verdict = newest(&bench);
    assert_eq!((&verdict["verdict"], &verdict["reasons"]), (&json!("conforms"), &json!([])));
    assert_eq!((tenths(&verdict["value"]), tenths(&verdict["uncertainty"])), (700, 193));
    // The three older ones are kept, each with why it does not count.
    let void = bench.lines(&["readings", "s1", "--state", "void"]);
    assert_eq!(void.len(), 3);
    for one in &void {
        assert_eq!(
            (&one["position"], &one["why"]),
            (&json!(3), &json!("touched anew: the touches lay too far apart"))
        );
    }
    assert_eq!(station(&bench)["next"], "nothing");
    bench.ok(&["verify"]);
}

#[test]
fn touches_that_lie_apart_again_leave_it_undecided() {
    let bench = started(STATED, "", FACE);
    let mut readings = steady(&RING);
    readings[10] = 100;
    touch(&bench, &readings);
    touch(&bench, &[0, 40, 110, 40]);
    let verdict = newest(&bench);
    assert_eq!(
        (&verdict["verdict"], &verdict["reasons"]),
        (&json!("undecided"), &json!(["touches-differ"]))
    );
    assert_eq!(station(&bench)["next"], "nothing", "it is asked once");
    // Another try does not average it away.
    bench.ok(&["remeasure", "again"]);
    touch(&bench, &steady(&RING));
    touch(&bench, &[0]);
    let verdict = newest(&bench);
    assert_eq!((&verdict["verdict"], &verdict["tries"]), (&json!("conforms"), &json!(1)));
    let said = verdict["advice"].to_string();
    assert!(said.contains("the touches at one position lie too far apart"), "{said}");
    bench.ok(&["verify"]);
}

#[test]
fn a_hand_that_is_less_steady_than_assumed_is_not_asked_at_every_position() {
    let bench = started(UNSTATED, "", FACE);
    // 90 at each position: alone that is beyond 4.7·4.28/3·12 = 80.5, beside the others it is how this
    // hand touches.
    let rough: Vec<i32> =
        RING.iter().flat_map(|height| [*height, height + 50, height - 40]).collect();
    touch(&bench, &rough);
    touch(&bench, &[0]);
    let verdict = newest(&bench);
    assert!(!verdict["reasons"].to_string().contains("touches-differ"), "{verdict}");
    // U of 3 touches with nothing stated: s 12 known to 25 %, plate 10/√3, and 3.3/√3 for the closure.
    assert_eq!(verdict["uncertainty_from"], "assumed");
}

#[test]
fn a_file_names_each_position_as_often_and_typed_readings_fill_in_order() {
    let drop = "[[drop]]\nname = \"logger\"\nfolder = \"{dir}/drop\"\ngauge = \"plate\"\ntags = \"columns\"\n\
                columns = { value = \"Value\", unit = \"Unit\", job = \"Job\", part = \"Part\", check = \"Check\", position = \"Pos\" }\n";
    let bench = started(STATED, drop, FACE);
    let row =
        |position: usize, height: i32| format!("s1,ring,face,{position},{},in\n", frame(height));
    let mut text = "Job,Part,Check,Pos,Value,Unit\n".to_owned();
    // Round by round: the order does not matter where positions are named.
    for off in [0, 10, -10] {
        for (position, height) in RING.iter().enumerate() {
            text.push_str(&row(position, height + off));
        }
    }
    let head = "Job,Part,Check,Pos,Value,Unit\n";
    let more: String = std::iter::repeat_n(row(5, 0), 4).collect();
    bench.drop_file("too-many.csv", &format!("{head}{more}"));
    bench.until("refused", || bench.path("drop/too-many.csv.why").exists());
    let why = std::fs::read_to_string(bench.path("drop/too-many.csv.why")).unwrap();
    assert!(why.contains("line 5: position 5 is filled already"), "{why}");
    bench.drop_file("ring.csv", &format!("{text}{}", row(0, 0)));
    let verdict = bench.verdict("s1", 1);
    assert_eq!((tenths(&verdict["value"]), tenths(&verdict["uncertainty"])), (700, 193));
    assert_eq!(verdict["taken"], json!(24));
    // A part of a position cannot be left out.
    bench.ok(&["remeasure", "again", "ring/face"]);
    bench.ok(&["enter", "0", "0.00001", "0"]);
    bench.ok(&["enter", "0.00003"]);
    let err = bench.refused(2, &["skip", "--why", "a slot"]);
    assert!(err.contains("position 1 has 1 of its 3 touches already"), "{err}");
    let skipped = &bench.lines(&["skip", "2", "--why", "a slot"])[0]["measuring"];
    assert_eq!(skipped["of"], json!(24));
    bench.ok(&["enter", "0.00003", "0.00003"]);
    assert_eq!(station(&bench)["next_position"], json!(3));
    bench.refused(2, &["enter", "--total", "0.00002"]);
    bench.ok(&["verify"]);
}

#[test]
fn what_makes_no_sense_is_found_before_anybody_touches() {
    let plan = |keys: &str| {
        format!(
            "name = \"held\"\nunit = \"in\"\n[[part]]\nname = \"ring\"\nkind = \"spacer\"\n\
             [[part.check]]\nname = \"face\"\ngauge = \"plate\"\n{keys}\n"
        )
    };
    for (keys, found) in [
        (FACE.replace("touches = 3", "touches = 11"), "touches"),
        (
            "measures = \"runout\"\nsetup = \"turning\"\nreads = \"total\"\ntolerance = \"0.0001 in\"\ntouches = 2".to_owned(),
            "touches",
        ),
    ] {
        let bench = Bench::new(&Make { gauge: STATED, more: "", plan: &plan(&keys) });
        let output = bench.run(&["config", "check"]);
        let said = String::from_utf8_lossy(&output.stdout).into_owned() + &String::from_utf8_lossy(&output.stderr);
        assert_eq!(output.status.code(), Some(2), "{said}");
        assert!(said.contains(found), "{said}");
    }
}

#[test]
fn touches_made_in_a_row_show_the_bench_its_hand() {
    let bench = started(UNSTATED, "", &FACE.replace("tolerance", "closure = false\ntolerance"));
    touch(&bench, &thrice(&RING));
    let first = newest(&bench);
    assert_eq!(
        (&first["repeat_pairs"], &first["uncertainty_from"]),
        (&json!(null), &json!("assumed"))
    );
    // Before: √(2·(144/3 + 100/3)) with s 12 known to 25 %.
    bench.ok(&["remeasure", "ground"]);
    touch(&bench, &thrice(&RING));
    let second = newest(&bench);
    // Eight positions with three touches each: 24 readings, 16 degrees, 15 of them after clipping. Each
    // spot shows 0 10 −10: s is 10.
    assert_eq!((&second["repeat_pairs"], &second["repeat_df"]), (&json!(24), &json!(15)));
    assert!(tenths(&second["uncertainty"]) < tenths(&first["uncertainty"]));
    bench.ok(&["verify"]);
    // What is typed shows the eye, not the hand.
    bench.ok(&["remeasure", "ground"]);
    let typed: Vec<String> = thrice(&RING).iter().map(|one| frame(*one)).collect();
    let typed: Vec<&str> = typed.iter().map(String::as_str).collect();
    bench.ok(&[&["enter"], &typed[..]].concat());
    bench.ok(&["remeasure", "ground"]);
    touch(&bench, &thrice(&RING));
    assert_eq!(newest(&bench)["repeat_pairs"], json!(48));
}
