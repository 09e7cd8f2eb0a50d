//! A line of `record/1`: a row of one job with its number, its times and who was there, and the fact as it
//! is stored (`bench::Body`). Lengths are whole picometres and times microseconds: `wall_us` since the
//! start of 1970 UTC, `mono_us` since the machine was switched on.

use std::borrow::Cow;

use serde::{Deserialize, Serialize};
use serde_json::value::RawValue;

use ::record::Caller;
use bench::Row;
use bench::row::Body;
use quantity::Name;

pub(super) const SCHEMA: &str = "record/1";

/// Who asked for a row, on the bench where it was written.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct CallerFact {
    pub(super) uid: u32,
    pub(super) pid: u32,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub(super) login: Option<String>,
}

/// One line.
#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct FactLine<'a> {
    pub(super) schema: Cow<'a, str>,
    pub(super) seq: u64,
    pub(super) wall_us: i64,
    pub(super) mono_us: u64,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub(super) by: Option<Name>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub(super) caller: Option<CallerFact>,
    /// The word for the kind of fact.
    pub(super) fact: Cow<'a, str>,
    /// The fact itself.
    pub(super) says: Box<RawValue>,
}

impl FactLine<'static> {
    /// The line for a row. `None` where the row belongs to no job, such as what a station has on its
    /// screen.
    pub(super) fn of(row: &Row, caller: Option<&Caller>) -> Option<Self> {
        if let Body::JobActive { .. }
        | Body::PersonAt { .. }
        | Body::CheckActive { .. }
        | Body::FileRefused(_) = row.body
        {
            return None;
        }
        Some(Self {
            schema: SCHEMA.into(),
            seq: row.seq.0,
            wall_us: row.at.wall.micros(),
            mono_us: row.at.mono_us,
            by: row.by.clone(),
            caller: caller.map(|Caller { uid, pid, login, elsewhere: _ }| CallerFact {
                uid: *uid,
                pid: *pid,
                login: login.clone(),
            }),
            fact: row.body.kind().into(),
            says: serde_json::value::to_raw_value(&row.body).expect("facts are plain structures"),
        })
    }
}

/// Whether a schema is the one this program knows.
pub(super) fn known_schema(found: &str, known: &str) -> Result<(), String> {
    if found == known {
        return Ok(());
    }
    let (kind, version) = known.rsplit_once('/').unwrap_or((known, ""));
    let number = |text: &str| text.parse::<u32>().ok();
    let theirs = found.strip_prefix(kind).and_then(|rest| rest.strip_prefix('/')).and_then(number);
    match (theirs, number(version)) {
        (Some(theirs), Some(ours)) if theirs > ours => {
            Err(format!("it is {found}, this program knows {known}: use a newer tenths"))
        }
        (Some(theirs), Some(ours)) if theirs < ours => Err(format!(
            "it is {found}, written by an earlier version of tenths; this one reads {known} and \
             cannot convert it: keep the folder, that version can read it"
        )),
        _ => Err(format!("it is {found:?} where {known} is expected")),
    }
}
