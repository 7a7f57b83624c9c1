//! How a working is laid out: its results, tables, plots and sounds.

use std::collections::VecDeque;
use std::fmt;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use super::sound::Sound;
use crate::formula::{Asker, Smooth};
use crate::quantity::{Dimension, Outcome};

/// A working, laid out.
#[derive(Debug, Default)]
pub struct Plan {
    /// Results, each after those it is computed from.
    pub results: Vec<Planned>,
    /// Tables of results; where there are none, all results stand in one.
    pub tables: Vec<Table>,
    /// Plots.
    pub plots: Vec<Plot>,
    /// Sounds.
    pub sounds: Vec<Sound>,
    /// What must hold between inputs and results.
    pub holds: Vec<Holding>,
    /// What a reader has to know beside the numbers: sentences.
    pub notes: Vec<String>,
}

/// What must hold between inputs and results at worst case.
#[derive(Debug)]
pub struct Holding {
    /// The comparison: `fastest <= cell_limit`.
    pub comparison: String,
    /// What it means, as a sentence without a full stop.
    pub means: String,
}

impl Holding {
    /// A comparison that must hold, with what it means.
    pub fn new(comparison: impl Into<String>, means: impl Into<String>) -> Holding {
        Holding {
            comparison: comparison.into(),
            means: means.into(),
        }
    }
}

/// A result of a working.
#[derive(Debug)]
pub struct Planned {
    /// Name behind the working's id: `fastest` of `charging.fastest`.
    pub name: String,
    /// What the record's `says` and `must` may call it beside its name, and what
    /// tables head it with: `off on`.
    pub label: Option<String>,
    /// What it is.
    pub means: String,
    /// How it is computed.
    pub how: How,
    /// Where that is from.
    pub source: &'static str,
}

impl Planned {
    /// A result from a formula over names of inputs and of earlier results.
    pub fn formula(
        name: impl Into<String>,
        means: impl Into<String>,
        formula: impl Into<String>,
        source: &'static str,
    ) -> Planned {
        Planned {
            name: name.into(),
            label: None,
            means: means.into(),
            how: How::Formula(formula.into()),
            source,
        }
    }

    /// A result that a procedure works out from values of inputs and of earlier
    /// results, in coherent SI units.
    pub fn procedure(
        name: impl Into<String>,
        means: impl Into<String>,
        dimension: Dimension,
        operands: Vec<String>,
        procedure: Procedure,
        source: &'static str,
    ) -> Planned {
        Planned {
            name: name.into(),
            label: None,
            means: means.into(),
            how: How::Procedure {
                operands,
                dimension,
                procedure,
            },
            source,
        }
    }

    /// Whether a record's key means this result.
    pub fn is_called(&self, key: &str) -> bool {
        self.name == key || self.label.as_deref() == Some(key)
    }

    /// The same result under a label.
    pub fn labelled(self, label: impl Into<String>) -> Planned {
        Planned {
            label: Some(label.into()),
            ..self
        }
    }
}

/// How a result is computed.
#[derive(Debug)]
pub enum How {
    /// By a formula over names of inputs and of earlier results.
    Formula(String),
    /// By a procedure.
    Procedure {
        /// Names of inputs and of earlier results that it asks for.
        operands: Vec<String>,
        /// What comes out.
        dimension: Dimension,
        /// The procedure.
        procedure: Procedure,
    },
}

/// Why a procedure has no value for its operands.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Unworkable {
    /// What is wrong, as the end of a sentence that begins with the result.
    pub message: String,
    /// What to do about it.
    pub help: String,
}

impl Unworkable {
    /// Says why there is no value, and what to do about it.
    pub fn new(message: impl Into<String>, help: impl Into<String>) -> Unworkable {
        Unworkable {
            message: message.into(),
            help: help.into(),
        }
    }
}

/// A procedure under way: writes all its readings for one list of operands; what
/// it wrote before it came to a fault stands. It may keep room that it uses
/// again and again, and gives the same readings for the same operands whatever
/// it was asked before.
pub type Running = Box<dyn FnMut(&[f64], &mut [f64]) -> Result<(), Unworkable>>;

type Start = dyn Fn() -> Running + Send + Sync;

/// A value worked out step by step rather than by a formula: an integration, a
/// simulation, a count. It is one reading of a run, and a run may give several.
/// Operands and readings are in coherent SI units.
#[derive(Clone)]
pub struct Procedure {
    start: Arc<Start>,
    readings: usize,
    reading: usize,
    /// Runs of all readings, for every reading and all that hangs on one ask at
    /// the same points.
    recent: Arc<Mutex<VecDeque<Run>>>,
}

/// Runs that are remembered: those that a few slopes take.
const RECENT: usize = 64;

/// What a run gave.
struct Run {
    operands: Vec<f64>,
    readings: Vec<f64>,
    fault: Option<Unworkable>,
}

impl Procedure {
    /// A procedure of these steps, with one reading.
    pub fn new(
        run: impl Fn(&[f64]) -> Result<f64, Unworkable> + Send + Sync + 'static,
    ) -> Procedure {
        let run = Arc::new(run);
        let start = move || -> Running {
            let run = run.clone();
            Box::new(move |operands, readings| {
                readings[0] = run(operands)?;
                Ok(())
            })
        };
        Procedure {
            start: Arc::new(start),
            readings: 1,
            reading: 0,
            recent: Arc::default(),
        }
    }

    /// As many readings of one run, which all are asked for with the same
    /// operands. The run makes room for itself when it is started, and finds as
    /// many numbers to write to.
    pub fn several<const COUNT: usize>(
        start: impl Fn() -> Running + Send + Sync + 'static,
    ) -> [Procedure; COUNT] {
        let start: Arc<Start> = Arc::new(start);
        let recent = Arc::default();
        std::array::from_fn(|reading| Procedure {
            start: start.clone(),
            readings: COUNT,
            reading,
            recent: Arc::clone(&recent),
        })
    }

    /// The value for these operands.
    ///
    /// # Errors
    /// Where there is none.
    pub fn run(&self, operands: &[f64]) -> Result<f64, Unworkable> {
        self.looked_up(&mut None, operands)
    }

    /// The value from a run that is remembered, or else from a new one, begun
    /// with what is `running` already.
    fn looked_up(
        &self,
        running: &mut Option<Running>,
        operands: &[f64],
    ) -> Result<f64, Unworkable> {
        let known = (self.recent().iter())
            .rfind(|run| run.operands == operands)
            .map(|run| self.value_of(run));
        if let Some(value) = known {
            return value;
        }
        let mut run = Run {
            operands: operands.to_vec(),
            readings: vec![f64::NAN; self.readings],
            fault: None,
        };
        // Nobody has to wait while it runs.
        let running = running.get_or_insert_with(|| (self.start)());
        run.fault = running(operands, &mut run.readings).err();
        let value = self.value_of(&run);
        let mut recent = self.recent();
        if recent.len() == RECENT {
            recent.pop_front();
        }
        recent.push_back(run);
        value
    }

    fn recent(&self) -> MutexGuard<'_, VecDeque<Run>> {
        // Whoever was stopped while he held it left it whole.
        self.recent.lock().unwrap_or_else(PoisonError::into_inner)
    }

    fn value_of(&self, run: &Run) -> Result<f64, Unworkable> {
        let value = run.readings[self.reading];
        if value.is_finite() {
            return Ok(value);
        }
        Err(run.fault.clone().unwrap_or_else(|| {
            Unworkable::new(
                "comes to no finite number",
                "look for an input that is zero or far out of range",
            )
        }))
    }

    /// Whether another is a reading of the same run.
    pub fn shares_run_with(&self, other: &Procedure) -> bool {
        Arc::ptr_eq(&self.start, &other.start)
    }

    /// All readings of the run at many points, those of one point side by side,
    /// given the places of each operand: as many as there are points, or a
    /// single one where it does not vary. One that has no value is no number.
    pub fn runs(&self, columns: &[&[f64]], points: usize) -> Vec<f64> {
        let mut running = (self.start)();
        let mut operands = vec![0.0; columns.len()];
        let mut readings = vec![f64::NAN; points * self.readings];
        for (at, readings) in readings.chunks_exact_mut(self.readings).enumerate() {
            for (operand, column) in operands.iter_mut().zip(columns) {
                *operand = column[at.min(column.len() - 1)];
            }
            // A fault shows in the readings that it left unwritten.
            let _ = running(&operands, readings);
        }
        readings
    }

    /// This one's part of all readings of a run; `None` for one without a value.
    pub fn reading<'r>(&self, readings: &'r [f64]) -> impl Iterator<Item = Option<f64>> + 'r {
        let own = readings.iter().skip(self.reading).step_by(self.readings);
        own.map(|value| Some(*value).filter(|value| value.is_finite()))
    }
}

impl fmt::Debug for Procedure {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("Procedure")
    }
}

/// Step of the central difference, relative to the operand: the cube root of the
/// rounding error, at which rounding and curvature weigh alike (from memory:
/// any text on numerical differentiation).
const STEP: f64 = 6.055_454_452_393_343e-6;

impl Smooth for Procedure {
    fn value(&self, operands: &[f64]) -> Option<f64> {
        self.run(operands).ok()
    }

    fn asker(&self) -> Asker<'_> {
        let mut running = None;
        Box::new(move |operands| self.looked_up(&mut running, operands).ok())
    }

    /// By central differences, and on the side that has values where only one
    /// has: a procedure does not know its derivatives.
    fn slopes(&self, operands: &[f64], slopes: &mut [f64]) -> Option<f64> {
        let mut ask = self.asker();
        let value = ask(operands)?;
        let mut near = operands.to_vec();
        for (at, slope) in slopes.iter_mut().enumerate() {
            let step = STEP
                * if operands[at] == 0.0 {
                    1.0
                } else {
                    operands[at].abs()
                };
            let mut beside = |offset: f64| {
                near[at] = operands[at] + offset;
                let value = ask(&near);
                near[at] = operands[at];
                value
            };
            let (below, above) = (beside(-step), beside(step));
            *slope = match (below, above) {
                (Some(below), Some(above)) => (above - below) / (2.0 * step),
                (None, Some(above)) => (above - value) / step,
                (Some(below), None) => (value - below) / step,
                (None, None) => return None,
            };
        }
        Some(value)
    }
}

/// A table of a working.
#[derive(Debug)]
pub struct Table {
    /// What it shows.
    pub caption: String,
    /// Heads of its columns.
    pub columns: Vec<String>,
    /// Its rows, as long as the heads are; the first cell names the row.
    pub rows: Vec<Vec<Cell>>,
}

/// A cell of a table.
#[derive(Debug)]
pub enum Cell {
    /// Words.
    Text(String),
    /// The value of an input or a result.
    Value(String),
    /// The value of an input or a result that is a whole number, with all of its
    /// digits: firmware holds it.
    Whole(String),
    /// The value of an input or a result with its spread.
    Range(String),
    /// Words that depend on the values of inputs or results with their spreads.
    Judged {
        /// Names of what is judged.
        of: Vec<String>,
        /// The judgement.
        judge: Judge,
    },
}

type Words = dyn Fn(&[Outcome]) -> String + Send + Sync;

/// Finds words for values with their spreads, in coherent SI units.
#[derive(Clone)]
pub struct Judge(Arc<Words>);

impl Judge {
    /// A judge by this rule.
    pub fn new(words: impl Fn(&[Outcome]) -> String + Send + Sync + 'static) -> Judge {
        Judge(Arc::new(words))
    }

    /// The words for these values.
    pub fn words(&self, outcomes: &[Outcome]) -> String {
        (self.0)(outcomes)
    }
}

impl fmt::Debug for Judge {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("Judge")
    }
}

/// A plot of a working.
#[derive(Debug)]
pub struct Plot {
    /// Name in addresses and file names: `charge`.
    pub name: &'static str,
    /// What it shows, in a line.
    pub title: String,
    /// The axis from left to right.
    pub x: Axis,
    /// The axis from below to above.
    pub y: Axis,
    /// Names of inputs and results that it is drawn from.
    pub operands: Vec<String>,
    /// The curves.
    pub curves: Curves,
    /// Values that are named on the axis from left to right.
    pub marks: Vec<Mark>,
    /// Levels that curves are read against.
    pub lines: Vec<Line>,
}

/// A value that is named on the axis from left to right.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Mark {
    /// What is written there.
    pub label: String,
    /// Name of the input or result that is the value.
    pub at: String,
}

/// A level that curves are read against: what is required of the best of them.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Line {
    /// What is written at it.
    pub label: String,
    /// Name of the input or result that is the level.
    pub level: String,
}

/// An axis of a plot.
#[derive(Clone, Debug)]
pub struct Axis {
    /// The quantity.
    pub name: String,
    /// Symbol of the unit that points are in; empty for a plain number.
    pub unit: &'static str,
    /// Whether values are spaced by their logarithms.
    pub logarithmic: bool,
}

impl Axis {
    /// An axis with even spacing.
    pub fn even(name: impl Into<String>, unit: &'static str) -> Axis {
        Axis {
            name: name.into(),
            unit,
            logarithmic: false,
        }
    }

    /// An axis spaced by logarithms.
    pub fn logarithmic(name: impl Into<String>, unit: &'static str) -> Axis {
        Axis {
            name: name.into(),
            unit,
            logarithmic: true,
        }
    }
}

/// A curve: its name, and its points in the units of the axes.
pub type Curve = (String, Vec<(f64, f64)>);

type Trace = dyn Fn(&[f64]) -> Result<Vec<Curve>, Unworkable> + Send + Sync;

/// Finds the curves of a plot for values of its operands, in coherent SI units.
#[derive(Clone)]
pub struct Curves(Arc<Trace>);

impl Curves {
    /// Curves by this rule.
    pub fn new(
        trace: impl Fn(&[f64]) -> Result<Vec<Curve>, Unworkable> + Send + Sync + 'static,
    ) -> Curves {
        Curves(Arc::new(trace))
    }

    /// The curves for these values.
    ///
    /// # Errors
    /// Where there are none.
    pub fn trace(&self, operands: &[f64]) -> Result<Vec<Curve>, Unworkable> {
        (self.0)(operands)
    }
}

impl fmt::Debug for Curves {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("Curves")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Truth: the derivatives of x² y are 2 x y and x² (calculus).
    #[test]
    fn slopes_of_a_procedure_are_its_derivatives() {
        let procedure = Procedure::new(|of| Ok(of[0] * of[0] * of[1]));
        let mut slopes = [0.0; 2];
        assert_eq!(procedure.slopes(&[3.0, 5.0], &mut slopes), Some(45.0));
        assert!((slopes[0] - 30.0).abs() < 1e-8, "{slopes:?}");
        assert!((slopes[1] - 9.0).abs() < 1e-8, "{slopes:?}");
    }

    #[test]
    fn readings_of_one_run_are_those_of_each_point() {
        let [sum, product] = Procedure::several(|| {
            Box::new(|of, readings| {
                readings[0] = of[0] + of[1];
                readings[1] = of[0] * of[1];
                Ok(())
            })
        });
        assert!(sum.shares_run_with(&product));
        assert_eq!(product.run(&[3.0, 5.0]), Ok(15.0));
        assert_eq!(sum.asker()(&[3.0, 5.0]), Some(8.0));
        let all = sum.runs(&[&[1.0, 2.0], &[4.0]], 2);
        let of = |one: &Procedure| one.reading(&all).collect::<Option<Vec<f64>>>();
        assert_eq!(of(&sum), Some(vec![5.0, 6.0]));
        assert_eq!(of(&product), Some(vec![4.0, 8.0]));
    }

    #[test]
    fn a_procedure_without_a_finite_value_says_so() {
        let procedure = Procedure::new(|of| Ok(1.0 / of[0]));
        assert!(procedure.run(&[0.0]).is_err());
        assert_eq!(procedure.value(&[0.0]), None);
    }
}
