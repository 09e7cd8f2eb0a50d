//! The schemas of values on a line.

use schemars::transform::Transform;
use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde_json::{Value, json};

use super::super::schema::{self, ToldSchema, forms};
use super::super::{Angle, Billionth, Bound, Millionth, Stated, Thousandth, ThousandthUp};
use super::*;
use judgement::Word;
use quantity::Figure;

fn told<T: ToldSchema>() -> Value {
    T::told(&mut SchemaGenerator::default()).to_value()
}

fn decimal() -> Value {
    json!({ "type": "string", "pattern": r"^-?[0-9]+(\.[0-9]+)?$" })
}

#[test]
fn each_kind_of_value_has_its_form() {
    assert_eq!(
        [told::<Figure>(), told::<Bound>(), told::<Stated>()],
        [decimal(), decimal(), decimal()]
    );
    assert_eq!(told::<Angle>(), json!({ "type": "number", "minimum": 0, "exclusiveMaximum": 360 }));
    let number = json!({ "type": "number" });
    for told in
        [told::<Thousandth>(), told::<ThousandthUp>(), told::<Millionth>(), told::<Billionth>()]
    {
        assert_eq!(told, number);
    }
    assert_eq!(told::<u32>(), json!({ "type": "integer", "minimum": 0 }));
    assert_eq!(
        (told::<bool>(), told::<String>()),
        (json!({ "type": "boolean" }), json!({ "type": "string" }))
    );
    assert_eq!(told::<Option<Figure>>(), decimal(), "left out where there is none");
    assert_eq!(told::<Vec<u32>>(), json!({ "type": "array", "items": told::<u32>() }));
    let two = json!({ "type": "array", "items": decimal(), "minItems": 2, "maxItems": 2 });
    assert_eq!(told::<[Figure; 2]>(), two);
}

#[test]
fn words_are_listed_each_with_what_it_means() {
    let word = told::<Word>();
    let choices = word["oneOf"].as_array().unwrap();
    assert_eq!(choices.len(), Word::ALL.len());
    for (choice, word) in choices.iter().zip(Word::ALL) {
        assert_eq!(choice["const"], word.text());
        let about = choice["description"].as_str().unwrap();
        assert!(!about.is_empty() && about == about.trim(), "{about:?}");
    }
    let two = quantity::schema_of_words(&[("a", " One."), ("b", "Two. ")]).to_value();
    let wanted =
        json!([{ "const": "a", "description": "One." }, { "const": "b", "description": "Two." }]);
    assert_eq!(two["oneOf"], wanted);
}

#[test]
fn limits_are_one_text_or_an_object_of_two() {
    let mut generator = SchemaGenerator::default();
    assert_eq!(
        <Limits as ToldSchema>::told(&mut generator).to_value(),
        json!({ "$ref": "#/$defs/Limits" })
    );
    assert_eq!(LimitsTold::schema_name(), "Limits");
    let limits = LimitsTold::json_schema(&mut generator).to_value();
    let [one, two] = limits["anyOf"].as_array().unwrap().as_slice() else { panic!("{limits}") };
    assert_eq!((&one["type"], &one["pattern"]), (&json!("string"), &decimal()["pattern"]));
    // A smallest value may stand alone.
    assert_eq!(two["required"], json!(["min"]));
    for end in ["min", "max"] {
        assert_eq!(two["properties"][end]["pattern"], decimal()["pattern"]);
    }
}

#[test]
fn texts_of_a_line_have_their_pattern() {
    let pattern = |schema: Schema| schema.to_value()["pattern"].as_str().unwrap().to_owned();
    assert_eq!(pattern(schema::length()), r"^-?[0-9]+(\.[0-9]+)?$");
    assert_eq!(pattern(schema::length_with_unit()), r"^[-+]?[0-9]+(\.[0-9]+)? (in|mm|um)$");
    assert_eq!(pattern(schema::shown_value()), r"^[-+]?[0-9]+(\.[0-9]+)? (in|mm|um|°C)$");
    assert_eq!(pattern(schema::name()), "^[^/]+$");
    assert_eq!(schema::name().to_value()["maxLength"], 64);
    let unit = Unit::json_schema(&mut SchemaGenerator::default()).to_value();
    let words = unit["enum"].as_array().unwrap();
    assert_eq!(words[..3], [json!("in"), json!("mm"), json!("um")], "lengths come first");
    assert!(words.contains(&json!("C")) && unit["type"] == "string", "{unit}");
    let time = schema::time().to_value();
    assert_eq!((&time["format"], &time["pattern"]), (&json!("date-time"), &json!("Z$")));
    assert_eq!(schema::angle().to_value(), told::<Angle>());
}

/// A line as the derive gives it, and what these forms make of it.
fn shaped(forms: schema::Forms, properties: &Value) -> Value {
    let mut forms = forms;
    let mut line = json_schema!({ "type": "object", "properties": properties });
    forms.transform(&mut line);
    line.to_value()["properties"].clone()
}

#[test]
fn a_form_replaces_the_type_and_keeps_the_description() {
    let line = json!({
        "value": { "type": "string", "description": "The figure." },
        "limit": { "type": ["string", "null"] },
        "heights": { "type": "array", "items": { "type": "string" } },
        "schema": { "type": "string" },
        "other": { "type": "integer" },
    });
    let all = forms().of(schema::length, "value limit heights").called("figure/1");
    let shaped = shaped(all, &line);
    let pattern = &decimal()["pattern"];
    assert_eq!(
        shaped["value"],
        json!({ "type": "string", "description": "The figure.", "pattern": pattern })
    );
    // What may be absent still may.
    assert_eq!(shaped["limit"], json!({ "type": ["string", "null"], "pattern": pattern }));
    assert_eq!(shaped["heights"], json!({ "type": "array", "items": decimal() }));
    assert_eq!(shaped["schema"], json!({ "const": "figure/1" }));
    assert_eq!(shaped["other"], json!({ "type": "integer" }));
}

#[test]
#[should_panic(expected = "there is no field hight")]
fn a_form_for_a_field_that_is_not_there_is_a_mistake() {
    shaped(forms().of(schema::length, "hight"), &json!({ "height": { "type": "string" } }));
}

#[test]
fn an_object_tells_its_parts_and_the_unit_of_lengths() {
    let part = |name, about, always, schema| (name, about, always, schema);
    let object = schema::object(
        " A part\n of a line. ",
        vec![
            part("height", " How high\n it is.", true, schema::length()),
            part(
                "heights",
                "All.",
                false,
                json_schema!({ "type": "array", "items": schema::length() }),
            ),
            part("touches", "How many.", true, told::<u32>().try_into().unwrap()),
        ],
    )
    .to_value();
    assert_eq!(object["description"], "A part of a line.");
    assert_eq!(object["required"], json!(["height", "touches"]));
    let about = |name: &str| object["properties"][name]["description"].clone();
    assert_eq!(about("height"), "How high it is. In the unit of the line.");
    assert_eq!(about("heights"), "All. In the unit of the line.");
    assert_eq!(about("touches"), "How many.");
}

#[test]
fn what_is_described_once_has_its_schema() {
    let line = super::lines::FiguresLine::json_schema(&mut SchemaGenerator::default()).to_value();
    assert_eq!(line["description"], "Figures of a made-up check: more than one line.");
    assert_eq!(
        line["required"],
        json!(["height", "touches", "ends", "both"]),
        "the others are left out"
    );
    let properties = line["properties"].as_object().unwrap();
    assert_eq!(properties.len(), 7);
    assert_eq!(properties["towards"]["exclusiveMaximum"], 360);
    assert_eq!(properties["ends"]["maxItems"], 2);
    let part = &properties["part"];
    assert_eq!(
        (&part["$ref"], &part["description"]),
        (&json!("#/$defs/PartLine"), &json!("A part of its own."))
    );
}
