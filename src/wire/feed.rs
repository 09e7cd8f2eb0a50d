//! `feed/1`, and the other lines on a connection that follows the feed.

use serde::{Deserialize, Serialize};

use ::record::{FeedEvent, FeedRecord, VerdictRecord};
use ::words::Told;
use quantity::Unit;

use super::StorageState;
use super::alert::AlertLine;
use super::text::{json_text, line_of};
use super::verdict::VerdictLine;

quantity::worded! {
    /// What a line of the feed tells of.
    #[derive(Debug, Clone, Copy, PartialEq, Eq)]
    pub enum Happening {
        /// An alert was raised.
        Raised = "raised",
        /// Somebody said that an alert was seen.
        Seen = "seen",
        /// What an alert tells of is over.
        Cleared = "cleared",
        /// A verdict was written.
        Verdict = "verdict",
        /// This line of the record cannot be read: `text` says what is damaged.
        Damaged = "damaged",
    }
}

/// One line of the feed. Exactly one of `alert`, `verdict` and `text` is present.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(
    feature = "schemas",
    derive(schemars::JsonSchema),
    schemars(transform = ::words::schema::forms().called("feed/1").of(::words::schema::time, "at"))
)]
pub struct FeedLine {
    /// The name of this shape: `feed/1`.
    pub schema: String,
    /// The feed that the number belongs to: a restored record has another feed.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub feed: String,
    /// Its number in the feed: 1, 2, 3 … without gaps.
    pub seq: u64,
    /// When it happened, RFC 3339, UTC.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub at: String,
    /// What happened.
    pub event: Happening,
    /// The alert that was raised, seen or cleared.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub alert: Option<AlertLine>,
    /// The verdict that was written.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub verdict: Option<VerdictLine>,
    /// Its figures as a person reads them.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub told: Option<ToldLine>,
    /// What is damaged, where the event is `damaged`. Such a line has no time.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub text: Option<String>,
}

/// The figures of a verdict as a person reads them.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schemas", derive(schemars::JsonSchema))]
pub struct ToldLine {
    /// The unit people see.
    pub unit: Unit,
    /// The judged figure, `less than …`, or an answer; `null` where there is none.
    pub value: Option<String>,
    /// The limit, or `… to …`, of a bar with the station, or the answers that conform.
    pub limit: Option<String>,
    /// The expanded uncertainty.
    pub uncertainty: Option<String>,
}

impl ToldLine {
    /// Those of a verdict in the unit people see.
    #[must_use]
    pub fn of(record: &VerdictRecord, unit: Unit) -> Self {
        let Told { value, limit, uncertainty, .. } = record.told(unit);
        Self { unit, value, limit, uncertainty }
    }
}

impl FeedLine {
    /// A line as it is told where people see this unit.
    #[must_use]
    pub fn of(record: &FeedRecord, unit: Unit) -> Self {
        let (event, alert, verdict) = match &record.event {
            FeedEvent::Raised(alert) => (Happening::Raised, Some(AlertLine::from(&**alert)), None),
            FeedEvent::Seen(alert) => (Happening::Seen, Some(AlertLine::from(&**alert)), None),
            FeedEvent::Cleared(alert) => {
                (Happening::Cleared, Some(AlertLine::from(&**alert)), None)
            }
            FeedEvent::Verdict(verdict) => {
                (Happening::Verdict, None, Some(VerdictLine::from(&**verdict)))
            }
            FeedEvent::Damaged(_) => (Happening::Damaged, None, None),
        };
        let text =
            if let FeedEvent::Damaged(text) = &record.event { Some(text.clone()) } else { None };
        let told = if let FeedEvent::Verdict(verdict) = &record.event {
            Some(ToldLine::of(verdict, unit))
        } else {
            None
        };
        Self {
            schema: "feed/1".to_owned(),
            feed: record.feed.to_string(),
            seq: record.seq,
            at: record.at.map_or_else(String::new, |at| at.to_string()),
            event,
            alert,
            verdict,
            told,
            text,
        }
    }
}

/// A line of the feed as JSON, without its line end.
#[must_use]
pub fn feed_line(record: &FeedRecord, unit: Unit) -> String {
    json_text(&FeedLine::of(record, unit))
}

/// The first answer to a request for the feed. The lines that follow have numbers above `from`.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
#[cfg_attr(feature = "schemas", derive(schemars::JsonSchema))]
pub struct Begins {
    /// The number before that of the first line.
    pub from: u64,
    /// The feed that the numbers belong to.
    #[serde(default)]
    pub feed: String,
    /// The newest line of the record when this feed began: 0, or the newest line of the copy that was
    /// restored.
    #[serde(default)]
    pub began: u64,
    /// The newest line.
    #[serde(default)]
    pub newest: u64,
    /// Why it begins at the first line although another number was given.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub anew: Option<Anew>,
}

/// Why a feed begins at its first line for a client that gave a number.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
#[cfg_attr(feature = "schemas", derive(schemars::JsonSchema))]
pub enum Anew {
    /// The number belongs to another feed: a copy of the record was restored.
    AnotherFeed,
    /// There is no line with this number yet.
    PastTheEnd,
}

/// [`Begins`] as a line, without its line end.
#[must_use]
pub fn tail_line(begins: &Begins) -> String {
    line_of("tail/1", begins)
}

/// A line about the record, sent between lines of the feed: it cannot be written (`failing`), runs out of
/// space (`low`), or is fine again (`fine`).
#[must_use]
pub fn storage_line(state: StorageState, text: &str) -> String {
    json_text(&StorageLine { schema: "storage/1".to_owned(), state, text: text.to_owned() })
}

/// News about the record on disk, on a connection that follows the feed.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(
    feature = "schemas",
    derive(schemars::JsonSchema),
    schemars(transform = ::words::schema::forms().called("storage/1"))
)]
pub struct StorageLine {
    /// The name of this shape: `storage/1`.
    pub schema: String,
    /// The present state of the record.
    pub state: StorageState,
    /// The message for a person to read.
    pub text: String,
}

/// The kinds of lines on a connection that follows the feed.
#[derive(Debug, Clone, PartialEq)]
pub enum Said {
    /// Where the feed begins.
    Begins(Begins),
    /// A line of the feed.
    Feed(Box<FeedLine>),
    /// News about the disk.
    Storage(StorageLine),
    /// A refusal.
    Refused(super::Reply),
}

/// Reads such a line. `None` for a kind of line that this program does not know, from a newer service.
///
/// # Errors
/// A sentence about a line that cannot be read.
pub fn parse_said(line: &str) -> Result<Option<Said>, String> {
    #[derive(Deserialize)]
    struct Head {
        schema: String,
    }
    let fault = |error: serde_json::Error| format!("the service sent what cannot be read: {error}");
    let head: Head = serde_json::from_str(line).map_err(fault)?;
    Ok(match head.schema.as_str() {
        "tail/1" => Some(Said::Begins(serde_json::from_str(line).map_err(fault)?)),
        "feed/1" => Some(Said::Feed(Box::new(serde_json::from_str(line).map_err(fault)?))),
        "storage/1" => Some(Said::Storage(serde_json::from_str(line).map_err(fault)?)),
        "error/1" => Some(Said::Refused(super::Reply::parse(line)?)),
        _ => None,
    })
}
