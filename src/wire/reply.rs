//! Replies: one JSON object a line, what a request led to.

use serde::{Deserialize, Serialize};

use crate::bench::row::{Question, Stage, State};
use crate::bench::series::Touch;
use crate::bench::{Done, Measuring, Refusal, Seq};
use crate::judgement::Word;
use crate::quantity::{Name, Quoted};

use super::text::json_text;

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
    #[derive(Serialize)]
    struct Refused<'a> {
        schema: &'static str,
        exit: u8,
        text: &'a str,
        hint: Option<&'a str>,
    }
    json_text(&Refused { schema: "error/1", exit, text, hint })
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
    Stopped { station: &'a str, incomplete: Option<u64>, text: &'static str },
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
    taken: u32,
    of: u32,
    /// It was active and under way before, so nothing had to be done.
    already: bool,
    text: String,
}

impl<'a> From<&'a Done> for DoneLine<'a> {
    fn from(done: &'a Done) -> Self {
        match done {
            Done::Job { what, id, name, station } => {
                job_line(what, *id, name.as_str(), station.as_ref().map(Name::as_str))
            }
            Done::Measuring(now) => Self::Measuring(now.into()),
            Done::Already(now) => Self::Measuring(MeasuringLine { already: true, ..now.into() }),
            Done::Stopped { station, incomplete } => Self::Stopped {
                station: station.as_str(),
                incomplete: incomplete.map(|id| id.0),
                text: stopped(*incomplete),
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
            Done::Voided { reading, position, measuring } => Self::Voided {
                id: reading.0,
                position: *position,
                measuring: measuring.as_ref().map(Into::into),
                text: voided(*reading, *position, measuring.as_ref()),
            },
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
            Done::Stacked { stage, part, placed, of } => Self::Stacked {
                stage: stage.text(),
                part: part.as_str(),
                placed: *placed,
                of: *of,
                text: stacked(*stage, part.as_str(), *placed, *of),
            },
            Done::Replaced { part } => Self::Replaced {
                part: part.as_str(),
                text: format!("{part} is a new one from now on; its checks begin afresh."),
            },
            Done::Noted { job } => Self::Noted { job_id: job.0, text: "Written down." },
            Done::Seen { alert } => {
                Self::Seen { id: alert.0, text: format!("Alert {alert} is marked as seen.") }
            }
        }
    }
}

/// `what` is one of the four words of [`Done::Job`].
fn job_line<'a>(what: &str, id: Seq, job: &'a str, station: Option<&'a str>) -> DoneLine<'a> {
    let line = |text| JobLine { id: id.0, job, station, text };
    match what {
        "opened" => DoneLine::Opened(line(format!("Job {job} is open and in use."))),
        "in use" => DoneLine::InUse(line(format!("Job {job} is in use."))),
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
            taken: measuring.taken,
            of: measuring.of,
            already: false,
            text: measuring_sentence(measuring),
        }
    }
}

fn answered(target: &str, answer: &str, word: Option<Word>) -> String {
    match word {
        Some(word) => {
            let word = word.text().replace('-', " ").to_uppercase();
            format!("{target}: {answer}. {word}.")
        }
        None => format!("{target}: {answer}, written down."),
    }
}

fn stacked(stage: Stage, part: &str, placed: u32, of: Option<u32>) -> String {
    let stage = stage.text();
    let parts = match (placed, of) {
        (_, Some(of)) => format!("{placed} of {of} parts"),
        (1, None) => "1 part".to_owned(),
        (_, None) => format!("{placed} parts"),
    };
    format!("{part}. The stack as {stage} has {parts}.")
}

fn entered(count: usize, measuring: &Measuring) -> String {
    let taken = match count {
        1 => "One reading taken.".to_owned(),
        many => format!("{many} readings taken."),
    };
    format!("{taken} {}", next_sentence(measuring))
}

fn taken(value: Quoted, state: State, measuring: &Measuring) -> String {
    let next = next_sentence(measuring);
    if state.counts() {
        return format!("{value} taken. {next}");
    }
    format!("{value} is kept as {}, and fills nothing. {next}", state.text())
}

fn tap_sentence(tapped: u32, marks: u32, next_deg: u32) -> String {
    match tapped {
        0 => "The sweep was dropped; nothing of it was taken. Tap at mark 0 to begin again."
            .to_owned(),
        _ if tapped >= marks => "Go on turning. Tap at mark 0: it ends the turn.".to_owned(),
        _ => format!("Go on turning. Tap at mark {next_deg}."),
    }
}

fn swept(samples: u32, state: State, measuring: &Measuring) -> String {
    let next = next_sentence(measuring);
    if state.counts() {
        return format!("{samples} samples of one turn taken. {next}");
    }
    match state {
        State::Void => format!("The whole turn, {samples} samples, is taken back. {next}"),
        other @ (State::Placed
        | State::Closure
        | State::Master
        | State::HalfTurn
        | State::Repeat
        | State::Unclaimed
        | State::Suspect) => {
            format!("{samples} samples are kept as {}, and fill nothing. {next}", other.text())
        }
    }
}

/// What is touched next, in a word, and the position it belongs to.
#[must_use]
pub const fn next_words(next: Touch) -> (&'static str, Option<u32>) {
    match next {
        Touch::Master | Touch::Asked(Question::Master) => ("master", None),
        Touch::Position(position) => ("position", Some(position)),
        Touch::Closure | Touch::Asked(Question::Closure) => ("closure", Some(0)),
        Touch::Asked(Question::Touch(position)) => ("again", Some(position)),
        Touch::Asked(Question::HalfTurn { .. }) => ("half-turn", None),
        Touch::Sweep => ("sweep", None),
        Touch::Answer => ("answer", None),
        Touch::Nothing => ("nothing", None),
    }
}

fn measuring_sentence(measuring: &Measuring) -> String {
    let Measuring { part, check, attempt, .. } = measuring;
    let attempt = if *attempt == 1 { String::new() } else { format!(", attempt {attempt}") };
    format!("{part}/{check}{attempt}. {}", next_sentence(measuring))
}

/// What the hand does next.
fn next_sentence(measuring: &Measuring) -> String {
    match measuring.next {
        Touch::Master => "Touch the master next.".to_owned(),
        Touch::Position(position) => {
            format!("Touch position {position} of {} next.", measuring.of)
        }
        Touch::Closure => "Touch position 0 again to close the round.".to_owned(),
        Touch::Asked(Question::Closure) => "Touch position 0 once more.".to_owned(),
        Touch::Asked(Question::Master) => "Touch the master once more.".to_owned(),
        Touch::Asked(Question::Touch(position)) => format!("Touch position {position} again."),
        Touch::Asked(Question::HalfTurn { high, low }) => format!(
            "Lift, wipe, set back half a turn round; then touch position {high} and position {low}."
        ),
        Touch::Sweep => "Turn slowly. Tap at mark 0 to begin the sweep.".to_owned(),
        Touch::Answer => {
            "Waiting for its answer (tenths confirm) or value (tenths record).".to_owned()
        }
        Touch::Nothing => "Done. Nothing more to touch.".to_owned(),
    }
}

fn stopped(incomplete: Option<Seq>) -> &'static str {
    match incomplete {
        Some(_) => "Stopped before the last position. It counts as incomplete.",
        None => "Left the check.",
    }
}

fn voided(reading: Seq, position: Option<u32>, measuring: Option<&Measuring>) -> String {
    let at = position.map_or(String::new(), |position| format!(" at position {position}"));
    let next = measuring.map_or(String::new(), |now| format!(" {}", next_sentence(now)));
    format!("Reading {reading}{at} is taken back.{next}")
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
mod tests {
    use serde_json::{Value, json};

    use super::*;
    use crate::quantity::Name;

    fn name(text: &str) -> Name {
        Name::new(text).unwrap()
    }

    fn measuring(next: Touch) -> Measuring {
        Measuring {
            station: name("bench"),
            job: name("J-1042"),
            part: name("inner-spacer"),
            check: name("face-a"),
            attempt: 2,
            next,
            taken: 3,
            of: 8,
        }
    }

    #[track_caller]
    fn line(done: Done, expected: &str) {
        assert_eq!(reply_line(&Ok(done)), expected);
    }

    const STANDS: &str = concat!(
        r#""station":"bench","job":"J-1042","part":"inner-spacer","check":"face-a","attempt":2,"#,
        r#""next":"position","next_position":3,"taken":3,"of":8,"#,
        r#""already":false,"text":"inner-spacer/face-a, attempt 2. Touch position 3 of 8 next.""#,
    );

    #[test]
    fn each_change_has_its_reply() {
        let next = || measuring(Touch::Position(3));
        let job = |what| Done::Job {
            what,
            id: Seq(7),
            name: name("J-1042"),
            station: Some(name("bench")),
        };
        let of_job = r#""id":7,"job":"J-1042","station":"bench","text":"Job J-1042 is"#;
        line(job("opened"), &format!(r#"{{"schema":"opened/1",{of_job} open and in use."}}"#));
        line(job("in use"), &format!(r#"{{"schema":"in-use/1",{of_job} in use."}}"#));
        line(job("closed"), &format!(r#"{{"schema":"closed/1",{of_job} closed."}}"#));
        line(
            job("reopened"),
            &format!(r#"{{"schema":"reopened/1",{of_job} open again and in use."}}"#),
        );
        line(Done::Measuring(next()), &format!(r#"{{"schema":"measuring/1",{STANDS}}}"#));
        line(
            Done::Already(next()),
            &format!(r#"{{"schema":"measuring/1",{STANDS}}}"#).replace("false", "true"),
        );
        line(
            Done::MasterNext { measuring: next() },
            &format!(r#"{{"schema":"master/1",{STANDS}}}"#),
        );
        line(
            Done::Entered { readings: vec![Seq(20), Seq(21)], measuring: next() },
            &format!(
                r#"{{"schema":"entered/1","ids":[20,21],"measuring":{{{STANDS}}},"text":"2 readings taken. Touch position 3 of 8 next."}}"#
            ),
        );
        let value = Quoted::parse("0.00012", crate::quantity::Unit::Inch).unwrap();
        let taken = |state| Done::Taken { reading: Seq(20), value, state, measuring: next() };
        line(
            taken(State::Placed),
            &format!(
                r#"{{"schema":"taken/1","id":20,"value":"0.00012","unit":"in","state":"placed","measuring":{{{STANDS}}},"text":"0.00012 in taken. Touch position 3 of 8 next."}}"#
            ),
        );
        assert!(reply_line(&Ok(taken(State::Suspect))).contains(
            "0.00012 in is kept as suspect, and fills nothing. Touch position 3 of 8 next."
        ));
        line(
            Done::Voided { reading: Seq(20), position: Some(3), measuring: None },
            r#"{"schema":"voided/1","id":20,"position":3,"measuring":null,"text":"Reading 20 at position 3 is taken back."}"#,
        );
        line(
            Done::Skipped { position: 2, measuring: next() },
            &format!(
                r#"{{"schema":"skipped/1","position":2,"measuring":{{{STANDS}}},"text":"Position 2 is left out. Touch position 3 of 8 next."}}"#
            ),
        );
        line(
            Done::Stopped { station: name("bench"), incomplete: Some(Seq(11)) },
            r#"{"schema":"stopped/1","station":"bench","incomplete":11,"text":"Stopped before the last position. It counts as incomplete."}"#,
        );
        line(
            Done::Noted { job: Seq(7) },
            r#"{"schema":"noted/1","job_id":7,"text":"Written down."}"#,
        );
        line(
            Done::Seen { alert: Seq(9) },
            r#"{"schema":"seen/1","id":9,"text":"Alert 9 is marked as seen."}"#,
        );
    }

    #[test]
    fn answers_the_stack_and_new_parts_have_their_replies() {
        let answered = |text: &str, word| Done::Answered {
            target: "nut/locked".to_owned(),
            text: text.to_owned(),
            word,
        };
        line(
            answered("no", Some(Word::DoesNotConform)),
            r#"{"schema":"answered/1","target":"nut/locked","answer":"no","verdict":"does-not-conform","text":"nut/locked: no. DOES NOT CONFORM."}"#,
        );
        line(
            answered("40 Nm", None),
            r#"{"schema":"answered/1","target":"nut/locked","answer":"40 Nm","verdict":null,"text":"nut/locked: 40 Nm, written down."}"#,
        );
        let stacked =
            |placed, of| Done::Stacked { stage: Stage::Built, part: name("bearing-1"), placed, of };
        line(
            stacked(2, Some(7)),
            r#"{"schema":"stacked/1","stage":"built","part":"bearing-1","placed":2,"of":7,"text":"bearing-1. The stack as built has 2 of 7 parts."}"#,
        );
        line(
            stacked(1, None),
            r#"{"schema":"stacked/1","stage":"built","part":"bearing-1","placed":1,"of":null,"text":"bearing-1. The stack as built has 1 part."}"#,
        );
        line(
            Done::Replaced { part: name("bearing-1") },
            r#"{"schema":"replaced/1","part":"bearing-1","text":"bearing-1 is a new one from now on; its checks begin afresh."}"#,
        );
    }

    #[test]
    fn every_next_touch_has_a_sentence() {
        let says = |touch| next_sentence(&measuring(touch));
        assert_eq!(says(Touch::Master), "Touch the master next.");
        assert_eq!(says(Touch::Closure), "Touch position 0 again to close the round.");
        assert_eq!(says(Touch::Asked(Question::Touch(5))), "Touch position 5 again.");
        let half = Question::HalfTurn { high: 1, low: 5 };
        assert!(says(Touch::Asked(half)).ends_with("touch position 1 and position 5."));
        assert_eq!(says(Touch::Nothing), "Done. Nothing more to touch.");
    }

    #[test]
    fn a_refusal_carries_its_exit_code_and_hint() {
        let refusal = Refusal::input("the name J-1042 was used before", "choose another");
        let line = reply_line(&Err(refusal));
        assert_eq!(
            line,
            r#"{"schema":"error/1","exit":2,"text":"the name J-1042 was used before","hint":"choose another"}"#
        );
        let reply = Reply::parse(&line).unwrap();
        assert_eq!((reply.exit, reply.hint.as_deref()), (2, Some("choose another")));
        let fine =
            Reply::parse(r#"{"schema":"noted/1","job_id":7,"text":"Written down."}"#).unwrap();
        assert_eq!((fine.exit, fine.text.as_str()), (0, "Written down."));
        assert!(Reply::parse("half a li").is_err());
    }

    #[test]
    fn hello_names_version_and_protocol() {
        let hello: Value = serde_json::from_str(&hello_line()).unwrap();
        assert_eq!((&hello["schema"], &hello["protocol"]), (&json!("hello/1"), &json!(1)));
    }
}
