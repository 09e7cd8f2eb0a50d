//! A record made by the bench and the store, the service on it in a process of its own, and its
//! clients.

use std::fmt::Write as _;
use std::fs;
use std::io::{BufRead, BufReader, Write};
use std::os::unix::net::UnixStream;
use std::path::{Path, PathBuf};
use std::process::{Child, Command as Process, Stdio};
use std::thread;
use std::time::{Duration, Instant};

use ::record::Store;
use bench::row::AttemptReason;
use bench::{Bench, Command, Event, Request, Row};
use quantity::{Stamp, Wall};

/// Positions of the face that is measured again and again.
pub(crate) const POSITIONS: usize = 8;

/// What is made before the service starts.
#[derive(Clone, Copy)]
pub(crate) struct Made {
    pub(crate) jobs: usize,
    /// Times the face of each is gone round.
    pub(crate) rounds: usize,
    /// Whether all but the last stay open.
    pub(crate) open: bool,
}

/// A service at work in a folder of its own.
pub(crate) struct Shop {
    folder: tempfile::TempDir,
    child: Child,
}

impl Shop {
    pub(crate) fn new(made: Made) -> Self {
        let folder = tempfile::tempdir().expect("a folder");
        let config = configure(folder.path());
        make(&config, &folder.path().join("state"), made);
        let child = Process::new(env!("CARGO_BIN_EXE_tenths"))
            .arg("serve")
            .env("TENTHS_CONFIG", &config)
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
            .expect("the service starts");
        let shop = Self { folder, child };
        let start = Instant::now();
        while UnixStream::connect(shop.socket()).is_err() {
            assert!(start.elapsed() < Duration::from_mins(1), "the service does not listen");
            thread::sleep(Duration::from_millis(20));
        }
        shop
    }

    fn socket(&self) -> PathBuf {
        self.state().join("tenths.sock")
    }

    pub(crate) fn state(&self) -> PathBuf {
        self.folder.path().join("state")
    }

    pub(crate) fn folder(&self) -> &Path {
        self.folder.path()
    }

    pub(crate) fn client(&self) -> Client {
        let writing = UnixStream::connect(self.socket()).expect("connected");
        let reading = BufReader::new(writing.try_clone().expect("a second handle"));
        let mut client = Client { writing, reading, keys: 0, name: unique() };
        client.line();
        client
    }

    /// A command of the program on this record.
    pub(crate) fn command(&self, arguments: &[&str]) -> Process {
        let mut command = Process::new(env!("CARGO_BIN_EXE_tenths"));
        command
            .args(arguments)
            .env("TENTHS_CONFIG", self.folder.path().join("bench.toml"))
            .stdin(Stdio::null())
            .stdout(Stdio::null())
            .stderr(Stdio::null());
        command
    }

    /// Time on a processor of its threads whose name begins like this.
    pub(crate) fn ran(&self, name: &str) -> Duration {
        let tasks = fs::read_dir(format!("/proc/{}/task", self.child.id())).expect("tasks");
        let of = |task: PathBuf| {
            let named = fs::read_to_string(task.join("comm")).ok()?;
            let line = fs::read_to_string(task.join("schedstat")).ok()?;
            let ns: u64 = line.split(' ').next()?.parse().ok()?;
            named.starts_with(name).then_some(Duration::from_nanos(ns))
        };
        tasks.filter_map(|task| of(task.ok()?.path())).sum()
    }
}

impl Drop for Shop {
    fn drop(&mut self) {
        drop(self.child.kill());
        drop(self.child.wait());
    }
}

fn unique() -> usize {
    use std::sync::atomic::{AtomicUsize, Ordering};
    static NEXT: AtomicUsize = AtomicUsize::new(0);
    NEXT.fetch_add(1, Ordering::Relaxed)
}

/// A connection that asks.
pub(crate) struct Client {
    writing: UnixStream,
    reading: BufReader<UnixStream>,
    keys: usize,
    name: usize,
}

impl Client {
    pub(crate) fn line(&mut self) -> String {
        let mut line = String::new();
        self.reading.read_line(&mut line).expect("a line");
        line
    }

    /// Asks for a change; `rest` are the fields beside the key.
    pub(crate) fn ask(&mut self, what: &str, rest: &str) {
        self.keys += 1;
        let key = format!("{}-{}-{}", std::process::id(), self.name, self.keys);
        let line = format!("{{\"request\":\"{what}\",\"key\":\"{key}\"{rest}}}\n");
        self.say(&line);
        let reply = self.line();
        assert!(!reply.contains("\"error/1\""), "{line}{reply}");
    }

    /// Asks for what is refused: decided as all else, and nothing is stored.
    pub(crate) fn refused(&mut self, what: &str, rest: &str) {
        self.say(&format!("{{\"request\":\"{what}\"{rest}}}\n"));
        let reply = self.line();
        assert!(reply.contains("\"error/1\""), "{reply}");
    }

    pub(crate) fn say(&mut self, line: &str) {
        self.writing.write_all(line.as_bytes()).expect("said");
    }

    pub(crate) fn stream(&self) -> UnixStream {
        self.writing.try_clone().expect("a second handle")
    }

    /// The face is gone round once more: a verdict, and with it a line for every follower.
    pub(crate) fn round(&mut self, turn: usize) {
        self.ask("remeasure", ",\"reason\":\"again\",\"target\":\"ring/face\"");
        let values: Vec<String> =
            (0..POSITIONS).map(|at| format!("\"12.34{:02}\"", (turn + at) % 9)).collect();
        self.ask("enter", &format!(",\"values\":[{}]", values.join(",")));
    }
}

/// The bench's file and plan, and the folders it names.
fn configure(at: &Path) -> PathBuf {
    for name in ["plans", "profiles", "state"] {
        fs::create_dir(at.join(name)).expect("a folder");
    }
    let text = "[bench]\nname = \"bench\"\nunit = \"mm\"\nstate = \"state\"\nplans = \"plans\"\n\
                profiles = \"profiles\"\n[[gauge]]\nname = \"height\"\nkind = \"height\"\nunit = \"mm\"\n\
                resolution = \"0.0001 mm\"\nuncertainty = \"0.0001 mm\"\n";
    fs::write(at.join("bench.toml"), text).expect("written");
    let mut plan = String::from(
        "name = \"held\"\nunit = \"mm\"\n[[part]]\nname = \"ring\"\nkind = \"spacer\"\n",
    );
    for (check, positions) in [("face", POSITIONS), ("long", 1000)] {
        writeln!(
            plan,
            "[[part.check]]\nname = \"{check}\"\nmeasures = \"thickness-variation\"\ngauge = \"height\"\n\
             setup = \"anvil\"\npositions = {positions}\nradius = \"40 mm\"\ntolerance = \"0.0025 mm\"\nclosure = false"
        )
        .expect("text");
    }
    fs::write(at.join("plans/held.toml"), plan).expect("written");
    at.join("bench.toml")
}

/// The bench at work, without a clock.
struct Work {
    bench: Bench,
    setup: bench::setup::Setup,
    at_us: u64,
    rows: Vec<Row>,
}

impl Work {
    fn ask(&mut self, command: Command) {
        self.at_us += 4_000_000;
        let wall = Wall::from_micros(1_700_000_000_000_000 + self.at_us.cast_signed());
        let at = Stamp { wall, mono_us: self.at_us };
        let request = Request { station: None, by: None, login: None, command };
        let decision = self.bench.decide(&self.setup, at, &Event::Request(request));
        assert!(!matches!(decision.reply, Some(Err(_))), "{:?}", decision.reply);
        self.bench = decision.after;
        self.rows.extend(decision.rows);
    }
}

fn make(config: &Path, state: &Path, made: Made) {
    let setup = config::load(config).loaded.expect("configured").bench;
    let (mut store, back) = Store::open(state).expect("a record");
    let bench = Bench::rebuilt(&back.rows, back.last, back.feed);
    let mut work = Work { bench, setup, at_us: 0, rows: Vec::new() };
    for job in 0..made.jobs {
        let (name, plan) = (format!("J-{job:05}"), "held".to_owned());
        work.ask(Command::JobOpen {
            name,
            used: false,
            plan,
            serial: None,
            customer: None,
            told: Vec::new(),
            rule: None,
        });
        for round in 0..made.rounds.max(1) {
            let target = "ring/face".to_owned();
            let again = Command::Remeasure {
                reason: AttemptReason::Again,
                target: Some(target.clone()),
                remark: None,
            };
            work.ask(if round == 0 { Command::Measure { target, remark: None } } else { again });
            let values = (0..POSITIONS).map(|at| format!("12.34{:02}", (job + round + at) % 9));
            work.ask(Command::Enter { values: values.collect(), graduation: None });
        }
        if !made.open && job + 1 < made.jobs {
            let why = Some("done".to_owned());
            work.ask(Command::JobClose { name: None, why });
        }
        if work.rows.len() > 5_000 || job + 1 == made.jobs {
            store.commit(&work.rows, &[]).expect("stored");
            work.rows.clear();
        }
    }
    store.checkpoint().expect("the log is moved");
    store.close().expect("closed");
}
