//! The lines that scripts read, checked against their schemas (`docs/schemas`) by a validator that is not ours:
//! the lines that every test reads, and, in one play, every kind of line.

mod play;

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::PathBuf;
use std::sync::LazyLock;

use jsonschema::Validator;
use serde_json::Value;

use crate::house::files_below;

/// Writes the files anew where it is set.
const WRITE: &str = "TENTHS_WRITE";

fn folder() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("docs/schemas")
}

fn file_of(name: &str) -> String {
    format!("{}.json", name.replace('/', "-"))
}

/// The published files, each closed, by the name of its line.
static CLOSED: LazyLock<BTreeMap<String, Validator>> = LazyLock::new(|| {
    let files = fs::read_dir(folder()).unwrap().map(|file| file.unwrap().path());
    let schemas = files.filter(|file| file.extension().is_some_and(|ending| ending == "json"));
    schemas
        .map(|file| {
            let mut schema = serde_json::from_str(&fs::read_to_string(file).unwrap()).unwrap();
            close(&mut schema);
            let name = schema["title"].as_str().unwrap().to_owned();
            let formats = jsonschema::options().should_validate_formats(true);
            (name, formats.build(&schema).unwrap())
        })
        .collect()
});

/// Nothing may stand on a line that its schema does not have. The published files leave that open: a
/// later version may tell more.
fn close(schema: &mut Value) {
    match schema {
        Value::Object(fields) => {
            fields.values_mut().for_each(close);
            if fields.get("properties").is_some_and(Value::is_object) && fields.contains_key("type")
            {
                fields.insert("additionalProperties".to_owned(), Value::Bool(false));
            }
        }
        Value::Array(items) => items.iter_mut().for_each(close),
        Value::Null | Value::Bool(_) | Value::Number(_) | Value::String(_) => {}
    }
}

/// What is wrong with a line.
fn faults(line: &Value) -> Vec<String> {
    let Some(schema) = line["schema"].as_str().and_then(|name| CLOSED.get(name)) else {
        return vec![format!("there is no schema for {}", line["schema"])];
    };
    let fault =
        |error: jsonschema::ValidationError<'_>| format!("{}: {error}", error.instance_path());
    schema.iter_errors(line).map(fault).collect()
}

/// Holds a line that the program printed against its schema.
#[track_caller]
pub(crate) fn hold(line: &Value) {
    let faults = faults(line);
    assert!(faults.is_empty(), "{line}\nis not as docs/schemas has it:\n{}", faults.join("\n"));
}

#[test]
fn the_files_are_as_the_lines_are_described() {
    let mut files = BTreeSet::from(["README.md".to_owned()]);
    let readme = fs::read_to_string(folder().join("README.md")).unwrap();
    for (name, schema) in wire::schemas::schemas() {
        let text = serde_json::to_string_pretty(&schema).unwrap() + "\n";
        let path = folder().join(file_of(&name));
        if std::env::var_os(WRITE).is_some() {
            fs::write(&path, &text).unwrap();
        }
        let stored = fs::read_to_string(&path).unwrap_or_default();
        assert!(
            stored == text,
            "docs/schemas/{} is not as the line is described now; this writes the files anew: \
             {WRITE}=1 cargo test --test it schemas",
            file_of(&name)
        );
        let linked = format!("[`{name}`]({})", file_of(&name));
        assert!(readme.contains(&linked), "README.md does not name {name}");
        assert!(files.insert(file_of(&name)), "{name} twice");
    }
    let there = fs::read_dir(folder()).unwrap().map(|file| file.unwrap().file_name());
    let there: BTreeSet<String> = there.map(|name| name.into_string().unwrap()).collect();
    assert_eq!(there, files);
}

/// The field of a column: a path into the line.
fn field<'a>(schema: &'a Value, path: &str) -> Option<&'a Value> {
    path.split('.').try_fold(schema, |at, key| under(schema, at, key))
}

/// A field of a part, which may stand on its own, or of either form that it may have.
fn under<'a>(schema: &'a Value, at: &'a Value, key: &str) -> Option<&'a Value> {
    let name = at["$ref"].as_str().and_then(|path| path.strip_prefix("#/$defs/"));
    let at = name.map_or(at, |name| &schema["$defs"][name]);
    let form = || at["anyOf"].as_array()?.iter().find_map(|form| under(schema, form, key));
    at["properties"].get(key).or_else(form)
}

/// The columns of each command's `--csv` with what they hold.
fn columns_of_tables() -> String {
    let schemas: BTreeMap<String, Value> = wire::schemas::schemas().into_iter().collect();
    let tables: [(&str, &str, &[&str]); 4] = [
        ("Readings", "reading/1", &report::READING_COLUMNS),
        ("Verdicts", "verdict/1", &report::VERDICT_COLUMNS),
        ("Alerts", "alert/1", &report::ALERT_COLUMNS),
        ("Jobs", "job/1", report::JOB_COLUMNS),
    ];
    let row = |name: &str, column: &str| {
        let field = field(&schemas[name], column);
        let field = field.unwrap_or_else(|| panic!("{name} has no {column}"));
        format!("| `{column}` | {} |\n", field["description"].as_str().unwrap())
    };
    let table = |(title, name, columns): (&str, &str, &[&str])| {
        let rows: String = columns.iter().map(|column| row(name, column)).collect();
        let headings = columns.join(",");
        format!(
            "\n## {title}\n\n```csv\n{headings}\n```\n\n| column | what it holds |\n|---|---|\n{rows}"
        )
    };
    tables.map(table).concat()
}

#[test]
fn the_columns_of_tables_are_described_as_the_fields_of_lines_are() {
    let path = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("docs/csv.md");
    let stored = fs::read_to_string(&path).unwrap();
    let (before, _) = stored.split_once("\n## Readings\n").unwrap();
    let text = format!("{before}{}", columns_of_tables());
    if std::env::var_os(WRITE).is_some() {
        fs::write(&path, &text).unwrap();
    }
    assert!(
        fs::read_to_string(&path).unwrap() == text,
        "docs/csv.md is not as the lines are described now; this writes it anew: {WRITE}=1 cargo test \
         --test it schemas"
    );
}

/// Every field that a schema has, with its place.
fn fields<'a>(schema: &'a Value, at: &str, all: &mut Vec<(String, &'a Value)>) {
    if let Value::Object(keys) = schema {
        for (key, value) in keys {
            if let ("properties", Value::Object(properties)) = (key.as_str(), value) {
                all.extend(properties.iter().map(|(name, field)| (format!("{at}.{name}"), field)));
            }
            fields(value, &format!("{at}/{key}"), all);
        }
    } else if let Value::Array(items) = schema {
        for item in items {
            fields(item, at, all);
        }
    }
}

/// Whether a description is a sentence that says something.
fn says_something(schema: &Value) -> bool {
    let about = schema["description"].as_str().unwrap_or_default();
    about.len() > 3 && about.ends_with(['.', '`'])
}

/// Everything in a schema that does not say what it is: fields, words that a field may hold, the schema itself.
fn unsaid(name: &str, schema: &Value) -> Vec<String> {
    let mut wrong = Vec::new();
    let mut all = Vec::new();
    fields(schema, name, &mut all);
    if all.len() < 2 || schema["description"].as_str().unwrap_or_default().is_empty() {
        wrong.push(name.to_owned());
    }
    for (at, field) in all {
        // A choice of words, a number, a text, a part … and not just anything.
        let kind = ["type", "oneOf", "anyOf", "$ref", "const", "enum"];
        if !says_something(field) || !kind.iter().any(|key| field.get(key).is_some()) {
            wrong.push(at);
        }
    }
    words(schema, name, &mut wrong);
    wrong
}

/// The words of a choice that do not say what they mean.
fn words(schema: &Value, at: &str, wrong: &mut Vec<String>) {
    match schema {
        Value::Object(keys) => {
            for word in keys.get("oneOf").and_then(Value::as_array).into_iter().flatten() {
                if word.get("const").is_some_and(Value::is_string) && !says_something(word) {
                    wrong.push(format!("{at}: the word {}", word["const"]));
                }
            }
            keys.iter().for_each(|(key, value)| words(value, &format!("{at}/{key}"), wrong));
        }
        Value::Array(items) => items.iter().for_each(|item| words(item, at, wrong)),
        Value::Null | Value::Bool(_) | Value::Number(_) | Value::String(_) => {}
    }
}

#[test]
fn every_field_says_what_it_is_and_every_schema_is_one() {
    for (name, schema) in wire::schemas::schemas() {
        jsonschema::meta::validate(&schema).unwrap_or_else(|error| panic!("{name}: {error}"));
        assert_eq!(unsaid(&name, &schema), [""; 0], "without a description");
    }
}

/// One field or one word without a description is found, wherever it stands.
#[test]
fn a_field_without_a_description_is_found() {
    let schemas: BTreeMap<String, Value> = wire::schemas::schemas().into_iter().collect();
    let mut tried = 0;
    for place in [
        "/properties/job",
        "/properties/standing/oneOf/0",
        "/$defs/LimitsLine/properties/min",
        "/$defs/FiguresLine/properties/tilt",
        "/$defs/StationLine/properties/at",
        "",
    ] {
        let mut schema = schemas["verdict/1"].clone();
        let Some(part) = schema.pointer_mut(place).and_then(Value::as_object_mut) else { continue };
        part.remove("description").unwrap_or_else(|| panic!("{place} has none"));
        assert_eq!(unsaid("verdict/1", &schema).len(), 1, "{place}");
        tried += 1;
    }
    assert!(tried >= 5, "the schema has other places now");
}

/// A line whose name stands in the sources has a schema. (The files of a bundle are no lines that a script reads.)
#[test]
fn every_line_that_is_written_has_a_schema() {
    let known: BTreeSet<String> =
        wire::schemas::schemas().into_iter().map(|(name, _)| name).collect();
    let mut written = BTreeSet::new();
    let mut files = Vec::new();
    for room in ["src/wire", "src/client"] {
        files_below(&PathBuf::from(env!("CARGO_MANIFEST_DIR")).join(room), &mut files);
    }
    for file in
        files.iter().filter(|file| !file.components().any(|part| part.as_os_str() == "bundle"))
    {
        let text = fs::read_to_string(file).unwrap();
        let quoted = text.split('"').skip(1).step_by(2);
        let name = |text: &&str| {
            text.strip_suffix("/1").is_some_and(|name| {
                !name.is_empty() && name.chars().all(|c| c.is_ascii_lowercase() || c == '-')
            })
        };
        written.extend(quoted.filter(name).map(str::to_owned));
    }
    assert!(written.len() > 30, "{written:?}");
    let without: Vec<_> = written.difference(&known).collect();
    assert_eq!(without, [""; 0], "lines without a schema");
}

/// Every object of a schema that has fields, with its place.
fn objects<'a>(schema: &'a Value, at: &str, all: &mut Vec<(String, &'a Value)>) {
    match schema {
        Value::Object(keys) => {
            if let Some(properties @ Value::Object(_)) = keys.get("properties") {
                all.push((at.to_owned(), properties));
            }
            keys.iter().for_each(|(key, value)| objects(value, &format!("{at}/{key}"), all));
        }
        Value::Array(items) => items.iter().for_each(|item| objects(item, at, all)),
        Value::Null | Value::Bool(_) | Value::Number(_) | Value::String(_) => {}
    }
}

#[test]
fn limits_have_one_shape_wherever_there_is_a_tolerance() {
    let mut with = Vec::new();
    for (name, schema) in wire::schemas::schemas() {
        let mut all = Vec::new();
        objects(&schema, &name, &mut all);
        for (at, fields) in all {
            // The tolerance of a study is the width of one, a plain number.
            let number = |field: &Value| field["type"].to_string().contains("number");
            let told = fields.get("tolerance").is_some_and(|field| !number(field));
            assert!(!told || fields.get("limits").is_some(), "{at} has a tolerance and no limits");
            let Some(limits) = fields.get("limits") else { continue };
            assert!(limits.to_string().contains("#/$defs/LimitsLine"), "{at}: {limits}");
            for end in ["min", "max"] {
                let end = &schema["$defs"]["LimitsLine"]["properties"][end];
                assert_eq!(end["type"], serde_json::json!(["string", "null"]), "{at}");
            }
            with.push(name.clone());
        }
    }
    with.dedup();
    with.sort();
    with.dedup();
    let lines = ["comparison/1", "evaluation/1", "feed/1", "plan/1", "verdict/1", "view/1"];
    assert_eq!(with, lines);
}

/// A validator that lets everything pass would prove nothing.
#[test]
fn a_line_that_is_not_as_described_is_found() {
    let line = serde_json::json!({ "schema": "hello/1", "version": "0.1.0", "protocol": 1 });
    assert_eq!(faults(&line), Vec::<String>::new());
    let with = |key: &str, value: Value| {
        let mut line = line.clone();
        line[key] = value;
        line
    };
    let mut without = line.clone();
    without.as_object_mut().unwrap().remove("protocol");
    for wrong in [
        with("more", 1.into()),
        with("protocol", "1".into()),
        with("protocol", Value::from(-1)),
        with("schema", "goodbye/1".into()),
        without,
    ] {
        assert_eq!(faults(&wrong).len(), 1, "{wrong}");
    }
    let alert = |at: &str, level: &str, job: &str| {
        serde_json::json!({
            "schema": "alert/1", "id": 1, "at": at, "level": level, "kind": "out", "job": job,
            "part": null, "check": null, "gauge": null, "text": "out", "cleared_at": null,
            "acked_at": null, "acked_by": null,
        })
    };
    assert_eq!(faults(&alert("2027-03-01T14:30:00.250Z", "note", "J-1")), Vec::<String>::new());
    assert_eq!(faults(&alert("2027-03-01T14:30:00.250+01:00", "note", "J-1")).len(), 1);
    assert_eq!(faults(&alert("2027-02-30T14:30:00.250Z", "note", "J-1")).len(), 1);
    assert_eq!(faults(&alert("2027-03-01T14:30:00.250Z", "loud", "J-1")).len(), 1);
    assert_eq!(faults(&alert("2027-03-01T14:30:00.250Z", "note", "a/b")).len(), 1);
}
