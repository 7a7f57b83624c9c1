//! Circuits on a sheet of workings: their parts, and what flows where.

use std::fmt::Write;

use camino::{Utf8Path, Utf8PathBuf};
use serde::Serialize;

use super::book::Book;
use super::markup::escaped;
use super::numbers::typeset;
use super::{response, schematic};
use crate::circuit::{Compiled, OperatingPoint};
use crate::notebook::Notebook;
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
    pub drawing_svg: String,
    pub responses_html: Vec<String>,
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

/// A network at its nominal operating point.
pub(crate) struct Solved<'n> {
    pub compiled: &'n Compiled,
    pub parameters: Vec<f64>,
    pub point: OperatingPoint<'n>,
}

impl Solved<'_> {
    /// Nominal value of a parameter of an element.
    pub fn parameter(&self, element: &str, name: &str) -> Option<f64> {
        let at = self.compiled.parameter(element, name)?;
        self.parameters.get(at).copied()
    }
}

/// Solves a circuit at the nominal values of its parts; `None` where that
/// cannot be done, of which there is a finding.
pub(crate) fn solve(notebook: &Notebook, board: usize, at: usize) -> Option<Solved<'_>> {
    let network = notebook.graph.network(board, at)?;
    let parameters = network.nominal(|node| Some(notebook.value(node)?.outcome.nominal))?;
    let compiled = network.compiled.as_ref();
    let point = compiled.operating_point(&parameters).ok()?;
    Some(Solved {
        compiled,
        parameters,
        point,
    })
}

/// The view of a circuit, at its nominal operating point. The tables behind
/// its plots go to `files`.
pub(crate) fn view(
    book: &Book<'_>,
    from: &Utf8Path,
    (board, at): (usize, usize),
    zone: String,
    files: &mut Vec<(Utf8PathBuf, String)>,
) -> CircuitView {
    let notebook = book.notebook;
    let record = &notebook.records.boards[board].circuits[at];
    let solved = solve(notebook, board, at);
    let name = &record.id.value;
    let id = format!("Schematic-{name}");
    CircuitView {
        id: format!("circuit-{name}"),
        zone,
        name: name.clone(),
        title: schematic::title(book, board, at),
        lead: format!(
            "Circuit {name}, solved at the nominal values of its parts. Voltages count from {}.",
            record.ground.value
        ),
        drawing_svg: schematic::svg(book, from, (board, at), &id, solved.as_ref()),
        responses_html: response::plots(book, from, (board, at), solved.as_ref(), files),
        parts: parts(book, from, (board, at), solved.as_ref()),
        nodes: nodes(solved.as_ref()),
    }
}

/// Parts and nodes of a circuit as tables, for where no template writes them.
pub(crate) fn table(
    book: &Book<'_>,
    from: &Utf8Path,
    place: (usize, usize),
    solved: Option<&Solved<'_>>,
) -> String {
    let head = |names: &[&str]| {
        let cells = names
            .iter()
            .map(|name| format!("<th scope=\"col\">{name}</th>"));
        format!("<thead><tr>{}</tr></thead>", cells.collect::<String>())
    };
    let mut html = String::from(
        "<div class=\"table\" tabindex=\"0\" role=\"group\" aria-label=\"Parts of the circuit\"><table>",
    );
    html += &head(&["Part", "Between", "Value", "Current", "Power"]);
    html += "<tbody>";
    for row in parts(book, from, place, solved) {
        let name = escaped(&row.name);
        let name = row.href.map_or_else(
            || name.clone(),
            |href| format!("<a href=\"{}\">{name}</a>", escaped(&href)),
        );
        // Writing to a string does not fail.
        let _ = write!(
            html,
            "<tr><th scope=\"row\">{name}</th><td>{}</td><td class=\"num\">{}</td>\
             <td class=\"num\">{}</td><td class=\"num\">{}</td></tr>",
            escaped(&row.between),
            escaped(&row.value),
            escaped(&row.current),
            escaped(&row.power)
        );
    }
    html += "</tbody></table></div>";
    let nodes = nodes(solved);
    if nodes.is_empty() {
        return html;
    }
    html += "<div class=\"table\" tabindex=\"0\" role=\"group\" aria-label=\"Nodes of the circuit\"><table>";
    html += &head(&["Node", "Voltage"]);
    html += "<tbody>";
    for row in nodes {
        let _ = write!(
            html,
            "<tr><th scope=\"row\">{}</th><td class=\"num\">{}</td></tr>",
            escaped(&row.name),
            escaped(&row.voltage)
        );
    }
    html + "</tbody></table></div>"
}

fn parts(
    book: &Book<'_>,
    from: &Utf8Path,
    (board, at): (usize, usize),
    solved: Option<&Solved<'_>>,
) -> Vec<PartRow> {
    let notebook = book.notebook;
    let record = &notebook.records.boards[board];
    let circuit = &record.circuits[at];
    let flow = |name: &str| {
        let current = solved.and_then(|solved| solved.point.current(name).ok());
        let power = solved.and_then(|solved| solved.point.power(name).ok());
        (
            amount(current, Dimension::CURRENT),
            amount(power, Dimension::POWER),
        )
    };
    let mut rows: Vec<PartRow> = Vec::new();
    for (designator, nodes) in &circuit.between {
        let name = &designator.value;
        let (current, power) = flow(name);
        let node = schematic::size(book, board, name);
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
            value: match &drive.amplitude {
                None => drive.steady.value.clone(),
                Some(amplitude) => {
                    format!("{}, amplitude {}", drive.steady.value, amplitude.value)
                }
            },
            current,
            power,
        });
    }
    rows
}

fn nodes(solved: Option<&Solved<'_>>) -> Vec<NodeRow> {
    let voltages = solved
        .into_iter()
        .flat_map(|solved| solved.point.voltages());
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
