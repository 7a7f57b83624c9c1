//! Series resistor of a light-emitting diode.

use super::{Kind, input, result};
use crate::quantity::Dimension;

pub(super) static KIND: Kind = Kind {
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
};

#[cfg(test)]
mod tests {
    use super::super::worked;
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
        assert!((worked(&KIND, &inputs, "current") - 4e-3).abs() < 1e-15);
        assert!((worked(&KIND, &inputs, "heat") - 5.2e-3).abs() < 1e-15);
    }
}
