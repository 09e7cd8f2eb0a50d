//! The connections to the service, on threads of their own: one asks for the view, one sends requests that
//! change something.

use std::path::{Path, PathBuf};
use std::sync::mpsc::{Sender, channel};
use std::thread;
use std::time::{Duration, Instant};

use tokio::sync::mpsc::UnboundedSender;

use ::bench::{Command, Request};
use wire::{Incoming, Reply, View};

use super::super::failure::{Failure, UNREACHABLE};
use super::super::socket::{self, Lines, Trouble};
use super::super::{key, login};
use super::news::News;

/// How long the service waits for something new before it answers anyway.
const WAIT_MS: u64 = 1000;
/// The shortest time between two views: the eye is no faster, and it costs next to nothing.
const BETWEEN: Duration = Duration::from_millis(120);
/// The pause between two tries to connect again.
const PAUSE: Duration = Duration::from_millis(250);

/// Asks for a view, at once or when there is something new.
pub(crate) fn ask(lines: &mut Lines, station: Option<&str>, wait: bool) -> Result<Answer, Trouble> {
    let wait_ms = wait.then_some(WAIT_MS);
    let asked = Incoming::View { station: station.map(str::to_owned), wait_ms };
    lines.send(&asked.to_line())?;
    let line = lines.next()?;
    let reply = Reply::parse(&line).map_err(Trouble::Strange)?;
    if reply.exit != 0 {
        return Ok(Answer::Refused(reply));
    }
    let view = serde_json::from_str(&line).map_err(|error| Trouble::Strange(error.to_string()))?;
    Ok(Answer::View(Box::new(view)))
}

/// The result of asking for a view.
#[derive(Debug)]
pub(crate) enum Answer {
    View(Box<View>),
    Refused(Reply),
}

/// Gets the first view before the terminal is taken over, so that an error is shown as by every other
/// command.
pub(super) fn begin(path: &Path, station: Option<&str>) -> Result<(Lines, View), Failure> {
    let begun = Lines::connect(path).and_then(|mut lines| {
        let answer = ask(&mut lines, station, false)?;
        Ok((lines, answer))
    });
    match begun {
        Ok((lines, Answer::View(view))) => Ok((lines, *view)),
        Ok((_, Answer::Refused(reply))) => Err(Failure::Told(reply.into())),
        Err(trouble) => Err(socket::told(path, trouble)),
    }
}

/// Follows the view until the screen is closed; waits while the service restarts.
pub(super) fn follow(path: PathBuf, station: String, lines: Lines, tell: UnboundedSender<News>) {
    thread::spawn(move || {
        let mut lines = Some(lines);
        while !tell.is_closed() {
            let began = Instant::now();
            let news = match lines.as_mut() {
                None => match Lines::connect(&path) {
                    Ok(back) => {
                        lines = Some(back);
                        continue;
                    }
                    Err(Trouble::Strange(what)) => News::Strange(what),
                    Err(Trouble::Full(reply)) => News::Said(sentence(&reply)),
                    Err(Trouble::Broken(_) | Trouble::Silent) => News::Away,
                },
                Some(connected) => match ask(connected, Some(&station), true) {
                    Ok(Answer::View(view)) => News::View(view),
                    Ok(Answer::Refused(reply)) => News::Said(sentence(&reply)),
                    Err(Trouble::Strange(what)) => News::Strange(what),
                    Err(Trouble::Broken(_) | Trouble::Silent | Trouble::Full(_)) => {
                        lines = None;
                        News::Away
                    }
                },
            };
            let pause = if matches!(news, News::View(_)) { BETWEEN } else { PAUSE };
            if tell.send(news).is_err() {
                return;
            }
            thread::sleep(pause.saturating_sub(began.elapsed()));
        }
    });
}

/// A thread that sends requests, one after the other, and reports the result of each.
pub(super) fn changes(
    path: PathBuf,
    station: String,
    by: Option<String>,
    tell: UnboundedSender<News>,
) -> Sender<Command> {
    let (ask, asked) = channel::<Command>();
    let login = login::name();
    thread::spawn(move || {
        for command in asked {
            let request = Request {
                station: Some(station.clone()),
                by: by.clone(),
                login: login.clone(),
                command,
            };
            let change = Incoming::Change { key: key::fresh(), request };
            let said = match socket::ask(&path, &change) {
                Ok(reply) => sentence(&reply),
                Err(Failure::Told(told)) => told.text,
                Err(Failure::ClosedPipe) => "the service went away".to_owned(),
            };
            if tell.send(News::Said(said)).is_err() {
                return;
            }
        }
    });
    ask
}

fn sentence(reply: &Reply) -> String {
    let hint = reply.hint.as_deref().filter(|hint| !hint.is_empty());
    hint.map_or_else(|| reply.text.clone(), |hint| format!("{} ({hint})", reply.text))
}

/// The failure when the service is of another version.
pub(super) fn strange(what: &str) -> Failure {
    Failure::new(
        UNREACHABLE,
        format!("the service speaks another language: {what}"),
        "use the same version of tenths for the service and here",
    )
}
