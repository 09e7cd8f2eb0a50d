//! `alert/1`.

use serde::{Deserialize, Serialize};

use bench::row::AlertKind;
use quantity::Wall;
use store::AlertRecord;

use super::text::json_text;

/// One alert as the outside sees it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[expect(missing_docs, reason = "the fields are those of the published line")]
pub struct AlertLine {
    pub schema: String,
    pub id: u64,
    pub at: String,
    pub level: String,
    pub kind: String,
    pub job: Option<String>,
    pub part: Option<String>,
    pub check: Option<String>,
    pub gauge: Option<String>,
    pub text: String,
    pub cleared_at: Option<String>,
    pub acked_at: Option<String>,
    pub acked_by: Option<String>,
    /// Whose process said that it was seen, where one did.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub acked_caller: Option<super::CallerLine>,
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
            level: alert.level.text().to_owned(),
            kind: alert.kind.text().to_owned(),
            job: record.place.as_ref().map(|place| place.job.to_string()),
            part: check.map(|check| check.part.to_string()),
            check: check.map(|check| check.check.to_string()),
            gauge: alert.about.clone().filter(|_| tells_of_a_gauge(alert.kind)),
            text: alert.text.clone(),
            cleared_at: time(record.cleared_at),
            acked_at: time(record.acked_at),
            acked_by: record.acked_by.as_ref().map(ToString::to_string),
            acked_caller: record.acked_caller.as_ref().map(super::CallerLine::from),
        }
    }
}

/// Whether what an alert is about is a gauge, and not a file, a folder or the disk.
const fn tells_of_a_gauge(kind: AlertKind) -> bool {
    match kind {
        AlertKind::FileRefused
        | AlertKind::Pedal
        | AlertKind::Foot
        | AlertKind::FolderLost
        | AlertKind::StorageFailing
        | AlertKind::RecordDamaged
        | AlertKind::RecordBegun
        | AlertKind::RowsLost
        | AlertKind::Stack
        | AlertKind::Scan
        | AlertKind::DeviceLost
        | AlertKind::EndedElsewhere
        | AlertKind::ReloadRefused
        | AlertKind::SocketLost
        | AlertKind::SpaceLow => false,
        AlertKind::Out
        | AlertKind::TurnLost
        | AlertKind::NotSeated
        | AlertKind::Undecided
        | AlertKind::OutSoFar
        | AlertKind::WrongPart
        | AlertKind::Pair
        | AlertKind::Regrind
        | AlertKind::PastFlat
        | AlertKind::WasGround
        | AlertKind::WildTouch
        | AlertKind::MostlyTilt
        | AlertKind::HalfTurn
        | AlertKind::NotClosed
        | AlertKind::Overdue
        | AlertKind::UnitMixed
        | AlertKind::EndOfTravel
        | AlertKind::TooCoarse
        | AlertKind::OwnReturn
        | AlertKind::GaugeLost
        | AlertKind::StreamStopped
        | AlertKind::SetupChanged
        | AlertKind::DamagedFrames
        | AlertKind::Flooding
        | AlertKind::BatteryLow
        | AlertKind::Unclaimed => true,
    }
}

/// An alert as one line of JSON, without its end.
#[must_use]
pub fn alert_line(record: &AlertRecord) -> String {
    json_text(&AlertLine::from(record))
}
