//! The schema of every published line, made from the structs that are written.

use std::collections::BTreeSet;

use schemars::generate::SchemaSettings;
use schemars::transform::{RecursiveTransform, Transform};
use schemars::{JsonSchema, Schema, SchemaGenerator};
use serde_json::{Map, Value, json};

use super::attachment::AttachmentLine;
use super::budget::BudgetLine;
use super::evaluation::EvaluationLine;
use super::explained::ExplainedLine;
use super::feed::{Begins, StorageLine};
use super::finding::FindingLine;
use super::job::JobLine;
use super::key::KeyLine;
use super::proof::GaugeHistoryLine;
use super::record::{BackupLine, ExportLine, ImportLine, RestoreLine, VerifyLine};
use super::reply::{DoneLine, Hello, Refused, SendLine};
use super::study::StudyLine;
use super::text::Called;
use super::{
    AlertLine, ComparisonLine, DoctorLine, FeedLine, GaugeLine, HeardLine, PlanLine, PortLine,
    PresenceLine, ReadingLine, ReloadLine, Status, VerdictLine, View,
};

/// The note in every schema file.
const GROWS: &str = "Fields and words may be added; those that are here keep their name and their \
                     meaning, and a field that is required stays.";

/// The schema of each line by its name, such as `reading/1`.
///
/// # Panics
/// When a line is described wrongly, which would be a bug.
#[must_use]
pub fn schemas() -> Vec<(String, Value)> {
    let mut all = vec![
        line::<AlertLine>("alert/1"),
        line::<AttachmentLine<'_>>("attachment/1"),
        line::<BackupLine<'_>>("backup/1"),
        line::<ComparisonLine>("comparison/1"),
        line::<Called<DoctorLine>>("doctor/1"),
        line::<Refused<'_>>("error/1"),
        line::<Called<EvaluationLine>>("evaluation/1"),
        line::<ExplainedLine<'_>>("explained/1"),
        line::<ExportLine<'_>>("export/1"),
        line::<FeedLine>("feed/1"),
        line::<FindingLine<'_>>("finding/1"),
        line::<Called<HeardLine>>("heard/1"),
        line::<GaugeLine>("gauge/1"),
        line::<GaugeHistoryLine>("gauge-history/1"),
        line::<BudgetLine>("budget/1"),
        line::<Hello>("hello/1"),
        line::<ImportLine<'_>>("import/1"),
        line::<JobLine<'_>>("job/1"),
        line::<KeyLine<'_>>("key/1"),
        line::<Called<PlanLine>>("plan/1"),
        line::<Called<PortLine>>("port/1"),
        line::<PresenceLine>("presence/1"),
        line::<ReadingLine>("reading/1"),
        line::<Called<ReloadLine>>("reload/1"),
        line::<RestoreLine<'_>>("restore/1"),
        line::<SendLine>("send/1"),
        line::<Called<Status>>("status/1"),
        line::<StorageLine>("storage/1"),
        line::<Called<StudyLine>>("study/1"),
        line::<Called<Begins>>("tail/1"),
        line::<VerdictLine>("verdict/1"),
        line::<VerifyLine<'_>>("verify/1"),
        line::<Called<View>>("view/1"),
    ];
    all.extend(replies());
    all
}

/// One of some words, or none of them: in one list.
fn or_null(schema: &mut Schema) {
    let Some(Value::Array(either)) = schema.get("anyOf") else { return };
    let [words, null] = &either[..] else { return };
    let (Some(Value::Array(words)), Some("null")) = (words.get("oneOf"), null["type"].as_str())
    else {
        return;
    };
    let either = words.iter().chain([null]).cloned().collect::<Vec<_>>();
    schema.remove("anyOf");
    schema.insert("oneOf".to_owned(), either.into());
}

/// The schema of what is written, without details that its reader does not need.
fn schema_of<T: JsonSchema>() -> Map<String, Value> {
    let settings = SchemaSettings::draft2020_12().for_serialize();
    let mut schema = SchemaGenerator::new(settings).into_root_schema_for::<T>();
    let mut plain = RecursiveTransform(|schema: &mut Schema| {
        schema.remove("default");
        if schema.get("format").is_some_and(|format| format != "date-time") {
            schema.remove("format");
        }
        or_null(schema);
        if let Some(Value::String(about)) = schema.get_mut("description") {
            *about = about.split_whitespace().collect::<Vec<_>>().join(" ");
        }
    });
    plain.transform(&mut schema);
    let Value::Object(schema) = schema.into() else { unreachable!("a line is an object") };
    schema
}

fn line<T: JsonSchema>(name: &str) -> (String, Value) {
    finished(name, schema_of::<T>())
}

/// A schema for each reply; their structs are variants of one enum.
fn replies() -> Vec<(String, Value)> {
    let mut all = schema_of::<DoneLine<'_>>();
    let parts = all.remove("$defs").unwrap_or_default();
    let Some(Value::Array(replies)) = all.remove("oneOf") else {
        unreachable!("a choice of replies")
    };
    let reply = |mut reply: Value| {
        let mut reply = reply.as_object_mut().map(std::mem::take).expect("a reply is an object");
        // A variant that is a struct of its own has its fields there.
        if let Some(Value::String(other)) = reply.remove("$ref") {
            let name = other.trim_start_matches("#/$defs/");
            let fields = parts[name]["properties"].as_object().expect("fields").clone();
            let always = parts[name]["required"].as_array().expect("names").clone();
            object(&mut reply, "properties").extend(fields);
            list(&mut reply, "required").extend(always);
        }
        let name = reply["properties"]["schema"]["const"].as_str().expect("a name").to_owned();
        reply.insert("$defs".to_owned(), parts.clone());
        finished(&name, reply)
    };
    replies.into_iter().map(reply).collect()
}

fn object<'a>(of: &'a mut Map<String, Value>, key: &str) -> &'a mut Map<String, Value> {
    of.get_mut(key).and_then(Value::as_object_mut).expect("an object")
}

fn list<'a>(of: &'a mut Map<String, Value>, key: &str) -> &'a mut Vec<Value> {
    of.get_mut(key).and_then(Value::as_array_mut).expect("a list")
}

/// Adds the name, and removes parts that are not used.
fn finished(name: &str, mut schema: Map<String, Value>) -> (String, Value) {
    let called = json!({ "const": name, "description": "The name of this shape." });
    object(&mut schema, "properties").insert("schema".to_owned(), called);
    schema.insert("$schema".to_owned(), "https://json-schema.org/draft/2020-12/schema".into());
    schema.insert("title".to_owned(), name.into());
    schema.insert("$comment".to_owned(), GROWS.into());
    if let Some(Value::Object(mut parts)) = schema.remove("$defs") {
        let used = used(&Value::Object(schema.clone()), &parts);
        parts.retain(|part, _| used.contains(part));
        if !parts.is_empty() {
            schema.insert("$defs".to_owned(), parts.into());
        }
    }
    (name.to_owned(), schema.into())
}

/// The parts that a schema refers to, directly or through other parts.
fn used(schema: &Value, parts: &Map<String, Value>) -> BTreeSet<String> {
    let mut used = BTreeSet::new();
    let mut look = vec![schema];
    while let Some(value) = look.pop() {
        match value {
            Value::Object(fields) => look.extend(fields.values()),
            Value::Array(items) => look.extend(items),
            Value::String(text) => {
                let part = text.strip_prefix("#/$defs/").filter(|part| parts.contains_key(*part));
                if let Some(part) = part.filter(|part| used.insert((*part).to_owned())) {
                    look.push(&parts[part]);
                }
            }
            Value::Null | Value::Bool(_) | Value::Number(_) => {}
        }
    }
    used
}
