//! Replies: one JSON object a line, what a request led to.

mod words;

use serde::{Deserialize, Serialize};

use bench::{Done, Left, Measuring, Refusal, Seq};
use judgement::Word;
use quantity::Name;

use super::asks::AsksLine;
use super::text::json_text;
use words::{
    answered, entered, measuring_sentence, next_sentence, seated, stacked, stopped, swept, taken,
    tap_sentence, voided, works_at,
};

pub use words::next_words;

/// The version of the conversation on the socket.
pub const PROTOCOL: u32 = 1;

/// The first line of a fresh connection.
#[must_use]
pub fn hello_line() -> String {
    #[derive(Serialize)]
    struct Hello {
        schema: &'static str,
        version: &'static str,
        protocol: u32,
    }
    let version = env!("CARGO_PKG_VERSION");
    json_text(&Hello { schema: "hello/1", version, protocol: PROTOCOL })
}

/// The reply to a request that may change something, as one line without its end. `text` is the
/// sentence for the person who asked.
#[must_use]
pub fn reply_line(outcome: &Result<Done, Refusal>) -> String {
    match outcome {
        Ok(done) => json_text(&DoneLine::from(done)),
        Err(refusal) => error_line(&refusal.text, refusal.hint.as_deref(), refusal.exit),
    }
}

/// A refusal as one line without its end; `exit` is the code the client ends with.
#[must_use]
pub fn error_line(text: &str, hint: Option<&str>, exit: u8) -> String {
    ErrorLine { exit, code: code_of(exit), text, hint, place: None }.line()
}

/// What could not be done, for a script: on the socket, and on standard error with `--json`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ErrorLine<'a> {
    /// The code the program ends with.
    pub exit: u8,
    /// What kind of error it is: `no`, `refused`, `usage`, `configuration`, `unreachable`.
    pub code: &'static str,
    /// The sentence.
    pub text: &'a str,
    /// What to do.
    pub hint: Option<&'a str>,
    /// The file it is about, and the line in it.
    pub place: Option<(&'a str, Option<u32>)>,
}

impl ErrorLine<'_> {
    /// One line without its end.
    #[must_use]
    pub fn line(&self) -> String {
        #[derive(Serialize)]
        struct Place<'a> {
            file: &'a str,
            line: Option<u32>,
        }
        #[derive(Serialize)]
        struct Refused<'a> {
            schema: &'static str,
            exit: u8,
            code: &'static str,
            text: &'a str,
            hint: Option<&'a str>,
            #[serde(skip_serializing_if = "Option::is_none")]
            place: Option<Place<'a>>,
        }
        let Self { exit, code, text, hint, place } = *self;
        let place = place.map(|(file, line)| Place { file, line });
        json_text(&Refused { schema: "error/1", exit, code, text, hint, place })
    }
}

/// What kind of error ends with an exit code.
#[must_use]
pub const fn code_of(exit: u8) -> &'static str {
    match exit {
        1 => "no",
        3 => "unreachable",
        _ => "refused",
    }
}

/// The sentence of a line that [`error_line`] made; `None` where the request was done.
#[must_use]
pub fn refused_text(line: &str) -> Option<String> {
    let line: serde_json::Value = serde_json::from_str(line).ok()?;
    let refused = line["schema"] == "error/1";
    line["text"].as_str().filter(|_| refused).map(str::to_owned)
}

/// What a request did, one shape for each.
#[derive(Serialize)]
#[serde(tag = "schema")]
enum DoneLine<'a> {
    #[serde(rename = "opened/1")]
    Opened(JobLine<'a>),
    #[serde(rename = "in-use/1")]
    InUse(JobLine<'a>),
    #[serde(rename = "closed/1")]
    Closed(JobLine<'a>),
    #[serde(rename = "reopened/1")]
    Reopened(JobLine<'a>),
    #[serde(rename = "job-changed/1")]
    JobChanged(JobLine<'a>),
    #[serde(rename = "measuring/1")]
    Measuring(MeasuringLine<'a>),
    #[serde(rename = "master/1")]
    Master(MeasuringLine<'a>),
    #[serde(rename = "stopped/1")]
    Stopped { station: &'a str, incomplete: Option<u64>, text: String },
    #[serde(rename = "entered/1")]
    Entered { ids: Vec<u64>, measuring: MeasuringLine<'a>, text: String },
    #[serde(rename = "taken/1")]
    Taken {
        id: u64,
        value: String,
        unit: &'static str,
        state: &'static str,
        measuring: MeasuringLine<'a>,
        text: String,
    },
    #[serde(rename = "seated/1")]
    Seated { seating: u32, deg: u32, taken_back: bool, measuring: MeasuringLine<'a>, text: String },
    #[serde(rename = "tapped/1")]
    Tapped { tapped: u32, marks: u32, next_deg: u32, measuring: MeasuringLine<'a>, text: String },
    #[serde(rename = "swept/1")]
    Swept { samples: u32, state: &'static str, measuring: MeasuringLine<'a>, text: String },
    #[serde(rename = "voided/1")]
    Voided { id: u64, position: Option<u32>, measuring: Option<MeasuringLine<'a>>, text: String },
    #[serde(rename = "skipped/1")]
    Skipped { position: u32, measuring: MeasuringLine<'a>, text: String },
    #[serde(rename = "answered/1")]
    Answered { target: &'a str, answer: &'a str, verdict: Option<&'static str>, text: String },
    #[serde(rename = "stacked/1")]
    Stacked { stage: &'static str, part: &'a str, placed: u32, of: Option<u32>, text: String },
    #[serde(rename = "replaced/1")]
    Replaced { part: &'a str, text: String },
    #[serde(rename = "noted/1")]
    Noted { job_id: u64, text: &'static str },
    #[serde(rename = "rule-changed/1")]
    RuleChanged { job: &'a str, rule: &'static str, text: String },
    #[serde(rename = "person/1")]
    Person { station: &'a str, person: Option<&'a str>, text: String },
    #[serde(rename = "checked/1")]
    Checked { job_id: u64, by: &'a str, text: String },
    #[serde(rename = "seen/1")]
    Seen { id: u64, text: String },
}

#[derive(Serialize)]
struct JobLine<'a> {
    id: u64,
    job: &'a str,
    station: Option<&'a str>,
    text: String,
}

#[derive(Serialize)]
struct MeasuringLine<'a> {
    station: &'a str,
    job: &'a str,
    part: &'a str,
    check: &'a str,
    attempt: u32,
    next: &'static str,
    next_position: Option<u32>,
    /// Where the next touch lies, where its number does not say it.
    place: Option<&'a str>,
    taken: u32,
    of: u32,
    /// What it asks for, where it is answered and not touched.
    #[serde(flatten)]
    asks: Option<AsksLine>,
    /// The standing verdict as a sentence, once the series is over.
    came_to: Option<&'a str>,
    /// What is to be said of the gauge, or of the digits that were keyed.
    #[serde(skip_serializing_if = "Option::is_none")]
    gauge_says: Option<&'a str>,
    /// What the touches just taken raised.
    #[serde(skip_serializing_if = "<[String]>::is_empty")]
    raised: &'a [String],
    /// The checks with touches that were left for this one.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    left: Vec<LeftLine<'a>>,
    /// What is to be measured again for a grind that was said.
    #[serde(skip_serializing_if = "Option::is_none")]
    measure_again: Option<&'a [String]>,
    /// It was active and under way before, so nothing had to be done.
    already: bool,
    text: String,
}

#[derive(Serialize)]
struct LeftLine<'a> {
    target: &'a str,
    taken: u32,
    of: u32,
    /// Over and incomplete; otherwise it goes on where it was.
    ended: bool,
}

impl<'a> LeftLine<'a> {
    fn of(left: &'a Left) -> Self {
        let Left { target, taken, of, ended } = left;
        Self { target, taken: *taken, of: *of, ended: *ended }
    }
}

impl<'a> From<&'a Done> for DoneLine<'a> {
    fn from(done: &'a Done) -> Self {
        match done {
            Done::Job { what, id, name, station, active } => {
                job_line((what, active.as_deref()), *id, name.as_str(), station.as_ref())
            }
            Done::Measuring(now) => Self::Measuring(now.into()),
            Done::Already(now) => Self::Measuring(MeasuringLine { already: true, ..now.into() }),
            Done::Stopped { station, incomplete, untouched } => Self::Stopped {
                station: station.as_str(),
                incomplete: incomplete.map(|id| id.0),
                text: stopped(*incomplete, untouched.as_deref()),
            },
            Done::Entered { readings, measuring } => Self::Entered {
                ids: readings.iter().map(|id| id.0).collect(),
                measuring: measuring.into(),
                text: entered(readings.len(), measuring),
            },
            Done::Taken { reading, value, state, measuring } => Self::Taken {
                id: reading.0,
                value: value.number(),
                unit: value.unit.symbol(),
                state: state.text(),
                measuring: measuring.into(),
                text: taken(*value, *state, measuring),
            },
            Done::Seated { seating, deg, taken_back, measuring } => {
                seated_line((*seating, *deg), *taken_back, measuring)
            }
            Done::Tapped { tapped, marks, next_deg, measuring } => {
                let (tapped, marks, next_deg) = (*tapped, *marks, *next_deg);
                let text = tap_sentence(tapped, marks, next_deg);
                Self::Tapped { tapped, marks, next_deg, measuring: measuring.into(), text }
            }
            Done::Swept { samples, state, measuring } => Self::Swept {
                samples: *samples,
                state: state.text(),
                measuring: measuring.into(),
                text: swept(*samples, *state, measuring),
            },
            Done::Voided { reading, position, measuring } => {
                voided_line(*reading, *position, measuring.as_ref())
            }
            Done::Skipped { position, measuring } => Self::Skipped {
                position: *position,
                measuring: measuring.into(),
                text: format!("Position {position} is left out. {}", next_sentence(measuring)),
            },
            Done::MasterNext { measuring } => Self::Master(measuring.into()),
            Done::Answered { target, text, word } => Self::Answered {
                target,
                answer: text,
                verdict: word.map(Word::text),
                text: answered(target, text, *word),
            },
            Done::Stacked { stage, part, placed, of } => {
                stacked_line(*stage, part.as_str(), *placed, *of)
            }
            Done::Replaced { part } => Self::Replaced {
                part: part.as_str(),
                text: format!("{part} is a new one from now on; its checks begin afresh."),
            },
            Done::Noted { job } => Self::Noted { job_id: job.0, text: "Written down." },
            Done::RuleChanged { name, rule } => rule_line(name.as_str(), rule.text()),
            Done::PersonAt { .. } | Done::Checked { .. } => of_people(done),
            Done::Seen { alert } => {
                Self::Seen { id: alert.0, text: format!("Alert {alert} is marked as seen.") }
            }
        }
    }
}

fn stacked_line(
    stage: bench::row::Stage,
    part: &str,
    placed: u32,
    of: Option<u32>,
) -> DoneLine<'_> {
    let text = stacked(stage, part, placed, of);
    DoneLine::Stacked { stage: stage.text(), part, placed, of, text }
}

fn rule_line<'a>(job: &'a str, rule: &'static str) -> DoneLine<'a> {
    let text = format!("Attempts of job {job} are judged by the {rule} rule from now on.");
    DoneLine::RuleChanged { job, rule, text }
}

/// What was done about people.
fn of_people(done: &Done) -> DoneLine<'_> {
    if let Done::Checked { job, by } = done {
        let text = format!("Written down: checked by {by}.");
        return DoneLine::Checked { job_id: job.0, by: by.as_str(), text };
    }
    let Done::PersonAt { station, person } = done else {
        unreachable!("these two alone are about people")
    };
    DoneLine::Person {
        station: station.as_str(),
        person: person.as_ref().map(Name::as_str),
        text: works_at(station, person.as_ref()),
    }
}

fn seated_line((seating, deg): (u32, u32), taken_back: bool, now: &Measuring) -> DoneLine<'_> {
    let text = seated(deg, taken_back, now);
    DoneLine::Seated { seating, deg, taken_back, measuring: now.into(), text }
}

fn voided_line(reading: Seq, position: Option<u32>, measuring: Option<&Measuring>) -> DoneLine<'_> {
    let text = voided(reading, position, measuring);
    DoneLine::Voided { id: reading.0, position, measuring: measuring.map(Into::into), text }
}

/// `what` is one of the four words of [`Done::Job`].
fn job_line<'a>(
    (what, active): (&str, Option<&str>),
    id: Seq,
    job: &'a str,
    station: Option<&'a Name>,
) -> DoneLine<'a> {
    let station = station.map(Name::as_str);
    let line = |text| JobLine { id: id.0, job, station, text };
    match what {
        "opened" => DoneLine::Opened(line(format!("Job {job} is open and in use."))),
        "in use" => {
            let stands = active.map_or_else(
                || "No check is active: tenths next begins one.".to_owned(),
                |target| format!("{target} is active."),
            );
            DoneLine::InUse(line(format!("Job {job} is in use. {stands}")))
        }
        "closed" => DoneLine::Closed(line(format!("Job {job} is closed."))),
        "reopened" => DoneLine::Reopened(line(format!("Job {job} is open again and in use."))),
        other => DoneLine::JobChanged(line(format!("Job {job}: {other}."))),
    }
}

impl<'a> From<&'a Measuring> for MeasuringLine<'a> {
    fn from(measuring: &'a Measuring) -> Self {
        let (next, next_position) = next_words(measuring.next);
        Self {
            station: measuring.station.as_str(),
            job: measuring.job.as_str(),
            part: measuring.part.as_str(),
            check: measuring.check.as_str(),
            attempt: measuring.attempt,
            next,
            next_position,
            place: measuring.place.as_deref(),
            taken: measuring.taken,
            of: measuring.of,
            asks: measuring.asks.as_ref().map(Into::into),
            came_to: measuring.came_to.as_deref(),
            gauge_says: measuring.gauge_says.as_deref(),
            raised: &measuring.raised,
            left: measuring.left.iter().map(LeftLine::of).collect(),
            measure_again: measuring.ground.as_deref(),
            already: false,
            text: measuring_sentence(measuring),
        }
    }
}

/// A reply as the client sees it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Reply {
    /// The line as it came, for scripts.
    pub line: String,
    /// Its schema.
    pub schema: String,
    /// The sentence for a person.
    pub text: String,
    /// What to do, after a refusal.
    pub hint: Option<String>,
    /// The exit code: 0 unless it was refused.
    pub exit: u8,
}

impl Reply {
    /// Reads a reply line.
    ///
    /// # Errors
    /// A sentence, when the line is not one.
    pub fn parse(line: &str) -> Result<Self, String> {
        #[derive(Deserialize)]
        struct Shape {
            schema: String,
            #[serde(default)]
            text: String,
            hint: Option<String>,
            exit: Option<u8>,
        }
        let shape: Shape = serde_json::from_str(line)
            .map_err(|error| format!("the service sent what cannot be read: {error}"))?;
        let exit = if shape.schema == "error/1" { shape.exit.unwrap_or(2).max(1) } else { 0 };
        Ok(Self {
            line: line.to_owned(),
            schema: shape.schema,
            text: shape.text,
            hint: shape.hint,
            exit,
        })
    }
}

#[cfg(test)]
mod tests;
