//! How the links of a bench to its shop are, as `status/1` shows it and as each link keeps it.

use serde::{Deserialize, Serialize};

use quantity::Wall;

/// How one link is: to the record of the shop, or to a broker.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(
    feature = "schemas",
    derive(schemars::JsonSchema),
    schemars(transform = ::words::schema::forms().of(::words::schema::time, "since told_at"))
)]
pub struct LinkStatus {
    /// What it leads to.
    pub link: LinkKind,
    /// The server, as the configuration names it.
    pub to: String,
    /// How it is.
    pub state: LinkState,
    /// Since when, RFC 3339, UTC.
    pub since: String,
    /// The newest number the server has acknowledged: a row of the record, or for a broker a line of the feed.
    pub newest: u64,
    /// When it did, RFC 3339, UTC; `null` where it has acknowledged nothing yet.
    pub told_at: Option<String>,
    /// How many wait, as far as it is known.
    pub waiting: u64,
    /// What is wrong; `null` where nothing is.
    pub wrong: Option<String>,
    /// What to do about it.
    pub hint: Option<String>,
    /// What is strange and does no harm, as a clock that is off.
    #[serde(default)]
    pub remark: Option<String>,
}

/// What a link leads to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
#[cfg_attr(feature = "schemas", derive(schemars::JsonSchema))]
pub enum LinkKind {
    /// The record of the shop.
    Database,
    /// A broker, for events.
    Broker,
}

/// How a link is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
#[cfg_attr(feature = "schemas", derive(schemars::JsonSchema))]
pub enum LinkState {
    /// It tries to reach the server for the first time.
    Connecting,
    /// It is sending what waits.
    Sending,
    /// Everything was acknowledged.
    Level,
    /// Something is wrong that may pass; it is tried again.
    Broken,
    /// Something is wrong that a person has to mend; it is tried again.
    Held,
    /// `tenths forward` does not run.
    Ended,
}

impl LinkState {
    /// Whether something is wrong with it.
    #[must_use]
    pub const fn is_in_trouble(self) -> bool {
        matches!(self, Self::Broken | Self::Held)
    }
}

impl LinkStatus {
    /// A link that has sent nothing yet.
    #[must_use]
    pub fn begun(link: LinkKind, to: String, since: Wall) -> Self {
        Self {
            link,
            to,
            state: LinkState::Connecting,
            since: since.to_string(),
            newest: 0,
            told_at: None,
            waiting: 0,
            wrong: None,
            hint: None,
            remark: None,
        }
    }

    /// A sentence about it, without its full stop.
    #[must_use]
    pub fn words(&self) -> String {
        let what = match self.link {
            LinkKind::Database => "shop's record",
            LinkKind::Broker => "broker",
        };
        let waiting = match self.waiting {
            0 => String::new(),
            1 => ", 1 waits".to_owned(),
            many => format!(", {many} wait"),
        };
        let state = match self.state {
            LinkState::Connecting => "connecting".to_owned(),
            LinkState::Sending => "sending".to_owned(),
            LinkState::Level => "everything was sent".to_owned(),
            LinkState::Broken | LinkState::Held => {
                format!("NOT REACHED: {}", self.wrong.as_deref().unwrap_or("unknown why"))
            }
            LinkState::Ended => "nothing is sent: tenths forward does not run".to_owned(),
        };
        let remark = self.remark.as_ref().map_or_else(String::new, |remark| format!("; {remark}"));
        format!("{what} {}: {state}{waiting}{remark}", self.to)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_link_says_how_it_is() {
        let link = |state, waiting, wrong: Option<&str>| LinkStatus {
            link: LinkKind::Broker,
            to: "broker.example:8883".to_owned(),
            state,
            since: "2027-03-01T06:00:00.000Z".to_owned(),
            newest: 7,
            told_at: None,
            waiting,
            wrong: wrong.map(str::to_owned),
            hint: None,
            remark: None,
        };
        assert_eq!(
            link(LinkState::Level, 0, None).words(),
            "broker broker.example:8883: everything was sent"
        );
        assert_eq!(
            link(LinkState::Broken, 2, Some("nobody answers")).words(),
            "broker broker.example:8883: NOT REACHED: nobody answers, 2 wait"
        );
    }
}
