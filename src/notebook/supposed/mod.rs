//! The notebook as it would be: with other parts fitted, other values given, or
//! another way of counting.
//!
//! No file is read. Where only values differ, the graph is shared with the
//! notebook as it is, and only what hangs on them is computed and compared once
//! more. Where an override changes what there is on the graph, such as a part of
//! another sort or a place left empty, the whole is proved anew from the records
//! in memory.

mod margin;
mod otherwise;
mod pairs;
mod sweep;
mod wish;
mod wish_part;
mod wish_value;

use std::collections::BTreeSet;
use std::sync::{Arc, OnceLock};

use camino::Utf8PathBuf;

pub use self::margin::{Held, Margin};
pub use self::otherwise::Override;
use self::otherwise::with_own_parts;
use self::pairs::{key, paired};
pub use self::sweep::{Point, Run, Sweep};
pub use self::wish::Wish;
use super::affected::Affected;
use super::compare::Comparing;
use super::firmware::Gathering;
use super::graph::{Body, Graph, NodeId, Origin};
use super::kept::Prints;
use super::pin_nodes::Valued;
use super::value::Value;
use super::{Notebook, chance, emitted, evaluate, fixture, link, proof, revised, stack_told};
use crate::finding::{Finding, Level, Slug};
use crate::record::Records;

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

impl Notebook {
    /// What hangs on each node directly, by the node's number.
    pub fn dependents(&self) -> &[Vec<NodeId>] {
        self.dependents.get_or_init(|| self.graph.dependents())
    }

    /// The notebook as it would be with these overrides, the later ones over the
    /// earlier. Positions that do not exist change nothing.
    pub fn under(&self, overrides: &[Override]) -> Supposed {
        let mut supposed = self.under_plain(overrides);
        let was = self.all_told();
        let was = was.filter(|finding| self.is_of_earlier_revision(finding));
        let was: Vec<Finding> = was.cloned().collect();
        let now = self.revised_links(overrides, |node| {
            let twin = supposed.twin(self, node);
            twin.is_some_and(|twin| supposed.notebook.value(twin).is_some())
        });
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

    /// All findings, those that are waived too.
    pub(super) fn all_told(&self) -> impl Iterator<Item = &Finding> {
        let waived = self.waived.iter().map(|waived| &waived.finding);
        self.findings.iter().chain(waived)
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
            !OF_WHAT_IS.contains(&finding.slug)
                && !pairs.mended.iter().chain(&pairs.still).any(is_gone)
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
            prints: Prints::default(),
            memory: None,
            dependents: self.dependents.clone(),
            figures: OnceLock::new(),
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

    /// The whole, proved anew from records that say otherwise.
    fn rebuilt(&self, overrides: &[Override]) -> Supposed {
        let mut records = self.records_under(overrides);
        with_own_parts(Arc::make_mut(&mut records), overrides);
        let sheets = self.sheets.iter().map(|sheet| sheet.as_ref().clone());
        let proof = proof::prove(
            &self.sources,
            &records,
            sheets.collect(),
            &self.others,
            None,
        );
        let mut findings = proof.findings;
        findings.extend(self.told_in_reading.iter().cloned());
        let findings = crate::finding::order(findings, &self.sources);
        let was = self.all_told().filter(|finding| {
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
            prints: Prints::default(),
            memory: None,
            dependents: Arc::default(),
            figures: OnceLock::new(),
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
