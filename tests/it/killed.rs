//! The service is killed again and again in the middle of one series. Nothing visible is lost,
//! nothing is there twice, and the series goes on where it was.

use std::time::Duration;

use serde_json::Value;

use crate::rig::{Bench, Dice, Make};

const GAUGE: &str = "unit = \"in\"\nresolution = \"0.00001 in\"\nuncertainty = \"0.0000084 in\"\n\
                     repeat_ms = 0\nmax_rate = 0";

const PLAN: &str = "name = \"held\"\nunit = \"in\"\n[[part]]\nname = \"ring\"\nkind = \"spacer\"\n\
                    [[part.check]]\nname = \"face\"\nmeasures = \"parallelism\"\ngauge = \"plate\"\n\
                    setup = \"plate\"\nmoves = \"stand\"\npositions = 240\nradius = \"1.5 in\"\n\
                    tolerance = \"0.0001 in\"\nclosure = false\n";

const POSITIONS: usize = 240;
const KILLS: usize = 100;

/// `+0.00012` for 12.
fn sent(count: u64) -> String {
    format!("+{}.{:05}", count / 100_000, count % 100_000)
}

/// Everything visible is what was sent, each at its own position, in order.
fn visible(bench: &Bench, counts: &[u64]) -> usize {
    let readings = bench.readings("k1");
    for (index, reading) in readings.iter().enumerate() {
        assert_eq!(reading["state"], "placed", "{reading}");
        assert_eq!(reading["position"], Value::from(index), "{reading}");
        let text = sent(counts[index]);
        assert_eq!(reading["value"], text[1..], "position {index}: {reading}");
        assert_eq!(reading["as_sent"], text, "position {index}: {reading}");
    }
    let ids: Vec<u64> = readings.iter().map(|one| one["id"].as_u64().unwrap()).collect();
    assert!(ids.is_sorted_by(|one, next| one < next), "{ids:?}");
    readings.len()
}

/// Does something and kills the service at a moment that has nothing to do with what it is at.
fn killed_somewhere(bench: &mut Bench, dice: &mut Dice, counts: &[u64], at: usize) {
    let soon = |dice: &mut Dice, most_us: u64| Duration::from_micros(dice.below(most_us));
    match dice.below(4) {
        // One reading under way; what the line still holds is seen by the next service, which
        // takes it for the rest of a line.
        0 if at < POSITIONS - 1 => {
            bench.plate.send(&format!("{}\r", sent(counts[at])));
            std::thread::sleep(soon(dice, 12_000));
            bench.kill();
        }
        // Nothing under way.
        1 => {
            std::thread::sleep(soon(dice, 3_000));
            bench.kill();
        }
        // Several under way. A port that nobody has open keeps nothing.
        _ => {
            let most = (POSITIONS - 1 - at).min(5);
            for &count in &counts[at..at + most] {
                bench.plate.send(&format!("{}\r", sent(count)));
                std::thread::sleep(soon(dice, 3_000));
            }
            bench.kill();
            bench.plate.plug();
        }
    }
    // Now and then the next one dies while it starts, perhaps while it reads the record back.
    if dice.below(5) == 0 {
        bench.launch();
        std::thread::sleep(soon(dice, 60_000));
        bench.kill();
    }
}

#[test]
fn a_hundred_kills_in_one_series_lose_and_double_nothing() {
    let mut dice = Dice::seeded(20_270_301);
    let counts: Vec<u64> = (0..POSITIONS).map(|_| dice.below(13)).collect();
    let mut bench = Bench::new(&Make { gauge: GAUGE, more: "", plan: PLAN });
    bench.start();
    bench.ok(&["job", "open", "k1", "--plan", "held"]);
    bench.ok(&["measure", "ring/face"]);
    let (mut before, mut moved) = (0, 0);
    for kill in 0..KILLS {
        killed_somewhere(&mut bench, &mut dice, &counts, before);
        bench.start();
        let now = visible(&bench, &counts);
        assert!(now >= before, "kill {kill}: {before} readings were visible, then {now}");
        moved += usize::from(now > before);
        before = now;
    }
    assert!(moved >= 20, "only {moved} of the kills came in the middle of something");
    assert!(before < POSITIONS, "the series was over before the last kill");
    for (index, &count) in counts.iter().enumerate().skip(before) {
        bench.plate.send(&format!("{}\r", sent(count)));
        bench.until("the next reading", || {
            let stations = &bench.heard().unwrap()["stations"];
            stations[0]["taken"] == index + 1
        });
    }
    let verdict = bench.verdict("k1", 1);
    assert_eq!(visible(&bench, &counts), POSITIONS);
    let exact = counts.iter().max().unwrap() - counts.iter().min().unwrap();
    let shown = sent(exact).trim_start_matches('+').trim_end_matches('0').to_owned();
    assert_eq!(verdict["value"], shown, "{verdict}");
    assert_eq!((&verdict["taken"], &verdict["tries"]), (&Value::from(240), &Value::from(1)));
    assert_eq!(bench.lines(&["verdicts", "k1", "--all"]).len(), 1);
    bench.ok(&["verify"]);
    bench.balanced();
}

/// A drop folder for the same gauge.
const DROP: &str = r#"
[[drop]]
name = "logger"
folder = "{dir}/drop"
gauge = "plate"
tags = "columns"
columns = { value = "Value", job = "Job", part = "Part", check = "Check", position = "Pos" }
"#;

fn started(more: &str) -> Bench {
    let mut bench = Bench::new(&Make { gauge: GAUGE, more, plan: PLAN });
    bench.start();
    bench.ok(&["job", "open", "k1", "--plan", "held"]);
    bench.ok(&["measure", "ring/face"]);
    bench
}

#[test]
fn a_command_that_meets_a_kill_is_done_once_or_said_to_be_open() {
    let mut dice = Dice::seeded(7);
    let mut bench = started("");
    let (mut done, mut open) = (Vec::new(), Vec::new());
    for number in 0..16 {
        let text = format!("remark {number}");
        let client = bench.spawn(&["note", "k1", &text]);
        std::thread::sleep(Duration::from_micros(dice.below(120_000)));
        bench.kill();
        bench.start();
        let ended = client.wait_with_output().unwrap();
        match ended.status.code() {
            Some(0) => done.push(text),
            Some(3) => open.push(text),
            other => panic!("{other:?}: {}", String::from_utf8_lossy(&ended.stderr)),
        }
    }
    let shown = bench.lines(&["job", "show", "k1"]).remove(0);
    let notes: Vec<_> =
        shown["notes"].as_array().unwrap().iter().map(|note| note["text"].clone()).collect();
    let count = |text: &String| notes.iter().filter(|note| *note == text).count();
    for text in &done {
        assert_eq!(count(text), 1, "{text} was acknowledged: {notes:?}");
    }
    for text in &open {
        assert!(count(text) <= 1, "{text} is there twice: {notes:?}");
    }
    assert!(done.len() >= 4, "hardly a command came through: {done:?}");
}

#[test]
fn a_file_that_meets_a_kill_is_taken_whole_and_once() {
    let mut dice = Dice::seeded(11);
    let mut bench = started(DROP);
    for round in 0..5_u64 {
        if round > 0 {
            bench.ok(&["remeasure", "ground", "ring/face"]);
        }
        let row = |at| format!("{},k1,ring,face,{at}\n", sent((at as u64 + round) % 13));
        let rows = (0..POSITIONS).map(row).collect::<Vec<_>>().concat();
        bench.drop_file(&format!("scan-{round}.csv"), &format!("Value,Job,Part,Check,Pos\n{rows}"));
        std::thread::sleep(Duration::from_micros(dice.below(60_000)));
        bench.kill();
        let stored = bench.readings("k1").len();
        let before = POSITIONS * usize::try_from(round).unwrap();
        assert!(stored == before || stored == before + POSITIONS, "{stored} rows of a torn file");
        bench.start();
        bench.verdict("k1", usize::try_from(round).unwrap() + 1);
        assert_eq!(bench.readings("k1").len(), before + POSITIONS);
        let verdict = bench.lines(&["verdicts", "k1"]).pop().unwrap();
        assert_eq!((&verdict["value"], &verdict["taken"]), (&"0.00012".into(), &240.into()));
    }
    bench.ok(&["verify"]);
}
