//! The proof: from records and sheets to values and findings, whatever they were
//! read from.

use std::collections::BTreeSet;
use std::sync::Arc;

use camino::Utf8PathBuf;

use super::build::{self, BoardComparisons};
use super::compare::Comparing;
use super::graph::{Graph, NodeId};
use super::kept::{Kept, Prints};
use super::pin_nodes::{PinNodes, Valued};
use super::sheet::Sheet;
use super::value::Value;
use super::{evaluate, fixture, link, loose, pin_names, stack_told};
use crate::finding::{Finding, Sources};
use crate::record::Records;

/// What a proof finds.
pub(super) struct Proof {
    pub graph: Graph,
    pub values: Vec<Option<Arc<Value>>>,
    pub sorted: Vec<NodeId>,
    pub comparisons: Vec<BoardComparisons>,
    pub pin_nodes: Vec<PinNodes>,
    pub sheets: Vec<Arc<Sheet>>,
    pub blamed: BTreeSet<NodeId>,
    pub findings: Vec<Finding>,
    /// What each value was made from, where values are kept.
    pub prints: Prints,
}

/// Computes everything and compares it; what was computed from the same before is
/// `kept`. Nothing is read but `sources`.
pub(super) fn prove(
    sources: &Sources,
    records: &Records,
    mut sheets: Vec<Sheet>,
    others: &BTreeSet<Utf8PathBuf>,
    kept: Option<&Kept<'_>>,
) -> Proof {
    let mut findings = Vec::new();
    let (mut graph, comparisons, pin_nodes) = build::build(sources, records, &mut findings);
    build::hazards(records, &mut findings);
    let evaluate::Values {
        mut values,
        mut sorted,
        prints,
    } = evaluate::evaluate(&mut graph, records, kept, &mut findings);
    fixture::limits(&mut graph, records, &mut values, &mut sorted, &mut findings);
    let mut blamed = BTreeSet::new();
    let mut comparing = Comparing {
        graph: &mut graph,
        records,
        values: &mut values,
        findings: &mut findings,
        blamed: &mut blamed,
        struck: &mut BTreeSet::new(),
        only: None,
    };
    comparing.records(&comparisons);
    link::check_links(&mut comparing, &mut sheets, others);
    pin_names::check(records, &mut findings);
    let valued = Valued {
        records,
        nodes: &pin_nodes,
        values: &values,
    };
    stack_told::findings(&valued, &mut findings);
    loose::notes(&graph, records, &values, &sheets, &mut findings);
    Proof {
        graph,
        values,
        sorted,
        comparisons,
        pin_nodes,
        sheets: sheets.into_iter().map(Arc::new).collect(),
        blamed,
        findings,
        prints,
    }
}
