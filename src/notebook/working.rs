//! Workings on the graph: their inputs and results as figures.

use std::collections::HashMap;

use super::build::{Builder, Pending};
use super::graph::{Body, Node, NodeId, Origin, Steps, Worked};
use super::resolve::listed;
use super::working_order;
use crate::finding::{Finding, Place, Slug};
use crate::formula::Formula;
use crate::nearest::nearest;
use crate::record::WorkingRecord;
use crate::trade::{self, Bound, How, Inputs};

impl Builder<'_> {
    /// Lays a board's workings out, each after those that it takes as inputs.
    pub(super) fn workings(&mut self, at: usize) {
        let board = &self.records.boards[at];
        let order = working_order::order(board);
        for circle in order.circles {
            self.findings.push(working_order::circular(board, &circle));
        }
        for working in order.sorted {
            let record = &board.workings[working];
            match trade::kind(&record.kind.value) {
                Some(kind) => self.working(at, working, record, kind),
                None => self.unknown_kind(record),
            }
        }
    }

    fn unknown_kind(&mut self, record: &WorkingRecord) {
        let known: Vec<&str> = trade::KINDS.iter().map(|kind| kind.name()).collect();
        let help = match nearest(&record.kind.value, known.iter().copied()) {
            Some(near) => format!("perhaps `{near}`"),
            None => format!("known kinds are {}", listed(&known)),
        };
        let message = format!("there is no kind of working `{}`", record.kind.value);
        self.findings.push(
            Finding::new(Slug::BadValue, message)
                .at(record.kind.place.clone(), "not a kind of working")
                .help(help),
        );
    }

    fn working(
        &mut self,
        at: usize,
        working: usize,
        record: &WorkingRecord,
        kind: &'static dyn trade::Kind,
    ) {
        let before = self.findings.len();
        let mut reading = Reading {
            board: at,
            working,
            scope: self.records.boards[at].id.value.clone(),
            record,
            kind: kind.name(),
            nodes: HashMap::new(),
            bounds: Vec::new(),
            told: false,
        };
        let given = reading.group(self, kind.inputs(), &record.inputs, "", &record.id.place);
        // What is missing or misspelt has been told, and what would come of the
        // rest might not be what is meant.
        if !record.left_out.is_empty() || reading.told || self.findings.len() > before {
            return;
        }
        match kind.plan(&given) {
            Ok(plan) => reading.results(self, given, plan),
            Err(refusals) => {
                for refusal in refusals {
                    let first = refusal.input.split('.').next().unwrap_or_default();
                    let key = record.inputs.iter().find(|(key, _)| key.value == first);
                    let place = key.map_or(&record.id.place, |(key, _)| &key.place);
                    self.findings.push(
                        Finding::new(Slug::BadValue, refusal.message)
                            .at(place.clone(), "this input")
                            .help(refusal.help),
                    );
                }
            }
        }
    }
}

/// A working whose record is being read against its kind.
pub(super) struct Reading<'r> {
    pub board: usize,
    working: usize,
    pub scope: String,
    pub record: &'r WorkingRecord,
    pub kind: &'static str,
    /// Nodes of inputs and results by the names that the kind knows them by.
    pub nodes: HashMap<String, NodeId>,
    /// Inputs whose values have to keep to something.
    pub bounds: Vec<(NodeId, Bound)>,
    /// Whether it hangs on something whose own finding says what is wrong.
    pub told: bool,
}

impl Reading<'_> {
    pub(super) fn node(
        &mut self,
        builder: &mut Builder<'_>,
        name: &str,
        means: &str,
        result: Option<usize>,
        place: &Place,
    ) -> NodeId {
        let id = builder.graph.add(Node {
            scope: self.scope.clone(),
            name: format!("{}.{name}", self.record.id.value),
            means: means.to_owned(),
            origin: Origin::Working {
                board: self.board,
                working: self.working,
                result,
            },
            place: place.clone(),
            body: Body::Broken,
            unit: None,
        });
        self.nodes.insert(name.to_owned(), id);
        id
    }

    /// Puts the results on the graph.
    fn results(mut self, builder: &mut Builder<'_>, given: Inputs, plan: trade::Plan) {
        let record = self.record;
        for (at, planned) in plan.results.iter().enumerate() {
            let id = self.node(
                builder,
                &planned.name,
                &planned.means,
                Some(at),
                &record.id.place,
            );
            let stated = [&record.says, &record.must]
                .into_iter()
                .find_map(|statements| {
                    let mut statements = statements.iter();
                    statements.find(|(key, _)| planned.is_called(&key.value))
                });
            if let Some((_, statement)) = stated {
                let unit = statement.value.main().unit.clone();
                builder.graph.node_mut(id).unit =
                    Some(unit).filter(|unit| !unit.symbol().is_empty());
            }
            match &planned.how {
                // A test of each kind reads its formulas.
                How::Formula(text) => {
                    if let Ok(formula) = Formula::parse(text) {
                        builder.pending.push(Pending {
                            node: id,
                            board: self.board,
                            formula,
                            place: record.kind.place.clone(),
                            own: Some(record.id.value.clone()),
                            wanted: None,
                        });
                    }
                }
                How::Procedure {
                    operands,
                    dimension,
                    procedure,
                } => {
                    let operands: Option<Vec<NodeId>> = operands
                        .iter()
                        .map(|name| self.nodes.get(name).copied())
                        .collect();
                    if let Some(operands) = operands {
                        builder.graph.node_mut(id).body = Body::Stepped(Steps {
                            procedure: procedure.clone(),
                            dimension: *dimension,
                            operands,
                            place: record.kind.place.clone(),
                        });
                    }
                }
            }
        }
        let worked = Worked {
            given,
            plan,
            nodes: self.nodes,
            bounds: self.bounds,
        };
        builder.graph.add_working(self.board, self.working, worked);
    }
}
