//! Quantities in prose that hang on no figure, and the figures they look like.

use std::sync::Arc;

use super::graph::{Graph, NodeId, Origin};
use super::sheet::Sheet;
use super::value::Value;
use crate::finding::{Finding, Slug};
use crate::prose::LooseQuantity;
use crate::record::Records;

/// How near a number must be to a figure to look like a stale copy of it.
const NEAR: f64 = 0.05;

/// A note for each loose quantity of the sheets.
pub(super) fn notes(
    graph: &Graph,
    records: &Records,
    values: &[Option<Arc<Value>>],
    sheets: &[Sheet],
    findings: &mut Vec<Finding>,
) {
    for sheet in sheets {
        let scope = &records.boards[sheet.board].id.value;
        for loose in &sheet.document.loose {
            findings.push(note(graph, values, scope, loose));
        }
    }
}

fn note(
    graph: &Graph,
    values: &[Option<Arc<Value>>],
    scope: &str,
    loose: &LooseQuantity,
) -> Finding {
    let finding = Finding::new(
        Slug::LooseQuantity,
        format!("`{}` hangs on no figure", loose.text),
    )
    .at(loose.place.clone(), "nothing checks this number");
    let figures: Vec<(NodeId, &Value)> = graph
        .iter()
        .filter(|(_, node)| node.scope == scope && node.origin != Origin::Side)
        .filter_map(|(id, _)| Some((id, values.get(id.index())?.as_deref()?)))
        .filter(|(_, value)| value.dimension.comparable(loose.dimension))
        .collect();
    let half = 0.5 * 10f64.powi(loose.decimal.place()) * loose.unit.step();
    let distance = |value: &Value| (value.outcome.nominal - loose.value).abs();
    let nearest = figures
        .iter()
        .min_by(|a, b| distance(a.1).total_cmp(&distance(b.1)));
    let Some(&(id, value)) = nearest else {
        return finding.help("hang it on a figure: `[…](figure:…)`");
    };
    let name = &graph.node(id).name;
    let link = format!("[{}](figure:{name})", loose.text);
    if distance(value) <= half {
        return finding
            .note(format!("it equals `{name}`"))
            .help(format!("write `{link}` to have it checked"));
    }
    if distance(value) <= NEAR * value.outcome.nominal.abs() {
        return finding
            .note(format!(
                "it is near `{name}`, which comes to {}: perhaps a stale copy",
                value.shown()
            ))
            .help(format!("write `[](figure:{name})` if it is meant"));
    }
    finding.help("hang it on a figure: `[…](figure:…)`")
}
