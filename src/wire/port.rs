//! `port/1`, a port where a gauge may be heard, and `heard/1`, the result of listening to one.

use serde::Serialize;

use super::text::line_of;

/// How a port is read.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
#[cfg_attr(feature = "schemas", derive(schemars::JsonSchema))]
pub enum PortWay {
    /// A serial line.
    Serial,
    /// An adapter that types like a keyboard.
    Keys,
    /// A serial server on the network.
    Network,
}

/// A port where a gauge may be heard.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "schemas", derive(schemars::JsonSchema))]
pub struct PortLine {
    /// The name to write into bench.toml: the stable one, if there is one.
    pub port: String,
    /// How it is read.
    pub way: PortWay,
    /// What an input device calls itself.
    pub calls_itself: Option<String>,
    /// The device that the name leads to now; empty on the network.
    pub device: String,
    /// Whether the name always means the same cable.
    pub stable: bool,
    /// The gauges on it, according to the configuration.
    pub gauges: Vec<String>,
    /// The program that has it open, if that can be found out.
    pub held_by: Option<String>,
    /// Whether the caller may read and write it; an input device is only read, and a network needs no rights to
    /// a device.
    pub may_open: bool,
    /// The number of the user who owns the device.
    pub owner: u32,
    /// The group that may open it.
    pub group: Option<String>,
    /// Whether the caller is in that group.
    pub in_group: bool,
    /// Its permissions, in octal: `0660`; empty on the network.
    pub mode: String,
}

/// `port/1`.
#[must_use]
pub fn port_line(port: &PortLine) -> String {
    line_of("port/1", port)
}

/// The result of listening to a port.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "schemas", derive(schemars::JsonSchema))]
pub struct HeardLine {
    /// The port as it was named.
    pub port: String,
    /// How many bytes arrived.
    pub bytes: u64,
    /// The speed that fits, in bits per second.
    pub baud: Option<u32>,
    /// Data bits per character.
    pub data_bits: Option<u8>,
    /// The parity: `none`, `even` or `odd`.
    pub parity: Option<String>,
    /// Stop bits per character.
    pub stop_bits: Option<u8>,
    /// The profile that fits, if exactly one does.
    pub profile: Option<String>,
    /// All profiles that fit equally well.
    pub alike: Vec<String>,
    /// How many complete frames were read.
    pub frames: u64,
    /// The lines suggested for bench.toml.
    pub lines: Option<String>,
    /// Why nothing is suggested.
    pub why: Option<String>,
}

/// `heard/1`.
#[must_use]
pub fn heard_line(heard: &HeardLine) -> String {
    line_of("heard/1", heard)
}
