//! Faults of a network's shape: what no values can mend.
//!
//! A network without amplifiers has one solution for every set of values above
//! zero when its voltage sources form no loop and its current sources no cut;
//! see W.-K. Chen, Applied Graph Theory, chapter 6 (from memory). What
//! feedback through amplifiers leaves open shows when the equations are solved.

use std::collections::VecDeque;

use super::fault::{CircuitFault, Regime};
use super::kind::{Amplifier, Kind};
use super::network::Element;

/// How an edge between two nodes behaves.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Behaviour {
    /// Carries a current that depends on its voltage.
    Conducts,
    /// Keeps a voltage of its own.
    Source,
    /// Keeps its voltage at zero.
    Short,
    /// Keeps a current of its own.
    CurrentSource,
    /// Carries none.
    Insulates,
}

struct Edge {
    element: usize,
    ends: [usize; 2],
    behaviour: Behaviour,
}

/// The shape of a network in one regime. Node 0 is the reference node.
struct Shape<'a> {
    elements: &'a [Element],
    nodes: Vec<&'a str>,
    edges: Vec<Edge>,
    regime: Regime,
}

/// Faults of the names: ground that nothing touches, nodes named once.
pub(super) fn named_once(elements: &[Element], ground: &str) -> Vec<CircuitFault> {
    let mut touched: Vec<(&str, &Element, usize)> = Vec::new();
    for element in elements {
        for node in &element.nodes {
            match touched.iter_mut().find(|(name, ..)| name == node) {
                Some((.., count)) => *count += 1,
                None => touched.push((node, element, 1)),
            }
        }
    }
    if !touched.iter().any(|&(name, ..)| name == ground) {
        let ground = ground.to_owned();
        return vec![CircuitFault::NoGround { ground }];
    }
    touched
        .iter()
        .filter(|(name, _, count)| *count == 1 && *name != ground)
        .map(|(name, element, _)| CircuitFault::NamedOnce {
            node: (*name).to_owned(),
            element: element.name.clone(),
        })
        .collect()
}

/// Loops of sources, floating nodes and cuts of current sources.
pub(super) fn faults(elements: &[Element], ground: &str, regime: Regime) -> Vec<CircuitFault> {
    let shape = Shape::new(elements, ground, regime);
    let mut faults = shape.loops();
    faults.extend(shape.islands());
    faults
}

impl<'a> Shape<'a> {
    fn new(elements: &'a [Element], ground: &'a str, regime: Regime) -> Shape<'a> {
        let mut nodes = vec![ground];
        for node in elements.iter().flat_map(|element| &element.nodes) {
            if !nodes.contains(&node.as_str()) {
                nodes.push(node);
            }
        }
        let number = |node: &String| nodes.iter().position(|name| name == node).unwrap_or(0);
        let edges = elements
            .iter()
            .enumerate()
            .filter_map(|(at, element)| {
                let ends = match element.nodes.as_slice() {
                    [first, second] => [number(first), number(second)],
                    [_, _, output] => [number(output), 0],
                    _ => return None,
                };
                Some(Edge {
                    element: at,
                    ends,
                    behaviour: behaviour(&element.kind, regime),
                })
            })
            .collect();
        Shape {
            elements,
            nodes,
            edges,
            regime,
        }
    }

    fn fixes_voltage(edge: &&Edge) -> bool {
        matches!(edge.behaviour, Behaviour::Source | Behaviour::Short)
    }

    /// Every edge that closes a loop of edges before it, all of which fix a
    /// voltage, with that loop.
    fn loops(&self) -> Vec<CircuitFault> {
        let mut forest: Vec<&Edge> = Vec::new();
        let mut faults = Vec::new();
        for edge in self.edges.iter().filter(Self::fixes_voltage) {
            match self.path(&forest, edge.ends) {
                Some(path) => faults.push(self.loop_fault(edge, &path)),
                None => forest.push(edge),
            }
        }
        faults
    }

    /// The edges that lead from one node to another, the shortest way.
    fn path<'e>(&self, forest: &[&'e Edge], [from, to]: [usize; 2]) -> Option<Vec<&'e Edge>> {
        let mut reached: Vec<Option<&Edge>> = vec![None; self.nodes.len()];
        let mut queue = VecDeque::from([from]);
        while let Some(node) = queue.pop_front() {
            if node == to {
                let mut path = Vec::new();
                let mut node = to;
                while node != from {
                    let edge = reached[node]?;
                    path.push(edge);
                    node = other_end(edge, node);
                }
                path.reverse();
                return Some(path);
            }
            for edge in forest.iter().filter(|edge| edge.ends.contains(&node)) {
                let next = other_end(edge, node);
                if next != from && reached[next].is_none() {
                    reached[next] = Some(edge);
                    queue.push_back(next);
                }
            }
        }
        None
    }

    fn loop_fault(&self, closing: &Edge, path: &[&Edge]) -> CircuitFault {
        let regime = self.regime;
        let mut node = closing.ends[0];
        let mut nodes = vec![self.nodes[node].to_owned()];
        for edge in path {
            node = other_end(edge, node);
            nodes.push(self.nodes[node].to_owned());
        }
        nodes.dedup();
        let round = || path.iter().copied().chain([closing]);
        let names = |wanted: &dyn Fn(Behaviour) -> bool| -> Vec<String> {
            round()
                .filter(|edge| wanted(edge.behaviour))
                .map(|edge| self.elements[edge.element].name.clone())
                .collect()
        };
        let sources = names(&|b| b == Behaviour::Source);
        match sources.as_slice() {
            [] => CircuitFault::IdleLoop {
                elements: names(&|_| true),
                nodes,
                regime,
            },
            [source] => CircuitFault::ShortedSource {
                source: source.clone(),
                by: names(&|b| b == Behaviour::Short),
                nodes,
                regime,
            },
            _ => CircuitFault::SourceLoop {
                elements: names(&|_| true),
                nodes,
                regime,
            },
        }
    }

    /// Every group of nodes that conducts among itself and not to ground.
    fn islands(&self) -> Vec<CircuitFault> {
        let conducting: Vec<&Edge> = self
            .edges
            .iter()
            .filter(|edge| edge.behaviour == Behaviour::Conducts || Self::fixes_voltage(edge))
            .collect();
        let mut seen = vec![false; self.nodes.len()];
        let mut faults = Vec::new();
        for start in 0..self.nodes.len() {
            if seen[start] {
                continue;
            }
            let mut island = vec![start];
            seen[start] = true;
            let mut at = 0;
            while let Some(&node) = island.get(at) {
                at += 1;
                for edge in conducting.iter().filter(|edge| edge.ends.contains(&node)) {
                    let next = other_end(edge, node);
                    if !seen[next] {
                        seen[next] = true;
                        island.push(next);
                    }
                }
            }
            if start != 0 {
                faults.push(self.island_fault(&island));
            }
        }
        faults
    }

    fn island_fault(&self, island: &[usize]) -> CircuitFault {
        let regime = self.regime;
        let nodes: Vec<String> = island
            .iter()
            .map(|&node| self.nodes[node].to_owned())
            .collect();
        let crossing = |edge: &&Edge| {
            let inside = edge.ends.map(|end| island.contains(&end));
            inside[0] != inside[1] && edge.behaviour == Behaviour::CurrentSource
        };
        let sources: Vec<String> = self
            .edges
            .iter()
            .filter(crossing)
            .map(|edge| self.elements[edge.element].name.clone())
            .collect();
        if !sources.is_empty() {
            return CircuitFault::CurrentCut {
                nodes,
                sources,
                regime,
            };
        }
        let touching = |element: &&Element| {
            let inside = |node: &String| nodes.contains(node);
            element.nodes.iter().any(inside) && !element.nodes.iter().all(inside)
        };
        let elements: Vec<String> = self
            .elements
            .iter()
            .filter(touching)
            .map(|element| element.name.clone())
            .collect();
        match nodes.as_slice() {
            [node] => CircuitFault::FloatingNode {
                node: node.clone(),
                elements,
                regime,
            },
            _ => CircuitFault::NoPathToGround {
                nodes,
                elements,
                regime,
            },
        }
    }
}

fn other_end(edge: &Edge, node: usize) -> usize {
    if edge.ends[0] == node {
        edge.ends[1]
    } else {
        edge.ends[0]
    }
}

fn behaviour(kind: &Kind, regime: Regime) -> Behaviour {
    let at_rest = regime == Regime::Steady;
    match kind {
        Kind::Capacitor { .. } if at_rest => Behaviour::Insulates,
        Kind::Inductor { .. } if at_rest => Behaviour::Short,
        Kind::VoltageSource(_) | Kind::Amplifier(Amplifier::Ideal) => Behaviour::Source,
        Kind::Amplifier(Amplifier::SinglePole {
            output_resistance: None,
            ..
        }) => Behaviour::Source,
        Kind::CurrentSource(_) => Behaviour::CurrentSource,
        Kind::Switch { closed: true } => Behaviour::Short,
        Kind::Switch { closed: false } => Behaviour::Insulates,
        Kind::Resistor { .. }
        | Kind::Capacitor { .. }
        | Kind::Inductor { .. }
        | Kind::Diode(_)
        | Kind::Zener(_)
        | Kind::Led(_)
        | Kind::Amplifier(_)
        | Kind::Loudspeaker(_) => Behaviour::Conducts,
    }
}
