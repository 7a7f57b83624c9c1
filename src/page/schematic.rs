//! A circuit as a drawn schematic, with the voltages of its nodes.

use camino::Utf8Path;

use super::book::Book;
use super::circuit::{Solved, amount, solve, table};
use super::leaves::Page;
use super::markup::escaped;
use crate::draw::{Caption, Drawing, Element, NodeLabel, Symbol, schematic};
use crate::notebook::NodeId;
use crate::quantity::Dimension;
use crate::record::Drive;

/// Properties that say how large a part is, the first that it has.
const SIZES: [&str; 5] = [
    "value",
    "zener_voltage",
    "forward_voltage",
    "dc_resistance",
    "resistance",
];

/// A circuit among the words of a sheet: its drawing with a caption, and
/// behind it what it shows as a table. `id` is told apart from every other on
/// the page.
pub(crate) fn figure(
    book: &Book<'_>,
    from: &Utf8Path,
    (board, at): (usize, usize),
    id: &str,
    caption: &str,
) -> String {
    let record = &book.notebook.records.boards[board].circuits[at];
    let solved = solve(book.notebook, board, at);
    let caption = match caption {
        "" => title(book, board, at),
        caption => caption.to_owned(),
    };
    let place = format!("circuit-{}", record.id.value);
    format!(
        "<figure class=\"drawn\">{}<figcaption>{}\
         <details class=\"data\"><summary>Parts and voltages as a table</summary>{}\
         <p><a href=\"{}\">The circuit on the workings sheet</a></p></details></figcaption></figure>",
        svg(book, from, (board, at), id, solved.as_ref()),
        escaped(&caption),
        table(book, from, (board, at), solved.as_ref()),
        escaped(&book.part_of_page(from, Page::Workings(board), &place)),
    )
}

/// What a circuit is for: its own words, or its id.
pub(crate) fn title(book: &Book<'_>, board: usize, at: usize) -> String {
    let record = &book.notebook.records.boards[board].circuits[at];
    let means = record.means.as_ref();
    means.map_or_else(
        || format!("Circuit {}", record.id.value),
        |means| means.value.clone(),
    )
}

/// The drawing of a circuit. What could not be solved is drawn without
/// voltages.
pub(crate) fn svg(
    book: &Book<'_>,
    from: &Utf8Path,
    (board, at): (usize, usize),
    id: &str,
    solved: Option<&Solved<'_>>,
) -> String {
    let drawing = drawing(book, from, (board, at), solved);
    let caption = Caption {
        id: id.to_owned(),
        title: format!("Schematic: {}", title(book, board, at)),
        description: words(&drawing),
    };
    schematic(&drawing, &caption).svg
}

fn drawing(
    book: &Book<'_>,
    from: &Utf8Path,
    (board, at): (usize, usize),
    solved: Option<&Solved<'_>>,
) -> Drawing {
    let record = &book.notebook.records.boards[board];
    let circuit = &record.circuits[at];
    let parts = circuit.between.iter().map(|(designator, nodes)| {
        let name = &designator.value;
        let line = record
            .fitted
            .iter()
            .find(|line| line.designator.value == *name);
        let part = line.and_then(|line| book.notebook.records.part(&line.part.value));
        let closed = circuit.closed.iter().any(|closed| closed.value == *name);
        let kind = part.map_or("", |part| part.kind.name);
        let nodes = nodes.iter().map(|node| node.value.as_str());
        let size = size(book, board, name);
        let value = size.and_then(|node| book.notebook.value(node));
        let value = value.map_or_else(String::new, |value| {
            amount(Some(value.outcome.nominal), value.dimension)
        });
        let mut element = Element::new(name, symbol(kind, closed), nodes, value);
        element.href = size.map(|node| book.place_of(from, node));
        element.amiss = book.is_amiss(&designator.place);
        element
    });
    let drives = circuit.drives.iter().map(|drive| {
        let ground = &circuit.ground;
        let (into, out_of) = (
            drive.into.value.as_str(),
            drive.from.as_ref().unwrap_or(ground).value.as_str(),
        );
        let (symbol, nodes) = if drive.is_current {
            (Symbol::CurrentSource, [out_of, into])
        } else {
            (Symbol::VoltageSource, [into, out_of])
        };
        let driven = solved.map_or_else(String::new, |solved| driven(drive, solved));
        Element::new(&drive.name.value, symbol, nodes, driven)
    });
    // Nodes in the order of the record; the ground's voltage is zero by its
    // name.
    let mut labels = Vec::new();
    let named = circuit.between.iter().flat_map(|(_, nodes)| nodes);
    let named = named.chain(circuit.drives.iter().map(|drive| &drive.into));
    for node in named {
        let name = node.value.as_str();
        if labels.iter().any(|label: &NodeLabel| label.node == name) {
            continue;
        }
        let voltage = solved
            .and_then(|solved| solved.point.voltage(name).ok())
            .filter(|_| name != circuit.ground.value);
        let voltage = voltage.map(|voltage| amount(Some(voltage), Dimension::VOLTAGE));
        labels.push(NodeLabel::new(name, voltage.unwrap_or_default()));
    }
    Drawing {
        elements: parts.chain(drives).collect(),
        ground: circuit.ground.value.clone(),
        labels,
    }
}

/// What a part of a kind is drawn as.
fn symbol(kind: &str, closed: bool) -> Symbol {
    match kind {
        "resistor" => Symbol::Resistor,
        "capacitor" => Symbol::Capacitor,
        "inductor" => Symbol::Inductor,
        "fuse" => Symbol::Fuse,
        "switch" => Symbol::Switch { closed },
        "diode" => Symbol::Diode,
        "zener" => Symbol::Zener,
        "led" => Symbol::Led,
        "operational-amplifier" => Symbol::Amplifier,
        "speaker" => Symbol::Loudspeaker,
        _ => Symbol::Other,
    }
}

/// The property that says how large a part is, where it has one.
pub(crate) fn size(book: &Book<'_>, board: usize, designator: &str) -> Option<NodeId> {
    let scope = &book.notebook.records.boards[board].id.value;
    SIZES.iter().find_map(|property| {
        let name = match *property {
            "value" => designator.to_owned(),
            property => format!("{designator}.{property}"),
        };
        book.notebook.graph.find(scope, &name)
    })
}

/// What a source delivers: a steady value, a sine, or both.
fn driven(drive: &Drive, solved: &Solved<'_>) -> String {
    let (quantity, dimension) = if drive.is_current {
        ("current", Dimension::CURRENT)
    } else {
        ("voltage", Dimension::VOLTAGE)
    };
    let of = |what: &str| solved.parameter(&drive.name.value, what);
    let steady = of(quantity).unwrap_or_default();
    let amplitude = of("amplitude").unwrap_or_default();
    let sine = || format!("{} AC", amount(Some(amplitude), dimension));
    match (steady == 0.0, amplitude == 0.0) {
        (_, true) => amount(Some(steady), dimension),
        (true, false) => sine(),
        (false, false) => format!("{} + {}", amount(Some(steady), dimension), sine()),
    }
}

/// The drawing in words: `R2 (resistor, 47 kΩ) between cell and gate. …`
fn words(drawing: &Drawing) -> String {
    let mut out = String::new();
    for element in &drawing.elements {
        let value = match element.value.as_str() {
            "" => String::new(),
            value => format!(", {value}"),
        };
        let (last, others) = match element.nodes.as_slice() {
            [others @ .., last] if !others.is_empty() => (last.as_str(), others.join(", ")),
            [only] => (only.as_str(), String::new()),
            _ => ("", String::new()),
        };
        let nodes = match (last, others.as_str()) {
            ("", _) => String::new(),
            (last, "") => format!(" at {last}"),
            (last, others) => format!(" between {others} and {last}"),
        };
        let (name, kind) = (&element.name, element.symbol.name());
        out += &format!("{name} ({kind}{value}){nodes}. ");
    }
    let voltages: Vec<String> = drawing
        .labels
        .iter()
        .filter(|label| !label.value.is_empty())
        .map(|label| format!("{} {}", label.name, label.value))
        .collect();
    if !voltages.is_empty() {
        out += &format!(
            "Voltages against {}: {}.",
            drawing.ground,
            voltages.join(", ")
        );
    }
    out.trim_end().to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_drawing_is_told_in_words() {
        let drawing = Drawing {
            elements: vec![
                Element::new("R2", Symbol::Resistor, ["cell", "gate"], "47 kΩ"),
                Element::new("U1", Symbol::Amplifier, ["a", "b", "out"], ""),
                Element::new("X1", Symbol::Other, ["tab"], ""),
            ],
            ground: "gnd".to_owned(),
            labels: vec![NodeLabel::new("cell", "3 V"), NodeLabel::new("gnd", "")],
        };
        assert_eq!(
            words(&drawing),
            "R2 (resistor, 47 kΩ) between cell and gate. \
             U1 (operational amplifier) between a, b and out. X1 (part) at tab. \
             Voltages against gnd: cell 3 V."
        );
    }
}
