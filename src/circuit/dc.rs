//! The operating point: a linear solution, or Newton's method.

use super::compiled::Compiled;
use super::fault::{CircuitFault, Regime, Unknown};
use super::lu::Pivot;
use super::primitive::{Junction, Piece, Placed};
use super::wanted::Sight;
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
pub(super) enum Stuck {
    /// A column of the equations depends on others.
    Pivot(Pivot),
    /// The unknown that still moved most, and how far.
    Moving(usize, f64),
}

/// How the junctions moved in a round, each by its n V_T.
struct Movement {
    /// Whether all are where the solution has them.
    settled: bool,
    /// The largest step that was asked for.
    most: f64,
    /// Whether the steps, taken together, went against those of the round
    /// before.
    turned: bool,
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
        if !workspace.fits(self) {
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
            self.solve_straightened(workspace, 1.0)
                .map_err(|pivot| self.open(pivot))?;
        } else {
            self.settle_junctions(workspace)
                .map_err(|stuck| self.stuck_fault(stuck))?;
        }
        let weakest = workspace.steady.weakest();
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
        for junction in self.pieces.iter().filter_map(Placed::junction) {
            let values = &workspace.values[junction.values()];
            workspace.junctions[junction.number] = junction.curve.start(values);
        }
        if self.newton(workspace, 1.0).is_ok() {
            return Ok(());
        }
        self.turn_up_sources(workspace)
    }

    /// Solves with the sources at a small part of their values first, where
    /// nothing conducts, and follows the solution as they rise.
    pub(super) fn turn_up_sources(&self, workspace: &mut Workspace) -> Result<(), Stuck> {
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
    /// the linear network that results. Where the junctions go back and forth
    /// without coming nearer, they are taken only a part of the way.
    fn newton(&self, workspace: &mut Workspace, scale: f64) -> Result<(), Stuck> {
        let (mut last, mut part) = (f64::INFINITY, 1.0_f64);
        workspace.steps.fill(0.0);
        for _ in 0..MOST_ROUNDS {
            let Workspace { x, previous, .. } = workspace;
            previous.copy_from_slice(x);
            self.solve_straightened(workspace, scale)
                .map_err(Stuck::Pivot)?;
            let movement = self.move_junctions(workspace, part);
            if movement.settled {
                self.take_junctions(workspace);
                return Ok(());
            }
            part = if movement.turned && movement.most > 0.5 * last {
                (0.5 * part).max(1.0 / 64.0)
            } else {
                (2.0 * part).min(1.0)
            };
            last = movement.most;
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

    /// Takes every junction a part of the way to the voltage of the solution.
    fn move_junctions(&self, workspace: &mut Workspace, part: f64) -> Movement {
        let mut movement = Movement {
            settled: true,
            most: 0.0,
            turned: false,
        };
        let mut along = 0.0;
        for placed in &self.pieces {
            let Some(junction) = placed.junction() else {
                continue;
            };
            let own = &workspace.values[junction.values()];
            let [high, low] = placed.ends.map(|end| workspace.x[end]);
            let (new, old) = (
                proposed(workspace, placed, junction),
                workspace.junctions[junction.number],
            );
            let natural = junction.curve.scale(own);
            let rounding = 64.0 * f64::EPSILON * (high.abs() + low.abs());
            // Written so that a voltage that is no number is not settled.
            movement.settled &= (new - old).abs() <= SETTLED * natural + rounding;
            let step = (junction.curve.limited(new, old, own) - old) / natural;
            movement.most = movement.most.max(step.abs());
            along += step * workspace.steps[junction.number];
            workspace.steps[junction.number] = step;
            workspace.junctions[junction.number] = old + part * step * natural;
        }
        movement.turned = along < 0.0;
        movement
    }

    /// Puts every junction at the voltage of the solution.
    fn take_junctions(&self, workspace: &mut Workspace) {
        for placed in &self.pieces {
            if let Some(junction) = placed.junction() {
                workspace.junctions[junction.number] = proposed(workspace, placed, junction);
            }
        }
    }

    /// Solves the network with every curve straightened at its junction's
    /// voltage in the workspace, sources at a part of their values.
    fn solve_straightened(&self, workspace: &mut Workspace, scale: f64) -> Result<(), Pivot> {
        let Workspace {
            steady,
            x,
            values,
            junctions,
            rests,
            ..
        } = workspace;
        x.fill(0.0);
        for &at in &self.active {
            let placed = &self.pieces[at];
            let [a, b] = placed.ends;
            match placed.piece {
                Piece::VoltageSource { value, branch } => x[branch] += scale * values[value],
                Piece::CurrentSource { value } => {
                    x[a] -= scale * values[value];
                    x[b] += scale * values[value];
                }
                _ => {
                    if let Some(junction) = placed.junction() {
                        let v = junctions[junction.number];
                        let line = junction.curve.line(v, &values[junction.values()]);
                        values[junction.slope] = line.slope;
                        rests[junction.number] = line.rest;
                        x[a] -= line.rest;
                        x[b] += line.rest;
                    }
                }
            }
        }
        steady.factor(&self.steady_plan, values)?;
        steady.solve(&self.steady_plan, x);
        x[self.order()] = 0.0;
        Ok(())
    }

    /// Straightens every curve at the operating point itself; the equations
    /// that were solved are those of the round before it was reached.
    pub(super) fn straighten_at_point(&self, workspace: &mut Workspace) {
        for junction in self.pieces.iter().filter_map(Placed::junction) {
            let v = workspace.junctions[junction.number];
            let own = &workspace.values[junction.values()];
            workspace.values[junction.slope] = junction.curve.line(v, own).slope;
        }
    }

    /// Reads a number off the operating point.
    pub(super) fn sight(&self, workspace: &Workspace, sight: Sight) -> f64 {
        let x = &workspace.x;
        match sight {
            Sight::One => 1.0,
            Sight::Voltage([a, b]) => x[a] - x[b],
            Sight::Current(part) => {
                let part = &self.parts[part];
                part.current_sign * self.piece_current(workspace, part.lead)
            }
            Sight::Power(part) => {
                let part = &self.parts[part];
                let [a, b] = part.ends;
                part.power_sign * (x[a] - x[b]) * self.piece_current(workspace, part.lead)
            }
        }
    }

    /// The current of a piece, from its first end to its second.
    pub(super) fn piece_current(&self, workspace: &Workspace, piece: usize) -> f64 {
        let Workspace {
            x,
            values,
            junctions,
            ..
        } = workspace;
        let placed = &self.pieces[piece];
        let [a, b] = placed.ends;
        if let Some(branch) = placed.branch() {
            return x[branch];
        }
        if let Some(junction) = placed.junction() {
            let own = &values[junction.values()];
            return junction.curve.at(junctions[junction.number], own).0;
        }
        match placed.piece {
            Piece::Conductance { value } => values[value] * (x[a] - x[b]),
            Piece::CurrentSource { value } => values[value],
            _ => 0.0,
        }
    }
}

/// The voltage that the solution says a junction itself has: its part's, less
/// that of its series resistance.
fn proposed(workspace: &Workspace, placed: &Placed, junction: Junction) -> f64 {
    let [high, low] = placed.ends.map(|end| workspace.x[end]);
    let across = high - low;
    let current = workspace.rests[junction.number] + workspace.values[junction.slope] * across;
    let own = &workspace.values[junction.values()];
    across - junction.curve.series(own) * current
}
