//! The record of a production test, and how it is made of what was read.

use super::board::statements;
use super::fields::{Fields, Named, Value};
use super::word::Audience;
use crate::finding::Located;
use crate::quantity::{Given, Statement};

/// `[fixture.<id>]`: a production test.
#[derive(Clone, Debug)]
pub struct FixtureRecord {
    /// Id, where the record's header names it.
    pub id: Located<String>,
    /// What it is for, in words.
    pub means: Option<Located<String>>,
    /// Id of the board that is tested.
    pub tests: Located<String>,
    /// Guard band by the error of each measurement.
    pub guard: Option<Located<Given>>,
    /// Share of boards that come to the test without a fault.
    pub good_before: Option<Located<Given>>,
    /// Length and width of the board that it holds.
    pub outline: Vec<Located<String>>,
    /// Places of the test points, by net.
    pub touches: Vec<(Located<String>, Vec<Located<String>>)>,
    /// Steps, in the order written.
    pub steps: Vec<FixtureStep>,
    /// Who may read it.
    pub audience: Audience,
}

impl FixtureRecord {
    /// What it is for, in words; its id where nothing is said.
    pub fn title(&self) -> String {
        title(&self.means, &self.id)
    }

    /// The guard band, in errors of the measurement.
    pub fn guard(&self) -> f64 {
        let guard = self.guard.as_ref();
        guard.map_or(1.0, |guard| guard.value.nominal())
    }
}

impl FixtureStep {
    /// What it tests, in words; its id where nothing is said.
    pub fn title(&self) -> String {
        title(&self.means, &self.id)
    }
}

fn title(means: &Option<Located<String>>, id: &Located<String>) -> String {
    let means = means.as_ref().map(|means| means.value.clone());
    means.unwrap_or_else(|| id.value.replace('_', " "))
}

/// A step of a production test.
#[derive(Clone, Debug)]
pub struct FixtureStep {
    /// Id, where the record's header names it.
    pub id: Located<String>,
    /// What it tests, in words.
    pub means: Option<Located<String>>,
    /// What is set before.
    pub set: Option<Located<String>>,
    /// What is applied.
    pub apply: Option<Located<String>>,
    /// Formula of what is measured.
    pub measures: Located<String>,
    /// Formula of the expanded uncertainty of the measurement (k = 2).
    pub error: Located<String>,
    /// Formula of the converter's resolution.
    pub resolution: Option<Located<String>>,
    /// Formula of the converter's reference voltage.
    pub reference: Option<Located<String>>,
    /// Faults that it sees beyond those that can be computed, by designator.
    pub sees: Vec<(Located<String>, Vec<Located<String>>)>,
    /// Limits as they are stated, by name.
    pub says: Vec<(Located<String>, Located<Statement>)>,
}

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
