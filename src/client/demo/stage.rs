//! The stage of the demo: a folder with a bench, the service on it, and somebody who watches.

use std::fs::{self, File};
use std::io::{self, IsTerminal, Write};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::sync::mpsc::{Receiver, channel};
use std::thread;
use std::time::{Duration, Instant};

use serde_json::Value;

use super::super::screen::Screen;
use super::super::serve;
use super::super::socket::{self, Lines, Trouble};
use super::gauges::PretendGauge;
use wire::{GaugeState, GaugeStatus, Incoming};

/// How long the service may take for anything before the demo gives up.
const PATIENCE: Duration = Duration::from_secs(20);

/// By how much the continuation of a long line is indented.
const GOES_ON: usize = 4;
/// The width of the story where there is no terminal.
const TOLD_WIDTH: usize = 88;

/// A drawn picture: a shaft in a crate.
const PICTURE: &[u8] = include_bytes!("crate.png");
/// The drawn mark of the shop.
const MARK: &[u8] = include_bytes!("mark.png");
/// The bench of an invented shop.
const BENCH: &str = include_str!("bench.toml");
/// The plan: the one for a whole rebuild, which comes with the program.
const PLAN: &str = include_str!("../../../config/plans/rebuild.toml");
/// The profile of its indicator, which comes with the program.
const PROFILE: &str = include_str!("../../../config/profiles/signed-decimal.toml");

/// Where the demo plays.
#[derive(Debug)]
pub(super) struct Stage {
    dir: PathBuf,
    fast: bool,
    live: bool,
    width: Option<usize>,
    /// The indicator on the surface plate.
    pub(super) plate: PretendGauge,
    service: Child,
    feed: Receiver<Value>,
}

impl Stage {
    /// Sets the stage: folder, gauge, service, and a connection that follows the feed.
    pub(super) fn set(keep: Option<&Path>, fast: bool) -> io::Result<Self> {
        let dir = folder(keep)?;
        for name in ["plans", "profiles", "state", "drop", "warm"] {
            fs::create_dir(dir.join(name))?;
        }
        fs::write(dir.join("bench.toml"), BENCH)?;
        fs::write(dir.join("mark.png"), MARK)?;
        fs::write(dir.join("plans/rebuild.toml"), PLAN)?;
        fs::write(dir.join("profiles/signed-decimal.toml"), PROFILE)?;
        let plate = PretendGauge::plugged(dir.join("plate-gauge"))?;
        let log = File::create(dir.join("service.log"))?;
        let mut service = tenths(&dir)?;
        service.args(serve::of_this_process()).stdout(log.try_clone()?).stderr(log);
        let service = service.spawn()?;
        let (tell, feed) = channel();
        let live = io::stdout().is_terminal();
        let width = Screen::of_stdout().width;
        let stage = Self { dir, fast, live, width, plate, service, feed };
        stage.until("the service to be ready", || stage.gauge_is(GaugeState::Live))?;
        let mut lines = stage.connect()?;
        lines.send(&Incoming::Tail { since: Some(0), feed: None }.to_line()).map_err(broken)?;
        thread::spawn(move || {
            while let Ok(line) = lines.next() {
                let Ok(line) = serde_json::from_str(&line) else { break };
                if tell.send(line).is_err() {
                    break;
                }
            }
        });
        Ok(stage)
    }

    fn socket(&self) -> PathBuf {
        self.dir.join("state").join(config::SOCKET)
    }

    fn connect(&self) -> io::Result<Lines> {
        Lines::connect(&self.socket()).map_err(broken)
    }

    /// What the service's status says of the indicator.
    fn gauge(&self) -> Option<GaugeStatus> {
        let status = socket::status(&self.socket()).ok()?;
        status.gauges.into_iter().find(|gauge| gauge.name == "plate")
    }

    /// Whether the indicator is in a state.
    pub(super) fn gauge_is(&self, state: GaugeState) -> bool {
        self.gauge().is_some_and(|gauge| gauge.state == state)
    }

    fn readings_taken(&self) -> u64 {
        self.gauge().map_or(0, |gauge| gauge.taken)
    }

    /// Waits until the service has done something.
    pub(super) fn until(&self, what: &str, holds: impl Fn() -> bool) -> io::Result<()> {
        let start = Instant::now();
        while !holds() {
            if start.elapsed() > PATIENCE {
                let log = self.dir.join("service.log");
                let text = format!("waited too long for {what}; see {}", log.display());
                return Err(io::Error::other(text));
            }
            thread::sleep(Duration::from_millis(5));
        }
        Ok(())
    }

    /// Pauses as long as a person would, unless the demo is to be fast.
    pub(super) fn pause(&self, milliseconds: u64) {
        if !self.fast {
            thread::sleep(Duration::from_millis(milliseconds));
        }
    }

    /// Prints a sentence of the story.
    pub(super) fn tell(&self, text: &str) -> io::Result<()> {
        self.pause(900);
        print(&format!("\n{}\n", folded(text, self.width.unwrap_or(TOLD_WIDTH), 0)))
    }

    /// Types a command and shows its answer.
    pub(super) fn command(&self, arguments: &[&str]) -> io::Result<()> {
        self.pause(300);
        self.print(&format!("  $ tenths {}", typed(arguments)))?;
        let output = tenths(&self.dir)?.args(arguments).stdin(Stdio::null()).output()?;
        for line in String::from_utf8_lossy(&output.stdout).lines() {
            self.print(&format!("    {line}"))?;
        }
        for line in String::from_utf8_lossy(&output.stderr).lines() {
            self.print(&format!("    {line}"))?;
        }
        Ok(())
    }

    /// Types a command whose answer adapts to the width of the screen.
    pub(super) fn command_on_screen(&self, arguments: &[&str]) -> io::Result<()> {
        self.pause(500);
        self.print(&format!("  $ tenths {}", typed(arguments)))?;
        io::stdout().flush()?;
        tenths(&self.dir)?.args(arguments).stdin(Stdio::null()).status().map(drop)
    }

    /// Prints a line; on a terminal a long one continues on the next line.
    fn print(&self, line: &str) -> io::Result<()> {
        let width = self.width.unwrap_or(usize::MAX);
        print(&format!("{}\n", folded(line, width, GOES_ON)))
    }

    /// Touches one position after the other; each is on disk before the next. On a terminal the values appear
    /// as they are taken.
    pub(super) fn touch(&self, values: &[&str]) -> io::Result<()> {
        print("  touch ")?;
        let (mut column, width) = (8, self.width.unwrap_or(usize::MAX));
        for value in values {
            self.pause(220);
            let before = self.readings_taken();
            self.plate.press(value)?;
            self.until("a reading to be taken", || self.readings_taken() > before)?;
            column += 1 + value.len();
            if column > width {
                print("\n        ")?;
                column = 9 + value.len();
            }
            print(&format!(" {value}"))?;
            if self.live {
                io::stdout().flush()?;
            }
        }
        print("\n")
    }

    /// Shows the feed until a verdict, or an alert of the given kind, has come and nothing more follows.
    pub(super) fn hear(&self, what: &str) -> io::Result<()> {
        let mut heard = false;
        loop {
            let wait = if heard { Duration::from_millis(120) } else { PATIENCE };
            match self.feed.recv_timeout(wait) {
                Ok(line) => {
                    heard |= line["event"] == what || line["alert"]["kind"] == what;
                    if let Some(sentence) = super::super::tail::sentence(&line) {
                        self.print(&format!("  > {sentence}"))?;
                    }
                }
                Err(_) if heard => return Ok(()),
                Err(_) => return Err(io::Error::other(format!("nothing was heard of {what}"))),
            }
        }
    }

    /// A logger writes a file into the drop folder.
    pub(super) fn drop_file(&self, folder: &str, name: &str, text: &str) -> io::Result<()> {
        self.pause(500);
        print(&format!("  a file appears: {folder}/{name}\n"))?;
        fs::write(self.dir.join(folder).join(name), text)
    }

    /// Attaches a picture, which lies in the folder of the demo.
    pub(super) fn attach(&self, name: &str, to: &str, what: &str) -> io::Result<()> {
        fs::write(self.dir.join(name), PICTURE)?;
        self.command(&["attach", "BS-118", name, "--to", to, "--what", what])
    }

    /// Prints where everything is, and ends the service.
    pub(super) fn clear_away(mut self) -> io::Result<()> {
        let id = i32::try_from(self.service.id()).map_err(io::Error::other)?;
        if let Some(id) = rustix::process::Pid::from_raw(id) {
            rustix::process::kill_process(id, rustix::process::Signal::TERM)?;
        }
        let ended = self.service.wait()?;
        let dir = self.dir.display();
        print(&format!(
            "\nThe service has ended ({ended}). Everything lies in {dir}:\n  \
             bench.toml, plans/, profiles/   what was configured\n  \
             state/tenths.db                 the record\n  \
             drop/, warm/                    the loggers' files\n  \
             service.log                     the service's log\n\
             Look again with:\n  \
             tenths --config {dir}/bench.toml job show BS-118\n"
        ))
    }
}

impl Drop for Stage {
    fn drop(&mut self) {
        // The service is still running here only if the demo failed.
        if matches!(self.service.try_wait(), Ok(None)) {
            drop(self.service.kill());
            drop(self.service.wait());
        }
    }
}

fn folder(keep: Option<&Path>) -> io::Result<PathBuf> {
    let Some(dir) = keep else {
        return Ok(tempfile::Builder::new().prefix("tenths-demo-").tempdir()?.keep());
    };
    fs::create_dir_all(dir)?;
    if fs::read_dir(dir)?.next().is_some() {
        let text = format!("{} is not empty; name another folder", dir.display());
        return Err(io::Error::other(text));
    }
    dir.canonicalize()
}

/// This program, on the bench of the demo.
fn tenths(dir: &Path) -> io::Result<Command> {
    let mut command = Command::new(std::env::current_exe()?);
    command.arg("--config").arg(dir.join("bench.toml")).env("NO_COLOR", "1").current_dir(dir);
    Ok(command)
}

/// A line folded at blanks to fit a width; continuation lines are indented.
fn folded(line: &str, width: usize, set_in: usize) -> String {
    let mut text = String::new();
    let mut column = 0;
    for word in line.split_inclusive(' ') {
        let length = word.trim_end().chars().count();
        if column > set_in && column + length > width {
            text.truncate(text.trim_end_matches(' ').len());
            text.push('\n');
            text.push_str(&" ".repeat(set_in));
            column = set_in;
        }
        text.push_str(word);
        column += word.chars().count();
    }
    text
}

/// Arguments as a person types them.
fn typed(arguments: &[&str]) -> String {
    let quoted = arguments.iter().map(|argument| {
        if argument.contains(' ') { format!("\"{argument}\"") } else { (*argument).to_owned() }
    });
    quoted.collect::<Vec<_>>().join(" ")
}

fn print(text: &str) -> io::Result<()> {
    io::stdout().write_all(text.as_bytes())
}

fn broken(trouble: Trouble) -> io::Error {
    match trouble {
        Trouble::Broken(error) => error,
        Trouble::Silent => io::Error::other("the service does not answer"),
        Trouble::Strange(what) => io::Error::other(what),
        Trouble::Full(reply) => io::Error::other(reply.text),
    }
}

#[cfg(test)]
mod tests {
    use super::folded;

    #[test]
    fn a_long_line_is_folded_at_blanks() {
        assert_eq!(folded("  > one two three", 80, 4), "  > one two three");
        assert_eq!(folded("  > one two three", 12, 4), "  > one two\n    three");
        assert_eq!(folded("unbroken-and-long", 8, 0), "unbroken-and-long");
    }
}
