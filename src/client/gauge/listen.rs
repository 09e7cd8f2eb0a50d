//! `gauge listen`: listens to a gauge and suggests its lines for bench.toml. Nothing is ever sent: the port
//! is opened for reading only.

use std::fs::{File, OpenOptions};
use std::io::{self, ErrorKind, Read};
use std::os::unix::fs::OpenOptionsExt;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::{Duration, Instant};

use clap::Args;
use rustix::event::{PollFd, PollFlags, Timespec, poll};
use rustix::fs::{FlockOperation, OFlags, flock};
use rustix::termios::{ControlModes, InputModes, OptionalActions, Termios, tcgetattr, tcsetattr};

use super::proposal::{Of, Proposal};
use super::score::{Bits, Bytes, Fit, Heard, heard, high_per_cent};
use crate::failure::{Failure, NO, REFUSED};
use crate::global::Global;
use crate::{bench, screen};
use ::gauge::Profile;
use config::{Surroundings, all_profiles};
use intake::{denied, holder_of};
use wire::{HeardLine, heard_line, printable};

#[derive(Debug, Args)]
#[command(after_help = "Examples:
  tenths gauge listen /dev/serial/by-id/usb-Cable_0001-if00-port0
  tenths gauge listen /dev/ttyUSB0 --seconds 10")]
pub(crate) struct ListenArgs {
    /// The port, such as /dev/serial/by-id/…
    pub(crate) port: PathBuf,
    /// How many seconds to listen with each line setting; press the gauge's button meanwhile
    #[arg(long, value_name = "N", default_value_t = 4, value_parser = clap::value_parser!(u32).range(1..=600))]
    pub(crate) seconds: u32,
}

/// The speeds in the order of trying: the usual one, then lower ones, then higher ones.
const SPEEDS: [u32; 9] = [9600, 4800, 2400, 1200, 19200, 38400, 57600, 115_200, 300];

/// This many complete frames at a speed leave no doubt.
const ENOUGH: u64 = 3;

/// The time between two looks at what has arrived.
const LOOK: Duration = Duration::from_millis(200);

/// What arrived at one speed.
struct Session {
    baud: u32,
    seconds: f64,
    bytes: Bytes,
    heard: Heard,
}

pub(super) fn run(global: &Global, args: &ListenArgs) -> Result<u8, Failure> {
    let config = bench::config_path(global).ok();
    let (heard, _) = hear_out(args, config.as_deref())?;
    tell(global, &heard)
}

/// Listens to a port with every line setting until one leaves no doubt: what was heard, and the lines that
/// follow from it.
pub(crate) fn hear_out(
    args: &ListenArgs,
    config: Option<&Path>,
) -> Result<(HeardLine, Option<Proposal>), Failure> {
    let profiles = all_profiles(config);
    let port = open(&args.port).map_err(|error| refused(&args.port, &error))?;
    let before = tcgetattr(&port).map_err(|_| {
        let text = format!("{} is no serial port", args.port.display());
        Failure::new(REFUSED, text, "see them with: tenths gauge list")
    })?;
    screen::say("Listening; nothing is sent. Press the gauge's data button again and again.\n");
    let sessions = sessions(&port, &before, args, &profiles);
    // Whatever happened while listening, the port gets back its earlier settings.
    let restored = tcsetattr(&port, OptionalActions::Now, &before);
    let sessions = sessions.map_err(|error| refused(&args.port, &error))?;
    if let Err(error) = restored {
        screen::say(&format!("the port could not be set back: {error}\n"));
    }
    Ok(conclusion(&args.port, &sessions))
}

fn tell(global: &Global, heard: &HeardLine) -> Result<u8, Failure> {
    if global.json {
        screen::line(&heard_line(heard))?;
    } else if let Some(lines) = &heard.lines {
        screen::text(lines)?;
    } else {
        screen::line(&printable(heard.why.as_deref().unwrap_or_default()))?;
    }
    Ok(if heard.lines.is_some() { 0 } else { NO })
}

/// Opens a port for reading only, for this program alone.
fn open(path: &Path) -> io::Result<File> {
    let flags = OFlags::NONBLOCK | OFlags::NOCTTY;
    let flags = i32::try_from(flags.bits()).map_err(io::Error::other)?;
    let file = OpenOptions::new().read(true).custom_flags(flags).open(path)?;
    // The service takes the same lock.
    flock(&file, FlockOperation::NonBlockingLockExclusive)
        .map_err(|_| io::Error::from(ErrorKind::ResourceBusy))?;
    Ok(file)
}

fn refused(path: &Path, error: &io::Error) -> Failure {
    let (shown, kind) = (path.display(), error.kind());
    if kind == ErrorKind::NotFound {
        let hint = "see the ports with: tenths gauge list";
        Failure::new(REFUSED, format!("{shown} is not there"), hint)
    } else if kind == ErrorKind::PermissionDenied {
        Failure::plain(REFUSED, denied(path))
    } else if kind == ErrorKind::ResourceBusy {
        let holder = holder_of(path).unwrap_or_else(|| "another program".to_owned());
        let hint = "end that program while you listen";
        Failure::new(REFUSED, format!("{shown} is in use by {holder}"), hint)
    } else {
        Failure::plain(REFUSED, format!("cannot listen to {shown}: {error}"))
    }
}

/// Listens at one speed after the other until one leaves no doubt.
fn sessions(
    port: &File,
    before: &Termios,
    args: &ListenArgs,
    profiles: &[Arc<Profile>],
) -> io::Result<Vec<Session>> {
    let mut sessions = Vec::new();
    for baud in SPEEDS {
        // A port that cannot do a speed is skipped for it.
        if set(port, before, baud).is_err() {
            continue;
        }
        screen::say(&format!("{baud} …\n"));
        let session = session(port, baud, Duration::from_secs(u64::from(args.seconds)), profiles)?;
        let done = is_clear(&session);
        sessions.push(session);
        if done {
            break;
        }
    }
    Ok(sessions)
}

/// Sets the speed, and 8 bits without parity: read like that, 7 bits with parity can be recognised.
fn set(port: &File, before: &Termios, baud: u32) -> io::Result<()> {
    let mut mode = before.clone();
    mode.make_raw();
    mode.set_speed(baud)?;
    mode.control_modes |= ControlModes::CLOCAL | ControlModes::CREAD | ControlModes::CS8;
    mode.control_modes -= ControlModes::PARENB | ControlModes::CSTOPB | ControlModes::CRTSCTS;
    mode.input_modes -= InputModes::INPCK | InputModes::IXON | InputModes::IXOFF;
    tcsetattr(port, OptionalActions::Now, &mode)?;
    Ok(())
}

fn session(
    port: &File,
    baud: u32,
    time: Duration,
    profiles: &[Arc<Profile>],
) -> io::Result<Session> {
    let start = Instant::now();
    let mut bytes = Bytes::new();
    loop {
        let passed = start.elapsed();
        let heard = heard(&bytes, micros(passed), profiles);
        let seconds = passed.as_secs_f64();
        let session = Session { baud, seconds, bytes, heard };
        if passed >= time || is_clear(&session) {
            return Ok(session);
        }
        bytes = session.bytes;
        listen_on(port, start, LOOK.min(time.saturating_sub(passed)), &mut bytes)?;
    }
}

/// Collects the bytes that arrive in a given time.
fn listen_on(port: &File, start: Instant, time: Duration, bytes: &mut Bytes) -> io::Result<()> {
    let until = Instant::now() + time;
    let mut part = [0; 512];
    loop {
        let left = until.saturating_duration_since(Instant::now());
        if left.is_zero() {
            return Ok(());
        }
        let left = Timespec::try_from(left).map_err(io::Error::other)?;
        let mut waiting = [PollFd::new(port, PollFlags::IN)];
        match poll(&mut waiting, Some(&left)) {
            Ok(0) => return Ok(()),
            Ok(_) => {}
            Err(rustix::io::Errno::INTR) => continue,
            Err(error) => return Err(error.into()),
        }
        let mut reader = port;
        match reader.read(&mut part) {
            Ok(0) => return Err(io::Error::other("the line ended")),
            Ok(count) => bytes.push((micros(start.elapsed()), part[..count].to_vec())),
            Err(error) if error.kind() == ErrorKind::WouldBlock => {}
            Err(error) => return Err(error),
        }
    }
}

fn micros(time: Duration) -> u64 {
    u64::try_from(time.as_micros()).unwrap_or(u64::MAX)
}

/// Whether a session leaves no doubt about the speed.
fn is_clear(session: &Session) -> bool {
    session.heard.whole.first().is_some_and(|fit| fit.readings >= ENOUGH)
}

/// The result of all listening.
fn conclusion(path: &Path, sessions: &[Session]) -> (HeardLine, Option<Proposal>) {
    let bytes: usize = sessions.iter().flat_map(|s| s.bytes.iter()).map(|(_, b)| b.len()).sum();
    let mut line = HeardLine {
        port: path.display().to_string(),
        bytes: u64::try_from(bytes).unwrap_or(u64::MAX),
        baud: None,
        data_bits: None,
        parity: None,
        stop_bits: None,
        profile: None,
        alike: Vec::new(),
        frames: 0,
        lines: None,
        why: None,
    };
    let readings = |session: &&Session| session.heard.whole.first().map_or(0, |fit| fit.readings);
    // Of equally good speeds the one tried first is taken: the usual ones come first.
    let best = sessions.iter().rev().max_by_key(readings).filter(|session| readings(session) > 0);
    let Some(best) = best else {
        line.why = Some(why_not(sessions, bytes));
        return (line, None);
    };
    let Bits { data, parity, stop } = best.heard.bits;
    (line.baud, line.data_bits, line.stop_bits) = (Some(best.baud), Some(data), Some(stop));
    line.parity = Some(parity.to_owned());
    line.frames = readings(&best);
    line.alike = best.heard.whole.iter().map(|fit| fit.profile.name.clone()).collect();
    let mut proposal = None;
    match best.heard.whole.as_slice() {
        [fit] => {
            let heard = proposal.insert(proposed(path, best, fit));
            line.profile = Some(fit.profile.name.clone());
            line.lines = Some(heard.text());
        }
        _ => {
            line.why = Some(format!(
                "Several profiles read what came equally well: {}. Look in the gauge's manual which is right, or \
                 take out the one that is a copy.",
                line.alike.join(", ")
            ));
        }
    }
    (line, proposal)
}

/// The lines for bench.toml of every gauge that was heard at the port.
fn proposed(path: &Path, session: &Session, fit: &Fit) -> Proposal {
    let around = Surroundings::of_process();
    let port = around.stable_name(path).unwrap_or_else(|| path.to_owned());
    let of = Of { port, baud: session.baud, bits: session.heard.bits, hz: rate(session, fit) };
    Proposal::new(&of, fit)
}

fn why_not(sessions: &[Session], bytes: usize) -> String {
    if bytes == 0 {
        return "Not recognised: nothing came at any speed. Is the gauge switched on? Does it send when its \
                button is pressed? Is the cable the right way round? A gauge that has to be asked stays \
                silent here, since nothing is ever sent."
            .to_owned();
    }
    let partly = sessions.iter().filter_map(|s| Some((s.baud, s.heard.partly.as_ref()?)));
    if let Some((baud, fit)) = partly.max_by_key(|(_, fit)| fit.readings) {
        return format!(
            "Not recognised: at {baud} \"{}\" reads {} frames, but not {} others. Copy that profile and \
             change its pattern, or listen again without touching the cable.",
            fit.profile.name, fit.readings, fit.damaged
        );
    }
    let most = sessions.iter().max_by_key(|session| session.bytes.len());
    let high = most.map_or(0, |session| high_per_cent(&session.bytes));
    let shown: Vec<u8> = most
        .iter()
        .flat_map(|session| session.bytes.iter().flat_map(|(_, bytes)| bytes.iter().copied()))
        .take(40)
        .collect();
    let shown: String =
        shown.iter().flat_map(|byte| std::ascii::escape_default(*byte)).map(char::from).collect();
    let bits = if high > 20 {
        " Many bytes have their high bit set: 7 data bits with parity, or none of these speeds."
    } else {
        ""
    };
    format!(
        "Not recognised: {bytes} bytes came, and no profile reads them at any speed.{bits} They begin with \
         \"{shown}\". If that is not text, the speed is another one; if it is, write a profile for it."
    )
}

/// Frames per second while they arrived.
fn rate(session: &Session, fit: &Fit) -> f64 {
    let first = session.bytes.first().map_or(0, |(at_us, _)| *at_us);
    let last = session.bytes.last().map_or(0, |(at_us, _)| *at_us);
    let came = Duration::from_micros(last - first).as_secs_f64();
    let gaps = fit.readings.saturating_sub(1);
    let gaps = f64::from(u32::try_from(gaps).unwrap_or(u32::MAX));
    if came > 0.0 && session.seconds > 0.0 { gaps / came } else { 0.0 }
}
