//! The notebook as it would be: with other parts fitted, other values given, or
//! another way of counting.
//!
//! No file is read. Where only values differ, the graph is shared with the
//! notebook as it is, and only what hangs on them is computed and compared once
//! more. Where an override changes what there is on the graph, such as a part of
//! another sort or a place left empty, the whole is proved anew from the records
//! in memory.

mod margin;
mod sweep;
mod wish;

use std::collections::{BTreeMap, BTreeSet};
use std::sync::{Arc, OnceLock};

use camino::Utf8PathBuf;

pub use self::margin::{Held, Margin};
pub use self::sweep::{Point, Run, Sweep};
pub use self::wish::Wish;
use super::affected::Affected;
use super::compare::Comparing;
use super::firmware::Gathering;
use super::graph::{Body, Graph, NodeId, Origin};
use super::pin_nodes::Valued;
use super::value::Value;
use super::{Notebook, chance, emitted, evaluate, fixture, link, proof, revised, stack_told};
use crate::finding::{Finding, Level, Located, Place, Slug};
use crate::quantity::Given;
use crate::record::{FigureBody, Part, Policy, Records};

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

/// A notebook as it would be, beside what it is.
#[derive(Debug)]
pub struct Supposed {
    /// The notebook as it would be. Its findings are those of the notebook as it
    /// is, with what broke and without what came right; files for firmware are
    /// not among them.
    pub notebook: Notebook,
    /// Nodes whose value differs, in dependency order: as it is, as it would be.
    pub moved: Vec<(NodeId, NodeId)>,
    /// What would not hold any more.
    pub broken: Vec<Finding>,
    /// What does not hold now and would.
    pub mended: Vec<Finding>,
    /// What holds neither way, as it would be.
    pub still: Vec<Finding>,
    /// Whether nodes have the same numbers in both.
    same_nodes: bool,
    /// Nodes that comparisons went against.
    struck: BTreeSet<NodeId>,
}

impl Supposed {
    /// Whether nothing that holds now would break.
    pub fn breaks_nothing(&self) -> bool {
        !self
            .broken
            .iter()
            .any(|finding| finding.level == Level::Error)
    }

    /// Files for firmware that would be written otherwise, or not at all.
    pub fn stale_files(&self, was: &Notebook) -> Vec<Utf8PathBuf> {
        let texts = emitted::texts(&Gathering {
            graph: &self.notebook.graph,
            records: &self.notebook.records,
            values: &self.notebook.values,
        });
        let same = |file: &&super::EmittedFile| {
            let mut texts = texts.iter();
            texts.any(|(path, text)| *path == file.path && *text == file.text)
        };
        let files = was.emitted.iter().filter(|file| !same(file));
        files.map(|file| file.path.clone()).collect()
    }

    /// A node of the notebook as it is in the one that would be; `None` where
    /// there is none of its name.
    pub fn twin(&self, was: &Notebook, node: NodeId) -> Option<NodeId> {
        match self.same_nodes {
            true => Some(node),
            false => {
                let node = was.graph.node(node);
                self.notebook.graph.find(&node.scope, &node.name)
            }
        }
    }
}

/// Kinds of finding about what is there already, which nobody supposed to be
/// otherwise: files that were written, boards that were made and measured.
const OF_WHAT_IS: &[Slug] = &[Slug::EmittedFileDiffers, Slug::ReadingOutside];
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
    /// What hangs on each node directly, by the node's number.
    pub fn dependents(&self) -> &[Vec<NodeId>] {
        self.dependents.get_or_init(|| self.graph.dependents())
    }

    /// The notebook as it would be with these overrides, the later ones over the
    /// earlier. Positions that do not exist change nothing.
    pub fn under(&self, overrides: &[Override]) -> Supposed {
        let mut supposed = self.under_plain(overrides);
        let was = self.revised_links();
        let now = self.revised_links_under(overrides);
        if was.is_empty() && now.is_empty() {
            return supposed;
        }
        let pairs = paired(was, now);
        let mut findings = std::mem::take(&mut supposed.notebook.findings);
        let gone = |finding: &Finding| pairs.mended.iter().any(|gone| key(gone) == key(finding));
        findings.retain(|finding| !gone(finding));
        findings.extend(pairs.broken.iter().cloned());
        supposed.notebook.findings = crate::finding::order(findings, &self.sources);
        supposed.broken.extend(pairs.broken);
        supposed.mended.extend(pairs.mended);
        supposed.still.extend(pairs.still);
        supposed
    }

    /// The same, without a look at what sheets state of earlier revisions.
    pub(super) fn under_plain(&self, overrides: &[Override]) -> Supposed {
        let overrides = self.spelled_out(overrides);
        self.patched(&overrides, None)
            .unwrap_or_else(|| self.rebuilt(&overrides))
    }

    /// The same, where only what these nodes come to is of interest: others keep
    /// the values that they have. Where that does not do, all of it.
    pub(super) fn under_for(&self, overrides: &[Override], nodes: &BTreeSet<NodeId>) -> Supposed {
        let overrides = self.spelled_out(overrides);
        self.patched(&overrides, Some(nodes))
            .unwrap_or_else(|| self.rebuilt(&overrides))
    }

    /// Revisions as the parts that were fitted then.
    fn spelled_out(&self, overrides: &[Override]) -> Vec<Override> {
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

    /// The same graph with other values on it; `None` where that does not do.
    fn patched(&self, overrides: &[Override], only: Option<&BTreeSet<NodeId>>) -> Option<Supposed> {
        let records = self.records_under(overrides);
        let (mut graph, mut seeds) = self.graph_under(overrides)?;
        if overrides
            .iter()
            .any(|one| matches!(one, Override::Policy { .. }))
        {
            seeds.extend(self.graph.iter().map(|(id, _)| id).filter(|&id| {
                chance::in_force(&self.graph, &self.records, id)
                    != chance::in_force(&graph, &records, id)
            }));
        }
        let affected = Affected::by(seeds.iter().copied(), self.dependents());
        let affected = match only {
            Some(nodes) => affected.narrowed(nodes, &self.graph),
            None => affected,
        };
        let is_whole = |id: &NodeId| !matches!(self.graph.node(*id).body, Body::Broken);
        let all = self.graph.iter().map(|(id, _)| id);
        if !all.filter(|id| affected.has(*id)).all(|id| is_whole(&id)) {
            return None;
        }
        let mut values = self.values.clone();
        let mut told = Vec::new();
        // What was first named in a link is given, and was never in the order.
        let sorted: BTreeSet<NodeId> = self.sorted.iter().copied().collect();
        let late = seeds.iter().copied();
        let late = late.filter(|id| !sorted.contains(id) && affected.has(*id));
        let mut order: Vec<NodeId> = late.filter(|id| self.value(*id).is_some()).collect();
        order.extend(self.sorted.iter().copied().filter(|id| affected.has(*id)));
        let named = order.clone();
        order.retain(|id| !matches!(self.graph.node(*id).body, Body::Limit(_)));
        evaluate::again(&mut graph, &records, &order, &mut values, &mut told);
        if !fixture::limits_again(&graph, &records, &mut values, &affected, &mut told) {
            return None;
        }
        let mut was = Judged::default();
        let (mut own_graph, mut own_values) = (self.graph.clone(), self.values.clone());
        self.judge(
            &mut was,
            &self.records,
            &mut own_graph,
            &mut own_values,
            &affected,
        );
        let mut now = Judged {
            findings: told,
            ..Judged::default()
        };
        self.judge(&mut now, &records, &mut graph, &mut values, &affected);
        let moved: Vec<(NodeId, NodeId)> = named
            .iter()
            .filter(|id| self.graph.node(**id).is_named())
            .filter(|id| differs(self.value(**id), values[id.index()].as_deref()))
            .map(|id| (*id, *id))
            .collect();
        let pairs = paired(was.findings, now.findings);
        let mut blamed = self.blamed.clone();
        blamed.retain(|id| !affected.has(*id));
        blamed.extend(now.blamed);
        let kept = self.findings.iter().filter(|finding| {
            let is_gone = |gone: &Finding| key(gone) == key(finding);
            !OF_WHAT_IS.contains(&finding.slug) && !pairs.mended.iter().chain(&pairs.still).any(is_gone)
        });
        let mut findings: Vec<Finding> = kept.cloned().collect();
        findings.extend(pairs.still.iter().chain(&pairs.broken).cloned());
        let notebook = Notebook {
            root: self.root.clone(),
            sources: self.sources.clone(),
            revised: revised::none_yet(&records),
            as_of: self.as_of,
            since: self.since.clone(),
            records,
            sheets: self.sheets.clone(),
            graph,
            findings: crate::finding::order(findings, &self.sources),
            waived: self.waived.clone(),
            comparisons: self.comparisons.clone(),
            others: self.others.clone(),
            emitted: Vec::new(),
            measurements: self.measurements.clone(),
            told_in_reading: self.told_in_reading.clone(),
            drawn: values.iter().map(|_| OnceLock::new()).collect(),
            dependents: self.dependents.clone(),
            pin_nodes: self.pin_nodes.clone(),
            values,
            sorted: self.sorted.clone(),
            blamed,
        };
        Some(Supposed {
            notebook,
            moved,
            broken: pairs.broken,
            mended: pairs.mended,
            still: pairs.still,
            same_nodes: true,
            struck: now.struck,
        })
    }

    /// Compares what hangs on something affected.
    fn judge(
        &self,
        judged: &mut Judged,
        records: &Records,
        graph: &mut Graph,
        values: &mut Vec<Option<Arc<Value>>>,
        affected: &Affected,
    ) {
        let mut comparing = Comparing {
            graph,
            records,
            values,
            findings: &mut judged.findings,
            blamed: &mut judged.blamed,
            struck: &mut judged.struck,
            only: Some(affected),
        };
        comparing.records(&self.comparisons);
        link::check_stated(&mut comparing, &self.sheets);
        let on_pins = |(id, node): (NodeId, &super::Node)| {
            matches!(node.origin, Origin::Pins { .. }) && affected.has(id)
        };
        if self.graph.iter().any(on_pins) {
            let valued = Valued {
                records,
                nodes: &self.pin_nodes,
                values,
            };
            stack_told::findings(&valued, &mut judged.findings);
        }
    }

    /// The graph with other given values, and the nodes that are given otherwise.
    fn graph_under(&self, overrides: &[Override]) -> Option<(Graph, Vec<NodeId>)> {
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
    fn records_under(&self, overrides: &[Override]) -> Arc<Records> {
        let mut records = Arc::clone(&self.records);
        for one in overrides {
            put(Arc::make_mut(&mut records), one);
        }
        records
    }

    /// The whole, proved anew from records that say otherwise.
    fn rebuilt(&self, overrides: &[Override]) -> Supposed {
        let mut records = self.records_under(overrides);
        with_own_parts(Arc::make_mut(&mut records), overrides);
        let sheets = self.sheets.iter().map(|sheet| sheet.as_ref().clone());
        let proof = proof::prove(&self.sources, &records, sheets.collect(), &self.others);
        let mut findings = proof.findings;
        findings.extend(self.told_in_reading.iter().cloned());
        let findings = crate::finding::order(findings, &self.sources);
        let waived = self.waived.iter().map(|waived| &waived.finding);
        let was = self.findings.iter().chain(waived).filter(|finding| {
            let of_waivers = matches!(finding.slug, Slug::WaiverIdle | Slug::WaiverOverdue);
            !of_waivers && !OF_WHAT_IS.contains(&finding.slug)
        });
        // What is stated of earlier revisions is compared apart.
        let was = was.filter(|finding| !self.is_of_earlier_revision(finding));
        let pairs = paired(was.cloned().collect(), findings.clone());
        let mut moved = Vec::new();
        for &id in &self.sorted {
            let node = self.graph.node(id);
            if let (true, Some(twin)) = (node.is_named(), proof.graph.find(&node.scope, &node.name))
                && differs(self.value(id), proof.values[twin.index()].as_deref())
            {
                moved.push((id, twin));
            }
        }
        let notebook = Notebook {
            root: self.root.clone(),
            sources: self.sources.clone(),
            revised: revised::none_yet(&records),
            as_of: self.as_of,
            since: self.since.clone(),
            records,
            sheets: proof.sheets,
            graph: proof.graph,
            findings,
            waived: self.waived.clone(),
            comparisons: Arc::new(proof.comparisons),
            others: self.others.clone(),
            emitted: Vec::new(),
            measurements: self.measurements.clone(),
            told_in_reading: self.told_in_reading.clone(),
            drawn: proof.values.iter().map(|_| OnceLock::new()).collect(),
            dependents: Arc::default(),
            pin_nodes: Arc::new(proof.pin_nodes),
            values: proof.values,
            sorted: proof.sorted,
            blamed: proof.blamed,
        };
        Supposed {
            notebook,
            moved,
            broken: pairs.broken,
            mended: pairs.mended,
            still: pairs.still,
            same_nodes: false,
            struck: BTreeSet::new(),
        }
    }
}

/// Findings and blamed nodes of one side.
#[derive(Default)]
struct Judged {
    findings: Vec<Finding>,
    blamed: BTreeSet<NodeId>,
    struck: BTreeSet<NodeId>,
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

/// Whether a value is another, beyond what floats leave over.
pub(super) fn differs(was: Option<&Value>, now: Option<&Value>) -> bool {
    let (Some(was), Some(now)) = (was, now) else {
        return was.is_some() != now.is_some();
    };
    let far = |a: f64, b: f64| (a - b).abs() > 1e-12 * a.abs().max(b.abs());
    far(was.outcome.nominal, now.outcome.nominal)
        || far(was.outcome.low, now.outcome.low)
        || far(was.outcome.high, now.outcome.high)
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
            let Some(board) = records.boards.get_mut(*board) else {
                return;
            };
            if let Some(figure) = Arc::make_mut(board).figures.get_mut(*figure) {
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
            let Some(board) = records.boards.get_mut(*board) else {
                return;
            };
            if let Some(condition) = Arc::make_mut(board).conditions.get_mut(*condition) {
                condition.ambient.value = given.clone();
            }
        }
        Override::Policy { board, policy } => {
            let own = match board {
                None => Some(&mut records.notebook.policy),
                Some(at) => {
                    let board = records.boards.get_mut(*at).map(Arc::make_mut);
                    board.map(|board| &mut board.policy)
                }
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

fn fitted_mut(
    records: &mut Records,
    board: usize,
    fitted: usize,
) -> Option<&mut crate::record::Fitted> {
    let board = records.boards.get_mut(board)?;
    Arc::make_mut(board).fitted.get_mut(fitted)
}

/// Parts of their own for places whose part has another quantity.
fn with_own_parts(records: &mut Records, overrides: &[Override]) {
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

/// What findings of two proofs are paired by.
fn key(finding: &Finding) -> (Slug, Option<&Place>, &str) {
    // A working may ask for several things at one place, each in its own words,
    // and the words of other findings hold numbers.
    let words = match finding.slug {
        Slug::RelationBroken => finding.message.as_str(),
        _ => "",
    };
    (finding.slug, finding.place(), words)
}

#[derive(Default)]
struct Pairs {
    broken: Vec<Finding>,
    mended: Vec<Finding>,
    still: Vec<Finding>,
}

/// Findings of before and after, told apart. Notes are left out.
fn paired(was: Vec<Finding>, now: Vec<Finding>) -> Pairs {
    let mut pairs = Pairs::default();
    let mut was: Vec<Option<Finding>> = was.into_iter().map(Some).collect();
    for finding in now {
        if finding.level == Level::Note {
            continue;
        }
        let same = |known: &&mut Option<Finding>| {
            known
                .as_ref()
                .is_some_and(|known| key(known) == key(&finding))
        };
        match was.iter_mut().find(same) {
            Some(known) => {
                *known = None;
                pairs.still.push(finding);
            }
            None => pairs.broken.push(finding),
        }
    }
    let rest = was.into_iter().flatten();
    pairs.mended = rest
        .filter(|finding| finding.level != Level::Note)
        .collect();
    pairs
}
