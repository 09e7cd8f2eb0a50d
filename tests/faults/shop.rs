//! A shop with every kind of traffic at once: five stations, a drop folder, a follower of the feed.

use std::fs;
use std::os::fd::OwnedFd;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex};

use rustix::fs::{Mode, OFlags};
use serde_json::Value;

use crate::rig::{Bench, Follower, Gauge, Make};

/// The gauge of the first station: its button sends a reading.
const PRESS: &str = "unit = \"in\"\nresolution = \"0.00001 in\"\nuncertainty = \"0.0000084 in\"\n\
                     repeat_ms = 0\nmax_rate = 0";

const MORE: &str = r#"
[[gauge]]
name = "stream"
kind = "indicator"
port = "{dir}/stream"
profile = "signed-decimal"
unit = "in"
resolution = "0.00001 in"
capture = "settle"
travel = ["-0.050 in", "0.050 in"]
rest = "0.030 in"
[[gauge]]
name = "asked"
kind = "indicator"
port = "{dir}/asked"
profile = "asked"
unit = "in"
resolution = "0.00001 in"
capture = "request"
[[gauge]]
name = "typed"
kind = "dial"
unit = "in"
resolution = "0.00001 in"
[[gauge]]
name = "scanned"
kind = "dial"
unit = "in"
resolution = "0.00001 in"
[[gauge]]
name = "logged"
kind = "height"
unit = "in"
resolution = "0.00001 in"
[[drop]]
name = "logger"
folder = "{dir}/drop"
gauge = "logged"
tags = "columns"
columns = { value = "Value", job = "Job", part = "Part", check = "Check" }
[[station]]
name = "press"
gauges = ["plate"]
[[station]]
name = "stream"
gauges = ["stream"]
[[station]]
name = "asked"
gauges = ["asked"]
pedal = "keys:{dir}/pedal"
[[station]]
name = "typed"
gauges = ["typed"]
[[station]]
name = "scanned"
gauges = ["scanned", "logged"]
scanner = "{dir}/scanner"
"#;

/// A gauge that answers when it is asked.
const ASKED: &str = r#"about = "asked by a question mark"
frames = "line"
value = "decimal"
pattern = '(?<sign>[+-])(?<digits>[0-9]+\.[0-9]+)'
[ask]
send = "?\r"
timeout_ms = 400
"#;

/// Stations with a check under way, and the gauges of their checks.
pub(crate) const STATIONS: [(&str, &str); 5] = [
    ("press", "plate"),
    ("stream", "stream"),
    ("asked", "asked"),
    ("typed", "typed"),
    ("scanned", "scanned"),
];

/// The one job.
pub(crate) const JOB: &str = "k1";

/// Rows of a dropped file: a whole attempt.
pub(crate) const ROWS: usize = 8;

fn plan() -> String {
    let check = |name: &str, gauge: &str, positions: usize| {
        format!(
            "[[part.check]]\nname = \"{name}\"\nmeasures = \"parallelism\"\ngauge = \"{gauge}\"\n\
             setup = \"plate\"\nmoves = \"stand\"\npositions = {positions}\nradius = \"1.5 in\"\n\
             tolerance = \"0.001 in\"\nclosure = false\n"
        )
    };
    let touched = STATIONS.iter().map(|(station, gauge)| check(station, gauge, 60));
    let checks: String = touched.chain([check("logged", "logged", ROWS)]).collect();
    format!(
        "name = \"held\"\nunit = \"in\"\n[[part]]\nname = \"ring\"\nkind = \"spacer\"\n{checks}"
    )
}

/// A line that several hold: whoever plugs it, and whoever sends on it.
pub(crate) type Line = Arc<Mutex<Gauge>>;

/// The shop, measured at all five stations.
pub(crate) struct Shop {
    pub(crate) bench: Bench,
    pub(crate) press: Line,
    pub(crate) stream: Line,
    pub(crate) asked: Line,
    pub(crate) scanner: Line,
    pub(crate) pedal: Arc<Pedal>,
    pub(crate) feed: Follower,
}

impl Shop {
    pub(crate) fn open() -> Self {
        let mut bench = Bench::new(&Make { gauge: PRESS, more: MORE, plan: &plan() });
        own_profiles(&bench);
        let line = |name: &str| Arc::new(Mutex::new(Gauge::plugged(bench.path(name))));
        let (stream, asked, scanner) = (line("stream"), line("asked"), line("scanner"));
        let pedal = Arc::new(Pedal::plugged(&bench.path("pedal")));
        // The bench keeps another line in its place, so that its own can be held by a thread.
        let spare = Gauge::plugged(bench.path("spare"));
        let press = Arc::new(Mutex::new(std::mem::replace(&mut bench.plate, spare)));
        bench.start();
        bench.ok(&["job", "open", JOB, "--plan", "held", "--station", "press"]);
        for (station, _) in STATIONS {
            bench.ok(&["job", "use", JOB, "--station", station]);
            bench.ok(&["measure", &format!("ring/{station}"), "--station", station]);
        }
        let feed = Follower::of(bench.spawn(&["tail", "--json", "--since", "0"]));
        // One that begins while no service runs ends at once.
        bench.until("the follower hears the feed", || !feed.seen().is_empty());
        Self { bench, press, stream, asked, scanner, pedal, feed }
    }

    pub(crate) fn socket(&self) -> PathBuf {
        self.bench.state.join("tenths.sock")
    }

    /// Every reading of the job, in the order of their numbers.
    pub(crate) fn readings(&self) -> Vec<Value> {
        self.bench.readings(JOB)
    }

    /// Texts of the remarks on the job.
    pub(crate) fn notes(&self) -> Vec<String> {
        let shown = self.bench.lines(&["job", "show", JOB]).remove(0);
        let notes = shown["notes"].as_array().unwrap();
        notes.iter().map(|note| note["text"].as_str().unwrap().to_owned()).collect()
    }
}

/// Profiles of the bench's own: those that are shipped, and the gauge that is asked.
fn own_profiles(bench: &Bench) {
    let own = bench.path("profiles");
    fs::create_dir(&own).unwrap();
    let shipped = Path::new(env!("CARGO_MANIFEST_DIR")).join("config/profiles");
    fs::copy(shipped.join("signed-decimal.toml"), own.join("signed-decimal.toml")).unwrap();
    fs::write(own.join("asked.toml"), ASKED).unwrap();
    let path = bench.path("bench.toml");
    let text = fs::read_to_string(&path).unwrap();
    fs::write(path, text.replace(&shipped.display().to_string(), "profiles")).unwrap();
}

/// A named pipe that stands in for a foot switch: readable, bytes of events.
pub(crate) struct Pedal(OwnedFd);

impl Pedal {
    fn plugged(path: &Path) -> Self {
        assert!(std::process::Command::new("mkfifo").arg(path).status().unwrap().success());
        let flags = OFlags::RDWR | OFlags::NONBLOCK | OFlags::CLOEXEC;
        Self(rustix::fs::open(path, flags, Mode::empty()).unwrap())
    }

    /// A key as the kernel writes it (`struct input_event` of `linux/input.h`): two words of time,
    /// type `EV_KEY`, code, value. A foot that finds the pipe full is not heard, as that of a shop whose
    /// service does not run.
    pub(crate) fn foot(&self, value: i32) {
        let mut event = vec![0; 2 * size_of::<usize>()];
        event.extend(1_u16.to_ne_bytes());
        event.extend(48_u16.to_ne_bytes());
        event.extend(value.to_ne_bytes());
        match rustix::io::write(&self.0, &event) {
            Ok(_) | Err(rustix::io::Errno::AGAIN) => (),
            Err(error) => panic!("{error}"),
        }
    }
}
