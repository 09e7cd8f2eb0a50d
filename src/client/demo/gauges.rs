//! Pretend gauges: the far end of a serial line, under a name that stays the same.

use std::fs::{self, File, OpenOptions};
use std::io;
use std::os::fd::OwnedFd;
use std::os::unix::fs::symlink;
use std::path::PathBuf;

use rustix::pty::{OpenptFlags, grantpt, openpt, ptsname, unlockpt};
use rustix::termios::{OptionalActions, tcgetattr, tcsetattr};

/// A gauge on a pseudo-terminal. The name in the configuration is a link, as udev makes for a real gauge, so
/// that it can be unplugged and come back as another device.
#[derive(Debug)]
pub(crate) struct PretendGauge {
    link: PathBuf,
    line: Option<PretendLine>,
}

#[derive(Debug)]
struct PretendLine {
    far_end: OwnedFd,
    /// Kept open until the gauge is unplugged: a pseudo-terminal that nobody has open is gone.
    _near_end: File,
}

impl PretendGauge {
    /// A gauge that is plugged in.
    pub(crate) fn plugged(link: PathBuf) -> io::Result<Self> {
        let mut gauge = Self { link, line: None };
        gauge.plug()?;
        Ok(gauge)
    }

    /// Plugs it in, as a new device under the old name.
    pub(super) fn plug(&mut self) -> io::Result<()> {
        let far_end = openpt(OpenptFlags::RDWR | OpenptFlags::NOCTTY | OpenptFlags::CLOEXEC)?;
        grantpt(&far_end)?;
        unlockpt(&far_end)?;
        let device = ptsname(&far_end, Vec::new())?.into_string().map_err(io::Error::other)?;
        let near_end = OpenOptions::new().read(true).write(true).open(&device)?;
        let mut mode = tcgetattr(&near_end)?;
        mode.make_raw();
        tcsetattr(&near_end, OptionalActions::Now, &mode)?;
        symlink(&device, &self.link)?;
        self.line = Some(PretendLine { far_end, _near_end: near_end });
        Ok(())
    }

    /// Pulls its plug.
    pub(super) fn unplug(&mut self) -> io::Result<()> {
        self.line = None;
        fs::remove_file(&self.link)
    }

    /// The far end of its line, to hear what it is asked and to answer.
    pub(crate) fn far_end(&self) -> io::Result<File> {
        let line = self.line.as_ref().ok_or(io::ErrorKind::NotConnected)?;
        Ok(File::from(line.far_end.try_clone()?))
    }

    /// Its data button is pressed: it sends one value.
    pub(super) fn press(&self, value: &str) -> io::Result<()> {
        let Some(line) = &self.line else { return Ok(()) };
        let frame = format!("{value}\r");
        rustix::io::write(&line.far_end, frame.as_bytes())?;
        Ok(())
    }
}
