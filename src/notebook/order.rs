//! The order in which figures can be computed, and the circles that have none.

use std::collections::VecDeque;

use super::graph::{Graph, NodeId};

/// Nodes in dependency order, and circles.
#[derive(Debug)]
pub(super) struct Order {
    /// Every node that is on no circle and hangs on none, operands first.
    pub sorted: Vec<NodeId>,
    /// Each circle once, in the order in which one figure names the next.
    pub circles: Vec<Vec<NodeId>>,
}

/// Sorts the nodes so that each comes after what it hangs on (Kahn's
/// algorithm; ties in the order of the records).
pub(super) fn order(graph: &Graph) -> Order {
    let dependents = graph.dependents();
    let mut missing: Vec<usize> = graph
        .iter()
        .map(|(id, _)| graph.operands(id).len())
        .collect();
    let mut ready: VecDeque<NodeId> = graph
        .iter()
        .map(|(id, _)| id)
        .filter(|id| missing[id.index()] == 0)
        .collect();
    let mut sorted = Vec::with_capacity(graph.len());
    while let Some(id) = ready.pop_front() {
        sorted.push(id);
        for dependent in &dependents[id.index()] {
            let count = &mut missing[dependent.index()];
            *count -= 1;
            if *count == 0 {
                ready.push_back(*dependent);
            }
        }
    }
    let circles = circles(graph, &missing);
    Order { sorted, circles }
}

/// Follows the first operand that is itself stuck from each stuck node until a
/// node comes up again: what lies between is a circle.
fn circles(graph: &Graph, missing: &[usize]) -> Vec<Vec<NodeId>> {
    let stuck = |id: NodeId| missing[id.index()] > 0;
    let mut seen = vec![false; graph.len()];
    let mut circles = Vec::new();
    for (start, _) in graph.iter().filter(|(id, _)| stuck(*id)) {
        let mut path: Vec<NodeId> = Vec::new();
        let mut at = Some(start);
        while let Some(id) = at {
            if let Some(from) = path.iter().position(|&other| other == id) {
                circles.push(path.split_off(from));
                break;
            }
            if seen[id.index()] {
                break;
            }
            seen[id.index()] = true;
            path.push(id);
            at = graph
                .operands(id)
                .iter()
                .copied()
                .find(|&operand| stuck(operand));
        }
    }
    circles
}
