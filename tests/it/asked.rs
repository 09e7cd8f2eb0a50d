//! A gauge that is asked: its answer is the touch, and nothing else that it sends.

use std::fs;
use std::time::Duration;

use serde_json::Value;

use crate::rig::{Bench, Gauge, Make};

/// A gauge that answers a question mark.
const PROFILE: &str = r#"about = "asked by a question mark"
frames = "line"
value = "decimal"
pattern = '(?<sign>[+-])(?<digits>[0-9]+\.[0-9]+)'
[ask]
send = "?\r"
timeout_ms = 400
"#;

const PLAN: &str = r#"
name = "held"
unit = "in"
[[part]]
name = "ring"
kind = "spacer"
[[part.check]]
name = "face"
measures = "parallelism"
gauge = "polled"
setup = "plate"
moves = "ring"
positions = 8
radius = "1.5 in"
tolerance = "0.002 in"
"#;

/// A bench with a gauge that is asked, its check active, and the far end of its line.
fn asked(more: &str) -> (Bench, Gauge) {
    let polled = format!(
        "[[gauge]]\nname = \"polled\"\nkind = \"indicator\"\nport = \"{{dir}}/polled\"\n\
         profile = \"asked\"\nunit = \"in\"\nresolution = \"0.00001 in\"\ncapture = \"request\"\n{more}"
    );
    let gauge = "unit = \"in\"\nresolution = \"0.00001 in\"";
    let mut bench = Bench::new(&Make { gauge, more: &polled, plan: PLAN });
    fs::create_dir(bench.path("profiles")).unwrap();
    fs::write(bench.path("profiles/asked.toml"), PROFILE).unwrap();
    let text = fs::read_to_string(bench.path("bench.toml")).unwrap();
    let own = |line: &str| line.starts_with("profiles = ");
    let lines = text.lines().map(|line| if own(line) { "profiles = \"profiles\"" } else { line });
    fs::write(bench.path("bench.toml"), lines.collect::<Vec<_>>().join("\n")).unwrap();
    let line = Gauge::plugged(bench.path("polled"));
    bench.start();
    bench.ok(&["job", "open", "s1", "--plan", "held"]);
    bench.ok(&["measure", "ring/face"]);
    (bench, line)
}

/// `tenths take`, answered by these bytes.
fn take(bench: &Bench, line: &Gauge, answer: &str) -> String {
    let take = bench.spawn(&["take"]);
    assert_eq!(line.hear_for(Duration::from_secs(10)), "?\r");
    line.send(answer);
    let output = take.wait_with_output().unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8(output.stdout).unwrap()
}

/// Waits until so many readings are stored; each value with its state and position.
fn stored(bench: &Bench, count: usize) -> Vec<(String, String, Option<u64>)> {
    bench.until("the readings", || bench.readings("s1").len() >= count);
    let text = |value: &Value| value.as_str().unwrap().to_owned();
    let one =
        |line: &Value| (text(&line["as_sent"]), text(&line["state"]), line["position"].as_u64());
    bench.readings("s1").iter().map(one).collect()
}

fn told(bench: &Bench) -> Vec<(String, String)> {
    let text = |value: &Value| value.as_str().unwrap().to_owned();
    let one = |line: &Value| (text(&line["level"]), text(&line["kind"]));
    let all = bench.lines(&["alerts", "--all"]);
    // That the record began is told on every bench.
    all.iter().filter(|line| line["kind"] != "record-begun").map(one).collect()
}

fn is(sent: &str, state: &str, position: Option<u64>) -> (String, String, Option<u64>) {
    (sent.to_owned(), state.to_owned(), position)
}

#[test]
fn one_take_fills_one_position_however_often_the_gauge_answers() {
    let (mut bench, line) = asked("");
    take(&bench, &line, "+0.00003\r+0.00003\r");
    take(&bench, &line, "+0.00004\r");
    let readings = stored(&bench, 3);
    let wanted = [
        is("+0.00003", "placed", Some(0)),
        is("+0.00003", "unclaimed", None),
        is("+0.00004", "placed", Some(1)),
    ];
    assert_eq!(readings, wanted);
    assert!(told(&bench).contains(&("note".to_owned(), "unclaimed".to_owned())));
    bench.balanced();
    bench.stop();
}

#[test]
fn a_frame_that_nobody_asked_for_is_no_touch() {
    let (mut bench, line) = asked("");
    line.send("+0.00012\r");
    assert_eq!(stored(&bench, 1), [is("+0.00012", "unclaimed", None)]);
    assert_eq!(told(&bench), [("note".to_owned(), "unclaimed".to_owned())]);
    let said = take(&bench, &line, "+0.00005\r");
    assert!(said.contains("Touch position 1 of 8 next."), "{said}");
    assert_eq!(stored(&bench, 2)[1], is("+0.00005", "placed", Some(0)));
    bench.stop();
}

#[test]
fn an_answer_after_its_time_is_no_touch_however_late() {
    let (mut bench, line) = asked("");
    for (count, late_ms) in [(1, 50), (2, 1200)] {
        let said = bench.refused(2, &["take"]);
        assert!(said.contains("polled did not answer within 400 ms"), "{said}");
        assert_eq!(line.hear_for(Duration::from_secs(10)), "?\r");
        std::thread::sleep(Duration::from_millis(late_ms));
        line.send("+0.00007\r");
        let readings = stored(&bench, count);
        assert_eq!(readings[count - 1], is("+0.00007", "unclaimed", None), "{late_ms} ms late");
        std::thread::sleep(Duration::from_millis(500));
    }
    assert_eq!(bench.gauge("polled")["taken"], 2);
    bench.stop();
}

#[test]
fn the_button_of_an_asked_gauge_counts_where_it_is_said() {
    let (mut bench, line) = asked("button = true\n");
    line.send("+0.00012\r");
    assert_eq!(stored(&bench, 1), [is("+0.00012", "placed", Some(0))]);
    take(&bench, &line, "+0.00003\r+0.00003\r");
    assert_eq!(
        stored(&bench, 3)[1..],
        [is("+0.00003", "placed", Some(1)), is("+0.00003", "unclaimed", None),]
    );
    std::thread::sleep(Duration::from_millis(900));
    line.send("+0.00008\r");
    assert_eq!(stored(&bench, 4)[3], is("+0.00008", "placed", Some(2)));
    // What comes soon after an ask that ran out is the late answer, not the button.
    bench.refused(2, &["take"]);
    line.send("+0.00009\r");
    assert_eq!(stored(&bench, 5)[4], is("+0.00009", "unclaimed", None));
    bench.balanced();
    bench.stop();
}
