//! `gauge listen`: listens to a gauge and suggests its lines for bench.toml. Nothing is ever sent, and a serial line
//! is opened for reading only, unless a person names the profile whose question is to be sent.

mod ear;

use std::io;
use std::path::Path;
use std::sync::Arc;
use std::time::{Duration, Instant};

use clap::Args;
use rustix::event::{PollFd, PollFlags, Timespec, poll};

use self::ear::Ear;
use super::proposal::{Of, Proposal};
use super::score::{Bits, Bytes, Fit, Heard, heard, high_per_cent};
use crate::failure::{Failure, NO, REFUSED};
use crate::global::Global;
use crate::{bench, screen};
use ::gauge::Profile;
use config::{PortName, Surroundings, all_profiles};
use wire::{HeardLine, heard_line, printable};

#[derive(Debug, Args)]
#[command(after_help = "Examples:
  tenths gauge listen /dev/serial/by-id/usb-Cable_0001-if00-port0
  tenths gauge listen keys:/dev/input/by-id/usb-Adapter_0001-event-kbd
  tenths gauge listen tcp:192.0.2.7:4001 --ask my-gauge")]
pub(crate) struct ListenArgs {
    /// The port: /dev/serial/by-id/…, keys:DEVICE for an adapter that types, or tcp:HOST:PORT
    pub(crate) port: String,
    /// How many seconds to listen with each line setting; press the gauge's button meanwhile
    #[arg(long, value_name = "N", default_value_t = 4, value_parser = clap::value_parser!(u32).range(1..=600))]
    pub(crate) seconds: u32,
    #[command(flatten)]
    pub(crate) asking: AskingArgs,
}

/// How a gauge is asked that sends only then.
#[derive(Debug, Clone, Default, Args)]
pub(crate) struct AskingArgs {
    /// Send the question of this profile again and again; without it nothing is ever sent
    #[arg(long, value_name = "PROFILE")]
    pub(crate) ask: Option<String>,
    /// The channel that the question names, where it names one
    #[arg(long, value_name = "CHANNEL", requires = "ask", default_value = "1")]
    pub(crate) ask_channel: String,
}

/// The speeds in the order of trying: the usual one, then lower ones, then higher ones.
const SPEEDS: [u32; 9] = [9600, 4800, 2400, 1200, 19200, 38400, 57600, 115_200, 300];

/// This many complete frames at a speed leave no doubt.
const ENOUGH: u64 = 3;

/// So many bytes at one speed say enough, in whatever time they came.
const MOST_HELD: usize = 65_536;

/// The time between two looks at what has arrived.
const LOOK: Duration = Duration::from_millis(200);

/// The time between two questions.
const ASKED_EVERY: Duration = Duration::from_millis(400);

/// What arrived at one speed; a port that is no serial line has none.
struct Session {
    baud: Option<u32>,
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
    let mut profiles = all_profiles(config);
    let name = PortName::parse(&args.port, Path::new(""));
    let name = name.map_err(|wrong| Failure::new(REFUSED, wrong.text, wrong.hint))?;
    let question = question(&args.asking, &profiles)?;
    // What answers the question of a profile talks as that profile says.
    profiles.retain(|profile| args.asking.ask.as_ref().is_none_or(|ask| profile.name == *ask));
    let mut ear = Ear::open(&name, question.is_some())?;
    screen::say(match (&question, &name) {
        (Some(_), _) => "Listening; the question of the profile is sent.\n",
        (None, PortName::Keys(_)) => {
            "Listening; what the adapter types reaches no window. Press the gauge's data button again and again.\n"
        }
        (None, _) => "Listening; nothing is sent. Press the gauge's data button again and again.\n",
    });
    let mut listening = Listening {
        is_line: matches!(name, PortName::Serial(_)),
        time: Duration::from_secs(u64::from(args.seconds)),
        question,
        profiles: &profiles,
    };
    let sessions = listening.sessions(&mut ear);
    // Whatever happened while listening, the port gets back its earlier settings.
    let restored = ear.restore();
    let sessions = sessions.map_err(|error| match name.device() {
        Some(path) => ear::refused(&name, path, &error),
        None => Failure::plain(REFUSED, format!("cannot listen to {name}: {error}")),
    })?;
    if let Err(error) = restored {
        screen::say(&format!("the port could not be set back: {error}\n"));
    }
    Ok(conclusion(&name, &args.asking, &sessions))
}

/// The bytes to ask with, where a profile is named for that.
fn question(args: &AskingArgs, profiles: &[Arc<Profile>]) -> Result<Option<Vec<u8>>, Failure> {
    let Some(named) = &args.ask else { return Ok(None) };
    let Some(profile) = profiles.iter().find(|profile| profile.name == *named) else {
        let text = format!("there is no profile {named:?}");
        let names: Vec<&str> = profiles.iter().map(|profile| profile.name.as_str()).collect();
        return Err(Failure::new(REFUSED, text, format!("there are {}", names.join(", "))));
    };
    let Some(ask) = &profile.ask else {
        let text = format!("profile {named:?} does not say how a gauge is asked");
        return Err(Failure::new(REFUSED, text, "write [ask] with send = \"…\" in it"));
    };
    Ok(Some(ask.send.replace("{channel}", &args.ask_channel).into_bytes()))
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

/// How a port is listened to.
struct Listening<'p> {
    /// Whether it is a serial line, which has a speed and bits.
    is_line: bool,
    /// How long at each speed.
    time: Duration,
    question: Option<Vec<u8>>,
    profiles: &'p [Arc<Profile>],
}

impl Listening<'_> {
    /// Listens at one speed after the other until one leaves no doubt.
    fn sessions(&mut self, ear: &mut Ear) -> io::Result<Vec<Session>> {
        if !self.is_line {
            return Ok(vec![self.session(ear, None)?]);
        }
        let mut sessions = Vec::new();
        for baud in SPEEDS {
            // A port that cannot do a speed is skipped for it.
            if ear.set_speed(baud).is_err() {
                continue;
            }
            screen::say(&format!("{baud} …\n"));
            let session = self.session(ear, Some(baud))?;
            let done = is_clear(&session);
            sessions.push(session);
            if done {
                break;
            }
        }
        Ok(sessions)
    }

    fn session(&self, ear: &mut Ear, baud: Option<u32>) -> io::Result<Session> {
        let start = Instant::now();
        let (mut bytes, mut asked) = (Bytes::new(), None::<Instant>);
        loop {
            let passed = start.elapsed();
            let heard = heard(&bytes, micros(passed), self.profiles, self.is_line);
            let seconds = passed.as_secs_f64();
            let session = Session { baud, seconds, bytes, heard };
            if passed >= self.time || is_clear(&session) {
                return Ok(session);
            }
            bytes = session.bytes;
            if let Some(question) = &self.question
                && asked.is_none_or(|asked| asked.elapsed() >= ASKED_EVERY)
            {
                ear.ask(question)?;
                asked = Some(Instant::now());
            }
            listen_on(ear, start, LOOK.min(self.time.saturating_sub(passed)), &mut bytes)?;
        }
    }
}

/// Collects the bytes that arrive in a given time.
fn listen_on(ear: &mut Ear, start: Instant, time: Duration, bytes: &mut Bytes) -> io::Result<()> {
    let until = Instant::now() + time;
    loop {
        let left = until.saturating_duration_since(Instant::now());
        if left.is_zero() || held(bytes) >= MOST_HELD {
            return Ok(());
        }
        let left = Timespec::try_from(left).map_err(io::Error::other)?;
        let mut waiting = [PollFd::new(ear, PollFlags::IN)];
        match poll(&mut waiting, Some(&left)) {
            Ok(0) => return Ok(()),
            Ok(_) => {}
            Err(rustix::io::Errno::INTR) => continue,
            Err(error) => return Err(error.into()),
        }
        let part = ear.read()?;
        if !part.is_empty() {
            bytes.push((micros(start.elapsed()), part));
        }
    }
}

fn held(bytes: &Bytes) -> usize {
    bytes.iter().map(|(_, part)| part.len()).sum()
}

fn micros(time: Duration) -> u64 {
    u64::try_from(time.as_micros()).unwrap_or(u64::MAX)
}

/// Whether a session leaves no doubt about the speed.
fn is_clear(session: &Session) -> bool {
    session.heard.whole.first().is_some_and(|fit| fit.readings >= ENOUGH)
}

/// The result of all listening.
fn conclusion(
    name: &PortName,
    asking: &AskingArgs,
    sessions: &[Session],
) -> (HeardLine, Option<Proposal>) {
    let bytes: usize = sessions.iter().flat_map(|s| s.bytes.iter()).map(|(_, b)| b.len()).sum();
    let mut line = HeardLine {
        port: name.to_string(),
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
        line.why = Some(why_not(name, sessions, bytes));
        return (line, None);
    };
    let Bits { data, parity, stop } = best.heard.bits;
    if best.baud.is_some() {
        (line.baud, line.data_bits, line.stop_bits) = (best.baud, Some(data), Some(stop));
        line.parity = Some(parity.to_owned());
    }
    line.frames = readings(&best);
    line.alike = best.heard.whole.iter().map(|fit| fit.profile.name.clone()).collect();
    let mut proposal = None;
    match best.heard.whole.as_slice() {
        [fit] => {
            let heard = proposal.insert(proposed(name, asking, best, fit));
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
fn proposed(name: &PortName, asking: &AskingArgs, session: &Session, fit: &Fit) -> Proposal {
    let around = Surroundings::of_process();
    let stable = name.device().and_then(|device| around.stable_name(device));
    let port = stable.map_or_else(|| name.clone(), |link| name.with_device(link));
    let hz = rate(session, fit);
    let (baud, bits, asked) = (session.baud, session.heard.bits, asking.ask.is_some());
    Proposal::new(&Of { port, baud, bits, hz, asked }, fit)
}

fn why_not(name: &PortName, sessions: &[Session], bytes: usize) -> String {
    if bytes == 0 {
        return nothing_came(name);
    }
    let partly = sessions.iter().filter_map(|s| Some((s.baud, s.heard.partly.as_ref()?)));
    if let Some((baud, fit)) = partly.max_by_key(|(_, fit)| fit.readings) {
        let at = baud.map_or(String::new(), |baud| format!("at {baud} "));
        return format!(
            "Not recognised: {at}\"{}\" reads {} frames, but not {} others. Copy that profile and \
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
    match name {
        PortName::Serial(_) => format!(
            "Not recognised: {bytes} bytes came, and no profile reads them at any speed.{bits} They begin with \
             \"{shown}\". If that is not text, the speed is another one; if it is, write a profile for it."
        ),
        PortName::Keys(_) => format!(
            "Not recognised: {bytes} characters were typed, and no profile reads them. They begin with \
             \"{shown}\". If the gauge shows other digits, the adapter is set to another keyboard: set it to US \
             English (\\x1a is a key without a character there). If these are its digits, write a profile for it."
        ),
        PortName::Net { .. } => format!(
            "Not recognised: {bytes} bytes came, and no profile reads them. They begin with \"{shown}\". If that is \
             not text, look at the speed, parity and mode of the serial server (raw, not telnet); if it is, write \
             a profile for it."
        ),
    }
}

fn nothing_came(name: &PortName) -> String {
    let silent = "A gauge that has to be asked stays silent here, since nothing is sent without --ask PROFILE.";
    match name {
        PortName::Serial(_) => format!(
            "Not recognised: nothing came at any speed. Is the gauge switched on? Does it send when its \
             button is pressed? Is the cable the right way round? {silent}"
        ),
        PortName::Keys(_) => {
            "Not recognised: nothing was typed. Is it this adapter (`tenths gauge list`)? Is the \
             gauge switched on, and does the adapter type when its button is pressed?"
                .to_owned()
        }
        PortName::Net { .. } => format!(
            "Not recognised: the server is there, and nothing came. Is the gauge switched on and plugged in there? \
             Are speed and parity of the server those of the gauge? {silent}"
        ),
    }
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
