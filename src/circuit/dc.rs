//! The operating point: a linear solution, or Newton's method.

use super::compiled::Compiled;
use super::fault::{CircuitFault, Regime, Unknown};
use super::lu::{Lu, Pivot};
use super::primitive::Piece;
use super::workspace::Workspace;

/// Least share of its column that a pivot may be. The rounding error of a
/// result is then below 1.1e-16 / 1e-11, one part in 90 000.
pub(super) const LEAST_SHARE: f64 = 1e-11;

/// Most rounds of Newton's method from one start. Networks of a board take 5
/// to 20; a hundred diodes in series took 40.
const MOST_ROUNDS: usize = 150;

/// How far a junction may still move in the last round, as a part of its
/// n V_T. Newton's method squares this: the error that is left is 1e-14.
const SETTLED: f64 = 1e-7;

/// First step of the sources, as a part of their values, and the least.
const FIRST_STEP: f64 = 0.1;
const LEAST_STEP: f64 = 1e-6;

/// Why Newton's method stopped without a result.
enum Stuck {
    /// A column of the equations depends on others.
    Pivot(Pivot),
    /// The unknown that still moved most, and how far.
    Moving(usize, f64),
}

impl Compiled {
    /// Solves for the operating point; the solution is `workspace.x`.
    pub(super) fn solve_steady(
        &self,
        workspace: &mut Workspace,
        parameters: &[f64],
    ) -> Result<(), CircuitFault> {
        self.prepare(workspace, parameters)?;
        self.settle(workspace)
    }

    /// Writes the values that follow from the parameters.
    pub(super) fn prepare(
        &self,
        workspace: &mut Workspace,
        parameters: &[f64],
    ) -> Result<(), CircuitFault> {
        if !workspace.fits(self.order(), self.values, self.junctions) {
            *workspace = self.workspace();
        }
        self.derive(parameters, &mut workspace.values)
    }

    /// Solves for the operating point of the values that the workspace holds.
    pub(super) fn settle(&self, workspace: &mut Workspace) -> Result<(), CircuitFault> {
        if let Some(fault) = self.steady_faults().first() {
            return Err(fault.clone());
        }
        if self.is_linear() {
            self.assemble(workspace, 1.0);
            workspace
                .matrix
                .factor()
                .map_err(|pivot| self.open(pivot))?;
            workspace.matrix.solve(&mut workspace.x);
            let ground = self.order();
            workspace.x[ground] = 0.0;
        } else {
            self.settle_junctions(workspace)
                .map_err(|stuck| self.stuck_fault(stuck))?;
        }
        let weakest = workspace.matrix.weakest();
        if weakest.share < LEAST_SHARE {
            return Err(self.open(weakest));
        }
        Ok(())
    }

    #[cold]
    fn open(&self, pivot: Pivot) -> CircuitFault {
        self.undetermined(pivot, Regime::Steady)
    }

    #[cold]
    pub(super) fn undetermined(&self, pivot: Pivot, regime: Regime) -> CircuitFault {
        CircuitFault::Undetermined {
            unknown: self.unknowns[pivot.column].clone(),
            regime,
        }
    }

    #[cold]
    fn stuck_fault(&self, stuck: Stuck) -> CircuitFault {
        match stuck {
            Stuck::Pivot(pivot) => self.open(pivot),
            Stuck::Moving(at, moved) => CircuitFault::NotSettled {
                node: self.unknowns[at].clone(),
                moved,
            },
        }
    }

    /// Newton's method from the nominal operating point, then from the bends
    /// of the curves, then while the sources are turned up.
    fn settle_junctions(&self, workspace: &mut Workspace) -> Result<(), Stuck> {
        if !self.starts.is_empty() {
            workspace.junctions.copy_from_slice(&self.starts);
            if self.newton(workspace, 1.0).is_ok() {
                return Ok(());
            }
        }
        for placed in &self.pieces {
            if let Some((curve, junction, values)) = placed.curve() {
                workspace.junctions[junction] = curve.start(&workspace.values[values]);
            }
        }
        if self.newton(workspace, 1.0).is_ok() {
            return Ok(());
        }
        self.turn_up_sources(workspace)
    }

    /// Solves with the sources at a small part of their values first, where
    /// nothing conducts, and follows the solution as they rise.
    fn turn_up_sources(&self, workspace: &mut Workspace) -> Result<(), Stuck> {
        workspace.kept.fill(0.0);
        let (mut reached, mut step) = (0.0, FIRST_STEP);
        while reached < 1.0 {
            let next = f64::min(reached + step, 1.0);
            let Workspace {
                junctions, kept, ..
            } = workspace;
            junctions.copy_from_slice(kept);
            match self.newton(workspace, next) {
                Ok(()) => {
                    workspace.kept.copy_from_slice(&workspace.junctions);
                    reached = next;
                    step *= 2.0;
                }
                Err(stuck) => {
                    step *= 0.25;
                    if step < LEAST_STEP {
                        return Err(stuck);
                    }
                }
            }
        }
        Ok(())
    }

    /// Newton's method with the sources at a part of their values, from the
    /// junction voltages in the workspace.
    ///
    /// A round straightens every curve at its junction's voltage and solves
    /// the linear network that results. Where the junctions' movement does not
    /// shrink from round to round, they are taken only a part of the way.
    fn newton(&self, workspace: &mut Workspace, scale: f64) -> Result<(), Stuck> {
        let ground = self.order();
        let (mut last, mut part) = (f64::INFINITY, 1.0_f64);
        for _ in 0..MOST_ROUNDS {
            let Workspace { x, previous, .. } = workspace;
            previous.copy_from_slice(x);
            self.assemble(workspace, scale);
            workspace.matrix.factor().map_err(Stuck::Pivot)?;
            workspace.matrix.solve(&mut workspace.x);
            workspace.x[ground] = 0.0;
            let Workspace {
                x,
                junctions,
                values,
                ..
            } = workspace;
            let mut settled = true;
            let mut moved = 0.0_f64;
            for placed in &self.pieces {
                let Some((curve, junction, range)) = placed.curve() else {
                    continue;
                };
                let values = &values[range];
                let [high, low] = placed.ends.map(|end| x[end]);
                let (new, old) = (high - low, junctions[junction]);
                // The last value of every curve is n V_T.
                let natural = values[values.len() - 1];
                let rounding = 64.0 * f64::EPSILON * (high.abs() + low.abs());
                // Written so that a voltage that is no number is not settled.
                settled &= (new - old).abs() <= SETTLED * natural + rounding;
                let limited = curve.limited(new, old, values);
                moved = moved.max((limited - old).abs() / natural);
                junctions[junction] = old + part * (limited - old);
            }
            if settled {
                self.take_junctions(workspace);
                return Ok(());
            }
            part = if moved < 0.9 * last {
                (2.0 * part).min(1.0)
            } else {
                (0.5 * part).max(1.0 / 32.0)
            };
            last = moved;
        }
        let (mut most, mut furthest) = (0, 0.0);
        for (at, unknown) in self.unknowns.iter().enumerate() {
            let moved = (workspace.x[at] - workspace.previous[at]).abs();
            if matches!(unknown, Unknown::Node(_)) && moved >= furthest {
                (most, furthest) = (at, moved);
            }
        }
        Err(Stuck::Moving(most, furthest))
    }

    /// Factors the equations with every curve straightened at the operating
    /// point itself.
    pub(super) fn factor_at_point(&self, workspace: &mut Workspace) -> Result<(), CircuitFault> {
        // The right side is not wanted, and the solution is.
        workspace.previous.copy_from_slice(&workspace.x);
        self.assemble(workspace, 1.0);
        workspace.x.copy_from_slice(&workspace.previous);
        workspace.matrix.factor().map_err(|pivot| self.open(pivot))
    }

    /// Puts every junction at the voltage of the solution.
    fn take_junctions(&self, workspace: &mut Workspace) {
        for placed in &self.pieces {
            if let Some((_, junction, _)) = placed.curve() {
                let [high, low] = placed.ends.map(|end| workspace.x[end]);
                workspace.junctions[junction] = high - low;
            }
        }
    }

    /// Writes the equations, junctions straightened at their voltages in the
    /// workspace, and the right side into `x`.
    pub(super) fn assemble(&self, workspace: &mut Workspace, scale: f64) {
        let Workspace {
            matrix,
            x,
            values,
            junctions,
            ..
        } = workspace;
        matrix.clear();
        x.fill(0.0);
        for placed in &self.pieces {
            let ends @ [a, b] = placed.ends;
            match placed.piece {
                Piece::Conductance { value } => matrix.add_between(ends, values[value]),
                Piece::Capacitance { .. } | Piece::Open => {}
                Piece::Inductance { branch, .. } | Piece::Short { branch } => {
                    matrix.add_branch(ends, branch);
                }
                Piece::VoltageSource { value, branch } => {
                    matrix.add_branch(ends, branch);
                    x[branch] += scale * values[value];
                }
                Piece::CurrentSource { value } => {
                    x[a] -= scale * values[value];
                    x[b] += scale * values[value];
                }
                Piece::Junction { .. } | Piece::Zener { .. } => {
                    if let Some((curve, junction, range)) = placed.curve() {
                        let v = junctions[junction];
                        let (current, slope) = curve.at(v, &values[range]);
                        matrix.add_between(ends, slope);
                        let rest = current - slope * v;
                        x[a] -= rest;
                        x[b] += rest;
                    }
                }
                Piece::Amplifier {
                    value,
                    branch,
                    inputs,
                } => {
                    let [output, resistance] = [values[value], values[value + 2]];
                    matrix.add_amplifier(inputs, a, branch, output, resistance);
                }
            }
        }
    }
}

impl<N: super::lu::Number> Lu<N> {
    /// A conductance between two unknowns.
    #[inline]
    pub(super) fn add_between(&mut self, [a, b]: [usize; 2], conductance: N) {
        self.add(a, a, conductance);
        self.add(b, b, conductance);
        self.add(a, b, -conductance);
        self.add(b, a, -conductance);
    }

    /// A piece that keeps its voltage: its current leaves the first node and
    /// enters the second, and its row holds the difference of their voltages.
    #[inline]
    pub(super) fn add_branch(&mut self, [a, b]: [usize; 2], branch: usize) {
        self.add(a, branch, N::ONE);
        self.add(b, branch, -N::ONE);
        self.add(branch, a, N::ONE);
        self.add(branch, b, -N::ONE);
    }

    /// An amplifier: what enters its output is the branch's current i, and its
    /// row says `v₊ - v₋ - (v_out - R_out i) / A = 0`.
    pub(super) fn add_amplifier(
        &mut self,
        [plus, minus]: [usize; 2],
        output: usize,
        branch: usize,
        reciprocal_gain: N,
        resistance: N,
    ) {
        self.add(output, branch, N::ONE);
        self.add(branch, plus, N::ONE);
        self.add(branch, minus, -N::ONE);
        self.add(branch, output, -reciprocal_gain);
        self.add(branch, branch, reciprocal_gain * resistance);
    }
}
