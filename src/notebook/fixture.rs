//! The steps of fixtures on the graph, and the limits that follow for each.
//!
//! A step tells good boards from others by a measurement. Good boards stray as
//! their parts do, and the measurement has an error of its own; a guard band
//! takes that off both ends of the spread (ILAC-G8:09/2019, 4.2: the acceptance
//! limit is the tolerance limit less the guard band).

use std::sync::Arc;

use super::affected::Affected;
use super::build::Builder;
use super::chance;
use super::compare::Comparing;
use super::graph::{Body, Graph, Limited, Node, NodeId, Origin};
use super::resolve::listed;
use super::value::Value;
use crate::finding::{Finding, Located, Place, Slug};
use crate::nearest::nearest;
use crate::quantity::{Dimension, Outcome, Unit};
use crate::record::{FixtureStep, Records};

/// Names of a step's limits, as `says` and links know them.
const LIMITS: [(Limited, &str, &str); 4] = [
    (Limited::Low, "low", "Least value that passes"),
    (Limited::High, "high", "Greatest value that passes"),
    (
        Limited::LowCounts,
        "low_counts",
        "Least reading that passes",
    ),
    (
        Limited::HighCounts,
        "high_counts",
        "Greatest reading that passes",
    ),
];

impl Limited {
    /// Its name behind that of its step.
    pub fn name(self) -> &'static str {
        let known = LIMITS.iter().find(|(limited, ..)| *limited == self);
        known.map_or("", |(_, name, _)| name)
    }
}

impl Builder<'_> {
    /// Puts what the steps of a board's fixtures measure on the graph.
    pub(super) fn fixtures(&mut self, at: usize) {
        let records = self.records;
        for (fixture, record) in records.boards[at].fixtures.iter().enumerate() {
            let tests = &record.tests;
            if records.board(&tests.value).is_none() {
                self.no_board(tests);
            }
            for (step, of_step) in record.steps.iter().enumerate() {
                let inputs = [
                    (
                        "measured",
                        "What is measured",
                        Some(&of_step.measures),
                        None,
                    ),
                    (
                        "error",
                        "Error of the measurement",
                        Some(&of_step.error),
                        None,
                    ),
                    (
                        "resolution",
                        "Resolution of the converter",
                        of_step.resolution.as_ref(),
                        Some(Dimension::BITS),
                    ),
                    (
                        "reference",
                        "Reference voltage of the converter",
                        of_step.reference.as_ref(),
                        Some(Dimension::VOLTAGE),
                    ),
                ];
                for (name, means, text, wanted) in inputs {
                    let Some(text) = text else { continue };
                    let name = format!("{}.{}.{name}", record.id.value, of_step.id.value);
                    let node = self.graph.add(Node {
                        scope: records.boards[at].id.value.clone(),
                        name,
                        means: format!("{means}, {}", of_step.title()),
                        origin: Origin::Fixture {
                            board: at,
                            fixture,
                            step,
                            limit: None,
                        },
                        place: text.place.clone(),
                        body: Body::Broken,
                        unit: None,
                    });
                    self.computed(node, at, text, None, wanted);
                }
                for (one, other, found) in [
                    ("resolution", "reference", &of_step.resolution),
                    ("reference", "resolution", &of_step.reference),
                ] {
                    let both = of_step.resolution.is_some() && of_step.reference.is_some();
                    if let (Some(found), false) = (found, both) {
                        let message = format!("`{one}` without `{other}`");
                        let finding = Finding::new(Slug::BadValue, message)
                            .at(found.place.clone(), "this converter")
                            .help(format!("give `{other}` too: counts follow from both"));
                        self.findings.push(finding);
                    }
                }
            }
        }
    }

    fn no_board(&mut self, tests: &Located<String>) {
        let left_out = &self.records.left_out;
        if left_out.iter().any(|left| left.name == tests.value) {
            return;
        }
        let message = format!("there is no board `{}`", tests.value);
        let finding = Finding::new(Slug::UnknownName, message)
            .at(tests.place.clone(), "tested by this fixture");
        let known = self.records.boards.iter();
        let known = known.map(|board| board.id.value.as_str());
        let finding = match nearest(&tests.value, known) {
            Some(near) => finding.help(format!("perhaps `{near}`")),
            None => finding.help("name a board of this notebook"),
        };
        self.findings.push(finding);
    }
}

/// Adds the limits of every step whose measurement has a value.
pub(super) fn limits(
    graph: &mut Graph,
    records: &Records,
    values: &mut Vec<Option<Arc<Value>>>,
    sorted: &mut Vec<NodeId>,
    findings: &mut Vec<Finding>,
) {
    for (board, record) in records.boards.iter().enumerate() {
        for (fixture, of) in record.fixtures.iter().enumerate() {
            let guard = of.guard();
            for (step, of_step) in of.steps.iter().enumerate() {
                let before = format!("{}.{}", of.id.value, of_step.id.value);
                let reading = Reading::of(graph, &record.id.value, &before, values);
                let found = reading.and_then(|reading| reading.limits(of_step, guard));
                let limits = match found {
                    Some(Ok(limits)) => limits,
                    Some(Err(finding)) => {
                        findings.push(*finding);
                        continue;
                    }
                    // What has no value has said so.
                    None => continue,
                };
                for (limit, (value, unit, dimension)) in limits.found {
                    let known = LIMITS.iter().find(|(limited, ..)| *limited == limit);
                    let means = known.map_or("", |(.., means)| means);
                    let node = graph.add(Node {
                        scope: record.id.value.clone(),
                        name: format!("{before}.{}", limit.name()),
                        means: format!("{means}, {}", of_step.title()),
                        origin: Origin::Fixture {
                            board,
                            fixture,
                            step,
                            limit: Some(limit),
                        },
                        place: of_step.id.place.clone(),
                        body: Body::Limit(limits.operands.clone()),
                        unit: Some(unit.clone()),
                    });
                    let policy = chance::in_force(graph, records, node);
                    values.resize(graph.len(), None);
                    let outcome = Outcome::exact(value);
                    values[node.index()] =
                        Some(Arc::new(Value::of(dimension, outcome, unit, policy)));
                    sorted.push(node);
                }
            }
        }
    }
}

/// Works the limits out once more where what they hang on has changed. The answer
/// is whether all of them have nodes: a step that had no limits before may have
/// some now.
pub(super) fn limits_again(
    graph: &Graph,
    records: &Records,
    values: &mut [Option<Arc<Value>>],
    affected: &Affected,
    findings: &mut Vec<Finding>,
) -> bool {
    for record in &records.boards {
        for of in &record.fixtures {
            for step in &of.steps {
                let scope = &record.id.value;
                let before = format!("{}.{}", of.id.value, step.id.value);
                let measured = graph.find(scope, &format!("{before}.measured"));
                let error = graph.find(scope, &format!("{before}.error"));
                let is_affected = |node: &NodeId| affected.has(*node);
                let nodes = LIMITS.map(|(limited, ..)| {
                    let node = graph.find(scope, &format!("{before}.{}", limited.name()));
                    node.map(|node| (limited, node))
                });
                let nodes: Vec<_> = nodes.into_iter().flatten().collect();
                let of_limits = nodes.iter().any(|(_, node)| affected.has(*node));
                if !of_limits && !measured.iter().chain(&error).any(is_affected) {
                    continue;
                }
                let reading = Reading::of(graph, scope, &before, values);
                let limits = reading.and_then(|reading| reading.limits(step, of.guard()));
                let mut found = match limits {
                    Some(Ok(limits)) => limits.found,
                    Some(Err(finding)) => {
                        findings.push(*finding);
                        Vec::new()
                    }
                    None => Vec::new(),
                };
                for (limited, node) in nodes {
                    let at = found.iter().position(|(known, _)| *known == limited);
                    let value = at.map(|at| {
                        let (_, (value, unit, dimension)) = found.swap_remove(at);
                        let policy = chance::in_force(graph, records, node);
                        Arc::new(Value::of(dimension, Outcome::exact(value), unit, policy))
                    });
                    values[node.index()] = value;
                }
                if !found.is_empty() {
                    return false;
                }
            }
        }
    }
    true
}

/// What the limits of a step hang on.
struct Reading<'v> {
    operands: Vec<NodeId>,
    measured: &'v Value,
    error: &'v Value,
    /// Counts for each unit of what is measured.
    counts: Option<f64>,
}

struct Limits {
    operands: Vec<NodeId>,
    found: Vec<(Limited, (f64, Unit, Dimension))>,
}

impl<'v> Reading<'v> {
    fn of(
        graph: &Graph,
        scope: &str,
        before: &str,
        values: &'v [Option<Arc<Value>>],
    ) -> Option<Reading<'v>> {
        let mut operands = Vec::new();
        let mut read = |name: &str| {
            let node = graph.find(scope, &format!("{before}.{name}"))?;
            operands.push(node);
            values.get(node.index())?.as_ref()
        };
        let (measured, error) = (read("measured")?, read("error")?);
        let counts = match (read("resolution"), read("reference")) {
            (Some(resolution), Some(reference)) => {
                let steps = resolution.outcome.nominal.exp2();
                Some(steps / reference.outcome.nominal)
            }
            _ => None,
        };
        Some(Reading {
            operands,
            measured,
            error,
            counts,
        })
    }

    /// The limits; `None` where what is wrong with the step has been told.
    fn limits(self, step: &FixtureStep, guard: f64) -> Option<Result<Limits, Box<Finding>>> {
        let (measured, error) = (self.measured, self.error);
        if !measured.dimension.comparable(error.dimension) {
            let message = format!(
                "the error of `{}` is {}, and what it measures is {}",
                step.id.value, error.dimension, measured.dimension
            );
            let finding = Finding::new(Slug::UnitMismatch, message)
                .at(
                    step.error.place.clone(),
                    format!("this is {}", error.dimension),
                )
                .at(
                    step.measures.place.clone(),
                    format!("this is {}", measured.dimension),
                );
            return Some(Err(Box::new(finding)));
        }
        let uncertainty = error.outcome.high;
        if error.outcome.low < 0.0 {
            let message = format!("the error of `{}` is negative", step.id.value);
            let finding = Finding::new(Slug::BadValue, message)
                .at(step.error.place.clone(), "this error")
                .help("give how far the measurement may be off, without a sign");
            return Some(Err(Box::new(finding)));
        }
        let band = guard * uncertainty;
        let (low, high) = (measured.outcome.low + band, measured.outcome.high - band);
        if low > high {
            let message = format!(
                "the limits of `{}` leave no room: good boards spread by {}, and the guard band takes {} off both ends",
                step.id.value,
                measured.shown_as(measured.outcome.high - measured.outcome.low),
                measured.shown_as(band)
            );
            let finding = Finding::new(Slug::NotComputable, message)
                .at(step.measures.place.clone(), "this is measured")
                .at(step.error.place.clone(), "with this error")
                .help("measure better, or take a smaller guard band and bear the risk");
            return Some(Err(Box::new(finding)));
        }
        let in_unit = |value| (value, measured.unit.clone(), measured.dimension);
        let mut found = vec![(Limited::Low, in_unit(low)), (Limited::High, in_unit(high))];
        // Whole counts that keep within the limits.
        let counts = match measured.dimension {
            Dimension::COUNTS => Some(1.0),
            Dimension::VOLTAGE => self.counts,
            _ => None,
        };
        if let Some(counts) = counts {
            let unit = Unit::coherent(Dimension::COUNTS);
            let of = |value: f64| (value, unit.clone(), Dimension::COUNTS);
            found.extend([
                (Limited::LowCounts, of((low * counts).ceil())),
                (Limited::HighCounts, of((high * counts).floor())),
            ]);
        }
        Some(Ok(Limits {
            operands: self.operands,
            found,
        }))
    }
}

impl Comparing<'_> {
    /// Holds the limits of a board's fixtures to what its records say of them.
    pub fn fixtures(&mut self, board: usize) {
        let records = self.records;
        let record = &records.boards[board];
        for fixture in &record.fixtures {
            for step in &fixture.steps {
                self.sees(&fixture.tests.value, step);
                for (key, statement) in &step.says {
                    let name = format!("{}.{}.{}", fixture.id.value, step.id.value, key.value);
                    let is_limit = LIMITS.iter().any(|(_, name, _)| *name == key.value);
                    match self.graph.find(&record.id.value, &name) {
                        Some(node) if is_limit => {
                            self.statement(node, &statement.value, &statement.place);
                        }
                        _ => self.no_limit(&record.id.value, &fixture.id.value, step, key),
                    }
                }
            }
        }
    }

    fn no_limit(&mut self, scope: &str, fixture: &str, step: &FixtureStep, key: &Located<String>) {
        let there = |name: &str| {
            let full = format!("{fixture}.{}.{name}", step.id.value);
            self.graph.find(scope, &full).is_some()
        };
        let is_limit = LIMITS.iter().any(|(_, name, _)| *name == key.value);
        if is_limit && !there("low") {
            // The step has no limits at all, and a finding says why.
            return;
        }
        let known: Vec<&str> = LIMITS.iter().map(|(_, name, _)| *name).collect();
        let known: Vec<&str> = known.into_iter().filter(|name| there(name)).collect();
        let help = match nearest(&key.value, known.iter().copied()) {
            Some(near) if !is_limit => format!("perhaps `{near}`"),
            _ if is_limit => {
                "counts need `resolution` and `reference`, and a voltage that is measured"
                    .to_owned()
            }
            _ => format!("its limits are {}", listed(&known)),
        };
        let message = format!("the step `{}` has no limit `{}`", step.id.value, key.value);
        let finding = Finding::new(Slug::UnknownName, message)
            .at(key.place.clone(), "not known here")
            .help(help);
        self.findings.push(finding);
    }

    /// Tells of designators that the tested board has not, and of faults that
    /// there are not.
    fn sees(&mut self, tested: &str, step: &FixtureStep) {
        let Some(tested) = self.records.board(tested) else {
            return;
        };
        let fitted = || {
            tested
                .fitted
                .iter()
                .map(|line| line.designator.value.as_str())
        };
        for (designator, faults) in &step.sees {
            if !fitted().any(|known| known == designator.value) {
                let message = format!("`{}` has no `{}`", tested.id.value, designator.value);
                let finding = Finding::new(Slug::UnknownName, message)
                    .at(designator.place.clone(), "not fitted there");
                let finding = match nearest(&designator.value, fitted()) {
                    Some(near) => finding.help(format!("perhaps `{near}`")),
                    None => finding.help("name a part of the board under test"),
                };
                self.findings.push(finding);
            }
            for fault in faults {
                self.fault_word(&fault.value, &fault.place);
            }
        }
    }

    fn fault_word(&mut self, word: &str, place: &Place) {
        let known = super::coverage::Fault::ALL.map(|fault| fault.words());
        if known.contains(&word) {
            return;
        }
        let help = match nearest(word, known) {
            Some(near) => format!("perhaps `{near}`"),
            None => format!("faults are {}", listed(&known)),
        };
        let finding = Finding::new(Slug::BadValue, format!("`{word}` is no fault of a part"))
            .at(place.clone(), "not known here")
            .help(help);
        self.findings.push(finding);
    }
}
