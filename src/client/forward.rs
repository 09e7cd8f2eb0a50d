//! `forward`: sends the record and the events of the bench on to the shop, in the foreground.
//!
//! A process of its own: it reads the record as a query does, and the service neither knows of it nor waits for it.
//! Each link of the configuration has a thread, so that one that is broken never stops the other.

use std::io;
use std::path::Path;
use std::thread::{self, JoinHandle};

use intake::{Stop, StopSwitch};
use rustix::process::geteuid;
use shop::{Claim, Origin, seen_by_others, standing};
use tokio::runtime::Runtime;
use tokio::signal::unix::{Signal, SignalKind, signal};

use config::Links;

use super::failure::{Failure, REFUSED, UNREACHABLE};
use super::global::Global;
use super::{bench, progress, screen};

pub(crate) fn run(global: &Global) -> Result<u8, Failure> {
    let path = bench::config_path(global)?;
    let links = configured(&path)?;
    let found = bench::whereabouts(global)?;
    let origin = Origin { bench: links.bench.clone(), state: found.state, unit: found.unit };
    let _claim = claimed(&origin)?;
    daemon::start_logs();
    progress::give_way();
    let mut end = End::new().map_err(|error| cannot_start(&error))?;
    screen::say(&format!("tenths: {}\n", what_it_does(&links, &origin)));
    let of_database = links.database.as_ref().and_then(|database| database.secret.as_ref());
    let of_broker = links.broker.as_ref().and_then(|broker| broker.secret.as_ref());
    for open in [of_database, of_broker].into_iter().flatten().filter_map(seen_by_others) {
        screen::say(&format!("tenths: {}\n", wire::printable(&open)));
    }
    let (switch, stop) = StopSwitch::new();
    let running = started(&links, &origin, &stop)?;
    end.told();
    switch.throw();
    let died = running.into_iter().map(JoinHandle::join).filter(Result::is_err).count();
    if died > 0 {
        return Err(Failure::plain(UNREACHABLE, "a link ended by a mistake of this program"));
    }
    Ok(0)
}

/// What is configured, where anything is.
fn configured(path: &Path) -> Result<Links, Failure> {
    let something = |links: &Links| links.database.is_some() || links.broker.is_some();
    super::shop::links(path)?.filter(something).ok_or_else(|| {
        let text = format!("there is nothing to send on: {} names no server", path.display());
        let hint =
            "write [shop.database] or [shop.broker] into it; `tenths config keys shop` shows how";
        Failure::new(REFUSED, text, hint)
    })
}

/// The right to send this bench's record on.
fn claimed(origin: &Origin) -> Result<Claim, Failure> {
    let folder = origin.folder();
    let failed = |error: io::Error| {
        let text = format!("cannot keep the place in {}: {error}", folder.display());
        Failure::new(UNREACHABLE, text, "run it as the user that the service runs as")
    };
    let owner = std::os::unix::fs::MetadataExt::uid(&origin.state.metadata().map_err(failed)?);
    // What root makes here, the unit of the same command could not write later.
    if geteuid().is_root() && owner != 0 {
        let text = format!("{} belongs to another user", origin.state.display());
        let hint = "start it as that user: systemctl start tenths-forward, or runuser -u USER -- tenths forward";
        return Err(Failure::new(REFUSED, text, hint));
    }
    Claim::take(&origin.state).map_err(failed)?.ok_or_else(|| {
        let text = format!("another `tenths forward` runs on {}", origin.state.display());
        Failure::new(UNREACHABLE, text, "stop that one first, or leave it to its work")
    })
}

/// The one line that says what it does.
fn what_it_does(links: &Links, origin: &Origin) -> String {
    let record =
        links.database.as_ref().map(|to| format!("the record to {}", standing::server(&to.reach)));
    let events =
        links.broker.as_ref().map(|to| format!("the events to {}", standing::server(&to.reach)));
    let what: Vec<String> = record.into_iter().chain(events).collect();
    let state = origin.state.display();
    let text = format!("sends {} as {}; reads {state}", what.join(" and "), links.bench);
    wire::printable(&text)
}

/// Starts a thread for each link that is configured.
fn started(links: &Links, origin: &Origin, stop: &Stop) -> Result<Vec<JoinHandle<()>>, Failure> {
    let mut running = Vec::new();
    if let Some(database) = links.database.clone() {
        let (origin, stop) = (origin.clone(), stop.clone());
        let link = move || shop::database::run(&database, &origin, stop);
        running.push(on_its_thread("database", link)?);
    }
    if let Some(broker) = links.broker.clone() {
        let (origin, stop) = (origin.clone(), stop.clone());
        let link = move || shop::broker::run(&broker, &origin, stop);
        running.push(on_its_thread("broker", link)?);
    }
    Ok(running)
}

fn on_its_thread(
    name: &str,
    link: impl FnOnce() + Send + 'static,
) -> Result<JoinHandle<()>, Failure> {
    thread::Builder::new().name(name.to_owned()).spawn(link).map_err(|error| cannot_start(&error))
}

fn cannot_start(error: &io::Error) -> Failure {
    Failure::plain(UNREACHABLE, format!("cannot start: {error}"))
}

/// What ends it: the service manager, or a person at the keyboard.
struct End {
    runtime: Runtime,
    terminate: Signal,
    interrupt: Signal,
}

impl End {
    fn new() -> io::Result<Self> {
        let runtime = tokio::runtime::Builder::new_current_thread().enable_io().build()?;
        let (terminate, interrupt) = {
            let _inside = runtime.enter();
            (signal(SignalKind::terminate())?, signal(SignalKind::interrupt())?)
        };
        Ok(Self { runtime, terminate, interrupt })
    }

    /// Waits until it is told to end.
    fn told(&mut self) {
        self.runtime.block_on(async {
            tokio::select! {
                _ = self.terminate.recv() => {}
                _ = self.interrupt.recv() => {}
            }
        });
    }
}
