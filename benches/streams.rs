//! Streams through the whole service: from the last still sample to "taken" on the socket, beside
//! a write and an fdatasync measured in the same run; and what four streams of 30 Hz cost.

#![expect(clippy::print_stdout, reason = "a benchmark prints its figures")]

mod support;

use std::fmt::Write as _;
use std::fs::{self, File};
use std::io::{BufRead as _, BufReader, Write as _};
use std::os::unix::net::UnixStream;
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::thread;
use std::time::{Duration, Instant};

use serde_json::Value;
use support::{Pty, median};

/// Touches timed.
const TOUCHES: usize = 150;

/// Between two samples of the timed stream: 25 Hz.
const PERIOD: Duration = Duration::from_millis(40);

/// How long four streams are watched.
const WATCHED: Duration = Duration::from_secs(30);

fn main() {
    settled_to_taken();
    four_streams();
}

/// A bench of so many streams, a station each, and a check of a thousand touches on the first.
fn folder(streams: usize) -> tempfile::TempDir {
    let dir = tempfile::tempdir().expect("a folder");
    let at = dir.path();
    fs::create_dir(at.join("plans")).expect("a folder");
    let mut text = "[bench]\nname = \"b\"\nunit = \"in\"\nstate = \"state\"\n".to_owned();
    for gauge in 0..streams {
        let port = at.join(format!("gauge-{gauge}"));
        writeln!(
            text,
            "[[gauge]]\nname = \"g{gauge}\"\nkind = \"indicator\"\nport = \"{}\"\n\
             profile = \"signed-decimal\"\nunit = \"in\"\nresolution = \"0.00001 in\"\n\
             capture = \"settle\"\n[[station]]\nname = \"s{gauge}\"\ngauges = [\"g{gauge}\"]",
            port.display()
        )
        .expect("text");
    }
    fs::write(at.join("bench.toml"), text).expect("written");
    let plan = "name = \"held\"\nunit = \"in\"\n[[part]]\nname = \"ring\"\nkind = \"spacer\"\n\
                [[part.check]]\nname = \"scan\"\nmeasures = \"parallelism\"\ngauge = \"g0\"\n\
                setup = \"plate\"\nmoves = \"ring\"\npositions = 1000\nradius = \"1.5 in\"\n\
                tolerance = \"0.002 in\"\nclosure = false\n";
    fs::write(at.join("plans/held.toml"), plan).expect("written");
    dir
}

/// The service as a process of its own, ended with the benchmark.
struct Service(Child);

impl Drop for Service {
    fn drop(&mut self) {
        drop(self.0.kill());
        drop(self.0.wait());
    }
}

fn tenths(dir: &Path, arguments: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_tenths"));
    command.arg("--config").arg(dir.join("bench.toml")).args(arguments);
    command.stderr(Stdio::null()).stdout(Stdio::null());
    command
}

fn serve(dir: &Path) -> Service {
    let service = Service(tenths(dir, &["serve"]).spawn().expect("the service"));
    // Time to open the ports and to come to rest.
    thread::sleep(Duration::from_secs(3));
    for arguments in [
        &["job", "open", "b1", "--plan", "held", "--station", "s0"][..],
        &["measure", "ring/scan", "--station", "s0"],
    ] {
        let done = tenths(dir, arguments).status().expect("run");
        assert!(done.success(), "{arguments:?}");
    }
    service
}

/// How often the first gauge was taken, as the socket tells it.
struct Asking(BufReader<UnixStream>);

impl Asking {
    fn to(socket: &Path) -> Self {
        let stream = UnixStream::connect(socket).expect("the service");
        let mut asking = Self(BufReader::new(stream));
        asking.line();
        asking
    }

    fn line(&mut self) -> Value {
        let mut line = String::new();
        self.0.read_line(&mut line).expect("a line");
        serde_json::from_str(&line).expect("JSON")
    }

    fn taken(&mut self) -> u64 {
        self.0.get_mut().write_all(b"{\"request\":\"status\"}\n").expect("asked");
        self.line()["gauges"][0]["taken"].as_u64().expect("a count")
    }
}

fn settled_to_taken() {
    let dir = folder(1);
    let pty = Pty::at(&dir.path().join("gauge-0"));
    let service = serve(dir.path());
    let mut asking = Asking::to(&dir.path().join("state/tenths.sock"));
    let mut file = File::create(dir.path().join("floor")).expect("a file");
    let (mut took, mut asked, mut floor) = (Vec::new(), Vec::new(), Vec::new());
    for touch in 0..TOUCHES {
        let before = asking.taken();
        for _ in 0..6 {
            pty.send(b"+0.04000\r");
            thread::sleep(PERIOD);
        }
        let start = Instant::now();
        assert_eq!(asking.taken(), before);
        asked.push(start.elapsed());
        let start = Instant::now();
        file.write_all(&[0; 4096]).and_then(|()| file.sync_data()).expect("written");
        floor.push(start.elapsed());
        took.push(touch_down(&pty, &mut asking, (touch, before)));
    }
    drop(service);
    println!(
        "last still sample to taken on the socket: median {:.1?}, p99 {:.1?}; of that one question on \
         the socket {:.1?}; write of 4 KiB + fdatasync: median {:.1?}, p99 {:.1?}",
        median(&mut took),
        p99(&mut took),
        median(&mut asked),
        median(&mut floor),
        p99(&mut floor),
    );
}

/// Sends still samples until one of them is taken; the time since the last.
fn touch_down(pty: &Pty, asking: &mut Asking, (touch, before): (usize, u64)) -> Duration {
    let frame = format!("+0.000{:02}\r", touch % 50);
    for sample in 1..20 {
        let sent = Instant::now();
        pty.send(frame.as_bytes());
        while sent.elapsed() < PERIOD {
            if asking.taken() > before {
                assert!(sample >= 6, "taken after {sample} samples");
                return sent.elapsed();
            }
        }
    }
    panic!("not taken");
}

fn p99(times: &mut [Duration]) -> Duration {
    times.sort_unstable();
    times[(times.len() * 99).div_ceil(100) - 1]
}

/// Four streams of 30 Hz, one of them armed, none taken.
fn four_streams() {
    let dir = folder(4);
    let ports: Vec<_> =
        (0..4).map(|gauge| Pty::at(&dir.path().join(format!("gauge-{gauge}")))).collect();
    let service = serve(dir.path());
    let stream = |until: Instant| {
        let mut sample = 0;
        while Instant::now() < until {
            for (gauge, port) in ports.iter().enumerate() {
                port.send(format!("+0.000{:02}\r", (sample + gauge) % 3).as_bytes());
                // Four gauges know nothing of each other: their samples do not come together.
                thread::sleep(Duration::from_micros(1_000_000 / 120));
            }
            sample += 1;
        }
        sample
    };
    stream(Instant::now() + Duration::from_secs(2));
    let before = cpu_ns(service.0.id());
    let start = Instant::now();
    let samples = stream(start + WATCHED);
    let (spent, seconds) = (cpu_ns(service.0.id()) - before, start.elapsed().as_secs_f64());
    let spent = Duration::from_nanos(spent).as_secs_f64();
    println!(
        "four streams of {:.1} Hz: {:.3} % of a core",
        f64::from(u32::try_from(samples).expect("few")) / seconds,
        spent / seconds * 100.0
    );
}

/// Nanoseconds on a processor, all threads of a process.
fn cpu_ns(process: u32) -> u64 {
    let tasks = fs::read_dir(format!("/proc/{process}/task")).expect("running");
    tasks
        .map(|task| {
            let schedstat = task.expect("a thread").path().join("schedstat");
            let text = fs::read_to_string(schedstat).expect("schedstat");
            text.split_whitespace().next().expect("a number").parse::<u64>().expect("a number")
        })
        .sum()
}
