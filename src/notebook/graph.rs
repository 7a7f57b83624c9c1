//! The graph of figures: everything that has a value, and what it hangs on.

use std::collections::HashMap;
use std::ops::Range;
use std::sync::Arc;

use crate::circuit::{Compiled, Wanted};
use crate::finding::{Place, stretch};
use crate::formula::{Asker, Formula, Smooth};
use crate::quantity::{Dimension, Given, Unit};
use crate::trade::{Bound, Inputs, Plan, Procedure};

/// Number of a node in its [`Graph`].
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub struct NodeId(u32);

impl NodeId {
    /// Position in lists that run parallel to the nodes.
    pub fn index(self) -> usize {
        self.0 as usize
    }
}

/// Something that has a value.
#[derive(Clone, Debug)]
pub struct Node {
    /// Id of the board or module that it belongs to.
    pub scope: String,
    /// Name within its scope: `charge_slow`, `R1`, `U1.quiescent`.
    pub name: String,
    /// What it is, in words.
    pub means: String,
    /// What record it is made from.
    pub origin: Origin,
    /// Where its record stands.
    pub place: Place,
    /// Where its value comes from.
    pub body: Body,
    /// Unit that its record asks for.
    pub unit: Option<Unit>,
}

impl Node {
    /// Whether formulas and links can name it.
    pub fn is_named(&self) -> bool {
        self.origin != Origin::Side
    }

    /// Where its value is stated: its formula's text, or its record.
    pub fn value_place(&self) -> &Place {
        match &self.body {
            Body::Computed(calculation) => &calculation.place,
            Body::Given(_) | Body::Solved(_) | Body::Stepped(_) | Body::Limit(_) | Body::Broken => {
                &self.place
            }
        }
    }

    /// Name with its scope: `cell_charger.charge_slow`.
    pub fn full_name(&self) -> String {
        format!("{}.{}", self.scope, self.name)
    }

    /// Name as a formula of a board would write it.
    pub fn name_from(&self, board: &str) -> String {
        if self.scope == board {
            self.name.clone()
        } else {
            self.full_name()
        }
    }
}

/// What record a node is made from. Numbers are positions in the lists of
/// [`crate::record::Records`].
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Origin {
    /// `[figure.<id>]` of a board.
    Figure {
        /// Which board.
        board: usize,
        /// Which of its figures.
        figure: usize,
    },
    /// A property of a fitted part.
    Fitted {
        /// Which board.
        board: usize,
        /// Which line of `[fitted]`.
        fitted: usize,
        /// Which part.
        part: usize,
        /// Name of the property.
        property: String,
    },
    /// A property of a part of the library, whether or not a board carries it.
    Stock {
        /// Which part.
        part: usize,
    },
    /// A property of a module.
    Module {
        /// Which module.
        module: usize,
    },
    /// An input or a result of a working.
    Working {
        /// Which board.
        board: usize,
        /// Which of its workings.
        working: usize,
        /// Which result of its kind; `None` for an input.
        result: Option<usize>,
    },
    /// A temperature that a board works under.
    Condition {
        /// Which board.
        board: usize,
    },
    /// A result of a circuit, or a formula that drives it.
    Circuit {
        /// Which board.
        board: usize,
        /// Which of its circuits.
        circuit: usize,
    },
    /// A number of a fixture's step.
    Fixture {
        /// Which board.
        board: usize,
        /// Which of its fixtures.
        fixture: usize,
        /// Which of its steps.
        step: usize,
        /// Which limit; `None` for what the limits hang on.
        limit: Option<Limited>,
    },
    /// A formula of what a board uses of its module.
    Pins {
        /// Which board.
        board: usize,
    },
    /// One side of a comparison.
    Side,
}

/// The limits of a fixture's step.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Limited {
    /// Least value that passes.
    Low,
    /// Greatest value that passes.
    High,
    /// Least reading of the converter that passes.
    LowCounts,
    /// Greatest reading of the converter that passes.
    HighCounts,
}

/// Where a value comes from.
#[derive(Clone, Debug)]
pub enum Body {
    /// Given, with its tolerance.
    Given(Given),
    /// Computed by a formula.
    Computed(Calculation),
    /// Solved for in a network.
    Solved(Solution),
    /// Worked out step by step.
    Stepped(Steps),
    /// A limit, from the spreads of the nodes that it hangs on.
    Limit(Vec<NodeId>),
    /// It could not be made sense of; a finding says why.
    Broken,
}

/// A formula with what its names mean.
#[derive(Clone, Debug)]
pub struct Calculation {
    /// The formula.
    pub formula: Formula,
    /// Where its text stands.
    pub place: Place,
    /// The node of each name, in the order of [`Formula::names`].
    pub operands: Vec<NodeId>,
    /// Dimension that the result must have, where something says so.
    pub wanted: Option<Dimension>,
}

/// A result of a network, with what its parameters are.
#[derive(Clone, Debug)]
pub struct Solution {
    /// The network.
    pub network: Arc<Compiled>,
    /// What is wanted of it.
    pub wanted: Wanted,
    /// The result's dimension.
    pub dimension: Dimension,
    /// Where each parameter of the network comes from, in the network's order.
    pub parameters: Vec<ParameterSource>,
    /// The nodes among those sources, each once.
    pub operands: Vec<NodeId>,
}

/// A result of a procedure, with what it is worked out from.
#[derive(Clone, Debug)]
pub struct Steps {
    /// The procedure.
    pub procedure: Procedure,
    /// The result's dimension.
    pub dimension: Dimension,
    /// The nodes of its operands, in its order.
    pub operands: Vec<NodeId>,
    /// Where its working stands.
    pub place: Place,
}

/// A working, laid out on the graph.
#[derive(Debug)]
pub struct Worked {
    /// What its record gives.
    pub given: Inputs,
    /// Its results, tables and plots.
    pub plan: Plan,
    /// Nodes of inputs and results by the names that the plan knows them by.
    pub nodes: HashMap<String, NodeId>,
    /// Inputs whose values have to keep to something.
    pub bounds: Vec<(NodeId, Bound)>,
}

/// Where a parameter of a network comes from.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum ParameterSource {
    /// An operand, by its position.
    Operand(usize),
    /// A number that no record states.
    Fixed(f64),
}

impl Smooth for Solution {
    fn value(&self, operands: &[f64]) -> Option<f64> {
        self.asker()(operands)
    }

    fn asker(&self) -> Asker<'_> {
        let mut workspace = self.network.workspace();
        let mut parameters = vec![0.0; self.parameters.len()];
        Box::new(move |operands| {
            for (parameter, source) in parameters.iter_mut().zip(&self.parameters) {
                *parameter = source.value(operands);
            }
            let network = &self.network;
            network
                .value_in(&mut workspace, &parameters, &self.wanted)
                .ok()
        })
    }

    fn values(&self, operands: &[&[f64]], results: &mut [f64]) -> Option<()> {
        let columns = self.columns(operands);
        let network = &self.network;
        network
            .values_in(&mut network.workspace(), &columns, &self.wanted, results)
            .ok()
    }

    fn slopes(&self, operands: &[f64], slopes: &mut [f64]) -> Option<f64> {
        let parameters = self.parameters_for(operands);
        let (value, gradient) = self
            .network
            .value_and_gradient(&parameters, &self.wanted)
            .ok()?;
        slopes.fill(0.0);
        for (source, slope) in self.parameters.iter().zip(gradient) {
            if let ParameterSource::Operand(at) = source {
                slopes[*at] += slope;
            }
        }
        Some(value)
    }
}

impl Solution {
    /// Lists of the values of each parameter, given those of the operands.
    pub(super) fn columns<'c>(&'c self, operands: &[&'c [f64]]) -> Vec<&'c [f64]> {
        let column = |source: &'c ParameterSource| match source {
            ParameterSource::Operand(at) => operands[*at],
            ParameterSource::Fixed(value) => std::slice::from_ref(value),
        };
        self.parameters.iter().map(column).collect()
    }

    /// Whether it is read off an operating point that is worth keeping: that
    /// of a linear network is found as fast as it is looked up.
    pub(super) fn can_be_kept(&self) -> bool {
        !self.network.is_linear() && self.wanted.is_steady()
    }

    /// The vector of the network's parameters for values of the operands.
    pub fn parameters_for(&self, operands: &[f64]) -> Vec<f64> {
        self.parameters
            .iter()
            .map(|source| source.value(operands))
            .collect()
    }
}

impl ParameterSource {
    fn value(self, operands: &[f64]) -> f64 {
        match self {
            ParameterSource::Operand(at) => operands[at],
            ParameterSource::Fixed(value) => value,
        }
    }
}

impl Calculation {
    /// The place of a piece of the formula.
    pub(super) fn place_of(&self, span: Range<usize>) -> Place {
        stretch(&self.place, self.formula.text(), span)
    }
}

/// All nodes of a notebook. A copy shares its nodes with the original until one
/// of them is changed.
#[derive(Clone, Debug, Default)]
pub struct Graph {
    nodes: Vec<Arc<Node>>,
    names: Arc<HashMap<String, HashMap<String, NodeId>>>,
    /// Networks by board and position in its circuits.
    networks: Arc<HashMap<(usize, usize), Network>>,
    /// Readings of measured figures, in coherent SI units.
    samples: Arc<HashMap<NodeId, Vec<f64>>>,
    /// Workings by board and position in its workings.
    workings: Arc<HashMap<(usize, usize), Arc<Worked>>>,
}

/// A circuit's network, ready to be asked.
#[derive(Clone, Debug)]
pub struct Network {
    /// The network.
    pub compiled: Arc<Compiled>,
    /// Where each of its parameters comes from, by node.
    pub(super) sources: Vec<Source>,
}

impl Network {
    /// The vector of the network's parameters, given the value of each node;
    /// `None` where a node has none.
    pub fn nominal(&self, value: impl Fn(NodeId) -> Option<f64>) -> Option<Vec<f64>> {
        let number = |source: &Source| match source {
            Source::Node(node) => value(*node),
            Source::Fixed(number) => Some(*number),
        };
        self.sources.iter().map(number).collect()
    }
}

/// Where a parameter of a network comes from.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(super) enum Source {
    Node(NodeId),
    Fixed(f64),
}

impl Graph {
    /// Takes in a node and returns its number.
    pub(super) fn add(&mut self, node: Node) -> NodeId {
        // Four thousand million records do not fit in a machine's memory.
        let id = NodeId(self.nodes.len() as u32);
        if node.is_named() {
            let names = Arc::make_mut(&mut self.names);
            let scope = names.entry(node.scope.clone()).or_default();
            scope.entry(node.name.clone()).or_insert(id);
        }
        self.nodes.push(Arc::new(node));
        id
    }

    /// The node of a number.
    pub fn node(&self, id: NodeId) -> &Node {
        &self.nodes[id.index()]
    }

    pub(super) fn node_mut(&mut self, id: NodeId) -> &mut Node {
        Arc::make_mut(&mut self.nodes[id.index()])
    }

    /// The node of a name in a scope.
    pub fn find(&self, scope: &str, name: &str) -> Option<NodeId> {
        self.names.get(scope)?.get(name).copied()
    }

    /// Makes a node known under another name too.
    pub(super) fn also_named(&mut self, scope: &str, name: String, id: NodeId) {
        let names = Arc::make_mut(&mut self.names);
        let scope = names.entry(scope.to_owned()).or_default();
        scope.entry(name).or_insert(id);
    }

    /// Whether a node is an input or a result of this very working.
    pub fn is_of_working(&self, id: NodeId, of: usize, at: usize) -> bool {
        match self.node(id).origin {
            Origin::Working { board, working, .. } => (board, working) == (of, at),
            _ => false,
        }
    }

    /// The network of a circuit; `None` where it could not be made sense of.
    pub fn network(&self, board: usize, circuit: usize) -> Option<&Network> {
        self.networks.get(&(board, circuit))
    }

    pub(super) fn add_network(&mut self, board: usize, circuit: usize, network: Network) {
        Arc::make_mut(&mut self.networks).insert((board, circuit), network);
    }

    /// The readings of a measured figure, in coherent SI units.
    pub fn sample(&self, node: NodeId) -> Option<&[f64]> {
        self.samples.get(&node).map(Vec::as_slice)
    }

    pub(super) fn add_sample(&mut self, node: NodeId, values: Vec<f64>) {
        Arc::make_mut(&mut self.samples).insert(node, values);
    }

    /// A working; `None` where it could not be made sense of.
    pub fn working(&self, board: usize, working: usize) -> Option<&Worked> {
        self.workings.get(&(board, working)).map(Arc::as_ref)
    }

    /// Inputs of workings whose values have to keep to something.
    pub(super) fn bounds(&self) -> impl Iterator<Item = (NodeId, Bound)> {
        let workings = self.workings.values();
        workings.flat_map(|worked| worked.bounds.iter().copied())
    }

    pub(super) fn add_working(&mut self, board: usize, working: usize, worked: Worked) {
        Arc::make_mut(&mut self.workings).insert((board, working), Arc::new(worked));
    }

    /// All nodes with their numbers.
    pub fn iter(&self) -> impl Iterator<Item = (NodeId, &Node)> {
        self.nodes
            .iter()
            .enumerate()
            .map(|(at, node)| (NodeId(at as u32), node.as_ref()))
    }

    /// How many nodes there are.
    pub fn len(&self) -> usize {
        self.nodes.len()
    }

    /// Whether there are none.
    pub fn is_empty(&self) -> bool {
        self.nodes.is_empty()
    }

    /// What a node hangs on directly.
    pub fn operands(&self, id: NodeId) -> &[NodeId] {
        match &self.node(id).body {
            Body::Computed(calculation) => &calculation.operands,
            Body::Solved(solution) => &solution.operands,
            Body::Stepped(steps) => &steps.operands,
            Body::Limit(operands) => operands,
            Body::Given(_) | Body::Broken => &[],
        }
    }

    /// What hangs on each node directly, by the node's number.
    pub fn dependents(&self) -> Vec<Vec<NodeId>> {
        let mut dependents = vec![Vec::new(); self.len()];
        for (id, _) in self.iter() {
            for operand in self.operands(id) {
                dependents[operand.index()].push(id);
            }
        }
        dependents
    }
}
