//! Finding things in a large record: 1,000,000 readings and then 10,000,000, made by the bench and
//! written by the store as they would be in years of work; beside it a plain table that Python's
//! `sqlite3` reads.
//!
//! ```text
//! cargo bench --bench record                 both sizes; what was made is kept for the next run
//! cargo bench --bench record -- 1000000      one size
//! cargo bench --bench record -- remove       takes what was made away
//! ```

#![expect(clippy::print_stdout, reason = "a benchmark prints its figures")]

#[path = "record/made.rs"]
mod made;
mod support;

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

use ::record::{Filter, Reader};
use made::{Made, PER_JOB};
use rusqlite::Connection;

/// Jobs that are asked for again and again.
const ASKED: usize = 100;
/// How often each of them.
const TIMES: usize = 40;
/// Whole commands that are run.
const COMMANDS: usize = 300;

fn main() {
    let at = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join("record");
    let words: Vec<String> = std::env::args().skip(1).filter(|word| word != "--bench").collect();
    if words.iter().any(|word| word == "remove") {
        drop(fs::remove_dir_all(&at));
        return;
    }
    let asked: Vec<usize> = words.iter().filter_map(|word| word.parse().ok()).collect();
    let sizes = if asked.is_empty() { vec![1_000_000, 10_000_000] } else { asked };
    let found: Vec<Found> = sizes.into_iter().map(|size| measured(&at, size)).collect();
    if let [small, large] = &found[..] {
        println!("from the first size to the second, medians and p99:");
        for (one, other) in small.times.iter().zip(&large.times) {
            let ratio = |one: Duration, other: Duration| other.as_secs_f64() / one.as_secs_f64();
            let (p50, p99) = (ratio(one.p50, other.p50), ratio(one.p99, other.p99));
            println!("  {:<44} {p50:>6.2} times {p99:>6.2} times", one.what);
        }
    }
}

/// Everything that was timed in one record.
struct Found {
    times: Vec<Times>,
}

struct Times {
    what: &'static str,
    p50: Duration,
    p99: Duration,
}

/// What one question took: by the clock on the wall, and of this thread's time on a processor, which
/// does not count what else the machine does.
type Took = (Duration, Duration);

fn timed(question: impl FnOnce()) -> Took {
    let ran = || {
        let at = rustix::time::clock_gettime(rustix::time::ClockId::ThreadCPUTime);
        let part = |number: i64| u64::try_from(number).expect("no clock runs below zero");
        Duration::from_secs(part(at.tv_sec)) + Duration::from_nanos(part(at.tv_nsec))
    };
    let (start, before) = (Instant::now(), ran());
    question();
    let after = ran();
    (start.elapsed(), after.saturating_sub(before))
}

impl Times {
    fn of(what: &'static str, mut all: Vec<Duration>) -> Self {
        let times = Self::sorted(what, &mut all);
        println!("  {what:<44} median {:>9.1?}   p99 {:>9.1?}", times.p50, times.p99);
        times
    }

    /// By the wall on the left, on a processor on the right; the latter is what sizes are compared by.
    fn both(what: &'static str, all: &[Took]) -> Self {
        let wall = Self::sorted(what, &mut all.iter().map(|took| took.0).collect::<Vec<_>>());
        let own = Self::sorted(what, &mut all.iter().map(|took| took.1).collect::<Vec<_>>());
        println!(
            "  {what:<44} median {:>9.1?}   p99 {:>9.1?}   on a processor {:>9.1?}   p99 {:>9.1?}",
            wall.p50, wall.p99, own.p50, own.p99
        );
        own
    }

    fn sorted(what: &'static str, all: &mut [Duration]) -> Self {
        all.sort_unstable();
        Self { what, p50: all[all.len() / 2], p99: all[all.len() * 99 / 100] }
    }
}

fn measured(at: &Path, readings: usize) -> Found {
    let made = Made::with(&at.join(readings.to_string()), readings);
    println!("{readings} readings in {} jobs:", made.jobs);
    on_disk(&made);
    let mut times = in_the_library(&made);
    times.extend(whole_command(&made));
    peer(at, &made, readings);
    Found { times }
}

/// What a reading takes, with everything that belongs to it, and the text of its frame aside.
fn on_disk(made: &Made) {
    let database = made.state.join("tenths.db");
    let conn = Connection::open(&database).expect("the record");
    let number =
        |sql: &str| -> i64 { conn.query_row(sql, [], |row| row.get(0)).expect("a number") };
    let count = number("SELECT count(*) FROM reading");
    let text = number("SELECT sum(length(CAST(as_sent AS BLOB))) FROM reading");
    let pages = number("PRAGMA page_count") * number("PRAGMA page_size");
    let of = |bytes: i64| made::float(bytes) / made::float(count);
    println!(
        "  on disk {:.1} bytes a reading, all tables and indexes; without the frame's own text {:.1} (text {:.1})",
        of(pages),
        of(pages - text),
        of(text)
    );
    let sql = "SELECT name, sum(pgsize) FROM dbstat WHERE aggregate = 1 GROUP BY name ORDER BY 2 DESC LIMIT 8";
    let mut statement = conn.prepare(sql).expect("the sizes of tables");
    let rows = statement.query_map([], |row| Ok((row.get(0)?, row.get(1)?))).expect("rows");
    let parts: Vec<String> = rows
        .map(|row: rusqlite::Result<(String, i64)>| row.expect("a size"))
        .map(|(name, bytes)| format!("{name} {:.1}", of(bytes)))
        .collect();
    println!("  of these {}", parts.join(", "));
}

fn in_the_library(made: &Made) -> Vec<Times> {
    let reader = Reader::open(&made.state).expect("the record");
    let of_job = |job: usize| Filter { job: Some(made::job_name(job)), ..Filter::default() };
    let ask = |filter: &Filter| {
        let mut found = Vec::new();
        let took = timed(|| found = reader.readings(filter).expect("readings"));
        assert!(found.len() >= PER_JOB, "{filter:?} has {}", found.len());
        took
    };
    let filters: Vec<Filter> =
        (0..ASKED).map(|turn| of_job(made::anywhere(turn, made.jobs))).collect();
    for filter in &filters {
        ask(filter);
    }
    let warm: Vec<Took> = (0..ASKED * TIMES).map(|turn| ask(&filters[turn % ASKED])).collect();
    let any: Vec<Took> =
        (0..2_000).map(|turn| ask(&of_job(made::anywhere(turn + ASKED, made.jobs)))).collect();
    let newest = Filter { last: Some(50), ..Filter::default() };
    let alerts = || timed(|| assert_eq!(reader.alerts(&newest).expect("alerts").len(), 50));
    alerts();
    let alerts: Vec<Took> = (0..ASKED * TIMES).map(|_| alerts()).collect();
    let readings = || timed(|| assert_eq!(reader.readings(&newest).expect("readings").len(), 50));
    let all_jobs: Vec<Took> = (0..100).map(|_| readings()).collect();
    vec![
        Times::both("readings of a job, asked for before", &warm),
        Times::both("readings of any job", &any),
        Times::both("last 50 alerts", &alerts),
        Times::both("last 50 readings of all jobs", &all_jobs),
    ]
}

/// The whole command, in turn with the start of a process that prints one line.
fn whole_command(made: &Made) -> Vec<Times> {
    let run = |arguments: &[&str]| {
        let mut command = Command::new(env!("CARGO_BIN_EXE_tenths"));
        command.args(arguments).env("TENTHS_CONFIG", &made.config).stdin(Stdio::null());
        let start = Instant::now();
        let output = command.output().expect("the command runs");
        let took = start.elapsed();
        assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
        (took, output.stdout)
    };
    let (mut whole, mut floor) = (Vec::new(), Vec::new());
    for turn in 0..COMMANDS {
        let job = made::job_name(made::anywhere(turn, made.jobs));
        let (took, out) = run(&["readings", &job, "--json"]);
        let lines = String::from_utf8(out).expect("text").lines().count();
        assert!(lines >= PER_JOB, "{job}: {lines} lines");
        whole.push(took);
        floor.push(run(&["--version"]).0);
    }
    vec![
        Times::of("tenths readings JOB --json, whole command", whole),
        Times::of("tenths --version, the start of a process", floor),
    ]
}

/// The same questions to a plain table, by Python.
fn peer(at: &Path, made: &Made, readings: usize) {
    let script = Path::new(env!("CARGO_MANIFEST_DIR")).join("benches/peers/record.py");
    let folder = at.join(format!("{readings}-plain"));
    let arguments = [readings.to_string(), made.jobs.to_string()];
    let ran = Command::new("python3").arg(script).arg(&folder).args(arguments).status();
    if !ran.is_ok_and(|status| status.success()) {
        println!("  the plain table was NOT measured: no python3 here, or it failed");
    }
}
