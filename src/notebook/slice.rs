//! A figure as a function of the independent inputs that it hangs on.

use std::collections::HashMap;

use super::graph::{Body, Graph, NodeId, Solution};
use super::seen::Seen;
use crate::formula::{Asker, EvaluationFault, Formula, Scalar, Smooth};
use crate::quantity::Given;
use crate::spread::{Input, Response};
use crate::trade::Procedure;

/// Everything that one figure hangs on, in the order of computing it.
pub(super) struct Slice<'a> {
    /// Inputs that vary.
    pub inputs: Vec<NodeId>,
    limits: Vec<Input>,
    pub(super) steps: Vec<Step<'a>>,
    pub(super) end: End,
}

/// A node that is computed from those before it.
pub(super) struct Step<'a> {
    pub node: NodeId,
    pub work: Work<'a>,
    pub operands: Vec<Operand>,
}

#[derive(Clone, Copy)]
pub(super) enum Work<'a> {
    Formula(&'a Formula),
    Network(&'a Solution),
    Procedure(&'a Procedure),
}

#[derive(Clone, Copy)]
pub(super) enum Operand {
    Input(usize),
    Fixed(f64),
    Step(usize),
}

pub(super) enum End {
    One(Operand),
    Difference(Operand, Operand),
}

/// A step that has no value.
#[derive(Clone, Debug)]
pub(super) struct StepFault {
    /// The node whose step it is.
    pub node: NodeId,
    /// What is wrong with its formula; `None` for a network without a solution
    /// and for a procedure that comes to nothing.
    pub fault: Option<EvaluationFault>,
}

impl<'a> Slice<'a> {
    /// The slice of one node. `None` where something that it hangs on is
    /// broken. `other` may put another given value in the place of an input's.
    pub fn of(
        graph: &'a Graph,
        node: NodeId,
        other: &dyn Fn(NodeId) -> Option<&'a Given>,
    ) -> Option<Slice<'a>> {
        let mut builder = Builder::new(graph, other);
        let end = End::One(builder.operand(node)?);
        Some(builder.finish(end))
    }

    /// The slice of the difference of two nodes.
    pub fn of_difference(graph: &'a Graph, left: NodeId, right: NodeId) -> Option<Slice<'a>> {
        let mut builder = Builder::new(graph, &|_| None);
        let end = End::Difference(builder.operand(left)?, builder.operand(right)?);
        Some(builder.finish(end))
    }

    /// Nominal values and limits, in the order of [`Slice::inputs`].
    pub fn limits(&self) -> &[Input] {
        &self.limits
    }

    /// The value at the nominal inputs.
    pub fn nominal(&self) -> Result<f64, StepFault> {
        let nominal: Vec<f64> = self.limits.iter().map(|input| input.nominal).collect();
        self.at(&nominal)
    }
}

impl Response for Slice<'_> {
    type Fault = StepFault;

    fn at<N: Scalar>(&self, inputs: &[N]) -> Result<N, StepFault> {
        let mut done: Vec<N> = Vec::with_capacity(self.steps.len());
        let value = |operand: Operand, done: &[N]| match operand {
            Operand::Input(at) => inputs[at].clone(),
            Operand::Fixed(value) => N::constant(value),
            Operand::Step(at) => done[at].clone(),
        };
        for step in &self.steps {
            let names: Vec<N> = step
                .operands
                .iter()
                .map(|&operand| value(operand, &done))
                .collect();
            let result = match step.work {
                Work::Formula(formula) => formula.evaluate(&names).map_err(Some),
                Work::Network(solution) => N::through(solution, &names).ok_or(None),
                Work::Procedure(procedure) => N::through(procedure, &names).ok_or(None),
            };
            done.push(result.map_err(|fault| StepFault {
                node: step.node,
                fault,
            })?);
        }
        Ok(match self.end {
            End::One(operand) => value(operand, &done),
            End::Difference(left, right) => value(left, &done).subtract(&value(right, &done)),
        })
    }

    fn asker(&self) -> Asker<'_> {
        let mut askers: Vec<Asker<'_>> = Vec::with_capacity(self.steps.len());
        for step in &self.steps {
            askers.push(match step.work {
                Work::Formula(formula) => Box::new(|names| formula.evaluate(names).ok()),
                Work::Network(solution) => solution.asker(),
                Work::Procedure(procedure) => procedure.asker(),
            });
        }
        let mut done: Vec<f64> = Vec::with_capacity(self.steps.len());
        let mut names: Vec<f64> = Vec::new();
        Box::new(move |inputs| {
            done.clear();
            let value = |operand: Operand, done: &[f64]| match operand {
                Operand::Input(at) => inputs[at],
                Operand::Fixed(value) => value,
                Operand::Step(at) => done[at],
            };
            for (step, ask) in self.steps.iter().zip(&mut askers) {
                names.clear();
                names.extend(step.operands.iter().map(|&operand| value(operand, &done)));
                done.push(ask(&names)?);
            }
            Some(match self.end {
                End::One(operand) => value(operand, &done),
                End::Difference(left, right) => value(left, &done) - value(right, &done),
            })
        })
    }

    fn at_each(&self, columns: &[Vec<f64>], values: &mut [f64]) -> Option<()> {
        Seen::default().values(self, columns, values)
    }

    fn can_be_enclosed(&self) -> bool {
        self.steps
            .iter()
            .all(|step| matches!(step.work, Work::Formula(_)))
    }
}

struct Builder<'a, 'b> {
    graph: &'a Graph,
    other: &'b dyn Fn(NodeId) -> Option<&'a Given>,
    known: HashMap<NodeId, Operand>,
    inputs: Vec<NodeId>,
    limits: Vec<Input>,
    steps: Vec<Step<'a>>,
}

impl<'a, 'b> Builder<'a, 'b> {
    fn new(graph: &'a Graph, other: &'b dyn Fn(NodeId) -> Option<&'a Given>) -> Self {
        Builder {
            graph,
            other,
            known: HashMap::new(),
            inputs: Vec::new(),
            limits: Vec::new(),
            steps: Vec::new(),
        }
    }

    fn finish(self, end: End) -> Slice<'a> {
        Slice {
            inputs: self.inputs,
            limits: self.limits,
            steps: self.steps,
            end,
        }
    }

    /// The operand of a node, its own operands first. Works through a list of
    /// its own, since a chain of figures may be longer than the stack is deep.
    fn operand(&mut self, node: NodeId) -> Option<Operand> {
        let mut open = vec![node];
        while let Some(&id) = open.last() {
            if self.known.contains_key(&id) {
                open.pop();
                continue;
            }
            match &self.graph.node(id).body {
                // Limits are no functions of inputs: they hang on spreads.
                Body::Broken | Body::Limit(_) => return None,
                Body::Given(given) => {
                    let operand = self.given((self.other)(id).unwrap_or(given), id);
                    self.known.insert(id, operand);
                    open.pop();
                }
                Body::Computed(calculation) => {
                    self.step(
                        id,
                        Work::Formula(&calculation.formula),
                        &calculation.operands,
                        &mut open,
                    );
                }
                Body::Solved(solution) => {
                    self.step(id, Work::Network(solution), &solution.operands, &mut open);
                }
                Body::Stepped(steps) => {
                    self.step(
                        id,
                        Work::Procedure(&steps.procedure),
                        &steps.operands,
                        &mut open,
                    );
                }
            }
        }
        self.known.get(&node).copied()
    }

    /// Takes in a node whose operands are known; else leaves it open, with what
    /// is wanting on top.
    fn step(&mut self, id: NodeId, work: Work<'a>, operands: &[NodeId], open: &mut Vec<NodeId>) {
        let wanting: Vec<NodeId> = operands
            .iter()
            .copied()
            .filter(|id| !self.known.contains_key(id))
            .collect();
        if !wanting.is_empty() {
            open.extend(wanting);
            return;
        }
        let operands = operands.iter().map(|id| self.known[id]).collect();
        self.steps.push(Step {
            node: id,
            work,
            operands,
        });
        self.known.insert(id, Operand::Step(self.steps.len() - 1));
        open.pop();
    }

    fn given(&mut self, given: &Given, id: NodeId) -> Operand {
        if given.low() == given.high() {
            return Operand::Fixed(given.nominal());
        }
        self.inputs.push(id);
        self.limits.push(Input {
            nominal: given.nominal(),
            low: given.low(),
            high: given.high(),
        });
        Operand::Input(self.inputs.len() - 1)
    }
}
