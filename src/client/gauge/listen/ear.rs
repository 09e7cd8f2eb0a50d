//! What is listened to: a serial line, an adapter that types, a serial server.

use std::fs::{File, OpenOptions};
use std::io::{self, ErrorKind, Read as _, Write as _};
use std::net::TcpStream;
use std::os::fd::{AsFd, BorrowedFd};
use std::os::unix::fs::OpenOptionsExt;
use std::path::Path;
use std::time::Duration;

use rustix::fs::{FlockOperation, OFlags, flock};
use rustix::termios::{ControlModes, InputModes, OptionalActions, Termios, tcgetattr, tcsetattr};

use crate::failure::{Failure, REFUSED};
use config::PortName;
use intake::{InputDevice, TypedLine, connected, denied, holder_of, input_denied};

/// How long a serial server may take to answer.
const PATIENCE: Duration = Duration::from_secs(5);

/// An open port.
pub(super) enum Ear {
    /// A serial line, with the settings it had.
    Serial(File, Termios),
    Keys(InputDevice, TypedLine),
    Net(TcpStream),
}

impl Ear {
    /// Opens a port for this program alone; for writing only where it is going to be asked.
    pub(super) fn open(name: &PortName, asks: bool) -> Result<Self, Failure> {
        match name {
            PortName::Serial(path) => serial(path, asks),
            PortName::Keys(_) if asks => {
                let text = "an adapter that types cannot be asked: nothing can be sent to it";
                Err(Failure::new(
                    REFUSED,
                    text,
                    "listen without --ask, and press the gauge's button",
                ))
            }
            PortName::Keys(path) => InputDevice::open(path)
                .map(|device| Self::Keys(device, TypedLine::default()))
                .map_err(|error| refused(name, path, &error)),
            PortName::Net { host, port } => {
                let stream = connected(host, *port, PATIENCE);
                let stream = stream.map_err(|why| Failure::plain(REFUSED, why))?;
                let fit = stream.set_nonblocking(true);
                fit.map_err(|error| Failure::plain(REFUSED, format!("{name}: {error}")))?;
                Ok(Self::Net(stream))
            }
        }
    }

    /// Sets the speed of a serial line, and 8 bits without parity: read like that, 7 bits with parity can be
    /// recognised.
    pub(super) fn set_speed(&self, baud: u32) -> io::Result<()> {
        let Self::Serial(port, before) = self else { return Ok(()) };
        let mut mode = before.clone();
        mode.make_raw();
        mode.set_speed(baud)?;
        mode.control_modes |= ControlModes::CLOCAL | ControlModes::CREAD | ControlModes::CS8;
        mode.control_modes -= ControlModes::PARENB | ControlModes::CSTOPB | ControlModes::CRTSCTS;
        mode.input_modes -= InputModes::INPCK | InputModes::IXON | InputModes::IXOFF;
        tcsetattr(port, OptionalActions::Now, &mode)?;
        Ok(())
    }

    /// Gives a serial line back its earlier settings.
    pub(super) fn restore(&self) -> io::Result<()> {
        match self {
            Self::Serial(port, before) => Ok(tcsetattr(port, OptionalActions::Now, before)?),
            Self::Keys(..) | Self::Net(_) => Ok(()),
        }
    }

    /// The bytes that wait.
    pub(super) fn read(&mut self) -> io::Result<Vec<u8>> {
        let mut part = [0; 512];
        let read = match self {
            Self::Serial(port, _) => port.read(&mut part),
            Self::Keys(device, _) => device.read(&mut part),
            Self::Net(stream) => stream.read(&mut part),
        };
        match read {
            Ok(0) => Err(io::Error::other("the line ended")),
            Ok(count) => Ok(match self {
                Self::Keys(_, line) => line.feed(&part[..count]),
                Self::Serial(..) | Self::Net(_) => part[..count].to_vec(),
            }),
            Err(error) if error.kind() == ErrorKind::WouldBlock => Ok(Vec::new()),
            Err(error) => Err(error),
        }
    }

    /// Sends a question.
    pub(super) fn ask(&mut self, question: &[u8]) -> io::Result<()> {
        match self {
            Self::Serial(port, _) => port.write_all(question),
            Self::Net(stream) => stream.write_all(question),
            Self::Keys(..) => Err(ErrorKind::Unsupported.into()),
        }
    }
}

impl AsFd for Ear {
    fn as_fd(&self) -> BorrowedFd<'_> {
        match self {
            Self::Serial(port, _) => port.as_fd(),
            Self::Keys(device, _) => device.as_fd(),
            Self::Net(stream) => stream.as_fd(),
        }
    }
}

fn serial(path: &Path, asks: bool) -> Result<Ear, Failure> {
    let name = PortName::Serial(path.to_owned());
    let opened = opened(path, asks).map_err(|error| refused(&name, path, &error))?;
    let before = tcgetattr(&opened).map_err(|_| {
        let text = format!("{} is no serial port", path.display());
        Failure::new(REFUSED, text, "see them with: tenths gauge list")
    })?;
    Ok(Ear::Serial(opened, before))
}

/// Opens a serial line for this program alone.
fn opened(path: &Path, asks: bool) -> io::Result<File> {
    let flags = OFlags::NONBLOCK | OFlags::NOCTTY;
    let flags = i32::try_from(flags.bits()).map_err(io::Error::other)?;
    let file = OpenOptions::new().read(true).write(asks).custom_flags(flags).open(path)?;
    // The service takes the same lock.
    flock(&file, FlockOperation::NonBlockingLockExclusive)
        .map_err(|_| io::Error::from(ErrorKind::ResourceBusy))?;
    Ok(file)
}

/// The refusal of a port that cannot be listened to.
pub(super) fn refused(name: &PortName, path: &Path, error: &io::Error) -> Failure {
    let (shown, kind) = (path.display(), error.kind());
    if kind == ErrorKind::NotFound {
        let hint = "see the ports with: tenths gauge list";
        Failure::new(REFUSED, format!("{shown} is not there"), hint)
    } else if kind == ErrorKind::PermissionDenied {
        let is_keys = matches!(name, PortName::Keys(_));
        Failure::plain(REFUSED, if is_keys { input_denied(path) } else { denied(path) })
    } else if kind == ErrorKind::ResourceBusy {
        let holder = holder_of(path).unwrap_or_else(|| "another program".to_owned());
        let hint = "end that program while you listen";
        Failure::new(REFUSED, format!("{shown} is in use by {holder}"), hint)
    } else {
        Failure::plain(REFUSED, format!("cannot listen to {name}: {error}"))
    }
}
