//! The state of the screen, and what it does with each piece of news.

use std::collections::VecDeque;
use std::sync::mpsc::Sender;
use std::time::{Duration, Instant};

use ratatui::buffer::Buffer;
use ratatui::crossterm::event::{KeyCode, KeyEvent, KeyModifiers};
use ratatui::layout::Rect;

use ::bench::{AckOf, Command, Seq};
use config::Sound;
use wire::{Next, View, printable};

use super::super::failure::Failure;
use super::super::sound::{Hearing, Player, Tone, bell_times, blip, follow_pitch, is_stop, wav};
use super::brush::Look;
use super::draw::draw;
use super::link;
use super::news::News;
use super::scene::{Over, SKIP_REASONS, Scene};

/// How long blinking text is lit, and dark.
const BLINK: Duration = Duration::from_millis(500);

/// Presses of a held key come at most this far apart: the longest first repeat of keyboards (from memory).
const KEY_REPEATS: Duration = Duration::from_millis(700);

/// How long a message stays.
const SAID_FOR: Duration = Duration::from_secs(6);
/// The time between two repeats of a call to stop.
pub(crate) const STOP_EVERY: Duration = Duration::from_millis(2500);
/// The time between two notes whose pitch follows the value.
const FOLLOW_EVERY: Duration = Duration::from_millis(200);

/// The sounds, and the way they are played.
#[derive(Debug)]
pub(super) struct Heard {
    pub(super) sound: Sound,
    pub(super) player: Option<Player>,
}

/// What a piece of news leads to.
#[derive(Debug)]
pub(super) enum Deed {
    Go,
    End,
    Fail(Failure),
}

/// The screen's state.
#[derive(Debug)]
pub(super) struct Face {
    view: View,
    since: Instant,
    away: Option<Instant>,
    message: Option<(String, Instant)>,
    over: Option<Over>,
    look: Look,
    heard: Heard,
    hearing: Hearing,
    bells: VecDeque<Instant>,
    stop_again: Instant,
    follow_again: Instant,
    changes: Sender<Command>,
    /// When the space bar last sent a press, pressed or held.
    spaced: Option<Instant>,
    /// When the screen was drawn, and whether anything changed since.
    drawn: Option<Instant>,
    changed: bool,
}

impl Face {
    pub(super) fn new(first: View, look: Look, heard: Heard, changes: Sender<Command>) -> Self {
        let now = Instant::now();
        let mut hearing = Hearing::default();
        hearing.hear(&first);
        let cannot = heard.sound.follow && !heard.sound.can_follow();
        let text = "The pitch cannot follow: that needs a player fed on its standard input.";
        let message = cannot.then(|| (text.to_owned(), now + SAID_FOR));
        Self {
            view: first,
            since: now,
            away: None,
            message,
            over: None,
            look,
            heard,
            hearing,
            bells: VecDeque::new(),
            stop_again: now,
            follow_again: now,
            changes,
            spaced: None,
            drawn: None,
            changed: true,
        }
    }

    pub(super) fn draw(&mut self, now: Instant, area: Rect, buf: &mut Buffer) {
        let scene = Scene {
            view: Some(&self.view),
            since_ms: millis(now, self.since),
            away_s: self.away.map(|away| millis(now, away) / 1000),
            message: self.message.as_ref().map(|(text, _)| text.as_str()),
            over: self.over,
            look: self.look,
        };
        draw(&scene, area, buf);
        (self.drawn, self.changed) = (Some(now), false);
    }

    /// Whether the screen is to be drawn.
    pub(super) fn draw_due(&mut self, now: Instant) -> bool {
        if self.message.as_ref().is_some_and(|(_, until)| *until <= now) {
            self.message = None;
            self.changed = true;
        }
        if self.drawn.is_none_or(|drawn| now >= drawn + self.pace()) {
            self.look.blink = self.blinks() && !self.look.blink;
            self.changed = true;
        }
        self.changed
    }

    /// How long a drawn screen can stay while no news comes.
    fn pace(&self) -> Duration {
        if self.blinks() { BLINK } else { Duration::from_secs(1) }
    }

    fn blinks(&self) -> bool {
        self.away.is_none()
            && self.view.check.as_ref().is_some_and(|check| check.next != Next::Nothing)
    }

    /// Whether the bell rings now. A call to stop is repeated until it is seen.
    pub(super) fn bell_due(&mut self, now: Instant) -> bool {
        if now >= self.stop_again && self.view.alerts.iter().any(is_stop) {
            self.play(Tone::Stop, now);
        }
        let due = self.bells.front().is_some_and(|at| *at <= now);
        if due {
            self.bells.pop_front();
        }
        due
    }

    /// When something has to be done even if no news comes.
    pub(super) fn wake_at(&self, now: Instant) -> Instant {
        let stops = self.view.alerts.iter().any(is_stop).then_some(self.stop_again);
        let bell = self.bells.front().copied();
        let message = self.message.as_ref().map(|(_, until)| *until);
        let drawn = self.drawn.map(|drawn| drawn + self.pace());
        [stops, bell, message, drawn].into_iter().flatten().min().unwrap_or(now + BLINK)
    }

    pub(super) fn take(&mut self, now: Instant, news: News) -> Deed {
        match news {
            News::View(view) => self.look_at(*view, now),
            News::Away => {
                self.changed |= self.away.is_none();
                self.away.get_or_insert(now);
            }
            News::Strange(what) => return Deed::Fail(link::strange(&what)),
            News::Said(text) => self.say(&text, now),
            News::Key(key) => return self.key(key, now),
            News::Resized => self.changed = true,
            News::NoKeys => return Deed::End,
        }
        Deed::Go
    }

    fn look_at(&mut self, view: View, now: Instant) {
        if self.away.take().is_some() {
            self.say("The service is back.", now);
        }
        let tone = self.hearing.hear(&view);
        let moved = last_values(&self.view) != last_values(&view);
        self.changed |= !same(&self.view, &view);
        self.since = now;
        self.view = view;
        match tone {
            Some(tone) => self.play(tone, now),
            None if moved => self.follow(now),
            None => {}
        }
    }

    fn play(&mut self, tone: Tone, now: Instant) {
        if tone == Tone::Stop {
            self.stop_again = now + STOP_EVERY;
        }
        let voice = self.heard.sound.voice(&self.view.station);
        if voice.mute || voice.volume == 0 {
            return;
        }
        if let Some(player) = &self.heard.player {
            player.play(wav(tone, voice));
        } else {
            let rings = bell_times(tone).iter().map(|ms| now + Duration::from_millis(*ms));
            self.bells = rings.collect();
        }
    }

    /// Plays a short note as high as the value, where that is wanted.
    fn follow(&mut self, now: Instant) {
        let Heard { sound, player } = &self.heard;
        let voice = sound.voice(&self.view.station);
        let wanted = sound.follow && sound.can_follow() && !voice.mute && now >= self.follow_again;
        if let (true, Some(player), Some(hertz)) = (wanted, player, follow_pitch(&self.view)) {
            player.play(blip(hertz, voice));
            self.follow_again = now + FOLLOW_EVERY;
        }
    }

    fn say(&mut self, text: &str, now: Instant) {
        self.message = Some((printable(text), now + SAID_FOR));
        self.changed = true;
    }

    fn key(&mut self, key: KeyEvent, now: Instant) -> Deed {
        self.changed = true;
        if key.modifiers.contains(KeyModifiers::CONTROL) {
            return if key.code == KeyCode::Char('c') { Deed::End } else { Deed::Go };
        }
        match self.over.take() {
            Some(Over::Help) => return Deed::Go,
            Some(Over::Skip) => {
                let chosen = SKIP_REASONS.iter().find(|(own, _)| key.code == KeyCode::Char(*own));
                if let Some((_, why)) = chosen {
                    self.ask(Command::Skip { position: None, why: (*why).to_owned() }, now);
                }
                return Deed::Go;
            }
            None => {}
        }
        if key.code == KeyCode::Char('q') {
            return Deed::End;
        }
        self.wish(key.code, now);
        Deed::Go
    }

    fn wish(&mut self, code: KeyCode, now: Instant) {
        match code {
            KeyCode::Char('n') => self.ask(Command::Next, now),
            // A held key repeats, and each repeat would be a touch that nobody made.
            KeyCode::Char(' ') => {
                let repeats = self.spaced.replace(now).is_some_and(|last| now - last < KEY_REPEATS);
                if !repeats {
                    self.ask(Command::Take { frame: None }, now);
                }
            }
            KeyCode::Char('v') => self.ask(Command::Void { id: None, why: None }, now),
            KeyCode::Char('m') => self.ask(Command::Master { gauge: None }, now),
            KeyCode::Char('s') => self.over = Some(Over::Skip),
            KeyCode::Char('a') => match self.view.alerts.first() {
                Some(alert) => self.ask(Command::Ack(AckOf::One(Seq(alert.id))), now),
                None => self.say("There is no alert to mark as seen.", now),
            },
            KeyCode::Char('?' | 'h') => self.over = Some(Over::Help),
            #[cfg(debug_assertions)]
            KeyCode::F(12) => panic!("a bug made on purpose, to see what becomes of the terminal"),
            _ => {}
        }
    }

    fn ask(&mut self, command: Command, now: Instant) {
        if self.changes.send(command).is_err() {
            self.say("It cannot be asked for.", now);
        }
    }
}

fn millis(now: Instant, then: Instant) -> u64 {
    u64::try_from(now.saturating_duration_since(then).as_millis()).unwrap_or(u64::MAX)
}

fn last_values(view: &View) -> Vec<Option<&str>> {
    view.gauges.iter().map(|gauge| gauge.last.as_deref()).collect()
}

/// Whether two views look the same, apart from their age.
fn same(one: &View, other: &View) -> bool {
    let still = |view: &View| {
        let mut still = view.clone();
        still.gauges.iter_mut().for_each(|gauge| gauge.last_age_ms = None);
        still.seq = 0;
        still
    };
    still(one) == still(other)
}
