//! Derivatives of phasors: the adjoint solution of `sensitivity`, over complex
//! numbers.

use num_complex::Complex64;

use super::ac::{Excitation, J};
use super::compiled::Compiled;
use super::primitive::Piece;
use super::wanted::{Aspect, Drive, Sight, Transfer};
use super::workspace::Workspace;

impl Compiled {
    /// Derivatives of one number of a ratio of phasors by the values, and by
    /// the slopes of the junctions.
    pub(super) fn adjoin_phasors(
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
        self.phasor_partials(workspace, excitation, transfer.over, weight);
        self.phasor_partials(workspace, excitation, transfer.under, -weight * ratio);
        let Workspace {
            alternating,
            z,
            values,
            phasor_adjoint: adjoint,
            by_value,
            ..
        } = workspace;
        alternating.solve_transposed(&self.phasor_plan, adjoint);
        adjoint[self.order()] = Complex64::new(0.0, 0.0);
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
                Piece::Junction { .. } | Piece::Zener { .. } => {
                    if let Some(junction) = placed.junction() {
                        by_value[junction.slope] -= (weight * across).re;
                    }
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
            phasor_adjoint: adjoint,
            by_value,
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
        if let Some(branch) = placed.branch() {
            adjoint[branch] += weight;
            return;
        }
        let admittance = match placed.piece {
            Piece::Conductance { value } => {
                by_value[value] += (weight * across).re;
                Complex64::new(values[value], 0.0)
            }
            Piece::Capacitance { value } => {
                by_value[value] += (weight * across * J * excitation.omega()).re;
                J * (excitation.omega() * values[value])
            }
            Piece::CurrentSource { value } => {
                return drive_partials(excitation, value, values, weight, by_value);
            }
            _ => match placed.junction() {
                Some(junction) => {
                    by_value[junction.slope] += (weight * across).re;
                    Complex64::new(values[junction.slope], 0.0)
                }
                None => return,
            },
        };
        adjoint[a] += weight * admittance;
        adjoint[b] -= weight * admittance;
    }

    /// Turns derivatives by the slopes of junctions into derivatives by the
    /// unknowns of the operating point, and by the junctions' own values.
    pub(super) fn slope_partials(&self, workspace: &mut Workspace) {
        let Workspace {
            values,
            junctions,
            adjoint,
            by_value,
            ..
        } = workspace;
        adjoint.fill(0.0);
        for placed in &self.pieces {
            let Some(junction) = placed.junction() else {
                continue;
            };
            let [a, b] = placed.ends;
            let own = junction.values();
            let weight = by_value[junction.slope];
            let point = junction
                .curve
                .point(junctions[junction.number], &values[own.clone()]);
            for (by_value, by) in by_value[own].iter_mut().zip(point.slope_by) {
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
