//! Where the page is offered, and to whom: on this machine alone, to whoever knows a token, or to the web server in
//! front of it.

use std::fmt::Write as _;
use std::io;
use std::net::{IpAddr, Ipv4Addr, SocketAddr};
use std::os::unix::fs::MetadataExt;
use std::path::{Path, PathBuf};

use sha2::{Digest, Sha256};
use thiserror::Error;

/// The port of the page where none is named; no other service is registered under it (from memory).
const PORT: u16 = 8480;
/// The fewest characters of a token: with 16 hexadecimal ones there are 2^64 of them, and each try costs a second.
const LEAST_TOKEN: usize = 16;

/// Where the page is offered.
#[derive(Debug, Clone)]
pub struct Door {
    pub(crate) way: Way,
    pub(crate) token: Option<Token>,
}

#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum Way {
    /// An address of this machine.
    Address(SocketAddr),
    /// A socket in the file system, for a web server on this machine.
    Socket(PathBuf),
}

/// Why the page cannot be offered there.
#[derive(Debug, Error)]
pub enum DoorError {
    /// No address.
    #[error("{0:?} is no address; write it as 127.0.0.1:8480 or [::1]:8480")]
    Address(String),
    /// Other machines could look without being asked who they are.
    #[error("at {0} everyone in the network could read the record: that needs --token-file FILE")]
    Open(SocketAddr),
    /// The file of the token cannot be read.
    #[error("cannot read the token in {}: {error}", path.display())]
    NoToken {
        /// The file.
        path: PathBuf,
        /// Why.
        error: io::Error,
    },
    /// The token can be guessed.
    #[error("the token in {} is too short or has other signs than letters and digits", .0.display())]
    WeakToken(PathBuf),
    /// The token is no secret.
    #[error("everyone on this machine can read the token in {}", .0.display())]
    ReadableToken(PathBuf),
    /// Somebody is there already.
    #[error("{place}: {error}")]
    Taken {
        /// Where.
        place: String,
        /// Why.
        error: io::Error,
    },
}

impl DoorError {
    /// What to do.
    #[must_use]
    pub const fn hint(&self) -> &'static str {
        match self {
            Self::Address(_) => "leave --listen out for 127.0.0.1:8480",
            Self::Open(_) => {
                "make one with: (umask 077; head -c 24 /dev/urandom | base32 > page.token); or leave --listen out, or put \
                 a web server that asks for names in front: --socket PATH"
            }
            Self::NoToken { .. } => "name a file with the token as its only line",
            Self::WeakToken(_) => {
                "it needs 16 letters and digits or more: (umask 077; head -c 24 /dev/urandom | base32 > page.token)"
            }
            Self::ReadableToken(_) => "chmod o-rwx that file, and take a new token",
            Self::Taken { .. } => {
                "another page may run there; name another place with --listen ADDRESS:PORT or --socket PATH"
            }
        }
    }
}

impl Door {
    /// Where the page is to be offered: at an address (this machine alone where none is named), or at a socket.
    ///
    /// # Errors
    /// What is no address; other machines let in without a token; a token that is none.
    pub fn new(
        listen: Option<&str>,
        socket: Option<&Path>,
        token_file: Option<&Path>,
    ) -> Result<Self, DoorError> {
        let token = token_file.map(Token::read).transpose()?;
        if let Some(path) = socket {
            let path = std::path::absolute(path).unwrap_or_else(|_| path.to_owned());
            return Ok(Self { way: Way::Socket(path), token });
        }
        let address = listen.map_or_else(|| Ok((Ipv4Addr::LOCALHOST, PORT).into()), address)?;
        if !is_own(address.ip()) && token.is_none() {
            return Err(DoorError::Open(address));
        }
        Ok(Self { way: Way::Address(address), token })
    }

    /// Whether a request was sent to a name of this machine. A page of elsewhere can let its own name point here;
    /// the browser then sends that name. With a token, or behind a web server, other names are right.
    pub(crate) fn answers_to(&self, host: Option<&str>) -> bool {
        let Way::Address(address) = &self.way else { return true };
        if !is_own(address.ip()) {
            return true;
        }
        let Some(host) = host else { return false };
        let name = match host.rsplit_once(':') {
            Some((name, port)) if port.bytes().all(|byte| byte.is_ascii_digit()) => name,
            Some(_) | None => host,
        };
        let bare = name.trim_start_matches('[').trim_end_matches(']');
        name.eq_ignore_ascii_case("localhost")
            || bare.parse::<IpAddr>().is_ok_and(|ip| is_own(ip) || ip == address.ip())
    }

    /// What is offered and to whom, in a sentence or two. `place` is where it is.
    pub(crate) fn sentence(&self, place: &str, name: &str) -> String {
        let what = format!("jobs, customers, readings, verdicts and alerts of {name}");
        let whom = match (&self.way, &self.token) {
            (Way::Socket(_), _) => {
                "whoever the web server in front of it lets in, and everyone in the group of that socket,"
            }
            (Way::Address(address), Some(_)) if !is_own(address.ip()) => {
                "everyone who knows the token, and whoever can listen to the network in between (it is not encrypted),"
            }
            (Way::Address(_), Some(_)) => "everyone on this machine who knows the token",
            (Way::Address(_), None) => "everyone on this machine",
        };
        format!(
            "The page is at {place}: {whom} can read {what} there. Nothing can be changed there."
        )
    }
}

/// Whether an address is this machine's own, which no other machine reaches.
fn is_own(ip: IpAddr) -> bool {
    ip.to_canonical().is_loopback()
}

fn address(text: &str) -> Result<SocketAddr, DoorError> {
    let bare = || text.parse::<IpAddr>().ok().map(|ip| (ip, PORT).into());
    text.parse().ok().or_else(bare).ok_or_else(|| DoorError::Address(text.to_owned()))
}

/// The secret that lets a person in.
#[derive(Clone)]
pub struct Token {
    token: [u8; 32],
    /// What the browser keeps in its place: it lets in here, and says nothing about the token.
    cookie: String,
}

impl std::fmt::Debug for Token {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("Token")
    }
}

impl Token {
    fn read(path: &Path) -> Result<Self, DoorError> {
        let failed = |error| DoorError::NoToken { path: path.to_owned(), error };
        let text = std::fs::read_to_string(path).map_err(failed)?;
        let about = std::fs::metadata(path).map_err(failed)?;
        if about.mode() & 0o007 != 0 {
            return Err(DoorError::ReadableToken(path.to_owned()));
        }
        Self::of(text.trim()).ok_or_else(|| DoorError::WeakToken(path.to_owned()))
    }

    /// The token with this text; `None` where it could be guessed or does not fit into an address.
    fn of(text: &str) -> Option<Self> {
        let fits = |byte: u8| byte.is_ascii_alphanumeric() || b"-_.~=".contains(&byte);
        if text.len() < LEAST_TOKEN || text.len() > 512 || !text.bytes().all(fits) {
            return None;
        }
        let cookie = hex(&digest(format!("cookie of the page\n{text}").as_bytes()));
        Some(Self { token: digest(text.as_bytes()), cookie })
    }

    /// Whether a text is the token. Digests are compared, and all of them: how long it takes says nothing.
    pub(crate) fn is(&self, text: &str) -> bool {
        same(&digest(text.as_bytes()), &self.token)
    }

    /// Whether the cookies of a request let its browser in.
    pub(crate) fn lets_in(&self, cookies: &str) -> bool {
        let own = cookies.split(';').filter_map(|one| one.trim().split_once('='));
        let mut given = own.filter(|(name, _)| *name == COOKIE).map(|(_, value)| value);
        let kept = digest(self.cookie.as_bytes());
        given.any(|value| same(&digest(value.as_bytes()), &kept))
    }

    /// What the browser is told to keep: for this page alone, out of reach of scripts and of other pages, until the
    /// browser is closed.
    pub(crate) fn to_keep(&self) -> String {
        format!("{COOKIE}={}; Path=/; HttpOnly; SameSite=Strict", self.cookie)
    }
}

/// The name of the cookie.
const COOKIE: &str = "tenths-page";

pub(crate) fn digest(bytes: &[u8]) -> [u8; 32] {
    Sha256::digest(bytes).into()
}

pub(crate) fn hex(bytes: &[u8]) -> String {
    bytes.iter().fold(String::new(), |mut text, byte| {
        write!(text, "{byte:02x}").expect("writing to a text cannot fail");
        text
    })
}

fn same(one: &[u8; 32], other: &[u8; 32]) -> bool {
    let differs = one.iter().zip(other).fold(0, |differs, (one, other)| differs | (one ^ other));
    std::hint::black_box(differs) == 0
}

#[cfg(test)]
mod tests {
    use super::*;

    fn door(listen: &str) -> Result<Door, DoorError> {
        Door::new(Some(listen), None, None)
    }

    #[test]
    fn other_machines_are_let_in_only_with_a_token() {
        for own in ["127.0.0.1:8480", "127.0.0.1", "[::1]:9000", "::1", "[::ffff:127.0.0.1]:80"] {
            assert!(door(own).is_ok(), "{own}");
        }
        for open in ["0.0.0.0:8480", "192.168.1.4", "[::]:8480"] {
            assert!(matches!(door(open), Err(DoorError::Open(_))), "{open}");
        }
        assert!(matches!(door("bench:8480"), Err(DoorError::Address(_))));
    }

    #[test]
    fn only_names_of_this_machine_are_answered_to() {
        let own = door("127.0.0.1:8480").unwrap();
        for host in ["127.0.0.1:8480", "localhost:8480", "LOCALHOST", "[::1]:8480", "127.0.0.1"] {
            assert!(own.answers_to(Some(host)), "{host}");
        }
        for host in [
            "evil.example",
            "127.0.0.1.evil.example:8480",
            "localhost.evil.example",
            "",
            "10.0.0.1:8480",
            "a:b",
        ] {
            assert!(!own.answers_to(Some(host)), "{host}");
        }
        assert!(!own.answers_to(None));
    }

    #[test]
    fn a_token_is_long_and_lets_in_by_itself_or_by_its_cookie() {
        for weak in ["", "short", "123456789012345", "sixteen letters!", "ümlautümlautümlaut"] {
            assert!(Token::of(weak).is_none(), "{weak}");
        }
        let token = Token::of("ABCDEFGH23456777").unwrap();
        assert!(token.is("ABCDEFGH23456777"));
        assert!(!token.is("ABCDEFGH23456778") && !token.is(""));
        let kept = token.to_keep();
        let cookie = kept.split(';').next().unwrap();
        assert!(token.lets_in(cookie) && token.lets_in(&format!("a=b; {cookie}; c")));
        assert!(!token.lets_in("tenths-page=ABCDEFGH23456777") && !token.lets_in(""));
        assert!(!kept.contains("ABCDEFGH") && kept.contains("HttpOnly; SameSite=Strict"));
        assert!(!format!("{token:?}").contains(&token.cookie));
    }
}
