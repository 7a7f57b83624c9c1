//! A network made ready: names resolved to numbers once, so that it can be
//! solved for any values without looking at a name again.

use std::ops::Range;

use num_complex::Complex64;

use super::derived::Rule;
use super::fault::{CircuitFault, Regime, Unknown};
use super::kind::{Kind, Limit};
use super::network::Element;
use super::plan::{Plan, Stamp};
use super::primitive::{Numbers, ONE, Placed, pieces, unknowns};
use super::workspace::Workspace;
use crate::nearest::nearest;

/// Frequency that the elimination of phasors is planned for, in Hz; others may
/// need another order, and find it.
const PLANNED_FREQUENCY: f64 = 1000.0;

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
    /// The pieces that drive or bend: sources and junctions.
    pub(super) active: Vec<usize>,
    pub(super) values: usize,
    /// Number of junctions; none where the network is linear.
    pub(super) junctions: usize,
    /// Voltage of each junction where Newton's method starts.
    pub(super) starts: Vec<f64>,
    /// Order of elimination at the operating point, and for phasors.
    pub(super) steady_plan: Plan,
    pub(super) phasor_plan: Plan,
    /// Parameter and value of each resistor, which most parts are.
    pub(super) reciprocals: Vec<(usize, usize)>,
    /// The derivations of all other parts.
    pub(super) others: Vec<usize>,
    parameters: Vec<Parameter>,
    /// Least value that each parameter may have.
    least: Vec<f64>,
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
            value: ONE + 1,
            junction: 0,
            ground: order,
        };
        let mut compiled = Compiled {
            ground: ground.to_owned(),
            unknowns: Vec::new(),
            parts: Vec::new(),
            derivations: Vec::new(),
            pieces: Vec::new(),
            active: Vec::new(),
            values: 0,
            junctions: 0,
            starts: Vec::new(),
            steady_plan: Plan::default(),
            phasor_plan: Plan::default(),
            reciprocals: Vec::new(),
            others: Vec::new(),
            parameters: Vec::new(),
            least: Vec::new(),
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
        compiled.active = (0..compiled.pieces.len())
            .filter(|&at| compiled.pieces[at].is_active())
            .collect();
        compiled.make_plans();
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
            self.least.push(limit.least());
            self.parameters.push(Parameter {
                element: element.name.clone(),
                name,
                nominal,
                limit,
            });
        }
        let rule = Rule::of(&element.kind);
        if rule == Rule::Reciprocal {
            self.reciprocals.push((first, values.start));
        } else {
            self.others.push(self.derivations.len());
        }
        self.derivations.push(Derivation {
            rule,
            parameters: first..self.parameters.len(),
            values,
        });
    }

    /// Plans both eliminations for the nominal values, junctions as they are
    /// where Newton's method starts from scratch, and phasors at
    /// [`PLANNED_FREQUENCY`].
    fn make_plans(&mut self) {
        let order = self.order();
        let stamps = |regime| {
            let mut stamps: Vec<Stamp> = Vec::new();
            for placed in &self.pieces {
                placed.stamps(regime, &mut stamps);
            }
            stamps
        };
        let mut values = vec![0.0; self.values];
        // Values that cannot be derived were found before the network was
        // compiled; a plan that is made for zeros is no plan, and no harm.
        let _ = self.derive(&self.nominal(), &mut values);
        for junction in self.pieces.iter().filter_map(Placed::junction) {
            let own = &values[junction.values()];
            let slope = junction.curve.line(junction.curve.start(own), own).slope;
            values[junction.slope] = slope;
        }
        let mut terms = vec![Complex64::new(0.0, 0.0); self.values];
        self.phasor_terms(PLANNED_FREQUENCY, &values, &mut terms);
        let steady = Plan::new(order, stamps(Regime::Steady), &values);
        let phasor = Plan::new(order, stamps(Regime::Alternating), &terms);
        (self.steady_plan, self.phasor_plan) = (steady, phasor);
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
        Workspace::new(self)
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

    /// The least value that a parameter may have.
    pub(super) fn least_value(&self, parameter: usize) -> f64 {
        self.least[parameter]
    }

    /// Writes the values that follow from the parameters.
    #[inline]
    pub(super) fn derive(&self, parameters: &[f64], out: &mut [f64]) -> Result<(), CircuitFault> {
        if parameters.len() != self.least.len() {
            return Err(CircuitFault::ParameterCount {
                found: parameters.len(),
                needed: self.least.len(),
            });
        }
        let mut allowed = true;
        for (value, least) in parameters.iter().zip(&self.least) {
            // A value that is no number is not above anything.
            allowed &= least <= value && *value <= f64::MAX;
        }
        if !allowed {
            return Err(self.value_fault(parameters));
        }
        out[ONE] = 1.0;
        for &(parameter, value) in &self.reciprocals {
            out[value] = 1.0 / parameters[parameter];
        }
        for &at in &self.others {
            let step = &self.derivations[at];
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
