//! An order of elimination that is worked out once for a network's shape.
//!
//! Where the equations have their zeros does not depend on values, so the
//! order of pivots (see `ordering`), the entries that fill in and every
//! multiplication are listed beforehand; solving walks the lists.
//!
//! The order is chosen for nominal values. Values that make a pivot small by
//! comparison, or take away what it was made of, are noticed, and the system
//! is solved with [`Lu`] instead, which looks for its pivots anew.

use std::ops::Range;

use super::lu::{Lu, Number, Pivot};
use super::ordering::Grid;

/// Largest multiplier that is accepted later: a pivot may then be that many
/// times smaller than another entry of its column. Two digits are lost at
/// most, of sixteen.
pub(super) const LARGEST_MULTIPLIER: f64 = 100.0;

/// Something that is added to an entry of the matrix: a term, by its number,
/// times 1 or -1.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(super) struct Stamp {
    pub(super) row: usize,
    pub(super) column: usize,
    pub(super) term: usize,
    pub(super) sign: f64,
}

/// One pivot: what is divided by it, and what follows.
#[derive(Clone, PartialEq, Debug)]
pub(super) struct Step {
    pub(super) slot: usize,
    pub(super) row: usize,
    pub(super) column: usize,
    /// Slots whose largest entry the pivot is compared with.
    pub(super) compared: Range<usize>,
    pub(super) lower: Range<usize>,
    pub(super) upper: Range<usize>,
    pub(super) updates: Range<usize>,
}

/// The lists. Entries that are not zero, or fill in, have a slot each.
#[derive(Clone, PartialEq, Debug, Default)]
pub(super) struct Plan {
    order: usize,
    stamps: Vec<Stamp>,
    /// What each slot is the sum of: the ends of its terms that are added, and
    /// of those that are taken off, in `terms`.
    pub(super) sums: Vec<[usize; 2]>,
    pub(super) terms: Vec<usize>,
    pub(super) steps: Vec<Step>,
    /// Slots below the pivots, with their rows.
    pub(super) lower: Vec<(usize, usize)>,
    /// Slots right of the pivots, with their columns.
    pub(super) upper: Vec<(usize, usize)>,
    /// Slots of target, left factor and right factor.
    pub(super) updates: Vec<[usize; 3]>,
}

/// Numbers of a system that is solved by a plan, or without one.
#[derive(Clone, Debug)]
pub(super) struct System<N> {
    entries: Vec<N>,
    reciprocals: Vec<N>,
    compared: Vec<f64>,
    work: Vec<N>,
    dense: Lu<N>,
    pub(super) by_plan: bool,
    weakest: Pivot,
}

impl Plan {
    /// Plans for the entries that the stamps make; `terms` are values that are
    /// typical. A stamp in the row or column of the reference node, which is
    /// number `order`, has no effect.
    pub(super) fn new<N: Number>(order: usize, stamps: Vec<Stamp>, terms: &[N]) -> Plan {
        let inside = |stamp: &Stamp| stamp.row < order && stamp.column < order;
        let stamps: Vec<Stamp> = stamps.into_iter().filter(inside).collect();
        let mut grid = Grid::new(order);
        for stamp in &stamps {
            grid.add(
                stamp.row,
                stamp.column,
                terms[stamp.term].scaled(stamp.sign),
            );
        }
        let there: Vec<bool> = grid.there.clone();
        let Some(pivots) = grid.eliminate() else {
            // No order for these values: every solution looks for its own.
            return Plan {
                order,
                stamps,
                ..Plan::default()
            };
        };
        let mut plan = Plan {
            order,
            stamps,
            ..Plan::default()
        };
        plan.list(&pivots, &grid.there, &there);
        plan
    }

    /// Writes the lists, given the pivots in order, which entries are there in
    /// the end and which from the beginning.
    fn list(&mut self, pivots: &[[usize; 2]], filled: &[bool], there: &[bool]) {
        let order = self.order;
        let mut slot_of = vec![usize::MAX; order * order];
        let mut columns = vec![0..0; order];
        for &[_, column] in pivots {
            let start = self.sums.len();
            for &[row, _] in pivots {
                if filled[row * order + column] {
                    slot_of[row * order + column] = self.sums.len();
                    self.list_sum(row, column);
                }
            }
            columns[column] = start..self.sums.len();
        }
        let slot = |row: usize, column: usize| slot_of[row * order + column];
        for (at, &[row, column]) in pivots.iter().enumerate() {
            let (lower, upper, updates) = (self.lower.len(), self.upper.len(), self.updates.len());
            for &[below, _] in &pivots[at + 1..] {
                if slot(below, column) != usize::MAX {
                    self.lower.push((slot(below, column), below));
                }
            }
            for &[_, right] in &pivots[at + 1..] {
                if slot(row, right) != usize::MAX {
                    self.upper.push((slot(row, right), right));
                }
            }
            for &(left_factor, below) in &self.lower[lower..] {
                for &(right_factor, right) in &self.upper[upper..] {
                    self.updates
                        .push([slot(below, right), left_factor, right_factor]);
                }
            }
            let own = slot(row, column);
            self.steps.push(Step {
                slot: own,
                row,
                column,
                // A pivot that was there is compared with what it was.
                compared: if there[row * order + column] {
                    own..own + 1
                } else {
                    columns[column].clone()
                },
                lower: lower..self.lower.len(),
                upper: upper..self.upper.len(),
                updates: updates..self.updates.len(),
            });
        }
    }

    /// Lists what the next slot is the sum of.
    fn list_sum(&mut self, row: usize, column: usize) {
        let ends = [1.0, -1.0].map(|sign| {
            for stamp in &self.stamps {
                if (stamp.row, stamp.column, stamp.sign) == (row, column, sign) {
                    self.terms.push(stamp.term);
                }
            }
            self.terms.len()
        });
        self.sums.push(ends);
    }

    /// Whether there is an order: the values that it was planned for have a
    /// solution.
    pub(super) fn is_made(&self) -> bool {
        !self.steps.is_empty()
    }

    /// Room for the numbers of a system.
    pub(super) fn system<N: Number>(&self) -> System<N> {
        System {
            entries: vec![N::ZERO; self.sums.len()],
            reciprocals: vec![N::ZERO; self.steps.len()],
            compared: vec![0.0; self.steps.len()],
            work: vec![N::ZERO; self.order],
            dense: Lu::new(self.order),
            by_plan: false,
            weakest: Pivot {
                column: 0,
                share: 1.0,
            },
        }
    }
}

impl<N: Number> System<N> {
    /// Whether the room is that of a plan.
    pub(super) fn fits(&self, plan: &Plan) -> bool {
        self.work.len() == plan.order
            && self.entries.len() == plan.sums.len()
            && self.reciprocals.len() == plan.steps.len()
    }

    /// Writes the matrix that the terms make, and factors it.
    ///
    /// # Errors
    /// The pivot that there is none for.
    pub(super) fn factor(&mut self, plan: &Plan, terms: &[N]) -> Result<(), Pivot> {
        self.by_plan = self.factor_by_plan(plan, terms);
        if self.by_plan {
            return Ok(());
        }
        self.dense.clear();
        for stamp in &plan.stamps {
            let value = terms[stamp.term].scaled(stamp.sign);
            self.dense.add(stamp.row, stamp.column, value);
        }
        self.dense.factor()?;
        self.weakest = self.dense.weakest();
        Ok(())
    }

    /// Whether the plan does for these values.
    fn factor_by_plan(&mut self, plan: &Plan, terms: &[N]) -> bool {
        if !plan.is_made() {
            return false;
        }
        let a = self.entries.as_mut_slice();
        let mut start = 0;
        for (entry, &[middle, end]) in a.iter_mut().zip(&plan.sums) {
            let added = plan.terms[start..middle].iter();
            let taken = plan.terms[middle..end].iter();
            let sum = added.fold(N::ZERO, |sum, &term| sum + terms[term]);
            *entry = taken.fold(sum, |sum, &term| sum - terms[term]);
            start = end;
        }
        for (compared, step) in self.compared.iter_mut().zip(&plan.steps) {
            let sizes = a[step.compared.clone()].iter().map(|entry| entry.size());
            *compared = sizes.fold(0.0, f64::max);
        }
        let mut weakest = Pivot {
            column: 0,
            share: 1.0,
        };
        let mut multiplier = 0.0_f64;
        for (at, step) in plan.steps.iter().enumerate() {
            let pivot = a[step.slot];
            let share = pivot.size() / self.compared[at];
            // Written so that a share that is no number ends here as well.
            if !(share > 0.0 && share.is_finite()) {
                return false;
            }
            if share < weakest.share {
                weakest = Pivot {
                    column: step.column,
                    share,
                };
            }
            let reciprocal = N::ONE / pivot;
            self.reciprocals[at] = reciprocal;
            for &(slot, _) in &plan.lower[step.lower.clone()] {
                let factor = a[slot] * reciprocal;
                multiplier = multiplier.max(factor.size());
                a[slot] = factor;
            }
            for &[target, left, right] in &plan.updates[step.updates.clone()] {
                a[target] = a[target] - a[left] * a[right];
            }
        }
        self.weakest = weakest;
        multiplier <= LARGEST_MULTIPLIER
    }

    /// The weakest pivot of the last factorisation. For one that was there
    /// before elimination, the share is that of what it was.
    pub(super) fn weakest(&self) -> Pivot {
        self.weakest
    }

    /// Solves `A x = b` in place, after [`System::factor`].
    pub(super) fn solve(&mut self, plan: &Plan, b: &mut [N]) {
        if !self.by_plan {
            return self.dense.solve(b);
        }
        let a = self.entries.as_slice();
        for step in &plan.steps {
            let known = b[step.row];
            for &(slot, row) in &plan.lower[step.lower.clone()] {
                b[row] = b[row] - a[slot] * known;
            }
        }
        for (step, &reciprocal) in plan.steps.iter().zip(&self.reciprocals).rev() {
            let mut value = b[step.row];
            for &(slot, column) in &plan.upper[step.upper.clone()] {
                value = value - a[slot] * self.work[column];
            }
            self.work[step.column] = value * reciprocal;
        }
        b[..plan.order].copy_from_slice(&self.work);
    }

    /// Solves `Aᵀ x = b` in place, after [`System::factor`]; not the conjugate.
    pub(super) fn solve_transposed(&mut self, plan: &Plan, b: &mut [N]) {
        if !self.by_plan {
            return self.dense.solve_transposed(b);
        }
        let a = self.entries.as_slice();
        for (step, &reciprocal) in plan.steps.iter().zip(&self.reciprocals) {
            let value = b[step.column] * reciprocal;
            self.work[step.row] = value;
            for &(slot, column) in &plan.upper[step.upper.clone()] {
                b[column] = b[column] - a[slot] * value;
            }
        }
        for step in plan.steps.iter().rev() {
            let mut value = self.work[step.row];
            for &(slot, row) in &plan.lower[step.lower.clone()] {
                value = value - a[slot] * self.work[row];
            }
            self.work[step.row] = value;
        }
        b[..plan.order].copy_from_slice(&self.work);
    }
}
