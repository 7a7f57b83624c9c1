//! What should be named after a part was changed: everything that hangs on it
//! and is no longer true, told by means of its own.

use std::collections::BTreeSet;

use camino::Utf8PathBuf;
use ohmbook::finding::Place;
use ohmbook::formula::Comparator;
use ohmbook::notebook::{NodeId, Notebook, Sides, Value};
use ohmbook::quantity::Outcome;

use super::stated;
use super::walk::Name;

/// A kind of finding, and the file, line and column of its place.
pub type Named = (&'static str, (Utf8PathBuf, usize, usize));

/// Parts in circuits that hang on one of these names, once for each way in
/// which they are strained beyond their rating.
pub fn what_is_strained(
    notebook: &Notebook,
    hanging: &BTreeSet<Name>,
) -> Vec<(Utf8PathBuf, usize, usize)> {
    let mut strained = Vec::new();
    for board in &notebook.records.boards {
        let id = &board.id.value;
        for circuit in &board.circuits {
            let name = &circuit.id.value;
            for (part, _) in &circuit.between {
                for what in ["power", "voltage", "current"] {
                    let value = |name: String| {
                        let node = notebook.named(&format!("{id}.{name}")).ok()?;
                        Some(notebook.value(node)?.outcome)
                    };
                    let rating = value(format!("{}.{what}_rating", part.value));
                    let stress = value(format!("{name}.{}.{what}", part.value));
                    let (Some(rating), Some(stress)) = (rating, stress) else {
                        continue;
                    };
                    if stress.high.abs().max(stress.low.abs()) > rating.low {
                        let own = (id.clone(), name.clone());
                        assert!(hanging.contains(&own), "{id}.{name} is strained by nothing");
                        let file = notebook.sources.file(part.place.file);
                        let (line, column) = file.line_column(part.place.start);
                        strained.push((file.path.clone(), line, column));
                    }
                }
            }
        }
    }
    strained.sort();
    strained
}

/// Everything in a notebook that hangs on one of these names and is not true.
pub fn what_is_wrong(notebook: &Notebook, hanging: &BTreeSet<Name>) -> BTreeSet<Named> {
    let mut wrong = BTreeSet::new();
    let at = |place: &Place| {
        let file = notebook.sources.file(place.file);
        let (line, column) = file.line_column(place.start);
        (file.path.clone(), line, column)
    };
    let outcome = |node| notebook.value(node).map(|value| value.outcome);

    for stated in stated::all(notebook) {
        let hangs = hangs(notebook, stated.node, hanging);
        if hangs && !stated::holds(&stated.statement, stated.outcome) {
            let (line, column) = stated.line_column;
            wrong.insert(("figure-disagrees", (stated.path, line, column)));
        }
    }
    for (position, board) in notebook.records.boards.iter().enumerate() {
        let scope = &board.id.value;
        for figure in &board.figures {
            let node = notebook.graph.find(scope, &figure.id.value);
            let missed = figure.must.as_ref().filter(|must| {
                let node = node.filter(|&node| hangs(notebook, node, hanging));
                let outcome = node.and_then(outcome);
                outcome.is_some_and(|outcome| !stated::holds(&must.value, outcome))
            });
            wrong.extend(missed.map(|must| ("requirement-missed", at(&must.place))));
            for valid in &figure.holds_for {
                let node = notebook.graph.find(scope, &valid.name.value);
                let node = node.filter(|&node| hangs(notebook, node, hanging));
                if let Some(outcome) = node.and_then(outcome)
                    && !stated::holds(&valid.range.value, outcome)
                {
                    wrong.insert(("outside-validity", at(&valid.range.place)));
                }
            }
        }
        for (number, working) in board.workings.iter().enumerate() {
            for (key, must) in &working.must {
                let node = stated::result(notebook, position, number, &key.value);
                let outcome = outcome(node).filter(|_| hangs(notebook, node, hanging));
                if outcome.is_some_and(|outcome| !stated::holds(&must.value, outcome)) {
                    wrong.insert(("requirement-missed", at(&must.place)));
                }
            }
        }
        let comparisons = &notebook.comparisons[position];
        for (relation, sides) in board.relations.iter().zip(&comparisons.relations) {
            let sides = sides
                .as_ref()
                .filter(|sides| either(notebook, sides, hanging));
            if sides.is_some_and(|sides| !always(notebook, sides)) {
                wrong.insert(("relation-broken", at(&relation.holds.place)));
            }
        }
        for (_, _, sides) in &comparisons.workings {
            if either(notebook, sides, hanging) && !always(notebook, sides) {
                let place = &notebook.graph.node(sides.left).place;
                wrong.insert(("relation-broken", at(place)));
            }
        }
        for (caution, sides) in board.cautions.iter().zip(&comparisons.cautions) {
            let sides = sides
                .as_ref()
                .filter(|sides| either(notebook, sides, hanging));
            if sides.is_some_and(|sides| !ever(notebook, sides)) {
                wrong.insert(("caution-without-cause", at(&caution.because.place)));
            }
        }
    }
    wrong
}

/// Steps of fixtures whose good boards spread by less than the errors of the
/// measurement take off both ends: they have no limits.
pub fn what_has_no_limits(notebook: &Notebook) -> BTreeSet<Named> {
    let mut without = BTreeSet::new();
    for board in &notebook.records.boards {
        for fixture in &board.fixtures {
            let guard = fixture.guard.as_ref();
            let guard = guard.map_or(1.0, |guard| guard.value.nominal());
            for step in &fixture.steps {
                let value = |what: &str| {
                    let of_step = format!("{}.{}.{what}", fixture.id.value, step.id.value);
                    let node = notebook.graph.find(&board.id.value, &of_step);
                    let value = node.and_then(|node| notebook.value(node));
                    value.expect("the demo's steps can be computed").outcome
                };
                let (measured, error) = (value("measured"), value("error"));
                if measured.high - measured.low < 2.0 * guard * error.high {
                    let place = &step.measures.place;
                    let file = notebook.sources.file(place.file);
                    let (line, column) = file.line_column(place.start);
                    without.insert(("not-computable", (file.path.clone(), line, column)));
                }
            }
        }
    }
    without
}

/// Files for firmware that hold a number which is another one than before, or
/// strays otherwise.
pub fn what_is_stale(before: &Notebook, after: &Notebook) -> BTreeSet<Named> {
    let outcomes = |notebook: &Notebook, names: &[String]| -> Vec<Option<Outcome>> {
        let outcome = |name: &String| {
            let node = notebook.named(name).ok()?;
            Some(notebook.value(node)?.outcome)
        };
        names.iter().map(outcome).collect()
    };
    let mut stale = BTreeSet::new();
    for record in &after.records.notebook.emits {
        let constants = record.constants.iter();
        let mut names: Vec<String> = constants.map(|it| it.of.value.clone()).collect();
        for fixture in &record.limits {
            let (board, id) = fixture.value.split_once('.').expect("it has a board");
            let board = after.records.board(board).expect("it is there");
            let mut fixtures = board.fixtures.iter();
            let fixture = fixtures.find(|fixture| fixture.id.value == id);
            for step in &fixture.expect("it is there").steps {
                for end in ["low", "high"] {
                    let step = &step.id.value;
                    names.push(format!("{}.{id}.{step}.{end}", board.id.value));
                }
            }
        }
        let now = outcomes(after, &names);
        // A file that cannot be made for want of a limit is compared with nothing.
        let is_made = now.iter().all(Option::is_some);
        if is_made && now != outcomes(before, &names) {
            let place = &record.file.place;
            let file = after.sources.file(place.file);
            let (line, column) = file.line_column(place.start);
            let at = (file.path.clone(), line, column);
            stale.insert(("emitted-file-differs", at));
        }
    }
    stale
}

/// Whether a node is one of these names, or a property of one.
fn hangs(notebook: &Notebook, node: NodeId, hanging: &BTreeSet<Name>) -> bool {
    let node = notebook.graph.node(node);
    let first = node.name.split('.').next().unwrap_or(&node.name);
    hanging.contains(&(node.scope.clone(), first.to_owned()))
}

/// Whether a side of a comparison mentions one of these names.
fn either(notebook: &Notebook, sides: &Sides, hanging: &BTreeSet<Name>) -> bool {
    let sides = [sides.left, sides.right];
    let mut operands = sides.iter().flat_map(|&side| notebook.graph.operands(side));
    operands.any(|&operand| hangs(notebook, operand, hanging))
}

/// Whether a comparison holds wherever the inputs stray.
fn always(notebook: &Notebook, sides: &Sides) -> bool {
    let Spreads { left, right, apart } = Spreads::of(notebook, sides);
    let holds = match sides.comparator {
        Comparator::AtMost => left.high <= right.low,
        Comparator::Less => left.high < right.low,
        Comparator::AtLeast => left.low >= right.high,
        Comparator::Greater => left.low > right.high,
    };
    assert!(
        holds || apart,
        "{} cannot be judged here",
        name(notebook, sides)
    );
    holds
}

/// Whether a comparison holds somewhere.
fn ever(notebook: &Notebook, sides: &Sides) -> bool {
    let Spreads { left, right, apart } = Spreads::of(notebook, sides);
    let holds = match sides.comparator {
        Comparator::AtMost => left.low <= right.high,
        Comparator::Less => left.low < right.high,
        Comparator::AtLeast => left.high >= right.low,
        Comparator::Greater => left.high > right.low,
    };
    assert!(
        !holds || apart,
        "{} cannot be judged here",
        name(notebook, sides)
    );
    holds
}

fn name(notebook: &Notebook, sides: &Sides) -> String {
    let [left, right] = [sides.left, sides.right].map(|side| &notebook.graph.node(side).name);
    format!("`{left} {} {right}`", sides.comparator.sign())
}

/// The spread of each side of a comparison.
struct Spreads {
    left: Outcome,
    right: Outcome,
    /// Whether no input stands on both sides: only then the ends of the
    /// spreads can meet, and comparing them is exact both ways.
    apart: bool,
}

impl Spreads {
    fn of(notebook: &Notebook, sides: &Sides) -> Spreads {
        let value = |node: NodeId| -> &Value {
            let value = notebook.value(node);
            value.unwrap_or_else(|| panic!("{} has no value", name(notebook, sides)))
        };
        let (left, right) = (value(sides.left), value(sides.right));
        Spreads {
            left: left.outcome,
            right: right.outcome,
            apart: !left.inputs.iter().any(|input| right.inputs.contains(input)),
        }
    }
}
