//! An input device: opened, and taken for this program alone, so that what its keys type reaches no window.
//!
//! A named pipe into which another program writes the events of such a device is read as well; nobody else
//! can read what is in it.

use std::io;
use std::os::fd::{AsFd, AsRawFd, BorrowedFd, OwnedFd, RawFd};
use std::path::Path;

use evdev::raw_stream::RawDevice;
use rustix::fs::{FileType, Mode, OFlags, fstat, open};

/// An open input device, or a pipe with the events of one.
pub struct InputDevice(Source);

enum Source {
    /// It is grabbed as long as it is open.
    Device(Box<RawDevice>),
    Pipe(OwnedFd),
}

impl std::fmt::Debug for InputDevice {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_tuple("InputDevice").field(&self.as_raw_fd()).finish()
    }
}

impl InputDevice {
    /// Opens a device for reading and takes it for this program alone, until it is dropped.
    ///
    /// # Errors
    /// What the kernel says; `ResourceBusy` where another program has taken it.
    pub fn open(path: &Path) -> io::Result<Self> {
        let flags = OFlags::RDONLY | OFlags::NONBLOCK | OFlags::NOCTTY | OFlags::CLOEXEC;
        let file = open(path, flags, Mode::empty())?;
        let kind = FileType::from_raw_mode(fstat(&file)?.st_mode);
        if kind == FileType::Fifo {
            return Ok(Self(Source::Pipe(file)));
        }
        if kind != FileType::CharacterDevice {
            return Err(io::Error::other("it is no input device"));
        }
        let device = RawDevice::from_fd(file).map_err(|error| {
            let no_such_call =
                error.raw_os_error() == Some(rustix::io::Errno::NOTTY.raw_os_error());
            if no_such_call { io::Error::other("it is no input device") } else { error }
        });
        let mut device = device?;
        device.grab()?;
        Ok(Self(Source::Device(Box::new(device))))
    }

    /// What the device calls itself.
    #[must_use]
    pub fn name(&self) -> Option<&str> {
        match &self.0 {
            Source::Device(device) => device.name(),
            Source::Pipe(_) => None,
        }
    }

    /// Reads events that wait; never waits itself.
    ///
    /// # Errors
    /// What the kernel says; `WouldBlock` where there are none.
    pub fn read(&self, bytes: &mut [u8]) -> io::Result<usize> {
        Ok(rustix::io::read(self.as_fd(), bytes)?)
    }
}

impl AsFd for InputDevice {
    fn as_fd(&self) -> BorrowedFd<'_> {
        match &self.0 {
            Source::Device(device) => device.as_fd(),
            Source::Pipe(pipe) => pipe.as_fd(),
        }
    }
}

impl AsRawFd for InputDevice {
    fn as_raw_fd(&self) -> RawFd {
        self.as_fd().as_raw_fd()
    }
}

/// The sentence for an input device that this user may not open.
#[must_use]
pub fn input_denied(path: &Path) -> String {
    format!(
        "{}: permission denied; give it to the service with the lines for input devices in the udev rule \
         60-tenths.rules",
        path.display()
    )
}
