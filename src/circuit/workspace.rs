//! Memory that solving a network needs, kept from one solution to the next.

use num_complex::Complex64;

use super::lu::Lu;

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
    pub(super) matrix: Lu<f64>,
    /// Right side, then solution; the reference node's comes last.
    pub(super) x: Vec<f64>,
    /// The solution of the round before.
    pub(super) previous: Vec<f64>,
    /// Derivatives of a result by the unknowns, then the adjoint solution.
    pub(super) adjoint: Vec<f64>,
    /// Voltage of each junction that its curve is straightened at.
    pub(super) junctions: Vec<f64>,
    /// The same, of the last step that worked.
    pub(super) kept: Vec<f64>,
    /// Slope of each junction at the operating point.
    pub(super) slopes: Vec<f64>,
    /// Derivatives of a result by those slopes.
    pub(super) by_slope: Vec<f64>,
    /// The equations for phasors.
    pub(super) phasor_matrix: Lu<Complex64>,
    /// Right side, then phasors.
    pub(super) z: Vec<Complex64>,
    /// As `adjoint`, for phasors.
    pub(super) phasor_adjoint: Vec<Complex64>,
}

impl Workspace {
    pub(super) fn new(order: usize, values: usize, junctions: usize) -> Workspace {
        let zero = Complex64::new(0.0, 0.0);
        Workspace {
            values: vec![0.0; values],
            by_value: vec![0.0; values],
            matrix: Lu::new(order),
            x: vec![0.0; order + 1],
            previous: vec![0.0; order + 1],
            adjoint: vec![0.0; order + 1],
            junctions: vec![0.0; junctions],
            kept: vec![0.0; junctions],
            slopes: vec![0.0; junctions],
            by_slope: vec![0.0; junctions],
            phasor_matrix: Lu::new(order),
            z: vec![zero; order + 1],
            phasor_adjoint: vec![zero; order + 1],
        }
    }

    /// Whether the room is that of a network of such a size.
    pub(super) fn fits(&self, order: usize, values: usize, junctions: usize) -> bool {
        self.matrix.order() == order
            && self.values.len() == values
            && self.junctions.len() == junctions
    }
}
