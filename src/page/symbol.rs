//! Letter symbols for what has no symbol of its own in the records.
//!
//! Quantity symbols follow the dimension (IEC 60027-1 and ISO 80000-1, V for
//! voltage as the trade writes it), subscripts the name. The symbols of
//! properties are those that data sheets use; both from memory.

use std::borrow::Cow;
use std::collections::HashSet;

use rayon::prelude::*;

use crate::formula::symbol_mathml;
use crate::notebook::{Node, NodeId, Notebook, Origin};
use crate::quantity::Dimension;

use super::markup::escaped;

/// The symbol of every node as MathML, by the node's number.
pub(crate) fn symbols(notebook: &Notebook) -> Vec<String> {
    let nodes: Vec<(NodeId, &Node)> = notebook.graph.iter().collect();
    let dimension = |id| notebook.value(id).map(|value| value.dimension);
    let symbols = nodes.par_iter().map(|(id, node)| {
        let written = own(notebook, node);
        written.unwrap_or_else(|| made(node, dimension(*id), true))
    });
    let mut symbols: Vec<String> = symbols.collect();
    let mut taken: HashSet<(&str, Cow<'_, str>)> = HashSet::with_capacity(nodes.len());
    let mut longer = Vec::new();
    for (at, ((id, node), symbol)) in nodes.into_iter().zip(&symbols).enumerate() {
        // Two names that would look alike are written out.
        if !taken.insert((&node.scope, symbol.into())) {
            let symbol = made(node, dimension(id), false);
            taken.insert((&node.scope, symbol.clone().into()));
            longer.push((at, symbol));
        }
    }
    drop(taken);
    for (at, symbol) in longer {
        symbols[at] = symbol;
    }
    symbols
}

/// The symbol that the record gives.
fn own(notebook: &Notebook, node: &Node) -> Option<String> {
    let Origin::Figure { board, figure } = node.origin else {
        return None;
    };
    let record = &notebook.records.boards[board].figures[figure];
    let symbol = &record.symbol.as_ref()?.value;
    // A Greek or Latin letter alone is a symbol, not a word.
    if symbol.chars().count() == 1 {
        return Some(format!("<mi>{}</mi>", escaped(symbol)));
    }
    Some(symbol_mathml(symbol))
}

fn made(node: &Node, dimension: Option<Dimension>, short: bool) -> String {
    if let Origin::Fitted { property, .. } = &node.origin {
        let designator = node.name.split('.').next().unwrap_or(&node.name);
        if !node.name.contains('.') {
            return symbol_mathml(designator);
        }
        if let Some((letter, index)) = of_property(property) {
            let index = if index.is_empty() {
                escaped(designator)
            } else {
                format!("{index},\u{2009}{}", escaped(designator))
            };
            return with_index(letter, &index);
        }
        let (letter, word) = letter_of(dimension);
        let words = without(property, word);
        let index = if words.is_empty() {
            designator.to_owned()
        } else {
            format!("{words},\u{2009}{designator}")
        };
        return with_index(letter, &escaped(&index));
    }
    if let Origin::Circuit { .. } = &node.origin {
        // Of `stand_in.cell.voltage`, the letter says what it is.
        let mut steps = node.name.split('.');
        let (circuit, at) = (steps.next().unwrap_or(""), steps.next().unwrap_or(""));
        let index = format!("{},\u{2009}{}", words_of(at), words_of(circuit));
        return with_index(letter_of(dimension).0, &escaped(&index));
    }
    let (letter, word) = letter_of(dimension);
    let kept = if short {
        without(&node.name, word)
    } else {
        words_of(&node.name)
    };
    if kept.is_empty() {
        format!("<mi>{letter}</mi>")
    } else {
        with_index(letter, &escaped(&kept))
    }
}

fn with_index(letter: &str, index: &str) -> String {
    format!("<msub><mi>{letter}</mi><mtext>{index}</mtext></msub>")
}

fn words_of(name: &str) -> String {
    name.replace('_', " ").replace('.', ": ")
}

/// The words of a name without the one that its letter says already.
fn without(name: &str, word: &str) -> String {
    let words = words_of(name);
    let kept: Vec<&str> = words.split(' ').filter(|kept| *kept != word).collect();
    kept.join(" ")
}

/// Letter of a dimension, and the word that it stands for in names. Ratios and
/// coefficients are k.
fn letter_of(dimension: Option<Dimension>) -> (&'static str, &'static str) {
    const LETTERS: &[(Dimension, &str, &str)] = &[
        (Dimension::CURRENT, "I", "current"),
        (Dimension::VOLTAGE, "V", "voltage"),
        (Dimension::RESISTANCE, "R", "resistance"),
        (Dimension::POWER, "P", "power"),
        (Dimension::CAPACITANCE, "C", "capacitance"),
        (Dimension::INDUCTANCE, "L", "inductance"),
        (Dimension::FREQUENCY, "f", "frequency"),
        (Dimension::TIME, "t", "time"),
        (Dimension::TEMPERATURE, "T", "temperature"),
        (Dimension::TEMPERATURE_DIFFERENCE, "ΔT", "temperature"),
        (Dimension::CHARGE, "Q", "capacity"),
        (Dimension::ENERGY, "E", "energy"),
        (Dimension::LENGTH, "l", "length"),
        (Dimension::MASS, "m", "mass"),
        (Dimension::COUNTS, "N", "counts"),
    ];
    LETTERS
        .iter()
        .find(|(known, ..)| Some(*known) == dimension)
        .map_or(("k", "ratio"), |(_, letter, word)| (*letter, *word))
}

/// Symbol and first subscript of properties as data sheets write them.
fn of_property(name: &str) -> Option<(&'static str, &'static str)> {
    const PROPERTIES: &[(&str, &str, &str)] = &[
        ("capacity", "Q", ""),
        ("contact_resistance", "R", "contact"),
        ("current_gain", "h", "FE"),
        ("current_limit", "I", "lim"),
        ("current_rating", "I", "max"),
        ("dropout", "V", "DO"),
        ("dynamic_resistance", "r", "Z"),
        ("efficiency", "η", ""),
        ("empty_voltage", "V", "empty"),
        ("equivalent_volume", "V", "AS"),
        ("excursion", "x", "max"),
        ("esr", "R", "ES"),
        ("forward_voltage", "V", "F"),
        ("full_voltage", "V", "full"),
        ("gain", "G", ""),
        ("gate_threshold", "V", "GS(th)"),
        ("hold_current", "I", "hold"),
        ("impedance", "Z", ""),
        ("internal_resistance", "R", "int"),
        ("junction_max", "T", "J max"),
        ("leakage", "I", "leak"),
        ("max_charge_current", "I", "chg max"),
        ("max_discharge_current", "I", "dis max"),
        ("nominal_voltage", "V", "nom"),
        ("on_resistance", "R", "DS(on)"),
        ("open_voltage", "V", "OC"),
        ("output_resistance", "R", "out"),
        ("output_voltage", "V", "out"),
        ("peak_current", "I", "MPP"),
        ("peak_power", "P", "MPP"),
        ("peak_voltage", "V", "MPP"),
        ("power_rating", "P", "max"),
        ("precharge_threshold", "V", "pre"),
        ("quiescent", "I", "Q"),
        ("reference", "V", "ref"),
        ("regulation_voltage", "V", "reg"),
        ("resolution", "n", ""),
        ("resonance", "f", "s"),
        ("reverse_leakage", "I", "rev"),
        ("supply_max", "V", "S max"),
        ("supply_min", "V", "S min"),
        ("test_current", "I", "Z"),
        ("thermal_resistance", "R", "th"),
        ("total_q", "Q", "ts"),
        ("trip_current", "I", "trip"),
        ("voltage_rating", "V", "max"),
        ("zener_voltage", "V", "Z"),
    ];
    PROPERTIES
        .iter()
        .find(|(known, ..)| *known == name)
        .map(|(_, letter, index)| (*letter, *index))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_letter_says_what_its_word_would() {
        assert_eq!(without("average_current", "current"), "average");
        assert_eq!(without("current", "current"), "");
        assert_eq!(letter_of(Some(Dimension::CURRENT)), ("I", "current"));
        assert_eq!(letter_of(Some(Dimension::ONE)).0, "k");
        assert_eq!(letter_of(None).0, "k");
    }
}
