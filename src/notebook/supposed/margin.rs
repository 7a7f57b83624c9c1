//! How much room is left before something that has to hold no longer does.

use super::super::graph::{NodeId, Origin};
use super::super::{Notebook, evaluate, recorded};
use super::Supposed;
use crate::quantity::{Claim, Outcome, Shown, Statement, Unit, shown_digits};

/// Something that has to hold.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Held {
    /// What a node must be.
    Must(NodeId),
    /// A relation: board and position.
    Relation(usize, usize),
    /// What a working asks for: board, and position among what the workings of
    /// the board ask.
    Asked(usize, usize),
    /// A rating of a part in a circuit: board and position.
    Rating(usize, usize),
}

/// How much room something leaves, in coherent SI units; below zero where it does
/// not hold.
#[derive(Clone, Debug)]
pub struct Margin {
    /// What has to hold.
    pub held: Held,
    /// Its name: `charge_slow`, `fuse_carries_fastest`.
    pub name: String,
    /// What is asked of it: `180 mA to 212 mA`.
    pub asked: String,
    /// Room now.
    pub now: Option<f64>,
    /// Room as it would be.
    pub would_be: Option<f64>,
    /// Unit of what has to hold, for differences.
    unit: Unit,
}

impl Margin {
    /// Room in words: three digits.
    pub fn shown(&self, room: f64) -> Shown {
        shown_digits(room, 3, &self.unit)
    }
}

/// Room that a statement leaves; `None` where its numbers say nothing.
fn room(must: &Statement, outcome: Outcome) -> Option<f64> {
    let (low, high) = must.limits();
    let (least, most) = match must.claim() {
        Claim::Value { .. } => (outcome.nominal, outcome.nominal),
        _ => (outcome.low, outcome.high),
    };
    let room = (least - low).min(high - most);
    room.is_finite().then_some(room)
}

impl Notebook {
    /// The room that something leaves here.
    fn room(&self, held: &Held) -> Option<f64> {
        match *held {
            Held::Must(node) => room(self.requirement(node)?, self.value(node)?.outcome),
            Held::Relation(board, at) => {
                let sides = self.comparisons.get(board)?.relations.get(at)?.as_ref()?;
                self.room_between(sides)
            }
            Held::Asked(board, at) => {
                let (.., sides) = self.comparisons.get(board)?.workings.get(at)?;
                self.room_between(sides)
            }
            Held::Rating(board, at) => {
                let stress = self.comparisons.get(board)?.stresses.get(at)?;
                let (rating, reached) = (self.value(stress.rating)?, self.value(stress.stress)?);
                let most = reached.outcome.high.abs().max(reached.outcome.low.abs());
                Some(rating.outcome.low - most)
            }
        }
    }

    pub(in super::super) fn room_between(&self, sides: &super::super::Sides) -> Option<f64> {
        let difference = evaluate::difference_of(&self.graph, sides.left, sides.right)?;
        Some(match sides.comparator.wants_less() {
            true => -difference.high,
            false => difference.low,
        })
    }
}

impl Supposed {
    /// Room before and after of all that hangs on what has moved; the smallest in
    /// proportion to what it was comes first. Relations of a notebook that had to
    /// be proved anew are not among them unless they stand where they stood.
    pub fn margins(&self, was: &Notebook) -> Vec<Margin> {
        let moved = |node: NodeId| self.moved.iter().any(|(before, _)| *before == node);
        let mut held = Vec::new();
        for &(node, _) in &self.moved {
            if recorded::must(&was.graph, &was.records, node).is_some() {
                held.push((Held::Must(node), was.value(node).map(|value| &value.unit)));
            }
        }
        for (board, comparisons) in was.comparisons.iter().enumerate() {
            let moves = |sides: &super::super::Sides| {
                let sides = [sides.left, sides.right];
                let mut operands = sides.iter().flat_map(|side| was.graph.operands(*side));
                operands.any(|operand| moved(*operand))
            };
            let unit = |sides: &super::super::Sides| was.value(sides.left).map(|value| &value.unit);
            for (at, sides) in comparisons.relations.iter().enumerate() {
                if let Some(sides) = sides.as_ref().filter(|sides| moves(sides)) {
                    held.push((Held::Relation(board, at), unit(sides)));
                }
            }
            for (at, (.., sides)) in comparisons.workings.iter().enumerate() {
                if moves(sides) {
                    held.push((Held::Asked(board, at), unit(sides)));
                }
            }
            for (at, stress) in comparisons.stresses.iter().enumerate() {
                if moved(stress.rating) || moved(stress.stress) {
                    let value = was.value(stress.rating);
                    held.push((Held::Rating(board, at), value.map(|value| &value.unit)));
                }
            }
        }
        let mut margins: Vec<Margin> = held
            .into_iter()
            .filter_map(|(held, unit)| {
                let (name, asked) = self.named(was, &held)?;
                let there = match &held {
                    Held::Must(node) => Held::Must(self.twin(was, *node)?),
                    other => other.clone(),
                };
                Some(Margin {
                    now: was.room(&held),
                    would_be: self.notebook.room(&there),
                    held,
                    name,
                    asked,
                    unit: unit?.for_difference(),
                })
            })
            .filter(|margin| margin.now.is_some() || margin.would_be.is_some())
            .collect();
        let left = |margin: &Margin| match (margin.now, margin.would_be) {
            (Some(now), Some(would_be)) if now != 0.0 => would_be / now.abs(),
            _ => 0.0,
        };
        margins.sort_by(|a, b| {
            left(a)
                .total_cmp(&left(b))
                .then_with(|| a.held.cmp(&b.held))
        });
        margins
    }

    /// What something that has to hold is called, and what is asked.
    fn named(&self, was: &Notebook, held: &Held) -> Option<(String, String)> {
        let board = |at: usize| was.records.boards.get(at);
        Some(match *held {
            Held::Must(node) => {
                let must = was.requirement(node)?;
                (
                    was.graph.node(node).full_name(),
                    format!("must be {}", must.text()),
                )
            }
            Held::Relation(at, relation) => {
                let record = board(at)?.relations.get(relation)?;
                (
                    format!("{}.{}", board(at)?.id.value, record.id.value),
                    record.holds.value.clone(),
                )
            }
            Held::Asked(at, number) => {
                let (working, holding, _) = was.comparisons.get(at)?.workings.get(number)?;
                let record = board(at)?.workings.get(*working)?;
                let holds = &was.graph.working(at, *working)?.plan.holds;
                let name = format!("{}.{}", board(at)?.id.value, record.id.value);
                (name, holds.get(*holding)?.comparison.clone())
            }
            Held::Rating(at, number) => {
                let stress = was.comparisons.get(at)?.stresses.get(number)?;
                let (rating, reached) =
                    (was.graph.node(stress.rating), was.graph.node(stress.stress));
                debug_assert!(matches!(reached.origin, Origin::Circuit { .. }));
                (reached.full_name(), format!("at most {}", rating.name))
            }
        })
    }
}
