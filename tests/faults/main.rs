//! The table of faults, played through the real program: what was acknowledged, what was lost, what is
//! there twice, and how long nobody answered. Not part of the ordinary tests; see DEVELOPERS.md.
//!
//! `cargo test --test faults` plays every row a few times. `TENTHS_FAULTS=1000` plays each of the
//! rows that can be repeated so often, and writes what came of it into `docs/faults.md`. Words after
//! `--` play the rows whose names contain one of them; the lines of the others stay as they are.

#![expect(clippy::unwrap_used, reason = "a row that cannot go on is told as failed")]
#![expect(clippy::print_stderr, reason = "the person who started it watches")]

mod disks;
mod kills;
mod page;
mod papers;
mod records;
#[expect(dead_code, reason = "shared with the ordinary tests from outside, which use more of it")]
#[path = "../it/rig.rs"]
mod rig;
/// What the ordinary tests hold against schemas is not held here: other things are looked at.
mod schemas {
    pub(crate) const fn hold(_line: &serde_json::Value) {}
}
mod shop;
mod slips;
mod traffic;
mod unplugs;

use std::collections::BTreeMap;
use std::io::{IsTerminal, Write};
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::process::ExitCode;
use std::time::{Duration, Instant};

/// How often a row is played where nothing else is said: enough to see that it can be.
const FEW: usize = 20;

/// One line of the table.
pub(crate) struct Row {
    pub(crate) fault: &'static str,
    /// How it is played.
    pub(crate) how: &'static str,
    /// How many times, of a count that was asked for.
    pub(crate) share: fn(usize) -> usize,
    pub(crate) play: fn(&mut Play) -> Outcome,
}

/// What came of a row.
#[derive(Debug, Default)]
pub(crate) struct Outcome {
    pub(crate) tries: usize,
    /// How much the program had acknowledged, by what it was.
    pub(crate) acknowledged: BTreeMap<&'static str, usize>,
    /// How much of it is not there.
    pub(crate) lost: usize,
    /// How much is there more than once, or was never sent.
    pub(crate) doubled: usize,
    /// The longest time from the fault to the first answer; none where it does not stop answering.
    pub(crate) outage: Option<Duration>,
    /// What a person was told.
    pub(crate) told: String,
    /// Whatever else was not as it has to be.
    pub(crate) wrong: Vec<String>,
}

impl Outcome {
    /// Whether the promise held.
    pub(crate) fn held(&self) -> bool {
        self.lost == 0 && self.doubled == 0 && self.wrong.is_empty()
    }

    /// So much more was acknowledged.
    pub(crate) fn acknowledges(&mut self, what: &'static str, count: usize) {
        *self.acknowledged.entry(what).or_default() += count;
    }

    /// How much was acknowledged.
    pub(crate) fn all(&self) -> usize {
        self.acknowledged.values().sum()
    }

    pub(crate) fn answered_after(&mut self, outage: Duration) {
        self.outage = self.outage.max(Some(outage));
    }

    /// Something that must hold; what is not so is told at the end, and the row goes on.
    pub(crate) fn must(&mut self, holds: bool, what: impl FnOnce() -> String) {
        if !holds {
            self.wrong.push(what());
        }
    }
}

/// A row under way.
pub(crate) struct Play {
    pub(crate) tries: usize,
    pub(crate) seed: u64,
    began: Instant,
    shown: Option<Instant>,
    /// How much of what is not as it has to be was told.
    told: usize,
}

impl Play {
    /// Plays a fault in one record after the other, `in_one` times in each; what went wrong twenty times
    /// need not go on.
    pub(crate) fn in_records(
        &mut self,
        in_one: usize,
        one_record: fn(&mut Self, u64, usize, &mut Outcome),
    ) -> Outcome {
        let mut outcome = Outcome::default();
        for round in 0.. {
            let left = self.tries.saturating_sub(outcome.tries);
            if left == 0 || outcome.wrong.len() >= 20 {
                break;
            }
            one_record(self, round, in_one.min(left), &mut outcome);
        }
        outcome
    }

    /// Tells how far it is: on a terminal all the time, elsewhere now and then.
    pub(crate) fn progress(&mut self, outcome: &Outcome) {
        for wrong in &outcome.wrong[self.told.min(outcome.wrong.len())..] {
            eprintln!("  {wrong}");
        }
        self.told = outcome.wrong.len();
        let (end, every) = if std::io::stderr().is_terminal() {
            ("\r", Duration::from_millis(200))
        } else {
            ("\n", Duration::from_mins(1))
        };
        if self.shown.is_some_and(|shown| shown.elapsed() < every) {
            return;
        }
        self.shown = Some(Instant::now());
        eprint!(
            "  {} of {}, {} acknowledged, {} lost, {} doubled, {:?}   {end}",
            outcome.tries,
            self.tries,
            outcome.all(),
            outcome.lost,
            outcome.doubled,
            Duration::from_secs(self.began.elapsed().as_secs())
        );
        std::io::stderr().flush().unwrap();
    }
}

fn number(name: &str) -> Option<u64> {
    let text = std::env::var(name).ok()?;
    Some(text.parse().unwrap_or_else(|_| panic!("{name} is a number, not {text:?}")))
}

fn play(row: &Row, count: usize, seed: u64) -> Outcome {
    let tries = (row.share)(count);
    let mut play = Play { tries, seed, began: Instant::now(), shown: None, told: 0 };
    eprintln!("{} ({tries})", row.fault);
    let played = catch_unwind(AssertUnwindSafe(|| (row.play)(&mut play)));
    let outcome = played.unwrap_or_else(|panic| {
        let why = panic.downcast_ref::<String>().cloned();
        let why = why.or_else(|| panic.downcast_ref::<&str>().map(|text| (*text).to_owned()));
        let why = why.map(|why| why.lines().next().unwrap_or_default().to_owned());
        Outcome { wrong: vec![why.unwrap_or_else(|| "it panicked".into())], ..Outcome::default() }
    });
    let word = if outcome.held() { "held" } else { "DID NOT HOLD" };
    eprintln!(
        "  {word}: {} tries, {} acknowledged, {} lost, {} doubled, longest outage {}, {} s",
        outcome.tries,
        outcome.all(),
        outcome.lost,
        outcome.doubled,
        page::outage(outcome.outage),
        play.began.elapsed().as_secs()
    );
    eprintln!("  {:?}", outcome.acknowledged);
    for wrong in outcome.wrong.iter().skip(play.told).take(10) {
        eprintln!("  {wrong}");
    }
    outcome
}

fn main() -> ExitCode {
    // The log of the service that a panic brings along is of no use here.
    std::panic::set_hook(Box::new(|_| {}));
    let words: Vec<String> = std::env::args().skip(1).filter(|one| !one.starts_with('-')).collect();
    let asked = number("TENTHS_FAULTS");
    let count = asked.map_or(FEW, |count| usize::try_from(count).unwrap());
    let seed = number("TENTHS_SEED").unwrap_or(1);
    let rows: [&[Row]; 6] =
        [&kills::ROWS, &papers::ROWS, &unplugs::ROWS, &disks::ROWS, &records::ROWS, &slips::ROWS];
    let all: Vec<&Row> = rows.into_iter().flatten().collect();
    let is_meant = |row: &&&Row| {
        words.is_empty() || words.iter().any(|word| row.fault.contains(word.as_str()))
    };
    let meant: Vec<&Row> = all.iter().filter(is_meant).copied().collect();
    let mut held = !meant.is_empty();
    for row in &meant {
        let outcome = play(row, count, seed);
        held &= outcome.held();
        // Written after each row: a long run that is ended leaves what it found.
        if asked.is_some() {
            page::write(&all, row, &outcome);
        }
    }
    if held { ExitCode::SUCCESS } else { ExitCode::FAILURE }
}
