//! `tail`: shows the feed as it comes.

mod heard;
mod since;

use std::io;
use std::os::unix::net::UnixStream;
use std::path::PathBuf;

use clap::Args;
use jiff::tz::TimeZone;
use rustix::event::{PollFd, PollFlags, poll};
use rustix::time::Timespec;

use ::bench::row::Level;
use ::report::clock_time;
use quantity::Wall;
use wire::{
    AlertLine, Anew, Begins, FeedLine, Happening, Incoming, Said, StorageState, parse_said,
    printable,
};

use super::failure::{Failure, Told, UNREACHABLE};
use super::global::Global;
use super::screen::{Ink, Screen};
use super::socket::{Lines, Trouble, told};
use super::sought::Loudness;
use super::{bench, screen, verdict_words};
use heard::{Ear, SoundWhen};
pub(crate) use since::Since;

#[derive(Debug, Args)]
#[command(after_help = "Examples:
  tenths tail
  tenths tail --level interrupt --sound
  tenths tail --since 0 --json   # everything from the beginning, for a script")]
pub(crate) struct TailArgs {
    /// Begin after this number of the feed, or at a time (1h: an hour ago), instead of now
    #[arg(long, value_name = "SEQ|TIME", value_parser = since::parse)]
    pub(crate) since: Option<Since>,
    /// The feed this number belongs to, as `feed` in a line says; a restored record has another
    #[arg(long, value_name = "ID", requires = "since")]
    pub(crate) feed: Option<String>,
    /// Only alerts of this level or louder, and no verdicts
    #[arg(long, value_name = "LEVEL")]
    pub(crate) level: Option<Loudness>,
    /// Only this job
    #[arg(long, value_name = "JOB")]
    pub(crate) job: Option<String>,
    /// Sound the tones of [sound] for what is shown; `always`: although it is no terminal
    #[arg(long, value_name = "WHEN", num_args = 0..=1, require_equals = true)]
    #[arg(default_missing_value = "terminal")]
    pub(crate) sound: Option<SoundWhen>,
}

/// The pause between two tries to connect again.
const PAUSE: Timespec = Timespec { tv_sec: 0, tv_nsec: 200_000_000 };

pub(crate) fn run(global: &Global, args: TailArgs) -> Result<u8, Failure> {
    let path = bench::socket(global)?;
    let ear = Ear::new(global, args.sound);
    let since = args.since.map(|since| since.number(global)).transpose()?;
    let mut tail = Tail {
        ear,
        path,
        told: since,
        feed: args.feed,
        whole: since.is_some(),
        show: Show {
            json: global.json,
            level: args.level,
            job: args.job,
            names_jobs: true,
            zone: TimeZone::system(),
            screen: Screen::of_stdout(),
        },
    };
    let mut lines = tail.begin()?;
    while tail.follow(&mut lines)? == End::ServiceGone {
        screen::say("tenths: the service went away; waiting until it is back\n");
        let Some(again) = tail.come_back()? else { return Ok(0) };
        screen::say("tenths: the service is back\n");
        lines = again;
    }
    Ok(0)
}

/// The feed, and how far it was shown.
struct Tail {
    path: PathBuf,
    /// The newest number that was shown, or the one after which lines are new.
    told: Option<u64>,
    /// The feed of that number, where it is known.
    feed: Option<String>,
    /// Whether a feed that starts again is shown from its first line; otherwise only its new lines are.
    whole: bool,
    show: Show,
    ear: Option<Ear>,
}

/// How following a connection ended.
#[derive(Debug, PartialEq, Eq)]
enum End {
    /// Nobody reads the output any more.
    OutputGone,
    /// The connection ended.
    ServiceGone,
}

impl Tail {
    /// Connects, asks for the lines that were not shown yet, and reads where they begin.
    fn begin(&mut self) -> Result<Lines, Failure> {
        match self.connect() {
            Ok(Begun::Lines(lines)) => Ok(lines),
            Ok(Begun::Refused(said)) => Err(Failure::Told(said)),
            Ok(Begun::Elsewhere) => Err(told(&self.path, never_begins())),
            Err(trouble) => Err(told(&self.path, trouble)),
        }
    }

    fn connect(&mut self) -> Result<Begun, Trouble> {
        match self.connect_once()? {
            // Asks again, for the lines after another number.
            Begun::Elsewhere => self.connect_once(),
            begun @ (Begun::Lines(_) | Begun::Refused(_)) => Ok(begun),
        }
    }

    /// Reads where the lines begin; `false` where they must be asked for from another number on.
    fn begins(&mut self, begins: &Begins) -> bool {
        self.feed = Some(begins.feed.clone()).filter(|feed| !feed.is_empty());
        let Some(anew) = begins.anew else {
            self.told.get_or_insert(begins.from);
            return true;
        };
        screen::say(&format!("tenths: {}\n", anew_words(anew, begins, self.told)));
        // Lines up to `began` came with the copy: they are not new.
        let news = anew == Anew::AnotherFeed && !self.whole;
        self.told = Some(if news { begins.began.min(begins.newest) } else { begins.from });
        self.told == Some(begins.from)
    }

    fn connect_once(&mut self) -> Result<Begun, Trouble> {
        let mut lines = Lines::connect(&self.path)?;
        let asked = Incoming::Tail { since: self.told, feed: self.feed.clone() };
        lines.send(&asked.to_line())?;
        loop {
            match parse_said(&lines.next()?).map_err(Trouble::Strange)? {
                Some(Said::Begins(begins)) => {
                    return Ok(if self.begins(&begins) {
                        Begun::Lines(lines)
                    } else {
                        Begun::Elsewhere
                    });
                }
                Some(Said::Refused(reply)) => {
                    return Ok(Begun::Refused(reply.into()));
                }
                Some(Said::Storage(news)) => tell_storage(news.state, &news.text),
                // A line of the feed may only come after the answer.
                Some(Said::Feed(_)) => {
                    return Err(Trouble::Strange("the feed began without an answer".to_owned()));
                }
                None => {}
            }
        }
    }

    /// Tries until it succeeds; `None` when nobody reads the output any more.
    fn come_back(&mut self) -> Result<Option<Lines>, Failure> {
        loop {
            if waited(None, Some(&PAUSE))? == Waited::OutputGone {
                return Ok(None);
            }
            match self.connect() {
                Ok(Begun::Lines(lines)) => return Ok(Some(lines)),
                Ok(Begun::Refused(said)) => return Err(Failure::Told(said)),
                Ok(Begun::Elsewhere) => return Err(told(&self.path, never_begins())),
                Err(Trouble::Broken(_) | Trouble::Silent | Trouble::Full(_)) => {}
                Err(trouble @ Trouble::Strange(_)) => return Err(told(&self.path, trouble)),
            }
        }
    }

    fn follow(&mut self, lines: &mut Lines) -> Result<End, Failure> {
        loop {
            while let Some(line) = self.checked(lines.held_line())? {
                self.take(&line)?;
            }
            if let Some(ear) = &mut self.ear {
                ear.sound();
            }
            let patience = self.ear.as_ref().and_then(Ear::patience);
            match waited(Some(lines.stream()), patience.as_ref())? {
                Waited::Go => {}
                Waited::TimeOver => continue,
                Waited::OutputGone => return Ok(End::OutputGone),
            }
            match lines.fill() {
                Ok(()) | Err(Trouble::Silent) => {}
                Err(Trouble::Broken(_) | Trouble::Full(_)) => return Ok(End::ServiceGone),
                Err(trouble @ Trouble::Strange(_)) => return Err(told(&self.path, trouble)),
            }
        }
    }

    fn checked<T>(&self, outcome: Result<T, Trouble>) -> Result<T, Failure> {
        outcome.map_err(|trouble| told(&self.path, trouble))
    }

    fn take(&mut self, line: &str) -> Result<(), Failure> {
        let read = parse_said(line).map_err(|text| Failure::plain(UNREACHABLE, text))?;
        match read {
            Some(Said::Feed(feed)) if self.told.is_none_or(|told| feed.seq > told) => {
                self.told = Some(feed.seq);
                if let Some(text) = self.show.line(&feed, line) {
                    screen::line(&text)?;
                }
                if let Some(ear) = self.ear.as_mut().filter(|_| self.show.wanted(&feed)) {
                    ear.line(*feed);
                }
            }
            Some(Said::Storage(news)) => tell_storage(news.state, &news.text),
            Some(Said::Refused(reply)) => {
                return Err(Failure::Told(reply.into()));
            }
            Some(Said::Feed(_) | Said::Begins(_)) | None => {}
        }
        Ok(())
    }
}

/// The result of asking for the feed.
enum Begun {
    Lines(Lines),
    /// The feed is another one, and must be asked for from another number on.
    Elsewhere,
    Refused(Told),
}

fn never_begins() -> Trouble {
    Trouble::Strange("the feed never begins where it was asked for".to_owned())
}

/// Why the feed starts anew, for the person or whoever reads the script's log.
fn anew_words(anew: Anew, begins: &Begins, told: Option<u64>) -> String {
    let Begins { feed, newest, .. } = begins;
    let feed = printable(feed);
    match anew {
        Anew::AnotherFeed => format!(
            "the record was restored from a copy, and its feed is another one now ({feed}); \
             it starts anew, and numbers come again"
        ),
        Anew::PastTheEnd => {
            let asked = told.unwrap_or_default();
            format!(
                "the feed ({feed}) ends at number {newest}, before the {asked} that was asked for; \
                 it starts anew"
            )
        }
    }
}

fn tell_storage(state: StorageState, text: &str) {
    let what = match state {
        StorageState::Fine => "the record is being written again",
        StorageState::Low => "space for the record is running out",
        StorageState::Failing => "the record CANNOT BE WRITTEN; nothing is taken",
    };
    let more = if text.is_empty() { String::new() } else { format!(": {}", printable(text)) };
    screen::say(&format!("tenths: {what}{more}\n"));
}

/// What waiting came to.
#[derive(Debug, PartialEq, Eq)]
enum Waited {
    /// Something arrived.
    Go,
    /// Nothing arrived in time.
    TimeOver,
    /// Nobody reads the output any more.
    OutputGone,
}

/// Waits for bytes from the service, watching whether anybody still reads the output.
fn waited(stream: Option<&UnixStream>, at_most: Option<&Timespec>) -> Result<Waited, Failure> {
    let out = io::stdout();
    let mut watched = vec![PollFd::new(&out, PollFlags::empty())];
    watched.extend(stream.map(|stream| PollFd::new(stream, PollFlags::IN)));
    loop {
        match poll(&mut watched, at_most) {
            Err(rustix::io::Errno::INTR) => {}
            Err(error) => {
                return Err(Failure::plain(UNREACHABLE, format!("cannot wait: {error}")));
            }
            Ok(0) => return Ok(Waited::TimeOver),
            Ok(_) => break,
        }
    }
    let gone = PollFlags::ERR | PollFlags::HUP | PollFlags::NVAL;
    Ok(if watched[0].revents().intersects(gone) { Waited::OutputGone } else { Waited::Go })
}

/// Which lines are shown, and how.
struct Show {
    json: bool,
    level: Option<Loudness>,
    job: Option<String>,
    /// Whether each sentence begins with the job it is about.
    names_jobs: bool,
    zone: TimeZone,
    screen: Screen,
}

impl Show {
    /// What is printed of a line, if anything.
    fn line(&self, feed: &FeedLine, line: &str) -> Option<String> {
        if !self.wanted(feed) {
            return None;
        }
        if self.json {
            return Some(line.to_owned());
        }
        let at = Wall::parse(&feed.at)
            .map_or_else(|_| printable(&feed.at), |at| clock_time(at, &self.zone));
        let told = format!("{at}  {}", self.sentence(feed)?);
        // What goes on below stands under the sentence, so that the times keep their column.
        Some(self.screen.wrapped(&told, at.len() + 2))
    }

    fn wanted(&self, feed: &FeedLine) -> bool {
        if feed.text.is_some() {
            // Nobody knows of which job or how loud it was.
            return true;
        }
        let alert = feed.alert.as_ref();
        let verdict = feed.verdict.as_ref();
        let loud = |least: Loudness| alert.is_some_and(|alert| alert.level >= least.level());
        let job = alert.and_then(|alert| alert.job.as_deref()).or(verdict.map(|v| v.job.as_str()));
        self.level.is_none_or(loud) && self.job.as_deref().is_none_or(|only| job == Some(only))
    }

    fn sentence(&self, feed: &FeedLine) -> Option<String> {
        if let Some((verdict, told)) = feed.verdict.as_ref().zip(feed.told.as_ref()) {
            let words = verdict_words::sentence(verdict, told, self.screen);
            return Some(format!("verdict    {}{words}", self.job_in_front(Some(&verdict.job))));
        }
        if let Some(text) = &feed.text {
            let number = feed.seq;
            return Some(format!("damaged    line {number} of the feed: {}", printable(text)));
        }
        let alert = feed.alert.as_ref()?;
        let how = match feed.event {
            // The next touch or verdict of the check has told it better.
            Happening::Cleared if alert.part.is_some() => return None,
            Happening::Cleared => "no longer: ",
            Happening::Seen => "seen: ",
            Happening::Raised | Happening::Verdict | Happening::Damaged => "",
        };
        let job = self.job_in_front(alert.job.as_deref());
        Some(format!("{}  {how}{job}{}", self.level(alert), printable(&alert.text)))
    }

    fn level(&self, alert: &AlertLine) -> String {
        let level = format!("{:<9}", alert.level.text());
        match alert.level {
            Level::Interrupt => self.screen.ink(&level, Ink::Red),
            Level::Note => self.screen.ink(&level, Ink::Yellow),
            Level::Log => level,
        }
    }

    /// `J-1042: `, where there is a job to name.
    fn job_in_front(&self, job: Option<&str>) -> String {
        let named = job.filter(|_| self.names_jobs);
        named.map_or_else(String::new, |job| format!("{}: ", printable(job)))
    }
}

/// The sentence of a line of the feed, without its time, its job and colour; `None` for a line that
/// tells nothing.
pub(crate) fn sentence(line: &serde_json::Value) -> Option<String> {
    let feed: FeedLine = serde::Deserialize::deserialize(line).ok()?;
    let show = Show {
        json: false,
        level: None,
        job: None,
        names_jobs: false,
        zone: TimeZone::UTC,
        screen: Screen { colour: false, width: None },
    };
    show.sentence(&feed)
}

#[cfg(test)]
mod tests;
