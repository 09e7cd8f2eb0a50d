//! Finding where one frame ends and the next begins.

use super::outcome::LONGEST;
use super::profile::Framing;

/// Bytes that belong to the line, not to the frame: NUL, XON, XOFF.
const LINE_BYTES: [u8; 3] = [0x00, 0x11, 0x13];

/// Collects bytes into frames.
#[derive(Debug, Clone)]
pub(super) struct Framer {
    framing: Framing,
    pending: Vec<u8>,
    /// The bytes that follow belong to a frame already dealt with, until the next beginning.
    skipping: bool,
}

/// The result of one byte.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Step {
    /// The byte belongs to the line itself and carries nothing.
    Nothing,
    /// No frame ends here.
    More,
    /// A frame is complete: see [`Framer::pending`].
    Frame,
    /// The frame under way is too long; the rest of it is skipped.
    TooLong,
    /// The end of the bytes that were skipped.
    Over,
}

impl Framer {
    pub(super) fn new(framing: Framing) -> Self {
        Self { framing, pending: Vec::with_capacity(LONGEST), skipping: false }
    }

    /// Takes one byte. After [`Step::Frame`] and [`Step::TooLong`] the caller takes the bytes
    /// with [`Framer::take`].
    pub(super) fn push(&mut self, byte: u8) -> Step {
        if LINE_BYTES.contains(&byte) {
            return Step::Nothing;
        }
        match self.framing {
            Framing::Line => self.push_line(byte),
            Framing::Fixed { length, .. } => self.push_fixed(byte, length),
        }
    }

    fn push_line(&mut self, byte: u8) -> Step {
        if matches!(byte, b'\r' | b'\n') {
            return if std::mem::take(&mut self.skipping) {
                Step::Over
            } else if self.pending.is_empty() {
                Step::More // an empty line, or the second half of CRLF or LFCR
            } else {
                Step::Frame
            };
        }
        if self.skipping {
            return Step::More;
        }
        if self.pending.len() == LONGEST {
            self.skipping = true;
            return Step::TooLong;
        }
        self.pending.push(byte);
        Step::More
    }

    fn push_fixed(&mut self, byte: u8, length: usize) -> Step {
        if !self.skipping {
            self.pending.push(byte);
        }
        if self.pending.len() >= length { Step::Frame } else { Step::More }
    }

    /// The bytes of the frame under way.
    pub(super) fn pending(&self) -> &[u8] {
        &self.pending
    }

    /// Gives back the memory of bytes taken earlier, for use by the next frame.
    pub(super) fn give_back(&mut self, mut room: Vec<u8>) {
        if self.pending.is_empty() {
            room.clear();
            self.pending = room;
        }
    }

    /// Takes the bytes of the frame and begins the next.
    pub(super) fn take(&mut self) -> Vec<u8> {
        std::mem::take(&mut self.pending)
    }

    /// Skips bytes until the next beginning. Frames of fixed length get back into step only at a gap; a
    /// line ends by itself.
    pub(super) fn lose_step(&mut self) {
        if matches!(self.framing, Framing::Fixed { .. }) {
            self.skipping = true;
        }
    }

    /// Whether bytes are being skipped.
    pub(super) fn is_skipping(&self) -> bool {
        self.skipping
    }

    /// The next byte is the beginning of a frame.
    pub(super) fn begin(&mut self) {
        self.skipping = false;
    }

    /// Silence that separates frames of fixed length, in microseconds.
    pub(super) fn gap_us(&self) -> Option<u64> {
        match self.framing {
            Framing::Fixed { gap_us, .. } => Some(gap_us),
            Framing::Line => None,
        }
    }
}
