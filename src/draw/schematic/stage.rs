//! Finding the stage around an operational amplifier: feedback, inputs, load.

use std::collections::BTreeSet;

use super::items::drives;
use super::net::Net;
use super::reduce::{Tree, reduced};
use super::symbol::Symbol;

/// An amplifier and the trees at its pins, each read from the pin.
pub(super) struct Stage {
    pub amplifier: usize,
    pub plus: usize,
    pub minus: usize,
    pub output: usize,
    pub ground: usize,
    pub at_plus: Vec<Tree>,
    pub at_minus: Vec<Tree>,
    pub load: Vec<Tree>,
    /// From the minus input to the output.
    pub feedback: Option<Tree>,
    /// From a node further out, before an input, to the output.
    pub outer: Option<(usize, Tree)>,
}

/// Finds the stage around the only amplifier of a piece.
pub(super) fn stage(net: &Net, piece: &[usize], ground: usize) -> Option<Stage> {
    let amplifiers: Vec<usize> = piece
        .iter()
        .copied()
        .filter(|element| net.symbol(*element) == Symbol::Amplifier)
        .collect();
    let [amplifier] = *amplifiers.as_slice() else {
        return None;
    };
    let [plus, minus, output] = *net.nodes[amplifier].as_slice() else {
        return None;
    };
    if output == ground || minus == ground || plus == minus || plus == output {
        return None;
    }
    let others: Vec<usize> = piece.iter().copied().filter(|e| *e != amplifier).collect();
    let keep = BTreeSet::from([plus, minus, output, ground]);
    let edges = reduced(net.edges(&others), &keep);
    let mut further: BTreeSet<usize> = edges.iter().flat_map(|e| [e.from, e.to]).collect();
    further.retain(|node| !keep.contains(node));
    let further = match further.len() {
        0 => None,
        1 => further.first().copied(),
        _ => return None,
    };
    let mut stage = Stage {
        amplifier,
        plus,
        minus,
        output,
        ground,
        at_plus: Vec::new(),
        at_minus: Vec::new(),
        load: Vec::new(),
        feedback: None,
        outer: None,
    };
    let (mut inner, mut source) = (None, None);
    for edge in edges {
        let other = further.filter(|node| edge.touches(*node));
        if let Some(node) = other {
            let edge = edge.read_from(node);
            if edge.to == output {
                stage.outer = Some((node, edge.tree));
            } else if edge.to == ground {
                source = Some(edge.tree);
            } else if inner.is_none() {
                inner = Some((edge.to, edge.tree.reversed()));
            } else {
                // A node that leads to both inputs is no stage known here.
                return None;
            }
            continue;
        }
        let pair = |a, b| edge.touches(a) && edge.touches(b);
        if pair(output, ground) {
            stage.load = edge.read_from(output).tree.branches();
        } else if minus != output && pair(minus, output) {
            stage.feedback = Some(edge.read_from(minus).tree);
        } else if pair(minus, ground) {
            stage.at_minus = edge.read_from(minus).tree.branches();
        } else if pair(plus, ground) {
            stage.at_plus = edge.read_from(plus).tree.branches();
        } else {
            return None;
        }
    }
    if let Some(node) = further {
        let ((pin, inner), source) = (inner?, source?);
        stage.outer.as_ref()?;
        let tree = inner.then(node, source);
        if pin == plus {
            stage.at_plus.push(tree);
        } else {
            stage.at_minus.push(tree);
        }
        // The outer feedback goes over the input that is drawn above.
        if (pin == minus) != stage.minus_above(net) {
            return None;
        }
    }
    stage.is_complete(net).then_some(stage)
}

impl Stage {
    /// Whether the minus input is drawn above the plus input: where it is
    /// driven, or nothing is.
    pub fn minus_above(&self, net: &Net) -> bool {
        let driven = |trees: &[Tree]| trees.iter().any(|tree| drives(net, tree));
        self.minus != self.output && (driven(&self.at_minus) || !driven(&self.at_plus))
    }

    /// Whether both inputs are held by something, and by what can be drawn.
    fn is_complete(&self, net: &Net) -> bool {
        let driven = |trees: &[Tree]| trees.iter().any(|tree| drives(net, tree));
        let plus_held = self.plus == self.ground || !self.at_plus.is_empty();
        let follows = self.minus == self.output;
        let minus_held = follows || !self.at_minus.is_empty() || self.feedback.is_some();
        let outer_led = self.outer.is_none() || driven(&self.at_plus) || driven(&self.at_minus);
        plus_held && minus_held && outer_led && (!follows || driven(&self.at_plus))
    }
}
