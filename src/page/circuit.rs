//! Circuits on a calculation sheet: their parts, and what flows where.

use camino::Utf8Path;
use serde::Serialize;

use super::book::Book;
use super::numbers::typeset;
use crate::circuit::OperatingPoint;
use crate::notebook::{Network, Notebook};
use crate::quantity::{Dimension, Unit, fitted_unit, shown_digits};

/// Digits of what flows in a circuit; its figures have their spread elsewhere.
const DIGITS: u32 = 3;

/// A circuit.
#[derive(Debug, Serialize)]
pub(crate) struct CircuitView {
    pub id: String,
    pub zone: String,
    pub name: String,
    pub title: String,
    pub lead: String,
    pub drawing_html: Option<String>,
    pub parts: Vec<PartRow>,
    pub nodes: Vec<NodeRow>,
}

/// A part or a source of a circuit.
#[derive(Debug, Serialize)]
pub(crate) struct PartRow {
    pub name: String,
    pub href: Option<String>,
    pub between: String,
    pub value: String,
    pub current: String,
    pub power: String,
}

/// A node of a circuit.
#[derive(Debug, Serialize)]
pub(crate) struct NodeRow {
    pub name: String,
    pub voltage: String,
}

/// The view of a circuit, at its nominal operating point.
pub(crate) fn view(
    book: &Book<'_>,
    from: &Utf8Path,
    board: usize,
    at: usize,
    zone: String,
) -> CircuitView {
    let notebook = book.notebook;
    let record = &notebook.records.boards[board].circuits[at];
    let network = notebook.graph.network(board, at);
    let solved = network.and_then(|network| {
        let parameters = nominal(notebook, network)?;
        network.compiled.operating_point(&parameters).ok()
    });
    let name = &record.id.value;
    CircuitView {
        id: format!("circuit-{name}"),
        zone,
        name: name.clone(),
        title: record
            .means
            .as_ref()
            .map_or_else(|| format!("Circuit {name}"), |means| means.value.clone()),
        lead: format!(
            "Circuit `{name}`, solved at the nominal values of its parts. Voltages count from {}.",
            record.ground.value
        )
        .replace('`', ""),
        drawing_html: None,
        parts: parts(book, from, board, at, solved.as_ref()),
        nodes: nodes(solved.as_ref()),
    }
}

/// Nominal values of a network's parameters.
pub(crate) fn nominal(notebook: &Notebook, network: &Network) -> Option<Vec<f64>> {
    network.nominal(|node| Some(notebook.value(node)?.outcome.nominal))
}

fn parts(
    book: &Book<'_>,
    from: &Utf8Path,
    board: usize,
    at: usize,
    solved: Option<&OperatingPoint<'_>>,
) -> Vec<PartRow> {
    let notebook = book.notebook;
    let record = &notebook.records.boards[board];
    let circuit = &record.circuits[at];
    let flow = |name: &str| {
        let current = solved.and_then(|solved| solved.current(name).ok());
        let power = solved.and_then(|solved| solved.power(name).ok());
        (
            amount(current, Dimension::CURRENT),
            amount(power, Dimension::POWER),
        )
    };
    let mut rows: Vec<PartRow> = Vec::new();
    for (designator, nodes) in &circuit.between {
        let name = &designator.value;
        let (current, power) = flow(name);
        let node = notebook.graph.find(&record.id.value, name);
        let line = record
            .fitted
            .iter()
            .find(|line| line.designator.value == *name);
        let part = line.and_then(|line| notebook.records.part(&line.part.value));
        let value = part.and_then(|part| part.property("value"));
        let value = value.map_or_else(
            || part.map_or_else(String::new, |part| part.kind.title.to_lowercase()),
            |value| typeset(value.given.value.text()),
        );
        let between: Vec<&str> = nodes.iter().map(|node| node.value.as_str()).collect();
        rows.push(PartRow {
            name: name.clone(),
            href: node.map(|node| book.place_of(from, node)),
            between: between.join(", "),
            value,
            current,
            power,
        });
    }
    for drive in &circuit.drives {
        let name = &drive.name.value;
        let (current, power) = flow(name);
        let origin = drive.from.as_ref().unwrap_or(&circuit.ground);
        rows.push(PartRow {
            name: name.clone(),
            href: None,
            between: format!("{}, {}", origin.value, drive.into.value),
            value: drive.steady.value.clone(),
            current,
            power,
        });
    }
    rows
}

fn nodes(solved: Option<&OperatingPoint<'_>>) -> Vec<NodeRow> {
    let voltages = solved.into_iter().flat_map(|solved| solved.voltages());
    voltages
        .map(|(name, voltage)| NodeRow {
            name: name.to_owned(),
            voltage: amount(Some(voltage), Dimension::VOLTAGE),
        })
        .collect()
}

/// A value with a unit that suits it; a dash where there is none.
pub(crate) fn amount(value: Option<f64>, dimension: Dimension) -> String {
    let Some(value) = value else {
        return "–".to_owned();
    };
    let unit = fitted_unit(value, &Unit::coherent(dimension));
    shown_digits(value, DIGITS, &unit).to_string()
}
