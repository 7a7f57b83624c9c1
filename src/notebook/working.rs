//! Workings on the graph: their inputs and results as figures.

use std::collections::HashMap;

use super::build::{Builder, Pending};
use super::compare::Comparing;
use super::graph::{Body, Node, NodeId, Origin, Steps, Worked};
use super::resolve::listed;
use crate::finding::{Finding, Located, Place, Slug};
use crate::formula::Formula;
use crate::nearest::nearest;
use crate::quantity::Dimension;
use crate::record::{WorkingInput, WorkingRecord};
use crate::trade::{self, Bound, Entry, How, Input, Inputs, Takes};

impl Builder<'_> {
    pub(super) fn workings(&mut self, at: usize) {
        let board = &self.records.boards[at];
        for (working, record) in board.workings.iter().enumerate() {
            let Some(kind) = trade::kind(&record.kind.value) else {
                let known: Vec<&str> = trade::KINDS.iter().map(|kind| kind.name()).collect();
                let help = match nearest(&record.kind.value, known.iter().copied()) {
                    Some(near) => format!("perhaps `{near}`"),
                    None => format!("known kinds are {}", listed(&known)),
                };
                self.findings.push(
                    Finding::new(
                        Slug::BadValue,
                        format!("there is no kind of working `{}`", record.kind.value),
                    )
                    .at(record.kind.place.clone(), "not a kind of working")
                    .help(help),
                );
                continue;
            };
            self.working(at, working, record, kind);
        }
    }

    fn working(
        &mut self,
        at: usize,
        working: usize,
        record: &WorkingRecord,
        kind: &'static dyn trade::Kind,
    ) {
        let before = self.findings.len();
        let mut reading = Reading {
            board: at,
            working,
            scope: self.records.boards[at].id.value.clone(),
            record,
            kind: kind.name(),
            nodes: HashMap::new(),
            bounds: Vec::new(),
        };
        let given = reading.group(self, kind.inputs(), &record.inputs, "", &record.id.place);
        // What is missing or misspelt has been told, and what would come of the
        // rest might not be what is meant.
        if !record.left_out.is_empty() || self.findings.len() > before {
            return;
        }
        match kind.plan(&given) {
            Ok(plan) => reading.results(self, given, plan),
            Err(refusals) => {
                for refusal in refusals {
                    let first = refusal.input.split('.').next().unwrap_or_default();
                    let key = record.inputs.iter().find(|(key, _)| key.value == first);
                    let place = key.map_or(&record.id.place, |(key, _)| &key.place);
                    self.findings.push(
                        Finding::new(Slug::BadValue, refusal.message)
                            .at(place.clone(), "this input")
                            .help(refusal.help),
                    );
                }
            }
        }
    }
}

/// A working whose record is being read against its kind.
struct Reading<'r> {
    board: usize,
    working: usize,
    scope: String,
    record: &'r WorkingRecord,
    kind: &'static str,
    /// Nodes of inputs and results by the names that the kind knows them by.
    nodes: HashMap<String, NodeId>,
    /// Inputs whose values have to keep to something.
    bounds: Vec<(NodeId, Bound)>,
}

impl Reading<'_> {
    /// Reads the inputs of a working, or of a group of them whose names begin
    /// with `before`.
    fn group(
        &mut self,
        builder: &mut Builder<'_>,
        inputs: &'static [Input],
        written: &[(Located<String>, WorkingInput)],
        before: &str,
        place: &Place,
    ) -> Inputs {
        let mut given = Inputs::default();
        for (key, _) in written
            .iter()
            .filter(|(key, _)| inputs.iter().all(|input| input.name != key.value))
        {
            self.unknown(builder, inputs, key);
        }
        for input in inputs {
            match written.iter().find(|(key, _)| key.value == input.name) {
                Some((key, value)) => {
                    if let Some(entry) = self.input(builder, input, key, value, before) {
                        given.put(input.name, entry);
                    }
                }
                None if input.optional => {}
                None if self.record.left_out.iter().any(|name| name == input.name) => {}
                None => builder.findings.push(
                    Finding::new(
                        Slug::MissingKey,
                        format!(
                            "the working `{}` lacks `{before}{}`",
                            self.record.id.value, input.name
                        ),
                    )
                    .at(place.clone(), format!("{} is wanted", input.means))
                    .help(format!("add {}", shape(input))),
                ),
            }
        }
        given
    }

    fn unknown(&self, builder: &mut Builder<'_>, inputs: &'static [Input], key: &Located<String>) {
        let names: Vec<&str> = inputs.iter().map(|input| input.name).collect();
        let help = match nearest(&key.value, names.iter().copied()) {
            Some(near) => format!("perhaps `{near}`"),
            None => format!("it takes {}", listed(&names)),
        };
        let message = format!("a working of kind `{}` takes no `{}`", self.kind, key.value);
        builder.findings.push(
            Finding::new(Slug::UnknownKey, message)
                .at(key.place.clone(), "unknown input")
                .help(help),
        );
    }

    /// Reads one input; tells what is wrong with it.
    fn input(
        &mut self,
        builder: &mut Builder<'_>,
        input: &'static Input,
        key: &Located<String>,
        written: &WorkingInput,
        before: &str,
    ) -> Option<Entry> {
        let name = format!("{before}{}", input.name);
        match (&input.takes, written) {
            (Takes::Quantity(dimension), WorkingInput::Text(text)) => {
                let id = self.node(builder, &name, input.means, None, &key.place);
                self.bounds.push((id, input.bound));
                builder.computed(id, self.board, text, None, Some(*dimension));
                Some(Entry::Quantity)
            }
            (Takes::Quantities(dimension, count), WorkingInput::Texts(texts)) => {
                if !count.contains(&texts.len()) {
                    let message = format!("`{name}` has {} values", texts.len());
                    let (least, most) = (count.start(), count.end());
                    builder.findings.push(
                        Finding::new(Slug::BadValue, message)
                            .at(key.place.clone(), "this list")
                            .help(format!("give {least} to {most} of them")),
                    );
                    return None;
                }
                for (at, text) in texts.iter().enumerate() {
                    let means = format!("{}, {}", input.means, at + 1);
                    let name = format!("{name}_{}", at + 1);
                    let id = self.node(builder, &name, &means, None, &text.place);
                    self.bounds.push((id, input.bound));
                    builder.computed(id, self.board, text, None, Some(*dimension));
                }
                Some(Entry::Quantities(texts.len()))
            }
            (Takes::ByName(dimension), WorkingInput::Named(named)) => {
                let mut names = Vec::new();
                for (theirs, value) in named {
                    let WorkingInput::Text(text) = value else {
                        self.wrong(builder, input, theirs);
                        continue;
                    };
                    let means = format!("{}, {}", input.means, theirs.value.replace('_', " "));
                    let name = format!("{name}.{}", theirs.value);
                    let id = self.node(builder, &name, &means, None, &theirs.place);
                    self.bounds.push((id, input.bound));
                    builder.computed(id, self.board, text, None, Some(*dimension));
                    names.push(theirs.value.clone());
                }
                Some(Entry::ByName(names))
            }
            (Takes::Groups(inputs), WorkingInput::Named(named)) => {
                let mut groups = Vec::new();
                for (theirs, value) in named {
                    let WorkingInput::Named(inner) = value else {
                        self.wrong(builder, input, theirs);
                        continue;
                    };
                    let before = format!("{name}.{}.", theirs.value);
                    let group = self.group(builder, inputs, inner, &before, &theirs.place);
                    groups.push((theirs.value.clone(), group));
                }
                Some(Entry::Groups(groups))
            }
            (Takes::Word(known), WorkingInput::Text(text)) => {
                if known.contains(&text.value.as_str()) {
                    return Some(Entry::Word(text.value.clone()));
                }
                let help = match nearest(&text.value, known.iter().copied()) {
                    Some(near) => format!("perhaps `{near}`"),
                    None => format!("one of {}", listed(known)),
                };
                let message = format!("`{name}` cannot be `{}`", text.value);
                builder.findings.push(
                    Finding::new(Slug::BadValue, message)
                        .at(text.place.clone(), "not known here")
                        .help(help),
                );
                None
            }
            (Takes::Words, WorkingInput::Texts(texts)) => Some(Entry::Words(
                texts.iter().map(|text| text.value.clone()).collect(),
            )),
            (Takes::Whole(range), WorkingInput::Whole(number)) => {
                if range.contains(number) {
                    return Some(Entry::Whole(*number));
                }
                let message = format!("`{name}` cannot be {number}");
                builder.findings.push(
                    Finding::new(Slug::BadValue, message)
                        .at(key.place.clone(), "this number")
                        .help(format!("{} to {}", range.start(), range.end())),
                );
                None
            }
            _ => {
                self.wrong(builder, input, key);
                None
            }
        }
    }

    /// Tells that what is written is of another sort than the input takes.
    fn wrong(&self, builder: &mut Builder<'_>, input: &Input, key: &Located<String>) {
        let message = format!("`{}` is not what this input takes", key.value);
        builder.findings.push(
            Finding::new(Slug::WrongType, message)
                .at(key.place.clone(), input.means)
                .help(format!("write {}", shape(input))),
        );
    }

    fn node(
        &mut self,
        builder: &mut Builder<'_>,
        name: &str,
        means: &str,
        result: Option<usize>,
        place: &Place,
    ) -> NodeId {
        let id = builder.graph.add(Node {
            scope: self.scope.clone(),
            name: format!("{}.{name}", self.record.id.value),
            means: means.to_owned(),
            origin: Origin::Working {
                board: self.board,
                working: self.working,
                result,
            },
            place: place.clone(),
            body: Body::Broken,
            unit: None,
        });
        self.nodes.insert(name.to_owned(), id);
        id
    }

    /// Puts the results on the graph.
    fn results(mut self, builder: &mut Builder<'_>, given: Inputs, plan: trade::Plan) {
        let record = self.record;
        for (at, planned) in plan.results.iter().enumerate() {
            let id = self.node(
                builder,
                &planned.name,
                &planned.means,
                Some(at),
                &record.id.place,
            );
            let stated = [&record.says, &record.must]
                .into_iter()
                .find_map(|statements| {
                    let mut statements = statements.iter();
                    statements.find(|(key, _)| planned.is_called(&key.value))
                });
            if let Some((_, statement)) = stated {
                let unit = statement.value.main().unit.clone();
                builder.graph.node_mut(id).unit =
                    Some(unit).filter(|unit| !unit.symbol().is_empty());
            }
            match &planned.how {
                // A test of each kind reads its formulas.
                How::Formula(text) => {
                    if let Ok(formula) = Formula::parse(text) {
                        builder.pending.push(Pending {
                            node: id,
                            board: self.board,
                            formula,
                            place: record.kind.place.clone(),
                            own: Some(record.id.value.clone()),
                            wanted: None,
                        });
                    }
                }
                How::Procedure {
                    operands,
                    dimension,
                    procedure,
                } => {
                    let operands: Option<Vec<NodeId>> = operands
                        .iter()
                        .map(|name| self.nodes.get(name).copied())
                        .collect();
                    if let Some(operands) = operands {
                        builder.graph.node_mut(id).body = Body::Stepped(Steps {
                            procedure: procedure.clone(),
                            dimension: *dimension,
                            operands,
                            place: record.kind.place.clone(),
                        });
                    }
                }
            }
        }
        let worked = Worked {
            given,
            plan,
            nodes: self.nodes,
            bounds: self.bounds,
        };
        builder.graph.add_working(self.board, self.working, worked);
    }
}

/// What is written at an input, as an example in its record.
fn shape(input: &Input) -> String {
    let name = input.name;
    match &input.takes {
        Takes::Quantity(dimension) => format!("`{name} = \"…\"`, {dimension}"),
        Takes::Quantities(dimension, _) => {
            format!("`{name} = [\"…\", \"…\"]`, each {dimension}")
        }
        Takes::ByName(dimension) => format!("`{name} = {{ a_name = \"…\" }}`, each {dimension}"),
        Takes::Groups(inputs) => {
            let needed = inputs.iter().filter(|input| !input.optional);
            let keys: Vec<String> = needed
                .map(|input| format!("{} = \"…\"", input.name))
                .collect();
            format!("`{name} = {{ a_name = {{ {} }} }}`", keys.join(", "))
        }
        Takes::Word(words) => format!("`{name} = \"{}\"`", words.join("\"` or `\"")),
        Takes::Words => format!("`{name} = [\"…\", \"…\"]`"),
        Takes::Whole(range) => format!("`{name} = {}`", range.start()),
    }
}

/// What is zero at least, wherever it stands in a working.
const NEVER_NEGATIVE: &[Dimension] = &[
    Dimension::RESISTANCE,
    Dimension::CAPACITANCE,
    Dimension::INDUCTANCE,
    Dimension::CHARGE,
    Dimension::TIME,
    Dimension::FREQUENCY,
    Dimension::LENGTH,
    Dimension::AREA,
    Dimension::VOLUME,
    Dimension::MASS,
];

impl Comparing<'_> {
    /// Holds the results of a board's workings to what its records say and
    /// require of them.
    pub fn workings(&mut self, board: usize) {
        let records = self.records;
        for (at, record) in records.boards[board].workings.iter().enumerate() {
            let Some(worked) = self.graph.working(board, at) else {
                continue;
            };
            let bounds = worked.bounds.clone();
            let find = |key: &str| {
                let mut results = worked.plan.results.iter();
                let found = results.find(|planned| planned.is_called(key))?;
                worked.nodes.get(&found.name).copied()
            };
            let stated =
                |statements: &'_ [(Located<String>, Located<crate::quantity::Statement>)]| {
                    statements
                        .iter()
                        .map(|(key, _)| find(&key.value))
                        .collect::<Vec<_>>()
                };
            let (says, must) = (stated(&record.says), stated(&record.must));
            let labels: Vec<String> = worked
                .plan
                .results
                .iter()
                .map(|planned| planned.label.as_ref().unwrap_or(&planned.name).clone())
                .collect();
            let inputs: Vec<NodeId> = worked
                .nodes
                .values()
                .copied()
                .filter(|&node| self.is_input(node))
                .collect();
            for node in inputs {
                self.not_negative(record, node);
            }
            for (input, bound) in bounds {
                self.bound(input, bound);
            }
            for (node, (key, statement)) in says.into_iter().zip(&record.says) {
                match node {
                    Some(node) => self.statement(node, &statement.value, &statement.place),
                    None => self.no_result(record, key, &labels),
                }
            }
            for (node, (key, statement)) in must.into_iter().zip(&record.must) {
                match node {
                    Some(node) => self.requirement(node, &statement.value, &statement.place),
                    None => self.no_result(record, key, &labels),
                }
            }
        }
    }

    fn is_input(&self, node: NodeId) -> bool {
        matches!(
            self.graph.node(node).origin,
            Origin::Working { result: None, .. }
        )
    }

    /// Tells of an input that is negative, where there is no such thing.
    fn not_negative(&mut self, record: &WorkingRecord, node: NodeId) {
        let Some(value) = self.value(node) else {
            return;
        };
        if value.outcome.nominal >= 0.0 || !NEVER_NEGATIVE.contains(&value.dimension) {
            return;
        }
        let name = &self.graph.node(node).name;
        let (shown, what) = (value.shown(), value.dimension);
        let message = format!("`{name}` is {shown}, and there is no negative one");
        let finding = Finding::new(Slug::BadValue, message)
            .at(
                self.graph.node(node).place.clone(),
                format!("this is {what}"),
            )
            .at(record.id.place.clone(), "in this working")
            .help("see whether a sign or an order of terms is turned round");
        self.findings.push(finding);
        self.blamed.insert(node);
    }

    /// Holds an input to what its values have to keep to.
    fn bound(&mut self, input: NodeId, bound: Bound) {
        let Some(value) = self.value(input) else {
            return;
        };
        let low = value.outcome.low;
        if value.outcome.nominal < 0.0 && NEVER_NEGATIVE.contains(&value.dimension) {
            // Told already.
            return;
        }
        let Some(wrong) = bound.broken_by(low) else {
            return;
        };
        let node = self.graph.node(input);
        let message = format!(
            "`{}` comes to {}: it {wrong}",
            node.name,
            value.shown_as(low)
        );
        self.findings.push(
            Finding::new(Slug::BadValue, message)
                .at(node.place.clone(), "this input")
                .help("see to its value, and to the tolerance that it has"),
        );
    }

    fn no_result(&mut self, record: &WorkingRecord, key: &Located<String>, labels: &[String]) {
        let known: Vec<&str> = labels.iter().map(String::as_str).collect();
        let help = match nearest(&key.value, known.iter().copied()) {
            Some(near) => format!("perhaps `{near}`"),
            None => format!("its results are {}", listed(&known)),
        };
        let message = format!(
            "the working `{}` has no result `{}`",
            record.id.value, key.value
        );
        self.findings.push(
            Finding::new(Slug::UnknownName, message)
                .at(key.place.clone(), "not known here")
                .help(help),
        );
    }
}
