//! `tail --sound`: sounds for the lines that are shown.

use std::io::{self, IsTerminal};
use std::sync::mpsc::{Receiver, Sender, channel};
use std::thread;
use std::time::{Duration, Instant};

use clap::ValueEnum;
use rustix::time::Timespec;

use super::super::global::Global;
use super::super::sound::{FeedHearing, Player, Tone, bell_times, wav};
use super::super::{bench, screen};
use config::Voice;
use quantity::Wall;
use wire::{FeedLine, Happening};

/// When `tail` sounds.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(crate) enum SoundWhen {
    /// Only when it prints to a terminal.
    Terminal,
    /// Always, whatever it prints to.
    Always,
}

/// Lines older than this, in microseconds, are history and make no sound.
const FRESH_US: i64 = 10_000_000;

/// Lines this close together make one sound: a verdict and the question that follows it.
const TOGETHER: Duration = Duration::from_millis(100);

/// The time between two repeats of a call to stop.
const STOP_EVERY: Duration = Duration::from_millis(2500);

/// Reads the feed and plays the sounds.
pub(super) struct Ear {
    hearing: FeedHearing,
    voice: Voice,
    through: Through,
    stop_again: Instant,
    /// Until when lines are collected for one sound.
    gathers: Option<Instant>,
}

/// The way sounds are played.
enum Through {
    Player(Player),
    /// The terminal's bell, on a thread of its own: a tone is several rings.
    Bell(Sender<Tone>),
}

impl Ear {
    /// Starts sound where it is wanted and possible; where it is not possible, a sentence says why.
    pub(super) fn new(global: &Global, when: Option<SoundWhen>) -> Option<Self> {
        let when = when?;
        if when == SoundWhen::Terminal && !io::stdout().is_terminal() {
            screen::say("tenths: no sound, this is no terminal; --sound=always makes it anyway\n");
            return None;
        }
        let sound = bench::sound(global);
        let voice = sound.usual;
        if voice.mute || voice.volume == 0 {
            screen::say("tenths: no sound, it is muted under [sound] in the configuration\n");
            return None;
        }
        let through = if !sound.player.is_empty() {
            let tell =
                |said: super::super::sound::Said| screen::say(&format!("tenths: {}\n", said.0));
            Through::Player(Player::new(sound.player, tell))
        } else if io::stderr().is_terminal() {
            let (ring, rings) = channel();
            thread::spawn(move || ring_bell(&rings));
            Through::Bell(ring)
        } else {
            screen::say("tenths: no sound: name a player under [sound], or use a terminal\n");
            return None;
        };
        let (hearing, stop_again, gathers) = (FeedHearing::default(), Instant::now(), None);
        Some(Self { hearing, voice, through, stop_again, gathers })
    }

    /// Takes a line that was shown.
    pub(super) fn line(&mut self, feed: FeedLine) {
        let now_us = intake::now().wall.micros();
        let fresh = |at: Wall| now_us.saturating_sub(at.micros()) <= FRESH_US;
        // A line that ends a call is never history.
        if feed.event != Happening::Raised && feed.alert.is_some()
            || Wall::parse(&feed.at).is_ok_and(fresh)
        {
            self.hearing.line(feed);
            self.gathers = Some(Instant::now() + TOGETHER);
        }
    }

    /// Plays the sound of the collected lines, and repeats the call that nobody has seen.
    pub(super) fn sound(&mut self) {
        let now = Instant::now();
        if self.gathers.is_some_and(|until| now < until) {
            return;
        }
        self.gathers = None;
        let again = self.hearing.stops() && now >= self.stop_again;
        let tone = self.hearing.hear(now).or((again && self.hearing.stops()).then_some(Tone::Stop));
        let Some(tone) = tone else { return };
        if tone == Tone::Stop {
            self.stop_again = now + STOP_EVERY;
        }
        match &self.through {
            Through::Player(player) => player.play(wav(tone, self.voice)),
            // The thread ends with the process.
            Through::Bell(ring) => drop(ring.send(tone)),
        }
    }

    /// How long nothing needs to be done if no line comes.
    pub(super) fn patience(&self) -> Option<Timespec> {
        let stop = self.hearing.stops().then_some(self.stop_again);
        let due = self.gathers.into_iter().chain(stop).min()?;
        Timespec::try_from(due.saturating_duration_since(Instant::now())).ok()
    }
}

fn ring_bell(rings: &Receiver<Tone>) {
    for tone in rings {
        let begin = Instant::now();
        for ms in bell_times(tone) {
            let due = begin + Duration::from_millis(*ms);
            thread::sleep(due.saturating_duration_since(Instant::now()));
            // The bell goes to standard error, not to the data: a terminal rings for it all the same.
            screen::say("\u{7}");
        }
    }
}
