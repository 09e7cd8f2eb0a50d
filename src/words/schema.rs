//! Schemas of published lines: the form of the text or number in a field, beyond its type. Only with the
//! feature `schemas`, for the files under `docs/schemas`.

#![cfg(feature = "schemas")]

use std::borrow::Cow;

use judgement::{Limits, Word};
use quantity::{Figure, schema_of_words as words};
use schemars::transform::Transform;
use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde_json::{Map, Value, json};

use super::leaf::{Angle, Billionth, Bound, Millionth, Stated, Thousandth, ThousandthUp};
use super::tell::LimitsTold;

/// A decimal without exponent.
const LENGTH: &str = r"^-?[0-9]+(\.[0-9]+)?$";

/// A length as a decimal text without exponent.
#[must_use]
pub fn length() -> Schema {
    json_schema!({ "type": "string", "pattern": LENGTH })
}

/// A length with its unit behind it.
#[must_use]
pub fn length_with_unit() -> Schema {
    json_schema!({ "type": "string", "pattern": r"^[-+]?[0-9]+(\.[0-9]+)? (in|mm|um)$" })
}

/// What a gauge shows: a length with its unit, of a thermometer a temperature.
#[must_use]
pub fn shown_value() -> Schema {
    json_schema!({ "type": "string", "pattern": r"^[-+]?[0-9]+(\.[0-9]+)? (in|mm|um|°C)$" })
}

/// An angle, degrees, [0, 360).
#[must_use]
pub fn angle() -> Schema {
    json_schema!({ "type": "number", "minimum": 0, "exclusiveMaximum": 360 })
}

/// A moment, RFC 3339, UTC.
#[must_use]
pub fn time() -> Schema {
    json_schema!({ "type": "string", "format": "date-time", "pattern": "Z$" })
}

/// The name of a job, a part, a check, a gauge, a station or a person.
#[must_use]
pub fn name() -> Schema {
    json_schema!({ "type": "string", "minLength": 1, "maxLength": 64, "pattern": "^[^/]+$" })
}

/// The forms of the fields of a line, beyond their types.
#[derive(Debug, Clone, Default)]
pub struct Forms(Vec<(&'static str, Schema)>);

/// No fields yet.
#[must_use]
pub fn forms() -> Forms {
    Forms::default()
}

impl Forms {
    /// Gives these fields, their names separated by blanks, this form.
    #[must_use]
    pub fn of(mut self, form: fn() -> Schema, fields: &'static str) -> Self {
        self.0.extend(fields.split_whitespace().map(|field| (field, form())));
        self
    }

    /// Sets the name of the line, which is in its field `schema`.
    #[must_use]
    pub fn called(mut self, schema: &str) -> Self {
        self.0.push(("schema", json_schema!({ "const": schema })));
        self
    }
}

impl Transform for Forms {
    fn transform(&mut self, schema: &mut Schema) {
        let properties = schema.get_mut("properties").and_then(Value::as_object_mut);
        let properties = properties.expect("a line has fields");
        for (field, form) in &self.0 {
            let property = properties.get_mut(*field);
            hold(property.unwrap_or_else(|| panic!("there is no field {field}")), form);
        }
    }
}

/// Gives a field its form. For a list each item has it, and an optional field stays optional.
fn hold(property: &mut Value, form: &Schema) {
    if let Some(items) = property.get_mut("items") {
        return hold(items, form);
    }
    let field = property.as_object_mut().expect("a field with a type");
    let nullable = field.remove("type").is_some_and(|types| types.is_array());
    field.extend(form.as_object().expect("a form with keys").clone());
    if nullable && let Some(one) = field.get_mut("type") {
        *one = json!([one.take(), "null"]);
    }
}

/// The published form of an exact value.
pub trait ToldSchema {
    /// Its schema.
    fn told(generator: &mut SchemaGenerator) -> Schema;
}

/// Values with a form of their own.
macro_rules! told_as {
    ($($form:expr => $($type:ty),*;)*) => { $( $(
        impl ToldSchema for $type {
            fn told(_: &mut SchemaGenerator) -> Schema {
                $form
            }
        }
    )* )* };
}

told_as! {
    length() => Figure, Bound, Stated;
    angle() => Angle;
    json_schema!({ "type": "number" }) => Thousandth, ThousandthUp, Millionth, Billionth;
    json_schema!({ "type": "integer", "minimum": 0 }) => u32;
    json_schema!({ "type": "boolean" }) => bool;
    json_schema!({ "type": "string" }) => String;
    words(Word::WORDS) => Word;
}

impl ToldSchema for Limits {
    fn told(generator: &mut SchemaGenerator) -> Schema {
        generator.subschema_for::<LimitsTold>()
    }
}

/// Left out where there is no value.
impl<T: ToldSchema> ToldSchema for Option<T> {
    fn told(generator: &mut SchemaGenerator) -> Schema {
        T::told(generator)
    }
}

impl<T: ToldSchema> ToldSchema for Vec<T> {
    fn told(generator: &mut SchemaGenerator) -> Schema {
        json_schema!({ "type": "array", "items": T::told(generator) })
    }
}

impl<T: ToldSchema> ToldSchema for [T; 2] {
    fn told(generator: &mut SchemaGenerator) -> Schema {
        json_schema!({ "type": "array", "items": T::told(generator), "minItems": 2, "maxItems": 2 })
    }
}

impl JsonSchema for LimitsTold {
    fn schema_name() -> Cow<'static, str> {
        "Limits".into()
    }

    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        let limit = |about: &str| {
            let mut limit = length();
            limit.insert("description".to_owned(), about.into());
            limit
        };
        json_schema!({
            "description": "Limits: a largest one alone as a text, others as an object.",
            "anyOf": [limit("The largest allowed figure, in the unit of the line."), {
                "type": "object",
                "properties": {
                    "min": limit("The smallest allowed figure, in the unit of the line."),
                    "max": limit("The largest allowed figure, in the unit of the line."),
                },
                "required": ["min"],
            }],
        })
    }
}

/// A part of a line: its name, what it is, whether it is always there, and its schema.
type Part = (&'static str, &'static str, bool, Schema);

/// The schema of a line made of these parts.
#[must_use]
pub fn object(about: &str, parts: Vec<Part>) -> Schema {
    let always = parts.iter().filter(|part| part.2).map(|part| part.0).collect::<Vec<_>>();
    let mut schema = json_schema!({
        "type": "object",
        "description": sentence(about),
        "required": always,
    });
    let described = |(name, about, _, mut schema): Part| {
        let items = schema.get("items").unwrap_or(schema.as_value());
        let unit = if items["pattern"] == LENGTH { " In the unit of the line." } else { "" };
        schema.insert("description".to_owned(), (sentence(about) + unit).into());
        (name.to_owned(), schema.into())
    };
    let properties: Map<String, Value> = parts.into_iter().map(described).collect();
    schema.insert("properties".to_owned(), properties.into());
    schema
}

/// The lines of a comment as one text.
fn sentence(about: &str) -> String {
    about.split_whitespace().collect::<Vec<_>>().join(" ")
}
