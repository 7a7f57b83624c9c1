//! Formulas of what boards use of their module, on the graph of figures.

use std::sync::Arc;

use super::build::Builder;
use super::graph::{Body, Node, NodeId, Origin};
use super::value::Value;
use crate::finding::Located;
use crate::quantity::{Dimension, Outcome};
use crate::record::Records;

/// Nodes of a board's formulas, in the order of its records.
#[derive(Debug, Default)]
pub(super) struct PinNodes {
    pub height: Option<NodeId>,
    /// Of each claim, its frequency.
    pub frequencies: Vec<Option<NodeId>>,
    /// Of each bus, its pull-up and its capacitance.
    pub buses: Vec<(Option<NodeId>, Option<NodeId>)>,
    /// Of each supply, what it gives, its limit, and what is drawn.
    pub supplies: Vec<[Option<NodeId>; 3]>,
}

/// Records with the values of their pins.
pub(super) struct Valued<'a> {
    pub records: &'a Records,
    pub nodes: &'a [PinNodes],
    pub values: &'a [Option<Arc<Value>>],
}

impl Valued<'_> {
    /// What a node comes to at worst case, where it has a value.
    pub fn worst(&self, node: Option<NodeId>) -> Option<Outcome> {
        let value = self.values.get(node?.index())?.as_ref()?;
        Some(value.worst)
    }
}

impl Builder<'_> {
    /// The formulas of a board's pins.
    pub(super) fn pins(&mut self, at: usize) -> PinNodes {
        let records = self.records;
        let Some(pins) = &records.boards[at].pins else {
            return PinNodes::default();
        };
        self.free_pins(at, pins);
        let mut formula = |name: String, means: &str, text: &Option<Located<String>>, wanted| {
            let text = text.as_ref()?;
            Some(self.pin_formula(at, name, means, text, wanted))
        };
        let height = formula(
            "pins.height".into(),
            "Height of the tallest part above the board",
            &pins.height,
            Dimension::LENGTH,
        );
        let mut frequencies = Vec::new();
        for claim in &pins.claims {
            let name = format!("pins.{}.frequency", claim.id.value);
            let means = format!("Frequency: {}", claim.means.value);
            frequencies.push(formula(
                name,
                &means,
                &claim.frequency,
                Dimension::FREQUENCY,
            ));
        }
        let mut buses = Vec::new();
        for bus in &pins.buses {
            let name = |what| format!("pins.{}.{what}", bus.id.value);
            let means = |what| format!("{what} of each line of the bus `{}`", bus.id.value);
            buses.push((
                formula(
                    name("pull_up"),
                    &means("Pull-up"),
                    &bus.pull_up,
                    Dimension::RESISTANCE,
                ),
                formula(
                    name("capacitance"),
                    &means("Capacitance"),
                    &bus.capacitance,
                    Dimension::CAPACITANCE,
                ),
            ));
        }
        let mut supplies = Vec::new();
        for supply in &pins.supplies {
            let contact = &supply.contact.value;
            let name = |what| format!("pins.{contact}.{what}");
            supplies.push([
                formula(
                    name("gives"),
                    &format!("Voltage given at `{contact}`"),
                    &supply.gives,
                    Dimension::VOLTAGE,
                ),
                formula(
                    name("limit"),
                    &format!("Current that may be drawn at `{contact}`"),
                    &supply.limit,
                    Dimension::CURRENT,
                ),
                formula(
                    name("draw"),
                    &format!("Current drawn at `{contact}`"),
                    &supply.draw,
                    Dimension::CURRENT,
                ),
            ]);
        }
        PinNodes {
            height,
            frequencies,
            buses,
            supplies,
        }
    }

    fn pin_formula(
        &mut self,
        at: usize,
        name: String,
        means: &str,
        text: &Located<String>,
        wanted: Dimension,
    ) -> NodeId {
        let node = self.graph.add(Node {
            scope: self.records.boards[at].id.value.clone(),
            name,
            means: means.to_owned(),
            origin: Origin::Pins { board: at },
            place: text.place.clone(),
            body: Body::Broken,
            unit: None,
        });
        self.computed(node, at, text, None, Some(wanted));
        node
    }
}
