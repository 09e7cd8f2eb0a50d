//! The control socket: each request is a line, each reply is a line, for several clients at once.

use std::sync::{Arc, Weak};
use std::time::Duration;

use tokio::io::{AsyncBufReadExt as _, AsyncReadExt as _, AsyncWriteExt as _, BufReader};
use tokio::net::unix::{OwnedReadHalf, OwnedWriteHalf};
use tokio::net::{UnixListener, UnixStream};
use tokio::sync::{mpsc, oneshot, watch};
use tokio::task::JoinSet;

use super::door::{Door, Looked};
use super::feeder::Followed;
use super::input::{Change, Input, Replied};
use super::papers::{NotIn, Papers};
use super::peer::Peer;
use super::places::{FULL_HINT, Places, Seat};
use super::shown::Shown;
use super::tail::Tail;
use ::record::{Caller, FeedOrigin};
use bench::event::AttachAsked;
use bench::{Command, Request};
use intake::{self, Stop};
use wire::{
    Incoming, MAX_LINE, ReloadLine, StorageState, View, error_line, hello_line, parse_request,
    reload_line, reply_line, send_line, status_line, view_line,
};

/// How long a client may take to read a line. A slower one is cut off; if it follows the feed, it can go on
/// from the last line it got.
const SLOWEST_READ: Duration = Duration::from_secs(10);

/// The longest time a client may ask to wait for something new.
const LONGEST_WAIT: Duration = Duration::from_secs(5);

/// The time between two looks at the socket's file.
const LOOK_AT_DOOR: Duration = Duration::from_secs(1);

/// The time between two looks at the samples of a stream, which are shown without a commit.
const LOOK: Duration = Duration::from_millis(100);

/// What every connection needs.
#[derive(Clone)]
pub(super) struct Server {
    pub(super) inputs: mpsc::Sender<Input>,
    pub(super) shown: watch::Receiver<Arc<Shown>>,
    /// Where the feed is followed.
    pub(super) followed: Followed,
    /// Which feed the record has; it changes only while no service runs.
    pub(super) feed: Arc<FeedOrigin>,
    pub(super) places: Places,
    /// Where files are taken in that clients attach.
    pub(super) papers: Papers,
    pub(super) stop: Stop,
    /// Where the configuration is asked to be read again.
    pub(super) reloads: mpsc::Sender<oneshot::Sender<ReloadLine>>,
}

impl Server {
    /// Serves clients until the service ends, then removes the socket's file.
    pub(super) async fn run(mut self, (mut door, mut listener): (Door, UnixListener)) {
        let mut clients = JoinSet::new();
        let mut looks = tokio::time::interval(LOOK_AT_DOOR);
        loop {
            let stream = tokio::select! {
                () = self.stop.thrown() => break,
                accepted = listener.accept() => accepted,
                Some(_) = clients.join_next() => continue,
                _ = looks.tick() => {
                    if let Some(again) = self.look(&mut door) {
                        listener = again;
                    }
                    continue;
                }
            };
            match stream {
                Ok((stream, _)) => self.admit(stream, &mut clients),
                Err(error) => {
                    tracing::warn!("a client could not be served: {error}");
                    // Probably too many files are open; some become free when clients leave.
                    tokio::time::sleep(Duration::from_secs(1)).await;
                }
            }
        }
        // A client that connects now gets an error.
        drop(listener);
        door.close();
        // Each connection ends by itself after its current reply.
        while clients.join_next().await.is_some() {}
    }

    /// Serves a client if there is a place for it; otherwise tells it why not.
    fn admit(&self, stream: UnixStream, clients: &mut JoinSet<()>) {
        let admitted = Peer::of_connection(&stream).map_err(|error| error.to_string());
        match admitted.and_then(|peer| self.places.admit(peer)) {
            Ok(seat) => drop(clients.spawn(client(self.clone(), stream, seat))),
            Err(text) => {
                let line = error_line(&text, Some(FULL_HINT), 3) + "\n";
                // A new connection has room for one line; if the client is gone already, nothing is lost.
                drop(stream.try_write(line.as_bytes()));
            }
        }
    }

    /// Checks whether the socket can still be found, and reports when it cannot.
    fn look(&self, door: &mut Door) -> Option<UnixListener> {
        match door.look() {
            Looked::Same => None,
            Looked::Wrong(text) => {
                self.tell_door(Some(text));
                None
            }
            Looked::Again(listener) => {
                self.tell_door(Some(door.was_gone()));
                self.tell_door(None);
                Some(listener)
            }
        }
    }

    fn tell_door(&self, wrong: Option<String>) {
        if let Some(text) = &wrong {
            tracing::warn!("{text}");
        }
        let news = Input::Socket { at: intake::now(), wrong };
        // The queue is full when the record refuses; clients must not wait for it.
        let _full = self.inputs.try_send(news);
    }
}

/// Serves one client. Errors on its connection concern no one else.
async fn client(server: Server, stream: UnixStream, seat: Seat) {
    let (reading, writing) = stream.into_split();
    let lines = Lines { reader: BufReader::new(reading) };
    let (newest_us, looked, caller, pen) = (0, Weak::new(), None, Pen { writing });
    let connection = Connection { newest_us, looked, caller, server, lines, pen, seat };
    if let Err(error) = connection.serve().await {
        tracing::debug!("a client left: {error}");
    }
}

struct Connection {
    /// The time of the newest value this connection was told of, in microseconds since boot.
    newest_us: u64,
    /// What it was shown last. Those who watch are woken a moment after something can be seen.
    looked: Weak<Shown>,
    /// The process behind it, known once it has asked for a change.
    caller: Option<Caller>,
    server: Server,
    lines: Lines,
    pen: Pen,
    seat: Seat,
}

impl Connection {
    async fn serve(mut self) -> std::io::Result<()> {
        self.pen.line(&hello_line()).await?;
        loop {
            let line = tokio::select! {
                biased;
                line = self.lines.next() => line?,
                () = self.server.stop.thrown() => return Ok(()),
                why = self.seat.rests() => return self.pen.line(&error_line(&why, None, 3)).await,
            };
            self.seat.works();
            let text = match line {
                ClientLine::End => return Ok(()),
                ClientLine::TooLong => {
                    let text = format!("a request may have {MAX_LINE} bytes at most");
                    return self.pen.line(&error_line(&text, None, 2)).await;
                }
                ClientLine::Text(text) => text,
            };
            match parse_request(&text) {
                Err(error) => self.pen.line(&error_line(&error, None, 2)).await?,
                Ok(Incoming::Status) => {
                    let status = self.server.shown.borrow().status(intake::now().wall);
                    self.pen.line(&status_line(&status)).await?;
                }
                Ok(Incoming::Reload) => {
                    let line = self.reload().await;
                    self.pen.line(&line).await?;
                }
                Ok(Incoming::View { station, wait_ms }) => {
                    if let Some(Err(text)) = wait_ms.map(|_| self.seat.follows()) {
                        return self.pen.line(&error_line(&text, Some(FULL_HINT), 3)).await;
                    }
                    if let Some(wait) = wait_ms {
                        self.news(Duration::from_millis(wait).min(LONGEST_WAIT)).await;
                    }
                    let line = self.view(station.as_deref());
                    self.pen.line(&line).await?;
                }
                Ok(Incoming::Change { key, request }) => {
                    if !self.asked(key, request).await? {
                        return Ok(());
                    }
                }
                Ok(Incoming::Tail { since, feed }) => {
                    if let Err(text) = self.seat.follows() {
                        return self.pen.line(&error_line(&text, Some(FULL_HINT), 3)).await;
                    }
                    let Server { shown, followed, feed: origin, stop, .. } = self.server;
                    let tail =
                        Tail { shown, followed, origin, stop, lines: self.lines, pen: self.pen };
                    let ended = tail.follow(since, feed.as_deref()).await;
                    drop(self.seat);
                    return ended;
                }
            }
        }
    }

    /// What a station shows now; this connection has seen it then.
    fn view(&mut self, station: Option<&str>) -> String {
        let shown = Arc::clone(&self.server.shown.borrow_and_update());
        self.newest_us = shown.newest_sample_us();
        self.looked = Arc::downgrade(&shown);
        match shown.view(station, intake::now()) {
            Ok(view) => view_line(&View { feed: self.server.feed.name.clone(), ..view }),
            Err(refusal) => error_line(&refusal.text, refusal.hint.as_deref(), 2),
        }
    }

    /// Has the configuration read again; what became of it.
    async fn reload(&self) -> String {
        let (tell, told) = oneshot::channel();
        let sent = self.server.reloads.send(tell).await;
        match (sent, told.await) {
            (Ok(()), Ok(line)) => reload_line(&line),
            _ => error_line("the service is ending", None, 3),
        }
    }

    /// Waits until something is shown that this connection has not seen, a gauge has a newer value, the
    /// time is over, or the service ends.
    async fn news(&mut self, at_most: Duration) {
        let until = tokio::time::Instant::now() + at_most;
        loop {
            let look = (tokio::time::Instant::now() + LOOK).min(until);
            tokio::select! {
                changed = self.server.shown.changed() => {
                    let shown = Arc::downgrade(&self.server.shown.borrow_and_update());
                    if changed.is_err() || !Weak::ptr_eq(&shown, &self.looked) {
                        return;
                    }
                }
                () = tokio::time::sleep_until(look) => {
                    let newest_us = self.server.shown.borrow().newest_sample_us();
                    if look == until || newest_us > self.newest_us {
                        return;
                    }
                }
                () = self.server.stop.thrown() => return,
            }
        }
    }

    /// Answers a request for a change. `false`: the connection is of no use any more.
    async fn asked(&mut self, key: String, request: Request) -> std::io::Result<bool> {
        if let Command::Attach(asked) = &request.command {
            let asked = (**asked).clone();
            return self.attach(key, request, asked).await;
        }
        let reply = self.change(key, request).await;
        self.pen.line(&reply.line).await.map(|()| true)
    }

    /// Asks the client for the bytes of a file, keeps them, and then passes the request on. `false`: the
    /// connection is of no use any more.
    async fn attach(
        &mut self,
        key: String,
        mut request: Request,
        asked: AttachAsked,
    ) -> std::io::Result<bool> {
        let papers = self.server.papers.clone();
        if let Some(refused) = self.failing() {
            self.pen.line(&refused.line).await?;
            return Ok(true);
        }
        let _place = match papers.place(&asked) {
            Ok(place) => place,
            Err(refused) => {
                self.pen.line(&reply_line(&Err(refused))).await?;
                return Ok(true);
            }
        };
        self.pen.line(&send_line(asked.bytes)).await?;
        let mut stop = self.server.stop.clone();
        let came = tokio::select! {
            came = papers.take_in(&asked, &mut self.lines) => came,
            () = stop.thrown() => return Ok(false),
        };
        let (line, goes_on) = match came {
            Err(NotIn::Ends(refused)) => (reply_line(&Err(refused)), false),
            Err(NotIn::Refused(refused)) => (reply_line(&Err(refused)), true),
            Ok(came) => {
                let found = Some(came.paper.kind);
                request.command = Command::Attach(Box::new(AttachAsked { found, ..asked }));
                let ask = async || {
                    let replied = self.change(key, request).await;
                    let refused = replied.refused.is_some();
                    (replied.line, refused)
                };
                let kept = papers.keep(came, ask).await;
                (kept.unwrap_or_else(|refused| reply_line(&Err(refused))), true)
            }
        };
        self.pen.line(&line).await?;
        Ok(goes_on)
    }

    /// The reply while the record cannot be written.
    fn failing(&self) -> Option<Replied> {
        let shown = self.server.shown.borrow();
        let storage = &shown.storage;
        (storage.state == StorageState::Failing).then(|| {
            let why = format!("the record cannot be written: {}", storage.why);
            Replied { line: error_line(&why, None, 3), refused: Some(why) }
        })
    }

    /// Passes a request to the deciding thread and waits for the reply, which comes once all is stored.
    async fn change(&mut self, key: String, request: Request) -> Replied {
        if let Some(refused) = self.failing() {
            return refused;
        }
        let (reply, answer) = oneshot::channel();
        let mut change = Change::new((intake::now(), key), request, reply);
        // The list of logins is read once per connection, and only if something is to be changed.
        change.caller = Some(self.caller.get_or_insert_with(|| self.seat.peer().caller()).clone());
        // An error means that the deciding thread is gone; so does a reply that never arrives.
        let _gone = self.server.inputs.send(Input::Change(Box::new(change))).await;
        let ending = "the service ended before this was stored";
        // Whether it was done is not known then, so nothing is said to be refused.
        let line = || error_line(ending, Some("repeat it when it runs again"), 3);
        answer.await.unwrap_or_else(|_| Replied::again(line()))
    }
}

/// Reads the lines that a client sends.
pub(super) struct Lines {
    reader: BufReader<OwnedReadHalf>,
}

/// What a client sent.
pub(super) enum ClientLine {
    Text(String),
    TooLong,
    End,
}

impl Lines {
    /// The next line. If this wait is cancelled, the connection must not be read again: half a line would
    /// be lost.
    pub(super) async fn next(&mut self) -> std::io::Result<ClientLine> {
        let mut bytes = Vec::new();
        let mut limited = (&mut self.reader).take(MAX_LINE as u64 + 1);
        limited.read_until(b'\n', &mut bytes).await?;
        if bytes.is_empty() {
            return Ok(ClientLine::End);
        }
        if bytes.len() > MAX_LINE {
            return Ok(ClientLine::TooLong);
        }
        if bytes.last() == Some(&b'\n') {
            bytes.pop();
        }
        // Bytes that are not text are not JSON either, and the reply says so.
        Ok(ClientLine::Text(String::from_utf8_lossy(&bytes).into_owned()))
    }
}

impl Lines {
    /// Reads some bytes that are no line, at most as many as are missing, and says how many.
    pub(super) async fn piece(
        &mut self,
        missing: usize,
        to: &mut Vec<u8>,
    ) -> std::io::Result<usize> {
        let there = self.reader.fill_buf().await?;
        let count = there.len().min(missing);
        to.extend_from_slice(there.get(..count).unwrap_or_default());
        self.reader.consume(count);
        Ok(count)
    }
}

/// Writes lines to a client.
pub(super) struct Pen {
    writing: OwnedWriteHalf,
}

impl Pen {
    /// Writes one line; fails if the client does not read it in time.
    pub(super) async fn line(&mut self, line: &str) -> std::io::Result<()> {
        self.whole(&format!("{line}\n")).await
    }

    /// The same for a line that has its line end.
    pub(super) async fn whole(&mut self, line: &str) -> std::io::Result<()> {
        let written = self.writing.write_all(line.as_bytes());
        match tokio::time::timeout(SLOWEST_READ, written).await {
            Ok(result) => result,
            Err(_) => Err(std::io::ErrorKind::TimedOut.into()),
        }
    }
}
