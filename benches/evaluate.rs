//! `tenths evaluate` on a million points, beside only parsing the same file: the whole command, from its
//! start to its sentence.

#![expect(clippy::print_stdout, reason = "a benchmark prints its figures")]

use std::fmt::Write as _;
use std::fs::{self, File};
use std::hint::black_box;
use std::io::BufReader;
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

use csv::{ByteRecord, ReaderBuilder};

const ROWS: u32 = 1_000_000;
/// Rounds in which both sides take their turn; the best of each counts.
const ROUNDS: usize = 11;

fn main() {
    let dir = tempfile::tempdir().expect("a folder");
    let file = dir.path().join("points.csv");
    fs::write(&file, points()).expect("written");
    let size = fs::metadata(&file).expect("a file").len();
    for measures in ["flatness", "parallelism"] {
        let (mut whole, mut parsing) = (Duration::MAX, Duration::MAX);
        for _ in 0..ROUNDS {
            whole = whole.min(timed(|| evaluate(&file, measures)));
            parsing = parsing.min(timed(|| parse(&file)));
        }
        println!(
            "{measures} of {ROWS} points: {:.0} ms, parsing alone {:.0} ms, ratio {:.2}",
            whole.as_secs_f64() * 1e3,
            parsing.as_secs_f64() * 1e3,
            whole.as_secs_f64() / parsing.as_secs_f64()
        );
    }
    println!(
        "most memory of flatness: {} MB, the file {} MB",
        peak_kb(&file) / 1000,
        size / 1_000_000
    );
}

/// A tilted, hollow face with a skin, all over a plate of 400 by 400 mm, as a logger writes it.
fn points() -> String {
    let mut text = String::from("x_mm,y_mm,z_um\n");
    let mut state = 1_u32;
    let mut upto = |bound: u32| {
        // A linear congruence (Numerical Recipes): any spread of places will do.
        state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        f64::from(state >> 8) / f64::from(1_u32 << 24) * f64::from(bound)
    };
    for _ in 0..ROWS {
        let (x, y) = (upto(400) - 200.0, upto(400) - 200.0);
        let z = 0.01 * x - 0.02 * y + (x * x + y * y) * 2e-5 + upto(2);
        writeln!(text, "{x:.4},{y:.4},{z:.3}").expect("text");
    }
    text
}

fn timed(run: impl FnOnce()) -> Duration {
    let start = Instant::now();
    run();
    start.elapsed()
}

fn evaluate(file: &Path, measures: &str) {
    let status = Command::new(env!("CARGO_BIN_EXE_tenths"))
        .arg("evaluate")
        .arg(file)
        .args(["--measures", measures])
        .stdout(Stdio::null())
        .status()
        .expect("the program");
    assert!(status.success());
}

/// The floor: the cells of every row by the `csv` crate, each parsed as a float, into columns.
fn parse(file: &Path) {
    let file = BufReader::new(File::open(file).expect("the file"));
    let mut reader = ReaderBuilder::new().flexible(true).from_reader(file);
    let mut columns = [const { Vec::<f64>::new() }; 3];
    let mut record = ByteRecord::new();
    while reader.read_byte_record(&mut record).expect("a row") {
        for (column, cell) in columns.iter_mut().zip(&record) {
            let cell = str::from_utf8(cell).expect("text");
            column.push(cell.parse().expect("a number"));
        }
    }
    assert_eq!(black_box(columns)[2].len(), usize::try_from(ROWS).expect("it fits"));
}

/// The most memory of a run, kB: the kernel's high-water mark of the child, looked at until it ends.
fn peak_kb(file: &Path) -> u64 {
    let mut child = Command::new(env!("CARGO_BIN_EXE_tenths"))
        .arg("evaluate")
        .arg(file)
        .args(["--measures", "flatness"])
        .stdout(Stdio::null())
        .spawn()
        .expect("the program");
    let status = format!("/proc/{}/status", child.id());
    let mut peak = 0;
    while child.try_wait().expect("a child").is_none() {
        let text = fs::read_to_string(&status).unwrap_or_default();
        let line = text.lines().find_map(|line| line.strip_prefix("VmHWM:"));
        let kb = line.and_then(|line| line.split_whitespace().next()?.parse().ok());
        peak = peak.max(kb.unwrap_or(0));
        std::thread::sleep(Duration::from_millis(1));
    }
    peak
}
