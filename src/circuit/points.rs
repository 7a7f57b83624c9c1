//! Operating points that are kept, so that one solution gives every result.

use super::compiled::Compiled;
use super::fault::CircuitFault;
use super::sensitivity::finite;
use super::wanted::{Asked, Wanted};
use super::workspace::Workspace;

/// The operating points of a network for many vectors of parameters.
#[derive(Clone, Debug)]
pub struct OperatingPoints {
    /// Of each point: unknowns, values of the equations, junction voltages.
    numbers: Vec<f64>,
}

impl Compiled {
    /// Solves for many vectors of parameters, given as for
    /// [`Compiled::values_in`], and keeps all of their operating points.
    ///
    /// # Errors
    /// As [`Compiled::operating_point`], for the first vector that has none.
    pub fn operating_points(
        &self,
        workspace: &mut Workspace,
        columns: &[&[f64]],
        count: usize,
    ) -> Result<OperatingPoints, CircuitFault> {
        let needed = count;
        let fits = |column: &&[f64]| column.len() == count || column.len() == 1;
        if let Some(column) = columns.iter().find(|column| !fits(column)) {
            let found = column.len();
            return Err(CircuitFault::ParameterCount { found, needed });
        }
        let mut numbers = Vec::with_capacity(count * self.numbers_of_a_point());
        let mut parameters = vec![0.0; columns.len()];
        for at in 0..count {
            for (parameter, column) in parameters.iter_mut().zip(columns) {
                *parameter = column[at.min(column.len() - 1)];
            }
            self.solve_steady(workspace, &parameters)?;
            numbers.extend_from_slice(&workspace.x);
            numbers.extend_from_slice(&workspace.values);
            numbers.extend_from_slice(&workspace.junctions);
        }
        Ok(OperatingPoints { numbers })
    }

    /// A result at each of these points: to the last bit that of
    /// [`Compiled::value_in`].
    ///
    /// # Errors
    /// A result that is none of the operating point, that is not finite or is
    /// another network's; points of another network or of another number.
    pub fn values_at(
        &self,
        workspace: &mut Workspace,
        points: &OperatingPoints,
        wanted: &Wanted,
        results: &mut [f64],
    ) -> Result<(), CircuitFault> {
        let Asked::Steady(sight) = wanted.0 else {
            return Err(CircuitFault::ForeignResult);
        };
        self.check_sight(sight)?;
        if points.numbers.len() != results.len() * self.numbers_of_a_point() {
            return Err(CircuitFault::ForeignResult);
        }
        if !workspace.fits(self) {
            *workspace = self.workspace();
        }
        let each = points.numbers.chunks_exact(self.numbers_of_a_point());
        for (point, result) in each.zip(results) {
            let (x, rest) = point.split_at(workspace.x.len());
            let (values, junctions) = rest.split_at(workspace.values.len());
            workspace.x.copy_from_slice(x);
            workspace.values.copy_from_slice(values);
            workspace.junctions.copy_from_slice(junctions);
            *result = finite(self.sight(workspace, sight))?;
        }
        Ok(())
    }

    /// How many numbers a point is kept as.
    fn numbers_of_a_point(&self) -> usize {
        self.order() + 1 + self.values + self.junctions
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::super::{Diode, Kind, Network, ROOM_TEMPERATURE, Source};
    use super::*;

    /// A source, a resistor, a diode and a load beside it.
    fn clamp() -> Compiled {
        let mut network = Network::new("0");
        network.add("V1", ["in", "0"], Kind::VoltageSource(Source::steady(5.0)));
        network.add("R1", ["in", "out"], Kind::Resistor { resistance: 1e3 });
        network.add("R2", ["out", "0"], Kind::Resistor { resistance: 4.7e3 });
        let diode = Diode {
            saturation_current: 1e-12,
            ideality: 1.5,
            temperature: ROOM_TEMPERATURE,
            series_resistance: Some(2.0),
        };
        network.add("D1", ["out", "0"], Kind::Diode(diode));
        network.compile().unwrap()
    }

    #[test]
    fn every_result_is_the_one_that_is_solved_for_alone() {
        let network = clamp();
        let resistances: Vec<f64> = (0..37).map(|at| 500.0 + 40.0 * f64::from(at)).collect();
        let nominal = network.nominal();
        let varies = network.parameter("R1", "resistance").unwrap();
        let mut columns: Vec<&[f64]> = nominal.iter().map(std::slice::from_ref).collect();
        columns[varies] = &resistances;
        let mut workspace = network.workspace();
        let points = network
            .operating_points(&mut workspace, &columns, resistances.len())
            .unwrap();
        let wanted = [
            network.voltage("out"),
            network.current("D1"),
            network.current("V1"),
            network.power("D1"),
            network.power("R2"),
        ];
        for wanted in wanted.map(Result::unwrap) {
            let mut found = vec![0.0; resistances.len()];
            network
                .values_at(&mut workspace, &points, &wanted, &mut found)
                .unwrap();
            for (found, resistance) in found.iter().zip(&resistances) {
                let mut parameters = nominal.clone();
                parameters[varies] = *resistance;
                let alone = network.value_in(&mut network.workspace(), &parameters, &wanted);
                assert_eq!(found.to_bits(), alone.unwrap().to_bits());
            }
        }
    }

    #[test]
    fn what_does_not_fit_is_refused() {
        let network = clamp();
        let mut workspace = network.workspace();
        let nominal = network.nominal();
        let columns: Vec<&[f64]> = nominal.iter().map(std::slice::from_ref).collect();
        let points = network
            .operating_points(&mut workspace, &columns, 3)
            .unwrap();
        let voltage = network.voltage("out").unwrap();
        let mut two = [0.0; 2];
        let found = network.values_at(&mut workspace, &points, &voltage, &mut two);
        assert_eq!(found, Err(CircuitFault::ForeignResult));
        let mut short = columns.clone();
        short[0] = &[1.0, 2.0];
        let found = network.operating_points(&mut workspace, &short, 3);
        assert!(matches!(found, Err(CircuitFault::ParameterCount { .. })));
        let found = network.operating_points(&mut workspace, &columns[1..], 3);
        assert!(matches!(found, Err(CircuitFault::ParameterCount { .. })));
    }
}
