//! Results of workings held to what their records say and require of them, and
//! inputs held to what they can be.

use super::compare::Comparing;
use super::graph::{NodeId, Origin};
use super::resolve::listed;
use crate::finding::{Finding, Located, Slug};
use crate::nearest::nearest;
use crate::quantity::Dimension;
use crate::record::WorkingRecord;
use crate::trade::Bound;

/// What is zero at least, wherever it stands in a working.
pub(super) const NEVER_NEGATIVE: &[Dimension] = &[
    Dimension::RESISTANCE,
    Dimension::CAPACITANCE,
    Dimension::INDUCTANCE,
    Dimension::CHARGE,
    Dimension::TIME,
    Dimension::FREQUENCY,
    Dimension::LENGTH,
    Dimension::AREA,
    Dimension::VOLUME,
    Dimension::MASS,
];

impl Comparing<'_> {
    /// Holds the results of a board's workings to what its records say and
    /// require of them.
    pub fn workings(&mut self, board: usize) {
        let records = self.records;
        for (at, record) in records.boards[board].workings.iter().enumerate() {
            let Some(worked) = self.graph.working(board, at) else {
                continue;
            };
            let bounds = worked.bounds.clone();
            let find = |key: &str| {
                let mut results = worked.plan.results.iter();
                let found = results.find(|planned| planned.is_called(key))?;
                worked.nodes.get(&found.name).copied()
            };
            let stated =
                |statements: &'_ [(Located<String>, Located<crate::quantity::Statement>)]| {
                    statements
                        .iter()
                        .map(|(key, _)| find(&key.value))
                        .collect::<Vec<_>>()
                };
            let (says, must) = (stated(&record.says), stated(&record.must));
            let labels: Vec<String> = worked
                .plan
                .results
                .iter()
                .map(|planned| planned.label.as_ref().unwrap_or(&planned.name).clone())
                .collect();
            let inputs: Vec<NodeId> = worked
                .nodes
                .values()
                .copied()
                // What is taken from another working is held there.
                .filter(|&node| self.is_input(node) && self.graph.is_of_working(node, board, at))
                .collect();
            for node in inputs {
                self.not_negative(record, node);
            }
            for (input, bound) in bounds {
                self.bound(input, bound);
            }
            for (node, (key, statement)) in says.into_iter().zip(&record.says) {
                match node {
                    Some(node) => self.statement(node, &statement.value, &statement.place),
                    None => self.no_result(record, key, &labels),
                }
            }
            for (node, (key, statement)) in must.into_iter().zip(&record.must) {
                match node {
                    Some(node) => self.requirement(node, &statement.value, &statement.place),
                    None => self.no_result(record, key, &labels),
                }
            }
        }
    }

    fn is_input(&self, node: NodeId) -> bool {
        matches!(
            self.graph.node(node).origin,
            Origin::Working { result: None, .. }
        )
    }

    /// Tells of an input that is negative, where there is no such thing.
    fn not_negative(&mut self, record: &WorkingRecord, node: NodeId) {
        let Some(value) = self.value(node).filter(|_| self.concerns(node)) else {
            return;
        };
        if value.outcome.nominal >= 0.0 || !NEVER_NEGATIVE.contains(&value.dimension) {
            return;
        }
        let name = &self.graph.node(node).name;
        let (shown, what) = (value.shown(), value.dimension);
        let message = format!("`{name}` is {shown}, and there is no negative one");
        let finding = Finding::new(Slug::BadValue, message)
            .at(
                self.graph.node(node).place.clone(),
                format!("this is {what}"),
            )
            .at(record.id.place.clone(), "in this working")
            .help("see whether a sign or an order of terms is turned round");
        self.findings.push(finding);
        self.blame(node);
    }

    /// Holds an input to what its values have to keep to.
    fn bound(&mut self, input: NodeId, bound: Bound) {
        let Some(value) = self.value(input).filter(|_| self.concerns(input)) else {
            return;
        };
        let low = value.outcome.low;
        if value.outcome.nominal < 0.0 && NEVER_NEGATIVE.contains(&value.dimension) {
            // Told already.
            return;
        }
        let Some(wrong) = bound.broken_by(low) else {
            return;
        };
        let node = self.graph.node(input);
        let message = format!(
            "`{}` comes to {}: it {wrong}",
            node.name,
            value.shown_as(low)
        );
        self.findings.push(
            Finding::new(Slug::BadValue, message)
                .at(node.place.clone(), "this input")
                .help("see to its value, and to the tolerance that it has"),
        );
    }

    fn no_result(&mut self, record: &WorkingRecord, key: &Located<String>, labels: &[String]) {
        let known: Vec<&str> = labels.iter().map(String::as_str).collect();
        let help = match nearest(&key.value, known.iter().copied()) {
            Some(near) => format!("perhaps `{near}`"),
            None => format!("its results are {}", listed(&known)),
        };
        let message = format!(
            "the working `{}` has no result `{}`",
            record.id.value, key.value
        );
        self.findings.push(
            Finding::new(Slug::UnknownName, message)
                .at(key.place.clone(), "not known here")
                .help(help),
        );
    }
}
