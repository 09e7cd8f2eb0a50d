//! From the wire to the disk, and from a file to the disk, each beside a floor measured in the same run.
//! Prints ratios; `README.md` explains them.

#![expect(clippy::print_stdout, reason = "a benchmark prints its figures")]

mod support;

use std::collections::BTreeSet;
use std::fmt::Write as _;
use std::fs::File;
use std::io::{Read, Write};
use std::path::Path;
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};
use std::thread;
use std::time::{Duration, Instant};

use ::record::Store;
use bench::row::FileSeen;
use bench::{Bench, Command, DroppedFile, Event, Request, Row};
use gauge::{Columns, RowFormat, parse_rows};
use quantity::{Name, Stamp, Unit, Wall};
use rusqlite::Connection;
use support::{Pty, bench_folder, median, ratio};

/// Touches timed for each side.
const TOUCHES: usize = 300;
/// Rows of the file.
const ROWS: usize = 80_000;

/// What is measured, by its name on the command line; without a name all of it.
const PARTS: [(&str, fn()); 2] = [("frame", frame_to_committed), ("file", file_to_committed)];

fn main() {
    let named: Vec<String> = std::env::args().skip(1).filter(|word| word != "--bench").collect();
    for (name, measure) in PARTS {
        if named.is_empty() || named.iter().any(|word| word == name) {
            measure();
        }
    }
}

/// A frame on a pseudo-terminal until another connection sees it committed, through the whole
/// service; beside a blocking read of the same bytes, a write and an fdatasync.
fn frame_to_committed() {
    let dir = bench_folder(1);
    let pty = Pty::at(&dir.path().join("gauge-0"));
    let loaded = config::load(&dir.path().join("bench.toml")).loaded.expect("configured");
    let database = loaded.state.join("tenths.db");
    thread::spawn(move || daemon::run(loaded));
    while !database.exists() {
        thread::sleep(Duration::from_millis(5));
    }
    thread::sleep(Duration::from_millis(500));
    let look = Connection::open(&database).expect("the record");
    let version = || -> i64 {
        look.pragma_query_value(None, "data_version", |row| row.get(0)).unwrap_or_default()
    };

    let floor_pty = Pty::new();
    let written = Arc::new(AtomicU64::new(0));
    let mut near = floor_pty.near();
    let mut file = File::create(dir.path().join("floor")).expect("a file");
    let seen = Arc::clone(&written);
    thread::spawn(move || {
        let mut bytes = [0; 64];
        while let Ok(count) = near.read(&mut bytes) {
            if file.write_all(&bytes[..count]).is_err() || file.sync_data().is_err() {
                break;
            }
            seen.fetch_add(1, Ordering::Release);
        }
    });

    let (mut service, mut floor) = (Vec::new(), Vec::new());
    for touch in 0..TOUCHES {
        let frame = format!("+0.{touch:05}\r");
        let before = version();
        let start = Instant::now();
        pty.send(frame.as_bytes());
        while version() == before {}
        service.push(start.elapsed());
        thread::sleep(Duration::from_millis(4));
        let before = written.load(Ordering::Acquire);
        let start = Instant::now();
        floor_pty.send(frame.as_bytes());
        while written.load(Ordering::Acquire) == before {
            std::hint::spin_loop();
        }
        floor.push(start.elapsed());
        thread::sleep(Duration::from_millis(4));
    }
    println!(
        "frame to committed     {:>9.1?}   blocking read + write + fdatasync {:>9.1?}   ratio {:.2}",
        median(&mut service),
        median(&mut floor),
        ratio(&mut service, &mut floor)
    );
}

/// A CSV file, parsed, checked against the plan, decided and committed; beside ready rows into the
/// same tables and indexes in one transaction.
fn file_to_committed() {
    let (mut whole, mut floor) = (Vec::new(), Vec::new());
    for round in 0..5 {
        let dir = bench_folder(0);
        whole.push(take_file(dir.path(), round, &mut floor));
    }
    let rows = f64::from(u32::try_from(ROWS).expect("small"));
    let rate = |time: Duration| rows / time.as_secs_f64();
    println!(
        "CSV rows to committed  {:>9.0}/s  ready rows into the same tables   {:>9.0}/s  ratio {:.2}",
        rate(median(&mut whole)),
        rate(median(&mut floor)),
        ratio(&mut whole, &mut floor)
    );
}

fn take_file(dir: &Path, round: usize, floor: &mut Vec<Duration>) -> Duration {
    let loaded = config::load(&dir.join("bench.toml")).loaded.expect("configured");
    let setup = loaded.bench;
    let (mut store, back) = Store::open(&dir.join("state")).expect("a record");
    let mut bench = Bench::rebuilt(&back.rows, back.last, back.feed);
    let mut rows = decide(&mut bench, &setup, &Event::Request(open_job()));
    store.commit(&rows, &[]).expect("stored");

    let text = csv_text();
    let start = Instant::now();
    let file = dropped(text.into_bytes());
    let parsed = start.elapsed();
    rows = decide(&mut bench, &setup, &Event::File(Box::new(file)));
    let decided = start.elapsed();
    store.commit(&rows, &[]).expect("stored");
    let whole = start.elapsed();
    println!(
        "  a file of {ROWS} rows: parsed {parsed:.1?}, decided {:.1?}, committed {:.1?}",
        decided.saturating_sub(parsed),
        whole.saturating_sub(decided)
    );
    assert!(rows.len() > ROWS, "the file was taken: {:?}", rows.last());

    // The floor: the very rows that the file became, ready made, into a second record.
    let other = dir.join(format!("floor-{round}"));
    let (mut store, _) = Store::open(&other).expect("a record");
    let mut bench = Bench::default();
    let opening = decide(&mut bench, &setup, &Event::Request(open_job()));
    store.commit(&opening, &[]).expect("stored");
    drop(store.close());
    floor.push(support::raw_inserts(&other.join("tenths.db"), &dir.join("state/tenths.db")));
    whole
}

fn decide(bench: &mut Bench, setup: &bench::setup::Setup, event: &Event) -> Vec<Row> {
    let at = Stamp { wall: Wall::from_micros(1_800_000_000_000_000), mono_us: 1 };
    let decision = bench.decide(setup, at, event);
    *bench = decision.after;
    decision.rows
}

fn open_job() -> Request {
    let command = Command::JobOpen {
        name: "b1".to_owned(),
        used: false,
        plan: "held".to_owned(),
        serial: None,
        customer: None,
        told: Vec::new(),
        rule: None,
    };
    Request { station: None, by: None, login: None, command }
}

/// Scans of a thousand positions each, as a logger on a turntable writes them.
fn csv_text() -> String {
    let mut text = String::from("Value,Unit,Job,Part,Check,Pos\n");
    for row in 0..ROWS {
        let (check, position) = (row / 1000, row % 1000);
        let value = (row * 7919) % 90;
        writeln!(text, "12.{value:04},mm,b1,ring,scan-{check},{position}").expect("text");
    }
    text
}

fn dropped(bytes: Vec<u8>) -> DroppedFile {
    let column = |name: &str| Some(name.to_owned());
    let format = RowFormat {
        columns: Columns {
            value: "Value".to_owned(),
            unit: column("Unit"),
            time: None,
            job: column("Job"),
            part: column("Part"),
            check: column("Check"),
            position: column("Pos"),
        },
        delimiter: b',',
        decimal: b'.',
        skip_lines: 0,
        unit: Some(Unit::Millimetre),
        time_zone: None,
    };
    let rows = parse_rows(&bytes, &format).expect("good rows");
    DroppedFile {
        seen: FileSeen {
            drop: Name::new("logger").expect("a name"),
            name: "scan.csv".to_owned(),
            digest: *blake3::hash(&bytes).as_bytes(),
            bytes: u64::try_from(bytes.len()).expect("small"),
            rows: u32::try_from(rows.rows.len()).expect("small"),
            series: [0; 32],
            went: [0; 32],
            why: String::new(),
        },
        gauge: Name::new("height").expect("a name"),
        rows: Arc::new(rows),
        bytes: Arc::new(bytes),
        bad: Vec::new(),
        given_before: 0,
        to_active: false,
        before: Vec::new(),
        known: false,
        same: None,
        closed_jobs: BTreeSet::new(),
    }
}
