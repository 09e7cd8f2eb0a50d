//! From nothing to a first verdict: no file is edited.

use std::fs;
use std::os::unix::net::UnixStream;
use std::path::PathBuf;
use std::process::{Command, Stdio};
use std::time::Duration;

use rustix::process::Signal;

use crate::rig::{Bench, Gauge, Make, RING_PLAN};
use crate::watch::Terminal;

const GAUGE: &str = "unit = \"in\"\nresolution = \"0.00001 in\"";

/// A bench whose own configuration is out of the way: `new/bench.toml` is not there yet.
fn place() -> (Bench, PathBuf) {
    let bench = Bench::new(&Make { gauge: GAUGE, more: "", plan: RING_PLAN });
    let file = bench.path("new/bench.toml");
    (bench, file)
}

fn init(bench: &Bench, file: &PathBuf, more: &[&str]) -> Command {
    let mut command = bench.command(&["init"]);
    let state = bench.path("state");
    command.arg("--config").arg(file).arg("--state").arg(state).args(more);
    command
}

#[test]
fn a_first_ring_is_judged_after_five_commands_and_no_file_is_edited() {
    let (mut bench, file) = place();
    let said = ["--unit", "in", "--name", "grinding room", "--by-eye", "0.00002 in"];
    let output = init(&bench, &file, &said).output().unwrap();
    assert!(output.status.success(), "{output:?}");
    fs::copy(&file, bench.path("bench.toml")).unwrap();
    fs::copy(bench.path("new/plans/ring.toml"), bench.path("plans/ring.toml")).unwrap();
    fs::remove_file(bench.path("plans/held.toml")).unwrap();
    bench.launch();
    bench.until("it answers", || bench.status().is_some());
    bench.ok(&["job", "open", "TRY-1", "--plan", "ring"]);
    bench.ok(&["measure", "ring/face-a"]);
    bench.ok(&["enter", "0", "0", "0.00002", "0.00002", "0", "0", "0", "-0.00002", "0"]);
    let verdict = bench.verdict("TRY-1", 1);
    assert_eq!(verdict["value"].as_str(), Some("0.00004"));

    // What was said stands there, and nothing invented.
    let table: toml::Table = fs::read_to_string(&file).unwrap().parse().unwrap();
    assert_eq!(table["bench"]["name"].as_str(), Some("grinding room"));
    let gauge = table["gauge"][0].as_table().unwrap();
    let mut keys: Vec<&str> = gauge.keys().map(String::as_str).collect();
    keys.sort_unstable();
    assert_eq!(keys, ["kind", "name", "resolution", "unit"]);
}

#[test]
fn nothing_is_written_over_and_nothing_half() {
    let (bench, file) = place();
    let said = ["--unit", "mm", "--by-eye", "0.001"];
    assert!(init(&bench, &file, &said).output().unwrap().status.success());
    let before = fs::read(&file).unwrap();
    let again = init(&bench, &file, &said).output().unwrap();
    let told = String::from_utf8(again.stderr).unwrap();
    assert_eq!(again.status.code(), Some(2), "{told}");
    assert!(told.contains("is there already; nothing was written"), "{told}");
    assert_eq!(fs::read(&file).unwrap(), before);

    // Nobody is there to be asked: the option is named, and nothing is written.
    let other = bench.path("other/bench.toml");
    for (more, named) in [
        (&["--by-eye", "0.001"][..], "--unit"),
        (&["--unit", "mm"], "--port PORT, or --by-eye STEP"),
        (&["--unit", "mm", "--by-eye", "much"], "write it with its unit"),
        (&["--unit", "mm", "--by-eye", "0.001", "--gauge", "a/b"], "--gauge"),
        (&["--unit", "mm", "--port", "/dev/serial/by-id/none"], "is not there"),
    ] {
        let output = init(&bench, &other, more).output().unwrap();
        let told = String::from_utf8(output.stderr).unwrap();
        assert_eq!(output.status.code(), Some(2), "{told}");
        assert!(told.contains(named), "{more:?}: {told}");
        assert!(!bench.path("other").exists(), "{more:?}");
    }
}

#[test]
fn at_a_terminal_it_asks() {
    let (bench, file) = place();
    let command = init(&bench, &file, &[]);
    let mut screen = Terminal::with(command, &bench, (100, 30));
    screen.until(&["Inch or millimetre"]);
    screen.press("yards\n");
    screen.until(&["answer in or mm"]);
    screen.press("mm\n");
    screen.until(&["A name for this place? [bench]"]);
    screen.press("\n");
    screen.until(&["The port of the gauge?"]);
    screen.press("none\n");
    screen.until(&["What do you call the gauge? [plate]"]);
    screen.press("clock\n");
    screen.until(&["The smallest step that is read off it? [0.0005 mm]"]);
    screen.press("0.001\n");
    screen.until(&["is written", "tenths prove clock"]);
    screen.gives_back(0);
    let table: toml::Table = fs::read_to_string(&file).unwrap().parse().unwrap();
    assert_eq!(table["bench"]["unit"].as_str(), Some("mm"));
    assert_eq!(table["gauge"][0]["resolution"].as_str(), Some("0.001 mm"));
    let plan = fs::read_to_string(bench.path("new/plans/ring.toml")).unwrap();
    assert!(plan.contains("gauge = \"clock\"") && !plan.contains("\"plate\"\nsetup"), "{plan}");
}

/// Adds a gauge while it sends; the exit code and what was said.
fn added(bench: &Bench, gauge: &Gauge, frames: &[&[u8]], more: &[&str]) -> (i32, String) {
    let port = bench.path("other");
    let mut command = bench.command(&["gauge", "add", port.to_str().unwrap(), "--seconds", "3"]);
    let piped = command.args(more).stdout(Stdio::piped()).stderr(Stdio::piped());
    let child = piped.spawn().unwrap();
    std::thread::sleep(Duration::from_millis(400));
    for frame in frames {
        gauge.send_bytes(frame);
        std::thread::sleep(Duration::from_millis(400));
    }
    let output = child.wait_with_output().unwrap();
    let said = [output.stdout, output.stderr].concat();
    (output.status.code().unwrap(), String::from_utf8(said).unwrap())
}

#[test]
fn a_gauge_that_is_heard_is_added_below_what_stands_there() {
    let bench = Bench::new(&Make { gauge: GAUGE, more: "", plan: RING_PLAN });
    let gauge = Gauge::plugged(bench.path("other"));
    let file = bench.path("bench.toml");
    let commented = format!("# mine, \u{e9}\n{}# the end", fs::read_to_string(&file).unwrap());
    fs::write(&file, &commented).unwrap();
    let frames: [&[u8]; 4] = [b"+0.00012\r", b"-0.00003\r", b" 0.00000\r", b"+0.00001\r"];

    let (exit, said) = added(&bench, &gauge, &frames, &["--gauge", "bore"]);
    assert_eq!(exit, 2, "{said}");
    assert!(said.contains("--gauge-unit in or --gauge-unit mm"), "{said}");
    assert_eq!(fs::read_to_string(&file).unwrap(), commented);

    // The name of another gauge: refused, and the file is as it was.
    let (exit, said) = added(&bench, &gauge, &frames, &["--gauge", "plate", "--gauge-unit", "in"]);
    assert_eq!(exit, 2, "{said}");
    assert!(said.contains("is left as it was"), "{said}");
    assert_eq!(fs::read_to_string(&file).unwrap(), commented);

    let (exit, said) = added(&bench, &gauge, &frames, &["--gauge", "bore", "--gauge-unit", "mm"]);
    assert_eq!(exit, 0, "{said}");
    assert!(said.contains("Not proven"), "{said}");
    let text = fs::read_to_string(&file).unwrap();
    assert!(text.starts_with(&commented), "{text}");
    bench.ok(&["config", "check"]);
    let table: toml::Table = text.parse().unwrap();
    assert_eq!(table["gauge"][1]["name"].as_str(), Some("bore"));
    assert_eq!(table["gauge"][1]["unit"].as_str(), Some("mm"));
    let left = fs::read_dir(bench.path("")).unwrap().flatten();
    assert!(left.into_iter().all(|one| !one.file_name().to_string_lossy().starts_with(".bench-")));
}

#[test]
fn plans_are_listed_shown_and_written() {
    let bench = Bench::new(&Make { gauge: GAUGE, more: "", plan: RING_PLAN });
    fs::write(bench.path("plans/bad.toml"), "name = 3\n").unwrap();
    let said = [
        "plan",
        "new",
        "spacer",
        "--radius",
        "1.5",
        "--check",
        "ring/face-a=parallelism:0.0001",
        "--check",
        "ring/face-b=flatness:0.0001",
        "--check",
        "ring/length=length:0.999..1.001",
        "--check",
        "shaft/pilot=runout:0.0002 in",
        "--check",
        "nut/torque=entry",
    ];
    let told = bench.ok(&said);
    assert!(told.contains("job open NAME --plan spacer"), "{told}");
    bench.ok(&["plan", "new", "copy", "--like", "ring"]);

    let told = bench.refused(2, &said);
    assert!(told.contains("is there already; nothing was written"), "{told}");
    for (check, named) in [
        ("ring/face-a=parallelism", "has no limit"),
        ("ring=parallelism:0.0001", "PART/CHECK=MEASURES:LIMIT"),
        ("ring/a=levelness:0.0001", "cannot be asked for here: one of length, "),
        ("ring/a=length:0.0001", "a size has min..max"),
        ("ring/a=parallelism:0,0001", "0,0001"),
    ] {
        let told = bench.refused(2, &["plan", "new", "other", "--radius", "1", "--check", check]);
        assert!(told.contains(named), "{check}: {told}");
        assert!(!bench.path("plans/other.toml").exists());
    }

    let lines = bench.lines(&["plan", "list"]);
    let names: Vec<&str> = lines.iter().map(|line| line["plan"].as_str().unwrap()).collect();
    assert_eq!(names, ["bad", "copy", "held", "spacer"]);
    lines.iter().for_each(crate::schemas::hold);
    assert!(lines[0]["error"].is_string() && lines[3]["checks"].as_array().unwrap().len() == 5);
    assert_eq!(lines[3]["checks"][2]["limits_text"], "0.999 to 1.001");

    let shown = bench.ok(&["plan", "show", "spacer"]);
    for part in
        ["ring/face-a", "parallelism", "0.0001", "plate", "counter-clockwise", "shaft/pilot"]
    {
        assert!(shown.contains(part), "{part}: {shown}");
    }
    let told = bench.refused(2, &["plan", "show", "spacers"]);
    assert!(told.contains("there are: copy, held, spacer"), "{told}");
    let told = bench.refused(2, &["plan", "show", "bad"]);
    assert!(told.contains("has an error"), "{told}");
}

#[test]
fn what_stands_in_the_way_is_named_with_its_remedy() {
    let more = "[[gauge]]\nname = \"old\"\nkind = \"dial\"\nunit = \"in\"\nresolution = \"0.0001 in\"\n\
                calibration_due = 2020-01-31\n[[drop]]\nname = \"logger\"\nfolder = \"{dir}/drop\"\n\
                gauge = \"old\"\ntags = \"active\"\ncolumns = { value = \"Value\" }\n[sound]\nplayer = \"no-such-player -q\"\n";
    let mut bench = Bench::new(&Make { gauge: GAUGE, more, plan: RING_PLAN });
    let looked = |bench: &Bench, exit: i32| {
        let output = bench.run(&["doctor", "--json"]);
        assert_eq!(output.status.code(), Some(exit), "{output:?}");
        let text = String::from_utf8(output.stdout).unwrap();
        let lines: Vec<serde_json::Value> =
            text.lines().map(|line| serde_json::from_str(line).unwrap()).collect();
        lines.iter().for_each(crate::schemas::hold);
        lines
    };
    let found = |lines: &[serde_json::Value], about: &str, text: &str| {
        let of = |line: &&serde_json::Value| {
            line["about"] == about && line["text"].as_str().unwrap().contains(text)
        };
        let line = lines.iter().find(of).unwrap_or_else(|| panic!("{about} {text}: {lines:#?}"));
        let remedy = line["remedy"].as_str().unwrap_or("").to_owned();
        (line["found"].as_str().unwrap().to_owned(), remedy)
    };
    let lines = looked(&bench, 1);
    let (how, remedy) = found(&lines, "service", "does not run");
    assert_eq!((how.as_str(), remedy.as_str()), ("wrong", "start it with: tenths serve"));
    assert_eq!(found(&lines, "configuration", "TENTHS_CONFIG").0, "well");
    assert_eq!(found(&lines, "calibration", "old is ").0, "wrong");
    assert_eq!(found(&lines, "sound", "no-such-player is not found").0, "look");
    assert_eq!(found(&lines, "port", "is in use by").0, "wrong", "the test holds it, too");
    assert_eq!(found(&lines, "folder", "logger").0, "well");

    // Everything that can be mended here is mended.
    bench.start();
    bench.plate.unplug();
    fs::remove_dir(bench.path("drop")).unwrap();
    let lines = looked(&bench, 1);
    assert_ne!(found(&lines, "service", "it runs as").0, "wrong");
    assert_eq!(found(&lines, "port", "is not there").0, "wrong");
    assert_eq!(found(&lines, "folder", "cannot be read").0, "wrong");
    let said = bench.run(&["doctor"]);
    let said = String::from_utf8(said.stdout).unwrap();
    assert!(said.contains("WRONG port") && said.contains("3 things stand in the way."), "{said}");

    // Nobody needs a configuration to be told that there is none.
    let mut nowhere = Command::new(env!("CARGO_BIN_EXE_tenths"));
    nowhere.arg("doctor").env("HOME", bench.path("home")).env_remove("TENTHS_CONFIG");
    let output =
        nowhere.env_remove("XDG_CONFIG_HOME").current_dir(bench.path("")).output().unwrap();
    let said = String::from_utf8(output.stdout).unwrap();
    assert!(said.contains("write one with: tenths init"), "{said}");
}

#[test]
fn a_newcomer_measures_slips_takes_back_and_sees_it_out_and_ground() {
    let bench = Bench::new(&Make { gauge: GAUGE, more: "", plan: RING_PLAN });
    let command = bench.command(&["practice", "--mute"]);
    // On a larger screen the count is drawn, not written.
    let mut screen = Terminal::with(command, &bench, (80, 24));
    screen.until(&["A pretend ring lies on a pretend plate", "Enter begins."]);
    screen.press("\n");
    screen.until(&["PRACTICE", "0/8"]);
    let pressed = |shows: &str| {
        screen.press(" ");
        screen.until(&[shows]);
        // A held key repeats and is no second touch.
        std::thread::sleep(Duration::from_millis(1200));
    };
    let touch = |upto: u32| pressed(&format!("{upto}/8"));
    (1..=4).for_each(touch);
    screen.until(&["ut so far"]);
    screen.press("v");
    screen.until(&["3/8"]);
    (4..=8).for_each(touch);
    pressed("OUT and mostly tilt");
    screen.press(" ");
    std::thread::sleep(Duration::from_millis(1200));
    pressed("It is in the metal");
    screen.press("q");
    screen.until(&["Enter: it was ground, measure again."]);
    // Any word is not an answer.
    screen.press("perhaps\n");
    screen.until(&["press Enter to go on, or answer n"]);
    screen.press("\n");
    screen.until(&["PRACTICE  ring/face-a, attempt 2", "0/8"]);
    (1..=8).for_each(touch);
    pressed("0.00004 in, limit 0.0001");
    screen.press("q");
    screen.until(&["That is all of it", "tenths init"]);
    screen.gives_back(0);
}

#[test]
fn a_newcomer_who_leaves_the_screen_early_is_not_told_that_it_was_ground() {
    let bench = Bench::new(&Make { gauge: GAUGE, more: "", plan: RING_PLAN });
    let command = bench.command(&["practice", "--mute"]);
    let mut screen = Terminal::with(command, &bench, (80, 24));
    screen.until(&["Enter begins."]);
    screen.press("\n");
    screen.until(&["PRACTICE", "0/8"]);
    screen.press(" ");
    screen.until(&["1/8"]);
    screen.press("q");
    screen.until(&["The round is not done", "back to the screen"]);
    screen.press("\n");
    screen.until(&["PRACTICE", "1/8"]);
    screen.press("q");
    screen.until(&["The round is not done"]);
    screen.press("n\n");
    screen.gives_back(0);
    assert!(!screen.text().contains("it was ground"), "{}", screen.text());
}

/// A service that nobody ends would go on opening its port, under whose number the next terminal comes.
#[test]
fn whichever_way_practising_ends_its_service_ends_too() {
    let bench = Bench::new(&Make { gauge: GAUGE, more: "", plan: RING_PLAN });
    let folder = bench.path("tmp");
    fs::create_dir(&folder).unwrap();
    let mut command = bench.command(&["practice", "--mute"]);
    command.env("TMPDIR", &folder);
    let screen = Terminal::with(command, &bench, (80, 24));
    screen.until(&["Enter begins."]);
    let room = fs::read_dir(&folder).unwrap().next().unwrap().unwrap().path();
    let answers = || UnixStream::connect(room.join("state/tenths.sock")).is_ok();
    assert!(answers(), "the service runs");
    screen.signal(Signal::KILL);
    bench.until("the service has ended", || !answers());
}

#[test]
fn a_signal_at_a_question_of_practising_leaves_no_folder() {
    let bench = Bench::new(&Make { gauge: GAUGE, more: "", plan: RING_PLAN });
    let folder = bench.path("tmp");
    fs::create_dir(&folder).unwrap();
    for signal in [Signal::INT, Signal::TERM, Signal::HUP] {
        let mut command = bench.command(&["practice", "--mute"]);
        command.env("TMPDIR", &folder);
        let mut screen = Terminal::with(command, &bench, (80, 24));
        screen.until(&["Enter begins."]);
        assert_eq!(fs::read_dir(&folder).unwrap().count(), 1);
        screen.signal(signal);
        screen.gives_back(130);
        assert_eq!(fs::read_dir(&folder).unwrap().count(), 0, "{signal:?}");
    }
}
