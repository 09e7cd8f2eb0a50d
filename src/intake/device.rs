//! A pedal or a scanner: opened, read, lost and opened again, until the service ends. One that is an input
//! device is taken for this program alone.

use std::io::{self, ErrorKind};
use std::time::Duration;

use tokio::io::unix::AsyncFd;
use tokio::io::{AsyncReadExt, Interest};
use tokio::time::Instant;
use tokio_serial::{SerialPort, SerialPortBuilderExt, SerialStream};

use super::input::{InputDevice, input_denied};
use super::pedal::Pedal;
use super::port::{Doorbell, denied, holder_of};
use super::scanner::{Sender, Twice, Typist};
use super::{Arrival, Closed, News, Outlet, Stop, clock};
use config::{Device, DeviceKind, ModemLine};
use quantity::Stamp;

/// The first wait before a device is tried again, and the longest.
const RETRY_FIRST: Duration = Duration::from_secs(1);
const RETRY_LONGEST: Duration = Duration::from_secs(30);

/// A device that stayed open this long, in microseconds, is not just coming and going.
const STEADY_US: u64 = 2_000_000;

/// How often a modem line is read. A foot stays down for at least a tenth of a second.
const LINE_LOOK: Duration = Duration::from_millis(15);

/// After this much silence, the scan of a serial scanner has ended.
const SCAN_SILENCE: Duration = Duration::from_millis(250);

/// How often a pedal that is down is reported again. The deciding thread has no clock of its own, and
/// the meaning of a foot depends on how long it is down.
const STILL_DOWN: Duration = Duration::from_secs(1);

/// A pedal is also reported again this long after a change. Its contact bounces until then, and a tap
/// shorter than that is over by the time it is reported.
const STEADY: Duration = Duration::from_millis(60);

/// The speed of a serial scanner; one with a USB plug ignores it.
const SCANNER_BAUD: u32 = 9600;

/// Listens to a pedal or a scanner until the service ends.
pub async fn attend<T: From<Arrival> + Send>(device: Device, outlet: Outlet<T>, stop: Stop) {
    let mut attendant =
        Attendant { device, outlet, stop, told: LastTold::Nothing, was_open: false };
    // Both endings mean the same: there is no receiver any more.
    let (Ok(()) | Err(Closed)) = attendant.run().await;
}

struct Attendant<T> {
    device: Device,
    outlet: Outlet<T>,
    stop: Stop,
    told: LastTold,
    was_open: bool,
}

/// The newest report about a device.
#[derive(PartialEq, Eq)]
enum LastTold {
    Nothing,
    /// It can be read.
    There,
    /// It cannot be read; the sentence says why.
    Missing(String),
}

/// An open device.
enum Open {
    /// An input device, or anything else that can be waited for.
    Events(AsyncFd<InputDevice>),
    Port(SerialStream),
    /// A modem line, which is read again and again.
    Line(SerialStream, ModemLine),
}

/// Turns the bytes of a device into presses or scans.
enum Ear {
    Pedal(Pedal),
    /// The contact of a line, one byte for each reading: closed or open. Its first state is no press.
    Level(Option<bool>),
    Typist(Typist),
    Sender(Sender),
}

/// When the state of a pedal is reported again; never while the foot is off, so that nothing wakes up.
#[derive(Default)]
struct Repeated {
    due: Option<Instant>,
    down: bool,
}

impl Repeated {
    fn changed(&mut self, down: bool) {
        self.down = down;
        self.due = Some(Instant::now() + STEADY);
    }

    /// Waits until a report is due and returns the state. May be cancelled.
    async fn again(&mut self) -> bool {
        let Some(due) = self.due else { return std::future::pending().await };
        tokio::time::sleep_until(due).await;
        self.due = self.down.then(|| due + STILL_DOWN);
        self.down
    }
}

/// What a device sent.
#[derive(Debug, PartialEq, Eq)]
enum Heard {
    Pedal(bool),
    Scan(String),
}

impl<T: From<Arrival>> Attendant<T> {
    async fn run(&mut self) -> Result<(), Closed> {
        let mut wait = RETRY_FIRST;
        // A code may be read on both sides of a break.
        let mut twice = Twice::default();
        loop {
            // The doorbell listens before the attempt, so that a device which appears meanwhile is not
            // missed.
            let mut doorbell = Doorbell::at(&self.device.path);
            let why = match open(&self.device) {
                Ok(open) => {
                    self.was_open = true;
                    self.tell_missing(None).await?;
                    let since_us = clock::mono_us();
                    let ended = self.session(open, &mut twice).await?;
                    // A device that opens but is gone at once is not tried every second.
                    if clock::mono_us().saturating_sub(since_us) > STEADY_US {
                        wait = RETRY_FIRST;
                    }
                    match ended {
                        None => return Ok(()),
                        Some(error) => self.lost(&error),
                    }
                }
                Err(error) => self.sentence(&error),
            };
            self.tell_missing(Some(why)).await?;
            tokio::select! {
                () = self.stop.thrown() => return Ok(()),
                () = tokio::time::sleep(wait) => wait = (wait * 2).min(RETRY_LONGEST),
                () = doorbell.rings() => wait = RETRY_FIRST,
            }
        }
    }

    /// Reads an open device until it is gone; `None` where the service ends.
    async fn session(
        &mut self,
        mut open: Open,
        twice: &mut Twice,
    ) -> Result<Option<io::Error>, Closed> {
        let mut ear = Ear::for_kind(self.device.kind);
        let mut foot = Repeated::default();
        let mut bytes = [0; 1024];
        loop {
            let read = tokio::select! {
                biased;
                () = self.stop.thrown() => return Ok(None),
                down = foot.again() => {
                    self.tell(clock::now(), Heard::Pedal(down), twice).await?;
                    continue;
                }
                read = open.read(&mut bytes) => Some(read),
                () = tokio::time::sleep(SCAN_SILENCE), if ear.is_waiting() => None,
            };
            let at = clock::now();
            let heard = match read {
                // A terminal whose other side is gone gives empty reads for ever.
                Some(Ok(0)) => return Ok(Some(io::Error::other("the line ended"))),
                Some(Ok(count)) => ear.hear(&bytes[..count]),
                Some(Err(error)) => return Ok(Some(error)),
                None => ear.silence(),
            };
            for heard in heard {
                if let Heard::Pedal(down) = heard {
                    foot.changed(down);
                }
                self.tell(at, heard, twice).await?;
            }
        }
    }

    async fn tell(&self, at: Stamp, heard: Heard, twice: &mut Twice) -> Result<(), Closed> {
        let station = self.device.station.clone();
        let news = match heard {
            Heard::Pedal(down) => News::Pedal { station, down },
            Heard::Scan(text) if !twice.is_new(&text, at.mono_us) => return Ok(()),
            Heard::Scan(text) => News::Scan { station, text },
        };
        self.outlet.tell_at(at, news).await
    }

    async fn tell_missing(&mut self, missing: Option<String>) -> Result<(), Closed> {
        let told = missing.clone().map_or(LastTold::There, LastTold::Missing);
        // A loss is reported once: the first sentence says more than "not there".
        let lost_before = self.was_open && matches!(self.told, LastTold::Missing(_));
        if self.told == told || (lost_before && missing.is_some()) {
            return Ok(());
        }
        if let Some(why) = &missing {
            let what = self.device.kind.what().text();
            tracing::warn!("{what} of {}: {why}", self.device.station);
        }
        self.told = told;
        let (station, what) = (self.device.station.clone(), self.device.kind.what());
        self.outlet.tell(News::Device { station, what, missing }).await
    }

    fn lost(&self, error: &io::Error) -> String {
        let (path, what) = (self.device.path.display(), self.device.kind.what().text());
        format!("{path} is gone ({error}); plug the {what} in again")
    }

    /// Why the device is not open, and what to do.
    fn sentence(&self, error: &io::Error) -> String {
        let (path, what) = (&self.device.path, self.device.kind.what().text());
        let shown = path.display();
        if !path.exists() {
            return format!("{shown} is not there; plug the {what} in");
        }
        let kind = error.kind();
        if kind == ErrorKind::PermissionDenied {
            match self.device.kind {
                DeviceKind::PedalKeys | DeviceKind::ScannerKeys => input_denied(path),
                DeviceKind::PedalLine(_) | DeviceKind::ScannerPort => denied(path),
            }
        } else if kind == ErrorKind::ResourceBusy {
            let holder = holder_of(path).unwrap_or_else(|| "another program".to_owned());
            format!("{shown} is in use by {holder}; end that program")
        } else {
            format!("{shown} cannot be used as a {what}: {error}")
        }
    }
}

fn open(device: &Device) -> io::Result<Open> {
    match device.kind {
        DeviceKind::PedalKeys | DeviceKind::ScannerKeys => {
            Ok(Open::Events(waited_for(InputDevice::open(&device.path)?)?))
        }
        DeviceKind::ScannerPort => Ok(Open::Port(port(device)?)),
        DeviceKind::PedalLine(line) => {
            let mut port = port(device)?;
            // A port without modem lines gives its error now and not at every reading.
            is_closed(&mut port, line)?;
            Ok(Open::Line(port, line))
        }
    }
}

#[expect(
    deprecated,
    reason = "the newer constructor is unsafe code; an owned file stays open as long as it lives here"
)]
fn waited_for(device: InputDevice) -> io::Result<AsyncFd<InputDevice>> {
    AsyncFd::with_interest(device, Interest::READABLE)
}

/// Opens a serial port for this program alone.
fn port(device: &Device) -> io::Result<SerialStream> {
    let builder = tokio_serial::new(device.path.to_string_lossy(), SCANNER_BAUD);
    builder.open_native_async().map_err(|error| match error.kind {
        // The port is locked by TIOCEXCL or by flock.
        tokio_serial::ErrorKind::NoDevice => ErrorKind::ResourceBusy.into(),
        tokio_serial::ErrorKind::Io(kind) => io::Error::new(kind, error.description),
        tokio_serial::ErrorKind::Unknown | tokio_serial::ErrorKind::InvalidInput => {
            io::Error::other(error.description)
        }
    })
}

/// Whether the contact on a modem line is closed.
fn is_closed(port: &mut SerialStream, line: ModemLine) -> io::Result<bool> {
    let closed = match line {
        ModemLine::Cts => port.read_clear_to_send(),
        ModemLine::Dsr => port.read_data_set_ready(),
        ModemLine::Dcd => port.read_carrier_detect(),
        ModemLine::Ri => port.read_ring_indicator(),
    };
    closed.map_err(io::Error::from)
}

impl Open {
    /// The next bytes; zero of them at the end. May be cancelled.
    async fn read(&mut self, bytes: &mut [u8]) -> io::Result<usize> {
        match self {
            Self::Events(device) => {
                device.async_io(Interest::READABLE, |device| device.read(bytes)).await
            }
            Self::Port(port) => AsyncReadExt::read(port, bytes).await,
            Self::Line(port, line) => {
                tokio::time::sleep(LINE_LOOK).await;
                bytes[0] = u8::from(is_closed(port, *line)?);
                Ok(1)
            }
        }
    }
}

impl Ear {
    fn for_kind(kind: DeviceKind) -> Self {
        match kind {
            DeviceKind::PedalKeys => Self::Pedal(Pedal::default()),
            DeviceKind::PedalLine(_) => Self::Level(None),
            DeviceKind::ScannerKeys => Self::Typist(Typist::default()),
            DeviceKind::ScannerPort => Self::Sender(Sender::default()),
        }
    }

    fn hear(&mut self, bytes: &[u8]) -> Vec<Heard> {
        match self {
            Self::Pedal(pedal) => pedal.feed(bytes).into_iter().map(Heard::Pedal).collect(),
            Self::Level(was) => {
                let change = |down: bool| {
                    let before = was.replace(down);
                    before.is_some_and(|before| before != down).then_some(down)
                };
                let levels = bytes.iter().map(|byte| *byte != 0);
                levels.filter_map(change).map(Heard::Pedal).collect()
            }
            Self::Typist(typist) => typist.feed(bytes).into_iter().map(Heard::Scan).collect(),
            Self::Sender(sender) => sender.feed(bytes).into_iter().map(Heard::Scan).collect(),
        }
    }

    const fn is_waiting(&self) -> bool {
        match self {
            Self::Sender(sender) => sender.is_waiting(),
            Self::Pedal(_) | Self::Level(_) | Self::Typist(_) => false,
        }
    }

    fn silence(&mut self) -> Vec<Heard> {
        match self {
            Self::Sender(sender) => sender.silence().into_iter().map(Heard::Scan).collect(),
            Self::Pedal(_) | Self::Level(_) | Self::Typist(_) => Vec::new(),
        }
    }
}

#[cfg(test)]
mod tests;
