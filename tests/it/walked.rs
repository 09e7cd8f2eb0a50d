//! Readings that walk while a part is touched, through the real program: an even drift that is taken out, one
//! that is not, and what the order of touches tells of a round that did not close. The readings are invented;
//! expected figures are worked out beside them with a pocket calculator, in millionths of an inch.

use std::fmt::Write;

use serde_json::{Value, json};

use crate::rig::{Bench, Make};

/// 0.00001 in readout, s 0.000006 in, u 0.0000084 in.
const GAUGE: &str = "unit = \"in\"\nresolution = \"0.00001 in\"\nuncertainty = \"0.0000084 in\"\n\
                     repeatability = \"0.000006 in\"\nrepeat_ms = 0\nmax_rate = 0\n";

const DROP: &str = "[[drop]]\nname = \"logger\"\nfolder = \"{dir}/drop\"\ngauge = \"plate\"\ntags = \"active\"\n\
                    columns = { value = \"Value\", position = \"Pos\", time = \"Time\" }\nquiet_ms = 300\n";

fn started(keys: &str) -> Bench {
    let plan = format!(
        "name = \"held\"\nunit = \"in\"\n[[part]]\nname = \"ring\"\nkind = \"spacer\"\n[[part.check]]\n\
         name = \"face\"\ngauge = \"plate\"\nsetup = \"plate\"\nmoves = \"stand\"\n{keys}\n"
    );
    let mut bench = Bench::new(&Make { gauge: GAUGE, more: DROP, plan: &plan });
    bench.start();
    bench.ok(&["job", "open", "s1", "--plan", "held"]);
    bench.ok(&["measure", "ring/face"]);
    bench
}

const RING: &str =
    "measures = \"parallelism\"\npositions = 8\nradius = \"1.5 in\"\ntolerance = \"0.0001 in\"";

/// Touches one by one, as a person paces them.
fn touch(bench: &Bench, microinches: &[i32]) {
    let texts: Vec<String> =
        microinches.iter().map(|one| format!("{:.5}", f64::from(*one) / 1e6)).collect();
    let texts: Vec<&str> = texts.iter().map(String::as_str).collect();
    bench.touches(&bench.plate, "plate", &texts);
}

fn newest(bench: &Bench, count: usize) -> Value {
    bench.verdict("s1", count)
}

#[track_caller]
fn near(value: &Value, millionths: f64, within: f64) {
    let found = value.as_str().unwrap().parse::<f64>().unwrap() * 1e6;
    assert!((found - millionths).abs() <= within, "{found} is not {millionths}");
}

fn says(verdict: &Value, sentence: &str) -> bool {
    verdict["advice"].as_array().unwrap().iter().any(|one| one == sentence)
}

fn open(bench: &Bench) -> Vec<(String, String, String)> {
    let alerts = bench.lines(&["alerts", "s1"]);
    let open = alerts.iter().filter(|alert| alert["cleared_at"].is_null());
    let text = |alert: &Value, key: &str| alert[key].as_str().unwrap().to_owned();
    open.map(|alert| (text(alert, "kind"), text(alert, "level"), text(alert, "text"))).collect()
}

/// The example of the trade: readings that climb with the time, not with the part.
#[test]
fn a_zero_that_climbed_is_not_judged_and_its_sign_is_told() {
    let bench = started(&format!("{RING}\nmaster = \"both\"\nmaster_size = \"1.5000 in\""));
    touch(&bench, &[0, 10, 10, 30, 40, 40, 60, 70, 70, 80]);
    let first = newest(&bench, 1);
    assert_eq!(
        (&first["verdict"], &first["reasons"]),
        (&json!("undecided"), &json!(["not-closed"]))
    );
    assert_eq!(first["simple"], "conforms");
    near(&first["value"], 60.0, 0.001);
    near(&first["figures"]["closure"], 70.0, 0.001);
    let asked = "ring/face: Came back 0.00007 different at 0. Touch 0 once more.";
    assert!(open(&bench).iter().any(|(.., text)| text == asked), "{:?}", open(&bench));
    touch(&bench, &[80, 80]);
    bench.until("the master", || {
        newest(&bench, 1)["reasons"] == json!(["not-closed", "zero-moved"])
    });
    let last = newest(&bench, 1);
    assert_eq!(last["verdict"], "undecided");
    near(&last["figures"]["zero_walk"], 80.0, 0.001);
    for sentence in [
        "Position 0 came back 0.00007 higher: readings climbed, early positions are low.",
        "The master came back 0.00008 higher: readings climbed, early positions are low.",
    ] {
        assert!(says(&last, sentence), "{sentence}: {last}");
    }
    // In a hurry the line is one in the order of touches: the master, eight positions, position 0, the master,
    // so 80·k/10 out of 10, 10, 30 …: 2, −6, 6, 8, 0, 12, 14, 6.
    near(&last["figures"]["without_drift"], 20.0, 0.001);
    let told = "Had all of it been an even drift, it would be 0.00002. That is shown, not judged.";
    assert!(says(&last, told), "{last}");
    assert!(bench.ok(&["report", "s1"]).contains(told));
    assert!(
        bench
            .ok(&["verdicts", "s1", "--csv"])
            .lines()
            .next()
            .unwrap()
            .contains("figures.without_drift")
    );
    bench.ok(&["verify"]);
}

/// Nine steps from position 0 to its return, the touch in the middle at the fourth of them.
#[test]
fn an_even_drift_is_taken_out_where_position_0_was_touched_half_way_round() {
    let bench = started(&format!("{RING}\nmiddle = true"));
    touch(&bench, &[0, 10, 40, 10]);
    let status = bench.status().unwrap();
    assert_eq!(status["stations"][0]["next"], "middle", "{status}");
    touch(&bench, &[20, 20, 20, 0, 30, 40]);
    let verdict = newest(&bench, 1);
    assert_eq!(verdict["reasons"], json!([]), "{verdict}");
    // The highest at 2/9, the lowest at 7/9 of the drift: 40 + 40·5/9 = 62.2.
    near(&verdict["value"], 62.22, 0.01);
    // 2·√(2·8.4² + 2·6²·(5/9)² + 1.5·6²/3) = 2·√(141.12 + 22.22 + 18) = 26.93.
    near(&verdict["uncertainty"], 26.93, 0.01);
    near(&verdict["figures"]["drift"], 40.0, 0.001);
    near(&verdict["figures"]["as_read"], 40.0, 0.001);
    assert!(says(
        &verdict,
        "Readings climbed evenly by 0.00004: taken out. As read it is 0.00004."
    ));
    let states: Vec<Value> = bench.readings("s1").iter().map(|one| one["state"].clone()).collect();
    assert_eq!((&states[4], &states[9]), (&json!("middle"), &json!("closure")));
    assert!(open(&bench).is_empty(), "{:?}", open(&bench));
    bench.ok(&["verify"]);
}

#[test]
fn a_step_half_way_round_is_no_even_drift() {
    let bench = started(&format!("{RING}\nmiddle = true\nodds = 1000000"));
    touch(&bench, &[0, 0, 0, 0, 40, 40, 40, 40, 40, 40]);
    let verdict = newest(&bench, 1);
    assert_eq!(
        (&verdict["verdict"], &verdict["reasons"]),
        (&json!("undecided"), &json!(["not-closed"]))
    );
    assert!(verdict["figures"]["drift"].is_null());
}

/// A file says when each value was taken: 20 s apart, 180 s in all, 40 µin climb: 13.3 a minute.
#[test]
fn a_rate_is_told_a_minute_where_the_times_are_known() {
    let bench = started(&format!("{RING}\nmiddle = true"));
    let rows =
        [(0, 0), (1, 10), (2, 40), (3, 10), (0, 20), (4, 20), (5, 20), (6, 0), (7, 30), (0, 40)];
    let mut file = "Value,Pos,Time\n".to_owned();
    for (touch, (position, height)) in rows.iter().enumerate() {
        let (minute, second) = (touch * 20 / 60, touch * 20 % 60);
        let height = f64::from(*height) / 1e6;
        writeln!(file, "{height:.5},{position},2026-03-02T08:{minute:02}:{second:02}Z").unwrap();
    }
    bench.until("watched", || bench.drop_line("logger")["state"] == "watching");
    bench.drop_file("ring.csv", &file);
    let verdict = newest(&bench, 1);
    near(&verdict["figures"]["drift"], 40.0, 0.001);
    let said =
        "Readings climbed evenly by 0.00004, 0.000013 a minute: taken out. As read it is 0.00004.";
    assert!(says(&verdict, said), "{verdict}");
}

/// Over eight minutes: the file says when.
#[test]
fn a_ring_that_walks_for_minutes_says_so_and_is_written_down() {
    let bench = started(&format!("{RING}\nmiddle = true"));
    let rows =
        [0, -10, -10, -20, -30, -30, -40, -50, -50, -60].iter().zip([0, 1, 2, 3, 0, 4, 5, 6, 7, 0]);
    let mut file = "Value,Pos,Time\n".to_owned();
    for (minute, (height, position)) in rows.enumerate() {
        let height = f64::from(*height) / 1e6;
        writeln!(file, "{height:.5},{position},2026-03-02T08:{minute:02}:00Z").unwrap();
    }
    bench.until("watched", || bench.drop_line("logger")["state"] == "watching");
    bench.drop_file("ring.csv", &file);
    let verdict = newest(&bench, 1);
    assert_eq!(verdict["reasons"], json!([]), "{verdict}");
    let said = "Readings fall by 0.000007 a minute: the part still shrinks, or the gauge drifts.";
    assert!(says(&verdict, said), "{verdict}");
    let log = open(&bench).into_iter().find(|(kind, ..)| kind == "warm").unwrap();
    assert_eq!(log.1, "log");
}

/// A wedge of 60 with a saddle of 20, touched by a steady hand; the stand is bumped by 200.
const BUMPED: [i32; 9] = [30, 30, 10, -10, 170, 160, 200, 210, 230];

#[test]
fn a_stand_that_was_bumped_is_named_by_its_place() {
    let bench = started(RING);
    touch(&bench, &BUMPED);
    let verdict = newest(&bench, 1);
    assert_eq!(verdict["reasons"], json!(["not-closed"]));
    let said = "Something moved between 3 and 4. Go round again.";
    assert!(says(&verdict, said), "{verdict}");
    let call =
        ("not-closed", "interrupt", "ring/face: something moved between 3 and 4. Go round again.");
    let call = (call.0.to_owned(), call.1.to_owned(), call.2.to_owned());
    assert_eq!(open(&bench), [call]);
    // A round that closes ends it.
    bench.ok(&["remeasure", "again"]);
    touch(&bench, &[30, 30, 10, -10, -30, -40, 0, 10, 30]);
    bench.until("the second", || bench.lines(&["verdicts", "s1"]).len() > 1);
    assert!(open(&bench).is_empty(), "{:?}", open(&bench));
}

#[test]
fn a_gauge_zeroed_after_the_first_touch_is_told_and_one_touch_mends_it() {
    let bench = started(RING);
    touch(&bench, &[4510, 0, -20, -40, -60, -60, -30, -10, 0]);
    let verdict = newest(&bench, 1);
    assert_eq!(verdict["reasons"], json!(["not-closed"]));
    let said = "Zeroed after the first touch? Touch position 0 again: that touch counts.";
    assert!(says(&verdict, said), "{verdict}");
    assert_eq!(bench.status().unwrap()["stations"][0]["next_position"], 0);
    touch(&bench, &[0]);
    bench.until("mended", || newest(&bench, 1)["reasons"] == json!([]));
    let verdict = newest(&bench, 1);
    assert_eq!((&verdict["verdict"], &verdict["reasons"]), (&json!("conforms"), &json!([])));
    near(&verdict["value"], 60.0, 0.001);
}

/// Noise, forms and returns of good work: nobody is called.
#[test]
fn good_rounds_call_nobody() {
    let bench = started(RING);
    for (round, ring) in [
        [0, 20, 30, 30, 20, 10, -10, -10, 10],
        [20, 30, 10, -10, -20, -10, 0, 10, 10],
        [0, 10, 0, 10, 0, 0, 10, 0, 20],
    ]
    .iter()
    .enumerate()
    {
        if round > 0 {
            bench.ok(&["remeasure", "ground"]);
        }
        touch(&bench, ring);
        bench.until("judged", || bench.lines(&["verdicts", "s1"]).len() > round);
        let calls = open(&bench).into_iter().filter(|(_, level, _)| level == "interrupt");
        assert_eq!(calls.count(), 0, "{round}");
    }
}

#[test]
fn the_plan_is_told_where_a_touch_in_the_middle_changes_nothing() {
    let bench = started(&format!("{RING}\nclosure = false\nmiddle = true"));
    let output = bench.run(&["config", "check"]);
    let said = String::from_utf8(output.stdout).unwrap();
    assert!(said.contains("middle changes nothing where nothing is touched again"), "{said}");
}
