//! `alert/1`.

use serde::{Deserialize, Serialize};

use ::record::AlertRecord;
use bench::row::{AlertKind, Level};
use quantity::Wall;

/// One alert.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(
    feature = "schemas",
    derive(schemars::JsonSchema),
    schemars(transform = ::words::schema::forms().called("alert/1").of(::words::schema::time, "at cleared_at acked_at").of(::words::schema::name, "job part check gauge"))
)]
pub struct AlertLine {
    /// The name of this shape: `alert/1`.
    pub schema: String,
    /// Its number in the record; later ones have higher numbers.
    pub id: u64,
    /// When it was raised, RFC 3339, UTC.
    pub at: String,
    /// How urgent it is.
    pub level: Level,
    /// What kind of alert it is.
    pub kind: AlertKind,
    /// The job it is about; `null` where it is about no job.
    pub job: Option<String>,
    /// The part it is about; `null` where it is about no check.
    pub part: Option<String>,
    /// The check it is about.
    pub check: Option<String>,
    /// The gauge it is about; `null` where it is about no gauge.
    pub gauge: Option<String>,
    /// The message for a person to read.
    pub text: String,
    /// When its cause was over, RFC 3339, UTC; `null` while it lasts.
    pub cleared_at: Option<String>,
    /// When somebody marked it as seen, RFC 3339, UTC; `null` before that.
    pub acked_at: Option<String>,
    /// Who marked it as seen.
    pub acked_by: Option<String>,
    /// The process that marked it as seen, if one did.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub acked_caller: Option<super::CallerLine>,
    /// The bench whose record it is in; only in a look-up over the whole shop.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub bench: Option<String>,
}

impl From<&AlertRecord> for AlertLine {
    fn from(record: &AlertRecord) -> Self {
        let alert = &record.alert;
        let check = record.place.as_ref().and_then(|place| place.check.as_ref());
        let time = |time: Option<Wall>| time.map(|time| time.to_string());
        Self {
            schema: "alert/1".to_owned(),
            id: record.id.0,
            at: record.at.to_string(),
            level: alert.level,
            kind: alert.kind,
            job: record.place.as_ref().map(|place| place.job.to_string()),
            part: check.map(|check| check.part.to_string()),
            check: check.map(|check| check.check.to_string()),
            gauge: alert.gauge().map(ToString::to_string),
            text: alert.text.clone(),
            cleared_at: time(record.cleared_at),
            acked_at: time(record.acked_at),
            acked_by: record.acked_by.as_ref().map(ToString::to_string),
            acked_caller: record.acked_caller.as_ref().map(super::CallerLine::from),
            bench: None,
        }
    }
}
