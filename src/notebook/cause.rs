//! One finding for one cause: what has no value because an input cannot be what
//! it is, and results of a working that have none for one reason.

use std::collections::HashMap;

use super::graph::{Body, Graph, NodeId, Origin};
use super::value::Value;
use super::working_held::NEVER_NEGATIVE;
use crate::finding::Finding;
use crate::trade::Bound;

/// What is known of causes while values come in, operands first.
pub(super) struct Causes {
    bounds: HashMap<NodeId, Bound>,
    /// Nodes that hang on an input which cannot be what it is. That input has a
    /// finding of its own.
    unfit: Vec<bool>,
    told: Vec<Told>,
}

/// A reason that has been told.
struct Told {
    origin: (usize, usize),
    reason: String,
    /// Position of its finding.
    finding: usize,
    /// Other results that have no value for it.
    others: Vec<String>,
}

impl Causes {
    pub fn of(graph: &Graph) -> Causes {
        Causes {
            bounds: graph.bounds().collect(),
            unfit: vec![false; graph.len()],
            told: Vec::new(),
        }
    }

    /// Takes in that a node is looked at, with its value where it has one.
    pub fn see(&mut self, graph: &Graph, id: NodeId, value: Option<&Value>) {
        let mut operands = graph.operands(id).iter();
        let is_input = matches!(graph.node(id).origin, Origin::Working { result: None, .. });
        let own = value.is_some_and(|value| {
            let bound = self.bounds.get(&id).copied().unwrap_or(Bound::Any);
            let negative = is_input
                && value.outcome.nominal < 0.0
                && NEVER_NEGATIVE.contains(&value.dimension);
            negative || bound.broken_by(value.outcome.low).is_some()
        });
        let unfit = own || operands.any(|operand| self.unfit[operand.index()]);
        self.unfit[id.index()] = unfit;
    }

    /// Adds the finding of a node that has no value, unless it has been told why.
    pub fn tell(&mut self, graph: &Graph, id: NodeId, finding: Finding, all: &mut Vec<Finding>) {
        let node = graph.node(id);
        if self.unfit[id.index()] {
            return;
        }
        let (Origin::Working { board, working, .. }, Body::Stepped(_)) = (&node.origin, &node.body)
        else {
            all.push(finding);
            return;
        };
        let origin = (*board, *working);
        let named = format!("`{}`", node.name);
        let reason = finding.message.replacen(&named, "", 1);
        let known = |told: &&mut Told| told.origin == origin && told.reason == reason;
        match self.told.iter_mut().find(known) {
            Some(told) => told.others.push(named),
            None => {
                self.told.push(Told {
                    origin,
                    reason,
                    finding: all.len(),
                    others: Vec::new(),
                });
                all.push(finding);
            }
        }
    }

    /// Adds to each finding what else has no value for its reason.
    pub fn finish(self, all: &mut [Finding]) {
        for told in self.told.into_iter().filter(|told| !told.others.is_empty()) {
            // Findings are only added, so each is where it was put.
            if let Some(finding) = all.get_mut(told.finding) {
                let note = format!("for the same reason none has {}", told.others.join(", "));
                *finding = finding.clone().note(note);
            }
        }
    }
}
