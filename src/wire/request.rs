//! Requests: each is one line with a JSON object, sent to the service.
//!
//! Requests are read by hand and not by derived code, so that a sentence can name the field that is wrong.

mod card;
mod papers;
mod shop;
mod stack;

use std::fmt;

use serde::de::{Deserialize, Deserializer, MapAccess, Visitor};
use serde_json::{Map, Value, json};

use bench::event::RunInAsked;
use bench::row::AttemptReason;
#[cfg(test)]
use bench::row::IntakeItem;
use bench::{AckOf, Command, Request, Seq};
use judgement::Rule;

/// The longest line that either side may send, in bytes, including its line end.
pub const MAX_LINE: usize = 64 * 1024;

/// The longest key of a request, in bytes.
const MAX_KEY: usize = 128;

/// What a client asks for.
#[derive(Debug, Clone, PartialEq)]
pub enum Incoming {
    /// The status of everything.
    Status,
    /// The configuration, to be read again.
    Reload,
    /// The feed, from now on or from a given number on.
    Tail {
        /// The last number that the client has seen; if left out, the feed begins now.
        since: Option<u64>,
        /// The feed that the number belongs to, if the client knows it.
        feed: Option<String>,
    },
    /// What a station shows on its screen.
    View {
        /// The station; may be left out if there is only one.
        station: Option<String>,
        /// How long to wait for something that this connection has not been sent yet, in milliseconds. If
        /// left out, the present state is sent at once.
        wait_ms: Option<u64>,
    },
    /// A change.
    Change {
        /// Made by the client. Two requests with the same key are the same request and are done once.
        key: String,
        /// The request itself. Fields that only the disk knows (`used`, `found`, `closed`) are never sent;
        /// the service fills them in.
        request: Request,
    },
}

/// Reads one request line.
///
/// # Errors
/// A sentence for the person or script that sent it.
pub fn parse_request(line: &str) -> Result<Incoming, String> {
    if line.len() > MAX_LINE {
        return Err(format!("a request may have {MAX_LINE} bytes at most"));
    }
    let mut fields = Fields::read(line)?;
    let what = fields.text("request")?;
    let incoming = match what.as_str() {
        "status" => Incoming::Status,
        "reload" => Incoming::Reload,
        "tail" => {
            Incoming::Tail { since: fields.number("since")?, feed: fields.maybe_text("feed")? }
        }
        "view" => Incoming::View {
            station: fields.maybe_text("station")?,
            wait_ms: fields.number("wait_ms")?,
        },
        _ => change(&what, &mut fields)?,
    };
    fields.finish(&what)?;
    Ok(incoming)
}

fn change(what: &str, fields: &mut Fields) -> Result<Incoming, String> {
    let command = command(what, fields)?;
    let key = fields.text("key")?;
    if key.is_empty() || key.len() > MAX_KEY || !key.bytes().all(|byte| byte.is_ascii_graphic()) {
        return Err(format!("\"key\" must be 1 to {MAX_KEY} visible ASCII characters"));
    }
    let station = fields.maybe_text("station")?;
    let by = fields.maybe_text("by")?;
    let login = fields.maybe_text("login")?;
    Ok(Incoming::Change { key, request: Request { station, by, login, command } })
}

fn run_in(fields: &mut Fields) -> Result<Command, String> {
    let asked = fields.text("asked")?;
    let known = RunInAsked::parse(&asked);
    let wrong = || format!("\"asked\" is \"{asked}\"; it should be start, step or end");
    Ok(Command::RunIn { asked: known.ok_or_else(wrong)?, target: fields.maybe_text("target")? })
}

fn command(what: &str, fields: &mut Fields) -> Result<Command, String> {
    Ok(match what {
        "job-open" | "job-use" | "job-close" | "job-rule" | "job-intake" | "job-edit"
        | "job-reopen" => of_job(what, fields)?,
        "measure" => Command::Measure {
            target: fields.text("target")?,
            remark: fields.maybe_text("remark")?,
        },
        "stop" => Command::Stop,
        "remeasure" => Command::Remeasure {
            reason: reason(&fields.text("reason")?)?,
            target: fields.maybe_text("target")?,
            remark: fields.maybe_text("remark")?,
        },
        "confirm" => {
            Command::Confirm { target: fields.text("target")?, answer: fields.text("answer")? }
        }
        "record" => {
            Command::Record { target: fields.text("target")?, value: fields.text("value")? }
        }
        "run-in" => run_in(fields)?,
        "stack-place" | "stack-spot" | "stack-back" => stack::command(what, fields)?,
        "replace" => Command::Replace {
            part: fields.text("part")?,
            serial: fields.maybe_text("serial")?,
            why: fields.text("why")?,
        },
        "next" => Command::Next,
        "enter" => Command::Enter {
            values: fields.texts("values")?,
            graduation: fields.maybe_text("graduation")?,
        },
        "take" => Command::Take { frame: None },
        "enter-high-low" => Command::EnterHighLow {
            high: fields.text("high")?,
            low: fields.text("low")?,
            graduation: fields.maybe_text("graduation")?,
        },
        "enter-total" => Command::EnterTotal {
            value: fields.text("value")?,
            graduation: fields.maybe_text("graduation")?,
        },
        "void" => {
            Command::Void { id: fields.number("id")?.map(Seq), why: fields.maybe_text("why")? }
        }
        "skip" => Command::Skip { position: fields.position()?, why: fields.text("why")? },
        "master" => Command::Master { gauge: fields.maybe_text("gauge")? },
        "note" => {
            Command::Note { job: fields.text("job")?, text: fields.text("text")?, closed: None }
        }
        "person" => Command::Person { name: fields.maybe_text("name")? },
        "ack" => Command::Ack(seen(fields)?),
        _ => {
            let found = of_others(what, fields)?;
            found.ok_or_else(|| format!("unknown request {what:?}"))?
        }
    })
}

/// Which alerts have been seen: one by its number, those of a job, or all.
fn seen(fields: &mut Fields) -> Result<AckOf, String> {
    let (id, job) = (fields.number("id")?, fields.maybe_text("job")?);
    match (id, job, fields.flag("all")?) {
        (Some(id), None, false) => Ok(AckOf::One(Seq(id))),
        (None, Some(job), false) => Ok(AckOf::Job(job)),
        (None, None, true) => Ok(AckOf::All),
        (None, None, false) => Err(missing("id")),
        _ => Err("\"ack\" takes one of \"id\", \"job\" and \"all\"".to_owned()),
    }
}

/// A request about gauges, papers or the card of a job; `None` where there is no such request.
fn of_others(what: &str, fields: &mut Fields) -> Result<Option<Command>, String> {
    for others in [shop::command, papers::command, card::command] {
        let found = others(what, fields)?;
        if found.is_some() {
            return Ok(found);
        }
    }
    Ok(None)
}

/// A request about a whole job.
fn of_job(what: &str, fields: &mut Fields) -> Result<Command, String> {
    Ok(match what {
        "job-open" => Command::JobOpen {
            name: fields.text("name")?,
            used: false,
            plan: fields.text("plan")?,
            serial: fields.maybe_text("serial")?,
            customer: fields.maybe_text("customer")?,
            told: card::told(fields)?,
            rule: fields.maybe_text("rule")?.as_deref().map(rule).transpose()?,
        },
        "job-intake" => {
            Command::JobIntake { name: fields.text("name")?, told: card::told(fields)? }
        }
        "job-edit" => card::edit(fields)?,
        "job-use" => Command::JobUse { name: fields.text("name")? },
        "job-close" => {
            let (name, why) = (fields.maybe_text("name")?, fields.maybe_text("why")?);
            Command::JobClose { name, why }
        }
        "job-rule" => Command::JobRule {
            name: fields.text("name")?,
            rule: rule(&fields.text("rule")?)?,
            why: fields.text("why")?,
        },
        _ => Command::JobReopen { name: fields.text("name")?, found: None },
    })
}

fn rule(text: &str) -> Result<Rule, String> {
    Rule::parse(text).ok_or_else(|| format!("\"rule\" is guarded or simple, not {text:?}"))
}

fn reason(text: &str) -> Result<AttemptReason, String> {
    let said = AttemptReason::parse(text).filter(|reason| *reason != AttemptReason::First);
    said.ok_or_else(|| format!("\"reason\" is ground, cleaned or again, not {text:?}"))
}

fn missing(name: &str) -> String {
    format!("\"{name}\" is missing")
}

/// An object, and the first name in it that occurs twice.
struct Once {
    map: Map<String, Value>,
    twice: Option<String>,
}

impl<'de> Deserialize<'de> for Once {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        from.deserialize_map(OnceVisitor)
    }
}

struct OnceVisitor;

impl<'de> Visitor<'de> for OnceVisitor {
    type Value = Once;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("an object")
    }

    fn visit_map<A: MapAccess<'de>>(self, mut from: A) -> Result<Once, A::Error> {
        let mut found = Once { map: Map::new(), twice: None };
        while let Some((name, value)) = from.next_entry::<String, Value>()? {
            if found.map.insert(name.clone(), value).is_some() {
                found.twice.get_or_insert(name);
            }
        }
        Ok(found)
    }
}

/// The fields of a request that were not read yet.
struct Fields(Map<String, Value>);

impl Fields {
    /// The fields of a line. A line with a field twice is refused, since only one of the two could count.
    fn read(line: &str) -> Result<Self, String> {
        match serde_json::from_str::<Once>(line) {
            Ok(Once { twice: Some(name), .. }) => Err(format!("\"{name}\" stands there twice")),
            Ok(Once { map, twice: None }) => Ok(Self(map)),
            Err(error) if error.is_data() => Err("a request is a JSON object".to_owned()),
            Err(error) => Err(format!("the request is not JSON: {error}")),
        }
    }

    fn text(&mut self, name: &str) -> Result<String, String> {
        self.maybe_text(name)?.ok_or_else(|| missing(name))
    }

    fn maybe_text(&mut self, name: &str) -> Result<Option<String>, String> {
        match self.0.remove(name) {
            None | Some(Value::Null) => Ok(None),
            Some(Value::String(text)) => Ok(Some(text)),
            Some(_) => Err(format!("\"{name}\" must be a text")),
        }
    }

    fn number(&mut self, name: &str) -> Result<Option<u64>, String> {
        match self.0.remove(name) {
            None | Some(Value::Null) => Ok(None),
            Some(value) => value
                .as_u64()
                .map(Some)
                .ok_or_else(|| format!("\"{name}\" must be a whole number, 0 or more")),
        }
    }

    fn position(&mut self) -> Result<Option<u32>, String> {
        let number = self.number("position")?;
        number
            .map(|number| u32::try_from(number).map_err(|_| "\"position\" is too large".to_owned()))
            .transpose()
    }

    fn degrees(&mut self, name: &str) -> Result<Option<u16>, String> {
        let whole = |number| u16::try_from(number).ok().filter(|deg| *deg < 360);
        let number = self.number(name)?;
        number
            .map(|n| whole(n).ok_or_else(|| format!("\"{name}\" is 0 to 359 degrees")))
            .transpose()
    }

    fn flag(&mut self, name: &str) -> Result<bool, String> {
        match self.0.remove(name) {
            None | Some(Value::Null) => Ok(false),
            Some(Value::Bool(flag)) => Ok(flag),
            Some(_) => Err(format!("\"{name}\" must be true or false")),
        }
    }

    fn two_texts(&mut self, name: &str) -> Result<Option<(String, String)>, String> {
        if matches!(self.0.get(name), None | Some(Value::Null)) {
            self.0.remove(name);
            return Ok(None);
        }
        let two = <[String; 2]>::try_from(self.texts(name)?);
        let two = two.map_err(|_| format!("\"{name}\" must be a list of two texts"))?;
        let [low, high] = two;
        Ok(Some((low, high)))
    }

    fn texts(&mut self, name: &str) -> Result<Vec<String>, String> {
        let not_texts = || format!("\"{name}\" must be a list of texts");
        let Value::Array(items) = self.0.remove(name).ok_or_else(|| missing(name))? else {
            return Err(not_texts());
        };
        items
            .into_iter()
            .map(|item| match item {
                Value::String(text) => Ok(text),
                Value::Null
                | Value::Bool(_)
                | Value::Number(_)
                | Value::Array(_)
                | Value::Object(_) => Err(not_texts()),
            })
            .collect()
    }

    fn finish(self, what: &str) -> Result<(), String> {
        match self.0.keys().next() {
            None => Ok(()),
            Some(name) => Err(format!("unknown field {name:?} in a {what:?} request")),
        }
    }
}

impl Incoming {
    /// The request as one line, without its line end.
    #[must_use]
    pub fn to_line(&self) -> String {
        let object = match self {
            Self::Status => json!({"request": "status"}),
            Self::Reload => json!({"request": "reload"}),
            Self::Tail { since, feed } => {
                json!({"request": "tail", "since": since, "feed": feed})
            }
            Self::View { station, wait_ms } => {
                json!({"request": "view", "station": station, "wait_ms": wait_ms})
            }
            Self::Change { key, request } => {
                let mut object = request_object(request);
                object["key"] = json!(key);
                object
            }
        };
        super::text::json_text(&object)
    }
}

fn request_object(request: &Request) -> Value {
    let mut object = command_object(&request.command);
    object["station"] = json!(request.station);
    object["by"] = json!(request.by);
    object["login"] = json!(request.login);
    object
}

/// The request without its key: the same text for the same request, however it was written.
#[must_use]
pub fn request_text(request: &Request) -> String {
    super::text::json_text(&request_object(request))
}

/// A command as its JSON object, without the fields that only the disk knows.
fn command_object(command: &Command) -> Value {
    match command {
        Command::JobUse { name } => json!({"request": "job-use", "name": name}),
        Command::JobClose { name, why } => {
            json!({"request": "job-close", "name": name, "why": why})
        }
        Command::JobRule { name, rule, why } => {
            json!({"request": "job-rule", "name": name, "rule": rule.text(), "why": why})
        }
        Command::JobReopen { name, found: _ } => json!({"request": "job-reopen", "name": name}),
        Command::Measure { target, remark } => {
            json!({"request": "measure", "target": target, "remark": remark})
        }
        Command::Stop => json!({"request": "stop"}),
        Command::Remeasure { reason, target, remark } => json!({
            "request": "remeasure", "reason": reason.text(), "target": target, "remark": remark,
        }),
        Command::Confirm { target, answer } => {
            json!({"request": "confirm", "target": target, "answer": answer})
        }
        Command::Record { target, value } => {
            json!({"request": "record", "target": target, "value": value})
        }
        Command::RunIn { asked, target } => {
            json!({"request": "run-in", "asked": asked.text(), "target": target})
        }
        Command::StackPlace { .. } | Command::StackSpot { .. } | Command::StackBack { .. } => {
            stack::object(command)
        }
        Command::Replace { part, serial, why } => {
            json!({"request": "replace", "part": part, "serial": serial, "why": why})
        }
        Command::Next => json!({"request": "next"}),
        Command::Enter { values, graduation } => {
            json!({"request": "enter", "values": values, "graduation": graduation})
        }
        // Only the deciding thread makes these, from a `take` where a turn is swept.
        Command::Take { frame: _ } | Command::Tapped { .. } | Command::Swept(_) => {
            json!({"request": "take"})
        }
        Command::EnterHighLow { high, low, graduation } => json!({
            "request": "enter-high-low", "high": high, "low": low, "graduation": graduation,
        }),
        Command::EnterTotal { value, graduation } => {
            json!({"request": "enter-total", "value": value, "graduation": graduation})
        }
        Command::Void { id, why } => {
            json!({"request": "void", "id": id.map(|id| id.0), "why": why})
        }
        Command::Skip { position, why } => {
            json!({"request": "skip", "position": position, "why": why})
        }
        Command::Master { gauge } => json!({"request": "master", "gauge": gauge}),
        Command::Note { job, text, closed: _ } => {
            json!({"request": "note", "job": job, "text": text})
        }
        Command::Person { name } => json!({"request": "person", "name": name}),
        Command::Prove { .. }
        | Command::ProveStop { .. }
        | Command::Register(_)
        | Command::Retire { .. } => shop::object(command).unwrap_or_default(),
        Command::Attach(_) | Command::TakeAttachedBack { .. } => {
            papers::object(command).unwrap_or_default()
        }
        Command::JobOpen { .. }
        | Command::JobIntake { .. }
        | Command::JobEdit { .. }
        | Command::Sign { .. }
        | Command::Decide { .. }
        | Command::Serial { .. } => card::object(command).unwrap_or_default(),
        Command::Ack(of) => seen_object(of),
    }
}

fn seen_object(of: &AckOf) -> Value {
    match of {
        AckOf::One(id) => json!({"request": "ack", "id": id.0}),
        AckOf::Job(job) => json!({"request": "ack", "job": job}),
        AckOf::All => json!({"request": "ack", "all": true}),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn commands() -> Vec<Command> {
        let some = |text: &str| Some(text.to_owned());
        let mut all = of_jobs();
        all.extend([
            Command::Measure { target: "inner-spacer/face-a".to_owned(), remark: some("chuck 2") },
            Command::Stop,
            Command::Remeasure {
                reason: AttemptReason::Ground,
                target: None,
                remark: some("b down"),
            },
            Command::Remeasure {
                reason: AttemptReason::Cleaned,
                target: some("a/b"),
                remark: None,
            },
            Command::Remeasure { reason: AttemptReason::Again, target: None, remark: None },
            Command::Confirm { target: "nut/locked".to_owned(), answer: "yes \"both\"".to_owned() },
            Command::Record { target: "nut/torque".to_owned(), value: "-0.2 um".to_owned() },
            Command::RunIn { asked: RunInAsked::Start, target: Some("spindle/run-in".to_owned()) },
            Command::RunIn { asked: RunInAsked::End, target: None },
            Command::Replace {
                part: "bearing-1".to_owned(),
                serial: some("B8"),
                why: "bore worn".to_owned(),
            },
            Command::Replace { part: "shield".to_owned(), serial: None, why: "lost".to_owned() },
            Command::Next,
            Command::Enter { values: vec!["-1".to_owned(), "3 um".to_owned()], graduation: None },
            Command::Enter { values: vec!["2".to_owned()], graduation: some("0.0001in") },
            Command::Person { name: some("M. Weber") },
            Command::Person { name: None },
            Command::Take { frame: None },
            Command::Void { id: None, why: None },
            Command::Void { id: Some(Seq(17)), why: some("chip\nunder it") },
            Command::Skip { position: None, why: "slot".to_owned() },
            Command::Skip { position: Some(3), why: "slot".to_owned() },
            Command::Master { gauge: some("height") },
            Command::Note { job: "J-1042".to_owned(), text: "Ø 40".to_owned(), closed: None },
            Command::Ack(AckOf::One(Seq(9))),
            Command::Ack(AckOf::Job("J-1042".to_owned())),
            Command::Ack(AckOf::All),
        ]);
        all.extend(shop::commands());
        all.extend(papers::commands());
        all.extend(card::commands());
        all.extend(stack::commands());
        all
    }

    fn of_jobs() -> Vec<Command> {
        let some = |text: &str| Some(text.to_owned());
        vec![
            Command::JobOpen {
                name: "J-1042".to_owned(),
                used: false,
                plan: "wheelhead".to_owned(),
                serial: some("S \"7\""),
                customer: None,
                told: vec![(IntakeItem::Asked, "new bearings".to_owned())],
                rule: Some(Rule::Simple),
            },
            Command::JobIntake {
                name: "J-1042".to_owned(),
                told: IntakeItem::ALL.map(|what| (what, "it \"whines\"".to_owned())).to_vec(),
            },
            Command::JobUse { name: "J-1042".to_owned() },
            Command::JobClose { name: None, why: None },
            Command::JobClose { name: some("J-1042"), why: some("the owner waits") },
            Command::JobReopen { name: "J-1042".to_owned(), found: None },
            Command::JobRule {
                name: "J-1042".to_owned(),
                rule: Rule::Simple,
                why: "agreed by \"phone\"".to_owned(),
            },
        ]
    }

    #[test]
    fn every_request_survives_the_line() {
        for command in commands() {
            for station in [None, Some("bench-1".to_owned())] {
                let request = Request {
                    station,
                    by: Some("ann".to_owned()),
                    login: Some("a".to_owned()),
                    command: command.clone(),
                };
                let sent = Incoming::Change { key: "k1".to_owned(), request };
                let line = sent.to_line();
                assert!(!line.contains('\n'), "{line}");
                assert_eq!(parse_request(&line), Ok(sent), "{line}");
            }
        }
        for asked in [
            Incoming::Status,
            Incoming::Tail { since: None, feed: None },
            Incoming::Tail { since: Some(0), feed: Some("a1".to_owned()) },
        ] {
            assert_eq!(parse_request(&asked.to_line()), Ok(asked));
        }
    }

    #[test]
    fn a_request_is_a_plain_object_anybody_can_write() {
        let line = r#"{"request":"void","key":"abc","id":17}"#;
        let request = Request {
            station: None,
            by: None,
            login: None,
            command: Command::Void { id: Some(Seq(17)), why: None },
        };
        assert_eq!(parse_request(line), Ok(Incoming::Change { key: "abc".to_owned(), request }));
    }

    #[track_caller]
    fn refused(line: &str, sentence: &str) {
        match parse_request(line) {
            Err(said) => assert!(said.contains(sentence), "{said:?} instead of {sentence:?}"),
            Ok(taken) => panic!("{line} was taken as {taken:?}"),
        }
    }

    #[test]
    fn a_view_is_asked_for_with_or_without_waiting() {
        let plain = Incoming::View { station: None, wait_ms: None };
        assert_eq!(parse_request(r#"{"request":"view"}"#), Ok(plain));
        let asked = Incoming::View { station: Some("bench-1".to_owned()), wait_ms: Some(1000) };
        assert_eq!(parse_request(&asked.to_line()), Ok(asked));
        refused(r#"{"request":"view","wait_ms":"long"}"#, "whole number");
    }

    #[test]
    fn junk_is_refused_with_a_sentence() {
        refused("", "not JSON");
        refused("hello", "not JSON");
        refused("[1]", "a request is a JSON object");
        refused("{}", "\"request\" is missing");
        refused(r#"{"request":5}"#, "\"request\" must be a text");
        refused(r#"{"request":"format-disk","key":"k"}"#, "unknown request \"format-disk\"");
        refused(r#"{"request":"status","colour":"red"}"#, "unknown field \"colour\"");
        refused(r#"{"request":"next"}"#, "\"key\" is missing");
        refused(r#"{"request":"confirm","target":"a/b"}"#, "\"answer\" is missing");
        refused(r#"{"request":"record","target":"a/b","value":4}"#, "\"value\" must be a text");
        refused(r#"{"request":"stack-back","stage":"lost"}"#, "\"stage\" is found or built");
        refused(r#"{"request":"replace","part":"a"}"#, "\"why\" is missing");
        let place = r#""request":"stack-place","stage":"found","part":"a""#;
        refused(&format!("{{{place},\"mark_deg\":360}}"), "\"mark_deg\" is 0 to 359 degrees");
        refused(&format!("{{{place},\"mark_deg\":-1}}"), "\"mark_deg\" must be a whole number");
        refused(r#"{"request":"next","key":""}"#, "\"key\" must be 1 to 128");
        refused(r#"{"request":"next","key":"a b"}"#, "visible ASCII");
        refused(r#"{"request":"ack","key":"k"}"#, "\"id\" is missing");
        refused(r#"{"request":"ack","key":"k","id":-1}"#, "whole number");
        refused(r#"{"request":"ack","key":"k","id":1.5}"#, "whole number");
        refused(r#"{"request":"tail","since":"now"}"#, "whole number");
        refused(r#"{"request":"skip","key":"k","position":4294967296,"why":"x"}"#, "too large");
        refused(r#"{"request":"enter","key":"k","values":"1"}"#, "list of texts");
        refused(r#"{"request":"enter","key":"k","values":[1]}"#, "list of texts");
        refused(r#"{"request":"enter","key":"k"}"#, "\"values\" is missing");
        refused(
            r#"{"request":"remeasure","key":"k","reason":"first"}"#,
            "ground, cleaned or again",
        );
        refused(
            r#"{"request":"job-open","key":"k","name":"J","plan":"p","used":true}"#,
            "\"used\"",
        );
        refused(r#"{"request":"measure","key":"k","target":["a"]}"#, "\"target\" must be a text");
    }

    #[test]
    fn an_oversize_or_deeply_nested_line_is_refused() {
        let long = format!(
            r#"{{"request":"note","key":"k","job":"J","text":"{}"}}"#,
            "x".repeat(MAX_LINE)
        );
        refused(&long, "65536 bytes at most");
        let nested = format!("{}1{}", "[".repeat(20_000), "]".repeat(20_000));
        refused(&nested, "a request is a JSON object");
        refused(&format!(r#"{{"request":{nested}}}"#), "not JSON");
        refused(r#"{"request":"void","id":3,"id":4,"key":"k"}"#, "\"id\" stands there twice");
    }
}
