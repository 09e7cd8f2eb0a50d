//! Five thousand files that arrive at once, through the whole service: until each has its answer, and how
//! much later a touch is meanwhile. The floor beside it: the same files, each read and its rows stored
//! in transactions of 16 files. Prints figures; `README.md` explains them.

#![expect(clippy::print_stdout, reason = "a benchmark prints its figures")]

mod support;

use std::fmt::Write as _;
use std::fs;
use std::path::Path;
use std::process::Command;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::thread;
use std::time::{Duration, Instant};

use rusqlite::Connection;
use support::{Pty, bench_folder};

/// Files that come at once.
const FILES: usize = 5_000;
/// Rows of each.
const ROWS: usize = 8;
/// Checks of a job.
const CHECKS: usize = 50;
/// Between two touches.
const PAUSE: Duration = Duration::from_millis(40);

fn main() {
    let files = std::env::args().find_map(|argument| argument.parse().ok()).unwrap_or(FILES);
    let dir = bench_folder(1);
    let configured = dir.path().join("bench.toml");
    configure(dir.path(), &configured);
    let pty = Pty::at(&dir.path().join("gauge-0"));
    let loaded = config::load(&configured).loaded.expect("configured");
    let database = loaded.state.join("tenths.db");
    thread::spawn(move || daemon::run(loaded));
    while !database.exists() {
        thread::sleep(Duration::from_millis(5));
    }
    thread::sleep(Duration::from_millis(500));
    // One more than the files are for: it is opened last and in use, so the touches are kept with it.
    for job in 0..=files.div_ceil(CHECKS) {
        let opened = Command::new(env!("CARGO_BIN_EXE_tenths"))
            .args(["job", "open", &format!("J{job}"), "--plan", "rings"])
            .env("TENTHS_CONFIG", &configured)
            .output()
            .expect("run");
        assert!(opened.status.success(), "{opened:?}");
    }
    let quiet = touches(&pty, &database, 100, &AtomicBool::new(false));
    let over = Arc::new(AtomicBool::new(false));
    let (late, told) = thread::scope(|scope| {
        let touching = scope.spawn(|| touches(&pty, &database, usize::MAX, &over));
        let start = Instant::now();
        drop_all(&dir.path().join("drop"), files);
        let look = Connection::open(&database).expect("the record");
        let answered = || -> usize {
            let sql = "SELECT count(*) FROM fact WHERE kind IN ('file-taken', 'file-refused')";
            let count: i64 = look.query_row(sql, [], |row| row.get(0)).expect("files");
            usize::try_from(count).expect("a count")
        };
        while answered() < files {
            thread::sleep(Duration::from_millis(5));
        }
        let told = start.elapsed();
        over.store(true, Ordering::Relaxed);
        (touching.join().expect("touched"), told)
    });
    let floor = floor(&dir.path().join("drop"), &dir.path().join("floor.db"));
    println!("{files} files to committed   {told:>9.1?}   read and stored bare {floor:>9.1?}");
    println!("touch to committed     quiet {}   beside the files {}", spread(quiet), spread(late));
}

/// A drop for the height gauge, and a plan of fifty checks with a file for each.
fn configure(dir: &Path, configured: &Path) {
    let text = fs::read_to_string(configured).expect("written");
    let more = format!(
        "[[drop]]\nname = \"logger\"\nfolder = \"{}\"\ngauge = \"height\"\ntags = \"columns\"\n\
         columns = {{ value = \"Value\", job = \"Job\", part = \"Part\", check = \"Check\" }}\n",
        dir.join("drop").display()
    );
    fs::write(configured, text + &more).expect("written");
    let mut plan =
        "name = \"rings\"\nunit = \"mm\"\n[[part]]\nname = \"ring\"\nkind = \"spacer\"\n"
            .to_owned();
    for check in 0..CHECKS {
        write!(
            plan,
            "[[part.check]]\nname = \"face-{check}\"\nmeasures = \"thickness-variation\"\ngauge = \"height\"\n\
             setup = \"anvil\"\npositions = {ROWS}\nradius = \"40 mm\"\ntolerance = \"0.0025 mm\"\nclosure = false\n"
        )
        .expect("text");
    }
    fs::write(dir.join("plans/rings.toml"), plan).expect("written");
}

/// Each file is a whole check, judged by the time it is answered.
fn drop_all(folder: &Path, files: usize) {
    for file in 0..files {
        let (job, check) = (file / CHECKS, file % CHECKS);
        let mut text = "Value,Job,Part,Check\n".to_owned();
        for row in 0..ROWS {
            let value = 3450 + (file + row) % 9;
            writeln!(text, "12.{value:04},J{job},ring,face-{check}").expect("text");
        }
        fs::write(folder.join(format!("{file:05}.csv")), text).expect("dropped");
    }
}

/// How long each touch takes until another connection sees a commit after it.
fn touches(pty: &Pty, database: &Path, most: usize, over: &AtomicBool) -> Vec<Duration> {
    let look = Connection::open(database).expect("the record");
    let newest = || -> i64 {
        let sql = "SELECT coalesce(max(nth), 0) FROM reading
                   WHERE job = (SELECT max(seq) FROM fact WHERE kind = 'job-opened')";
        look.query_row(sql, [], |row| row.get(0)).expect("readings")
    };
    let mut all = Vec::new();
    while all.len() < most && !over.load(Ordering::Relaxed) {
        let before = newest();
        let start = Instant::now();
        pty.send(format!("+0.{:05}\r", all.len() % 90_000).as_bytes());
        while newest() == before {
            thread::sleep(Duration::from_micros(200));
        }
        all.push(start.elapsed());
        thread::sleep(PAUSE);
    }
    all
}

/// The same files, read and inserted as text, 16 in a transaction.
fn floor(folder: &Path, into: &Path) -> Duration {
    let mut target = Connection::open(into).expect("a database");
    target
        .execute_batch(
            "PRAGMA journal_mode = WAL; PRAGMA synchronous = FULL;
             CREATE TABLE file (name TEXT, digest BLOB); CREATE TABLE row (file INTEGER, text TEXT);",
        )
        .expect("made");
    let mut names: Vec<_> = fs::read_dir(folder)
        .expect("read")
        .map(|entry| entry.expect("an entry").path())
        .filter(|path| path.extension().is_some_and(|ending| ending == "csv"))
        .collect();
    names.sort();
    let start = Instant::now();
    for some in names.chunks(16) {
        let transaction = target.transaction().expect("begun");
        for path in some {
            let text = fs::read_to_string(path).expect("read");
            let digest = blake3::hash(text.as_bytes());
            let name = path.display().to_string();
            transaction
                .execute("INSERT INTO file VALUES (?1, ?2)", (name, digest.as_bytes()))
                .expect("stored");
            let file = transaction.last_insert_rowid();
            for line in text.lines().skip(1) {
                transaction
                    .execute("INSERT INTO row VALUES (?1, ?2)", (file, line))
                    .expect("stored");
            }
        }
        transaction.commit().expect("committed");
    }
    start.elapsed()
}

fn spread(mut all: Vec<Duration>) -> String {
    all.sort();
    let at = |percent: usize| all[(all.len() - 1) * percent / 100];
    format!("median {:.1?}, p99 {:.1?}, most {:.1?} of {}", at(50), at(99), at(100), all.len())
}
