//! The real program over pseudo-terminals and drop folders, as a person's script would drive it.

use std::fs::{self, File};
use std::io::{BufRead, BufReader, Write};
use std::os::fd::OwnedFd;
use std::os::unix::fs::symlink;
use std::os::unix::net::UnixStream;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Output, Stdio};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex};
use std::time::{Duration, Instant};

use rustix::event::{PollFd, PollFlags, Timespec, poll};
use rustix::pty::{OpenptFlags, grantpt, openpt, ptsname, unlockpt};
use rustix::termios::{OptionalActions, tcgetattr, tcsetattr};
use serde_json::Value;

use crate::schemas::hold;

/// How long anything may take before a test gives up. Generous: machines are shared.
const PATIENCE: Duration = Duration::from_mins(1);

/// One face of one ring.
pub(crate) const RING_PLAN: &str = r#"
name = "held"
unit = "in"
[[part]]
name = "ring"
kind = "spacer"
[[part.check]]
name = "face"
measures = "parallelism"
gauge = "plate"
setup = "plate"
positions = 8
radius = "1.5 in"
tolerance = "0.0001 in"
"#;

/// The far end of a serial line, reached by a stable link as udev would make it.
pub(crate) struct Gauge {
    link: PathBuf,
    master: Option<OwnedFd>,
    slave: Option<OwnedFd>,
}

impl Gauge {
    pub(crate) fn plugged(link: PathBuf) -> Self {
        let mut gauge = Self { link, master: None, slave: None };
        gauge.plug();
        gauge
    }

    /// Opens a pseudo-terminal and points the link at it.
    pub(crate) fn plug(&mut self) {
        let master =
            openpt(OpenptFlags::RDWR | OpenptFlags::NOCTTY | OpenptFlags::CLOEXEC).unwrap();
        grantpt(&master).unwrap();
        unlockpt(&master).unwrap();
        let name = ptsname(&master, Vec::new()).unwrap().into_string().unwrap();
        let slave: OwnedFd = File::options().read(true).write(true).open(&name).unwrap().into();
        let mut mode = tcgetattr(&slave).unwrap();
        mode.make_raw();
        tcsetattr(&slave, OptionalActions::Now, &mode).unwrap();
        self.unlink();
        symlink(&name, &self.link).unwrap();
        (self.master, self.slave) = (Some(master), Some(slave));
    }

    /// Pulls the plug: the far end closes and the name is gone.
    pub(crate) fn unplug(&mut self) {
        self.slave = None;
        self.master = None;
        self.unlink();
    }

    fn unlink(&self) {
        if let Err(error) = fs::remove_file(&self.link) {
            assert_eq!(error.kind(), std::io::ErrorKind::NotFound);
        }
    }

    pub(crate) fn send(&self, text: &str) {
        self.send_bytes(text.as_bytes());
    }

    pub(crate) fn send_bytes(&self, bytes: &[u8]) {
        self.until_read();
        let sent = rustix::io::write(self.master.as_ref().unwrap(), bytes).unwrap();
        assert_eq!(sent, bytes.len());
    }

    /// Waits until the line takes more; a line that nobody reads any more fails the test.
    fn until_read(&self) {
        let waited = Timespec {
            tv_sec: PATIENCE.as_secs().try_into().unwrap(),
            tv_nsec: PATIENCE.subsec_nanos().into(),
        };
        let mut ready = [PollFd::new(self.master.as_ref().unwrap(), PollFlags::OUT)];
        assert_eq!(
            poll(&mut ready, Some(&waited)).unwrap(),
            1,
            "nobody reads {}",
            self.link.display()
        );
    }
}

/// Raises its flag when it goes, whichever way that comes about: a thread that runs until then
/// holds nothing up when an assertion fails beside it.
pub(crate) struct Ends<'a>(pub(crate) &'a AtomicBool);

impl Drop for Ends<'_> {
    fn drop(&mut self) {
        self.0.store(true, Ordering::Relaxed);
    }
}

impl Gauge {
    /// What the service writes on the line: as soon as anything comes, or nothing in that time.
    pub(crate) fn hear_for(&self, patience: Duration) -> String {
        let master = self.master.as_ref().unwrap();
        let waited = rustix::event::Timespec {
            tv_sec: patience.as_secs().try_into().unwrap(),
            tv_nsec: patience.subsec_nanos().into(),
        };
        let mut ready = [rustix::event::PollFd::new(master, rustix::event::PollFlags::IN)];
        if rustix::event::poll(&mut ready, Some(&waited)).unwrap() == 0 {
            return String::new();
        }
        let mut bytes = [0; 256];
        let count = rustix::io::read(master, &mut bytes).unwrap();
        String::from_utf8(bytes[..count].to_vec()).unwrap()
    }
}

impl Gauge {
    /// The end of the line that the service opens, as another program has it open.
    pub(crate) const fn port(&self) -> &OwnedFd {
        self.slave.as_ref().unwrap()
    }

    /// Everything that was written to the line from the other side and waits here.
    pub(crate) fn received(&self) -> Vec<u8> {
        let master = self.master.as_ref().unwrap();
        let mut bytes = Vec::new();
        let mut waiting = [PollFd::new(master, PollFlags::IN)];
        let at_once = Timespec { tv_sec: 0, tv_nsec: 0 };
        if poll(&mut waiting, Some(&at_once)).unwrap() > 0 {
            bytes.resize(256, 0);
            let count = rustix::io::read(master, &mut bytes).unwrap();
            bytes.truncate(count);
        }
        bytes
    }

    /// Sends a lot of bytes, waiting while the line is full.
    pub(crate) fn send_all(&self, bytes: &[u8]) {
        let mut left = bytes;
        while !left.is_empty() {
            self.until_read();
            let sent = rustix::io::write(self.master.as_ref().unwrap(), left).unwrap();
            left = &left[sent..];
        }
    }
}

/// A folder with a bench in it, and the service that runs on it.
pub(crate) struct Bench {
    pub(crate) dir: tempfile::TempDir,
    pub(crate) plate: Gauge,
    service: Option<Child>,
    /// What is put in front of the program when it is run as a client.
    pub(crate) before: Vec<String>,
    /// The state folder as this process reaches it.
    pub(crate) state: PathBuf,
}

/// What a bench is made of, beyond one gauge `plate` on a pseudo-terminal.
pub(crate) struct Make<'a> {
    /// Lines for the `plate` gauge: resolution, uncertainty, repeatability …
    pub(crate) gauge: &'a str,
    /// More of bench.toml.
    pub(crate) more: &'a str,
    /// The plan `held`.
    pub(crate) plan: &'a str,
}

impl Bench {
    pub(crate) fn new(make: &Make) -> Self {
        let dir = tempfile::tempdir().unwrap();
        let at = dir.path();
        fs::create_dir(at.join("plans")).unwrap();
        fs::create_dir(at.join("state")).unwrap();
        fs::create_dir(at.join("drop")).unwrap();
        fs::write(at.join("plans/held.toml"), make.plan).unwrap();
        let profiles = Path::new(env!("CARGO_MANIFEST_DIR")).join("config/profiles");
        let text = format!(
            "[bench]\nname = \"rig\"\nunit = \"in\"\nstate = \"state\"\nplans = \"plans\"\nprofiles = \"{}\"\n\n\
             [[gauge]]\nname = \"plate\"\nkind = \"indicator\"\nport = \"{}\"\nprofile = \"signed-decimal\"\nbaud = 9600\n{}\n{}\n",
            profiles.display(),
            at.join("plate").display(),
            make.gauge,
            make.more.replace("{dir}", &at.display().to_string())
        );
        fs::write(at.join("bench.toml"), text).unwrap();
        let plate = Gauge::plugged(at.join("plate"));
        let state = at.join("state");
        Self { dir, plate, service: None, before: Vec::new(), state }
    }

    pub(crate) fn path(&self, name: &str) -> PathBuf {
        self.dir.path().join(name)
    }

    pub(crate) fn command(&self, arguments: &[&str]) -> Command {
        let program = env!("CARGO_BIN_EXE_tenths");
        let mut command = match self.before.split_first() {
            None => Command::new(program),
            Some((first, more)) => {
                let mut command = Command::new(first);
                command.args(more).arg(program);
                command
            }
        };
        command.args(arguments).env("TENTHS_CONFIG", self.path("bench.toml")).env("NO_COLOR", "1");
        command.stdin(Stdio::null());
        command
    }

    pub(crate) fn spawn(&self, arguments: &[&str]) -> Child {
        self.command(arguments).stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap()
    }

    /// Starts the service and waits until every gauge is live.
    pub(crate) fn start(&mut self) {
        self.launch();
        self.until("gauges live", || self.all_live());
    }

    /// Starts the service and waits for nothing.
    pub(crate) fn launch(&mut self) {
        let serve = self.command(&["serve"]);
        self.launch_as(serve);
    }

    /// Starts the service by a command of the test's, and waits for nothing.
    pub(crate) fn launch_as(&mut self, mut serve: Command) {
        let log = File::options().append(true).create(true).open(self.path("log")).unwrap();
        let again = log.try_clone().unwrap();
        self.service = Some(serve.stdout(log).stderr(again).spawn().unwrap());
    }

    /// Waits until the service answers.
    pub(crate) fn until_up(&self) {
        self.until("the service answers", || self.heard().is_some());
    }

    /// The service's process.
    pub(crate) fn pid(&self) -> u32 {
        self.service.as_ref().unwrap().id()
    }

    /// Whether the service ended by itself.
    pub(crate) fn has_ended(&mut self) -> bool {
        self.service.as_mut().is_none_or(|service| service.try_wait().unwrap().is_some())
    }

    /// What the service has written to its log.
    pub(crate) fn log(&self) -> String {
        fs::read_to_string(self.path("log")).unwrap_or_default()
    }

    /// The status by the socket, which costs no process; `None` while nobody answers.
    pub(crate) fn heard(&self) -> Option<Value> {
        Wire::to(&self.state.join("tenths.sock"))?.ask(r#"{"request":"status"}"#)
    }

    /// A gauge's line of the status.
    pub(crate) fn gauge(&self, name: &str) -> Value {
        of_name(&self.heard().unwrap(), "gauges", name)
    }

    /// A drop's line of the status.
    pub(crate) fn drop_line(&self, name: &str) -> Value {
        of_name(&self.heard().unwrap(), "drops", name)
    }

    pub(crate) fn until_gauge(&self, name: &str, state: &str) {
        self.until(&format!("gauge {name} {state}"), || {
            self.heard().is_some_and(|status| of_name(&status, "gauges", name)["state"] == state)
        });
    }

    /// Runs a command that must be refused with this exit code, a sentence and maybe a hint, and
    /// nothing on standard output; its standard error.
    #[track_caller]
    pub(crate) fn refused(&self, exit: i32, arguments: &[&str]) -> String {
        let output = self.run(arguments);
        let err = String::from_utf8(output.stderr).unwrap();
        assert_eq!(output.status.code(), Some(exit), "{arguments:?}: {err}");
        let for_script = arguments.contains(&"--json");
        let begins = if for_script { "{\"schema\":\"error/1\"" } else { "tenths: " };
        assert!(err.starts_with(begins), "{arguments:?}: {err:?}");
        assert!(output.stdout.is_empty(), "{arguments:?} printed to standard output");
        err
    }

    /// A service that must not start, with this exit code; its standard error, without what it logged.
    #[track_caller]
    pub(crate) fn refused_serve(&self, exit: i32) -> String {
        let output = self.run(&["serve"]);
        let err = String::from_utf8(output.stderr).unwrap();
        assert_eq!(output.status.code(), Some(exit), "{err}");
        let at = err.find("tenths: ").unwrap_or_else(|| panic!("{err}"));
        err[at..].to_owned()
    }

    /// Runs a command that is refused as typed wrongly; its standard error.
    #[track_caller]
    pub(crate) fn refused_usage(&self, arguments: &[&str]) -> String {
        let output = self.run(arguments);
        let err = String::from_utf8(output.stderr).unwrap();
        assert_eq!(output.status.code(), Some(2), "{arguments:?}: {err}");
        assert!(output.stdout.is_empty(), "{arguments:?} printed to standard output");
        err
    }

    pub(crate) fn all_live(&self) -> bool {
        let Some(status) = self.heard() else { return false };
        let gauges = status["gauges"].as_array().unwrap();
        gauges.iter().all(|gauge| gauge["state"] == "live" || gauge["state"] == "no-port")
    }

    pub(crate) fn status(&self) -> Option<Value> {
        let output = self.run(&["status", "--json"]);
        let text = String::from_utf8(output.stdout).unwrap();
        text.lines().last().map(|line| serde_json::from_str(line).unwrap())
    }

    pub(crate) fn gauge_state(&self, name: &str) -> String {
        let status = self.status().unwrap();
        let gauges = status["gauges"].as_array().unwrap().clone();
        let gauge = gauges.into_iter().find(|gauge| gauge["name"] == name).unwrap();
        gauge["state"].as_str().unwrap().to_owned()
    }

    /// Every frame of every gauge is accounted for.
    pub(crate) fn balanced(&self) {
        let status = self.status().unwrap();
        for gauge in status["gauges"].as_array().unwrap() {
            let kinds = ["taken", "damaged", "foreign", "repeats", "resync", "idle", "muted"];
            let sum: u64 = kinds.iter().map(|kind| gauge[*kind].as_u64().unwrap()).sum();
            assert_eq!(gauge["frames"].as_u64().unwrap(), sum, "{gauge}");
        }
    }

    /// Runs a command; what it prints for a script is held against its schema.
    #[track_caller]
    pub(crate) fn run(&self, arguments: &[&str]) -> Output {
        let output = self.command(arguments).output().unwrap();
        if arguments.contains(&"--json") {
            let printed =
                [&output.stdout, &output.stderr].map(|text| String::from_utf8_lossy(text));
            for line in printed.iter().flat_map(|text| text.lines()) {
                if let Ok(line) = serde_json::from_str::<Value>(line) {
                    hold(&line);
                }
            }
        }
        output
    }

    /// Runs a command that must succeed; its standard output.
    pub(crate) fn ok(&self, arguments: &[&str]) -> String {
        let output = self.run(arguments);
        let err = String::from_utf8_lossy(&output.stderr).into_owned();
        assert!(output.status.success(), "{arguments:?}: {} {err}", output.status);
        String::from_utf8(output.stdout).unwrap()
    }

    pub(crate) fn lines(&self, arguments: &[&str]) -> Vec<Value> {
        let mut arguments = arguments.to_vec();
        arguments.push("--json");
        let text = self.ok(&arguments);
        text.lines().map(|line| serde_json::from_str(line).unwrap()).collect()
    }

    pub(crate) fn until(&self, what: &str, holds: impl Fn() -> bool) {
        let log = || fs::read_to_string(self.path("log")).unwrap_or_default();
        assert!(in_time(holds), "{what}: not within {PATIENCE:?}\n{}", log());
    }

    /// Waits for a number of verdicts and gives the newest.
    pub(crate) fn verdict(&self, job: &str, count: usize) -> Value {
        self.until("verdict", || self.lines(&["verdicts", job]).len() >= count);
        self.lines(&["verdicts", job]).pop().unwrap()
    }

    pub(crate) fn readings(&self, job: &str) -> Vec<Value> {
        self.lines(&["readings", job])
    }

    /// SIGKILL, as at the worst moment.
    pub(crate) fn kill(&mut self) {
        let mut service = self.service.take().unwrap();
        service.kill().unwrap();
        service.wait().unwrap();
    }

    pub(crate) fn signal(&self, signal: rustix::process::Signal) {
        let id = self.service.as_ref().unwrap().id();
        let id = rustix::process::Pid::from_raw(i32::try_from(id).unwrap()).unwrap();
        rustix::process::kill_process(id, signal).unwrap();
    }

    /// SIGTERM, and the service ends cleanly.
    pub(crate) fn stop(&mut self) {
        let status = self.ended();
        assert_eq!(status, Some(0), "{}", self.log());
    }

    /// SIGTERM; the exit code.
    pub(crate) fn ended(&mut self) -> Option<i32> {
        if !self.has_ended() {
            self.signal(rustix::process::Signal::TERM);
        }
        self.service.take().unwrap().wait().unwrap().code()
    }

    /// Readings of a job that fill a position, oldest first.
    pub(crate) fn placed(&self, job: &str) -> Vec<Value> {
        self.lines(&["readings", job, "--state", "placed"])
    }

    /// Sends readings one by one, each after the one before was stored, as a person paces them.
    pub(crate) fn touches(&self, gauge: &Gauge, name: &str, texts: &[&str]) {
        for text in texts {
            let before = self.gauge(name)["frames"].as_u64().unwrap();
            gauge.send(&format!("{text}\r"));
            self.until("the frame", || self.gauge(name)["frames"].as_u64().unwrap() > before);
        }
    }

    /// Writes a file into the drop folder in one go, as a logger would.
    pub(crate) fn drop_file(&self, name: &str, text: &str) {
        let mut file = File::create(self.path("drop").join(name)).unwrap();
        file.write_all(text.as_bytes()).unwrap();
    }
}

impl Drop for Bench {
    fn drop(&mut self) {
        if let Some(mut service) = self.service.take() {
            let ended = service.kill().and_then(|()| service.wait());
            assert!(ended.is_ok() || std::thread::panicking());
        }
    }
}

/// One entry of a list in the status.
fn of_name(status: &Value, list: &str, name: &str) -> Value {
    let all = status[list].as_array().unwrap();
    all.iter().find(|one| one["name"] == name).unwrap_or(&Value::Null).clone()
}

/// A bare connection to the service's socket.
pub(crate) struct Wire {
    stream: BufReader<UnixStream>,
}

impl Wire {
    /// Connects and hears the greeting; `None` while nobody answers.
    pub(crate) fn to(path: &Path) -> Option<Self> {
        let stream = UnixStream::connect(path).ok()?;
        stream.set_read_timeout(Some(PATIENCE)).ok()?;
        let mut wire = Self { stream: BufReader::new(stream) };
        let hello = wire.hear()?;
        assert_eq!(hello["schema"], "hello/1");
        Some(wire)
    }

    /// Connects where there is a place; `None` where none is free.
    pub(crate) fn to_if_free(path: &Path) -> Option<Self> {
        let stream = UnixStream::connect(path).unwrap();
        stream.set_read_timeout(Some(PATIENCE)).unwrap();
        let mut wire = Self { stream: BufReader::new(stream) };
        wire.hear().is_some_and(|hello| hello["schema"] == "hello/1").then_some(wire)
    }

    /// Writes bytes as they are; whether the other side took them all.
    pub(crate) fn write(&mut self, bytes: &[u8]) -> bool {
        self.stream.get_mut().write_all(bytes).is_ok()
    }

    /// The next line; `None` when the connection ended.
    pub(crate) fn hear(&mut self) -> Option<Value> {
        let mut line = String::new();
        match self.stream.read_line(&mut line) {
            Ok(0) | Err(_) => None,
            Ok(_) => {
                let line = serde_json::from_str(&line).unwrap();
                hold(&line);
                Some(line)
            }
        }
    }

    /// One request, one reply.
    pub(crate) fn ask(&mut self, line: &str) -> Option<Value> {
        self.write(format!("{line}\n").as_bytes());
        self.hear()
    }
}

/// A program whose lines are collected while it runs.
pub(crate) struct Follower {
    child: Child,
    lines: Arc<Mutex<Vec<Value>>>,
    said: Arc<Mutex<String>>,
}

impl Follower {
    pub(crate) fn of(mut child: Child) -> Self {
        let (lines, said) = (Arc::new(Mutex::new(Vec::new())), Arc::new(Mutex::new(String::new())));
        let (out, err) = (child.stdout.take().unwrap(), child.stderr.take().unwrap());
        let (into, words) = (Arc::clone(&lines), Arc::clone(&said));
        std::thread::spawn(move || {
            for line in BufReader::new(out).lines().map_while(Result::ok) {
                into.lock().unwrap().push(serde_json::from_str(&line).unwrap());
            }
        });
        std::thread::spawn(move || {
            for line in BufReader::new(err).lines().map_while(Result::ok) {
                let mut words = words.lock().unwrap();
                words.push_str(&line);
                words.push('\n');
            }
        });
        Self { child, lines, said }
    }

    /// What came so far.
    #[track_caller]
    pub(crate) fn seen(&self) -> Vec<Value> {
        let lines = self.lines.lock().unwrap().clone();
        lines.iter().for_each(hold);
        lines
    }

    /// What it said on standard error so far.
    pub(crate) fn said(&self) -> String {
        self.said.lock().unwrap().clone()
    }

    pub(crate) fn pid(&self) -> u32 {
        self.child.id()
    }

    pub(crate) fn runs(&mut self) -> bool {
        self.child.try_wait().unwrap().is_none()
    }
}

impl Drop for Follower {
    fn drop(&mut self) {
        let ended = self.child.kill().and_then(|()| self.child.wait());
        assert!(ended.is_ok() || std::thread::panicking());
    }
}

/// Numbers that are the same for the same seed (a multiplicative generator modulo 2^64, upper bits).
pub(crate) struct Dice(u64);

impl Dice {
    pub(crate) const fn seeded(seed: u64) -> Self {
        Self(seed)
    }

    /// A number below `end`.
    pub(crate) fn below(&mut self, end: u64) -> u64 {
        // Knuth's MMIX constants.
        self.0 =
            self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) % end
    }
}

/// Says on standard error, past the harness that keeps the words of tests that pass, that a test
/// could not be made here, and why.
pub(crate) fn skipped(what: &str, why: &str) {
    let line = format!("SKIPPED {what}: {why}\n");
    std::io::stderr().write_all(line.as_bytes()).unwrap();
}

/// A command of the program as the user 65534 who may do little, with the state folder given to
/// them; as somebody who is not root, the plain command. `None` where root cannot become somebody
/// else.
pub(crate) fn as_nobody(bench: &Bench, arguments: &[&str]) -> Option<Command> {
    if !rustix::process::geteuid().is_root() {
        return Some(bench.command(arguments));
    }
    let nobody = ["--reuid=65534", "--regid=65534", "--clear-groups"];
    let program = env!("CARGO_BIN_EXE_tenths");
    let tried = Command::new("setpriv").args(nobody).args([program, "--version"]).output();
    if !tried.is_ok_and(|output| output.status.success()) {
        return None;
    }
    let at = bench.dir.path();
    fs::set_permissions(at, std::os::unix::fs::PermissionsExt::from_mode(0o755)).unwrap();
    std::os::unix::fs::chown(at.join("state"), Some(65534), Some(65534)).unwrap();
    let mut command = Command::new("setpriv");
    command.args(nobody).arg(program).args(arguments).stdin(Stdio::null());
    command.env("TENTHS_CONFIG", bench.path("bench.toml")).env("NO_COLOR", "1");
    Some(command)
}

/// An error that a script reads, as a person reads it; one that a person reads as it is.
pub(crate) fn as_told(err: String) -> String {
    let Ok(line) = serde_json::from_str::<Value>(&err) else { return err };
    let text = |key: &str| line[key].as_str().unwrap_or_default().to_owned();
    format!("tenths: {}\nhint: {}\n", text("text"), text("hint"))
}

/// Waits until something holds; `false` when that takes too long.
pub(crate) fn in_time(holds: impl Fn() -> bool) -> bool {
    let start = Instant::now();
    while !holds() {
        if start.elapsed() > PATIENCE {
            return false;
        }
        std::thread::sleep(Duration::from_millis(15));
    }
    true
}
