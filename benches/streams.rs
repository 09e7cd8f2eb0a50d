//! Hands free through the whole service: from the last still sample, and from the release of a
//! pedal, to "taken" on the socket, beside a write and an fdatasync measured in the same run; and
//! what streams of 30 Hz and the bench screen beside one cost.

#![expect(clippy::print_stdout, reason = "a benchmark prints its figures")]

mod support;

use std::fmt::Write as _;
use std::fs::{self, File};
use std::io::{BufRead as _, BufReader, Write as _};
use std::os::unix::net::UnixStream;
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::sync::atomic::{AtomicBool, Ordering};
use std::thread;
use std::time::{Duration, Instant};

use serde_json::Value;
use support::{Pty, median};

/// Touches timed, and presses of the pedal.
const TOUCHES: usize = 150;
const PRESSES: usize = 330;

/// Between two samples of the timed stream: 25 Hz.
const PERIOD: Duration = Duration::from_millis(40);

/// How long streams are watched.
const WATCHED: Duration = Duration::from_secs(30);

/// What is measured, by its name on the command line; without a name all of it.
const ROWS: [(&str, fn()); 4] = [
    ("settle", settled_to_taken),
    ("pedal", released_to_taken),
    ("four", four_streams),
    ("screen", screen_beside_a_stream),
];

fn main() {
    let named: Vec<String> = std::env::args().skip(1).filter(|word| word != "--bench").collect();
    for (name, measure) in ROWS {
        if named.is_empty() || named.iter().any(|word| word == name) {
            measure();
        }
    }
}

/// A bench of so many streams, a station each, the first with a pedal, and a check of so many
/// touches on the first.
fn folder(streams: usize, touches: usize) -> tempfile::TempDir {
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
             capture = \"settle\"\ntravel = [\"-0.050 in\", \"0.050 in\"]\nrest = \"0.040 in\"\n[[station]]\nname = \"s{gauge}\"\ngauges = [\"g{gauge}\"]",
            port.display()
        )
        .expect("text");
        if gauge == 0 {
            writeln!(text, "pedal = \"keys:{}\"", at.join("pedal").display()).expect("text");
        }
    }
    fs::write(at.join("bench.toml"), text).expect("written");
    let plan = format!(
        "name = \"held\"\nunit = \"in\"\n[[part]]\nname = \"ring\"\nkind = \"spacer\"\n\
         [[part.check]]\nname = \"scan\"\nmeasures = \"parallelism\"\ngauge = \"g0\"\n\
         setup = \"plate\"\nmoves = \"ring\"\npositions = {touches}\nradius = \"1.5 in\"\n\
         tolerance = \"0.002 in\"\nclosure = false\n"
    );
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
    let dir = folder(1, 1000);
    let pty = Pty::at(&dir.path().join("gauge-0"));
    let service = serve(dir.path());
    let mut asking = Asking::to(&dir.path().join("state/tenths.sock"));
    let mut times = Times::beside(dir.path());
    let mut asked = Vec::new();
    for touch in 0..TOUCHES {
        let before = asking.taken();
        for _ in 0..6 {
            pty.send(b"+0.04000\r");
            thread::sleep(PERIOD);
        }
        let start = Instant::now();
        assert_eq!(asking.taken(), before);
        asked.push(start.elapsed());
        times.floor();
        times.took.push(touch_down(&pty, &mut asking, (touch, before)));
    }
    drop(service);
    times.print("last still sample to taken on the socket");
    println!("  of that one question on the socket: {:.2?}", median(&mut asked));
}

/// Times of the service, each beside one write of 4 KiB and an fdatasync.
struct Times {
    file: File,
    took: Vec<Duration>,
    floor: Vec<Duration>,
}

impl Times {
    /// In the folder of the record, so on its disk.
    fn beside(dir: &Path) -> Self {
        let file = File::create(dir.join("floor")).expect("a file");
        Self { file, took: Vec::new(), floor: Vec::new() }
    }

    fn floor(&mut self) {
        let start = Instant::now();
        self.file.write_all(&[0; 4096]).and_then(|()| self.file.sync_data()).expect("written");
        self.floor.push(start.elapsed());
    }

    fn print(mut self, what: &str) {
        let (count, ms) = (self.took.len(), |time: Duration| time.as_secs_f64() * 1e3);
        let (took, floor) = (&mut self.took, &mut self.floor);
        let (middle, high) = (ms(median(took)), ms(p99(took)));
        let (low_middle, low_high) = (ms(median(floor)), ms(p99(floor)));
        println!(
            "{what}, {count} times: p50 {middle:.2} ms, p99 {high:.2} ms; write of 4 KiB + fdatasync: \
             p50 {low_middle:.2} ms, p99 {low_high:.2} ms; over it: p50 {:.2} ms, p99 {:.2} ms",
            middle - low_middle,
            high - low_high
        );
    }
}

/// A named pipe as the pedal's input device; its foot comes down and up.
struct Pedal(File);

impl Pedal {
    fn at(path: &Path) -> Self {
        let made = Command::new("mkfifo").arg(path).status().expect("mkfifo");
        assert!(made.success());
        Self(File::options().read(true).write(true).open(path).expect("the pipe"))
    }

    /// An event as the kernel writes it (`struct input_event` of `linux/input.h`): two words of
    /// time, `EV_KEY`, the letter b, down or up.
    fn foot(&mut self, down: bool) {
        let mut event = vec![0; 2 * size_of::<usize>()];
        event.extend(1_u16.to_ne_bytes());
        event.extend(48_u16.to_ne_bytes());
        event.extend(i32::from(down).to_ne_bytes());
        self.0.write_all(&event).expect("written");
    }
}

/// A stream of 25 Hz stands still; the foot comes down and up again and again.
fn released_to_taken() {
    let dir = folder(1, 1000);
    let pty = Pty::at(&dir.path().join("gauge-0"));
    let mut pedal = Pedal::at(&dir.path().join("pedal"));
    let service = serve(dir.path());
    let mut asking = Asking::to(&dir.path().join("state/tenths.sock"));
    let mut times = Times::beside(dir.path());
    let over = AtomicBool::new(false);
    thread::scope(|scope| {
        scope.spawn(|| {
            while !over.load(Ordering::Relaxed) {
                pty.send(b"+0.00012\r");
                thread::sleep(PERIOD);
            }
        });
        thread::sleep(Duration::from_secs(1));
        for press in 0..PRESSES {
            times.floor();
            pedal.foot(true);
            // Longer than a contact bounces, and never in step with the stream.
            thread::sleep(Duration::from_millis(60 + press as u64 % 37));
            let before = asking.taken();
            let start = Instant::now();
            pedal.foot(false);
            while asking.taken() == before {
                assert!(start.elapsed() < Duration::from_secs(10), "press {press} was not taken");
            }
            times.took.push(start.elapsed());
            // Two presses in a moment count as one that slipped.
            thread::sleep(Duration::from_millis(400));
        }
        over.store(true, Ordering::Relaxed);
    });
    drop(service);
    times.print("pedal release to stored reading, seen on the socket");
}

/// The bench screen beside one stream of 30 Hz whose value changes with every sample.
fn screen_beside_a_stream() {
    let dir = folder(1, 8);
    let pty = Pty::at(&dir.path().join("gauge-0"));
    let service = serve(dir.path());
    let terminal = Pty::new();
    terminal.resize(80, 24);
    let mut watch = Command::new(env!("CARGO_BIN_EXE_tenths"));
    watch.arg("--config").arg(dir.path().join("bench.toml"));
    watch.args(["watch", "--mute", "--station", "s0"]).env("TERM", "xterm");
    watch.stdin(terminal.near()).stdout(terminal.near()).stderr(Stdio::null());
    let screen = Service(watch.spawn().expect("the screen"));
    let shown = terminal.drained();
    let mut sample = 0_u32;
    let mut stream = |until: Instant| {
        while Instant::now() < until {
            pty.send(format!("+0.000{:02}\r", sample % 3).as_bytes());
            sample += 1;
            thread::sleep(Duration::from_micros(33_333));
        }
    };
    stream(Instant::now() + Duration::from_secs(3));
    let ids = [screen.0.id(), service.0.id()];
    let (before, bytes) = (ids.map(cpu_ns), shown.load(Ordering::Relaxed));
    let start = Instant::now();
    stream(start + WATCHED);
    let (after, seconds) = (ids.map(cpu_ns), start.elapsed().as_secs_f64());
    let percent =
        |of: usize| Duration::from_nanos(after[of] - before[of]).as_secs_f64() / seconds * 100.0;
    let drawn = shown.load(Ordering::Relaxed) - bytes;
    assert!(drawn > 1000, "the screen shows the stream: {drawn} bytes");
    println!(
        "watch beside one stream of 30 Hz: {:.3} % of a core ({drawn} bytes to the terminal in {seconds:.0} s); \
         the service meanwhile {:.3} %",
        percent(0),
        percent(1)
    );
    drop((screen, service));
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
    let dir = folder(4, 1000);
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
