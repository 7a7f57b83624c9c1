//! Parts that change with the temperature round their board.

use super::graph::{Body, Calculation, Graph, Node, NodeId, Origin};
use super::resolve::resolve;
use crate::finding::Place;
use crate::formula::Formula;
use crate::quantity::Given;
use crate::record::Records;

/// The value of a part that has a temperature coefficient, over all conditions
/// of its board. Data sheets state values at 25 °C (common practice, no source).
const LAW: &str = "stated * (1 + tempco * (ambient - 25 °C))";
/// That temperature, in kelvin.
const STATED_AT: f64 = 298.15;

/// The node of a temperature range.
pub(super) fn ambient(
    graph: &mut Graph,
    records: &Records,
    board: usize,
    name: &str,
    range: Given,
    place: Place,
) -> NodeId {
    let scope = &records.boards[board].id.value;
    if let Some(found) = graph.find(scope, name) {
        return found;
    }
    graph.add(Node {
        scope: scope.clone(),
        name: name.to_owned(),
        means: "Temperature round the board".to_owned(),
        origin: Origin::Condition { board },
        place,
        body: Body::Given(range),
        unit: None,
    })
}

/// The node of a fitted part's value as its data sheet states it, whether or not
/// the value strays with the temperature from there.
pub(super) fn stated(graph: &Graph, board: &str, designator: &str) -> Option<NodeId> {
    let node = graph.find(board, designator)?;
    match &graph.node(node).body {
        Body::Computed(law) => law.operands.first().copied(),
        _ => Some(node),
    }
}

/// The node of a designator whose part strays with the temperature: `stated`
/// is the part's value as its data sheet has it.
pub(super) fn at_ambient(
    graph: &mut Graph,
    records: &Records,
    board: usize,
    designator: &str,
    stated: Node,
) -> NodeId {
    let record = &records.boards[board];
    let ranges = record
        .conditions
        .iter()
        .map(|condition| condition.ambient.value.clone());
    let range = ranges.reduce(|all, range| all.hull(&range));
    let law = Formula::parse(LAW).ok();
    let tempco = resolve(graph, records, board, &format!("{designator}.tempco")).ok();
    let (Some(range), Some(formula), Some(tempco)) = (range, law, tempco) else {
        return graph.add(stated);
    };
    // The nominal value of a part is the one that its data sheet states.
    let range = range.with_nominal(STATED_AT);
    let place = record.conditions[0].ambient.place.clone();
    let ambient = ambient(graph, records, board, "ambient temperature", range, place);
    let (means, place) = (stated.means.clone(), stated.place.clone());
    let (origin, scope) = (stated.origin.clone(), stated.scope.clone());
    let unit = match &stated.body {
        Body::Given(given) => Some(given.unit().clone()),
        _ => None,
    };
    let stated = graph.add(Node {
        name: format!("{designator} at 25 °C"),
        ..stated
    });
    graph.add(Node {
        scope,
        name: designator.to_owned(),
        means,
        origin,
        place: place.clone(),
        body: Body::Computed(Calculation {
            formula,
            place,
            operands: vec![stated, tempco, ambient],
            wanted: None,
        }),
        unit,
    })
}
