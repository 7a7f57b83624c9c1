//! All results of a network at once, by name.

use num_complex::Complex64;

use super::ac::Excitation;
use super::compiled::Compiled;
use super::fault::{CircuitFault, Unknown};
use super::wanted::{Drive, Sight};
use super::workspace::Workspace;

/// The operating point of a network.
#[derive(Clone, Debug)]
pub struct OperatingPoint<'a> {
    network: &'a Compiled,
    workspace: Workspace,
}

/// The phasors of a network at a frequency, all its sources driving with their
/// amplitudes and phases.
#[derive(Clone, Debug)]
pub struct Phasors<'a> {
    network: &'a Compiled,
    workspace: Workspace,
    excitation: Excitation,
}

impl Compiled {
    /// The operating point for a vector of parameters.
    ///
    /// # Errors
    /// Parameters out of their limits or of the wrong number; what keeps the
    /// network from having an operating point.
    pub fn operating_point(&self, parameters: &[f64]) -> Result<OperatingPoint<'_>, CircuitFault> {
        let mut workspace = self.workspace();
        self.solve_steady(&mut workspace, parameters)?;
        if !workspace.x.iter().all(|value| value.is_finite()) {
            return Err(CircuitFault::NotFinite);
        }
        Ok(OperatingPoint {
            network: self,
            workspace,
        })
    }

    /// The phasors at a frequency in Hz.
    ///
    /// # Errors
    /// As [`Compiled::operating_point`], where there are junctions; a
    /// frequency that is not above zero; a network that leaves a phasor open,
    /// such as a circuit without losses at its resonance.
    pub fn phasors(&self, parameters: &[f64], frequency: f64) -> Result<Phasors<'_>, CircuitFault> {
        let drive = Drive::All;
        let excitation = Excitation { frequency, drive };
        let mut workspace = self.workspace();
        self.straighten(&mut workspace, parameters)?;
        self.solve_phasors(&mut workspace, excitation)?;
        if !workspace.z.iter().all(|value| value.is_finite()) {
            return Err(CircuitFault::NotFinite);
        }
        Ok(Phasors {
            network: self,
            workspace,
            excitation,
        })
    }
}

/// All fail for names that are not in the network, with the nearest that is.
#[allow(clippy::missing_errors_doc)]
impl OperatingPoint<'_> {
    /// The voltage of a node, in V.
    pub fn voltage(&self, node: &str) -> Result<f64, CircuitFault> {
        Ok(self.workspace.x[self.network.node(node)?])
    }

    /// The current of an element, in A; which way it counts is in the table
    /// of [`super::Kind`].
    pub fn current(&self, element: &str) -> Result<f64, CircuitFault> {
        let part = self.network.part(element)?;
        Ok(self.network.sight(&self.workspace, Sight::Current(part)))
    }

    /// The power that an element takes up, or that a source or amplifier
    /// delivers, in W.
    pub fn power(&self, element: &str) -> Result<f64, CircuitFault> {
        let part = self.network.part(element)?;
        Ok(self.network.sight(&self.workspace, Sight::Power(part)))
    }

    /// Every node, but for the reference node, with its voltage in V.
    pub fn voltages(&self) -> impl Iterator<Item = (&str, f64)> {
        let unknowns = self.network.unknowns.iter().zip(&self.workspace.x);
        unknowns.filter_map(|(unknown, &value)| match unknown {
            Unknown::Node(node) => Some((node.as_str(), value)),
            _ => None,
        })
    }
}

/// All fail for names that are not in the network, with the nearest that is.
#[allow(clippy::missing_errors_doc)]
impl Phasors<'_> {
    /// The frequency, in Hz.
    pub fn frequency(&self) -> f64 {
        self.excitation.frequency
    }

    /// The voltage of a node, in V.
    pub fn voltage(&self, node: &str) -> Result<Complex64, CircuitFault> {
        Ok(self.workspace.z[self.network.node(node)?])
    }

    /// The current of an element, in A.
    pub fn current(&self, element: &str) -> Result<Complex64, CircuitFault> {
        let part = self.network.part(element)?;
        let sight = Sight::Current(part);
        Ok(self
            .network
            .phasor_sight(&self.workspace, self.excitation, sight))
    }
}
