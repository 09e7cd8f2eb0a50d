//! The lines that scripts read, checked against their schemas (`docs/schemas`) by a validator that is not ours:
//! the lines that every test reads, and, in one play, every kind of line.

mod play;

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::PathBuf;
use std::sync::LazyLock;

use jsonschema::Validator;
use serde_json::Value;

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

#[test]
fn every_field_says_what_it_is_and_every_schema_is_one() {
    for (name, schema) in wire::schemas::schemas() {
        jsonschema::meta::validate(&schema).unwrap_or_else(|error| panic!("{name}: {error}"));
        let mut all = Vec::new();
        fields(&schema, &name, &mut all);
        assert!(all.len() > 1, "{name}");
        for (at, field) in all {
            let about = field["description"].as_str().unwrap_or_default();
            assert!(about.ends_with(['.', '`']) && about.len() > 3, "{at}: {about:?}");
            // A choice of words, a number, a text, a part … and not just anything.
            let kind = ["type", "oneOf", "anyOf", "$ref", "const", "enum"];
            assert!(kind.iter().any(|key| field.get(key).is_some()), "{at}: {field}");
        }
        assert!(!schema["description"].as_str().unwrap_or_default().is_empty(), "{name}");
    }
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
