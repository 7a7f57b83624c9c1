//! Corner frequency of a resistor and a capacitor.

use super::formulas::{Formulas, result};
use super::kind::input;
use crate::quantity::Dimension;

pub(super) static KIND: Formulas = Formulas {
    name: "corner-frequency",
    title: "Corner frequency",
    inputs: &[
        input(
            "resistance",
            "Resistance that the capacitor sees",
            Dimension::RESISTANCE,
        ),
        input("capacitance", "Capacitance", Dimension::CAPACITANCE),
    ],
    results: &[
        result(
            "time_constant",
            "Time constant",
            "resistance * capacitance",
            "textbook",
        ),
        result(
            "frequency",
            "Frequency at which the response is 3 dB down",
            "1 / (2 * pi * time_constant)",
            "textbook",
        ),
        result(
            "rise_time",
            "Rise time from 10 % to 90 %",
            "time_constant * ln(9)",
            "textbook: the response to a step is 1 - exp(-t/τ)",
        ),
    ],
    hazards: &[],
    notes: &[],
};

#[cfg(test)]
mod tests {
    use super::super::check::Given;
    use super::*;

    /// Truth: textbook relations, worked out to ten digits independently of
    /// this crate (10 kΩ with 100 nF).
    #[test]
    fn ten_kilohm_and_a_hundred_nanofarad() {
        let inputs = [("resistance", 10e3), ("capacitance", 100e-9)];
        let near = |name, expected: f64| {
            let value = Given::quantities(&inputs).result(&KIND, name);
            assert!((value / expected - 1.0).abs() < 1e-9, "{name}: {value}");
        };
        near("time_constant", 1e-3);
        near("frequency", 159.1549431);
        near("rise_time", 2.197224577e-3);
    }

    #[test]
    fn formulas_hang_together() {
        Given::quantities(&[("resistance", 1.0), ("capacitance", 1.0)]).hangs_together(&KIND);
    }
}
