//! A run-in through the real program: a made-up sensor on a pseudo-terminal, keyed values, a logger's file,
//! a restart. Temperatures are invented; thirty minutes pass in as many tenths of a second.

use std::fmt::Write;
use std::time::Duration;

use serde_json::{Value, json};

use crate::rig::{Bench, Gauge, Make};
use crate::watch::Terminal;

const GAUGE: &str = "unit = \"in\"\nresolution = \"0.00001 in\"\n";

/// A thermometer beside the gauge of the rig.
const PROBE: &str = "[[gauge]]\nname = \"probe\"\nkind = \"thermometer\"\nport = \"{dir}/probe\"\n\
                     profile = \"celsius\"\nresolution = \"0.1 C\"\nrepeat_ms = 0\nmax_rate = 0\n";

/// Steps in minutes; a hundredth of one is 0.6 s.
fn plan(more: &str) -> String {
    format!(
        "name = \"held\"\nunit = \"in\"\n[[part]]\nname = \"spindle\"\nkind = \"shaft\"\n\
         [[part.check]]\nname = \"run-in\"\nmeasures = \"run-in\"\n\
         places = [{{ name = \"front\", thermometer = \"probe\" }}]\n{more}\n"
    )
}

const FAST: &str = "steps = [{ speed = 1000, minutes = 0.02 }, { speed = 2000, minutes = 0.02 }, { speed = 4000, minutes = 0.02 }]\n\
                    max_rise = \"15 C\"\nmax = \"60 C\"\nuncertainty = \"0.3 C\"\n\
                    steady = { change = \"0.5 C\", minutes = 0.008 }\ngap = 0.05";

struct Shop {
    bench: Bench,
    probe: Gauge,
}

fn shop(plan: &str, more: &str) -> Shop {
    let bench = Bench::new(&Make { gauge: GAUGE, more: &format!("{PROBE}{more}"), plan });
    let probe = Gauge::plugged(bench.path("probe"));
    let mut shop = Shop { bench, probe };
    shop.bench.start();
    shop.bench.until_gauge("probe", "live");
    shop.bench.ok(&["job", "open", "J", "--plan", "held"]);
    shop
}

impl Shop {
    /// Sends temperatures as a sensor does, ten a second.
    fn send(&self, temperatures: impl IntoIterator<Item = f64>) {
        for one in temperatures {
            self.probe.send(&format!("{one:.1} C\r\n"));
            std::thread::sleep(Duration::from_millis(100));
        }
    }

    fn verdict(&self) -> Value {
        self.bench.lines(&["verdicts", "J"]).last().cloned().unwrap()
    }
}

/// From one temperature to another, in so many steps.
fn ramp(from: f64, to: f64, steps: u32) -> impl Iterator<Item = f64> {
    (0..steps).map(move |at| from + (to - from) * f64::from(at) / f64::from(steps))
}

#[test]
fn a_run_in_is_led_logged_drawn_and_judged() {
    let shop = shop(&plan(FAST), "");
    let bench = &shop.bench;
    let said = bench.ok(&["measure", "spindle/run-in"]);
    assert!(said.contains("Set 1000 rpm by hand, then say so: `tenths run-in start`"), "{said}");
    let terminal = Terminal::with_watch(bench, (80, 24), &["--station", "bench"]);
    terminal.until(&["Guards on, nobody near", "tenths run-in start"]);
    let said = bench.ok(&["run-in", "start"]);
    assert!(
        said.contains("step 1 of 3: 1000 rpm") && said.contains("switches the machine"),
        "{said}"
    );
    bench.ok(&["record", "spindle/run-in", "room=21.0"]);
    shop.send(ramp(21.0, 26.0, 13));
    terminal.until(&["front", "room 21 °C", "steps at 0"]);
    bench.ok(&["run-in", "step"]);
    shop.send(ramp(26.0, 30.0, 13));
    bench.ok(&["run-in", "step"]);
    let refused = bench.refused(2, &["run-in", "step"]);
    assert!(refused.contains("is at its last step"), "{refused}");
    shop.send(ramp(30.0, 32.0, 7).chain(std::iter::repeat_n(32.1, 8)));
    let said = bench.ok(&["run-in", "end"]);
    // 32.1 − 21.0 = 11.1; U = 2·√(2·0.3²) = 0.8486.
    assert!(said.contains("CONFORMS. 11.1"), "{said}");
    let verdict = shop.verdict();
    assert_eq!((&verdict["value"], &verdict["unit"]), (&json!("11.1"), &json!("C")), "{verdict}");
    let u: f64 = verdict["uncertainty"].as_str().unwrap().parse().unwrap();
    assert!((u - 0.848_53).abs() < 1e-4, "{u}");
    let figures = &verdict["figures"]["run_in"];
    assert_eq!((&figures["highest"], &figures["room"]), (&json!("32.1"), &json!("21")));
    assert_eq!((&figures["place"], &figures["steady"]), (&json!("front"), &json!(true)));
    assert_eq!(figures["steps"].as_array().unwrap().len(), 3);
    // Forty frames were sent; a digit that does not move is not kept again.
    let kept = figures["readings"].as_u64().unwrap();
    assert!((15..=42).contains(&kept), "{kept}");
    terminal.until(&["11.10 C, limit 15, ±0.849.", "Warmest: front, 32.1 °C"]);
    let page = bench.ok(&["report", "J"]);
    for told in ["Temperatures over", "4000", "Steady: no more than 0.5 °C", "run-in"] {
        assert!(page.contains(told), "the page says {told}");
    }
    bench.ok(&["verify"]);
}

#[test]
fn what_is_too_warm_or_cannot_be_is_called_and_a_cut_step_is_told() {
    let shop = shop(&plan(FAST), "");
    let bench = &shop.bench;
    bench.ok(&["run-in", "start", "spindle/run-in"]);
    bench.ok(&["record", "spindle/run-in", "room=21.0", "front=22"]);
    for value in ["front=200", "front=warm", "rear=30", "room=-40"] {
        let refused = bench.refused(2, &["record", "spindle/run-in", value]);
        assert!(refused.contains("nothing was written"), "{refused}");
    }
    shop.send([200.0]);
    bench.until("the alert", || bench.ok(&["alerts"]).contains("no spindle has that"));
    shop.send([61.0, 61.5]);
    bench
        .until("too warm", || bench.ok(&["alerts"]).contains("front is at 61 °C, more than 60 °C"));
    assert!(bench.ok(&["alerts"]).contains("Stop the spindle by hand"));
    let said = bench.ok(&["run-in", "end"]);
    assert!(said.contains("DOES NOT CONFORM. 40.5"), "{said}");
    assert!(said.contains("The step at 2000 rpm was not run."), "{said}");
    let reasons = shop.verdict()["reasons"].clone();
    assert!(reasons.as_array().unwrap().contains(&json!("cut-short")), "{reasons}");
    assert!(bench.refused(2, &["record", "spindle/run-in", "room=21"]).contains("not under way"));
}

#[test]
fn it_goes_on_after_a_restart_and_says_what_it_missed() {
    let mut shop = shop(&plan(&FAST.replace("gap = 0.05", "gap = 0.02")), "");
    shop.bench.ok(&["run-in", "start"]);
    shop.bench.ok(&["record", "spindle/run-in", "room=21.0"]);
    shop.send(ramp(21.0, 23.0, 5));
    shop.bench.stop();
    std::thread::sleep(Duration::from_secs(2));
    shop.bench.start();
    shop.bench.until_gauge("probe", "live");
    let bench = &shop.bench;
    bench.until("it is told", || {
        bench.ok(&["alerts"]).contains("the run-in goes on; nothing was written down for")
    });
    bench.ok(&["run-in", "step"]);
    shop.send(ramp(24.0, 25.0, 13));
    bench.ok(&["run-in", "step"]);
    shop.send(std::iter::repeat_n(25.2, 13));
    bench.ok(&["run-in", "end"]);
    let verdict = shop.verdict();
    // The gap is early and far below the limit: it hides nothing.
    assert_eq!(verdict["verdict"], "conforms", "{verdict}");
    assert_eq!(verdict["figures"]["run_in"]["gaps"][0]["hides"], false, "{verdict}");
    assert!(verdict["advice"].to_string().contains("It hides nothing"), "{verdict}");
    bench.ok(&["verify"]);
}

#[test]
fn a_sensor_that_falls_silent_is_called_and_a_step_that_is_over_is_told() {
    let shop = shop(&plan(&FAST.replace("gap = 0.05", "gap = 0.02")), "");
    let bench = &shop.bench;
    bench.ok(&["run-in", "start"]);
    shop.send([21.0, 21.2]);
    bench.until("silence", || bench.ok(&["alerts"]).contains("no temperature of front for"));
    bench.until("the step", || bench.ok(&["alerts"]).contains("Set 2000 rpm by hand"));
    let kinds: Vec<Value> =
        bench.lines(&["alerts"]).iter().map(|one| one["kind"].clone()).collect();
    assert!(
        kinds.contains(&json!("sensor-lost")) && kinds.contains(&json!("step-due")),
        "{kinds:?}"
    );
    shop.send([21.4]);
    let over = |one: &Value| one["kind"] == "sensor-lost" && !one["cleared_at"].is_null();
    bench.until("it is well", || bench.lines(&["alerts"]).iter().any(over));
}

#[test]
fn a_loggers_file_is_a_whole_run_in_of_thirty_minutes() {
    let more = "[[drop]]\nname = \"logger\"\nfolder = \"{dir}/drop\"\ngauge = \"probe\"\ntags = \"name\"\n\
                columns = { value = \"C\", time = \"Time\", position = \"Place\" }\n";
    let whole = "steps = [{ speed = 1000, minutes = 10 }, { speed = 2000, minutes = 20 }]\nmax_rise = \"15 C\"\n\
                 max_rate = \"2 C\"\nsteady = { change = \"0.5 C\", minutes = 10 }";
    let shop = shop(&plan(whole), more);
    let bench = &shop.bench;
    let mut rows = "Time,Place,C\n".to_owned();
    for minute in 0..=30_u32 {
        // 20 °C, and 10 °C more with a time constant of five minutes.
        let warm = 20.0 + 10.0 * (1.0 - (-f64::from(minute) / 5.0).exp());
        writeln!(rows, "2027-03-01T10:{minute:02}:00Z,0,{warm:.1}").unwrap();
        if minute % 10 == 0 {
            writeln!(rows, "2027-03-01T10:{minute:02}:00Z,1,20.0").unwrap();
        }
    }
    bench.drop_file("J__spindle__run-in.csv", &rows);
    let verdict = bench.verdict("J", 1);
    // 10·(1 − e^−6) = 9.975, read as 30.0 − 20.0.
    assert_eq!(
        (&verdict["value"], &verdict["verdict"]),
        (&json!("10"), &json!("conforms")),
        "{verdict}"
    );
    assert!(verdict["advice"].to_string().contains("taken from the plan"), "{verdict}");
    assert_eq!(verdict["figures"]["run_in"]["steps"][1]["ran_min"], 20.0, "{verdict}");
    bench.ok(&["verify"]);
    // The same with a hole in its last ten minutes cannot show that it is steady.
    let cut = |row: &&str| !(22..=28).any(|minute| row.contains(&format!("10:{minute}:00")));
    let hole = rows.lines().filter(cut).collect::<Vec<_>>().join("\n") + "\n";
    bench.drop_file("J__spindle__run-in again.csv", &hole);
    let verdict = bench.verdict("J", 2);
    assert_eq!(
        (&verdict["verdict"], &verdict["reasons"]),
        (&json!("undecided"), &json!(["gap-in-log"])),
        "{verdict}"
    );
    assert!(
        verdict["advice"].to_string().contains("No reading of front for 8 min from 21 min on"),
        "{verdict}"
    );
}

#[test]
fn a_plan_that_cannot_be_run_in_is_told_so() {
    let wrong = [
        (plan(&FAST.replace("max_rise = \"15 C\"\n", "")), "max_rise"),
        (
            plan(&FAST.replace("minutes = 0.02 }]", "minutes = 0 }]")),
            "no number of minutes above zero",
        ),
        (plan(&FAST.replace("15 C", "15 mm")), "is not in C"),
        (plan(&FAST.replace("max = \"60 C\"", "max = \"160 C\"")), "below the ceiling"),
        (plan(FAST).replace("probe", "oven"), "oven"),
        (plan(&FAST.replace("change = \"0.5 C\", ", "")), "change"),
    ];
    for (plan, told) in wrong {
        let bench = Bench::new(&Make { gauge: GAUGE, more: PROBE, plan: &plan });
        let out = bench.run(&["config", "check"]);
        let text = String::from_utf8_lossy(&out.stdout) + String::from_utf8_lossy(&out.stderr);
        assert!(!out.status.success() && text.contains(told), "{told}: {text}");
    }
}
