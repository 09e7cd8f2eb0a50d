//! The bench screen in a pseudo-terminal, and what it asks the service for.

use std::fs::File;
use std::io::Read;
use std::num::NonZero;
use std::os::fd::OwnedFd;
use std::process::{Child, Command, Stdio};
use std::sync::{Arc, Mutex};
use std::time::{Duration, Instant};

use rustix::process::{Pid, Signal, kill_process};
use rustix::pty::{OpenptFlags, grantpt, openpt, ptsname, unlockpt};
use rustix::termios::{Winsize, tcgetattr, tcsetwinsize};
use serde_json::Value;

use crate::rig::{Bench, Follower, Make, Wire};

const GAUGE: &str = "unit = \"in\"\nresolution = \"0.00001 in\"\nuncertainty = \"0.0000084 in\"\n\
                     repeat_ms = 0\nmax_rate = 0";

const PLAN: &str = "name = \"held\"\nunit = \"in\"\n[[part]]\nname = \"ring\"\nkind = \"spacer\"\n\
                    [[part.check]]\nname = \"face\"\nmeasures = \"parallelism\"\ngauge = \"plate\"\n\
                    setup = \"plate\"\nmoves = \"stand\"\npositions = 8\nradius = \"1.5 in\"\n\
                    tolerance = \"0.0001 in\"\n";

/// Eight touches and the closure.
const IN: [&str; 9] = [
    "0.00000", "0.00001", "0.00002", "0.00002", "0.00001", "0.00003", "0.00002", "0.00001",
    "0.00000",
];

fn bench() -> Bench {
    let mut bench = Bench::new(&Make { gauge: GAUGE, more: "", plan: PLAN });
    bench.start();
    bench.ok(&["job", "open", "J-1", "--plan", "held"]);
    bench
}

/// A terminal with the bench screen in it.
pub(crate) struct Terminal {
    master: OwnedFd,
    slave: OwnedFd,
    before: String,
    child: Child,
    seen: Arc<Mutex<Seen>>,
}

struct Seen {
    parser: vt100::Parser,
    bells: usize,
    bytes: usize,
}

impl Terminal {
    /// The bench screen as a shell starts it.
    pub(crate) fn with_watch(bench: &Bench, size: (u16, u16), more: &[&str]) -> Self {
        let mut command = Command::new(env!("CARGO_BIN_EXE_tenths"));
        command.arg("watch").args(more);
        Self::with(command, bench, size)
    }

    /// Any command, as somebody types it at a terminal.
    pub(crate) fn running(bench: &Bench, size: (u16, u16), arguments: &[&str]) -> Self {
        let mut command = Command::new(env!("CARGO_BIN_EXE_tenths"));
        command.args(arguments);
        Self::with(command, bench, size)
    }

    /// Waits until the command has ended, and ended well.
    #[track_caller]
    pub(crate) fn until_over(&mut self) {
        assert_eq!(self.child.wait().unwrap().code(), Some(0), "{}", self.text());
    }

    /// The bench screen as the only program of the terminal, which hears of another size.
    fn of_watch(bench: &Bench, size: (u16, u16)) -> Self {
        let mut command = Command::new("setsid");
        command.args(["--ctty", env!("CARGO_BIN_EXE_tenths"), "watch"]);
        Self::with(command, bench, size)
    }

    pub(crate) fn with(mut command: Command, bench: &Bench, size: (u16, u16)) -> Self {
        command.env("TENTHS_CONFIG", bench.path("bench.toml"));
        Self::bare(command, size)
    }

    /// A command as the only program of a terminal, without a configuration that is named.
    pub(crate) fn bare(mut command: Command, (columns, rows): (u16, u16)) -> Self {
        let flags = OpenptFlags::RDWR | OpenptFlags::NOCTTY | OpenptFlags::CLOEXEC;
        let master = openpt(flags).unwrap();
        grantpt(&master).unwrap();
        unlockpt(&master).unwrap();
        let name = ptsname(&master, Vec::new()).unwrap().into_string().unwrap();
        let slave: OwnedFd = File::options().read(true).write(true).open(&name).unwrap().into();
        tcsetwinsize(&slave, size(columns, rows)).unwrap();
        let before = format!("{:?}", tcgetattr(&slave).unwrap());
        command
            .env("NO_COLOR", "1")
            .env("LC_ALL", "C.UTF-8")
            .env("TERM", "xterm")
            .env("RUST_BACKTRACE", "0");
        let end = || Stdio::from(slave.try_clone().unwrap());
        let child = command.stdin(end()).stdout(end()).stderr(end()).spawn().unwrap();
        let parser = vt100::Parser::new(cells(rows), cells(columns), 0);
        let seen = Arc::new(Mutex::new(Seen { parser, bells: 0, bytes: 0 }));
        let (into, mut out) = (Arc::clone(&seen), File::from(master.try_clone().unwrap()));
        std::thread::spawn(move || {
            let mut chunk = [0; 4096];
            while let Ok(count @ 1..) = out.read(&mut chunk) {
                let mut seen = into.lock().unwrap();
                seen.bells += String::from_utf8_lossy(&chunk[..count]).matches('\u{7}').count();
                seen.bytes += count;
                seen.parser.process(&chunk[..count]);
            }
        });
        Self { master, slave, before, child, seen }
    }

    pub(crate) fn text(&self) -> String {
        self.seen.lock().unwrap().parser.screen().contents()
    }

    fn bells(&self) -> usize {
        self.seen.lock().unwrap().bells
    }

    /// Waits until the screen says all of it.
    #[track_caller]
    pub(crate) fn until(&self, parts: &[&str]) -> String {
        let start = Instant::now();
        loop {
            let text = self.text();
            match parts.iter().find(|part| !text.contains(**part)) {
                None => return text,
                Some(part) if start.elapsed() > Duration::from_mins(1) => {
                    panic!("no {part:?} on the screen:\n{text}")
                }
                Some(_) => std::thread::sleep(Duration::from_millis(15)),
            }
        }
    }

    pub(crate) fn press(&self, keys: &str) {
        rustix::io::write(&self.master, keys.as_bytes()).unwrap();
    }

    fn resize(&self, columns: u16, rows: u16) {
        self.seen.lock().unwrap().parser.screen_mut().set_size(cells(rows), cells(columns));
        tcsetwinsize(&self.master, size(columns, rows)).unwrap();
    }

    pub(crate) fn signal(&self, signal: Signal) {
        let pid = Pid::from_raw(i32::try_from(self.child.id()).unwrap()).unwrap();
        kill_process(pid, signal).unwrap();
    }

    /// The program ends with this code and the terminal is as it was found.
    #[track_caller]
    pub(crate) fn gives_back(&mut self, code: i32) {
        assert_eq!(self.child.wait().unwrap().code(), Some(code), "{}", self.text());
        assert_eq!(format!("{:?}", tcgetattr(&self.slave).unwrap()), self.before);
        let start = Instant::now();
        loop {
            let seen = self.seen.lock().unwrap();
            let screen = seen.parser.screen();
            if !screen.alternate_screen() && !screen.hide_cursor() {
                return;
            }
            drop(seen);
            assert!(start.elapsed() < Duration::from_secs(20), "the screen was not given back");
            std::thread::sleep(Duration::from_millis(15));
        }
    }
}

impl Drop for Terminal {
    fn drop(&mut self) {
        // It has ended, mostly.
        drop(self.child.kill());
        drop(self.child.wait());
    }
}

fn cells(count: u16) -> NonZero<u16> {
    NonZero::new(count).unwrap()
}

fn size(columns: u16, rows: u16) -> Winsize {
    Winsize { ws_row: rows, ws_col: columns, ws_xpixel: 0, ws_ypixel: 0 }
}

#[test]
fn a_ring_is_followed_through_keys_sizes_and_a_restart() {
    let mut bench = bench();
    let mut screen = Terminal::of_watch(&bench, (80, 24));
    screen.until(&["J-1", "No check is active. n: the next one"]);
    screen.press("n");
    screen.until(&["ring/face", "│ 1 │", "0/8", "║ 0 ║", "ring/face. plate was never proved."]);
    let silent = screen.bells();
    bench.touches(&bench.plate, "plate", &IN[..3]);
    screen.until(&["██0██", "██1██", "██2██", "║ 3 ║", "3/8", "◀── ▼"]);
    assert!((1..=3).contains(&(screen.bells() - silent)), "a touch is heard");

    screen.press("v");
    screen.until(&["║ 2 ║", "2/8", "is taken back"]);
    screen.press("s");
    screen.until(&["Why is it left out?", "1  slot"]);
    screen.press("1");
    screen.until(&["▒▒2▒▒", "║ 3 ║", "Position 2 is left out."]);
    screen.press("?");
    screen.until(&["n  the next check without a verdict"]);
    screen.press("x");

    screen.resize(120, 40);
    screen.until(&["╔═══╗", "║ 3 ║", "██1██", "▒▒2▒▒"]);
    screen.resize(20, 5);
    screen.until(&["0.00002 in", "TOUCH 3 2/8"]);
    screen.resize(11, 1);
    screen.until(&["too small"]);
    screen.resize(80, 24);
    screen.until(&["║ 3 ║", "ring/face"]);

    bench.stop();
    screen.until(&["THE SERVICE IS AWAY"]);
    bench.start();
    screen.until(&["The service is back."]);
    bench.touches(&bench.plate, "plate", &IN[3..8]);
    screen.until(&["Position 0 again: it closes the round.", "7/8"]);
    let before = screen.bells();
    bench.touches(&bench.plate, "plate", &IN[8..]);
    let verdict = screen.until(&["limit 0.0001, ±0.000024", "8"]);
    assert!(verdict.contains("0.00003 in,") || verdict.contains("less than"), "{verdict}");
    let rung = Instant::now();
    while screen.bells() < before + 1 && rung.elapsed() < Duration::from_secs(20) {
        std::thread::sleep(Duration::from_millis(15));
    }
    assert!(screen.bells() > before, "the end of the ring is heard");
    // Whoever touches the high spot again is looking, and hears nothing.
    std::thread::sleep(Duration::from_millis(1500));
    let ended = screen.bells();
    bench.touches(&bench.plate, "plate", &["0.00003"]);
    screen.until(&["plate now"]);
    std::thread::sleep(Duration::from_millis(300));
    assert_eq!(screen.bells(), ended);
    screen.press("q");
    screen.gives_back(0);
}

#[test]
fn whatever_ends_it_the_terminal_is_given_back() {
    let bench = bench();
    bench.ok(&["measure", "ring/face"]);
    let several = [(); 3].map(|()| Terminal::with_watch(&bench, (80, 24), &["--mute"]));
    for (mut screen, signal) in several.into_iter().zip([Signal::TERM, Signal::INT, Signal::HUP]) {
        screen.until(&["║ 0 ║", "ring/face"]);
        screen.signal(signal);
        screen.gives_back(0);
    }
    let mut keyed = Terminal::with_watch(&bench, (80, 24), &[]);
    keyed.until(&["ring/face"]);
    keyed.press("\u{3}");
    keyed.gives_back(0);
    if cfg!(debug_assertions) {
        let mut bug = Terminal::with_watch(&bench, (80, 24), &[]);
        bug.until(&["ring/face"]);
        // F12, as xterm sends it.
        bug.press("\u{1b}[24~");
        bug.gives_back(70);
        bug.until(&["a bug made on purpose"]);
    }
}

#[test]
fn a_gauge_that_was_unplugged_is_named_beside_the_word() {
    let mut bench = bench();
    bench.ok(&["measure", "ring/face"]);
    let screen = Terminal::with_watch(&bench, (80, 24), &["--mute"]);
    screen.until(&["║ 0 ║"]);
    let named = || {
        let text = screen.text();
        text.lines().any(|row| row.contains('█') && row.trim_end().ends_with(" plate"))
    };
    assert!(!named());
    bench.plate.unplug();
    bench.until("the name of the gauge beside the large word", named);
}

#[test]
fn an_alert_is_seen_and_stops_calling() {
    let bench = bench();
    bench.ok(&["measure", "ring/face"]);
    let mut screen = Terminal::with_watch(&bench, (80, 24), &[]);
    screen.until(&["║ 0 ║"]);
    // Other places than the gauge's resolution gives cannot belong.
    bench.touches(&bench.plate, "plate", &["0.001"]);
    screen.until(&["!! "]);
    let start = Instant::now();
    while screen.bells() < 10 {
        assert!(start.elapsed() < Duration::from_mins(1), "it calls again until it is seen");
        std::thread::sleep(Duration::from_millis(50));
    }
    screen.press("a");
    screen.until(&["is marked as seen"]);
    let seen = bench.lines(&["alerts", "--state", "seen"]);
    assert_eq!(seen.len(), 1, "{seen:?}");
    screen.press("q");
    screen.gives_back(0);
}

#[test]
fn an_alert_of_another_job_says_whose_it_is() {
    let bench = bench();
    bench.ok(&["measure", "ring/face"]);
    bench.ok(&["enter", "0", "0", "0.0009", "0", "0", "0", "0", "0", "0"]);
    let view = || {
        let mut wire = Wire::to(&bench.state.join("tenths.sock")).unwrap();
        let view = wire.ask(r#"{"request":"view"}"#).unwrap();
        view["alerts"][0]["text"].as_str().unwrap().to_owned()
    };
    let own = view();
    assert!(own.starts_with("ring/face"), "{own}");
    bench.ok(&["job", "open", "J-2", "--plan", "held"]);
    assert_eq!(view(), format!("J-1: {own}"));
}

#[test]
fn a_ring_is_heard_touch_by_touch_and_ends_on_one_tone() {
    let sound = "[sound]\nplayer = \"tee -a {dir}/heard\"\n";
    let mut bench = Bench::new(&Make { gauge: GAUGE, more: sound, plan: PLAN });
    bench.start();
    bench.ok(&["job", "open", "J-1", "--plan", "held"]);
    bench.ok(&["measure", "ring/face"]);
    let mut screen = Terminal::with_watch(&bench, (80, 24), &[]);
    screen.until(&["║ 0 ║"]);
    let heard = || std::fs::read(bench.path("heard")).map_or(0, |bytes| bytes.len());
    let mut lengths = Vec::new();
    for touch in IN {
        let before = heard();
        bench.touches(&bench.plate, "plate", &[touch]);
        bench.until("a tone", || heard() > before);
        // It is written in one go or two; what follows it would be a second tone.
        std::thread::sleep(Duration::from_millis(400));
        lengths.push(heard() - before);
    }
    // 44 bytes of header, 16 a millisecond: eight times 70 ms, then 110 + 110 + 170 ms.
    assert_eq!(lengths, [1164, 1164, 1164, 1164, 1164, 1164, 1164, 1164, 6284]);
    let all = heard();
    bench.touches(&bench.plate, "plate", &["0.00003"]);
    screen.until(&["0.00003 in, limit 0.0001"]);
    std::thread::sleep(Duration::from_millis(800));
    assert_eq!(heard(), all, "looking is silent");
    assert_eq!(screen.bells(), 0, "the bell is for those without a player");
    screen.press("q");
    screen.gives_back(0);
}

#[test]
fn a_player_that_hangs_is_told_and_nothing_waits_for_it() {
    let sound = "[sound]\nplayer = \"sleep 600\"\n";
    let mut bench = Bench::new(&Make { gauge: GAUGE, more: sound, plan: PLAN });
    bench.start();
    bench.ok(&["job", "open", "J-1", "--plan", "held"]);
    bench.ok(&["measure", "ring/face"]);
    let mut screen = Terminal::with_watch(&bench, (80, 24), &[]);
    screen.until(&["║ 0 ║"]);
    bench.touches(&bench.plate, "plate", &IN[..1]);
    screen.until(&["║ 1 ║"]);
    bench.touches(&bench.plate, "plate", &IN[1..2]);
    screen.until(&["║ 2 ║"]);
    screen.until(&["the sound player sleep does not end and was killed"]);
    screen.press("q");
    screen.gives_back(0);
}

#[test]
fn it_sleeps_while_nothing_moves() {
    let bench = bench();
    let screen = Terminal::with_watch(&bench, (80, 24), &[]);
    screen.until(&["No check is active"]);
    std::thread::sleep(Duration::from_millis(500));
    let (bytes, ticks) = (screen.seen.lock().unwrap().bytes, cpu_ticks(&screen));
    std::thread::sleep(Duration::from_secs(5));
    assert_eq!(screen.seen.lock().unwrap().bytes, bytes, "nothing is drawn again");
    // A hundredth of a core would be 5 ticks of 10 ms; a build for debugging may take more.
    let used = cpu_ticks(&screen) - ticks;
    assert!(used <= 15, "{used} ticks in 5 s");
}

/// Processor time used so far, hundredths of a second: `utime` and `stime` of proc(5).
fn cpu_ticks(screen: &Terminal) -> u64 {
    let stat = std::fs::read_to_string(format!("/proc/{}/stat", screen.child.id())).unwrap();
    let after = stat.rsplit_once(')').unwrap().1;
    after.split_whitespace().skip(11).take(2).map(|field| field.parse::<u64>().unwrap()).sum()
}

#[test]
fn without_a_terminal_a_service_or_its_station_it_says_so() {
    let mut bench = bench();
    let err = bench.refused(2, &["watch"]);
    assert!(err.contains("needs a terminal"), "{err}");
    let err = bench.refused(2, &["watch", "--json", "--station", "nowhere"]);
    assert!(err.contains("no station \\\"nowhere\\\"") && err.contains("bench"), "{err}");
    bench.stop();
    let err = bench.refused(3, &["watch", "--json"]);
    assert!(err.contains("the service is not running"), "{err}");
}

#[test]
fn the_view_is_a_line_for_scripts() {
    let bench = bench();
    let lines = Follower::of(bench.spawn(&["watch", "--json"]));
    bench.until("a first view", || !lines.seen().is_empty());
    let view = &lines.seen()[0];
    assert_eq!((&view["schema"], &view["station"]), (&"view/1".into(), &"bench".into()));
    assert_eq!((&view["job"], &view["check"]), (&"J-1".into(), &Value::Null));
    bench.ok(&["measure", "ring/face"]);
    bench.touches(&bench.plate, "plate", &IN[..2]);
    bench.ok(&["skip", "4", "--why", "slot"]);
    let newest = || lines.seen().last().unwrap().clone();
    bench.until("two taken and one left out", || {
        newest()["check"]["positions"][4]["state"] == "skipped"
    });
    let check = newest()["check"].clone();
    assert_eq!((check["taken"].as_u64(), check["of"].as_u64()), (Some(2), Some(8)));
    assert_eq!((&check["next"], check["next_position"].as_u64()), (&"position".into(), Some(2)));
    assert_eq!((&check["next_words"], &check["direction"]), (&"TOUCH 2".into(), &"ccw".into()));
    let places = check["positions"].as_array().unwrap();
    let angles: Vec<_> = places.iter().map(|place| place["angle_deg"].as_f64().unwrap()).collect();
    assert_eq!(angles, [0.0, 45.0, 90.0, 135.0, 180.0, 225.0, 270.0, 315.0]);
    let states: Vec<_> = places.iter().map(|place| place["state"].as_str().unwrap()).collect();
    assert_eq!(states[..5], ["taken", "taken", "open", "open", "skipped"]);
    assert_eq!((&places[1]["value"], &places[4]["value"]), (&"0.00001 in".into(), &"slot".into()));
    let gauge = &newest()["gauges"][0];
    assert_eq!((&gauge["name"], &gauge["state"]), (&"plate".into(), &"live".into()));
    assert_eq!(gauge["last"], "0.00001 in");

    // The hole that was taken back is filled last.
    let one = check["last_touch"]["id"].as_u64().unwrap();
    bench.touches(&bench.plate, "plate", &IN[2..4]);
    bench.ok(&["void", &one.to_string()]);
    bench.touches(&bench.plate, "plate", &IN[5..8]);
    bench.until("back to the hole", || newest()["check"]["next_words"] == "BACK TO 1");
    let why = newest()["check"]["why"].as_str().unwrap().to_owned();
    assert!(why.starts_with("Now back to 1"), "{why}");
    bench.touches(&bench.plate, "plate", &[IN[1], IN[8]]);
    bench.until("a verdict", || newest()["check"]["verdict"]["verdict"] == "conforms");
    let verdict = newest()["check"]["verdict"].clone();
    let stored = bench.verdict("J-1", 1);
    assert_eq!((&verdict["id"], &verdict["simple"]), (&stored["id"], &stored["simple"]));
    assert_eq!(verdict["limit"], "0.0001");
}

#[test]
fn a_view_may_be_waited_for() {
    let bench = bench();
    let mut wire = Wire::to(&bench.state.join("tenths.sock")).unwrap();
    let seq = |view: Value| view["seq"].as_u64().unwrap();
    let first = seq(wire.ask(r#"{"request":"view"}"#).unwrap());
    let start = Instant::now();
    let ask = r#"{"request":"view","wait_ms":300}"#;
    assert_eq!(seq(wire.ask(ask).unwrap()), first);
    assert!(start.elapsed() >= Duration::from_millis(300), "nothing was new");
    // What is asked for an age is answered after a few seconds at the latest.
    wire.write(b"{\"request\":\"view\",\"wait_ms\":86400000}\n");
    std::thread::sleep(Duration::from_millis(100));
    let start = Instant::now();
    bench.ok(&["measure", "ring/face"]);
    let mut newest = seq(wire.hear().unwrap());
    while newest == first {
        newest = seq(wire.ask(r#"{"request":"view","wait_ms":5000}"#).unwrap());
    }
    assert!(newest > first);
    assert!(start.elapsed() < Duration::from_secs(4), "it came as soon as it was stored");
    let refused = wire.ask(r#"{"request":"view","station":"x"}"#).unwrap();
    assert_eq!((&refused["schema"], refused["exit"].as_u64()), (&"error/1".into(), Some(2)));
}

#[test]
fn each_station_has_a_screen_of_its_own() {
    let more = "[[gauge]]\nname = \"bore\"\nkind = \"dial\"\nunit = \"in\"\n\
                resolution = \"0.0001 in\"\n\
                [[station]]\nname = \"left\"\ngauges = [\"plate\"]\n\
                [[station]]\nname = \"right\"\ngauges = [\"bore\"]\n";
    let mut bench = Bench::new(&Make { gauge: GAUGE, more, plan: PLAN });
    bench.start();
    let err = bench.refused(2, &["watch", "--json"]);
    assert!(err.contains("several stations") && err.contains("left, right"), "{err}");
    bench.ok(&["job", "open", "J-1", "--plan", "held", "--station", "left"]);
    bench.ok(&["measure", "ring/face", "--station", "left"]);
    // Other places than the resolution gives: an alert of the plate, and so of its station.
    bench.touches(&bench.plate, "plate", &["0.001"]);
    let mut wire = Wire::to(&bench.state.join("tenths.sock")).unwrap();
    let left = wire.ask(r#"{"request":"view","station":"left"}"#).unwrap();
    let right = wire.ask(r#"{"request":"view","station":"right"}"#).unwrap();
    assert_eq!((&left["job"], &right["job"]), (&"J-1".into(), &Value::Null));
    assert_eq!(
        (&left["gauges"][0]["name"], &right["gauges"][0]["name"]),
        (&"plate".into(), &"bore".into())
    );
    assert_eq!(left["alerts"][0]["level"], "interrupt");
    assert_eq!(right["alerts"], Value::Array(Vec::new()));
    assert_eq!(left["check"]["last_touch"]["state"], "suspect");
}

#[test]
fn the_samples_of_a_stream_are_seen_although_nothing_is_stored() {
    let travel = "travel = [\"-0.010 in\", \"0.010 in\"]";
    let gauge = format!("{GAUGE}\ncapture = \"settle\"\n{travel}");
    let gauge = gauge.replace("repeat_ms = 0\nmax_rate = 0\n", "");
    let mut bench = Bench::new(&Make { gauge: &gauge, more: "", plan: PLAN });
    bench.start();
    let mut wire = Wire::to(&bench.state.join("tenths.sock")).unwrap();
    for value in ["0.00123", "0.00124", "-0.00001"] {
        let before = wire.ask(r#"{"request":"view"}"#).unwrap();
        wire.write(b"{\"request\":\"view\",\"wait_ms\":5000}\n");
        std::thread::sleep(Duration::from_millis(250));
        let start = Instant::now();
        bench.plate.send(&format!("{value}\r"));
        let view = wire.hear().unwrap();
        assert!(start.elapsed() < Duration::from_secs(3), "it was not waited out");
        assert_eq!(view["gauges"][0]["last"], format!("{value} in"), "{before}");
    }
    assert!(bench.lines(&["readings", "--all"]).is_empty());
}

#[test]
fn tail_rings_the_bell_of_a_terminal_when_asked() {
    let bench = bench();
    let tail = |more: &[&str]| {
        let mut command = Command::new(env!("CARGO_BIN_EXE_tenths"));
        command.arg("tail").args(more);
        Terminal::with(command, &bench, (100, 24))
    };
    let (asked, plain) = (tail(&["--sound"]), tail(&[]));
    bench.ok(&["measure", "ring/face"]);
    std::thread::sleep(Duration::from_millis(800));
    bench.touches(&bench.plate, "plate", &IN);
    for screen in [&asked, &plain] {
        screen.until(&["ring/face: ", "CONFORMS"]);
    }
    // Three short ones: in.
    bench.until("three rings", || asked.bells() >= 3);
    std::thread::sleep(Duration::from_secs(1));
    assert_eq!((asked.bells(), plain.bells()), (3, 0));
}
