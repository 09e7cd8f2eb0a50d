//! What is told to a broker as a state: `gauge/1` and `presence/1`. Events go there as `feed/1`, open alerts as
//! `alert/1`.

use serde::{Deserialize, Serialize};

use super::status::{GaugeState, GaugeStatus};
use super::text::json_text;

/// The state of a gauge, as a broker keeps it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(
    feature = "schemas",
    derive(schemars::JsonSchema),
    schemars(transform = ::words::schema::forms().called("gauge/1").of(::words::schema::time, "at").of(::words::schema::name, "name"))
)]
pub struct GaugeLine {
    /// The name of this shape: `gauge/1`.
    pub schema: String,
    /// The name of the bench in the shop.
    pub bench: String,
    /// The name of the gauge.
    pub name: String,
    /// When it was found so, RFC 3339, UTC.
    pub at: String,
    /// Whether it can be read.
    pub state: ToldState,
    /// What `status/1` says of it; `null` where the state is `unknown`.
    pub status: Option<GaugeStatus>,
}

/// Whether a gauge can be read, as far as that is known.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
#[cfg_attr(feature = "schemas", derive(schemars::JsonSchema))]
pub enum ToldState {
    /// It can be read.
    Live,
    /// Its port was never there.
    Absent,
    /// Its port was there and has disappeared.
    Lost,
    /// Its port may not be opened, or another program has it open.
    Refused,
    /// It has no port: it is read by eye or from files.
    NoPort,
    /// The service of the bench does not answer.
    Unknown,
}

impl From<GaugeState> for ToldState {
    fn from(state: GaugeState) -> Self {
        match state {
            GaugeState::Live => Self::Live,
            GaugeState::Absent => Self::Absent,
            GaugeState::Lost => Self::Lost,
            GaugeState::Refused => Self::Refused,
            GaugeState::NoPort => Self::NoPort,
        }
    }
}

impl GaugeLine {
    /// The line of a gauge of `bench`; without a status its state is unknown.
    #[must_use]
    pub fn new(bench: &str, name: &str, at: String, status: Option<GaugeStatus>) -> Self {
        Self {
            schema: "gauge/1".to_owned(),
            bench: bench.to_owned(),
            name: name.to_owned(),
            at,
            state: status.as_ref().map_or(ToldState::Unknown, |status| status.state.into()),
            status,
        }
    }

    /// The line as JSON, without its end.
    #[must_use]
    pub fn line(&self) -> String {
        json_text(self)
    }
}

/// Whether anybody tells of a bench, as a broker keeps it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(
    feature = "schemas",
    derive(schemars::JsonSchema),
    schemars(transform = ::words::schema::forms().called("presence/1").of(::words::schema::time, "at"))
)]
pub struct PresenceLine {
    /// The name of this shape: `presence/1`.
    pub schema: String,
    /// The name of the bench in the shop.
    pub bench: String,
    /// Whether somebody tells of it.
    pub state: Presence,
    /// When that was said, RFC 3339, UTC; `null` in a last will, which the broker says on its own.
    pub at: Option<String>,
    /// Whether the service of the bench answers; `null` where it was not asked yet, and in `gone`.
    pub service: Option<bool>,
    /// The feed that the events belong to: a restored record has another, and is told from its first line;
    /// `null` where the record was not read yet.
    pub feed: Option<String>,
}

/// Whether somebody tells of a bench.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
#[cfg_attr(feature = "schemas", derive(schemars::JsonSchema))]
pub enum Presence {
    /// `tenths forward` is connected.
    Here,
    /// It was ended, or the connection broke.
    Gone,
}

impl PresenceLine {
    /// That somebody tells of `bench`.
    #[must_use]
    pub fn here(bench: &str, at: String, service: Option<bool>, feed: Option<String>) -> Self {
        Self {
            schema: "presence/1".to_owned(),
            bench: bench.to_owned(),
            state: Presence::Here,
            at: Some(at),
            service,
            feed,
        }
    }

    /// That nobody does; without a time it is a last will.
    #[must_use]
    pub fn gone(bench: &str, at: Option<String>) -> Self {
        let schema = "presence/1".to_owned();
        let bench = bench.to_owned();
        Self { schema, bench, state: Presence::Gone, at, service: None, feed: None }
    }

    /// The line as JSON, without its end.
    #[must_use]
    pub fn line(&self) -> String {
        json_text(self)
    }
}
