//! The record of a file for firmware from what was read of it.

use super::fields::{Fields, Value};
use super::model::{EmitRecord, EmittedConstant};
use super::word::EmittedForm;
use crate::finding::Located;

/// The `[[emit]]` records of `notebook.toml`.
pub(super) fn emits(file: &mut Fields) -> Vec<EmitRecord> {
    let lists = file.list("emit").unwrap_or_default();
    lists.into_iter().filter_map(emit).collect()
}

fn emit(mut fields: Fields) -> Option<EmitRecord> {
    let mut is_damaged = !fields.refused().is_empty();
    let file = fields.text("file");
    let form = fields.word("form").and_then(EmittedForm::by_word);
    let means = fields.text("means");
    let named = fields.named("constants").unwrap_or_default();
    is_damaged |= !named.refused.is_empty();
    let mut constants = Vec::new();
    for (name, value) in named.entries {
        match constant(name, value) {
            Some(constant) => constants.push(constant),
            None => is_damaged = true,
        }
    }
    let named = fields.named("tables").unwrap_or_default();
    is_damaged |= !named.refused.is_empty();
    let tables = named.entries.into_iter();
    let tables = tables.filter_map(|(name, value)| match value {
        Value::Text(working) => Some((name, working)),
        _ => None,
    });
    let tables = tables.collect();
    let limits = fields.texts("limits").unwrap_or_default();
    fields.finish();
    Some(EmitRecord {
        file: file?,
        form,
        means,
        constants,
        tables,
        limits,
        is_damaged,
    })
}

/// A constant; `None` where it lacks what it is of, and a finding says so.
fn constant(name: Located<String>, value: Value) -> Option<EmittedConstant> {
    match value {
        Value::Text(of) => Some(EmittedConstant {
            name,
            of,
            unit: None,
            is_whole: false,
            means: None,
        }),
        Value::Table(mut fields) => {
            let is_damaged = !fields.refused().is_empty();
            let (of, unit) = (fields.text("of"), fields.unit("unit"));
            let whole = fields.flag("whole");
            let means = fields.text("means");
            fields.finish();
            // What was refused may have been the unit: another would be wrong.
            if is_damaged {
                return None;
            }
            Some(EmittedConstant {
                name,
                of: of?,
                unit,
                is_whole: whole.unwrap_or(false),
                means,
            })
        }
        _ => None,
    }
}
