//! `practice`: a scratch bench with a pretend ring, on the real screen. The space bar touches; nothing of it is kept.

use std::fs::{self, File};
use std::io::{self, IsTerminal, Read};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::sync::mpsc::{self, Sender};
use std::sync::{Arc, Mutex, PoisonError};
use std::task::Poll;
use std::time::{Duration, Instant};

use clap::Args;
use tokio::signal::unix::{Signal, SignalKind, signal};

use super::ask::ask;
use super::demo::PretendGauge;
use super::failure::{Failure, REFUSED, UNREACHABLE};
use super::socket::{self, Lines};
use super::{screen, serve};
use judgement::Word;
use wire::{GaugeState, Incoming, Next, Status, View};

/// The bench: one gauge, which is asked by the space bar.
const BENCH: &str = "[bench]\nname = \"practice\"\nunit = \"in\"\nstate = \"state\"\nplans = \"plans\"\nprofiles = \"profiles\"\n\
    [[gauge]]\nname = \"plate\"\nkind = \"indicator\"\nport = \"pretend\"\nprofile = \"asked\"\nunit = \"in\"\n\
    resolution = \"0.00001 in\"\ncapture = \"request\"\n";
/// How the pretend gauge talks.
const PROFILE: &str = "about = \"a pretend gauge\"\nframes = \"line\"\nvalue = \"decimal\"\n\
    pattern = '(?<sign>[+-]?)(?<digits>[0-9]+\\.[0-9]+)'\n[ask]\nsend = \"?\\r\"\ntimeout_ms = 10000\n";
/// The plan of one ring.
const PLAN: &str = include_str!("../../config/plans/ring.toml");
/// The check that is practised.
const CHECK: &str = "ring/face-a";
/// The job.
const JOB: &str = "PRACTICE";

/// Where the ring is high before it is ground, and by how much, in hundred-thousandths of an inch.
const LEANS: (f64, f64) = (45.0, 13.0);
/// The same afterwards.
const GROUND: (f64, f64) = (200.0, 2.0);
/// The position at which the first touch slips on the chamfer.
const SLIPS_AT: u32 = 3;
/// The exit code of a program that was interrupted, as shells have it.
const INTERRUPTED: u8 = 130;
/// How long the service may take to start.
const PATIENCE: Duration = Duration::from_secs(20);

/// Practises.
#[derive(Debug, Args)]
#[command(after_help = "Examples:
  tenths practice
  tenths practice --mute")]
pub(crate) struct PracticeArgs {
    /// Make no sound
    #[arg(long)]
    mute: bool,
}

pub(crate) fn run(args: &PracticeArgs) -> Result<u8, Failure> {
    if !io::stdin().is_terminal() || !io::stdout().is_terminal() {
        let hint = "run it in a terminal; `tenths demo` shows a whole job in a pipe, too";
        return Err(Failure::new(REFUSED, "practising needs a terminal", hint));
    }
    let room = Arc::new(Room::open().map_err(|error| failed(&error))?);
    let (tell, outcome) = mpsc::channel();
    tell_of_signals(tell.clone()).map_err(|error| failed(&error))?;
    let (mute, practised) = (args.mute, Arc::clone(&room));
    // On a thread of its own: a question waits for a person, who may be gone.
    std::thread::spawn(move || tell.send(practised.practise(mute)));
    let outcome = outcome.recv().unwrap_or(Ok(INTERRUPTED));
    // Whatever happened, the service ends and the folder goes.
    room.close();
    outcome
}

/// Tells of a signal that ends this program: Ctrl-C at a question, a terminal that is closed.
fn tell_of_signals(tell: Sender<Result<u8, Failure>>) -> io::Result<()> {
    let runtime = tokio::runtime::Builder::new_current_thread().enable_io().build()?;
    let mut ends = {
        let _within = runtime.enter();
        let all = [SignalKind::interrupt(), SignalKind::terminate(), SignalKind::hangup()];
        all.into_iter().map(signal).collect::<io::Result<Vec<Signal>>>()?
    };
    std::thread::spawn(move || {
        runtime.block_on(std::future::poll_fn(|context| {
            let ended = ends.iter_mut().any(|end| end.poll_recv(context).is_ready());
            if ended { Poll::Ready(()) } else { Poll::Pending }
        }));
        tell.send(Ok(INTERRUPTED))
    });
    Ok(())
}

fn failed(error: &io::Error) -> Failure {
    let hint = "it needs a folder for temporary files with some room";
    Failure::new(UNREACHABLE, format!("the practice bench cannot go on: {error}"), hint)
}

/// The scratch bench: its folder, which goes with it, its service, its gauge.
struct Room {
    folder: tempfile::TempDir,
    service: Mutex<Child>,
}

impl Room {
    fn open() -> io::Result<Self> {
        let folder = tempfile::Builder::new().prefix("tenths-practice-").tempdir()?;
        let at = folder.path().canonicalize()?;
        for (name, text) in
            [("bench.toml", BENCH), ("plans/ring.toml", PLAN), ("profiles/asked.toml", PROFILE)]
        {
            let path = at.join(name);
            fs::create_dir_all(path.parent().unwrap_or(&at))?;
            fs::write(path, text)?;
        }
        let gauge = PretendGauge::plugged(at.join("pretend"))?;
        let mut serve = Command::new(std::env::current_exe()?);
        serve.arg("--config").arg(at.join("bench.toml")).args(serve::of_this_process());
        let log = File::create(at.join("service.log"))?;
        let service = serve.stdin(Stdio::null()).stdout(log.try_clone()?).stderr(log).spawn()?;
        let socket = at.join("state").join(config::SOCKET);
        let room = Self { folder, service: Mutex::new(service) };
        room.until_up(&socket)?;
        let line = gauge.far_end()?;
        std::thread::spawn(move || {
            // The gauge stays plugged in as long as somebody practises.
            let (_plugged, mut hand) = (gauge, Hand { socket, slipped: false, half_turns: 0 });
            // It ends with the program, or when the service is gone.
            let _gone = hand.answer(line);
        });
        Ok(room)
    }

    fn until_up(&self, socket: &Path) -> io::Result<()> {
        let start = Instant::now();
        // A gauge that is not heard yet cannot be asked.
        let live = |status: &Status| status.gauges.iter().all(|one| one.state == GaugeState::Live);
        while !socket::status(socket).is_ok_and(|status| live(&status)) {
            if start.elapsed() > PATIENCE {
                let log = fs::read_to_string(self.folder.path().join("service.log"));
                return Err(io::Error::other(log.unwrap_or_default()));
            }
            std::thread::sleep(Duration::from_millis(20));
        }
        Ok(())
    }

    fn practise(&self, mute: bool) -> Result<u8, Failure> {
        screen::told(
            "A pretend ring lies on a pretend plate, power off, both hands free. Nothing of this is kept.\n\
             On the screen that comes now:\n\
             \x20 space  touch the position that is asked for\n\
             \x20 v      take the last touch back (one of them will slip)\n\
             \x20 q      leave the screen, to see what comes next\n",
        )?;
        if !goes_on("Enter begins.")? {
            return Ok(0);
        }
        self.says(&["job", "open", JOB, "--plan", "ring", "--no-questions"])?;
        self.says(&["measure", CHECK])?;
        let Some(word) = self.measured(mute)? else { return Ok(0) };
        screen::sentence("The verdict stands in the record, whatever it was.")?;
        let again = match word {
            Word::Conforms => None,
            Word::DoesNotConform | Word::Undecided => {
                screen::sentence(
                    "A face that is out and leans is ground, with the high side known, and measured again.",
                )?;
                Some(("ground", "Enter: it was ground, measure again. n: leave it at that."))
            }
            Word::Incomplete => Some(("again", "Enter: measure it again. n: leave it at that.")),
        };
        if let Some((why, question)) = again {
            if !goes_on(question)? {
                return Ok(0);
            }
            self.says(&["remeasure", why, CHECK])?;
            if self.measured(mute)?.is_none() {
                return Ok(0);
            }
        }
        self.says(&["verdicts", JOB, "--all"])?;
        screen::sentence(
            "That is all of it: the same commands and the same screen as with a real gauge. `tenths init` sets one up.",
        )?;
        Ok(0)
    }

    /// The bench screen, until the round has its verdict; `None` where the person does not go on.
    fn measured(&self, mute: bool) -> Result<Option<Word>, Failure> {
        loop {
            self.watch(mute)?;
            if let Some(word) = self.word() {
                return Ok(Some(word));
            }
            screen::sentence("The round is not done, so there is no verdict on it.")?;
            if !goes_on("Enter: back to the screen. n: leave it at that.")? {
                return Ok(None);
            }
        }
    }

    /// The verdict on the newest attempt; `None` while its round is under way.
    fn word(&self) -> Option<Word> {
        let view = viewed(&self.folder.path().join("state").join(config::SOCKET))?;
        view.check?.verdict.map(|given| given.verdict)
    }

    /// The bench screen, until the person leaves it. As a program of its own: one that has ended reads no more keys.
    fn watch(&self, mute: bool) -> Result<(), Failure> {
        let mut command = self.tenths().map_err(|error| failed(&error))?;
        command.arg("watch").args(mute.then_some("--mute"));
        command.status().map(drop).map_err(|error| failed(&error))
    }

    /// This program, on the scratch bench.
    fn tenths(&self) -> io::Result<Command> {
        let mut command = Command::new(std::env::current_exe()?);
        command.arg("--config").arg(self.folder.path().join("bench.toml"));
        Ok(command)
    }

    /// Types a command, and shows its answer.
    fn says(&self, arguments: &[&str]) -> Result<(), Failure> {
        screen::line(&format!("  $ tenths {}", arguments.join(" ")))?;
        let mut command = self.tenths().map_err(|error| failed(&error))?;
        command.args(arguments);
        command.status().map(drop).map_err(|error| failed(&error))
    }

    /// Ends the service, and takes the folder away.
    fn close(&self) {
        let mut service = self.service.lock().unwrap_or_else(PoisonError::into_inner);
        let id = i32::try_from(service.id()).ok().and_then(rustix::process::Pid::from_raw);
        if let Some(id) = id {
            // It may have ended by itself.
            let _ended = rustix::process::kill_process(id, rustix::process::Signal::TERM);
        }
        let _ended = service.wait();
        let _gone = fs::remove_dir_all(self.folder.path());
    }
}

/// Whether the person goes on: Enter, or the word for it.
fn goes_on(question: &str) -> Result<bool, Failure> {
    ask(question, None, |said| match said.to_lowercase().as_str() {
        "" | "y" | "yes" => Ok(true),
        "n" | "no" | "q" => Ok(false),
        _ => Err("press Enter to go on, or answer n".to_owned()),
    })
}

/// What the screen shows now.
fn viewed(socket: &Path) -> Option<View> {
    let mut lines = Lines::connect(socket).ok()?;
    lines.send(&Incoming::View { station: None, wait_ms: None }.to_line()).ok()?;
    serde_json::from_str(&lines.next().ok()?).ok()
}

/// The hand that touches the pretend ring: whatever the service asks for next is touched, as a ring that leans
/// would read there.
struct Hand {
    socket: PathBuf,
    slipped: bool,
    half_turns: u32,
}

impl Hand {
    /// Answers each question on the line.
    fn answer(&mut self, mut line: File) -> io::Result<()> {
        let mut byte = [0];
        loop {
            line.read_exact(&mut byte)?;
            if byte != [b'\r'] {
                continue;
            }
            // Where the service does not say what is touched, nothing is.
            let Some(steps) = self.touched() else { continue };
            let sign = if steps < 0 { '-' } else { '+' };
            let frame = format!("{sign}0.{:05}\r", steps.unsigned_abs());
            rustix::io::write(&line, frame.as_bytes())?;
        }
    }

    /// What the gauge reads at the next touch, in its steps.
    fn touched(&mut self) -> Option<i32> {
        let check = viewed(&self.socket)?.check?;
        let (high, by) = if check.attempt == 1 { LEANS } else { GROUND };
        let at = |angle_deg: f64| {
            let wave = by * (angle_deg - high).to_radians().cos();
            #[expect(clippy::cast_possible_truncation, reason = "a few steps")]
            let steps = wave.round() as i32;
            steps
        };
        if check.next == Next::HalfTurn {
            // The high spot first, then the low one; a wedge stays with the metal.
            self.half_turns += 1;
            return Some(at(if self.half_turns % 2 == 1 { high } else { high + 180.0 }));
        }
        let position = check.next_position.unwrap_or(0);
        if position == SLIPS_AT && !self.slipped {
            self.slipped = true;
            return Some(131);
        }
        Some(at(360.0 * f64::from(position) / f64::from(check.per_circle.max(1))))
    }
}
