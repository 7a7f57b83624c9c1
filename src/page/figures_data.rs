//! The figures of a board for programs: JSON with stable addresses, and CSV.

use camino::{Utf8Path, Utf8PathBuf};
use serde::Serialize;

use super::book::Book;
use super::leaves::Page;
use super::slip::{figure_record, kind, source};
use super::tables::csv;
use crate::notebook::{NodeId, Value};
use crate::quantity::Statement;

/// Names of the files, beside the calculation sheet.
const NAMES: [&str; 2] = ["figures.json", "figures.csv"];

/// All that the JSON file says.
#[derive(Serialize)]
struct Whole<'n> {
    format: u8,
    board: &'n str,
    title: &'n str,
    revision: &'n str,
    date: Option<String>,
    figures: Vec<Figure<'n>>,
}

#[derive(Serialize)]
struct Figure<'n> {
    name: &'n str,
    means: &'n str,
    kind: &'static str,
    address: String,
    value: Option<ValueData>,
    says: Option<&'n str>,
    must: Option<&'n str>,
    at: Option<&'n str>,
    source: Option<String>,
    holds: bool,
}

#[derive(Serialize)]
struct ValueData {
    nominal: f64,
    low: Option<f64>,
    high: Option<f64>,
    unit: String,
    shown: String,
}

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
    let whole = Whole {
        format: 1,
        board: &record.id.value,
        title: &record.title.value,
        revision: &record.revision.value,
        date: record.date.as_ref().map(|date| date.value.to_string()),
        figures: nodes.iter().map(|node| figure(book, from, *node)).collect(),
    };
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

fn figure<'n>(book: &Book<'n>, from: &Utf8Path, node: NodeId) -> Figure<'n> {
    let notebook = book.notebook;
    let of = notebook.graph.node(node);
    let record = figure_record(book, node);
    let place = book.place_of(from, node);
    let file = from.file_name().unwrap_or("figures.html");
    let value = notebook.value(node).map(|value| {
        let (low, high) = ends(book, node, value);
        ValueData {
            nominal: value.outcome.nominal,
            low,
            high,
            unit: value.dimension.coherent_symbol(),
            shown: value.shown().to_string(),
        }
    });
    Figure {
        name: &of.name,
        means: &of.means,
        kind: kind(book, node),
        address: if place.starts_with('#') {
            format!("{file}{place}")
        } else {
            place
        },
        value,
        says: notebook.says(node).map(Statement::text),
        must: notebook.requirement(node).map(Statement::text),
        at: record.and_then(|record| Some(record.at.as_ref()?.value.as_str())),
        source: source(book, node),
        holds: notebook.figure_holds(node),
    }
}
