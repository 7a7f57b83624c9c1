//! What parts are strained with, against what they are made for.

use super::Notebook;
use super::graph::NodeId;

/// A stress of a fitted part in a circuit, and the rating that limits it.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Strain {
    /// Which board.
    pub board: usize,
    /// Which of its circuits.
    pub circuit: usize,
    /// Which line of `[fitted]`.
    pub fitted: usize,
    /// What the part is made for.
    pub rating: NodeId,
    /// What it has to stand.
    pub stress: NodeId,
}

impl Notebook {
    /// Every stress in the circuits of a board for which its part states a rating.
    pub fn strains(&self, board: usize) -> Vec<Strain> {
        let (Some(record), Some(comparisons)) =
            (self.records.boards.get(board), self.comparisons.get(board))
        else {
            return Vec::new();
        };
        let strain = |stress: &super::network::Stress| {
            let between = &record.circuits.get(stress.circuit)?.between;
            let designator = &between.get(stress.part)?.0.value;
            let mut lines = record.fitted.iter();
            Some(Strain {
                board,
                circuit: stress.circuit,
                fitted: lines.position(|line| line.designator.value == *designator)?,
                rating: stress.rating,
                stress: stress.stress,
            })
        };
        comparisons.stresses.iter().filter_map(strain).collect()
    }
}
