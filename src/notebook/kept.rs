//! Values that are kept from one reading of a notebook to the next.
//!
//! Each value has a print: a hash of everything that it is computed from, down to
//! what is given. A node of the same print as one of the notebook that was read
//! before has its value. Words for people are no part of any print.

use std::collections::{HashMap, HashSet};
use std::ops::Range;
use std::ptr;
use std::sync::Arc;

use blake3::{Hash, Hasher};

use super::graph::{Body, Graph, NodeId, Origin};
use super::value::Value;
use super::{Notebook, chance, recorded};
use crate::finding::{FileId, Sources};
use crate::quantity::Given;
use crate::record::{Board, Records};

/// The notebook that was read before, by the prints of its values.
pub(super) struct Kept<'a> {
    sources: &'a Sources,
    earlier: Option<&'a Notebook>,
    by_print: HashMap<Hash, NodeId>,
}

/// What everything was made from; empty where nothing is kept.
#[derive(Debug, Default)]
pub(super) struct Prints {
    /// Of each node; `None` for one that had no value yet.
    nodes: Vec<Option<Hash>>,
    /// Of each board's record with all that is stated once for all boards.
    boards: Vec<Hash>,
}

impl Prints {
    /// The prints of a notebook that is as of an earlier revision of a board, whose
    /// records are not what the files say. What has the very value that it has now
    /// keeps its print; nothing else is hashed, since there may be many revisions.
    pub fn as_of(now: &Notebook, then: &Notebook) -> Prints {
        let revision = format!("{:?}", then.as_of);
        let marked = |print: &Hash| {
            let mut hasher = Hasher::new();
            hash_apart(&mut hasher, print.as_bytes());
            hash_apart(&mut hasher, revision.as_bytes());
            hasher.finalize()
        };
        let mut prints = Prints {
            nodes: vec![None; then.graph.len()],
            boards: now.prints.boards.iter().map(marked).collect(),
        };
        for &node in &then.sorted {
            let value = |notebook: &Notebook| notebook.value(node).map(ptr::from_ref);
            prints.nodes[node.index()] = match value(then) {
                Some(same) if value(now) == Some(same) => now.prints.of(node),
                _ => print(&then.graph, &then.records, &prints, node),
            };
        }
        prints
    }

    /// The print of a node's value.
    pub fn of(&self, node: NodeId) -> Option<Hash> {
        self.nodes.get(node.index()).copied().flatten()
    }

    /// The print of a board's record, with all that is stated once for all boards.
    pub fn board(&self, board: usize) -> Option<Hash> {
        self.boards.get(board).copied()
    }
}

impl<'a> Kept<'a> {
    /// What an earlier notebook has for the next, which is read from `sources`.
    pub fn of(earlier: Option<&'a Notebook>, sources: &'a Sources) -> Kept<'a> {
        let prints = earlier.map_or(&[][..], |earlier| &earlier.prints.nodes);
        let nodes = earlier.into_iter().flat_map(|earlier| earlier.graph.iter());
        let by_print = prints.iter().zip(nodes);
        Kept {
            sources,
            earlier,
            by_print: by_print
                .filter_map(|(print, (node, _))| Some(((*print)?, node)))
                .collect(),
        }
    }

    /// The value of a print, with the inputs as they are numbered now.
    pub fn value(&self, print: Option<Hash>, inputs: &[NodeId]) -> Option<Arc<Value>> {
        let (earlier, node) = self.known(print)?;
        let value = earlier.values.get(node.index())?.as_ref()?;
        if value.inputs == inputs {
            return Some(value.clone());
        }
        (value.inputs.len() == inputs.len()).then(|| {
            Arc::new(Value {
                inputs: inputs.to_vec(),
                ..value.as_ref().clone()
            })
        })
    }

    fn known(&self, print: Option<Hash>) -> Option<(&'a Notebook, NodeId)> {
        Some((self.earlier?, *self.by_print.get(&print?)?))
    }

    /// The prints of nodes, which come in dependency order.
    pub fn prints(&self, graph: &Graph, records: &Records, sorted: &[NodeId]) -> Prints {
        let mut prints = Prints {
            nodes: vec![None; graph.len()],
            boards: boards(self.sources, records),
        };
        for &node in sorted {
            prints.nodes[node.index()] = print(graph, records, &prints, node);
        }
        prints
    }
}

/// The print of each board's record, with all that is stated once for all boards:
/// every file that was read but those of boards and sheets.
fn boards(sources: &Sources, records: &Records) -> Vec<Hash> {
    let boards: HashSet<FileId> = records.boards.iter().map(|board| board.file).collect();
    let mut others = Hasher::new();
    for (file, source) in sources.iter() {
        if !boards.contains(&file) && source.path.extension() != Some("md") {
            hash_apart(&mut others, source.text.as_bytes());
        }
    }
    let of_board = |board: &Arc<Board>| {
        let mut hasher = others.clone();
        let text = &sources.file(board.file).text;
        let mut words: Vec<Range<usize>> = board.words().map(|words| words.place.span()).collect();
        words.sort_by_key(|span| span.start);
        let mut at = 0;
        for span in words {
            hash_apart(
                &mut hasher,
                text.get(at..span.start).unwrap_or("").as_bytes(),
            );
            at = span.end.max(at);
        }
        hash_apart(&mut hasher, text.get(at..).unwrap_or("").as_bytes());
        hasher.finalize()
    };
    records.boards.iter().map(of_board).collect()
}

fn print(graph: &Graph, records: &Records, known: &Prints, id: NodeId) -> Option<Hash> {
    let node = graph.node(id);
    let mut hasher = Hasher::new();
    // Draws by chance hang on the name.
    hash_apart(&mut hasher, node.full_name().as_bytes());
    let unit = node.unit.as_ref().map_or("", |unit| unit.symbol());
    hash_apart(&mut hasher, unit.as_bytes());
    let policy = chance::in_force(graph, records, id);
    hash_apart(&mut hasher, format!("{policy:?}").as_bytes());
    for stated in [
        recorded::says(graph, records, id),
        recorded::must(graph, records, id),
    ] {
        let text = stated.map_or("", |stated| stated.value.text());
        hash_apart(&mut hasher, text.as_bytes());
    }
    match &node.body {
        Body::Given(given) => {
            hash_apart(&mut hasher, b"given");
            self::given(&mut hasher, given);
            scatter(&mut hasher, graph, records, id);
        }
        Body::Computed(calculation) => {
            hash_apart(&mut hasher, b"computed");
            hash_apart(&mut hasher, calculation.formula.text().as_bytes());
        }
        // What a circuit or a working is made of stands in the records, and not
        // in its operands alone.
        Body::Solved(_) | Body::Stepped(_) => {
            let (Origin::Circuit { board, .. } | Origin::Working { board, .. }) = node.origin
            else {
                return None;
            };
            hash_apart(&mut hasher, b"worked");
            hash_apart(&mut hasher, known.board(board)?.as_bytes());
        }
        Body::Limit(_) | Body::Broken => return None,
    }
    for operand in graph.operands(id) {
        hash_apart(&mut hasher, known.of(*operand)?.as_bytes());
    }
    Some(hasher.finalize())
}

fn given(hasher: &mut Hasher, given: &Given) {
    for number in [given.nominal(), given.low(), given.high()] {
        hash_apart(hasher, &number.to_bits().to_le_bytes());
    }
    hash_apart(hasher, given.unit().symbol().as_bytes());
    hash_apart(hasher, given.text().as_bytes());
}

/// How a given value lies within its tolerance.
fn scatter(hasher: &mut Hasher, graph: &Graph, records: &Records, id: NodeId) {
    let origin = &graph.node(id).origin;
    let of = chance::scatter_of(records, origin);
    let part = match origin {
        Origin::Fitted { part, .. } | Origin::Stock { part } => {
            Some(&records.parts[*part].id.value)
        }
        _ => None,
    };
    if let Some(of) = of {
        hash_apart(hasher, format!("{:?}", of.scatter).as_bytes());
        for share in [&of.coverage_factor, &of.reel_share].into_iter().flatten() {
            given(hasher, &share.value);
        }
        hash_apart(
            hasher,
            &[
                u8::from(of.coverage_factor.is_some()),
                u8::from(of.reel_share.is_some()),
            ],
        );
    }
    hash_apart(hasher, part.map_or("", String::as_str).as_bytes());
    for reading in graph.sample(id).unwrap_or_default() {
        hasher.update(&reading.to_bits().to_le_bytes());
    }
}

/// Hashes a stretch with its length, so that no two sequences of stretches read
/// as one.
pub(crate) fn hash_apart(hasher: &mut Hasher, bytes: &[u8]) {
    hasher.update(&(bytes.len() as u64).to_le_bytes());
    hasher.update(bytes);
}
