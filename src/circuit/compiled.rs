//! A network made ready: names resolved to numbers once, so that it can be
//! solved for any values without looking at a name again.

use std::ops::Range;

use super::derived::Rule;
use super::fault::{CircuitFault, Unknown};
use super::junction::Curve;
use super::kind::{Kind, Limit};
use super::network::Element;
use super::primitive::{Numbers, Piece, Placed, pieces, unknowns};
use super::workspace::Workspace;
use crate::nearest::nearest;

/// A parameter of an element: one entry of a parameter vector.
#[derive(Clone, PartialEq, Debug)]
pub struct Parameter {
    /// The element.
    pub element: String,
    /// The parameter's name, such as `resistance`.
    pub name: &'static str,
    /// The value that the network was built with, in the coherent SI unit.
    pub nominal: f64,
    /// The values that it may have.
    pub limit: Limit,
}

/// An element, resolved to numbers.
#[derive(Clone, PartialEq, Debug)]
pub(super) struct Part {
    pub(super) name: String,
    pub(super) kind: Kind,
    /// Unknowns of the two terminals between which it takes up power.
    pub(super) ends: [usize; 2],
    /// The piece whose current is the element's.
    pub(super) lead: usize,
    /// 1, or -1 where the element's current counts against the piece's.
    pub(super) current_sign: f64,
    /// 1 for power taken up, -1 for power delivered.
    pub(super) power_sign: f64,
}

/// How a part's values follow from its parameters.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) struct Derivation {
    pub(super) rule: Rule,
    pub(super) parameters: Range<usize>,
    pub(super) values: Range<usize>,
}

/// A network ready to be solved: see [`super::Network::compile`].
///
/// What it is asked is answered for a vector of parameters, in the order of
/// [`Compiled::parameters`].
#[derive(Clone, PartialEq, Debug)]
pub struct Compiled {
    ground: String,
    pub(super) unknowns: Vec<Unknown>,
    pub(super) parts: Vec<Part>,
    pub(super) derivations: Vec<Derivation>,
    pub(super) pieces: Vec<Placed>,
    pub(super) values: usize,
    /// Number of junctions; none where the network is linear.
    pub(super) junctions: usize,
    /// Voltage of each junction where Newton's method starts.
    pub(super) starts: Vec<f64>,
    parameters: Vec<Parameter>,
    limits: Vec<Limit>,
    steady_faults: Vec<CircuitFault>,
}

impl Compiled {
    pub(super) fn new(
        ground: &str,
        elements: &[Element],
        steady_faults: Vec<CircuitFault>,
    ) -> Compiled {
        let mut nodes: Vec<&str> = Vec::new();
        for node in elements.iter().flat_map(|element| &element.nodes) {
            if node != ground && !nodes.contains(&node.as_str()) {
                nodes.push(node);
            }
        }
        let added = |element: &Element| unknowns(&element.kind);
        let total: usize = elements.iter().map(|e| added(e).0 + added(e).1).sum();
        let order = nodes.len() + total;
        let mut names: Vec<Unknown> = nodes
            .iter()
            .map(|node| Unknown::Node((*node).to_owned()))
            .collect();
        let mut numbers = Numbers {
            unknown: nodes.len(),
            value: 0,
            junction: 0,
            ground: order,
        };
        let mut compiled = Compiled {
            ground: ground.to_owned(),
            unknowns: Vec::new(),
            parts: Vec::new(),
            derivations: Vec::new(),
            pieces: Vec::new(),
            values: 0,
            junctions: 0,
            starts: Vec::new(),
            parameters: Vec::new(),
            limits: Vec::new(),
            steady_faults,
        };
        for element in elements {
            let places: Vec<usize> = element
                .nodes
                .iter()
                .map(|node| nodes.iter().position(|name| name == node).unwrap_or(order))
                .collect();
            let (inside, currents) = added(element);
            let name = || element.name.clone();
            names.extend((0..inside).map(|_| Unknown::Inside(name())));
            names.extend((0..currents).map(|_| Unknown::Current(name())));
            let lead = compiled.pieces.len();
            let first_value = numbers.value;
            let added = pieces(&element.kind, &places, &mut numbers);
            compiled.add_part(element, &places, &added, lead);
            compiled.pieces.extend(added);
            compiled.add_parameters(element, first_value..numbers.value);
        }
        compiled.unknowns = names;
        compiled.values = numbers.value;
        compiled.junctions = numbers.junction;
        compiled.find_start();
        compiled
    }

    fn add_part(&mut self, element: &Element, places: &[usize], added: &[Placed], lead: usize) {
        let (current_sign, power_sign) = match element.kind {
            // The branch current counts into plus, or into the output.
            Kind::VoltageSource(_) | Kind::Amplifier(_) => (-1.0, -1.0),
            Kind::CurrentSource(_) => (1.0, -1.0),
            Kind::Zener(_) => (-1.0, 1.0),
            _ => (1.0, 1.0),
        };
        let ends = match (&element.kind, added) {
            (Kind::Amplifier(_), [placed, ..]) => placed.ends,
            _ => [places[0], places[1]],
        };
        self.parts.push(Part {
            name: element.name.clone(),
            kind: element.kind,
            ends,
            lead,
            current_sign,
            power_sign,
        });
    }

    fn add_parameters(&mut self, element: &Element, values: Range<usize>) {
        let first = self.parameters.len();
        for (name, nominal, limit) in element.kind.parameters() {
            self.limits.push(limit);
            self.parameters.push(Parameter {
                element: element.name.clone(),
                name,
                nominal,
                limit,
            });
        }
        self.derivations.push(Derivation {
            rule: Rule::of(&element.kind),
            parameters: first..self.parameters.len(),
            values,
        });
    }

    /// Lets Newton's method start at the operating point of the nominal
    /// values, which other values seldom are far from. A fixed start, and not
    /// the last solution, makes a result independent of those before it.
    fn find_start(&mut self) {
        if self.junctions == 0 || !self.steady_faults.is_empty() {
            return;
        }
        let mut workspace = self.workspace();
        let nominal = self.nominal();
        if self.solve_steady(&mut workspace, &nominal).is_ok() {
            self.starts.clone_from(&workspace.junctions);
        }
    }

    /// Number of unknowns; also the place of the reference node.
    pub(super) fn order(&self) -> usize {
        self.unknowns.len()
    }

    /// Every parameter, in the order of a parameter vector: element by
    /// element as they were put in, and for each as its kind lists them.
    pub fn parameters(&self) -> &[Parameter] {
        &self.parameters
    }

    /// The place of a parameter in a parameter vector.
    pub fn parameter(&self, element: &str, name: &str) -> Option<usize> {
        self.parameters
            .iter()
            .position(|parameter| parameter.element == element && parameter.name == name)
    }

    /// The parameter vector that the network was built with.
    pub fn nominal(&self) -> Vec<f64> {
        self.parameters.iter().map(|p| p.nominal).collect()
    }

    /// The nodes, but for the reference node, in the order in which they were
    /// named first.
    pub fn nodes(&self) -> impl Iterator<Item = &str> {
        self.unknowns.iter().filter_map(|unknown| match unknown {
            Unknown::Node(node) => Some(node.as_str()),
            _ => None,
        })
    }

    /// The names of the elements, in the order in which they were put in.
    pub fn elements(&self) -> impl Iterator<Item = &str> {
        self.parts.iter().map(|part| part.name.as_str())
    }

    /// Whether every current is proportional to the sources: there is no
    /// junction.
    pub fn is_linear(&self) -> bool {
        self.junctions == 0
    }

    /// What keeps the network from having an operating point, whatever its
    /// values: loops of sources and inductors, nodes that only capacitors
    /// touch.
    pub fn steady_faults(&self) -> &[CircuitFault] {
        &self.steady_faults
    }

    /// Room for solving this network again and again.
    pub fn workspace(&self) -> Workspace {
        Workspace::new(self.order(), self.values, self.junctions)
    }

    /// The unknown that is the voltage of a node.
    pub(super) fn node(&self, name: &str) -> Result<usize, CircuitFault> {
        if name == self.ground {
            return Ok(self.order());
        }
        self.nodes()
            .position(|node| node == name)
            .ok_or_else(|| CircuitFault::UnknownNode {
                written: name.to_owned(),
                nearest: nearest(name, self.nodes().chain([self.ground.as_str()]))
                    .map(str::to_owned),
            })
    }

    /// The number of an element.
    pub(super) fn part(&self, name: &str) -> Result<usize, CircuitFault> {
        self.elements()
            .position(|element| element == name)
            .ok_or_else(|| CircuitFault::UnknownElement {
                written: name.to_owned(),
                nearest: nearest(name, self.elements()).map(str::to_owned),
            })
    }

    /// Writes the values that follow from the parameters.
    #[inline]
    pub(super) fn derive(&self, parameters: &[f64], out: &mut [f64]) -> Result<(), CircuitFault> {
        if parameters.len() != self.limits.len() {
            return Err(CircuitFault::ParameterCount {
                found: parameters.len(),
                needed: self.limits.len(),
            });
        }
        let allowed = |(&value, limit): (&f64, &Limit)| limit.allows(value);
        if !parameters.iter().zip(&self.limits).all(allowed) {
            return Err(self.value_fault(parameters));
        }
        for (at, step) in self.derivations.iter().enumerate() {
            let values = &mut out[step.values.clone()];
            if !step
                .rule
                .derive(&parameters[step.parameters.clone()], values)
            {
                return Err(CircuitFault::NoSuchElement {
                    element: self.parts[at].name.clone(),
                    kind: self.parts[at].kind.name(),
                });
            }
        }
        Ok(())
    }

    #[cold]
    fn value_fault(&self, parameters: &[f64]) -> CircuitFault {
        let mut pairs = parameters.iter().zip(&self.parameters);
        match pairs.find(|(value, parameter)| !parameter.limit.allows(**value)) {
            Some((&value, parameter)) => CircuitFault::BadValue {
                element: parameter.element.clone(),
                parameter: parameter.name,
                value,
                limit: parameter.limit,
            },
            None => CircuitFault::NotFinite,
        }
    }
}

impl Placed {
    /// The junction's characteristic, number and place of its values, where
    /// the piece is a junction.
    #[inline]
    pub(super) fn curve(&self) -> Option<(Curve, usize, Range<usize>)> {
        match self.piece {
            Piece::Junction { value, junction } => {
                let curve = Curve::Shockley;
                Some((curve, junction, value..value + curve.values()))
            }
            Piece::Zener { value, junction } => {
                let curve = Curve::Zener;
                Some((curve, junction, value..value + curve.values()))
            }
            _ => None,
        }
    }
}
