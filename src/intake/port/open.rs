//! Opening a port, and the sentence for when that fails.

use std::io::ErrorKind as Io;
use std::os::unix::fs::MetadataExt;
use std::path::Path;

use mio_serial::{DataBits, ErrorKind, SerialStream, StopBits};

use super::source::{Keys, Source};
use super::wire::Wire;
use super::{holder, net};
use crate::input::{InputDevice, input_denied};
use config::{Parity, Port, PortName};

/// Why a port is not open.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Fault {
    /// It is not there.
    Missing(String),
    /// It is there, but this program cannot have it.
    Refused(String),
}

impl Fault {
    pub(super) fn into_text(self) -> String {
        match self {
            Self::Missing(why) | Self::Refused(why) => why,
        }
    }
}

/// Opens a port. May be cancelled.
pub(super) async fn open(port: &Port) -> Result<Wire, Fault> {
    let source = match &port.name {
        PortName::Serial(path) => serial(path, port)?,
        PortName::Keys(path) => {
            let device = InputDevice::open(path).map_err(|error| no_keys(path, &error))?;
            Source::Keys(Keys::new(device))
        }
        PortName::Net { host, port } => Source::Net(net::connect(host, *port).await?),
    };
    let watched = Wire::LeftAlone(source).watched();
    watched.map_err(|error| Fault::Refused(format!("{} cannot be watched: {error}", port.name)))
}

/// Opens a serial line for this program alone. Bytes that wait in it are kept: nothing is flushed.
///
/// The library opens without blocking, sets TIOCEXCL, takes an exclusive flock, and applies the settings
/// at once (TCSANOW), which drops nothing on Linux.
fn serial(path: &Path, port: &Port) -> Result<Source, Fault> {
    let builder = mio_serial::new(path.to_string_lossy(), port.baud)
        .data_bits(data_bits(port.data_bits))
        .parity(parity(port.parity))
        .stop_bits(stop_bits(port.stop_bits));
    let opened = SerialStream::open(&builder);
    opened.map(Source::Serial).map_err(|error| fault(path, &error))
}

/// The sentence for a port that was open and has disappeared.
pub(super) fn lost(name: &PortName, why: &str) -> String {
    let remedy = match name {
        PortName::Serial(_) => "plug the gauge in again",
        PortName::Keys(_) => "plug the adapter in again",
        PortName::Net { .. } => "is the serial server on, and is its cable in?",
    };
    format!("{name} is gone ({why}); {remedy}")
}

/// The sentence for a server that ends each connection before anything comes over it.
pub(super) fn closed_at_once(name: &PortName) -> String {
    format!("{name} takes the connection and ends it at once; is another program connected to it?")
}

/// Why an adapter that types is not open.
fn no_keys(path: &Path, error: &std::io::Error) -> Fault {
    let shown = path.display();
    if !path.exists() {
        return Fault::Missing(format!("{shown} is not there; plug the adapter in"));
    }
    let kind = error.kind();
    Fault::Refused(if kind == Io::PermissionDenied {
        input_denied(path)
    } else if kind == Io::ResourceBusy {
        let holder = holder::holder_of(path).unwrap_or_else(|| "another program".to_owned());
        format!("{shown} is in use by {holder}; end that program")
    } else {
        format!("{shown} cannot be opened as an adapter that types: {error}")
    })
}

fn fault(path: &Path, error: &mio_serial::Error) -> Fault {
    let shown = path.display();
    if !path.exists() {
        return Fault::Missing(format!("{shown} is not there; plug the gauge in"));
    }
    match error.kind {
        ErrorKind::Io(Io::PermissionDenied) => Fault::Refused(denied(path)),
        // The port is locked by TIOCEXCL or by flock.
        ErrorKind::NoDevice => Fault::Refused(match holder::holder_of(path) {
            Some(holder) => format!("{shown} is in use by {holder}; end that program"),
            None => format!("{shown} is in use by another program; end that program"),
        }),
        ErrorKind::Io(Io::NotFound) => {
            Fault::Missing(format!("{shown} is not there; plug the gauge in"))
        }
        // A device node whose device is gone answers ENXIO, ENODEV or EIO.
        ErrorKind::Unknown | ErrorKind::InvalidInput | ErrorKind::Io(_) => {
            Fault::Refused(format!("{shown} cannot be opened as a serial port: {error}"))
        }
    }
}

/// The sentence for a port that this user may not open.
pub fn denied(path: &Path) -> String {
    let group = std::fs::metadata(path).ok().and_then(|metadata| group_name(metadata.gid()));
    let shown = path.display();
    match group {
        Some(group) if group != "root" => {
            format!("{shown}: permission denied; add the service's user to the group \"{group}\"")
        }
        Some(_) | None => {
            format!(
                "{shown}: permission denied; install the udev rule that opens it to the service"
            )
        }
    }
}

/// The name of a group, from the local file: groups for devices are always local.
pub fn group_name(gid: u32) -> Option<String> {
    let groups = std::fs::read_to_string("/etc/group").ok()?;
    let name = |line: &str| {
        let mut fields = line.split(':');
        let name = fields.next()?;
        (fields.nth(1)?.parse() == Ok(gid)).then(|| name.to_owned())
    };
    groups.lines().find_map(name)
}

fn data_bits(bits: u8) -> DataBits {
    match bits {
        5 => DataBits::Five,
        6 => DataBits::Six,
        7 => DataBits::Seven,
        _ => DataBits::Eight,
    }
}

fn parity(parity: Parity) -> mio_serial::Parity {
    match parity {
        Parity::None => mio_serial::Parity::None,
        Parity::Even => mio_serial::Parity::Even,
        Parity::Odd => mio_serial::Parity::Odd,
    }
}

fn stop_bits(bits: u8) -> StopBits {
    if bits == 2 { StopBits::Two } else { StopBits::One }
}
