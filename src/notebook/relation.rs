//! Relations, cautions and ratings: what holds between figures, at worst case.

use super::build::{BoardComparisons, Sides};
use super::compare::{Comparing, plain, spread};
use super::graph::{NodeId, Origin};
use super::slice::Slice;
use super::value::Value;
use crate::finding::{Finding, Place, Slug};
use crate::spread::worst_case;

impl Comparing<'_> {
    /// Holds relations at worst case, and cautions to their causes.
    pub fn comparisons(&mut self, board: usize, comparisons: &BoardComparisons) {
        let record = &self.records.boards[board];
        for (relation, sides) in record.relations.iter().zip(&comparisons.relations) {
            let what = (relation.id.value.as_str(), relation.means.value.as_str());
            self.relation(what, &relation.holds.place, sides.as_ref());
        }
        for (working, number, sides) in &comparisons.workings {
            let records = self.records;
            let record = &records.boards[board].workings[*working];
            let worked = self.graph.working(board, *working);
            let holding = worked.and_then(|worked| worked.plan.holds.get(*number));
            if let Some(means) = holding.map(|holding| holding.means.clone()) {
                let place = self.graph.node(sides.left).place.clone();
                self.relation((&record.id.value, &means), &place, Some(sides));
            }
        }
        for (caution, sides) in record.cautions.iter().zip(&comparisons.cautions) {
            let Some((sides, least, most)) =
                self.difference(sides.as_ref(), &caution.because.place)
            else {
                continue;
            };
            let best = if sides.comparator.wants_less() {
                least
            } else {
                most
            };
            if sides.comparator.holds(best, noise(least, most)) {
                continue;
            }
            let (left, right) = (sides.left, sides.right);
            let shown = |node: NodeId| self.value(node).map_or_else(String::new, spread);
            let finding = Finding::new(
                Slug::CautionWithoutCause,
                format!(
                    "the caution `{}` stands, and what makes it true does not",
                    caution.id.value
                ),
            )
            .at(
                caution.because.place.clone(),
                format!(
                    "{} is not {} {}",
                    shown(left),
                    sides.comparator.sign(),
                    shown(right)
                ),
            )
            .help("take the caution away, or say what else makes it true");
            self.struck.extend([left, right]);
            self.findings.push(finding);
        }
    }

    /// Holds a relation, or what a working asks for, at worst case; `what` is its
    /// name and what it means.
    fn relation(&mut self, what: (&str, &str), place: &Place, sides: Option<&Sides>) {
        let Some((sides, least, most)) = self.difference(sides, place) else {
            return;
        };
        let worst = if sides.comparator.wants_less() {
            most
        } else {
            least
        };
        if sides.comparator.holds(worst, noise(least, most)) {
            return;
        }
        let (left, right) = (sides.left, sides.right);
        let text = |node: NodeId| {
            self.value(node).map_or_else(String::new, |value| {
                format!("`{}` is {}", self.graph.node(node).name, spread(value))
            })
        };
        let (id, means) = what;
        let finding = Finding::new(
            Slug::RelationBroken,
            format!("`{id}` does not hold at worst case: {means}"),
        )
        .at(place.clone(), "compared here")
        .at(self.graph.node(left).place.clone(), text(left))
        .at(self.graph.node(right).place.clone(), text(right));
        self.findings.push(finding);
        self.struck.extend([left, right]);
        let operands = [left, right]
            .into_iter()
            .flat_map(|side| self.graph.operands(side).to_vec());
        let blamed: Vec<NodeId> = operands
            .filter(|&id| {
                let origin = &self.graph.node(id).origin;
                matches!(
                    origin,
                    Origin::Figure { .. }
                        | Origin::Working {
                            result: Some(_),
                            ..
                        }
                )
            })
            .collect();
        self.blamed.extend(blamed);
    }

    /// Holds the stress of every part in a circuit to its rating.
    pub fn ratings(&mut self, comparisons: &BoardComparisons) {
        for stress in &comparisons.stresses {
            if !self.concerns(stress.rating) && !self.concerns(stress.stress) {
                continue;
            }
            let (Some(rating), Some(value)) =
                (self.value(stress.rating), self.value(stress.stress))
            else {
                continue;
            };
            let most = value.outcome.high.abs().max(value.outcome.low.abs());
            if most <= rating.outcome.low {
                continue;
            }
            let record = &self.records.boards[stress.board].circuits[stress.circuit];
            let designator = &record.between[stress.part].0;
            let rating_node = self.graph.node(stress.rating);
            let (reached, allowed) = (plain(&value.shown_as(most)), plain(rating.shown()));
            let finding = Finding::new(
                Slug::RatingExceeded,
                format!(
                    "`{}` reaches {reached} in the circuit `{}` at worst case, and is made for {allowed}",
                    designator.value, record.id.value
                ),
            )
            .at(designator.place.clone(), "strained here")
            .at(rating_node.place.clone(), format!("`{}` is {allowed}", rating_node.name))
            .help("fit a part with a higher rating, or take some of the stress off it");
            self.struck.extend([stress.rating, stress.stress]);
            self.findings.push(finding);
        }
    }

    /// Least and greatest difference of the two sides.
    fn difference<'s>(
        &mut self,
        sides: Option<&'s Sides>,
        place: &Place,
    ) -> Option<(&'s Sides, f64, f64)> {
        let sides =
            sides.filter(|sides| self.concerns(sides.left) || self.concerns(sides.right))?;
        let (left, right) = (self.value(sides.left)?, self.value(sides.right)?);
        let (l, r) = (left.dimension, right.dimension);
        if !l.comparable(r) || (l.scale() != r.scale() && l.as_level().is_none()) {
            let text = |node: NodeId, what| {
                (
                    self.graph.node(node).place.clone(),
                    format!("this is {what}"),
                )
            };
            let (left_label, right_label) = (text(sides.left, l), text(sides.right, r));
            let finding = Finding::new(Slug::UnitMismatch, format!("compares {l} with {r}"))
                .at(place.clone(), "these cannot be compared")
                .at(left_label.0, left_label.1)
                .at(right_label.0, right_label.1);
            self.findings.push(finding);
            return None;
        }
        if let Some((least, most)) = from_sides(left, right) {
            return Some((sides, least, most));
        }
        let slice = Slice::of_difference(self.graph, sides.left, sides.right)?;
        if slice.inputs.is_empty() {
            let difference = slice.nominal().ok()?;
            return Some((sides, difference, difference));
        }
        let extremes = worst_case(&slice, slice.limits())?;
        Some((sides, extremes.low.value, extremes.high.value))
    }
}

/// Least and greatest difference of two sides, where one does not vary and the
/// extremes of the other were found at points: a search for the difference
/// would look at the same ones.
fn from_sides(left: &Value, right: &Value) -> Option<(f64, f64)> {
    let fixed = |value: &Value| value.worst.low == value.worst.high;
    let at_points = |value: &Value| {
        let extremes = value.extremes.as_ref();
        extremes.is_some_and(|both| both.low.gap.is_none() && both.high.gap.is_none())
    };
    let found = (fixed(right) && at_points(left)) || (fixed(left) && at_points(right));
    let (left, right) = (left.worst, right.worst);
    found.then_some((left.low - right.high, left.high - right.low))
}

/// What floats leave over of a difference that should be zero.
fn noise(least: f64, most: f64) -> f64 {
    1e-12 * least.abs().max(most.abs())
}
