//! Turns what a gauge sends into readings: framing, profiles, decoding of frames and of file rows,
//! capture. Bytes and times in, values out.
//!
//! What is absent: opening a port or a file, and a clock. Every frame gives exactly one [`Outcome`], so
//! the counts of a gauge add up. An empty line is no frame.

#![deny(clippy::disallowed_methods, clippy::disallowed_types)]

mod block;
mod capture;
mod decode;
mod framing;
mod line;
mod outcome;
mod packed;
mod profile;
mod rows;

pub use block::{Block, MOST_LINES};
pub use capture::{
    Armed, Capture, Echo, Foot, NoSweep, NotSettled, Pedal, Press, PressRule, Sample, Settle,
    Stream, Sweep, Tap, Waits,
};
pub use line::{GaugeLine, GaugeOnLine, LineSetup, Sign};
pub use outcome::{Damage, Foreign, Kind, NO_CHARACTER, Odd, Outcome};
pub use packed::Packed;
pub use profile::{Ask, Content, Framing, Pattern, PatternError, Profile, Tokens};
pub use rows::line_ends;
pub use rows::{BadRows, Columns, FileRow, FileRows, RowFault, RowFormat, Tag, parse_rows};

#[cfg(test)]
mod tests;
