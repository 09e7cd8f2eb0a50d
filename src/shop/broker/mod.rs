//! MQTT: the events of a bench and the states of its gauges, told to a broker. Nothing is subscribed to.
//!
//! Events are the lines of the feed, in their order, each behind all before it, with quality 1: told at least
//! once. How far the broker has acknowledged them without a gap is kept in a file, and every connection begins
//! after that line. So after whatever outage a subscriber sees the lines that it may have seen already once more,
//! in order, and then all others.

mod gauges;
mod kept;
mod news;
mod topics;
mod trouble;
mod wire;

use std::time::{Duration, Instant};

use ::wire::{LinkState, PresenceLine, Published as _, feed_line};
use config::Broker;
use intake::Stop;
use record::{AlertRecord, FeedEvent, FeedRecord};
use tokio::sync::watch;

use crate::{Origin, standing};
use gauges::{Answer, Told, ask_on};
use kept::Keeper;
use news::{Looked, News};
use topics::Topics;
use trouble::Trouble;
use wire::{Connection, Sent};

/// How often the record is looked at for new lines.
const LOOK: Duration = Duration::from_millis(200);
/// The first pause before a broker is tried again, which doubles up to the last.
const FIRST_PAUSE: Duration = Duration::from_millis(500);
const LAST_PAUSE: Duration = Duration::from_secs(15);
/// A connection that lasted less was never useful.
const SHORT: Duration = Duration::from_secs(5);
/// So many short ones in a row are one trouble.
const MANY: u32 = 4;
/// How long the end may take.
const LAST_WORDS: Duration = Duration::from_secs(5);

/// Tells a broker what happens at a bench until it is stopped.
///
/// # Panics
/// When the system gives no timer and no way to wait for a connection.
pub fn run(broker: &Broker, origin: &Origin, stop: Stop) {
    let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build();
    runtime.expect("a runtime needs what every program has").block_on(async {
        let (tell, answer) = watch::channel(None);
        let asking = tokio::spawn(ask_on(origin.clone(), tell));
        Link::new(broker.clone(), origin.clone(), answer).run(stop).await;
        asking.abort();
    });
}

/// The link of a bench to its broker.
struct Link {
    broker: Broker,
    origin: Origin,
    topics: Topics,
    keeper: Keeper,
    answer: watch::Receiver<Answer>,
    /// Whether it was said that the record cannot be read.
    unread: bool,
}

/// What there is only as long as a connection.
struct Session {
    connection: Connection,
    news: News,
    told: Told,
    /// What was said last of the presence.
    here: Option<(Option<bool>, Option<String>)>,
}

impl Link {
    fn new(broker: Broker, origin: Origin, answer: watch::Receiver<Answer>) -> Self {
        let to = standing::server(&broker.reach);
        let keeper = Keeper::read(&origin.state, to);
        let topics = Topics::of(&origin.bench);
        Self { broker, origin, topics, keeper, answer, unread: false }
    }

    async fn run(&mut self, mut stop: Stop) {
        self.keeper.write(true);
        let (mut pause, mut short) = (FIRST_PAUSE, 0);
        while !stop.is_thrown() {
            let begun = Instant::now();
            let outcome = tokio::select! {
                opened = Connection::open(&self.broker, &self.origin.bench, &self.topics) => opened,
                () = stop.thrown() => break,
            };
            let connected = outcome.is_ok();
            let outcome = match outcome {
                Ok(connection) => self.session(connection, &mut stop).await,
                Err(trouble) => Err(trouble),
            };
            let Err(trouble) = outcome else { break };
            let lasted = begun.elapsed() > SHORT;
            short = if connected && !lasted { short + 1 } else { 0 };
            pause = if lasted { FIRST_PAUSE } else { pause };
            let bench = &self.origin.bench;
            self.broken(if short < MANY { trouble } else { Trouble::pushed_out(bench) });
            if stop.within(pause).await {
                break;
            }
            pause = (pause * 2).min(LAST_PAUSE);
        }
        self.keeper.is_now(LinkState::Ended, now());
        self.keeper.write(true);
    }

    /// Keeps, and says once, what is wrong.
    fn broken(&mut self, trouble: Trouble) {
        let standing = &mut self.keeper.kept.standing;
        if standing.wrong.as_deref() != Some(trouble.text.as_str()) {
            tracing::warn!("broker {}: {}; {}", standing.to, trouble.text, trouble.hint);
        }
        (standing.wrong, standing.hint) = (Some(trouble.text), Some(trouble.hint.to_owned()));
        let state = if trouble.held { LinkState::Held } else { LinkState::Broken };
        self.keeper.is_now(state, now());
        self.keeper.write(true);
    }

    /// Tells what is to be told until the connection breaks, which is the error, or until it is stopped.
    async fn session(&mut self, connection: Connection, stop: &mut Stop) -> Result<(), Trouble> {
        let kept = &self.keeper.kept;
        if kept.standing.state.is_in_trouble() {
            tracing::info!("broker {}: connected again", kept.standing.to);
        }
        let news = News::after(&kept.feed, kept.standing.newest);
        let told = Told::default();
        let mut session = Session { connection, news, told, here: None };
        self.answer.mark_changed();
        self.keeper.is_now(LinkState::Sending, now());
        let mut looks = tokio::time::interval(LOOK);
        loop {
            self.tell_states(&mut session).await?;
            self.tell_lines(&mut session).await?;
            session.connection.patience()?;
            self.keeper.kept.standing.waiting =
                session.news.after_line(self.keeper.kept.standing.newest);
            if session.connection.is_level() && session.news.is_empty() {
                self.keeper.is_now(LinkState::Level, now());
            } else {
                self.keeper.is_now(LinkState::Sending, now());
            }
            self.keeper.write(false);
            tokio::select! {
                heard = session.connection.heard() => {
                    if let Some(line) = heard? {
                        self.acknowledged(session.news.feed(), line);
                    }
                }
                _ = looks.tick() => {}
                () = stop.thrown() => {
                    let _in_time = tokio::time::timeout(LAST_WORDS, self.end(&mut session)).await;
                    return Ok(());
                }
            }
        }
    }

    /// The broker has acknowledged a line and all before it.
    fn acknowledged(&mut self, feed: Option<&str>, line: u64) {
        let kept = &mut self.keeper.kept;
        if let Some(feed) = feed.filter(|feed| *feed != kept.feed) {
            feed.clone_into(&mut kept.feed);
        }
        (kept.standing.newest, kept.standing.told_at) = (line, Some(now()));
    }

    /// Says that the bench is gone, and ends the connection once that is acknowledged.
    async fn end(&mut self, session: &mut Session) -> Result<(), Trouble> {
        let gone = PresenceLine::gone(&self.origin.bench, Some(now())).line();
        let to = (self.topics.presence(), true);
        session.connection.send(Sent::Other, to, gone).await?;
        while !session.connection.is_level() {
            if let Some(line) = session.connection.heard().await? {
                self.acknowledged(session.news.feed(), line);
            }
        }
        session.connection.end().await;
        Ok(())
    }

    /// Tells what is a state: who is there, and the gauges.
    async fn tell_states(&mut self, session: &mut Session) -> Result<(), Trouble> {
        let answered = self.answer.has_changed().unwrap_or_default();
        let service = self.answer.borrow().as_ref().map(Option::is_some);
        let bench = &self.origin.bench;
        let feed = session.news.feed().map(str::to_owned);
        let here = (service, feed);
        if session.here.as_ref() != Some(&here) {
            let line = PresenceLine::here(bench, now(), here.0, here.1.clone()).line();
            session.connection.send(Sent::Other, (self.topics.presence(), true), line).await?;
            session.here = Some(here);
        }
        let answer = answered.then(|| self.answer.borrow_and_update().clone()).flatten();
        let Some(gauges) = answer else { return Ok(()) };
        let kept = &mut self.keeper.kept;
        let news = session.told.news((bench, &now()), gauges.as_deref(), &kept.gauges);
        // Before they are told: what the broker may hold must be known whenever this ends.
        let known = kept.gauges.len();
        kept.gauges.extend(news.lines.iter().map(|line| line.name.clone()));
        if kept.gauges.len() > known {
            self.keeper.write(true);
        }
        for line in news.lines {
            let to = (self.topics.gauge(&line.name), true);
            session.connection.send(Sent::Other, to, line.line()).await?;
        }
        for name in news.gone {
            let to = (self.topics.gauge(&name), true);
            session.connection.send(Sent::Other, to, String::new()).await?;
            self.keeper.kept.gauges.remove(&name);
        }
        Ok(())
    }

    /// Tells lines of the feed as long as there is room for them.
    async fn tell_lines(&mut self, session: &mut Session) -> Result<(), Trouble> {
        while session.connection.has_room() {
            if session.news.is_empty() {
                match session.news.look(&self.origin) {
                    Ok(Looked::Goes) => self.unread = false,
                    Ok(Looked::Anew(why)) => self.begin_anew(session, &why).await?,
                    Err(error) => {
                        if !std::mem::replace(&mut self.unread, true) {
                            tracing::warn!("the record cannot be read: {error}");
                        }
                    }
                }
            }
            let Some(line) = session.news.next() else { return Ok(()) };
            self.tell_line(session, &line).await?;
        }
        Ok(())
    }

    /// The feed begins at its first line: open alerts that the broker holds are of the feed before.
    async fn begin_anew(&mut self, session: &mut Session, why: &str) -> Result<(), Trouble> {
        tracing::warn!("{why}; the broker is told everything from the first line on");
        let kept = &mut self.keeper.kept;
        session.news.feed().unwrap_or_default().clone_into(&mut kept.feed);
        kept.standing.newest = 0;
        session.connection.forget_lines();
        for alert in std::mem::take(&mut kept.open) {
            let to = (self.topics.open(alert), true);
            session.connection.send(Sent::Other, to, String::new()).await?;
        }
        self.keeper.write(true);
        Ok(())
    }

    async fn tell_line(&mut self, session: &mut Session, line: &FeedRecord) -> Result<(), Trouble> {
        let (topic, state) = match &line.event {
            FeedEvent::Verdict(_) => (self.topics.verdict(), None),
            FeedEvent::Damaged(_) => (self.topics.damaged(), None),
            FeedEvent::Raised(alert) => (self.topics.alert(), Some((alert, true))),
            FeedEvent::Seen(alert) | FeedEvent::Cleared(alert) => {
                (self.topics.alert(), Some((alert, false)))
            }
        };
        let text = feed_line(line, self.origin.unit);
        let last = Sent::Line(line.seq);
        let Some((alert, open)) = state else {
            return session.connection.send(last, (topic, false), text).await;
        };
        session.connection.send(Sent::Other, (topic, false), text).await?;
        self.tell_open(session, last, alert, open).await
    }

    /// Tells an alert as a state: it is there while nobody has seen it and its cause lasts.
    async fn tell_open(
        &mut self,
        session: &mut Session,
        what: Sent,
        alert: &AlertRecord,
        open: bool,
    ) -> Result<(), Trouble> {
        let number = alert.id.0;
        let text = if open { alert.line() } else { String::new() };
        let kept = &mut self.keeper.kept.open;
        if open {
            kept.insert(number)
        } else {
            kept.remove(&number)
        };
        session.connection.send(what, (self.topics.open(number), true), text).await
    }
}

/// The time, RFC 3339, UTC.
fn now() -> String {
    intake::now().wall.to_string()
}
