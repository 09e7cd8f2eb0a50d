//! `port/1`, a serial port of the machine, and `heard/1`, what listening to one came to.

use serde::Serialize;

use super::text::json_text;

/// A serial port.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[expect(missing_docs, reason = "the fields are those of the published line")]
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
    pub owner: u32,
    pub group: Option<String>,
    /// Whether you are in that group.
    pub in_group: bool,
    /// Permissions, octal: `0660`.
    pub mode: String,
}

/// `port/1`.
#[must_use]
pub fn port_line(port: &PortLine) -> String {
    #[derive(Serialize)]
    struct Line<'l> {
        schema: &'static str,
        #[serde(flatten)]
        port: &'l PortLine,
    }
    json_text(&Line { schema: "port/1", port })
}

/// What listening to a port came to.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[expect(missing_docs, reason = "the fields are those of the published line")]
pub struct HeardLine {
    pub port: String,
    pub bytes: u64,
    pub baud: Option<u32>,
    pub data_bits: Option<u8>,
    pub parity: Option<String>,
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
    #[derive(Serialize)]
    struct Line<'l> {
        schema: &'static str,
        #[serde(flatten)]
        heard: &'l HeardLine,
    }
    json_text(&Line { schema: "heard/1", heard })
}
