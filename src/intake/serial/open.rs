//! Opening a port, and the sentence for when that fails.

use std::io::ErrorKind as Io;
use std::os::unix::fs::MetadataExt;
use std::path::Path;

use mio_serial::{DataBits, ErrorKind, SerialStream, StopBits};

use super::holder;
use super::wire::Wire;
use config::{Parity, Port};

/// Why a port is not open.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Fault {
    /// It is not there.
    Missing(String),
    /// It is there, but this program cannot have it.
    Refused(String),
}

/// Opens a port for this program alone. Bytes that wait in it are kept: nothing is flushed.
///
/// The library opens without blocking, sets TIOCEXCL, takes an exclusive flock, and applies the settings
/// at once (TCSANOW), which drops nothing on Linux.
pub(super) fn open(port: &Port) -> Result<Wire, Fault> {
    let builder = mio_serial::new(port.path.to_string_lossy(), port.baud)
        .data_bits(data_bits(port.data_bits))
        .parity(parity(port.parity))
        .stop_bits(stop_bits(port.stop_bits));
    let opened = SerialStream::open(&builder);
    let watched = opened.and_then(|port| Ok(Wire::LeftAlone(port).watched()?));
    watched.map_err(|error| fault(&port.path, &error))
}

/// The sentence for a port that was open and has disappeared.
pub(super) fn lost(path: &Path, why: &str) -> String {
    format!("{} is gone ({why}); plug the gauge in again", path.display())
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
