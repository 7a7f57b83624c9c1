//! The JSON Schema of all records, made from their shapes.

use serde_json::{Map, Value, json};

use super::kinds::{COMMON, KINDS};
use super::shape::{Key, Rest, Shape, Takes};
use super::shapes::FILES;
use crate::finding::Slug;
use crate::quantity::Dimension;

/// JSON Schema (2020-12) of every record, as one document.
///
/// Each record, and each sort of file, has a definition under its name; a
/// whole file is valid if it is one of the files. TOML dates are strings of
/// the format `date` here, as JSON has no dates.
pub fn schema() -> Value {
    let mut definitions = Map::new();
    for file in FILES {
        define(file, &mut definitions);
    }
    let files: Vec<Value> = FILES.iter().map(|file| reference(file.name)).collect();
    json!({
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "Ohmbook records",
        "description": format!(
            "Every record of a notebook, as ohmbook {} reads it.",
            env!("CARGO_PKG_VERSION")
        ),
        "anyOf": files,
        "$defs": definitions,
    })
}

fn reference(name: &str) -> Value {
    json!({ "$ref": format!("#/$defs/{name}") })
}

/// Adds a record, and every record in it, to the definitions.
fn define(shape: &'static Shape, definitions: &mut Map<String, Value>) {
    if definitions.contains_key(shape.name) {
        return;
    }
    // Holds the place while the records in it are defined.
    definitions.insert(shape.name.to_owned(), Value::Null);
    let mut properties = Map::new();
    for key in shape.keys {
        let value = described(value(&key.takes, definitions), sentence(key.means));
        properties.insert(key.name.to_owned(), value);
    }
    let title = if shape.is_file() {
        shape.one.replace('`', "")
    } else {
        shape.header.to_owned()
    };
    let mut definition = json!({
        "title": title,
        "description": shape.means,
        "type": "object",
        "properties": properties,
        "required": required(shape.keys),
        "additionalProperties": false,
    });
    match shape.rest {
        Rest::Nothing => {}
        Rest::Inputs => {
            definition["additionalProperties"] = value(&Takes::Input, definitions);
        }
        Rest::Properties => with_kinds(&mut definition, definitions),
    }
    if !shape.one_of.is_empty() {
        definition["oneOf"] = groups(shape);
    }
    definitions.insert(shape.name.to_owned(), definition);
}

fn required(keys: &[Key]) -> Vec<&'static str> {
    keys.iter()
        .filter(|key| key.required)
        .map(|key| key.name)
        .collect()
}

/// Exactly one of the groups of keys: the others' first keys are not there.
fn groups(shape: &Shape) -> Value {
    let group = |group: &&[&str]| {
        let others = shape
            .one_of
            .iter()
            .filter(|other| other[0] != group[0])
            .map(|other| json!({ "required": [other[0]] }));
        json!({ "required": group, "not": { "anyOf": others.collect::<Vec<_>>() } })
    };
    shape.one_of.iter().map(group).collect()
}

/// The properties of each kind of part, under the condition that it is of
/// that kind.
fn with_kinds(definition: &mut Value, definitions: &mut Map<String, Value>) {
    let mut conditions = Vec::new();
    for kind in KINDS {
        let mut properties = Map::new();
        for property in kind.properties {
            let takes = Takes::Quantity(Some(property.dimension));
            let value = described(value(&takes, definitions), sentence(property.means));
            properties.insert(property.name.to_owned(), value);
        }
        conditions.push(json!({
            "if": { "properties": { "kind": { "const": kind.name } }, "required": ["kind"] },
            "then": { "title": kind.title, "properties": properties },
        }));
    }
    for property in COMMON {
        let takes = Takes::Quantity(Some(property.dimension));
        definition["properties"][property.name] =
            described(value(&takes, definitions), sentence(property.means));
    }
    definition["allOf"] = Value::Array(conditions);
    // `additionalProperties` does not see what the conditions allow.
    if let Some(definition) = definition.as_object_mut() {
        definition.remove("additionalProperties");
        definition.insert("unevaluatedProperties".into(), json!(false));
    }
}

/// The schema of a value.
fn value(takes: &Takes, definitions: &mut Map<String, Value>) -> Value {
    match takes {
        Takes::Text => json!({ "type": "string", "minLength": 1 }),
        Takes::Folder | Takes::Licence | Takes::Formula | Takes::Comparison => {
            titled(takes, json!({ "type": "string", "minLength": 1 }))
        }
        Takes::WebAddress => json!({ "type": "string", "format": "uri", "pattern": "^https?://" }),
        Takes::Language => json!({
            "type": "string",
            "pattern": "^[A-Za-z]{2,3}(-[A-Za-z0-9]{1,8})*$",
        }),
        Takes::Currency => titled(takes, json!({ "type": "string", "pattern": "^[A-Z]{3}$" })),
        Takes::Mark => titled(takes, text_of(super::shape::Names::Mark)),
        Takes::Id(_) => titled(takes, text_of(super::shape::Names::Id)),
        Takes::Word(words) => {
            let words: Vec<Value> = words
                .iter()
                .map(|word| json!({ "const": word.word, "description": word.means }))
                .collect();
            json!({ "type": "string", "oneOf": words })
        }
        Takes::PartKind => {
            let kinds: Vec<Value> = KINDS
                .iter()
                .map(|kind| json!({ "const": kind.name, "title": kind.title }))
                .collect();
            json!({ "type": "string", "oneOf": kinds })
        }
        Takes::FindingName => {
            let slugs: Vec<Value> = Slug::ALL
                .iter()
                .map(|slug| json!({ "const": slug.name(), "description": slug.says() }))
                .collect();
            json!({ "type": "string", "oneOf": slugs })
        }
        Takes::Flag => json!({ "type": "boolean" }),
        Takes::Whole => json!({ "type": "integer", "minimum": 0 }),
        Takes::Wholes => json!({
            "type": "array",
            "items": { "type": "integer", "minimum": 0 },
        }),
        Takes::Date => json!({ "type": "string", "format": "date" }),
        Takes::Quantity(dimension) => {
            let examples = examples(*dimension);
            titled(takes, json!({ "type": "string", "examples": examples }))
        }
        Takes::Statement => titled(
            takes,
            json!({
                "type": "string",
                "examples": ["196 mA", "≈ 200 mA", "196 mA ± 5 mA", "200 mA to 225 mA", "at most 1 mA"],
            }),
        ),
        Takes::Unit => titled(
            takes,
            json!({ "type": "string", "examples": ["mA", "kΩ", "K/W"] }),
        ),
        Takes::Input => titled(
            takes,
            json!({ "type": ["string", "array", "integer", "object"] }),
        ),
        Takes::Texts => json!({ "type": "array", "items": { "type": "string" } }),
        Takes::Table(shape) => {
            define(shape, definitions);
            reference(shape.name)
        }
        Takes::List(shape) => {
            define(shape, definitions);
            json!({ "type": "array", "items": reference(shape.name) })
        }
        Takes::Named(names, inner) => json!({
            "type": "object",
            "propertyNames": { "pattern": names.pattern() },
            "additionalProperties": value(inner, definitions),
        }),
        Takes::Short(kind, shape) => {
            define(shape, definitions);
            let text = shape.key(kind).map(|key| value(&key.takes, definitions));
            let text = text.unwrap_or_else(|| json!({ "type": "string" }));
            json!({
                "anyOf": [described(text, format!("The {kind} alone.")), reference(shape.name)],
            })
        } // Nothing is valid where nothing is read.
    }
}

fn text_of(names: super::shape::Names) -> Value {
    json!({ "type": "string", "pattern": names.pattern() })
}

/// What a quantity may look like.
fn examples(dimension: Option<Dimension>) -> Vec<String> {
    let Some(dimension) = dimension else {
        return vec![
            "4k7".into(),
            "10 kΩ ±1 %".into(),
            "3.3 V +0.1 V -0.05 V".into(),
        ];
    };
    if dimension == Dimension::RESISTANCE {
        return vec!["4k7".into(), "10 kΩ ±1 %".into()];
    }
    let unit = dimension.coherent_symbol();
    let unit = if unit.is_empty() {
        unit
    } else {
        format!(" {unit}")
    };
    vec![format!("3.3{unit}"), format!("1{unit} to 2{unit}")]
}

fn titled(takes: &Takes, mut schema: Value) -> Value {
    schema["title"] = Value::String(sentence(&takes.words().replace(", as text", "")));
    schema
}

fn described(mut schema: Value, description: String) -> Value {
    schema["description"] = Value::String(description);
    schema
}

/// A phrase as a sentence.
fn sentence(phrase: &str) -> String {
    let mut letters = phrase.chars();
    let first: String = letters
        .next()
        .into_iter()
        .flat_map(char::to_uppercase)
        .collect();
    format!("{first}{}.", letters.as_str())
}
