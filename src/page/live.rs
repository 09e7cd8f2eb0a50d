//! Following a station live: one thread asks the service, however many browsers look, and each browser is sent what
//! changed since it was sent something last (Server-sent events, HTML Standard).

use std::collections::BTreeMap;
use std::convert::Infallible;
use std::fmt::Write as _;
use std::pin::Pin;
use std::sync::{Arc, Mutex, PoisonError};
use std::task::{Context, Poll};
use std::time::{Duration, Instant};

use axum::body::{Body, Bytes};
use axum::extract::{Query, State};
use axum::http::StatusCode;
use axum::http::header::{CACHE_CONTROL, CONTENT_TYPE, HeaderName};
use axum::response::{IntoResponse, Response};
use hyper::body::Frame;
use tokio::sync::{OwnedSemaphorePermit, mpsc, watch};

use crate::bench::{self, PARTS, Parts};
use crate::limits::STUCK;
use crate::routes::Site;
use crate::sheet::begun;
use crate::source::{Source, Told, Tone};

/// How long nobody needs to look until a station is no longer followed.
const LINGER: Duration = Duration::from_secs(5);
/// The pause between two tries to reach the service.
const PAUSE: Duration = Duration::from_millis(300);
/// The shortest time between two screens: the eye is no faster.
const BETWEEN: Duration = Duration::from_millis(120);

/// What every browser that follows a station is to show now.
#[derive(Debug, Default)]
struct Scene {
    /// The parts; empty before the first.
    parts: Parts,
    /// What is said to readers who do not see it.
    said: String,
    /// Why nothing is live.
    away: Option<String>,
    /// The newest sound, and its number.
    tone: Option<(u64, Tone)>,
    /// Whether anything was asked yet.
    begun: bool,
}

/// The stations that are followed.
#[derive(Debug)]
pub(crate) struct Hub {
    source: Arc<dyn Source>,
    followed: Arc<Mutex<BTreeMap<String, watch::Sender<Arc<Scene>>>>>,
}

impl Hub {
    pub(crate) fn new(source: Arc<dyn Source>) -> Self {
        Self { source, followed: Arc::default() }
    }

    /// Joins those who follow a station; the first one begins.
    fn join(&self, station: &str) -> watch::Receiver<Arc<Scene>> {
        let mut followed = self.followed.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(sender) = followed.get(station) {
            return sender.subscribe();
        }
        let (sender, receiver) = watch::channel(Arc::default());
        followed.insert(station.to_owned(), sender.clone());
        drop(followed);
        let follower = Follower {
            station: station.to_owned(),
            source: Arc::clone(&self.source),
            followed: Arc::clone(&self.followed),
            sender,
        };
        std::thread::spawn(move || follower.run());
        receiver
    }
}

/// The thread that asks for the screen of a station.
struct Follower {
    station: String,
    source: Arc<dyn Source>,
    followed: Arc<Mutex<BTreeMap<String, watch::Sender<Arc<Scene>>>>>,
    sender: watch::Sender<Arc<Scene>>,
}

impl Follower {
    fn run(self) {
        let mut follow = self.source.follow(&self.station);
        let mut alone: Option<Instant> = None;
        let mut sounds = 0;
        loop {
            let began = Instant::now();
            let seen = follow.next();
            let pause = if seen.is_ok() { BETWEEN } else { PAUSE };
            let before = Arc::clone(&self.sender.borrow());
            let scene = match seen {
                Ok(seen) => {
                    sounds += u64::from(seen.tone.is_some());
                    let tone = seen.tone.map(|tone| (sounds, tone));
                    Scene {
                        parts: bench::parts(&seen.view, 0),
                        said: bench::said(&seen.view),
                        away: None,
                        tone: tone.or_else(|| before.tone.clone()),
                        begun: true,
                    }
                }
                // What was seen before says nothing about now.
                Err(Told { text, .. }) => {
                    let tone = before.tone.clone();
                    Scene { away: Some(begun(&text)), tone, begun: true, ..Scene::default() }
                }
            };
            self.sender.send_replace(Arc::new(scene));
            if self.sender.receiver_count() > 0 {
                alone = None;
            } else if alone.get_or_insert(began).elapsed() > LINGER && self.leaves() {
                return;
            }
            std::thread::sleep(pause.saturating_sub(began.elapsed()));
        }
    }

    /// Leaves, unless somebody has joined just now.
    fn leaves(&self) -> bool {
        let mut followed = self.followed.lock().unwrap_or_else(PoisonError::into_inner);
        let alone = self.sender.receiver_count() == 0;
        if alone {
            followed.remove(&self.station);
        }
        alone
    }
}

/// The stream of a station.
pub(crate) async fn follow(
    State(site): State<Arc<Site>>,
    Query(fields): Query<BTreeMap<String, String>>,
) -> Response {
    let Ok(place) = Arc::clone(&site.streams).try_acquire_owned() else {
        let text = "Too many browsers follow the bench just now.";
        return site.says(StatusCode::SERVICE_UNAVAILABLE, text, Some("Close one of them."));
    };
    // Only a station that there is gets a thread; while the service is away nobody knows which there are.
    let named = fields.get("station").cloned().unwrap_or_default();
    let station = match site.ask(|site| site.source.stations()).await {
        Ok(stations) => match stations.as_slice() {
            [only] if named.is_empty() => only.clone(),
            known if known.contains(&named) => named,
            _ => {
                let text = "There is no such station.";
                return site.says(StatusCode::NOT_FOUND, text, None);
            }
        },
        // It is told when the service is back.
        Err(_) => named,
    };
    let (send, receive) = mpsc::channel(2);
    let scenes = site.hub.join(&station);
    tokio::spawn(Stream { scenes, send, shown: Shown::default() }.run(place));
    let said = [
        (CONTENT_TYPE, "text/event-stream; charset=utf-8"),
        (CACHE_CONTROL, "no-store"),
        // A web server in front must not hold back what is live.
        (HeaderName::from_static("x-accel-buffering"), "no"),
    ];
    (said, Body::new(Events(receive))).into_response()
}

/// What comes over the stream.
struct Events(mpsc::Receiver<Bytes>);

impl hyper::body::Body for Events {
    type Data = Bytes;
    type Error = Infallible;

    fn poll_frame(
        mut self: Pin<&mut Self>,
        cx: &mut Context<'_>,
    ) -> Poll<Option<Result<Frame<Bytes>, Infallible>>> {
        self.0.poll_recv(cx).map(|bytes| bytes.map(|bytes| Ok(Frame::data(bytes))))
    }
}

/// What a browser was sent last.
#[derive(Debug, Default)]
struct Shown {
    parts: Parts,
    said: String,
    away: Option<String>,
    /// The number of the newest sound; none before the first scene, whose sound is not new.
    tone: Option<u64>,
    begun: bool,
}

/// One browser that follows.
struct Stream {
    scenes: watch::Receiver<Arc<Scene>>,
    send: mpsc::Sender<Bytes>,
    shown: Shown,
}

impl Stream {
    async fn run(mut self, place: OwnedSemaphorePermit) {
        // Its own time to connect again, when the connection breaks.
        let mut text = "retry: 1000\n\n".to_owned();
        loop {
            let scene = Arc::clone(&self.scenes.borrow_and_update());
            self.shown.news(&scene, &mut text);
            if !text.is_empty() {
                let bytes = Bytes::from(std::mem::take(&mut text));
                // Whoever takes nothing is not waited for.
                let sent = tokio::time::timeout(STUCK, self.send.send(bytes)).await;
                if !matches!(sent, Ok(Ok(()))) {
                    break;
                }
            }
            // A beat goes with what was heard of the service, about every second, and only then: a browser that hears
            // none says so, whatever it was that stopped.
            tokio::select! {
                changed = self.scenes.changed() => if changed.is_err() { break },
                () = self.send.closed() => break,
            }
        }
        drop(place);
    }
}

impl Shown {
    /// Adds what is new in a scene.
    fn news(&mut self, scene: &Scene, text: &mut String) {
        if !scene.begun {
            return;
        }
        if let Some(away) = &scene.away {
            if self.away.as_ref() != Some(away) {
                event(text, "away", &serde_json::json!(wire::printable(away)));
            }
            *self =
                Self { away: Some(away.clone()), tone: self.tone, begun: true, ..Self::default() };
            return;
        }
        let changed = PARTS.iter().zip(&scene.parts).zip(&self.parts);
        let changed: BTreeMap<&str, &str> = changed
            .filter(|((_, now), before)| now != before || !self.begun || self.away.is_some())
            .map(|((name, now), _)| (*name, now.as_str()))
            .collect();
        if !changed.is_empty() {
            event(text, "parts", &serde_json::json!(changed));
        }
        if scene.said != self.said {
            event(text, "said", &serde_json::json!(scene.said));
        }
        let number = scene.tone.as_ref().map_or(0, |(number, _)| *number);
        if let (Some((_, tone)), Some(heard)) = (&scene.tone, self.tone)
            && number > heard
        {
            let tone = serde_json::json!({ "notes": tone.notes, "buzz": tone.buzz });
            event(text, "tone", &tone);
        }
        event(text, "beat", &serde_json::json!(bench::clock()));
        let parts = scene.parts.clone();
        *self =
            Self { parts, said: scene.said.clone(), away: None, tone: Some(number), begun: true };
    }
}

/// An event; JSON has no raw line end, so it is one line.
fn event(text: &mut String, name: &str, data: &serde_json::Value) {
    write!(text, "event: {name}\ndata: {data}\n\n").expect("writing to a text cannot fail");
}

#[cfg(test)]
mod tests {
    use super::*;

    fn scene(value: &str, tone: u64) -> Scene {
        let mut parts = Parts::default();
        parts[1] = value.to_owned();
        let notes = vec![(440.0, 100)];
        let tone = Some((tone, Tone { notes, buzz: false }));
        Scene { parts, tone, begun: true, ..Scene::default() }
    }

    fn told(shown: &mut Shown, scene: &Scene) -> String {
        let mut text = String::new();
        shown.news(scene, &mut text);
        text
    }

    #[test]
    fn only_what_changed_is_sent_and_an_old_sound_is_silent() {
        let mut shown = Shown::default();
        assert_eq!(told(&mut shown, &Scene::default()), "");
        let first = told(&mut shown, &scene("1\n", 4));
        assert!(first.contains("\"value\":\"1\\n\"") && first.contains("\"ring\":\"\""), "{first}");
        assert!(!first.contains("event: tone"), "{first}");
        let same = told(&mut shown, &scene("1\n", 4));
        assert!(!same.contains("event: parts") && same.contains("event: beat"), "{same}");
        let next = told(&mut shown, &scene("2", 5));
        assert!(next.contains(r#"data: {"value":"2"}"#) && next.contains("[440.0,100]"), "{next}");
    }

    #[test]
    fn nothing_beats_while_the_service_is_away_and_all_comes_again_afterwards() {
        let mut shown = Shown::default();
        told(&mut shown, &scene("1", 1));
        let away = Scene { away: Some("gone".to_owned()), begun: true, ..Scene::default() };
        assert_eq!(told(&mut shown, &away), "event: away\ndata: \"gone\"\n\n");
        assert_eq!(told(&mut shown, &away), "");
        let back = told(&mut shown, &scene("1", 1));
        assert!(back.contains("\"value\":\"1\"") && back.contains("\"gauges\""), "{back}");
    }
}
