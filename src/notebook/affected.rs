//! What hangs on nodes that have changed.

use super::graph::NodeId;

/// A set of nodes, asked often.
#[derive(Clone, Debug, Default)]
pub(super) struct Affected {
    is: Vec<bool>,
}

impl Affected {
    /// Nodes and everything that hangs on them.
    pub fn by(seeds: impl IntoIterator<Item = NodeId>, dependents: &[Vec<NodeId>]) -> Affected {
        let mut affected = Affected {
            is: vec![false; dependents.len()],
        };
        let mut open: Vec<NodeId> = seeds.into_iter().collect();
        while let Some(node) = open.pop() {
            if !affected.put(node) {
                continue;
            }
            open.extend(dependents.get(node.index()).into_iter().flatten());
        }
        affected
    }

    /// Takes a node in; whether it was not there before.
    fn put(&mut self, node: NodeId) -> bool {
        if self.is.len() <= node.index() {
            self.is.resize(node.index() + 1, false);
        }
        !std::mem::replace(&mut self.is[node.index()], true)
    }

    /// Whether a node is among them.
    pub fn has(&self, node: NodeId) -> bool {
        self.is.get(node.index()).copied().unwrap_or(false)
    }
}
