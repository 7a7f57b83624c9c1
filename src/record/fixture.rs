//! The record of a production test from what was read of it.

use super::board::statements;
use super::fields::{Fields, Named, Value};
use super::model::{FixtureRecord, FixtureStep};
use super::word::Audience;
use crate::finding::Located;

/// `[fixture.<id>]`.
pub(super) fn fixture(id: Located<String>, mut fields: Fields) -> Option<FixtureRecord> {
    let tests = fields.text("tests");
    let means = fields.text("means");
    let (guard, good_before) = (fields.quantity("guard"), fields.quantity("good_before"));
    let outline = fields.texts("outline").unwrap_or_default();
    let touches = lists(fields.named("touches"));
    // A fixture's numbers are the team's own unless the record says otherwise.
    let audience = fields.word("audience").and_then(Audience::by_word);
    let named = fields.named("step").unwrap_or_default();
    fields.finish();
    let steps = named
        .entries
        .into_iter()
        .filter_map(|(id, value)| match value {
            Value::Table(fields) => step(id, fields),
            _ => None,
        });
    Some(FixtureRecord {
        id,
        means,
        guard,
        good_before,
        outline,
        touches,
        steps: steps.collect(),
        audience: audience.unwrap_or(Audience::Team),
        tests: tests?,
    })
}

fn step(id: Located<String>, mut fields: Fields) -> Option<FixtureStep> {
    let (measures, error) = (fields.text("measures"), fields.text("error"));
    let (means, set, apply) = (
        fields.text("means"),
        fields.text("set"),
        fields.text("apply"),
    );
    let (resolution, reference) = (fields.text("resolution"), fields.text("reference"));
    let sees = lists(fields.named("sees"));
    let says = statements(&mut fields, "says");
    fields.finish();
    Some(FixtureStep {
        id,
        means,
        set,
        apply,
        measures: measures?,
        error: error?,
        resolution,
        reference,
        sees,
        says,
    })
}

/// Lists of texts by name.
fn lists(named: Option<Named>) -> Vec<(Located<String>, Vec<Located<String>>)> {
    let entries = named.unwrap_or_default().entries.into_iter();
    let list = |(name, value)| match value {
        Value::Texts(texts) => Some((name, texts)),
        _ => None,
    };
    entries.filter_map(list).collect()
}
