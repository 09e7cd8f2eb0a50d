//! The shape of a line of `record/4`, and rows as such lines.
//!
//! Lengths are whole picometres, times microseconds: `wall_us` since the start of 1970 UTC, `mono_us`
//! since the machine was switched on. Rows are named by their numbers. All of it belongs to one job.

use serde::{Deserialize, Serialize};
use serde_json::value::RawValue;

use crate::text::json_text;
use bench::plan::CheckAt;
use bench::row::{Alert, AttemptBegan, Body, FileSeen, JobOpened, Lack, Reading, Source};
use bench::{Row, Seq};
use quantity::Wall;
use store::{Caller, body, words};

pub(super) const SCHEMA: &str = "record/4";

/// Who asked for a row, on the bench that it was written on.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct CallerFact {
    pub(super) uid: u32,
    pub(super) pid: u32,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub(super) login: Option<String>,
}

/// A line. Which keys are there depends on `fact`.
#[expect(clippy::struct_field_names, reason = "the names are the keys of a line")]
#[derive(Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub(super) struct Fact {
    pub(super) schema: String,
    pub(super) seq: u64,
    pub(super) wall_us: i64,
    pub(super) mono_us: u64,
    pub(super) fact: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) boot: Option<u64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) name: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) plan_name: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) plan: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) customer: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) rule: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) by: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) caller: Option<CallerFact>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) attempt: Option<u64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) reading: Option<u64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) alert: Option<u64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) part: Option<u16>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) check: Option<u16>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) number: Option<u32>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) reason: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) grinds: Option<bool>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) lacking: Option<Vec<(u16, u16, String)>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) pin: Option<Box<RawValue>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) remark: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) gauge: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) source: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) file: Option<u64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) line: Option<u32>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) pm: Option<i64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) unit: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) places: Option<u8>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) as_sent: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) state: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) position: Option<u32>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) measured_us: Option<i64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) ending: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) question: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) seating: Option<u32>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) taps_us: Option<Vec<u64>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) samples: Option<u32>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) stage: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) towards_nose: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) mark_deg: Option<u16>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) serial: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) verdict: Option<Box<RawValue>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) level: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) kind: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) about: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) drop: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) blake3: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) series: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) went: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) bytes: Option<u64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) rows: Option<u32>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) text: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) why: Option<String>,
}

/// Whether a schema is the one that is known.
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
             brings nothing forward: keep the folder, that version can read it"
        )),
        _ => Err(format!("it is {found:?} where {known} is expected")),
    }
}

fn raw(text: Result<String, body::Faulty>) -> Box<RawValue> {
    let text = text.expect("bodies are plain structures");
    RawValue::from_string(text).expect("a body is JSON")
}

/// The digits of a digest.
///
/// # Panics
/// Never: a text takes everything.
#[must_use]
pub fn hexadecimal(bytes: &[u8]) -> String {
    use std::fmt::Write;
    bytes.iter().fold(String::new(), |mut text, byte| {
        write!(text, "{byte:02x}").expect("a String takes everything");
        text
    })
}

impl Fact {
    /// The line of a row; `None` where the row belongs to no job.
    pub(super) fn of(row: &Row, caller: Option<&Caller>) -> Option<Self> {
        let said = said(&row.body)?;
        let (wall_us, mono_us) = (row.at.wall.micros(), row.at.mono_us);
        let by = row.by.as_ref().map(ToString::to_string);
        let caller = caller.map(|Caller { uid, pid, login, elsewhere: _ }| CallerFact {
            uid: *uid,
            pid: *pid,
            login: login.clone(),
        });
        let (schema, seq) = (SCHEMA.to_owned(), row.seq.0);
        Some(Self { schema, seq, wall_us, mono_us, by, caller, ..said })
    }

    pub(super) fn line(&self) -> String {
        json_text(self)
    }

    fn new(fact: &str) -> Self {
        Self { fact: fact.to_owned(), ..Self::default() }
    }

    fn about(fact: &str, attempt: Seq) -> Self {
        Self { attempt: Some(attempt.0), ..Self::new(fact) }
    }
}

/// What a row says, without its number and time.
fn said(of: &Body) -> Option<Fact> {
    Some(match of {
        Body::Started { boot } => Fact { boot: Some(*boot), ..Fact::new("started") },
        Body::JobOpened(opened) => job(opened),
        Body::JobClosed { job: _ } => Fact::new("job-closed"),
        Body::JobReopened { job: _, restored: _ } => Fact::new("job-reopened"),
        Body::AttemptBegan(began) => attempt(began),
        Body::AttemptEnded { attempt, ending } => Fact {
            ending: Some(words::ending_text(*ending).to_owned()),
            ..Fact::about("attempt-ended", *attempt)
        },
        Body::Reading(taken) => reading(taken),
        Body::Marked { reading, attempt, state, why } => Fact {
            reading: Some(reading.0),
            state: Some(state.text().to_owned()),
            why: Some(why.clone()),
            ..Fact::about("marked", *attempt)
        },
        Body::Skipped { attempt, position, why } => Fact {
            position: Some(*position),
            why: Some(why.clone()),
            ..Fact::about("skipped", *attempt)
        },
        Body::Asked { attempt, question } => {
            Fact { question: question.map(words::question_text), ..Fact::about("asked", *attempt) }
        }
        Body::MasterNext { attempt } => Fact::about("master-next", *attempt),
        Body::Answered { attempt, text } => {
            Fact { text: Some(text.clone()), ..Fact::about("answered", *attempt) }
        }
        Body::Seated { attempt, seating, taken_back } => Fact {
            seating: Some(*seating),
            ..Fact::about(if *taken_back { "seating-taken-back" } else { "seated" }, *attempt)
        },
        Body::TurnUnderWay { attempt, under_way } => {
            Fact::about(if *under_way { "turn-begun" } else { "turn-dropped" }, *attempt)
        }
        Body::Swept { attempt, taps } => Fact {
            taps_us: Some(taps.at_us.clone()),
            samples: Some(taps.samples),
            ..Fact::about("swept", *attempt)
        },
        Body::Verdict(verdict) => Fact {
            verdict: Some(raw(body::verdict_text(verdict))),
            ..Fact::about("verdict", verdict.attempt)
        },
        Body::AlertRaised(raised) => alert(raised),
        Body::AlertSeen { alert } => Fact { alert: Some(alert.0), ..Fact::new("alert-seen") },
        Body::AlertCleared { alert } => Fact { alert: Some(alert.0), ..Fact::new("alert-cleared") },
        Body::FileTaken(seen) => file(seen),
        Body::StackPlaced { .. }
        | Body::StackTaken { .. }
        | Body::PartReplaced { .. }
        | Body::Checked { .. }
        | Body::RuleChanged { .. }
        | Body::WentOn { .. }
        | Body::Noted { .. } => of_assembly(of)?,
        Body::JobActive { .. }
        | Body::PersonAt { .. }
        | Body::CheckActive { .. }
        | Body::FileRefused(_) => return None,
    })
}

fn of_assembly(of: &Body) -> Option<Fact> {
    if let Body::StackPlaced { job: _, stage, item } = of {
        return Some(Fact {
            stage: Some(stage.text().to_owned()),
            part: Some(item.part),
            towards_nose: item.towards_nose.clone(),
            mark_deg: item.mark_deg,
            serial: item.serial.clone(),
            ..Fact::new("stack-placed")
        });
    }
    if let Body::StackTaken { job: _, stage } = of {
        return Some(Fact { stage: Some(stage.text().to_owned()), ..Fact::new("stack-taken") });
    }
    if let Body::PartReplaced { job: _, part, serial, why } = of {
        return Some(Fact {
            part: Some(*part),
            serial: serial.clone(),
            why: Some(why.clone()),
            ..Fact::new("part-replaced")
        });
    }
    if let Body::RuleChanged { job: _, rule, why } = of {
        return Some(Fact {
            rule: Some(words::rule_text(*rule).to_owned()),
            why: Some(why.clone()),
            ..Fact::new("rule-changed")
        });
    }
    if let Body::Checked { job: _ } = of {
        return Some(Fact::new("checked"));
    }
    if let Body::WentOn { job: _, went } = of {
        let one = |(at, lack): &(CheckAt, Lack)| (at.part, at.check, lack.text().to_owned());
        return Some(Fact {
            part: went.part,
            lacking: Some(went.lacking.iter().map(one).collect()),
            why: Some(went.why.clone()),
            ..Fact::new("went-on")
        });
    }
    let Body::Noted { job: _, text } = of else { return None };
    Some(Fact { text: Some(text.clone()), ..Fact::new("noted") })
}

fn job(opened: &JobOpened) -> Fact {
    Fact {
        name: Some(opened.name.to_string()),
        plan_name: Some(opened.plan_name.to_string()),
        plan: Some(opened.plan.text.clone()),
        serial: opened.serial.clone(),
        customer: opened.customer.clone(),
        rule: Some(words::rule_text(opened.rule).to_owned()),
        ..Fact::new("job-opened")
    }
}

fn attempt(began: &AttemptBegan) -> Fact {
    Fact {
        part: Some(began.check.part),
        check: Some(began.check.check),
        number: Some(began.number),
        reason: Some(began.reason.text().to_owned()),
        grinds: began.grinds.then_some(true),
        pin: Some(raw(body::pin_text(&began.pin))),
        remark: began.remark.clone(),
        ..Fact::new("attempt-began")
    }
}

fn reading(taken: &Reading) -> Fact {
    let (source, file, line) = match taken.source {
        Source::Serial => ("serial", None, None),
        Source::Keyed => ("keyed", None, None),
        Source::Drop { file, line } => ("drop", Some(file.0), Some(line)),
    };
    Fact {
        attempt: taken.attempt.map(|attempt| attempt.0),
        gauge: Some(taken.gauge.to_string()),
        source: Some(source.to_owned()),
        file,
        line,
        pm: Some(taken.value.length.picometres()),
        unit: Some(taken.value.unit.symbol().to_owned()),
        places: Some(taken.value.places),
        as_sent: Some(taken.as_sent.clone()),
        state: Some(taken.state.text().to_owned()),
        position: taken.position,
        measured_us: taken.measured_at.map(Wall::micros),
        why: taken.why.clone(),
        ..Fact::new("reading")
    }
}

fn alert(raised: &Alert) -> Fact {
    Fact {
        attempt: raised.attempt.map(|attempt| attempt.0),
        level: Some(raised.level.text().to_owned()),
        kind: Some(raised.kind.text().to_owned()),
        about: raised.about.clone(),
        text: Some(raised.text.clone()),
        ..Fact::new("alert-raised")
    }
}

fn file(seen: &FileSeen) -> Fact {
    Fact {
        drop: Some(seen.drop.to_string()),
        name: Some(seen.name.clone()),
        blake3: Some(hexadecimal(&seen.digest)),
        bytes: Some(seen.bytes),
        rows: Some(seen.rows),
        series: Some(hexadecimal(&seen.series)),
        went: Some(hexadecimal(&seen.went)),
        why: (!seen.why.is_empty()).then(|| seen.why.clone()),
        ..Fact::new("file-taken")
    }
}
