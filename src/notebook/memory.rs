//! What takes long to work out and hangs on little: draws by chance, what a fixture
//! sees, sounds. It is kept from one reading of a notebook to the next by the print
//! of everything that it is worked out from.
//!
//! A memory reaches back to the reading before, and no further: what nobody asked
//! for in between is forgotten.

use std::collections::HashMap;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use blake3::{Hash, Hasher};

use super::coverage::Coverage;
use super::graph::{Body, Worked};
use super::kept::{Prints, hash_apart};
use super::{NodeId, Notebook};
use crate::spread::Sampled;
use crate::trade::{Samples, Sound};

/// Results by the print of what they are worked out from; each may be nothing.
#[derive(Debug)]
pub(super) struct Recall<T> {
    before: HashMap<Hash, Option<Arc<T>>>,
    asked: Mutex<HashMap<Hash, Option<Arc<T>>>>,
}

impl<T> Default for Recall<T> {
    fn default() -> Recall<T> {
        Recall {
            before: HashMap::new(),
            asked: Mutex::default(),
        }
    }
}

impl<T> Recall<T> {
    /// The result of a print; worked out where it is not known.
    fn get(&self, print: Hash, work: impl FnOnce() -> Option<T>) -> Option<Arc<T>> {
        let known = self.asked().get(&print).cloned();
        let known = known.or_else(|| self.before.get(&print).cloned());
        // Nobody is kept waiting meanwhile: who asks for the same does it as well.
        let result = known.unwrap_or_else(|| work().map(Arc::new));
        self.asked().insert(print, result.clone());
        result
    }

    fn asked(&self) -> MutexGuard<'_, HashMap<Hash, Option<Arc<T>>>> {
        // Whoever broke off has put in a whole result or none.
        self.asked.lock().unwrap_or_else(PoisonError::into_inner)
    }

    fn handed_on(&self, with_before: bool) -> Recall<T> {
        let mut before = self.asked().clone();
        if with_before {
            let older = self.before.iter();
            before.extend(older.map(|(print, result)| (*print, result.clone())));
        }
        Recall {
            before,
            asked: Mutex::default(),
        }
    }
}

/// The memory of a notebook.
#[derive(Debug, Default)]
pub(super) struct Memory {
    draws: Recall<Sampled>,
    coverages: Recall<Coverage>,
    sounds: Recall<Samples>,
}

impl Memory {
    /// The memory for the notebook that is read after this one.
    pub fn after(earlier: Option<&Notebook>) -> Memory {
        let known = earlier.and_then(|notebook| Some((notebook, notebook.memory.as_ref()?)));
        let Some((notebook, memory)) = known else {
            return Memory::default();
        };
        // Of what does not hold nobody makes pages, and asks for little.
        let with_before = !notebook.holds();
        Memory {
            draws: memory.draws.handed_on(with_before),
            coverages: memory.coverages.handed_on(with_before),
            sounds: memory.sounds.handed_on(with_before),
        }
    }
}

impl Notebook {
    /// Shares the memory of the notebook that this one was supposed from.
    pub(super) fn remember_with(&mut self, whole: &Notebook) {
        if whole.memory.is_some() {
            self.prints = Prints::as_of(whole, self);
            self.memory.clone_from(&whole.memory);
        }
    }

    /// Draws a node by chance, or recalls what was drawn.
    pub(super) fn recall_drawn(&self, node: NodeId) -> Option<Arc<Sampled>> {
        let print = self.prints.of(node);
        match (&self.memory, print) {
            (Some(memory), Some(print)) => memory.draws.get(print, || self.draw(node)),
            _ => self.draw(node).map(Arc::new),
        }
    }

    /// What a fixture of a board sees; `None` where there is no board for it to
    /// test. Draws boards by chance, so it takes a while.
    pub fn coverage(&self, board: usize, fixture: usize) -> Option<Arc<Coverage>> {
        let work = || self.cover(board, fixture);
        match (&self.memory, self.print_of_fixture(board, fixture)) {
            (Some(memory), Some(print)) => memory.coverages.get(print, work),
            _ => work().map(Arc::new),
        }
    }

    /// The samples of a sound of a board's working at nominal values; `None` where
    /// the working comes to nothing, and has a finding that says why.
    pub fn samples(&self, board: usize, worked: &Worked, sound: &Sound) -> Option<Arc<Samples>> {
        let nodes = sound.operands.iter().map(|name| worked.nodes.get(name));
        let nodes: Option<Vec<NodeId>> = nodes.map(|node| node.copied()).collect();
        let nodes = nodes?;
        let work = || {
            let nominal = |node: &NodeId| Some(self.value(*node)?.outcome.nominal);
            let operands: Option<Vec<f64>> = nodes.iter().map(nominal).collect();
            sound.rendering.render(&operands?).ok()
        };
        match (&self.memory, self.print_of_sound(board, sound, &nodes)) {
            (Some(memory), Some(print)) => memory.sounds.get(print, work),
            _ => work().map(Arc::new),
        }
    }

    /// The print of a fixture, of the board that it tests, and of everything that
    /// has a value on either. `None` where one of them has none.
    fn print_of_fixture(&self, board: usize, fixture: usize) -> Option<Hash> {
        let record = &self.records.boards[board].fixtures[fixture];
        let tested = self.records.board_at(&record.tests.value)?;
        let mut hasher = self.hasher(&[board, tested])?;
        hash_apart(&mut hasher, &fixture.to_le_bytes());
        let scopes = [board, tested].map(|at| &self.records.boards[at].id.value);
        for (id, node) in self.graph.iter() {
            if !scopes.contains(&&node.scope) {
                continue;
            }
            // What is found names nodes by their numbers.
            hash_apart(&mut hasher, &id.index().to_le_bytes());
            match (&node.body, self.prints.of(id)) {
                (_, Some(print)) => hash_apart(&mut hasher, print.as_bytes()),
                // A limit comes from the record of its step and from nodes here.
                (Body::Limit(_), None) => {}
                (_, None) if self.value(id).is_none() => {}
                (_, None) => return None,
            }
        }
        Some(hasher.finalize())
    }

    fn print_of_sound(&self, board: usize, sound: &Sound, nodes: &[NodeId]) -> Option<Hash> {
        let mut hasher = self.hasher(&[board])?;
        hash_apart(&mut hasher, sound.name.as_bytes());
        for node in nodes {
            hash_apart(&mut hasher, self.prints.of(*node)?.as_bytes());
        }
        Some(hasher.finalize())
    }

    /// Takes in the records of some boards, with what is stated once for all.
    fn hasher(&self, boards: &[usize]) -> Option<Hasher> {
        let mut hasher = Hasher::new();
        for board in boards {
            hash_apart(&mut hasher, self.prints.board(*board)?.as_bytes());
        }
        Some(hasher)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_was_asked_for_is_known_for_one_more_reading() {
        let [print, other] = ["a", "b"].map(|text| blake3::hash(text.as_bytes()));
        let first: Recall<u8> = Recall::default();
        assert_eq!(first.get(print, || Some(1)).as_deref(), Some(&1));
        assert_eq!(first.get(other, || None), None);
        let unknown = |_: &Recall<u8>| -> Option<u8> { panic!("it is known") };
        assert_eq!(first.get(print, || unknown(&first)).as_deref(), Some(&1));
        let second = first.handed_on(false);
        assert_eq!(second.get(print, || unknown(&second)).as_deref(), Some(&1));
        // The other one was not asked for, and is known where that is made up for.
        let third = second.handed_on(true);
        assert_eq!(third.get(other, || unknown(&third)), None);
        let third = second.handed_on(false);
        assert_eq!(third.get(other, || Some(2)).as_deref(), Some(&2));
    }
}
