use std::fs;

use tempfile::TempDir;

use super::*;
use crate::{Complete, Parity, PortName, Tags};
use ::gauge::Sign;
use bench::setup::GaugeKind;
use quantity::Length;

mod devices;

const GOOD: &str = r#"[bench]
unit = "in"
state = "state"
[[gauge]]
name = "plate"
kind = "indicator"
port = "/dev/serial/by-id/one"
profile = "signed-decimal"
unit = "in"
resolution = "0.00001 in"
"#;

/// A bench in a folder of its own.
struct Shop(TempDir);

impl Shop {
    fn new(bench: &str) -> Self {
        let shop = Self(tempfile::tempdir().unwrap());
        shop.write("bench.toml", bench);
        shop
    }

    fn write(&self, name: &str, text: &str) {
        let path = self.path(name);
        fs::create_dir_all(path.parent().unwrap()).unwrap();
        fs::write(path, text).unwrap();
    }

    fn path(&self, name: &str) -> PathBuf {
        self.0.path().join(name)
    }

    fn load(&self) -> Checked {
        let around = Surroundings {
            by_id: self.path("by-id"),
            input_by_id: self.path("input"),
            ..Surroundings::default()
        };
        load_in(&self.path("bench.toml"), &around)
    }

    /// The findings, without the path of the shop's folder.
    fn told(&self) -> Vec<String> {
        let folder = format!("{}/", self.0.path().display());
        self.load().findings.iter().map(|f| f.to_string().replace(&folder, "")).collect()
    }

    fn loaded(&self) -> Loaded {
        let checked = self.load();
        checked.loaded.unwrap_or_else(|| panic!("{:#?}", checked.findings))
    }
}

/// Checks that a bench gives exactly these findings; each is given by its beginning.
fn check(bench: &str, wanted: &[&str]) {
    begin(&Shop::new(bench).told(), wanted);
}

fn begin(told: &[String], wanted: &[&str]) {
    assert_eq!(told.len(), wanted.len(), "{told:#?}");
    for (told, wanted) in told.iter().zip(wanted) {
        assert!(told.starts_with(wanted), "\n{told}\n{wanted}");
    }
}

/// Checks that `GOOD` followed by these lines gives exactly one finding with these words.
fn one(lines: &str, words: &str) {
    let told = Shop::new(&format!("{GOOD}{lines}")).told();
    assert!(told.len() == 1 && told[0].contains(words), "{lines}\n{words}\n{told:#?}");
}

#[test]
fn a_small_bench_has_the_usual_settings() {
    let shop = Shop::new(GOOD);
    assert_eq!(shop.told(), [""; 0]);
    let loaded = shop.loaded();
    assert_eq!(loaded.state, shop.path("state"));
    assert!(!loaded.state.exists(), "reading makes nothing");
    assert_eq!((loaded.bench.unit, loaded.bench.rule), (Unit::Inch, Rule::Guarded));
    let station = &loaded.bench.stations[0];
    assert_eq!((station.name.as_str(), station.gauges.len()), ("bench", 1));
    let [port] = loaded.ports.as_slice() else { panic!("one port") };
    assert_eq!(port.name, PortName::Serial("/dev/serial/by-id/one".into()));
    assert_eq!((port.baud, port.data_bits), (9600, 8));
    assert_eq!((port.parity, port.stop_bits), (Parity::None, 1));
    let [gauge] = port.line.gauges.as_slice() else { panic!("one gauge") };
    assert_eq!((gauge.repeat_us, gauge.max_rate, gauge.sign), (300_000, 5, Sign::Plus));
    assert_eq!(gauge.resolution.places, 5);
}

const FULL: &str = r#"[bench]
name = "grinding room"
unit = "mm"
state = "/tmp/x"
rule = "simple"
[[gauge]]
name = "a"
kind = "indicator"
port = "ports/one"
profile = "channel-value"
baud = 19200
data_bits = 7
parity = "even"
stop_bits = 2
channel = 1
unit = "mm"
resolution = 0.001
uncertainty = "0.5 um"
repeatability = "0.4 um"
sign = "-"
travel = [-1, "1.5 mm"]
lever_angle = 10
serial = "S1"
calibration_due = 2027-03-01
capture = "send"
repeat_ms = 0
max_rate = 0
[[gauge]]
name = "b"
kind = "dial"
resolution = "0.0001 in"
[[drop]]
name = "logger"
folder = "."
gauge = "b"
tags = "name"
columns = { value = "Wert", unit = "Einheit" }
delimiter = ";"
decimal = ","
skip_lines = 2
time_zone = "UTC"
complete = "quiet"
quiet_ms = 500
[[station]]
name = "bench-1"
gauges = ["a"]
[[station]]
name = "bench-2"
gauges = ["b"]
"#;

#[test]
fn every_key_of_a_gauge_reaches_the_bench() {
    let shop = Shop::new(FULL);
    assert_eq!(shop.told(), [""; 0]);
    let loaded = shop.loaded();
    let gauge = &loaded.bench.gauges["a"];
    assert_eq!((gauge.kind, gauge.unit), (GaugeKind::Indicator, Some(Unit::Millimetre)));
    let um = |count: i64| Length::from_picometres(count * 100_000);
    assert_eq!((gauge.uncertainty, gauge.repeatability), (Some(um(5)), Some(um(4))));
    assert_eq!(gauge.travel, Some((um(-10_000), um(15_000))));
    assert_eq!(gauge.serial.as_deref(), Some("S1"));
    // It is valid until the end of its day.
    assert_eq!(gauge.calibration_due.unwrap().to_string(), "2027-03-02T00:00:00.000Z");
    assert_eq!(loaded.bench.gauges["b"].unit, Some(Unit::Inch), "a dial's graduations");
    assert_eq!(loaded.bench.rule, Rule::Simple);
    assert_eq!(loaded.bench.station_of(&Name::new("b").unwrap()).unwrap().as_str(), "bench-2");
}

#[test]
fn every_key_of_ports_and_drops_reaches_the_bench() {
    let shop = Shop::new(FULL);
    let loaded = shop.loaded();
    let port = &loaded.ports[0];
    assert_eq!(port.name, PortName::Serial(shop.path("ports/one")));
    assert_eq!((port.baud, port.data_bits, port.stop_bits), (19200, 7, 2));
    assert_eq!(port.parity, Parity::Even);
    let on_line = &port.line.gauges[0];
    assert_eq!((on_line.channel.as_deref(), on_line.sign), (Some("1"), Sign::Minus));
    assert_eq!((on_line.repeat_us, on_line.max_rate), (0, 0));
    let logger = &loaded.drops[0];
    assert_eq!((logger.tags, logger.complete), (Tags::Name, Complete::Quiet));
    assert_eq!(logger.quiet_us, 500_000);
    assert_eq!((logger.format.delimiter, logger.format.decimal), (b';', b','));
    assert_eq!((logger.format.skip_lines, logger.format.unit), (2, Some(Unit::Inch)));
    assert_eq!(logger.format.columns.value, "Wert");
}

#[test]
fn every_mistake_of_all_files_is_told_at_once() {
    let shop = Shop::new(
        r#"[bench]
nmae = "x"
unit = "um"
state = "state"
[[gauge]]
name = "plate"
kind = "indicator"
port = "/dev/serial/by-id/one"
profile = "mine"
unit = "in"
[[gauge]]
name = "plate"
kind = "dail"
resolution = 0
capture = "settle"
lever_angle = 31
[[drop]]
name = "d"
folder = "."
gauge = "hieght"
tags = "columns"
columns = { vlaue = "V" }
[[station]]
name = "s"
gauges = ["plate", "plate"]
pedal = 3
[gague]
"#,
    );
    shop.write("profiles/mine.toml", "frames = \"line\"\nvalue = \"decimal\"\n");
    shop.write("plans/p.toml", "name = \"p\"\nunit = \"in\"\n[[part]]\nname = \"r\"\n");
    shop.write("plans/q.toml", "name = \n");
    let told = shop.told();
    begin(
        &told,
        &[
            "bench.toml:2: error: unknown key \"bench.nmae\" — did you mean \"name\"?",
            "bench.toml:3: error: \"bench.unit\" is \"um\"",
            "bench.toml:5: error: \"gauge.resolution\" is missing",
            "bench.toml:12: error: two gauges are named \"plate\", the first on line 6",
            "bench.toml:13: error: \"gauge.kind\" is \"dail\"",
            "bench.toml:14: error: \"gauge.resolution\"",
            "bench.toml:15: error: only a gauge on a port sends a stream or can be asked",
            "bench.toml:16: error: at a lever_angle of 31 degrees",
            "bench.toml:20: error: there is no gauge \"hieght\"",
            "bench.toml:22: error: \"drop.columns.value\" is missing",
            "bench.toml:22: error: tags = \"columns\" needs a column for the job",
            "bench.toml:22: error: tags = \"columns\" needs a column for the part",
            "bench.toml:22: error: tags = \"columns\" needs a column for the check",
            "bench.toml:22: error: unknown key \"drop.columns.vlaue\" — did you mean \"value\"?",
            "bench.toml:25: error: gauge \"plate\" already belongs to station \"s\"",
            "bench.toml:26: error: \"station.pedal\" should be a text in quotes",
            "bench.toml:27: error: unknown key \"gague\" — did you mean \"gauge\"?",
            "profiles/mine.toml:1: error: \"pattern\" is missing",
            "plans/p.toml:3: error: \"part.check\" is missing",
            "plans/q.toml:1: error:",
        ],
    );
    assert!(shop.load().loaded.is_none());
}

#[test]
fn gauges_that_share_a_port_are_told_apart_by_their_channel() {
    let two = |first: &str, second: &str| {
        let gauge = |name, more| {
            format!(
                "[[gauge]]\nname = \"{name}\"\nkind = \"indicator\"\nport = \"/dev/serial/by-id/one\"\n\
                 profile = \"channel-value\"\nunit = \"mm\"\nresolution = \"0.001 mm\"\n{more}\n"
            )
        };
        let (first, second) = (gauge("a", first), gauge("b", second));
        format!("[bench]\nunit = \"mm\"\nstate = \"s\"\n{first}{second}")
    };
    let shop = Shop::new(&two("channel = \"1\"", "channel = \"2\""));
    assert_eq!(shop.told(), [""; 0]);
    let ports = shop.loaded().ports;
    assert_eq!((ports.len(), ports[0].gauges.len(), ports[0].line.gauges.len()), (1, 2, 2));
    assert!(ports[0].is_same(&shop.loaded().ports[0]));
    let faster = Shop::new(&two("channel = \"1\"\nbaud = 4800", "channel = \"2\"\nbaud = 4800"));
    assert!(!ports[0].is_same(&faster.loaded().ports[0]));

    check(&two("", "channel = 2"), &["bench.toml:7: error: gauge \"a\" shares"]);
    check(
        &two("channel = 1", "channel = 1"),
        &["bench.toml:15: error: two gauges on /dev/serial/by-id/one have channel \"1\""],
    );
    check(
        &two("channel = 1", "channel = 2\nbaud = 300"),
        &["bench.toml:15: error: gauges \"a\" and \"b\" share a port but differ in its settings"],
    );
    let other = two("channel = 1", "channel = 2").replacen("channel-value", "signed-decimal", 1);
    check(
        &other,
        &[
            "bench.toml:8: error: gauge \"a\" has a channel, and profile \"signed-decimal\"",
            "bench.toml:15: error: gauges \"a\" and \"b\" share a port but differ in its profile",
        ],
    );
}

#[test]
fn a_gauge_must_suit_its_profile() {
    let gauge = |profile: &str, more: &str| {
        format!(
            "[bench]\nunit = \"in\"\nstate = \"s\"\n[[gauge]]\nname = \"g\"\nkind = \"indicator\"\n\
             port = \"p\"\nresolution = \"0.00001 in\"\nprofile = \"{profile}\"\n{more}\n"
        )
    };
    check(&gauge("counts", ""), &["bench.toml:9: error: profile \"counts\" gives counts"]);
    check(&gauge("counts", "scale = \"0.00001 in\""), &[]);
    check(
        &gauge("counts", "scale = \"0.00001 in\"\nunit = \"mm\""),
        &[
            "bench.toml:8: warning: unit is \"mm\", but the resolution is written in in",
            "bench.toml:9: error: gauge \"g\" is in mm, its scale in in",
        ],
    );
    check(
        &gauge("signed-decimal", "unit = \"in\"\nscale = 1"),
        &["bench.toml:9: warning: the scale of gauge \"g\" is not used"],
    );
    check(
        &gauge("signed-decimal", ""),
        &["bench.toml:9: warning: frames of profile \"signed-decimal\" do not say their unit"],
    );
    let shop = Shop::new(&gauge("signed-decimal", ""));
    assert_eq!(shop.loaded().bench.gauges["g"].unit, Some(Unit::Inch));
    check(
        &gauge("none", ""),
        &["bench.toml:9: error: there is no profile \"none\" — known here: channel-value, counts"],
    );
    check(&gauge("../x", ""), &["bench.toml:9: error: there is no profile \"../x\""]);
}

#[test]
fn a_port_that_may_move_is_a_warning_that_names_the_stable_one() {
    let unstable = GOOD.replace("/dev/serial/by-id/one", "/dev/ttyUSB93");
    let text = "bench.toml:7: warning: /dev/ttyUSB93 may be another gauge after the next start";
    check(&unstable, &[text]);
    assert!(Shop::new(&unstable).load().loaded.is_some());
}

#[test]
fn small_mistakes_are_told_with_what_to_do() {
    let gauge = "[[gauge]]\nname = \"h\"\nresolution = \"0.0001 in\"\n";
    let dial = format!("{gauge}kind = \"dial\"\n");
    let station = "[[station]]\nname = \"s\"\ngauges = [\"plate\"]\n";
    let drop = "[[drop]]\nname = \"d\"\nfolder = \".\"\ngauge = \"plate\"\ntags = \"active\"\n";
    let value = "columns = { value = \"V\" }\n";
    let with = |head: &str, rest: &str| format!("{head}{rest}");
    let cases = [
        ("sign = \"x\"\n".to_owned(), "\"gauge.sign\" is \"x\" — write \"+\" or \"-\""),
        ("travel = [1]\n".to_owned(), "travel is not two readings"),
        ("travel = [\"1 in\", \"0 in\"]\n".to_owned(), "travel ends before it begins"),
        ("uncertainty = -1\n".to_owned(), "uncertainty is -1 in"),
        ("lever_angle = 16\n".to_owned(), "reads high by up to 4.0 %"),
        ("lever_angle = -1\n".to_owned(), "lever_angle is -1 degrees"),
        ("calibration_due = \"soon\"\n".to_owned(), "should be a day such as 2027-03-01"),
        ("baud = 1\n".to_owned(), "a whole number from 50 to 4000000"),
        (with(gauge, "kind = \"height\"\n"), "gauge \"h\" has no port and no drop"),
        (
            with(&dial, "port = \"p\"\nprofile = \"counts\"\nscale = 1\nunit = \"in\"\n"),
            "a dial is read by eye",
        ),
        (with(&dial, station), "gauge \"h\" belongs to no station"),
        (with(station, "[[station]]\nname = \"t\"\ngauges = [\"plate\"]\n"), "already belongs"),
        (with(station, "[[station]]\nname = \"s\"\ngauges = []\n"), "two stations are named"),
        (
            station.replace("[\"plate\"", "[\"plate\", \"plaet\""),
            "there is no gauge \"plaet\" — did you mean \"plate\"?",
        ),
        (
            with(station, "scanner = \"/dev/x\"\npedal = \"cts:/dev/x\"\n"),
            "/dev/x cannot be the scanner of station \"s\": it is the pedal of station \"s\" already",
        ),
        (
            with(station, "pedal = \"/dev/input/event3\"\n"),
            "/dev/input/event3 may be another device after the next start",
        ),
        (drop.to_owned(), "\"drop.columns\" is missing"),
        (with(drop, "columns = { value = \"V\", unit = \"V\" }\n"), "value and unit are the same"),
        (with(drop, &with(value, "decimal = \",\"\n")), "delimiter and decimal are the same"),
        (with(drop, &with(value, "delimiter = \"x\"\n")), "\"drop.delimiter\" is \"x\""),
        (with(drop, &with(value, "time_zone = \"Mars/Base\"\n")), "\"Mars/Base\" is no time zone"),
        (with(drop, &with(value, "skip_lines = -1\n")), "a whole number from 0 to 1000"),
        (with(&drop.replace("\".\"", "\"gone\""), value), "is not there — make it"),
    ];
    for (lines, words) in cases {
        one(&lines, words);
    }
}

#[test]
fn two_drops_in_one_folder_would_take_a_file_twice() {
    let drop = |name: &str| {
        format!(
            "[[drop]]\nname = \"{name}\"\nfolder = \".\"\ngauge = \"plate\"\ntags = \"active\"\n\
             columns = {{ value = \"V\" }}\n"
        )
    };
    one(&format!("{}{}", drop("a"), drop("b")), "the folder belongs to another drop, on line 13");
}

#[test]
fn the_state_folder_must_leave_room_for_the_socket() {
    let deep = GOOD.replace("\"state\"", &format!("\"/{}\"", "x".repeat(96)));
    check(&deep, &["bench.toml:3: error: the state folder /xxx"]);
    let fits = GOOD.replace("\"state\"", &format!("\"/{}\"", "x".repeat(94)));
    check(&fits, &[]);
    let none = GOOD.replace("state = \"state\"\n", "");
    check(&none, &["bench.toml:1: error: it is not known where to keep the record"]);
}

#[test]
fn a_plan_is_held_against_the_gauges() {
    let plan = |gauge: &str, tolerance: &str| {
        format!(
            "name = \"p\"\nunit = \"in\"\n[[part]]\nname = \"r\"\n[[part.check]]\nname = \"c\"\n\
             measures = \"parallelism\"\ngauge = \"{gauge}\"\nsetup = \"plate\"\npositions = 8\n\
             radius = 1.5\ntolerance = {tolerance}\n"
        )
    };
    let told = |bench: &str, plan: &str| {
        let shop = Shop::new(bench);
        shop.write("plans/p.toml", plan);
        shop.told()
    };
    begin(
        &told(GOOD, &plan("palte", "0.0001")),
        &["plans/p.toml:8: error: there is no gauge \"palte\" on this bench"],
    );
    // A step of exactly a quarter is fine. Without a stated scatter nothing is said about the return.
    begin(&told(GOOD, &plan("plate", "0.00004")), &[]);
    begin(
        &told(GOOD, &plan("plate", "0.000039")),
        &["plans/p.toml:12: warning: gauge-too-coarse: a step of gauge \"plate\", 0.00001 in"],
    );
    // 3·√2·u ≤ T/2 with u = 0.0000084: T ≥ 0.0000712764 in.
    let stated = format!("{GOOD}uncertainty = \"0.0000084 in\"\n");
    begin(&told(&stated, &plan("plate", "0.0000713")), &[]);
    begin(
        &told(&stated, &plan("plate", "0.0000712")),
        &["plans/p.toml:12: warning: gauge \"plate\" cannot check its own return here"],
    );
    begin(&told(&stated, &format!("{}closure = false\n", plan("plate", "0.0000712"))), &[]);
}

#[test]
fn a_file_that_is_not_there_is_a_finding() {
    let folder = tempfile::tempdir().unwrap();
    let checked = load(&folder.path().join("bench.toml"));
    assert!(checked.loaded.is_none() && checked.findings.len() == 1);
    assert!(checked.findings[0].text.starts_with("cannot be read"), "{}", checked.findings[0]);
    let named = GOOD.replace("state = \"state\"", "state = \"state\"\nplans = \"plnas\"");
    check(&named, &["bench.toml:4: error: the folder plnas is not there"]);
}

#[test]
fn profiles_nobody_named_are_checked_too_when_all_is_checked() {
    let shop = Shop::new(GOOD);
    shop.write("profiles/spare.toml", "frames = \"lnie\"\n");
    assert!(shop.load().findings.is_empty());
    let all = check_all(shop.0.path());
    assert!(all.iter().any(|finding| finding.file.ends_with("profiles/spare.toml")), "{all:?}");
}

#[test]
fn what_we_ship_has_nothing_to_mend() {
    let config = Path::new(concat!(env!("CARGO_MANIFEST_DIR"), "/../..")).join("config");
    let told: Vec<_> = check_all(&config).iter().map(ToString::to_string).collect();
    assert_eq!(told, [""; 0]);
    let home = Some(PathBuf::from("/home/ada"));
    let around = Surroundings { home, ..Surroundings::default() };
    let loaded = load_in(&config.join("bench.toml"), &around).loaded.unwrap();
    assert_eq!(loaded.state, Path::new("/home/ada/.local/state/tenths"));
    assert_eq!((loaded.ports.len(), loaded.drops.len()), (1, 2));
    let plan = &loaded.bench.plans["wheelhead"].plan;
    assert_eq!((plan.parts.len(), plan.places().count()), (4, 9));
}

/// The lines of a file, each one once left out and once spoiled in a few ways.
fn spoiled(text: &str) -> Vec<String> {
    let lines: Vec<&str> = text.lines().collect();
    let mut files = Vec::new();
    let remark = |line: &str| line.trim().is_empty() || line.starts_with('#');
    for (index, line) in lines.iter().enumerate().filter(|(_, line)| !remark(line)) {
        let key = line.split('=').next().unwrap_or_default();
        let values = ["true", "\"\"", "-1", "[]", "{}", "\"\\u001b[31m\"", "99999999999999999999"];
        let others = values.iter().map(|value| format!("{key}= {value}"));
        for other in others.chain([String::new(), "[[".to_owned()]) {
            let mut file: Vec<String> = lines.iter().map(|&line| line.to_owned()).collect();
            file[index] = other;
            files.push(file.join("\n"));
        }
    }
    files
}

#[test]
fn a_bench_is_loaded_or_it_is_told_why_not() {
    let shop = Shop::new("");
    let small = "frames = \"line\"\nvalue = \"decimal\"\n\
                 pattern = '(?<channel>[0-9]):(?<whole>[0-9])[.](?<fraction>[0-9])'\n";
    shop.write("profiles/small.toml", small);
    for bench in spoiled(&FULL.replace("channel-value", "small")) {
        shop.write("bench.toml", &bench);
        let checked = shop.load();
        let plans = |finding: &&Finding| finding.file.contains("plans/");
        let keeps = |finding: &&Finding| finding.is_error() && !plans(finding);
        let errors = checked.findings.iter().filter(keeps).count();
        assert_eq!(checked.loaded.is_some(), errors == 0, "{bench}\n{:#?}", checked.findings);
        let steers = |finding: &Finding| finding.to_string().chars().any(char::is_control);
        assert!(!checked.findings.iter().any(steers), "{:#?}", checked.findings);
    }
}

#[test]
fn a_plan_is_read_or_it_is_told_why_not() {
    let shipped = [
        include_str!("../../../config/plans/wheelhead.toml"),
        include_str!("../../../config/plans/rebuild.toml"),
    ];
    for text in shipped.into_iter().flat_map(spoiled) {
        let read = plan::read(&text, "p.toml");
        let errors = read.findings.iter().filter(|finding| finding.is_error()).count();
        assert_eq!(read.plan.is_some(), errors == 0, "{text}\n{:#?}", read.findings);
        // The places named by findings about gauges are those of the check.
        if let Some(plan) = read.plan {
            let checks: Vec<_> = plan.parts.iter().map(|part| part.checks.len()).collect();
            let lines: Vec<_> = read.lines.iter().map(Vec::len).collect();
            assert_eq!(checks, lines);
        }
    }
}

#[test]
fn two_names_of_one_device_are_one_port() {
    let second = "[[gauge]]\nname = \"b\"\nkind = \"height\"\nport = \"link\"\n\
                  profile = \"signed-decimal\"\nunit = \"in\"\nresolution = \"0.00001 in\"\n";
    let first = GOOD.replace("/dev/serial/by-id/one", "device");
    let shop = Shop::new(&format!("{first}{second}"));
    shop.write("device", "");
    assert_eq!(shop.loaded().ports.len(), 2);
    std::os::unix::fs::symlink("device", shop.path("link")).unwrap();
    let told = shop.told();
    begin(
        &told,
        &[
            "bench.toml:7: error: gauge \"plate\" shares device and has no channel",
            "bench.toml:14: error: gauge \"b\" shares link and has no channel",
        ],
    );
}

#[test]
fn an_unknown_characteristic_hides_no_other_mistake_of_its_check() {
    let shop = Shop::new(GOOD);
    shop.write(
        "plans/p.toml",
        "name = \"p\"\nunit = \"in\"\n[[part]]\nname = \"r\"\n[[part.check]]\nname = \"c\"\n\
         measures = \"paralelism\"\ngauge = \"palte\"\nadvance = \"later\"\npositions = \"8\"\n\
         setup = \"plaet\"\nfrobnicate = 1\n",
    );
    begin(
        &shop.told(),
        &[
            "plans/p.toml:7: error: \"part.check.measures\" is \"paralelism\"",
            "plans/p.toml:8: error: there is no gauge \"palte\" on this bench — did you mean \"plate\"?",
            "plans/p.toml:9: error: \"part.check.advance\" is \"later\"",
            "plans/p.toml:10: error: \"part.check.positions\"",
            "plans/p.toml:11: error: \"part.check.setup\" is \"plaet\"",
        ],
    );
}
