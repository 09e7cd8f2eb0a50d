//! `docs/faults.md`, written by the run.

use std::fs;
use std::path::PathBuf;
use std::time::{Duration, SystemTime};

use crate::{Outcome, Row};

const HEAD: &str = "\
# Faults that were played

Written by `TENTHS_FAULTS=1000 cargo test --test faults` (`tests/faults/`), which plays each fault through the real program, an unoptimised build, and
looks afterwards whether all that had been acknowledged is there, once. Each line says when it was played, and how often.

- **acknowledged**: readings that a station's screen had shown or a reply had named; requests with a key that had their reply; files
  that were dropped; lines of the feed. **lost**: what of it is not there afterwards. **doubled**: what is there more than once, or was never sent.
- **longest outage**: from the fault to the first answer of the service, or of the gauge that was plugged in again. The next service is started at once;
  systemd waits two seconds (`RestartSec=`) before it does. The machine had two cores, shared with other work.

What this cannot prove: a loss of power, or a machine that resets (a process was killed, and the system kept what it had been given: whether the
disk keeps it is up to `fdatasync` and the disk); real adapters and their drivers (pseudo-terminals and pipes stand in for gauges, pedals and scanners);
network shares; a disk that answers with errors of its own. Not played here: a clock that is set back (that takes the clock of the whole machine); a stream that
freezes, a pedal that is stuck, descriptors that run out and a service that is killed on a full disk, which are tried one by one in `tests/it/`.

| fault | how it is played | tries | acknowledged | lost | doubled | longest outage | told | played |
|---|---|---|---|---|---|---|---|---|
";

fn path() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("docs/faults.md")
}

/// `0.31 s`; a dash where it never stopped answering.
pub(crate) fn outage(outage: Option<Duration>) -> String {
    outage.map_or_else(|| "–".into(), |took| format!("{:.2} s", took.as_secs_f64()))
}

fn today() -> String {
    let since = SystemTime::now().duration_since(SystemTime::UNIX_EPOCH).unwrap();
    let micros = i64::try_from(since.as_micros()).unwrap();
    let text = quantity::Wall::from_micros(micros).to_string();
    text.chars().take(10).collect()
}

/// `420: 300 plate, 120 remarks`.
fn acknowledged(outcome: &Outcome) -> String {
    let parts: Vec<String> =
        outcome.acknowledged.iter().map(|(what, count)| format!("{count} {what}")).collect();
    format!("{}: {}", outcome.all(), parts.join(", "))
}

fn line(row: &Row, outcome: &Outcome) -> String {
    let wrong = outcome.wrong.first().map(|wrong| format!(" **Did not hold**: {wrong}"));
    let cell = |text: String| text.replace('|', "\\|").replace('\n', " ");
    let told = cell(format!("{}{}", outcome.told, wrong.unwrap_or_default()));
    format!(
        "| {} | {} | {} | {} | {} | {} | {} | {} | {} |\n",
        row.fault,
        row.how,
        outcome.tries,
        acknowledged(outcome),
        outcome.lost,
        outcome.doubled,
        outage(outcome.outage),
        told,
        today()
    )
}

/// Puts the line of one row into the page. The lines of the others stay.
pub(crate) fn write(all: &[&Row], played: &Row, outcome: &Outcome) {
    let before = fs::read_to_string(path()).unwrap_or_default();
    let mut text = HEAD.to_owned();
    for row in all {
        if row.fault == played.fault {
            text.push_str(&line(row, outcome));
            continue;
        }
        let begins = format!("| {} |", row.fault);
        let stands = before.lines().find(|line| line.starts_with(&begins));
        let not_yet = || format!("| {} | {} | not played | | | | | | |", row.fault, row.how);
        text.push_str(&stands.map_or_else(not_yet, str::to_owned));
        text.push('\n');
    }
    fs::write(path(), text).unwrap();
}
