//! The running service: start-up order, the deciding thread, the control socket, readiness and
//! watchdog, logs.
//!
//! What is absent: business rules. One thread decides and writes; everything else runs on one more thread
//! that only waits for the kernel. What clients may ask without the deciding thread, such as the status, is
//! published by it after each commit.

mod desk;
mod door;
mod feeder;
mod input;
mod logs;
mod papers;
mod peer;
mod places;
mod pulse;
mod record;
mod reload;
mod server;
mod shown;
#[cfg(test)]
mod simulation;
mod sources;
mod tail;
mod tally;

use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Duration;

use sd_notify::NotifyState;
use tokio::signal::unix::{Signal, SignalKind, signal};
use tokio::sync::{mpsc, oneshot, watch};

use ::record::{ReadBack, Store, StoreError};
use bench::Bench;
use config::{Loaded, SOCKET};
use desk::{Desk, GivenUp, Start};
use door::Door;
use feeder::Followed;
use input::Input;
use intake::{Asks, StopSwitch};
use papers::Papers;
use places::Places;
use pulse::Pulse;
use record::Kept;
use server::Server;
use shown::Shown;
use sources::Sources;
use wire::ReloadLine;

pub use logs::start_logs;
pub use record::is_little;

/// How many arrivals may wait for the deciding thread before the sources have to wait.
const QUEUE: usize = 256;

/// The longest path of a Unix socket, in bytes, without its closing zero (`man 7 unix`).
const LONGEST_SOCKET_PATH: usize = 107;

/// The time between two looks whether a full disk has room.
const ROOM_AGAIN: Duration = Duration::from_millis(500);

/// How long sources get to end: one may be reading a file from a network share that is gone.
const LAST_READS: Duration = Duration::from_secs(5);

/// How long clients get to read their last reply when the service ends.
const LAST_WORDS: Duration = Duration::from_millis(500);

/// Why the service could not start, or had to end.
#[derive(Debug, thiserror::Error)]
pub enum DaemonError {
    /// The path of the socket does not fit into a socket address.
    #[error(
        "the path of the socket is too long ({length} bytes, at most {LONGEST_SOCKET_PATH}): {}; \
         set [bench] state to a shorter folder",
        path.display()
    )]
    SocketPath {
        /// The path.
        path: PathBuf,
        /// Its length.
        length: usize,
    },
    /// The record cannot be opened.
    #[error("{0}")]
    Record(#[from] StoreError),
    /// The system refused something that the service needs in order to run.
    #[error("cannot {what}: {source}")]
    System {
        /// What was tried.
        what: &'static str,
        /// The error from the system.
        source: std::io::Error,
    },
    /// The service ended with something that could not be stored.
    #[error(
        "the record could not be written ({why}); not stored: {rows} decided rows, {waiting} arrivals"
    )]
    NotStored {
        /// The error of the record.
        why: String,
        /// How many rows were decided and are not stored.
        rows: usize,
        /// How many arrivals nobody looked at.
        waiting: usize,
    },
    /// A bug.
    #[error("a bug: {0}; restart the service, the record tells where it was")]
    Bug(String),
}

impl DaemonError {
    /// The exit code: 2 configuration, 3 database or socket not usable, 70 a bug.
    #[must_use]
    pub const fn exit_code(&self) -> u8 {
        match self {
            Self::SocketPath { .. } => 2,
            Self::Record(_) | Self::System { .. } | Self::NotStored { .. } => 3,
            Self::Bug(_) => 70,
        }
    }
}

fn system(what: &'static str) -> impl FnOnce(std::io::Error) -> DaemonError {
    move |source| DaemonError::System { what, source }
}

/// Reports something to systemd; does nothing without it.
fn notify(state: &[NotifyState<'_>]) {
    if let Err(error) = sd_notify::notify(state) {
        tracing::debug!("systemd was not told: {error}");
    }
}

/// Runs the service until it gets SIGTERM or SIGINT. SIGHUP makes it read the configuration again, SIGUSR1
/// makes it write the last frames that were not taken into the log.
///
/// # Errors
/// What keeps the service from starting, or what could not be stored at its end.
pub fn run(loaded: Loaded) -> Result<(), DaemonError> {
    let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build();
    let runtime = runtime.map_err(system("start the runtime"))?;
    let ended = runtime.block_on(serve(loaded));
    // A source may be in the middle of a long read of a file that is no longer needed.
    runtime.shutdown_timeout(Duration::from_secs(1));
    ended
}

/// The parts of a running service.
struct Service {
    loaded: Loaded,
    inputs: mpsc::Sender<Input>,
    sources: Sources,
    stopping: Arc<AtomicBool>,
    ended: oneshot::Receiver<Result<(), GivenUp>>,
    /// Clients that want the configuration read again.
    reloads: mpsc::Receiver<oneshot::Sender<ReloadLine>>,
}

async fn serve(loaded: Loaded) -> Result<(), DaemonError> {
    let socket = socket_path(&loaded.state)?;
    // The lock of the record is held from here on: a socket that is there now is left over.
    let mut signals = Signals::new().map_err(system("listen for signals"))?;
    let Some((mut store, back)) = open_record(&loaded.state, &mut signals).await? else {
        return Ok(());
    };
    if let Err(error) = store.move_log_beside() {
        tracing::warn!("the log beside the database is moved between touches: {error}");
    }
    let feed = Arc::new(store.feed_origin().clone());
    let bench = Bench::rebuilt(&back.rows, back.last, back.feed);
    let door = Door::open(&socket).map_err(system("open the socket"))?;

    let (stopping, asks) = (Arc::new(AtomicBool::new(false)), Asks::new());
    let start = Start {
        record: Kept::new(store, &loaded.state),
        bench,
        setup: reload::new_setup(&loaded),
        asks: asks.clone(),
        stopping: Arc::clone(&stopping),
        pulse: Pulse::new(sd_notify::watchdog_enabled()),
        set_aside: back.set_aside,
        news: back.news,
    };
    let (desk, mut shown) = Desk::new(start);
    let (inputs, arriving) = mpsc::channel(QUEUE);
    let ended = decide_on_own_thread(desk, arriving).map_err(system("start a thread"))?;

    // What a start has to report is published before anybody is told that all is well.
    let _gave_up = shown.changed().await;
    let (switch, stop) = StopSwitch::new();
    let (followed, feeder) = Followed::new(shown.clone(), loaded.state.clone(), stop.clone());
    tokio::spawn(feeder.run());
    let (ask_reload, reloads) = mpsc::channel(1);
    let server = Server {
        inputs: inputs.clone(),
        shown: shown.clone(),
        followed,
        feed,
        places: Places::default(),
        papers: Papers::new(loaded.state.clone()),
        stop,
        reloads: ask_reload,
    };
    let serving = tokio::spawn(server.run(door));
    let mut sources = Sources::new(inputs.clone(), asks);
    sources.follow(&loaded).await;
    notify(&[NotifyState::Ready]);
    tracing::info!("the service runs; its record is {}", loaded.state.display());

    let mut service = Service { loaded, inputs, sources, stopping, ended, reloads };
    let result = service.until_told(&mut signals, shown).await;
    switch.throw();
    // A client that does not read its last reply in time is cut off.
    let _late = tokio::time::timeout(LAST_WORDS, serving).await;
    tracing::info!("the service has ended");
    result
}

/// Opens the record. If the disk is so full that the record cannot be read, the service waits for room,
/// since starting it again would not help. `None` if it was told to end meanwhile.
async fn open_record(
    state: &Path,
    signals: &mut Signals,
) -> Result<Option<(Store, ReadBack)>, DaemonError> {
    let mut told = false;
    loop {
        match Store::open_with(state, reload::parse_pinned_plan) {
            Err(error @ StoreError::NoRoom(_)) => {
                if !std::mem::replace(&mut told, true) {
                    tracing::error!("{error}; the service waits until there is room");
                }
            }
            opened => return Ok(Some(opened?)),
        }
        notify(&[NotifyState::ExtendTimeoutUsec(10_000_000)]);
        tokio::select! {
            () = tokio::time::sleep(ROOM_AGAIN) => {}
            _ = signals.end.recv() => return Ok(None),
            _ = signals.interrupt.recv() => return Ok(None),
        }
    }
}

/// The path of the socket in a state folder, if it fits into an address.
fn socket_path(state: &Path) -> Result<PathBuf, DaemonError> {
    let path = state.join(SOCKET);
    let length = path.as_os_str().len();
    if length > LONGEST_SOCKET_PATH {
        return Err(DaemonError::SocketPath { path, length });
    }
    Ok(path)
}

fn decide_on_own_thread(
    mut desk: Desk<Kept>,
    arriving: mpsc::Receiver<Input>,
) -> std::io::Result<oneshot::Receiver<Result<(), GivenUp>>> {
    let (tell, ended) = oneshot::channel();
    let work = move || {
        let result = desk.started().and_then(|()| desk.work(arriving));
        // Without a receiver the service has ended already.
        let _unheard = tell.send(result);
    };
    std::thread::Builder::new().name("decide".to_owned()).spawn(work)?;
    Ok(ended)
}

impl Service {
    /// Follows signals and the watchdog until the end, then ends in order.
    async fn until_told(
        &mut self,
        signals: &mut Signals,
        shown: watch::Receiver<Arc<Shown>>,
    ) -> Result<(), DaemonError> {
        let mut pulse = watchdog_timer();
        let mut running = shown.clone();
        loop {
            tokio::select! {
                _ = signals.end.recv() => break,
                _ = signals.interrupt.recv() => break,
                _ = signals.reload.recv() => {
                    // While the record refuses, a reload has to wait; the end does not.
                    tokio::select! {
                        _ = self.reload() => {}
                        _ = signals.end.recv() => break,
                        _ = signals.interrupt.recv() => break,
                    }
                }
                Some(tell) = self.reloads.recv() => {
                    tokio::select! {
                        // Whoever asked may be gone by now.
                        line = self.reload() => drop(tell.send(line)),
                        _ = signals.end.recv() => break,
                        _ = signals.interrupt.recv() => break,
                    }
                }
                _ = signals.dump.recv() => self.tell(Input::Dump).await,
                () = tick(&mut pulse) => {
                    // If the queue is full, the thread behind it is at work or insists on the record; both
                    // feed the watchdog.
                    let _full = self.inputs.try_send(Input::Pulse);
                }
                () = second_of_a_run_in(&mut running) => {
                    let _full = self.inputs.try_send(Input::Pulse);
                }
                ended = &mut self.ended => return outcome(ended),
            }
        }
        self.end(&shown).await
    }

    async fn end(&mut self, shown: &watch::Receiver<Arc<Shown>>) -> Result<(), DaemonError> {
        notify(&[NotifyState::Stopping]);
        tracing::info!("ending: what was taken is stored first");
        // From here on a record that refuses is not asked again.
        self.stopping.store(true, Ordering::Relaxed);
        if tokio::time::timeout(LAST_READS, self.sources.stop()).await.is_err() {
            tracing::warn!("a source did not end in time; what it had not told is read again");
        }
        self.tell(Input::End).await;
        let result = outcome((&mut self.ended).await);
        let last = shown.borrow().bench.last;
        tracing::info!("the newest stored row has number {last}");
        result
    }

    async fn tell(&self, input: Input) {
        // The deciding thread may have ended already; its result says why.
        let _given_up = self.inputs.send(input).await;
    }
}

fn outcome(
    ended: Result<Result<(), GivenUp>, oneshot::error::RecvError>,
) -> Result<(), DaemonError> {
    match ended {
        Ok(Ok(())) => Ok(()),
        Ok(Err(GivenUp { why, ours: true, .. })) => Err(DaemonError::Bug(why)),
        Ok(Err(GivenUp { why, rows, waiting, ours: false })) => {
            Err(DaemonError::NotStored { why, rows, waiting })
        }
        Err(_) => Err(DaemonError::Bug("the deciding thread died".to_owned())),
    }
}

/// The signals the service follows.
struct Signals {
    end: Signal,
    interrupt: Signal,
    reload: Signal,
    dump: Signal,
}

impl Signals {
    fn new() -> std::io::Result<Self> {
        Ok(Self {
            end: signal(SignalKind::terminate())?,
            interrupt: signal(SignalKind::interrupt())?,
            reload: signal(SignalKind::hangup())?,
            dump: signal(SignalKind::user_defined1())?,
        })
    }
}

/// A second passes while a spindle runs in: only then does time matter, and only then does this wake up.
async fn second_of_a_run_in(shown: &mut watch::Receiver<Arc<Shown>>) {
    if shown.wait_for(|shown| !shown.bench.logs.is_empty()).await.is_err() {
        // Nobody shows anything any more: the service ends.
        std::future::pending::<()>().await;
    }
    tokio::time::sleep(std::time::Duration::from_secs(1)).await;
}

/// Half the time that systemd allows between two signs of life; `None` without a watchdog.
fn watchdog_timer() -> Option<tokio::time::Interval> {
    sd_notify::watchdog_enabled().map(|limit| tokio::time::interval(limit / 2))
}

async fn tick(timer: &mut Option<tokio::time::Interval>) {
    match timer {
        Some(timer) => drop(timer.tick().await),
        None => std::future::pending().await,
    }
}

#[cfg(test)]
mod tests;
