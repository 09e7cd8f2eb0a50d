//! The name of a port as it stands in `bench.toml`: a serial line, an adapter that types, a serial server.

use std::fmt;
use std::path::{Path, PathBuf};

/// Where a gauge is heard.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum PortName {
    /// A serial line: the path of its device.
    Serial(PathBuf),
    /// An adapter that types like a keyboard: the path of the input device.
    Keys(PathBuf),
    /// A serial server on the network, which passes bytes on as they are.
    Net {
        /// Its name or its address.
        host: String,
        /// The TCP port.
        port: u16,
    },
}

/// Why a text names no port, and what to write instead.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NoPort {
    /// What is wrong.
    pub text: String,
    /// What to write.
    pub hint: &'static str,
}

/// The longest name of a host, in bytes (RFC 1035, section 2.3.4: 255 octets on the wire, 253 as text).
const LONGEST_HOST: usize = 253;

const NET_HINT: &str =
    "write port = \"tcp:192.0.2.7:4001\", address and number of the serial server's port";

impl PortName {
    /// The port that a text names; a relative path is one from `base`.
    ///
    /// # Errors
    /// What is wrong with it.
    pub fn parse(text: &str, base: &Path) -> Result<Self, NoPort> {
        let text = text.trim();
        if let Some(rest) = text.strip_prefix("tcp:") {
            return net(rest);
        }
        let (word, path) = match text.strip_prefix("keys:") {
            Some(path) => ("keys:", path),
            None => ("", text),
        };
        if path.is_empty() {
            let text = format!("port \"{text}\" names no device");
            return Err(NoPort {
                text,
                hint: "write the path of the device; see `tenths gauge list`",
            });
        }
        if word == "keys:" {
            return Ok(Self::Keys(base.join(path)));
        }
        if path.starts_with("/dev/input/") {
            let text = format!("{path} is an input device, no serial line");
            let hint = "write port = \"keys:/dev/input/by-id/…\" for an adapter that types";
            return Err(NoPort { text, hint });
        }
        Ok(Self::Serial(base.join(path)))
    }

    /// The path of its device, where it has one.
    #[must_use]
    pub fn device(&self) -> Option<&Path> {
        match self {
            Self::Serial(path) | Self::Keys(path) => Some(path),
            Self::Net { .. } => None,
        }
    }

    /// The same port by the name that all of its names lead to: two names of one device are the same port.
    #[must_use]
    pub fn resolved(&self) -> Self {
        let real = |path: &PathBuf| path.canonicalize().unwrap_or_else(|_| path.clone());
        match self {
            Self::Serial(path) => Self::Serial(real(path)),
            Self::Keys(path) => Self::Keys(real(path)),
            Self::Net { host, port } => Self::Net { host: host.to_ascii_lowercase(), port: *port },
        }
    }

    /// The same kind of port with another device.
    #[must_use]
    pub fn with_device(&self, path: PathBuf) -> Self {
        match self {
            Self::Serial(_) => Self::Serial(path),
            Self::Keys(_) => Self::Keys(path),
            Self::Net { .. } => self.clone(),
        }
    }
}

/// `HOST:PORT`, where an address of six groups stands in brackets.
fn net(text: &str) -> Result<PortName, NoPort> {
    let wrong = |what: &str| NoPort { text: format!("port \"tcp:{text}\" {what}"), hint: NET_HINT };
    if text.starts_with("//") {
        return Err(wrong("has slashes"));
    }
    let Some((host, port)) = text.rsplit_once(':') else {
        return Err(wrong("does not say which port of the server"));
    };
    let bare = host.strip_prefix('[').and_then(|host| host.strip_suffix(']'));
    if bare.is_none() && host.contains(':') {
        return Err(wrong("has more than one colon; an address with colons stands in brackets"));
    }
    let host = bare.unwrap_or(host);
    let fits = |letter: char| letter.is_ascii_alphanumeric() || ".-_:%".contains(letter);
    if host.is_empty() || host.len() > LONGEST_HOST || !host.chars().all(fits) {
        return Err(wrong("names no host"));
    }
    match port.parse() {
        Ok(port) if port > 0 => Ok(PortName::Net { host: host.to_owned(), port }),
        Ok(_) | Err(_) => Err(wrong("has no port number from 1 to 65535")),
    }
}

impl fmt::Display for PortName {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Serial(path) => write!(f, "{}", path.display()),
            Self::Keys(path) => write!(f, "keys:{}", path.display()),
            Self::Net { host, port } if host.contains(':') => write!(f, "tcp:[{host}]:{port}"),
            Self::Net { host, port } => write!(f, "tcp:{host}:{port}"),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn parse(text: &str) -> Result<PortName, NoPort> {
        PortName::parse(text, Path::new("/base"))
    }

    #[test]
    fn a_name_says_how_the_port_is_read_and_comes_back_as_written() {
        for text in [
            "/dev/ttyS0",
            "keys:/dev/input/by-id/a-event-kbd",
            "tcp:192.0.2.7:4001",
            "tcp:[2001:db8::7]:65535",
        ] {
            assert_eq!(parse(text).unwrap().to_string(), text);
        }
        assert_eq!(parse("ports/one").unwrap(), PortName::Serial("/base/ports/one".into()));
        assert_eq!(parse("keys:one").unwrap(), PortName::Keys("/base/one".into()));
        let net = parse("tcp:Gauges.example:1").unwrap();
        assert_eq!(
            (net.device(), net.resolved().to_string()),
            (None, "tcp:gauges.example:1".to_owned())
        );
    }

    #[test]
    fn what_names_no_port_is_told_with_what_to_write() {
        for (text, words) in [
            ("tcp:", "does not say which port"),
            ("tcp:host", "does not say which port"),
            ("tcp:host:", "no port number"),
            ("tcp:host:0", "no port number"),
            ("tcp:host:65536", "no port number"),
            ("tcp:host:4001x", "no port number"),
            ("tcp::4001", "names no host"),
            ("tcp:ho st:4001", "names no host"),
            ("tcp://host:4001", "has slashes"),
            ("tcp:2001:db8::7:4001", "in brackets"),
            ("keys:", "names no device"),
            ("", "names no device"),
            ("/dev/input/event3", "is an input device"),
        ] {
            let told = parse(text).unwrap_err();
            assert!(
                told.text.contains(words) && told.hint.starts_with("write"),
                "{text}: {told:?}"
            );
        }
    }
}
