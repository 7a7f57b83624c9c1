//! Memory that solving a network needs, kept from one solution to the next.

use num_complex::Complex64;

use super::abreast::Abreast;
use super::compiled::Compiled;
use super::plan::System;

/// Room for solving one network again and again without asking for memory.
///
/// It carries nothing from one solution to the next that could be seen in a
/// result. Each thread has its own.
#[derive(Clone, Debug)]
pub struct Workspace {
    /// Values that follow from the parameters.
    pub(super) values: Vec<f64>,
    /// Derivatives of a result by the values.
    pub(super) by_value: Vec<f64>,
    /// The equations at the operating point.
    pub(super) steady: System<f64>,
    /// Right side, then solution; the reference node's comes last.
    pub(super) x: Vec<f64>,
    /// The solution of the round before.
    pub(super) previous: Vec<f64>,
    /// Derivatives of a result by the unknowns, then the adjoint solution.
    pub(super) adjoint: Vec<f64>,
    /// Voltage of each junction that its curve is straightened at.
    pub(super) junctions: Vec<f64>,
    /// Current of each straightened curve at no voltage.
    pub(super) rests: Vec<f64>,
    /// The last step of each, by its n V_T.
    pub(super) steps: Vec<f64>,
    /// The junctions' voltages at the last part of the sources that worked.
    pub(super) kept: Vec<f64>,
    /// Values as they stand in the equations for phasors.
    pub(super) terms: Vec<Complex64>,
    /// The equations for phasors.
    pub(super) alternating: System<Complex64>,
    /// Right side, then phasors.
    pub(super) z: Vec<Complex64>,
    /// As `adjoint`, for phasors.
    pub(super) phasor_adjoint: Vec<Complex64>,
    /// Room for several networks abreast, once that is asked for.
    pub(super) abreast: Option<Box<Abreast>>,
}

impl Workspace {
    pub(super) fn new(network: &Compiled) -> Workspace {
        let zero = Complex64::new(0.0, 0.0);
        let (order, values) = (network.order(), network.values);
        Workspace {
            values: vec![0.0; values],
            by_value: vec![0.0; values],
            steady: network.steady_plan.system(),
            x: vec![0.0; order + 1],
            previous: vec![0.0; order + 1],
            adjoint: vec![0.0; order + 1],
            junctions: vec![0.0; network.junctions],
            rests: vec![0.0; network.junctions],
            steps: vec![0.0; network.junctions],
            kept: vec![0.0; network.junctions],
            terms: vec![zero; values],
            alternating: network.phasor_plan.system(),
            z: vec![zero; order + 1],
            phasor_adjoint: vec![zero; order + 1],
            abreast: None,
        }
    }

    /// Whether the room is that of such a network.
    pub(super) fn fits(&self, network: &Compiled) -> bool {
        self.values.len() == network.values
            && self.junctions.len() == network.junctions
            && self.steady.fits(&network.steady_plan)
            && self.alternating.fits(&network.phasor_plan)
    }
}
