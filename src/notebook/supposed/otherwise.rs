//! What is otherwise: overrides, and how they come into the records and onto the
//! graph.

use std::collections::BTreeMap;
use std::sync::Arc;

use super::super::Notebook;
use super::super::graph::{Body, Graph, NodeId, Origin};
use crate::finding::Located;
use crate::quantity::Given;
use crate::record::{Board, FigureBody, Fitted, Part, Policy, Records};

/// Something that is otherwise than the records say.
#[derive(Clone, Debug)]
pub enum Override {
    /// Another stocked part stands in a place.
    Part {
        /// Which board.
        board: usize,
        /// Which line of `[fitted]`.
        fitted: usize,
        /// Which part.
        part: usize,
    },
    /// The part in a place has another quantity.
    Property {
        /// Which board.
        board: usize,
        /// Which line of `[fitted]`.
        fitted: usize,
        /// Name of the quantity; the part's value is called `value`.
        property: String,
        /// The quantity.
        given: Given,
    },
    /// A place is left empty, or filled with the part that is meant for it.
    Fit {
        /// Which board.
        board: usize,
        /// Which line of `[fitted]`.
        fitted: usize,
        /// Whether its part is really fitted.
        fit: bool,
    },
    /// A given figure is another.
    Given {
        /// Which board.
        board: usize,
        /// Which of its figures.
        figure: usize,
        /// The quantity.
        given: Given,
    },
    /// A quantity of a module is another.
    Module {
        /// Which module.
        module: usize,
        /// Which of its properties.
        property: usize,
        /// The quantity.
        given: Given,
    },
    /// The temperature round a board is another.
    Ambient {
        /// Which board.
        board: usize,
        /// Which of its conditions.
        condition: usize,
        /// The range.
        given: Given,
    },
    /// The notebook, or one board, counts otherwise; what the policy leaves open
    /// stays as it is.
    Policy {
        /// Which board; the whole notebook where there is none.
        board: Option<usize>,
        /// The policy.
        policy: Policy,
    },
    /// A board is as it was in an earlier revision.
    Revision {
        /// Which board.
        board: usize,
        /// Which of its earlier revisions.
        revision: usize,
    },
}

/// The temperature coefficient: a part without one is one that does not stray.
const TEMPCO: &str = "tempco";
/// Properties that settle which nodes there are, beside those that formulas name:
/// models of parts in circuits, and ratings.
const STRUCTURAL: &[&str] = &[
    "power_rating",
    "voltage_rating",
    "current_rating",
    "saturation_current",
    "series_resistance",
    "ideality",
    "open_loop_gain",
    "output_resistance",
    "coil_inductance",
];

/// What a line of `[fitted]` carries otherwise.
#[derive(Default)]
struct Otherwise {
    part: Option<usize>,
    properties: BTreeMap<String, Given>,
}

impl Notebook {
    /// Revisions as the parts that were fitted then.
    pub(super) fn spelled_out(&self, overrides: &[Override]) -> Vec<Override> {
        let mut all = Vec::new();
        for one in overrides {
            let Override::Revision { board, revision } = *one else {
                all.push(one.clone());
                continue;
            };
            let Some(record) = self.records.boards.get(board) else {
                continue;
            };
            let lines = record.revisions.get(revision).map(|then| &then.fitted);
            for line in lines.into_iter().flatten() {
                let mut now = record.fitted.iter();
                let fitted = now.position(|known| known.designator.value == line.designator.value);
                let parts = &self.records.parts;
                let part = parts.binary_search_by(|part| part.id.value.cmp(&line.part.value));
                // What does not exist has been told.
                let (Some(fitted), Ok(part)) = (fitted, part) else {
                    continue;
                };
                all.push(Override::Part {
                    board,
                    fitted,
                    part,
                });
                if record.fitted[fitted].fit != line.fit {
                    all.push(Override::Fit {
                        board,
                        fitted,
                        fit: line.fit,
                    });
                }
            }
        }
        all
    }

    /// The graph with other given values, and the nodes that are given otherwise.
    pub(super) fn graph_under(&self, overrides: &[Override]) -> Option<(Graph, Vec<NodeId>)> {
        let mut lines: BTreeMap<(usize, usize), Otherwise> = BTreeMap::new();
        let mut givens: BTreeMap<NodeId, Given> = BTreeMap::new();
        let records = &self.records;
        for one in overrides {
            match one {
                Override::Part {
                    board,
                    fitted,
                    part,
                } => {
                    let line = lines.entry((*board, *fitted)).or_default();
                    *line = Otherwise {
                        part: Some(*part),
                        properties: BTreeMap::new(),
                    };
                }
                Override::Property {
                    board,
                    fitted,
                    property,
                    given,
                } => {
                    let line = lines.entry((*board, *fitted)).or_default();
                    line.properties.insert(property.clone(), given.clone());
                }
                Override::Given {
                    board,
                    figure,
                    given,
                } => {
                    let record = records.boards.get(*board)?;
                    let figure = record.figures.get(*figure)?;
                    let node = self.graph.find(&record.id.value, &figure.id.value)?;
                    givens.insert(node, given.clone());
                }
                Override::Module {
                    module,
                    property,
                    given,
                } => {
                    let record = records.modules.get(*module)?;
                    let property = &record.properties.get(*property)?.name.value;
                    if let Some(node) = self.graph.find(&record.id.value, property) {
                        givens.insert(node, given.clone());
                    }
                }
                Override::Policy { .. } => {}
                Override::Fit { .. } | Override::Ambient { .. } | Override::Revision { .. } => {
                    return None;
                }
            }
        }
        let still = Given::parse("0 ppm/K", None).ok();
        let mut graph = self.graph.clone();
        let mut seeds = Vec::new();
        for (id, node) in self.graph.iter() {
            let given = match &node.origin {
                Origin::Fitted {
                    board,
                    fitted,
                    property,
                    ..
                } => {
                    let Some(line) = lines.get(&(*board, *fitted)) else {
                        continue;
                    };
                    if let Some(part) = line.part {
                        let other = records.parts.get(part)?;
                        let now = &records.boards[*board].fitted[*fitted];
                        let now_part = records.part(&now.part.value)?;
                        if !now.fit || !alike(now_part, other) {
                            return None;
                        }
                        let is_given = matches!(node.body, Body::Given(_));
                        let is_stated = other.property(property).is_some();
                        if is_given && !is_stated && property != TEMPCO {
                            return None;
                        }
                        let strays = other.property(TEMPCO).is_some();
                        let strayed = now_part.property(TEMPCO).is_some();
                        let has_conditions = !records.boards[*board].conditions.is_empty();
                        if strays && !strayed && has_conditions {
                            return None;
                        }
                        graph.node_mut(id).origin = Origin::Fitted {
                            board: *board,
                            fitted: *fitted,
                            part,
                            property: property.clone(),
                        };
                    }
                    let stocked = line.part.and_then(|part| {
                        let stated = records.parts[part].property(property);
                        let stated = stated.map(|stated| &stated.given.value);
                        stated.or(still.as_ref().filter(|_| property == TEMPCO))
                    });
                    line.properties.get(property).or(stocked)
                }
                _ => givens.get(&id),
            };
            if let (Some(given), Body::Given(now)) = (given, &node.body) {
                if now.dimension() != given.dimension() {
                    return None;
                }
                graph.node_mut(id).body = Body::Given(given.clone());
                seeds.push(id);
            }
        }
        Some((graph, seeds))
    }

    /// The records with what is otherwise written into them.
    pub(super) fn records_under(&self, overrides: &[Override]) -> Arc<Records> {
        let mut records = Arc::clone(&self.records);
        for one in overrides {
            put(Arc::make_mut(&mut records), one);
        }
        records
    }
}

/// Whether two parts put the same nodes on the graph, whatever their values.
fn alike(one: &Part, other: &Part) -> bool {
    let whole = |part: &Part| part.left_out.is_empty();
    std::ptr::eq(one.kind, other.kind)
        && whole(one)
        && whole(other)
        && STRUCTURAL
            .iter()
            .all(|name| one.property(name).is_some() == other.property(name).is_some())
}

/// Writes one override into the records. A part's own quantity is put in by
/// [`with_own_parts`], since that moves the positions of parts.
fn put(records: &mut Records, one: &Override) {
    match one {
        Override::Part {
            board,
            fitted,
            part,
        } => {
            let id = records.parts.get(*part).map(|part| part.id.value.clone());
            if let (Some(line), Some(id)) = (fitted_mut(records, *board, *fitted), id) {
                line.part.value = id;
            }
        }
        Override::Fit { board, fitted, fit } => {
            if let Some(line) = fitted_mut(records, *board, *fitted) {
                line.fit = *fit;
            }
        }
        Override::Given {
            board,
            figure,
            given,
        } => {
            let board = board_mut(records, *board);
            if let Some(figure) = board.and_then(|board| board.figures.get_mut(*figure)) {
                let place = match &figure.body {
                    FigureBody::Given(given) => given.place.clone(),
                    _ => figure.id.place.clone(),
                };
                figure.body = FigureBody::Given(Located::new(given.clone(), place));
            }
        }
        Override::Module {
            module,
            property,
            given,
        } => {
            let module = records.modules.get_mut(*module);
            let property = module.and_then(|module| module.properties.get_mut(*property));
            if let Some(property) = property {
                property.given.value = given.clone();
            }
        }
        Override::Ambient {
            board,
            condition,
            given,
        } => {
            let board = board_mut(records, *board);
            if let Some(condition) = board.and_then(|board| board.conditions.get_mut(*condition)) {
                condition.ambient.value = given.clone();
            }
        }
        Override::Policy { board, policy } => {
            let own = match board {
                None => Some(&mut records.notebook.policy),
                Some(at) => board_mut(records, *at).map(|board| &mut board.policy),
            };
            if let Some(own) = own {
                let other = policy.clone();
                own.spread = other.spread.or(own.spread);
                own.coverage = other.coverage.or(own.coverage.take());
                own.interval = other.interval.or(own.interval);
                own.seed = other.seed.or(own.seed);
            }
        }
        Override::Property { .. } | Override::Revision { .. } => {}
    }
}

fn board_mut(records: &mut Records, board: usize) -> Option<&mut Board> {
    records.boards.get_mut(board).map(Arc::make_mut)
}

fn fitted_mut(records: &mut Records, board: usize, fitted: usize) -> Option<&mut Fitted> {
    board_mut(records, board)?.fitted.get_mut(fitted)
}

/// Parts of their own for places whose part has another quantity.
pub(super) fn with_own_parts(records: &mut Records, overrides: &[Override]) {
    let mut own: BTreeMap<(usize, usize), Part> = BTreeMap::new();
    for one in overrides {
        let Override::Property {
            board,
            fitted,
            property,
            given,
        } = one
        else {
            continue;
        };
        let at = (*board, *fitted);
        let line = records
            .boards
            .get(*board)
            .and_then(|board| board.fitted.get(*fitted));
        let stocked = line.and_then(|line| records.part(&line.part.value));
        let Some(stocked) = stocked else { continue };
        let part = own.entry(at).or_insert_with(|| stocked.clone());
        let mut properties = part.properties.iter_mut();
        if let Some(known) = properties.find(|known| known.name.value == *property) {
            known.given.value = given.clone();
        }
    }
    for ((board, fitted), mut part) in own {
        let Some(line) = fitted_mut(records, board, fitted) else {
            continue;
        };
        // No id that is read has a space.
        let id = format!("{} at {board}.{fitted}", part.id.value);
        line.part.value.clone_from(&id);
        part.id.value = id;
        records.parts.push(part);
    }
    records.parts.sort_by(|a, b| a.id.value.cmp(&b.id.value));
}
