//! Why a broker is not told anything, as a sentence, and what to do about it.

use std::io;

use rumqttc::{ConnectReturnCode, ConnectionError, StateError, TlsError};

use crate::wrong_certificate;

/// Why the connection is not there.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Trouble {
    pub(super) text: String,
    pub(super) hint: &'static str,
    /// Whether it lasts until a person has mended something.
    pub(super) held: bool,
}

const LOOK_AT_TABLE: &str = "look at [shop.broker] in bench.toml, and whether the broker runs";
const LOOK_AT_LOG: &str = "look at the log of the broker";

impl Trouble {
    pub(super) fn new(text: impl Into<String>, hint: &'static str) -> Self {
        Self { text: text.into(), hint, held: false }
    }

    /// The same, where it does not pass by itself.
    pub(super) fn held(self) -> Self {
        Self { held: true, ..self }
    }

    /// The connection ended again and again as soon as it was made.
    pub(super) fn pushed_out(bench: &str) -> Self {
        let text = format!(
            "the connection ends as soon as it is made, as if another bench were named {bench}, too"
        );
        Self::new(text, "give each bench of the shop its own name: bench = \"…\" under [shop]")
            .held()
    }

    /// What was sent is not acknowledged.
    pub(super) fn silent() -> Self {
        Self::new("the broker acknowledges nothing", LOOK_AT_LOG)
    }

    /// What went wrong with a connection to `host`.
    pub(super) fn of(error: &ConnectionError, host: &str) -> Self {
        match error {
            ConnectionError::ConnectionRefused(
                ConnectReturnCode::BadUserNamePassword | ConnectReturnCode::NotAuthorized,
            ) => Self::new(
                "the broker refuses the user or the password",
                "look at user and secret under [shop.broker], and at the users of the broker",
            )
            .held(),
            ConnectionError::ConnectionRefused(code) => {
                Self::new(format!("the broker refuses the connection: {code:?}"), LOOK_AT_LOG)
            }
            ConnectionError::Tls(error) => Self::of_tls(error, host),
            ConnectionError::Io(error) | ConnectionError::MqttState(StateError::Io(error)) => {
                Self::of_io(error)
            }
            ConnectionError::NetworkTimeout | ConnectionError::FlushTimeout => {
                Self::new("the broker does not answer", LOOK_AT_TABLE)
            }
            ConnectionError::MqttState(StateError::ConnectionAborted)
            | ConnectionError::RequestsDone => Self::ended(),
            ConnectionError::MqttState(StateError::AwaitPingResp) => {
                Self::new("the broker does not answer any more", LOOK_AT_LOG)
            }
            ConnectionError::MqttState(error) => {
                Self::new(format!("what the broker sent is not MQTT: {error}"), LOOK_AT_TABLE)
            }
            ConnectionError::NotConnAck(_) => {
                Self::new("what answers there is no broker", LOOK_AT_TABLE)
            }
        }
    }

    fn ended() -> Self {
        Self::new("the broker ended the connection", LOOK_AT_LOG)
    }

    #[expect(clippy::wildcard_enum_match_arm, reason = "the standard library's open list")]
    fn of_io(error: &io::Error) -> Self {
        use io::ErrorKind::{ConnectionAborted, ConnectionReset, UnexpectedEof};
        match error.kind() {
            io::ErrorKind::ConnectionRefused => Self::new("nobody answers there", LOOK_AT_TABLE),
            ConnectionReset | ConnectionAborted | UnexpectedEof => Self::ended(),
            _ => Self::new(format!("it cannot be reached: {error}"), LOOK_AT_TABLE),
        }
    }

    fn of_tls(error: &TlsError, host: &str) -> Self {
        match wrong_certificate(error, host) {
            Some(what) => Self::new(
                format!("the broker's certificate does not fit: {what}"),
                "look at host and ca under [shop.broker]: ca names who signed the broker's certificate",
            )
            .held(),
            None => Self::new(format!("no TLS with the broker: {error}"), LOOK_AT_TABLE),
        }
    }
}
