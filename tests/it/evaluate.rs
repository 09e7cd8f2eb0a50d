//! `evaluate` from outside: what it refuses and in which line, its sentences and exit codes, and figures that
//! others published, each with its source.

use std::fmt::Write as _;
use std::fs::{self, File};
use std::io::{Read as _, Write as _};
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};

use rustix::pty::{OpenptFlags, grantpt, openpt, ptsname, unlockpt};
use serde_json::{Value, json};

use crate::rig::as_told;

/// A folder for the file of points, without a bench or a configuration.
struct Points {
    dir: tempfile::TempDir,
}

impl Points {
    fn of(text: &str) -> Self {
        let points = Self { dir: tempfile::tempdir().unwrap() };
        fs::write(points.path(), text).unwrap();
        points
    }

    fn path(&self) -> PathBuf {
        self.dir.path().join("points.csv")
    }

    fn command(&self, measures: &str, more: &[&str]) -> Command {
        let mut command = Command::new(env!("CARGO_BIN_EXE_tenths"));
        command.current_dir(self.dir.path()).args(["evaluate", "points.csv"]);
        command.args(["--measures", measures]).args(more).env_remove("TENTHS_CONFIG");
        command.stdin(Stdio::null());
        command
    }

    fn run(&self, measures: &str, more: &[&str]) -> Output {
        self.command(measures, more).output().unwrap()
    }
}

fn text(bytes: &[u8]) -> &str {
    std::str::from_utf8(bytes).unwrap()
}

/// What a person reads, and the exit code; nothing is said beside it.
#[track_caller]
fn told(file: &str, measures: &str, more: &[&str]) -> (String, i32) {
    let output = Points::of(file).run(measures, more);
    assert_eq!(text(&output.stderr), "", "{file}");
    let out = text(&output.stdout);
    assert!(out.ends_with(".\n") && !out.contains('\u{1b}'), "{out:?}");
    (out.to_owned(), output.status.code().unwrap())
}

/// The one line of JSON, and the exit code.
#[track_caller]
fn json_of(file: &str, measures: &str, more: &[&str]) -> (Value, i32) {
    let output = Points::of(file).run(measures, &[&["--json"], more].concat());
    assert_eq!(text(&output.stderr), "", "{file}");
    let out = text(&output.stdout);
    assert_eq!(out.matches('\n').count(), 1, "{out:?}");
    (serde_json::from_str(out).unwrap(), output.status.code().unwrap())
}

#[track_caller]
fn line_of(file: &str, measures: &str, more: &[&str]) -> Value {
    let (line, code) = json_of(file, measures, more);
    assert_eq!(code, 0, "{line}");
    line
}

/// Exit 2, nothing on stdout, this sentence and a hint on stderr; with `--json`, too.
#[track_caller]
fn refused(file: &str, measures: &str, why: &str) {
    let points = Points::of(file);
    for more in [&[][..], &["--json"], &["--tolerance", "1 um"]] {
        let output = points.run(measures, more);
        let err = as_told(text(&output.stderr).to_owned());
        assert_eq!(output.status.code(), Some(2), "{file:?} as {measures}: {err}");
        assert!(output.stdout.is_empty(), "{file:?}");
        assert!(err.contains(why), "{file:?} as {measures}: {err:?} does not say {why:?}");
    }
}

#[track_caller]
fn near(value: &Value, expected: f64, within: f64) {
    let number = value.as_f64().or_else(|| value.as_str()?.parse().ok()).unwrap();
    assert!((number - expected).abs() <= within, "{number} is not {expected}");
}

const FACE: &str = "x_mm,y_mm,z_um";
const SADDLE: &str = "x_mm,y_mm,z_um\n0,0,0\n10,0,2.54\n10,10,0\n0,10,2.54\n";
const MEASURES: [(&str, &str); 6] = [
    ("flatness", FACE),
    ("parallelism", FACE),
    ("runout", "angle_deg,r_um"),
    ("roundness", "x_mm,y_mm"),
    ("straightness", "x_mm,z_um"),
    ("taper", "x_mm,z_um"),
];

#[test]
fn a_file_without_points_is_refused_by_every_measure() {
    for (measures, header) in MEASURES {
        refused("", measures, "points.csv: line 1: the file is empty");
        refused("\n\n", measures, "line 1: the file is empty");
        refused(&format!("{header}\n"), measures, "line 2: no points follow the header");
        let one = "1,".repeat(header.split(',').count());
        let one = format!("{header}\n{}\n", one.trim_end_matches(','));
        refused(&one, measures, "there is 1");
        // One place, touched again and again, is still one.
        let (row, times) = (one.lines().nth(1).unwrap(), 9);
        let again = format!("{header}\n{}", format!("{row}\n").repeat(times));
        let why = match measures {
            "flatness" | "parallelism" => "all positions are one place",
            "roundness" => "a circle needs three places that are not on one line",
            _ => "there is 1",
        };
        refused(&again, measures, why);
    }
}

#[test]
fn what_is_no_number_is_refused_with_its_line() {
    for (measures, header) in MEASURES {
        let columns: Vec<&str> = header.split(',').collect();
        let name = columns[0].split('_').next().unwrap();
        let good = "1".to_owned() + &",2".repeat(columns.len() - 1);
        let file = |cell: &str| {
            let bad = cell.to_owned() + &",2".repeat(columns.len() - 1);
            // Lines 2, 3 and 4 are a point, an empty line and the bad one.
            format!("{header}\n{good}\n\n{bad}\n{good}\n")
        };
        for word in ["NaN", "nan", "-NaN", "inf", "-inf", "Infinity", "+infinity", "0x1p3", "1 mm"]
        {
            let why = format!("line 4: {name} is {word:?}, not a number");
            refused(&file(word), measures, &why);
        }
        for word in ["1e308", "-1e308", "1e309", "1e99999"] {
            refused(&file(word), measures, &format!("line 4: {name} is {word:?}, beyond"));
        }
        refused(&file(""), measures, &format!("line 4: {name} is missing"));
        refused(&file("1,2"), measures, "line 4: ");
        refused(&file("1;2"), measures, &format!("line 4: {name} is \"1;2\", not a number"));
        // Windows' line ends and no end at all give the same numbers.
        let windows = file("NaN").replace('\n', "\r\n");
        refused(windows.trim_end(), measures, &format!("line 4: {name} is \"NaN\""));
    }
}

#[test]
fn what_a_terminal_would_obey_is_shown_escaped() {
    let output = Points::of("x_mm,y_mm,z_um\n\u{1b}[2J,0,0\n").run("flatness", &[]);
    let err = text(&output.stderr);
    assert!(err.contains("line 2: x is \"\\u{1b}[2J\"") && !err.contains('\u{1b}'), "{err:?}");
    refused("\u{1b}[2J_mm,y_mm\n", "roundness", "line 1: no column is called \"\\u{1b}[2J_mm\"");
}

#[test]
fn units_belong_to_columns_and_are_not_guessed() {
    let header = |text: &str| format!("{text}\n0,0,1\n1,0,2\n0,1,3\n1,1,4\n");
    let why = "line 1: x is in mm and y in in; both have to be in one unit";
    refused(&header("x_mm,y_in,z_um"), "flatness", why);
    refused(&header("x,y,z"), "flatness", "line 1: the column \"x\" has no unit");
    refused(&header("x_mm,y_mm,z_furlong"), "flatness", "line 1: the column \"z_furlong\"");
    refused(&header("x_mm,y_mm,x_mm"), "flatness", "line 1: the column x comes twice");
    refused(&header("angle_rad,radius_mm,z_um"), "flatness", "angles are in degrees");
    refused(&header("x_mm,y_mm,colour"), "flatness", "line 1: no column is called \"colour\"");
    refused(&header("0,0,0"), "flatness", "line 1: no column is called \"0\"");
    refused(SADDLE, "runout", "line 1: the header does not name the columns that are needed");
    // A unit inside a cell.
    let mixed = "x_mm,y_mm,z_um\n0,0,1\n1,0,0.0001 in\n0,1,3\n1,1,4\n";
    refused(mixed, "flatness", "line 3: z is \"0.0001 in\", not a number");
    // Each column has its own, and they are converted: 0.0001 in is 2.54 um.
    let inches = "x_mm,y_mm,z_in\n0,0,0\n10,0,1e-4\n10,10,0\n0,10,1e-4\n";
    assert_eq!(line_of(inches, "flatness", &["--unit", "um"])["value"], "2.54");
    assert_eq!(line_of(inches, "flatness", &["--unit", "mm"])["value"], "0.00254");
    assert_eq!(line_of(inches, "flatness", &[])["value"], "0.0001");
    assert_eq!(line_of(inches, "flatness", &["--tolerance", "9 um"])["unit"], "um");
}

#[test]
fn positions_that_carry_no_figure_give_none() {
    let rows = |header: &str, rows: &[&str]| format!("{header}\n{}\n", rows.join("\n"));
    for measures in ["flatness", "parallelism"] {
        let line = rows(FACE, &["0,0,1", "0.1,0.1,2", "0.2,0.2,5", "0.3,0.3,2", "7e2,7e2,1"]);
        refused(&line, measures, "all positions lie on one line");
        let radius = ["30,10,1", "210,10,2", "30,20,3", "390,25,0"];
        let polar = rows("angle_deg,radius_mm,z_um", &radius);
        refused(&polar, measures, "all positions lie on one line");
        let two = rows(FACE, &["0,0,1", "1,0,1", "0,0,2", "1,0,0", "0,0,1", "1,0,4", "0,0,1"]);
        refused(&two, measures, "all positions lie on one line");
        refused(&rows(FACE, &["0,0,1", "1,0,1"]), measures, "a plane needs three points");
    }
    let why = "a circle needs three places that are not on one line";
    refused(&rows("x_mm,y_mm", &["0,0", "1,1", "2,2", "3,3"]), "roundness", why);
    refused(&rows("x_mm,y_mm", &["0,0", "1,1", "0,0", "1,1"]), "roundness", why);
    for measures in ["runout", "roundness"] {
        let two = rows("angle_deg,r_um", &["0,1", "180,2", "360,1", "-180,2", "540,2"]);
        let why = "a turn needs readings at 3 different angles, there are 2";
        refused(&two, measures, why);
        let arc = rows("angle_deg,r_um", &["0,1", "10,2", "20,3", "30,1"]);
        let why = "no gap between readings may reach half a turn, one is 330.0 degrees";
        refused(&arc, measures, why);
    }
    let two = rows("x_mm,z_um", &["0,1", "1,2", "0,3", "1,4", "1,0"]);
    let why = "straightness needs 3 different places along x, there are 2";
    refused(&two, "straightness", why);
    let one = rows("x_mm,z_um", &["1,1", "1,2", "1,3", "1,4"]);
    refused(&one, "taper", "taper needs 2 different places along x, there is 1");
    let close = rows("x_mm,z_um", &["0,1", "1e-320,2", "2e-320,0"]);
    refused(&close, "straightness", "the positions are too close together to carry a figure");
}

#[test]
fn a_place_touched_twice_is_harmless_where_others_carry_the_figure() {
    let twice = SADDLE.to_owned() + "0,0,0\n10,10,0\n";
    let line = line_of(&twice, "flatness", &[]);
    assert_eq!((&line["value"], &line["n"]), (&json!("2.54"), &json!(6)));
    // With three places in all it proves nothing, however often they were touched.
    let three = "x_mm,y_mm,z_um\n0,0,1\n1,0,2\n0,1,5\n0,0,1\n1,0,2\n0,1,5\n";
    let (line, code) = json_of(three, "flatness", &["--tolerance", "1 um"]);
    assert_eq!((&line["verdict"], &line["simple"], code), (&json!("undecided"), &Value::Null, 1));
    let (out, code) = told(three, "flatness", &["--tolerance", "1 um"]);
    assert!(out.contains("three places fit exactly, whatever the form: they prove nothing"));
    assert!(out.contains("UNDECIDED.") && code == 1, "{out}");
}

#[test]
fn a_command_that_is_not_understood_is_refused() {
    let points = Points::of(SADDLE);
    for (more, why) in [
        (&["--tolerance", "2.54"][..], "--tolerance: "),
        (&["--tolerance", "NaN um"], "--tolerance: "),
        (&["--tolerance", "1e308 in"], "--tolerance: "),
        (&["--tolerance=-1 um"], "--tolerance is below zero"),
        (&["--uncertainty=-1 um"], "--uncertainty is below zero"),
        (&["--unit", "furlong"], "a unit is in, mm or um"),
    ] {
        let output = points.run("flatness", more);
        let err = text(&output.stderr);
        assert!(output.status.code() == Some(2) && err.contains(why), "{more:?}: {err}");
        assert!(output.stdout.is_empty());
    }
    assert_eq!(points.run("beauty", &[]).status.code(), Some(2));
    fs::remove_file(points.path()).unwrap();
    let output = points.run("flatness", &[]);
    assert_eq!(output.status.code(), Some(2));
    assert!(text(&output.stderr).starts_with("tenths: cannot open points.csv: "));
    fs::create_dir(points.path()).unwrap();
    assert_eq!(points.run("flatness", &[]).status.code(), Some(2));
}

#[test]
fn the_json_line_is_an_evaluation_1() {
    let (line, code) = json_of(SADDLE, "flatness", &["--tolerance", "3 um", "--unit", "um"]);
    let expected = json!({
        "schema": "evaluation/1", "measures": "flatness", "n": 4, "rank": 3, "unit": "um",
        "value": "2.54",
        "minimum_zone": {
            "width": "2.54", "certified": true, "method": line["minimum_zone"]["method"],
            "contacts_upper": [1, 3], "contacts_lower": [0, 2],
        },
        "least_squares": { "width": "2.54", "coefficients": [1.27, 0.0, 0.0] },
        "max_minus_min": "2.54", "slope_urad": 0.0, "tolerance": "3",
        "limits": { "min": null, "max": "3" },
        "verdict": "conforms", "simple": "conforms",
        "advice": ["4 points are few: what lies between them was not touched"],
    });
    assert_eq!((line, code), (expected, 0));
    // What each of the others has, and nothing that does not apply.
    let shared = ["schema", "measures", "n", "rank", "unit", "value"];
    let fit = ["max_minus_min", "least_squares", "slope_urad"];
    let face = "x_mm,y_mm,z_um\n0,0,0\n9,0,1\n0,9,2\n9,9,4\n4,4,1\n5,2,0\n1,7,2\n";
    let turn = "angle_deg,r_um\n0,1\n50,2\n100,4\n150,4\n200,3\n250,1\n300,1\n";
    let flat = turn.replace("r_um", "r_mm");
    let line = "x_mm,z_um\n0,0\n1,1\n2,0\n3,2\n";
    let circle = "x_mm,y_mm\n1,0\n.7,.7\n0,1\n-.7,.7\n-1,0\n0,-1\n.7,-.7\n";
    let turned = ["max_minus_min", "high_side_deg", "harmonics", "eccentricity"];
    let round = ["minimum_zone", "least_squares", "circle"];
    for (measures, file, more) in [
        ("parallelism", face, [&fit[..], &["high_side_deg"]].concat()),
        ("runout", turn, turned.to_vec()),
        ("roundness", &flat, [&turned[..], &round, &["taken_as"]].concat()),
        ("roundness", circle, [&round[..], &["circles"]].concat()),
        ("straightness", line, [&fit[..], &["minimum_zone", "end_points"]].concat()),
        ("taper", line, [&fit[..2], &["rate", "half_angle_deg"]].concat()),
    ] {
        let line = line_of(file, measures, &[]);
        let mut names: Vec<&str> = line.as_object().unwrap().keys().map(String::as_str).collect();
        let mut expected = [&shared[..], &more].concat();
        names.sort_unstable();
        expected.sort_unstable();
        assert_eq!(names, expected, "{measures}: {line}");
        assert_eq!(line["schema"], "evaluation/1");
        assert_eq!(line["measures"], *measures);
    }
}

#[test]
fn a_tie_at_the_limit_is_inside_and_the_exit_code_says_so() {
    let verdict = |more: &[&str]| {
        let (line, code) = json_of(SADDLE, "flatness", more);
        (line["verdict"].as_str().unwrap().to_owned(), code)
    };
    let is = |word: &str, code: i32| (word.to_owned(), code);
    assert_eq!(verdict(&["--tolerance", "2.54 um"]), is("conforms", 0));
    assert_eq!(verdict(&["--tolerance", "0.0001 in"]), is("conforms", 0));
    assert_eq!(verdict(&["--tolerance", "2.54", "--unit", "um"]), is("conforms", 0));
    assert_eq!(verdict(&["--tolerance", "2.539999 um"]), is("does-not-conform", 1));
    let guarded = |tolerance| verdict(&["--tolerance", tolerance, "--uncertainty", "0.6 um"]);
    assert_eq!(guarded("3.14 um"), is("conforms", 0));
    assert_eq!(guarded("3.139999 um"), is("undecided", 1));
    assert_eq!(guarded("1.94 um"), is("undecided", 1));
    assert_eq!(guarded("1.939999 um"), is("does-not-conform", 1));
    // A tenth over ten is no binary number, in any of the measures that end in a range.
    let tenths = "x_mm,y_mm,z_um\n0,0,0.1\n10,0,0.3\n0,10,0.2\n10,10,0.2\n";
    let (line, code) = json_of(tenths, "parallelism", &["--tolerance", "0.2 um"]);
    assert_eq!((line["verdict"].as_str(), code), (Some("conforms"), 0));
    let (line, code) = json_of(tenths, "parallelism", &["--tolerance", "0.199999 um"]);
    assert_eq!((line["verdict"].as_str(), code), (Some("does-not-conform"), 1));
}

#[test]
fn a_person_reads_sentences() {
    let sentences = |file: &str, measures: &str, more: &[&str]| told(file, measures, more).0;
    let few = "Note: 4 points are few: what lies between them was not touched.\n";
    assert_eq!(
        sentences(SADDLE, "flatness", &["--tolerance", "3.5 um", "--uncertainty", "0.6 um"]),
        format!(
            "Flatness of 4 points: 2.54 um by the minimum zone: no two parallel planes hold them \
             closer, proved.\nBy least squares 2.54 um, tilt 0 um per m.\n{few}CONFORMS. 2.54 um, \
             limit 3.5 um, uncertainty ±0.6 um.\n"
        )
    );
    let leaning = "x_mm,y_mm,z_um\n-10,0,-1\n10,0,1\n0,10,0\n0,-10,0\n";
    assert_eq!(
        sentences(leaning, "parallelism", &[]),
        format!(
            "Parallelism of 4 points: 2 um, the highest minus the lowest reading.\nForm about the \
             least-squares fit 0 um, tilt 100 um per m, high side at 0.0 deg.\n{few}"
        )
    );
    let tilt = |unit: &str| sentences(leaning, "parallelism", &["--unit", unit]);
    assert!(tilt("in").contains("tilt 0.0001 in per in"), "{}", tilt("in"));
    assert!(tilt("mm").contains("tilt 0.1 mm per m"), "{}", tilt("mm"));
    let taper = "x_in,z_in\n0,2.75\n24,9.75\n";
    let told = sentences(taper, "taper", &[]);
    let start = "Taper of 2 points: 7 in, by which the diameter grows along x from end to end.\n";
    assert!(told.starts_with(start), "{told}");
    assert!(
        told.contains("rate 0.291666667 (1 in 3.429) on the diameter, half angle 8.297145 deg")
    );
}

/// A trace of one turn: oval of 0.7, fifteen waves of 0.3, off centre by 3, and a skin.
fn long_turn(readings: u32) -> String {
    let mut file = String::from("angle_deg,r_um\n");
    for k in 0..readings {
        let degrees = 360.0 * f64::from(k) / f64::from(readings);
        let t = degrees.to_radians();
        let form = 3.0 * (t - 1.0).cos() + 0.7 * (2.0 * t).cos() + 0.3 * (15.0 * t).cos();
        let skin = f64::from(k * 37 % 101) / 10_100.0;
        writeln!(file, "{degrees:.6},{:.5}", form + skin).unwrap();
    }
    file
}

#[test]
fn a_long_file_gives_all_it_holds_and_stays_quiet_in_a_pipe() {
    let file = long_turn(200_000);
    assert!(file.len() > 3_000_000);
    let line = line_of(&file, "runout", &[]);
    assert_eq!(line["n"], 200_000);
    let waves = line["harmonics"].as_array().unwrap();
    assert_eq!(waves.len(), 15);
    for (order, amplitude) in [(1, 3.0), (2, 0.7), (3, 0.0), (8, 0.0), (15, 0.3)] {
        near(&waves[order - 1]["amplitude"], amplitude, 1e-3);
        assert_eq!(waves[order - 1]["order"], order);
    }
    near(&line["high_side_deg"], 1_f64.to_degrees(), 0.01);
    let (out, code) = told(&file, "runout", &[]);
    assert!(out.contains("Waves, the strongest first: 2 in the turn of ±0.7 um"), "{out}");
    assert!(out.contains("; 15 in the turn of ±0.3 um") && code == 0, "{out}");
    // A face of 200 000 points whose zone is known: a saddle's corners and less between.
    let mut face = String::from(SADDLE);
    for k in 0..200_000_u32 {
        let (x, y) = (k % 447, k / 447);
        let (x, y) = (f64::from(x) / 44.7, f64::from(y) / 44.75);
        writeln!(face, "{x:.4},{y:.4},{:.3}", 1.27 + f64::from(k % 7) / 10.0 - 0.3).unwrap();
    }
    face += "3,3,bad\n";
    refused(&face, "flatness", "line 200006: z is \"bad\", not a number");
    let line = line_of(face.trim_end_matches("3,3,bad\n"), "flatness", &[]);
    assert_eq!((&line["value"], &line["n"]), (&json!("2.54"), &json!(200_004)));
    assert_eq!(line["minimum_zone"]["certified"], true);
}

/// What the program writes to a terminal on stderr.
fn at_a_terminal(points: &Points, dumb: bool) -> String {
    let far = openpt(OpenptFlags::RDWR | OpenptFlags::NOCTTY | OpenptFlags::CLOEXEC).unwrap();
    grantpt(&far).unwrap();
    unlockpt(&far).unwrap();
    let name = ptsname(&far, Vec::new()).unwrap().into_string().unwrap();
    let near = File::options().read(true).write(true).open(name).unwrap();
    let mut command = points.command("runout", &[]);
    command.env_remove("NO_COLOR").env("TERM", if dumb { "dumb" } else { "xterm" });
    assert!(command.stdout(Stdio::null()).stderr(near).status().unwrap().success());
    drop(command);
    let (mut said, mut buffer) = (Vec::new(), [0; 4096]);
    let mut far = File::from(far);
    // A terminal whose near end is closed gives what it held, then an error.
    while let Ok(bytes @ 1..) = far.read(&mut buffer) {
        said.extend_from_slice(&buffer[..bytes]);
    }
    String::from_utf8(said).unwrap()
}

#[test]
fn progress_is_for_a_person_at_a_terminal() {
    let points = Points::of(&long_turn(300_000));
    let said = at_a_terminal(&points, false);
    assert!(said.contains("\r65536 points, ") && said.ends_with("\r\u{1b}[K"), "{said:?}");
    assert_eq!(at_a_terminal(&points, true), "");
    let small = Points::of(&long_turn(100));
    assert_eq!(at_a_terminal(&small, false), "");
}

#[test]
fn points_may_come_through_a_pipe() {
    let points = Points::of("");
    let mut command = Command::new(env!("CARGO_BIN_EXE_tenths"));
    command.args(["evaluate", "/dev/stdin", "--measures", "flatness", "--json"]);
    command.stdin(Stdio::piped()).stdout(Stdio::piped()).current_dir(points.dir.path());
    let mut child = command.spawn().unwrap();
    child.stdin.take().unwrap().write_all(SADDLE.as_bytes()).unwrap();
    let output = child.wait_with_output().unwrap();
    let line: Value = serde_json::from_slice(&output.stdout).unwrap();
    assert_eq!((&line["value"], output.status.code()), (&json!("2.54"), Some(0)));
}

/// The rows of a file of the fixtures, comments and header left out.
fn published(name: &str) -> Vec<Vec<String>> {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("fixtures/published").join(name);
    let text = fs::read_to_string(path).unwrap();
    let rows = text.lines().filter(|line| !line.starts_with('#')).skip(1);
    rows.map(|row| row.split(',').map(str::to_owned).collect()).collect()
}

#[test]
fn the_surface_plate_of_1955() {
    // J. C. Moody, "How to calibrate surface plates in the plant", The Tool Engineer, October 1955;
    // transcription by B. Allen (repository ballen4705/Moody-Method): heights of 126 stations in
    // units of 10 microinch above the base plane, the highest 17.841145.
    let mut file = String::from("x_in,y_in,z_in\n");
    for row in published("moody-1955-heights.csv") {
        writeln!(file, "{},{},{}e-5", row[1], row[2], row[3]).unwrap();
    }
    let line = line_of(&file, "flatness", &[]);
    assert_eq!((&line["n"], &line["max_minus_min"]), (&json!(126), &json!("0.00017841145")));
    // No value is published for these; two independent programs agree: 163.673 microinch by the
    // minimum zone, 175.37 by least squares. One is not the other.
    near(&line["value"], 0.000_163_673, 5.1e-10);
    near(&line["least_squares"]["width"], 0.000_175_37, 5.1e-9);
    assert_eq!(line["minimum_zone"]["certified"], true);
    // 4.157 µm.
    near(&line_of(&file, "flatness", &["--unit", "um"])["value"], 4.157, 5.1e-4);
}

#[test]
fn solids_of_known_width() {
    // Octahedron with squared width 4/3 (repository Hermann-SW/cgal4gp, README: output of a
    // program in exact arithmetic); its faces lean by cos = 1/√3, so along z it is 2.
    let file = format!("{FACE}\n1,0,0\n2,-1,0\n2,0,-1\n3,0,0\n2,1,0\n2,0,1\n").replace("um", "mm");
    assert_eq!(line_of(&file, "flatness", &[])["value"], "2");
    // Simplex of test_width_simplex.cpp (repository CGAL/cgal), 2/3 square to a face that leans by
    // cos = 2/3: along z it is 1. Four points, four touch.
    let file = format!("{FACE}\n2,0,0\n0,1,0\n0,0,1\n0,0,0\n").replace("um", "mm");
    assert_eq!(line_of(&file, "flatness", &[])["value"], "1");
}

#[test]
fn a_line_of_seven_stations_by_autocollimator() {
    // Lecture slides on straightness measurement, slides 12-15 (author not shown; coursehero.com
    // pgh1bs): base 100 mm, 0.5 µm per second of arc; seconds above two minutes, forward, backward.
    let forward = [8.0, 8.0, 11.0, 15.0, 8.0, 9.0, 14.0];
    let backward = [12.0, 12.0, 15.0, 19.0, 8.0, 11.0, 14.0];
    let means = forward.iter().zip(backward).map(|(one, other)| f64::midpoint(*one, other));
    let (mut file, mut height, mut x) = (String::from("x_mm,z_um\n"), 0.0, 0);
    for mean in means {
        height += 0.5 * (mean - 10.0);
        writeln!(file, "{x},{height}").unwrap();
        x += 100;
    }
    let line = line_of(&file, "straightness", &[]);
    // Published: 3 µm from the line through the ends. By an independent program: 3.0357 by least
    // squares, 3.0 by the minimum zone, which touches the stations 1, 3 and 5.
    assert_eq!((&line["end_points"], &line["value"]), (&json!("3"), &json!("3")));
    near(&line["least_squares"]["width"], 3.0357, 5.1e-4);
    assert_eq!(line["minimum_zone"]["contacts_upper"], json!([3]));
    assert_eq!(line["minimum_zone"]["contacts_lower"], json!([1, 5]));
}

#[test]
fn two_axes_by_laser() {
    // User manual of a laser measurement system, October 1987, "Straightness and Squareness
    // Considerations", pp. 21-3 to 21-7. Published: the least-squares slopes, 7.65 and -17.42 µm/m.
    // By an independent program: least squares, minimum zone and ends.
    let one = [-0.3, 0.9, 1.5, 2.5, 2.9, 3.6, 4.2, 5.1, 5.9, 7.2];
    let two = [-0.5, -1.2, -2.5, -3.8, -4.0, -4.8, -5.9, -6.2, -7.4, -8.8];
    for (pitch, heights, slope, [squares, zone, ends]) in
        [(100, one, 7.65, [0.7036, 0.65, 0.8667]), (50, two, -17.42, [1.0836, 0.9333, 1.2889])]
    {
        let (mut file, mut x) = (String::from("x_mm,z_um\n"), 0);
        for height in heights {
            writeln!(file, "{x},{height}").unwrap();
            x += pitch;
        }
        let line = line_of(&file, "straightness", &[]);
        near(&line["slope_urad"], slope, 0.0051);
        near(&line["least_squares"]["width"], squares, 5.1e-4);
        near(&line["value"], zone, 5.1e-4);
        near(&line["end_points"], ends, 5.1e-4);
    }
}

/// Roundness of a set of `circles.csv`, in millimetres.
fn circle(set: &str) -> Value {
    let mut file = String::from("x_mm,y_mm\n");
    for row in published("circles.csv").iter().filter(|row| row[0] == set) {
        writeln!(file, "{},{}", row[1], row[2]).unwrap();
    }
    line_of(&file, "roundness", &[])
}

#[track_caller]
fn centre_is(line: &Value, [x, y, radius]: [f64; 3], within: f64) {
    let found = &line["least_squares"]["coefficients"];
    for (place, expected) in [x, y, radius].into_iter().enumerate() {
        near(&found[place], expected, within);
    }
}

#[test]
fn six_points_by_gander_golub_and_strebel() {
    // W. Gander, G. H. Golub, R. Strebel, "Least-squares fitting of circles and ellipses", BIT 34
    // (1994) 558-578, as quoted in N. Chernov's test programs: the geometric fit.
    let line = circle("gander");
    centre_is(&line, [4.739_782, 2.983_533, 4.714_226], 5.1e-7);
    // The algebraic circle is another one: (4.742331, 3.835123), radius 4.108762. Often printed
    // for it, and wrong by a slip in a program: (4.921166, 3.835123), radius 4.123176.
    let y = line["least_squares"]["coefficients"][1].as_f64().unwrap();
    assert!((y - 3.835_123).abs() > 0.8);
    // No published value; an independent program finds 1.3536151 about (4.772727, 0.409091).
    near(&line["value"], 1.353_615_1, 5.1e-8);
    near(&line["circles"]["minimum_zone"]["x"], 4.772_727, 1.1e-6);
    near(&line["circles"]["minimum_zone"]["y"], 0.409_091, 1.1e-6);
}

#[test]
fn a_full_circle_and_an_arc_from_a_cookbook() {
    // SciPy Cookbook, "Least squares circle" (Least_Squares_Circle.ipynb): the geometric circle
    // 10.50009, 9.65995, radius 23.33353; of the arc between 9.88757 and 9.88760, 3.68750 and
    // 3.68753, radius 27.35040 to 27.35044. Widths by an independent program.
    let full = circle("full");
    centre_is(&full, [10.500_09, 9.659_95, 23.333_53], 5.1e-6);
    near(&full["circle"]["least_squares"], 3.126_464_9, 6e-7);
    near(&full["value"], 2.924_591_8, 6e-7);
    let arc = circle("arc");
    centre_is(&arc, [9.887_585, 3.687_515, 27.350_42], 2.6e-5);
    near(&arc["circle"]["least_squares"], 2.527_735, 6e-7);
    near(&arc["value"], 2.211_807_3, 6e-7);
    // The same page's algebraic circle of the arc, 15.05503, 8.83615, is five units away.
    let x = arc["least_squares"]["coefficients"][0].as_f64().unwrap();
    assert!((x - 15.055_03).abs() > 5.0);
}

#[test]
fn five_points_of_a_survey_are_not_the_circle_that_was_printed() {
    // Land-survey COGO manual, 2007, page "Best Fit Circle": prints 5242.678, 5073.785, radius
    // 10.977 as least squares; that is the algebraic circle. The geometric one by an independent
    // program: 5242.67866, 5073.78983, 10.97628.
    centre_is(&circle("survey"), [5_242.678_66, 5_073.789_83, 10.976_28], 5.1e-6);
}

#[test]
fn the_7_24_taper_has_its_angle() {
    // "7/24 tapers for tool shanks", ISO 297: 7 of diameter on 24 of length. The full angle is
    // published as 16.5942899 degrees (search listing, enow.com), so the half is 8.29714495.
    let file = "x_mm,z_mm\n0,69.85\n24,62.85\n48,55.85\n96,41.85\n";
    let line = line_of(file, "taper", &[]);
    near(&line["rate"], -7.0 / 24.0, 1e-14);
    near(&line["half_angle_deg"], -16.594_289_9 / 2.0, 5e-8);
    assert_eq!(line["value"], "28");
}

/// What comes on standard input is read as a file is, and a spreadsheet's semicolons, tabs and decimal commas are
/// taken as they are.
#[test]
fn points_come_from_another_program_with_the_marks_they_have() {
    let through = |text: &str, arguments: &[&str]| {
        let mut command = Command::new(env!("CARGO_BIN_EXE_tenths"));
        command.args(arguments).env_remove("TENTHS_CONFIG");
        command.stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::piped());
        let mut child = command.spawn().unwrap();
        child.stdin.take().unwrap().write_all(text.as_bytes()).unwrap();
        child.wait_with_output().unwrap()
    };
    let flatness = ["evaluate", "-", "--measures", "flatness", "--json"];
    let expected = line_of(SADDLE, "flatness", &[]);
    let sheet = SADDLE.replace(',', ";");
    for text in [
        SADDLE.to_owned(),
        sheet.clone(),
        sheet.replace('.', ","),
        format!("\u{feff}{}", sheet.replace('.', ",").replace('\n', "\r\n")),
        SADDLE.replace(',', "\t"),
    ] {
        let output = through(&text, &flatness);
        assert_eq!(output.status.code(), Some(0), "{text:?} {output:?}");
        let line: Value = serde_json::from_slice(&output.stdout).unwrap();
        assert_eq!(line, expected, "{text:?}");
    }
    for (text, why) in [
        ("", "standard input: line 1: the file is empty"),
        ("x_mm;y_mm;z_um\n0;0;1,5\n0;1;2.5\n", "standard input: line 3: z: \"2.5\" has a point"),
        ("x_mm;y_mm,z_um\n", "the names are parted by commas and by semicolons"),
    ] {
        let output = through(text, &flatness[..4]);
        let err = as_told(String::from_utf8(output.stderr).unwrap());
        assert_eq!(output.status.code(), Some(2), "{err}");
        assert!(err.contains(why) && err.contains("hint: "), "{err}");
    }
    let study = "hand;part;value_um\nA;1;0\nA;1;1,5\nB;1;1\nB;1;2\n";
    let output = through(study, &["study", "-", "--json"]);
    let line: Value = serde_json::from_slice(&output.stdout).unwrap();
    assert_eq!(
        (&line["n"], &line["unit"], &line["mean"]),
        (&json!(4), &json!("um"), &json!(1.125))
    );
}
