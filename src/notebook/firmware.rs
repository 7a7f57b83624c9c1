//! What files for firmware hold: gathered from records, graph and values.

use std::sync::Arc;

use std::collections::{BTreeMap, BTreeSet};

use super::graph::{Graph, NodeId, Worked};
use super::named;
use super::value::Value;
use crate::emit::{Cells, Column, Constant, Emitted, Limit, Table};
use crate::finding::{Finding, Located, Place, Slug, quoted};
use crate::nearest::nearest;
use crate::record::{EmitRecord, EmittedConstant, Records};
use crate::trade::{self, Cell, exact};

/// Whole numbers below this are all told apart by a `f64`.
const WHOLE_UP_TO: f64 = 9_007_199_254_740_992.0;

/// A whole number may be off by this share of the value, even where the value's
/// spread is smaller: a counter's preload of 1234.6 is 1235.
const ROUNDING: f64 = 1e-3;

/// What files are gathered from.
pub(super) struct Gathering<'g> {
    pub graph: &'g Graph,
    pub records: &'g Records,
    pub values: &'g [Option<Arc<Value>>],
}

/// One file in the making.
struct File<'g, 'f> {
    from: &'g Gathering<'g>,
    findings: &'f mut Vec<Finding>,
    /// All nodes whose values it holds.
    nodes: BTreeSet<NodeId>,
    /// Whether everything of it could be made.
    is_whole: bool,
}

impl Gathering<'_> {
    /// What the file of a record holds, with where each name in it is given.
    /// `None` where something cannot be written; a finding says why.
    pub fn gather(
        &self,
        record: &EmitRecord,
        stem: &str,
        findings: &mut Vec<Finding>,
    ) -> Option<(Emitted, BTreeMap<String, Place>)> {
        let mut file = File {
            from: self,
            findings,
            nodes: BTreeSet::new(),
            is_whole: !record.is_damaged,
        };
        let mut places = BTreeMap::new();
        let mut constants = Vec::new();
        for constant in &record.constants {
            places.insert(constant.name.value.clone(), constant.name.place.clone());
            constants.extend(file.constant(constant));
        }
        let mut tables = Vec::new();
        for (name, working) in &record.tables {
            let made = file.tables(name, working);
            places.extend(
                made.iter()
                    .map(|table| (table.name.clone(), name.place.clone())),
            );
            tables.extend(made);
        }
        let mut limits = Vec::new();
        for fixture in &record.limits {
            for limit in file.limits(fixture) {
                let place = fixture.place.clone();
                places.entry(limit.name.clone()).or_insert(place);
                limits.push(limit);
            }
        }
        let File {
            nodes, is_whole, ..
        } = file;
        let (inputs, boards) = self.roots(nodes);
        let emitted = Emitted {
            stem: stem.to_owned(),
            means: record.means.as_ref().map(|means| means.value.clone()),
            notebook: self.records.notebook.title.clone(),
            boards,
            constants,
            tables,
            limits,
            inputs,
        };
        is_whole.then_some((emitted, places))
    }

    fn value(&self, node: NodeId) -> Option<&Value> {
        self.values.get(node.index())?.as_deref()
    }

    /// What is given and nodes hang on, and the boards that they pass.
    #[expect(clippy::type_complexity, reason = "the two fields of one model")]
    fn roots(&self, nodes: BTreeSet<NodeId>) -> (Vec<(String, [f64; 3])>, Vec<(String, String)>) {
        let mut seen = nodes.clone();
        let mut open: Vec<NodeId> = nodes.into_iter().collect();
        let (mut inputs, mut boards) = (BTreeMap::new(), BTreeMap::new());
        while let Some(node) = open.pop() {
            let record = self.graph.node(node);
            if let Some(board) = self.records.board(&record.scope) {
                boards.insert(board.id.value.clone(), board.revision.value.clone());
            }
            let operands = self.graph.operands(node);
            if let (true, Some(value)) = (operands.is_empty(), self.value(node)) {
                let outcome = value.outcome;
                let ends = [outcome.nominal, outcome.low, outcome.high];
                inputs.insert(record.full_name(), ends);
            }
            open.extend(operands.iter().filter(|operand| seen.insert(**operand)));
        }
        (inputs.into_iter().collect(), boards.into_iter().collect())
    }

    /// Whether a name has a step that belongs to something that could not be read.
    fn is_left_out(&self, name: &str) -> bool {
        let of_boards = self.records.boards.iter().flat_map(|board| &board.left_out);
        let mut all = self.records.left_out.iter().chain(of_boards);
        all.any(|left| name.split('.').any(|step| step == left.name))
    }
}

impl File<'_, '_> {
    fn refuse(&mut self, finding: Finding) {
        self.is_whole = false;
        self.findings.push(finding);
    }

    /// The value of a node that is written; what has none has said so.
    fn take(&mut self, node: NodeId) -> Option<Value> {
        self.nodes.insert(node);
        let value = self.from.value(node).cloned();
        self.is_whole &= value.is_some();
        value
    }

    fn constant(&mut self, constant: &EmittedConstant) -> Option<Constant> {
        let name = &constant.of.value;
        let node = match named(self.from.graph, name) {
            Ok(node) => node,
            Err(why) => {
                self.is_whole = false;
                if !self.from.is_left_out(name) {
                    let why = why.replace(name.as_str(), &quoted(name));
                    let finding = Finding::new(Slug::UnknownName, why)
                        .at(constant.of.place.clone(), "no figure of this name")
                        .help("name a figure with its board, as `cell_charger.charge_slow`");
                    self.refuse(finding);
                }
                return None;
            }
        };
        let value = self.take(node)?;
        let unit = match &constant.unit {
            Some(unit) if !value.dimension.comparable(unit.value.dimension()) => {
                let message = format!(
                    "`{}` is to be in {}, and `{name}` is {}",
                    constant.name.value,
                    unit.value.symbol(),
                    value.dimension
                );
                let record = self.from.graph.node(node);
                let finding = Finding::new(Slug::UnitMismatch, message)
                    .at(unit.place.clone(), "this unit")
                    .at(record.value_place().clone(), "its value is from here")
                    .help(format!(
                        "name a unit of {}, or leave it out",
                        value.dimension
                    ));
                self.refuse(finding);
                return None;
            }
            Some(unit) => unit.value.clone(),
            None => value.unit.clone(),
        };
        let [nominal, low, high] = [value.outcome.nominal, value.outcome.low, value.outcome.high]
            .map(|value| unit.count_of(value));
        let written = match constant.is_whole {
            true => self.whole(constant, nominal, [low, high], unit.symbol())?,
            false => nominal,
        };
        let means = match &constant.means {
            Some(means) => means.value.clone(),
            None => self.from.graph.node(node).means.clone(),
        };
        Some(Constant {
            name: constant.name.value.clone(),
            value: written,
            is_whole: constant.is_whole,
            unit: unit.symbol().to_owned(),
            low,
            high,
            means,
        })
    }

    /// The whole number nearest to a value, where it is near enough: within the
    /// value's own spread, or off by a small share of it.
    fn whole(
        &mut self,
        constant: &EmittedConstant,
        value: f64,
        spread: [f64; 2],
        unit: &str,
    ) -> Option<f64> {
        let whole = value.round();
        let off = (whole - value).abs();
        let is_near = (spread[0]..=spread[1]).contains(&whole) || off <= ROUNDING * value.abs();
        let (name, of) = (&constant.name.value, &constant.of.value);
        let finding = if whole.abs() >= WHOLE_UP_TO {
            Finding::new(
                Slug::BadValue,
                format!("`{name}` is too large for a whole number: {value:e} {unit}"),
            )
            .help("give it in a larger unit, or leave `whole` out")
        } else if !is_near {
            Finding::new(
                Slug::BadValue,
                format!("no whole number comes near `{name}`: `{of}` is {value} {unit}, and {whole} is more than its spread away"),
            )
            .help("give it in a smaller unit, or leave `whole` out")
        } else {
            return Some(whole);
        };
        self.refuse(finding.at(constant.name.place.clone(), "to be a whole number"));
        None
    }

    /// The tables of a working.
    fn tables(&mut self, name: &Located<String>, working: &Located<String>) -> Vec<Table> {
        let records = self.from.records;
        let found = records.boards.iter().enumerate().find_map(|(at, board)| {
            let id = working.value.strip_prefix(&board.id.value)?;
            let id = id.strip_prefix('.')?;
            let mut workings = board.workings.iter();
            Some((at, workings.position(|working| working.id.value == id)?))
        });
        let Some((board, at)) = found else {
            self.is_whole = false;
            if !self.from.is_left_out(&working.value) {
                let all = records.boards.iter().flat_map(|board| {
                    let ids = board.workings.iter().map(|working| &working.id.value);
                    ids.map(|id| format!("{}.{id}", board.id.value))
                });
                let all: Vec<String> = all.collect();
                self.unknown("working", working, &all);
            }
            return Vec::new();
        };
        let record = &records.boards[board].workings[at];
        let Some(worked) = self.from.graph.working(board, at) else {
            // What could not be made sense of has said so.
            self.is_whole = false;
            return Vec::new();
        };
        let kind = trade::kind(&record.kind.value);
        let title = match (&record.means, kind) {
            (Some(means), _) => means.value.clone(),
            (None, Some(kind)) => kind.title().to_owned(),
            (None, None) => record.id.value.clone(),
        };
        let laid_out = worked.plan.tables.iter();
        let laid_out: Vec<&trade::Table> = laid_out.filter(|it| !it.rows.is_empty()).collect();
        if laid_out.is_empty() {
            let message = format!("the working `{}` has no table", working.value);
            let finding = Finding::new(Slug::BadValue, message)
                .at(working.place.clone(), "no table to write")
                .at(record.id.place.clone(), "this working")
                .help("write its results as `constants`, each by its name");
            self.refuse(finding);
        }
        let tables = laid_out.into_iter().enumerate();
        let tables = tables.map(|(at, table)| {
            let columns = table.columns.iter().enumerate();
            let columns = columns.flat_map(|(at, head)| {
                let cells: Vec<&Cell> = table.rows.iter().filter_map(|row| row.get(at)).collect();
                self.column(worked, head, &cells)
            });
            Table {
                columns: columns.collect(),
                name: match at {
                    0 => name.value.clone(),
                    at => format!("{}_{}", name.value, at + 1),
                },
                means: match table.caption.as_str() {
                    "" => title.clone(),
                    caption => format!("{title}: {caption}"),
                },
            }
        });
        tables.collect()
    }

    /// A column; two where every cell is a spread.
    fn column(&mut self, worked: &Worked, head: &str, cells: &[&Cell]) -> Vec<Column> {
        let mut values = Vec::new();
        for cell in cells {
            let names: &[String] = match cell {
                Cell::Text(_) => &[],
                Cell::Value(name) | Cell::Whole(name) | Cell::Range(name) => {
                    std::slice::from_ref(name)
                }
                Cell::Judged { of, .. } => of,
            };
            let nodes = names.iter().map(|name| worked.nodes.get(name).copied());
            let nodes: Vec<Option<NodeId>> = nodes.collect();
            let taken = nodes.into_iter().map(|node| self.take(node?));
            let taken: Option<Vec<Value>> = taken.collect();
            match taken {
                Some(taken) => values.push(taken),
                None => {
                    self.is_whole = false;
                    return Vec::new();
                }
            }
        }
        let column = |head: String, unit: &str, cells| Column {
            head,
            unit: unit.to_owned(),
            cells,
        };
        let is_value = cells.iter().all(|cell| matches!(cell, Cell::Value(_)));
        let is_whole = cells.iter().all(|cell| matches!(cell, Cell::Whole(_)));
        let is_range = cells.iter().all(|cell| matches!(cell, Cell::Range(_)));
        let first = values.first().and_then(|values| values.first());
        let first = first.filter(|first| {
            let mut values = values.iter().flatten();
            values.all(|value| value.dimension.comparable(first.dimension))
        });
        if let (Some(first), true) = (first, is_value || is_whole || is_range) {
            let unit = first.unit.clone();
            let numbers = |of: fn(&Value) -> f64| {
                let values = values.iter().flatten();
                let numbers = values.map(|value| unit.count_of(of(value))).collect();
                match is_whole {
                    true => Cells::Whole(numbers),
                    false => Cells::Numbers(numbers),
                }
            };
            if is_value || is_whole {
                let nominal = numbers(|value| value.outcome.nominal);
                return vec![column(head.to_owned(), unit.symbol(), nominal)];
            }
            let low = numbers(|value| value.outcome.low);
            let high = numbers(|value| value.outcome.high);
            return vec![
                column(format!("{head} low"), unit.symbol(), low),
                column(format!("{head} high"), unit.symbol(), high),
            ];
        }
        let words = cells.iter().zip(&values).map(|(cell, values)| match cell {
            Cell::Text(text) => text.clone(),
            Cell::Value(_) => values.iter().map(|it| it.shown().to_string()).collect(),
            Cell::Whole(_) => values.iter().map(|it| exact(it.outcome.nominal)).collect(),
            Cell::Range(_) => values
                .iter()
                .map(|it| {
                    let [low, high] = [it.outcome.low, it.outcome.high].map(|end| it.shown_as(end));
                    format!("{low} to {high}")
                })
                .collect(),
            Cell::Judged { judge, .. } => {
                let outcomes: Vec<_> = values.iter().map(|value| value.outcome).collect();
                judge.words(&outcomes)
            }
        });
        vec![column(head.to_owned(), "", Cells::Words(words.collect()))]
    }

    /// The limits of a fixture, a step each.
    fn limits(&mut self, fixture: &Located<String>) -> Vec<Limit> {
        let records = self.from.records;
        let found = records.boards.iter().find_map(|board| {
            let id = fixture.value.strip_prefix(&board.id.value)?;
            let id = id.strip_prefix('.')?;
            let mut fixtures = board.fixtures.iter();
            Some((board, fixtures.find(|fixture| fixture.id.value == id)?))
        });
        let Some((board, record)) = found else {
            self.is_whole = false;
            if !self.from.is_left_out(&fixture.value) {
                let all = records.boards.iter().flat_map(|board| {
                    let ids = board.fixtures.iter().map(|fixture| &fixture.id.value);
                    ids.map(|id| format!("{}.{id}", board.id.value))
                });
                let all: Vec<String> = all.collect();
                self.unknown("fixture", fixture, &all);
            }
            return Vec::new();
        };
        let mut limits = Vec::new();
        for step in &record.steps {
            let graph = self.from.graph;
            let node = |end: &str| {
                let name = format!("{}.{}.{end}", record.id.value, step.id.value);
                graph.find(&board.id.value, &name)
            };
            let (Some(low), Some(high)) = (node("low"), node("high")) else {
                // A step without limits has said why.
                self.is_whole = false;
                continue;
            };
            let counts = node("low_counts").zip(node("high_counts"));
            let (Some(low), Some(high)) = (self.take(low), self.take(high)) else {
                continue;
            };
            let counts = counts.and_then(|(low, high)| self.take(low).zip(self.take(high)));
            let in_unit = |value: &Value| value.unit.count_of(value.outcome.nominal);
            limits.push(Limit {
                name: format!("{}_{}", record.id.value, step.id.value).to_uppercase(),
                unit: low.unit.symbol().to_owned(),
                low: in_unit(&low),
                high: in_unit(&high),
                counts: counts.map(|(low, high)| (in_unit(&low), in_unit(&high))),
                means: step.title(),
            });
        }
        limits
    }

    fn unknown(&mut self, what: &str, name: &Located<String>, all: &[String]) {
        let message = format!("there is no {what} `{}`", quoted(&name.value));
        let finding = Finding::new(Slug::UnknownName, message)
            .at(name.place.clone(), format!("no {what} of this name"));
        // Whoever leaves the board out means the one that has it.
        let same = |full: &&String| full.split_once('.').is_some_and(|(_, id)| id == name.value);
        let near = all.iter().find(same).map(String::as_str);
        let near = near.or_else(|| nearest(&name.value, all.iter().map(String::as_str)));
        self.refuse(match near {
            Some(near) => finding.help(format!("perhaps `{near}`")),
            None => finding.help(format!("name a {what} with its board, as `board.{what}`")),
        });
    }
}
