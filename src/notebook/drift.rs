//! The likely way in which a stated number drifted from its figure.
//!
//! Each guess is checked by computation: the stated text must hold under it.

use std::sync::Arc;

use super::graph::{Graph, NodeId, Origin};
use super::slice::Slice;
use super::value::Value;
use crate::quantity::{Claim, Decimal, Given, Outcome, Statement, Ties};
use crate::record::{Part, Records};
use crate::spread::worst_case;

/// A sentence on how the text likely drifted, the surest explanation first.
pub(super) fn likely(
    graph: &Graph,
    records: &Records,
    values: &[Option<Arc<Value>>],
    node: NodeId,
    stated: &Statement,
) -> Option<String> {
    let value = values.get(node.index())?.as_ref()?;
    let search = Search {
        graph,
        records,
        values,
        node,
        stated,
        outcome: value.outcome,
    };
    search
        .slipped_digit()
        .or_else(|| search.slipped_decade())
        .or_else(|| search.earlier_revision())
        .or_else(|| search.other_part())
        .or_else(|| search.other_meaning())
        .or_else(|| search.other_figure())
}

struct Search<'a> {
    graph: &'a Graph,
    records: &'a Records,
    values: &'a [Option<Arc<Value>>],
    node: NodeId,
    stated: &'a Statement,
    outcome: Outcome,
}

impl<'a> Search<'a> {
    /// Whether the text would hold if the figure came to this, and would be
    /// written so: a bound far from the figure holds of much that has nothing
    /// to do with it.
    fn holds(&self, outcome: Outcome) -> bool {
        outcome.nominal.is_finite()
            && self.stated.misses(outcome).is_empty()
            && (self.is_value() || self.stated.restated(outcome) == self.stated.text())
    }

    /// The number that is stated, where the text states one value.
    fn is_value(&self) -> bool {
        matches!(
            self.stated.claim(),
            Claim::Value { .. } | Claim::Band { .. }
        )
    }

    /// The last digit cut off instead of rounded, or rounded twice.
    fn slipped_digit(&self) -> Option<String> {
        let Claim::Value {
            value: written,
            rough: false,
        } = self.stated.claim()
        else {
            return None;
        };
        let exact = Decimal::from_f64(written.unit.count_of(self.outcome.nominal))?;
        let place = written.decimal.place();
        let same = |decimal: &Decimal| decimal.to_f64() == written.decimal.to_f64();
        let once = exact.rounded(place, Ties::Even);
        if !same(&once)
            && same(&once.stepped(false))
            && exact.to_f64() < once.to_f64()
            && exact.to_f64() > 0.0
        {
            return Some("likely the digits were cut off instead of rounded".into());
        }
        let twice = exact.rounded(place - 1, Ties::Up).rounded(place, Ties::Up);
        (!same(&once) && same(&twice))
            .then(|| "likely it was rounded twice: round once, from the full value".into())
    }

    /// The point or the prefix in the wrong place.
    fn slipped_decade(&self) -> Option<String> {
        let slips: &[(i32, &str)] = &[
            (
                1,
                "likely a decade slip: the stated number is ten times too large",
            ),
            (
                -1,
                "likely a decade slip: the stated number is ten times too small",
            ),
            (
                3,
                "likely a prefix slip: the stated number is a thousand times too large",
            ),
            (
                -3,
                "likely a prefix slip: the stated number is a thousand times too small",
            ),
            (
                9,
                "likely m and M were mixed up: milli is small, mega is large",
            ),
            (
                -9,
                "likely m and M were mixed up: milli is small, mega is large",
            ),
            (
                6,
                "likely a prefix slip: the stated number is a million times too large",
            ),
            (
                -6,
                "likely a prefix slip: the stated number is a million times too small",
            ),
        ];
        if self.stated.main().unit.has_offset() || self.stated.dimension().as_level().is_some() {
            return None;
        }
        slips.iter().find_map(|(power, text)| {
            let factor = 10f64.powi(*power);
            let Outcome { nominal, low, high } = self.outcome;
            let scaled = Outcome {
                nominal: nominal * factor,
                low: low * factor,
                high: high * factor,
            };
            self.holds(scaled).then(|| (*text).to_owned())
        })
    }

    /// What the figure would come to with other given values in the place of
    /// some of its inputs.
    fn outcome_with(&self, other: &dyn Fn(NodeId) -> Option<&'a Given>) -> Option<Outcome> {
        let slice = Slice::of(self.graph, self.node, other)?;
        let nominal = slice.nominal().ok()?;
        // The extremes are only worth their time where the text speaks of them.
        if matches!(self.stated.claim(), Claim::Value { .. }) || slice.inputs.is_empty() {
            return Some(Outcome::exact(nominal));
        }
        let extremes = worst_case(&slice, slice.limits())?;
        Some(Outcome {
            nominal,
            low: extremes.low.value,
            high: extremes.high.value,
        })
    }

    fn part(&self, id: &str) -> Option<&'a Part> {
        self.records.part(id)
    }

    /// A copy of what the figure was in an earlier revision of its board.
    fn earlier_revision(&self) -> Option<String> {
        for (at, board) in self.records.boards.iter().enumerate() {
            for revision in board.revisions.iter().rev() {
                let other = |id: NodeId| {
                    let Origin::Fitted {
                        board,
                        fitted,
                        property,
                        ..
                    } = &self.graph.node(id).origin
                    else {
                        return None;
                    };
                    let designator = &self.records.boards[*board].fitted[*fitted].designator.value;
                    let then = revision
                        .fitted
                        .iter()
                        .find(|line| line.designator.value == *designator);
                    let part = self.part(&then.filter(|_| *board == at)?.part.value)?;
                    part.property(property)
                        .map(|property| &property.given.value)
                };
                let outcome = self.outcome_with(&other)?;
                if outcome.nominal != self.outcome.nominal && self.holds(outcome) {
                    return Some(format!(
                        "likely copied forward: it was so in revision {} of `{}`",
                        revision.id.value, board.id.value
                    ));
                }
            }
        }
        None
    }

    /// A text that was not recomputed when another part was fitted.
    fn other_part(&self) -> Option<String> {
        let slice = Slice::of(self.graph, self.node, &|_| None)?;
        let mut fitted: Vec<(usize, usize)> = Vec::new();
        for &input in &slice.inputs {
            if let Origin::Fitted {
                board,
                fitted: line,
                ..
            } = self.graph.node(input).origin
                && !fitted.contains(&(board, line))
            {
                fitted.push((board, line));
            }
        }
        for (board, line) in fitted {
            let record = &self.records.boards[board];
            let now = self.part(&record.fitted[line].part.value)?;
            for part in self
                .records
                .parts
                .iter()
                .filter(|part| std::ptr::eq(part.kind, now.kind))
            {
                if part.id.value == now.id.value {
                    continue;
                }
                let other = |id: NodeId| match &self.graph.node(id).origin {
                    Origin::Fitted {
                        board: b,
                        fitted: f,
                        property,
                        ..
                    } if (*b, *f) == (board, line) => part
                        .property(property)
                        .map(|property| &property.given.value),
                    _ => None,
                };
                let Some(outcome) = self.outcome_with(&other) else {
                    continue;
                };
                if outcome.nominal != self.outcome.nominal && self.holds(outcome) {
                    let designator = &record.fitted[line].designator.value;
                    let elsewhere = self.graph.node(self.node).scope != record.id.value;
                    let scope = if elsewhere {
                        format!("{}.", record.id.value)
                    } else {
                        String::new()
                    };
                    return Some(format!(
                        "likely not recomputed: it would hold with `{scope}{designator}` = `{}`, where `{}` is fitted",
                        part.id.value, now.id.value
                    ));
                }
            }
        }
        None
    }

    /// An extreme stated as if it were the nominal value.
    fn other_meaning(&self) -> Option<String> {
        let Outcome { low, high, .. } = self.outcome;
        if !self.is_value() || low == high {
            return None;
        }
        let which = [(low, "least"), (high, "greatest")];
        which.into_iter().find_map(|(extreme, word)| {
            self.holds(Outcome { nominal: extreme, low, high })
                .then(|| format!("likely another meaning: it is the {word} value at worst case, not the nominal one"))
        })
    }

    /// Two numbers swapped, or the wrong figure linked.
    fn other_figure(&self) -> Option<String> {
        let node = self.graph.node(self.node);
        let dimension = self.values[self.node.index()].as_ref()?.dimension;
        self.graph.iter().find_map(|(id, other)| {
            let is_figure = matches!(other.origin, Origin::Figure { .. } | Origin::Working { .. });
            if id == self.node || other.scope != node.scope || !is_figure {
                return None;
            }
            let value = self.values.get(id.index())?.as_ref()?;
            let same = value.dimension == dimension && self.holds(value.outcome);
            same.then(|| {
                format!(
                    "likely the wrong figure: it is what `{}` comes to",
                    other.name
                )
            })
        })
    }
}
