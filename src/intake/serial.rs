//! One serial port: opened, read, lost, opened again, for ever.

mod asking;
mod doorbell;
mod holder;
mod open;
mod pace;
mod pause;

use std::time::Duration;

use tokio::io::AsyncReadExt;
use tokio_serial::SerialStream;

use super::{Asks, Closed, Link, News, Outlet, Stop, clock};
use crate::config::Port;
use crate::gauge::{Line, Outcome};
use crate::quantity::{Stamp, Wall};
use asking::{Asked, Asking};
pub(super) use doorbell::Doorbell;
pub(crate) use holder::of as holder_of;
pub(crate) use open::{denied, group_name};

use open::Fault;
use pace::Paces;
use pause::Pauses;

/// The first wait before a port is tried again.
const RETRY_FIRST: Duration = Duration::from_secs(1);

/// The longest.
const RETRY_LONGEST: Duration = Duration::from_secs(30);

/// Listens to a port until the service ends, and tells every frame and every change of its state.
/// It writes only what a profile says, and only for a gauge that is captured by request.
pub async fn listen<T: From<super::Arrival> + Send>(
    port: Port,
    outlet: Outlet<T>,
    asks: Asks,
    stop: Stop,
) {
    let line = Line::new(port.line.clone());
    let pauses = Pauses::of(&port, &asks);
    let (asking, paces, outcomes) = (Asking::new(&port, asks), Paces::of(&port), Vec::new());
    let (told, was_live) = (None, false);
    let mut listener =
        Listener { port, outlet, stop, line, asking, paces, pauses, told, was_live, outcomes };
    // Both endings mean the same: nobody wants to hear any more.
    let (Ok(()) | Err(Closed)) = listener.run().await;
}

struct Listener<T> {
    port: Port,
    outlet: Outlet<T>,
    stop: Stop,
    line: Line,
    asking: Asking,
    paces: Paces,
    pauses: Pauses,
    told: Option<Link>,
    was_live: bool,
    outcomes: Vec<Outcome>,
}

/// What woke a session.
enum Woken {
    Read(std::io::Result<usize>),
    Asked(Asked),
    Time,
}

/// How a session with an open port ended.
enum Ending {
    /// The service ends.
    Stopped,
    /// The port is gone.
    Lost(String),
}

impl<T: From<super::Arrival>> Listener<T> {
    async fn run(&mut self) -> Result<(), Closed> {
        let mut wait = RETRY_FIRST;
        loop {
            // Listening for its name begins before the attempt, so that nothing falls between.
            let mut doorbell = Doorbell::at(&self.port.path);
            match open::open(&self.port) {
                Ok(stream) => {
                    self.was_live = false;
                    match self.session(stream).await? {
                        Ending::Stopped => return Ok(()),
                        Ending::Lost(why) => {
                            if self.was_live {
                                wait = RETRY_FIRST;
                                self.tell_link(Link::Lost(why)).await?;
                            } else if !matches!(self.told, Some(Link::Lost(_) | Link::Absent(_))) {
                                self.tell_link(Link::Absent(why)).await?;
                            }
                        }
                    }
                }
                Err(fault) => self.tell_fault(fault).await?,
            }
            tokio::select! {
                () = self.stop.thrown() => return Ok(()),
                () = tokio::time::sleep(wait) => wait = (wait * 2).min(RETRY_LONGEST),
                () = doorbell.rings() => wait = RETRY_FIRST,
            }
        }
    }

    /// Reads an open port until it is gone.
    async fn session(&mut self, mut stream: SerialStream) -> Result<Ending, Closed> {
        self.line.opened(clock::mono_us());
        self.asking.opened();
        self.paces.opened();
        let mut bytes = [0; 1024];
        loop {
            let wake_at = earlier(self.line.wake_at(), self.paces.wake_at());
            let woken = tokio::select! {
                biased;
                () = self.stop.thrown() => return Ok(Ending::Stopped),
                read = stream.read(&mut bytes) => Woken::Read(read),
                asked = self.asking.next() => Woken::Asked(asked),
                () = clock::sleep_until(wake_at) => Woken::Time,
            };
            let at = clock::now();
            let mut count = 0;
            let lost = |why: &str| Ok(Ending::Lost(open::lost(&self.port.path, why)));
            match woken {
                // A terminal whose other side is gone reads as nothing, again and again.
                Woken::Read(Ok(0)) => return lost("the line ended"),
                Woken::Read(Ok(read)) => {
                    count = read;
                    let own = self.asking.without_echo(&bytes[..read]);
                    self.line.feed(own, at.mono_us, &mut self.outcomes);
                }
                Woken::Read(Err(error)) => return lost(&error.to_string()),
                Woken::Time => {
                    self.line.tick(at.mono_us, &mut self.outcomes);
                    self.tell_stopped(at).await?;
                }
                Woken::Asked(Asked::Ask(index)) => {
                    if let Err(error) = self.asking.write(index, &mut stream).await {
                        return lost(&error.to_string());
                    }
                }
                Woken::Asked(Asked::NoAnswer(index)) => {
                    let gauge = self.port.gauges[index].clone();
                    self.outlet.tell_at(at, News::Unanswered { gauge }).await?;
                }
            }
            self.tell_outcomes(at).await?;
            if count > 0 && self.line.is_between_frames() {
                tokio::select! {
                    biased;
                    () = self.stop.thrown() => return Ok(Ending::Stopped),
                    () = self.pauses.pause(count) => {}
                }
            }
        }
    }

    /// Tells the frames, and first that the line is live, if it now is.
    async fn tell_outcomes(&mut self, at: Stamp) -> Result<(), Closed> {
        let mut outcomes = std::mem::take(&mut self.outcomes).into_iter();
        while let Some(outcome) = outcomes.next() {
            self.asking.heard(&outcome);
            let Some(gauge) = self.port.gauges.get(outcome.gauge).cloned() else { continue };
            let at = moment(outcome.at_us, at);
            if self.paces.frame(outcome.gauge, at.mono_us) {
                let (gauge, stopped) = (gauge.clone(), None);
                self.outlet.tell_at(at, News::Stream { gauge, stopped }).await?;
            }
            if let Err(closed) = self.outlet.tell_at(at, News::Frame { gauge, outcome }).await {
                let (lost, path) = (outcomes.len() + 1, self.port.path.display());
                tracing::error!("{path}: {lost} frames were read and could not be stored");
                return Err(closed);
            }
        }
        if self.line.live() && !self.was_live {
            self.was_live = true;
            self.tell_link(Link::Live).await?;
        }
        Ok(())
    }

    async fn tell_stopped(&mut self, at: Stamp) -> Result<(), Closed> {
        for index in self.paces.tick(at.mono_us) {
            let Some(gauge) = self.port.gauges.get(index).cloned() else { continue };
            let stopped = Some(pace::stopped(&gauge));
            self.outlet.tell_at(at, News::Stream { gauge, stopped }).await?;
        }
        Ok(())
    }

    async fn tell_fault(&mut self, fault: Fault) -> Result<(), Closed> {
        let was_there = matches!(self.told, Some(Link::Live | Link::Lost(_)));
        let link = match fault {
            Fault::Missing(why) if was_there => Link::Lost(why),
            Fault::Missing(why) => Link::Absent(why),
            Fault::Refused(why) => Link::Refused(why),
        };
        // One loss is told once: the sentence it was lost with says more than "not there".
        if matches!((&self.told, &link), (Some(Link::Lost(_)), Link::Lost(_))) {
            return Ok(());
        }
        self.tell_link(link).await
    }

    async fn tell_link(&mut self, link: Link) -> Result<(), Closed> {
        if self.told.as_ref() == Some(&link) {
            return Ok(());
        }
        self.told = Some(link.clone());
        self.outlet.tell(News::Line { gauges: self.port.gauges.clone(), link }).await
    }
}

/// The earlier of two moments.
fn earlier(one: Option<u64>, other: Option<u64>) -> Option<u64> {
    one.into_iter().chain(other).min()
}

/// The stamp of a frame that ended at `at_us`, as seen from `now`.
fn moment(at_us: u64, now: Stamp) -> Stamp {
    let ago_us = i64::try_from(now.mono_us.saturating_sub(at_us)).unwrap_or(0);
    Stamp { wall: Wall::from_micros(now.wall.micros() - ago_us), mono_us: at_us }
}

#[cfg(test)]
mod tests;
