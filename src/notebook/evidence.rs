//! What was measured on boards, held against what is computed of them.
//!
//! A reading speaks for the board as it is made now: one that is older than the
//! board's revision was taken on another board, and contradicts nothing.

use std::sync::Arc;

use camino::Utf8PathBuf;
use jiff::civil::Date;

use super::graph::{Graph, NodeId};
use super::readings::{Column, FEWEST, column, too_few};
use super::value::Value;
use super::{Notebook, Origin};
use crate::finding::{Finding, Located, Place, Slug, Sources};
use crate::quantity::Outcome;
use crate::record::{FigureBody, Measured, Readings, Records};

/// Most readings of a column that are told one by one; more than these say that
/// the whole column, or the figure, is something else.
const TOLD_ALONE: usize = 4;

/// What rounding in the last place of a float leaves over, as a share.
const ROUNDING: f64 = 1e-12;

/// A column of readings of a figure.
#[derive(Clone, PartialEq, Debug)]
pub struct Measurement {
    /// Position of the board in the records.
    pub board: usize,
    /// The figure.
    pub node: NodeId,
    /// The file, by its path in the notebook.
    pub path: Utf8PathBuf,
    /// Head of the column.
    pub column: String,
    /// Day of the readings, where it is known.
    pub date: Option<Date>,
    /// Whether the board was changed after that day.
    pub is_old: bool,
    /// Whether the readings are held against a computed figure; the figure is
    /// their mean otherwise.
    pub is_held: bool,
    /// Expanded uncertainty of a reading (k = 2), in coherent SI units.
    pub error: f64,
    /// The readings, in the order written.
    pub readings: Vec<Reading>,
}

/// One reading.
#[derive(Clone, PartialEq, Debug)]
pub struct Reading {
    /// What the first cell of its row says: which board it was.
    pub of: String,
    /// Its value, in coherent SI units.
    pub value: f64,
    /// Where it stands.
    pub place: Place,
    /// Whether it lies outside the spread of the figure, by more than its own
    /// uncertainty.
    pub is_outside: bool,
}

impl Measurement {
    /// The values alone, in coherent SI units.
    pub fn values(&self) -> Vec<f64> {
        self.readings.iter().map(|reading| reading.value).collect()
    }
}

/// What measuring is held against.
pub(super) struct Measuring<'a> {
    pub sources: &'a Sources,
    pub records: &'a Records,
    pub graph: &'a Graph,
    pub values: &'a [Option<Arc<Value>>],
}

impl Measuring<'_> {
    /// All measurements, and the readings that contradict. What is wrong with
    /// the readings themselves goes to `told`.
    pub fn all(&self, told: &mut Vec<Finding>) -> (Vec<Measurement>, Vec<Finding>) {
        let (mut all, mut outside) = (Vec::new(), Vec::new());
        for (at, board) in self.records.boards.iter().enumerate() {
            for figure in &board.figures {
                let Some(node) = self.graph.find(&board.id.value, &figure.id.value) else {
                    continue;
                };
                if let FigureBody::Measured(measured) = &figure.body {
                    all.extend(self.mean(at, node, measured));
                }
                let Some(readings) = &figure.readings else {
                    continue;
                };
                match self.held(at, node, readings) {
                    Ok(Some(measurement)) => {
                        let place = &figure.id.place;
                        self.contradictions(&measurement, readings, place, &mut outside);
                        all.push(measurement);
                    }
                    Ok(None) => {}
                    Err(finding) => told.push(*finding),
                }
            }
        }
        (all, outside)
    }

    fn value(&self, node: NodeId) -> Option<&Value> {
        self.values.get(node.index())?.as_deref()
    }

    /// The readings that a figure is the mean of. What is wrong with them was
    /// told when the figure was made.
    fn mean(&self, board: usize, node: NodeId, measured: &Measured) -> Option<Measurement> {
        let id = &self.records.boards[board].id.value;
        let column = column(self.sources, id, measured).ok()?;
        let date = date_of(&measured.file);
        let no_error = 0.0;
        let measurement = self.measurement((board, node), measured, column, date, no_error);
        Some(Measurement {
            is_held: false,
            ..measurement
        })
    }

    /// Readings of a computed figure; nothing where it has no value.
    fn held(
        &self,
        board: usize,
        node: NodeId,
        readings: &Readings,
    ) -> Result<Option<Measurement>, Box<Finding>> {
        let measured = &readings.of;
        let id = &self.records.boards[board].id.value;
        let column = column(self.sources, id, measured)?;
        if column.values.len() < FEWEST {
            return Err(too_few(measured, column.values.len()));
        }
        let stated = readings.date.as_ref().map(|date| date.value);
        let Some(date) = stated.or_else(|| date_of(&measured.file)) else {
            let message = format!("nothing says when `{}` was measured", measured.file.value);
            let finding = Finding::new(Slug::MissingKey, message)
                .at(measured.file.place.clone(), "no day in this name")
                .help("begin the name of the file with the day, `2026-04-02-first_lot.csv`, or write `date = 2026-04-02` beside it");
            return Err(Box::new(finding));
        };
        let Some(value) = self.value(node) else {
            return Ok(None);
        };
        let unfit = |found: crate::quantity::Dimension, place: &Place| {
            let name = &self.graph.node(node).name;
            let wanted = value.dimension;
            let message = format!("`{name}` is {wanted}, and its readings are {found}");
            let place = place.clone();
            let finding =
                Finding::new(Slug::UnitMismatch, message).at(place, format!("this is {found}"));
            Box::new(finding.at(
                self.graph.node(node).place.clone(),
                format!("this is {wanted}"),
            ))
        };
        let found = column.unit.dimension();
        if !found.comparable(value.dimension) {
            return Err(unfit(found, &measured.column.place));
        }
        let mut error = 0.0;
        if let Some(given) = &readings.error {
            let found = given.value.dimension();
            if !found.comparable(value.dimension) {
                return Err(unfit(found, &given.place));
            }
            error = given.value.nominal().abs();
        }
        let measurement = self.measurement((board, node), measured, column, Some(date), error);
        Ok(Some(measurement))
    }

    fn measurement(
        &self,
        (board, node): (usize, NodeId),
        measured: &Measured,
        column: Column,
        date: Option<Date>,
        error: f64,
    ) -> Measurement {
        let changed = self.records.boards[board].date.as_ref();
        let is_old = changed.is_some_and(|changed| date.is_some_and(|date| date < changed.value));
        let rows = column.values.into_iter().zip(column.places);
        let rows = rows.zip(column.boards);
        let spread = self.value(node).filter(|value| value.varies());
        let spread = spread.map(|value| value.outcome);
        let is_outside = |value: f64| {
            spread.is_some_and(|Outcome { low, high, .. }| {
                value < low - error - ROUNDING * low.abs()
                    || value > high + error + ROUNDING * high.abs()
            })
        };
        Measurement {
            board,
            node,
            path: self.sources.file(column.file).path.clone(),
            column: measured.column.value.clone(),
            date,
            is_old,
            is_held: true,
            error,
            readings: rows
                .map(|((value, place), of)| Reading {
                    of,
                    value,
                    place,
                    is_outside: is_outside(value),
                })
                .collect(),
        }
    }

    /// Tells of readings that the figure does not allow.
    fn contradictions(
        &self,
        measurement: &Measurement,
        readings: &Readings,
        figure: &Place,
        findings: &mut Vec<Finding>,
    ) {
        let outside: Vec<&Reading> = measurement
            .readings
            .iter()
            .filter(|reading| reading.is_outside)
            .collect();
        let Some(value) = self.value(measurement.node).filter(|_| !measurement.is_old) else {
            return;
        };
        let name = &self.graph.node(measurement.node).name;
        let (low, high) = (value.outcome.low, value.outcome.high);
        let computed = format!("{} to {}", value.shown_as(low), value.shown_as(high));
        let told = |message: String| {
            let finding = Finding::new(Slug::ReadingOutside, message);
            let finally = |finding: Finding| {
                let finding = finding
                    .at(figure.clone(), format!("computed as {computed}"))
                    .at(readings.of.column.place.clone(), "measured by this column");
                let finding = match &readings.error {
                    Some(error) => {
                        finding.note(format!("a reading is uncertain by {}", error.value.text()))
                    }
                    None => finding,
                };
                finding.help("measure it again; if it stays, a tolerance in the records is too narrow or the formula leaves something out, and where the reading is known to be at fault a waiver can say so")
            };
            (finding, finally)
        };
        if outside.len() > TOLD_ALONE {
            let (finding, finally) = told(format!(
                "{} of {} readings of `{name}` lie outside {computed}",
                outside.len(),
                measurement.readings.len()
            ));
            let labelled = outside.iter().take(TOLD_ALONE);
            let finding = labelled.fold(finding, |finding, reading| {
                let text = format!("{} of `{}`", value.shown_as(reading.value), reading.of);
                finding.at(reading.place.clone(), text)
            });
            findings.push(finally(finding));
            return;
        }
        for reading in outside {
            let (finding, finally) = told(format!(
                "`{name}` was measured as {} on `{}`, and is computed as {computed}",
                value.shown_as(reading.value),
                reading.of
            ));
            let finding = finding.at(
                reading.place.clone(),
                format!("in the column `{}`", measurement.column),
            );
            findings.push(finally(finding));
        }
    }
}

/// The day that the name of a file begins with.
fn date_of(file: &Located<String>) -> Option<Date> {
    file.value.get(..10)?.parse().ok()
}

impl Notebook {
    /// Figures and results of workings of a board that must be something.
    pub fn required_of(&self, board: usize) -> Vec<NodeId> {
        let figures = self.figures_of(board).iter().copied();
        figures
            .filter(|&node| self.requirement(node).is_some())
            .collect()
    }

    /// Readings of a figure. Those of a figure that is nothing but another one
    /// under a name of its own speak for that one too.
    pub fn measurements_of(&self, node: NodeId) -> Vec<&Measurement> {
        let record = self.graph.node(node);
        let is_same = |measured: NodeId| {
            let other = self.graph.node(measured);
            let Origin::Figure { board, figure } = other.origin else {
                return false;
            };
            match &self.records.boards[board].figures[figure].body {
                FigureBody::From(text) => {
                    other.scope == record.scope && text.value.trim() == record.name
                }
                _ => false,
            }
        };
        let all = self.measurements.iter();
        all.filter(|one| one.node == node || is_same(one.node))
            .collect()
    }
}
