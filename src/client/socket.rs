//! Talking to the service: a line out, a line back.

use std::io::{self, ErrorKind, Read, Write};
use std::os::unix::net::UnixStream;
use std::path::Path;
use std::time::{Duration, Instant};

use wire::{Incoming, MAX_LINE, PROTOCOL, Reply, Status, asks_for_bytes};

use super::bench::IN_THE_GROUP;
use super::failure::{About, Failure, REFUSED, UNREACHABLE};

/// The longest line accepted from the service: far longer than a verdict over a thousand positions.
const MAX_REPLY: usize = 4 * 1024 * 1024;
/// How long an answer may take.
const PATIENCE: Duration = Duration::from_secs(30);
/// How long a broken connection is tried again.
const COMING_BACK: Duration = Duration::from_secs(10);
/// The pause between two tries.
const PAUSE: Duration = Duration::from_millis(100);

/// Why no line was received.
#[derive(Debug)]
pub(crate) enum Trouble {
    /// The connection could not be made, or it ended.
    Broken(io::Error),
    /// The connection is open, but nothing arrived in time.
    Silent,
    /// What arrived is not a line of this protocol.
    Strange(String),
    /// The service runs and has no place for this connection.
    Full(Box<Reply>),
}

/// The lines of a connection.
#[derive(Debug)]
pub(crate) struct Lines {
    stream: UnixStream,
    held: Vec<u8>,
}

impl Lines {
    /// Connects and reads the service's greeting.
    pub(crate) fn connect(path: &Path) -> Result<Self, Trouble> {
        let stream = UnixStream::connect(path).map_err(Trouble::Broken)?;
        stream.set_read_timeout(Some(PATIENCE)).map_err(Trouble::Broken)?;
        stream.set_write_timeout(Some(PATIENCE)).map_err(Trouble::Broken)?;
        let mut lines = Self { stream, held: Vec::new() };
        check_greeting(&lines.next()?)?;
        Ok(lines)
    }

    /// Sends a line.
    pub(crate) fn send(&mut self, line: &str) -> Result<(), Trouble> {
        let whole = format!("{line}\n");
        self.stream.write_all(whole.as_bytes()).map_err(trouble)
    }

    /// Waits for the next line.
    pub(crate) fn next(&mut self) -> Result<String, Trouble> {
        loop {
            if let Some(line) = self.held_line()? {
                return Ok(line);
            }
            self.fill()?;
        }
    }

    /// A complete line that has arrived already.
    pub(crate) fn held_line(&mut self) -> Result<Option<String>, Trouble> {
        let Some(end) = self.held.iter().position(|&byte| byte == b'\n') else {
            if self.held.len() > MAX_REPLY {
                return Err(Trouble::Strange("a line without an end".to_owned()));
            }
            return Ok(None);
        };
        let bytes: Vec<u8> = self.held.drain(..=end).take(end).collect();
        String::from_utf8(bytes).map(Some).map_err(|error| Trouble::Strange(error.to_string()))
    }

    /// Waits for bytes and takes them in.
    pub(crate) fn fill(&mut self) -> Result<(), Trouble> {
        let mut chunk = [0_u8; 16 * 1024];
        match self.stream.read(&mut chunk) {
            Ok(0) => Err(Trouble::Broken(ErrorKind::UnexpectedEof.into())),
            Ok(count) => {
                self.held.extend_from_slice(&chunk[..count]);
                Ok(())
            }
            Err(error) if error.kind() == ErrorKind::Interrupted => Ok(()),
            Err(error) => Err(trouble(error)),
        }
    }

    /// The connection, for waiting on it.
    pub(crate) const fn stream(&self) -> &UnixStream {
        &self.stream
    }
}

/// A timeout shows as `WouldBlock` on a socket.
#[expect(clippy::wildcard_enum_match_arm, reason = "the standard library's open list")]
fn trouble(error: io::Error) -> Trouble {
    match error.kind() {
        ErrorKind::WouldBlock | ErrorKind::TimedOut => Trouble::Silent,
        _ => Trouble::Broken(error),
    }
}

fn check_greeting(line: &str) -> Result<(), Trouble> {
    #[derive(serde::Deserialize)]
    struct Hello {
        schema: String,
        #[serde(default)]
        protocol: u32,
        #[serde(default)]
        version: String,
    }
    let strange = |error: serde_json::Error| Trouble::Strange(error.to_string());
    let hello: Hello = serde_json::from_str(line).map_err(strange)?;
    if hello.schema == "hello/1" && hello.protocol == PROTOCOL {
        return Ok(());
    }
    if hello.schema == "error/1" {
        return Err(Trouble::Full(Box::new(Reply::parse(line).map_err(Trouble::Strange)?)));
    }
    Err(Trouble::Strange(format!("it is version {}", hello.version)))
}

/// Sends a request with nothing behind it.
pub(crate) fn ask(path: &Path, asked: &Incoming) -> Result<Reply, Failure> {
    ask_with(path, asked, &[])
}

/// Sends a request, and sends the same line again if the connection breaks. The key in a request for a change makes
/// sure that the service does it once. `file` are the bytes that the service asks for before it answers.
pub(crate) fn ask_with(path: &Path, asked: &Incoming, file: &[u8]) -> Result<Reply, Failure> {
    let line = asked.to_line();
    if line.len() >= MAX_LINE {
        return Err(Failure::new(
            REFUSED,
            "the request is too long",
            "split it into several shorter ones",
        ));
    }
    let lines = Lines::connect(path).map_err(|trouble| told(path, trouble))?;
    let mut outcome = exchange(lines, &line, file);
    let until = Instant::now() + COMING_BACK;
    while matches!(outcome, Err(Trouble::Broken(_))) && Instant::now() < until {
        std::thread::sleep(PAUSE);
        outcome = Lines::connect(path).and_then(|lines| exchange(lines, &line, file));
    }
    match outcome {
        Ok(line) => Reply::parse(&line).map_err(|text| Failure::plain(UNREACHABLE, text)),
        Err(Trouble::Broken(_)) => Err(Failure::new(
            UNREACHABLE,
            "the service ended before it answered; the request may or may not have been done",
            "when it is back, look whether it was done before you repeat it: tenths status",
        )),
        Err(trouble) => Err(told(path, trouble)),
    }
}

fn exchange(mut lines: Lines, line: &str, file: &[u8]) -> Result<String, Trouble> {
    lines.send(line)?;
    let reply = lines.next()?;
    if !asks_for_bytes(&reply) {
        return Ok(reply);
    }
    // A service that gives up in the middle says why before it ends the connection.
    match lines.stream.write_all(file) {
        Ok(()) => lines.next(),
        Err(error) => lines.next().map_err(|_| trouble(error)),
    }
}

/// The status of the service, or why it cannot be had.
pub(crate) fn status(path: &Path) -> Result<Status, Trouble> {
    let line = exchange(Lines::connect(path)?, &Incoming::Status.to_line(), &[])?;
    serde_json::from_str(&line).map_err(|error| Trouble::Strange(error.to_string()))
}

/// The error for a person when talking to the service failed.
pub(crate) fn told(path: &Path, trouble: Trouble) -> Failure {
    match trouble {
        Trouble::Broken(error) => no_service(path, &error),
        Trouble::Full(reply) => Failure::Told((*reply).into()),
        Trouble::Silent => Failure::new(
            UNREACHABLE,
            "the service does not answer; what was asked may or may not have been done",
            "look at: systemctl status tenths, and at the disk of the record",
        ),
        Trouble::Strange(what) => Failure::new(
            UNREACHABLE,
            format!("the service is of another version: {what}"),
            "use the same version of tenths for the service and here",
        ),
    }
}

/// The error for a service that cannot be reached.
#[expect(clippy::wildcard_enum_match_arm, reason = "the standard library's open list")]
pub(crate) fn no_service(path: &Path, error: &io::Error) -> Failure {
    let path = path.display();
    let failure = match error.kind() {
        // A connection that ends before the greeting: the service is just ending.
        ErrorKind::NotFound | ErrorKind::ConnectionRefused | ErrorKind::UnexpectedEof => {
            Failure::new(
                UNREACHABLE,
                format!("the service is not running (nothing answers at {path})"),
                "start it with: tenths serve; as a service, look at: systemctl status tenths",
            )
        }
        ErrorKind::PermissionDenied => Failure::new(
            UNREACHABLE,
            format!("you may not talk to the service at {path}"),
            IN_THE_GROUP,
        ),
        _ => Failure::new(
            UNREACHABLE,
            format!("cannot reach the service at {path}: {error}"),
            "look at: systemctl status tenths",
        ),
    };
    failure.about(About::Place)
}

#[cfg(test)]
mod tests;
