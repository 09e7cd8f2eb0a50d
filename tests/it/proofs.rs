//! A gauge is proved through the real program: ten lifts on one spot and a step of two blocks, by its own
//! line and keyed in. Readings are invented; expected figures are worked out by hand beside them.

use serde_json::{Value, json};

use std::time::Duration;

use crate::rig::{Bench, Make, RING_PLAN};
use crate::watch::Terminal;

const GAUGE: &str = "unit = \"in\"\nresolution = \"0.00001 in\"\nrepeat_ms = 0\nmax_rate = 0";

/// The ten lifts of scenario S16, in counts of 0.00001 in: mean 0.8 counts, s = √(3.6/9) = 0.632 counts.
const LIFTS: [i32; 10] = [1, 0, 1, 2, 1, 0, 1, 1, 0, 1];

fn bench(gauge: &str, more: &str) -> Bench {
    let mut bench = Bench::new(&Make { gauge, more, plan: RING_PLAN });
    bench.start();
    bench.until_gauge("plate", "live");
    bench
}

/// A reading of so many counts as the gauge sends it.
fn counts(count: i32) -> String {
    format!("{}0.{:05}", if count < 0 { '-' } else { '+' }, count.abs())
}

fn all(step: i32, back: i32) -> Vec<String> {
    LIFTS.into_iter().chain([step, back]).map(counts).collect()
}

fn send(bench: &Bench, readings: &[String]) {
    let texts: Vec<&str> = readings.iter().map(String::as_str).collect();
    bench.touches(&bench.plate, "plate", &texts);
}

/// Proves the gauge by keyed values; the reply to the last of them.
fn keyed(bench: &Bench, arguments: &[&str], readings: &[String]) -> Value {
    let mut prove = vec!["prove", "plate"];
    prove.extend(arguments);
    bench.ok(&prove);
    let mut enter = vec!["enter"];
    enter.extend(readings.iter().map(String::as_str));
    bench.lines(&enter).remove(0)
}

#[test]
fn ten_lifts_and_a_step_from_the_gauges_own_line_prove_it_and_no_reading_goes_to_the_check() {
    let mut bench = bench(GAUGE, "");
    bench.ok(&["job", "open", "s1", "--plan", "held"]);
    bench.ok(&["measure", "ring/face"]);
    bench.touches(&bench.plate, "plate", &["+0.00100"]);
    let begun = bench.lines(&["prove", "plate"]).remove(0);
    assert_eq!(begun["schema"], "proving/1");
    assert_eq!(
        (&begun["next"], &begun["lift"], &begun["of"]),
        (&json!("lift"), &json!(1), &json!(12))
    );
    assert_eq!(begun["waits"], "ring/face");
    let refused = bench.refused(2, &["next"]);
    assert!(refused.contains("plate is being proved at bench"), "{refused}");
    send(&bench, &all(101, 1)[..4]);
    // A touch that slipped is taken back, and its lift is asked for again; a restart changes nothing.
    let back = bench.lines(&["void", "--why", "slipped"]).remove(0);
    assert_eq!((&back["taken"], &back["lift"]), (&json!(3), &json!(4)));
    bench.stop();
    bench.start();
    bench.until_gauge("plate", "live");
    send(&bench, &all(101, 1)[3..]);
    let placed = bench.placed("s1");
    assert_eq!(placed.len(), 1, "the touch of the ring alone");
    let loose = bench.lines(&["readings", "--gauge", "plate"]);
    let its: Vec<&Value> = loose.iter().filter(|reading| reading["job"].is_null()).collect();
    assert_eq!(its.len(), 13);
    assert_eq!(its[3]["state"], "void");
    assert_eq!(its[3]["why"], "slipped");
    let history = bench.lines(&["gauge", "show", "plate"]);
    let proof = &history[0]["proofs"][0];
    assert_eq!(proof["proven"], true, "{proof}");
    assert_eq!((&proof["s"], &proof["df"]), (&json!("0.00000632"), &json!(9)));
    assert_eq!((&proof["read"], &proof["off"]), (&json!("0.001001"), &json!("0.000001")));
    assert_eq!(proof["readings"].as_array().unwrap().len(), 12);
    // The ring goes on where it was.
    send(&bench, &["+0.00100".to_owned()]);
    assert_eq!(bench.placed("s1").len(), 2);
    bench.ok(&["verify"]);
}

#[test]
fn each_fault_of_a_set_up_is_named_with_what_to_do() {
    let bench = bench(GAUGE, "");
    let faults = |step: i32, back: i32| {
        let reply = keyed(&bench, &[], &all(step, back));
        let result = &reply["result"];
        assert_eq!(result["proven"], false, "{reply}");
        (result["faults"].clone(), reply["text"].as_str().unwrap().to_owned())
    };
    let (found, said) = faults(-99, 1);
    assert_eq!(found, json!(["sign"]));
    assert!(said.contains("SIGN is wrong") && said.contains("sign = \"-\""), "{said}");
    let (found, said) = faults(2541, 1);
    assert_eq!(found, json!(["unit"]));
    assert!(said.contains("25.4") && said.contains("unit = \"mm\""), "{said}");
    let (found, said) = faults(105, 1);
    assert_eq!(found, json!(["lever-angle"]));
    // The step reads 1041/1000: the angle whose cosine is 1/1.041 is 16 degrees.
    assert!(said.contains("leans by 16 degrees") && said.contains("lever_angle = 16"), "{said}");
    let (found, said) = faults(1001, 1);
    assert_eq!(found, json!(["places"]));
    assert!(said.contains("10 times as much"), "{said}");
    let (found, said) = faults(1, 1);
    assert_eq!(found, json!(["does-not-follow"]));
    assert!(said.contains("not on hold"), "{said}");
    let (found, said) = faults(96, 1);
    assert_eq!(found, json!(["reads-short"]));
    assert!(said.contains("wring both blocks"), "{said}");
    let (found, said) = faults(103, 7);
    assert_eq!(found, json!(["moved"]));
    assert!(said.contains("0.000062 in different"), "{said}");
    let mut chip = all(101, 1);
    chip[6] = counts(30);
    let reply = keyed(&bench, &[], &chip);
    assert_eq!(reply["result"]["stands_off"], 7, "{reply}");
    let open = bench.lines(&["alerts"]);
    let told = open.iter().filter(|alert| alert["kind"] == "not-proven").count();
    assert_eq!(told, 8, "each was told");
    let reply = keyed(&bench, &[], &all(101, 1));
    assert_eq!(reply["result"]["proven"], true, "{reply}");
    let open = bench.lines(&["alerts"]);
    assert!(
        open.iter().all(|alert| !alert["cleared_at"].is_null()),
        "a good proof ends them: {open:?}"
    );
    assert_eq!(bench.lines(&["gauge", "show", "plate"])[0]["proofs"].as_array().unwrap().len(), 9);
}

#[test]
fn a_proof_that_is_given_up_is_kept_and_bad_input_is_refused_with_a_sentence() {
    let bench = bench(GAUGE, "");
    let said = bench.refused(2, &["prove", "plat"]);
    assert!(
        said.contains("there is no gauge \"plat\"") && said.contains("did you mean plate"),
        "{said}"
    );
    let said = bench.refused(2, &["prove", "plate", "--step", "0"]);
    assert!(said.contains("a step of 0 is no step"), "{said}");
    let said = bench.refused(2, &["prove", "plate", "--step", "much"]);
    assert!(said.contains("the step:"), "{said}");
    let said = bench.refused(2, &["prove", "plate", "--blocks", "b1", "b2"]);
    assert!(said.contains("there is no block \"b1\" in the register"), "{said}");
    let said = bench.refused(2, &["prove", "plate", "--stop"]);
    assert!(said.contains("plate is not being proved"), "{said}");
    bench.ok(&["prove", "plate"]);
    let said = bench.refused(2, &["prove", "plate"]);
    assert!(said.contains("being proved at bench already: 0 of 12"), "{said}");
    bench.ok(&["enter", "0.00001", "0.00002"]);
    let said = bench.refused(2, &["enter", "0.000001"]);
    assert!(said.contains("finer than plate shows"), "{said}");
    let reply = bench.lines(&["prove", "plate", "--stop", "--why", "phone"]).remove(0);
    let result = &reply["result"];
    assert_eq!((&result["ending"], &result["why"]), (&json!("given-up"), &json!("phone")));
    assert_eq!(
        (&result["proven"], result["readings"].as_array().unwrap().len()),
        (&json!(false), 2)
    );
    assert!(reply["text"].as_str().unwrap().contains("was given up (phone)"), "{reply}");
}

/// Scenario S16: twenty days of a check master, in counts.
const DAYS: [i32; 20] = [0, 1, 0, -1, 0, 1, 1, 0, -1, 0, 0, 1, 0, 0, -1, 0, 1, 0, 0, -1];

#[test]
fn twenty_days_of_a_check_master_chart_it_and_a_day_off_stops_the_work() {
    let bench = bench(GAUGE, "");
    let first = keyed(&bench, &[], &all(101, 1));
    assert_eq!(first["result"]["s"], "0.00000632", "S16: s of the ten lifts");
    let day = |off: i32| {
        let step = [counts(0), counts(100 + off), counts(0)];
        keyed(&bench, &["--step-only", "--blocks", "b-1000", "b-1001"], &step)
    };
    for (name, size) in [("b-1000", "0.1000 in"), ("b-1001", "0.1010 in")] {
        bench.ok(&["register", "block", name, "--size", size, "--uncertainty", "0.000002 in"]);
    }
    for off in DAYS {
        let reply = day(off);
        assert_eq!(
            (&reply["result"]["proven"], &reply["result"]["off_chart"]),
            (&json!(true), &json!([]))
        );
    }
    let today = day(4);
    assert_eq!(today["result"]["off_chart"], json!(["check-master"]), "{today}");
    let said = today["text"].as_str().unwrap();
    assert!(
        said.contains("CHECK MASTER OFF with plate: +0.000040 in is beyond the 3-sigma line"),
        "{said}"
    );
    assert!(said.contains("judge no parts"), "{said}");
    let chart = &bench.lines(&["gauge", "show", "plate"])[0]["check_master"];
    // S16: centre 0.0000005, sigma 0.000007 (mean moving range 15/19 over 1.128). The limits are 3 sigma,
    // widened by √1.05 for a centre from twenty days: 0.0000215 there, from 0.0000005.
    assert_eq!((&chart["centre"], &chart["sigma"]), (&json!("0.0000005"), &json!("0.000007")));
    let high: f64 = chart["high"].as_str().unwrap().parse().unwrap();
    assert!((high - (0.5e-6 + 3.0 * 1.05_f64.sqrt() * 7.0e-6)).abs() < 3e-8, "{chart}");
    let open = bench.lines(&["alerts", "--state", "open"]);
    assert!(
        open.iter()
            .any(|alert| alert["kind"] == "check-master-off" && alert["level"] == "interrupt")
    );
    let said = bench.run(&["status"]);
    let said = String::from_utf8(said.stdout).unwrap();
    assert!(said.contains("to do: plate left the limits of its chart"), "{said}");
    let drawn = bench.ok(&["gauge", "show", "plate"]);
    assert!(drawn.contains("OFF ITS CHART") && drawn.contains("0.000040 |"), "{drawn}");
    let row = drawn.lines().find(|line| line.trim_start().starts_with("0.000040 |")).unwrap();
    assert!(row.ends_with('X'), "{drawn}");
    // Twenty-one points, the last one off; eleven lie on the centre line, as S16 counts them.
    let on = drawn.lines().find(|line| line.trim_start().starts_with("0.000000 |-")).unwrap();
    assert_eq!(on.matches('o').count(), 11, "{drawn}");
    let picture = bench.path("plate.svg");
    bench.ok(&["gauge", "show", "plate", "--svg", picture.to_str().unwrap()]);
    let picture = std::fs::read_to_string(picture).unwrap();
    // One point of the ten lifts, twenty of good days, and a cross for the day that is off.
    assert_eq!((picture.matches("<circle").count(), picture.matches("<path").count()), (21, 1));
    day(0);
    assert!(bench.lines(&["alerts", "--state", "open"]).is_empty(), "a good day ends it");
    bench.ok(&["verify"]);
}

fn measured(bench: &Bench) -> Value {
    bench.ok(&["enter", "0", "0.00001", "0.00002", "0.00002", "0.00001", "0", "0", "0", "0"]);
    bench.lines(&["verdicts", "s1"]).last().cloned().unwrap()
}

#[test]
fn a_gauge_that_was_never_proved_is_told_before_the_check_on_the_verdict_and_in_the_status() {
    let bench = bench(GAUGE, "");
    bench.ok(&["job", "open", "s1", "--plan", "held"]);
    let begun = bench.lines(&["measure", "ring/face"]).remove(0);
    let said = begun["gauge_says"].as_str().unwrap();
    assert_eq!(said, "plate was never proved. `tenths prove plate` proves it.");
    let verdict = measured(&bench);
    assert_eq!(verdict["reasons"], json!([]));
    assert!(verdict["advice"].to_string().contains("plate was never proved."), "{verdict}");
    let status = bench.status().unwrap();
    assert_eq!(status["healthy"], true, "it is work, not an outage");
    assert_eq!(
        (&status["work"][0]["kind"], &status["work"][0]["what"]),
        (&json!("prove"), &json!("plate"))
    );
    keyed(&bench, &[], &all(101, 1));
    assert_eq!(bench.status().unwrap()["work"], json!([]));
    let begun = bench.lines(&["remeasure", "again"]).remove(0);
    assert!(begun["gauge_says"].is_null(), "{begun}");
    let verdict = measured(&bench);
    // Its earlier try counts too, and its gauge was not proven.
    assert!(verdict["advice"].to_string().contains("plate was never proved."), "{verdict}");
    bench.ok(&["remeasure", "ground"]);
    let verdict = measured(&bench);
    assert!(!verdict["advice"].to_string().contains("proved"), "{verdict}");
    keyed(&bench, &[], &all(-99, 1));
    let begun = bench.lines(&["remeasure", "ground"]).remove(0);
    assert!(begun["gauge_says"].as_str().unwrap().starts_with("The last proof of plate failed."));
    bench.ok(&["verify"]);
}

#[test]
fn where_the_bench_says_so_an_unproven_gauge_withholds_its_verdicts() {
    let mut bench = Bench::new(&Make { gauge: GAUGE, more: "", plan: RING_PLAN });
    let config = bench.path("bench.toml");
    let text = std::fs::read_to_string(&config).unwrap();
    let withhold = text.replace("[bench]", "[bench]\nunproven = \"withhold\"\nproof_days = 7");
    std::fs::write(&config, withhold).unwrap();
    bench.start();
    bench.ok(&["job", "open", "s1", "--plan", "held"]);
    let begun = bench.lines(&["measure", "ring/face"]).remove(0);
    assert!(begun["gauge_says"].as_str().unwrap().contains("verdicts are withheld"), "{begun}");
    let verdict = measured(&bench);
    assert_eq!(
        (&verdict["verdict"], &verdict["reasons"]),
        (&json!("undecided"), &json!(["unproven"]))
    );
    assert_eq!(verdict["guarded"], "conforms");
    keyed(&bench, &[], &all(101, 1));
    bench.ok(&["remeasure", "ground"]);
    let verdict = measured(&bench);
    assert_eq!((&verdict["verdict"], &verdict["reasons"]), (&json!("conforms"), &json!([])));
    // Set up the other way round, the proof says nothing of it any more.
    let turned = std::fs::read_to_string(&config).unwrap();
    let turned = turned.replace("repeat_ms = 0", "sign = \"-\"\nrepeat_ms = 0");
    std::fs::write(&config, turned).unwrap();
    bench.signal(rustix::process::Signal::HUP);
    bench.until("the new configuration", || bench.status().unwrap()["work"] != json!([]));
    let begun = bench.lines(&["remeasure", "ground", "ring/face"]).remove(0);
    assert!(begun["gauge_says"].as_str().unwrap().contains("set up differently"), "{begun}");
    std::fs::write(&config, text.replace("[bench]", "[bench]\nunproven = \"perhaps\"")).unwrap();
    let found = bench.run(&["config", "check"]);
    let found = String::from_utf8(found.stdout).unwrap();
    assert!(found.contains("unproven") && found.contains("withhold"), "{found}");
    bench.ok(&["verify"]);
}

#[test]
fn the_register_keeps_every_entry_and_refuses_bad_input_with_a_sentence() {
    let bench = bench(&format!("{GAUGE}\nserial = \"A1\""), "");
    let refused = |arguments: &[&str], said: &str| {
        let told = bench.refused(2, &[&["register"], arguments].concat());
        assert!(told.contains(said), "{arguments:?}: {told}");
    };
    refused(&["gauge", "plat"], "there is no gauge \"plat\" on this bench");
    refused(&["block", "b-1", "--due", "soon"], "the next date \"soon\" is no day");
    refused(&["block", "b-1", "--dated", "2026-02-30"], "the date \"2026-02-30\" is no day");
    refused(
        &["block", "b-1", "--dated", "2027-03-01", "--due", "2026-03-01"],
        "lies before the date",
    );
    refused(&["block", "b-1", "--size", "0"], "a size of 0 is no size");
    refused(&["block", "b-1", "--size", "big"], "the size:");
    refused(&["block", "b-1", "--size", "1 in", "--uncertainty", "-0.00001"], "less than zero");
    refused(
        &["block", "b-1", "--size", "1 in", "--uncertainty", "0.1 in"],
        "more than a hundredth",
    );
    refused(&["retire", "b-1", "--why", "gone"], "nothing in use is registered as \"b-1\"");
    let first = [
        "register",
        "block",
        "b-1",
        "--serial",
        "S1",
        "--size",
        "0.1000 in",
        "--expanded",
        "0.000003 in",
    ];
    let entry = bench.lines(&first).remove(0);
    // Half of the certificate's U.
    assert_eq!((&entry["uncertainty"], &entry["unit"]), (&json!("0.0000015"), &json!("in")));
    refused(&["bar", "b-1"], "b-1 is registered as a block already");
    // A new certificate of the same block keeps its size; another serial number keeps nothing.
    let again = bench
        .lines(&["register", "block", "b-1", "--certificate", "C2", "--due", "2099-03-01"])
        .remove(0);
    assert_eq!((&again["size"], &again["due"]), (&json!("0.1000"), &json!("2099-03-01")));
    let other = bench.lines(&["register", "block", "b-1", "--serial", "S2"]).remove(0);
    assert_eq!((&other["size"], &other["certificate"]), (&json!(null), &json!(null)));
    bench.ok(&["register", "retire", "b-1", "--why", "dropped"]);
    assert_eq!(bench.lines(&["register", "show", "b-1"]).len(), 4);
    let listed = bench.lines(&["register"]);
    assert_eq!((listed.len(), &listed[0]["retired"]), (1, &json!("dropped")));
    refused(&["retire", "b-1", "--why", "again"], "nothing in use");
    assert!(bench.ok(&["register"]).contains("OUT OF USE: dropped"));
    // Due within 30 days, and past: said in the status.
    bench.ok(&["register", "bar", "bar-3", "--due", "2020-01-01"]);
    let work = bench.status().unwrap()["work"].to_string();
    assert!(
        work.contains("The bar bar-3 is ") && work.contains("past its calibration date"),
        "{work}"
    );
    // Another gauge in its place: a new history, and bench.toml still names the old one.
    keyed(&bench, &[], &all(101, 1));
    assert!(!bench.status().unwrap()["work"].to_string().contains("plate"));
    bench.ok(&["register", "gauge", "plate", "--serial", "B2"]);
    let work = bench.status().unwrap()["work"].to_string();
    assert!(work.contains("one serial number in bench.toml and another in the register"), "{work}");
}

const LENGTH_PLAN: &str = r#"
name = "held"
unit = "in"
[[part]]
name = "ring"
kind = "spacer"
[[part.check]]
name = "length"
measures = "length"
gauge = "plate"
setup = "plate"
positions = 4
radius = "1.5 in"
min = "1.4990 in"
max = "1.5010 in"
master_name = "ring-1500"
temperature_between = 0.0
off_20 = 0.0
expansion_uncertainty = 0
"#;

#[test]
fn a_master_of_the_register_gives_its_size_and_its_uncertainty_to_a_length() {
    let gauge = format!("{GAUGE}\nuncertainty = \"0.0000084 in\"\nrepeatability = \"0.000006 in\"");
    let mut bench = Bench::new(&Make { gauge: &gauge, more: "", plan: LENGTH_PLAN });
    bench.start();
    bench.ok(&["job", "open", "s1", "--plan", "held"]);
    let said = bench.refused(2, &["measure", "ring/length"]);
    assert!(said.contains("master ring-1500 is not in the register"), "{said}");
    let register = |size: &str, u: &str| {
        bench.ok(&["register", "master", "ring-1500", "--size", size, "--uncertainty", u]);
    };
    let measured = |begin: &[&str]| {
        bench.ok(begin);
        bench.ok(&[
            "enter", "0.00000", "0.00010", "0.00010", "0.00010", "0.00010", "0.00010", "0.00000",
        ]);
        bench.lines(&["verdicts", "s1"]).last().cloned().unwrap()
    };
    register("1.500020 in", "0.000004 in");
    let first = measured(&["measure", "ring/length"]);
    assert_eq!(first["value"], "1.50012", "the registered size, and 0.0001 above it");
    register("1.500020 in", "0.000050 in");
    let second = measured(&["remeasure", "ground"]);
    let u = |verdict: &Value| verdict["uncertainty"].as_str().unwrap().parse::<f64>().unwrap();
    // Only the share of the master differs: U² = 4·(rest + u²).
    let grown = (u(&second).powi(2) - u(&first).powi(2)) / 4.0;
    let by_hand: f64 = 5e-5_f64.powi(2) - 4e-6_f64.powi(2);
    assert!((grown / by_hand - 1.0).abs() < 0.001, "{grown} {by_hand}");
    // What was judged stays as it was judged, and can be computed again.
    bench.ok(&["verify"]);
    bench.ok(&["register", "master", "ring-1500", "--due", "2020-01-01"]);
    let begun = bench.lines(&["remeasure", "ground"]).remove(0);
    assert!(begun["gauge_says"].as_str().unwrap().contains("ring-1500 is "), "{begun}");
    let third = measured(&["measure", "ring/length"]);
    assert_eq!(third["reasons"], json!(["overdue"]), "{third}");
}

#[test]
fn a_stream_proves_its_gauge_hands_free_and_the_screen_leads_from_touch_to_touch() {
    let gauge = format!(
        "{GAUGE}\ncapture = \"settle\"\ntravel = [\"-0.020 in\", \"0.020 in\"]\nrest = \"-0.0080 in\""
    );
    let bench = bench(&gauge, "");
    let screen = Terminal::with_watch(&bench, (80, 24), &[]);
    bench.ok(&["prove", "plate"]);
    let first = screen.until(&["plate: proof, 0 of 12 taken", "Lift 1 of 10"]);
    println!("{first}");
    let hold = |count: i32, ms: u64| {
        for sample in 0..ms / 20 {
            // A hand trembles by a count now and then.
            let shake = i32::from(sample % 5 == 3);
            bench.plate.send(&format!("{}\r", counts(count + shake)));
            std::thread::sleep(Duration::from_millis(20));
        }
    };
    for (touch, height) in LIFTS.into_iter().chain([101, 1]).enumerate() {
        if touch == 10 {
            println!("{}", screen.until(&["Now the high block, 0.001 in higher."]));
        } else if touch == 11 {
            screen.until(&["Back on the low block."]);
        }
        hold(-800, 400);
        hold(height, 500);
    }
    let last = screen.until(&["plate: proof", "plate is PROVEN."]);
    println!("{last}");
    let proof = &bench.lines(&["gauge", "show", "plate"])[0]["proofs"][0];
    assert_eq!(
        (&proof["proven"], proof["readings"].as_array().unwrap().len()),
        (&json!(true), 12),
        "{proof}"
    );
}

#[test]
fn a_screen_for_two_metres_says_what_is_wrong_with_a_gauge() {
    let bench = bench(GAUGE, "");
    let screen = Terminal::with_watch(&bench, (100, 30), &[]);
    bench.ok(&["prove", "plate"]);
    send(&bench, &all(-99, 1)[..9]);
    println!("{}", screen.until(&["plate: proof, 9 of 12 taken", "Lift 10 of 10"]));
    send(&bench, &all(-99, 1)[9..]);
    let told = screen.until(&["Its SIGN is wrong", "\"-\" for it in bench.toml."]);
    println!("{told}");
    bench.ok(&["job", "open", "s1", "--plan", "held"]);
    bench.ok(&["measure", "ring/face"]);
    screen.until(&["ring/face"]);
    bench.ok(&["prove", "plate"]);
    screen.until(&["ring/face waits until that is over"]);
    screen.press("v");
    screen.until(&["no touch of this proof to take back"]);
    screen.press("n");
    screen.until(&["no check goes on there until that is over"]);
    bench.ok(&["prove", "plate", "--stop"]);
    screen.until(&["was given up"]);
    bench.touches(&bench.plate, "plate", &["+0.00010"]);
    screen.until(&["ring/face"]);
}

#[test]
fn a_file_of_a_gauge_that_is_being_proved_waits_for_the_end_of_the_proof() {
    let more = "[[gauge]]\nname = \"height\"\nkind = \"height\"\nunit = \"in\"\n\
                resolution = \"0.00001 in\"\n[[drop]]\nname = \"logger\"\nfolder = \"{dir}/drop\"\n\
                gauge = \"height\"\ntags = \"name\"\ncolumns = { value = \"Value\" }\n";
    let plan = RING_PLAN.replace("gauge = \"plate\"", "gauge = \"height\"");
    let mut bench = Bench::new(&Make { gauge: GAUGE, more, plan: &plan });
    bench.start();
    bench.ok(&["job", "open", "s1", "--plan", "held"]);
    bench.ok(&["prove", "height"]);
    let ring = "Value\n0\n0.00001\n0.00002\n0.00001\n0\n0\n0\n0.00001\n";
    bench.drop_file("s1__ring__face.csv", ring);
    let why = bench.path("drop/s1__ring__face.csv.why");
    bench.until("the refusal", || why.exists());
    let said = std::fs::read_to_string(&why).unwrap();
    assert!(said.contains("height is being proved at bench"), "{said}");
    assert!(bench.placed("s1").is_empty());
    bench.ok(&["prove", "height", "--stop"]);
    std::fs::remove_file(bench.path("drop/s1__ring__face.csv")).unwrap();
    bench.drop_file("s1__ring__face.csv", ring);
    bench.until("the ring", || bench.placed("s1").len() == 8);
}
