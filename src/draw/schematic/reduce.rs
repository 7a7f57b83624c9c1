//! Series-parallel reduction: what a network between two nodes is made of.

use std::collections::BTreeSet;

/// How elements between two nodes are put together.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) enum Tree {
    /// One element.
    Leaf {
        element: usize,
        /// Whether its second terminal comes first.
        reversed: bool,
    },
    /// One after the other; never a series itself. Joints are the nodes
    /// between, one fewer than items.
    Series {
        items: Vec<Tree>,
        joints: Vec<usize>,
    },
    /// Side by side; never a parallel circuit itself.
    Parallel(Vec<Tree>),
}

/// A tree between two nodes, read from one to the other.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) struct Edge {
    pub from: usize,
    pub to: usize,
    pub tree: Tree,
}

impl Tree {
    /// The same read from the other end.
    pub fn reversed(self) -> Tree {
        match self {
            Tree::Leaf { element, reversed } => Tree::Leaf {
                element,
                reversed: !reversed,
            },
            Tree::Series { items, joints } => Tree::Series {
                items: items.into_iter().rev().map(Tree::reversed).collect(),
                joints: joints.into_iter().rev().collect(),
            },
            Tree::Parallel(items) => {
                Tree::Parallel(items.into_iter().map(Tree::reversed).collect())
            }
        }
    }

    /// Its elements, from the first end to the other.
    pub fn elements(&self) -> Vec<usize> {
        match self {
            Tree::Leaf { element, .. } => vec![*element],
            Tree::Series { items, .. } | Tree::Parallel(items) => {
                items.iter().flat_map(Tree::elements).collect()
            }
        }
    }

    /// The element that stands first in the record.
    pub fn first(&self) -> usize {
        self.elements().into_iter().min().unwrap_or(usize::MAX)
    }

    /// What lies side by side, in the order of the record.
    pub fn branches(self) -> Vec<Tree> {
        match self {
            Tree::Parallel(items) => items,
            other => vec![other],
        }
    }

    /// Puts trees side by side, in the order of the record.
    pub fn beside(trees: Vec<Tree>) -> Option<Tree> {
        let mut items: Vec<Tree> = trees.into_iter().flat_map(Tree::branches).collect();
        items.sort_by_key(Tree::first);
        match items.len() {
            0 | 1 => items.pop(),
            _ => Some(Tree::Parallel(items)),
        }
    }

    /// Puts a tree after another one, with a node between.
    pub fn then(self, joint: usize, next: Tree) -> Tree {
        let (mut items, mut joints) = self.chain();
        let (more, after) = next.chain();
        items.extend(more);
        joints.push(joint);
        joints.extend(after);
        Tree::Series { items, joints }
    }

    /// Items in a row, with the nodes between.
    pub fn chain(self) -> (Vec<Tree>, Vec<usize>) {
        match self {
            Tree::Series { items, joints } => (items, joints),
            other => (vec![other], Vec::new()),
        }
    }
}

impl Edge {
    pub fn touches(&self, node: usize) -> bool {
        self.from == node || self.to == node
    }

    /// The same read from one of its nodes.
    pub fn read_from(self, node: usize) -> Edge {
        if self.from == node {
            return self;
        }
        Edge {
            from: self.to,
            to: self.from,
            tree: self.tree.reversed(),
        }
    }
}

/// Reduces edges as far as series and parallel circuits go, keeping nodes.
///
/// Each step takes one edge away, so the work ends; what is left does not
/// depend on the order of the steps (R. J. Duffin, Topology of series-parallel
/// networks, J. Math. Anal. Appl. 10 (1965) 303-318; from memory).
pub(super) fn reduced(mut edges: Vec<Edge>, keep: &BTreeSet<usize>) -> Vec<Edge> {
    loop {
        if let Some((first, second)) = side_by_side(&edges) {
            let second = edges.remove(second);
            let first = &mut edges[first];
            let other = second.read_from(first.from).tree;
            if let Some(tree) = Tree::beside(vec![first.tree.clone(), other]) {
                first.tree = tree;
            }
        } else if let Some((first, second, joint)) = in_a_row(&edges, keep) {
            let second = edges.remove(second).read_from(joint);
            let one = edges[first].clone();
            // Read so that the joint is at its end.
            let one = if one.to == joint {
                one
            } else {
                let from = one.to;
                one.read_from(from)
            };
            edges[first] = Edge {
                from: one.from,
                to: second.to,
                tree: one.tree.then(joint, second.tree),
            };
        } else {
            return edges;
        }
    }
}

/// Two edges between the same nodes.
fn side_by_side(edges: &[Edge]) -> Option<(usize, usize)> {
    for (first, one) in edges.iter().enumerate() {
        let same = edges[first + 1..]
            .iter()
            .position(|other| other.touches(one.from) && other.touches(one.to));
        if let Some(second) = same {
            return Some((first, first + 1 + second));
        }
    }
    None
}

/// Two edges that meet at a node that nothing else touches.
fn in_a_row(edges: &[Edge], keep: &BTreeSet<usize>) -> Option<(usize, usize, usize)> {
    for (first, one) in edges.iter().enumerate() {
        for joint in [one.to, one.from] {
            if keep.contains(&joint) {
                continue;
            }
            let at = |edge: &&Edge| edge.touches(joint);
            if edges.iter().filter(at).count() != 2 {
                continue;
            }
            let second = edges[first + 1..]
                .iter()
                .position(|other| other.touches(joint));
            if let Some(second) = second {
                return Some((first, first + 1 + second, joint));
            }
        }
    }
    None
}
