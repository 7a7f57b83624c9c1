//! The response to sines, the network straightened at its operating point.

use num_complex::Complex64;

use super::compiled::Compiled;
use super::dc::LEAST_SHARE;
use super::fault::{CircuitFault, Regime};
use super::primitive::{ONE, Piece};
use super::wanted::{Aspect, Drive, Sight, Transfer};
use super::workspace::Workspace;

/// The imaginary unit.
pub(super) const J: Complex64 = Complex64::new(0.0, 1.0);

const ZERO: Complex64 = Complex64::new(0.0, 0.0);

/// What an AC solution is for.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(super) struct Excitation {
    /// Frequency in Hz.
    pub(super) frequency: f64,
    pub(super) drive: Drive,
}

impl Excitation {
    /// 2π times the frequency, in rad/s.
    pub(super) fn omega(self) -> f64 {
        std::f64::consts::TAU * self.frequency
    }

    /// The phasor of the source that is a piece, given its values: steady
    /// value, amplitude and phase.
    pub(super) fn phasor(self, piece: usize, values: &[f64]) -> Complex64 {
        match self.drive {
            Drive::All => Complex64::from_polar(values[1], values[2]),
            Drive::Only(driven) if driven == piece => Complex64::new(1.0, 0.0),
            Drive::Only(_) => ZERO,
        }
    }
}

impl Aspect {
    /// This number of a phasor.
    pub(super) fn of(self, phasor: Complex64) -> f64 {
        match self {
            Aspect::Magnitude => phasor.norm(),
            Aspect::Level => 20.0 * phasor.norm().log10(),
            Aspect::Phase => phasor.arg(),
            Aspect::Real => phasor.re,
            Aspect::Imaginary => phasor.im,
        }
    }
}

impl Compiled {
    /// The phasor, or ratio of phasors, at each frequency in Hz.
    ///
    /// # Errors
    /// A frequency that is not above zero, parameters out of their limits, no
    /// operating point, or a ratio to zero.
    pub fn sweep(
        &self,
        parameters: &[f64],
        frequencies: &[f64],
        transfer: &Transfer,
    ) -> Result<Vec<Complex64>, CircuitFault> {
        let mut workspace = self.workspace();
        self.straighten(&mut workspace, parameters)?;
        let at = |&frequency: &f64| self.ratio(&mut workspace, *transfer, frequency);
        frequencies.iter().map(at).collect()
    }

    /// Finds the operating point, where junctions need one, and the slope of
    /// each of them there.
    pub(super) fn straighten(
        &self,
        workspace: &mut Workspace,
        parameters: &[f64],
    ) -> Result<(), CircuitFault> {
        self.prepare(workspace, parameters)?;
        if self.is_linear() {
            return Ok(());
        }
        self.settle(workspace)?;
        self.straighten_at_point(workspace);
        Ok(())
    }

    /// A ratio of phasors, of a network that is straightened.
    pub(super) fn ratio(
        &self,
        workspace: &mut Workspace,
        transfer: Transfer,
        frequency: f64,
    ) -> Result<Complex64, CircuitFault> {
        self.check_transfer(transfer)?;
        let excitation = Excitation {
            frequency,
            drive: transfer.drive,
        };
        self.solve_phasors(workspace, excitation)?;
        let under = self.phasor_sight(workspace, excitation, transfer.under);
        if under == ZERO {
            return Err(CircuitFault::NothingToCompare { frequency });
        }
        let ratio = self.phasor_sight(workspace, excitation, transfer.over) / under;
        if ratio.is_finite() {
            Ok(ratio)
        } else {
            Err(CircuitFault::NotFinite)
        }
    }

    fn check_transfer(&self, transfer: Transfer) -> Result<(), CircuitFault> {
        self.check_sight(transfer.over)?;
        self.check_sight(transfer.under)?;
        match transfer.drive {
            Drive::Only(piece) if piece >= self.pieces.len() => Err(CircuitFault::ForeignResult),
            _ => Ok(()),
        }
    }

    /// Solves for the phasors of a network that is straightened; the solution
    /// is `workspace.z`.
    pub(super) fn solve_phasors(
        &self,
        workspace: &mut Workspace,
        excitation: Excitation,
    ) -> Result<(), CircuitFault> {
        let frequency = excitation.frequency;
        if !(frequency > 0.0 && frequency.is_finite()) {
            return Err(CircuitFault::BadFrequency { frequency });
        }
        let Workspace {
            alternating,
            z,
            values,
            terms,
            ..
        } = workspace;
        z.fill(ZERO);
        for &at in &self.active {
            let placed = &self.pieces[at];
            let [a, b] = placed.ends;
            match placed.piece {
                Piece::VoltageSource { value, branch } => {
                    z[branch] += excitation.phasor(at, &values[value..value + 3]);
                }
                Piece::CurrentSource { value } => {
                    let current = excitation.phasor(at, &values[value..value + 3]);
                    z[a] -= current;
                    z[b] += current;
                }
                _ => {}
            }
        }
        self.phasor_terms(frequency, values, terms);
        let plan = &self.phasor_plan;
        let open = |pivot| self.undetermined(pivot, Regime::Alternating);
        alternating.factor(plan, terms).map_err(open)?;
        let weakest = alternating.weakest();
        if weakest.share < LEAST_SHARE {
            return Err(open(weakest));
        }
        alternating.solve(plan, z);
        z[self.order()] = ZERO;
        Ok(())
    }

    /// What stands in the equations for phasors, by the place of the value
    /// that it is made of.
    pub(super) fn phasor_terms(&self, frequency: f64, values: &[f64], terms: &mut [Complex64]) {
        let omega = std::f64::consts::TAU * frequency;
        let real = |value: f64| Complex64::new(value, 0.0);
        terms[ONE] = real(1.0);
        for placed in &self.pieces {
            match placed.piece {
                Piece::Conductance { value } => terms[value] = real(values[value]),
                Piece::Capacitance { value } | Piece::Inductance { value, .. } => {
                    terms[value] = J * (omega * values[value]);
                }
                Piece::Amplifier { value, .. } => {
                    let reciprocal = Complex64::new(values[value], frequency * values[value + 1]);
                    terms[value] = reciprocal;
                    terms[value + 3] = reciprocal * values[value + 2];
                }
                Piece::Junction { .. } | Piece::Zener { .. } => {
                    if let Some(junction) = placed.junction() {
                        terms[junction.slope] = real(values[junction.slope]);
                    }
                }
                Piece::VoltageSource { .. }
                | Piece::CurrentSource { .. }
                | Piece::Short { .. }
                | Piece::Open => {}
            }
        }
    }

    /// Reads a number off the phasors.
    pub(super) fn phasor_sight(
        &self,
        workspace: &Workspace,
        excitation: Excitation,
        sight: Sight,
    ) -> Complex64 {
        let z = &workspace.z;
        match sight {
            Sight::One | Sight::Power(_) => Complex64::new(1.0, 0.0),
            Sight::Voltage([a, b]) => z[a] - z[b],
            Sight::Current(part) => {
                let part = &self.parts[part];
                part.current_sign * self.piece_phasor(workspace, excitation, part.lead)
            }
        }
    }

    fn piece_phasor(
        &self,
        workspace: &Workspace,
        excitation: Excitation,
        piece: usize,
    ) -> Complex64 {
        let Workspace { z, values, .. } = workspace;
        let placed = &self.pieces[piece];
        let [a, b] = placed.ends;
        let across = z[a] - z[b];
        if let Some(branch) = placed.branch() {
            return z[branch];
        }
        if let Some(junction) = placed.junction() {
            return values[junction.slope] * across;
        }
        match placed.piece {
            Piece::Conductance { value } => values[value] * across,
            Piece::Capacitance { value } => J * (excitation.omega() * values[value]) * across,
            Piece::CurrentSource { value } => excitation.phasor(piece, &values[value..value + 3]),
            _ => ZERO,
        }
    }
}
