//! Values that were computed at many points, kept for the next figure.
//!
//! The results of one circuit hang on the same inputs, and the search for their
//! extremes looks at the same points: the network is solved once for all.

use std::cell::RefCell;
use std::collections::HashMap;
use std::rc::Rc;
use std::sync::Arc;

use super::graph::{NodeId, Solution};
use super::slice::{End, Operand, Slice, StepFault, Work};
use crate::circuit::{Compiled, OperatingPoints};
use crate::formula::{Asker, Scalar, Smooth};
use crate::spread::Response;
use crate::trade::Procedure;

/// Values that were computed at a list of points. They are those of one graph,
/// with every input as given.
#[derive(Default)]
pub(super) struct Seen {
    inputs: Vec<NodeId>,
    /// Places of each input at all points.
    columns: Vec<Vec<f64>>,
    /// Values of nodes there; a single one where it does not vary.
    nodes: HashMap<NodeId, Rc<[f64]>>,
    points: Vec<(Arc<Compiled>, Rc<OperatingPoints>)>,
    /// Readings of procedures, which several may share.
    runs: Vec<(Procedure, Vec<f64>)>,
}

/// A slice that looks up what other slices of its graph have seen.
pub(super) struct Knowing<'s, 'a> {
    pub slice: &'s Slice<'a>,
    pub seen: &'s RefCell<Seen>,
}

impl Response for Knowing<'_, '_> {
    type Fault = StepFault;

    fn at<N: Scalar>(&self, inputs: &[N]) -> Result<N, StepFault> {
        self.slice.at(inputs)
    }

    fn asker(&self) -> Asker<'_> {
        self.slice.asker()
    }

    fn at_each(&self, columns: &[Vec<f64>], values: &mut [f64]) -> Option<()> {
        self.seen.borrow_mut().values(self.slice, columns, values)
    }

    fn can_be_enclosed(&self) -> bool {
        self.slice.can_be_enclosed()
    }
}

impl Seen {
    /// The values of a slice at many points, given the places of each input.
    /// Those of other inputs or at other points are forgotten.
    pub fn values(
        &mut self,
        slice: &Slice<'_>,
        columns: &[Vec<f64>],
        values: &mut [f64],
    ) -> Option<()> {
        if self.inputs != slice.inputs || self.columns != columns {
            *self = Seen {
                inputs: slice.inputs.clone(),
                columns: columns.to_vec(),
                ..Seen::default()
            };
        }
        let mut done: Vec<Rc<[f64]>> = Vec::with_capacity(slice.steps.len());
        for step in &slice.steps {
            let column = match self.nodes.get(&step.node) {
                Some(column) => column.clone(),
                None => {
                    let mut names: Vec<&[f64]> = Vec::with_capacity(step.operands.len());
                    for operand in &step.operands {
                        names.push(column(operand, &self.columns, &done));
                    }
                    let varies = names.iter().any(|column| column.len() > 1);
                    let mut results = vec![0.0; if varies { values.len() } else { 1 }];
                    match step.work {
                        Work::Formula(formula) => {
                            let mut point = vec![0.0; names.len()];
                            for (at, result) in results.iter_mut().enumerate() {
                                for (place, column) in point.iter_mut().zip(&names) {
                                    *place = at_or_only(column, at);
                                }
                                *result = formula.evaluate(&point).ok()?;
                            }
                        }
                        Work::Network(solution) if solution.can_be_kept() => {
                            solved(&mut self.points, solution, &names, &mut results)?;
                        }
                        Work::Network(solution) => solution.values(&names, &mut results)?,
                        Work::Procedure(procedure) => {
                            read(&mut self.runs, procedure, &names, &mut results)?;
                        }
                    }
                    let column: Rc<[f64]> = results.into();
                    self.nodes.insert(step.node, column.clone());
                    column
                }
            };
            done.push(column);
        }
        for (at, value) in values.iter_mut().enumerate() {
            let of = |operand: &Operand| at_or_only(column(operand, &self.columns, &done), at);
            *value = match &slice.end {
                End::One(operand) => of(operand),
                End::Difference(left, right) => of(left) - of(right),
            };
        }
        Some(())
    }
}

/// The values of a network's result, from operating points that are kept.
fn solved(
    known: &mut Vec<(Arc<Compiled>, Rc<OperatingPoints>)>,
    solution: &Solution,
    operands: &[&[f64]],
    results: &mut [f64],
) -> Option<()> {
    let network = &solution.network;
    let mut workspace = network.workspace();
    let found = (known.iter()).find(|(other, _)| Arc::ptr_eq(other, network));
    let points = match found {
        Some((_, points)) => points.clone(),
        None => {
            let columns = solution.columns(operands);
            let points = network.operating_points(&mut workspace, &columns, results.len());
            let points = Rc::new(points.ok()?);
            known.push((network.clone(), points.clone()));
            points
        }
    };
    network
        .values_at(&mut workspace, &points, &solution.wanted, results)
        .ok()
}

/// The values of a procedure, from the runs of those that share them.
fn read(
    known: &mut Vec<(Procedure, Vec<f64>)>,
    procedure: &Procedure,
    operands: &[&[f64]],
    results: &mut [f64],
) -> Option<()> {
    let found = (known.iter()).position(|(other, _)| other.shares_run_with(procedure));
    let at = match found {
        Some(at) => at,
        None => {
            let readings = procedure.runs(operands, results.len());
            known.push((procedure.clone(), readings));
            known.len() - 1
        }
    };
    for (result, reading) in results.iter_mut().zip(procedure.reading(&known[at].1)) {
        *result = reading?;
    }
    Some(())
}

/// The values of an operand at many points; a single one where it does not vary.
fn column<'c>(operand: &'c Operand, inputs: &'c [Vec<f64>], done: &'c [Rc<[f64]>]) -> &'c [f64] {
    match operand {
        Operand::Input(at) => &inputs[*at],
        Operand::Fixed(value) => std::slice::from_ref(value),
        Operand::Step(at) => &done[*at],
    }
}

fn at_or_only(column: &[f64], at: usize) -> f64 {
    column[at.min(column.len() - 1)]
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use camino::Utf8Path;

    use super::*;
    use crate::notebook::Notebook;

    /// Some points of a slice: each input at an end or between, in turns.
    fn columns(slice: &Slice<'_>) -> Vec<Vec<f64>> {
        let place = |at: usize, point: usize| {
            let input = slice.limits()[at];
            let share = ((at + 1) * point % 7) as f64 / 6.0;
            input.low + share * (input.high - input.low)
        };
        let column = |at| (0..9).map(|point| place(at, point)).collect();
        (0..slice.inputs.len()).map(column).collect()
    }

    #[test]
    fn what_was_seen_is_what_each_point_gives_alone() {
        let demo = concat!(env!("CARGO_MANIFEST_DIR"), "/content");
        let notebook = Notebook::load(Utf8Path::new(demo), jiff::civil::date(2026, 1, 1));
        let graph = &notebook.graph;
        let mut seen = Seen::default();
        let mut kept = 0;
        for (id, _) in graph.iter() {
            // The limits of fixtures are no functions of inputs.
            let Some(slice) = Slice::of(graph, id, &|_| None) else {
                continue;
            };
            let columns = columns(&slice);
            let mut values = [0.0; 9];
            let found = seen.values(&slice, &columns, &mut values);
            let mut ask = slice.asker();
            for (point, value) in values.iter().enumerate() {
                let inputs: Vec<f64> = columns.iter().map(|column| column[point]).collect();
                let alone = slice.at::<f64>(&inputs).ok();
                let name = &graph.node(id).name;
                assert_eq!(ask(&inputs), alone, "{name}");
                if found.is_some() {
                    assert_eq!(Some(value.to_bits()), alone.map(f64::to_bits), "{name}");
                }
            }
            assert!(found.is_some(), "{}", graph.node(id).name);
            kept = kept.max(seen.points.len());
        }
        assert!(kept > 0, "the demo has circuits that bend");
    }
}
