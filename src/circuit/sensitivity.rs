//! Results with their exact derivatives by every parameter.
//!
//! Method: one solution of the transposed equations gives the derivatives by
//! all parameters together; see S. W. Director and R. A. Rohrer, The
//! Generalized Adjoint Network and Network Sensitivities, IEEE Trans. Circuit
//! Theory 16 (1969) 318-323 (from memory). With `F(x, p) = 0` solved by x and
//! `λ` from `(∂F/∂x)ᵀ λ = ∂f/∂x`, a result f(x, p) has `df/dp = ∂f/∂p - λᵀ
//! ∂F/∂p`. The slopes of junctions that an AC response depends on move with
//! the operating point: a second such solution, of its equations, takes them
//! to the parameters (see `phasor_sensitivity`).

use super::ac::Excitation;
use super::compiled::Compiled;
use super::fault::{CircuitFault, Regime};
use super::primitive::Piece;
use super::wanted::{Asked, Sight, Wanted};
use super::workspace::Workspace;

impl Compiled {
    /// A result and its derivatives by every parameter, in coherent SI units.
    ///
    /// # Errors
    /// Parameters out of their limits or of the wrong number, no operating
    /// point, or no such result.
    pub fn value_and_gradient(
        &self,
        parameters: &[f64],
        wanted: &Wanted,
    ) -> Result<(f64, Vec<f64>), CircuitFault> {
        let mut gradient = vec![0.0; self.parameters().len()];
        let mut workspace = self.workspace();
        let value =
            self.value_and_gradient_in(&mut workspace, parameters, wanted, &mut gradient)?;
        Ok((value, gradient))
    }

    /// A result, in a workspace that is used again and again.
    ///
    /// # Errors
    /// As [`Compiled::value_and_gradient`].
    pub fn value_in(
        &self,
        workspace: &mut Workspace,
        parameters: &[f64],
        wanted: &Wanted,
    ) -> Result<f64, CircuitFault> {
        let value = match wanted.0 {
            Asked::Steady(sight) => {
                self.check_sight(sight)?;
                self.solve_steady(workspace, parameters)?;
                self.sight(workspace, sight)
            }
            Asked::Phasor(transfer, frequency, aspect) => {
                self.straighten(workspace, parameters)?;
                aspect.of(self.ratio(workspace, transfer, frequency)?)
            }
        };
        finite(value)
    }

    /// Results of one steady state, in a workspace that is used again and
    /// again: as many as there are places in `results`.
    ///
    /// # Errors
    /// As [`Compiled::value_and_gradient`]; also for a result that is none of
    /// the steady state.
    pub fn steady_values_in(
        &self,
        workspace: &mut Workspace,
        parameters: &[f64],
        wanted: &[Wanted],
        results: &mut [f64],
    ) -> Result<(), CircuitFault> {
        self.solve_steady(workspace, parameters)?;
        for (wanted, result) in wanted.iter().zip(results) {
            let Asked::Steady(sight) = wanted.0 else {
                return Err(CircuitFault::ForeignResult);
            };
            self.check_sight(sight)?;
            *result = finite(self.sight(workspace, sight))?;
        }
        Ok(())
    }

    /// A result and its derivatives, which are written to `gradient`, in a
    /// workspace that is used again and again.
    ///
    /// # Errors
    /// As [`Compiled::value_and_gradient`]; also where `gradient` has not one
    /// place for each parameter.
    pub fn value_and_gradient_in(
        &self,
        workspace: &mut Workspace,
        parameters: &[f64],
        wanted: &Wanted,
        gradient: &mut [f64],
    ) -> Result<f64, CircuitFault> {
        let value = self.value_in(workspace, parameters, wanted)?;
        let needed = parameters.len();
        if gradient.len() != needed {
            let found = gradient.len();
            return Err(CircuitFault::ParameterCount { found, needed });
        }
        workspace.by_value.fill(0.0);
        match wanted.0 {
            Asked::Steady(sight) => {
                workspace.adjoint.fill(0.0);
                self.straighten_at_point(workspace);
                self.steady_partials(workspace, sight);
                self.adjoin_steady(workspace)?;
            }
            Asked::Phasor(transfer, frequency, aspect) => {
                let drive = transfer.drive;
                let excitation = Excitation { frequency, drive };
                self.adjoin_phasors(workspace, excitation, transfer, aspect);
                if !self.is_linear() {
                    self.slope_partials(workspace);
                    self.adjoin_steady(workspace)?;
                }
            }
        }
        gradient.fill(0.0);
        for step in &self.derivations {
            step.rule.pull_back(
                &parameters[step.parameters.clone()],
                &workspace.values[step.values.clone()],
                &workspace.by_value[step.values.clone()],
                &mut gradient[step.parameters.clone()],
            );
        }
        gradient
            .iter()
            .try_for_each(|&slope| finite(slope).map(drop))?;
        Ok(value)
    }

    /// Adds what a number depends on directly: unknowns and values.
    fn steady_partials(&self, workspace: &mut Workspace, sight: Sight) {
        match sight {
            Sight::One => {}
            Sight::Voltage([a, b]) => {
                workspace.adjoint[a] += 1.0;
                workspace.adjoint[b] -= 1.0;
            }
            Sight::Current(part) => {
                let part = &self.parts[part];
                self.current_partials(workspace, part.lead, part.current_sign);
            }
            Sight::Power(part) => {
                let part = &self.parts[part];
                let [a, b] = part.ends;
                let current = part.power_sign * self.piece_current(workspace, part.lead);
                let voltage = part.power_sign * (workspace.x[a] - workspace.x[b]);
                workspace.adjoint[a] += current;
                workspace.adjoint[b] -= current;
                self.current_partials(workspace, part.lead, voltage);
            }
        }
    }

    fn current_partials(&self, workspace: &mut Workspace, piece: usize, weight: f64) {
        let Workspace {
            x,
            values,
            junctions,
            adjoint,
            by_value,
            ..
        } = workspace;
        let placed = &self.pieces[piece];
        let [a, b] = placed.ends;
        let across = x[a] - x[b];
        if let Some(branch) = placed.branch() {
            adjoint[branch] += weight;
            return;
        }
        let slope = if let Some(junction) = placed.junction() {
            let own = junction.values();
            let point = junction
                .curve
                .point(junctions[junction.number], &values[own.clone()]);
            for (by_value, by) in by_value[own].iter_mut().zip(point.current_by) {
                *by_value += weight * by;
            }
            point.slope
        } else {
            match placed.piece {
                Piece::Conductance { value } => {
                    by_value[value] += weight * across;
                    values[value]
                }
                Piece::CurrentSource { value } => {
                    by_value[value] += weight;
                    0.0
                }
                _ => 0.0,
            }
        };
        adjoint[a] += weight * slope;
        adjoint[b] -= weight * slope;
    }

    /// Turns derivatives by the unknowns of the operating point into
    /// derivatives by the values.
    fn adjoin_steady(&self, workspace: &mut Workspace) -> Result<(), CircuitFault> {
        let Workspace {
            steady,
            x,
            values,
            junctions,
            adjoint,
            by_value,
            ..
        } = workspace;
        let plan = &self.steady_plan;
        if !self.is_linear() {
            // Straightened at the point itself, and not a round before.
            steady
                .factor(plan, values)
                .map_err(|pivot| self.undetermined(pivot, Regime::Steady))?;
        }
        steady.solve_transposed(plan, adjoint);
        adjoint[self.order()] = 0.0;
        for placed in &self.pieces {
            let [a, b] = placed.ends;
            let weight = adjoint[a] - adjoint[b];
            let across = x[a] - x[b];
            match placed.piece {
                Piece::Conductance { value } => by_value[value] -= weight * across,
                Piece::VoltageSource { value, branch } => by_value[value] += adjoint[branch],
                Piece::CurrentSource { value } => by_value[value] -= weight,
                Piece::Amplifier { value, branch, .. } => {
                    let inside = x[a] - values[value + 2] * x[branch];
                    by_value[value] += adjoint[branch] * inside;
                    by_value[value + 2] -= adjoint[branch] * values[value] * x[branch];
                }
                Piece::Junction { .. } | Piece::Zener { .. } => {
                    if let Some(junction) = placed.junction() {
                        let own = junction.values();
                        let point = junction
                            .curve
                            .point(junctions[junction.number], &values[own.clone()]);
                        for (by_value, by) in by_value[own].iter_mut().zip(point.current_by) {
                            *by_value -= weight * by;
                        }
                    }
                }
                Piece::Capacitance { .. }
                | Piece::Inductance { .. }
                | Piece::Short { .. }
                | Piece::Open => {}
            }
        }
        Ok(())
    }
}

pub(super) fn finite(value: f64) -> Result<f64, CircuitFault> {
    if value.is_finite() {
        Ok(value)
    } else {
        Err(CircuitFault::NotFinite)
    }
}
