//! `reading/1`.

use serde::{Deserialize, Serialize};

use ::words::size;
use store::{ReadingRecord, ReadingSource};

use super::CallerLine;
use super::text::json_text;

/// One reading as the outside sees it. Lengths are in `unit`; `value` has the places sent.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[expect(missing_docs, reason = "the fields are those of the published line")]
pub struct ReadingLine {
    pub schema: String,
    pub id: u64,
    pub at: String,
    pub gauge: String,
    pub source: String,
    pub file: Option<String>,
    pub row: Option<u32>,
    pub job: Option<String>,
    pub part: Option<String>,
    pub check: Option<String>,
    pub attempt: Option<u32>,
    pub position: Option<u32>,
    pub angle_deg: Option<f64>,
    pub radius: Option<String>,
    /// The distance along the axis, where the check has stations.
    pub station: Option<String>,
    pub value: String,
    pub unit: String,
    pub as_sent: String,
    pub state: String,
    pub why: Option<String>,
    /// Who touched.
    pub by: Option<String>,
    /// Who took it back.
    pub voided_by: Option<String>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub voided_caller: Option<CallerLine>,
    /// Whose process asked for it, where one did.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub caller: Option<CallerLine>,
}

impl From<&ReadingRecord> for ReadingLine {
    fn from(record: &ReadingRecord) -> Self {
        let (source, file, row) = match &record.source {
            ReadingSource::Serial => ("serial", None, None),
            ReadingSource::Drop { file, line } => ("drop", Some(file.clone()), Some(*line)),
            ReadingSource::Keyed => ("keyed", None, None),
        };
        let check = record.place.as_ref().and_then(|place| place.check.as_ref());
        Self {
            schema: "reading/1".to_owned(),
            id: record.id.0,
            at: record.at.to_string(),
            gauge: record.gauge.to_string(),
            source: source.to_owned(),
            file,
            row,
            job: record.place.as_ref().map(|place| place.job.to_string()),
            part: check.map(|check| check.part.to_string()),
            check: check.map(|check| check.check.to_string()),
            attempt: check.map(|check| check.number),
            position: record.position,
            angle_deg: record.angle_deg,
            radius: record.radius.map(|radius| size(radius, record.value.unit)),
            station: record.station.map(|station| size(station, record.value.unit)),
            value: record.value.number(),
            unit: record.value.unit.symbol().to_owned(),
            as_sent: record.as_sent.clone(),
            state: record.state.text().to_owned(),
            why: record.why.clone(),
            by: record.by.as_ref().map(ToString::to_string),
            voided_by: record.voided_by.as_ref().map(ToString::to_string),
            voided_caller: record.voided_caller.as_ref().map(CallerLine::from),
            caller: record.caller.as_ref().map(CallerLine::from),
        }
    }
}

/// A reading as one line of JSON, without its end.
#[must_use]
pub fn reading_line(record: &ReadingRecord) -> String {
    json_text(&ReadingLine::from(record))
}
