//! Dimension, nominal value and spread of every node.

use std::cell::RefCell;
use std::cmp::Reverse;
use std::collections::BTreeSet;
use std::sync::{Arc, OnceLock};

use rayon::prelude::*;

use super::cause::Causes;
use super::chance;
use super::graph::{Body, Graph, Node, NodeId, Solution, Steps};
use super::kept::{Kept, Prints};
use super::order::{Order, order};
use super::seen::{Knowing, Seen};
use super::slice::{Slice, StepFault};
use super::value::{Chance, Value};
use crate::finding::{Finding, Slug};
use crate::quantity::{Dimension, Outcome, Scale, Unit, customary_unit};
use crate::record::{Records, SpreadPolicy};
use crate::spread::{Share, shares, worst_case};
use crate::trade::Unworkable;

/// All values, and the order in which they were computed.
#[derive(Debug, Default)]
pub(super) struct Values {
    pub values: Vec<Option<Arc<Value>>>,
    pub sorted: Vec<NodeId>,
    /// What each value was made from, where values are kept.
    pub prints: Prints,
}

/// Largest relative distance of an attained extreme and its enclosure that
/// goes without saying.
const OPEN_GAP: f64 = 1e-6;

/// Computes every node that can be computed. A node that cannot is broken, has
/// a finding, and takes down what hangs on it without further findings.
pub(super) fn evaluate(
    graph: &mut Graph,
    records: &Records,
    kept: Option<&Kept<'_>>,
    findings: &mut Vec<Finding>,
) -> Values {
    let Order { sorted, circles } = order(graph);
    for circle in &circles {
        findings.push(circular(graph, circle));
    }
    let mut dimensions: Vec<Option<Dimension>> = vec![None; graph.len()];
    for &id in &sorted {
        match dimension(graph, id, &dimensions) {
            Ok(found) => dimensions[id.index()] = found,
            Err(finding) => {
                findings.push(*finding);
                graph.node_mut(id).body = Body::Broken;
            }
        }
    }
    let prints = kept.map_or_else(Prints::default, |kept| kept.prints(graph, records, &sorted));
    let before = |id: NodeId, slice: &Slice<'_>| kept?.value(prints.of(id), &slice.inputs);
    let found = side_by_side(graph, records, &sorted, &dimensions, &before);
    let mut values: Vec<Option<Arc<Value>>> = vec![None; graph.len()];
    let mut causes = Causes::of(graph);
    for (id, found) in found {
        causes.see(graph, id, found.as_ref().ok().map(Arc::as_ref));
        // A step before this one that has no value said so in a finding of its own.
        let mut operands = graph.operands(id).iter();
        if operands.any(|operand| values[operand.index()].is_none()) {
            continue;
        }
        match found {
            Ok(value) => {
                findings.extend(open_spread(graph, id, &value));
                values[id.index()] = Some(value);
            }
            Err(finding) => {
                causes.tell(graph, id, *finding, findings);
                graph.node_mut(id).body = Body::Broken;
            }
        }
    }
    causes.finish(findings);
    Values {
        values,
        sorted,
        prints,
    }
}

/// Computes some nodes once more, in the order given; each keeps its dimension.
/// A node that has no value any more is broken, and has a finding.
pub(super) fn again(
    graph: &mut Graph,
    records: &Records,
    nodes: &[NodeId],
    values: &mut [Option<Arc<Value>>],
    findings: &mut Vec<Finding>,
) {
    let mut dimensions: Vec<Option<Dimension>> = vec![None; graph.len()];
    for &id in nodes {
        dimensions[id.index()] = values[id.index()].as_ref().map(|value| value.dimension);
    }
    let found = side_by_side(graph, records, nodes, &dimensions, &|_, _| None);
    for &id in nodes {
        values[id.index()] = None;
    }
    for (id, found) in found {
        let mut operands = graph.operands(id).iter();
        if operands.any(|operand| values[operand.index()].is_none()) {
            continue;
        }
        match found {
            Ok(value) => values[id.index()] = Some(value),
            Err(finding) => {
                findings.push(*finding);
                graph.node_mut(id).body = Body::Broken;
            }
        }
    }
}

/// What a node comes to.
type Found = Result<Arc<Value>, Box<Finding>>;

/// A node's value from before, where it is computed from the same.
type Before<'b> = dyn Fn(NodeId, &Slice<'_>) -> Option<Arc<Value>> + Sync + 'b;

/// Computes nodes, in the order given. Each is computed from its inputs, whether
/// or not the nodes between have a value, so they are computed side by side; but
/// those with the same inputs one after another, for these look at the same
/// points.
fn side_by_side(
    graph: &Graph,
    records: &Records,
    sorted: &[NodeId],
    dimensions: &[Option<Dimension>],
    before: &Before<'_>,
) -> Vec<(NodeId, Found)> {
    let slices = sorted.par_iter().enumerate();
    let slices = slices.filter_map(|(at, &id)| Some((at, Slice::of(graph, id, &|_| None)?)));
    let mut slices: Vec<(usize, Slice<'_>)> = slices.collect();
    slices.par_sort_by(|(_, one), (_, other)| one.inputs.cmp(&other.inputs));
    let mut groups: Vec<Vec<(usize, Slice<'_>)>> = Vec::new();
    for (at, slice) in slices {
        match groups.last_mut() {
            Some(group) if group[0].1.inputs == slice.inputs => group.push((at, slice)),
            _ => groups.push(vec![(at, slice)]),
        }
    }
    // What takes long is begun first, so that nobody waits for it at the end: all
    // that has no inputs is one group, and corners double with each input.
    groups.sort_by_key(|group| {
        let inputs = group[0].1.inputs.len();
        (inputs > 0, Reverse(inputs))
    });
    let groups = groups.into_par_iter().with_max_len(1);
    let found = groups.flat_map_iter(|group| {
        let seen = RefCell::new(Seen::default());
        group.into_iter().filter_map(move |(at, slice)| {
            let id = sorted[at];
            let dimension = dimensions[id.index()]?;
            let found = match before(id, &slice) {
                Some(value) => Ok(value),
                None => value(graph, records, id, dimension, slice, &seen).map(Arc::new),
            };
            Some((at, found))
        })
    });
    let mut found: Vec<(usize, Found)> = found.collect();
    found.sort_unstable_by_key(|(at, _)| *at);
    found
        .into_iter()
        .map(|(at, found)| (sorted[at], found))
        .collect()
}

fn circular(graph: &Graph, circle: &[NodeId]) -> Finding {
    let scopes: BTreeSet<&str> = circle
        .iter()
        .map(|&id| graph.node(id).scope.as_str())
        .collect();
    let name = |id: NodeId| match scopes.len() {
        1 => graph.node(id).name.clone(),
        _ => graph.node(id).full_name(),
    };
    let names: Vec<String> = circle
        .iter()
        .chain(circle.first())
        .map(|&id| format!("`{}`", name(id)))
        .collect();
    let mut finding = Finding::new(
        Slug::CircularFigures,
        format!(
            "figures depend on each other in a circle: {}",
            names.join(" → ")
        ),
    )
    .help("give one of them a value of its own, with its source");
    for (at, &id) in circle.iter().enumerate() {
        let next = name(circle[(at + 1) % circle.len()]);
        let place = graph.node(id).value_place().clone();
        finding = finding.at(place, format!("`{}` needs `{next}`", name(id)));
    }
    finding
}

/// The dimension of a node; `None` where something it hangs on is broken.
fn dimension(
    graph: &Graph,
    id: NodeId,
    known: &[Option<Dimension>],
) -> Result<Option<Dimension>, Box<Finding>> {
    let node = graph.node(id);
    let calculation = match &node.body {
        // Limits come later, from what is computed here.
        Body::Broken | Body::Limit(_) => return Ok(None),
        Body::Given(given) => return Ok(Some(given.dimension())),
        Body::Solved(solution) => {
            let known = solution
                .operands
                .iter()
                .all(|operand| known[operand.index()].is_some());
            return Ok(known.then_some(solution.dimension));
        }
        Body::Stepped(steps) => {
            let mut operands = steps.operands.iter();
            let known = operands.all(|operand| known[operand.index()].is_some());
            return Ok(known.then_some(steps.dimension));
        }
        Body::Computed(calculation) => calculation,
    };
    let names: Option<Vec<Dimension>> = calculation
        .operands
        .iter()
        .map(|operand| known[operand.index()])
        .collect();
    let Some(names) = names else { return Ok(None) };
    let found = calculation.formula.dimension(&names).map_err(|fault| {
        let mut finding = Finding::new(
            Slug::UnitMismatch,
            format!("the formula of `{}`: {}", node.name, fault.message),
        )
        .at(calculation.place_of(fault.span), fault.message.clone());
        for (span, what) in fault.sides {
            finding = finding.at(calculation.place_of(span), format!("this is {what}"));
        }
        if let Some(help) = fault.help {
            finding = finding.help(help);
        }
        Box::new(finding)
    })?;
    match calculation.wanted {
        Some(wanted) if !found.comparable(wanted) => Err(Box::new(
            Finding::new(
                Slug::UnitMismatch,
                format!(
                    "`{}` should be {wanted}, and its formula gives {found}",
                    node.name
                ),
            )
            .at(calculation.place.clone(), format!("this is {found}")),
        )),
        _ => Ok(Some(found)),
    }
}

fn value(
    graph: &Graph,
    records: &Records,
    id: NodeId,
    dimension: Dimension,
    slice: Slice<'_>,
    seen: &RefCell<Seen>,
) -> Result<Value, Box<Finding>> {
    let nominal = slice.nominal().map_err(|fault| no_value(graph, &fault))?;
    let unit = graph
        .node(id)
        .unit
        .clone()
        .filter(|unit| shows(unit, dimension))
        .unwrap_or_else(|| shown_unit(graph, id, dimension, nominal));
    let policy = chance::in_force(graph, records, id);
    if slice.inputs.is_empty() {
        let outcome = Outcome::exact(nominal);
        return Ok(Value::of(dimension, outcome, unit, policy));
    }
    let knowing = Knowing {
        slice: &slice,
        seen,
    };
    let Some(extremes) = worst_case(&knowing, slice.limits()) else {
        return Err(unbounded(graph, id, &slice));
    };
    let worst = Outcome {
        nominal,
        low: extremes.low.value,
        high: extremes.high.value,
    };
    let mut sampled = None;
    let outcome = match policy.spread {
        SpreadPolicy::WorstCase => worst,
        SpreadPolicy::RootSumSquare => {
            let reach = chance::root_sum_square(&slice).map_err(|fault| no_value(graph, &fault))?;
            Outcome {
                nominal,
                low: nominal - reach,
                high: nominal + reach,
            }
        }
        SpreadPolicy::MonteCarlo => {
            let stated = chance::stated(graph, records, id);
            let drawn = chance::variables(graph, records, &slice)
                .and_then(|variables| chance::sample(&slice, &variables, &policy, stated));
            let Some(drawn) = drawn else {
                return Err(not_drawn(graph, id));
            };
            let interval = drawn.interval(policy.rule);
            sampled = Some(Chance::of(&drawn));
            Outcome {
                nominal,
                low: interval.low(),
                high: interval.high(),
            }
        }
    };
    Ok(Value {
        dimension,
        outcome,
        worst,
        policy,
        unit,
        extremes: Some(extremes),
        sampled,
        inputs: slice.inputs,
        shown: OnceLock::new(),
    })
}

fn not_drawn(graph: &Graph, id: NodeId) -> Box<Finding> {
    let node = graph.node(id);
    Box::new(
        Finding::new(
            Slug::NotComputable,
            format!("the spread of `{}` cannot be drawn by chance", node.name),
        )
        .at(node.value_place().clone(), "this figure")
        .help("see whether coverage, coverage factors and reel shares are shares and factors that can be, or choose another policy"),
    )
}

/// Whether values of a dimension can be shown in a unit. A difference of
/// temperatures in °C would be off by 273.
pub(super) fn shows(unit: &Unit, dimension: Dimension) -> bool {
    let unit = unit.dimension();
    let is_point = unit.scale() == Scale::Point;
    unit.comparable(dimension) && (!is_point || dimension.scale() == Scale::Point)
}

/// The unit of a given value as written; otherwise the one that the trade reads
/// such a value in.
fn shown_unit(graph: &Graph, id: NodeId, dimension: Dimension, nominal: f64) -> Unit {
    match &graph.node(id).body {
        Body::Given(given) => given.unit().clone(),
        Body::Computed(calculation) => match calculation.operands.as_slice() {
            // A figure that only passes another one on is shown as that one is.
            [only] if calculation.formula.as_single_name().is_some() => {
                shown_unit(graph, *only, dimension, nominal)
            }
            _ => customary_unit(nominal, dimension),
        },
        Body::Solved(_) | Body::Stepped(_) => customary_unit(nominal, dimension),
        Body::Limit(_) | Body::Broken => Unit::coherent(dimension),
    }
}

fn no_value(graph: &Graph, fault: &StepFault) -> Box<Finding> {
    let node = graph.node(fault.node);
    if let Body::Solved(solution) = &node.body {
        return Box::new(no_solution(graph, node, solution));
    }
    if let Body::Stepped(steps) = &node.body {
        return Box::new(unworkable(graph, node, steps));
    }
    let (why, place) = match (&fault.fault, &node.body) {
        (Some(fault), Body::Computed(calculation)) => {
            (fault.to_string(), calculation.place_of(fault.span.clone()))
        }
        _ => ("has none".to_owned(), node.place.clone()),
    };
    Box::new(
        Finding::new(
            Slug::NotComputable,
            format!("`{}` has no value: its formula {why}", node.name),
        )
        .at(place, why),
    )
}

/// Why a network has no solution at the nominal values.
fn no_solution(graph: &Graph, node: &Node, solution: &Solution) -> Finding {
    let fault = nominal(graph, &solution.operands).and_then(|operands| {
        let parameters = solution.parameters_for(&operands);
        solution
            .network
            .value_and_gradient(&parameters, &solution.wanted)
            .err()
    });
    let why = fault
        .as_ref()
        .map_or_else(|| "its inputs have none".to_owned(), ToString::to_string);
    let finding = Finding::new(
        Slug::BadCircuit,
        format!("`{}` has no value: {why}", node.name),
    )
    .at(node.place.clone(), "this circuit");
    match fault.and_then(|fault| fault.mend()) {
        Some(mend) => finding.help(mend),
        None => finding,
    }
}

/// Why a procedure comes to nothing at the nominal values.
fn unworkable(graph: &Graph, node: &Node, steps: &Steps) -> Finding {
    let fault = nominal(graph, &steps.operands)
        .and_then(|operands| steps.procedure.run(&operands).err())
        .unwrap_or_else(|| Unworkable::new("comes to nothing", "see what its inputs come to"));
    let message = format!("`{}` {}", node.name, fault.message);
    Finding::new(Slug::NotComputable, message)
        .at(node.place.clone(), "in this working")
        .help(fault.help)
}

/// Nominal values of nodes; `None` where one has none.
fn nominal(graph: &Graph, nodes: &[NodeId]) -> Option<Vec<f64>> {
    let nominal = |id: &NodeId| {
        let slice = Slice::of(graph, *id, &|_| None)?;
        slice.nominal().ok()
    };
    nodes.iter().map(nominal).collect()
}

fn unbounded(graph: &Graph, id: NodeId, slice: &Slice<'_>) -> Box<Finding> {
    let node = graph.node(id);
    let mut finding = Finding::new(
        Slug::NotComputable,
        format!("`{}` has no bound while its inputs stray within their tolerances", node.name),
    )
    .help("a divisor may come near zero, or a logarithm or root near the end of its domain: check the tolerances");
    let place = node.value_place().clone();
    finding = finding.at(place, "somewhere within the tolerances this has no value");
    for &input in slice.inputs.iter().take(4) {
        let input = graph.node(input);
        finding = finding.at(input.place.clone(), format!("`{}` strays", input.name));
    }
    Box::new(finding)
}

fn open_spread(graph: &Graph, id: NodeId, value: &Value) -> Option<Finding> {
    let extremes = value.extremes.as_ref()?;
    let gap = extremes.low.gap?.max(extremes.high.gap?);
    if gap <= OPEN_GAP {
        return None;
    }
    let node = graph.node(id);
    Some(
        Finding::new(
            Slug::SpreadOpen,
            format!(
                "the extremes of `{}` are known only to {:.1e} of its value",
                node.name, gap
            ),
        )
        .at(node.place.clone(), "too many inputs pull both ways"),
    )
}

/// The spread of the difference of two nodes, which may hang on the same
/// inputs; `None` where it has no value.
pub(super) fn difference_of(graph: &Graph, left: NodeId, right: NodeId) -> Option<Outcome> {
    let slice = Slice::of_difference(graph, left, right)?;
    let nominal = slice.nominal().ok()?;
    if slice.inputs.is_empty() {
        return Some(Outcome::exact(nominal));
    }
    let extremes = worst_case(&slice, slice.limits())?;
    Some(Outcome {
        nominal,
        low: extremes.low.value,
        high: extremes.high.value,
    })
}

/// What each input contributes to a node's spread, the largest first: parts of
/// the sum at worst case, parts of the variance under the other policies.
pub(super) fn shares_of(graph: &Graph, records: &Records, id: NodeId) -> Vec<(NodeId, Share)> {
    let Some(slice) = Slice::of(graph, id, &|_| None) else {
        return Vec::new();
    };
    let mut shares = shares(&slice, slice.limits()).unwrap_or_default();
    let policy = chance::in_force(graph, records, id).spread;
    if policy == SpreadPolicy::MonteCarlo
        && let Some(variables) = chance::variables(graph, records, &slice)
    {
        for share in &mut shares {
            let deviation = variables[share.input].distribution.standard_uncertainty();
            share.reach = (share.sensitivity * deviation).abs();
        }
    }
    if policy != SpreadPolicy::WorstCase {
        let variance: f64 = shares.iter().map(|share| share.reach * share.reach).sum();
        for share in &mut shares {
            share.share = share.reach * share.reach / variance;
        }
        shares.sort_by(|a, b| b.share.total_cmp(&a.share).then(a.input.cmp(&b.input)));
    }
    let node = |share: &Share| slice.inputs[share.input];
    shares.iter().map(|share| (node(share), *share)).collect()
}
