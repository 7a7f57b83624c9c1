//! Whether a part may stand in for another in its places on one board: yes, no, or
//! ask somebody, with the reason.
//!
//! What is better in one role can be worse in another, so each property is judged
//! by what hangs on it there. One that is worse or merely other does no harm where
//! a requirement hangs on it: the notebook is recomputed, and the requirement
//! answers. Where nothing is required of it nothing answers, and a person has to.
//! Tighter tolerances and higher ratings may stand in for looser and lower ones
//! where case and leads are the same (the rule of MIL-PRF-39001E, 3.23.4).

use std::collections::BTreeSet;

use crate::notebook::{NodeId, Notebook, Origin};
use crate::quantity::Given;
use crate::record::{LifeCycle, Part};

/// An answer.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Verdict {
    /// It may, as far as records tell.
    Yes,
    /// Somebody has to look: the reasons, as phrases.
    Ask(Vec<String>),
    /// It may not: the reason, as a phrase.
    No(String),
}

/// Which way a property is better.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
enum Better {
    More,
    Less,
    /// It has to be the same.
    Same,
}

/// Properties for which more is better, then those for which less is.
const MORE: &[&str] = &[
    "power_rating",
    "voltage_rating",
    "current_rating",
    "hold_current",
    "current_limit",
    "junction_max",
    "supply_max",
    "efficiency",
];
const LESS: &[&str] = &[
    "leakage",
    "reverse_leakage",
    "quiescent",
    "shutdown_current",
    "supply_min",
    "contact_resistance",
    "on_resistance",
    "thermal_resistance",
    "dropout",
    "height",
    "mass",
];

/// What settles which properties of places requirements hang on.
#[derive(Debug)]
pub(super) struct Roles<'n> {
    notebook: &'n Notebook,
    /// Properties of a place on which a requirement hangs.
    answered: BTreeSet<(usize, usize, String)>,
}

impl<'n> Roles<'n> {
    /// Looks through the notebook once.
    pub fn of(notebook: &'n Notebook) -> Roles<'n> {
        let graph = &notebook.graph;
        let mut required: Vec<bool> = graph
            .iter()
            .map(|(id, _)| notebook.requirement(id).is_some())
            .collect();
        let mut mark = |node: NodeId| required[node.index()] = true;
        for comparisons in notebook.comparisons.iter() {
            let relations = comparisons.relations.iter().flatten();
            let workings = comparisons.workings.iter().map(|(_, _, sides)| sides);
            for sides in relations.chain(workings) {
                mark(sides.left);
                mark(sides.right);
            }
        }
        let strained: Vec<_> = (0..notebook.records.boards.len())
            .flat_map(|board| notebook.strains(board))
            .collect();
        for strain in &strained {
            mark(strain.stress);
            mark(strain.rating);
        }
        // Sides of comparisons come behind whatever they compare, so each node is
        // reached before its operands.
        let order: Vec<NodeId> = notebook.in_order().to_vec();
        for &node in order.iter().rev() {
            if required[node.index()] {
                for operand in graph.operands(node) {
                    required[operand.index()] = true;
                }
            }
        }
        let answered = graph.iter().filter(|(id, _)| required[id.index()]);
        let answered = answered.filter_map(|(_, node)| match &node.origin {
            Origin::Fitted {
                board,
                fitted,
                property,
                ..
            } => Some((*board, *fitted, property.clone())),
            _ => None,
        });
        Roles {
            notebook,
            answered: answered.collect(),
        }
    }

    /// Whether `other` may take all the places that `now` has on a board.
    pub fn verdict(&self, board: usize, places: &[usize], now: &Part, other: &Part) -> Verdict {
        if !std::ptr::eq(now.kind, other.kind) {
            return Verdict::No("it is of another kind".into());
        }
        if matches!(other.life, LifeCycle::LastBuy | LifeCycle::Obsolete) {
            return Verdict::No(format!("`{}` is {}", other.id.value, other.life.word()));
        }
        match (&now.package, &other.package) {
            (Some(a), Some(b)) if a.value != b.value => {
                return Verdict::No(format!("its package is {}, not {}", b.value, a.value));
            }
            _ => {}
        }
        let mut asks = Vec::new();
        if now.package.is_none() || other.package.is_none() {
            asks.push("no package is stated".to_owned());
        }
        let named = now.second_sources.iter();
        let is_named = named.into_iter().any(|id| id.value == other.id.value);
        if !is_named {
            match by_kind(now) {
                Verdict::Yes => {}
                Verdict::Ask(reasons) => asks.extend(reasons),
                no @ Verdict::No(_) => return no,
            }
            if now.kind.name == "capacitor" {
                asks.extend(dielectric(now, other));
            }
        }
        for property in &now.properties {
            let name = property.name.value.as_str();
            if name == "price" {
                continue;
            }
            let given = &property.given.value;
            let Some(theirs) = other.property(name) else {
                asks.push(format!("`{}` states no `{name}`", other.id.value));
                continue;
            };
            let Some(worse) = worse(name, given, &theirs.given.value) else {
                continue;
            };
            if places.iter().all(|place| self.answers(board, *place, name)) {
                continue;
            }
            let names = places
                .iter()
                .filter(|place| !self.answers(board, **place, name));
            let names = names.map(|place| {
                let line = &self.notebook.records.boards[board].fitted[*place];
                format!("`{}`", line.designator.value)
            });
            let names: Vec<String> = names.collect();
            asks.push(format!(
                "{worse}, and nothing is required of it at {}",
                names.join(", ")
            ));
        }
        match asks.is_empty() {
            true => Verdict::Yes,
            false => Verdict::Ask(asks),
        }
    }

    /// Whether a requirement hangs on a property of a place.
    fn answers(&self, board: usize, place: usize, property: &str) -> bool {
        self.answered.contains(&(board, place, property.to_owned()))
    }
}

/// What sort of part may stand in by its figures alone.
fn by_kind(now: &Part) -> Verdict {
    match now.kind.name {
        "resistor" | "capacitor" | "inductor" | "diode" | "zener" | "fuse" | "crystal" => Verdict::Yes,
        "led" => Verdict::Ask(vec!["no record states its colour".into()]),
        "connector" | "switch" | "speaker" | "cell" | "panel" | "other" | "module" | "sensor" => {
            Verdict::Ask(vec!["no record states what it mates with and how it is held".into()])
        }
        _ => Verdict::No(
            "its pins and its behaviour are part of what it is; `second_sources` may name what stands in".into(),
        ),
    }
}

/// What is left of a capacitor's value at bias and in heat.
fn dielectric(now: &Part, other: &Part) -> Option<String> {
    match (&now.dielectric, &other.dielectric) {
        (Some(a), Some(b)) if a.value == b.value => None,
        (Some(a), Some(b)) => Some(format!("its dielectric is {}, not {}", b.value, a.value)),
        _ => {
            Some("no dielectric is stated, and it settles what is left of the value at bias".into())
        }
    }
}

/// In what way a property is worse, or other, in a phrase; `None` where it is as
/// good.
fn worse(name: &str, now: &Given, other: &Given) -> Option<String> {
    let far = |a: f64, b: f64| (a - b).abs() > 1e-9 * a.abs().max(b.abs());
    let better = match name {
        name if MORE.contains(&name) => Better::More,
        name if LESS.contains(&name) => Better::Less,
        _ => Better::Same,
    };
    let text = format!("`{name}` is {} instead of {}", other.text(), now.text());
    match better {
        // What counts is what the part is sure to stand, or sure not to exceed.
        Better::More => (other.low() < now.low() && far(other.low(), now.low())).then_some(text),
        Better::Less => {
            (other.high() > now.high() && far(other.high(), now.high())).then_some(text)
        }
        Better::Same if far(other.nominal(), now.nominal()) => Some(text),
        Better::Same => {
            let wider = (other.low() < now.low() && far(other.low(), now.low()))
                || (other.high() > now.high() && far(other.high(), now.high()));
            wider.then(|| format!("the tolerance of {text}"))
        }
    }
}
