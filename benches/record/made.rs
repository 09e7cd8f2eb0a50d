//! A record like that of years of work: jobs of 500 readings, each decided by the bench and written by
//! the store. It is kept and used again.

use std::fmt::Write as _;
use std::fs;
use std::io::{IsTerminal, Write as _};
use std::path::{Path, PathBuf};
use std::time::Instant;

use ::record::Store;
use bench::row::AttemptReason;
use bench::setup::Setup;
use bench::{AckOf, Bench, Command, Event, Frame, Request, Row};
use quantity::{Name, Quoted, Stamp, Unit, Wall};

/// Readings of a job; every tenth job has one more, taken back.
pub(crate) const PER_JOB: usize = CHECKS * ROUNDS * TOUCHES;

/// Faces, each gone round as it came and after grinding.
const CHECKS: usize = 10;
const ROUNDS: usize = 2;
/// Positions, and position 0 once more.
const TOUCHES: usize = 25;

/// Changes when what is made changes, so that nothing older is used again.
const VERSION: &str = "3";

/// A record on disk, open as the service has it.
pub(crate) struct Made {
    pub(crate) state: PathBuf,
    pub(crate) config: PathBuf,
    pub(crate) jobs: usize,
    _store: Store,
}

impl Made {
    /// The record in a folder, made if it is not there.
    pub(crate) fn with(folder: &Path, readings: usize) -> Self {
        let jobs = readings / PER_JOB;
        let (state, config) = (folder.join("state"), folder.join("bench.toml"));
        let done = folder.join("done");
        if fs::read_to_string(&done).ok().as_deref() != Some(VERSION) {
            drop(fs::remove_dir_all(folder));
            write_bench(folder);
            make(&config, &state, jobs);
            fs::write(&done, VERSION).expect("written");
        }
        let (store, _) = Store::open(&state).expect("a record");
        Self { state, config, jobs, _store: store }
    }
}

/// The name of a job by its place.
pub(crate) fn job_name(job: usize) -> String {
    format!("J-{job:05}")
}

/// A job anywhere in the record, the same one each run.
pub(crate) fn anywhere(turn: usize, jobs: usize) -> usize {
    // Steps of the golden ratio reach all of them without a pattern.
    turn.wrapping_mul(0x9E37_79B9_7F4A_7C15) % jobs
}

#[expect(clippy::cast_precision_loss, reason = "shown with one decimal place")]
pub(crate) const fn float(number: i64) -> f64 {
    number as f64
}

fn write_bench(folder: &Path) {
    fs::create_dir_all(folder.join("plans")).expect("a folder");
    fs::create_dir_all(folder.join("state")).expect("a folder");
    let profiles = Path::new(env!("CARGO_MANIFEST_DIR")).join("config/profiles");
    let text = format!(
        "[bench]\nname = \"bench\"\nunit = \"in\"\nstate = \"state\"\nplans = \"plans\"\nprofiles = \"{}\"\n\
         [[gauge]]\nname = \"plate\"\nkind = \"height\"\nunit = \"in\"\nresolution = \"0.00001 in\"\n\
         uncertainty = \"0.0000084 in\"\n",
        profiles.display()
    );
    fs::write(folder.join("bench.toml"), text).expect("written");
    let mut plan = String::from("name = \"held\"\nunit = \"in\"\n");
    for check in 0..CHECKS {
        if check % 2 == 0 {
            let part = check / 2;
            write!(plan, "[[part]]\nname = \"ring-{part}\"\nkind = \"spacer\"\n").expect("text");
        }
        writeln!(
            plan,
            "[[part.check]]\nname = \"face-{check}\"\nmeasures = \"parallelism\"\ngauge = \"plate\"\nsetup = \"plate\"\n\
             positions = 24\nradius = \"1.5 in\"\ntolerance = \"0.0001 in\""
        )
        .expect("text");
    }
    fs::write(folder.join("plans/held.toml"), plan).expect("written");
}

/// The bench at work, without a clock: a touch every four seconds.
struct Work {
    bench: Bench,
    setup: Setup,
    seconds: i64,
    rows: Vec<Row>,
    dice: u64,
}

fn make(config: &Path, state: &Path, jobs: usize) {
    let checked = config::load(config);
    let setup = checked.loaded.expect("a good configuration").bench;
    let (mut store, back) = Store::open(state).expect("a record");
    let bench = Bench::rebuilt(&back.rows, back.last, back.feed);
    let mut work = Work { bench, setup, seconds: 0, rows: Vec::new(), dice: 7 };
    let start = Instant::now();
    for job in 0..jobs {
        work.job(job);
        store.commit(&work.rows, &[]).expect("stored");
        work.rows.clear();
        if store.wants_checkpoint() {
            store.checkpoint().expect("the log is moved");
        }
        progress(job + 1, jobs, start);
    }
    store.checkpoint().expect("the log is moved");
    store.close().expect("closed");
}

fn progress(done: usize, all: usize, start: Instant) {
    let every = if std::io::stderr().is_terminal() { 100 } else { 10 };
    if done * every / all == (done - 1) * every / all {
        return;
    }
    let end = if every == 100 && done < all { '\r' } else { '\n' };
    let mut err = std::io::stderr().lock();
    let line = format!("  making it: {} % in {:.0?}{end}", done * 100 / all, start.elapsed());
    err.write_all(line.as_bytes()).expect("standard error");
}

impl Work {
    fn decide(&mut self, event: &Event) {
        self.seconds += 4;
        let micros = self.seconds * 1_000_000 + i64::from(self.below(1000)) * 1000;
        let wall = Wall::from_micros(1_700_000_000_000_000 + micros);
        let at = Stamp { wall, mono_us: micros.unsigned_abs() };
        let decision = self.bench.decide(&self.setup, at, event);
        self.bench = decision.after;
        self.rows.extend(decision.rows);
    }

    fn ask(&mut self, command: Command) {
        let by =
            Some(["ann", "bob", "cy"][usize::try_from(self.below(3)).expect("small")].to_owned());
        self.decide(&Event::Request(Request { station: None, by, login: None, command }));
    }

    /// A number below another one (Knuth's multiplicative generator, upper bits).
    fn below(&mut self, end: u32) -> u32 {
        self.dice = self
            .dice
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        u32::try_from((self.dice >> 33) % u64::from(end)).expect("below a small number")
    }

    fn job(&mut self, job: usize) {
        self.ask(Command::JobOpen {
            name: job_name(job),
            used: false,
            plan: "held".to_owned(),
            // Most spindles come back three or four times.
            serial: Some(format!("SP {}", job * 7919 % 6007)),
            customer: Some(format!("Customer {}", job % 211)),
            told: Vec::new(),
            rule: None,
        });
        for check in 0..CHECKS {
            let target = format!("ring-{}/face-{check}", check / 2);
            self.ask(Command::Measure { target, remark: None });
            // Most faces come a tenth and more out, and are ground.
            self.go(11, job.is_multiple_of(10) && check == 3);
            let reason = AttemptReason::Ground;
            self.ask(Command::Remeasure { reason, target: None, remark: None });
            self.go(6, false);
        }
        self.ask(Command::JobClose { name: None, why: Some("a bench".to_owned()) });
        // Whoever closes a job has seen what was told of it.
        let open: Vec<_> = self.bench.alerts.keys().copied().collect();
        for id in open {
            self.ask(Command::Ack(AckOf::One(id)));
        }
    }

    /// Once round, the highest touch so many hundred-thousandths above the lowest, or a few less.
    fn go(&mut self, highest: u32, one_back: bool) {
        let first = self.below(highest);
        for touch in 0..TOUCHES {
            let closes = touch + 1 == TOUCHES;
            let value = if closes || touch == 0 { first } else { self.below(highest) };
            self.touch(value);
            if one_back && touch == 5 {
                self.ask(Command::Void { id: None, why: Some("a chip lay under it".to_owned()) });
                self.touch(value);
            }
        }
    }

    fn touch(&mut self, hundred_thousandths: u32) {
        let number = format!("0.{hundred_thousandths:05}");
        let frame = Frame {
            gauge: Name::new("plate").expect("a name"),
            value: Quoted::parse(&number, Unit::Inch).expect("a length"),
            text: format!("+{number}"),
            repeat: false,
            odd: None,
            low_battery: false,
        };
        self.decide(&Event::Frame(frame));
    }
}
