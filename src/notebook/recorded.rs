//! What records say of a node beside its value.

use super::graph::{Graph, NodeId, Origin};
use crate::finding::Located;
use crate::quantity::Statement;
use crate::record::{Audience, Property, Records, WorkingRecord};

/// What is printed and published of a node.
pub(super) fn says<'r>(
    graph: &Graph,
    records: &'r Records,
    node: NodeId,
) -> Option<&'r Located<Statement>> {
    match graph.node(node).origin {
        Origin::Figure { board, figure } => records.boards[board].figures[figure].says.as_ref(),
        Origin::Fixture {
            board,
            fixture,
            step,
            limit: Some(limit),
        } => {
            let step = &records.boards[board].fixtures[fixture].steps[step];
            let mut says = step.says.iter();
            let found = says.find(|(key, _)| key.value == limit.name());
            found.map(|(_, statement)| statement)
        }
        _ => of_result(graph, records, node, |working| &working.says),
    }
}

/// What a node must be.
pub(super) fn must<'r>(
    graph: &Graph,
    records: &'r Records,
    node: NodeId,
) -> Option<&'r Located<Statement>> {
    match graph.node(node).origin {
        Origin::Figure { board, figure } => records.boards[board].figures[figure].must.as_ref(),
        _ => of_result(graph, records, node, |working| &working.must),
    }
}

/// Who may read of a node.
pub(super) fn audience(graph: &Graph, records: &Records, node: NodeId) -> Audience {
    match graph.node(node).origin {
        Origin::Figure { board, figure } => records.boards[board].figures[figure].audience,
        Origin::Working { board, working, .. } => records.boards[board].workings[working].audience,
        Origin::Fixture { board, fixture, .. } => records.boards[board].fixtures[fixture].audience,
        Origin::Fitted {
            part, ref property, ..
        } => records.parts[part]
            .property(property)
            .map_or(Audience::Customers, Property::audience),
        Origin::Stock { part } => records.parts[part]
            .property(&graph.node(node).name)
            .map_or(Audience::Customers, Property::audience),
        _ => Audience::Customers,
    }
}

/// The statement of a working about the result that a node is.
fn of_result<'r>(
    graph: &Graph,
    records: &'r Records,
    node: NodeId,
    statements: impl Fn(&'r WorkingRecord) -> &'r Vec<(Located<String>, Located<Statement>)>,
) -> Option<&'r Located<Statement>> {
    let Origin::Working {
        board,
        working,
        result: Some(result),
    } = graph.node(node).origin
    else {
        return None;
    };
    let planned = graph.working(board, working)?.plan.results.get(result)?;
    let mut statements = statements(&records.boards[board].workings[working]).iter();
    let found = statements.find(|(key, _)| planned.is_called(&key.value));
    found.map(|(_, statement)| statement)
}
