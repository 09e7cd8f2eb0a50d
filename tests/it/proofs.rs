//! A gauge is proved through the real program: ten lifts on one spot and a step of two blocks, by its own
//! line and keyed in. Readings are invented; expected figures are worked out by hand beside them.

use serde_json::{Value, json};

use crate::rig::{Bench, Make, RING_PLAN};

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
    assert!(open.iter().all(|alert| !alert["cleared_at"].is_null()), "a good proof ends them");
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
