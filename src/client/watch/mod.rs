//! `watch`: the bench screen. It is a client like any other: it asks, draws and plays sounds, and decides
//! nothing.

mod big;
mod brush;
mod curve;
mod draw;
mod face;
mod link;
mod news;
mod picture;
mod proof;
mod question;
mod ring;
mod scene;
mod terminal;

#[cfg(test)]
mod tests;

use std::io::{self, IsTerminal};
use std::path::PathBuf;
use std::thread;
use std::time::Instant;

use clap::Args;
use ratatui::crossterm::event::{self, Event, KeyEventKind};
use tokio::signal::unix::{SignalKind, signal};
use tokio::sync::mpsc::{UnboundedReceiver, UnboundedSender, unbounded_channel};

use wire::{View, printable};

use super::failure::{Failure, REFUSED, UNREACHABLE};
use super::global::{Asking, Global};
use super::sound::Player;
use super::{bench, screen};
use brush::Look;
pub(crate) use face::STOP_EVERY;
use face::{Deed, Face, Heard};
pub(crate) use link::{Answer, ask};
use news::News;
use terminal::Taken;

#[derive(Debug, Args)]
#[command(after_help = "Examples:
  tenths watch
  tenths watch --station lathe --mute")]
pub(crate) struct WatchArgs {
    /// Make no sound, whatever the configuration says
    #[arg(long)]
    pub(crate) mute: bool,
    /// Write what the screen shows now as a drawing (SVG), light or dark as its reader has it, and end
    #[arg(long, value_name = "FILE")]
    pub(crate) svg: Option<PathBuf>,
    /// Draw it dark, whatever its reader has
    #[arg(long, requires = "svg")]
    pub(crate) dark: bool,
    #[command(flatten)]
    pub(crate) asking: Asking,
}

pub(crate) fn run(global: &Global, args: WatchArgs) -> Result<u8, Failure> {
    let path = bench::socket(global)?;
    let station = args.asking.station;
    let in_terminal = io::stdout().is_terminal() && io::stdin().is_terminal();
    if !global.json && !in_terminal && args.svg.is_none() {
        let hint =
            "run it in a terminal; for a script: tenths watch --json, tenths status, tenths tail";
        return Err(Failure::new(REFUSED, "the bench screen needs a terminal", hint));
    }
    let (lines, first) = link::begin(&path, station.as_deref())?;
    if let Some(file) = &args.svg {
        let look = Look { utf8: true, colour: screen::colour_is_welcome(), blink: false };
        let written = std::fs::write(file, picture::of_view(&first, look, args.dark));
        let shown = printable(&file.display().to_string());
        written.map_err(|error| {
            Failure::plain(UNREACHABLE, format!("cannot write {shown}: {error}"))
        })?;
        screen::sentence(&format!("{shown} is written."))?;
        return Ok(0);
    }
    let (tell, news) = unbounded_channel();
    let station = first.station.clone();
    link::follow(path.clone(), station.clone(), lines, tell.clone());
    if global.json {
        return print(first, news);
    }
    let mut sound = bench::sound(global);
    sound.usual.mute |= args.mute;
    sound.stations.values_mut().for_each(|voice| voice.mute |= args.mute);
    let player = (!sound.player.is_empty()).then(|| {
        let tell = tell.clone();
        // When the screen is closed, nobody receives the message.
        Player::new(sound.player.clone(), move |said| drop(tell.send(News::Said(said.0))))
    });
    let changes = link::changes(path, station, args.asking.by, tell.clone());
    let heard = Heard { sound, player };
    let look = Look { utf8: locale_is_utf8(), colour: screen::colour_is_welcome(), blink: false };
    let face = Face::new(first, look, heard, changes);
    let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build()?;
    runtime.block_on(show(face, news, tell))
}

/// Whether the terminal can show more than ASCII, as `LC_ALL`, otherwise `LC_CTYPE`, otherwise `LANG` says
/// (POSIX.1, Environment Variables).
fn locale_is_utf8() -> bool {
    let set = |name: &&str| std::env::var(name).is_ok_and(|value| !value.is_empty());
    let said = ["LC_ALL", "LC_CTYPE", "LANG"].iter().find(|name| set(name));
    let locale = said.and_then(|name| std::env::var(name).ok()).unwrap_or_default();
    let locale = locale.to_ascii_uppercase();
    locale.contains("UTF-8") || locale.contains("UTF8")
}

/// Prints the views as they come.
fn print(first: View, mut news: UnboundedReceiver<News>) -> Result<u8, Failure> {
    let mut shown = None;
    let mut next = Some(Box::new(first));
    loop {
        if let Some(view) = next.take() {
            let mut still = view.clone();
            still.gauges.iter_mut().for_each(|gauge| gauge.last_age_ms = None);
            if shown.as_ref() != Some(&still) {
                screen::line(&wire::view_line(&view))?;
                shown = Some(still);
            }
        }
        match news.blocking_recv() {
            Some(News::View(view)) => next = Some(view),
            Some(News::Strange(what)) => return Err(link::strange(&what)),
            Some(News::Away | News::Said(_) | News::Key(_) | News::Resized | News::NoKeys) => {}
            None => return Ok(0),
        }
    }
}

/// Shows the screen until the person, a signal or the end of the terminal ends it.
async fn show(
    mut face: Face,
    mut news: UnboundedReceiver<News>,
    tell: UnboundedSender<News>,
) -> Result<u8, Failure> {
    let mut ends = [
        signal(SignalKind::terminate())?,
        signal(SignalKind::interrupt())?,
        signal(SignalKind::hangup())?,
        signal(SignalKind::quit())?,
    ];
    let [terminate, interrupt, hangup, quit] = &mut ends;
    let mut taken = Taken::take()?;
    listen_to_keys(tell);
    loop {
        let now = Instant::now();
        if face.draw_due(now) {
            taken.draw(|area, buf| face.draw(now, area, buf))?;
        }
        if face.bell_due(now) {
            Taken::bell()?;
        }
        let wake = tokio::time::sleep_until(face.wake_at(now).into());
        let told = tokio::select! {
            told = news.recv() => told,
            () = wake => continue,
            _ = terminate.recv() => return Ok(0),
            _ = interrupt.recv() => return Ok(0),
            _ = hangup.recv() => return Ok(0),
            _ = quit.recv() => return Ok(0),
        };
        match face.take(Instant::now(), told.unwrap_or(News::NoKeys)) {
            Deed::Go => {}
            Deed::End => return Ok(0),
            Deed::Fail(failure) => return Err(failure),
        }
    }
}

/// Reads the keys on a thread that ends with the process.
fn listen_to_keys(tell: UnboundedSender<News>) {
    thread::spawn(move || {
        loop {
            let news = match event::read() {
                Ok(Event::Key(key)) if key.kind != KeyEventKind::Release => News::Key(key),
                Ok(Event::Resize(_, _)) => News::Resized,
                Ok(Event::Key(_) | Event::FocusGained | Event::FocusLost | Event::Mouse(_)) => {
                    continue;
                }
                Ok(Event::Paste(_)) => continue,
                Err(error) if error.kind() == io::ErrorKind::Interrupted => continue,
                Err(_) => News::NoKeys,
            };
            let last = matches!(news, News::NoKeys);
            if tell.send(news).is_err() || last {
                return;
            }
        }
    });
}
