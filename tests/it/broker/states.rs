//! What a broker keeps of a bench: who is there, its gauges, its open alerts.

use serde_json::Value;

use super::{Forward, alerts, bench, complete, measured, own_feed, shop, until_told};
use crate::mosquitto::Mosquitto;

#[test]
fn whoever_comes_late_sees_the_states() {
    // A gauge whose name would be three steps and two wildcards of a topic.
    let more = "\n[[gauge]]\nname = \"a#+$b %\"\nkind = \"indicator\"\nunit = \"in\"\n\
                resolution = \"0.00001 in\"\nuncertainty = \"0.0000084 in\"\n";
    let mut broker = Mosquitto::started("");
    let mut bench = bench(&(shop(broker.port, "") + more));
    measured(&bench);
    // The last frame is damaged: its alert stays open.
    bench.plate.send("x\r");
    let forward = Forward::of(&bench);
    let own = own_feed(&bench);
    let early = broker.listener("early", "tenths/#", &[]);
    let open = "tenths/north/open/";
    let damaged = own.last().unwrap()["alert"]["id"].to_string();
    bench.until("the states are there", || {
        let late = broker.listener("late", "tenths/#", &[]);
        let seen = |topic: &str| late.newest(topic).is_some_and(|message| message.kept);
        seen("tenths/north/state")
            && seen("tenths/north/gauge/plate")
            && seen("tenths/north/gauge/a%23%2B%24b %25")
            && seen(&format!("{open}{damaged}"))
    });
    let late = broker.listener("later", "tenths/#", &[]);
    bench.until("it hears", || late.heard().len() >= 4);
    let state = late.newest("tenths/north/state").unwrap().line;
    assert_eq!((&state["state"], &state["service"]), (&"here".into(), &true.into()), "{state}");
    assert_eq!(state["feed"], own[0]["feed"]);
    let plate = late.newest("tenths/north/gauge/plate").unwrap().line;
    assert_eq!((&plate["name"], &plate["state"]), (&"plate".into(), &"live".into()));
    assert_eq!(plate["status"]["damaged"], 1);
    let strange = late.newest("tenths/north/gauge/a%23%2B%24b %25").unwrap().line;
    assert_eq!((&strange["name"], &strange["state"]), (&"a#+$b %".into(), &"no-port".into()));
    assert!(late.heard().iter().all(|one| one.topic.starts_with("tenths/north/")));
    // Events are no states: nobody who comes late takes an old one for news.
    let kept_events = late.heard().iter().filter(|one| one.line["schema"] == "feed/1").count();
    assert_eq!(kept_events, 0);

    // An alert that is over is no state any more.
    bench.plate.send("0.00100\r");
    bench.until("it is over", || {
        early.newest(&format!("{open}{damaged}")).is_some_and(|one| one.line.is_null())
    });
    // A service that is gone: what its gauges do is unknown.
    bench.stop();
    let of = |topic: &str, key: &str| early.newest(topic).map(|one| one.line[key].clone());
    bench.until("unknown", || of("tenths/north/gauge/plate", "state") == Some("unknown".into()));
    assert_eq!(of("tenths/north/state", "service"), Some(Value::Bool(false)));
    // A broker that lost everything gets all states again.
    broker.stop();
    std::fs::remove_file(broker.path("mosquitto.db")).unwrap();
    broker.start();
    bench.start();
    let new = broker.listener("new", "tenths/north/gauge/#", &[]);
    bench.until("live", || {
        new.newest("tenths/north/gauge/plate").is_some_and(|one| one.line["state"] == "live")
    });
    forward.ends();
}

#[test]
fn a_bench_that_is_gone_is_said_to_be_gone() {
    let broker = Mosquitto::started("");
    let bench = bench(&shop(broker.port, ""));
    let listener = broker.listener("watcher", "tenths/north/state", &[]);
    let is = |state: &str, by_will: bool| {
        listener.newest("tenths/north/state").is_some_and(|message| {
            message.line["state"] == state && message.line["at"].is_null() == by_will
        })
    };
    let forward = Forward::of(&bench);
    bench.until("here", || is("here", false));
    forward.kill();
    bench.until("gone, as its last will says", || is("gone", true));
    let forward = Forward::of(&bench);
    bench.until("here again", || is("here", false));
    forward.ends();
    assert!(crate::rig::in_time(|| is("gone", false)), "gone, as it says itself");
    let late = broker.listener("late", "tenths/north/state", &[]);
    bench.until("for whoever comes late, too", || {
        late.newest("tenths/north/state").is_some_and(|one| one.kept && one.line["state"] == "gone")
    });
}

#[test]
fn a_restored_record_is_told_from_its_first_line() {
    let broker = Mosquitto::started("");
    let mut bench = bench(&shop(broker.port, ""));
    measured(&bench);
    let copy = bench.path("copy.db");
    bench.ok(&["backup", copy.to_str().unwrap()]);
    bench.plate.send("x\r");
    let before = broker.listener("before", "tenths/#", &[]);
    let forward = Forward::of(&bench);
    let own = own_feed(&bench);
    until_told(&bench, &before, &own);
    complete(&before, &own);
    let open = format!("tenths/north/open/{}", own.last().unwrap()["alert"]["id"]);
    bench.until("it is open", || before.newest(&open).is_some_and(|one| !one.line.is_null()));
    bench.stop();
    bench.ok(&["restore", copy.to_str().unwrap()]);
    bench.start();
    alerts(&bench, 3);
    let restored = own_feed(&bench);
    assert_ne!(restored[0]["feed"], own[0]["feed"]);
    let after = || -> Vec<Value> {
        let all = before.feed();
        all.into_iter().filter(|line| line["feed"] == restored[0]["feed"]).collect()
    };
    bench.until("the other feed is told", || after().len() == restored.len());
    assert_eq!(after(), restored);
    let said = Forward::said(&bench);
    assert!(said.contains("told everything from the first line on"), "{said}");
    // What was open in the record before is no state of this one, unless it has an alert of that number.
    let number: u64 = open.rsplit('/').next().unwrap().parse().unwrap();
    let still = restored.iter().any(|line| line["alert"]["id"] == number);
    assert!(still || before.newest(&open).unwrap().line.is_null());
    forward.ends();
}
