//! Series resistor of a light-emitting diode.

use super::formulas::{Formulas, result};
use super::kind::input;
use crate::quantity::Dimension;

pub(super) static KIND: Formulas = Formulas {
    name: "led-resistor",
    title: "Series resistor of an LED",
    inputs: &[
        input(
            "supply",
            "Voltage that feeds resistor and LED",
            Dimension::VOLTAGE,
        ),
        input(
            "forward_voltage",
            "Forward voltage of the LED",
            Dimension::VOLTAGE,
        ),
        input("resistor", "Series resistor", Dimension::RESISTANCE),
    ],
    results: &[
        result(
            "current",
            "Current through the LED",
            "(supply - forward_voltage) / resistor",
            "textbook",
        ),
        result(
            "heat",
            "Power in the resistor",
            "current^2 * resistor",
            "textbook",
        ),
    ],
    hazards: &[],
    notes: &[],
};

#[cfg(test)]
mod tests {
    use super::super::check::Given;
    use super::*;

    /// Truth: common practice, no source: 3.3 V, 2 V across the LED and 325 Ω
    /// give 4 mA.
    #[test]
    fn four_milliampere() {
        let inputs = [
            ("supply", 3.3),
            ("forward_voltage", 2.0),
            ("resistor", 325.0),
        ];
        assert!((Given::quantities(&inputs).result(&KIND, "current") - 4e-3).abs() < 1e-15);
        assert!((Given::quantities(&inputs).result(&KIND, "heat") - 5.2e-3).abs() < 1e-15);
    }

    #[test]
    fn formulas_hang_together() {
        Given::quantities(&[("supply", 1.0), ("forward_voltage", 1.0), ("resistor", 1.0)])
            .hangs_together(&KIND);
    }
}
