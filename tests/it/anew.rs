//! A gauge that is set up differently in the middle of a ring: the ring has to begin again.

use std::fs;
use std::time::Duration;

use serde_json::Value;

use crate::rig::{Bench, Gauge, Make, RING_PLAN};

const GAUGE: &str = "unit = \"in\"\nresolution = \"0.00001 in\"\nuncertainty = \"0.000009 in\"\n\
                     repeatability = \"0.000006 in\"\nsign = \"+\"\nserial = \"IND-1\"\n\
                     travel = [\"-0.020 in\", \"0.020 in\"]\nlever_angle = 5\nrepeat_ms = 0\n";

fn bench() -> Bench {
    let mut bench = Bench::new(&Make { gauge: GAUGE, more: "", plan: RING_PLAN });
    bench.start();
    bench.ok(&["job", "open", "s1", "--plan", "held"]);
    bench
}

/// Writes one line of bench.toml anew.
fn rewrite(bench: &Bench, from: &str, to: &str) {
    let text = fs::read_to_string(bench.path("bench.toml")).unwrap();
    assert!(text.contains(from), "{from}");
    fs::write(bench.path("bench.toml"), text.replace(from, to)).unwrap();
}

fn reload(bench: &Bench) {
    let before = bench.log().matches("the configuration was read again").count();
    bench.signal(rustix::process::Signal::HUP);
    bench.until("it is read again", || {
        bench.log().matches("the configuration was read again").count() > before
    });
    bench.until_gauge("plate", "live");
}

fn interrupts(bench: &Bench) -> Vec<String> {
    let of = |line: &Value| line["kind"] == "setup-changed" && line["level"] == "interrupt";
    let alerts = bench.lines(&["alerts", "--all"]);
    alerts
        .iter()
        .filter(|line| of(line))
        .map(|line| line["text"].as_str().unwrap().into())
        .collect()
}

fn verdicts(bench: &Bench) -> Vec<(u64, String)> {
    let one = |line: &Value| {
        (line["attempt"].as_u64().unwrap(), line["verdict"].as_str().unwrap().to_owned())
    };
    bench.lines(&["verdicts", "s1"]).iter().map(one).collect()
}

#[test]
fn a_reload_that_changes_the_gauge_ends_the_ring_under_way() {
    let mut bench = bench();
    let changes = [
        ("sign = \"+\"", "sign = \"-\"", "sign"),
        ("resolution = \"0.00001 in\"", "resolution = \"0.00005 in\"", "resolution"),
        ("uncertainty = \"0.000009 in\"", "uncertainty = \"0.00002 in\"", "uncertainty"),
        ("repeatability = \"0.000006 in\"", "repeatability = \"0.000002 in\"", "repeatability"),
        ("travel = [\"-0.020 in\"", "travel = [\"-0.015 in\"", "travel"),
        ("serial = \"IND-1\"", "serial = \"IND-2\"", "serial number"),
        ("lever_angle = 5", "lever_angle = 8", "lever angle"),
    ];
    for (round, (from, to, what)) in changes.into_iter().enumerate() {
        bench.ok(&["measure", "ring/face"]);
        bench.touches(&bench.plate, "plate", &["+0.00005", "+0.00010", "+0.00015"]);
        rewrite(&bench, from, to);
        reload(&bench);
        bench.until("it is told", || interrupts(&bench).len() > round);
        let told = interrupts(&bench);
        assert_eq!(told.len(), round + 1, "{what}: {told:?}");
        let last = told.last().unwrap();
        assert!(last.contains(&format!("({what} changed)")), "{what}: {last}");
        assert!(last.contains("Begin again: tenths measure ring/face"), "{last}");
        let verdicts = verdicts(&bench);
        let wanted = (u64::try_from(round).unwrap() + 1, "incomplete".to_owned());
        assert_eq!(verdicts.last(), Some(&wanted), "{what}: {verdicts:?}");
        // What is sent now belongs to nothing; the line may have been opened anew.
        bench.until_gauge("plate", "live");
        std::thread::sleep(Duration::from_millis(300));
        bench.until_gauge("plate", "live");
        bench.touches(&bench.plate, "plate", &["+0.00020"]);
        assert_eq!(bench.placed("s1").len(), 3 * (round + 1), "{what}");
    }
    // Begun again, it is judged with the gauge as it is now, and the alert is over.
    bench.ok(&["measure", "ring/face"]);
    let open = bench.lines(&["alerts", "--state", "open"]);
    assert!(open.iter().all(|line| line["kind"] != "setup-changed"), "{open:?}");
    bench.touches(&bench.plate, "plate", &["+0.00005"]);
    assert_eq!(bench.placed("s1").last().unwrap()["value"], "-0.00005");
    bench.ok(&["verify"]);
    bench.stop();
}

#[test]
fn a_restart_with_another_file_ends_it_too_and_one_with_the_same_does_not() {
    let mut bench = bench();
    bench.ok(&["measure", "ring/face"]);
    bench.touches(&bench.plate, "plate", &["+0.00001", "+0.00002"]);
    bench.kill();
    bench.start();
    bench.touches(&bench.plate, "plate", &["+0.00003"]);
    assert_eq!(bench.placed("s1").len(), 3, "it goes on");
    bench.kill();
    rewrite(&bench, "sign = \"+\"", "sign = \"-\"");
    rewrite(&bench, "profile = \"signed-decimal\"", "profile = \"value-unit\"");
    bench.start();
    assert_eq!(verdicts(&bench), [(1, "incomplete".to_owned())]);
    let told = interrupts(&bench);
    assert!(told.len() == 1 && told[0].contains("(sign and profile changed)"), "{told:?}");
    bench.stop();
}

#[test]
fn what_does_not_change_a_reading_ends_nothing() {
    let mut bench = bench();
    bench.ok(&["measure", "ring/face"]);
    bench.touches(&bench.plate, "plate", &["+0.00001", "+0.00002"]);
    rewrite(&bench, "repeat_ms = 0", "repeat_ms = 0\ncalibration_due = 2099-03-01");
    rewrite(&bench, "name = \"rig\"", "name = \"other name\"");
    reload(&bench);
    bench.until("it is followed", || bench.heard().is_some_and(|all| all["bench"] == "other name"));
    assert!(interrupts(&bench).is_empty());
    bench.touches(&bench.plate, "plate", &["+0.00003"]);
    assert_eq!(bench.placed("s1").len(), 3);
    bench.stop();
}

#[test]
fn a_hole_or_a_question_is_not_filled_with_another_set_up() {
    let mut bench = bench();
    bench.ok(&["measure", "ring/face"]);
    let ring = ["0.00001", "0.00002", "0.00003", "0.00002", "0.00001", "0.00000", "0.00001"];
    let ring: Vec<String> = ring.iter().map(|value| format!("+{value}")).collect();
    let ring: Vec<&str> = ring.iter().map(String::as_str).collect();
    bench.touches(&bench.plate, "plate", &ring);
    bench.touches(&bench.plate, "plate", &["+0.00002", "+0.00001"]);
    assert_eq!(verdicts(&bench), [(1, "conforms".to_owned())]);
    rewrite(&bench, "sign = \"+\"", "sign = \"-\"");
    reload(&bench);
    bench.until("the check is off the screen", || {
        bench.heard().is_some_and(|all| all["stations"][0]["check"].is_null())
    });
    assert!(interrupts(&bench).is_empty(), "nothing was waited for");
    let third = bench.placed("s1")[3]["id"].to_string();
    bench.ok(&["void", &third]);
    bench.touches(&bench.plate, "plate", &["+0.00002"]);
    assert_eq!(bench.placed("s1").len(), 7, "it fills nothing");
    let said = bench.refused(2, &["measure", "ring/face"]);
    assert!(said.contains("was changed") && said.contains("remeasure again"), "{said}");
    bench.ok(&["remeasure", "again", "ring/face"]);
    std::thread::sleep(Duration::from_millis(400));
    bench.touches(&bench.plate, "plate", &["+0.00002"]);
    assert_eq!(bench.placed("s1").last().unwrap()["value"], "-0.00002");
    bench.stop();
}

/// A gauge, what its frames look like, and what is changed of it.
struct Changed {
    what: &'static str,
    profile: &'static str,
    keys: &'static str,
    frames: [&'static str; 3],
    from: &'static str,
    to: &'static str,
}

const CHANGED: [Changed; 6] = [
    Changed {
        what: "scale",
        profile: "counts",
        keys: "unit = \"in\"\nresolution = \"0.00001 in\"\nscale = \"0.00001 in\"",
        frames: ["+000005", "+000010", "+000015"],
        from: "scale = \"0.00001 in\"",
        to: "scale = \"0.00002 in\"",
    },
    Changed {
        what: "port",
        profile: "signed-decimal",
        keys: "unit = \"in\"\nresolution = \"0.00001 in\"",
        frames: ["+0.00005", "+0.00010", "+0.00015"],
        from: "/plate\"",
        to: "/other\"",
    },
    Changed {
        what: "unit",
        profile: "signed-decimal",
        keys: "unit = \"in\"\nresolution = \"0.00001 in\"\nlever_angle = 0",
        frames: ["+0.00005", "+0.00010", "+0.00015"],
        from: "unit = \"in\"\nresolution = \"0.00001 in\"\nlever",
        to: "unit = \"mm\"\nresolution = \"0.00001 mm\"\nlever",
    },
    Changed {
        what: "channel",
        profile: "channel-value",
        keys: "unit = \"mm\"\nresolution = \"0.001 mm\"\nchannel = \"1\"",
        frames: ["1:+00000.001", "1:+00000.002", "1:+00000.003"],
        from: "channel = \"1\"",
        to: "channel = \"2\"",
    },
    Changed {
        what: "travel",
        profile: "signed-decimal",
        keys: "unit = \"in\"\nresolution = \"0.00001 in\"\ntravel = [\"-0.02 in\", \"0.02 in\"]",
        frames: ["+0.00005", "+0.00010", "+0.00015"],
        from: "travel = [\"-0.02 in\"",
        to: "travel = [\"-0.015 in\"",
    },
    Changed {
        what: "profile",
        profile: "signed-decimal",
        keys: "unit = \"in\"\nresolution = \"0.00001 in\"",
        frames: ["+0.00005", "+0.00010", "+0.00015"],
        from: "profile = \"signed-decimal\"",
        to: "profile = \"value-unit\"",
    },
];

/// Three touches of a ring under way, then a bench.toml that says something else of the gauge.
fn under_way(changed: &Changed) -> (Bench, Gauge) {
    let keys = format!("{}\nrepeat_ms = 0", changed.keys);
    let mut bench = Bench::new(&Make { gauge: &keys, more: "", plan: RING_PLAN });
    let other = Gauge::plugged(bench.path("other"));
    if changed.profile != "signed-decimal" {
        rewrite(&bench, "\"signed-decimal\"", &format!("{:?}", changed.profile));
    }
    bench.start();
    bench.ok(&["job", "open", "s1", "--plan", "held"]);
    bench.ok(&["measure", "ring/face"]);
    bench.touches(&bench.plate, "plate", &changed.frames);
    assert_eq!(bench.placed("s1").len(), 3, "{}", changed.what);
    rewrite(&bench, changed.from, changed.to);
    (bench, other)
}

/// The ring is over, it is said once and loudly, and what is sent now fills nothing.
fn has_ended(bench: &Bench, other: &Gauge, changed: &Changed) {
    let what = changed.what;
    bench.until("it is told", || !interrupts(bench).is_empty());
    let told = interrupts(bench);
    assert!(told.len() == 1 && told[0].contains(what), "{what}: {told:?}");
    assert!(told[0].contains("Begin again: tenths measure ring/face"), "{told:?}");
    assert_eq!(verdicts(bench), [(1, "incomplete".to_owned())], "{what}");
    assert!(bench.heard().unwrap()["stations"][0]["check"].is_null(), "{what}");
    bench.until_gauge("plate", "live");
    std::thread::sleep(Duration::from_millis(300));
    bench.until_gauge("plate", "live");
    let line = if what == "port" { other } else { &bench.plate };
    let frame = match what {
        "channel" => "2:+00000.004",
        "profile" => "+0.00020 in",
        _ => changed.frames[1],
    };
    bench.touches(line, "plate", &[frame]);
    assert_eq!(bench.placed("s1").len(), 3, "{what}");
    // Begun again it takes what comes.
    bench.ok(&["measure", "ring/face"]);
    let open = bench.lines(&["alerts", "--state", "open"]);
    assert!(open.iter().all(|line| line["kind"] != "setup-changed"), "{what}: {open:?}");
    bench.touches(line, "plate", &[frame]);
    if what != "unit" {
        assert_eq!(bench.placed("s1").len(), 4, "{what}: {:?}", bench.readings("s1"));
    }
    bench.ok(&["verify"]);
}

#[test]
fn whatever_a_reload_changes_of_what_a_reading_means_ends_the_ring() {
    for changed in &CHANGED {
        let (mut bench, other) = under_way(changed);
        reload(&bench);
        has_ended(&bench, &other, changed);
        bench.stop();
    }
}

#[test]
fn whatever_changed_while_the_service_was_down_ends_the_ring() {
    for changed in &CHANGED {
        let (mut bench, other) = under_way(changed);
        bench.kill();
        bench.start();
        has_ended(&bench, &other, changed);
        // It is told once, not at every start.
        bench.kill();
        bench.start();
        assert_eq!(interrupts(&bench).len(), 1, "{}", changed.what);
        bench.stop();
    }
}

/// A gauge that is out of the file for a while and comes back set up otherwise.
#[test]
fn a_gauge_that_was_away_and_came_back_otherwise_ends_the_ring_too() {
    let changed = &CHANGED[4];
    let (mut bench, other) = under_way(changed);
    // The plan wants a gauge that the file does not know: the job stays as it was opened.
    rewrite(&bench, "name = \"plate\"", "name = \"lent\"");
    let before = bench.log().matches("the configuration was read again").count();
    bench.signal(rustix::process::Signal::HUP);
    bench.until("it is read again", || {
        bench.log().matches("the configuration was read again").count() > before
    });
    assert!(interrupts(&bench).is_empty());
    rewrite(&bench, "name = \"lent\"", "name = \"plate\"");
    reload(&bench);
    has_ended(&bench, &other, changed);
    bench.stop();
}
