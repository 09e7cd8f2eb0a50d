//! `registered/1`.

use serde::{Deserialize, Serialize};

use ::record::RegisterRow;
use ::words::size;
use bench::Seq;
use bench::row::{Equipment, Registered};
use quantity::{Quoted, Unit};

use super::Published;

/// An entry of the register. The newest one of a name counts.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(
    feature = "schemas",
    derive(schemars::JsonSchema),
    schemars(transform = ::words::schema::forms().of(::words::schema::time, "at").of(::words::schema::name, "name").of(::words::schema::length, "size runout uncertainty"))
)]
pub struct RegisteredLine {
    /// Its number in the record; later ones have higher numbers.
    pub id: u64,
    /// When it was written down, RFC 3339, UTC; `null` in a reply, which comes at that moment.
    pub at: Option<String>,
    /// Who wrote it down.
    pub by: Option<String>,
    /// What it is.
    pub what: Equipment,
    /// Its name.
    pub name: String,
    /// Its serial number.
    pub serial: Option<String>,
    /// The number of its certificate.
    pub certificate: Option<String>,
    /// The day of the certificate: `2026-03-01`.
    pub dated: Option<String>,
    /// The last day on which the certificate counts.
    pub due: Option<String>,
    /// Its size, in `unit`.
    pub size: Option<String>,
    /// Of a bar: its own total reading, in `unit`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub runout: Option<String>,
    /// The standard uncertainty of the size, of a bar that of its own total reading, in `unit`.
    pub uncertainty: Option<String>,
    /// Their unit; `null` without any.
    pub unit: Option<Unit>,
    /// Why it is out of use; `null` while it is in use.
    pub retired: Option<String>,
    /// The message for a person to read; `null` in a list.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub text: Option<String>,
}

impl RegisteredLine {
    /// The entry with a number.
    #[must_use]
    pub fn of(id: Seq, entry: &Registered) -> Self {
        let unit = entry.size.or(entry.runout).map(|size| size.unit);
        let own = unit.unwrap_or(Unit::Inch);
        Self {
            id: id.0,
            at: None,
            by: None,
            what: entry.what,
            name: entry.name.to_string(),
            serial: entry.serial.clone(),
            certificate: entry.certificate.clone(),
            dated: entry.dated.clone(),
            due: entry.last_day(),
            size: entry.size.map(Quoted::number),
            runout: entry.runout.map(|runout| size(runout.length, own)),
            uncertainty: entry.uncertainty.map(|u| size(u, own)),
            unit: unit.or_else(|| entry.uncertainty.map(|_| own)),
            retired: entry.retired.clone(),
            text: None,
        }
    }

    /// The reply to whoever wrote it down.
    #[must_use]
    pub(crate) fn reply(id: Seq, entry: &Registered) -> Self {
        let (what, name) = (entry.what.text(), &entry.name);
        let text = if let Some(why) = &entry.retired {
            format!("The {what} {name} is out of use: {why}.")
        } else {
            let size = entry.size.map_or_else(String::new, |size| format!(", {size}"));
            let runout = entry.runout.map_or_else(String::new, |one| format!(", run-out {one}"));
            let due = entry.last_day().map_or_else(String::new, |day| format!(", good to {day}"));
            format!("The {what} {name} is written down{size}{runout}{due}.")
        };
        Self { text: Some(text), ..Self::of(id, entry) }
    }
}

/// A line of the register, with the name of its shape.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct RegisterLine {
    schema: &'static str,
    #[serde(flatten)]
    entry: RegisteredLine,
}

impl From<&RegisterRow> for RegisterLine {
    fn from(row: &RegisterRow) -> Self {
        let at = Some(row.at.to_string());
        let by = row.by.as_ref().map(ToString::to_string);
        let entry = RegisteredLine { at, by, ..RegisteredLine::of(row.id, &row.entry) };
        Self { schema: "registered/1", entry }
    }
}

impl Published for RegisterRow {
    type Line<'a> = RegisterLine;

    fn number(&self) -> Seq {
        self.id
    }

    fn published_of<'a>(&'a self, _: Option<&'a str>) -> RegisterLine {
        RegisterLine::from(self)
    }
}
