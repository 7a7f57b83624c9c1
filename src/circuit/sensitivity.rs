//! Results with their exact derivatives by every parameter.
//!
//! Method: one solution of the transposed equations gives the derivatives by
//! all parameters together; see S. W. Director and R. A. Rohrer, The
//! Generalized Adjoint Network and Network Sensitivities, IEEE Trans. Circuit
//! Theory 16 (1969) 318-323 (from memory). With `F(x, p) = 0` solved by x and
//! `λ` from `(∂F/∂x)ᵀ λ = ∂f/∂x`, a result f(x, p) has `df/dp = ∂f/∂p - λᵀ
//! ∂F/∂p`. The slopes of junctions that an AC response depends on move with
//! the operating point: a second such solution, of its equations, takes them
//! to the parameters.

use num_complex::Complex64;

use super::ac::{Excitation, J};
use super::compiled::Compiled;
use super::fault::CircuitFault;
use super::primitive::Piece;
use super::wanted::{Asked, Aspect, Drive, Sight, Transfer, Wanted};
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

    fn piece_current(&self, workspace: &Workspace, piece: usize) -> f64 {
        let Workspace { x, values, .. } = workspace;
        let placed = &self.pieces[piece];
        let [a, b] = placed.ends;
        match placed.piece {
            Piece::Conductance { value } => values[value] * (x[a] - x[b]),
            Piece::Capacitance { .. } | Piece::Open => 0.0,
            Piece::CurrentSource { value } => values[value],
            Piece::Junction { .. } | Piece::Zener { .. } => {
                placed.curve().map_or(0.0, |(curve, _, range)| {
                    curve.at(x[a] - x[b], &values[range]).0
                })
            }
            Piece::Inductance { branch, .. }
            | Piece::VoltageSource { branch, .. }
            | Piece::Short { branch }
            | Piece::Amplifier { branch, .. } => x[branch],
        }
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
            adjoint,
            by_value,
            ..
        } = workspace;
        let placed = &self.pieces[piece];
        let [a, b] = placed.ends;
        let across = x[a] - x[b];
        let slope = match placed.piece {
            Piece::Conductance { value } => {
                by_value[value] += weight * across;
                values[value]
            }
            Piece::Capacitance { .. } | Piece::Open => 0.0,
            Piece::CurrentSource { value } => {
                by_value[value] += weight;
                0.0
            }
            Piece::Junction { .. } | Piece::Zener { .. } => match placed.curve() {
                Some((curve, _, range)) => {
                    let point = curve.point(across, &values[range.clone()]);
                    for (by_value, by) in by_value[range].iter_mut().zip(point.current_by) {
                        *by_value += weight * by;
                    }
                    point.slope
                }
                None => 0.0,
            },
            Piece::Inductance { branch, .. }
            | Piece::VoltageSource { branch, .. }
            | Piece::Short { branch }
            | Piece::Amplifier { branch, .. } => {
                adjoint[branch] += weight;
                0.0
            }
        };
        adjoint[a] += weight * slope;
        adjoint[b] -= weight * slope;
    }

    /// Turns derivatives by the unknowns of the operating point into
    /// derivatives by the values.
    fn adjoin_steady(&self, workspace: &mut Workspace) -> Result<(), CircuitFault> {
        if !self.is_linear() {
            // The factors are those of the round before the last movement.
            self.factor_at_point(workspace)?;
        }
        let ground = self.order();
        let Workspace {
            matrix,
            x,
            values,
            adjoint,
            by_value,
            ..
        } = workspace;
        matrix.solve_transposed(adjoint);
        adjoint[ground] = 0.0;
        for placed in &self.pieces {
            let [a, b] = placed.ends;
            let weight = adjoint[a] - adjoint[b];
            let across = x[a] - x[b];
            match placed.piece {
                Piece::Conductance { value } => by_value[value] -= weight * across,
                Piece::VoltageSource { value, branch } => by_value[value] += adjoint[branch],
                Piece::CurrentSource { value } => by_value[value] -= weight,
                Piece::Junction { .. } | Piece::Zener { .. } => {
                    if let Some((curve, _, range)) = placed.curve() {
                        let point = curve.point(across, &values[range.clone()]);
                        for (by_value, by) in by_value[range].iter_mut().zip(point.current_by) {
                            *by_value -= weight * by;
                        }
                    }
                }
                Piece::Amplifier { value, branch, .. } => {
                    let inside = x[a] - values[value + 2] * x[branch];
                    by_value[value] += adjoint[branch] * inside;
                    by_value[value + 2] -= adjoint[branch] * values[value] * x[branch];
                }
                Piece::Capacitance { .. }
                | Piece::Inductance { .. }
                | Piece::Short { .. }
                | Piece::Open => {}
            }
        }
        Ok(())
    }

    /// Derivatives of one number of a ratio of phasors by the values, and by
    /// the slopes of the junctions.
    fn adjoin_phasors(
        &self,
        workspace: &mut Workspace,
        excitation: Excitation,
        transfer: Transfer,
        aspect: Aspect,
    ) {
        let under = self.phasor_sight(workspace, excitation, transfer.under);
        let ratio = self.phasor_sight(workspace, excitation, transfer.over) / under;
        // The number moves by the real part of this times the ratio's movement.
        let weight = match aspect {
            Aspect::Magnitude => ratio.conj() / ratio.norm(),
            Aspect::Level => (20.0 * std::f64::consts::LOG10_E) / ratio,
            Aspect::Phase => -J / ratio,
            Aspect::Real => Complex64::new(1.0, 0.0),
            Aspect::Imaginary => -J,
        } / under;
        workspace.phasor_adjoint.fill(Complex64::new(0.0, 0.0));
        workspace.by_slope.fill(0.0);
        self.phasor_partials(workspace, excitation, transfer.over, weight);
        self.phasor_partials(workspace, excitation, transfer.under, -weight * ratio);
        let ground = self.order();
        let Workspace {
            phasor_matrix,
            z,
            values,
            phasor_adjoint: adjoint,
            by_value,
            by_slope,
            ..
        } = workspace;
        phasor_matrix.solve_transposed(adjoint);
        adjoint[ground] = Complex64::new(0.0, 0.0);
        for placed in &self.pieces {
            let [a, b] = placed.ends;
            let weight = adjoint[a] - adjoint[b];
            let across = z[a] - z[b];
            match placed.piece {
                Piece::Conductance { value } => by_value[value] -= (weight * across).re,
                Piece::Capacitance { value } => {
                    by_value[value] -= (weight * across * J * excitation.omega()).re;
                }
                Piece::Inductance { value, branch } => {
                    by_value[value] += (adjoint[branch] * z[branch] * J * excitation.omega()).re;
                }
                Piece::VoltageSource { value, branch } => {
                    drive_partials(excitation, value, values, adjoint[branch], by_value);
                }
                Piece::CurrentSource { value } => {
                    drive_partials(excitation, value, values, -weight, by_value);
                }
                Piece::Junction { junction, .. } | Piece::Zener { junction, .. } => {
                    by_slope[junction] -= (weight * across).re;
                }
                Piece::Amplifier { value, branch, .. } => {
                    let inside = z[a] - values[value + 2] * z[branch];
                    let reciprocal =
                        Complex64::new(values[value], excitation.frequency * values[value + 1]);
                    let weight = adjoint[branch];
                    by_value[value] += (weight * inside).re;
                    by_value[value + 1] += (weight * inside * J * excitation.frequency).re;
                    by_value[value + 2] -= (weight * reciprocal * z[branch]).re;
                }
                Piece::Short { .. } | Piece::Open => {}
            }
        }
    }

    /// Adds what a phasor depends on directly, times a weight.
    fn phasor_partials(
        &self,
        workspace: &mut Workspace,
        excitation: Excitation,
        sight: Sight,
        weight: Complex64,
    ) {
        let Workspace {
            z,
            values,
            slopes,
            phasor_adjoint: adjoint,
            by_value,
            by_slope,
            ..
        } = workspace;
        let (piece, weight) = match sight {
            Sight::One | Sight::Power(_) => return,
            Sight::Voltage([a, b]) => {
                adjoint[a] += weight;
                adjoint[b] -= weight;
                return;
            }
            Sight::Current(part) => {
                let part = &self.parts[part];
                (part.lead, weight * part.current_sign)
            }
        };
        let placed = &self.pieces[piece];
        let [a, b] = placed.ends;
        let across = z[a] - z[b];
        let admittance = match placed.piece {
            Piece::Conductance { value } => {
                by_value[value] += (weight * across).re;
                Complex64::new(values[value], 0.0)
            }
            Piece::Capacitance { value } => {
                by_value[value] += (weight * across * J * excitation.omega()).re;
                J * (excitation.omega() * values[value])
            }
            Piece::Junction { junction, .. } | Piece::Zener { junction, .. } => {
                by_slope[junction] += (weight * across).re;
                Complex64::new(slopes[junction], 0.0)
            }
            Piece::CurrentSource { value } => {
                return drive_partials(excitation, value, values, weight, by_value);
            }
            Piece::Open => return,
            Piece::Inductance { branch, .. }
            | Piece::VoltageSource { branch, .. }
            | Piece::Short { branch }
            | Piece::Amplifier { branch, .. } => {
                adjoint[branch] += weight;
                return;
            }
        };
        adjoint[a] += weight * admittance;
        adjoint[b] -= weight * admittance;
    }

    /// Turns derivatives by the slopes of junctions into derivatives by the
    /// unknowns of the operating point, and by the junctions' own values.
    fn slope_partials(&self, workspace: &mut Workspace) {
        let Workspace {
            values,
            junctions,
            adjoint,
            by_value,
            by_slope,
            ..
        } = workspace;
        adjoint.fill(0.0);
        for placed in &self.pieces {
            let Some((curve, junction, range)) = placed.curve() else {
                continue;
            };
            let [a, b] = placed.ends;
            let weight = by_slope[junction];
            let point = curve.point(junctions[junction], &values[range.clone()]);
            for (by_value, by) in by_value[range].iter_mut().zip(point.slope_by) {
                *by_value += weight * by;
            }
            adjoint[a] += weight * point.bend;
            adjoint[b] -= weight * point.bend;
        }
    }
}

/// Derivatives of a source's phasor by its amplitude and phase, times a
/// weight. A source that drives with one volt or ampere depends on neither.
fn drive_partials(
    excitation: Excitation,
    value: usize,
    values: &[f64],
    weight: Complex64,
    by_value: &mut [f64],
) {
    if excitation.drive == Drive::All {
        let direction = Complex64::from_polar(1.0, values[value + 2]);
        by_value[value + 1] += (weight * direction).re;
        by_value[value + 2] += (weight * direction * J * values[value + 1]).re;
    }
}

fn finite(value: f64) -> Result<f64, CircuitFault> {
    if value.is_finite() {
        Ok(value)
    } else {
        Err(CircuitFault::NotFinite)
    }
}
