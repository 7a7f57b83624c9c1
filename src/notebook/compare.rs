//! Stated text, requirements, validity, relations and cautions, held against
//! what was computed.

use std::sync::Arc;

use std::collections::BTreeSet;

use super::affected::Affected;
use super::build::BoardComparisons;
use super::chance;
use super::drift;
use super::evaluate::{shares_of, shows};
use super::graph::{Body, Graph, NodeId, Origin};
use super::resolve::resolve;
use super::value::Value;
use crate::finding::{Finding, Located, Place, Slug};
use crate::quantity::{Miss, Outcome, Shown, Statement, Unit};
use crate::record::Records;
use crate::spread::{End, Extreme};

/// Everything that comparing looks at.
pub(super) struct Comparing<'a> {
    pub graph: &'a mut Graph,
    pub records: &'a Records,
    pub values: &'a mut Vec<Option<Arc<Value>>>,
    pub findings: &'a mut Vec<Finding>,
    /// Nodes that a finding speaks against.
    pub blamed: &'a mut BTreeSet<NodeId>,
    /// Nodes that a comparison went against, the sides of relations and the
    /// stresses of parts among them.
    pub struck: &'a mut BTreeSet<NodeId>,
    /// Only these nodes are compared, and without a word on where their numbers
    /// come from; all of them, with every word, where there is no such list.
    pub only: Option<&'a Affected>,
}

/// Most inputs that a finding shows places of.
const SHOWN_INPUTS: usize = 3;

impl Comparing<'_> {
    /// Holds everything that records state, require and relate.
    pub fn records(&mut self, comparisons: &[BoardComparisons]) {
        for (board, comparisons) in comparisons.iter().enumerate() {
            self.figures(board);
            self.workings(board);
            self.fixtures(board);
            self.comparisons(board, comparisons);
            self.ratings(comparisons);
        }
    }

    /// Takes note that a finding speaks against a node.
    pub(super) fn blame(&mut self, node: NodeId) {
        self.blamed.insert(node);
        self.struck.insert(node);
    }

    /// Whether a node is to be compared.
    pub(super) fn concerns(&self, node: NodeId) -> bool {
        self.only.is_none_or(|only| only.has(node))
    }

    /// Holds the figures of a board to what they say, must and may be used for.
    pub fn figures(&mut self, board: usize) {
        let record = &self.records.boards[board];
        for figure in &record.figures {
            let Some(node) = self.graph.find(&record.id.value, &figure.id.value) else {
                continue;
            };
            if let Some(unit) = &figure.unit {
                self.unit(node, unit);
            }
            if let Some(says) = &figure.says {
                self.statement(node, &says.value, &says.place);
            }
            if let Some(must) = &figure.must {
                self.requirement(node, &must.value, &must.place);
            }
            for valid in &figure.holds_for {
                match resolve(self.graph, self.records, board, &valid.name.value) {
                    Ok(name) => {
                        self.value_given_late(name);
                        self.validity(node, name, &valid.range.value, &valid.range.place);
                    }
                    Err(unresolved) => {
                        self.findings
                            .extend(unresolved.finding(valid.name.place.clone()));
                    }
                }
            }
        }
    }

    /// A given value that was not named in any formula has no value yet.
    pub fn value_given_late(&mut self, node: NodeId) {
        if self.values.len() < self.graph.len() {
            self.values.resize(self.graph.len(), None);
        }
        if let (None, Body::Given(given)) =
            (&self.values[node.index()], &self.graph.node(node).body)
        {
            let outcome = Outcome {
                nominal: given.nominal(),
                low: given.low(),
                high: given.high(),
            };
            let policy = chance::in_force(self.graph, self.records, node);
            let unit = given.unit().clone();
            let value = Value::of(given.dimension(), outcome, unit, policy);
            self.values[node.index()] = Some(Arc::new(value));
        }
    }

    pub(super) fn value(&self, node: NodeId) -> Option<&Value> {
        self.values.get(node.index())?.as_deref()
    }

    /// Whether a text may be set against a node's value; says so where not.
    fn same_dimension(&mut self, node: NodeId, stated: &Statement, place: &Place) -> bool {
        let Some(value) = self.value(node) else {
            return false;
        };
        let (found, wanted) = (stated.dimension(), value.dimension);
        // A difference stated in °C would be off by 273.
        let point_for_difference =
            found.scale() == crate::quantity::Scale::Point && wanted.scale() != found.scale();
        if found.comparable(wanted) && !point_for_difference {
            return true;
        }
        let name = &self.graph.node(node).name;
        let mut finding = Finding::new(
            Slug::UnitMismatch,
            format!("`{name}` is {wanted}, and the text states {found}"),
        )
        .at(place.clone(), format!("this is {found}"))
        .at(self.source_place(node), format!("this is {wanted}"));
        if point_for_difference {
            finding = finding
                .help("°C is a point on the temperature scale; a difference is written in K");
        }
        self.findings.push(finding);
        self.blame(node);
        false
    }

    /// The unit that a figure is to be shown in against its value.
    fn unit(&mut self, node: NodeId, unit: &Located<Unit>) {
        let Some(value) = self.value(node).filter(|_| self.concerns(node)) else {
            return;
        };
        if shows(&unit.value, value.dimension) {
            return;
        }
        let (name, wanted) = (&self.graph.node(node).name, value.dimension);
        let symbol = unit.value.symbol();
        let finding = Finding::new(
            Slug::UnitMismatch,
            format!("`{name}` is {wanted}, and cannot be shown in {symbol}"),
        )
        .at(
            unit.place.clone(),
            format!("this is {}", unit.value.dimension()),
        )
        .at(self.source_place(node), format!("this is {wanted}"));
        self.findings.push(finding);
        self.blame(node);
    }

    /// Where a node's value comes from: its formula, or the given text.
    fn source_place(&self, node: NodeId) -> Place {
        let node = self.graph.node(node);
        match (&node.body, &node.origin) {
            (Body::Computed(calculation), _) => calculation.place.clone(),
            (_, Origin::Figure { board, figure }) => {
                match &self.records.boards[*board].figures[*figure].body {
                    crate::record::FigureBody::Given(given) => given.place.clone(),
                    crate::record::FigureBody::From(text) => text.place.clone(),
                    crate::record::FigureBody::Measured(measured) => measured.column.place.clone(),
                }
            }
            _ => node.place.clone(),
        }
    }

    /// A stated number against its figure.
    pub fn statement(&mut self, node: NodeId, stated: &Statement, place: &Place) {
        if !self.concerns(node) || !self.same_dimension(node, stated, place) {
            return;
        }
        let Some(value) = self.value(node) else {
            return;
        };
        let outcome = value.outcome;
        let misses = stated.misses(outcome);
        if misses.is_empty() {
            return;
        }
        let name = &self.graph.node(node).name;
        let finer = |miss: Miss, value: f64| stated.missed(miss).finer(value);
        let comes_to = finer(Miss::Rounding, outcome.nominal);
        let message = match misses.as_slice() {
            [Miss::Rounding, ..] => format!(
                "`{name}` is stated as {}, and comes to {comes_to}",
                stated.text()
            ),
            [Miss::TooLow] => format!(
                "`{name}` is stated as {}, and can be as low as {}",
                stated.text(),
                finer(Miss::TooLow, outcome.low)
            ),
            [Miss::TooHigh] => format!(
                "`{name}` is stated as {}, and can be as high as {}",
                stated.text(),
                finer(Miss::TooHigh, outcome.high)
            ),
            _ => format!(
                "`{name}` is stated as {}, and its spread is {}",
                stated.text(),
                spread(value)
            ),
        };
        let restated = stated.restated(outcome);
        let mut finding =
            Finding::new(Slug::FigureDisagrees, message).at(place.clone(), "stated here");
        finding = self.derivation(finding, node);
        let value = self.value(node).filter(|value| value.varies());
        if let Some(value) = value {
            finding = finding.note(format!("at worst case it is {}", spread(value)));
        }
        if let Some(apart) = apart(stated, outcome, &misses) {
            finding = finding.note(apart);
        }
        let explains = self.only.is_none();
        let likely = || drift::likely(self.graph, self.records, self.values, node, stated);
        if let Some(drift) = explains.then(likely).flatten() {
            finding = finding.note(drift);
        }
        finding = finding
            .help(format!("if the records are right, write `{restated}`"))
            .mend(place.clone(), restated);
        self.findings.push(finding);
        self.blame(node);
    }

    /// Adds the formula and the inputs that matter most.
    fn derivation(&self, finding: Finding, node: NodeId) -> Finding {
        if self.only.is_some() {
            return finding;
        }
        let record = self.graph.node(node);
        let mut finding = match &record.body {
            Body::Computed(calculation) => {
                let numbers = calculation.formula.substituted(|at| {
                    let operand = calculation.operands[at];
                    self.value(operand)
                        .map_or_else(String::new, |value| plain(value.shown()))
                });
                finding.at(
                    calculation.place.clone(),
                    format!("computed here: {numbers}"),
                )
            }
            Body::Given(given) => finding.at(
                self.source_place(node),
                format!("given here: {}", given.text()),
            ),
            Body::Solved(_) => finding.at(record.place.clone(), "solved for in this circuit"),
            Body::Stepped(steps) => finding.at(steps.place.clone(), "worked out step by step here"),
            Body::Limit(operands) => match operands.first().map(|&measured| {
                let place = self.source_place(measured);
                (place, self.value(measured).map_or_else(String::new, spread))
            }) {
                Some((place, good)) => {
                    finding.at(place, format!("good boards measure {good} here"))
                }
                None => finding,
            },
            Body::Broken => finding,
        };
        // What a limit hangs on most is what the measured value does.
        let behind = match &record.body {
            Body::Limit(operands) => operands.first().copied().unwrap_or(node),
            _ => node,
        };
        for (input, _) in shares_of(self.graph, self.records, behind)
            .into_iter()
            .take(SHOWN_INPUTS)
        {
            let input = self.graph.node(input);
            // The node itself, when it is given, has its label already.
            let Body::Given(given) = &input.body else {
                continue;
            };
            if input.place == record.place {
                continue;
            }
            let text = format!("`{}` is {}", input.name_from(&record.scope), given.text());
            finding = finding.at(input.place.clone(), text);
        }
        finding
    }

    pub fn requirement(&mut self, node: NodeId, must: &Statement, place: &Place) {
        if !self.concerns(node) || !self.same_dimension(node, must, place) {
            return;
        }
        let Some(value) = self.value(node) else {
            return;
        };
        let misses = must.misses(value.outcome);
        let Some(&miss) = misses.first() else { return };
        let name = &self.graph.node(node).name;
        let (reached, extreme) = match miss {
            Miss::Rounding => (value.outcome.nominal, None),
            Miss::TooLow => (
                value.outcome.low,
                value.extremes.as_ref().map(|extremes| &extremes.low),
            ),
            Miss::TooHigh => (
                value.outcome.high,
                value.extremes.as_ref().map(|extremes| &extremes.high),
            ),
        };
        let reached = must.missed(miss).finer(reached);
        let message = match miss {
            Miss::Rounding => format!("`{name}` must be {}, and comes to {reached}", must.text()),
            _ => format!(
                "`{name}` must be {}, and reaches {reached} at worst case",
                must.text()
            ),
        };
        let mut finding =
            Finding::new(Slug::RequirementMissed, message).at(place.clone(), "required here");
        finding = self.derivation(finding, node);
        if let Some(corner) = extreme.map(|extreme| self.corner(extreme, &value.inputs, node)) {
            finding = finding.note(corner);
        }
        self.findings
            .push(finding.help(
                "change a part or tighten a tolerance; `why` shows which input matters most",
            ));
        self.blame(node);
    }

    /// Where the inputs stand at an extreme: "reached with R1 low".
    fn corner(&self, extreme: &Extreme, inputs: &[NodeId], node: NodeId) -> String {
        let scope = self.graph.node(node).scope.clone();
        let ends: Vec<String> = inputs
            .iter()
            .zip(&extreme.ends)
            .filter_map(|(&input, end)| {
                let name = self.graph.node(input).name_from(&scope);
                match end {
                    End::Low => Some(format!("{name} low")),
                    End::High => Some(format!("{name} high")),
                    End::Between(_) => Some(format!("{name} between its ends")),
                    End::Any => None,
                }
            })
            .collect();
        format!("reached with {}", ends.join(", "))
    }

    fn validity(&mut self, node: NodeId, name: NodeId, range: &Statement, place: &Place) {
        if !self.concerns(name) || !self.same_dimension(name, range, place) {
            return;
        }
        let Some(value) = self.value(name) else {
            return;
        };
        if range.misses(value.outcome).is_empty() {
            return;
        }
        let (figure, inner) = (&self.graph.node(node).name, self.graph.node(name));
        let message = format!(
            "the formula of `{figure}` holds for `{}` from {}, and it is {}",
            inner.name,
            range.text(),
            spread(value)
        );
        let finding = Finding::new(Slug::OutsideValidity, message)
            .at(place.clone(), "valid within this")
            .at(inner.place.clone(), format!("`{}` is set here", inner.name))
            .help("outside its range a formula's result means nothing: use another part or another formula");
        self.findings.push(finding);
        self.blame(node);
        self.struck.insert(name);
    }
}

pub(super) fn plain(shown: &Shown) -> String {
    shown
        .to_string()
        .replace(['\u{a0}', '\u{2009}'], " ")
        .replace('−', "-")
}

/// `184 mA to 209 mA`, or the one value of what does not vary.
pub(super) fn spread(value: &Value) -> String {
    if !value.varies() {
        return plain(value.shown());
    }
    let Outcome { low, high, .. } = value.outcome;
    format!(
        "{} to {}",
        plain(&value.shown_as(low)),
        plain(&value.shown_as(high))
    )
}

/// How far the stated number and the computed one are apart.
fn apart(stated: &Statement, outcome: Outcome, misses: &[Miss]) -> Option<String> {
    let written = stated.main();
    if !misses.contains(&Miss::Rounding)
        || written.unit.has_offset()
        || written.unit.dimension().as_level().is_some()
    {
        return None;
    }
    let share = written.value() / outcome.nominal - 1.0;
    if !share.is_finite() {
        return None;
    }
    // Beyond that a percentage says nothing.
    if !(-0.8..=4.0).contains(&share) {
        return None;
    }
    let percent =
        crate::quantity::shown_digits(share.abs() * 100.0, 2, &crate::quantity::Unit::one());
    let percent = percent.numeral;
    let side = if share > 0.0 { "above" } else { "below" };
    Some(format!(
        "the stated number is {percent} % {side} the computed one"
    ))
}
