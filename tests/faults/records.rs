//! Records that a person, or a disk, has changed while no service ran.

use std::fs;
use std::path::{Path, PathBuf};
use std::time::Instant;

use serde_json::Value;

use crate::rig::{Bench, Dice, Follower, Make};
use crate::slips::{self, GAUGE, PLAN};
use crate::{Outcome, Play, Row};

pub(crate) const ROWS: [Row; 4] = [
    Row {
        fault: "bytes of the record flip",
        how: "1 to 64 bytes anywhere in the file of a stopped service, page by page; then `verify`, and a start",
        share: |count| (count / 5).max(10),
        play: flips,
    },
    Row {
        fault: "a bit of the log flips after a kill",
        how: "one bit in a frame of `tenths.db-wal` that holds acknowledged rows, then a start; what is lost must be told, number by number",
        share: |count| (count / 20).max(3),
        play: log,
    },
    Row {
        fault: "the record is missing beside its log",
        how: "`tenths.db` of a killed service is moved away; it is put back after the refused start",
        share: |count| (count / 50).max(2),
        play: missing,
    },
    Row {
        fault: "an older copy is restored",
        how: "`restore` of a copy while `tail` follows; what came after the copy is gone on purpose, and `tail` must hear all that comes then",
        share: |count| (count / 100).max(2),
        play: restored,
    },
];

fn bench() -> Bench {
    let mut bench = Bench::new(&Make { gauge: GAUGE, more: "", plan: PLAN });
    bench.start();
    bench.ok(&["job", "open", "f1", "--plan", "held"]);
    bench.ok(&["measure", "ring/face"]);
    bench
}

fn database(bench: &Bench) -> PathBuf {
    bench.state.join("tenths.db")
}

/// Touches with values of their own, each stored before the next.
fn touched(bench: &Bench, count: usize) {
    let texts: Vec<String> = (0..count).map(|at| format!("+0.{:05}", at + 1)).collect();
    let texts: Vec<&str> = texts.iter().map(String::as_str).collect();
    bench.touches(&bench.plate, "plate", &texts);
}

fn flips(play: &mut Play) -> Outcome {
    let mut outcome = Outcome::default();
    let mut dice = Dice::seeded(play.seed);
    let mut bench = bench();
    touched(&bench, 20);
    for job in 0..60 {
        let name = format!("more-{job}");
        bench.ok(&["job", "open", &name, "--plan", "held", "--serial", "S-1"]);
        bench.ok(&[
            "note",
            &name,
            "came in dirty, both faces wiped and stoned before the first touch",
        ]);
    }
    bench.stop();
    let (path, newest) = (database(&bench), bench.state.join("tenths.newest"));
    let (whole, mark) = (fs::read(&path).unwrap(), fs::read(newest.clone()).unwrap());
    let (mut harmless, mut silent) = (0, 0);
    for number in 0..play.tries {
        let page = number % (whole.len() / 4096);
        let mut bytes = whole.clone();
        let begin = page * 4096 + usize::try_from(dice.below(4000)).unwrap();
        let count = 1 + usize::try_from(dice.below(64)).unwrap();
        for byte in &mut bytes[begin..begin + count] {
            *byte ^= u8::try_from(1 + dice.below(255)).unwrap();
        }
        fs::write(&path, &bytes).unwrap();
        fs::write(&newest, &mark).unwrap();
        outcome.tries += 1;
        play.progress(&outcome);
        if bench.run(&["verify"]).status.success() {
            harmless += 1;
            continue;
        }
        if !told_at_start(&mut bench) {
            silent += 1;
            outcome.wrong.push(format!("page {page}, byte {begin}: started without a word"));
        }
    }
    let found = outcome.tries - harmless;
    outcome.acknowledges("damaged for `verify`", found);
    outcome.told = format!(
        "{} of {found} at the start; {harmless} flips changed nothing that anybody reads",
        found - silent
    );
    outcome
}

/// Whether a start is refused, or says that something is damaged.
fn told_at_start(bench: &mut Bench) -> bool {
    bench.launch();
    let began = Instant::now();
    let told = loop {
        if let Some(status) = bench.heard() {
            break !status["set_aside"].as_array().unwrap().is_empty();
        }
        if bench.has_ended() {
            break true;
        }
        assert!(began.elapsed().as_secs() < 60, "it neither answers nor ends");
        std::thread::sleep(std::time::Duration::from_millis(5));
    };
    bench.ended();
    told
}

/// Where the frames of the log begin that belong to it: both salts of its head stand in each (SQLite,
/// "Database File Format", 4.1).
fn frames(log: &Path) -> Vec<usize> {
    let bytes = fs::read(log).unwrap();
    let salts = bytes[16..24].to_vec();
    let starts = (32..bytes.len()).step_by(24 + 4096);
    starts.take_while(|at| bytes.get(at + 8..at + 16) == Some(&salts[..])).collect()
}

fn log(play: &mut Play) -> Outcome {
    let mut outcome = Outcome::default();
    let mut dice = Dice::seeded(play.seed);
    let mut untold = 0;
    for _ in 0..play.tries {
        let mut bench = bench();
        touched(&bench, 6);
        let newest = bench.readings("f1").last().unwrap()["id"].as_u64().unwrap();
        let began = Instant::now();
        bench.kill();
        let path = bench.state.join("tenths.db-wal");
        let all = frames(&path);
        let frame = all[usize::try_from(dice.below(all.len() as u64)).unwrap()];
        let mut bytes = fs::read(&path).unwrap();
        bytes[frame + 24 + usize::try_from(dice.below(4096)).unwrap()] ^= 1 << dice.below(8);
        fs::write(&path, bytes).unwrap();
        bench.plate.plug();
        bench.launch();
        bench.until_up();
        outcome.answered_after(began.elapsed());
        // The row that opened the job may be among them.
        let left = bench.run(&["readings", "f1", "--json"]);
        let left = String::from_utf8_lossy(&left.stdout).lines().count();
        let told = bench.lines(&["alerts", "--all", "--kind", "rows-lost"]);
        outcome.acknowledges("readings", 6);
        // Rows that the log lost cannot be had back; they must be told, up to the newest one.
        let ends = |alert: &Value| {
            alert["text"].as_str().unwrap_or_default().contains(&format!(" to {newest})"))
        };
        if left < 6 && !told.iter().any(ends) {
            untold += 6 - left;
            outcome.wrong.push(format!("{left} of 6 are there, told: {told:?}"));
        }
        outcome.tries += 1;
        play.progress(&outcome);
    }
    outcome.lost = untold;
    outcome.told = "which rows are missing, and from when to when, each time (lost here: rows that were not told)".into();
    outcome
}

fn missing(play: &mut Play) -> Outcome {
    let mut outcome = Outcome::default();
    for _ in 0..play.tries {
        let mut bench = bench();
        touched(&bench, 6);
        bench.kill();
        let away = bench.path("away.db");
        fs::rename(database(&bench), &away).unwrap();
        let said = bench.refused_serve(2);
        outcome
            .must(said.contains("is missing") && said.contains("tenths.db-wal"), || said.clone());
        fs::rename(&away, database(&bench)).unwrap();
        bench.plate.plug();
        bench.start();
        outcome.acknowledges("readings", 6);
        outcome.lost += 6 - bench.readings("f1").len().min(6);
        outcome.tries += 1;
        play.progress(&outcome);
    }
    outcome.told =
        "the start is refused with status 2, names what lies there and what to do".into();
    outcome
}

fn restored(play: &mut Play) -> Outcome {
    let mut outcome = Outcome::default();
    for _ in 0..play.tries {
        let mut bench = bench();
        let copy = bench.path("copy.db");
        bench.ok(&["backup", copy.to_str().unwrap()]);
        for job in 0..3 {
            bench.ok(&["job", "open", &format!("later-{job}"), "--plan", "held"]);
            slips::ring_by_hand(&bench);
        }
        let feed = Follower::of(bench.spawn(&["tail", "--json", "--since", "0"]));
        bench.until("the follower hears the feed", || {
            feed.seen().iter().filter(|line| line["event"] == "verdict").count() == 3
        });
        bench.stop();
        bench.ok(&["restore", copy.to_str().unwrap()]);
        bench.start();
        slips::ring_by_hand(&bench);
        let identity = feed.seen()[0]["feed"].clone();
        let anew = || feed.seen().into_iter().filter(|line| line["feed"] != identity);
        bench.until("what comes is heard", || anew().any(|line| line["event"] == "verdict"));
        outcome.must(feed.said().contains("the record was restored"), || feed.said());
        outcome.acknowledges("lines of the new feed", anew().count());
        let seq: Vec<u64> = anew().map(|line| line["seq"].as_u64().unwrap()).collect();
        outcome.must(seq.iter().zip(1..).all(|(one, at)| *one == at), || format!("{seq:?}"));
        outcome.tries += 1;
        play.progress(&outcome);
    }
    outcome.told = "`tail` says that the record was restored, and starts anew".into();
    outcome
}
