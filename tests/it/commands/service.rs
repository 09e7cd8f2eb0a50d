//! The service itself from outside: its configuration, stations, socket, folder and record.

use super::*;

#[test]
fn a_bad_configuration_is_told_at_once_and_does_not_start() {
    let bench = Bench::new(&Make { gauge: GAUGE, more: "", plan: &plan() });
    let good = fs::read_to_string(bench.path("bench.toml")).unwrap();
    let bad = good
        .replace("unit = \"in\"\nstate", "unit = \"furlong\"\nstate")
        .replace("baud = 9600", "baud = 9600\nbauds = 1")
        .replace("resolution = \"0.00001 in\"", "resolution = \"fine\"");
    fs::write(bench.path("bench.toml"), &bad).unwrap();
    let broken = plan()
        .replace("positions = 8", "positions = 0")
        .replace("kind = \"spacer\"", "kind = \"cheese\"");
    fs::write(bench.path("plans/held.toml"), broken).unwrap();
    let output = bench.run(&["config", "check"]);
    assert_eq!(output.status.code(), Some(2));
    let text = String::from_utf8(output.stdout).unwrap();
    for told in ["furlong", "bauds", "fine", "cheese", "positions"] {
        assert!(text.contains(told), "{told} is not told: {text}");
    }
    let output = bench.run(&["config", "check", "--json"]);
    assert_eq!(output.status.code(), Some(2));
    let text = String::from_utf8(output.stdout).unwrap();
    let findings: Vec<Value> =
        text.lines().map(|line| serde_json::from_str(line).unwrap()).collect();
    assert!(findings.len() >= 5, "{text}");
    for finding in &findings {
        assert_eq!(finding["schema"], "finding/1");
        assert!(finding["line"].is_u64() && finding["file"].is_string(), "{finding}");
    }
    let output = bench.run(&["serve"]);
    let err = String::from_utf8(output.stderr).unwrap();
    assert_eq!(output.status.code(), Some(2), "{err}");
    for told in ["furlong", "bauds", "fine"] {
        assert!(err.contains(told), "{told} is not told: {err}");
    }
    assert!(fs::read_dir(bench.path("state")).unwrap().next().is_none(), "something was started");
    fs::write(bench.path("bench.toml"), good).unwrap();
    fs::write(bench.path("plans/held.toml"), plan()).unwrap();
    bench.ok(&["config", "check"]);
}

#[test]
fn a_reload_follows_a_good_configuration_and_keeps_the_old_where_it_is_bad() {
    let bench = measuring();
    bench.touches(&bench.plate, "plate", &["0.00001", "0.00002"]);
    let good = fs::read_to_string(bench.path("bench.toml")).unwrap();
    fs::write(
        bench.path("bench.toml"),
        good.replace("profile = \"signed-decimal\"", "profile = \"nosuch\""),
    )
    .unwrap();
    bench.signal(rustix::process::Signal::HUP);
    bench.until("the log tells", || bench.log().contains("goes on with the old one"));
    assert!(bench.log().contains("nosuch"), "{}", bench.log());
    // A client with the bad file cannot find its way; the service goes on.
    let good_path = bench.path("good.toml");
    fs::write(&good_path, &good).unwrap();
    bench.plate.send("0.00003\r");
    let taken = |count: u64| bench.heard().unwrap()["stations"][0]["taken"] == count;
    bench.until("a reading", || taken(3));
    let more = format!(
        "{good}\n[[gauge]]\nname = \"other\"\nkind = \"indicator\"\nport = {:?}\n\
         profile = \"signed-decimal\"\nbaud = 9600\n{GAUGE}\n",
        bench.path("other")
    );
    let other = Gauge::plugged(bench.path("other"));
    fs::write(bench.path("bench.toml"), more).unwrap();
    bench.signal(rustix::process::Signal::HUP);
    bench.until_gauge("other", "live");
    bench.touches(&other, "other", &["0.00100"]);
    bench.touches(&bench.plate, "plate", &["0.00003"]);
    assert!(taken(4));
    assert_eq!(bench.gauge("plate")["taken"], 4, "the counters of what stays are kept");
    // And away again.
    fs::write(bench.path("bench.toml"), good).unwrap();
    bench.signal(rustix::process::Signal::HUP);
    bench.until("it is gone", || bench.gauge("other").is_null());
    bench.balanced();
}

/// Two people side by side.
const STATIONS: &str = r#"
[[gauge]]
name = "other"
kind = "indicator"
port = "{dir}/other"
profile = "signed-decimal"
unit = "in"
resolution = "0.00001 in"
repeat_ms = 0
max_rate = 0
[[station]]
name = "left"
gauges = ["plate"]
[[station]]
name = "right"
gauges = ["other"]
"#;

#[test]
fn two_stations_do_not_mix() {
    let plan = format!("{PART}{}{}", check("face", "plate"), check("back", "other"));
    let mut bench = Bench::new(&Make { gauge: GAUGE, more: STATIONS, plan: &plan });
    let other = Gauge::plugged(bench.path("other"));
    bench.start();
    hinted(&bench.refused(2, &["job", "open", "s1", "--plan", "held"]), "several stations");
    bench.ok(&["job", "open", "s1", "--plan", "held", "--station", "left"]);
    hinted(&bench.refused(2, &["measure", "ring/back", "--station", "left"]), "right");
    bench.ok(&["job", "use", "s1", "--station", "right"]);
    bench.ok(&["measure", "ring/face", "--station", "left"]);
    bench.ok(&["measure", "ring/back", "--station", "right"]);
    for at in 0..8 {
        bench.touches(&bench.plate, "plate", &[&format!("0.0000{at}")]);
        bench.touches(&other, "other", &[&format!("-0.0000{at}")]);
    }
    bench.verdict("s1", 2);
    let of = |check: &str| {
        let readings = bench.lines(&["readings", "s1", "--check", check]);
        readings.iter().map(|one| one["value"].as_str().unwrap().to_owned()).collect::<Vec<_>>()
    };
    assert_eq!(of("face"), (0..8).map(|at| format!("0.0000{at}")).collect::<Vec<_>>());
    let minus = |at: u32| if at == 0 { "0.00000".to_owned() } else { format!("-0.0000{at}") };
    assert_eq!(of("back"), (0..8).map(minus).collect::<Vec<_>>());
    bench.refused(2, &["void"]);
    let voided = bench.lines(&["void", "--station", "left"]).remove(0);
    assert_eq!(voided["measuring"]["station"], "left");
    assert_eq!(bench.heard().unwrap()["stations"][1]["taken"], 8);
    // The same check at one place at a time.
    bench.ok(&["job", "open", "s2", "--plan", "held", "--station", "left"]);
    let stations = bench.heard().unwrap()["stations"].clone();
    assert_eq!((&stations[0]["job"], &stations[1]["job"]), (&"s2".into(), &"s1".into()));
}

#[test]
fn junk_on_the_socket_is_answered_where_it_came_from() {
    let bench = measuring();
    let socket = bench.path("state/tenths.sock");
    let mut good = Wire::to(&socket).unwrap();
    let mut bad = Wire::to(&socket).unwrap();
    for junk in [
        "hello",
        "",
        "{}",
        "[1,2]",
        "{\"request\":\"format\",\"key\":\"k\"}",
        "{\"request\":\"next\"}",
        "{\"request\":\"status\",\"colour\":1}",
        "\u{1b}[2J\u{7f}",
    ] {
        let reply = bad.ask(junk).unwrap();
        assert_eq!((&reply["schema"], &reply["exit"]), (&"error/1".into(), &2.into()), "{junk}");
        assert!(!reply["text"].as_str().unwrap().is_empty());
        assert_eq!(good.ask("{\"request\":\"status\"}").unwrap()["schema"], "status/1");
    }
    assert!(bad.write(&[0xff, 0xfe, 0x00, b'\n']));
    assert_eq!(bad.hear().unwrap()["schema"], "error/1");
    assert_eq!(bad.ask("{\"request\":\"status\"}").unwrap()["schema"], "status/1");
    // A line that does not end: an answer and the end of this connection. It may be cut off while
    // it still writes.
    let mut long = Wire::to(&socket).unwrap();
    for _ in 0..64 {
        if !long.write(&[b'x'; 1 << 14]) {
            break;
        }
    }
    let reply = long.hear().unwrap();
    assert_eq!(reply["schema"], "error/1");
    assert!(reply["text"].as_str().unwrap().contains("bytes at most"), "{reply}");
    assert!(long.hear().is_none());
    // Half a line, and gone.
    let mut half = Wire::to(&socket).unwrap();
    assert!(half.write(b"{\"request\":\"next\",\"key\":\"half\""));
    drop(half);
    // Many who only listen; the one who works does not notice.
    let idle: Vec<_> = (0..40).filter_map(|_| Wire::to(&socket)).collect();
    assert_eq!(idle.len(), 40);
    assert_eq!(good.ask("{\"request\":\"status\"}").unwrap()["schema"], "status/1");
    bench.touches(&bench.plate, "plate", &["0.00001"]);
    assert_eq!(bench.placed("s1").len(), 1);
}

#[test]
fn a_request_that_is_repeated_is_done_once() {
    let mut bench = measuring();
    let socket = bench.path("state/tenths.sock");
    let enter = r#"{"request":"enter","key":"press-1","values":["0.00001"]}"#;
    let mut wire = Wire::to(&socket).unwrap();
    let first = wire.ask(enter).unwrap();
    assert_eq!(first["schema"], "entered/1");
    assert_eq!(wire.ask(enter).unwrap(), first);
    assert_eq!(Wire::to(&socket).unwrap().ask(enter).unwrap(), first);
    // Both at once, on two connections.
    let note = r#"{"request":"note","key":"note-1","job":"s1","text":"once"}"#;
    let mut other = Wire::to(&socket).unwrap();
    assert!(
        wire.write(format!("{note}\n").as_bytes()) && other.write(format!("{note}\n").as_bytes())
    );
    assert_eq!(wire.hear().unwrap(), other.hear().unwrap());
    // Sent again after the service was killed: the answer was lost, not the deed.
    bench.kill();
    bench.start();
    assert_eq!(Wire::to(&socket).unwrap().ask(enter).unwrap(), first);
    assert_eq!(Wire::to(&socket).unwrap().ask(note).unwrap()["schema"], "noted/1");
    assert_eq!(bench.placed("s1").len(), 1);
    assert_eq!(bench.lines(&["job", "show", "s1"])[0]["notes"].as_array().unwrap().len(), 1);
    // Another key is another press. What was refused is asked anew.
    let again = enter.replace("press-1", "press-2");
    assert_ne!(Wire::to(&socket).unwrap().ask(&again).unwrap(), first);
    assert_eq!(bench.placed("s1").len(), 2);
    let close = r#"{"request":"job-close","key":"close-1","name":"s2","why":"a try"}"#;
    assert_eq!(Wire::to(&socket).unwrap().ask(close).unwrap()["schema"], "error/1");
    bench.ok(&["job", "open", "s2", "--plan", "held"]);
    assert_eq!(Wire::to(&socket).unwrap().ask(close).unwrap()["schema"], "closed/1");
}

#[test]
fn a_second_service_on_the_same_folder_is_refused() {
    let bench = measuring();
    let err = bench.refused_serve(3);
    hinted(&err, "another service works with");
    assert!(err.contains(&bench.pid().to_string()), "{err}");
    bench.touches(&bench.plate, "plate", &["0.00001"]);
    assert_eq!(bench.placed("s1").len(), 1);
    bench.ok(&["status"]);
}

#[test]
fn a_copy_made_under_load_is_whole() {
    let bench = measuring();
    let stop = std::sync::atomic::AtomicBool::new(false);
    let order = std::sync::atomic::Ordering::Relaxed;
    std::thread::scope(|scope| {
        scope.spawn(|| {
            let until = Instant::now() + Duration::from_mins(1);
            while !stop.load(order) && Instant::now() < until {
                bench.plate.send_all(b"0.00001\r");
                std::thread::sleep(Duration::from_millis(2));
            }
        });
        let _ends = crate::rig::Ends(&stop);
        let mut rows = 0;
        for number in 0..4 {
            let before = bench.lines(&["readings"]).len() as u64;
            let copy = bench.path(&format!("copy-{number}.db")).display().to_string();
            bench.ok(&["backup", &copy]);
            let checked = bench.lines(&["verify", &copy]).remove(0);
            let now = checked["rows"].as_u64().unwrap();
            assert!(
                now > rows && now > before,
                "{now} rows after {rows}, {before} readings before"
            );
            rows = now;
        }
    });
    let copy = bench.path("copy-0.db").display().to_string();
    hinted(&bench.refused(2, &["backup", &copy]), "already there");
    let parts = fs::read_dir(bench.dir.path()).unwrap().filter_map(Result::ok);
    let left = parts.filter(|entry| entry.file_name().to_string_lossy().contains(".part")).count();
    assert_eq!(left, 0, "half a copy is left behind");
    bench.balanced();
    bench.ok(&["verify"]);
}

#[test]
fn the_record_is_read_while_the_service_is_stopped_and_nothing_is_left_behind() {
    let mut bench = measuring();
    bench.touches(&bench.plate, "plate", &["0.00001", "0.00002"]);
    bench.ok(&["measure", "--stop"]);
    bench.stop();
    let listed = || {
        let entries = fs::read_dir(bench.path("state")).unwrap().map(Result::unwrap);
        let mut names: Vec<_> = entries.map(|entry| entry.file_name()).collect();
        names.sort();
        names
    };
    let before = listed();
    assert_eq!(bench.placed("s1").len(), 2);
    assert_eq!(bench.lines(&["verdicts", "s1"]).len(), 1);
    bench.lines(&["alerts", "--all"]);
    bench.ok(&["job", "list"]);
    bench.ok(&["verify"]);
    let copy = bench.path("copy.db").display().to_string();
    bench.ok(&["backup", &copy]);
    bench.ok(&["verify", &copy]);
    assert_eq!(listed(), before);
    hinted(&bench.refused(3, &["status"]), "not running");
    bench.start();
    bench.ok(&["measure", "ring/face"]);
    bench.touches(&bench.plate, "plate", &["0.00001"]);
    assert_eq!(bench.placed("s1").len(), 3);
}
