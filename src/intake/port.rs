//! One port: a serial line, an adapter that types, or a connection over the network. It is opened, read, lost and
//! opened again, until the service ends.

mod asking;
mod doorbell;
mod holder;
mod looped;
mod net;
mod open;
mod pace;
mod pause;
mod source;
mod wire;

use std::io::{self, ErrorKind};
use std::time::Duration;

use super::{Asks, Closed, Link, News, Outlet, Stop, clock};
pub use asking::Questions;
use asking::{Asked, Asking};
use config::{Port, PortName};
pub(super) use doorbell::Doorbell;
use gauge::{GaugeLine, Outcome};
pub use holder::holder_of;
pub use net::connected;
pub use open::{denied, group_name};
use quantity::{Stamp, Wall};

use open::Fault;
use pace::Paces;
use pause::Pauses;
use wire::Wire;

/// The first wait before a port is tried again.
const RETRY_FIRST: Duration = Duration::from_secs(1);

/// The longest wait before a port is tried again.
const RETRY_LONGEST: Duration = Duration::from_secs(30);

/// A port that stayed open this long, in microseconds, is not just coming and going.
const STEADY_US: u64 = 2_000_000;

/// Listens to a port until the service ends, and reports every frame and every change of the port's state.
/// It writes only what a profile says, and only for a gauge that is captured by request.
pub async fn listen<T: From<super::Arrival> + Send>(
    port: Port,
    outlet: Outlet<T>,
    asks: Asks,
    stop: Stop,
) {
    let line = GaugeLine::new(port.line.clone());
    let pauses = Pauses::new(&port, &asks);
    let (asking, paces, outcomes) = (Asking::new(&port, asks), Paces::new(&port), Vec::new());
    let (alarm, told, was_live) = (clock::Alarm::new(), None, false);
    let mut listener = Listener {
        port,
        outlet,
        stop,
        line,
        asking,
        paces,
        pauses,
        alarm,
        told,
        was_live,
        outcomes,
    };
    // Both endings mean the same: there is no receiver any more.
    let (Ok(()) | Err(Closed)) = listener.run().await;
}

struct Listener<T> {
    port: Port,
    outlet: Outlet<T>,
    stop: Stop,
    line: GaugeLine,
    asking: Asking,
    paces: Paces,
    pauses: Pauses,
    alarm: clock::Alarm,
    told: Option<Link>,
    was_live: bool,
    outcomes: Vec<Outcome>,
}

/// What woke a session.
enum Woken {
    Read(io::Result<usize>),
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
            // The doorbell listens before the attempt, so that a port which appears meanwhile is not
            // missed.
            let mut doorbell = self.port.name.device().map_or(Doorbell::silent(), Doorbell::at);
            let opened = tokio::select! {
                biased;
                () = self.stop.thrown() => return Ok(()),
                opened = open::open(&self.port) => opened,
            };
            match opened {
                Ok(wire) => {
                    self.was_live = false;
                    let since_us = clock::mono_us();
                    match self.session(wire).await? {
                        Ending::Stopped => return Ok(()),
                        Ending::Lost(why) => {
                            // A port that opens but is gone at once is not tried every second.
                            if clock::mono_us().saturating_sub(since_us) > STEADY_US {
                                wait = RETRY_FIRST;
                            }
                            if self.was_live {
                                self.tell_link(Link::Lost(why)).await?;
                            } else {
                                self.tell_never_live(why).await?;
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
    async fn session(&mut self, mut wire: Wire) -> Result<Ending, Closed> {
        self.line.opened(clock::mono_us());
        self.asking.opened();
        self.paces.opened();
        self.pauses.opened();
        let mut bytes = [0; 1024];
        loop {
            let Some(woken) = self.woken(&mut wire, &mut bytes).await else {
                return Ok(Ending::Stopped);
            };
            let at = clock::now();
            let read = match self.heard(woken, at, (&mut wire, &bytes)).await? {
                Ok(read) => read,
                Err(error) => return Ok(self.lost(&error)),
            };
            self.tell_outcomes(at).await?;
            let rests = self.pauses.rests_after(read, self.line.is_between_frames());
            let turned = if rests { Ok(wire.left_alone()) } else { wire.watched() };
            wire = match turned {
                Ok(wire) => wire,
                Err(error) => return Ok(self.lost(&error)),
            };
        }
    }

    fn lost(&self, error: &io::Error) -> Ending {
        Ending::Lost(open::lost(&self.port.name, &error.to_string()))
    }

    /// Does what it was woken for. Returns how many bytes were read, or how the port was lost.
    async fn heard(
        &mut self,
        woken: Woken,
        at: Stamp,
        (wire, bytes): (&mut Wire, &[u8]),
    ) -> Result<io::Result<usize>, Closed> {
        match woken {
            // A terminal whose other side is gone gives empty reads for ever.
            Woken::Read(Ok(0)) => return Ok(Err(io::Error::other("the line ended"))),
            Woken::Read(Ok(read)) => {
                let own = self.asking.without_echo(&bytes[..read]);
                self.line.feed(&own, at.mono_us, &mut self.outcomes);
                return Ok(Ok(read));
            }
            Woken::Read(Err(error)) if error.kind() == ErrorKind::WouldBlock => {}
            Woken::Read(Err(error)) => return Ok(Err(error)),
            Woken::Time => {
                self.line.tick(at.mono_us, &mut self.outcomes);
                self.tell_stopped(at).await?;
            }
            Woken::Asked(Asked::Ask(index)) => {
                return Ok(self.asking.write(index, wire).await.map(|()| 0));
            }
            Woken::Asked(Asked::NoAnswer(index)) => {
                let gauge = self.port.gauges[index].clone();
                self.outlet.tell_at(at, News::Unanswered { gauge }).await?;
            }
            Woken::Asked(Asked::Silent(index)) => {
                let gauge = self.port.gauges[index].clone();
                let stopped = Some(looped::silent(&gauge));
                self.outlet.tell_at(at, News::Stream { gauge, stopped }).await?;
            }
            Woken::Asked(Asked::Nothing) => {}
        }
        Ok(Ok(0))
    }

    /// Waits for what comes next; `None` when the service ends.
    async fn woken(&mut self, wire: &mut Wire, bytes: &mut [u8]) -> Option<Woken> {
        if !wire.is_watched() {
            tokio::select! {
                biased;
                () = self.stop.thrown() => return None,
                () = self.pauses.rest() => return Some(Woken::Read(wire.read(bytes).await)),
            }
        }
        let wake_at = earlier(self.line.wake_at(), self.paces.wake_at());
        tokio::select! {
            biased;
            () = self.stop.thrown() => None,
            read = wire.read(bytes) => Some(Woken::Read(read)),
            asked = self.asking.next() => Some(Woken::Asked(asked)),
            () = self.alarm.at(wake_at) => Some(Woken::Time),
        }
    }

    /// Reports the frames; first that the line is live, if that is new.
    async fn tell_outcomes(&mut self, at: Stamp) -> Result<(), Closed> {
        let mut outcomes = std::mem::take(&mut self.outcomes).into_iter();
        while let Some(outcome) = outcomes.next() {
            let answers_again = self.asking.heard(&outcome);
            let Some(gauge) = self.port.gauges.get(outcome.gauge).cloned() else { continue };
            let at = moment(outcome.at_us, at);
            if self.paces.frame(outcome.gauge, at.mono_us) || answers_again {
                let (gauge, stopped) = (gauge.clone(), None);
                self.outlet.tell_at(at, News::Stream { gauge, stopped }).await?;
            }
            if let Err(closed) = self.outlet.tell_at(at, News::Frame { gauge, outcome }).await {
                let (lost, name) = (outcomes.len() + 1, &self.port.name);
                tracing::error!("{name}: {lost} frames were read and could not be stored");
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
        // A loss is reported once: the first sentence says more than "not there".
        if matches!((&self.told, &link), (Some(Link::Lost(_)), Link::Lost(_))) {
            return Ok(());
        }
        self.tell_link(link).await
    }

    /// The port opened and was gone before anything could be taken from it.
    async fn tell_never_live(&mut self, why: String) -> Result<(), Closed> {
        let is_net = matches!(self.port.name, PortName::Net { .. });
        match self.told {
            Some(Link::Lost(_)) => Ok(()),
            _ if is_net => {
                let why = open::closed_at_once(&self.port.name);
                self.tell_link(Link::Absent(why)).await
            }
            Some(Link::Absent(_)) => Ok(()),
            Some(Link::Live | Link::Refused(_)) | None => self.tell_link(Link::Absent(why)).await,
        }
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
