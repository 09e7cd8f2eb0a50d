//! An open port: watched for every byte, or left alone between two looks.
//!
//! While the kernel watches a port, each byte wakes the thread of the ports, whether anybody wants to read
//! it or not. A port that is left alone stays open without being watched.

use tokio::io::unix::AsyncFd;

use super::source::Source;

/// An open port, in one of its two states.
pub(super) enum Wire {
    /// The kernel reports when bytes arrive.
    Watched(AsyncFd<Source>),
    /// Bytes are found only by looking.
    LeftAlone(Source),
}

impl Wire {
    /// The port in its watched state.
    #[expect(
        deprecated,
        reason = "the newer constructor is unsafe code; a port stays open as long as it lives here"
    )]
    pub(super) fn watched(self) -> std::io::Result<Self> {
        match self {
            Self::LeftAlone(port) => Ok(Self::Watched(AsyncFd::new(port)?)),
            Self::Watched(_) => Ok(self),
        }
    }

    /// The port in its left-alone state.
    pub(super) fn left_alone(self) -> Self {
        match self {
            Self::Watched(port) => Self::LeftAlone(port.into_inner()),
            Self::LeftAlone(_) => self,
        }
    }

    pub(super) fn is_watched(&self) -> bool {
        matches!(self, Self::Watched(_))
    }

    /// Reads what has arrived. A watched port waits for bytes; one left alone returns at once with an error
    /// that says there are none. May be cancelled.
    pub(super) async fn read(&mut self, bytes: &mut [u8]) -> std::io::Result<usize> {
        match self {
            Self::LeftAlone(port) => port.read(bytes),
            Self::Watched(port) => loop {
                let mut ready = port.readable_mut().await?;
                let Ok(read) = ready.try_io(|port| port.get_mut().read(bytes)) else { continue };
                // A port that gave fewer bytes than asked for is empty, and the kernel reports the next
                // byte. So a second read to find that out is not needed.
                if read.as_ref().is_ok_and(|count| (1..bytes.len()).contains(count)) {
                    ready.clear_ready();
                }
                return read;
            },
        }
    }

    /// Writes all bytes. A port that is left alone takes at once what it can.
    pub(super) async fn write_all(&mut self, mut bytes: &[u8]) -> std::io::Result<()> {
        while !bytes.is_empty() {
            let written = match self {
                Self::LeftAlone(port) => port.write(bytes),
                Self::Watched(port) => {
                    let mut ready = port.writable_mut().await?;
                    match ready.try_io(|port| port.get_mut().write(bytes)) {
                        Ok(written) => written,
                        Err(_would_block) => continue,
                    }
                }
            };
            let written = written?;
            if written == 0 {
                return Err(std::io::ErrorKind::WriteZero.into());
            }
            bytes = bytes.get(written..).unwrap_or_default();
        }
        Ok(())
    }
}
