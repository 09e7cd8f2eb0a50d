//! Studies of hands and parts, through the real program: published ones, each with its source, and what
//! cannot be one.

use std::path::Path;
use std::process::{Command, Output};

use serde_json::{Value, json};

use crate::rig::{Bench, Make};
use crate::schemas::hold;

fn run(arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_tenths"))
        .arg("study")
        .args(arguments)
        .env("NO_COLOR", "1")
        .output()
        .unwrap()
}

fn published(name: &str) -> String {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("fixtures/published");
    folder.join(name).display().to_string()
}

#[track_caller]
fn ok(arguments: &[&str]) -> String {
    let output = run(arguments);
    assert_eq!(output.status.code(), Some(0), "{}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8(output.stdout).unwrap()
}

/// The line of a study, held against its schema.
#[track_caller]
fn line(arguments: &[&str]) -> Value {
    let line = serde_json::from_str(&ok(&[arguments, &["--json"]].concat())).unwrap();
    hold(&line);
    line
}

#[track_caller]
fn near(line: &Value, path: &str, meant: f64, within: f64) {
    let found = line.pointer(path).and_then(Value::as_f64);
    let found = found.unwrap_or_else(|| panic!("no number {path} in {line}"));
    assert!((found - meant).abs() <= within, "{path}: {found} is not {meant}");
}

#[test]
fn ten_parts_and_three_hands() {
    // AIAG 10 × 3 × 3. Sums of squares and components: quoted as the printed output of a statistics package
    // on these readings, and of a second program. By ranges: AIAG's own results, from memory; it rounds its
    // factors to four digits on the way.
    let found = line(&[&published("gauge-study-10x3x3.csv")]);
    for (path, squares, freedom) in [
        ("part", 88.3619, 9.0),
        ("hand", 3.1673, 2.0),
        ("interaction", 0.3590, 18.0),
        ("repeatability", 2.7589, 60.0),
        ("pooled", 3.117_92, 78.0),
    ] {
        near(&found, &format!("/anova/{path}/squares"), squares, 5.1e-5);
        near(&found, &format!("/anova/{path}/freedom"), freedom, 0.0);
    }
    near(&found, "/anova/interaction/f", 0.4337, 5e-5);
    near(&found, "/anova/interaction/chance", 0.974, 6e-4);
    assert_eq!(found["interaction_pooled"], true);
    for (path, variance) in [
        ("repeatability", 0.039_973_3),
        ("reproducibility", 0.051_455_3),
        ("gauge", 0.091_428_5),
        ("part", 1.086_446_6),
        ("total", 1.177_875_1),
    ] {
        near(&found, &format!("/components/{path}/variance"), variance, 6e-8);
    }
    near(&found, "/components/gauge/percent_study", 27.86, 5e-3);
    near(&found, "/components/gauge/percent_contribution", 7.76, 5e-3);
    for (path, s) in [
        ("repeatability", 0.201_88),
        ("reproducibility", 0.229_63),
        ("gauge", 0.305_75),
        ("part", 1.104_56),
        ("total", 1.146_10),
    ] {
        near(&found, &format!("/by_range/{path}/s"), s, 2e-4);
    }
    // 4.86 and 5.09: the same readings.
    assert_eq!(found["components"]["distinct_categories"], 4);
    assert_eq!(found["by_range"]["distinct_categories"], 5);
    assert_eq!((&found["unit"], &found["tolerance"]), (&Value::Null, &Value::Null));
    let said = ok(&[&published("gauge-study-10x3x3.csv")]);
    for sentence in [
        "3 hands × 10 parts × 3 touches",
        "A A, B B, C C",
        "chance alone makes as much 97 times in 100",
        "It tells 4 kinds of these parts apart (5 by ranges): fewer than 5 are too few to sort by.",
    ] {
        assert!(said.contains(sentence), "{sentence:?} is not in\n{said}");
    }
    assert!(!said.contains("tenth"), "without a unit nothing is said of a tenth: {said}");
}

#[test]
fn five_instruments_on_one_wafer() {
    // NIST StRD, SiRstv, certified.
    let found = line(&[&published("nist-sirstv.csv")]);
    near(&found, "/anova/hand/squares", 5.114_626_16e-2, 1e-12);
    near(&found, "/anova/repeatability/squares", 2.166_365_60e-1, 1e-12);
    near(&found, "/anova/hand/f", 1.180_462_374_402_55, 1e-9);
    near(&found, "/repeatability/s", 0.104_076_068_334_656, 1e-12);
    near(&found, "/repeatability/freedom", 20.0, 0.0);
    assert_eq!(found["anova"]["part"], Value::Null);
    assert_eq!(found["components"]["distinct_categories"], Value::Null);
}

#[test]
fn a_check_standard_touched_by_one_hand() {
    // NIST/SEMATECH e-Handbook 2.6.2, MPC62; mean and s worked out apart from this program.
    let found = line(&[&published("nist-mpc62.csv")]);
    near(&found, "/mean", 97.069_84, 1e-9);
    near(&found, "/repeatability/s", 0.026_798_1, 5e-8);
    near(&found, "/repeatability/freedom", 24.0, 0.0);
    // χ² with 24 degrees, 5 %: 13.848 (a table, from memory).
    near(&found, "/repeatability/at_most", 0.026_798_1 * (24.0_f64 / 13.848).sqrt(), 1e-6);
    let said = ok(&[&published("nist-mpc62.csv")]);
    assert!(said.contains("1 hand × 1 part × 25 touches"), "{said}");
    assert!(said.contains("s = 0.0268, from 24 degrees of freedom: known to 14 %"), "{said}");
}

#[test]
fn what_it_means_for_a_tenth_is_told_in_the_unit_of_the_readings_and_drawn() {
    let dir = tempfile::tempdir().unwrap();
    let file = dir.path().join("lifts.csv");
    // Invented: eight lifts, in micrometres; mean 0, squares 8·0.04, s = √(0.32/7) = 0.2138.
    std::fs::write(&file, "value_um\n0.2\n-0.2\n0.2\n-0.2\n0.2\n-0.2\n0.2\n-0.2\n").unwrap();
    let (file, svg) = (file.display().to_string(), dir.path().join("lifts.svg"));
    let found = line(&[&file, "--tolerance", "0.0001 in", "--svg", svg.to_str().unwrap()]);
    near(&found, "/repeatability/s", 0.213_809, 1e-6);
    near(&found, "/tolerance", 2.54, 1e-12);
    // 6·0.2138/2.54 = 50.5 %.
    near(&found, "/components/gauge/percent_of_tolerance", 50.506, 1e-3);
    let said = found["text"].to_string();
    assert!(
        said.contains("one reading is off by up to 0.43 um, the mean of three by 0.25 (2 s)"),
        "{said}"
    );
    assert!(said.contains("51 % of it: it does not decide a tenth by one reading"), "{said}");
    let drawn = std::fs::read_to_string(&svg).unwrap();
    assert!(drawn.starts_with("<svg") && drawn.contains("0.2 um"), "{drawn}");
    // The same in inches.
    let inch = dir.path().join("inch.csv");
    std::fs::write(&inch, "value\n0.00001\n0.00002\n").unwrap();
    let found = line(&[inch.to_str().unwrap(), "--unit", "in", "--tolerance", "0.0001"]);
    assert_eq!((&found["unit"], &found["tolerance"]), (&json!("in"), &json!(0.0001)));
}

#[test]
fn what_is_no_study_is_told_with_its_line() {
    let dir = tempfile::tempdir().unwrap();
    let file = dir.path().join("study.csv");
    let refused = |text: &str, more: &[&str], why: &str| {
        std::fs::write(&file, text).unwrap();
        let output = run(&[&[file.to_str().unwrap()], more].concat());
        let err = String::from_utf8(output.stderr).unwrap();
        assert_eq!(output.status.code(), Some(2), "{err}");
        assert!(output.stdout.is_empty() && err.contains(why) && err.contains("hint: "), "{err}");
    };
    refused(
        "hand,part,trial,value\nA,1,1,1\nA,1,2,x\n",
        &[],
        "line 3: value is \"x\", not a number",
    );
    refused(
        "hand,part,trial,value\nA,1,1,1\nA,1,1,2\n",
        &[],
        "line 3: trial 1 of A on part 1 stands above",
    );
    refused("hand,part,trial,value\nA,1,1,1\nA,1,2,2\nB,1,1,1\n", &[], "B touched part 1 once");
    refused("value\n1\n2\n", &["--tolerance", "0.0001 in"], "the readings have no unit");
    refused("value_um\n1\n2\n", &["--unit", "in"], "is in um, and --unit says in");
    refused("value_um\n1\n2\n", &["--tolerance", "0 um"], "not above zero");
}

#[test]
fn the_touches_of_a_job_are_a_study() {
    let gauge = "unit = \"in\"\nresolution = \"0.00001 in\"\nrepeat_ms = 0\nmax_rate = 0";
    let plan = "name = \"held\"\nunit = \"in\"\n[[part]]\nname = \"ring\"\nkind = \"spacer\"\n\
                [[part.check]]\nname = \"hands\"\nmeasures = \"thickness-variation\"\ngauge = \"plate\"\n\
                setup = \"anvil\"\npositions = 3\ntouches = 2\nclosure = false\ntolerance = \"0.001 in\"\n";
    let mut bench = Bench::new(&Make { gauge, more: "", plan });
    bench.start();
    bench.ok(&["job", "open", "s1", "--plan", "held"]);
    bench.ok(&["measure", "ring/hands", "--by", "Ada"]);
    bench.touches(
        &bench.plate,
        "plate",
        &["+0.00000", "+0.00001", "+0.00020", "+0.00021", "+0.00040", "+0.00040"],
    );
    bench.ok(&["remeasure", "again", "--by", "Ben"]);
    bench.touches(
        &bench.plate,
        "plate",
        &["+0.00001", "+0.00002", "+0.00020", "+0.00022", "+0.00041", "+0.00041"],
    );
    let found = &bench.lines(&["study", "--job", "s1", "--tolerance", "0.0001 in"])[0];
    assert_eq!(
        (&found["hands"], &found["trials"], &found["n"]),
        (&json!(["Ada", "Ben"]), &json!(2), &json!(12))
    );
    assert_eq!(found["parts"], json!(["ring/hands 0", "ring/hands 1", "ring/hands 2"]));
    // Within: 0.5 + 0.5 + 0 + 0.5 + 2 + 0 = 3.5 squares of 0.00001 in, from 6 degrees.
    near(found, "/anova/repeatability/squares", 3.5e-10, 1e-16);
    near(found, "/repeatability/freedom", 6.0, 0.0);
    let said = bench.ok(&["study", "--job", "s1", "--check", "ring/hands"]);
    assert!(said.contains("A Ada, B Ben; * several") && said.contains("For a tenth"), "{said}");
    bench.ok(&["job", "open", "s2", "--plan", "held"]);
    let err = bench.refused(2, &["study", "--job", "s2"]);
    assert!(err.contains("nothing was touched there") && err.contains("touches = 3"), "{err}");
    bench.refused_usage(&["study"]);
}
