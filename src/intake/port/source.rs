//! What a port is read from: a serial line, an adapter that types, or a connection over the network.

use std::collections::VecDeque;
use std::io::{self, ErrorKind, Read as _, Write as _};
use std::net::TcpStream;
use std::os::fd::{AsRawFd, RawFd};

use mio_serial::SerialStream;

use crate::input::InputDevice;
use crate::typing::TypedLine;

/// An open port. It never waits.
pub(super) enum Source {
    /// A serial line.
    Serial(SerialStream),
    /// An adapter that types.
    Keys(Keys),
    /// A serial server on the network.
    Net(TcpStream),
}

/// An adapter that types, and what it typed that is not read yet.
pub(super) struct Keys {
    device: InputDevice,
    line: TypedLine,
    typed: VecDeque<u8>,
}

impl Keys {
    pub(super) fn new(device: InputDevice) -> Self {
        Self { device, line: TypedLine::default(), typed: VecDeque::new() }
    }

    /// What was typed; an error that says so where nothing was, although keys may have come up.
    fn read(&mut self, bytes: &mut [u8]) -> io::Result<usize> {
        let mut events = [0; 1024];
        let ended = loop {
            if self.typed.len() >= bytes.len() {
                break Ok(0);
            }
            match self.device.read(&mut events) {
                Ok(0) => break Ok(0),
                Ok(count) => self.typed.extend(self.line.feed(&events[..count])),
                Err(error) => break Err(error),
            }
        };
        let count = self.typed.len().min(bytes.len());
        for (place, byte) in bytes.iter_mut().zip(self.typed.drain(..count)) {
            *place = byte;
        }
        if count > 0 { Ok(count) } else { ended }
    }
}

impl Source {
    /// The bytes that wait, at most as many as fit; none at the end of the line.
    pub(super) fn read(&mut self, bytes: &mut [u8]) -> io::Result<usize> {
        match self {
            Self::Serial(port) => port.read(bytes),
            Self::Keys(keys) => keys.read(bytes),
            Self::Net(stream) => stream.read(bytes),
        }
    }

    /// Writes as many bytes as are taken at once.
    pub(super) fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        match self {
            Self::Serial(port) => port.write(bytes),
            Self::Net(stream) => stream.write(bytes),
            Self::Keys(_) => Err(ErrorKind::Unsupported.into()),
        }
    }
}

impl AsRawFd for Source {
    fn as_raw_fd(&self) -> RawFd {
        match self {
            Self::Serial(port) => port.as_raw_fd(),
            Self::Keys(keys) => keys.device.as_raw_fd(),
            Self::Net(stream) => stream.as_raw_fd(),
        }
    }
}
