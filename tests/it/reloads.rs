//! A configuration that cannot be read again, or only in part.

use std::fs;

use rustix::process::Signal;

use crate::rig::{Bench, Make, RING_PLAN};

fn bench() -> Bench {
    let mut bench =
        Bench::new(&Make { gauge: "resolution = \"0.00001 in\"", more: "", plan: RING_PLAN });
    bench.start();
    bench.ok(&["job", "open", "J-1", "--plan", "held"]);
    bench.ok(&["measure", "ring/face"]);
    bench.ok(&["enter", "--graduation", "0.00001in", "1"]);
    bench
}

fn refused(bench: &Bench) -> serde_json::Value {
    bench.heard().unwrap()["reload_refused"].clone()
}

fn alerts(bench: &Bench) -> Vec<serde_json::Value> {
    bench.lines(&["alerts", "--state", "open", "--kind", "reload-refused"])
}

#[test]
fn a_refused_reload_is_told_until_a_good_one_and_clients_go_on() {
    let bench = bench();
    assert!(refused(&bench).is_null());
    let file = bench.path("bench.toml");
    let good = fs::read_to_string(&file).unwrap();
    // A mistake outside [bench], then a line that is no TOML at all.
    fs::write(&file, good.replace("kind = \"indicator\"", "kind = \"indicatr\"")).unwrap();
    bench.signal(Signal::HUP);
    bench.until("it is refused", || !refused(&bench).is_null());
    assert!(refused(&bench).as_str().unwrap().contains("indicatr"), "{}", refused(&bench));
    assert_eq!(alerts(&bench).len(), 1);

    fs::write(&file, format!("{good}\nbaud = = 3\n")).unwrap();
    bench.signal(Signal::HUP);
    bench.until("the newest is told", || !refused(&bench).to_string().contains("indicatr"));
    assert!(refused(&bench).as_str().unwrap().contains("bench.toml:"), "{}", refused(&bench));
    let output = bench.run(&["status"]);
    let (out, err) =
        (String::from_utf8(output.stdout).unwrap(), String::from_utf8(output.stderr).unwrap());
    assert_eq!(output.status.code(), Some(1), "{out}{err}");
    assert!(out.contains("The configuration was not read again") && out.contains("J-1"), "{out}");
    assert_eq!(err.lines().count(), 1, "{err}");
    assert!(err.contains("cannot be used") && err.contains("asked all the same"), "{err}");
    bench.ok(&["void"]);
    bench.ok(&["enter", "--graduation", "0.00001in", "2"]);
    let mut tail = crate::rig::Follower::of(bench.spawn(&["tail", "--json", "--since", "0"]));
    bench.until("the feed is told", || !tail.seen().is_empty());
    assert!(tail.runs());

    fs::write(&file, good).unwrap();
    bench.signal(Signal::HUP);
    bench.until("all is well again", || refused(&bench).is_null());
    assert_eq!(alerts(&bench).len(), 0);
    assert!(bench.ok(&["status"]).contains("The service is well"));
}

#[test]
fn a_bad_plan_is_set_aside_by_itself() {
    let mut bench = bench();
    let plan =
        |gauge: &str| RING_PLAN.replace("gauge = \"plate\"", &format!("gauge = \"{gauge}\""));
    fs::write(bench.path("plans/other.toml"), plan("plaet")).unwrap();
    fs::write(bench.path("plans/broken.toml"), "name = \n").unwrap();
    fs::write(bench.path("plans/new.toml"), RING_PLAN).unwrap();
    bench.signal(Signal::HUP);
    bench.until("the rest is read again", || bench.log().contains("was read again"));
    bench.until("they are told", || {
        bench.heard().unwrap()["set_aside"].as_array().unwrap().len() == 2
    });
    assert!(refused(&bench).is_null());
    let status = bench.run(&["status"]);
    let text = String::from_utf8(status.stdout).unwrap();
    assert_eq!(status.status.code(), Some(1), "{text}");
    assert!(text.contains("Plan other is set aside") && text.contains("plaet"), "{text}");
    let said = bench.refused(2, &["job", "open", "J-2", "--plan", "other"]);
    assert!(said.contains("plan other is set aside") && said.contains("plaet"), "{said}");
    let said = bench.refused(2, &["job", "open", "J-2", "--plan", "broken"]);
    assert!(said.contains("plan broken is set aside"), "{said}");
    bench.ok(&["job", "open", "J-2", "--plan", "new"]);
    let check = bench.run(&["config", "check"]);
    let text = String::from_utf8(check.stdout).unwrap();
    assert_eq!(check.status.code(), Some(2), "{text}");
    assert!(text.contains("plaet") && text.contains("broken.toml"), "{text}");
    // A start in the night after a power cut is no other matter.
    bench.stop();
    bench.start();
    bench.ok(&["job", "use", "J-1"]);
    fs::write(bench.path("plans/other.toml"), plan("plate")).unwrap();
    fs::remove_file(bench.path("plans/broken.toml")).unwrap();
    bench.signal(Signal::HUP);
    bench.until("all is well", || bench.heard().unwrap()["healthy"] == true);
    bench.ok(&["job", "open", "J-3", "--plan", "other"]);
}

#[test]
fn whoever_asks_for_it_is_told_what_changed_or_why_not() {
    let bench = bench();
    let file = bench.path("bench.toml");
    let good = fs::read_to_string(&file).unwrap();
    let told = bench.ok(&["reload"]);
    assert!(told.contains("Nothing is different."), "{told}");

    let more =
        "[[gauge]]\nname = \"clock\"\nkind = \"dial\"\nunit = \"in\"\nresolution = \"0.0001 in\"\n";
    fs::write(&file, format!("{good}{more}")).unwrap();
    let held = fs::read_to_string(bench.path("plans/held.toml")).unwrap();
    fs::write(bench.path("plans/other.toml"), &held).unwrap();
    fs::write(bench.path("plans/bad.toml"), "name = 3\n").unwrap();
    let told = bench.ok(&["reload"]);
    for part in ["gauge clock is new", "plan other is new", "plan bad has an error"] {
        assert!(told.contains(part), "{part}: {told}");
    }
    bench.until("it is there", || bench.gauge("clock")["state"] == "no-port");

    fs::write(&file, good.replace("kind = \"indicator\"", "kind = \"indicatr\"")).unwrap();
    let output = bench.run(&["reload"]);
    let told = String::from_utf8(output.stdout).unwrap();
    assert_eq!(output.status.code(), Some(2), "{told}");
    assert!(told.contains("is not used, the service goes on as it was"), "{told}");
    assert!(told.contains("bench.toml:10: error") && told.contains("indicatr"), "{told}");
    assert_eq!(bench.gauge("clock")["state"], "no-port");
    bench.until("it is told", || !refused(&bench).is_null());

    fs::write(&file, &good).unwrap();
    let line = &bench.lines(&["reload"])[0];
    assert_eq!(line["used"], true);
    assert_eq!(line["changed"][0], "gauge clock is gone");
    bench.until("all is well again", || refused(&bench).is_null());
}

/// A plan with a mistake is only set aside: it is not told as what held the reload back.
#[test]
fn only_what_held_it_back_is_told_as_the_reason() {
    let bench = bench();
    let file = bench.path("bench.toml");
    let good = fs::read_to_string(&file).unwrap();
    fs::write(bench.path("plans/broken.toml"), "name = \n").unwrap();
    fs::write(&file, good.replace("kind = \"indicator\"", "kind = \"indicatr\"")).unwrap();
    let output = bench.run(&["reload", "--json"]);
    assert_eq!(output.status.code(), Some(2));
    let told: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
    let why = told["why"].as_array().unwrap();
    assert_eq!(why.len(), 1, "{why:?}");
    assert!(why[0].as_str().unwrap().contains("indicatr"), "{why:?}");
}
