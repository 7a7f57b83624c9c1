//! What is wrong with a network, and the way out of it.

use std::fmt;

use super::kind::Limit;

/// When a network is at rest, or driven by sines.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Regime {
    /// At the operating point: capacitors carry no current, inductors no
    /// voltage.
    Steady,
    /// Above zero frequency.
    Alternating,
}

/// Something that the equations solve for.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Unknown {
    /// The voltage of a node.
    Node(String),
    /// The voltage inside an element that is made of several.
    Inside(String),
    /// The current of an element.
    Current(String),
}

impl fmt::Display for Unknown {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Unknown::Node(node) => write!(f, "the voltage of node `{node}`"),
            Unknown::Inside(element) => write!(f, "the voltage inside {element}"),
            Unknown::Current(element) => write!(f, "the current of {element}"),
        }
    }
}

/// Why a network, or a result of it, cannot be had.
#[derive(Clone, PartialEq, Debug)]
pub enum CircuitFault {
    /// No element touches the reference node.
    NoGround {
        /// Its name.
        ground: String,
    },
    /// Two elements have one name.
    DuplicateName {
        /// The name.
        element: String,
    },
    /// An element is put between too many or too few nodes.
    WrongTerminals {
        /// The element.
        element: String,
        /// What it is.
        kind: &'static str,
        /// Number of nodes that were named.
        found: usize,
        /// Number of its terminals.
        needed: usize,
    },
    /// A parameter has a value that it cannot have.
    BadValue {
        /// The element.
        element: String,
        /// Its parameter.
        parameter: &'static str,
        /// The value, in the coherent SI unit.
        value: f64,
        /// What is allowed.
        limit: Limit,
    },
    /// The parameters are fine one by one, but do not go together.
    NoSuchElement {
        /// The element.
        element: String,
        /// What it is.
        kind: &'static str,
    },
    /// Two terminals of an element are at the same node.
    BothEnds {
        /// The element.
        element: String,
        /// The node.
        node: String,
    },
    /// A node that only one terminal touches.
    NamedOnce {
        /// The node.
        node: String,
        /// The element that touches it.
        element: String,
    },
    /// A voltage source whose terminals are joined by nothing but closed
    /// switches, or, at DC, inductors.
    ShortedSource {
        /// The source.
        source: String,
        /// What joins its terminals; nothing where both are at one node.
        by: Vec<String>,
        /// The nodes round the loop.
        nodes: Vec<String>,
        /// When.
        regime: Regime,
    },
    /// A loop with several voltage sources and nothing that takes up the
    /// difference of their voltages.
    SourceLoop {
        /// The elements round the loop.
        elements: Vec<String>,
        /// The nodes round the loop.
        nodes: Vec<String>,
        /// When.
        regime: Regime,
    },
    /// A loop of closed switches or, at DC, inductors: nothing says how the
    /// current divides.
    IdleLoop {
        /// The elements round the loop.
        elements: Vec<String>,
        /// The nodes round the loop.
        nodes: Vec<String>,
        /// When.
        regime: Regime,
    },
    /// A node that no conducting element touches.
    FloatingNode {
        /// The node.
        node: String,
        /// The elements that touch it.
        elements: Vec<String>,
        /// When.
        regime: Regime,
    },
    /// Nodes that conduct to each other, but not to the reference node.
    NoPathToGround {
        /// The nodes.
        nodes: Vec<String>,
        /// What else touches them.
        elements: Vec<String>,
        /// When.
        regime: Regime,
    },
    /// Nodes that only current sources join to the rest: nothing takes up the
    /// difference of their currents.
    CurrentCut {
        /// The nodes.
        nodes: Vec<String>,
        /// The sources.
        sources: Vec<String>,
        /// When.
        regime: Regime,
    },
    /// The equations leave something open, or hold it by less than a hundred
    /// thousand millionth part of what else meets there.
    Undetermined {
        /// What they leave open.
        unknown: Unknown,
        /// When.
        regime: Regime,
    },
    /// No operating point was found.
    NotSettled {
        /// The node that still moved most.
        node: Unknown,
        /// How far it moved in the last round, in V.
        moved: f64,
    },
    /// A number left the range of what a float can hold.
    NotFinite,
    /// A vector of parameters has the wrong length.
    ParameterCount {
        /// Its length.
        found: usize,
        /// Number of parameters.
        needed: usize,
    },
    /// A node that is not in the network.
    UnknownNode {
        /// The name as written.
        written: String,
        /// A node with nearly that name.
        nearest: Option<String>,
    },
    /// An element that is not in the network.
    UnknownElement {
        /// The name as written.
        written: String,
        /// An element with nearly that name.
        nearest: Option<String>,
    },
    /// A source was needed.
    NotASource {
        /// The element.
        element: String,
        /// What it is.
        kind: &'static str,
    },
    /// A ratio to something that is zero.
    NothingToCompare {
        /// The frequency in Hz.
        frequency: f64,
    },
    /// A frequency that is not a number above zero.
    BadFrequency {
        /// The frequency in Hz.
        frequency: f64,
    },
    /// A result that was asked of another network.
    ForeignResult,
}

impl std::error::Error for CircuitFault {}

impl fmt::Display for CircuitFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        use CircuitFault as C;
        match self {
            C::NoGround { ground } => write!(f, "no part touches the ground node `{ground}`"),
            C::DuplicateName { element } => write!(f, "{element} is in the network twice"),
            C::WrongTerminals {
                element,
                kind,
                found,
                needed,
            } => write!(
                f,
                "{element} is between {found} nodes, but its kind ({kind}) has {needed} terminals"
            ),
            C::BadValue {
                element,
                parameter,
                value,
                limit,
            } => {
                let parameter = parameter.replace('_', " ");
                write!(
                    f,
                    "the {parameter} of {element} is {value}, but must be {}",
                    spoken(*limit)
                )
            }
            C::NoSuchElement { element, kind } => {
                write!(f, "no {kind} has the values of {element}")
            }
            C::BothEnds { element, node } => {
                write!(f, "two terminals of {element} are at node `{node}`")
            }
            C::NamedOnce { node, element } => {
                write!(f, "node `{node}` is named once, by {element}")
            }
            C::ShortedSource {
                source,
                by,
                nodes,
                regime,
            } if by.is_empty() => {
                let at = quoted(nodes);
                write!(
                    f,
                    "the source {source} is shorted at node {at}{}",
                    when(*regime)
                )
            }
            C::ShortedSource {
                source,
                by,
                nodes,
                regime,
            } => write!(
                f,
                "the source {source} is shorted by {} (nodes {}){}",
                listed(by),
                quoted(nodes),
                when(*regime)
            ),
            C::SourceLoop {
                elements,
                nodes,
                regime,
            } => write!(
                f,
                "a loop of voltage sources and no resistance: {} (nodes {}){}",
                listed(elements),
                quoted(nodes),
                when(*regime)
            ),
            C::IdleLoop {
                elements,
                nodes,
                regime,
            } => write!(
                f,
                "a loop without resistance: {} (nodes {}){}",
                listed(elements),
                quoted(nodes),
                when(*regime)
            ),
            C::FloatingNode {
                node,
                elements,
                regime,
            } => write!(
                f,
                "node `{node}` floats{}: there is no path to ground through {}",
                when(*regime),
                listed(elements)
            ),
            C::NoPathToGround {
                nodes,
                elements,
                regime,
            } => {
                write!(
                    f,
                    "no path to ground{} from nodes {}",
                    when(*regime),
                    quoted(nodes)
                )?;
                if elements.is_empty() {
                    Ok(())
                } else {
                    write!(f, ", not through {}", listed(elements))
                }
            }
            C::CurrentCut {
                nodes,
                sources,
                regime,
            } => write!(
                f,
                "fed by current sources alone{}: {} through {}",
                when(*regime),
                quoted(nodes),
                listed(sources)
            ),
            C::Undetermined { unknown, regime } => {
                write!(f, "the network leaves {unknown} open{}", when(*regime))
            }
            C::NotSettled { node, moved } => {
                write!(
                    f,
                    "no operating point was found: {node} still moves by {moved:.3} V"
                )
            }
            C::NotFinite => f.write_str("a result is too large to be held"),
            C::ParameterCount { found, needed } => {
                write!(
                    f,
                    "{found} parameters were given, but the network has {needed}"
                )
            }
            C::UnknownNode { written, .. } => write!(f, "there is no node `{written}`"),
            C::UnknownElement { written, .. } => write!(f, "there is no part {written}"),
            C::NotASource { element, kind } => {
                write!(f, "{element} is a {kind}, and not a source")
            }
            C::NothingToCompare { frequency } => write!(
                f,
                "at {frequency} Hz there is nothing to compare with: it is zero"
            ),
            C::BadFrequency { frequency } => {
                write!(f, "{frequency} Hz is no frequency for an AC response")
            }
            C::ForeignResult => f.write_str("this result belongs to another network"),
        }
    }
}

fn spoken(limit: Limit) -> &'static str {
    match limit {
        Limit::Any => "a number",
        Limit::NotNegative => "a number that is not below zero",
        Limit::Positive => "a number above zero",
    }
}

fn when(regime: Regime) -> &'static str {
    match regime {
        Regime::Steady => " at DC",
        Regime::Alternating => "",
    }
}

fn quoted(nodes: &[String]) -> String {
    let nodes: Vec<String> = nodes.iter().map(|node| format!("`{node}`")).collect();
    listed(&nodes)
}

/// `R1`, `R1 and R2`, `R1, R2 and R3`.
fn listed(names: &[String]) -> String {
    match names {
        [] => "nothing".to_owned(),
        [one] => one.clone(),
        [others @ .., last] => format!("{} and {last}", others.join(", ")),
    }
}
