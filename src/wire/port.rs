//! `port/1`, a serial port of the machine, and `heard/1`, what listening to one came to.

use serde::Serialize;

use super::text::line_of;

/// A serial port.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "schemas", derive(schemars::JsonSchema))]
pub struct PortLine {
    /// The name to write into bench.toml: the stable one where there is one.
    pub port: String,
    /// The device the name leads to now.
    pub device: String,
    /// Whether the name stays with the cable.
    pub stable: bool,
    /// The gauges that the configuration has on it.
    pub gauges: Vec<String>,
    /// The program that holds it, where it can be told.
    pub held_by: Option<String>,
    /// Whether you may read and write it.
    pub may_open: bool,
    /// The number of the user whose device it is.
    pub owner: u32,
    /// The group that may open it.
    pub group: Option<String>,
    /// Whether you are in that group.
    pub in_group: bool,
    /// Permissions, octal: `0660`.
    pub mode: String,
}

/// `port/1`.
#[must_use]
pub fn port_line(port: &PortLine) -> String {
    line_of("port/1", port)
}

/// What listening to a port came to.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "schemas", derive(schemars::JsonSchema))]
pub struct HeardLine {
    /// The port as it was named.
    pub port: String,
    /// How many bytes came.
    pub bytes: u64,
    /// The speed that fits, bits a second.
    pub baud: Option<u32>,
    /// Data bits of a character.
    pub data_bits: Option<u8>,
    /// The parity: `none`, `even` or `odd`.
    pub parity: Option<String>,
    /// Stop bits of a character.
    pub stop_bits: Option<u8>,
    /// The profile that fits, where only one does.
    pub profile: Option<String>,
    /// All that fit equally well.
    pub alike: Vec<String>,
    /// Frames that read whole.
    pub frames: u64,
    /// The lines proposed for bench.toml.
    pub lines: Option<String>,
    /// Why nothing is proposed.
    pub why: Option<String>,
}

/// `heard/1`.
#[must_use]
pub fn heard_line(heard: &HeardLine) -> String {
    line_of("heard/1", heard)
}
