//! A network as it is drawn: named elements between named nodes.

use std::collections::BTreeSet;

use super::compiled::Compiled;
use super::derived::Rule;
use super::fault::{CircuitFault, Regime};
use super::kind::Kind;
use super::topology;

/// An element between named nodes.
#[derive(Clone, PartialEq, Debug)]
pub struct Element {
    /// Its name: a designator, as a rule.
    pub name: String,
    /// The nodes at its terminals, in the order that [`Kind`] gives.
    pub nodes: Vec<String>,
    /// What it is.
    pub kind: Kind,
}

/// Elements between nodes, one of which is ground: the voltages of the others
/// are counted from it.
///
/// ```
/// use ohmbook::circuit::{Kind, Network, Source};
///
/// let mut network = Network::new("gnd");
/// network
///     .add("V1", ["in", "gnd"], Kind::VoltageSource(Source::steady(5.0)))
///     .add("R1", ["in", "out"], Kind::Resistor { resistance: 10e3 })
///     .add("R2", ["out", "gnd"], Kind::Resistor { resistance: 15e3 });
/// let divider = network.compile().map_err(|faults| faults[0].clone())?;
/// let point = divider.operating_point(&divider.nominal())?;
/// assert!((point.voltage("out")? - 3.0).abs() < 1e-12);
/// # Ok::<(), ohmbook::circuit::CircuitFault>(())
/// ```
#[derive(Clone, PartialEq, Debug)]
pub struct Network {
    ground: String,
    elements: Vec<Element>,
}

impl Network {
    /// A network without elements.
    pub fn new(ground: impl Into<String>) -> Network {
        Network {
            ground: ground.into(),
            elements: Vec::new(),
        }
    }

    /// Puts an element between nodes. Whatever is wrong with it shows in
    /// [`Network::compile`].
    pub fn add<N: Into<String>>(
        &mut self,
        name: impl Into<String>,
        nodes: impl IntoIterator<Item = N>,
        kind: Kind,
    ) -> &mut Network {
        self.elements.push(Element {
            name: name.into(),
            nodes: nodes.into_iter().map(Into::into).collect(),
            kind,
        });
        self
    }

    /// The elements, in the order in which they were put in.
    pub fn elements(&self) -> &[Element] {
        &self.elements
    }

    /// The name of the reference node.
    pub fn ground(&self) -> &str {
        &self.ground
    }

    /// Puts every switch of a name into a position.
    pub fn set_switch(&mut self, name: &str, closed: bool) -> &mut Network {
        for element in &mut self.elements {
            if element.name == name && matches!(element.kind, Kind::Switch { .. }) {
                element.kind = Kind::Switch { closed };
            }
        }
        self
    }

    /// Makes the network ready to be solved, many times and for any values.
    ///
    /// # Errors
    /// Every fault that makes a solution impossible at DC and above. What is
    /// wrong at DC alone, such as a node that only capacitors touch, does not
    /// keep the network from having an AC response: see
    /// [`Compiled::steady_faults`].
    pub fn compile(&self) -> Result<Compiled, Vec<CircuitFault>> {
        let mut faults = self.element_faults();
        // The shape of a network says little while its elements are not
        // placed, so that would only repeat the fault in other words.
        if !faults.iter().any(misplaced) {
            let once = topology::named_once(&self.elements, &self.ground);
            let known: BTreeSet<String> = once
                .iter()
                .filter_map(|fault| match fault {
                    CircuitFault::NamedOnce { node, .. } => Some(node.clone()),
                    _ => None,
                })
                .collect();
            let grounded = !matches!(once.as_slice(), [CircuitFault::NoGround { .. }]);
            faults.extend(once);
            if grounded {
                faults.extend(self.shape_faults(Regime::Alternating, &known));
            }
        }
        if !faults.is_empty() {
            return Err(faults);
        }
        let at_rest = self.shape_faults(Regime::Steady, &BTreeSet::new());
        Ok(Compiled::new(&self.ground, &self.elements, at_rest))
    }

    /// Faults of the shape, but for islands of nodes that are known to be
    /// named once.
    fn shape_faults(&self, regime: Regime, known: &BTreeSet<String>) -> Vec<CircuitFault> {
        let mut faults = topology::faults(&self.elements, &self.ground, regime);
        faults.retain(|fault| match fault {
            CircuitFault::FloatingNode { node, .. } => !known.contains(node),
            CircuitFault::NoPathToGround { nodes, .. } | CircuitFault::CurrentCut { nodes, .. } => {
                !nodes.iter().any(|node| known.contains(node))
            }
            _ => true,
        });
        faults
    }

    /// Faults of single elements and their names.
    fn element_faults(&self) -> Vec<CircuitFault> {
        let mut names = BTreeSet::new();
        let mut faults = Vec::new();
        for element in &self.elements {
            if !names.insert(element.name.as_str()) {
                let element = element.name.clone();
                faults.push(CircuitFault::DuplicateName { element });
            }
            faults.extend(placing_fault(element));
            faults.extend(value_faults(element));
        }
        faults
    }
}

fn misplaced(fault: &CircuitFault) -> bool {
    matches!(
        fault,
        CircuitFault::WrongTerminals { .. }
            | CircuitFault::BothEnds { .. }
            | CircuitFault::ShortedSource { .. }
    )
}

fn placing_fault(element: &Element) -> Option<CircuitFault> {
    let name = || element.name.clone();
    let (found, needed) = (element.nodes.len(), element.kind.terminals());
    if found != needed {
        return Some(CircuitFault::WrongTerminals {
            element: name(),
            kind: element.kind.name(),
            found,
            needed,
        });
    }
    // An amplifier's output may be tied to an input, never its inputs to each
    // other.
    if element.nodes[0] != element.nodes[1] {
        return None;
    }
    let node = element.nodes[0].clone();
    Some(if matches!(element.kind, Kind::VoltageSource(_)) {
        CircuitFault::ShortedSource {
            source: name(),
            by: Vec::new(),
            nodes: vec![node],
            regime: Regime::Alternating,
        }
    } else {
        CircuitFault::BothEnds {
            element: name(),
            node,
        }
    })
}

fn value_faults(element: &Element) -> Vec<CircuitFault> {
    let parameters = element.kind.parameters();
    let faults: Vec<CircuitFault> = parameters
        .iter()
        .filter(|(_, value, limit)| !limit.allows(*value))
        .map(|&(parameter, value, limit)| CircuitFault::BadValue {
            element: element.name.clone(),
            parameter,
            value,
            limit,
        })
        .collect();
    if !faults.is_empty() {
        return faults;
    }
    let rule = Rule::of(&element.kind);
    let stated: Vec<f64> = parameters.iter().map(|&(_, value, _)| value).collect();
    if rule.derive(&stated, &mut vec![0.0; rule.values()]) {
        return Vec::new();
    }
    vec![CircuitFault::NoSuchElement {
        element: element.name.clone(),
        kind: element.kind.name(),
    }]
}
