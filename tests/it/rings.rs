//! `evaluate` of rings that tie, of heights of metres and of clouds that hardly bend, from outside.

use std::fs;
use std::process::{Command, Stdio};

use serde_json::Value;

use crate::rig::{Bench, Make};

fn evaluated(file: &str, measures: &str, more: &[&str]) -> (Value, i32) {
    let dir = tempfile::tempdir().unwrap();
    fs::write(dir.path().join("points.csv"), file).unwrap();
    let mut command = Command::new(env!("CARGO_BIN_EXE_tenths"));
    command.current_dir(dir.path()).args(["evaluate", "points.csv", "--json"]);
    let output = command.args(["--measures", measures]).args(more).stdin(Stdio::null()).output();
    let output = output.unwrap();
    let said = String::from_utf8_lossy(&output.stderr);
    assert_eq!(said, "", "{file}");
    (serde_json::from_slice(&output.stdout).unwrap(), output.status.code().unwrap())
}

fn points(places: &str) -> String {
    let rows: Vec<&str> = places.split_whitespace().collect();
    format!("x_mm,y_mm\n{}\n", rows.join("\n"))
}

fn number(text: &Value) -> f64 {
    text.as_str().unwrap().parse().unwrap()
}

#[test]
fn three_contacts_that_tie_hide_no_narrower_ring() {
    let hexagon = points("10,0 3.5,6.062 -5,8.66 -7,0 -5,-8.66 3.5,-6.062");
    let (line, _) = evaluated(&hexagon, "roundness", &[]);
    assert!((number(&line["value"]) - 3.000_081).abs() < 1e-6, "{line}");
    assert_eq!(line["minimum_zone"]["certified"], true);
}

#[test]
fn a_ring_on_whole_numbers_is_exact() {
    let ring =
        points("31,29 -17,-35 -17,29 31,-35 39,21 -25,-27 46.999,-3 -32.999,-3 7,36.999 7,-42.999");
    let (line, code) = evaluated(&ring, "roundness", &["--tolerance", "0.001 mm"]);
    assert_eq!((line["value"].as_str(), code), (Some("0.001"), 0), "{line}");
    let (line, code) = evaluated(&ring, "roundness", &["--tolerance", "0.000999999 mm"]);
    assert_eq!((line["verdict"].as_str(), code), (Some("does-not-conform"), 1), "{line}");
}

#[test]
fn regular_lobes_are_answered() {
    let oct = "28,0 15.556,15.556 0,28 -15.556,15.556 -28,0 -15.556,-15.556 0,-28 15.556,-15.556";
    let (line, _) = evaluated(&points(oct), "roundness", &[]);
    // By hand: 28 outside, 15.556·√2 = 21.999506… inside.
    assert!((number(&line["value"]) - (28.0 - 15.556 * 2_f64.sqrt())).abs() < 1e-9, "{line}");
}

#[test]
fn points_that_hardly_bend_have_a_ring_though_no_least_squares_circle() {
    let flat = points("0,0 10,0.001 20,-0.001 30,0.001 40,-0.001 50,0.002 60,0");
    let (line, _) = evaluated(&flat, "roundness", &[]);
    assert!(number(&line["value"]) < 0.003 && line["minimum_zone"]["certified"] == true, "{line}");
}

#[test]
fn heights_of_metres_are_exact_decimals() {
    let rows = |heights: [&str; 8]| {
        let places = ["0,10", "7,7", "10,0", "7,-7", "0,-10", "-7,-7", "-10,0", "-7,7"];
        let rows: Vec<String> =
            places.iter().zip(heights).map(|(place, z)| format!("{place},{z}")).collect();
        format!("x_mm,y_mm,z_um\n{}\n", rows.join("\n"))
    };
    let tall = rows([
        "4000000000.000025",
        "4e9",
        "4000000000",
        "4000000000.000001",
        "4e9",
        "4e9",
        "4e9",
        "4e9",
    ]);
    let (line, code) = evaluated(&tall, "parallelism", &["--tolerance", "0.000025 um"]);
    assert_eq!((line["value"].as_str(), code), (Some("0.000025"), 0), "{line}");
    let (line, code) = evaluated(&tall, "parallelism", &["--tolerance", "0.000024 um"]);
    assert_eq!((line["verdict"].as_str(), code), (Some("does-not-conform"), 1), "{line}");
    let turn = "angle_deg,r_um\n0,900000001\n90,900000001.000003\n180,900000001\n270,9e8\n";
    let (line, _) = evaluated(turn, "runout", &[]);
    assert_eq!(line["value"].as_str(), Some("1.000003"), "{line}");
}

#[test]
fn scripts_get_all_that_is_known() {
    // Two thirds of the way along: 1 um over 3, to a thousandth of a picometre.
    let line = "x_mm,z_um\n0,0\n1,1\n3,0\n";
    let (line, _) = evaluated(line, "straightness", &[]);
    assert_eq!(line["least_squares"]["width"].as_str().map(str::len), Some("0.857142857".len()));
}

/// Nine touches whose zone is exactly 12 um at their angles (by hand: its contacts lie at 8.5 and
/// 3.25 above, −3.5 and −8.75 below, each pair weighed alike: 5.875 + 6.125).
const NINE: [&str; 9] = ["8.5", "-1.25", "1", "-3.5", "-4.75", "3.25", "-2.75", "-8.75", "-5.25"];

#[test]
fn nine_equal_steps_that_tie_are_inside() {
    let rows: Vec<String> =
        NINE.iter().enumerate().map(|(k, z)| format!("{},38.1,{z}", 40 * k)).collect();
    let file = format!("angle_deg,radius_mm,z_um\n{}\n", rows.join("\n"));
    let (line, code) = evaluated(&file, "flatness", &["--tolerance", "12 um"]);
    assert_eq!((line["value"].as_str(), code), (Some("12"), 0), "{line}");

    let plan = "name = \"held\"\nunit = \"mm\"\nrule = \"simple\"\n[[part]]\nname = \"ring\"\nkind = \"spacer\"\n\
                [[part.check]]\nname = \"face\"\nmeasures = \"flatness\"\ngauge = \"plate\"\nsetup = \"plate\"\n\
                positions = 9\nradius = \"38.1 mm\"\ntolerance = \"0.012 mm\"\nclosure = false\n";
    let gauge = "unit = \"mm\"\nresolution = \"0.00001 mm\"\nuncertainty = \"0.00001 mm\"\nrepeat_ms = 0\nmax_rate = 0";
    let mut bench = Bench::new(&Make { gauge, more: "", plan });
    bench.start();
    bench.ok(&["job", "open", "j", "--plan", "held"]);
    bench.ok(&["measure", "ring/face"]);
    let millimetres = NINE.map(|um| format!("{:.5}", um.parse::<f64>().unwrap() / 1000.0));
    let touches: Vec<&str> = millimetres.iter().map(String::as_str).collect();
    bench.ok(&[&["enter", "--"][..], &touches].concat());
    let verdict = bench.verdict("j", 1);
    assert_eq!((&verdict["value"], &verdict["simple"]), (&"0.012".into(), &"conforms".into()));
}
