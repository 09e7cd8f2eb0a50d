//! What the benchmarks share: pseudo-terminals, a bench on disk, medians.

#![allow(dead_code, reason = "each benchmark uses its part")]

use std::fmt::Write as _;
use std::fs::{self, File};
use std::io::Read;
use std::os::fd::OwnedFd;
use std::os::unix::fs::symlink;
use std::path::Path;
use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::time::{Duration, Instant};

use rusqlite::Connection;
use rustix::pty::{OpenptFlags, grantpt, openpt, ptsname, unlockpt};
use rustix::termios::{OptionalActions, Winsize, tcgetattr, tcsetattr, tcsetwinsize};

/// A pseudo-terminal, its near end held open.
pub(crate) struct Pty {
    far: OwnedFd,
    near: File,
    name: String,
}

impl Pty {
    pub(crate) fn new() -> Self {
        let far = openpt(OpenptFlags::RDWR | OpenptFlags::NOCTTY | OpenptFlags::CLOEXEC)
            .expect("a terminal");
        grantpt(&far).expect("granted");
        unlockpt(&far).expect("unlocked");
        let name = ptsname(&far, Vec::new()).expect("a name").into_string().expect("plain");
        let near = File::options().read(true).write(true).open(&name).expect("the near end");
        let mut mode = tcgetattr(&near).expect("a terminal");
        mode.make_raw();
        tcsetattr(&near, OptionalActions::Now, &mode).expect("raw");
        Self { far, near, name }
    }

    pub(crate) fn at(link: &Path) -> Self {
        let pty = Self::new();
        symlink(&pty.name, link).expect("a link");
        pty
    }

    pub(crate) fn near(&self) -> File {
        self.near.try_clone().expect("the near end")
    }

    pub(crate) fn resize(&self, columns: u16, rows: u16) {
        let size = Winsize { ws_row: rows, ws_col: columns, ws_xpixel: 0, ws_ypixel: 0 };
        tcsetwinsize(&self.near, size).expect("resized");
    }

    /// Reads away what is written to it, on a thread of its own; counts the bytes.
    pub(crate) fn drained(&self) -> Arc<AtomicUsize> {
        let (count, mut far) =
            (Arc::new(AtomicUsize::new(0)), File::from(self.far.try_clone().expect("the far end")));
        let counted = Arc::clone(&count);
        std::thread::spawn(move || {
            let mut chunk = [0; 4096];
            while let Ok(bytes @ 1..) = far.read(&mut chunk) {
                counted.fetch_add(bytes, Ordering::Relaxed);
            }
        });
        count
    }

    pub(crate) fn send(&self, bytes: &[u8]) {
        let sent = rustix::io::write(&self.far, bytes).expect("sent");
        assert_eq!(sent, bytes.len());
    }
}

/// A folder with a bench of some gauges on ports `gauge-0`, `gauge-1` … and a height gauge.
pub(crate) fn bench_folder(ports: usize) -> tempfile::TempDir {
    let dir = tempfile::tempdir().expect("a folder");
    let at = dir.path();
    for name in ["plans", "state", "drop"] {
        fs::create_dir(at.join(name)).expect("a folder");
    }
    let profiles = Path::new(env!("CARGO_MANIFEST_DIR")).join("config/profiles");
    let mut text = format!(
        "[bench]\nname = \"bench\"\nunit = \"in\"\nstate = \"state\"\nplans = \"plans\"\nprofiles = \"{}\"\n\
         [[gauge]]\nname = \"height\"\nkind = \"height\"\nunit = \"mm\"\nresolution = \"0.0001 mm\"\n",
        profiles.display()
    );
    for port in 0..ports {
        let path = at.join(format!("gauge-{port}"));
        writeln!(
            text,
            "[[gauge]]\nname = \"g{port}\"\nkind = \"indicator\"\nport = \"{}\"\nprofile = \"signed-decimal\"\n\
             unit = \"in\"\nresolution = \"0.00001 in\"\nrepeat_ms = 0\nmax_rate = 0",
            path.display()
        )
        .expect("text");
    }
    fs::write(at.join("bench.toml"), text).expect("written");
    let mut plan = String::from(
        "name = \"held\"\nunit = \"mm\"\n[[part]]\nname = \"ring\"\nkind = \"spacer\"\n",
    );
    for check in 0..80 {
        writeln!(
            plan,
            "[[part.check]]\nname = \"scan-{check}\"\nmeasures = \"thickness-variation\"\ngauge = \"height\"\n\
             setup = \"anvil\"\npositions = 1000\nradius = \"40 mm\"\ntolerance = \"0.0025 mm\"\nclosure = false"
        )
        .expect("text");
    }
    fs::write(at.join("plans/held.toml"), plan).expect("written");
    dir
}

type Reading = (i64, i64, i64, i64, i64, i64, i64, i64, String);
type More = (i64, Option<i64>, Option<i64>, Option<String>);

/// Copies the readings of one record into another with the plain statement, in one transaction:
/// the cost of SQLite itself for these rows, tables and indexes.
pub(crate) fn raw_inserts(into: &Path, from: &Path) -> Duration {
    let source = Connection::open(from).expect("a record");
    let sql = "SELECT job, nth, back, form, number, mono, drift, place, as_sent FROM reading";
    let mut statement = source.prepare(sql).expect("readings");
    let read = |row: &rusqlite::Row| -> rusqlite::Result<Reading> {
        Ok((
            row.get(0)?,
            row.get(1)?,
            row.get(2)?,
            row.get(3)?,
            row.get(4)?,
            row.get(5)?,
            row.get(6)?,
            row.get(7)?,
            row.get(8)?,
        ))
    };
    let rows: Vec<Reading> =
        statement.query_map([], read).expect("rows").map(|row| row.expect("a row")).collect();
    let sql = "SELECT reading, line, measured_at, why FROM reading_more";
    let mut statement = source.prepare(sql).expect("more");
    let more: Vec<More> = statement
        .query_map([], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?, row.get(3)?)))
        .expect("rows")
        .map(|row| row.expect("a row"))
        .collect();
    let mut target = Connection::open(into).expect("a record");
    target.execute_batch("PRAGMA synchronous = FULL; PRAGMA wal_autocheckpoint = 0;").expect("set");
    let start = Instant::now();
    let transaction = target.transaction().expect("begun");
    {
        let mut insert = transaction
            .prepare(
                "INSERT INTO reading (job, nth, back, form, number, mono, drift, place, as_sent)
                 VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9)",
            )
            .expect("prepared");
        let mut insert_more = transaction
            .prepare("INSERT INTO reading_more (reading, line, measured_at, why) VALUES (?1, ?2, ?3, ?4)")
            .expect("prepared");
        let mut more = more.iter().peekable();
        for row in &rows {
            insert
                .execute(rusqlite::params![
                    row.0, row.1, row.2, row.3, row.4, row.5, row.6, row.7, row.8
                ])
                .expect("inserted");
            if let Some(row) = more.next_if(|next| next.0 == row.0 + row.1) {
                insert_more
                    .execute(rusqlite::params![row.0, row.1, row.2, row.3])
                    .expect("inserted");
            }
        }
    }
    transaction.commit().expect("committed");
    start.elapsed()
}

pub(crate) fn median(times: &mut [Duration]) -> Duration {
    times.sort_unstable();
    times[times.len() / 2]
}

pub(crate) fn ratio(over: &mut [Duration], under: &mut [Duration]) -> f64 {
    median(over).as_secs_f64() / median(under).as_secs_f64()
}
