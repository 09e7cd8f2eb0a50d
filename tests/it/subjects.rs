//! An alert is about a thing, not about a word: things with the same name are kept apart.

use serde_json::Value;

use crate::rig::{Bench, Make, RING_PLAN, Wire};

const GAUGE: &str = "resolution = \"0.00001 in\"\nuncertainty = \"0.000009 in\"";

/// Each station has the name of the gauge at the other one, and so has the drop folder.
const CROSSED: &str = r#"
[[gauge]]
name = "bore"
kind = "dial"
resolution = "0.0001 in"
[[station]]
name = "bore"
gauges = ["plate"]
[[station]]
name = "plate"
gauges = ["bore"]
[[drop]]
name = "bore"
folder = "{dir}/drop"
gauge = "bore"
tags = "active"
columns = { value = "v" }
"#;

fn crossed() -> Bench {
    let plan = format!(
        "{RING_PLAN}\n[[part.check]]\nname = \"bore\"\nmeasures = \"parallelism\"\ngauge = \"bore\"\n\
         setup = \"plate\"\npositions = 8\nradius = \"1.5 in\"\ntolerance = \"0.002 in\"\n"
    );
    let mut bench = Bench::new(&Make { gauge: GAUGE, more: CROSSED, plan: &plan });
    bench.start();
    bench
}

/// The kinds of the alerts on the screen of a station.
fn on_screen(bench: &Bench, station: &str) -> Vec<String> {
    let mut wire = Wire::to(&bench.path("state/tenths.sock")).unwrap();
    let ask = format!("{{\"request\":\"view\",\"station\":\"{station}\"}}");
    let view = wire.ask(&ask).unwrap();
    let kind = |alert: &Value| alert["kind"].as_str().unwrap().to_owned();
    view["alerts"].as_array().unwrap().iter().map(kind).collect()
}

#[test]
fn what_tells_of_a_station_or_a_folder_is_not_told_of_a_gauge_that_is_called_the_same() {
    let bench = crossed();
    bench.ok(&["job", "open", "J-1", "--plan", "held", "--station", "bore"]);
    bench.ok(&["job", "use", "J-1", "--station", "plate"]);
    bench.ok(&["measure", "ring/bore", "--station", "plate"]);
    bench.ok(&["enter", "0", "1", "--station", "plate", "--graduation", "0.0001in"]);
    bench.ok(&["job", "close", "J-1", "--station", "bore", "--why", "the owner took it home"]);
    // The station `plate` lost its ring; the gauge `plate` lies at the other one.
    assert_eq!(on_screen(&bench, "plate"), ["ended-elsewhere"]);
    assert_eq!(bench.lines(&["alerts", "--gauge", "plate"]), [] as [Value; 0]);

    std::fs::rename(bench.path("drop"), bench.path("elsewhere")).unwrap();
    bench.until("the folder is missed", || {
        !bench.lines(&["alerts", "--kind", "folder-lost"]).is_empty()
    });
    assert_eq!(bench.lines(&["alerts", "--gauge", "bore"]), [] as [Value; 0]);
    let lost = &bench.lines(&["alerts", "--kind", "folder-lost"])[0];
    assert_eq!(lost["gauge"], Value::Null);
    for station in ["plate", "bore"] {
        assert!(on_screen(&bench, station).contains(&"folder-lost".to_owned()), "{station}");
    }
    // A gauge's own alerts are found by its name, and are on the screen where it lies.
    bench.plate.send("+0.01x\r\n");
    bench.until("it is told", || !bench.lines(&["alerts", "--gauge", "plate"]).is_empty());
    assert!(on_screen(&bench, "bore").contains(&"damaged-frames".to_owned()));
    assert!(!on_screen(&bench, "plate").contains(&"damaged-frames".to_owned()));
}

/// One job of each name, its pin damaged; what `status` says in its first line, and of which kind each
/// thing set aside is.
fn damaged(jobs: &[&str]) -> (String, Vec<(String, String)>) {
    let mut bench = Bench::new(&Make { gauge: GAUGE, more: "", plan: RING_PLAN });
    bench.start();
    for job in jobs {
        bench.ok(&["job", "open", job, "--plan", "held"]);
        bench.ok(&["measure", "ring/face"]);
        bench.ok(&["enter", "0", "1", "--graduation", "0.00001in"]);
    }
    bench.stop();
    let file = rusqlite::Connection::open(bench.path("state/tenths.db")).unwrap();
    let sql = "UPDATE pinned SET text = replace(text, '\"rule\"', '\"rual\"')";
    file.execute_batch(sql).unwrap();
    file.close().unwrap();
    bench.start();
    let text = String::from_utf8(bench.run(&["status"]).stdout).unwrap();
    let status = bench.heard().unwrap();
    let of = |aside: &Value, key: &str| aside[key].as_str().unwrap_or_default().to_owned();
    let aside = status["set_aside"].as_array().unwrap().iter();
    let aside = aside.map(|aside| (of(aside, "kind"), of(aside, "what"))).collect();
    (text.lines().next().unwrap_or_default().to_owned(), aside)
}

#[test]
fn a_damaged_job_is_a_job_whatever_it_is_called() {
    let names = ["plan 9", "rows 1 to 5", "the file: a copy"];
    let (first, aside) = damaged(&names);
    assert!(first.contains("3 jobs are set aside"), "{first}");
    assert!(!first.contains("plan is set aside") && !first.contains("rows are missing"), "{first}");
    for name in names {
        assert!(aside.contains(&("job".to_owned(), name.to_owned())), "{aside:?}");
    }
}
