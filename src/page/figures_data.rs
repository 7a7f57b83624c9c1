//! The figures of a board for programs: JSON with stable addresses, and CSV.

use camino::{Utf8Path, Utf8PathBuf};
use serde_json::{Value as Json, json};

use super::book::Book;
use super::leaves::Page;
use super::slip::{figure_record, kind, source};
use super::tables::csv;
use crate::notebook::{NodeId, Value};

/// Names of the files, beside the calculation sheet.
const NAMES: [&str; 2] = ["figures.json", "figures.csv"];

/// Path of the JSON file of a board.
pub(super) fn paths(book: &Book<'_>, board: usize) -> [Utf8PathBuf; 2] {
    let sheet = &book.leaves.leaf(Page::Figures(board)).path;
    let folder = sheet.parent().unwrap_or(Utf8Path::new(""));
    NAMES.map(|name| folder.join(name))
}

/// Both files of a board. Values are in coherent SI units and not rounded; the
/// fields of an edition of Ohmbook stay in the next ones, and new ones may come.
pub(super) fn files(book: &Book<'_>, board: usize) -> Vec<(Utf8PathBuf, String)> {
    let record = &book.notebook.records.boards[board];
    let from = &book.leaves.leaf(Page::Figures(board)).path;
    let nodes: Vec<NodeId> = book.figures_of(board).collect();
    let figures: Vec<Json> = nodes.iter().map(|node| figure(book, from, *node)).collect();
    let whole = json!({
        "format": 1,
        "board": record.id.value,
        "title": record.title.value,
        "revision": record.revision.value,
        "date": record.date.as_ref().map(|date| date.value.to_string()),
        "figures": figures,
    });
    let mut rows = vec![
        ["name", "means", "value", "low", "high", "unit"]
            .map(String::from)
            .to_vec(),
    ];
    rows.extend(nodes.iter().map(|&node| {
        let of = book.notebook.graph.node(node);
        let mut row = vec![of.name.clone(), of.means.clone()];
        match book.notebook.value(node) {
            Some(value) => {
                let outcome = &value.outcome;
                let (low, high) = ends(book, node, value);
                row.push(outcome.nominal.to_string());
                row.extend(
                    [low, high].map(|end| end.map_or_else(String::new, |end| end.to_string())),
                );
                row.push(value.dimension.coherent_symbol());
            }
            None => row.extend(["", "", "", ""].map(String::from)),
        }
        row
    }));
    let [as_json, as_csv] = paths(book, board);
    let text = serde_json::to_string_pretty(&whole).unwrap_or_default();
    vec![(as_json, text + "\n"), (as_csv, csv(&rows))]
}

/// Both ends of a spread, where the edition has them.
fn ends(book: &Book<'_>, node: NodeId, value: &Value) -> (Option<f64>, Option<f64>) {
    let outcome = &value.outcome;
    match book.edition.shows_spread(book.notebook, node) {
        true => (Some(outcome.low), Some(outcome.high)),
        false => (None, None),
    }
}

fn figure(book: &Book<'_>, from: &Utf8Path, node: NodeId) -> Json {
    let notebook = book.notebook;
    let of = notebook.graph.node(node);
    let record = figure_record(book, node);
    let place = book.place_of(from, node);
    let file = from.file_name().unwrap_or("figures.html");
    json!({
        "name": of.name,
        "means": of.means,
        "kind": kind(book, node),
        "address": if place.starts_with('#') { format!("{file}{place}") } else { place },
        "value": notebook.value(node).map(|value| json!({
            "nominal": value.outcome.nominal,
            "low": ends(book, node, value).0,
            "high": ends(book, node, value).1,
            "unit": value.dimension.coherent_symbol(),
            "shown": value.shown().to_string(),
        })),
        "says": notebook.says(node).map(|says| says.text()),
        "must": notebook.requirement(node).map(|must| must.text()),
        "at": record.and_then(|record| Some(record.at.as_ref()?.value.clone())),
        "source": source(book, node),
        "holds": notebook.figure_holds(node),
    })
}
