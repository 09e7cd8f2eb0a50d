//! Mistakes by people, scripts and other programs while the service runs.

use std::fs;
use std::os::unix::net::UnixStream;
use std::time::{Duration, Instant};

use serde_json::{Value, json};

use crate::rig::{Bench, Make, Wire};
use crate::{Outcome, Play, Row};

pub(crate) const GAUGE: &str = "unit = \"in\"\nresolution = \"0.00001 in\"\nuncertainty = \"0.0000084 in\"\n\
     repeat_ms = 0\nmax_rate = 0";

pub(crate) const PLAN: &str = "name = \"held\"\nunit = \"in\"\n[[part]]\nname = \"ring\"\nkind = \"spacer\"\n\
     [[part.check]]\nname = \"face\"\nmeasures = \"parallelism\"\ngauge = \"plate\"\n\
     setup = \"plate\"\nmoves = \"stand\"\npositions = 8\nradius = \"1.5 in\"\n\
     tolerance = \"0.0001 in\"\nclosure = false\n";

const DROP: &str = r#"
[[drop]]
name = "logger"
folder = "{dir}/drop"
gauge = "plate"
tags = "columns"
columns = { value = "Value", job = "Job", part = "Part", check = "Check" }
"#;

pub(crate) const ROWS: [Row; 5] = [
    Row {
        fault: "the socket's file is deleted",
        how: "somebody removes `tenths.sock` while the service runs",
        share: |count| (count / 20).max(3),
        play: socket,
    },
    Row {
        fault: "too many connections",
        how: "connections that ask nothing take every place, then a client comes",
        share: |count| (count / 100).max(2),
        play: crowd,
    },
    Row {
        fault: "a request's key is used again",
        how: "the same request again, before and after a kill, and another request with its key",
        share: |count| (count / 10).max(5),
        play: keys,
    },
    Row {
        fault: "a drop folder goes and comes back",
        how: "the folder is renamed, a file is put into it there, and it is renamed back",
        share: |count| (count / 50).max(3),
        play: folder,
    },
    Row {
        fault: "a file is cut inside its last number",
        how: "a file is closed after `0.0000`, of the last row, and completed later",
        share: |count| (count / 50).max(3),
        play: cut,
    },
];

fn bench() -> Bench {
    let mut bench = Bench::new(&Make { gauge: GAUGE, more: DROP, plan: PLAN });
    bench.start();
    bench.ok(&["job", "open", "f1", "--plan", "held"]);
    bench.ok(&["measure", "ring/face"]);
    bench
}

/// One whole attempt, keyed in.
pub(crate) fn ring_by_hand(bench: &Bench) {
    bench.ok(&["measure", "ring/face"]);
    let mut enter = vec!["enter", "--graduation", "0.00001in"];
    enter.extend(["0", "1", "2", "3", "2", "1", "0", "1"]);
    bench.ok(&enter);
}

/// One remark a try was acknowledged; each must be there once.
fn remarks(outcome: &mut Outcome, bench: &Bench) {
    let shown = bench.lines(&["job", "show", "f1"]).remove(0);
    let notes = shown["notes"].as_array().unwrap().len();
    outcome.acknowledges("remarks", outcome.tries);
    outcome.lost += outcome.tries.saturating_sub(notes);
    outcome.doubled += notes.saturating_sub(outcome.tries);
}

fn socket(play: &mut Play) -> Outcome {
    let mut outcome = Outcome::default();
    let bench = bench();
    for number in 0..play.tries {
        fs::remove_file(bench.state.join("tenths.sock")).unwrap();
        let began = Instant::now();
        bench.until_up();
        outcome.answered_after(began.elapsed());
        bench.ok(&["note", "f1", &format!("remark {number}")]);
        outcome.tries += 1;
        play.progress(&outcome);
    }
    remarks(&mut outcome, &bench);
    outcome.told = "an alert `socket-lost`, over when it is made again".into();
    outcome
}

fn crowd(play: &mut Play) -> Outcome {
    let mut outcome = Outcome::default();
    let bench = bench();
    for number in 0..play.tries {
        let path = bench.state.join("tenths.sock");
        let idle: Vec<UnixStream> =
            (0..200).filter_map(|_| UnixStream::connect(&path).ok()).collect();
        let began = Instant::now();
        bench.until("a client finds a place", || {
            bench.run(&["note", "f1", &format!("remark {number}")]).status.success()
        });
        outcome.answered_after(began.elapsed());
        drop(idle);
        bench.until_up();
        outcome.tries += 1;
        play.progress(&outcome);
    }
    remarks(&mut outcome, &bench);
    outcome.told = "who finds no place: that the service runs, and who holds the places".into();
    outcome
}

fn keys(play: &mut Play) -> Outcome {
    let mut outcome = Outcome::default();
    let mut bench = bench();
    let wire = |bench: &Bench| Wire::to(&bench.state.join("tenths.sock")).unwrap();
    for number in 0..play.tries {
        let line = |text: &str| {
            json!({"request": "note", "key": format!("k{number}"), "job": "f1", "text": text})
                .to_string()
        };
        let text = format!("remark {number}");
        let first = wire(&bench).ask(&line(&text)).unwrap();
        let again = wire(&bench).ask(&line(&text)).unwrap();
        outcome.must(first == again && first["schema"] == "noted/1", || format!("{first} {again}"));
        if number % 5 == 0 {
            bench.kill();
            bench.launch();
            bench.until_up();
            let again = wire(&bench).ask(&line(&text)).unwrap();
            outcome.must(first == again, || format!("after a kill: {first} {again}"));
        }
        let other = wire(&bench).ask(&line("something else")).unwrap();
        outcome.must(other["schema"] == "error/1", || format!("{other}"));
        outcome.tries += 1;
        play.progress(&outcome);
    }
    remarks(&mut outcome, &bench);
    outcome.told = "the same request: its reply again; another one: refused".into();
    outcome
}

/// A file with one attempt; each has values of its own.
fn file(number: usize) -> String {
    let row = |at: usize| format!("0.{:05},f1,ring,face\n", number * 10 + at);
    format!("Value,Job,Part,Check\n{}", (1..=8).map(row).collect::<Vec<_>>().concat())
}

fn logged(bench: &Bench) -> Vec<Value> {
    let all = bench.readings("f1");
    all.into_iter().filter(|one| one["source"] == "drop").collect()
}

fn counted(outcome: &mut Outcome, bench: &Bench, files: usize) {
    let rows = logged(bench);
    let mut values: Vec<String> =
        rows.iter().map(|one| one["value"].as_str().unwrap().to_owned()).collect();
    values.sort();
    values.dedup();
    outcome.acknowledges("rows of files", files * 8);
    outcome.lost += (files * 8).saturating_sub(values.len());
    outcome.doubled += rows.len() - values.len();
}

fn folder(play: &mut Play) -> Outcome {
    let mut outcome = Outcome::default();
    let bench = bench();
    for number in 0..play.tries {
        let (here, away) = (bench.path("drop"), bench.path("away"));
        fs::rename(&here, &away).unwrap();
        bench.until("it is missed", || bench.drop_line("logger")["state"] == "absent");
        fs::write(away.join(format!("f-{number}.csv")), file(number)).unwrap();
        fs::rename(&away, &here).unwrap();
        let began = Instant::now();
        bench.until("the file is stored", || logged(&bench).len() >= (number + 1) * 8);
        outcome.answered_after(began.elapsed());
        outcome.tries += 1;
        play.progress(&outcome);
    }
    let files = outcome.tries;
    counted(&mut outcome, &bench, files);
    outcome.told = "an alert: the folder is not there; over when it is back".into();
    outcome
}

fn cut(play: &mut Play) -> Outcome {
    let mut outcome = Outcome::default();
    let bench = bench();
    for number in 0..play.tries {
        let (path, text) = (bench.path("drop").join(format!("f-{number}.csv")), file(number));
        let end = text.len() - ",f1,ring,face\n".len() - 1;
        fs::write(&path, &text[..end]).unwrap();
        std::thread::sleep(Duration::from_millis(100));
        outcome.must(logged(&bench).len() == number * 8, || "a cut number was taken".into());
        fs::write(&path, &text).unwrap();
        bench.until("the file is stored", || logged(&bench).len() >= (number + 1) * 8);
        outcome.tries += 1;
        play.progress(&outcome);
    }
    let files = outcome.tries;
    counted(&mut outcome, &bench, files);
    outcome.told = "`status`: which file waits for its last line".into();
    outcome
}
