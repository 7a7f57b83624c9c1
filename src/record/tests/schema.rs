//! The schema says what the reader reads.

use serde_json::Value;

use crate::record::shape::{Shape, Takes};
use crate::record::shapes::FILES;
use crate::record::{KINDS, schema};

/// Every shape that the files lead to.
fn shapes() -> Vec<&'static Shape> {
    fn gather(takes: &Takes, found: &mut Vec<&'static Shape>) {
        match takes {
            Takes::Table(shape) | Takes::List(shape) | Takes::Short(_, shape) => {
                visit(shape, found)
            }
            Takes::Named(_, inner) => gather(inner, found),
            _ => {}
        }
    }
    fn visit(shape: &'static Shape, found: &mut Vec<&'static Shape>) {
        if found.iter().any(|known| known.name == shape.name) {
            return;
        }
        found.push(shape);
        for key in shape.keys {
            gather(&key.takes, found);
        }
    }
    let mut found = Vec::new();
    for file in FILES {
        visit(file, &mut found);
    }
    found
}

#[test]
fn every_key_of_every_record_is_in_the_schema_with_what_it_means() {
    let schema = schema();
    let shapes = shapes();
    let definitions = schema["$defs"].as_object().expect("there are definitions");
    assert_eq!(definitions.len(), shapes.len());
    for shape in shapes {
        let definition = &definitions[shape.name];
        let means = definition["description"].as_str().expect("it is described");
        assert_eq!(means, shape.means);
        for key in shape.keys {
            let described = definition["properties"][key.name]["description"].as_str();
            let means = described.unwrap_or_else(|| panic!("{}.{}", shape.name, key.name));
            assert!(means.ends_with(&format!("{}.", &key.means[1..])), "{means}");
            let required = definition["required"].as_array().expect("a list");
            assert_eq!(required.contains(&Value::from(key.name)), key.required);
        }
    }
}

#[test]
fn every_property_of_every_kind_of_part_is_in_the_schema() {
    let schema = schema();
    let conditions = schema["$defs"]["part"]["allOf"].as_array().expect("a list");
    assert_eq!(conditions.len(), KINDS.len());
    for (kind, condition) in KINDS.iter().zip(conditions) {
        assert_eq!(condition["if"]["properties"]["kind"]["const"], kind.name);
        for property in kind.properties {
            let value = &condition["then"]["properties"][property.name];
            assert_eq!(value["type"], "string", "{}.{}", kind.name, property.name);
        }
    }
}

#[test]
fn every_reference_in_the_schema_leads_somewhere() {
    fn walk(value: &Value, seen: &mut Vec<String>) {
        match value {
            Value::Object(entries) => {
                if let Some(Value::String(to)) = entries.get("$ref") {
                    seen.push(to.clone());
                }
                entries.values().for_each(|value| walk(value, seen));
            }
            Value::Array(items) => items.iter().for_each(|value| walk(value, seen)),
            _ => {}
        }
    }
    let schema = schema();
    let mut references = Vec::new();
    walk(&schema, &mut references);
    assert!(references.len() > 10);
    for reference in references {
        let pointer = reference
            .strip_prefix('#')
            .expect("it stays in the document");
        assert!(
            schema.pointer(pointer).is_some_and(Value::is_object),
            "{reference}"
        );
    }
}

#[test]
fn the_text_of_the_schema_is_the_same_every_time_and_is_json() {
    let text = serde_json::to_string_pretty(&schema()).expect("it holds no maps without text keys");
    let again = serde_json::to_string_pretty(&schema()).expect("the same");
    assert_eq!(text, again);
    let read: Value = serde_json::from_str(&text).expect("it is JSON");
    assert_eq!(read, schema());
    assert_eq!(
        read["$schema"],
        "https://json-schema.org/draft/2020-12/schema"
    );
}
