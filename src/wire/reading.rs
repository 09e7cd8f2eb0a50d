//! `reading/1`.

use serde::{Deserialize, Serialize};

use ::record::{ReadingRecord, ReadingSource};
use ::words::size;
use bench::row::State;
use quantity::Unit;

use super::CallerLine;

quantity::worded! {
    /// How a reading came.
    #[derive(Debug, Clone, Copy, PartialEq, Eq)]
    pub enum Source {
        /// From a gauge on a serial line.
        Serial = "serial",
        /// From a row of a dropped file.
        Drop = "drop",
        /// A person typed it.
        Keyed = "keyed",
    }
}

/// One reading. Lengths are in `unit`; `value` has the decimal places sent.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(
    feature = "schemas",
    derive(schemars::JsonSchema),
    schemars(transform = ::words::schema::forms().called("reading/1").of(::words::schema::time, "at").of(::words::schema::name, "gauge job part check").of(::words::schema::angle, "angle_deg").of(::words::schema::length, "radius station value"))
)]
pub struct ReadingLine {
    /// The name of this shape: `reading/1`.
    pub schema: String,
    /// Its number in the record; later ones have higher numbers.
    pub id: u64,
    /// When it arrived, RFC 3339, UTC.
    pub at: String,
    /// The gauge it came from.
    pub gauge: String,
    /// How it arrived.
    pub source: Source,
    /// The dropped file it came from; `null` where it arrived in another way.
    pub file: Option<String>,
    /// The line of that file, counted from 1.
    pub row: Option<u32>,
    /// The job it belongs to; `null` where no job was in use.
    pub job: Option<String>,
    /// The part; `null` where no check was active.
    pub part: Option<String>,
    /// The check.
    pub check: Option<String>,
    /// Which attempt at the check, counted from 1.
    pub attempt: Option<u32>,
    /// The position it belongs to, counted from 0; `null` where it belongs to none.
    pub position: Option<u32>,
    /// The angle of that position, degrees counter-clockwise from the index mark, [0, 360).
    pub angle_deg: Option<f64>,
    /// The radius of the circle of that position, in `unit`; `null` where there is none.
    pub radius: Option<String>,
    /// The distance along the axis, in `unit`, where the check has stations.
    pub station: Option<String>,
    /// The reading in `unit`, with the decimal places sent.
    pub value: String,
    /// The unit of all lengths in the line.
    pub unit: Unit,
    /// The text that the gauge sent, that was in the file, or that was typed.
    pub as_sent: String,
    /// The state it has.
    pub state: State,
    /// Why it has that state, where there is a reason.
    pub why: Option<String>,
    /// Who made the touch.
    pub by: Option<String>,
    /// Who took it back.
    pub voided_by: Option<String>,
    /// The process that took it back, if one did.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub voided_caller: Option<CallerLine>,
    /// The process that asked for it, if one did.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub caller: Option<CallerLine>,
    /// The bench whose record it is in; only in a look-up over the whole shop.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub bench: Option<String>,
}

impl From<&ReadingRecord> for ReadingLine {
    fn from(record: &ReadingRecord) -> Self {
        let (source, file, row) = match &record.source {
            ReadingSource::Serial => (Source::Serial, None, None),
            ReadingSource::Drop { file, line } => (Source::Drop, Some(file.clone()), Some(*line)),
            ReadingSource::Keyed => (Source::Keyed, None, None),
        };
        let check = record.place.as_ref().and_then(|place| place.check.as_ref());
        Self {
            schema: "reading/1".to_owned(),
            id: record.id.0,
            at: record.at.to_string(),
            gauge: record.gauge.to_string(),
            source,
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
            unit: record.value.unit,
            as_sent: record.as_sent.clone(),
            state: record.state,
            why: record.why.clone(),
            by: record.by.as_ref().map(ToString::to_string),
            voided_by: record.voided_by.as_ref().map(ToString::to_string),
            voided_caller: record.voided_caller.as_ref().map(CallerLine::from),
            caller: record.caller.as_ref().map(CallerLine::from),
            bench: None,
        }
    }
}
