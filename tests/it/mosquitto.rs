//! A real broker, started by a test in a folder of its own, and somebody who listens to it.

use std::fs::{self, File, Permissions};
use std::io::{BufRead, BufReader};
use std::net::{TcpListener, TcpStream};
use std::os::unix::fs::{PermissionsExt as _, chown};
use std::path::PathBuf;
use std::process::{Child, Command, Stdio};
use std::sync::{Arc, Mutex};

use rustix::process::{Pid, Signal, geteuid, kill_process};
use serde_json::Value;

use crate::rig::in_time;

/// Who a broker runs as where the test is root.
const NOBODY: u32 = 65_534;

/// A broker of a test.
pub(crate) struct Mosquitto {
    pub(crate) dir: tempfile::TempDir,
    pub(crate) port: u16,
    server: Option<Child>,
}

impl Mosquitto {
    /// A broker that does not run yet, with more lines of its configuration. `{dir}` is its folder.
    pub(crate) fn new(more: &str) -> Self {
        let dir = tempfile::tempdir().unwrap();
        let port = TcpListener::bind("127.0.0.1:0").unwrap().local_addr().unwrap().port();
        let at = dir.path().display().to_string();
        let who = if more.contains("password_file") { "" } else { "allow_anonymous true\n" };
        // A listener that comes back gets all it missed: with the usual limits the broker drops messages.
        let text = format!(
            "listener {port} 127.0.0.1\n{who}persistence true\npersistence_location {at}/\n\
             max_queued_messages 0\n{}\n",
            more.replace("{dir}", &at)
        );
        fs::write(dir.path().join("mosquitto.conf"), text).unwrap();
        fs::set_permissions(dir.path(), Permissions::from_mode(0o755)).unwrap();
        if geteuid().is_root() {
            chown(dir.path(), Some(NOBODY), Some(NOBODY)).unwrap();
        }
        Self { dir, port, server: None }
    }

    pub(crate) fn started(more: &str) -> Self {
        let mut broker = Self::new(more);
        broker.start();
        broker
    }

    pub(crate) fn path(&self, name: &str) -> PathBuf {
        self.dir.path().join(name)
    }

    /// Gives a file to the user that the broker runs as.
    pub(crate) fn give(path: &std::path::Path) {
        if geteuid().is_root() {
            chown(path, Some(NOBODY), Some(NOBODY)).unwrap();
        }
    }

    /// Starts it and waits until it takes connections.
    pub(crate) fn start(&mut self) {
        // Whatever becomes of the test, its broker ends with it.
        let mut command = Command::new("setpriv");
        command.arg("--pdeathsig=KILL");
        if geteuid().is_root() {
            command.args(["--reuid=65534", "--regid=65534", "--clear-groups"]);
        }
        let log = File::options().append(true).create(true).open(self.path("log")).unwrap();
        // Not in the path of everybody.
        command.arg("/usr/sbin/mosquitto").arg("-c").arg(self.path("mosquitto.conf"));
        command.stdin(Stdio::null()).stdout(log.try_clone().unwrap()).stderr(log);
        self.server = Some(command.spawn().unwrap());
        let up = in_time(|| TcpStream::connect(("127.0.0.1", self.port)).is_ok());
        assert!(up, "{}", fs::read_to_string(self.path("log")).unwrap());
    }

    pub(crate) fn signal(&self, signal: Signal) {
        kill_process(Pid::from_child(self.server.as_ref().unwrap()), signal).unwrap();
    }

    /// Ends it in order: what it has to keep is on its disk.
    pub(crate) fn stop(&mut self) {
        self.signal(Signal::TERM);
        self.server.take().unwrap().wait().unwrap();
    }

    /// Somebody who listens to topics, and whom the broker keeps messages for.
    pub(crate) fn listener(&self, name: &str, topics: &str, more: &[&str]) -> Listener {
        let mut command = Command::new("mosquitto_sub");
        command.args(["-p", &self.port.to_string(), "-i", name, "-c", "-q", "1", "-t", topics]);
        command.args(["-F", "%r %t %p"]).args(more);
        let listener = Listener::of(command);
        let log = self.path("log");
        let known = || fs::read_to_string(&log).unwrap().contains(&format!(" as {name} ("));
        assert!(in_time(known), "nobody heard of {name}");
        // The broker writes of a connection; the subscription comes right behind.
        std::thread::sleep(std::time::Duration::from_millis(300));
        listener
    }
}

impl Drop for Mosquitto {
    fn drop(&mut self) {
        if let Some(mut server) = self.server.take() {
            let ended = server.kill().and_then(|()| server.wait());
            assert!(ended.is_ok() || std::thread::panicking());
        }
    }
}

/// A message as a listener got it.
#[derive(Debug, Clone)]
pub(crate) struct Message {
    /// Whether the broker had kept it.
    pub(crate) kept: bool,
    pub(crate) topic: String,
    /// `null` where there was none.
    pub(crate) line: Value,
}

/// A program that has nothing to do with ours, and prints what it gets from a broker.
pub(crate) struct Listener {
    child: Child,
    heard: Arc<Mutex<Vec<Message>>>,
}

impl Listener {
    fn of(mut command: Command) -> Self {
        let mut child = command
            .stdin(Stdio::null())
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .unwrap();
        let out = BufReader::new(child.stdout.take().unwrap());
        let heard = Arc::new(Mutex::new(Vec::new()));
        let into = Arc::clone(&heard);
        std::thread::spawn(move || {
            for line in out.lines().map_while(Result::ok) {
                into.lock().unwrap().push(Message::read(&line));
            }
        });
        Self { child, heard }
    }

    /// What came so far; each line is held against its schema.
    #[track_caller]
    pub(crate) fn heard(&self) -> Vec<Message> {
        let heard = self.heard.lock().unwrap().clone();
        let lines = heard.iter().filter(|message| !message.line.is_null());
        lines.for_each(|message| crate::schemas::hold(&message.line));
        heard
    }

    /// The newest message of a topic.
    pub(crate) fn newest(&self, topic: &str) -> Option<Message> {
        self.heard().into_iter().rfind(|message| message.topic == topic)
    }

    /// The lines of the feed, in the order in which they came.
    pub(crate) fn feed(&self) -> Vec<Value> {
        let lines = self.heard().into_iter().map(|message| message.line);
        lines.filter(|line| line["schema"] == "feed/1").collect()
    }
}

impl Message {
    /// A line of `%r %t %p`. No topic of ours holds two blanks in a row or ends in one.
    fn read(line: &str) -> Self {
        let (kept, rest) = line.split_once(' ').unwrap();
        let (topic, text) = match rest.find(" {") {
            Some(at) => (&rest[..at], &rest[at + 1..]),
            None => (rest.trim_end(), "null"),
        };
        let line = serde_json::from_str(text).unwrap_or_else(|_| panic!("{text}"));
        Self { kept: kept == "1", topic: topic.to_owned(), line }
    }
}

impl Drop for Listener {
    fn drop(&mut self) {
        let ended = self.child.kill().and_then(|()| self.child.wait());
        assert!(ended.is_ok() || std::thread::panicking());
    }
}
