//! What a schematic is drawn from.

use super::symbol::Symbol;

/// A network to be drawn, with every text as it is to stand on the sheet.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Drawing {
    /// The elements, in the order of the record.
    pub elements: Vec<Element>,
    /// The name of the reference node.
    pub ground: String,
    /// What is written at nodes. A node without a label stays bare where the
    /// shape tells it apart, and gets its own name where it does not.
    pub labels: Vec<NodeLabel>,
}

/// An element between named nodes.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Element {
    /// Its designator.
    pub name: String,
    /// What it is drawn as.
    pub symbol: Symbol,
    /// The nodes at its terminals, in the order that [`Symbol`] gives.
    pub nodes: Vec<String>,
    /// Its value as written; empty where there is none.
    pub value: String,
    /// Where a reader finds out more about it.
    pub href: Option<String>,
    /// Whether something about it does not hold; drawn in red.
    pub amiss: bool,
}

impl Element {
    /// An element without a link, of which everything holds.
    pub fn new<N: Into<String>>(
        name: impl Into<String>,
        symbol: Symbol,
        nodes: impl IntoIterator<Item = N>,
        value: impl Into<String>,
    ) -> Element {
        Element {
            name: name.into(),
            symbol,
            nodes: nodes.into_iter().map(Into::into).collect(),
            value: value.into(),
            href: None,
            amiss: false,
        }
    }
}

/// What is written at a node.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct NodeLabel {
    /// The node, as the elements name it.
    pub node: String,
    /// Its name as written; as a rule the same.
    pub name: String,
    /// Its voltage as written; empty where there is none.
    pub value: String,
    /// Whether the voltage does not hold; drawn in red.
    pub amiss: bool,
}

impl NodeLabel {
    /// A label of a node by its own name.
    pub fn new(node: impl Into<String>, value: impl Into<String>) -> NodeLabel {
        let node = node.into();
        NodeLabel {
            name: node.clone(),
            node,
            value: value.into(),
            amiss: false,
        }
    }
}
